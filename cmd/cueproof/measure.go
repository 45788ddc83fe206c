package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/measured"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/rules"
)

// tableFacts are the facts that a table shows unless others are asked for: what
// fits beside each other and answers the usual question. CSV and JSON have all.
var tableFacts = map[string][]string{
	"lamp":    {"cue", "channel", "purpose", "level_pct", "lumens", "x", "y", "cct_k", "duv", "hue_deg"},
	"look":    {"cue", "name", "segment", "output_pct", "hue_names", "people_count", "face_range_stops"},
	"person":  {"cue", "place", "face_lx", "under_stops", "over_stops", "face_cct_k", "face_duv", "key_elevation_deg", "back_key_ratio", "background_stops"},
	"showing": {"cue", "name", "drive_pct", "white_cd_m2", "over_face_stops", "spill_lx", "key_spill_lx", "contrast"},
	"fixture": {"channel", "name", "type", "purpose", "address", "last_slot", "geometry_role", "elevation_deg", "lens_pct", "band_depth_pct"},
}

func newMeasure() *cobra.Command {
	var of, format, cue, stdinName string
	var out outFlags
	var words []string
	var house houseFlags
	var exports exportFlags
	command := &cobra.Command{
		Use:   "measure SHOW",
		Short: "Print the numbers that the rules see",
		Long: `Measure prints the facts of one kind of subject, a row each: the same numbers
that the rules are held against. A fact that cannot be known is "?" in a table,
an empty cell in CSV, and null with what is missing in JSON.

Kinds of subject: ` + strings.Join(facts.KindNames(), ", ") + `.`,
		Example: `  cueproof measure shows/sunday                      light on every person
  cueproof measure --of lamp --cue 12 shows/sunday   colour and lumens of each lamp
  cueproof measure --of showing --format csv shows/sunday
  cueproof measure --format html --out light.html shows/sunday   with the stage and faces
  cueproof measure --of look --facts cue,hue_names,output_pct shows/sunday

Exit codes: 0 printed, 2 misuse, 3 the show cannot be read, 70 a fault of the program.`,
		Args: exactlyOne("the show to measure: a folder, a JSON file, or - for standard input"),
		RunE: func(command *cobra.Command, args []string) error {
			all := rules.WordsOf(of)
			if len(all) == 0 {
				return oneOf("of", of, facts.KindNames())
			}
			if err := oneOf("format", format, factFormats()); err != nil {
				return err
			}
			for _, word := range words {
				if !slices.Contains(all, word) {
					return usagef("a %s has no fact %q.%s", of, word, spelling.Hint(word, all))
				}
			}
			if len(words) == 0 {
				words = all
				if (format == "table" || format == "html") && tableFacts[of] != nil {
					words = tableFacts[of]
				}
			}
			if args[0] != "-" {
				if err := noSuchShow(args[0]); err != nil {
					return err
				}
			}
			run, err := runOptions("", house, &exports)
			if err != nil {
				return err
			}
			if err := out.check(command, "", args[0], house.file); err != nil {
				return err
			}
			run.Stdin, run.StdinName, run.Out = command.InOrStdin(), stdinName, out.guard
			setup, err := lint.SetUp(args[0], run)
			if err != nil {
				return err
			}
			measured, loaded, rests, err := lint.Measure(args[0], run)
			if err != nil {
				return err
			}
			for _, f := range loaded.Findings {
				if f.Level == finding.Error {
					at := f.Place.Span().Start
					complain(command.ErrOrStderr(), fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, f.Message))
				}
			}
			for _, note := range rests {
				_, _ = fmt.Fprintf(command.ErrOrStderr(), "%s.\n", say.Clean(spelling.Capital(note)))
			}
			var subjects []facts.Subject
			for _, subject := range measured.Subjects(of) {
				if cue == "" || subject.Cue() == cue {
					subjects = append(subjects, subject)
				}
			}
			if len(subjects) == 0 {
				for _, phrase := range measured.None(of) {
					_, _ = fmt.Fprintf(command.ErrOrStderr(), "There is no %s to measure. Give %s.\n", of, say.Clean(phrase))
				}
			}
			if err := out.tell(command, marks[format], func(w io.Writer) error {
				if format != "html" {
					return report.FactFormats[format](w, subjects, words, setup.Rules.Value)
				}
				told := &outcome.Show{Path: args[0], Name: cmp.Or(loaded.Show.Name, args[0]), Day: loaded.Show.Date, Scene: lint.MeasuredScene(measured, loaded.Show, cue)}
				if loaded.Show.Room != nil {
					told.Room = loaded.Show.Room.Name
				}
				return html.Numbers(w, told, of, picture.Table{Head: words, Rows: factRows(subjects, words, setup.Rules.Value)})
			}); err != nil {
				return err
			}
			if loaded.Unreadable {
				return exitCode(exitShow)
			}
			return nil
		},
	}
	flags := command.Flags()
	flags.StringVar(&of, "of", "person", "kind of subject: "+strings.Join(facts.KindNames(), ", "))
	flags.StringVar(&format, "format", "table", "how to print: "+strings.Join(factFormats(), ", "))
	flags.StringSliceVar(&words, "facts", nil, "the facts to print, in this order; without it all, or for a table the usual ones")
	flags.StringVar(&cue, "cue", "", "only what shows in this cue")
	out.add(command)
	flags.StringVar(&stdinName, "stdin-name", "standard input", "what to call the show that is read from -")
	house.add(command)
	exports.add(command)
	complete(command, "of", facts.KindNames()...)
	complete(command, "format", factFormats()...)
	return command
}

// factFormats are the ways to print facts: the table of formats, and the page, which has
// pictures beside them.
func factFormats() []string { return append(slices.Sorted(maps.Keys(report.FactFormats)), "html") }

// factRows are facts as cells for people.
func factRows(subjects []facts.Subject, words []string, value measured.Value) [][]string {
	rows := make([][]string, len(subjects))
	for i, subject := range subjects {
		for _, word := range words {
			rows[i] = append(rows[i], measured.Text(subject, word, value))
		}
	}
	return rows
}
