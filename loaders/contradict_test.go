package loaders

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/photometry"
)

// TestNumbersContradict: of a beam of 40,000 cd, 20 and 30 degrees, the flux follows. A flux a
// little nearer than the limit passes, one a little farther does not, on both sides.
func TestNumbersContradict(t *testing.T) {
	both, err := photometry.NewBeamFromPeak(20, 30, 40_000)
	if err != nil {
		t.Fatal(err)
	}
	one, err := photometry.NewCosinePowerFromPeak(20, 40_000)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		about, kind string
		fails       bool
	}{
		{"it fits", fmt.Sprintf(`"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g`, both.Flux()), false},
		{"just not too much", fmt.Sprintf(`"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g`, 3.99*both.Flux()), false},
		{"just too much", fmt.Sprintf(`"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g`, 4.01*both.Flux()), true},
		{"just not too little", fmt.Sprintf(`"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g`, both.Flux()/1.59), false},
		{"just too little", fmt.Sprintf(`"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g`, both.Flux()/1.61), true},
		{"one angle, just not too much", fmt.Sprintf(`"beam_deg": 20, "peak_cd": 40000, "flux_lm": %g`, 3.99*one.Flux()), false},
		{"one angle, just not too little", fmt.Sprintf(`"beam_deg": 20, "peak_cd": 40000, "flux_lm": %g`, one.Flux()/2.49), false},
		{"one angle, just too little", fmt.Sprintf(`"beam_deg": 20, "peak_cd": 40000, "flux_lm": %g`, one.Flux()/2.51), true},
		{"one angle, just too much", fmt.Sprintf(`"beam_deg": 20, "peak_cd": 40000, "flux_lm": %g`, 4.01*one.Flux()), true},
		{"no flux", `"beam_deg": 20, "field_deg": 30, "peak_cd": 40000`, false},
		{"no angle", `"peak_cd": 40000, "flux_lm": 1`, false},
		{"a flux that is assumed", `"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": 1, "known": {"flux_lm": "assumed"}`, false},
		{"the wide end of a zoom", fmt.Sprintf(`"zoom": {"narrow": {"beam_deg": 20, "field_deg": 30, "peak_cd": 40000, "flux_lm": %g}, "wide": {"beam_deg": 40, "field_deg": 50, "peak_cd": 40000, "flux_lm": 2000}}`, both.Flux()), true},
	} {
		text := `{"types": [{"name": "spot", "source": "white-led", ` + c.kind + `}]}`
		r, err := Load("-", Options{Stdin: strings.NewReader(text), StdinName: "show.json"})
		if err != nil {
			t.Fatal(err)
		}
		var said []finding.Finding
		for _, f := range r.Findings {
			if f.Rule == "file/numbers-contradict" {
				said = append(said, f)
			} else {
				t.Errorf("%s: %s", c.about, f.Message)
			}
		}
		if len(said) > 0 != c.fails || len(said) > 1 {
			t.Errorf("%s: %v", c.about, said)
		}
		if c.about == "the wide end of a zoom" && !strings.HasPrefix(said[0].Message, `the wide end of the zoom of type "spot" has a peak of 40000 cd, which means about 15000 lm with these angles, and flux_lm is 2000: they cannot all be right.`) {
			t.Errorf("%s", said[0].Message)
		}
	}
}
