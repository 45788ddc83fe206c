package schema

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// Hang gives every fixture that hangs on a bar of the room its point, where the patch
// gives none: by its metres along the bar; else spread evenly by its order on the bar;
// else, if none of the bar's fixtures has an order, spread evenly in the order of the
// patch. What is on a stand without metres is at its top. The first counts as derived, the
// others as inferred, and none is known better than the ends of its bar. A distance beyond an end is a finding.
func (s *Show) Hang() []finding.Finding {
	if s.Room == nil {
		return nil
	}
	bars := map[string]*Bar{}
	for _, b := range s.Room.Bars {
		if b.From != nil && b.To != nil && bars[nameKey(b.Name)] == nil {
			bars[nameKey(b.Name)] = b
		}
	}
	if len(bars) == 0 {
		return nil
	}
	on := map[*Bar][]*Fixture{}
	for _, f := range s.Patch {
		if b := bars[nameKey(f.HungOn)]; b != nil && f.HungOn != "" {
			on[b] = append(on[b], f)
		}
	}
	var found []finding.Finding
	for _, b := range s.Room.Bars {
		found = append(found, b.hang(on[b])...)
	}
	return found
}

// nameKey is a name as people compare it: without case and spare blanks.
func nameKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// hang places the fixtures of one bar.
func (b *Bar) hang(fixtures []*Fixture) []finding.Finding {
	var found []finding.Finding
	var spread []*Fixture // those without metres
	most := 0
	for _, f := range fixtures {
		if f.HungOrder != nil {
			most = max(most, *f.HungOrder)
		}
		switch {
		case f.HungAt != nil:
		case f.HungAtM != nil:
			at := *f.HungAtM
			if b.Zero == "middle" {
				at += b.length() / 2
			}
			if off := max(-at, at-b.length()); off > slackM {
				found = append(found, b.offEnd(f, off))
			}
			f.place(b, at, "derived")
		default:
			spread = append(spread, f)
		}
	}
	if len(spread) == 0 {
		return found
	}
	ordered := slices.ContainsFunc(fixtures, func(f *Fixture) bool { return f.HungOrder != nil })
	count := max(most, len(fixtures))
	for i, f := range fixtures {
		switch {
		case !slices.Contains(spread, f):
		case b.isUpright():
			f.place(b, b.top(), "inferred")
		case f.HungOrder != nil:
			f.place(b, b.share(*f.HungOrder, count), "inferred")
		case !ordered:
			f.place(b, b.share(i+1, count), "inferred")
		} // else: between which of the others it hangs, nobody can tell
	}
	return found
}

// slackM is how far a clamp may be beyond the end of a bar that was measured by hand,
// in metres. Common practice, no source.
const slackM = 0.1

// share is where the order-th of count fixtures hangs that are spread evenly, in
// metres from the bar's first end.
func (b *Bar) share(order, count int) float64 {
	return (float64(order) - 0.5) / float64(count) * b.length()
}

// isUpright reports whether a bar is a stand, which carries its lamps at the top.
func (b *Bar) isUpright() bool {
	return b.Kind == "stand" && math.Abs(b.To.Z-b.From.Z) > math.Hypot(b.To.X-b.From.X, b.To.Y-b.From.Y)
}

// top is how far along it the higher end is.
func (b *Bar) top() float64 {
	if b.To.Z < b.From.Z {
		return 0
	}
	return b.length()
}

func (b *Bar) length() float64 {
	return math.Hypot(math.Hypot(b.To.X-b.From.X, b.To.Y-b.From.Y), b.To.Z-b.From.Z)
}

// place puts a fixture at a distance along a bar.
func (f *Fixture) place(b *Bar, at float64, how string) {
	part := 0.5
	if length := b.length(); length > 0 {
		part = at / length
	}
	f.HungAt = &Point{
		X: b.From.X + part*(b.To.X-b.From.X),
		Y: b.From.Y + part*(b.To.Y-b.From.Y),
		Z: b.From.Z + part*(b.To.Z-b.From.Z),
	}
	weakest := how
	for _, other := range []string{b.Known.Of("from").Word, b.Known.Of("to").Word, f.Known.Of("hung_on").Word, f.Known.Of("hung_at_m").Word} {
		if weaker(other, weakest) {
			weakest = other
		}
	}
	known := Known{}
	for key, knowing := range f.Known {
		known[key] = knowing
	}
	known["hung_at"] = Knowing{Word: weakest}
	f.Known = known
}

// weaker reports whether a value known in one way is known less well than in another.
func weaker(word, than string) bool {
	return cmp.Compare(slices.Index(finding.KnownWords, word), slices.Index(finding.KnownWords, than)) > 0
}

func (b *Bar) offEnd(f *Fixture, off float64) finding.Finding {
	return finding.Finding{
		Rule: "file/off-bar", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{subjectOfFixture(f), about("bar", b.Name)},
		Message: fmt.Sprintf("channel %d hangs %.2g m beyond the end of the bar %q, which is %.2g m long.",
			f.Channel, off, b.Name, b.length()),
		Hint:  "correct hung_at_m or the ends of the bar; with \"zero\": \"middle\" metres count from its middle",
		Place: fieldPlace(f.At, "hung_at_m"),
	}
}
