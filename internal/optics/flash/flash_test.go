package flash

import (
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// linear undoes the sRGB coding of one byte (IEC 61966-2-1).
func linear(b uint64) float64 {
	v := float64(b) / 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// frames reads "value*count value*count ..." at the given frame rate.
func frames(t *testing.T, s string, fps float64) []State {
	t.Helper()
	var out []State
	frame := 0
	for run := range strings.FieldsSeq(s) {
		value, count, ok := strings.Cut(run, "*")
		n, err := strconv.Atoi(count)
		if !ok || err != nil {
			t.Fatalf("bad run %q", run)
		}
		state := State{T: float64(frame) / fps}
		if hex, isColour := strings.CutPrefix(value, "#"); isColour {
			rgb, err := strconv.ParseUint(hex, 16, 32)
			if err != nil {
				t.Fatal(err)
			}
			state.R, state.G, state.B = linear(rgb>>16), linear(rgb>>8&255), linear(rgb&255)
			state.Y = srgbToXYZ[1][0]*state.R + srgbToXYZ[1][1]*state.G + srgbToXYZ[1][2]*state.B
		} else if state.Y, err = strconv.ParseFloat(value, 64); err != nil {
			t.Fatal(err)
		}
		// Every frame is a sample of its own, as a recording has it.
		for i := range n {
			state.T = float64(frame+i) / fps
			out = append(out, state)
		}
		frame += n
	}
	return out
}

// TestSequences runs every sequence of testdata/reference/flash_sequences.csv (source and status are in the file).
func TestSequences(t *testing.T) {
	f, err := os.Open("../../../testdata/reference/flash_sequences.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 17 {
		t.Fatalf("%d lines, want a heading and 16 sequences", len(rows))
	}
	for _, row := range rows[1:] {
		id, kind, want, verdict := row[0], row[1], row[4], row[5]
		t.Run(id, func(t *testing.T) {
			fps, err := strconv.ParseFloat(row[2], 64)
			if err != nil {
				t.Fatal(err)
			}
			r, err := Steps(frames(t, row[3], fps), WCAG22)
			if err != nil {
				t.Fatal(err)
			}
			got := r.General
			if kind == "red" {
				got = r.Red
			}
			if want != "" && strconv.Itoa(got.Transitions) != want {
				t.Errorf("%d transitions, want %s", got.Transitions, want)
			}
			if got.Over() != (verdict == "fail") {
				t.Errorf("over = %v (%+v), want %s", got.Over(), got, verdict)
			}
			// The verdict of the file is that of the kind named. The other count agrees, but for one
			// sequence: R04 passes as red, while its luminance goes from 0.114 to 0.271 and back at 15 Hz.
			if both := r.Over(); both != (verdict == "fail" || id == "R04") {
				t.Errorf("over by either count = %v (%+v), want %s", both, r, verdict)
			}
		})
	}
}

func TestWorstSecondStarts(t *testing.T) {
	// One slow flash, then eight changes 0.1 s apart from 5.3 s on, by hand.
	states := []State{{T: 0}, {T: 1, Y: 1}, {T: 3}}
	for i := range 8 {
		states = append(states, State{T: 5.3 + 0.1*float64(i), Y: float64((i + 1) % 2)})
	}
	r, err := Steps(states, WCAG22)
	if err != nil {
		t.Fatal(err)
	}
	if want := (Count{Transitions: 8, Start: 5.3}); r.General != want {
		t.Errorf("got %+v, want %+v", r.General, want)
	}
	if r.General.Flashes() != 4 || !r.General.Over() {
		t.Errorf("flashes %v, over %v; want 4, true", r.General.Flashes(), r.General.Over())
	}
}

func TestHalfOpenWindow(t *testing.T) {
	// Seven changes spread over d seconds: exactly one second is one second too long.
	for _, tc := range []struct {
		spread float64
		want   int
	}{{0.999, 7}, {1, 6}, {1.001, 6}} {
		states := []State{{T: -1}}
		for i := range 7 {
			states = append(states, State{T: tc.spread * float64(i) / 6, Y: float64((i + 1) % 2)})
		}
		r, err := Steps(states, WCAG22)
		if err != nil || r.General.Transitions != tc.want {
			t.Errorf("spread %v s: %+v, %v; want %d", tc.spread, r.General, err, tc.want)
		}
	}
}

func TestRampsByHand(t *testing.T) {
	// A triangle from 0 to 1 and back, 0.4 s each way. A rise counts once 0.1 is reached, a fall once it is
	// below 0.80, so changes are done at 0.04 (up), 0.48 (down), 0.84 (up), 1.28 (down), 1.64 (up) s. The first
	// rise can still be seen from 0.32 s on; up to 1.32 s there follow a fall, a rise and a fall.
	var states []State
	for i := range 12 {
		states = append(states, State{T: 0.4 * float64(i), Y: float64(i % 2)})
	}
	r, err := Ramps(states, WCAG22)
	if err != nil {
		t.Fatal(err)
	}
	if want := 4; r.General.Transitions != want || math.Abs(r.General.Start-0.32) > 1e-8 {
		t.Errorf("got %+v, want %d from 0.32 s", r.General, want)
	}
}

func TestCriteria(t *testing.T) {
	for _, tc := range []struct {
		name             string
		c                Criterion
		darker, brighter float64
		want             bool
	}{
		// WCAG 2.2: 10 % of the maximum, darker state below 0.80.
		{"wcag exact change", WCAG22, 0.05, 0.15, true},
		{"wcag just less", WCAG22, 0.05, 0.1499, false},
		{"wcag darker just below", WCAG22, 0.7999, 1, true},
		{"wcag darker at 0.80", WCAG22, 0.80, 1, false},
		{"wcag from black", WCAG22, 0, 0.1, true},
		// BT.1702: 20 cd/m², darker below 160; above, Michelson 1/17. 160 and 180 is where they meet.
		{"bt exact change", BT1702, 10, 30, true},
		{"bt just less", BT1702, 10, 29.99, false},
		{"bt meeting point", BT1702, 160, 180, true},
		{"bt meeting point less", BT1702, 160, 179.99, false},
		{"bt 320 at 1/17", BT1702, 320, 360, true},
		{"bt 320 under 1/17", BT1702, 320, 359.9, false},
		{"bt 20 is not enough above 160", BT1702, 320, 340, false},
	} {
		if got := tc.c.counts(tc.darker, tc.brighter); got != tc.want {
			t.Errorf("%s: %v to %v counts = %v, want %v", tc.name, tc.darker, tc.brighter, got, tc.want)
		}
	}
	if m := (180.0 - 160) / (180 + 160); math.Abs(m-btMichelson) > 1e-15 { // flash_safety: 20/(160+180) = 1/17
		t.Errorf("the two rules of BT.1702 do not meet: %v", m)
	}
	rapid.Check(t, func(t *rapid.T) { // rise and fall are inverse, and rise never falls
		c := rapid.SampledFrom([]Criterion{WCAG22, BT1702}).Draw(t, "criterion")
		a, b := rapid.Float64Range(0, 400).Draw(t, "a"), rapid.Float64Range(0, 400).Draw(t, "b")
		a, b = min(a, b), max(a, b)
		if c.rise(a) > c.rise(b) {
			t.Fatalf("rise(%v) > rise(%v)", a, b)
		}
		// 1e-10 is far above rounding at 400 and far below any step of interest.
		const nudge = 1e-10
		if low := c.fall(b); low >= 0 && !c.counts(max(low-nudge, 0), b) {
			t.Fatalf("fall(%v) = %v does not count", b, low)
		}
		if low := c.fall(b); low+nudge >= 0 && c.counts(low+nudge, b) {
			t.Fatalf("fall(%v) = %v is not the highest", b, low)
		}
	})
}

func TestRedChromaticity(t *testing.T) {
	// sRGB red and D65 in CIE 1976 u'v': (0.4507, 0.5229) and (0.1978, 0.4683), from xy (0.64, 0.33) and
	// (0.3127, 0.3290) of ITU-R BT.709 by u' = 4x/(-2x+12y+3), v' = 9y/(-2x+12y+3). The matrix has four
	// decimals, so three are compared.
	const tol = 5e-4
	fromXY := func(x, y float64) uv { d := -2*x + 12*y + 3; return uv{4 * x / d, 9 * y / d} }
	for _, tc := range []struct {
		l    Light
		want uv
	}{
		{Light{R: 1}, fromXY(0.64, 0.33)},
		{Light{R: 3, G: 3, B: 3}, fromXY(0.3127, 0.3290)},
		{Light{G: 1e-300}, fromXY(0.30, 0.60)},
		{Light{B: 1e12}, fromXY(0.15, 0.06)},
		{Light{}, fromXY(0.3127, 0.3290)}, // black, by our own convention
	} {
		got := tc.l.chromaticity()
		if math.Hypot(got.u-tc.want.u, got.v-tc.want.v) > tol {
			t.Errorf("%+v: %v, want %v", tc.l, got, tc.want)
		}
	}
	if !(Light{R: 0.8, G: 0.2}).saturatedRed() || (Light{R: 0.799, G: 0.201}).saturatedRed() || (Light{}).saturatedRed() {
		t.Error("the edge of saturated red is not at 0.8, or black is red")
	}
}

// Within sRGB no two saturated reds are over 0.15 apart, as redChanges relies on: three corners span them all.
func TestTwoRedsAreNeverAChange(t *testing.T) {
	corners := []uv{Light{R: 1}.chromaticity(), Light{R: 0.8, G: 0.2}.chromaticity(), Light{R: 0.8, B: 0.2}.chromaticity()}
	if got := apart(corners, corners); got > 0.15 || got < 0.10 {
		t.Errorf("the saturated reds span %v", got)
	}
}

func TestRedByHand(t *testing.T) {
	red, dark, white := Light{R: 1}, Light{}, Light{R: 1, G: 1, B: 1}
	for _, tc := range []struct {
		name string
		a, b Light
		want int
	}{
		{"red and black", red, dark, 7},
		{"red and white", red, white, 7},
		{"white and black", white, dark, 0},
		{"bright and dim red", red, Light{R: 0.1}, 0},
		{"red beyond sRGB and green", Light{R: 1.1, G: -0.1, B: -0.05}, Light{G: 1}, 7},
	} {
		var states []State
		for i := range 8 {
			l := tc.a
			if i%2 == 1 {
				l = tc.b
			}
			states = append(states, State{0.1 * float64(i), 0, l.R, l.G, l.B})
		}
		r, err := Steps(states, WCAG22)
		if err != nil || r.Red.Transitions != tc.want {
			t.Errorf("%s: steps %+v, %v; want %d", tc.name, r.Red, err, tc.want)
		}
		// The same as slow slopes: every crossing of the edge of saturated red is still there.
		r, err = Ramps(states, WCAG22)
		if err != nil || r.Red.Transitions != tc.want {
			t.Errorf("%s: ramps %+v, %v; want %d", tc.name, r.Red, err, tc.want)
		}
	}
	// A turn of hue from red to green in twenty small steps, none of them 0.2 long, is one change.
	var states []State
	for i := range 21 {
		g := float64(i) / 20
		states = append(states, State{float64(i) * 0.02, 0.5, 1 - g, g, 0})
	}
	if r, err := Steps(states, WCAG22); err != nil || r.Red.Transitions != 1 {
		t.Errorf("slow turn of hue: %+v, %v; want 1", r.Red, err)
	}
}

// Red against a pale red, R = 1 and G = B = w. By the matrix and formula in red.go, worked out apart from
// this code, the distance in u'v' is 0.199 at w = 0.38798 and 0.201 at w = 0.39848.
func TestRedDistance(t *testing.T) {
	for _, tc := range []struct {
		w    float64
		want int
	}{{0.38798, 0}, {0.39848, 1}} {
		r, err := Steps([]State{{T: 0, R: 1}, {T: 1, R: 1, G: tc.w, B: tc.w}}, WCAG22)
		if err != nil || r.Red.Transitions != tc.want {
			t.Errorf("w = %v: %+v, %v; want %d", tc.w, r.Red, err, tc.want)
		}
	}
}

// On a slope the colour at the edge of saturated red is seen too. Magenta is 0.15 from the purplish red at the
// end, and the orange between is 0.13 from it as well; but the edge, crossed near 0.8, 0.19, 0.01, is 0.208 from magenta.
func TestRedEdgeIsSeen(t *testing.T) {
	states := []State{{T: 0, R: 0.5, B: 0.5}, {T: 1, R: 0.799, G: 0.201}, {T: 2, R: 0.82, B: 0.18}}
	if r, err := Ramps(states, WCAG22); err != nil || r.Red.Transitions != 1 || !(r.Red.Start > 1.04 && r.Red.Start < 1.06) {
		t.Errorf("ramps: %+v, %v; want 1 at 1.05 s", r.Red, err)
	}
	if r, err := Steps(states, WCAG22); err != nil || r.Red.Transitions != 0 {
		t.Errorf("steps: %+v, %v; want 0", r.Red, err)
	}
}

func TestBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, states := range map[string][]State{
		"backwards":     {{T: 1}, {T: 0}},
		"NaN time":      {{T: nan}},
		"far time":      {{T: 2e6}},
		"NaN light":     {{Y: nan}},
		"negative":      {{Y: -1}},
		"infinite":      {{Y: inf}},
		"NaN colour":    {{R: nan}},
		"infinite blue": {{B: -inf}},
	} {
		if _, err := Steps(states, WCAG22); err == nil {
			t.Errorf("steps, %s: no error", name)
		}
		if _, err := Ramps(states, WCAG22); err == nil {
			t.Errorf("ramps, %s: no error", name)
		}
	}
	if _, err := Steps(nil, Criterion{}); err == nil {
		t.Error("no criterion: no error")
	}
	for _, states := range [][]State{nil, {{T: 3, Y: 1}}} {
		if r, err := Ramps(states, WCAG22); err != nil || r != (Result{}) {
			t.Errorf("%v: %+v, %v; want nothing", states, r, err)
		}
	}
}

func TestEqualTimes(t *testing.T) {
	// A state of no length was never seen; as ramps, neither is anything between two sides of a jump.
	blink := []State{{T: 0}, {T: 1, Y: 0}, {T: 1, Y: 1}, {T: 1, Y: 0}, {T: 2}}
	for name, f := range map[string]func([]State, Criterion) (Result, error){"steps": Steps, "ramps": Ramps} {
		if r, err := f(blink, WCAG22); err != nil || r.General.Transitions != 0 {
			t.Errorf("%s: %+v, %v; want nothing", name, r, err)
		}
	}
}

// ---- properties ----

var grey = rapid.Float64Range(0, 1)

// drawStates gives 1 to 40 states up to 0.4 s apart. Times are whole numbers of 1/4096 s, so that shifting,
// turning round and halving them is exact.
func drawStates(t *rapid.T) []State {
	n := rapid.IntRange(1, 40).Draw(t, "n")
	flat := rapid.SampledFrom([]float64{0, 0.05, 0.1499, 0.15, 0.2, 0.7, 0.79, 0.8, 0.9, 1})
	states := make([]State, n)
	tick := 0
	for i := range states {
		tick += rapid.IntRange(1, 1600).Draw(t, "gap")
		y := grey
		if rapid.Bool().Draw(t, "edge") {
			y = flat
		}
		states[i] = State{float64(tick) / 4096, y.Draw(t, "y"), grey.Draw(t, "r"), grey.Draw(t, "g") * grey.Draw(t, "g2"), grey.Draw(t, "b") * grey.Draw(t, "b2")}
	}
	return states
}

func must(t *rapid.T, f func([]State, Criterion) (Result, error), s []State) Result {
	r, err := f(s, WCAG22)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// bestIn is the most alternating qualifying changes among points in order, by trying every pair: an
// independent and slow reading of the definition.
func bestIn(y []float64, c Criterion) int {
	best := 0
	up, down := make([]int, len(y)), make([]int, len(y)) // most changes ending here, the last one up or down
	for i := range y {
		for j := range i {
			if c.counts(y[j], y[i]) {
				up[i] = max(up[i], down[j]+1)
			}
			if c.counts(y[i], y[j]) {
				down[i] = max(down[i], up[j]+1)
			}
		}
		best = max(best, up[i], down[i])
	}
	return best
}

// window cuts a path of straight lines to the times from a up to (not including, by a hair) b.
func window(path []State, a, b float64) []float64 {
	b -= 2 * timeSlack
	var out []float64
	at := func(p, q State, t float64) float64 {
		if q.T == p.T {
			return q.Y
		}
		return p.Y + (t-p.T)/(q.T-p.T)*(q.Y-p.Y)
	}
	for i, p := range path {
		if i > 0 {
			if prev := path[i-1]; prev.T < a && p.T > a {
				out = append(out, at(prev, p, a))
			}
			if prev := path[i-1]; prev.T < b && p.T > b {
				out = append(out, at(prev, p, b))
			}
		}
		if p.T >= a && p.T <= b {
			out = append(out, p.Y)
		}
	}
	return out
}

func TestLuminanceAgainstEveryWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		states := drawStates(t)
		got := must(t, Ramps, states).General
		// No window does better ...
		last := states[len(states)-1].T
		var starts []float64
		for s := states[0].T - 1; s <= last; s += 0.013 {
			starts = append(starts, s)
		}
		for _, s := range states {
			starts = append(starts, s.T, s.T-1+1e-6)
		}
		for _, s := range starts {
			if n := bestIn(window(states, s, s+1), WCAG22); n > got.Transitions {
				t.Fatalf("the second from %v has %d, more than %+v", s, n, got)
			}
		}
		// ... and the one reported does as well (a hair earlier, for the rounding of a crossing). A
		// single change counts even if it takes over a second.
		if n := bestIn(window(states, got.Start-1e-8, got.Start+1), WCAG22); n < got.Transitions && got.Transitions > 1 {
			t.Fatalf("the second reported has %d, not %+v", n, got)
		}
		if any := bestIn(window(states, states[0].T, last+1), WCAG22) > 0; any != (got.Transitions > 0) {
			t.Fatalf("changes at all: %v, got %+v", any, got)
		}
	})
}

// A picture of steps, window by window, straight from the definition.
func TestStepsAgainstEveryWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		states := drawStates(t)
		want := 0
		for i := range states {
			var seen []float64
			for j := i; j < len(states); j++ {
				// State i is seen up to states[i+1].T; a window may open just before that.
				if j > i && states[j].T-states[i+1].T >= 1 {
					break
				}
				seen = append(seen, states[j].Y)
			}
			want = max(want, bestIn(seen, WCAG22))
		}
		if got := must(t, Steps, states).General.Transitions; got != want {
			t.Fatalf("got %d, want %d", got, want)
		}
	})
}

func TestProperties(t *testing.T) {
	for name, f := range map[string]func([]State, Criterion) (Result, error){"steps": Steps, "ramps": Ramps} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				states := drawStates(t)
				before := must(t, f, states)
				if before.General.Transitions < 0 || before.General.Transitions > 2*len(states) {
					t.Fatalf("%+v for %d states", before, len(states))
				}

				shift := float64(rapid.IntRange(-100_000, 100_000).Draw(t, "shift"))
				moved := append([]State(nil), states...)
				for i := range moved {
					moved[i].T += shift
				}
				after := must(t, f, moved)
				for _, pair := range [][2]Count{{before.General, after.General}, {before.Red, after.Red}} {
					if pair[0].Transitions > 0 {
						pair[0].Start += shift
					}
					// Crossings inside a line are rounded to the clock: 1.5e-11 s at 1e5 s.
					if pair[0].Transitions != pair[1].Transitions || math.Abs(pair[0].Start-pair[1].Start) > 1e-10 {
						t.Fatalf("shifted by %v: %+v became %+v", shift, pair[0], pair[1])
					}
				}

				// Backwards: a held state starts where its successor did.
				back := make([]State, len(states))
				for i, s := range states {
					s.T = -s.T
					if name == "steps" {
						s.T = -states[len(states)-1].T - 1
						if i+1 < len(states) {
							s.T = -states[i+1].T
						}
					}
					back[len(states)-1-i] = s
				}
				after = must(t, f, back)
				if before.General.Transitions != after.General.Transitions || before.Red.Transitions != after.Red.Transitions {
					t.Fatalf("backwards: %+v became %+v", before, after)
				}

				// Cutting each piece in two.
				var cut []State
				for i, s := range states {
					cut = append(cut, s)
					if i+1 < len(states) {
						q, middle := states[i+1], s
						middle.T = (s.T + q.T) / 2
						if name == "ramps" {
							l := mix(s.light(), q.light(), 0.5)
							middle = State{middle.T, s.Y + 0.5*(q.Y-s.Y), l.R, l.G, l.B}
						}
						cut = append(cut, middle)
					}
				}
				after = must(t, f, cut)
				if before.General.Transitions != after.General.Transitions || before.Red.Transitions != after.Red.Transitions ||
					math.Abs(before.General.Start-after.General.Start) > 1e-10 || math.Abs(before.Red.Start-after.Red.Start) > 1e-10 {
					t.Fatalf("cut in two: %+v became %+v", before, after)
				}

				// No change at all has none.
				for i := range cut {
					cut[i] = State{cut[i].T, states[0].Y, states[0].R, states[0].G, states[0].B}
				}
				if r := must(t, f, cut); r != (Result{}) {
					t.Fatalf("a constant has %+v", r)
				}
			})
		})
	}
}

func TestApartBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := func(name string) []uv {
			n := rapid.IntRange(33, 60).Draw(t, name)
			wide := rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "wide") // also hulls of one or two points
			high := rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "high")
			out := make([]uv, n)
			for i := range out {
				out[i] = uv{0.2 + wide*grey.Draw(t, "u"), 0.4 + high*grey.Draw(t, "v")}
			}
			return out
		}
		a, b := points("a"), points("b")
		var want float64
		for _, p := range a {
			for _, q := range b {
				want = max(want, math.Hypot(p.u-q.u, p.v-q.v))
			}
		}
		if got := apart(a, b); math.Abs(got-want) > 1e-12 { // rounding of coordinates under 1
			t.Fatalf("apart %v, want %v", got, want)
		}
	})
}

// ---- strobes ----

func TestStrobeByHand(t *testing.T) {
	on := Light{Y: 1, R: 1, G: 1, B: 1}
	for _, tc := range []struct {
		hz, duty float64
		want     int
	}{
		{0, 0.5, 0},
		{0.4, 0.5, 1}, // switches 1.25 s apart
		{0.6, 0.5, 2}, // 0.83 s apart
		{3, 0.5, 6},   // three flashes: the limit itself
		{3.1, 0.5, 7}, // on at 0, .32, .65, .97, off at .16, .48, .81
		{3.1, 0.05, 8},
		{3.75, 0.5, 8}, // sequence L03 of the reference table
		{15, 0.5, 30},
		{25, 0, 0},
		{25, 1, 0},
		{60, 0.5, 120},
	} {
		s := Strobe{Hz: tc.hz, Duty: tc.duty, On: on}
		r, err := s.Count(WCAG22)
		if err != nil || r.General.Transitions != tc.want || r.Fused {
			t.Errorf("%v Hz, duty %v: %+v, %v; want %d", tc.hz, tc.duty, r, err, tc.want)
		}
	}
	for _, hz := range []float64{60.001, 1000, 10_000} {
		r, err := Strobe{Hz: hz, Duty: 0.5, On: on}.Count(WCAG22)
		if err != nil || !r.Fused || r.Over() || r.General.Transitions != 0 {
			t.Errorf("%v Hz: %+v, %v; want fused and steady", hz, r, err)
		}
	}
	if r, err := (Strobe{Hz: 10, Duty: 0.5, On: Light{Y: 0.5, R: 1}}).Count(WCAG22); err != nil || r.Red.Transitions != 20 {
		t.Errorf("red strobe: %+v, %v; want 20 red", r, err)
	}
	if r, err := (Strobe{Hz: 10, Duty: 0.5, Off: Light{Y: 0.85}, On: on}).Count(WCAG22); err != nil || r.General.Transitions != 0 {
		t.Errorf("strobe over a bright wash: %+v, %v; want 0", r, err)
	}
	// At random, up to three a second: off, on, off, on, off, on, off fits a second.
	if r, err := (Strobe{Hz: 3, Random: true, On: on}).Count(WCAG22); err != nil || r.General.Transitions != 7 {
		t.Errorf("random: %+v, %v; want 7", r, err)
	}
	// A random strobe that can reach 100 a second may also slow down to what is seen: never fused.
	if r, err := (Strobe{Hz: 100, Random: true, On: on}).Count(WCAG22); err != nil || r.General.Transitions != 121 || r.Fused {
		t.Errorf("fast random: %+v, %v; want 121, not fused", r, err)
	}
}

// A random strobe of at most 3 Hz, played out: on at 0.05 s and a third of a second apart, off before the first and after each.
func TestRandomBoundIsReached(t *testing.T) {
	states := []State{{T: -0.1, Y: 1}, {T: 0}, {T: 0.05, Y: 1}, {T: 0.1}, {T: 0.05 + 1./3, Y: 1}, {T: 0.4}, {T: 0.05 + 2./3, Y: 1}, {T: 0.75}}
	r, err := Steps(states, WCAG22)
	if err != nil || r.General.Transitions != 7 {
		t.Errorf("%+v, %v; want 7", r, err)
	}
}

func drawStrobe(t *rapid.T) Strobe {
	s := Strobe{
		Hz:    rapid.Float64Range(0.2, 70).Draw(t, "hz"),
		Duty:  rapid.SampledFrom([]float64{0, 0.05, 0.25, 0.5, 0.8, 1}).Draw(t, "duty"),
		Phase: rapid.SampledFrom([]float64{0, 0.05, 0.25, 0.3, 0.5, 0.999}).Draw(t, "phase"),
		Off:   Light{Y: grey.Draw(t, "off") * 0.3, G: grey.Draw(t, "g")},
		On:    Light{Y: grey.Draw(t, "on"), R: grey.Draw(t, "r")},
	}
	if rapid.Bool().Draw(t, "whole") {
		s.Hz = math.Ceil(s.Hz)
	}
	return s
}

// The closed form and the edges gone through one by one agree.
func TestStrobeAgainstSeries(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStrobe(t)
		closed, err := s.Count(WCAG22)
		if err != nil {
			t.Fatal(err)
		}
		series, err := InStep([]Strobe{s}, 2+3/s.Hz, WCAG22)
		if err != nil {
			t.Fatal(err)
		}
		if closed.General.Transitions != series.General.Transitions || closed.Red.Transitions != series.Red.Transitions || closed.Fused != series.Fused {
			t.Fatalf("closed form %+v, series %+v", closed, series)
		}
	})
}

// Whatever the phases, strobes together never show more than the bound.
func TestUnsynchronisedIsABound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		strobes := make([]Strobe, rapid.IntRange(1, 4).Draw(t, "n"))
		for i := range strobes {
			strobes[i] = drawStrobe(t)
		}
		bound, err := Unsynchronised(strobes, WCAG22)
		if err != nil {
			t.Fatal(err)
		}
		r, err := InStep(strobes, 8, WCAG22)
		if err != nil {
			t.Fatal(err)
		}
		if r.General.Transitions > bound.General.Transitions || r.Red.Transitions > bound.Red.Transitions || r.Fused != bound.Fused {
			t.Fatalf("%+v is over the bound %+v", r, bound)
		}
	})
}

// Two strobes of 2.5 Hz pass alone, and in step; half a cycle apart, or on clocks of their own, they are 5 Hz.
func TestStrobesAddUp(t *testing.T) {
	a := Strobe{Hz: 2.5, Duty: 0.1, On: Light{Y: 0.4}}
	b := a
	alone, err1 := a.Count(WCAG22)
	together, err2 := InStep([]Strobe{a, b}, 4, WCAG22)
	b.Phase = 0.5
	apart, err3 := InStep([]Strobe{a, b}, 4, WCAG22)
	free, err4 := Unsynchronised([]Strobe{a, b}, WCAG22)
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if alone.General.Transitions != 6 || together.General.Transitions != 6 || apart.General.Transitions != 10 || free.General.Transitions != 12 {
		t.Errorf("alone %d, in step %d, half a cycle apart %d, free %d; want 6, 6, 10, 12",
			alone.General.Transitions, together.General.Transitions, apart.General.Transitions, free.General.Transitions)
	}
	// Three that are each too small to count do count together, so they are in the bound.
	small := Strobe{Hz: 4, Duty: 0.5, On: Light{Y: 0.05}}
	if r, err := Unsynchronised([]Strobe{small, small, small}, WCAG22); err != nil || !r.Over() {
		t.Errorf("three small strobes: %+v, %v", r, err)
	}
	if r, err := Unsynchronised([]Strobe{small}, WCAG22); err != nil || r.General.Transitions != 0 {
		t.Errorf("one small strobe: %+v, %v", r, err)
	}
}

func TestBadStrobes(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, s := range []Strobe{{Hz: -1}, {Hz: nan}, {Hz: 10_001}, {Hz: inf}, {Duty: -0.1}, {Duty: 1.1}, {Duty: nan}, {Phase: 1}, {Phase: -1}, {Phase: nan}, {On: Light{Y: nan}}, {Off: Light{Y: -1}}} {
		if _, err := s.Count(WCAG22); err == nil {
			t.Errorf("%+v: no error", s)
		}
		if _, err := InStep([]Strobe{s}, 1, WCAG22); err == nil {
			t.Errorf("%+v in step: no error", s)
		}
	}
	ok := Strobe{Hz: 60, Duty: 0.5, On: Light{Y: 1}}
	for _, seconds := range []float64{0, -1, nan, inf, 1e6} { // the last has too many switches
		if _, err := InStep([]Strobe{ok}, seconds, WCAG22); err == nil {
			t.Errorf("in step for %v s: no error", seconds)
		}
	}
	if _, err := InStep([]Strobe{{Random: true}}, 1, WCAG22); err == nil {
		t.Error("random in step: no error")
	}
	if _, err := Unsynchronised(nil, Criterion{}); err == nil {
		t.Error("no criterion: no error")
	}
	// The slowest rates a float can hold.
	if r, err := InStep([]Strobe{{Hz: 5e-324, Duty: 0.5, Phase: 0.25, On: Light{Y: 1}}}, 10, WCAG22); err != nil || r.General.Transitions != 0 {
		t.Errorf("slowest strobe: %+v, %v", r, err)
	}
}

// ---- fuzzing and benchmarks ----

func FuzzSeries(f *testing.F) {
	f.Add([]byte("0123456789abcdef0123456789abcdef0123456789abcdef"))
	f.Fuzz(func(t *testing.T, b []byte) {
		var states []State
		at := 0.0
		for ; len(b) >= 12; b = b[12:] {
			// Float32 bits reach NaN, infinities, negatives and both ends of the range.
			y := float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))
			r := float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4:])))
			at += float64(b[8]) / 100
			states = append(states, State{at, y, r, float64(b[9]), float64(b[10])})
		}
		for _, c := range []Criterion{WCAG22, BT1702} {
			for _, run := range []func([]State, Criterion) (Result, error){Steps, Ramps} {
				r, err := run(states, c)
				for _, n := range []Count{r.General, r.Red} {
					if n.Transitions < 0 || n.Transitions > 2*len(states) || math.IsNaN(n.Start) || n.Start < 0 || n.Start > at {
						t.Fatalf("%+v, %v", r, err)
					}
				}
			}
		}
	})
}

// Linear growth shows as the same time per state at both sizes.
func BenchmarkSeries(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		states := make([]State, n)
		for i := range states {
			states[i] = State{float64(i) / 40, float64(i*7919%101) / 100, float64(i * 31 % 17), float64(i * 7 % 5), float64(i % 3)}
		}
		for name, f := range map[string]func([]State, Criterion) (Result, error){"steps": Steps, "ramps": Ramps} {
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				for b.Loop() {
					if _, err := f(states, WCAG22); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/state")
			})
		}
	}
}
