// Package bigshow writes an invented show of any size, to measure with.
//
// In goes a [Size], out comes the JSON of a whole show: a hall with places,
// cameras, surfaces and circuits, types with emitters, a patch without clashes, a
// running order with people, and a cue list that goes on for as long as it is
// asked to. The same size gives the same bytes on any machine. Only tests and
// benchmarks import it. A newcomer's mistake would be to make the show wrong on
// purpose here: it is a sound evening, so that what is measured is a check and
// not the repair of one.
package bigshow

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Size is how big a show is. What is 0 is as in [Big].
type Size struct {
	Fixtures int // lines of the patch; the settings of a cue grow with them, from 2,000 on only washes, tops and beams are added for 40 places
	Cues     int
	Places   int // where people stand; no more than there are key lights for, eight each
}

// Big is a show as big as any that the program promises to check quickly: about
// 20 MB of JSON.
var Big = Size{Fixtures: 2000, Cues: 2000, Places: 40}

// Write writes the show as JSON. The error is that of the writer.
func Write(w io.Writer, size Size) error {
	if size.Fixtures <= 0 {
		size.Fixtures = Big.Fixtures
	}
	if size.Cues <= 0 {
		size.Cues = Big.Cues
	}
	if size.Places <= 0 {
		size.Places = Big.Places
	}
	p := &printer{w: bufio.NewWriterSize(w, 1<<16)}
	s := plan(size)
	p.print("{\n\"name\": \"Evening of %d cues\", \"date\": \"2026-03-08\", \"exported_at\": \"2026-03-08T16:40:00+00:00\",\n", size.Cues)
	s.notices(p)
	s.room(p)
	p.print("\"types\": %s,\n", types)
	s.patch(p)
	s.order(p)
	s.cues(p)
	p.print("}\n")
	return p.w.Flush()
}

// printer keeps the first error, which Flush returns.
type printer struct{ w *bufio.Writer }

func (p *printer) print(format string, args ...any) { fmt.Fprintf(p.w, format, args...) }

// list writes items between brackets with commas between them.
func (p *printer) list(name string, count int, item func(i int)) {
	p.print("%q: [\n", name)
	for i := range count {
		if i > 0 {
			p.print(",\n")
		}
		item(i)
	}
	p.print("\n]")
}

// block is fixtures side by side that a cue sets together.
type block struct {
	role        role
	first, last int // channels
	place       int // for lights of one place
}

func (b block) channels() string {
	if b.first == b.last {
		return fmt.Sprint(b.first)
	}
	return fmt.Sprintf("%d-%d", b.first, b.last)
}

type role struct {
	purpose, kind string
	slots         int
	watts         float64
	powerFactor   float64
}

var (
	key       = role{"key", "tunable profile 14", 6, 60, 0.95}
	back      = role{"back", "tunable profile 19", 6, 60, 0.95}
	wash      = role{"wash", "colour wash 7", 8, 140, 0.92}
	beam      = role{"beam", "beam 3", 18, 290, 0.92}
	top       = role{"top", "colour wash 7", 8, 140, 0.92}
	house     = role{"house", "house downlight row", 1, 180, 0.95}
	practical = role{"practical", "table lamp", 1, 40, 1}
	haze      = role{"haze", "glycol hazer", 2, 900, 1}
)

// show is the plan of what is written.
type show struct {
	size     Size
	places   int
	blocks   []block // in channel order
	segments []segment
}

type segment struct {
	name, kind, mood string
	first, count     int   // cues
	people           []int // places
	palette          [2]colour
	wheel            string
}

type colour struct {
	mix, rgb string
}

// The colours of the washes: two to a segment, and the same on screen.
var colours = []colour{
	{`{"red": 0, "green": 14, "blue": 100, "white": 4}`, "#2864b4"},
	{`{"red": 100, "green": 70, "blue": 0, "white": 25}`, "#f0a555"},
	{`{"red": 0, "green": 90, "blue": 60, "white": 10}`, "#0f919b"},
}

// perBlock is how many fixtures a cue sets together, other than those of a place;
// perPlace is how many key lights a place has.
const (
	perBlock = 10
	perPlace = 8
)

// plan shares out the fixtures: about a sixth are key lights, half are washes.
func plan(size Size) *show {
	s := &show{size: size}
	keys := min(max(size.Fixtures*16/100, 1), size.Places*perPlace) // with more, of any light that reaches people, it would be another evening
	s.places = max(min(size.Places, keys/perPlace), 1)
	backs := min(size.Fixtures*8/100, size.Places*perPlace/2)
	beams := size.Fixtures * 16 / 100
	tops := size.Fixtures * 6 / 100
	houses, practicals := min(size.Fixtures*3/100, 60), min(size.Fixtures/100, 20)
	hazers := min(size.Fixtures/50, 2)
	washes := size.Fixtures - keys - backs - beams - tops - houses - practicals - hazers

	s.spread(key, keys)
	s.spread(back, backs)
	s.cut(wash, washes)
	s.cut(beam, beams)
	s.cut(top, tops)
	s.cut(house, houses)
	s.cut(practical, practicals)
	s.cut(haze, hazers)
	s.planSegments()
	return s
}

func (s *show) add(r role, count, place int) {
	first := 1
	if n := len(s.blocks); n > 0 {
		first = s.blocks[n-1].last + 1
	}
	if count > 0 {
		s.blocks = append(s.blocks, block{r, first, first + count - 1, place})
	}
}

// spread gives every place its share of the lights.
func (s *show) spread(r role, count int) {
	for place := range s.places {
		s.add(r, (place+1)*count/s.places-place*count/s.places, place)
	}
}

// cut makes blocks of lights for the whole stage.
func (s *show) cut(r role, count int) {
	for ; count > 0; count -= perBlock {
		s.add(r, min(count, perBlock), -1)
	}
}

// cuesPerSegment is about what a song has.
const cuesPerSegment = 40

var kinds = []struct {
	kind, mood string
	people     int
}{
	{"opening", "middle", 0}, {"song", "loud", 8}, {"welcome", "middle", 1}, {"song", "loud", 6},
	{"prayer", "quiet", 2}, {"film", "quiet", 0}, {"talk", "quiet", 1}, {"song", "middle", 8},
}

var wheels = []string{"steel blue", "amber", "none"}

func (s *show) planSegments() {
	for first := 0; first < s.size.Cues; first += cuesPerSegment {
		i := len(s.segments)
		kind := kinds[i%len(kinds)]
		g := segment{
			name: fmt.Sprintf("%s %d", strings.ToUpper(kind.kind[:1])+kind.kind[1:], i+1), kind: kind.kind, mood: kind.mood,
			first: first, count: min(cuesPerSegment, s.size.Cues-first),
			palette: [2]colour{colours[i%len(colours)], colours[(i+1)%len(colours)]}, wheel: wheels[i%len(wheels)],
		}
		for k := range min(kind.people, s.places) {
			g.people = append(g.people, (i*5+k*3)%s.places)
		}
		g.people = distinct(g.people)
		s.segments = append(s.segments, g)
	}
}

func distinct(list []int) []int {
	var kept []int
	seen := map[int]bool{}
	for _, v := range list {
		if !seen[v] {
			seen[v] = true
			kept = append(kept, v)
		}
	}
	return kept
}

func (s *show) notices(p *printer) {
	p.print(`"notices": {"strobe": "None in this service.", "haze": "Sign at both doors and a line in the printed order.", "smoke_detection": "Set by the building manager, agreed in writing."},` + "\n")
}

// spot is where a place is: rows of eight, 1.6 m apart.
func (s *show) spot(place int) (x, y float64) {
	return float64(place%8)*1.6 - 5.6, 1 + float64(place/8)*1.6
}

func placeName(place int) string { return fmt.Sprintf("place %d", place+1) }

// The fixtures hang on bars, so many to a circuit that it carries at most 80 % of
// 16 A at 230 V when everything is at full.
const mostWatts = 0.8 * 16 * 230

func (s *show) room(p *printer) {
	p.print(`"room": {
"name": "Tallow Lane Hall", "ambient_lx": 2,
"air": {"volume_m3": 3500, "air_changes_per_h": 6, "settling_per_h": 0.6},
"cameras": [
{"name": "centre", "x": 0, "y": -25, "z": 1.5, "aimed_at": %[1]q, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400, "frame_rate_hz": 25},
{"name": "left", "x": -9, "y": -20, "z": 1.5, "aimed_at": %[1]q, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400, "frame_rate_hz": 25},
{"name": "right", "x": 9, "y": -20, "z": 1.5, "aimed_at": %[1]q, "white_k": 5600, "aperture_f": 4, "shutter_s": 0.02, "sensitivity_iso": 400, "frame_rate_hz": 25}
],
"areas": [{"name": "stalls", "kind": "audience", "x": [-8, 8], "y": [-22, -10], "z": -1}],
"surfaces": [
{"name": "LED wall", "kind": "emissive", "centre": {"x": 0, "y": 14, "z": 4}, "width_m": 12, "height_m": 5, "facing_deg": 0, "tilt_deg": 0, "white_k": 5600, "peak_cd_m2": 600, "black_cd_m2": 0.3, "drive_pct": 15, "reflectance": 0.05},
{"name": "dark drape", "kind": "drape", "centre": {"x": 0, "y": 14.5, "z": 4}, "width_m": 30, "height_m": 9, "facing_deg": 0, "tilt_deg": 0, "reflectance": 0.06}
],
`, placeName(0))
	p.list("places", s.places, func(place int) {
		x, y := s.spot(place)
		p.print(`{"name": %q, "x": %.1f, "y": %.1f, "z": 0, "head_m": 1.65, "facing_deg": 0, "skin": "light", "background": "dark drape"}`, placeName(place), x, y)
	})
	p.print(",\n")
	circuits := 0
	s.eachFixture(func(f fixture) { circuits = max(circuits, f.circuit+1) })
	p.list("circuits", circuits, func(i int) {
		p.print(`{"name": "%d", "volts": 230, "amps": 16}`, i+1)
	})
	p.print("\n},\n")
}

// fixture is one line of the patch.
type fixture struct {
	block
	channel        int
	universe, slot int
	circuit        int
	x, y, z        float64
	aim            string
}

func (s *show) eachFixture(do func(fixture)) {
	universe, slot, circuit, load := 1, 1, 0, 0.0
	for _, b := range s.blocks {
		for channel := b.first; channel <= b.last; channel++ {
			if slot+b.role.slots-1 > 512 {
				universe, slot = universe+1, 1
			}
			watts := b.role.watts / b.role.powerFactor
			if load+watts > mostWatts {
				circuit, load = circuit+1, 0
			}
			load += watts
			f := fixture{block: b, channel: channel, universe: universe, slot: slot, circuit: circuit}
			f.hang()
			s.aim(&f)
			slot += b.role.slots
			do(f)
		}
	}
}

// hang gives the fixture a place on a bar of its kind.
func (f *fixture) hang() {
	step := float64((f.channel-f.first)%perBlock)*1.4 - 6.3
	switch f.role {
	case house:
		f.x, f.y, f.z = 2*step, -12, 9
	case practical:
		f.x, f.y, f.z = step, 7.5, 0.6
	case haze:
		f.x, f.y, f.z = 2*step, 9, 0.3
	case beam:
		f.x, f.y, f.z = step, 11, 6.5
	default:
		f.x, f.y, f.z = step, 10.5, 7.5
	}
}

// aim points the fixture; lights of a place hang where they meet it at 35 to 50
// degrees, from the front or from behind.
func (s *show) aim(f *fixture) {
	if f.place < 0 {
		f.aim = fmt.Sprintf(`{"x": %.1f, "y": 14, "z": 5}`, f.x) // the drape, away from people
		return
	}
	x, y := s.spot(f.place)
	side := float64((f.channel-f.first)%4)*1.4 - 2.1
	f.x, f.y, f.z = x+side, y-5, 6.5
	if f.role == back {
		f.y = y + 3.5
	}
	f.aim = fmt.Sprintf("%q", placeName(f.place))
}

func (s *show) patch(p *printer) {
	p.print("\"patch\": [\n")
	first := true
	s.eachFixture(func(f fixture) {
		if !first {
			p.print(",\n")
		}
		first = false
		white := ""
		if f.role == key || f.role == back {
			white = `, "white_k": 5600`
		}
		p.print(`{"channel": %d, "address": "%d.%d", "name": "%s %d", "type": %q, "purpose": %q, "hung_on": "bar %d", "hung_at": {"x": %.1f, "y": %.1f, "z": %.1f}, "aimed_at": %s%s, "circuit": "%d"}`,
			f.channel, f.universe, f.slot, f.role.purpose, f.channel, f.role.kind, f.role.purpose, f.circuit/8+1, f.x, f.y, f.z, f.aim, white, f.circuit+1)
	})
	p.print("\n],\n")
}

func (s *show) order(p *printer) {
	p.list("order", len(s.segments), func(i int) {
		g := s.segments[i]
		names := make([]string, len(g.people))
		for k, place := range g.people {
			names[k] = fmt.Sprintf("%q", placeName(place))
		}
		p.print(`{"name": %q, "kind": %q, "start_cue": %d, "duration_s": %d, "mood": %q, "people": [%s], "palette": [%q, %q]}`,
			g.name, g.kind, g.first+1, g.count*10, g.mood, strings.Join(names, ", "), g.palette[0].rgb, g.palette[1].rgb)
	})
	p.print(",\n")
}

func (s *show) cues(p *printer) {
	p.print("\"cues\": [\n")
	for i, g := range s.segments {
		for step := range g.count {
			if i+step > 0 {
				p.print(",\n")
			}
			s.cue(p, g, step)
		}
	}
	p.print("\n]\n")
}

// cue writes one cue. The first of a segment, and the one after the look at every
// light, start from black and set every block; the others set seven of ten blocks
// and leave the rest as it was.
func (s *show) cue(p *printer, g segment, step int) {
	number := g.first + step
	whole, tracking := step == 0 || number == 1, "carry"
	if whole {
		tracking = "release"
	}
	note := ""
	if number == 0 {
		note = ` "note": "The lights are seen once before doors",`
	}
	p.print(`{"cue": %d, "name": "Step %d of %s", "segment": %q,%s "at_s": %d, "in_s": %d, "tracking": %q, "set": [`,
		number+1, step+1, g.name, g.name, note, step*10, 2+step%5, tracking)
	first := true
	for i, b := range s.blocks {
		if !whole && (b.place >= 0 || (i*7+number*3)%10 >= 7) {
			continue
		}
		does := s.does(b, i, g, step)
		if does == "" {
			continue
		}
		if !first {
			p.print(",")
		}
		first = false
		p.print("\n"+`{"channels": %q, %s}`, b.channels(), does)
	}
	p.print(`], "screens": [{"screen": "LED wall", "drive_pct": %d}]}`, 10+step%3)
}

// does is what a cue makes of a block, or "" if it leaves it alone. The very
// first cue shows every light but the beams, which wait for the haze; then lights of
// a place are lit for the people who stand there, and beams and top light take turns.
func (s *show) does(b block, index int, g segment, step int) string {
	everything := g.first+step == 0
	// Each segment swells and falls: in a loud one from 15 to 60 percent.
	level := 15 + 45*(cuesPerSegment/2-abs(step-cuesPerSegment/2))*2/cuesPerSegment
	switch g.mood {
	case "quiet":
		level /= 4
	case "middle":
		level = level * 2 / 3
	}
	switch b.role {
	case key, back:
		if everything || slices.Contains(g.people, b.place) {
			return fmt.Sprintf(`"level": %d, "white_k": 5600`, b.role.level())
		}
		return ""
	case wash:
		return fmt.Sprintf(`"level": %d, "mix": %s`, level+(index*13+step*7)%15, g.colour(index))
	case top:
		if g.kind == "song" {
			return `"level": 0`
		}
		return fmt.Sprintf(`"level": %d, "mix": %s`, level+(index*13+step*7)%15, g.colour(index))
	case beam:
		if g.kind != "song" || step == 0 {
			return fmt.Sprintf(`"level": 0, "wheel": %q`, g.wheel)
		}
		return fmt.Sprintf(`"level": %d, "wheel": %q`, 5+level/2+(index*11+step*5)%15, g.wheel)
	case house:
		return fmt.Sprintf(`"level": %d`, 2+index%3)
	case practical:
		return `"level": 40`
	case haze:
		if g.kind == "talk" {
			return `"level": 0`
		}
	}
	return `"level": 50`
}

// colour is the colour of a block: every fourth has the second, which is an accent.
func (g segment) colour(index int) string {
	if index%4 == 0 {
		return g.palette[1].mix
	}
	return g.palette[0].mix
}

// level is what the lights of a place are lit at: about what the cameras are set
// for, and the same from behind.
func (r role) level() int {
	if r == key {
		return 40
	}
	return 90
}

func abs(v int) int { return max(v, -v) }

// types are invented; the emitters are chromaticities of usual LEDs, common
// practice, no source.
const types = `[
{"name": "tunable profile 14", "source": "tunable-led", "slots": 6, "watts": 60, "power_factor": 0.95, "white_range_k": [2700, 6500], "duv": 0.001, "emitters": [{"name": "warm", "x": 0.4605, "y": 0.4150, "flux_lm": 400}, {"name": "cool", "x": 0.3130, "y": 0.3325, "flux_lm": 520}], "dimmer_curve": "linear", "pwm_hz": 25000, "cri": 95, "tlci": 94, "beam_deg": 11, "field_deg": 14, "flux_lm": 600},
{"name": "tunable profile 19", "source": "tunable-led", "slots": 6, "watts": 60, "power_factor": 0.95, "white_range_k": [2700, 6500], "duv": 0.001, "emitters": [{"name": "warm", "x": 0.4605, "y": 0.4150, "flux_lm": 400}, {"name": "cool", "x": 0.3130, "y": 0.3325, "flux_lm": 520}], "dimmer_curve": "linear", "pwm_hz": 25000, "cri": 95, "tlci": 93, "beam_deg": 15, "field_deg": 19, "flux_lm": 600},
{"name": "colour wash 7", "source": "colour-led", "slots": 8, "watts": 140, "power_factor": 0.92, "emitters": [{"name": "red", "x": 0.6930, "y": 0.3060, "flux_lm": 620}, {"name": "green", "x": 0.1700, "y": 0.7000, "flux_lm": 1050}, {"name": "blue", "x": 0.1400, "y": 0.0500, "flux_lm": 230}, {"name": "white", "x": 0.3290, "y": 0.3400, "flux_lm": 1300}], "dimmer_curve": "linear", "pwm_hz": 16000, "beam_deg": 26, "field_deg": 42, "flux_lm": 3200},
{"name": "beam 3", "source": "discharge", "slots": 18, "watts": 290, "power_factor": 0.92, "white_k": 6800, "duv": 0.004, "filters": [{"name": "steel blue", "x": 0.235, "y": 0.250, "transmission": 0.38}, {"name": "amber", "x": 0.500, "y": 0.420, "transmission": 0.55}], "beam_deg": 2.4, "field_deg": 3.4, "flux_lm": 5200, "moving": true},
{"name": "house downlight row", "source": "white-led", "slots": 1, "watts": 180, "power_factor": 0.95, "white_k": 4000, "duv": 0.001, "dimmer_curve": "linear", "pwm_hz": 20000, "cri": 92, "tlci": 88, "beam_deg": 50, "field_deg": 70, "flux_lm": 14000},
{"name": "table lamp", "source": "tungsten", "slots": 1, "watts": 40, "power_factor": 1, "white_k": 2700, "duv": 0, "halogen": false, "dimmer_curve": "square", "cri": 99, "tlci": 99, "beam_deg": 110, "field_deg": 160, "flux_lm": 400},
{"name": "glycol hazer", "source": "none", "slots": 2, "watts": 900, "power_factor": 1, "machine": {"kind": "hazer", "fluid": "glycol", "output_mg_h": 150000}}
]`
