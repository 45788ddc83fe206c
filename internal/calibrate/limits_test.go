package calibrate

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// of is a model of one lamp of one type: what it gives more than its type, what its type gives more than it should,
// and how well that is known.
func of(own, shared, variance float64) *model {
	m := &model{lamps: make([]*schema.Fixture, 1), kind: []int{0}, x: []float64{own, shared}, cov: mat.NewSymDense(2, nil), bare: mat.NewSymDense(1, nil)}
	m.cov.SetSym(0, 0, variance)
	return m
}

// TestWhenALampIsDim: it gives less than 0.7 of what others of its type give, and it is 2.5 deviations away from them.
func TestWhenALampIsDim(t *testing.T) {
	for _, c := range []struct {
		own, shared, deviation float64
		want                   bool
	}{
		{-0.31, 0, 0.05, true}, {-0.29, 0, 0.05, false}, {0.4, 0, 0.05, false},
		{-0.46, 0.5, 0.05, true}, {-0.44, 0.5, 0.05, false}, // 1.04 and 1.06 of 1.5
		{-0.16, -0.5, 0.05, true}, {-0.14, -0.5, 0.05, false}, // 0.34 and 0.36 of 0.5
		{-0.4, 0, 0.155, true}, {-0.4, 0, 0.165, false}, // 0.3875 and 0.4125
		{-0.4, -1, 0.05, false}, {-0.4, -1.2, 0.05, false}, // nobody can be less than nothing
	} {
		if got := of(c.own, c.shared, c.deviation*c.deviation).isDim(0); got != c.want {
			t.Errorf("%+v: %t", c, got)
		}
	}
}

// TestWhenAFactorCounts: the deviation of the sum is 0.2 at most, and 0.3 by the readings alone.
func TestWhenAFactorCounts(t *testing.T) {
	for _, c := range []struct {
		own, kind, both, bare float64 // variances
		want                  bool
	}{
		{0.04, 0, 0, 0, true}, {0.0401, 0, 0, 0, false}, {0, 0.04, 0, 0, true}, {0, 0.0401, 0, 0, false},
		{0.03, 0.03, -0.01, 0, true}, {0.03, 0.03, -0.0099, 0, false}, {0.01, 0.01, 0.01, 0, true}, {0.01, 0.01, 0.0101, 0, false},
		{0.01, 0.01, -0.02, 0, true}, // rounding: less than nothing is nothing
		{0, 0, 0, 0.09, true}, {0, 0, 0, 0.0901, false},
	} {
		m := of(0, 0, c.own)
		m.cov.SetSym(1, 1, c.kind)
		m.cov.SetSym(0, 1, c.both)
		m.bare.SetSym(0, 0, c.bare)
		if got := m.settles(0); got != c.want {
			t.Errorf("%+v: %t", c, got)
		}
	}
}

// TestHowFarAReadingMayErr: by 0.7 of what its meter is said to be good for, by 5 % of what is worked out beside it, and by
// two lux; three times as far where more than a quarter of the light is of colours. Of a reading of little light a quarter
// of what is worked out counts.
func TestHowFarAReadingMayErr(t *testing.T) {
	part := func(lux float64, colour bool) stage.Part {
		return stage.Part{Fixture: &schema.Fixture{}, Lux: lux, Colour: colour}
	}
	five := 5.0
	for _, c := range []struct {
		about    string
		lux      float64
		accuracy *float64
		parts    []stage.Part
		rest     float64
		want     float64
	}{
		{"of 100 lx", 100, nil, []stage.Part{part(60, false)}, 0, 100*math.Sqrt(0.07*0.07+0.05*0.05) + 2},
		{"with a better meter", 100, &five, []stage.Part{part(60, false)}, 0, 100*math.Sqrt(0.035*0.035+0.05*0.05) + 2},
		{"of much less than is worked out", 10, nil, []stage.Part{part(180, false), part(200, false)}, 20, 100*math.Sqrt(0.07*0.07+0.05*0.05) + 2},
		{"a quarter of colours", 100, nil, []stage.Part{part(45, false), part(15, true)}, 0, 100*math.Sqrt(0.07*0.07+0.05*0.05) + 2},
		{"more of colours", 100, nil, []stage.Part{part(44, false), part(8, true), part(8, true)}, 0, 3 * (100*math.Sqrt(0.07*0.07+0.05*0.05) + 2)},
	} {
		r := newRow(&schema.Reading{Place: "lectern", Channels: "1", Lx: &c.lux, AccuracyPct: c.accuracy}, 0, c.parts, c.rest)
		if math.Abs(r.sd-c.want) > 1e-9 || r.colour != (c.about == "more of colours") {
			t.Errorf("%s: %g lx, of colours %t; want %g", c.about, r.sd, r.colour, c.want)
		}
	}
}

// TestWhichReadingsAreTold: those that are more than three deviations away, as a warning from a stop on; under two lux
// nobody counts stops.
func TestWhichReadingsAreTold(t *testing.T) {
	for _, c := range []struct {
		shown, worked, sd float64
		want              finding.Level // "" for nothing
	}{
		{100, 130, 10, ""}, {100, 70, 10, ""}, {100, 130.1, 10, finding.Note}, {100, 69.9, 10, finding.Note},
		{100, 199, 1, finding.Note}, {100, 200, 1, finding.Warning}, {200, 100, 1, finding.Warning}, {200, 101, 1, finding.Note},
		{1, 3.9, 0.1, finding.Note}, {1, 4, 0.1, finding.Warning}, {3.9, 1, 0.1, finding.Note}, {4, 1, 0.1, finding.Warning},
	} {
		var r Result
		r.differ([]row{{reading: &schema.Reading{Place: "lectern", Lx: &c.shown}, where: "at lectern", rest: c.worked, sd: c.sd}}, nil)
		if got := len(r.Findings); got > 1 || got == 1 && r.Findings[0].Level != c.want || (got == 0) != (c.want == "") || got == 1 && r.Findings[0].Message != fmt.Sprintf("At lectern the meter showed %.3g lx, and %.3g lx are worked out.", c.shown, c.worked) {
			t.Errorf("%+v: %+v", c, r.Findings)
		}
	}
}

// TestHowFarReadingsAreOffOnAverage: 2 of 1 lx, which counts as 2, and 50 of 100.
func TestHowFarReadingsAreOffOnAverage(t *testing.T) {
	low, high := 1.0, 100.0
	rows := []row{{reading: &schema.Reading{Lx: &low}, rest: 3}, {reading: &schema.Reading{Lx: &high}, rest: 50}}
	if got := typicalResidual(rows, nil); got != 0.75 {
		t.Errorf("%g, not 0.75", got)
	}
}

// TestWhatIsBelievedBefore of three lamps, of a type that somebody has read and of two that are assumed.
func TestWhatIsBelievedBefore(t *testing.T) {
	show := &schema.Show{Types: []*schema.Type{
		{Name: "read"}, {Name: "assumed", Known: schema.Known{"flux_lm": {Word: "assumed"}}}, {Name: "inferred", Known: schema.Known{"flux_lm": {Word: "inferred"}}},
	}}
	var rows []row
	for _, kind := range []string{"read", "assumed", "inferred"} {
		rows = append(rows, row{parts: []stage.Part{{Fixture: &schema.Fixture{Type: kind}}}})
	}
	if got := fmt.Sprint(newModel(show, rows).prior); got != "[0.25 0.25 0.25 0.1 0.6 0.6]" {
		t.Errorf("the spreads are %s", got)
	}
}

// TestHowMuchIsWorkedOut: a thousand readings and three hundred lamps.
func TestHowMuchIsWorkedOut(t *testing.T) {
	for readings, want := range map[int]bool{1000: true, 1001: false} {
		show := &schema.Show{Room: &schema.Room{}}
		for range readings {
			show.Readings = append(show.Readings, &schema.Reading{Place: "lectern", Lx: new(4.0)})
		}
		if got := Run(show).Show != show; got != want {
			t.Errorf("%d readings are taken: %t", readings, got)
		}
	}
	for lamps, want := range map[int]bool{0: false, 1: true, 300: true, 301: false} {
		parts := make([]stage.Part, lamps)
		for i := range parts {
			parts[i].Fixture = &schema.Fixture{Type: "spot"}
		}
		if got := newModel(&schema.Show{}, []row{{parts: parts}}) != nil; got != want {
			t.Errorf("%d lamps are worked out: %t", lamps, got)
		}
	}
}

// TestWhereAMeterIsHeld: one that is held at the face of a place needs nothing to be measured on; one at another height, or
// lying flat, does, where the place is known.
func TestWhereAMeterIsHeld(t *testing.T) {
	x, y, head, low := 1.0, 2.0, 1.6, 0.5
	room := schema.Room{Places: []*schema.Place{{Name: "lectern", X: &x, Y: &y, HeadM: &head}, {Name: "somewhere"}}}
	for _, c := range []struct {
		reading          schema.Reading
		places, surfaces int
		height           float64
	}{
		{schema.Reading{Place: "lectern"}, 0, 0, 0}, {schema.Reading{Place: "nowhere", HeightM: &low}, 0, 0, 0},
		{schema.Reading{Place: "lectern", HeightM: &low}, 1, 0, 0.5}, {schema.Reading{Place: "lectern", Plane: "face", HeightM: &low}, 1, 0, 0.5},
		{schema.Reading{Place: "lectern", Plane: "up"}, 0, 1, 1.6}, {schema.Reading{Place: "lectern", Plane: "up", HeightM: &low}, 0, 1, 0.5},
		{schema.Reading{Place: "somewhere", Plane: "up"}, 0, 0, 0}, {schema.Reading{Place: "somewhere", Plane: "up", HeightM: &low}, 0, 0, 0},
	} {
		with, held := meters(&schema.Show{Room: &room, Readings: []*schema.Reading{&c.reading}})
		places, surfaces := with.Room.Places[2:], with.Room.Surfaces
		if len(places) != c.places || len(surfaces) != c.surfaces || len(held) != c.places+c.surfaces {
			t.Errorf("%+v: %d places and %d surfaces, held at %v", c.reading, len(places), len(surfaces), held)
			continue
		}
		if c.places > 0 && (*places[0].HeadM != c.height || places[0].Name != held[0]) || c.surfaces > 0 && (surfaces[0].Centre.Z != c.height || surfaces[0].Name != held[0]) {
			t.Errorf("%+v: it is held at %+v, %+v", c.reading, places, surfaces)
		}
	}
}

// TestReadingsBehindOneThatIsNotCompared are compared: one in a cue that there is not, one that lies flat and tells a white
// alone, one whose light nobody knows, and behind each of them a good one.
func TestReadingsBehindOneThatIsNotCompared(t *testing.T) {
	for about, first := range map[string]string{
		"no cue": `{"place": "lectern", "cue": 99, "lx": 5}`, "a white that lies flat": `{"place": "lectern", "cue": 1, "white_k": 3000, "plane": "up"}`,
		"flat at no known place": `{"place": "nowhere", "cue": 1, "lx": 5, "plane": "up"}`, "at no known place": `{"place": "nowhere", "cue": 1, "lx": 5}`,
	} {
		rows, whites, left := compare(hall(t, first+`, {"place": "lectern", "cue": 1, "lx": 100}, {"place": "keys", "cue": 1, "lx": 100, "plane": "up"}, {"place": "keys", "cue": 1, "white_k": 5000}`))
		if len(rows) != 2 || len(whites) != 1 || left != 1 {
			t.Errorf("%s: %d readings and %d whites behind it are compared, and %d are not", about, len(rows), len(whites), left)
		}
	}
}
