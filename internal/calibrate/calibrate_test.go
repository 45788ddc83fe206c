package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
	"github.com/cueproof/cueproof/schema/typical"
)

// hall is an invented one: eight keys and four backs on two bars, four places.
func hall(t *testing.T, readings string) *schema.Show {
	t.Helper()
	var patch []string
	places := []string{"lectern", "singer", "keys", "drums"}
	for i := range 12 {
		y, z, kind := -4.0, 4.8, "spot"
		x := -4 + float64(i)
		if i >= 8 {
			x, y, kind = -4+2.5*float64(i-8), -3.5, "soft"
		}
		patch = append(patch, fmt.Sprintf(`{"channel": %d, "name": "lamp %d", "type": %q, "purpose": "key", "hung_at": {"x": %g, "y": %g, "z": %g}, "aimed_at": %q}`, i+1, i+1, kind, x, y, z, places[i%4]))
	}
	show := schematest.Read(t, `{
	"room": {"ambient_lx": 4, "cameras": [{"name": "c", "x": 0, "y": -12, "z": 1.6}], "places": [
		{"name": "lectern", "x": -3, "y": 1, "z": 0, "head_m": 1.65, "facing_deg": 0}, {"name": "singer", "x": -1, "y": 1.5, "z": 0, "head_m": 1.65, "facing_deg": 0},
		{"name": "keys", "x": 1.5, "y": 2, "z": 0, "head_m": 1.3, "facing_deg": 0}, {"name": "drums", "x": 3.5, "y": 2.5, "z": 0, "head_m": 1.3, "facing_deg": 0}]},
	"types": [{"name": "spot", "typical": "profile white 26", "dimmer_curve": "linear"}, {"name": "soft", "source": "white-led", "white_k": 5600, "flux_lm": 6000, "beam_deg": 30, "field_deg": 50, "dimmer_curve": "linear"}],
	"patch": [`+strings.Join(patch, ",")+`],
	"cues": [{"cue": 1, "set": [{"channels": "1-12", "level": 60}]}, {"cue": 2, "set": [{"channels": "1-12", "level": 0}, {"channels": "1,5", "level": 50}]}],
	"readings": [`+readings+`]}`)
	typical.Fill(show)
	return show
}

// simulated are readings of every lamp alone and of cue 1 at every place, in a hall
// whose spots all give share of what is assumed of their type, and whose lamps give
// what truth says; a meter errs by up to 10 % either way.
func simulated(t *testing.T, truth map[int]float64, share float64, seed uint64) *schema.Show {
	t.Helper()
	places := []string{"lectern", "singer", "keys", "drums"}
	var list []string
	for i := range 12 {
		list = append(list, fmt.Sprintf(`{"place": %q, "channels": "%d", "lx": 1}`, places[i%4], i+1))
	}
	for _, place := range places {
		list = append(list, fmt.Sprintf(`{"place": %q, "cue": 1, "lx": 1}`, place))
	}
	show := hall(t, strings.Join(list, ","))
	rows, _, left := compare(show)
	if left > 0 || len(rows) != len(list) {
		t.Fatalf("%d of %d readings are compared, %d left", len(rows), len(list), left)
	}
	noise := rand.New(rand.NewPCG(seed, 1))
	for i := range rows {
		lux := rows[i].modelled(func(f *schema.Fixture) float64 {
			factor := 1.0
			if f.Type == "spot" {
				factor = share
			}
			if part, ok := truth[f.Channel]; ok {
				factor *= part
			}
			return factor
		})
		show.Readings[rows[i].index].Lx = new(lux * (1 + 0.1*(2*noise.Float64()-1)))
	}
	return show
}

func named(found []finding.Finding) (channels []string) {
	for _, f := range found {
		if f.Rule == "file/lamp-dim" {
			channels = append(channels, f.Subjects[0].Name)
		}
	}
	return channels
}

func TestTwoDimLampsAreFoundAndNoOther(t *testing.T) {
	for seed := range uint64(40) {
		result := Run(simulated(t, map[int]float64{3: 0.5, 10: 0.45}, 0.7, seed))
		if got := named(result.Findings); !slices.Equal(got, []string{"3", "10"}) {
			t.Errorf("with the meter of seed %d dim are %v, want 3 and 10", seed, got)
		}
		for _, f := range result.Findings {
			if at := result.Show.Patch[2].At.Place(); f.Rule == "file/lamp-dim" && f.Subjects[0].Name == "3" && (at.File == nil || f.Place != at) {
				t.Errorf("channel 3 is found at %+v, and stands in the patch at %+v", f.Place, at)
			}
		}
		for _, f := range result.Show.Patch {
			want := 0.7
			if f.Type == "soft" {
				want = 1
			}
			switch f.Channel {
			case 3:
				want *= 0.5
			case 10:
				want *= 0.45
			}
			if f.Output == 0 || math.Abs(f.Output/want-1) > 0.2 { // two readings of 10 % each, drawn to the others
				t.Errorf("seed %d: channel %d is worked out with %.2f of its type's light, true is %.2f", seed, f.Channel, f.Output, want)
			}
		}
	}
}

func TestSoundLampsAreNotNamed(t *testing.T) {
	for seed := range uint64(40) {
		if got := named(Run(simulated(t, nil, 1.5, seed)).Findings); len(got) > 0 {
			t.Errorf("with the meter of seed %d dim are %v, and none is", seed, got)
		}
	}
}

// One reading of twelve lamps says nothing of any of them.
func TestOneReadingOfManyLampsSettlesNothing(t *testing.T) {
	show := hall(t, `{"place": "lectern", "cue": 1, "lx": 100}`)
	result := Run(show)
	if got := named(result.Findings); len(got) > 0 {
		t.Errorf("dim are %v", got)
	}
	for _, f := range result.Show.Patch {
		if f.Output != 0 {
			t.Errorf("channel %d is worked out with %.2f of its light", f.Channel, f.Output)
		}
	}
	if !slices.ContainsFunc(result.Findings, func(f finding.Finding) bool { return f.Rule == "file/reading-differs" }) {
		t.Errorf("100 lx where thousands are worked out are not told: %v", result.Notes)
	}
}

// A reading that is a stop away makes all that is said of a face doubtful; nearer to it,
// it is a note.
func TestAStopAwayIsAWarning(t *testing.T) {
	rows, _, _ := compare(hall(t, `{"place": "lectern", "cue": 1, "lx": 1}`))
	worked := rows[0].modelled(func(*schema.Fixture) float64 { return 1 })
	for share, want := range map[float64]finding.Level{0.49: finding.Warning, 0.51: finding.Note, 1.97: finding.Note, 2.03: finding.Warning} {
		found := Run(hall(t, fmt.Sprintf(`{"place": "lectern", "cue": 1, "lx": %g}`, share*worked))).Findings
		if len(found) != 1 || found[0].Level != want {
			t.Errorf("%g of the light: %v, want one %s", share, found, want)
		}
	}
}

func TestWhatReadingsAreNot(t *testing.T) {
	show := hall(t, `{"place": "nowhere", "cue": 1, "lx": 100, "plane": "up"}, {"place": "nowhere", "cue": 1, "lx": 5}, {"place": "lectern", "cue": 99, "lx": 5}, {"place": "lectern", "white_k": 3000}`)
	result := Run(show)
	if result.Show != show || len(result.Findings) > 0 || len(result.Notes) != 1 {
		t.Errorf("nothing can be compared, and it is told: %v %v", result.Findings, result.Notes)
	}
	none := hall(t, "")
	if result := Run(none); result.Show != none || len(result.Notes) > 0 {
		t.Error("without readings there is nothing to say")
	}
}

func TestAmbientLightIsTakenFromTheMeter(t *testing.T) {
	show := hall(t, `{"place": "lectern", "lx": 30}, {"place": "keys", "lx": 50}`)
	if *Run(show).Show.Room.AmbientLx != 4 {
		t.Error("what somebody wrote down stays")
	}
	show.Room.Known = schema.Known{"ambient_lx": {Word: "assumed", Low: 0, High: 30}}
	if got := Run(show).Show.Room; *got.AmbientLx != 40 || got.Known.Of("ambient_lx").Word != "measured" {
		t.Errorf("with every lamp off it is %v lx, %v", *got.AmbientLx, got.Known)
	}
}

// Of one lamp the light on a cap that lies flat and on a face that looks at the house
// are as its height over them is to its distance downstage: the same candela, the same
// square of the way, and the cosine of each plane.
func TestAMeterThatLiesFlat(t *testing.T) {
	show := hall(t, `{"place": "lectern", "channels": "1", "lx": 1}, {"place": "lectern", "channels": "1", "lx": 1, "plane": "up"}, {"place": "lectern", "channels": "1", "lx": 1, "plane": "up", "height_m": 1}`)
	rows, _, left := compare(show)
	if left != 0 || len(rows) != 3 {
		t.Fatalf("%d rows, %d left", len(rows), left)
	}
	light := func(i int) float64 {
		return rows[i].modelled(func(*schema.Fixture) float64 { return 1 }) - rows[i].rest
	}
	// The lamp hangs at -4, -4, 4.8; the face is at -3, 1, 1.65.
	const want = (4.8 - 1.65) / (1 + 4.0)
	if got := light(1) / light(0); math.Abs(got-want) > 0.01*want {
		t.Errorf("flat to upright is %.4f, want %.4f", got, want)
	}
	if light(2) >= light(1) {
		t.Errorf("lower down it is %.1f lx, above it %.1f", light(2), light(1))
	}
	if result := Run(show); len(result.Notes) == 0 || strings.Contains(result.Notes[0], "not compared") {
		t.Errorf("%q", result.Notes)
	}
}

func TestReadingsOfAWhite(t *testing.T) {
	// Channel 9 is a soft light of 5600 K on the lectern: 25 mired away from it are 4912 K and 6512 K.
	for kelvin, tells := range map[int]bool{5600: false, 4950: false, 4850: true, 6400: false, 6600: true} {
		result := Run(hall(t, fmt.Sprintf(`{"place": "lectern", "channels": "9", "white_k": %d}`, kelvin)))
		if told := slices.ContainsFunc(result.Findings, func(f finding.Finding) bool {
			return strings.Contains(f.Message, fmt.Sprintf("the meter showed %d K, and 5600 K are worked out", kelvin))
		}); told != tells || len(result.Findings) > 1 {
			t.Errorf("%d K: told %v, want %v: %v", kelvin, told, tells, result.Findings)
		}
	}
}

// TestFactorsStayWithinTheirBounds: what a lamp gives is a twentieth to three times what it should, with what all of its type give.
func TestFactorsStayWithinTheirBounds(t *testing.T) {
	m := &model{lamps: make([]*schema.Fixture, 2), kind: []int{0, 0}, x: []float64{0.4, -0.5, 0.3}}
	for _, c := range []struct {
		i        int
		to, want float64
	}{
		{0, 9, 3 - 1 - 0.3}, {0, -9, 0.05 - 1 - 0.3}, {1, 0.7, 0.7},
		{2, 9, 3 - 1 - 0.4}, {2, -9, 0.05 - 1 + 0.5}, {2, 0.2, 0.2}, // the brightest of the type bounds it above, the dimmest below
	} {
		if got := m.within(c.i, c.to); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("coordinate %d goes to %g instead of %g, want %g", c.i, got, c.to, c.want)
		}
	}
}
