package finding

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestTheWeakestDecides(t *testing.T) {
	within := &Range{1, 2}
	read := Basis{Known: Read}
	metered := Basis{Known: Reading, Missing: []string{"a"}, Range: within}
	assumed := Basis{Known: Assumed, Missing: []string{"a", "b"}, Rests: []string{"an assumed 9,000 lm"}}
	for _, c := range []struct{ got, want Basis }{
		{read.And(read), read},
		{read.And(metered), Basis{Known: Reading, Missing: []string{"a"}}},
		{assumed.And(metered), Basis{Known: Assumed, Missing: []string{"a", "b"}, Rests: []string{"an assumed 9,000 lm"}}},
	} {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	}
	for i, word := range KnownWords {
		if k := Known(i); k.String() != word || k.Sure() != (k == Read || k == Reading || k == Derived) {
			t.Errorf("%d is called %s; sure: %v", i, k, k.Sure())
		}
	}
	if len(KnownWords) != int(Assumed)+1 {
		t.Errorf("%d ways to know have a word", len(KnownWords))
	}
}

func TestAmountsAreCompared(t *testing.T) {
	for _, c := range []struct {
		before, now float64
		worse       Direction
		want        int
	}{
		{1, 1.25, More, 0}, {1, 1.26, More, +1}, {1, 0.75, More, 0}, {1, 0.74, More, -1},
		{1, 1.25, Less, 0}, {1, 1.26, Less, -1}, {1, 0.75, Less, 0}, {1, 0.74, Less, +1},
	} {
		if word := map[Direction]string{Less: "less", More: "more"}[c.worse]; c.worse.String() != word {
			t.Errorf("%s is called %s", word, c.worse)
		}
		now := Amount{Value: c.now, Worse: c.worse, Margin: 0.25}
		if got := now.Compare(Amount{Value: c.before}); got != c.want {
			t.Errorf("%g after %g, %s is worse: %d, want %d", c.now, c.before, c.worse, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1e6, 1e6)
		a := Amount{Value: number.Draw(t, "a"), Worse: More, Margin: rapid.Float64Range(0, 10).Draw(t, "margin")}
		b := Amount{Value: number.Draw(t, "b"), Worse: More, Margin: a.Margin}
		if a.Compare(b) != -b.Compare(a) {
			t.Fatalf("%v and %v are not each other's opposite", a, b)
		}
	})
}

// Two that say the same are the same in all that they say.
func TestBasesThatSayTheSame(t *testing.T) {
	whole := Basis{Known: Assumed, Missing: []string{"a"}, Rests: []string{"b"}, Range: &Range{1, 2}}
	for want, others := range map[bool][]Basis{
		true: {whole, {Known: Assumed, Missing: []string{"a"}, Rests: []string{"b"}, Range: &Range{1, 2}}},
		false: {
			{Known: Derived, Missing: []string{"a"}, Rests: []string{"b"}, Range: &Range{1, 2}}, {Known: Assumed, Rests: []string{"b"}, Range: &Range{1, 2}}, {Known: Assumed, Missing: []string{"a"}, Rests: []string{"c"}, Range: &Range{1, 2}},
			{Known: Assumed, Missing: []string{"a"}, Rests: []string{"b"}}, {Known: Assumed, Missing: []string{"a"}, Rests: []string{"b"}, Range: &Range{1, 3}}, {},
		},
	} {
		for _, other := range others {
			if whole.Same(other) != want || other.Same(whole) != want {
				t.Errorf("%+v says the same: %t", other, !want)
			}
		}
	}
	if !(Basis{}).Same(Basis{}) {
		t.Error("nothing is not nothing")
	}
}
