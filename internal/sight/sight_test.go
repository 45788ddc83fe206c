package sight

import (
	"math"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/colour"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

func demo(t *testing.T, name string) (*facts.Measured, *schema.Show) {
	t.Helper()
	loaded, err := loaders.Load("../../testdata/shows/"+name, loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)), loaded.Show
}

// TestASceneSaysWhatFactsSay: what is measured again for a picture is what the rules see.
func TestASceneSaysWhatFactsSay(t *testing.T) {
	m, show := demo(t, "flawed")
	s := Of(m, show, Options{Cue: "12"})
	if len(s.Stages) != 1 || len(s.Faces) == 0 {
		t.Fatalf("%d stages and %d faces in cue 12", len(s.Stages), len(s.Faces))
	}
	byPlace := map[string]*facts.Person{}
	for _, p := range m.People {
		if p.Number == "12" {
			byPlace[p.Place] = p
		}
	}
	for _, f := range s.Faces {
		p := byPlace[f.Place]
		if p == nil || p.FaceLux == nil || f.Lux != *p.FaceLux || f.Kelvin == nil || *f.Kelvin != *p.FaceCCT {
			t.Errorf("%s: the picture has %g lux", f.Place, f.Lux)
			continue
		}
		sum := f.Ambient
		for _, r := range f.Rays {
			sum += r.Lux
			if y := 0.2126*r.Light[0] + 0.7152*r.Light[1] + 0.0722*r.Light[2]; math.Abs(y-1) > 1e-9 {
				t.Errorf("%s: the light of channel %d has a luminance of %g, not 1", f.Place, r.Channel, y)
			}
		}
		if traces := float64(leastRay * 8); sum > f.Lux*(1+1e-9) || sum < f.Lux-traces {
			t.Errorf("%s: its lamps add up to %g of %g lux", f.Place, sum, f.Lux)
		}
	}
	// The grid is upright and turned to the house, as the face on "lead singer" is.
	st := s.Stages[0]
	for _, p := range st.People {
		if p.Place != "lead singer" {
			continue
		}
		i, j := (p.At.X-st.Above.X0)/st.Above.DX, (p.At.Y-st.Above.Y0)/st.Above.DY
		at := func(i, j int) float64 { return st.Above.Lux[j*st.Above.NX+i] }
		x, y := int(i), int(j)
		u, v := i-float64(x), j-float64(y)
		lux := (at(x, y)*(1-u)+at(x+1, y)*u)*(1-v) + (at(x, y+1)*(1-u)+at(x+1, y+1)*u)*v
		if math.Abs(lux-*p.Lux) > 0.05*(*p.Lux) { // between points a third of a metre apart
			t.Errorf("the lines of light have %g lux where the face has %g", lux, *p.Lux)
		}
	}
}

// TestNothingKnownIsNothingDrawn: a show with nothing in it has a scene with nothing in it.
func TestNothingKnownIsNothingDrawn(t *testing.T) {
	show := &schema.Show{}
	s := Of(facts.Measure(show, tracking.Resolve(show)), show, Options{})
	if s.Room != nil || len(s.NoRoom) == 0 || s.EndS != nil || len(s.NoClock) == 0 || len(s.Stages)+len(s.Faces)+len(s.Cues)+len(s.Walk) > 0 {
		t.Errorf("an empty show is drawn: %+v", s)
	}
}

// TestThrough: a white is white through a camera that is set to it, and warmer light has
// more red than blue.
func TestThrough(t *testing.T) {
	for _, c := range []struct {
		light, camera float64
		warmer        int
	}{{5600, 5600, 0}, {4300, 4300, 0}, {3200, 5600, +1}, {9300, 5600, -1}} {
		rgb := whiteLight(c.light, c.camera)
		if apart := rgb[0] - rgb[2]; c.warmer == 0 && math.Abs(apart) > 1e-9 || float64(c.warmer)*apart < 0 {
			t.Errorf("%g K through %g K is %v", c.light, c.camera, rgb)
		}
	}
}

// TestSharesOfHues: from a hundredth of the light in colour on a hue is drawn, and where there is no light none is.
func TestSharesOfHues(t *testing.T) {
	for _, c := range []struct{ flux, want []float64 }{
		{nil, nil}, {[]float64{0, 0}, nil}, {[]float64{0.25}, []float64{1}}, {[]float64{30, 10}, []float64{0.75, 0.25}}, {[]float64{1, 99}, []float64{0.01, 0.99}}, {[]float64{1, 100}, []float64{100.0 / 101}},
	} {
		var tints []colour.Tint
		for i, flux := range c.flux {
			tints = append(tints, colour.Tint{Hue: 120 * float64(i), Flux: flux})
		}
		var got []float64
		for _, hue := range shares(tints) {
			if got = append(got, hue.Share); hue.Name == "" || hue.Light == (scene.RGB{}) {
				t.Errorf("%v has a hue without name or light: %+v", c.flux, hue)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v are the shares %v, want %v", c.flux, got, c.want)
		}
	}
}

// TestAlikeFacesStandOnce: what nobody would tell apart is one picture.
func TestAlikeFacesStandOnce(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	face := func(lux, kelvin, stops float64) *scene.Face {
		return &scene.Face{Place: "a", Lux: lux, Kelvin: n(kelvin), Stops: n(stops)}
	}
	base := face(500, 5600, -1)
	for _, c := range []struct {
		other *scene.Face
		want  bool
	}{{face(510, 5620, -1.2), true}, {face(560, 5600, -1), false}, {face(500, 5200, -1), false}, {face(500, 5600, -1.5), false}, {&scene.Face{Place: "b", Lux: 500, Kelvin: n(5600), Stops: n(-1)}, false}} {
		if got := alike(base, c.other); got != c.want {
			t.Errorf("%+v: alike %v, not %v", c.other, got, c.want)
		}
	}
}

// TestTheSameNumberAgain: a change is told by the number of the same thing in the same cue.
func TestTheSameNumberAgain(t *testing.T) {
	m, _ := demo(t, "flawed")
	for _, p := range m.People {
		f := &finding.Finding{Cues: []string{p.Number}, Amount: &finding.Amount{Fact: "person.face_lx"}}
		for _, name := range p.Names() {
			f.Subjects = append(f.Subjects, finding.Subject{Kind: name.Kind, Name: name.Name})
		}
		fact, _ := facts.ValueOf(p, "face_lx")
		want, known := fact.Value.(float64)
		if got := again(m, f); (got != nil) != known || known && *got != want {
			t.Errorf("%s in cue %s: %v, want %v", p.Place, p.Number, got, fact.Value)
		}
	}
	fixture := func(channel string) *finding.Finding { // of no cue
		return &finding.Finding{Subjects: []finding.Subject{{Kind: "channel", Name: channel}}, Amount: &finding.Amount{Fact: "fixture.channel"}}
	}
	if got := again(m, fixture("2")); got == nil || *got != 2 {
		t.Errorf("channel 2 is %v", got)
	}
	if got := again(m, fixture("9999")); got != nil {
		t.Errorf("a channel that nobody has is %v", *got)
	}
	if got := again(m, &finding.Finding{Amount: &finding.Amount{Fact: "cues"}}); got != nil {
		t.Errorf("a number of nothing is %v", *got)
	}
}

// TestOnePlaceIsDrawn: who asks for one place gets it alone, wherever it bites.
func TestOnePlaceIsDrawn(t *testing.T) {
	m, show := demo(t, "flawed")
	var found []finding.Finding
	for _, p := range m.People {
		found = append(found, finding.Finding{Rule: "people/no-key", Verdict: finding.Fail, Cues: []string{p.Number}, Subjects: []finding.Subject{{Kind: "place", Name: p.Place}}})
	}
	s := Of(m, show, Options{Found: found, Place: "lead singer"})
	if len(s.Faces) == 0 {
		t.Error("nobody is drawn")
	}
	for _, f := range s.Faces {
		if f.Place != "lead singer" {
			t.Errorf("%s is drawn", f.Place)
		}
	}
}

// TestWhatIsDrawnOfALook: lamps are lit as the cue has them, the exposure is that of the
// camera, and light is counted in stops under the brightest moment.
func TestWhatIsDrawnOfALook(t *testing.T) {
	m, show := demo(t, "flawed")
	s := Of(m, show, Options{Cue: "12"})
	lit := map[int]bool{}
	for l, light := range m.Lit() {
		if l.Number == "12" {
			for _, lamp := range slices.Concat(light.Lamps, light.Others) {
				lit[lamp.Channel] = true
			}
		}
	}
	if len(lit) == 0 || len(s.Stages) != 1 {
		t.Fatalf("%d lamps are lit in cue 12", len(lit))
	}
	for _, lamp := range s.Stages[0].Lamps {
		if lamp.Lit != lit[lamp.Channel] {
			t.Errorf("channel %d is lit: %v", lamp.Channel, lamp.Lit)
		}
	}
	// Its light is laid out from two and a half metres before and beside those who are there.
	left, front := math.Inf(1), math.Inf(1)
	for _, p := range s.Stages[0].People {
		left, front = min(left, p.At.X), min(front, p.At.Y)
	}
	if above, upright := s.Stages[0].Above, s.Stages[0].Front; above.X0 != left-2.5 || above.Y0 != front-2.5 || upright.X0 != left-2.5 || upright.Y0 != 0 || left == front {
		t.Errorf("of people from %g, %g on light is laid out from %g, %g on, and upright from %g, %g on", left, front, above.X0, above.Y0, upright.X0, upright.Y0)
	}
	for _, f := range s.Faces {
		for _, c := range show.Room.Cameras {
			if want, lack := stage.WantedLux(c); c.Name == f.Camera && lack == "" && stage.SetsExposure(c) && (f.Wanted == nil || *f.Wanted != want) {
				t.Errorf("%s asks for %g lx, the picture for %v", c.Name, want, f.Wanted)
			}
		}
	}
	for _, u := range s.Universes {
		for _, b := range u.Blocks {
			if b.Last < b.First {
				t.Errorf("in universe %d channel %d has the slots from %d to %d", u.Number, b.Channel, b.First, b.Last)
			}
		}
	}
	brightest := math.Inf(-1)
	for _, c := range s.Cues {
		if c.Stops != nil {
			brightest = max(brightest, *c.Stops)
		}
		if c.Stops != nil && c.Dark || c.Stops != nil && math.IsInf(*c.Stops, 0) {
			t.Errorf("cue %s is dark, and has %v stops", c.Number, c.Stops)
		}
	}
	if brightest != 0 {
		t.Errorf("the brightest cue is %g stops under itself", brightest)
	}
}

// TestWhatAChangeIsToldBy: the gravest of what it clears that has a number, or else the gravest, and the one limit in its unit.
func TestWhatAChangeIsToldBy(t *testing.T) {
	lux := &finding.Amount{Fact: "person.face_lx", Unit: "lx"}
	of := func(rule string, consequence finding.Consequence, amount *finding.Amount) finding.Finding {
		return finding.Finding{Rule: rule, Verdict: finding.Fail, Consequence: consequence, Level: finding.Error, Amount: amount}
	}
	for _, c := range []struct {
		list []finding.Finding
		want string
	}{
		{nil, ""}, {[]finding.Finding{of("a/one", finding.Room, nil), of("a/two", finding.Hurt, nil)}, "a/two"},
		{[]finding.Finding{of("a/one", finding.Room, lux), of("a/two", finding.Hurt, nil)}, "a/one"}, {[]finding.Finding{of("a/one", finding.Room, lux), of("a/two", finding.Camera, lux)}, "a/two"},
	} {
		got := ""
		if f := telling(c.list); f != nil {
			got = f.Rule
		}
		if got != c.want {
			t.Errorf("it is told by %q, want %q", got, c.want)
		}
	}
	limit := func(unit string, num *float64) finding.Evidence { return finding.Evidence{Unit: unit, Num: num} }
	for _, c := range []struct {
		limits []finding.Evidence
		want   float64 // 0: none
	}{{nil, 0}, {[]finding.Evidence{limit("lx", new(50.0))}, 50}, {[]finding.Evidence{limit("%", new(20.0)), limit("lx", new(50.0)), limit("lx", nil)}, 50}, {[]finding.Evidence{limit("lx", new(40.0)), limit("lx", new(50.0))}, 0}, {[]finding.Evidence{limit("%", new(50.0))}, 0}} {
		f := of("a/one", finding.Room, lux)
		f.Limits = c.limits
		if got := limitOf(&f); (got != nil) != (c.want != 0) || got != nil && *got != c.want {
			t.Errorf("of %v the limit is %v, want %v", f.Limits, got, c.want)
		}
	}
}

// TestBeforeAndBehindAChange: the number of its finding and the face that it is about, as they were and as they are; at most so many
// changes are measured.
func TestBeforeAndBehindAChange(t *testing.T) {
	before, show := demo(t, "flawed")
	after, _ := demo(t, "mended")
	var p *facts.Person
	for _, one := range before.People {
		for _, other := range after.People {
			if one.FaceLux != nil && other.FaceLux != nil && one.Number == other.Number && one.Place == other.Place && *one.FaceLux != *other.FaceLux {
				p = one
			}
		}
	}
	if p == nil {
		t.Fatal("no face is otherwise in the mended show")
	}
	f := finding.Finding{Rule: "people/key-low", Verdict: finding.Fail, Cues: []string{p.Number}, Amount: &finding.Amount{Fact: "person.face_lx", Value: *p.FaceLux, Unit: "lx", Worse: finding.Less}}
	for _, name := range p.Names() {
		f.Subjects = append(f.Subjects, finding.Subject{Kind: name.Kind, Name: name.Name})
	}
	step := Step{Cleared: []finding.Finding{f}, Before: func() *facts.Measured { return before }, After: func() *facts.Measured { return after }}
	nothing := Step{Before: step.Before, After: step.After}
	s := Of(before, show, Options{Steps: []Step{nothing, step}, Tell: func(string, int, int) {}})
	if len(s.Afters) != 1 {
		t.Fatalf("%d changes are drawn", len(s.Afters))
	}
	a := s.Afters[0]
	if a.Order != 1 || a.What != "person.face_lx" || a.Unit != "lx" || !a.LimitLow || *a.Was != *p.FaceLux || a.Is == nil || *a.Is == *a.Was {
		t.Errorf("%+v", a)
	}
	if a.FaceWas == nil || a.FaceIs == nil || math.Abs(a.FaceWas.Lux-*a.Was) > 1e-3 || math.Abs(a.FaceIs.Lux-*a.Is) > 1e-3 || a.FaceWas.Place != p.Place {
		t.Errorf("its faces are %+v and %+v", a.FaceWas, a.FaceIs)
	}
	for about, c := range map[string]struct {
		change func(f *finding.Finding)
		want   int
	}{
		"no number":                {func(f *finding.Finding) { f.Amount = nil }, 1},
		"no number and no place":   {func(f *finding.Finding) { f.Amount, f.Subjects = nil, nil }, 0},
		"a number that is no more": {func(f *finding.Finding) { f.Amount, f.Subjects = &finding.Amount{Fact: "person.none"}, nil }, 0},
		"a face that is no more": {func(f *finding.Finding) {
			f.Amount = nil
			f.Subjects = []finding.Subject{{Kind: "place", Name: "nowhere"}}
		}, 0},
	} {
		other := step
		other.Cleared = []finding.Finding{f}
		c.change(&other.Cleared[0])
		s := Of(before, show, Options{Steps: []Step{other}, Tell: func(string, int, int) {}})
		if len(s.Afters) != c.want || c.want > 0 && (s.Afters[0].FaceWas == nil || s.Afters[0].Was != nil) {
			t.Errorf("%s: %d changes are drawn, want %d", about, len(s.Afters), c.want)
		}
	}
	// A number of what is nobody's face is drawn by itself: here that of a lamp which is the same in both.
	lamp := step
	lamp.Cleared = []finding.Finding{{Rule: "a/b", Verdict: finding.Fail, Amount: &finding.Amount{Fact: "fixture.channel", Value: 2}, Subjects: []finding.Subject{{Kind: "channel", Name: "2"}}}}
	if s := Of(before, show, Options{Steps: []Step{lamp}, Tell: func(string, int, int) {}}); len(s.Afters) != 1 || s.Afters[0].Is == nil || *s.Afters[0].Is != 2 || s.Afters[0].FaceWas != nil {
		t.Errorf("a number without a face is drawn as %+v", s.Afters)
	}
	many := make([]Step, usualSteps+2)
	for i := range many {
		many[i] = step
		many[i].Cleared = []finding.Finding{{Rule: "a/b", Verdict: finding.Fail, Amount: f.Amount, Cues: f.Cues, Subjects: f.Subjects[:0]}}
		if i >= usualSteps {
			many[i].Before = func() *facts.Measured { t.Error("a change beyond the usual number is measured"); return before }
		}
	}
	Of(before, show, Options{Steps: many, Tell: func(string, int, int) {}})
}
