package report

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
	"pgregory.net/rapid"
)

// officialSchema is the schema that the committee published.
func officialSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	text, err := os.ReadFile("../../testdata/reference/sarif-schema-2.1.0.json")
	if err != nil {
		t.Fatal(err)
	}
	return compileSchema(t, string(text))
}

// checkedLog is a log as a reader sees it, with what the checks below ask for.
type checkedLog struct {
	Schema string `json:"$schema"`
	Runs   []struct {
		Tool struct {
			Driver struct {
				SemanticVersion, Version string
				Rules, Notifications     []checkedDescriptor
			}
		}
		AutomationDetails struct{ ID string }
		Invocations       []struct {
			ExecutionSuccessful        bool
			ExitCodeDescription        string
			ToolExecutionNotifications []struct {
				Descriptor, AssociatedRule *checkedReference
				Level                      string
				Message                    checkedMessage
			}
		}
		OriginalURIBaseIDs map[string]struct{ URI *string } `json:"originalUriBaseIds"`
		ColumnKind         string
		Artifacts          []struct {
			Location checkedFile
			Encoding string
			Roles    []string
		}
		Results []checkedResult
	}
}

type checkedDescriptor struct {
	ID, Name, HelpURI                       string
	ShortDescription, FullDescription, Help checkedMessage
	DefaultConfiguration                    struct{ Level string }
	Properties                              struct {
		Tags      []string
		Precision string
		Severity  string `json:"problem.severity"`
	}
}

type checkedReference struct {
	ID    string
	Index *int
}

type checkedMessage struct{ Text, Markdown string }

type checkedFile struct {
	URI, URIBaseID string
	Index          *int
}

type checkedResult struct {
	RuleID, Kind, Level string
	RuleIndex           *int
	Message             checkedMessage
	Locations           []checkedLocation
	RelatedLocations    []checkedLocation
	PartialFingerprints map[string]string
	Suppressions        []any
	BaselineState       *string
	Properties          struct{ Key string }
}

type checkedLocation struct {
	ID               *int
	PhysicalLocation *struct {
		ArtifactLocation checkedFile
		Region           *struct{ StartLine, StartColumn, EndLine, EndColumn int }
	}
	LogicalLocations []struct{ Name, FullyQualifiedName, Kind string }
	Message          checkedMessage
}

func decodeLog(t testing.TB, text []byte) checkedLog {
	t.Helper()
	var log checkedLog
	if err := json.Unmarshal(text, &log); err != nil {
		t.Fatal(err)
	}
	return log
}

// A link in a message: an unescaped bracket, text, and a number in parentheses.
var link = regexp.MustCompile(`(?:^|[^\\])(?:\\\\)*\[((?:[^\[\]\\]|\\.)*)\]\(([^)]*)\)`)

// A bracket that is neither escaped nor part of a link.
var bareBracket = regexp.MustCompile(`^(?:[^\[\]\\]|\\.)*$`)

// complaints is everything that no schema holds against a log.
func complaints(log checkedLog) []string {
	var list []string
	complain := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	if len(log.Runs) != 1 {
		return []string{fmt.Sprintf("%d runs", len(log.Runs))}
	}
	run := log.Runs[0]
	rules := run.Tool.Driver.Rules

	if log.Schema != "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json" {
		complain("$schema %q", log.Schema)
	}
	if run.ColumnKind != "unicodeCodePoints" || run.AutomationDetails.ID != "cueproof/" {
		complain("column kind %q, category %q", run.ColumnKind, run.AutomationDetails.ID)
	}
	for name, base := range run.OriginalURIBaseIDs {
		if base.URI != nil {
			complain("the base %s tells a path: %s", name, *base.URI)
		}
	}
	for i, rule := range rules {
		if i > 0 && rules[i-1].ID >= rule.ID {
			complain("rule %q after %q", rule.ID, rules[i-1].ID)
		}
		if rule.ShortDescription.Text == "" || rule.FullDescription.Text == "" || rule.Help.Text == "" || rule.Help.Markdown == "" {
			complain("rule %q is not described", rule.ID)
		}
		if uri, err := url.Parse(rule.HelpURI); err != nil || !uri.IsAbs() {
			complain("rule %q has the help %q", rule.ID, rule.HelpURI)
		}
		if len(rule.Properties.Tags) == 0 || rule.Properties.Precision == "" || rule.Properties.Severity == "" || rule.DefaultConfiguration.Level == "" {
			complain("rule %q lacks tags, precision, severity or level", rule.ID)
		}
	}
	file := func(what string, f checkedFile) {
		uri, err := url.Parse(f.URI)
		switch {
		case err != nil || f.URI == "":
			complain("%s: bad URI %q", what, f.URI)
		case uri.IsAbs() && f.URIBaseID != "":
			complain("%s: absolute URI %q with a base", what, f.URI)
		case !uri.IsAbs() && (strings.HasPrefix(f.URI, "/") || strings.HasPrefix(f.URI, "./")):
			complain("%s: relative URI %q", what, f.URI)
		}
		if _, ok := run.OriginalURIBaseIDs[f.URIBaseID]; f.URIBaseID != "" && !ok {
			complain("%s: the base %q is not told", what, f.URIBaseID)
		}
		if strings.ContainsAny(f.URI, "\\ ") {
			complain("%s: URI %q is not encoded", what, f.URI)
		}
		if f.Index == nil {
			return
		}
		if *f.Index < 0 || *f.Index >= len(run.Artifacts) || run.Artifacts[*f.Index].Location.URI != f.URI || run.Artifacts[*f.Index].Location.URIBaseID != f.URIBaseID {
			complain("%s: index %d is another file", what, *f.Index)
		}
	}
	for _, a := range run.Artifacts {
		file("artifact", a.Location)
	}
	place := func(what string, l checkedLocation) {
		p := l.PhysicalLocation
		if p == nil || p.Region == nil || p.ArtifactLocation.Index == nil {
			complain("%s: no region or file", what)
			return
		}
		file(what, p.ArtifactLocation)
		r := *p.Region
		if r.StartLine < 1 || r.StartColumn < 1 || r.EndLine < r.StartLine || r.EndColumn < 1 || r.EndLine == r.StartLine && r.EndColumn < r.StartColumn {
			complain("%s: region %v", what, r)
		}
	}
	prints := map[string]bool{}
	suppressed, based := 0, 0
	for i, r := range run.Results {
		what := fmt.Sprintf("result %d (%s)", i, r.RuleID)
		if r.RuleIndex == nil || *r.RuleIndex < 0 || *r.RuleIndex >= len(rules) || rules[*r.RuleIndex].ID != r.RuleID {
			complain("%s: ruleIndex is another rule", what)
		}
		if (r.Level == "none") != (r.Kind != "fail") {
			complain("%s: kind %s with level %q", what, r.Kind, r.Level)
		}
		if r.Suppressions != nil {
			suppressed++
		}
		if r.BaselineState != nil {
			based++
		}
		first, _, _ := strings.Cut(r.Message.Text, "\n")
		if strings.TrimSpace(first) == "" || !regexp.MustCompile(`[.!?…]["'”’)]*$`).MatchString(first) {
			complain("%s: the first line %q is no sentence", what, first)
		}
		if len(r.Locations) != 1 {
			complain("%s: %d places", what, len(r.Locations))
		}
		for _, l := range r.Locations {
			place(what, l)
		}
		ids := map[int]bool{}
		for _, l := range r.RelatedLocations {
			place(what, l)
			if l.ID == nil || *l.ID < 0 || ids[*l.ID] || l.Message.Text == "" {
				complain("%s: a related place without its own id, or without a message", what)
				continue
			}
			ids[*l.ID] = true
		}
		linked := map[int]bool{}
		for _, match := range link.FindAllStringSubmatch(r.Message.Text, -1) {
			id, err := strconv.Atoi(match[2])
			if err != nil || !ids[id] {
				complain("%s: a link to %q", what, match[2])
			}
			linked[id] = true
		}
		if len(linked) != len(ids) {
			complain("%s: %d links to %d related places", what, len(linked), len(ids))
		}
		rest := link.ReplaceAllString(r.Message.Text, " ")
		if !bareBracket.MatchString(strings.ReplaceAll(rest, "\n", " ")) {
			complain("%s: a bare bracket in %q", what, r.Message.Text)
		}
		own := r.PartialFingerprints["cueproofFinding/v1"]
		if !regexp.MustCompile(`^[0-9a-f]{32}:[1-9]\d*$`).MatchString(own) || prints[own] || len(r.PartialFingerprints) != 1 {
			complain("%s: fingerprints %v", what, r.PartialFingerprints)
		}
		prints[own] = true
	}
	if suppressed != 0 && suppressed != len(run.Results) || based != 0 && based != len(run.Results) {
		complain("%d suppressions, %d baseline states", suppressed, based)
	}
	if len(run.Invocations) != 1 {
		return append(list, fmt.Sprintf("%d invocations", len(run.Invocations)))
	}
	for _, n := range run.Invocations[0].ToolExecutionNotifications {
		if d := n.Descriptor; d == nil || d.Index == nil || *d.Index >= len(run.Tool.Driver.Notifications) || run.Tool.Driver.Notifications[*d.Index].ID != d.ID {
			complain("notification %q is of no kind", n.Message.Text)
		}
		if a := n.AssociatedRule; a != nil && (a.Index == nil || *a.Index >= len(rules) || rules[*a.Index].ID != a.ID) {
			complain("notification %q is of another rule", n.Message.Text)
		}
		if n.Level == "error" && run.Invocations[0].ExecutionSuccessful {
			complain("an error in a run without fault: %q", n.Message.Text)
		}
	}
	return list
}

// checkSARIF writes the report and holds it against the schema and the checks.
func checkSARIF(t testing.TB, schema *jsonschema.Schema, r *outcome.Report) checkedLog {
	t.Helper()
	text := written(t, sarif.Write, r)
	if err := schema.Validate(decode(t, text)); err != nil {
		t.Errorf("%#v", err)
	}
	log := decodeLog(t, text)
	for _, c := range complaints(log) {
		t.Error(c)
	}
	if again := written(t, sarif.Write, r); !bytes.Equal(text, again) {
		t.Error("the same report gives other bytes")
	}
	return log
}

func TestSARIFGolden(t *testing.T) { golden(t, "evening.sarif", written(t, sarif.Write, sample(t))) }

func TestSARIFKeepsToTheStandard(t *testing.T) {
	schema := officialSchema(t)
	twins := sample(t)
	twins.Shows = append(twins.Shows, twins.Shows[0])
	for name, r := range map[string]*outcome.Report{
		"sample": sample(t), "empty": {}, "a bare show": {Shows: []outcome.Show{{Verdict: outcome.NotChecked}}}, "the same show twice": twins,
	} {
		t.Run(name, func(t *testing.T) { checkSARIF(t, schema, r) })
	}
}

// What we check with must be able to complain.
func TestSARIFChecksCanComplain(t *testing.T) {
	schema := officialSchema(t)
	good := string(written(t, sarif.Write, sample(t)))
	for _, tc := range []struct{ name, old, new string }{
		{"a broken kind", `"kind": "open"`, `"kind": "broken"`},
		{"a further member", `"columnKind":`, `"columnSort": 1, "columnKind":`},
		{"another rule", `"ruleIndex": 2`, `"ruleIndex": 1`},
		{"a rule too far", `"ruleIndex": 2`, `"ruleIndex": 99`},
		{"a level for what is open", `"level": "none"`, `"level": "error"`},
		{"a wrong file", `"index": 0`, `"index": 1`},
		{"a base nobody told", `"uriBaseId": "SRCROOT"`, `"uriBaseId": "ROOT"`},
		{"an absolute path", `"uri": "evening/show.json"`, `"uri": "/evening/show.json"`},
		{"a backslash", `"uri": "evening/show.json"`, `"uri": "evening\\show.json"`},
		{"a reversed region", `"endColumn": 39`, `"endColumn": 1`},
		{"line 0", `"startLine": 1`, `"startLine": 0`},
		{"a dead link", `](1)`, `](7)`},
		{"a bare bracket", `A/1 \\[left`, `A/1 [left`},
		{"a fingerprint without count", `:1"`, `"`},
		{"no help", `"text": "A key that is misspelt is not read.",`, `"text": "",`},
		{"suppression of one", `"kind": "open",`, `"kind": "open", "suppressions": [],`},
		{"a fault in a run without", `"level": "warning",
              "message"`, `"level": "error",
              "message"`},
		{"no first sentence", `8 looks in a row are alike.`, `8 looks in a row are alike`},
	} {
		t.Run(tc.name, func(t *testing.T) {
			changed := strings.Replace(good, tc.old, tc.new, 1)
			if changed == good {
				t.Fatalf("the sample has no %s", tc.old)
			}
			if schema.Validate(decode(t, []byte(changed))) == nil && len(complaints(decodeLog(t, []byte(changed)))) == 0 {
				t.Error("nobody complains")
			}
		})
	}
}

func TestHostileTextGivesValidSARIF(t *testing.T) {
	schema := officialSchema(t)
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileReport(rt)
		text := written(t, sarif.Write, r)
		assertHarmless(rt, text)
		if err := schema.Validate(decode(t, text)); err != nil {
			rt.Fatalf("%#v", err)
		}
		log := decodeLog(t, text)
		if list := complaints(log); len(list) > 0 {
			rt.Fatalf("%s\n%s", strings.Join(list, "\n"), text)
		}
		if got, want := len(log.Runs[0].Results), len(r.Shows[0].Findings); got != want {
			rt.Fatalf("%d results of %d findings", got, want)
		}
	})
}

func TestEveryResultsRuleIsDescribedByItsCard(t *testing.T) {
	r := sample(t)
	run := checkSARIF(t, officialSchema(t), r).Runs[0]
	titles := map[string]string{}
	for _, card := range r.Rules {
		titles[card.ID] = card.Title
	}
	if len(run.Results) != len(r.Shows[0].Findings) || len(run.Tool.Driver.Rules) != len(r.Rules) {
		t.Fatalf("%d results, %d rules", len(run.Results), len(run.Tool.Driver.Rules))
	}
	for _, result := range run.Results {
		rule := run.Tool.Driver.Rules[*result.RuleIndex]
		if titles[result.RuleID] == "" || rule.ShortDescription.Text != titles[result.RuleID] {
			t.Errorf("%s is described as %q", result.RuleID, rule.ShortDescription.Text)
		}
	}
}

func TestARuleWithoutACardStillHasAnEntry(t *testing.T) {
	r := sample(t)
	r.Rules = r.Rules[:1]
	run := checkSARIF(t, officialSchema(t), r).Runs[0]
	if got := len(run.Tool.Driver.Rules); got != 5 { // one card, and four that only findings name
		t.Errorf("%d rules", got)
	}
}

func TestRuleEntries(t *testing.T) {
	run := checkSARIF(t, officialSchema(t), sample(t)).Runs[0]
	type entry struct{ ID, Name, Level, Severity, Precision, Tags string }
	var got []entry
	for _, r := range run.Tool.Driver.Rules {
		got = append(got, entry{ID: r.ID, Name: r.Name, Level: r.DefaultConfiguration.Level, Severity: r.Properties.Severity, Precision: r.Properties.Precision, Tags: strings.Join(r.Properties.Tags, " ")})
	}
	want := []entry{
		{ID: "camera/banding", Name: "CameraBanding", Level: "warning", Severity: "warning", Precision: "medium", Tags: "camera"}, // pack and consequence are one tag
		{ID: "dynamics/flat-run", Name: "DynamicsFlatRun", Level: "note", Severity: "recommendation", Precision: "medium", Tags: "dynamics room"},
		{ID: "file/unknown-key", Name: "FileUnknownKey", Level: "note", Severity: "recommendation", Precision: "very-high", Tags: "file later"},
		{ID: "patch/address-overlap", Name: "PatchAddressOverlap", Level: "error", Severity: "error", Precision: "high", Tags: "patch dark"},
		{ID: "patch/circuit-load", Name: "PatchCircuitLoad", Level: "warning", Severity: "warning", Precision: "high", Tags: "patch hurt"},
		{ID: "white/key-camera", Name: "WhiteKeyCamera", Level: "warning", Severity: "warning", Precision: "medium", Tags: "white camera"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	white := run.Tool.Driver.Rules[5]
	if want := `The camera believes that one colour is white. A face in other light is *tinted*; see mired (https://example.org/mired).`; white.FullDescription.Text != want {
		t.Errorf("full description %q", white.FullDescription.Text)
	}
	for _, want := range []string{"Key and camera\n", "What to try\n", "15 mired (common practice, no source)"} {
		if !strings.Contains(white.Help.Text, want) {
			t.Errorf("help %q lacks %q", white.Help.Text, want)
		}
	}
	if strings.Contains(white.Help.Text, "#") || !strings.Contains(white.Help.Markdown, "## What to try") {
		t.Errorf("help is %q and %q", white.Help.Text, white.Help.Markdown)
	}
	for _, text := range []string{run.Tool.Driver.Rules[4].Help.Text, run.Tool.Driver.Rules[4].Help.Markdown} {
		if !strings.Contains(text, "local codes, the venue and a licensed electrician decide") {
			t.Errorf("the caution is missing in %q", text)
		}
	}
}

func TestLongDescriptionsAreCut(t *testing.T) {
	for _, start := range []string{"", "x", "xx"} { // so that the cut also falls behind a backslash
		long := start + strings.Repeat("ü[", 2000)
		run := checkSARIF(t, officialSchema(t), &outcome.Report{Rules: []finding.Rule{{ID: "a/" + strings.Repeat("b", 300), Title: long, Level: finding.Note, Explain: long}}}).Runs[0]
		rule := run.Tool.Driver.Rules[0]
		for _, text := range []string{rule.ShortDescription.Text, rule.FullDescription.Text} {
			if n := len([]rune(text)); n > 1024 || n < 1020 || strings.HasSuffix(text, `\…`) {
				t.Errorf("%d characters, ends %q", n, text[len(text)-10:])
			}
		}
		if n := len([]rune(rule.Name)); n != 255 || !strings.HasPrefix(rule.Name, "AB") {
			t.Errorf("name of %d characters: %s", n, rule.Name)
		}
	}
}

func TestAnUnknownLevelIsAWarning(t *testing.T) {
	r := sample(t)
	r.Shows[0].Findings[1].Level = "fatal"
	r.Rules[1].Level = ""
	run := checkSARIF(t, officialSchema(t), r).Runs[0]
	for _, result := range run.Results {
		if result.RuleID == "patch/address-overlap" && result.Level != "warning" {
			t.Errorf("level %s", result.Level)
		}
	}
	if got := run.Tool.Driver.Rules[3].DefaultConfiguration.Level; got != "warning" {
		t.Errorf("default level %s", got)
	}
}

func TestWorstComesFirst(t *testing.T) {
	r := sample(t)
	slices.Reverse(r.Shows[0].Findings)
	run := checkSARIF(t, officialSchema(t), r).Runs[0]
	var got []string
	for _, r := range run.Results {
		got = append(got, r.Kind+" "+r.Level+" "+r.RuleID)
	}
	want := []string{
		"fail error patch/address-overlap",
		"fail warning patch/circuit-load",
		"fail note dynamics/flat-run",
		"fail note file/unknown-key",
		"open none white/key-camera",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestMessages(t *testing.T) {
	run := checkSARIF(t, officialSchema(t), sample(t)).Runs[0]
	want := map[string]string{
		"patch/address-overlap": `Channel 12 starts at 1.101 and shares slots with channel 13: whatever one of them does, the other does too.
Do: set channel 12 to address 1.201.
Then: Each fixture answers to its own channel again.
Undo: set channel 12 back to address 1.101.
Proof: tried on a copy of the show, this cures 1 finding and causes 0.
Caution: Whoever climbs up to the fixture needs a second person at the ladder.
See also: [the fixture it shares slots with](1).
Key: `,
		"patch/circuit-load": `Circuit A/1 \[left\] carries 14.9 A with everything at full, 93.4 % of its 16 A; 80 % is the limit for a load that lasts.
Try: Move a fixture to a circuit with room.
Caution: This is arithmetic, not an inspection: local codes, the venue and a licensed electrician decide.
Key: `,
		"white/key-camera": `Could not tell: A key light differs from the camera's white.
Missing: the white balance of the camera "front"; the white of type Spot.
Shows in cues 4, 7.
Key: `,
	}
	for _, r := range run.Results {
		if text, ok := want[r.RuleID]; ok && r.Message.Text != text+r.Properties.Key+"." {
			t.Error(cmp.Diff(text+r.Properties.Key+".", r.Message.Text))
		}
	}
}

func TestControlCharactersAreShownAsCodes(t *testing.T) {
	r := sample(t)
	r.Shows[0].Findings[1].Message = "Channel \x1b[31m12\r\n\u202e is\x00 odd"
	text := checkSARIF(t, officialSchema(t), r).Runs[0].Results[0].Message.Text
	if want := `Channel \\x1b\[31m12 \\u202e is\\x00 odd.`; !strings.HasPrefix(text, want+"\n") {
		t.Errorf("%q, want %q", text, want)
	}
}

// An action is told only with findings that it says it cures, whatever their keys.
func TestAnActionBelongsToItsRule(t *testing.T) {
	r := sample(t)
	r.Shows[0].Orders[0].Rules = []string{"white/key-mix"}
	for _, result := range checkSARIF(t, officialSchema(t), r).Runs[0].Results {
		if strings.Contains(result.Message.Text, "Do: ") {
			t.Errorf("%s: %s", result.RuleID, result.Message.Text)
		}
	}
}

func TestPlacesCountCharacters(t *testing.T) {
	run := checkSARIF(t, officialSchema(t), sample(t)).Runs[0]
	type region struct{ Line, Column, EndLine, EndColumn int }
	got := map[string]region{}
	for _, r := range run.Results {
		p := *r.Locations[0].PhysicalLocation.Region
		got[r.RuleID] = region{Line: p.StartLine, Column: p.StartColumn, EndLine: p.EndLine, EndColumn: p.EndColumn}
	}
	want := map[string]region{
		"patch/address-overlap": {Line: 3, Column: 32, EndLine: 3, EndColumn: 39},
		"patch/circuit-load":    {Line: 3, Column: 5, EndLine: 3, EndColumn: 6},
		"file/unknown-key":      {Line: 3, Column: 48, EndLine: 3, EndColumn: 53}, // UTF-16 units would end at 54, bytes at 57
		"white/key-camera":      {Line: 6, Column: 62, EndLine: 6, EndColumn: 66},
		"dynamics/flat-run":     {Line: 1, Column: 1, EndLine: 1, EndColumn: 1}, // has no place
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestLogicalLocationsRunFromTheWidest(t *testing.T) {
	run := checkSARIF(t, officialSchema(t), sample(t)).Runs[0]
	got := map[string]string{}
	for _, r := range run.Results {
		for _, l := range r.Locations[0].LogicalLocations {
			got[r.RuleID] += fmt.Sprintf("%s|%s|%s;", l.Kind, l.Name, l.FullyQualifiedName)
		}
	}
	want := map[string]string{
		"patch/address-overlap": "channel|12|channel 12;",
		"patch/circuit-load":    "circuit|A/1 [left]|circuit A~11 [left];",
		"file/unknown-key":      "file|show.json|file show.json;",
		"white/key-camera":      "channel|12|cue 4/channel 12;cue|4|cue 4;",
		"dynamics/flat-run":     "show|show|show;",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Fingerprints must not change with places, numbers, order or paths.
func TestFingerprintsStay(t *testing.T) {
	schema := officialSchema(t)
	prints := func(r *outcome.Report) map[string]string {
		got := map[string]string{}
		for _, result := range checkSARIF(t, schema, r).Runs[0].Results {
			got[result.RuleID] = result.PartialFingerprints["cueproofFinding/v1"]
		}
		return got
	}
	r := sample(t)
	want := prints(r)
	list := r.Shows[0].Findings
	for i := range list {
		list[i].Message += " And more."
		list[i].Measured = nil
		list[i].Place = source.Place{File: sampleFile(t, "/elsewhere/x.json"), Start: 3, Stop: 4}
	}
	list[0], list[3] = list[3], list[0]
	if diff := cmp.Diff(want, prints(r)); diff != "" {
		t.Error(diff)
	}
}

func TestEqualFingerprintsAreCounted(t *testing.T) {
	r := sample(t)
	twin := r.Shows[0].Findings[1]
	twin.Message = "The same again."
	r.Shows[0].Findings = append(r.Shows[0].Findings, twin)
	var got []string
	for _, result := range checkSARIF(t, officialSchema(t), r).Runs[0].Results {
		if result.RuleID == twin.Rule {
			got = append(got, result.PartialFingerprints["cueproofFinding/v1"])
		}
	}
	if diff := cmp.Diff([]string{twin.Fingerprint() + ":1", twin.Fingerprint() + ":2"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestNotifications(t *testing.T) {
	schema := officialSchema(t)
	r := sample(t)
	invocation := checkSARIF(t, schema, r).Runs[0].Invocations[0]
	var got []string
	for _, n := range invocation.ToolExecutionNotifications {
		rule := ""
		if n.AssociatedRule != nil {
			rule = " (" + n.AssociatedRule.ID + ")"
		}
		got = append(got, n.Descriptor.ID+" "+n.Level+rule+": "+n.Message.Text)
	}
	want := []string{
		`not-checked warning (white/key-camera): Not checked about 14 things, for want of the white balance of the camera "front". The rules that could not tell: white/key-camera.`,
		`nothing-to-look-at note (camera/banding): camera/banding had nothing to look at; the show would have to give a camera with its shutter.`,
		`left-out note: Left out: 3 findings below the level that was asked for.`,
		`untried note: For 1 finding a change was not tried in this run.`,
		`by-eye note: Look at this yourself: Whether the haze reaches the back row.`,
		`how-read note: show.json is UTF-8 with LF.`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if !invocation.ExecutionSuccessful || invocation.ExitCodeDescription != "An invented evening: HOLD. Two fixtures share an address." {
		t.Errorf("successful %v, %q", invocation.ExecutionSuccessful, invocation.ExitCodeDescription)
	}
}

func TestAnUnreadableShowIsNoSuccess(t *testing.T) {
	r := sample(t)
	second := outcome.Show{Path: "shows/late.json", Verdict: outcome.NotChecked, Because: "The file is cut off.", Unreadable: true}
	r.Shows = append(r.Shows, second)
	invocation := checkSARIF(t, officialSchema(t), r).Runs[0].Invocations[0]
	if invocation.ExecutionSuccessful {
		t.Error("a show could not be read, and all is well")
	}
	last := invocation.ToolExecutionNotifications[len(invocation.ToolExecutionNotifications)-1]
	if last.Level != "error" || !strings.HasPrefix(last.Message.Text, "late.json: ") {
		t.Errorf("%+v", last)
	}
	if want := "An invented evening: HOLD. Two fixtures share an address. late.json: NOT CHECKED. The file is cut off."; invocation.ExitCodeDescription != want {
		t.Errorf("%q", invocation.ExitCodeDescription)
	}
}

func TestTooManyResultsAreCutAndCounted(t *testing.T) {
	if os.Getenv("CUEPROOF_LONG") == "" {
		t.Skip("it writes 25,000 results; CI does with CUEPROOF_LONG=1")
	}
	r := &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.Hold}}}
	for i := range 25_000 + 2 {
		r.Shows[0].Findings = append(r.Shows[0].Findings, finding.Finding{
			Rule: "patch/x", Level: finding.Note, Verdict: finding.Fail, Message: "x", Subjects: []finding.Subject{{Kind: "channel", Name: strconv.Itoa(i)}},
		})
	}
	r.Shows[0].Findings[25_000+1].Level = finding.Error
	run := decodeLog(t, written(t, sarif.Write, r)).Runs[0]
	notices := run.Invocations[0].ToolExecutionNotifications
	if len(run.Results) != 25000 || run.Results[0].Level != "error" || len(notices) != 1 ||
		notices[0].Message.Text != "Left out: 2 findings. Only the 25000 worst are listed." {
		t.Errorf("%d results, the first %s; %+v", len(run.Results), run.Results[0].Level, notices)
	}
}

// A log is cut where a large host would refuse it for its length, worst first, and
// says how many are left.
func TestALogThatIsTooLongIsCutAndCounted(t *testing.T) {
	if os.Getenv("CUEPROOF_LONG") == "" {
		t.Skip("it packs a log of 17 MB; CI does with CUEPROOF_LONG=1")
	}
	random := rand.New(rand.NewPCG(1, 2)) // so that packing gains nothing
	r := &outcome.Report{Shows: []outcome.Show{{Verdict: outcome.Hold}}}
	const findings = 5_500
	for i := range findings {
		words := make([]string, 250)
		for j := range words {
			words[j] = strconv.FormatUint(random.Uint64(), 36)
		}
		r.Shows[0].Findings = append(r.Shows[0].Findings, finding.Finding{
			Rule: "patch/x", Level: finding.Note, Verdict: finding.Fail, Message: strings.Join(words, " "), Subjects: []finding.Subject{{Kind: "channel", Name: strconv.Itoa(i)}},
		})
	}
	r.Shows[0].Findings[findings-1].Level = finding.Error
	text := written(t, sarif.Write, r)
	var packed bytes.Buffer
	pack := gzip.NewWriter(&packed)
	if _, err := pack.Write(text); err != nil || pack.Close() != nil {
		t.Fatal(err)
	}
	run := decodeLog(t, text).Runs[0]
	notices := run.Invocations[0].ToolExecutionNotifications
	if packed.Len() > 10_000_000 || packed.Len() < 5_000_000 || run.Results[0].Level != "error" || len(notices) != 1 ||
		!strings.Contains(notices[0].Message.Text, fmt.Sprintf("Left out: %d findings. Only the %d worst", findings-len(run.Results), len(run.Results))) {
		t.Errorf("%d bytes, %d results, %+v", packed.Len(), len(run.Results), notices)
	}
}

func TestTooManyRelatedPlacesAreCutAndCounted(t *testing.T) {
	r := sample(t)
	f := &r.Shows[0].Findings[1]
	for range 120 {
		f.Related = append(f.Related, f.Related[0])
	}
	result := checkSARIF(t, officialSchema(t), r).Runs[0].Results[0]
	if len(result.RelatedLocations) != 100 || !strings.Contains(result.Message.Text, ", 21 more.") {
		t.Errorf("%d places, %s", len(result.RelatedLocations), result.Message.Text)
	}
}

func TestSemanticVersion(t *testing.T) {
	for version, semantic := range map[string]bool{
		"1.2.3": true, "v0.1.0": true, "1.0.0-alpha.1+build.5": true, "0.0.0-20250101000000-abcdef123456": true,
		"": false, "(devel)": false, "1.2": false, "01.2.3": false, "1.2.3-": false, "1.2.3-01": false, "1.2.3\n": false,
	} {
		driver := decodeLog(t, written(t, sarif.Write, &outcome.Report{Version: version})).Runs[0].Tool.Driver
		if got := driver.SemanticVersion != ""; got != semantic || !semantic && driver.Version != version {
			t.Errorf("%q: semantic %q, version %q", version, driver.SemanticVersion, driver.Version)
		}
	}
}

func TestURIs(t *testing.T) {
	for _, tc := range []struct {
		name, show, file string
		single           bool // the show is one file, and this one
		uri, base        string
	}{
		{"beside us", "evening", "evening/patch.csv", false, "evening/patch.csv", "SRCROOT"},
		{"here", ".", "patch.csv", false, "patch.csv", "SRCROOT"},
		{"with a dot", "./evening", "./evening/patch.csv", false, "evening/patch.csv", "SRCROOT"},
		{"above us", "../evening", "../evening/patch.csv", false, "../evening/patch.csv", "SRCROOT"},
		{"standard input", "-", "standard input", false, "standard%20input", "SRCROOT"},
		{"odd letters", "a:b", "a:b/Grün %41#?.csv", false, "a%3Ab/Gr%C3%BCn%20%2541%23%3F.csv", "SRCROOT"},
		{"bytes that are no text", "x", "x/\xff", false, "x/%FF", "SRCROOT"},
		{"absolute folder", "/home/somebody/evening", "/home/somebody/evening/sub/patch.csv", false, "sub/patch.csv", "SHOW1"},
		{"absolute folder with a slash", "/home/somebody/evening/", "/home/somebody/evening/patch.csv", false, "patch.csv", "SHOW1"},
		{"absolute file", "/home/somebody/evening.json", "/home/somebody/evening.json", true, "evening.json", "SHOW1"},
		{"a house file above", "/home/somebody/evening", "/home/somebody/house.yaml", false, "../house.yaml", "SHOW1"},
		{"a house file two above", "/home/somebody/shows/evening", "/home/somebody/house.yaml", false, "../../house.yaml", "SHOW1"},
		{"the root", "/", "/patch.csv", false, "patch.csv", "SHOW1"},
		{"nothing to do with a show", "/home/somebody/evening", "/srv/rules/a b/rule.yaml", false, "file:///srv/rules/a%20b/rule.yaml", ""},
		{"a folder of a similar name", "/home/evening", "/home/evening2/patch.csv", false, "file:///home/evening2/patch.csv", ""},
		{"a drive", "C:/shows/evening", "C:/shows/evening/patch.csv", false, "patch.csv", "SHOW1"},
		{"a house file on a drive", "C:/shows/evening", "C:/house.yaml", false, "../../house.yaml", "SHOW1"},
		{"another drive", "C:/shows/evening", "D:/x/rule.yaml", false, "file:///D:/x/rule.yaml", ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			file := &source.File{Name: tc.file}
			r := &outcome.Report{Shows: []outcome.Show{{Path: tc.show, Verdict: outcome.Hold, Findings: []finding.Finding{{
				Rule: "file/x", Level: finding.Note, Verdict: finding.Fail, Message: "x", Place: source.Place{File: file},
			}}}}}
			if tc.single {
				r.Shows[0].Files = []*source.File{file}
			}
			log := checkSARIF(t, officialSchema(t), r)
			got := log.Runs[0].Results[0].Locations[0].PhysicalLocation.ArtifactLocation
			if got.URI != tc.uri || got.URIBaseID != tc.base {
				t.Errorf("%s in %q, want %s in %q", got.URI, got.URIBaseID, tc.uri, tc.base)
			}
		})
	}
}

// No folder of the machine gets out, wherever the show's folder is named.
func TestAbsolutePathsStayHome(t *testing.T) {
	const home = "/home/somebody/evening"
	r := sample(t)
	file := sampleFile(t, home+"/show.json")
	s := &r.Shows[0]
	s.Path, s.Name, s.Files = home, "", []*source.File{file}
	s.Because = home + " has a mistake in " + home + "/show.json."
	s.Notes = []string{"read " + home + "/show.json: fine", `"` + home + `"`, home + " " + home + "... (" + home + ")", "x/home/somebody/eveningwear"}
	s.Gaps[0].Missing = "the file " + home + "/room.json"
	for i := range s.Findings {
		f := &s.Findings[i]
		f.Message = home + "/show.json: " + f.Message
		f.Hint = "Look into " + home + "."
		f.Missing = []string{home + "/room.json"}
		f.Subjects = append(f.Subjects, finding.Subject{Kind: "file", Name: home + "/show.json"})
		if f.Place.File != nil {
			f.Place.File = file
		}
		for j := range f.Related {
			f.Related[j].Place.File = file
		}
	}
	s.Orders[0].Do = "open " + home + "/show.json"
	checkSARIF(t, officialSchema(t), r)
	text := string(written(t, sarif.Write, r))
	if at := strings.Index(strings.ReplaceAll(text, "x/home/somebody/eveningwear", ""), "/home/somebody"); at >= 0 {
		t.Errorf("a folder of the machine: ...%s", text[max(0, at-60):at+60])
	}
	for _, want := range []string{`"read show.json: fine."`, `"\"evening\"."`, "evening has a mistake in show.json.", `"evening evening... (evening)."`, "x/home/somebody/eveningwear"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
}

func TestArtifactsSayTheirEncoding(t *testing.T) {
	var files []*source.File
	for _, data := range []string{"a", "\xEF\xBB\xBFa", "\xFF\xFEa\x00", "\xFE\xFF\x00a", "\xFC"} {
		text, encoding, err := source.Decode([]byte(data))
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, &source.File{Name: fmt.Sprintf("%d.csv", len(files)), Text: text, Encoding: encoding})
	}
	run := checkSARIF(t, officialSchema(t), &outcome.Report{Shows: []outcome.Show{{Path: ".", Verdict: outcome.Ready, Files: files}}}).Runs[0]
	var got []string
	for _, a := range run.Artifacts {
		got = append(got, a.Encoding)
	}
	if diff := cmp.Diff([]string{"UTF-8", "UTF-8", "UTF-16LE", "UTF-16BE", "windows-1252"}, got); diff != "" {
		t.Error(diff)
	}
}
