package stage

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// TestIntoTheEyesThatGetMost: who is passed over because others are nearer to the axis gets no
// more than they do, whatever the lamp and wherever it points.
func TestIntoTheEyesThatGetMost(t *testing.T) {
	draw := rand.New(rand.NewPCG(1, 2))
	var patch []string
	for i := range 60 {
		patch = append(patch, fmt.Sprintf(`{"channel": %d, "type": %q, "hung_at": {"x": %.2f, "y": %.2f, "z": %.2f}, "aimed_at": {"x": %.2f, "y": %.2f, "z": %.2f}}`,
			i+1, []string{"spot", "flood"}[i%2], 16*draw.Float64()-8, 20*draw.Float64()-18, 3+5*draw.Float64(), 20*draw.Float64()-10, 30*draw.Float64()-25, 3*draw.Float64()-1))
	}
	r, _ := rigOf(t, `{"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 9000, "beam_deg": 12, "field_deg": 20}, {"name": "flood", "source": "white-led", "white_k": 5600, "flux_lm": 9000, "beam_deg": 60, "field_deg": 110}],
		"patch": [`+strings.Join(patch, ",")+`], "cues": [{"cue": 1, "set": [{"channels": "all", "level": 50}]}],
		"room": {"places": [{"name": "pulpit", "x": 0, "y": 0, "z": 1}], "areas": [{"name": "stalls", "kind": "audience", "x": [-8, 8], "y": [-22, -10], "z": -1}, {"name": "aisle", "kind": "aisle", "x": [-8, -6], "y": [-22, -8], "z": 0}]}}`)
	dazzled := 0
	for _, f := range r.Show.Patch {
		pct, lux, _, area, missing := r.Room.IntoEyes(f)
		wantPct, wantLux, wantArea := 0.0, 0.0, ""
		for _, b := range r.Room.byFixture[f] {
			peak, _ := b.Source.CandelaTowards(along(b.frame))
			for _, a := range r.Room.seats {
				for _, eye := range a.eyes {
					candela, ok := b.Source.CandelaTowards(eye)
					if !ok || r.Room.behindBack(eye, b.frame.Position) {
						continue
					}
					if 100*candela/peak > wantPct {
						wantPct, wantArea = 100*candela/peak, a.area
					}
					wantLux = max(wantLux, candela/r3.Norm2(r3.Sub(eye, b.frame.Position)))
				}
			}
		}
		if len(missing) > 0 || math.Abs(pct-wantPct) > 1e-12*wantPct || math.Abs(lux-wantLux) > 1e-12*wantLux || area != wantArea {
			t.Errorf("channel %d: %v %%, %v lx in %q; not %v, %v in %q; missing %v", f.Channel, pct, lux, area, wantPct, wantLux, wantArea, missing)
		}
		if pct > 1 {
			dazzled++
		}
	}
	if dazzled < 10 {
		t.Errorf("only %d lamps of the draw shine into anybody's eyes", dazzled)
	}
}
