package colour

import (
	order "cmp"
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// arcsByBruteForce tries every set of cuts and returns the fewest runs and the
// least spread among those.
func arcsByBruteForce(hues []hueWeight, width float64) (fewest int, least float64) {
	n := len(hues)
	fewest, least = n+1, math.Inf(1)
	for cuts := uint(1); cuts < 1<<n; cuts++ {
		runs := bits.OnesCount(cuts)
		if runs > fewest {
			continue
		}
		total, fits := 0.0, true
		for i := range n {
			if cuts>>i&1 == 0 {
				continue
			}
			run := []hueWeight{hues[i]}
			for j := 1; j < n && cuts>>((i+j)%n)&1 == 0; j++ {
				h := hues[(i+j)%n]
				run = append(run, hueWeight{hues[i].hue + wrapDegrees(h.hue-hues[i].hue), h.weight})
			}
			fits = fits && run[len(run)-1].hue-run[0].hue <= width+arcSlack
			total += spreadOf(run)
		}
		if fits && (runs < fewest || total < least) {
			fewest, least = runs, total
		}
	}
	return fewest, least
}

func spreadOf(run []hueWeight) (sum float64) {
	var weight, mean float64
	for _, h := range run {
		weight += h.weight
		mean += h.weight * (h.hue - run[0].hue)
	}
	mean /= weight
	for _, h := range run {
		d := h.hue - run[0].hue - mean
		sum += h.weight * d * d
	}
	return sum
}

// drawHues draws distinct sorted hues whose weights sum to 1.
func drawHues(t *rapid.T, most int) []hueWeight {
	// Whole and half degrees make equal distances, and so ties, likely.
	grain := rapid.SampledFrom([]float64{0.5, 15, 1e-3}).Draw(t, "grain")
	steps := rapid.SliceOfNDistinct(rapid.IntRange(0, int(360/grain)-1), 1, most, rapid.ID).Draw(t, "steps")
	slices.Sort(steps)
	var hues []hueWeight
	var total float64
	for _, s := range steps {
		w := rapid.Float64Range(0.1, 10).Draw(t, "weight")
		total += w
		hues = append(hues, hueWeight{float64(s) * grain, w})
	}
	for i := range hues {
		hues[i].weight /= total
	}
	return hues
}

func arcsSpread(hues []hueWeight, found []arc) (sum, widest float64, members int) {
	for _, a := range found {
		var run []hueWeight
		for k := range a.count {
			h := hues[(a.first+k)%len(hues)]
			run = append(run, hueWeight{hues[a.first].hue + wrapDegrees(h.hue-hues[a.first].hue), h.weight})
		}
		sum += spreadOf(run)
		widest = max(widest, run[len(run)-1].hue-run[0].hue)
		members += a.count
	}
	return sum, widest, members
}

func TestArcsAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hues := drawHues(t, 10)
		width := rapid.Float64Range(0, 180).Draw(t, "width")
		if rapid.Bool().Draw(t, "round") {
			width = math.Round(width/15) * 15
		}
		found := arcs(hues, width)
		spread, widest, members := arcsSpread(hues, found)
		fewest, least := arcsByBruteForce(hues, width)
		if widest > width+arcSlack || members != len(hues) {
			t.Fatalf("%v: widest %g, %d members", found, widest, members)
		}
		// The prefix sums of the one and the direct sums of the other.
		if len(found) != fewest || math.Abs(spread-least) > 1e-7 {
			t.Fatalf("%d runs of spread %g, best is %d of %g", len(found), spread, fewest, least)
		}
	})
}

// Turning the circle turns the answer. Hues and weights at random have no two
// equally good divisions, so every run must come back with the same members.
func TestArcsTurnWithTheCircle(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		hues := make([]hueWeight, 1+random.IntN(40))
		for i := range hues {
			hues[i] = hueWeight{360 * random.Float64(), random.Float64() / float64(len(hues))}
		}
		width, turn := 120*random.Float64(), 360*random.Float64()
		turned := slices.Clone(hues)
		for i := range turned {
			turned[i].hue = wrapDegrees(turned[i].hue + turn)
		}
		if diff := cmp.Diff(runWeights(hues, width), runWeights(turned, width)); diff != "" {
			t.Fatalf("%v, width %g, turned by %g:\n%s", hues, width, turn, diff)
		}
	}
}

// runWeights returns the weights in each run, as a sorted list of sorted lists:
// random weights name their hues.
func runWeights(hues []hueWeight, width float64) (runs [][]float64) {
	slices.SortFunc(hues, func(a, b hueWeight) int { return order.Compare(a.hue, b.hue) })
	for _, a := range arcs(hues, width) {
		var run []float64
		for k := range a.count {
			run = append(run, hues[(a.first+k)%len(hues)].weight)
		}
		slices.Sort(run)
		runs = append(runs, run)
	}
	slices.SortFunc(runs, slices.Compare)
	return runs
}

func TestArcsByHand(t *testing.T) {
	at := func(hues ...float64) (h []hueWeight) {
		for _, hue := range hues {
			h = append(h, hueWeight{hue, 1 / float64(len(hues))})
		}
		return h
	}
	for name, c := range map[string]struct {
		hues  []hueWeight
		width float64
		want  []arc
	}{
		"none":                    {nil, 30, nil},
		"one":                     {at(200), 0, []arc{{0, 1}}},
		"across 0":                {at(5, 350), 30, []arc{{1, 2}}},
		"just wide enough":        {at(10, 40), 30, []arc{{0, 2}}},
		"just too wide":           {at(10, 40.001), 30, []arc{{0, 1}, {1, 1}}},
		"no width":                {at(10, 20, 30), 0, []arc{{0, 1}, {1, 1}, {2, 1}}},
		"all in one":              {at(10, 100, 190), 180, []arc{{0, 3}}},
		"nearer to the left":      {at(0, 20, 50), 30, []arc{{0, 2}, {2, 1}}},
		"nearer to the right":     {at(0, 30, 50), 30, []arc{{0, 1}, {1, 2}}},
		"two, not the greedy way": {at(0, 25, 35, 60), 40, []arc{{0, 2}, {2, 2}}},
	} {
		got := arcs(c.hues, c.width)
		slices.SortFunc(got, func(a, b arc) int { return a.first - b.first })
		if diff := cmp.Diff(c.want, got, cmp.AllowUnexported(arc{})); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// light returns the tristimulus values of an OKLCh hue of chroma over lightness
// 0.15, which every hue has a real light for.
func light(hue, lumens float64) XYZ {
	xyz, _ := OKLCh{1, 0.15, hue}.Lab().XYZ()
	return xyz.Scale(lumens / xyz.Y)
}

func TestHuesOf(t *testing.T) {
	daylight, _ := D65.XYZ(1000)
	warmXY, _ := PlanckianOffset(3200, 0.002)
	warm, _ := warmXY.XYZ(500)
	lights := []XYZ{
		light(262, 300), light(5, 10), daylight, light(258, 100), light(355, 10), {}, warm, light(120, 5), {X: -1},
	}
	limits := DefaultHueLimits()
	got, ok := HuesOf(lights, limits)
	if !ok {
		t.Fatal("no answer")
	}
	want := LookHues{
		Groups: []HueGroup{
			{Hue: 261, From: 258, Span: 4, Share: 400. / 1925, ColouredShare: 400. / 425, Role: Main, Lights: []int{0, 3}},
			{Hue: 0, From: 355, Span: 10, Share: 20. / 1925, ColouredShare: 20. / 425, Role: Accent, Lights: []int{1, 4}},
			{Hue: 120, From: 120, Share: 5. / 1925, ColouredShare: 5. / 425, Role: Trace, Lights: []int{7}},
		},
		White: []int{2, 6}, WhiteShare: 1500. / 1925, Unknown: []int{8}, Flux: 1925,
	}
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(wrapDegrees(a-b+180)-180) < 2e-6 })
	if diff := cmp.Diff(want, got, near); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}

	// Without whites by temperature, warm white is an amber light.
	limits.LowestWhite = 0
	got, _ = HuesOf(lights, limits)
	if name, _ := HueFamily(got.Groups[0].Hue); name != "amber" || !slices.Equal(got.Groups[0].Lights, []int{6}) {
		t.Errorf("warm white: %s, %+v", name, got.Groups[0])
	}
}

func drawLights(t *rapid.T, most int) []XYZ {
	hue := rapid.Float64Range(0, 360)
	if rapid.Bool().Draw(t, "few hues") {
		hue = rapid.SampledFrom([]float64{0, 29, 110, 142, 195, 264, 328, 359})
	}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) XYZ {
		if rapid.IntRange(0, 5).Draw(t, "kind") == 0 {
			xy, _ := PlanckianOffset(rapid.Float64Range(2500, 9000).Draw(t, "white"), 0)
			xyz, _ := xy.XYZ(rapid.Float64Range(1, 1000).Draw(t, "lumens"))
			return xyz
		}
		return light(hue.Draw(t, "hue"), rapid.Float64Range(1, 1000).Draw(t, "lumens"))
	}), 0, most).Draw(t, "lights")
}

// Every figure is the same to the last bit whatever the order of the lights,
// and unlit lights leave no trace.
func TestHuesOfIsOrderFree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lights := drawLights(t, 40)
		order := rapid.Permutation(indices(len(lights))).Draw(t, "order")
		shuffled := make([]XYZ, len(lights))
		for to, from := range order {
			shuffled[to] = lights[from]
		}
		limits := DefaultHueLimits()
		limits.Width = rapid.Float64Range(0, 180).Draw(t, "width")
		a, ok1 := HuesOf(lights, limits)
		b, ok2 := HuesOf(append(shuffled, XYZ{}, XYZ{}), limits)
		if !ok1 || !ok2 {
			t.Fatal("no answer")
		}
		for _, list := range append(lightsOf(b), b.White) {
			for i := range list {
				list[i] = order[list[i]]
			}
			slices.Sort(list)
		}
		if diff := cmp.Diff(a, b); diff != "" {
			t.Fatalf("order matters:\n%s", diff)
		}
		checkLook(t, lights, a, limits)
	})
}

func indices(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func lightsOf(look LookHues) (lists [][]int) {
	for _, g := range look.Groups {
		lists = append(lists, g.Lights)
	}
	return lists
}

// checkLook checks what must hold of every answer.
func checkLook(t *rapid.T, lights []XYZ, look LookHues, limits HueLimits) {
	share, coloured, seen := look.WhiteShare, 0.0, len(look.White)+len(look.Unknown)
	for _, g := range look.Groups {
		share += g.Share
		coloured += g.ColouredShare
		seen += len(g.Lights)
		if !(g.Span <= limits.Width+2*hueGrain) || !finite(g.Hue, g.From, g.Share) || g.Hue < 0 || g.Hue >= 360 {
			t.Fatalf("%+v", g)
		}
	}
	lit := 0
	for _, c := range lights {
		if c != (XYZ{}) {
			lit++
		}
	}
	if seen != lit {
		t.Fatalf("%d of %d lit lights told of", seen, lit)
	}
	if look.Flux > 0 && math.Abs(share-1) > 1e-9 || len(look.Groups) > 0 && math.Abs(coloured-1) > 1e-9 {
		t.Fatalf("shares sum to %g and %g", share, coloured)
	}
}

// Dimming the whole look changes nothing but its flux.
func TestHuesOfAtAnyIntensity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lights := drawLights(t, 20)
		dimmed := make([]XYZ, len(lights))
		for i, c := range lights {
			dimmed[i] = c.Scale(0.25) // exact in binary
		}
		a, _ := HuesOf(lights, DefaultHueLimits())
		b, _ := HuesOf(dimmed, DefaultHueLimits())
		b.Flux *= 4
		if diff := cmp.Diff(a, b); diff != "" {
			t.Fatalf("intensity matters:\n%s", diff)
		}
	})
}

func TestHuesOfBadInput(t *testing.T) {
	nan := math.NaN()
	for name, change := range map[string]func(*HueLimits){
		"negative chroma": func(l *HueLimits) { l.NearWhite = -1 },
		"NaN chroma":      func(l *HueLimits) { l.NearWhite = nan },
		"NaN white":       func(l *HueLimits) { l.LowestWhite = nan },
		"NaN whitest":     func(l *HueLimits) { l.HighestWhite = nan },
		"NaN duv":         func(l *HueLimits) { l.WhiteDuv = nan },
		"wide":            func(l *HueLimits) { l.Width = 181 },
		"NaN width":       func(l *HueLimits) { l.Width = nan },
		"accent over main": func(l *HueLimits) {
			l.Accent, l.Main = 0.5, 0.2
		},
		"main over all": func(l *HueLimits) { l.Main = 1.1 },
		"NaN main":      func(l *HueLimits) { l.Main = nan },
	} {
		limits := DefaultHueLimits()
		change(&limits)
		if _, ok := HuesOf([]XYZ{light(0, 1)}, limits); ok {
			t.Errorf("%s accepted", name)
		}
	}
	if look, ok := HuesOf(nil, DefaultHueLimits()); !ok || len(look.Groups) != 0 || look.Flux != 0 || look.WhiteShare != 0 {
		t.Errorf("nothing: %+v, %v", look, ok)
	}
	if _, ok := HuesOf([]XYZ{light(0, 5e307), light(1, 5e307), light(2, 5e307), light(3, 5e307)}, DefaultHueLimits()); ok {
		t.Error("overflow accepted")
	}
	bad := []Tint{{Hue: nan, Flux: 1}, {Hue: 360, Flux: 1}, {Hue: -1, Flux: 1}, {Flux: nan}, {Flux: -1}, {White: true, Flux: math.Inf(1)}, {Hue: nan}}
	if look, ok := HuesOfTints(bad, DefaultHueLimits()); !ok || !slices.Equal(look.Unknown, []int{0, 1, 2, 3, 4, 5}) || look.Flux != 0 {
		t.Errorf("bad tints: %+v, %v", look, ok)
	}
	rapid.Check(t, func(t *rapid.T) {
		lights := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) XYZ {
			part := rapid.OneOf(rapid.Float64(), rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, nan, math.Inf(1), 5e-324, 1e300}))
			return XYZ{part.Draw(t, "X"), part.Draw(t, "Y"), part.Draw(t, "Z")}
		}), 0, 20).Draw(t, "lights")
		if look, ok := HuesOf(lights, DefaultHueLimits()); ok {
			checkLook(t, lights, look, DefaultHueLimits())
		}
	})
}

func TestHueFamily(t *testing.T) {
	hue := func(c XY) float64 {
		lch, ok := c.OKLCh()
		if !ok {
			t.Fatalf("%v has no hue", c)
		}
		return lch.H
	}
	for hex, want := range map[string]string{
		"#ff0000": "red", "#ffff00": "yellow", "#00ff00": "green", "#00ffff": "cyan", "#0000ff": "blue", "#ff00ff": "magenta",
		"#ff8000": "orange", "#ffbf00": "amber", "#8000ff": "violet", "#ff0080": "pink", "#ffc0cb": "pink", "#dc143c": "red",
		"#ffa500": "amber", // where the emitter's word and the web's part
		"#008080": "cyan", "#0080ff": "blue", "#80ff00": "green", "#9370db": "violet", "#ff69b4": "pink", "#800080": "magenta",
	} {
		xyz, err := HexXYZ(hex)
		if err != nil {
			t.Fatal(err)
		}
		xy, _ := xyz.XY()
		if got, ok := HueFamily(hue(xy)); !ok || got != want {
			t.Errorf("%s, hue %.1f: %s, want %s", hex, hue(xy), got, want)
		}
	}
	for nm, want := range map[float64]string{
		660: "red", 625: "red", 602: "orange", 590: "amber", 575: "yellow", 570: "yellow", 525: "green", 530: "green", 500: "cyan",
		490: "cyan", 470: "blue", 450: "blue", 430: "violet", 410: "violet",
	} {
		xy, _ := Monochromatic(nm)
		if got, ok := HueFamily(hue(xy)); !ok || got != want {
			t.Errorf("%g nm, hue %.1f: %s, want %s", nm, hue(xy), got, want)
		}
	}
	for i, f := range hueFamilies {
		before := hueFamilies[(i+len(hueFamilies)-1)%len(hueFamilies)].name
		at, _ := HueFamily(f.from)
		below, _ := HueFamily(math.Nextafter(f.from, 0))
		again, _ := HueFamily(f.from - 360)
		if at != f.name || below != before || again != f.name {
			t.Errorf("%g: %s, below it %s, a turn before %s", f.from, at, below, again)
		}
	}
	for _, h := range []float64{0, 360, -1e-300, 719} {
		if got, _ := HueFamily(h); got != "pink" {
			t.Errorf("hue %g is %s", h, got)
		}
	}
	for _, h := range []float64{math.NaN(), math.Inf(1)} {
		if _, ok := HueFamily(h); ok {
			t.Errorf("hue %g accepted", h)
		}
	}
}

func TestWhite(t *testing.T) {
	limits := DefaultHueLimits()
	for T := 2400.0; T <= 10000; T += 100 {
		for _, duv := range []float64{-0.009, 0, 0.009} {
			xy, _ := PlanckianOffset(T+1, duv)
			if T < 10000 && !isWhite(limits, xy) {
				t.Errorf("%g K, Duv %g is no white", T, duv)
			}
		}
	}
	for _, hex := range []string{"#ff0000", "#ffff00", "#00ff00", "#00ffff", "#0000ff", "#ff00ff", "#ffb6c1", "#add8e6"} {
		xyz, _ := HexXYZ(hex)
		xy, _ := xyz.XY()
		if isWhite(limits, xy) {
			t.Errorf("%s is white", hex)
		}
	}
}

// BenchmarkHuesOf sets the grouping of a look against the colour conversions in
// it: "distinct" has as many hues as lights, which no real look has.
func BenchmarkHuesOf(b *testing.B) {
	for _, n := range []int{40, 2000} {
		few, distinct := make([]XYZ, n), make([]XYZ, n)
		for i := range n {
			few[i] = light(float64(i%12)*31, float64(1+i%7))
			distinct[i] = light(math.Mod(float64(i)*360*math.Phi, 360), float64(1+i%7))
		}
		limits := DefaultHueLimits()
		b.Run(fmt.Sprintf("few-hues-%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				HuesOf(few, limits)
			}
		})
		b.Run(fmt.Sprintf("distinct-%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				HuesOf(distinct, limits)
			}
		})
		// Hues that leave the runs much room to shift: the hardest for arcs.
		limits.Width = 50
		b.Run(fmt.Sprintf("distinct-wide-%d", n), func(b *testing.B) {
			for b.Loop() {
				HuesOf(distinct, limits)
			}
		})
		// The same look, its tints kept from another.
		tints := make([]Tint, n)
		for i := range tints {
			tints[i], _ = limits.Tint(few[i])
		}
		b.Run(fmt.Sprintf("tints-%d", n), func(b *testing.B) {
			for b.Loop() {
				HuesOfTints(tints, limits)
			}
		})
		b.Run(fmt.Sprintf("conversions-%d", n), func(b *testing.B) {
			for b.Loop() {
				for _, c := range few {
					xy, _ := c.XY()
					xy.OKLCh()
				}
			}
		})
	}
}

// HuesOf is HuesOfTints of the Tint of each light; unlit lights are left out.
func HuesOf(lights []XYZ, limits HueLimits) (look LookHues, ok bool) {
	tints := make([]Tint, len(lights))
	for i, c := range lights {
		if c == (XYZ{}) {
			continue
		}
		if tints[i], ok = limits.Tint(c); !ok {
			tints[i].Flux = math.NaN()
		}
	}
	return HuesOfTints(tints, limits)
}

func isWhite(l HueLimits, c XY) bool {
	xyz, ok := c.XYZ(1)
	if !ok {
		return false
	}
	tint, ok := l.Tint(xyz)
	return ok && tint.White
}

// The words for hues are what people are told, so each bound is pinned: a little under it the one word, from it on the
// next.
func TestHueBounds(t *testing.T) {
	for _, b := range []struct {
		at            float64
		before, after string
	}{
		{14, "pink", "red"}, {37, "red", "orange"}, {55, "orange", "amber"}, {90, "amber", "yellow"}, {120, "yellow", "green"},
		{170, "green", "cyan"}, {220, "cyan", "blue"}, {287, "blue", "violet"}, {312, "violet", "magenta"}, {342, "magenta", "pink"},
	} {
		below, _ := HueFamily(b.at - 0.01)
		from, _ := HueFamily(b.at)
		if below != b.before || from != b.after {
			t.Errorf("around %v degrees %s and %s, want %s and %s", b.at, below, from, b.before, b.after)
		}
	}
}

func TestLimitsOfHuesThatCanBe(t *testing.T) {
	for about, c := range map[string]struct {
		limits HueLimits
		want   bool
	}{
		"none": {HueLimits{}, true}, "the usual": {DefaultHueLimits(), true}, "the widest": {HueLimits{Width: 180, Main: 1, Accent: 1}, true},
		"near white": {HueLimits{NearWhite: -0.1}, false}, "lowest": {HueLimits{LowestWhite: -1}, false}, "highest": {HueLimits{HighestWhite: -1}, false}, "off": {HueLimits{WhiteDuv: -0.1}, false},
		"narrow": {HueLimits{Width: -1}, false}, "wide": {HueLimits{Width: 180.1}, false}, "accent": {HueLimits{Accent: -0.1}, false}, "main under accent": {HueLimits{Accent: 0.2, Main: 0.1}, false}, "over all": {HueLimits{Main: 1.1}, false},
	} {
		if c.limits.valid() != c.want {
			t.Errorf("%s: can be: %t", about, !c.want)
		}
	}
}
