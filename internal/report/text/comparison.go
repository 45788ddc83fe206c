package text

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
)

// mostLooks is how many changed looks a person is told of; the rest is counted.
const mostLooks = 40

// Comparison writes a comparison for people: what is new, what is fixed, and
// how the looks changed. The error is the writer's.
func Comparison(w io.Writer, c *outcome.Comparison, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	name := c.New.Name
	if c.New.Name != c.Old.Name {
		name = fmt.Sprintf("%s, before %s", c.New.Name, c.Old.Name)
	}
	t.styled("", unstyled, 0, fmt.Sprintf("%s (from %s to %s)", name, c.Old.Path, c.New.Path), t.strong)
	for _, side := range []outcome.Side{c.Old, c.New} {
		if side.Unreadable {
			t.block("", 0, fmt.Sprintf("A file of %s could not be read, so this is not the whole truth.", side.Path))
		}
	}
	for _, lost := range c.Lost {
		t.styled("", unstyled, 0, lost, t.strong)
	}
	t.block("", 0, say.Counts(c.Counts)+".")
	t.sayChange("New", []outcome.Show{{Findings: c.Findings}}, &c.Change)
	t.comparedThen("Fixed", c.Gone, func(p *outcome.Past) bool { return !p.Untold && p.Review == "" })
	t.comparedThen("Nobody can tell any more", c.Gone, func(p *outcome.Past) bool { return p.Untold })
	t.comparedThen("Gone, and not put right: its rule is off, its limit is another, or it is meant", c.Gone, func(p *outcome.Past) bool { return p.Review != "" })
	t.looks(c)
	for _, side := range []outcome.Side{c.Old, c.New} {
		for _, note := range side.Notes {
			t.line("")
			t.block("   -", labelAt, side.Path+": "+note)
		}
	}
	return out.Flush()
}

// comparedThen writes what is gone, of each rule the first in full.
func (t *textWriter) comparedThen(heading string, gone []outcome.Past, which func(*outcome.Past) bool) {
	var rules []string
	ofRule := map[string][]*outcome.Past{}
	for i := range gone {
		past := &gone[i]
		if past.Verdict != finding.Fail || past.Accepted || !which(past) {
			continue
		}
		rules = say.AddNew(rules, past.Rule)
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
		t.label("rule", fmt.Sprintf("%s (%s), %s", rule, list[0].Level, spelling.Few(keys, say.MostKeys)))
	}
}

func (t *textWriter) looks(c *outcome.Comparison) {
	if len(c.Looks) == 0 {
		t.line("")
		if c.SameLooks > 0 {
			t.block("", 0, fmt.Sprintf("The looks are the same: %s.", say.Count(c.SameLooks, "look")))
		}
		return
	}
	t.heading(fmt.Sprintf("How the looks changed (%d of %d)", len(c.Looks), len(c.Looks)+c.SameLooks))
	t.line("")
	for i, look := range c.Looks {
		if i == mostLooks {
			t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", say.Count(len(c.Looks)-i, "look")))
			break
		}
		t.look(&look)
	}
}

func (t *textWriter) look(l *outcome.LookChange) {
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
	tell := func(label, text string) {
		said = true
		t.label(label, text)
	}
	if l.Output != (outcome.Step{}) {
		if text := stepText(l.Output, "%", "dark"); text != "" {
			tell("output", text)
		}
	}
	if l.OldHues != l.NewHues {
		tell("hues", fmt.Sprintf("%s, were %s", orNone(l.NewHues), orNone(l.OldHues)))
	}
	var steps []string
	for _, s := range l.Levels {
		steps = append(steps, fmt.Sprintf("%s: %s to %s %%", s.Channels, say.Short(s.Old), say.Short(s.New)))
	}
	if len(steps) > 0 {
		tell("levels", spelling.Few(steps, say.MostWords))
	}
	steps = nil
	for _, s := range l.Colours {
		steps = append(steps, fmt.Sprintf("%s: from %s to %s", s.Channels, s.Old, s.New))
	}
	if len(steps) > 0 {
		tell("colours", spelling.Few(steps, mostNames))
	}
	steps = nil
	for _, s := range l.Haze {
		steps = append(steps, fmt.Sprintf("%s: %s to %s %%", s.Channels, say.Short(s.Old), say.Short(s.New)))
	}
	if len(steps) > 0 {
		tell("haze", spelling.Few(steps, say.MostWords))
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
		tell(what, spelling.Few(steps, mostNames))
	}
	steps = nil
	for _, s := range l.Faces {
		if text := stepText(s.Step, "lx", "no light"); text != "" {
			steps = append(steps, s.Place+": "+text)
		}
	}
	if len(steps) > 0 {
		tell("faces", spelling.Few(steps, mostNames))
	}
	if !said && l.OldCue == l.NewCue {
		tell("", "by less than a twentieth of a stop")
	}
}

// othersIn lists what else changed, each once.
func othersIn(list []outcome.OtherStep) []string {
	var whats []string
	for _, s := range list {
		whats = say.AddNew(whats, s.What)
	}
	return whats
}

// stepText says a step in stops, or "" for one that is too small to say.
func stepText(s outcome.Step, unit, nothing string) string {
	const least = 0.05 // of a stop: what is shown has one decimal
	stops, ok := say.Stops(s)
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
		return say.Short(v) + " " + unit
	}
	text := value(s.Old) + " to " + value(s.New)
	if ok {
		return fmt.Sprintf("%+.1f stops (%s)", stops, text)
	}
	return text
}

func orNone(text string) string {
	if text == "" {
		return "none"
	}
	return text
}
