// Package season makes an invented year of services out of one show, to hold a
// comparison of weeks against.
//
// In go the JSON of a show and a seed, out comes a list of [Service], two a week.
// From one service to the next people do what people do: songs get other titles,
// cues other numbers, places other names, rows stand in another order, and now
// and then a fault comes in, grows or is put right. Every service is given twice:
// dressed, as the team would export it, and plain, with the same faults under the
// names of the show that it was made from. What is new, worse or gone between two
// plain services can be read off their names alone; a comparison of the dressed
// ones has to say the same. Now and then somebody accepts something; what that is about
// next week, [Service.Dressed] tells. A newcomer's mistake would be to let a change of dress
// alter what people see: it changes words, numbers and the order of rows only.
package season

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Service is one service of the year.
type Service struct {
	Week    int    // counted from 0
	Evening bool   // the second service of its week
	Day     string // 2026-01-04
	Show    []byte // JSON of the show as it would be exported
	Plain   []byte // JSON of the same show under the names of the first one
	Faults  []Fault
	Edits   []string // what people did since the service before, in words
	File    string   // what the show is called as a file
	Accept  uint64   // somebody accepts one thing that is found in it, chosen by this number; 0 for nothing
	Forget  bool     // somebody takes out what was accepted first

	wears dress
}

// Dressed is what a thing of the plain show is called in the dressed one; the kind is
// cue, segment or place, and all else keeps its name.
func (s *Service) Dressed(kind, name string) string {
	to := name
	switch kind {
	case "cue":
		if number, err := strconv.ParseFloat(name, 64); err == nil {
			to = strconv.FormatFloat(number*s.wears.times+s.wears.plus, 'f', -1, 64)
		}
	case "segment":
		to = s.wears.titles[name]
	case "place":
		to = s.wears.places[name]
	}
	return cmp.Or(to, name)
}

// Fault is something wrong that was put into a show.
type Fault struct {
	Kind string // a key of the table of faults
	Size int    // how bad: 0 is its first size, each step up is worse
}

// show is decoded JSON; lists keep their order.
type show = map[string]any

// fault is a mistake that people make. put makes it in a plain show, so that a
// greater size is the same mistake, only worse.
type fault struct {
	kind  string
	sizes int
	put   func(s show, size int)
}

// faults are mistakes on the first lines of whatever a show has, so that any show with
// two fixtures, a camera and two cues can carry most of them. One that finds nothing
// to be made in leaves the show as it is.
var faults = []fault{
	{"address-clash", 1, func(s show, _ int) {
		if p := list(s, "patch"); len(p) > 3 {
			p[3]["address"] = p[0]["address"]
		}
	}},
	{"address-out-of-range", 1, func(s show, _ int) {
		if p := list(s, "patch"); len(p) > 5 {
			p[5]["address"] = "70000.1"
		}
	}},
	{"channel-twice", 1, func(s show, _ int) {
		if p := list(s, "patch"); len(p) > 6 {
			p[6]["channel"] = p[7]["channel"]
		}
	}},
	{"camera-white", 3, func(s show, size int) {
		if room, ok := s["room"].(show); ok {
			if c := list(room, "cameras"); len(c) > 1 {
				c[1]["white_k"] = 4600 - 400*size
			}
		}
	}},
	{"channel-unknown", 1, func(s show, _ int) {
		if c := list(s, "cues"); len(c) > 1 {
			set, _ := c[1]["set"].([]any)
			c[1]["set"] = append(set, show{"channels": "9001", "level": 50})
		}
	}},
	{"no-word-about-smoke", 1, func(s show, _ int) {
		if n, ok := s["notices"].(show); ok {
			delete(n, "smoke_detection")
		}
	}},
	{"circuit-overload", 3, func(s show, size int) {
		p := list(s, "patch")
		if len(p) == 0 || p[0]["circuit"] == nil {
			return
		}
		left := 20 + 4*size
		for _, f := range p {
			if left > 0 && f["circuit"] != nil && f["circuit"] != p[0]["circuit"] {
				f["circuit"] = p[0]["circuit"]
				left--
			}
		}
	}},
	{"key-too-low", 3, func(s show, size int) { scaleKeys(s, 0.35-0.1*float64(size)) }},
	{"screen-too-bright", 3, func(s show, size int) {
		for _, cue := range list(s, "cues") {
			for _, screen := range list(cue, "screens") {
				screen["drive_pct"], screen["content_pct"] = 50+25*size, 60
			}
		}
	}},
	{"strobe-too-fast", 3, func(s show, size int) {
		cues := list(s, "cues")
		if len(cues) < 6 {
			return
		}
		cue := cues[len(cues)/2]
		if set := list(cue, "set"); len(set) > 0 {
			set[len(set)-1]["strobe_hz"] = 6 + 4*size
		}
	}},
}

// scaleKeys turns down every setting that is of key and fill lights alone, as if their master had been pulled by mistake.
func scaleKeys(s show, by float64) {
	front := map[string]bool{} // channels, and groups of nothing else
	for _, f := range list(s, "patch") {
		if f["purpose"] == "key" || f["purpose"] == "fill" {
			front[fmt.Sprint(f["channel"])] = true
		}
	}
	all := func(channels any) bool {
		return !slices.ContainsFunc(strings.Split(fmt.Sprint(channels), ","), func(c string) bool { return !front[strings.TrimSpace(c)] })
	}
	groups, _ := s["groups"].(show)
	for name, channels := range groups {
		front[name] = all(channels)
	}
	for _, cue := range list(s, "cues") {
		for _, set := range list(cue, "set") {
			if level, ok := set["level"].(float64); ok && all(set["channels"]) {
				set["level"] = float64(int(level*by*10)) / 10
			}
		}
	}
}

// dress is how a team writes a show down: words and numbers that nobody in the room sees.
type dress struct {
	name    string
	titles  map[string]string // of segments
	places  map[string]string
	times   float64 // every cue number is multiplied by it ...
	plus    float64 // ... and moved by it
	shuffle uint64  // the order of rows
	file    string
}

// Year makes the services of some weeks, two in each. The error is that of a show that is no JSON object.
func Year(base []byte, seed uint64, weeks int) ([]Service, error) {
	var first show
	if err := json.Unmarshal(base, &first); err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	random := rand.New(rand.NewPCG(seed, 1))
	wear := dress{name: "Service", titles: map[string]string{}, places: map[string]string{}, times: 1, file: "show.json"}
	in := map[string]int{} // size by kind of the faults that are in
	day := time.Date(2026, 1, 4, 0, 0, 0, 0, time.UTC)
	var services []Service
	for week := range weeks {
		for _, evening := range []bool{false, true} {
			service := Service{Week: week, Evening: evening, Day: day.AddDate(0, 0, 7*week).Format(time.DateOnly)}
			if len(services) > 0 {
				service.Edits = append(wear.change(first, random, evening), changeFaults(in, random)...)
			}
			plain := clone(first)
			for _, f := range faults {
				if size, ok := in[f.kind]; ok {
					f.put(plain, size)
					service.Faults = append(service.Faults, Fault{f.kind, size})
				}
			}
			if random.IntN(100) < 20 {
				service.Accept = random.Uint64()
			}
			service.Forget = random.IntN(100) < 6
			plain["date"] = service.Day
			if len(services) > 0 && random.IntN(100) < 15 {
				wear.file = files[random.IntN(len(files))]
				service.Edits = append(service.Edits, "the file is called "+wear.file)
			}
			service.File, service.wears = wear.file, wear
			service.wears.titles, service.wears.places = maps.Clone(wear.titles), maps.Clone(wear.places)
			service.Plain = encode(plain)
			service.Show = encode(wear.on(clone(plain), evening))
			services = append(services, service)
		}
	}
	return services, nil
}

// changeFaults lets faults come, grow and go.
func changeFaults(in map[string]int, random *rand.Rand) (edits []string) {
	for _, f := range faults {
		size, there := in[f.kind]
		switch chance := random.IntN(100); {
		case !there && chance < 8:
			in[f.kind] = 0
			edits = append(edits, "put in "+f.kind)
		case there && chance < 25:
			delete(in, f.kind)
			edits = append(edits, "took out "+f.kind)
		case there && chance < 40 && size+1 < f.sizes:
			in[f.kind] = size + 1
			edits = append(edits, "made worse "+f.kind)
		}
	}
	return edits
}

// change alters the dress as people do from one service to the next.
func (d *dress) change(first show, random *rand.Rand, evening bool) (edits []string) {
	d.shuffle = random.Uint64()
	d.name = "Morning service"
	if evening {
		d.name = "Evening service"
	}
	for i, segment := range list(first, "order") {
		if segment["kind"] == "song" && random.IntN(100) < 70 {
			name := fmt.Sprint(segment["name"])
			d.titles[name] = fmt.Sprintf("%s %s %d", titles[random.IntN(len(titles))], nouns[random.IntN(len(nouns))], i)
			edits = append(edits, "retitled "+name)
		}
	}
	switch chance := random.IntN(100); {
	case chance < 8:
		d.times, d.plus = 10, 0
		edits = append(edits, "all cue numbers times ten")
	case chance < 16:
		d.times, d.plus = 1, 0
		edits = append(edits, "cue numbers as at first")
	case chance < 40:
		d.plus = float64(random.IntN(200))
		edits = append(edits, "cues renumbered")
	}
	if room, ok := first["room"].(show); ok && random.IntN(100) < 6 {
		if places := list(room, "places"); len(places) > 0 {
			name := fmt.Sprint(places[random.IntN(len(places))]["name"])
			d.places[name] = fmt.Sprintf("%s spot %d", name, random.IntN(90)+10)
			edits = append(edits, "renamed the place "+name)
		}
	}
	return edits
}

var (
	titles = []string{"Lanterns over", "Slow", "Home by", "Under the", "Seven", "The Long", "Open"}
	files  = []string{"show.json", "sunday.json", "sunday-final.json", "export 2.json"}
	nouns  = []string{"Water", "Harvest", "Evening", "Bridge", "Valleys", "Snow", "Orchard"}
)

// on puts the dress on a show.
func (d *dress) on(s show, evening bool) show {
	s["name"] = fmt.Sprintf("%s, %v", d.name, s["date"])
	delete(s, "exported_at")
	s["starts_at"] = "10:30"
	if evening {
		s["starts_at"] = "18:30"
	}
	for _, segment := range list(s, "order") {
		d.rename(segment, "name", d.titles)
		d.number(segment, "start_cue")
	}
	for _, cue := range list(s, "cues") {
		d.rename(cue, "segment", d.titles)
		d.number(cue, "cue")
	}
	for _, reading := range list(s, "readings") {
		d.number(reading, "cue")
	}
	placed := d.namePlaces(s, "").(show)
	random := rand.New(rand.NewPCG(d.shuffle, 2))
	for _, section := range []string{"patch", "types", "cues"} {
		if rows, ok := placed[section].([]any); ok {
			random.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		}
	}
	if room, ok := placed["room"].(show); ok {
		for _, part := range []string{"cameras", "places", "surfaces", "circuits"} {
			if rows, ok := room[part].([]any); ok {
				random.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
			}
		}
	}
	return placed
}

// namePlaces writes the names of places wherever a show names one: under these keys, in lists and below them.
func (d *dress) namePlaces(value any, key string) any {
	names := key == "place" || key == "places" || key == "aimed_at" || key == "aim" || key == "people" || key == "lead" || key == "from" || key == "to"
	switch v := value.(type) {
	case show:
		for k, below := range v {
			if key == "places" && k == "name" {
				d.rename(v, "name", d.places)
				continue
			}
			v[k] = d.namePlaces(below, k)
		}
	case []any:
		for i := range v {
			v[i] = d.namePlaces(v[i], key)
		}
	case string:
		if to, ok := d.places[v]; ok && names {
			return to
		}
	}
	return value
}

func (d *dress) rename(at show, key string, to map[string]string) {
	if name, ok := at[key].(string); ok {
		if other, ok := to[name]; ok {
			at[key] = other
		}
	}
}

func (d *dress) number(at show, key string) {
	if n, ok := at[key].(float64); ok {
		at[key] = n*d.times + d.plus
	}
}

// list returns the objects of a list; what is none is left out.
func list(at show, key string) (objects []show) {
	values, _ := at[key].([]any)
	for _, v := range values {
		if object, ok := v.(show); ok {
			objects = append(objects, object)
		}
	}
	return objects
}

func clone(s show) (copied show) {
	if err := json.Unmarshal(encode(s), &copied); err != nil {
		panic("season: " + err.Error()) // it was JSON a line ago
	}
	return copied
}

func encode(s show) []byte {
	data, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		panic("season: " + err.Error()) // plain values only
	}
	return data
}
