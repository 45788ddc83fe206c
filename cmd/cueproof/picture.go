package main

import (
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/spf13/cobra"
)

// drawnPicture is what a picture is asked for.
type drawnPicture struct {
	cue, place string
	universe   int
	width      float64
}

// pictures are the kinds of picture, each with what it needs; "" is what is missing.
var pictures = map[string]func(s *outcome.Show, o drawnPicture) (p *picture.Pic, missing string){
	"evening": func(s *outcome.Show, o drawnPicture) (*picture.Pic, string) {
		if len(s.Scene.Cues) == 0 {
			return nil, "the cue list"
		}
		return draw.Evening(s.Scene, draw.Bites(s), o.width), ""
	},
	"strip": func(s *outcome.Show, o drawnPicture) (*picture.Pic, string) {
		if len(s.Scene.Cues) == 0 {
			return nil, "the cue list"
		}
		return draw.Strip(s.Scene, o.width), ""
	},
	"stage": func(s *outcome.Show, o drawnPicture) (*picture.Pic, string) {
		switch {
		case s.Scene.Room == nil:
			return nil, strings.Join(s.Scene.NoRoom, ", and ")
		case len(s.Scene.Stages) == 0:
			return nil, "a look to draw, such as --cue with the number of one"
		}
		return draw.Stage(s.Scene, &s.Scene.Stages[0], o.width, ""), ""
	},
	"face": func(s *outcome.Show, o drawnPicture) (*picture.Pic, string) {
		if len(s.Scene.Faces) == 0 {
			return nil, "somebody on a place that the room describes"
		}
		f := &s.Scene.Faces[0]
		if len(f.Missing) > 0 {
			return nil, strings.Join(f.Missing, ", and ")
		}
		return draw.Face(f, s.Scene.Cues[f.Cue].Number, "face", "", false), ""
	},
	"addresses": func(s *outcome.Show, o drawnPicture) (*picture.Pic, string) {
		for i := range s.Scene.Universes {
			if u := &s.Scene.Universes[i]; o.universe == u.Number || o.universe == 0 && u.Clash {
				return draw.Addresses(u, o.width), ""
			}
		}
		if o.universe == 0 && len(s.Scene.Universes) > 0 {
			return draw.Addresses(&s.Scene.Universes[0], o.width), ""
		}
		return nil, "the patch, with addresses and types that tell their slots"
	},
}

func pictureNames() []string { return slices.Sorted(maps.Keys(pictures)) }

func newPicture() *cobra.Command {
	var o drawnPicture
	var out outFlags
	var read readFlags
	command := &cobra.Command{
		Use:   "picture KIND SHOW",
		Short: "Draw one picture of a show",
		Long: `Picture draws one picture of a show as a file of its own (SVG). The numbers in it
are those that measure prints; what is unknown is drawn as unknown.

Kinds: ` + strings.Join(pictureNames(), ", ") + `.`,
		Example: `  cueproof picture evening --out evening.svg shows/sunday
  cueproof picture stage --cue 12 --out stage.svg shows/sunday
  cueproof picture face --cue 12 --place "lead singer" --out face.svg shows/sunday
  cueproof picture addresses --universe 2 --width 640 --out universe.svg shows/sunday

Exit codes: 0 drawn, 2 misuse, 3 the show cannot be read, 4 what it needs is not known, 70 a fault of the program.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usagef("name the kind of picture (%s) and the show", strings.Join(pictureNames(), ", "))
			}
			return nil
		},
		ValidArgs: pictureNames(),
		RunE: func(command *cobra.Command, args []string) error {
			kind, show := args[0], args[1]
			make, ok := pictures[kind]
			if !ok {
				return usagef("there is no picture %q; it is one of %s.%s", kind, strings.Join(pictureNames(), ", "), spelling.Hint(kind, pictureNames()))
			}
			const least, most = 240, 4000
			if !(o.width >= least && o.width <= most) {
				return usagef("--width cannot be %g; it is from %d to %d", o.width, least, most)
			}
			if show != "-" {
				if err := noSuchShow(show); err != nil {
					return err
				}
			}
			run, err := read.options(command)
			if err != nil {
				return err
			}
			if err := out.check(command, read.ruleFolder, show, read.house.file); err != nil {
				return err
			}
			progress := progressOn(command)
			defer progress.done()
			run.Tell, run.Out = progress.tell, out.guard
			told, err := lint.Picture(show, run, o.cue, o.place)
			if err != nil {
				return err
			}
			progress.done()
			if err := o.known(told); err != nil {
				return err
			}
			p, missing := make(told, o)
			if missing != "" && told.Unreadable {
				return unread(command, show)
			}
			if missing != "" {
				complain(command.ErrOrStderr(), "This picture cannot be drawn. Give "+say.Clean(missing)+".")
				return exitCode(exitNothing)
			}
			if err := out.tell(command, "", func(w io.Writer) error {
				_, err := w.Write(p.File(outfile.CommentMark))
				return err
			}); err != nil {
				return err
			}
			if told.Unreadable {
				return exitCode(exitShow)
			}
			return nil
		},
	}
	flags := command.Flags()
	flags.StringVar(&o.cue, "cue", "", "the look after this cue; without it the one where it bites most")
	flags.StringVar(&o.place, "place", "", "whose face; without it the one where it bites most")
	flags.IntVar(&o.universe, "universe", 0, "which universe; without it the first with a clash")
	flags.Float64Var(&o.width, "width", draw.Wide, "how wide, in pixels")
	out.add(command)
	read.add(command)
	return command
}

// known refuses a cue or a place that the show does not have.
func (o drawnPicture) known(told *outcome.Show) error {
	var cues []string
	for _, c := range told.Scene.Cues {
		cues = append(cues, c.Number)
	}
	if o.cue != "" && !slices.Contains(cues, o.cue) {
		return usagef("the show has no cue %q.%s", o.cue, spelling.Hint(o.cue, cues))
	}
	if o.place != "" && len(told.Scene.Faces) == 0 {
		if o.cue == "" {
			return usagef("nobody stands on %q where a part of the show begins or a rule speaks; say in which cue", o.place)
		}
		return usagef("nobody stands on %q in cue %s", o.place, o.cue)
	}
	if o.universe != 0 && !slices.ContainsFunc(told.Scene.Universes, func(u scene.Universe) bool { return u.Number == o.universe }) {
		return usagef("the patch has nothing in universe %d", o.universe)
	}
	return nil
}
