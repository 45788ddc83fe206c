package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
)

// Comparison is what two states of one show have different.
type Comparison struct {
	Version   string
	Old, New  Side
	Counts    compare.Counts
	Findings  []finding.Finding // of the new state, each marked as new or as before
	Gone      []compare.Past    // of the old state
	Looks     []compare.LookChange
	SameLooks int
}

// Side is one of the two states.
type Side struct {
	Path, Name string
	Unreadable bool
	Files      []string // what was read, by name
	Notes      []string
}

// ComparisonFormats is the table of formats for comparisons.
var ComparisonFormats = map[string]func(io.Writer, *Comparison, Options) error{
	"text": ComparisonText,
	"json": ComparisonJSON,
}

// mostLooks is how many changed looks a person is told of; the rest is counted.
const mostLooks = 40

// ComparisonText writes a comparison for people: what is new, what is fixed, and
// how the looks changed. The error is the writer's.
func ComparisonText(w io.Writer, c *Comparison, o Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	name := c.New.Name
	if c.New.Name != c.Old.Name {
		name = fmt.Sprintf("%s, before %s", c.New.Name, c.Old.Name)
	}
	t.styled("", unstyled, 0, fmt.Sprintf("%s (from %s to %s)", name, c.Old.Path, c.New.Path), t.strong)
	for _, side := range []Side{c.Old, c.New} {
		if side.Unreadable {
			t.block("", 0, fmt.Sprintf("A file of %s could not be read, so this is not the whole truth.", side.Path))
		}
	}
	t.block("", 0, c.Counts.String()+".")
	t.comparedNow("New", c.Findings)
	for _, untold := range []bool{false, true} {
		t.comparedThen(map[bool]string{false: "Fixed", true: "Nobody can tell any more"}[untold], c.Gone, untold)
	}
	t.looks(c)
	for _, side := range []Side{c.Old, c.New} {
		for _, note := range side.Notes {
			t.line("")
			t.block("   -", labelAt, side.Path+": "+note)
		}
	}
	return out.Flush()
}

func (t *textWriter) comparedNow(heading string, findings []finding.Finding) {
	list := worstFirst([]Show{{Findings: findings}}, func(f *finding.Finding) bool {
		return f.Base == finding.New && f.Verdict == finding.Fail && f.Accepted == nil
	})
	t.someKinds(heading, list)
}

// comparedThen writes what is gone, of each rule the first in full.
func (t *textWriter) comparedThen(heading string, gone []compare.Past, untold bool) {
	var rules []string
	ofRule := map[string][]*compare.Past{}
	for i := range gone {
		past := &gone[i]
		if past.Verdict != finding.Fail || past.Accepted || past.Untold != untold {
			continue
		}
		rules = addNew(rules, past.Rule)
		ofRule[past.Rule] = append(ofRule[past.Rule], past)
	}
	if len(rules) == 0 {
		return
	}
	slices.SortStableFunc(rules, func(a, b string) int { // worst first, as what is new
		x, y := ofRule[a][0], ofRule[b][0]
		return cmp.Or(cmp.Compare(x.Consequence, y.Consequence), cmp.Compare(slices.Index(finding.Levels, x.Level), slices.Index(finding.Levels, y.Level)))
	})
	t.heading(heading)
	for _, rule := range rules {
		list := ofRule[rule]
		t.line("")
		t.block("   -", labelAt, list[0].Message)
		if more := len(list) - 1; more > 0 {
			t.label("also", fmt.Sprintf("%d more of this kind", more))
		}
		keys := make([]string, len(list))
		for i, past := range list {
			keys[i] = past.Key
		}
		t.label("rule", fmt.Sprintf("%s (%s), %s", rule, list[0].Level, some(keys, mostKeys)))
	}
}

func (t *textWriter) looks(c *Comparison) {
	if len(c.Looks) == 0 {
		t.line("")
		if c.SameLooks > 0 {
			t.block("", 0, fmt.Sprintf("The looks are the same: %s.", count(c.SameLooks, "look")))
		}
		return
	}
	t.heading(fmt.Sprintf("How the looks changed (%d of %d)", len(c.Looks), len(c.Looks)+c.SameLooks))
	t.line("")
	for i, look := range c.Looks {
		if i == mostLooks {
			t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", count(len(c.Looks)-i, "look")))
			break
		}
		t.look(&look)
	}
}

func (t *textWriter) look(l *compare.LookChange) {
	name := l.NewCue
	switch {
	case l.NewCue == "":
		name = l.OldCue
	case l.OldCue != "" && l.OldCue != l.NewCue:
		name += " (was " + l.OldCue + ")"
	}
	name = "cue " + name
	if l.Name != "" {
		name += fmt.Sprintf(" %q", l.Name)
	}
	switch "" {
	case l.OldCue:
		t.block("   +", labelAt, name+" is new")
		return
	case l.NewCue:
		t.block("   -", labelAt, name+" is gone")
		return
	}
	t.block("   *", labelAt, name)
	said := false
	say := func(label, text string) {
		said = true
		t.label(label, text)
	}
	if l.Output.Changed() {
		if text := stepText(l.Output, "%", "dark"); text != "" {
			say("output", text)
		}
	}
	if l.OldHues != l.NewHues {
		say("hues", fmt.Sprintf("%s, were %s", orNone(l.NewHues), orNone(l.OldHues)))
	}
	var steps []string
	for _, s := range l.Levels {
		steps = append(steps, fmt.Sprintf("%s: %s to %s %%", s.Channels, short(s.Old), short(s.New)))
	}
	if len(steps) > 0 {
		say("levels", some(steps, mostWords))
	}
	steps = nil
	for _, s := range l.Colours {
		steps = append(steps, fmt.Sprintf("%s: from %s to %s", s.Channels, s.Old, s.New))
	}
	if len(steps) > 0 {
		say("colours", some(steps, mostNames))
	}
	steps = nil
	for _, s := range l.Haze {
		steps = append(steps, fmt.Sprintf("%s: %s to %s %%", s.Channels, short(s.Old), short(s.New)))
	}
	if len(steps) > 0 {
		say("haze", some(steps, mostWords))
	}
	for _, what := range othersIn(l.Others) {
		steps = nil
		for _, s := range l.Others {
			if s.What != what {
				continue
			}
			text := fmt.Sprintf("from %s to %s", orNone(s.Old), orNone(s.New))
			if s.Of != "" {
				text = s.Of + ": " + text
			}
			steps = append(steps, text)
		}
		say(what, some(steps, mostNames))
	}
	steps = nil
	for _, s := range l.Faces {
		if text := stepText(s.Step, "lx", "no light"); text != "" {
			steps = append(steps, s.Place+": "+text)
		}
	}
	if len(steps) > 0 {
		say("faces", some(steps, mostNames))
	}
	if !said && l.OldCue == l.NewCue {
		say("", "by less than a twentieth of a stop")
	}
}

// othersIn lists what else changed, each once.
func othersIn(list []compare.OtherStep) []string {
	var whats []string
	for _, s := range list {
		whats = addNew(whats, s.What)
	}
	return whats
}

// stepText says a step in stops, or "" for one that is too small to say.
func stepText(s compare.Step, unit, nothing string) string {
	const least = 0.05 // of a stop: what is shown has one decimal
	stops, ok := s.Stops()
	if ok && math.Abs(stops) < least {
		return ""
	}
	value := func(v *float64) string {
		switch {
		case v == nil:
			return "unknown"
		case *v <= 0:
			return nothing
		}
		return short(v) + " " + unit
	}
	text := value(s.Old) + " to " + value(s.New)
	if ok {
		return fmt.Sprintf("%+.1f stops (%s)", stops, text)
	}
	return text
}

// short writes a number with three significant digits, and never as a power of ten
// where a person would not.
func short(v *float64) string {
	if v == nil {
		return "unknown"
	}
	number := *v
	if math.Abs(number) >= 100 {
		return fmt.Sprintf("%.0f", number)
	}
	return fmt.Sprintf("%.3g", number)
}

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return text
}

// comparisonShape names the shape of the JSON of a comparison. Within one name
// members are only added.
const comparisonShape = "cueproof-comparison-1"

type jsonComparison struct {
	Schema    string        `json:"schema"`
	Version   string        `json:"version"`
	Old       jsonSide      `json:"old"`
	New       jsonSide      `json:"new"`
	Counts    jsonCompared  `json:"counts"`
	Findings  []jsonFinding `json:"findings"`
	Gone      []jsonPast    `json:"gone"`
	Looks     []jsonChange  `json:"looks"`
	SameLooks int           `json:"same_looks"`
}

type jsonSide struct {
	Path       string   `json:"path"`
	Name       string   `json:"name"`
	Unreadable bool     `json:"unreadable"`
	Notes      []string `json:"notes"`
}

type jsonCompared struct {
	New      int `json:"new"`
	Fixed    int `json:"fixed"`
	AsBefore int `json:"as_before"`
	Untold   int `json:"untold"`
}

type jsonChange struct {
	OldCue  string           `json:"old_cue,omitempty"`
	NewCue  string           `json:"new_cue,omitempty"`
	Name    string           `json:"name"`
	Output  *jsonStep        `json:"output_pct,omitempty"`
	OldHues string           `json:"old_hues,omitempty"`
	NewHues string           `json:"new_hues,omitempty"`
	Levels  []jsonLevelStep  `json:"levels"`
	Colours []jsonColourStep `json:"colours"`
	Haze    []jsonLevelStep  `json:"haze"`
	Others  []jsonOtherStep  `json:"others"`
	Faces   []jsonFaceStep   `json:"faces"`
}

type jsonStep struct {
	Old   *float64 `json:"old,omitempty"` // left out if unknown
	New   *float64 `json:"new,omitempty"`
	Stops *float64 `json:"stops,omitempty"`
}

type jsonLevelStep struct {
	Channels string   `json:"channels"`
	Old      *float64 `json:"old,omitempty"`
	New      *float64 `json:"new,omitempty"`
}

type jsonColourStep struct {
	Channels string `json:"channels"`
	Old      string `json:"old"`
	New      string `json:"new"`
}

type jsonOtherStep struct {
	What string `json:"what"`
	Of   string `json:"of,omitempty"`
	Old  string `json:"old"`
	New  string `json:"new"`
}

type jsonFaceStep struct {
	Place string `json:"place"`
	jsonStep
}

// ComparisonJSON writes a comparison for programs. The error is the writer's.
func ComparisonJSON(w io.Writer, c *Comparison, _ Options) error {
	side := func(s Side) jsonSide { return jsonSide{s.Path, s.Name, s.Unreadable, filled(s.Notes)} }
	return writeJSON(w, jsonComparison{
		Schema: comparisonShape, Version: c.Version, Old: side(c.Old), New: side(c.New),
		Counts:   jsonCompared{c.Counts.New, c.Counts.Fixed, c.Counts.Before, c.Counts.Untold},
		Findings: each(c.Findings, jsonFindingOf), Gone: each(c.Gone, jsonPastOf),
		Looks: each(c.Looks, jsonChangeOf), SameLooks: c.SameLooks,
	})
}

func jsonChangeOf(l *compare.LookChange) jsonChange {
	out := jsonChange{
		OldCue: l.OldCue, NewCue: l.NewCue, Name: l.Name,
		Levels: []jsonLevelStep{}, Colours: []jsonColourStep{}, Haze: []jsonLevelStep{}, Others: []jsonOtherStep{}, Faces: []jsonFaceStep{},
	}
	if l.OldHues != l.NewHues {
		out.OldHues, out.NewHues = l.OldHues, l.NewHues
	}
	if l.Output.Changed() {
		step := jsonStepOf(l.Output)
		out.Output = &step
	}
	for _, s := range l.Levels {
		step := jsonStepOf(s.Step)
		out.Levels = append(out.Levels, jsonLevelStep{s.Channels, step.Old, step.New})
	}
	for _, s := range l.Colours {
		out.Colours = append(out.Colours, jsonColourStep{s.Channels, s.Old, s.New})
	}
	for _, s := range l.Haze {
		step := jsonStepOf(s.Step)
		out.Haze = append(out.Haze, jsonLevelStep{s.Channels, step.Old, step.New})
	}
	for _, s := range l.Others {
		out.Others = append(out.Others, jsonOtherStep{s.What, s.Of, s.Old, s.New})
	}
	for _, s := range l.Faces {
		out.Faces = append(out.Faces, jsonFaceStep{s.Place, jsonStepOf(s.Step)})
	}
	return out
}

func jsonStepOf(s compare.Step) jsonStep {
	rounded := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		number, ok := sixDigits(*v)
		if !ok {
			return nil
		}
		return &number
	}
	step := jsonStep{Old: rounded(s.Old), New: rounded(s.New)}
	if stops, ok := s.Stops(); ok {
		step.Stops = rounded(&stops)
	}
	return step
}
