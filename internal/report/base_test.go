package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/annotate"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// against holds a report against an earlier state, given by its findings.
func against(r *outcome.Report, old []outcome.Past) *outcome.Report {
	var now []*finding.Finding
	for i := range r.Shows {
		for j := range r.Shows[i].Findings {
			now = append(now, &r.Shows[i].Findings[j])
		}
	}
	r.Base = &outcome.Base{Name: "earlier.sarif", Change: outcome.Change{Gone: compare.Mark(old, now, nil)}}
	r.Base.Counts = compare.Count(now, r.Base.Gone)
	return r
}

// earlier is what a run before the sample found: two of its findings and one more.
func earlier(t testing.TB) []outcome.Past {
	r := sample(t)
	list := []outcome.Past{compare.Of(&r.Shows[0].Findings[0]), compare.Of(&r.Shows[0].Findings[1])}
	gone := finding.Finding{
		Rule: "white/key-mix", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Camera,
		Subjects: []finding.Subject{{Kind: "place", Name: "pulpit [left]"}}, Message: "Key lights differ on the pulpit [left].",
	}
	past := compare.Of(&gone)
	past.File, past.Span = "evening/cues.json", source.Span{Start: source.Position{Line: 4, Column: 2}, End: source.Position{Line: 4, Column: 9}}
	return append(list, past)
}

func TestBaselineInSARIF(t *testing.T) {
	schema := officialSchema(t)
	r := against(sample(t), earlier(t))
	log := checkSARIF(t, schema, r)
	count := map[string]int{}
	for _, result := range log.Runs[0].Results {
		if result.BaselineState == nil {
			t.Fatalf("%s has no baseline state", result.RuleID)
		}
		count[*result.BaselineState]++
		if *result.BaselineState != "absent" {
			continue
		}
		at := result.Locations[0].PhysicalLocation
		if at.ArtifactLocation.URI != "evening/cues.json" || at.Region.StartLine != 4 || result.RuleID != "white/key-mix" {
			t.Errorf("what is gone stands at %+v", at)
		}
		if !strings.HasPrefix(result.Message.Text, `Key lights differ on the pulpit \[left\].`) {
			t.Errorf("message %q", result.Message.Text)
		}
	}
	total := len(r.Shows[0].Findings)
	if want := map[string]int{"new": total - 2, "unchanged": 2, "absent": 1}; !cmp.Equal(count, want) {
		t.Error(cmp.Diff(want, count))
	}
	for _, result := range checkSARIF(t, schema, sample(t)).Runs[0].Results {
		if result.BaselineState != nil {
			t.Error("a state against no base")
		}
	}
}

// TestReportsAreBases reads each report as the base of the next: nothing is new,
// and what was gone before is not gone again.
func TestReportsAreBases(t *testing.T) {
	r := against(sample(t), earlier(t))
	for name, format := range map[string]func(*outcome.Report) []byte{
		"sarif": func(r *outcome.Report) []byte { return written(t, sarif.Write, r) },
		"json":  func(r *outcome.Report) []byte { return written(t, jsonreport.Write, r) },
	} {
		t.Run(name, func(t *testing.T) {
			base, err := compare.Read(format(r))
			if err != nil {
				t.Fatal(err)
			}
			again := against(sample(t), base.Findings)
			if c := again.Base.Counts; len(again.Base.Gone) != 0 || c.New != 0 || c.Fixed != 0 {
				t.Errorf("%+v, %d gone", c, len(again.Base.Gone))
			}
			want, _ := compare.Read(format(sample(t)))
			if diff := cmp.Diff(want.Findings, base.Findings); diff != "" {
				t.Errorf("with a base other findings are read:\n%s", diff)
			}
		})
	}
}

func TestBothFormatsKeepTheSame(t *testing.T) {
	a, errA := compare.Read(written(t, jsonreport.Write, sample(t)))
	b, errB := compare.Read(written(t, sarif.Write, sample(t)))
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	keep := func(list []outcome.Past) []string {
		var words []string
		for _, p := range list {
			level := p.Level
			if p.Verdict == finding.Open {
				level = "" // SARIF keeps none
			}
			words = append(words, fmt.Sprint(p.Fingerprint, p.Key, p.Rule, level, p.Verdict, p.Consequence, p.Accepted, p.Message))
		}
		slices.Sort(words)
		return words
	}
	if diff := cmp.Diff(keep(a.Findings), keep(b.Findings)); diff != "" {
		t.Errorf("JSON (-) and SARIF (+):\n%s", diff)
	}
}

func TestBaseInJSONAndText(t *testing.T) {
	r := against(sample(t), earlier(t))
	r.Shows[0].Since = []string{"Since last time (2026-03-01): 5 fixed, 2 new, 1 back for the third time."}
	if err := findingsSchema(t, true).Validate(decode(t, written(t, jsonreport.Write, r))); err != nil {
		t.Errorf("%#v", err)
	}
	text := textOf(t, r, say.Options{All: true})
	lines := strings.Split(text, "\n")
	if !strings.HasPrefix(lines[0], string(r.Shows[0].Verdict)) {
		t.Errorf("the first line is %q", lines[0])
	}
	for _, words := range []string{
		"Against earlier.sarif: " + say.Counts(r.Base.Counts) + ".", "1 back for the third time", "New since earlier.sarif",
	} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), words) {
			t.Errorf("the text does not say %q:\n%s", words, text)
		}
	}
	if err := findingsSchema(t, true).Validate(decode(t, written(t, jsonreport.Write, against(sample(t), nil)))); err != nil {
		t.Errorf("%#v", err)
	}
}

// hostileBase is a report with a base in which every text is hostile.
func hostileBase(t *rapid.T) *outcome.Report {
	r := hostileReport(t)
	r.Shows[0].Since = rapid.SliceOfN(hostile(), 0, 2).Draw(t, "since")
	var old []outcome.Past
	for i := range r.Shows[0].Findings {
		if rapid.Bool().Draw(t, "was there") {
			old = append(old, compare.Of(&r.Shows[0].Findings[i]))
		}
	}
	for range rapid.IntRange(0, 3).Draw(t, "gone") {
		f := finding.Finding{
			Rule: hostile().Draw(t, "rule"), Level: finding.Error, Message: hostile().Draw(t, "message"),
			Verdict: rapid.SampledFrom([]finding.Verdict{finding.Fail, finding.Open}).Draw(t, "verdict"),
		}
		past := compare.Of(&f)
		past.File, past.Accepted = hostile().Draw(t, "file"), rapid.Bool().Draw(t, "accepted")
		past.Span = source.Span{Start: source.Position{Line: 1, Column: 1}, End: source.Position{Line: 1, Column: 1}}
		past.Subjects = []finding.Subject{{Kind: hostile().Draw(t, "kind"), Name: hostile().Draw(t, "name")}}
		old = append(old, past)
	}
	against(r, old)
	r.Base.Name, r.Base.Notes = hostile().Draw(t, "base"), []string{hostile().Draw(t, "note")}
	return r
}

func TestHostileBases(t *testing.T) {
	official, ours := officialSchema(t), findingsSchema(t, true)
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileBase(rt)
		sarif := written(t, sarif.Write, r)
		if err := official.Validate(decode(t, sarif)); err != nil {
			rt.Fatalf("%#v", err)
		}
		for _, c := range complaints(decodeLog(t, sarif)) {
			rt.Fatal(c)
		}
		assertHarmless(rt, sarif)
		text := written(t, jsonreport.Write, r)
		if err := ours.Validate(decode(t, text)); err != nil {
			rt.Fatalf("%#v", err)
		}
		assertHarmless(rt, text)
		told := textOf(t, r, say.Options{All: true})
		assertShowsNothingUnseen(rt, told)
		assertFits(rt, told)
	})
}

func annotated(t testing.TB, r *outcome.Report) string {
	t.Helper()
	var out bytes.Buffer
	if err := annotate.Write(&out, r, say.Options{All: true}); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// command is the grammar of a line of annotations, as a strict reader has it.
var command = regexp.MustCompile(`^::(error|warning|notice) ([A-Za-z]+=[^,:\r\n]*(?:,[A-Za-z]+=[^,:\r\n]*)*)::([^\r\n]*)$`)

func TestHostileAnnotations(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileBase(rt)
		if rapid.Bool().Draw(rt, "not checked") {
			r.Shows[0].Verdict = outcome.NotChecked
		}
		text := annotated(t, r)
		assertShowsNothingUnseen(rt, text)
		for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
			if line == "" && text == "" {
				continue
			}
			match := command.FindStringSubmatch(line)
			if match == nil {
				rt.Fatalf("this is no command: %q", line)
			}
			for _, part := range match[2:] {
				if regexp.MustCompile(`%(?:[^2013]|$)`).MatchString(part) {
					rt.Fatalf("a bare %% in %q", part)
				}
			}
		}
	})
}

func TestAnnotations(t *testing.T) {
	file := &source.File{Name: "a,b:c%/show.json", Text: "line\nline two\n"}
	one := finding.Finding{
		Rule: "patch/address-overlap", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Dark,
		Message: "100 % of\r\nit: a, b", Place: source.Place{File: file, Start: 5, Stop: 9},
	}
	note, open, accepted := one, one, one
	note.Rule = "patch/another"
	note.Level, open.Verdict, accepted.Accepted = finding.Note, finding.Open, &finding.Acceptance{}
	r := &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.WithCare, Findings: []finding.Finding{note, open, accepted, one}}}}
	want := "::warning file=a%2Cb%3Ac%25/show.json,line=2,endLine=2,col=1,endColumn=4,title=patch/address-overlap (" + one.Key() + ")::100 %25 of it: a, b.\n" +
		"::notice title=cueproof::Not annotated: 1 more note. The text report has all of it.\n"
	if diff := cmp.Diff(want, annotated(t, r)); diff != "" {
		t.Error(diff)
	}
	if text := annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.Ready}}}); len(text) != 0 {
		t.Errorf("nothing to say, and yet: %s", text)
	}

	// What one rule found on account of one line is one, and no rule fills the page.
	twice, elsewhere := one, []finding.Finding{one, one, one, one}
	twice.Subjects = []finding.Subject{{Kind: "channel", Name: "7"}}
	joinedUp := annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.WithCare, Findings: []finding.Finding{one, twice}}}})
	if strings.Count(joinedUp, "::warning ") != 1 || !strings.Contains(joinedUp, "1 more of this kind hang on the same line") {
		t.Error(joinedUp)
	}
	long := &source.File{Name: "show.json", Text: "1\n2\n3\n4\n"}
	for i := range elsewhere {
		elsewhere[i].Place = source.Place{File: long, Start: 2 * i, Stop: 2*i + 1}
	}
	if text := annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.WithCare, Findings: elsewhere}}}); strings.Count(text, "::warning ") != 3 || !strings.Contains(text, "1 more warning") {
		t.Error(text)
	}
	// The line that has to change, and what to do there.
	cured := one
	ordered := outcome.Order{Do: "Set the white of the camera to 5600 K.", Cures: []string{cured.Key()}, Rules: []string{cured.Rule}, Place: source.Place{File: long, Start: 4, Stop: 5}}
	if text := annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.WithCare, Findings: []finding.Finding{cured}, Orders: []outcome.Order{ordered}}}}); !strings.HasPrefix(text, "::warning file=show.json,line=3,") || !strings.Contains(text, "Do: Set the white of the camera to 5600 K.") {
		t.Error(text)
	}

	// Worst first, at most ten of each, and the rest counted.
	var many []finding.Finding
	for i := range 13 {
		for _, level := range []finding.Level{finding.Warning, finding.Error} {
			f := one
			f.Level, f.Subjects = level, []finding.Subject{{Kind: "channel", Name: fmt.Sprint(i)}}
			f.Rule = fmt.Sprintf("patch/%s-%d", level, i)
			f.Message = fmt.Sprintf("%s %d", level, i)
			f.Consequence = finding.Later
			if i == 12 {
				f.Consequence = finding.Hurt
			}
			many = append(many, f)
		}
	}
	lines := strings.Split(strings.TrimSpace(annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.Hold, Findings: many}}})), "\n")
	if len(lines) != 21 || !strings.HasSuffix(lines[0], "::error 12.") || !strings.HasSuffix(lines[10], "::warning 12.") ||
		!strings.Contains(lines[20], "3 more errors; 3 more warnings") {
		t.Errorf("%d lines: %s", len(lines), strings.Join(lines, "\n"))
	}

	// Against a base only what is new.
	for i := range many {
		many[i].Base = finding.Unchanged
	}
	many[1].Base = finding.New
	based := annotated(t, &outcome.Report{Base: &outcome.Base{Name: "x"}, Shows: []outcome.Show{{Verdict: outcome.Hold, Findings: many}}})
	if n := strings.Count("\n"+based, "\n::error "); n != 1 || strings.Contains(based, "::warning ") {
		t.Errorf("%d errors:\n%s", n, based)
	}
	notChecked := annotated(t, &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.NotChecked, Path: "s", Because: "Nothing."}}})
	if notChecked != "::error title=NOT CHECKED::s: Nothing.\n" {
		t.Errorf("%q", notChecked)
	}
}

func TestComparisonText(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	r := against(sample(t), earlier(t))
	c := &outcome.Comparison{
		Old: outcome.Side{Path: "before", Name: "Evening"}, New: outcome.Side{Path: "after", Name: "Evening"},
		Change: r.Base.Change, Findings: r.Shows[0].Findings, SameLooks: 3,
		Looks: []outcome.LookChange{
			{
				OldCue: "4", NewCue: "4", Name: "Verse", Output: outcome.Step{Old: number(12), New: number(24)}, OldHues: "blue", NewHues: "",
				Levels:  []outcome.ChannelStep{{Channels: "11-14", Step: outcome.Step{Old: number(50), New: number(62)}}},
				Colours: []outcome.ColourStep{{Channels: "11", Old: "3200 K", New: "5600 K"}},
				Faces:   []outcome.FaceStep{{Place: "pulpit", Step: outcome.Step{Old: number(400), New: number(100)}}, {Place: "drums", Step: outcome.Step{New: number(5)}}},
			},
			{OldCue: "5", NewCue: "5", Output: outcome.Step{Old: number(100), New: number(101)}},
			{OldCue: "6", NewCue: "6", Output: outcome.Step{Old: number(0), New: number(10)}},
			{OldCue: "7", NewCue: "7.5", Name: "Talk"},
			{NewCue: "8"}, {OldCue: "9"},
		},
	}
	var out bytes.Buffer
	if err := text.Comparison(&out, c, say.Options{All: true}); err != nil {
		t.Fatal(err)
	}
	golden(t, "comparison.txt", out.Bytes())
	assertFits(t, out.String())
	out.Reset()
	if err := jsonreport.Comparison(&out, c, say.Options{All: true}); err != nil {
		t.Fatal(err)
	}
	golden(t, "comparison.json", out.Bytes())
	var tree any
	if err := json.Unmarshal(out.Bytes(), &tree); err != nil {
		t.Fatal(err)
	}
	if err := comparisonSchema(t).Validate(tree); err != nil {
		t.Errorf("the comparison is not as its schema has it: %#v", err)
	}
	tree.(map[string]any)["looks"] = nil
	if comparisonSchema(t).Validate(tree) == nil {
		t.Error("the schema lets pass what is no list of looks")
	}
	if err := text.Comparison(&fullDisk{}, c, say.Options{All: true}); err == nil {
		t.Error("a full disk is no error for text")
	}
	if err := jsonreport.Comparison(&fullDisk{}, c, say.Options{All: true}); err == nil {
		t.Error("a full disk is no error for JSON")
	}
}

// comparisonSchema is schema/comparison.schema.json with that of findings, of which it
// uses parts. Nothing may be in a comparison that they do not name.
func comparisonSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	compiler := jsonschema.NewCompiler()
	compiler.LoadURL = func(url string) (io.ReadCloser, error) { return nil, errors.New("nothing is fetched: " + url) }
	for _, name := range []string{"findings", "comparison"} {
		text, ok := schema.Document(name)
		if !ok {
			t.Fatalf("there is no schema %s", name)
		}
		var tree map[string]any
		if err := json.Unmarshal(text, &tree); err != nil {
			t.Fatal(err)
		}
		closeObjects(tree)
		closed, err := json.Marshal(tree)
		if err != nil {
			t.Fatal(err)
		}
		id, _ := tree["$id"].(string)
		if err := compiler.AddResource(id, bytes.NewReader(closed)); err != nil {
			t.Fatal(err)
		}
	}
	text, _ := schema.Document("comparison")
	var head struct {
		ID string `json:"$id"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		t.Fatal(err)
	}
	compiled, err := compiler.Compile(head.ID)
	if err != nil {
		t.Fatal(err)
	}
	return compiled
}
