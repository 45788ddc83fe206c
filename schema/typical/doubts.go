package typical

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/schema"
)

// Doubt is something that a show rests on and nobody has read: an assumed number of a
// type, the inferred purposes of its fixtures.
type Doubt struct {
	Rests string          // a phrase behind "this rests on"
	Give  string          // what would settle it, a phrase behind "give"
	Known finding.Known   // how it is known: inferred or assumed
	Shows []*schema.Show  // the show as it is too if that is not quite right; none of them is the one of now
	Kinds map[string]bool // the kinds of thing that it is about: "type", "fixture", "place"...
	All   bool            // it is all the others together, no thing of its own
}

// Doubts lists what a show rests on that is inferred or assumed, each with the shows
// that this one may be instead: with its numbers at either end of their range, or,
// where there is no range, without the value. What is wrong in all of them is wrong
// whatever the truth may be.
func Doubts(show *schema.Show) []Doubt {
	d := doubter{show: show}
	for i, t := range show.Types {
		if measured(show, t) {
			continue // what a meter showed is no assumption any more
		}
		d.entity("type", t.Name, t.Known, reflect.ValueOf(t), func(s *schema.Show) reflect.Value { return edited(&s.Types, i) })
	}
	for i, f := range show.Patch {
		d.entity("fixture", fmt.Sprint(f.Channel), f.Known, reflect.ValueOf(f), func(s *schema.Show) reflect.Value { return edited(&s.Patch, i) })
	}
	for i, seg := range show.Order {
		d.entity("segment", seg.Name, seg.Known, reflect.ValueOf(seg), func(s *schema.Show) reflect.Value { return edited(&s.Order, i) })
	}
	for i, cue := range show.Cues {
		d.entity("cue", cue.Number.String(), cue.Known, reflect.ValueOf(cue), func(s *schema.Show) reflect.Value { return edited(&s.Cues, i) })
	}
	if room := show.Room; room != nil {
		d.entity("room", room.Name, room.Known, reflect.ValueOf(room), func(s *schema.Show) reflect.Value { return reflect.ValueOf(roomOf(s)) })
		for i, p := range room.Places {
			d.entity("place", p.Name, p.Known, reflect.ValueOf(p), func(s *schema.Show) reflect.Value { return edited(&roomOf(s).Places, i) })
		}
		for i, c := range room.Cameras {
			d.entity("camera", c.Name, c.Known, reflect.ValueOf(c), func(s *schema.Show) reflect.Value { return edited(&roomOf(s).Cameras, i) })
		}
		for i, c := range room.Surfaces {
			d.entity("surface", c.Name, c.Known, reflect.ValueOf(c), func(s *schema.Show) reflect.Value { return edited(&roomOf(s).Surfaces, i) })
		}
		for i, c := range room.Circuits {
			d.entity("circuit", c.Name, c.Known, reflect.ValueOf(c), func(s *schema.Show) reflect.Value { return edited(&roomOf(s).Circuits, i) })
		}
		for i, a := range room.Ambient {
			d.entity("ambient light", a.Place, a.Known, reflect.ValueOf(a), func(s *schema.Show) reflect.Value { return edited(&roomOf(s).Ambient, i) })
		}
		if room.Air != nil {
			d.entity("air", "", room.Air.Known, reflect.ValueOf(room.Air), func(s *schema.Show) reflect.Value {
				air := *s.Room.Air
				roomOf(s).Air = &air
				return reflect.ValueOf(&air)
			})
		}
	}
	return d.doubts()
}

// measured reports whether readings settled the light of every lamp of a type.
func measured(show *schema.Show, t *schema.Type) bool {
	any := false
	for _, f := range show.Patch {
		if f.Type == t.Name {
			if f.Output == 0 {
				return false
			}
			any = true
		}
	}
	return any
}

// edited replaces an item of a list by a copy, in a copy of the list.
func edited[E any](list *[]*E, i int) reflect.Value {
	copied := *(*list)[i]
	*list = slices.Clone(*list)
	(*list)[i] = &copied
	return reflect.ValueOf(&copied)
}

// roomOf gives a show a room of its own.
func roomOf(s *schema.Show) *schema.Room {
	room := *s.Room
	s.Room = &room
	return &room
}

// change makes one end of a doubt in a copy of the show.
type change func(s *schema.Show, end int)

// group is what is doubted together: all numbers of a type, the purposes of all fixtures.
type group struct {
	kind, what string
	names      []string
	ends       int
	known      finding.Known
	changes    []change
}

type doubter struct {
	show   *schema.Show
	groups []*group
}

func (d *doubter) add(id group, name string, c change) {
	i := slices.IndexFunc(d.groups, func(g *group) bool { return g.kind == id.kind && g.what == id.what })
	if i < 0 {
		d.groups = append(d.groups, &id)
		i = len(d.groups) - 1
	}
	g := d.groups[i]
	g.ends, g.known = max(g.ends, id.ends), max(g.known, id.known)
	if !slices.Contains(g.names, name) {
		g.names = append(g.names, name)
	}
	g.changes = append(g.changes, c)
}

// restful are keys that decide nothing by themselves by which a show could be judged
// wrongly: what a fixture can do decides which orders are offered, and they are proved;
// the numbers of a typical type and the point on a bar are doubted by themselves.
var restful = []string{"can", "opening_m", "moving", "halogen", "source", "name", "note", "typical", "hung_on"}

// entity adds what is doubted of one thing.
func (d *doubter) entity(kind, name string, known schema.Known, v reflect.Value, copyIn func(*schema.Show) reflect.Value) {
	for _, key := range sortedKeys(known) {
		how := known[key]
		level := finding.Known(slices.Index(finding.KnownWords, how.Word))
		if level < finding.Inferred || slices.Contains(restful, key) {
			continue
		}
		if !fieldOf(v, key).IsValid() {
			continue
		}
		of := group{kind: kind, what: key, ends: 1, known: level}
		switch {
		case kind == "type":
			of.what, of.ends = "numbers of "+name, 2
		case kind == "fixture" && key == "hung_at" && d.barOf(v.Interface().(*schema.Fixture)) != nil:
			of.ends = 3
		case how.High > how.Low, key == "aimed_at":
			of.ends = 2
		}
		d.add(of, name, func(s *schema.Show, end int) { vary(s, kind, key, how, copyIn(s), end) })
	}
}

func sortedKeys(known schema.Known) []string {
	var keys []string
	for key := range known {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

// fieldOf is a field of an entity by the key it has in show files.
func fieldOf(entity reflect.Value, key string) reflect.Value {
	v := entity.Elem()
	for i := range v.NumField() {
		if name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ","); name == key {
			return v.Field(i)
		}
	}
	return reflect.Value{}
}

// spreads are fields of which the larger means less light on a face.
var spreads = []string{"beam_deg", "field_deg"}

// vary sets a field to an end of what it can be: 0 is the low one (for a lamp, the one
// with less light), 1 the high one. What has no range is taken away.
func vary(s *schema.Show, kind, key string, how schema.Knowing, entity reflect.Value, end int) {
	field := fieldOf(entity, key)
	switch value := field.Interface().(type) {
	case *float64:
		if value == nil || how.High <= how.Low && how.High > 0 {
			return
		}
		if how.High > how.Low {
			high := end == 1
			if slices.Contains(spreads, key) {
				high = !high
			}
			to := how.Low
			if high {
				to = how.High
			}
			field.Set(reflect.ValueOf(&to))
			return
		}
	case *schema.Machine:
		if value != nil && how.High > how.Low {
			machine := *value
			to := how.Low
			if end == 1 {
				to = how.High
			}
			machine.OutputMgH = &to
			field.Set(reflect.ValueOf(&machine))
			return
		}
	case []*schema.Emitter:
		field.Set(reflect.ValueOf(otherEmitters(value, end)))
		return
	case *schema.ZoomRange:
		if value != nil {
			field.Set(reflect.ValueOf(otherZoom(value, end)))
		}
		return
	case *schema.Point:
		if fixture, ok := entity.Interface().(*schema.Fixture); ok && value != nil {
			if bar := barOf(s, fixture); bar != nil {
				fixture.HungAt = otherPoint(value, bar, how, end)
				return
			}
		}
	case *schema.Aim:
		if value != nil {
			field.Set(reflect.ValueOf(otherAim(s, value, end)))
			return
		}
	case []*schema.Filter, *bool:
		return
	case string:
		if key == "purpose" && slices.Contains(apart, value) {
			return
		}
	}
	if kind == "type" && key == "slots" && how.High > 0 {
		return // a range of one value
	}
	field.SetZero()
}

// apart are purposes that a name tells beyond doubt: such a lamp is no light on people.
var apart = []string{"house", "practical", "haze", "beam", "effect"}

// otherEmitters is the same engine from other bins: every second of its emitters with
// two thirds of the light, and all a few nanometres away. From memory: dominant
// wavelengths are sorted in steps of 5 to 10 nm, light in steps of about a third.
func otherEmitters(list []*schema.Emitter, end int) []*schema.Emitter {
	const nanometres, part = 6, 0.67
	other := make([]*schema.Emitter, len(list))
	for i, e := range list {
		copied := *e
		if e.FluxLm != nil && i%2 == end {
			copied.FluxLm = new(*e.FluxLm * part)
		}
		if e.WavelengthNm != nil {
			copied.WavelengthNm = new(*e.WavelengthNm + nanometres*float64(2*end-1))
		}
		other[i] = &copied
	}
	return other
}

// otherZoom is a zoom that is a fifth wider or narrower at both ends. From memory.
func otherZoom(z *schema.ZoomRange, end int) *schema.ZoomRange {
	factor := 1.2 // wider: less light on a face
	if end == 1 {
		factor = 0.8
	}
	scaled := func(e *schema.ZoomEnd) *schema.ZoomEnd {
		if e == nil {
			return nil
		}
		copied := *e
		for _, angle := range []**float64{&copied.BeamDeg, &copied.FieldDeg} {
			if *angle != nil {
				*angle = new(min(**angle*factor, 175))
			}
		}
		return &copied
	}
	return &schema.ZoomRange{At: z.At, Narrow: scaled(z.Narrow), Wide: scaled(z.Wide)}
}

// otherPoint is where a fixture may hang instead: as if its bar was counted from the
// other end, or somewhat to either side; on a bar whose ends are assumed, also
// somewhat nearer and lower, or farther and higher. Common practice, no source.
func otherPoint(at *schema.Point, bar *schema.Bar, how schema.Knowing, end int) *schema.Point {
	const aside, deep, high = 0.4, 0.5, 0.4 // metres
	p := *at
	if end == 2 {
		p.X, p.Y, p.Z = bar.From.X+bar.To.X-p.X, bar.From.Y+bar.To.Y-p.Y, bar.From.Z+bar.To.Z-p.Z
		return &p
	}
	sign := float64(2*end - 1)
	dx, dy, dz := bar.To.X-bar.From.X, bar.To.Y-bar.From.Y, bar.To.Z-bar.From.Z
	if length := math.Sqrt(dx*dx + dy*dy + dz*dz); length > 0 {
		step := sign * aside / length
		p.X, p.Y, p.Z = p.X+step*dx, p.Y+step*dy, p.Z+step*dz
	}
	if how.Word == "assumed" {
		p.Y, p.Z = p.Y-sign*deep, p.Z+sign*high
	}
	return &p
}

// otherAim is where a lamp may point instead, if its aim was concluded from a name: at
// the next place, or, where there is no other, beside this one.
func otherAim(s *schema.Show, aim *schema.Aim, end int) *schema.Aim {
	const beside = 1.5 // metres; common practice, no source
	if aim.Point != nil {
		p := *aim.Point
		p.X += beside * float64(2*end-1)
		return &schema.Aim{Point: &p}
	}
	if s.Room == nil {
		return nil
	}
	i := slices.IndexFunc(s.Room.Places, func(p *schema.Place) bool { return p.Name == aim.Name })
	switch {
	case i < 0:
		return nil
	case len(s.Room.Places) > 1:
		n := len(s.Room.Places)
		return &schema.Aim{Name: s.Room.Places[(i+2*end-1+n)%n].Name}
	}
	p := s.Room.Places[i]
	if p.X == nil || p.Y == nil || p.Z == nil {
		return nil
	}
	const head = 1.6
	return &schema.Aim{Point: &schema.Point{X: *p.X + beside*float64(2*end-1), Y: *p.Y, Z: *p.Z + head}}
}

func (d *doubter) barOf(f *schema.Fixture) *schema.Bar { return barOf(d.show, f) }

func barOf(s *schema.Show, f *schema.Fixture) *schema.Bar {
	if s.Room == nil {
		return nil
	}
	for _, b := range s.Room.Bars {
		if strings.EqualFold(strings.Join(strings.Fields(b.Name), " "), strings.Join(strings.Fields(f.HungOn), " ")) && b.From != nil && b.To != nil {
			return b
		}
	}
	return nil
}

// mostStates is how large a show may be, as fixtures times cues, to be looked at for
// each doubt by itself; in a larger one all are looked at together.
const mostStates = 100_000

// doubts makes the shows. All doubts at their low and at their high end together come
// last, because two may add up.
func (d *doubter) doubts() []Doubt {
	var list []Doubt
	joint := len(d.show.Patch)*len(d.show.Cues) > mostStates
	for _, g := range d.groups {
		doubt := Doubt{Rests: g.rests(), Give: g.give(), Known: g.known, Kinds: map[string]bool{g.kind: true}}
		for end := range g.ends {
			if joint {
				break
			}
			s := *d.show
			for _, c := range g.changes {
				c(&s, end)
			}
			doubt.Shows = append(doubt.Shows, &s)
		}
		list = append(list, doubt)
	}
	if len(d.groups) > 1 || joint && len(d.groups) > 0 {
		all := Doubt{Rests: "several assumed numbers together", Give: "the real numbers in place of the assumed ones", Known: finding.Assumed, Kinds: map[string]bool{}, All: true}
		for end := range 2 {
			s := *d.show
			for _, g := range d.groups {
				if g.ends == 2 {
					for _, c := range g.changes {
						c(&s, end)
					}
				}
				all.Kinds[g.kind] = true
			}
			all.Shows = append(all.Shows, &s)
		}
		list = append(list, all)
	}
	return list
}

// rests names what is doubted, as a phrase behind "this rests on".
func (g *group) rests() string {
	word := finding.KnownWords[g.known]
	if g.kind == "type" {
		return fmt.Sprintf("%s numbers of the type %q", word, g.names[0])
	}
	return fmt.Sprintf("%s %s of %s", word, keyWords(g.what), g.subjects())
}

func (g *group) give() string {
	if g.kind == "type" {
		return fmt.Sprintf("the numbers of the type %q from its data sheet", g.names[0])
	}
	return fmt.Sprintf("%s of %s, as it is in the hall", keyWords(g.what), g.subjects())
}

// subjects names the things of a group: by name if they are few, else by their number.
func (g *group) subjects() string {
	kind := g.kind
	if kind == "fixture" {
		kind = "channel"
	}
	switch {
	case kind == "room" || kind == "air":
		return "the " + kind
	case len(g.names) == 1 && kind == "channel":
		return "channel " + g.names[0]
	case len(g.names) == 1:
		return fmt.Sprintf("the %s %q", kind, g.names[0])
	case kind == "channel":
		return fmt.Sprintf("%d fixtures", len(g.names))
	}
	return fmt.Sprintf("%d %ss", len(g.names), kind)
}

// keyWords says a key as people do.
func keyWords(key string) string {
	if words, ok := map[string]string{
		"hung_at": "position", "aimed_at": "aim", "head_m": "height of the head", "facing_deg": "facing", "white_k": "white", "face_lx": "light",
		"volume_m3": "volume", "air_changes_per_h": "air changes", "x": "position", "y": "position", "z": "height",
		"in_s": "fade time", "out_s": "fade time down", "at_s": "time",
	}[key]; ok {
		return words
	}
	for _, unit := range []string{"_m", "_deg", "_k", "_s", "_hz", "_lx", "_pct", "_lm", "_iso", "_f", "_cd_m2"} {
		key = strings.TrimSuffix(key, unit)
	}
	return strings.ReplaceAll(key, "_", " ")
}
