package main

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof"
	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/practise"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

// bookOptions are what explain is told besides the rules.
type bookOptions struct {
	all          bool
	format, show string
	history      string
	out          outFlags
}

func (b *bookOptions) add(command *cobra.Command) {
	flags := command.Flags()
	flags.BoolVar(&b.all, "all", false, "explain everything, as a handbook")
	flags.StringVar(&b.format, "format", "md", "how to write the handbook, or a rule as a page (html): "+strings.Join(bookFormats(), " or "))
	b.out.add(command)
	flags.StringVar(&b.show, "show", "", "show with whose numbers to say how the rule is worked out")
	historyFlag(command, &b.history)
	complete(command, "format", bookFormats()...)
}

func bookFormats() []string { return slices.Sorted(maps.Keys(report.Handbooks)) }

func (b *bookOptions) validate() error {
	if err := oneOf("format", b.format, bookFormats()); err != nil {
		return err
	}
	if b.all && b.show != "" {
		return usagef("--show gives one rule the numbers of a show; name the rule instead of --all")
	}
	if b.show != "" && b.show != "-" {
		return noSuchShow(b.show)
	}
	return nil
}

// workOf works the named rules out with the numbers of a show, if one is given.
func workOf(command *cobra.Command, ids []string, cards []finding.Rule, folder string, house houseFlags, book bookOptions) ([]*outcome.RuleWork, error) {
	if book.show == "" {
		return nil, nil
	}
	for _, id := range ids {
		if !slices.ContainsFunc(cards, func(card finding.Rule) bool { return card.ID == id }) {
			return nil, usagef("there is no rule %q.%s", id, meant(id, cards))
		}
	}
	set, err := loadRules(folder)
	if err != nil {
		return nil, err
	}
	options, err := house.options()
	if err != nil {
		return nil, err
	}
	run := lint.Options{Rules: set, Stdin: command.InOrStdin(), StdinName: "standard input", House: options, Out: book.out.guard}
	setup, err := lint.SetUp(book.show, run)
	if err != nil {
		return nil, err
	}
	measured, loaded, _, err := lint.Measure(book.show, run)
	if err != nil {
		return nil, err
	}
	if loaded.Unreadable {
		return nil, unread(command, book.show)
	}
	return cases.Work(ids, setup.Rules, setup.All, measured, cmp.Or(loaded.Show.Name, book.show)), nil
}

// writeHandbook writes all explanations, and runs the example of every rule of ours.
func writeHandbook(command *cobra.Command, cards []finding.Rule, b bookOptions) error {
	set, err := loadRules("")
	if err != nil {
		return err
	}
	examples, err := newExamples()
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(examples.scratch) }()
	var chapters []handbook.Chapter
	for _, card := range cards {
		chapter := handbook.Chapter{Rule: card}
		if rule, ok := set.Find(card.ID); ok { // run with its own limits, as its cases are
			list, _, err := cases.Run(rules.BuiltIn(), rule)
			if err != nil {
				return fault{err}
			}
			example, err := cases.ExampleOf(rule, list)
			if err != nil {
				return err
			}
			chapter.Example = example.Got
			if chapter.Pictures, err = examples.of(rule, list, example); err != nil {
				return err
			}
		}
		chapters = append(chapters, chapter)
	}
	return b.out.tell(command, marks[b.format], func(w io.Writer) error { return report.Handbooks[b.format](w, chapters) })
}

// sketched are the kinds of picture in which one may see what the rules of a pack speak of.
var sketched = map[string][]string{
	"air": {"evening"}, "camera": {"face", "stage"}, "colour": {"strip", "evening"}, "dynamics": {"evening", "strip"}, "moves": {"evening"}, "patch": {"addresses"},
	"people": {"face", "stage", "evening"}, "safety": {"evening", "stage"}, "screen": {"face", "evening"}, "white": {"face"},
}

// examples draw a bad and a good example of each rule: from its cases or, where these are too
// small to be drawn, from the demo evening, broken as people learn on it.
type examples struct {
	demo    practise.Files
	recipes map[string]*practise.Recipe
	scratch string // a folder for shows
}

func newExamples() (*examples, error) {
	e := &examples{}
	var err error
	if e.demo, err = under(cueproof.Demo()); err != nil {
		return nil, err
	}
	if e.recipes, err = practise.Recipes(rules.BuiltIn()); err != nil {
		return nil, fault{err}
	}
	if e.scratch, err = os.MkdirTemp("", "handbook"); err != nil {
		return nil, fault{source.Cause(err)}
	}
	return e, nil
}

// looks is the scene of one look and place of a show, or of a choice for "".
type looks func(cue, place string) (*outcome.Show, error)

func (e *examples) of(rule *rules.Rule, list []cases.Case, bad cases.Case) ([]handbook.Picture, error) {
	only := lint.Options{Rules: &rules.Set{Rules: []*rules.Rule{rule}}, House: lint.HouseOptions{None: true}}
	if good, ok := cases.Beside(list, bad); ok {
		small := func(c cases.Case) looks {
			return func(cue, place string) (*outcome.Show, error) {
				o := only
				o.Stdin, o.StdinName = bytes.NewReader(c.Show), c.Name
				return lint.Picture("-", o, cue, place)
			}
		}
		if pair, err := sketches(rule.ID, small(bad), small(good)); pair != nil || err != nil {
			pair.call(words(bad.Name), words(good.Name))
			return pair, err
		}
	}
	recipe := e.recipes[rule.ID]
	if recipe == nil {
		return nil, nil
	}
	in := func(name string, files practise.Files) (string, error) {
		folder := filepath.Join(e.scratch, name)
		if err := os.MkdirAll(folder, 0o700); err != nil {
			return "", fault{source.Cause(err)}
		}
		if err := files.Put(folder); err != nil {
			return "", fault{source.Cause(err)}
		}
		return folder, nil
	}
	sound, err := in("sound", e.demo)
	if err != nil {
		return nil, err
	}
	said, err := lint.Found(sound, only)
	if err != nil {
		return nil, err
	}
	broken := filepath.Join(e.scratch, "broken")
	if _, _, err = practise.Break(e.demo, practise.Said(said), recipe, func(files practise.Files) ([]finding.Finding, error) {
		if _, err := in("broken", files); err != nil {
			return nil, err
		}
		return lint.Found(broken, only)
	}, 1); err != nil {
		if errors.Is(err, practise.ErrSound) {
			return nil, nil
		}
		return nil, err
	}
	large := func(folder string) looks {
		return func(cue, place string) (*outcome.Show, error) { return lint.Picture(folder, only, cue, place) }
	}
	pair, err := sketches(rule.ID, large(broken), large(sound))
	pair.call(strings.TrimSuffix(recipe.Fault, "."), "the same evening as it should be")
	return pair, err
}

// twin is a bad picture and a good one.
type twin []handbook.Picture

func (p twin) call(bad, good string) {
	if len(p) == 2 {
		p[0].Case, p[1].Case = bad, good
	}
}

// sketches are the pictures of two shows: of the first kind in which they differ. A rule of
// what nobody sees in light has none.
func sketches(rule string, bad, good looks) (twin, error) {
	wrong, err := bad("", "")
	if err != nil {
		return nil, err
	}
	cue, place := "", ""
	if len(wrong.Scene.Faces) > 0 { // where it bites
		cue, place = wrong.Scene.Cues[wrong.Scene.Faces[0].Cue].Number, wrong.Scene.Faces[0].Place
	}
	right, err := good(cue, place)
	if err == nil && len(right.Scene.Faces) == 0 && cue != "" {
		right, err = good("", "")
	}
	if err != nil {
		return nil, err
	}
	pack, _, _ := strings.Cut(rule, "/")
	id := strings.ReplaceAll(rule, "/", "-")
	for _, kind := range sketched[pack] {
		draws := func(show *outcome.Show, id string) *picture.Pic {
			p, missing := pictures[kind](show, drawnPicture{width: draw.Narrow})
			if kind == "face" && missing == "" {
				f := &show.Scene.Faces[0]
				p = draw.Face(f, show.Scene.Cues[f.Cue].Number, id, handbook.Figure, false)
			}
			return p
		}
		a, b := draws(wrong, id+"-wrong"), draws(right, id+"-right")
		if a != nil && b != nil && (a.Desc != b.Desc || draws(right, id+"-wrong").Inline("", "") != a.Inline("", "")) {
			return twin{{ID: id + "-wrong", Wrong: true, Pic: a}, {ID: id + "-right", Pic: b}}, nil
		}
	}
	return nil, nil
}

// words are the name of a case as people read it.
func words(name string) string {
	if _, rest, ok := strings.Cut(name, "-"); ok {
		return strings.ReplaceAll(rest, "-", " ")
	}
	return "as it should be"
}
