package match

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// Of lists the things of a show with what they can be recognised by.
func Of(show *schema.Show, looks []tracking.Look) Things {
	things := Things{}
	if show == nil {
		return things
	}
	r := reader{show: show, aims: map[string]string{}, doings: map[channelState][]uint64{}}
	for _, f := range show.Patch {
		r.channels = append(r.channels, f.Channel)
	}
	slices.Sort(r.channels)
	r.channels = slices.Compact(r.channels)
	r.room(things)
	for _, t := range show.Types {
		things["type"] = append(things["type"], Thing{Name: t.Name, Exact: content(t, "Name", "Known")})
	}
	for _, f := range show.Patch {
		thing := Thing{Name: strconv.Itoa(f.Channel), Exact: content(f, "Channel", "AimedAt", "Circuit", "Groups", "Known")}
		if f.Name != "" && f.Address != "" {
			thing.Core = digest(f.Name, f.Address, f.Type)
		}
		things["channel"] = append(things["channel"], thing)
	}
	for i := range looks {
		things["cue"] = append(things["cue"], r.cue(&looks[i]))
	}
	for _, s := range show.Order {
		things["segment"] = append(things["segment"], Thing{
			Name:  s.Name,
			Exact: digest(s.Kind, s.Mood, text(s.DurationS), r.places(s.People), strings.Join(s.Palette, " ")),
			Core:  digest(s.Kind),
		})
	}
	for section, at := range show.ReadFrom {
		if at.File != nil {
			things["file"] = append(things["file"], Thing{Name: at.File.Name, Core: digest("section", section)})
		}
	}
	things["file"] = joined(things["file"])
	return things
}

// joined makes one thing of the files that hold several sections.
func joined(list []Thing) []Thing {
	byName := map[string]uint64{}
	for _, t := range list {
		byName[t.Name] ^= t.Core // in any order
	}
	var files []Thing
	for _, name := range slices.Sorted(maps.Keys(byName)) {
		files = append(files, Thing{Name: name, Core: byName[name]})
	}
	return files
}

type reader struct {
	show     *schema.Show
	aims     map[string]string // where what has a name stands
	channels []int             // of the patch, each once
	doings   map[channelState][]uint64
}

type channelState struct {
	channel int
	state   *tracking.State // shared by all that do the same
}

func (r *reader) room(things Things) {
	room := r.show.Room
	if room == nil {
		return
	}
	add := func(kind, name string, exact, core uint64) {
		things[kind] = append(things[kind], Thing{Name: name, Exact: exact, Core: core})
	}
	for _, p := range room.Places {
		core := uint64(0)
		if p.X != nil && p.Y != nil {
			core = digest(text(p.X), text(p.Y), text(p.Z))
			r.aims[p.Name] = fmt.Sprint("at ", core)
		}
		add("place", p.Name, content(p, "Name", "Background", "Known", "Meant"), core)
	}
	for _, c := range room.Cameras {
		core := uint64(0)
		if c.X != nil && c.Y != nil {
			core = digest(text(c.X), text(c.Y), text(c.Z))
		}
		add("camera", c.Name, content(c, "Name", "AimedAt", "Known"), core)
	}
	for _, s := range room.Surfaces {
		core := uint64(0)
		if s.Centre != nil {
			core = digest(fmt.Sprint(*s.Centre))
			r.aims[s.Name] = fmt.Sprint("at ", core)
		}
		add("screen", s.Name, content(s, "Name", "Known"), core)
	}
	for _, b := range room.Bars {
		core := uint64(0)
		if b.From != nil && b.To != nil {
			core = digest(fmt.Sprint(*b.From, *b.To))
		}
		add("bar", b.Name, content(b, "Name", "Known"), core)
	}
	for _, a := range room.Areas {
		core := uint64(0)
		if len(a.X) == 2 && len(a.Y) == 2 {
			core = digest(fmt.Sprint(a.X, a.Y))
		}
		add("area", a.Name, content(a, "Name", "Known"), core)
	}
	for _, p := range room.Paths {
		from, to := r.aims[p.From], r.aims[p.To]
		core := uint64(0)
		if from != "" && to != "" {
			core = digest(from, to, fmt.Sprint(p.Via))
		}
		add("path", p.Name, core, core)
	}
	on := map[string][]string{}
	for _, f := range r.show.Patch {
		on[f.Circuit] = append(on[f.Circuit], strconv.Itoa(f.Channel))
	}
	for _, c := range room.Circuits {
		core := uint64(0)
		if members := on[c.Name]; len(members) > 0 {
			slices.Sort(members)
			core = digest(members...)
		}
		add("circuit", c.Name, content(c, "Name", "Known"), core)
	}
}

// where says what a name stands for, by where it stands if that is known.
func (r *reader) where(name string) string { return cmp.Or(r.aims[name], name) }

func (r *reader) places(names []string) string {
	if names == nil {
		return "-"
	}
	var list []string
	for _, name := range names {
		list = append(list, r.where(name))
	}
	slices.Sort(list)
	return strings.Join(list, "\x01")
}

// cue describes a cue by what people see while it stands.
func (r *reader) cue(look *tracking.Look) Thing {
	thing := Thing{Name: look.Number.String(), Title: look.Name()}
	if look.Segment != nil {
		thing.In = look.Segment.Name
	}
	var does []uint64
	add := func(words ...string) { does = append(does, digest(words...)) }
	for _, channel := range r.channels {
		if state := look.State(channel); state.Level > 0 {
			does = append(does, r.does(channel, state)...)
		}
	}
	if len(r.channels) == 0 { // without a patch nobody knows what a look is, but what the cue tells is there
		for _, part := range look.Parts {
			for _, set := range part.Set {
				add("sets", set.Channels, text((*float64)(set.Level)), deep(reflect.ValueOf(*set), []string{"At", "Channels", "Level", "Aim"}), r.aim(set.Aim))
			}
		}
	}
	for _, drive := range look.Drives {
		add("screen", r.where(drive.Screen), text(drive.DrivePct), text(drive.ContentPct), drive.Content)
		add("picture", r.where(drive.Screen), strings.Join(drive.Palette, " "))
	}
	if len(does) == 0 {
		add("dark")
	}
	thing.Sketch = sketch(does)
	for i, part := range look.Parts {
		add("times", strconv.Itoa(i), text(part.InS), text(part.OutS), text(part.DelayS), text(part.FollowS), part.Tracking)
		add("people", strconv.Itoa(i), r.places(part.People), r.places(part.Lead))
	}
	slices.Sort(does)
	for _, one := range does {
		thing.Exact = mix(thing.Exact*31 + one)
	}
	return thing
}

// does is what a channel does: its level, and all else that it was told.
func (r *reader) does(channel int, state *tracking.State) []uint64 {
	key := channelState{channel, state}
	if known, ok := r.doings[key]; ok {
		return known
	}
	name := "channel " + strconv.Itoa(channel)
	list := []uint64{digest(name, "level", strconv.FormatFloat(state.Level, 'g', -1, 64))}
	if state.Colour != nil || state.Rest != nil {
		does, aim := "", ""
		if c := state.Colour; c != nil {
			does = deep(reflect.ValueOf(*c), nil)
		}
		if rest := state.Rest; rest != nil {
			does, aim = does+deep(reflect.ValueOf(*rest), []string{"Aim"}), r.aim(rest.Aim)
		}
		list = append(list, digest(name, "does", does, aim))
	}
	r.doings[key] = list
	return list
}

func (r *reader) aim(a *schema.Aim) string {
	switch {
	case a == nil:
		return ""
	case a.Point != nil:
		return fmt.Sprint(*a.Point)
	}
	return r.where(a.Name)
}

// sketched is how many parts a sketch has.
const sketched = 64

// sketch keeps the least hash of each of so many parts of all hashes, or 0 for an
// empty part (P. Li, A. Owen, C.-H. Zhang, "One permutation hashing", 2012). 16 bits
// of each are enough to tell them apart.
func sketch(list []uint64) []uint16 {
	least := make([]uint64, sketched)
	for _, h := range list {
		h = mix(h)
		if part := h % sketched; least[part] == 0 || h < least[part] {
			least[part] = h
		}
	}
	parts := make([]uint16, sketched)
	for k, h := range least {
		if h != 0 {
			parts[k] = max(1, uint16(h>>16))
		}
	}
	return parts
}

// mix spreads a hash over all its bits (the finaliser of MurmurHash3, A. Appleby,
// from memory).
func mix(x uint64) uint64 {
	x ^= x >> 33
	x *= 0xff51afd7ed558ccd
	x ^= x >> 33
	x *= 0xc4ceb9fe1a85ec53
	return x ^ x>>33
}

func digest(words ...string) uint64 {
	h := fnv.New64a()
	for _, word := range words {
		_, _ = h.Write([]byte(word))
		_, _ = h.Write([]byte{0})
	}
	return h.Sum64()
}

func text(v *float64) string {
	if v == nil {
		return "?"
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

// content is a digest of all fields of an item but those that are left out.
func content(item any, leave ...string) uint64 {
	return digest(deep(reflect.ValueOf(item).Elem(), append(leave, "At", "PhotometryData")))
}

var refType = reflect.TypeFor[source.Ref]()

// deep writes out a value with everything in it, without the places of files.
func deep(v reflect.Value, leave []string) string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return "?"
		}
		return deep(v.Elem(), leave)
	case reflect.Struct:
		var b strings.Builder
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !field.IsExported() || field.Type == refType || slices.Contains(leave, field.Name) {
				continue
			}
			inside := leave
			if !field.Anonymous {
				inside = nil
			}
			b.WriteString(field.Name + "=" + deep(v.Field(i), inside) + ";")
		}
		return b.String()
	case reflect.Slice:
		var b strings.Builder
		for i := range v.Len() {
			b.WriteString(deep(v.Index(i), nil) + ",")
		}
		return b.String()
	case reflect.Map:
		var list []string
		for _, key := range v.MapKeys() {
			list = append(list, fmt.Sprint(key)+":"+deep(v.MapIndex(key), nil))
		}
		slices.Sort(list)
		return strings.Join(list, ",")
	default:
		return fmt.Sprint(v)
	}
}
