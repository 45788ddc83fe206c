package air

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// rounding is the relative tolerance for results that are one closed form and the same closed form by another road:
// a few dozen operations in float64.
const rounding = 1e-12

func near(a, b float64) bool { return math.Abs(a-b) <= rounding*(math.Abs(a)+math.Abs(b))+1e-300 }

func read(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func solve(t interface{ Fatal(...any) }, r Room, start, level float64, changes []Change) *Course {
	c, err := Solve(r, start, level, changes)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The CDC table prints whole minutes: every entry must be the formula rounded. The exact columns have three decimals.
func TestCDCTable(t *testing.T) {
	for _, row := range read(t, "ventilation.csv") {
		ach := number(t, row[0])
		for i, removed := range []float64{0.90, 0.99, 0.999} {
			// 1 mg/m³ left to decay.
			c := solve(t, Room{VolumeM3: 100, ACH: ach}, 0, 1, nil)
			at, ok := c.FirstAtMost(1-removed, 0)
			got := at / 60
			if printed := number(t, row[1+i]); !ok || math.Round(got) != printed {
				t.Errorf("%v ACH, %v removed: %v min, want %v as printed", ach, removed, got, printed)
			}
			if exact := number(t, row[4+i]); math.Abs(got-exact) > 0.0005+1e-9 {
				t.Errorf("%v ACH, %v removed: %v min, want %v", ach, removed, got, exact)
			}
		}
	}
}

// The worked example of the haze notes: 2000 m³, 3 per hour, 30 000 mg/h.
func TestWorkedExample(t *testing.T) {
	room := Room{VolumeM3: 2000, ACH: 3}
	steady, ok := room.SteadyMgPerM3(30_000)
	if !ok || steady != 5 {
		t.Errorf("steady %v, want 5.0 mg/m³", steady)
	}
	c := solve(t, room, 0, 0, []Change{{0, 30_000}})
	if at, ok := c.FirstAtLeast(0.95*5, 0); !ok || math.Round(at/60*10)/10 != 59.9 {
		t.Errorf("95 %% at %v min, want 59.9", at/60)
	}
	c = solve(t, room, 0, 5, nil)
	if at, ok := c.FirstAtMost(1, 0); !ok || math.Round(at/60*10)/10 != 32.2 {
		t.Errorf("below 1 mg/m³ at %v min, want 32.2", at/60)
	}
	if _, ok := solve(t, room, 0, 0, []Change{{0, 30_000}}).FirstAtLeast(5, 0); ok {
		t.Error("the steady level itself was reached")
	}
}

func TestClosedForms(t *testing.T) {
	// On for an hour at 20 000 mg/h in 1000 m³ with n + s = 2 per hour, then off: 10 (1 - e^-2) at one hour,
	// times e^-2 an hour later.
	room := Room{VolumeM3: 1000, ACH: 1.4, SettlingPerHour: 0.6}
	c := solve(t, room, 100, 0, []Change{{100, 20_000}, {3700, 0}})
	top := 10 * (1 - math.Exp(-2))
	for _, tc := range []struct{ t, want float64 }{{100, 0}, {1900, 10 * (1 - math.Exp(-1))}, {3700, top}, {7300, top * math.Exp(-2)}} {
		if got, ok := c.At(tc.t); !ok || !near(got, tc.want) {
			t.Errorf("at %v s: %v, want %v", tc.t, got, tc.want)
		}
	}
	if level, at, ok := c.Peak(100, 9000); !ok || !near(level, top) || at != 3700 {
		t.Errorf("peak %v at %v, want %v at 3700", level, at, top)
	}
	if level, at, ok := c.Peak(200, 300); !ok || at != 300 || !(level < top) {
		t.Errorf("peak while rising: %v at %v", level, at)
	}
	if level, at, ok := c.Peak(4000, 5000); !ok || at != 4000 || !(level < top) {
		t.Errorf("peak while falling: %v at %v", level, at)
	}
	// More than its peak is never reached, though it would be if the machine went on; half of it is reached on the way down.
	if at, ok := c.FirstAtLeast(1.1*top, 100); ok {
		t.Errorf("more than the peak at %v s", at)
	}
	if at, ok := c.FirstAtMost(top/2, 3600); !ok || !near(at, 3700+1800*math.Ln2) {
		t.Errorf("half of the peak at %v s, want %v", at, 3700+1800*math.Ln2)
	}
	// Dose: rising 10 (1 - (1-e^-2)/2), falling top (1-e^-2)/2, in mg h/m³ over two hours.
	dose := 10*(1-(1-math.Exp(-2))/2) + top*(1-math.Exp(-2))/2
	if got, ok := c.Mean(100, 7300); !ok || !near(got, dose/2) {
		t.Errorf("mean %v, want %v", got, dose/2)
	}
	if got, ok := c.EightHourMean(100, 7300); !ok || !near(got, dose/8) {
		t.Errorf("8 h mean %v, want %v", got, dose/8)
	}
	if got, ok := c.Mean(1900, 1900); !ok || !near(got, 10*(1-math.Exp(-1))) {
		t.Errorf("mean over no time %v", got)
	}
	// All that goes in goes out: over all time the dose is the mass over the loss, 20 000 mg/(1000 m³ x 2/h).
	if got, ok := c.EightHourMean(100, 1e6); !ok || !near(8*got, 10) {
		t.Errorf("whole dose %v, want 10", 8*got)
	}
}

func TestNothingLost(t *testing.T) {
	// A sealed room: 1000 mg/h into 100 m³ adds 10 mg/m³ an hour.
	c := solve(t, Room{VolumeM3: 100}, 0, 1, []Change{{0, 1000}})
	if got, _ := c.At(1800); got != 6 {
		t.Errorf("after half an hour %v, want 6", got)
	}
	if got, _ := c.Mean(0, 3600); !near(got, 6) {
		t.Errorf("mean of the first hour %v, want 6", got)
	}
	if at, ok := c.FirstAtLeast(21, 0); !ok || !near(at, 7200) {
		t.Errorf("21 mg/m³ at %v s, want 7200", at)
	}
	if _, ok := c.FirstAtMost(0.5, 0); ok {
		t.Error("a sealed room cleared")
	}
	if _, ok := (Room{VolumeM3: 100}).SteadyMgPerM3(1); ok {
		t.Error("a sealed room has a steady level")
	}
	// The slowest loss allowed gives nearly the same.
	slow := solve(t, Room{VolumeM3: 100, ACH: 1e-9}, 0, 1, []Change{{0, 1000}})
	a, _ := c.Mean(0, 3600)
	if b, _ := slow.Mean(0, 3600); math.Abs(a-b) > 1e-7 {
		t.Errorf("mean %v sealed, %v all but sealed", a, b)
	}
}

func TestLimitsTable(t *testing.T) {
	rows := read(t, "haze_limits.csv")
	if len(rows) != len(Limits) {
		t.Fatalf("%d rows, %d limits", len(rows), len(Limits))
	}
	for i, row := range rows {
		want := Limit{row[0], number(t, row[1]), number(t, row[2]), row[3], row[4]}
		if Limits[i] != want {
			t.Errorf("limit %d is %+v, the reference says %+v", i, Limits[i], want)
		}
		if f, ok := FluidFor(row[0]); !ok || f.Aerosol != row[0] || f.Source == "" {
			t.Errorf("%s: %+v %v", row[0], f, ok)
		}
	}
	if _, ok := FluidFor("steam"); ok {
		t.Error("assumptions for steam")
	}
	// The hang times said in words: 3.8, 1 and 2 hours down to a tenth.
	for name, hours := range map[string]float64{"mineral oil": 3.8, "glycols": 1, "glycerol": 2} {
		f, _ := FluidFor(name)
		if got := math.Log(10) / f.SettlingPerHour; math.Abs(got-hours) > 0.05 {
			t.Errorf("%s: %v h down to a tenth, want %v", name, got, hours)
		}
	}
}

func TestBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := Room{VolumeM3: 100, ACH: 1}
	for _, r := range []Room{{}, {VolumeM3: -1}, {VolumeM3: nan}, {VolumeM3: inf}, {VolumeM3: 1, ACH: -1}, {VolumeM3: 1, ACH: nan}, {VolumeM3: 1, ACH: inf}, {VolumeM3: 1, SettlingPerHour: -0.1}, {VolumeM3: 1, SettlingPerHour: 1e-12}} {
		if _, err := Solve(r, 0, 0, nil); err == nil {
			t.Errorf("%+v: no error", r)
		}
		if _, ok := r.SteadyMgPerM3(1); ok {
			t.Errorf("steady in %+v", r)
		}
	}
	for _, tc := range []struct {
		start, level float64
		changes      []Change
	}{
		{nan, 0, nil}, {inf, 0, nil}, {0, nan, nil}, {0, -1, nil}, {0, inf, nil},
		{0, 0, []Change{{-1, 0}}}, {0, 0, []Change{{nan, 0}}}, {0, 0, []Change{{inf, 0}}},
		{0, 0, []Change{{0, -1}}}, {0, 0, []Change{{0, nan}}}, {0, 0, []Change{{0, inf}}},
		{0, 0, []Change{{5, 0}, {4, 1}}}, // out of order, though the first changes nothing
	} {
		if _, err := Solve(good, tc.start, tc.level, tc.changes); err == nil {
			t.Errorf("%+v: no error", tc)
		}
	}
	c := solve(t, good, 10, 1, nil)
	for _, at := range []float64{9, nan, inf, -inf} {
		if _, ok := c.At(at); ok {
			t.Errorf("a level at %v", at)
		}
		if _, ok := c.Mean(at, 20); ok {
			t.Errorf("a mean from %v", at)
		}
		if _, ok := c.EightHourMean(20, at); ok {
			t.Errorf("an 8 h mean to %v", at)
		}
		if _, _, ok := c.Peak(20, at); ok {
			t.Errorf("a peak to %v", at)
		}
		if _, ok := c.FirstAtLeast(0, at); ok {
			t.Errorf("reached from %v", at)
		}
	}
	for _, level := range []float64{-1, nan, inf} {
		if _, ok := c.FirstAtMost(level, 10); ok {
			t.Errorf("fell to %v", level)
		}
	}
}

// ---- properties ----

func drawRoom(t *rapid.T) Room {
	rate := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1e-9, 1e-3), rapid.Float64Range(0.01, 20))
	return Room{rapid.Float64Range(10, 20_000).Draw(t, "volume"), rate.Draw(t, "ach"), rate.Draw(t, "settling")}
}

func drawChanges(t *rapid.T) []Change {
	changes := make([]Change, rapid.IntRange(0, 12).Draw(t, "changes"))
	at := 0.0
	for i := range changes {
		at += float64(rapid.IntRange(0, 3000).Draw(t, "gap"))
		changes[i] = Change{at, rapid.SampledFrom([]float64{0, 0, 5, 2e3, 4e4}).Draw(t, "output")}
	}
	return changes
}

func TestMoreAirNeverRaisesTheLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room, changes := drawRoom(t), drawChanges(t)
		level := rapid.Float64Range(0, 50).Draw(t, "level")
		more := room
		more.ACH += rapid.Float64Range(0.01, 5).Draw(t, "more")
		a, b := solve(t, room, 0, level, changes), solve(t, more, 0, level, changes)
		for at := 0.0; at < 40_000; at += 137 {
			before, _ := a.At(at)
			after, _ := b.At(at)
			if after > before*(1+rounding) {
				t.Fatalf("at %v s: %v became %v", at, before, after)
			}
		}
	})
}

func TestShiftAndSplit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room, changes := drawRoom(t), drawChanges(t)
		level := rapid.Float64Range(0, 50).Draw(t, "level")
		whole := solve(t, room, 0, level, changes)
		shift := float64(rapid.IntRange(-100_000, 100_000).Draw(t, "shift"))
		moved := make([]Change, len(changes))
		for i, ch := range changes {
			moved[i] = Change{ch.At + shift, ch.MgPerHour}
		}
		shifted := solve(t, room, shift, level, moved)
		// Splitting: start a new course from the level half way.
		cut := float64(rapid.IntRange(0, 20_000).Draw(t, "cut"))
		half, _ := whole.At(cut)
		var rest []Change
		output := 0.0
		for _, ch := range changes {
			if ch.At > cut {
				rest = append(rest, ch)
			} else {
				output = ch.MgPerHour
			}
		}
		split := solve(t, room, cut, half, append([]Change{{cut, output}}, rest...))

		end := cut + float64(rapid.IntRange(1, 20_000).Draw(t, "end"))
		for _, c := range []struct {
			course *Course
			shift  float64
		}{{shifted, shift}, {split, 0}} {
			a, _ := whole.At(end)
			b, ok := c.course.At(end + c.shift)
			if !ok || !near(a, b) {
				t.Fatalf("level %v became %v", a, b)
			}
			a, _ = whole.Mean(cut, end)
			if b, ok = c.course.Mean(cut+c.shift, end+c.shift); !ok || !near(a, b) {
				t.Fatalf("mean %v became %v", a, b)
			}
			a, _, _ = whole.Peak(cut, end)
			if b, _, ok = c.course.Peak(cut+c.shift, end+c.shift); !ok || !near(a, b) {
				t.Fatalf("peak %v became %v", a, b)
			}
		}
		// Saying again what the output already is changes nothing, to the bit.
		var twice []Change
		for i, ch := range changes {
			twice = append(twice, ch)
			if i+1 < len(changes) {
				twice = append(twice, Change{(ch.At + changes[i+1].At) / 2, ch.MgPerHour})
			}
		}
		a, _ := whole.At(end)
		if b, _ := solve(t, room, 0, level, twice).At(end); a != b {
			t.Fatalf("level %v became %v by repeating outputs", a, b)
		}
		// The mean of the whole is made of the means of its parts.
		middle := (cut + end) / 2
		a, _ = whole.Mean(cut, end)
		first, _ := whole.Mean(cut, middle)
		second, _ := whole.Mean(middle, end)
		if !near(a, (first+second)/2) {
			t.Fatalf("mean %v, of its halves %v and %v", a, first, second)
		}
	})
}

// The solution obeys the equation it solves: what the room gains is what is put in less what is lost.
func TestMassBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room, changes := drawRoom(t), drawChanges(t)
		c := solve(t, room, 0, rapid.Float64Range(0, 50).Draw(t, "level"), changes)
		end := float64(rapid.IntRange(1, 40_000).Draw(t, "end"))
		var in float64 // mg/m³
		for i, ch := range changes {
			until := end
			if i+1 < len(changes) {
				until = min(until, changes[i+1].At)
			}
			in += ch.MgPerHour / room.VolumeM3 * max(0, until-ch.At) / secondsPerHour
		}
		before, _ := c.At(0)
		after, _ := c.At(end)
		mean, _ := c.Mean(0, end)
		lost := (room.ACH + room.SettlingPerHour) * mean * end / secondsPerHour
		if got, want := after+lost, before+in; math.Abs(got-want) > 1e-9*(want+1e-6) { // a dozen stretches of rounding
			t.Fatalf("left %v + lost %v is not %v + %v", after, lost, before, in)
		}
	})
}

func TestCrossingsAreCrossings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := solve(t, drawRoom(t), 0, rapid.Float64Range(0, 50).Draw(t, "level"), drawChanges(t))
		want := rapid.Float64Range(0.001, 60).Draw(t, "want")
		from := float64(rapid.IntRange(0, 20_000).Draw(t, "from"))
		here, _ := c.At(from)
		for _, up := range []bool{true, false} {
			find, there := c.FirstAtLeast, func(l float64) bool { return l >= want*(1+1e-9) }
			if !up {
				find, there = c.FirstAtMost, func(l float64) bool { return l <= want*(1-1e-9) }
			}
			at, ok := find(want, from)
			end := from + 60_000
			if ok {
				// There, unless it was so from the beginning, the level is the one asked for. Far out on a nearly level
				// tail a second's rounding moves nothing, so only the level is compared.
				if got, _ := c.At(at); at > from && math.Abs(got-want) > 1e-9*want {
					t.Fatalf("up %v: %v at %v, want %v", up, got, at, want)
				}
				if at < from || at == from && !there(here) && math.Abs(here-want) > 1e-8*want {
					t.Fatalf("up %v: from %v (%v), reached %v at %v", up, from, here, want, at)
				}
				end = min(end, at)
			}
			for s := from; s < end; s += 97 {
				if l, _ := c.At(s); there(l) {
					t.Fatalf("up %v: %v at %v s already, before %v (%v)", up, l, s, at, ok)
				}
			}
		}
	})
}

func FuzzSolve(f *testing.F) {
	f.Add(100.0, 1.0, 0.6, 0.0, 1.0, 10.0, 1000.0, 20.0, 0.0, 15.0)
	f.Add(1e-3, 0.0, 0.0, -1e12, 1e12, 1e12, 1e12, 1e12, 1e12, 1e12)
	f.Fuzz(func(t *testing.T, volume, ach, settling, start, level, t1, g1, t2, g2, q float64) {
		room := Room{volume, ach, settling}
		c, err := Solve(room, start, level, []Change{{t1, g1}, {t2, g2}})
		if err != nil {
			return
		}
		a, _ := c.At(q)
		b, _ := c.Mean(start, q)
		d, e, _ := c.Peak(start, q)
		g, _ := c.FirstAtLeast(q, start)
		h, _ := c.FirstAtMost(q, start)
		i, _ := c.EightHourMean(t1, q)
		for _, v := range []float64{a, b, d, i, e - min(e, 0), g - min(g, 0), h - min(h, 0)} {
			if !(v >= 0) || math.IsInf(v, 0) {
				t.Fatalf("a result of %v", v)
			}
		}
		if at, ok := c.FirstAtLeast(q, start); ok && at < start {
			t.Fatalf("reached at %v, before the start %v", at, start)
		}
	})
}

// Linear growth shows as the same time per change at both sizes.
func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{2_000, 20_000} {
		changes := make([]Change, n)
		for i := range changes {
			changes[i] = Change{float64(i) * 3, float64(i%7) * 1000}
		}
		b.Run(fmt.Sprintf("%d", n), func(b *testing.B) {
			for b.Loop() {
				c := solve(b, Room{2000, 3, 0.6}, 0, 0, changes)
				c.Peak(0, 1e5)
				c.Mean(0, 1e5)
				c.FirstAtLeast(4.9, 0)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/change")
		})
	}
}
