package draw

import (
	"fmt"
	"math"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// hardEvening is an evening by hand of all that is hard to draw: many looks, names that are too long, dark looks, times and haze
// that end in the midst of it, rates and colours that go on over cues, more marks than there is room for, more screens than have
// a name, faces that are lost, and addresses that go to another universe.
func hardEvening() *outcome.Show {
	amber, green, violet := scene.RGB{1, 0.5, 0.05}, scene.RGB{0.1, 1, 0.2}, scene.RGB{0.5, 0.1, 1}
	s := &scene.Scene{
		Segments: []scene.Segment{{Name: "Opening", Kind: "opening", LengthS: p(120.0), Known: true}, {Name: "A song whose name goes on and on over many a line", Kind: "song", StartS: 120, LengthS: p(360.0), Known: true},
			{Name: "Incomprehensibilities", Kind: "film", StartS: 480, LengthS: p(60.0), Known: true}, {Name: "Nobody says", StartS: 540}, {Name: "Closing", Kind: "closing", StartS: 900, LengthS: p(100.0), Known: true}},
		EndS:    p(1000.0),
		NoHaze:  []string{"the output of the machine"},
		Limits:  scene.Limits{NearPeakStops: p(0.26), NearPeakPct: p(60.4), ClearHaze: p(0.26), ScreenStops: p(1.0), FaceUnder: p(0.26), Flashes: p(4.0)},
		Screens: []string{"a wall", "side left of the stage", "side right of the stage", "the prompter", "the foyer"},
		Room: &scene.Room{
			Surfaces: []scene.Surface{{Name: "brick", Kind: "wall", Corners: [4]scene.Point{{X: -3, Y: 5.5}, {X: 3, Y: 5.5}, {X: 3, Y: 5.5, Z: 5}, {X: -3, Y: 5.5, Z: 5}}}, {Name: "side", Kind: "emissive", Corners: [4]scene.Point{{X: -20, Y: 5, Z: 2}, {X: -18, Y: 5, Z: 2}, {X: -18, Y: 5, Z: 4}, {X: -20, Y: 5, Z: 4}}},
				{Name: "a wall", Kind: "emissive", Corners: [4]scene.Point{{X: -3, Y: 5, Z: 2}, {X: 3, Y: 5, Z: 2}, {X: 3, Y: 5, Z: 4}, {X: -3, Y: 5, Z: 4}}}},
			Cameras: []scene.Camera{{Name: "a", At: scene.Point{X: -1, Y: -9, Z: 1}, Aim: &scene.Point{Y: 1, Z: 1.6}, Main: true}, {Name: "b", At: scene.Point{X: -0.5, Y: -11, Z: 1}, Aim: &scene.Point{Y: 1, Z: 1.6}, ViewDeg: p(170.0), WhiteK: p(4300.0)},
				{Name: "c", At: scene.Point{X: 40, Y: -11, Z: 1}, Aim: &scene.Point{X: 2, Y: 1, Z: 1.6}, ViewDeg: p(30.0)}, {Name: "on stage", At: scene.Point{X: 1, Y: 2, Z: 1}}},
		},
	}
	for i := range 36 {
		at := 25 * float64(i)
		c := scene.Cue{Number: fmt.Sprint(i + 1), Name: fmt.Sprintf("look %d", i+1), StartS: p(at), Stops: p(-float64(i%9) * 0.55), HuesKnown: i%7 != 6, People: i % 4, FadeS: float64(i % 3 * 20), Flashes: p(0.0)}
		for k, segment := range s.Segments {
			if at >= segment.StartS {
				c.Segment = k
			}
		}
		switch {
		case i == 5:
			c.Stops, c.Dark = nil, true
		case i == 11, i == 12:
			c.StartS, c.Flashes = nil, nil
		case i == 13 || i == 14:
			c.Flashes = p(6.0)
		case i == 15:
			c.Flashes, c.Assumed, c.Number = p(7.0), true, "1000000.5"
		case i == 16:
			c.Flashes, c.Segment = p(0.5), -1
		}
		switch i % 5 {
		case 0, 1:
			c.Hues = []scene.Hue{{Share: 0.55, Name: "amber", Light: amber}, {Share: 0.36, Name: "a green of a very long name", Light: green}, {Share: 0.09, Name: "violet", Light: violet}}
		case 2:
			c.Hues = []scene.Hue{{Share: 0.9, Name: "violet", Light: violet}, {Share: 0.1, Name: "amber", Light: amber}}
		}
		if c.People > 1 {
			c.FaceLow, c.FaceHigh, c.FaceAssumed = p(-0.2*float64(i%6)), p(0.1*float64(i%11)), i%8 == 7
			c.Showings = []scene.Showing{{Screen: i % 5, OverFace: p(0.4 * float64(i/6))}, {Screen: (i + 1) % 5, OverFace: p(-9.0)}, {Screen: (i + 2) % 5, OverFace: p(5.0), FacesDark: true}}
		}
		if i == 22 {
			c.Showings[0].OverFace = p(-100.0)
		}
		s.Cues = append(s.Cues, c)
	}
	for i := range 12 {
		s.Haze = append(s.Haze, scene.Air{AtS: 60 * float64(i), MgM3: math.Abs(3 - float64(i)/2)})
	}
	above, front := scene.Grid{X0: -5, Y0: -3, DX: 1, DY: 1, NX: 11, NY: 10}, scene.Grid{X0: -5, DX: 1, DY: 1, NX: 11, NY: 6}
	for j := range above.NY {
		for i := range above.NX {
			above.Lux = append(above.Lux, 60*float64(i+1))
			if j < front.NY {
				front.Lux = append(front.Lux, 700/(1+math.Hypot(float64(i-5), float64(j-2))))
			}
		}
	}
	s.Stages = []scene.Stage{{
		Cue: 3, FaceZ: 1.6, FrontY: 1, HasPeople: true, Wanted: p(250.0), Above: above, Front: front, Assumed: true,
		Lamps: []scene.Lamp{
			{Channel: 1, Purpose: "key", At: scene.Point{X: -4, Y: -4, Z: 5}, Lit: true, Light: scene.RGB{1, 0.9, 0.8}, End: &scene.Point{X: -1.5, Y: 1, Z: 1.6}, Cut: true}, {Channel: 2, Purpose: "house", At: scene.Point{X: 1, Y: -4, Z: 6}, Lit: true, Light: amber, End: &scene.Point{X: 1, Y: -4}, Cut: true},
			{Channel: 3, Purpose: "back", At: scene.Point{X: 0.1, Y: 5.5, Z: 5}, Lit: true, Light: violet, End: &scene.Point{X: 60, Y: 1, Z: 1.6}}, {Channel: 4, Purpose: "top", At: scene.Point{X: 0, Y: 1, Z: 5}, Lit: true, Light: green, End: &scene.Point{X: 0, Y: 1, Z: 1.6}, Unknown: true},
		},
		People: []scene.Person{
			{Place: "left", At: scene.Point{X: -1.5, Y: 1, Z: 1.6}, FacingDeg: p(10.0), Here: true, Known: true, Lux: p(240.0), Kelvin: p(3190.0), BackLux: p(80.0), Ratio: p(0.33)}, {Place: "beside the left", At: scene.Point{X: -1.45, Y: 1.6, Z: 1.6}, Here: true, Lux: p(230.0), Ratio: p(0.02)},
			{Place: "a place with a name that is far too long", At: scene.Point{X: 1.5, Y: 1, Z: 1.2}, FacingDeg: p(-90.0), Here: true, Lux: p(90.0), Kelvin: p(5600.0), BackLux: p(4.0), Ratio: p(0.05), DarkBack: true}, {Place: "right", At: scene.Point{X: 1.55, Y: 1.1, Z: 1.5}, FacingDeg: p(0.0)},
		},
		Screens: []scene.ScreenLight{{Name: "a wall", DrivePct: p(40.0), Light: scene.RGB{0.9, 1, 1.2}}},
	}}
	lost := scene.Face{
		Place: "left", Cue: 3, Cues: []int{3, 4}, Camera: "a", Lux: 60, Wanted: p(900.0), YawDeg: -70, BackLux: 3, Backdrop: "brick", Stops: p(-4.0), Behind: scene.RGB{1, 0.9, 0.8}, Skin: "dark",
		Rays: []scene.Ray{{Channel: 1, Lux: 40, AzimuthDeg: -75, Elevation: 60, Light: scene.RGB{2.2, 0.7, 0.1}}, {Channel: 3, Lux: 20, AzimuthDeg: 60, Elevation: -10, Light: scene.RGB{0.3, 0.9, 3}}},
		Rims: []scene.Ray{{Channel: 9, Lux: 2, AzimuthDeg: 165, Elevation: 40, Light: scene.RGB{1, 1, 1}}},
	}
	auto := lost
	auto.Wanted, auto.Skin, auto.Stops, auto.YawDeg, auto.Ambient = nil, "medium", nil, 20, 15
	auto.Rays = auto.Rays[:1]
	auto.Rims = []scene.Ray{{Channel: 9, Lux: 200, AzimuthDeg: 120, Elevation: 40, Light: scene.RGB{1.6, 0.9, 0.3}}}
	s.Faces = []scene.Face{lost, auto}
	s.Universes = []scene.Universe{{Number: 1, Clash: true, Blocks: []scene.Block{{Channel: 101, First: 1, Last: 1}, {Channel: 102, First: 2, Last: 40, Clash: true}, {Channel: 103, First: 30, Last: 68, Clash: true}, {Channel: 104, First: 500, Last: 515, Clash: true}, {Channel: 105, First: 120, Last: 123}}}, {Number: 2, Blocks: []scene.Block{{Channel: 7, First: 20, Last: 24}, {Channel: 8, First: 90, Last: 99}}}}
	s.Afters = []scene.After{{Order: 2, What: "share", Unit: "%", Was: p(82.0), Is: p(64.5), Limit: p(60.0), LimitLow: true}, {Order: 3, FaceWas: &lost, FaceIs: &auto}}
	show := &outcome.Show{Scene: s, Orders: []outcome.Order{
		{Do: "Set channel 103 to 1.69.", Consequence: finding.Dark, Edits: []outcome.Edit{{What: "channels", Names: []string{"103"}, Key: "address", From: "1.30", To: "1.69"}}},
		{Do: "Set channel 104 to 2.25.", Consequence: finding.Dark, Edits: []outcome.Edit{{What: "channels", Names: []string{"104"}, Key: "address", From: "1.500", To: "2.25"}}},
		{Do: "Bring the washes down.", Consequence: finding.Room, Edits: []outcome.Edit{{What: "cue", Key: "level", From: 90.0, To: 70.0, Unit: "%"}}},
		{Do: "Turn the lamp.", Consequence: finding.Camera, Edits: []outcome.Edit{{What: "channels", Key: "aimed_at", From: "nowhere", To: "left"}}},
		{Do: "Open the iris.", Consequence: finding.Camera, Edits: []outcome.Edit{{What: "camera", Key: "aperture_f", From: 5.6, To: 4.0}}},
		{Do: "Say it.", Consequence: finding.Later, Edits: []outcome.Edit{{What: "cue", Key: "note", From: "", To: ""}}},
		{Do: "Let it fade.", Consequence: finding.Later, Edits: []outcome.Edit{{What: "cue", Key: "out_s", From: 0.5, To: 12.25, Unit: "s"}}},
		{Do: "Take it out.", Consequence: finding.Later, Edits: []outcome.Edit{{What: "cue", Key: "note", To: 3.0}}},
	}}
	for n := range 26 {
		f := finding.Finding{Rule: fmt.Sprintf("a/%d", n), Verdict: finding.Fail, Level: finding.Warning, Consequence: []finding.Consequence{finding.Hurt, finding.Dark, finding.Camera, finding.Room, finding.Later}[n%5], Message: fmt.Sprintf("what is %d", n)}
		for i := n; i < n+3; i++ {
			f.Cues = append(f.Cues, fmt.Sprint(i+1))
		}
		f.Cues = append(f.Cues, "30", "none")
		show.Findings = append(show.Findings, f)
		if n < 3 {
			show.Orders[n].Cures = []string{f.Key()}
		} else {
			show.NeedPerson = append(show.NeedPerson, &f)
		}
	}
	show.Tasks = []outcome.Order{{Cures: []string{show.NeedPerson[0].Key()}}}
	Move(show)
	return show
}

// drawnHard are the pictures of that evening.
func drawnHard() map[string]*picture.Pic {
	show := hardEvening()
	s := show.Scene
	untimed := *s
	untimed.EndS, untimed.NoClock, untimed.Haze, untimed.Screens = nil, []string{"a", "b", "c"}, nil, nil
	hazeless := *s
	hazeless.Haze, hazeless.Limits = nil, scene.Limits{}
	list := map[string]*picture.Pic{
		"hard-evening": Evening(s, Bites(show), Middle), "hard-evening-narrow": Evening(s, Bites(show), Narrow), "hard-evening-untimed": Evening(&untimed, nil, Middle), "hard-evening-hazeless": Evening(&hazeless, nil, Wide),
		"hard-stage": Stage(s, &s.Stages[0], Middle, ""), "hard-strip": Strip(s, Middle), "hard-strip-wide": Strip(s, Wide), "hard-strip-empty": Strip(&scene.Scene{}, Wide),
		"hard-face": Face(&s.Faces[0], "4", "face", "", false), "hard-face-small": Face(&s.Faces[1], "4", "face", "kept", true),
		"hard-addresses": Addresses(&s.Universes[0], Wide), "hard-addresses-clean": Addresses(&s.Universes[1], Narrow),
	}
	for n := range show.Orders {
		if pic := Order(show, n, "order", "k"); pic != nil {
			list[fmt.Sprintf("hard-order-%d", n+1)] = pic
		}
	}
	return list
}
