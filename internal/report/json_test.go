package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
	"pgregory.net/rapid"
)

// sampleText is a file with the things that the findings of sample are about.
const sampleText = `{
  "patch": [
    {"channel": 12, "address": "1.101", "aim": "Ä 😀"},
    {"channel": 13, "address": "1.105"}
  ],
  "cues": [{"number": 4, "set": [{"channels": "12", "level": 93.4}]}]
}
`

func sampleFile(t testing.TB, name string) *source.File {
	t.Helper()
	file := &source.File{Name: name, Text: sampleText, Encoding: "UTF-8"}
	if problems, ok := source.ParseJSON(file); !ok || len(problems) > 0 {
		t.Fatalf("the sample is broken: %v", problems)
	}
	return file
}

func placeOf(t testing.TB, file *source.File, pointer string) source.Place {
	t.Helper()
	ref, ok := file.Root().Find(pointer)
	if !ok {
		t.Fatalf("the sample has no %s", pointer)
	}
	return ref.Place()
}

func number(v float64) *float64 { return &v }

// sample is a small report with one of everything.
func sample(t testing.TB) *outcome.Report {
	file := sampleFile(t, "evening/show.json")
	overlap := finding.Finding{
		Rule: "patch/address-overlap", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "channel", Name: "12"}},
		Message:  "Channel 12 starts at 1.101 and shares slots with channel 13: whatever one of them does, the other does too.",
		Measured: []finding.Evidence{{Name: "fixture.overlap_count", Value: "1", Num: number(1)}},
		Place:    placeOf(t, file, "/patch/0/address"),
		Related:  []finding.Related{{Message: "the fixture it shares slots with", Place: placeOf(t, file, "/patch/1/address")}},
	}
	load := finding.Finding{
		Rule: "patch/circuit-load", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Hurt,
		Subjects: []finding.Subject{{Kind: "circuit", Name: "A/1 [left]"}},
		Message:  "Circuit A/1 [left] carries 14.9 A with everything at full, 93.4 % of its 16 A; 80 % is the limit for a load that lasts.",
		Measured: []finding.Evidence{{Name: "circuit.load_pct", Value: "93.4", Num: number(93.3749999999), Unit: "%"}},
		Limits:   []finding.Evidence{{Name: "limit.max_pct", Value: "80", Num: number(80), Unit: "%"}},
		Hint:     "Move a fixture to a circuit with room",
		Place:    placeOf(t, file, "/patch/0"),
	}
	white := finding.Finding{
		Rule: "white/key-camera", Level: finding.Warning, Verdict: finding.Open, Consequence: finding.Camera,
		Subjects: []finding.Subject{{Kind: "channel", Name: "12"}, {Kind: "cue", Name: "4"}},
		Message:  "Could not tell: A key light differs from the camera's white.",
		Cues:     []string{"4", "7"},
		Missing:  []string{`the white balance of the camera "front"`, "the white of type Spot"},
		Place:    placeOf(t, file, "/cues/0/set/0/level"),
	}
	misspelt := finding.Finding{
		Rule: "file/unknown-key", Level: finding.Note, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "file", Name: "show.json"}},
		Message:  `show.json: "aim" is not a key that a fixture has. Did you mean "aimed_at"?`,
		Place:    placeOf(t, file, "/patch/0/aim"),
	}
	whole := finding.Finding{
		Rule: "dynamics/flat-run", Level: finding.Note, Verdict: finding.Fail, Consequence: finding.Room,
		Subjects: []finding.Subject{{Kind: "show"}},
		Message:  "8 looks in a row are alike.",
	}
	return &outcome.Report{
		Version: "0.3.0-rc.1",
		Rules: []finding.Rule{
			{
				ID: "white/key-camera", Title: "A key light differs from the camera's white.", Level: finding.Warning,
				Consequence: finding.Camera, Over: "person", Expect: "person.camera_mired <= limit.max_mired",
				Limits:  []finding.Limit{{Name: "max_mired", Value: 15, Unit: "mired", Source: "common practice, no source"}},
				Explain: "# Key and camera\n\nThe camera believes that one colour is white.\nA face in other light is *tinted*; see [mired](https://example.org/mired).\n\n## What to try\n\nSet the white balance.\n",
			},
			{
				ID: "patch/address-overlap", Title: "Two fixtures listen to the same slot.", Level: finding.Error,
				Consequence: finding.Dark, Over: "fixture", Expect: "fixture.overlap_count == 0",
				Explain: "Two fixtures that share a slot do the same thing.",
			},
			{
				ID: "patch/circuit-load", Title: "A circuit carries more than it should for hours.", Level: finding.Warning,
				Consequence: finding.Hurt, Over: "circuit", Expect: "circuit.load_pct <= limit.max_pct",
				Limits:  []finding.Limit{{Name: "max_pct", Value: 80, Unit: "%", Source: "NFPA 70 (US), 210.20(A)"}},
				Explain: "A cable that carries too much gets hot.",
				Caution: "This is arithmetic, not an inspection: local codes, the venue and a licensed electrician decide.",
			},
			{
				ID: "dynamics/flat-run", Title: "Many looks in a row are alike.", Level: finding.Note,
				Consequence: finding.Room, Over: "look", Expect: "look.alike_run <= limit.max_run",
				Limits: []finding.Limit{{Name: "max_run", Value: 6, Source: "common practice, no source"}},
			},
			{
				ID: "file/unknown-key", Title: "A file has a key that means nothing.", Level: finding.Note,
				Consequence: finding.Later, Explain: "A key that is misspelt is not read.",
			},
			{
				ID: "camera/banding", Title: "The camera sees bands.", Level: finding.Warning,
				Consequence: finding.Camera, Over: "look", Expect: "look.banding == false",
				Explain: "Lamps that pulse leave bands in a picture.",
			},
		},
		Shows: []outcome.Show{{
			Path: "evening", Name: "An invented evening", Verdict: outcome.Hold,
			Because:  "Two fixtures share an address.",
			Findings: []finding.Finding{whole, overlap, load, misspelt, white},
			LeftOut:  3,
			Orders: []outcome.Order{{
				Do: "set channel 12 to address 1.201", Why: overlap.Message, Or: "set channel 13 to address 1.201.", Effect: "Each fixture answers to its own channel again.",
				Undo: "set channel 12 back to address 1.101", Caution: "Whoever climbs up to the fixture needs a second person at the ladder.",
				Consequence: finding.Dark, Level: finding.Error, Rules: []string{"patch/address-overlap"},
				Cures: []string{overlap.Key()}, Place: overlap.Place,
				Where: outcome.Ladder, Who: "the person responsible for the rig", Minutes: outcome.Minutes{Least: 5, Most: 15},
				Edits: []outcome.Edit{{What: "channels", Names: []string{"12"}, Key: "address", From: "1.101", To: "1.201"}},
				Worse: []outcome.Price{{Key: load.Key(), Rule: load.Rule, Message: load.Message, Was: 93.3749999999, Is: 95, Unit: "%"}},
			}},
			NeedPerson: []*finding.Finding{&load, &whole, &misspelt},
			Untried:    1,
			Gaps: []outcome.Gap{{
				Missing: `the white balance of the camera "front"`, Rules: []string{"white/key-camera"}, Subjects: 14, Consequence: finding.Camera,
			}},
			ByEye: []string{"Whether the haze reaches the back row."},
			Looked: []finding.Tally{
				{Rule: "camera/banding", None: []string{"a camera with its shutter"}},
				{Rule: "dynamics/flat-run", Subjects: 9, Fails: 1},
				{Rule: "patch/address-overlap", Subjects: 2, Fails: 1},
				{Rule: "patch/circuit-load", Subjects: 1, Fails: 1},
				{Rule: "white/key-camera", Subjects: 14, Open: 1},
			},
			Files: []*source.File{file},
			Notes: []string{"show.json is UTF-8 with LF"},
		}},
	}
}

func written(t testing.TB, format func(io.Writer, *outcome.Report, say.Options) error, r *outcome.Report) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := format(&out, r, say.Options{}); err != nil {
		t.Fatal(err)
	}
	if !utf8.Valid(out.Bytes()) || !json.Valid(out.Bytes()) {
		t.Fatalf("this is not JSON in UTF-8:\n%q", out.Bytes())
	}
	return out.Bytes()
}

// golden compares with a file in testdata, or rewrites it if the environment
// has CUEPROOF_UPDATE=1.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if os.Getenv("CUEPROOF_UPDATE") == "1" {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(string(got), "\n")); diff != "" {
		t.Errorf("%s has changed; if that is right, run again with CUEPROOF_UPDATE=1 and review the difference:\n%s", file, diff)
	}
}

func TestJSONGolden(t *testing.T) { golden(t, "evening.json", written(t, jsonreport.Write, sample(t))) }

// findingsSchema is schema/findings.schema.json. Strict refuses members that it
// does not name, which readers of a report should not do and a test should.
func findingsSchema(t testing.TB, strict bool) *jsonschema.Schema {
	t.Helper()
	text, err := os.ReadFile("../../schema/findings.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if strict {
		var tree any
		if err := json.Unmarshal(text, &tree); err != nil {
			t.Fatal(err)
		}
		closeObjects(tree)
		if text, err = json.Marshal(tree); err != nil {
			t.Fatal(err)
		}
	}
	return compileSchema(t, string(text))
}

func compileSchema(t testing.TB, text string) *jsonschema.Schema {
	t.Helper()
	compiler := jsonschema.NewCompiler()
	compiler.AssertFormat = true
	compiler.LoadURL = func(url string) (io.ReadCloser, error) { return nil, errors.New("nothing is fetched: " + url) }
	if err := compiler.AddResource("https://schema.invalid/it.json", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("https://schema.invalid/it.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

func closeObjects(tree any) {
	switch tree := tree.(type) {
	case map[string]any:
		if _, ok := tree["properties"].(map[string]any); ok && tree["type"] == "object" {
			tree["additionalProperties"] = false
		}
		for _, part := range tree {
			closeObjects(part)
		}
	case []any:
		for _, part := range tree {
			closeObjects(part)
		}
	}
}

func decode(t testing.TB, text []byte) any {
	t.Helper()
	var value any
	if err := json.Unmarshal(text, &value); err != nil {
		t.Fatal(err)
	}
	return value
}

func TestJSONKeepsToItsSchema(t *testing.T) {
	for name, r := range map[string]*outcome.Report{"sample": sample(t), "empty": {}, "a bare show": {Shows: []outcome.Show{{Verdict: outcome.NotChecked}}}} {
		t.Run(name, func(t *testing.T) {
			if err := findingsSchema(t, true).Validate(decode(t, written(t, jsonreport.Write, r))); err != nil {
				t.Errorf("%#v", err)
			}
		})
	}
}

// The schema must be able to refuse, and must let a later version add to it.
func TestJSONSchemaCanRefuse(t *testing.T) {
	good := string(written(t, jsonreport.Write, sample(t)))
	for _, tc := range []struct {
		name, old, new string
		open           bool // whether the published schema lets it pass
	}{
		{"another shape", "cueproof-findings-1", "cueproof-findings-2", false},
		{"a wrong level", `"level": "error"`, `"level": "fatal"`, false},
		{"a column of 0", `"column": 5`, `"column": 0`, false},
		{"a number as text", `"number": 93.375`, `"number": "93.375"`, false},
		{"no verdict", `"verdict": "HOLD",`, "", false},
		{"null for a list", `"cues": []`, `"cues": null`, false},
		{"a further member", `"because":`, `"further": 1, "because":`, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			changed := strings.Replace(good, tc.old, tc.new, 1)
			if changed == good {
				t.Fatalf("the sample has no %s", tc.old)
			}
			value := decode(t, []byte(changed))
			if findingsSchema(t, true).Validate(value) == nil {
				t.Error("the strict schema lets it pass")
			}
			if err := findingsSchema(t, false).Validate(value); (err == nil) != tc.open {
				t.Errorf("the published schema says %v", err)
			}
		})
	}
}

func TestNumbersAreRoundedToSixDigits(t *testing.T) {
	for _, tc := range []struct {
		in   float64
		want float64
		ok   bool
	}{
		{0.1 + 0.2, 0.3, true},
		{1234567.89, 1234570, true},
		{-93.37499999, -93.375, true},
		{1e-9 / 3, 3.33333e-10, true},
		{0, 0, true},
		{math.MaxFloat64, 1.79769e308, true},
		{math.SmallestNonzeroFloat64, math.SmallestNonzeroFloat64, true},
		{math.NaN(), 0, false},
		{math.Inf(1), 0, false},
		{math.Inf(-1), 0, false},
	} {
		if got, ok := say.SixDigits(tc.in); got != tc.want || ok != tc.ok {
			t.Errorf("sixDigits(%g) = %g, %v; want %g, %v", tc.in, got, ok, tc.want, tc.ok)
		}
	}
	if got, _ := say.SixDigits(math.Copysign(0, -1)); math.Signbit(got) {
		t.Error("minus zero stays minus zero")
	}
}

func TestWhatIsNoNumberIsLeftOut(t *testing.T) {
	r := &outcome.Report{
		Rules: []finding.Rule{{ID: "a/b", Level: finding.Note, Limits: []finding.Limit{{Name: "x", Value: math.Inf(1)}, {Name: "y", Value: 2}}}},
		Shows: []outcome.Show{{Verdict: outcome.Hold, Findings: []finding.Finding{{
			Rule: "a/b", Level: finding.Note, Verdict: finding.Fail,
			Measured: []finding.Evidence{{Name: "bad", Value: "NaN", Num: number(math.NaN())}, {Name: "good", Value: "1", Num: number(1)}, {Name: "text", Value: "1.101"}},
		}}}},
	}
	for name, format := range map[string]func(io.Writer, *outcome.Report, say.Options) error{"JSON": jsonreport.Write, "SARIF": sarif.Write} {
		text := string(written(t, format, r))
		if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || !strings.Contains(text, `"good"`) || !strings.Contains(text, `"1.101"`) {
			t.Errorf("%s: %s", name, text)
		}
	}
	if text := string(written(t, jsonreport.Write, r)); strings.Contains(text, `"x"`) || !strings.Contains(text, `"y"`) {
		t.Errorf("limits: %s", text)
	}
}

// hostile draws text that a bad file could hold.
func hostile() *rapid.Generator[string] {
	piece := rapid.OneOf(
		rapid.String(),
		rapid.SampledFrom([]string{
			"\x00", "\x1b[31m", "\u009b31m", "\x7f", "\xff\xfe", "\xed\xa0\x80", "\u202e", "\u2066", "\U000e0001", "\ufeff", "\u2028",
			`"`, `\`, `\\`, "]](", "](0)", "[x](9)", "[x](javascript:alert(1))", "{0}", "<script>", "&amp;", "../", "%2e%2e", "a:b", "//x", "\n", "\r\n", "\t", " ", ".", "/home/somebody/evening",
		}),
	)
	return rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(piece, 0, 5).Draw(t, "pieces"), "")
	})
}

// hostileReport draws a report in which every text is hostile.
func hostileReport(t *rapid.T) *outcome.Report {
	text := hostile()
	texts := func(label string) []string { return rapid.SliceOfN(text, 0, 3).Draw(t, label) }
	word := func(label string) string { return text.Draw(t, label) }
	level := rapid.SampledFrom(finding.Levels)
	consequence := rapid.Map(rapid.IntRange(0, len(finding.Consequences)-1), func(i int) finding.Consequence { return finding.Consequence(i) })
	amount := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), math.Copysign(0, -1)}))
	rule := rapid.OneOf(rapid.SampledFrom([]string{"patch/address-overlap", "camera/camera", "file/syntax"}), text)

	file := rapid.Custom(func(t *rapid.T) *source.File {
		return &source.File{Name: text.Draw(t, "file"), Text: text.Draw(t, "text"), Encoding: text.Draw(t, "encoding")}
	})
	files := rapid.SliceOfN(file, 0, 3).Draw(t, "files")
	place := rapid.Custom(func(t *rapid.T) source.Place {
		if rapid.Bool().Draw(t, "nowhere") || len(files) == 0 {
			return source.Place{}
		}
		offset := rapid.IntRange(-3, 40)
		return source.Place{File: rapid.SampledFrom(files).Draw(t, "of"), Start: offset.Draw(t, "start"), Stop: offset.Draw(t, "stop")}
	})
	evidence := rapid.Custom(func(t *rapid.T) finding.Evidence {
		e := finding.Evidence{Name: text.Draw(t, "fact"), Value: text.Draw(t, "value"), Unit: text.Draw(t, "unit")}
		if rapid.Bool().Draw(t, "number") {
			e.Num = number(amount.Draw(t, "amount"))
		}
		return e
	})
	one := rapid.Custom(func(t *rapid.T) finding.Finding {
		f := finding.Finding{
			Rule: rule.Draw(t, "rule"), Level: level.Draw(t, "level"), Consequence: consequence.Draw(t, "consequence"),
			Verdict: rapid.SampledFrom([]finding.Verdict{finding.Fail, finding.Open}).Draw(t, "verdict"),
			Detail:  text.Draw(t, "detail"), Message: text.Draw(t, "message"), Hint: text.Draw(t, "hint"),
			Cues: rapid.SliceOfN(text, 0, 3).Draw(t, "cues"), Missing: rapid.SliceOfN(text, 0, 3).Draw(t, "missing"),
			Measured: rapid.SliceOfN(evidence, 0, 2).Draw(t, "measured"), Limits: rapid.SliceOfN(evidence, 0, 2).Draw(t, "limits"),
			Place: place.Draw(t, "place"),
		}
		for range rapid.IntRange(0, 3).Draw(t, "subjects") {
			f.Subjects = append(f.Subjects, finding.Subject{Kind: text.Draw(t, "kind"), Name: text.Draw(t, "name")})
		}
		for range rapid.IntRange(0, 3).Draw(t, "related") {
			f.Related = append(f.Related, finding.Related{Message: text.Draw(t, "related message"), Place: place.Draw(t, "related place")})
		}
		return f
	})
	list := rapid.SliceOfN(one, 0, 4).Draw(t, "findings")
	var left []*finding.Finding
	for i := range list {
		left = append(left, &list[i])
	}
	show := outcome.Show{
		Path: word("path"), Name: word("name"), Verdict: outcome.Hold, Because: word("because"),
		Findings: append(list, list...), // every finding has a twin
		LeftOut:  rapid.IntRange(0, 2).Draw(t, "left out"), Untried: rapid.IntRange(0, 2).Draw(t, "untried"),
		NeedPerson: left, ByEye: texts("by eye"), Notes: texts("notes"), Files: files, Unreadable: rapid.Bool().Draw(t, "unreadable"),
		Gaps:   []outcome.Gap{{Missing: word("gap"), Rules: texts("gap rules"), Subjects: 1, Consequence: consequence.Draw(t, "gap consequence")}},
		Looked: []finding.Tally{{Rule: rule.Draw(t, "looked"), None: texts("none")}},
	}
	for i := range list {
		show.Orders = append(show.Orders, outcome.Order{
			Do: word("do"), Why: word("why"), Effect: word("effect"), Undo: word("undo"), Caution: word("caution"), Level: finding.Error,
			Rules: []string{list[i].Rule}, Cures: []string{list[i].Key()}, Place: list[i].Place, Who: word("who"), After: []int{1},
			Edits: []outcome.Edit{{What: "channels", Names: texts("edited"), Cue: word("in cue"), Key: word("key"), From: amount.Draw(t, "from"), To: word("to"), Unit: word("edit unit")}},
			Worse: []outcome.Price{{Key: list[i].Key(), Rule: word("price rule"), Message: word("price"), Was: amount.Draw(t, "was"), Is: amount.Draw(t, "is"), Unit: word("price unit")}},
		})
	}
	r := &outcome.Report{Version: word("version"), Shows: []outcome.Show{show}}
	for range rapid.IntRange(0, 3).Draw(t, "cards") {
		r.Rules = append(r.Rules, finding.Rule{
			ID: rule.Draw(t, "id"), Title: word("title"), Level: level.Draw(t, "rule level"), Consequence: consequence.Draw(t, "rule consequence"),
			Over: word("over"), Expect: word("expect"), Explain: word("explain"), Caution: word("rule caution"),
			Limits: []finding.Limit{{Name: word("limit"), Value: amount.Draw(t, "limit value"), Unit: word("limit unit"), Source: word("limit source")}},
		})
	}
	return r
}

func TestHostileTextGivesValidJSON(t *testing.T) {
	schema := findingsSchema(t, true)
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileReport(rt)
		text := written(t, jsonreport.Write, r)
		value := decode(t, text)
		if err := schema.Validate(value); err != nil {
			rt.Fatalf("%#v", err)
		}
		assertHarmless(rt, text)
		// What people wrote arrives unchanged, but for bytes that are no text.
		show := value.(map[string]any)["shows"].([]any)[0].(map[string]any)
		if want := string([]rune(r.Shows[0].Because)); show["because"] != want {
			rt.Fatalf("because %q became %q", want, show["because"])
		}
	})
}

// assertHarmless makes sure that a terminal that shows the text obeys nothing in it.
func assertHarmless(t interface{ Fatalf(string, ...any) }, text []byte) {
	for i, r := range string(text) {
		if r != '\n' && unicode.In(r, unicode.Cc, unicode.Cf) {
			t.Fatalf("%U stands bare at byte %d", r, i)
		}
	}
}

func TestEscapingKeepsTheText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		want := strings.ToValidUTF8(hostile().Draw(rt, "text"), "?")
		var out bytes.Buffer
		if err := say.JSON(&out, want); err != nil {
			rt.Fatal(err)
		}
		assertHarmless(rt, out.Bytes())
		var got string
		if err := json.Unmarshal(out.Bytes(), &got); err != nil || got != want {
			rt.Fatalf("%q became %q (%v)", want, got, err)
		}
	})
}

// fullDisk takes so many bytes and then no more.
type fullDisk struct{ room int }

var errFull = errors.New("the disk is full")

func (d *fullDisk) Write(p []byte) (int, error) {
	if len(p) > d.room {
		n := d.room
		d.room = 0
		return n, errFull
	}
	d.room -= len(p)
	return len(p), nil
}

func TestAFullDiskIsAnError(t *testing.T) {
	r := sample(t)
	r.Shows[0].Because = "\u0085 in the middle"
	for name, format := range map[string]func(io.Writer, *outcome.Report, say.Options) error{"JSON": jsonreport.Write, "SARIF": sarif.Write} {
		size := len(written(t, format, r))
		for _, room := range []int{0, 10, size / 2, size - 1} {
			if err := format(&fullDisk{room}, r, say.Options{}); !errors.Is(err, errFull) {
				t.Errorf("%s with room for %d of %d bytes: error %v", name, room, size, err)
			}
		}
		if err := format(&fullDisk{size}, r, say.Options{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
