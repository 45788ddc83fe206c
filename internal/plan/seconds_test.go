package plan

import (
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/judged"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// Where it is a matter of taste an order has a second cure; where a mistake is undone, or
// somebody could be hurt, it has none. What the second does is seen by making it in the place
// of the first and checking the show from the beginning.
func TestSecondCures(t *testing.T) {
	for _, tc := range []struct{ name, rule, second string }{
		{"sorrel/heights-unknown", "colour/accent-too-large", `Bring top (channels 25-28) in "S2 end" (cue 8) to 0 %`},
		{"cinema/one-look-all-evening", "dynamics/quiet-too-bright", "curtain batten 3 and curtain batten 4 (channels 33, 34) to 0 %"},
		{"harrow/quiet-song-brighter-than-loud", "dynamics/quiet-too-bright", `The same, but bring wash accent (channels 55-58) in "Rest" (cue 7) to 0 %.`},
		{"tallow/a-hue-for-every-wash-lamp", "colour/too-many-hues", `Turn wash 2 (channel 32) in "First chorus" (cue 8) to hue 199 degrees`},
		{"harrow/strobe-in-the-chorus", "safety/flash-rate", ""},
		{"harrow/pool-left-on", "people/empty-place-lit", ""},
		{"youth_hall/slow_chase_told", "screen/burns-out", ""}, // the same screen a little brighter is no other way
	} {
		set := rules.Own()
		start := proof.Check(judged.Show(t, tc.name), set)
		p, err := Make(start, Options{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		at := -1
		for i := range p.Steps {
			if p.Steps[i].cure.rule == tc.rule {
				at = i
			}
		}
		if at < 0 {
			t.Errorf("%s: no order for %s", tc.name, tc.rule)
			continue
		}
		orders, _ := p.Orders()
		if or := orders[at].Or; !strings.Contains(or, tc.second) || (or == "") != (tc.second == "") {
			t.Errorf("%s: %q or %q, want %q", tc.name, orders[at].Do, or, tc.second)
			continue
		}
		if tc.second == "" {
			continue
		}
		show := start.Show
		prices := map[string]bool{}
		for i, s := range p.Steps {
			edits := s.cure.edits
			if i == at {
				edits = s.or.edits
			}
			if show, err = schema.Apply(show, edits); err != nil {
				t.Fatal(err)
			}
			for _, price := range s.Worse {
				prices[price.Key] = true
			}
		}
		after := proof.Check(show, set).Found
		left := Identities(after)
		for identity := range CuredBy(p.Steps) {
			if left[identity] {
				t.Errorf("%s: with the second cure %q is left", tc.name, identity)
			}
		}
		if tc.name == "sorrel/heights-unknown" { // what goes wrong with us while another way is looked for is told
			p.prover.seconds, p.prover.left, p.prover.Accept = nil, 1_000_000, func([]finding.Finding) { panic("we are wrong") }
			if err := p.prover.alternatives(start, slices.Clone(p.Steps)); err == nil || !strings.Contains(err.Error(), "we are wrong") {
				t.Errorf("%s: our own mistake is told as %v", tc.name, err)
			}
		}
		before := Identities(start.Found)
		for i := range after {
			if !before[after[i].Identity()] && !prices[after[i].Key()] {
				t.Errorf("%s: with the second cure there is %q", tc.name, after[i].Message)
			}
		}
	}
}
