package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// TestExposure sets cameras as in the worked numbers of ISO 2720 and lights the
// face by the ambient light alone: as wanted, a stop less, a stop more.
func TestExposure(t *testing.T) {
	used := 0
	for _, row := range reference(t, "exposure_vectors.csv") {
		if row["kind"] != "camera_setting" {
			continue
		}
		used++
		var top, bottom float64
		if _, err := fmt.Sscanf(row["shutter_s"], "%g/%g", &top, &bottom); err != nil {
			t.Fatal(err)
		}
		wanted := parsed(t, row["illuminance_lx"])
		r := room{
			cameras: fmt.Sprintf(`{"name": "front", "x": 0, "y": -10, "z": 1.6, "aperture_f": %s, "shutter_s": %v, "sensitivity_iso": %s}`, row["f_number"], top/bottom, row["iso"]),
			patch:   fixture(1, "key", 0, -2, 5.6, ""), cues: `{"cue": 1, "set": [{"channels": "1", "level": 0}]}`,
		}
		for _, stops := range []float64{-1, 0, 0.5} {
			r.more = fmt.Sprintf(`, "ambient_lx": %v`, wanted*math.Exp2(stops))
			p := r.measure(t).People[0]
			if !isNear(p.WantedLux, wanted, 1e-9*wanted) || !isNear(p.Over, stops, 1e-9) || !isNear(p.Under, -stops, 1e-9) {
				t.Errorf("%s at %v stops: wanted %s lx, over %s, under %s", row["id"], stops, factText(p.WantedLux), factText(p.Over), factText(p.Under))
			}
		}
	}
	if used < 5 {
		t.Errorf("only %d published settings were used", used)
	}
	t.Run("darkness", func(t *testing.T) {
		p := room{patch: fixture(1, "key", 0, -2, 5.6, ""), cues: `{"cue": 1, "set": [{"channels": "1", "level": 0}]}`}.measure(t).People[0]
		if p.Under != nil || p.Over != nil || !isNear(p.FaceLux, 0, 0) || p.FaceCCT != nil || p.StageLit {
			t.Errorf("%s under, %s lx, %s K", factText(p.Under), factText(p.FaceLux), factText(p.FaceCCT))
		}
		if why := p.Why("under_stops"); len(why) != 1 || why[0] != "light on the face on lectern" {
			t.Errorf("it lacks %q", why)
		}
	})
}

// TestKeysToTurn: a key a stop under is raised to where the camera wants it.
func TestKeysToTurn(t *testing.T) {
	// The spot gives 20,000 cos 45/32 = 442 lx at full; at half level that is 221.
	r := room{patch: fixture(1, "key", 0, -2, 5.6, "")}
	full := 20000 / math.Sqrt2 / 32
	camera := func(wanted float64) string {
		return fmt.Sprintf(`{"name": "front", "x": 0, "y": -10, "z": 1.6, "aperture_f": 4, "shutter_s": %v, "sensitivity_iso": 400}`, 10/wanted)
	}
	for _, test := range []struct {
		wanted, level float64
	}{{full * 0.8, 80}, {full, 100}, {full * 0.25, 25}, {full * 1.5, 100}} {
		r.cameras = camera(test.wanted)
		p := r.measure(t).People[0]
		// The level is rounded up to a whole percent, so rounding may add one.
		turns := p.KeysToTurn(0)
		if len(turns) != 1 || math.Abs(turns[0].Wanted-test.level) > 1 {
			t.Fatalf("for %v lx: %v, want %v", test.wanted, turns, test.level)
		}
		// A stop more than that takes twice the light, as far as there is any.
		if more := p.KeysToTurn(1); math.Abs(more[0].Wanted-min(100, 2*test.level)) > 2 {
			t.Errorf("for a stop over %v lx: %v, want %v", test.wanted, more[0].Wanted, min(100, 2*test.level))
		}
	}
}

// wall is a screen 4 m behind the lectern.
func wall(more string) string {
	return `{"name": "wall", "centre": {"x": 0, "y": 6, "z": 2}, "width_m": 4, "height_m": 2.25, ` + more + `}`
}

func TestScreens(t *testing.T) {
	dark := `{"cue": 1, "set": [{"channels": "1", "level": 0}]}`
	key := fixture(1, "key", 0, -2, 5.6, "")
	t.Run("over the face", func(t *testing.T) {
		// White of 20 % of 500 cd/m2; a face of 36 % under 300 lx has 0.36 x 300/pi.
		s := room{patch: key, cues: dark, more: `, "ambient_lx": 300`, surfaces: wall(`"kind": "emissive", "peak_cd_m2": 500, "drive_pct": 20, "reflectance": 0.05`)}.measure(t).Showings[0]
		want := math.Log2(100 / (0.36 * 300 / math.Pi))
		if !isNear(s.White, 100, 1e-9) || !isNear(s.OverFace, want, 1e-9) || s.Face != "lectern" {
			t.Errorf("white %s, %s stops over %q, want %v", factText(s.White), factText(s.OverFace), s.Face, want)
		}
		// The way back is the last whole percent at which it is no more than was asked.
		for _, stops := range []float64{1.5, 0.5, -1} {
			drive := *s.DriveForFace(stops)
			if over := want + math.Log2(drive/20); over > stops || want+math.Log2((drive+1)/20) <= stops {
				t.Errorf("%v %% is %v stops over the face, wanted at most %v", drive, over, stops)
			}
		}
	})
	t.Run("a dim one", func(t *testing.T) { // 0.1 % of 500 cd/m2, and a black picture on it
		of := func(content string) *Showing {
			return room{patch: key, cues: dark, more: `, "ambient_lx": 300`, surfaces: wall(`"kind": "emissive", "peak_cd_m2": 500, "drive_pct": 0.1, "reflectance": 0.05` + content)}.measure(t).Showings[0]
		}
		if s := of(""); !isNear(s.OverFace, math.Log2(0.5/(0.36*300/math.Pi)), 1e-9) {
			t.Errorf("it is %s stops over the face", factText(s.OverFace))
		}
		if s := of(`, "content_pct": 0`); !isNear(s.OverFace, -16, 0) || !isNear(s.OverDarkest, -16, 0) {
			t.Errorf("a black picture is %s stops over the face, and %s over the darkest", factText(s.OverFace), factText(s.OverDarkest))
		}
	})
	t.Run("as good as dark", func(t *testing.T) { // no number is large enough for what the light does to such a picture
		s := room{patch: key, cues: dark, more: `, "ambient_lx": 300`, surfaces: wall(`"kind": "projection", "projector_lm": 3000, "drive_pct": 5e-324`)}.measure(t).Showings[0]
		if s.SpillPct != nil || s.HallPct != nil || len(s.Why("hall_spill_pct")) != 1 || len(s.Why("key_spill_pct")) != 1 {
			t.Errorf("%s %% and %s %%", factText(s.SpillPct), factText(s.HallPct))
		}
	})
	t.Run("projector", func(t *testing.T) {
		// 6000 lm on 9 m2 are 666.7 lx, and on a screen of gain 1 that over pi.
		// Half of the ambient light at faces falls on a screen.
		s := room{patch: key, cues: dark, more: `, "ambient_lx": 20`, surfaces: wall(`"kind": "projection", "projector_lm": 6000, "drive_pct": 100, "black_cd_m2": 0, "gain": 1`)}.measure(t).Showings[0]
		if !isNear(s.White, 6000/9.0/math.Pi, 1e-9) || !isNear(s.SpillLux, 10, 1e-9) || !isNear(s.KeySpill, 0, 0) || !isNear(s.SpillPct, 0, 0) {
			t.Errorf("white %s, spill %s, of keys %s lx, %s %%", factText(s.White), factText(s.SpillLux), factText(s.KeySpill), factText(s.SpillPct))
		}
		if want := (6000.0/9 + 10) / 10; !isNear(s.Contrast, want, 1e-9*want) { // all in lux on one screen
			t.Errorf("contrast %s, want %v", factText(s.Contrast), want)
		}
	})
	t.Run("key on the projection", func(t *testing.T) {
		s := room{patch: key, cues: `{"cue": 1, "set": [{"channels": "1", "level": 100}]}`, surfaces: wall(`"kind": "projection", "projector_lm": 6000, "drive_pct": 50, "black_cd_m2": 0, "gain": 1`)}.measure(t).Showings[0]
		if s.KeySpill == nil || *s.KeySpill <= 0 || s.WorstSpiller() == nil || s.WorstSpiller().Channel != 1 {
			t.Fatalf("key spill %s lx from %v", factText(s.KeySpill), s.WorstSpiller())
		}
		if want := 100 * *s.KeySpill / (0.5 * 6000 / 9); !isNear(s.SpillPct, want, 1e-9*want) || !isNear(s.SpillLux, *s.KeySpill, 1e-9) {
			t.Errorf("%s %%, want %v; all light %s lx, of keys %s", factText(s.SpillPct), want, factText(s.SpillLux), factText(s.KeySpill))
		}
	})
	for _, row := range reference(t, "display_contrast.csv") {
		t.Run(row["id"], func(t *testing.T) {
			white, gain := parsed(t, row["white_nits"]), parsed(t, row["gain"])
			r := room{patch: key, cues: dark, more: fmt.Sprintf(`, "ambient_lx": %v`, parsed(t, row["ambient_lx"])/stage.OnScreen)}
			r.surfaces = wall(fmt.Sprintf(`"kind": "projection", "projector_lm": %v, "drive_pct": 100, "black_cd_m2": %s, "gain": %v`, white*math.Pi/gain*9, row["black_nits"], gain))
			if s := r.measure(t).Showings[0]; !isNear(s.White, white, 1e-9*white) || !isNear(s.Contrast, parsed(t, row["contrast_ratio"]), 0.0051) { // printed to two decimals
				t.Errorf("white %s, contrast %s, want %s", factText(s.White), factText(s.Contrast), row["contrast_ratio"])
			}
			// An emissive wall of the same white and the same reflection.
			r.surfaces = wall(fmt.Sprintf(`"kind": "emissive", "peak_cd_m2": %v, "drive_pct": 100, "black_cd_m2": %s, "reflectance": %v`, white, row["black_nits"], min(gain, 1)))
			if s := r.measure(t).Showings[0]; gain <= 1 && !isNear(s.Contrast, parsed(t, row["contrast_ratio"]), 0.0051) {
				t.Errorf("emissive: contrast %s, want %s", factText(s.Contrast), row["contrast_ratio"])
			}
		})
	}
	t.Run("unknown", func(t *testing.T) {
		for surface, test := range map[string]struct{ fact, want string }{
			`"kind": "emissive", "drive_pct": 20`:                                      {"over_face_stops", `the peak luminance and drive of the screen "wall"`},
			`"kind": "emissive", "peak_cd_m2": 500`:                                    {"drive_pct", `what the screen "wall" is driven at`},
			`"kind": "emissive", "peak_cd_m2": -500, "drive_pct": 20`:                  {"white_cd_m2", `the peak luminance and drive of the screen "wall"`},
			`"kind": "emissive", "peak_cd_m2": 500, "drive_pct": 20`:                   {"contrast", `the reflectance of the screen "wall"`},
			`"kind": "projection", "drive_pct": 100, "gain": 1`:                        {"contrast", `the projector's lumens, the size and the drive of the screen "wall"`},
			`"kind": "projection", "drive_pct": 0, "gain": 1, "projector_lm": 3000`:    {"key_spill_pct", `a picture on the screen "wall"`},
			`"kind": "projection", "drive_pct": 100, "gain": -1, "projector_lm": 3000`: {"white_cd_m2", `the projector's lumens, the size and the drive of the screen "wall"`},
		} {
			s := room{patch: key, cues: dark, more: `, "ambient_lx": 300`, surfaces: wall(surface)}.measure(t).Showings[0]
			if fact, _ := ValueOf(s, test.fact); fact.Value != nil || !slices.Contains(s.Why(test.fact), test.want) {
				t.Errorf("%s: %s is %v, missing %q", surface, test.fact, fact.Value, s.Why(test.fact))
			}
		}
	})
}

// TestBackdrop: what the camera sees behind the person, against the face.
func TestBackdrop(t *testing.T) {
	drape := `{"name": "drape", "kind": "drape", "centre": {"x": 0, "y": 6, "z": 2}, "width_m": 8, "height_m": 4, "reflectance": 0.03}`
	r := room{patch: fixture(1, "key", 0, -2, 5.6, ""), cues: `{"cue": 1, "set": [{"channels": "1", "level": 0}]}`, more: `, "ambient_lx": 100`, surfaces: drape}
	p := r.measure(t).People[0]
	// The same light on 3 % and on 36 %.
	if !isNear(p.Backdrop, 0.03*100/math.Pi, 1e-9) || !isNear(p.BackdropStops, math.Log2(0.03/0.36), 1e-9) || !*p.Background || p.BackName == "" {
		t.Errorf("%s cd/m2, %s stops, dark %v, %q", factText(p.Backdrop), factText(p.BackdropStops), *p.Background, p.BackName)
	}
	r.surfaces = wall(`"kind": "emissive", "peak_cd_m2": 500, "drive_pct": 20`)
	p = r.measure(t).People[0]
	if want := math.Log2(100 / (0.36 * 100 / math.Pi)); !isNear(p.Backdrop, 100, 1e-9) || !isNear(p.BackdropStops, want, 1e-9) || *p.Background {
		t.Errorf("%s cd/m2, %s stops, want %v", factText(p.Backdrop), factText(p.BackdropStops), want)
	}
	r.surfaces = ""
	p = r.measure(t).People[0]
	if p.Backdrop != nil || p.Why("background_stops")[0] != `the surface behind the place "lectern"` {
		t.Errorf("%s cd/m2, missing %q", factText(p.Backdrop), p.Why("background_stops"))
	}
}

// TestLens: a lens on the edge of the field gets 10 % of the light on the axis, and
// one on the edge of the beam 50 %: that is what the two angles mean.
func TestLens(t *testing.T) {
	// The back light looks at the head from (0, 6, 5.6); the camera stands in the
	// plane of the two, half an angle to the side.
	for _, test := range []struct{ half, want float64 }{{15, 10}, {10, 50}, {0, 100}} {
		axis := math.Atan2(-4, -4) // in y and z, from the lamp
		a := axis + test.half*math.Pi/180
		y, z := 6+10*math.Cos(a), 5.6+10*math.Sin(a)
		r := room{patch: fixture(1, "back", 0, 6, 5.6, ""), cameras: fmt.Sprintf(`{"name": "low", "x": 0, "y": %v, "z": %v}`, y, z)}
		f := r.measure(t).Fixtures[0]
		if !isNear(f.LensPct, test.want, 1e-9*test.want) || f.LensCamera != "low" {
			t.Errorf("%v degrees from the axis: %s %% at %q, want %v", test.half, factText(f.LensPct), f.LensCamera, test.want)
		}
	}
}

// TestBands: the published depth of square-wave PWM, for a lamp that the cues let flash
// for that part of the time; shutters in whole periods show none. Of several looks the
// one that dims it most counts.
func TestBands(t *testing.T) {
	for _, row := range reference(t, "pwm_banding.csv") {
		var top, bottom float64
		if _, err := fmt.Sscanf(row["shutter_s"], "%g/%g", &top, &bottom); err != nil {
			t.Fatal(err)
		}
		duty := parsed(t, row["duty"])
		r := room{
			types: strings.TrimSuffix(spotType, "}") + fmt.Sprintf(`, "pwm_hz": %s}`, row["frequency_hz"]), patch: fixture(1, "key", 0, -2, 5.6, ""),
			cameras: fmt.Sprintf(`{"name": "front", "shutter_s": %v}`, top/bottom),
			cues:    fmt.Sprintf(`{"cue": 1, "set": [{"channels": "1", "level": 100}]}, {"cue": 2, "set": [{"channels": "1", "level": %v}]}, {"cue": 3, "set": [{"channels": "1", "level": 0}]}`, 100*duty),
		}
		f := r.measure(t).Fixtures[0]
		if !isNear(f.BandPct, 100*parsed(t, row["band_depth"]), 1e-2) || duty < 1 && f.BandCue != "2" || !isNear(f.BandLight, 100*duty, 1e-9) {
			t.Errorf("%s: %s %% at %s %% in cue %s, want %s", row["id"], factText(f.BandPct), factText(f.BandLight), f.BandCue, row["band_depth"])
		}
	}
	for cameras, want := range map[string]string{
		`{"name": "front"}`:                  `the shutter of the camera "front"`,
		`{"name": "front", "shutter_s": -1}`: `a PWM frequency of the type "spot" and a shutter of the camera "front" above zero`,
	} {
		f := room{types: strings.TrimSuffix(spotType, "}") + `, "pwm_hz": 600}`, patch: fixture(1, "key", 0, -2, 5.6, ""), cameras: cameras}.measure(t).Fixtures[0]
		if f.BandPct != nil || f.Why("band_depth_pct")[0] != want {
			t.Errorf("%s: %s %%, missing %q", cameras, factText(f.BandPct), f.Why("band_depth_pct"))
		}
	}
}

// TestCutClears makes the cut that is proposed for the worst spiller of the flawed
// show, and measures again: its light is off the screen, and its target keeps it.
func TestCutClears(t *testing.T) {
	tried := 0
	for _, name := range []string{"flawed", "mended"} {
		for i, before := range measured(demo(t, name)).Showings {
			if before.CutSide == "" || *before.KeySpill < 0.5 {
				continue
			}
			tried++
			show := demo(t, name)
			depth := *before.CutPct
			f := fixtureOn(show, before.WorstSpiller().Channel)
			f.Shutters = slices.DeleteFunc(slices.Clone(f.Shutters), func(s *schema.Shutter) bool { return s.Side == before.CutSide })
			f.Shutters = append(f.Shutters, &schema.Shutter{Side: before.CutSide, DepthPct: &depth})
			s, looks := laidOut(show)
			var look *stage.LookLight
			for _, l := range looks {
				if l.Resolved.Number.String() == before.Number {
					look = l
				}
			}
			for _, lamp := range look.Lamps {
				if lamp.Channel != f.Channel {
					continue
				}
				for _, c := range s.Panels {
					if c.Surface.Name == before.ScreenName && c.Mean[lamp.Beam.Column]*lamp.Share > 0 {
						t.Errorf("%s %d: channel %d still gives the %s %v lx", name, i, f.Channel, c.Surface.Name, c.Mean[lamp.Beam.Column]*lamp.Share)
					}
				}
				if sp := s.Stand(lamp.Aim().Name); sp == nil || sp.Body[lamp.Beam.Column] <= 0 {
					t.Errorf("%s %d: the target of channel %d is dark", name, i, f.Channel)
				}
			}
		}
	}
	if tried == 0 {
		t.Error("no cut is proposed")
	}
}

func fixtureOn(show *schema.Show, channel int) *schema.Fixture {
	for _, f := range show.Patch {
		if f.Channel == channel {
			return f
		}
	}
	return nil
}
