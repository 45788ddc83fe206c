package calibrate

import (
	"slices"
	"testing"

	"github.com/cueproof/cueproof/schema"
)

// TestWhereAReadingWasTaken: lying flat is said, upright is the rule and is not.
func TestWhereAReadingWasTaken(t *testing.T) {
	for _, c := range []struct {
		plane, want string
	}{{"", "at lectern with channels 1-3 alone"}, {"up", "at lectern, lying flat, with channels 1-3 alone"}, {"face", "at lectern with channels 1-3 alone"}} {
		if got := whereOf(&schema.Reading{Place: "lectern", Plane: c.plane, Channels: "1-3"}); got != c.want {
			t.Errorf("%q: %q, not %q", c.plane, got, c.want)
		}
	}
}

// TestHowFarAWhiteMayBeOff: 5000 K is 200 mired, so that 4444 K (225) is as far as a meter may be
// off, and 4430 K is too far; with light of colours 75 mired are let pass: 3640 K, not 3630.
func TestHowFarAWhiteMayBeOff(t *testing.T) {
	read := func(shown, worked float64, colour bool) white {
		return white{reading: &schema.Reading{Place: "lectern", WhiteK: &shown}, where: "at lectern", kelvin: &worked, colour: colour}
	}
	for _, c := range []struct {
		white white
		told  string
	}{
		{read(5000, 4445, false), ""}, {read(5000, 4430, false), "At lectern the meter showed 5000 K, and 4430 K are worked out."},
		{read(4430, 5000, false), "At lectern the meter showed 4430 K, and 5000 K are worked out."},
		{read(5000, 3640, true), ""}, {read(5000, 3630, true), "At lectern the meter showed 5000 K, and 3630 K are worked out."},
	} {
		var r Result
		r.whites([]white{c.white})
		if c.told == "" && len(r.Findings) > 0 || c.told != "" && (len(r.Findings) != 1 || r.Findings[0].Message != c.told || r.Findings[0].Likely != c.white.colour) {
			t.Errorf("%+v, not %q", r.Findings, c.told)
		}
	}
	// What nobody could work out, and a white of nothing, are no readings: 200 and 250 mired, and
	// 200 and 210, are 30 apart on average.
	unknown := read(5000, 4000, false)
	unknown.kelvin = nil
	var r Result
	r.whites([]white{unknown, read(5000, 4000, false), read(0, 4000, false), read(5000, 1e6/210, false)})
	if want := []string{"2 readings of a white differ from what is worked out by 30 mired on average"}; !slices.Equal(r.Notes, want) {
		t.Errorf("%q, not %q", r.Notes, want)
	}
}
