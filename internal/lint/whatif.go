package lint

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// lessLight is the part of the light that is told when it goes; a lamp stands in for
// another if there is half of the light with it, and well if there is givesBack of it
// (ours: an eighth, one and a third of a stop).
const (
	lessLight = 0.08
	standsIn  = 0.5
	givesBack = 0.79
)

// mostStandIns is how many lamps near a dead one are tried.
const mostStandIns = 8

// WhatIfGrammar are the questions there are, by an example each.
var WhatIfGrammar = []string{
	"channel 12 dark", "channels 12-14 dark", "channel 12 at 40", "channel 12 3200 K", "universe 2 out", `camera centre 5600 K`,
}

// suppose changes a show in memory.
type suppose struct {
	said  string
	edits []source.Edit
	dark  []int // channels that give less
}

// whats are the forms of questions, each with what it makes of a show.
var whats = []struct {
	form *regexp.Regexp
	make func(show *schema.Show, words []string) (suppose, error)
}{
	{regexp.MustCompile(`^(?:channels?|lamps?) (.+) (?:dark|dead|out|off)$`), func(show *schema.Show, words []string) (suppose, error) {
		channels, err := patched(show, words[1])
		return suppose{"channel " + schema.FormatChannels(channels) + " dark", levels(show, channels, 0), channels}, err
	}},
	{regexp.MustCompile(`^(?:channels?|lamps?) (.+) at (.+)$`), func(show *schema.Show, words []string) (suppose, error) {
		channels, err := patched(show, words[1])
		level, bad := schema.ParseLevel(words[2])
		return suppose{fmt.Sprintf("channel %s at %g %% wherever it is lit", schema.FormatChannels(channels), float64(level)), levels(show, channels, float64(level)), channels}, errors.Join(err, bad)
	}},
	{regexp.MustCompile(`^(?:channels?|lamps?) (.+) (\d+) ?k$`), func(show *schema.Show, words []string) (suppose, error) {
		channels, err := patched(show, words[1])
		k, bad := kelvin(words[2])
		if err := errors.Join(err, bad, canShow(show, channels, k)); err != nil {
			return suppose{}, err
		}
		return suppose{fmt.Sprintf("channel %s at %g K", schema.FormatChannels(channels), k), whites(show, channels, k), nil}, nil
	}},
	{regexp.MustCompile(`^universe (\d+) (?:out|dark|dead|off)$`), func(show *schema.Show, words []string) (suppose, error) {
		var channels []int
		for _, f := range show.Patch {
			for _, address := range append([]string{f.Address}, f.MoreAddresses...) {
				if universe, _, _ := strings.Cut(address, "."); universe == words[1] && !slices.Contains(channels, f.Channel) {
					channels = append(channels, f.Channel)
				}
			}
		}
		if len(channels) == 0 {
			return suppose{}, fmt.Errorf("the patch has nothing in universe %s", words[1])
		}
		slices.Sort(channels)
		return suppose{fmt.Sprintf("universe %s out, with channel %s", words[1], schema.FormatChannels(channels)), levels(show, channels, 0), channels}, nil
	}},
	{regexp.MustCompile(`^camera (.+) (\d+) ?k$`), func(show *schema.Show, words []string) (suppose, error) {
		k, err := kelvin(words[2])
		var names []string
		if show.Room != nil {
			for _, c := range show.Room.Cameras {
				if strings.EqualFold(c.Name, strings.Trim(words[1], `"`)) {
					return suppose{fmt.Sprintf("camera %q white at %g K", c.Name, k), []source.Edit{{At: c.At, Field: "white_k", Value: k}}, nil}, err
				}
				names = append(names, c.Name)
			}
		}
		return suppose{}, fmt.Errorf("the room has no camera %q.%s", words[1], spelling.Hint(words[1], names))
	}},
}

// kelvin reads the white of a lamp or a camera, from candle light to the shade of a blue
// sky (ours).
func kelvin(text string) (float64, error) {
	k, err := strconv.ParseFloat(text, 64)
	if err != nil || k < 1500 || k > 20000 {
		return 0, fmt.Errorf("%s K is no white; it is from 1500 to 20000", text)
	}
	return k, nil
}

// canShow refuses a white that a lamp cannot be set to.
func canShow(show *schema.Show, channels []int, k float64) error {
	for _, f := range show.Patch {
		i := slices.IndexFunc(show.Types, func(t *schema.Type) bool { return t.Name == f.Type })
		if i < 0 || !slices.Contains(channels, f.Channel) {
			continue
		}
		switch t := show.Types[i]; {
		case slices.Contains([]string{"tungsten", "discharge", "white-led"}, t.Source):
			return fmt.Errorf("channel %d has one white (its type %q is %s), so it cannot be set", f.Channel, t.Name, t.Source)
		case len(t.WhiteRangeK) == 2 && (k < t.WhiteRangeK[0] || k > t.WhiteRangeK[1]):
			return fmt.Errorf("channel %d goes from %g to %g K", f.Channel, t.WhiteRangeK[0], t.WhiteRangeK[1])
		}
	}
	return nil
}

// supposed reads a question about a show.
func supposed(show *schema.Show, question string) (suppose, error) {
	text := strings.ToLower(strings.Join(strings.Fields(question), " "))
	for _, what := range whats {
		if words := what.form.FindStringSubmatch(text); words != nil {
			return what.make(show, words)
		}
	}
	return suppose{}, fmt.Errorf("%q is not understood. Ask as in: %s", source.Shorten(question), strings.Join(WhatIfGrammar, "; "))
}

// patched are the channels of a text, all of which have to be there.
func patched(show *schema.Show, text string) ([]int, error) {
	channels, err := show.Channels(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		return nil, err
	}
	there := map[int]bool{}
	for _, f := range show.Patch {
		there[f.Channel] = true
	}
	for _, c := range channels {
		if !there[c] {
			return nil, fmt.Errorf("the patch has no channel %d", c)
		}
	}
	if len(channels) == 0 {
		return nil, fmt.Errorf("the patch has no channel %s", text)
	}
	return channels, nil
}

// eachSetting calls a function for each setting that tells some of the channels anything, with
// those that it tells.
func eachSetting(show *schema.Show, channels []int, do func(s *schema.Setting, those []int)) {
	for _, cue := range show.Cues {
		for _, s := range cue.Set {
			all, err := show.Channels(s.Channels)
			if err != nil {
				continue // a finding says so already
			}
			if those := slices.DeleteFunc(slices.Clone(channels), func(c int) bool { return !slices.Contains(all, c) }); len(those) > 0 {
				do(s, those)
			}
		}
	}
}

// levels are edits that hold channels at a level wherever they are lit, and that end what
// moves it.
func levels(show *schema.Show, channels []int, level float64) (edits []source.Edit) {
	eachSetting(show, channels, func(s *schema.Setting, those []int) {
		if s.Level != nil && *s.Level > 0 {
			edits = append(edits, source.Edit{At: s.At, Field: "level", Value: level, Only: those})
		}
		if s.Effect != nil {
			edits = append(edits, source.Edit{At: s.At, Field: "effect", Only: those})
		}
	})
	return edits
}

// whites are edits that set the white of channels, in the patch and wherever a cue says it.
func whites(show *schema.Show, channels []int, k float64) (edits []source.Edit) {
	for _, f := range show.Patch {
		if slices.Contains(channels, f.Channel) {
			edits = append(edits, source.Edit{At: f.At, Field: "white_k", Value: k})
		}
	}
	eachSetting(show, channels, func(s *schema.Setting, those []int) {
		if s.WhiteK != nil {
			edits = append(edits, source.Edit{At: s.At, Field: "white_k", Value: k, Only: those})
		}
	})
	return edits
}

// WhatIf says what would be of a show if something were otherwise. The error is a show that
// is not there, or a question that is not understood.
func WhatIf(path, question string, o Options) (*outcome.WhatIf, error) {
	c, now, _, err := judge(path, o, nil)
	if err != nil {
		return nil, err
	}
	if c.told.Unreadable {
		return nil, fmt.Errorf("a file of %s cannot be read, so nobody knows what would be; cueproof check %s says which", path, path)
	}
	s, err := supposed(now.Show, question)
	if err != nil {
		return nil, err
	}
	answer := &outcome.WhatIf{Question: s.said}
	if len(s.edits) == 0 {
		return answer, nil // no cue ever lights it
	}
	set := c.setup.Rules
	after, err := now.With(set, s.edits)
	if err != nil {
		return nil, err
	}
	after.Doubt(set) // what rests on assumed numbers says so
	c.setup.accept(o.House.Today, after.Found)
	differ(answer, now.Found, after.Found, s.dark)
	answer.Losses, answer.Rests, answer.Unmeasured = losses(now.Measured(), after.Measured())
	if len(answer.Losses) > 0 && len(s.dark) > 0 {
		answer.StandIn = standIn(now, after, set, s, answer.Losses)
	}
	return answer, nil
}

// differ says which findings come, go and get worse. That a lamp is never used which is
// dark is what was asked, and no news.
func differ(answer *outcome.WhatIf, then, now []finding.Finding, dark []int) {
	var before []outcome.Past
	for i := range then {
		before = append(before, earlier.Of(&then[i]))
	}
	found := slices.Clone(now)
	gone := earlier.Mark(before, pointers(found), nil)
	own := func(f *finding.Finding) bool {
		return len(f.Subjects) > 0 && !slices.ContainsFunc(f.Subjects, func(s finding.Subject) bool {
			channel, err := strconv.Atoi(s.Name)
			return s.Kind != "fixture" && s.Kind != "channel" || err != nil || !slices.Contains(dark, channel)
		})
	}
	for i := range found {
		switch f := &found[i]; {
		case f.Verdict != finding.Fail || f.Accepted != nil || own(f):
		case f.Base == finding.New:
			answer.Come = append(answer.Come, *f)
		case f.Base == finding.Worse:
			answer.Worse = append(answer.Worse, *f)
		}
	}
	left := map[string]bool{}
	for i := range gone {
		left[gone[i].Fingerprint] = !gone[i].Untold
	}
	for i := range then {
		if f := &then[i]; f.Verdict == finding.Fail && f.Accepted == nil && left[f.Fingerprint()] && !own(f) {
			answer.Go = append(answer.Go, *f)
		}
	}
	answer.Come, answer.Worse, answer.Go = finding.Gravest(answer.Come), finding.Gravest(answer.Worse), finding.Gravest(answer.Go)
}

// stops is how far a loss goes down; what is dark is as far as it gets.
func stops(in outcome.LossIn) float64 {
	const dark = 20
	if in.Is <= 0 {
		return dark
	}
	return min(dark, math.Log2(in.Was/in.Is))
}

// losses hold the light on people before and after against each other.
func losses(then, now *facts.Measured) (list []outcome.Loss, rests []string, unmeasured string) {
	type who struct {
		place string
		back  bool
	}
	type where struct{ place, segment, cue string }
	was := map[where]*facts.Person{}
	for _, p := range then.People {
		was[where{p.Place, p.Segment, p.Number}] = p
	}
	by := map[who]int{}
	lit := false
	for _, p := range now.People {
		before := was[where{p.Place, p.Segment, p.Number}]
		if before == nil {
			continue
		}
		for _, pair := range []struct {
			back    bool
			fact    string
			old, is *float64
		}{{false, "face_lx", before.FaceLux, p.FaceLux}, {true, "back_lx", before.BackLux, p.BackLux}} {
			if pair.old == nil || pair.is == nil {
				continue
			}
			lit = true
			if *pair.old <= 0 || *pair.is > *pair.old*(1-lessLight) {
				continue
			}
			for _, what := range before.Basis(pair.fact).Rests {
				if !slices.Contains(rests, what) {
					rests = append(rests, what)
				}
			}
			key := who{p.Place, pair.back}
			i, known := by[key]
			if !known {
				i = len(list)
				by[key] = i
				list = append(list, outcome.Loss{Place: p.Place, Back: pair.back})
			}
			in := outcome.LossIn{Cue: p.Number, Was: *pair.old, Is: *pair.is}
			if !slices.Contains(list[i].Cues, in) {
				list[i].Cues = append(list[i].Cues, in)
			}
		}
	}
	for i := range list {
		slices.SortStableFunc(list[i].Cues, func(a, b outcome.LossIn) int { return cmp.Compare(math.Round(10*stops(b)), math.Round(10*stops(a))) })
	}
	slices.SortStableFunc(list, func(a, b outcome.Loss) int { return cmp.Compare(stops(b.Cues[0]), stops(a.Cues[0])) })
	if !lit {
		unmeasured = "who stands where, and the lamps that light them, with places"
		if len(then.People) > 0 {
			unmeasured = strings.Join(then.People[0].Why("face_lx"), ", and ")
		}
	}
	return list, rests, unmeasured
}

// standIn looks for the nearest lamp of the same purpose with which the face that lost most
// gets much of its light back.
func standIn(now, after *proof.State, set *rules.Set, s suppose, lost []outcome.Loss) *outcome.StandIn {
	i := slices.IndexFunc(lost, func(l outcome.Loss) bool { return !l.Back })
	if i < 0 {
		i = 0
	}
	worst, in := lost[i], lost[i].Cues[0]
	look := slices.IndexFunc(after.Looks, func(l tracking.Look) bool { return l.Number.String() == in.Cue })
	if look < 0 {
		return nil
	}
	type lamp struct {
		f    *schema.Fixture
		away float64
	}
	var lamps []lamp
	for _, f := range now.Show.Patch {
		if slices.Contains(s.dark, f.Channel) {
			continue
		}
		away := math.Inf(+1)
		for _, dead := range now.Show.Patch {
			state := now.Looks[look].State(dead.Channel)
			if !slices.Contains(s.dark, dead.Channel) || state == nil || state.Level <= 0 || dead.Purpose != f.Purpose {
				continue
			}
			d := 1000 + math.Abs(float64(dead.Channel-f.Channel)) // behind all of which the place is known
			if a, b := dead.HungAt, f.HungAt; a != nil && b != nil {
				d = math.Hypot(math.Hypot(a.X-b.X, a.Y-b.Y), a.Z-b.Z)
			}
			away = min(away, d)
		}
		if !math.IsInf(away, +1) {
			lamps = append(lamps, lamp{f, away})
		}
	}
	slices.SortStableFunc(lamps, func(a, b lamp) int { return cmp.Or(cmp.Compare(a.away, b.away), cmp.Compare(a.f.Channel, b.f.Channel)) })
	var best *outcome.StandIn
	for _, l := range lamps[:min(mostStandIns, len(lamps))] {
		level := 0.0
		if state := after.Looks[look].State(l.f.Channel); state != nil {
			level = float64(state.Level)
		}
		parts := after.Looks[look].Parts
		with, err := after.With(set, []source.Edit{{At: parts[len(parts)-1].At, Field: "level", Value: 100.0, Only: []int{l.f.Channel}}})
		if level >= 100 || err != nil {
			continue
		}
		lux := luxOf(with.Measured(), worst, in.Cue)
		if lux == nil || *lux <= in.Is*(1+lessLight) || *lux < in.Was*standsIn || best != nil && *lux <= best.Lux {
			continue
		}
		best = &outcome.StandIn{Channel: l.f.Channel, Purpose: l.f.Purpose, Place: worst.Place, In: in, Lux: *lux, From: level, To: 100}
		if l.away < 1000 {
			best.AwayM = &l.away
		}
		var brings outcome.WhatIf
		differ(&brings, after.Found, with.Found, nil)
		if best.New = len(brings.Come); *lux >= in.Was*givesBack {
			break
		}
	}
	return best
}

// luxOf is the light of a loss as it is measured in some state; nil: nobody knows.
func luxOf(m *facts.Measured, loss outcome.Loss, cue string) *float64 {
	for _, p := range m.People {
		if p.Place == loss.Place && p.Number == cue {
			if loss.Back {
				return p.BackLux
			}
			return p.FaceLux
		}
	}
	return nil
}
