package report

import (
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/internal/report/paper"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// hostileFact is a subject whose words a bad file could hold.
type hostileFact struct {
	Name  string   `expr:"name"`
	Words []string `expr:"names"`
	Gone  *float64 `expr:"gone"`
	why   []string
}

func (h *hostileFact) Names() []facts.Name        { return nil }
func (h *hostileFact) Cue() string                { return "" }
func (h *hostileFact) Ref() source.Ref            { return source.Ref{} }
func (h *hostileFact) Basis(string) finding.Basis { return finding.Basis{} }
func (h *hostileFact) Why(string) []string        { return h.why }
func (h *hostileFact) InPart(func(string))        {}

// TestEveryFormatWithHostileText draws every row of every table of formats with
// texts that hold control characters, marks that turn the direction of writing,
// bytes that are no text, and markup. A new format is in this test by being in a
// table.
func TestEveryFormatWithHostileText(t *testing.T) {
	type drawing struct {
		name string
		draw func(io.Writer) error
	}
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileBase(rt)
		word := func(label string) string { return hostile().Draw(rt, label) }
		var all []drawing
		for _, name := range slices.Sorted(maps.Keys(Formats)) {
			all = append(all, drawing{name, func(w io.Writer) error { return Formats[name](w, r, say.Options{}) }})
		}
		compared := &outcome.Comparison{
			Version: word("version"), Old: outcome.Side{Path: word("old"), Name: word("old name"), Notes: []string{word("note")}},
			New: outcome.Side{Path: word("new"), Name: word("new name")}, Findings: r.Shows[0].Findings, Change: r.Base.Change,
			Looks: []outcome.LookChange{{
				OldCue: word("cue"), NewCue: word("cue"), Name: word("name"), OldHues: word("hues"), NewHues: word("hues"),
				Levels:  []outcome.ChannelStep{{Channels: word("channels")}},
				Colours: []outcome.ColourStep{{Channels: word("channels"), Old: word("colour"), New: word("colour")}},
				Haze:    []outcome.ChannelStep{{Channels: word("machine")}},
				Others:  []outcome.OtherStep{{What: "aim", Of: word("of"), Old: word("was"), New: word("is")}},
				Faces:   []outcome.FaceStep{{Place: word("place")}},
			}},
		}
		for _, name := range slices.Sorted(maps.Keys(ComparisonFormats)) {
			all = append(all, drawing{"comparison as " + name, func(w io.Writer) error { return ComparisonFormats[name](w, compared, say.Options{}) }})
		}
		subject := &hostileFact{word("fact"), []string{word("list"), word("list")}, nil, []string{word("why")}}
		for _, name := range slices.Sorted(maps.Keys(FactFormats)) {
			all = append(all, drawing{"facts as " + name, func(w io.Writer) error {
				return FactFormats[name](w, []facts.Subject{subject}, []string{"name", "names", "gone"}, (&rules.Set{}).Value)
			}})
		}
		chapters := []handbook.Chapter{{Rule: finding.Rule{
			ID: "own/rule", Title: word("title"), Explain: word("explain"), Caution: word("caution"),
			Limits: []finding.Limit{{Name: word("limit"), Unit: word("unit"), Source: word("source")}},
		}, Example: word("example")}}
		for _, size := range paper.Sizes {
			all = append(all, drawing{"paper of " + size, func(w io.Writer) error { return paper.Write(w, r, paper.Size(size)) }})
		}
		for _, name := range slices.Sorted(maps.Keys(Handbooks)) {
			all = append(all, drawing{"handbook as " + name, func(w io.Writer) error { return Handbooks[name](w, chapters) }})
		}
		for _, d := range all {
			var out bytes.Buffer
			if err := d.draw(&out); err != nil {
				rt.Fatalf("%s: %v", d.name, err)
			}
			text := out.String()
			if json.Valid(out.Bytes()) { // whose own escapes say what the bytes were
				assertHarmless(rt, out.Bytes())
				continue
			}
			assertShowsNothingUnseen(rt, strings.NewReplacer("\r\n", "\n", "\t", " ").Replace(text))
			if strings.HasSuffix(d.name, "text") {
				assertFits(rt, text)
			}
			if strings.HasSuffix(d.name, "json") || d.name == "sarif" {
				rt.Fatalf("%s: this is no JSON: %s", d.name, text)
			}
			if strings.HasPrefix(text, "<!doctype html>") && strings.Contains(text, "<script") {
				rt.Fatalf("%s: markup from a show stands in the page", d.name)
			}
		}
	})
}
