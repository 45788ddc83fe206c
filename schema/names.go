package schema

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// Check says what no schema can: names that stand twice or that nothing bears,
// channels that cannot be read, cues that stand twice, ranges and dates that
// cannot be. A name is only looked for where the show lists such things at all: a
// show without a room is not told that it has no place called pulpit.
//
// Names must be written alike, letter for letter; only groups and the word "all"
// are found whatever the case, as [Show.Channels] finds them.
func (s *Show) Check() []finding.Finding {
	c := crossCheck{Show: s, selections: s.selectionsOf(), names: s.namesOf(), zooms: s.zooms()}
	c.dates()
	c.twice()
	c.room()
	c.types()
	c.groups()
	c.fixtures()
	c.cues()
	c.cueNumbers()
	c.order()
	c.readings()
	return c.found.findings("show", s.At)
}

type crossCheck struct {
	*Show
	selections *selections
	names      names
	zooms      zooms
	found      alike
}

// names are those that other parts of the show may use.
type names struct{ aims, places, surfaces, circuits, segments, paths, bars, meanings nameSet }

func (s *Show) namesOf() names {
	var n names
	if s.Room != nil {
		for _, place := range s.Room.Places {
			n.places.add(place.Name)
			n.aims.add(place.Name)
		}
		for _, surface := range s.Room.Surfaces {
			n.surfaces.add(surface.Name)
			n.aims.add(surface.Name)
		}
		for _, circuit := range s.Room.Circuits {
			n.circuits.add(circuit.Name)
		}
		for _, path := range s.Room.Paths {
			n.paths.add(path.Name)
		}
		for _, bar := range s.Room.Bars {
			n.bars.add(bar.Name)
		}
	}
	for _, segment := range s.Order {
		n.segments.add(segment.Name)
	}
	for _, m := range Meanings {
		n.meanings.add(m.Word)
	}
	return n
}

// nameSet is names, and of those the ones that are offered when one is misspelt:
// no more than a hall has, so that an odd file cannot make the search for a
// likeness long.
type nameSet struct {
	has     map[string]bool
	offered []string
}

func (n *nameSet) add(name string) {
	if name == "" || n.has[name] {
		return
	}
	if n.has == nil {
		n.has = map[string]bool{}
	}
	n.has[name] = true
	if len(name) <= longestWord && len(n.offered) < 1000 {
		n.offered = append(n.offered, name)
	}
}

// say adds a finding about a field of an entity, or about the entity itself if
// field is "".
func (c *crossCheck) say(id, section string, at source.Ref, field string, f finding.Finding) {
	f.Rule, f.Verdict = "file/"+id, finding.Fail
	if f.Level == "" {
		f.Level = finding.Error
	}
	f.Consequence = consequence(f.Level, section)
	f.Place = fieldPlace(at, field)
	part := partOf(id, section, f.Subjects)
	if c.found.room(part) {
		c.found.list = append(c.found.list, partFinding{f, part, section})
	}
}

// full reports whether so many of a kind were told that a further one is only
// counted, which it does then.
func (c *crossCheck) full(id, section string, by []finding.Subject) bool {
	part := partOf(id, section, by)
	if c.found.count[part] < mostAlike {
		return false
	}
	c.found.count[part]++
	return true
}

// partOf is the part of the format under which findings are counted.
func partOf(id, section string, by []finding.Subject) string {
	if len(by) > 0 {
		section += " " + by[0].Kind
	}
	return id + " in " + section
}

// fieldPlace is where a field of an entity stands; nowhere for an entity that
// was not read from a file.
func fieldPlace(at source.Ref, field string) source.Place {
	if at.IsZero() {
		return source.Place{}
	}
	if member, ok := at.Get(field); ok && field != "" {
		return member.Place()
	}
	if at.Kind() != source.Object { // a group is a name with its channels
		return at.KeyPlace()
	}
	return at.Place()
}

func about(kind, name string) finding.Subject {
	return finding.Subject{Kind: kind, Name: source.Shorten(name)}
}

func (c *crossCheck) dates() {
	head := checkers["show"].form().members
	for _, date := range []struct{ field, text, layout, example string }{
		{"date", c.Date, time.DateOnly, "2026-03-29"},
		{"exported_at", strings.ToUpper(c.ExportedAt), time.RFC3339, "2026-03-28T21:05:00+01:00"},
	} {
		if _, err := time.Parse(date.layout, date.text); err == nil || !head[date.field].forms[0].pattern.MatchString(date.text) {
			continue // what has not even the form of a date, the schema says
		}
		c.say("bad-date", "show", c.At, date.field, finding.Finding{
			Level: finding.Warning, Detail: date.field,
			Message: fmt.Sprintf("%s of the show is %s, and there is no such day or time.", date.field, source.Shorten(date.text)),
			Hint:    "write it like " + date.example,
		})
	}
}

// bearer is something that bears a name.
type bearer struct {
	kind, name string
	at         source.Ref
}

// bearersOf are the things of a list that bear names.
func bearersOf[T any](kind string, list []T, of func(T) (string, source.Ref)) (bearers []bearer) {
	for _, thing := range list {
		name, at := of(thing)
		bearers = append(bearers, bearer{kind, name, at})
	}
	return bearers
}

func (c *crossCheck) twice() {
	if room := c.Room; room != nil {
		c.namedTwice("room", "what points at it by that name may mean either", finding.Error, slices.Concat(
			bearersOf("place", room.Places, func(p *Place) (string, source.Ref) { return p.Name, p.At }),
			bearersOf("surface", room.Surfaces, func(s *Surface) (string, source.Ref) { return s.Name, s.At })))
		c.namedTwice("room", "nobody can tell which is meant", finding.Error,
			bearersOf("camera", room.Cameras, func(c *Camera) (string, source.Ref) { return c.Name, c.At }))
		c.namedTwice("room", "their loads cannot be told apart", finding.Error,
			bearersOf("circuit", room.Circuits, func(c *Circuit) (string, source.Ref) { return c.Name, c.At }))
		c.namedTwice("room", "nobody can tell which is walked", finding.Error,
			bearersOf("path", room.Paths, func(p *Path) (string, source.Ref) { return p.Name, p.At }))
		c.namedTwice("room", "nobody can tell on which a fixture hangs", finding.Error,
			bearersOf("bar", room.Bars, func(b *Bar) (string, source.Ref) { return b.Name, b.At }))
	}
	for _, t := range c.Types {
		c.namedTwice("types", "nobody can tell which is meant", finding.Error,
			bearersOf("mode", t.Modes, func(m *Mode) (string, source.Ref) { return m.Name, m.At }), about("type", t.Name))
		c.namedTwice("types", "nobody can tell which is meant", finding.Error,
			bearersOf("emitter", t.Emitters, func(e *Emitter) (string, source.Ref) { return e.Name, e.At }), about("type", t.Name))
	}
	c.namedTwice("types", "fixtures of that type may be either", finding.Error,
		bearersOf("type", c.Types, func(t *Type) (string, source.Ref) { return t.Name, t.At }))
	c.namedTwice("order", "cues that name it belong to the first", finding.Warning,
		bearersOf("segment", c.Order, func(s *Segment) (string, source.Ref) { return s.Name, s.At }))
	groups := c.ReadFrom["groups"]
	c.namedTwice("groups", "they are read as one group with the channels of both", finding.Error,
		bearersOf("group", c.groupsInOrder(), func(name string) (string, source.Ref) { at, _ := groups.Get(name); return name, at }))
}

// groupsInOrder returns the names of the groups section in file order, or sorted
// if it was not read from a file.
func (c *crossCheck) groupsInOrder() []string {
	var list []string
	section := c.ReadFrom["groups"]
	if section.IsZero() {
		for name := range c.Groups {
			list = append(list, name)
		}
		slices.Sort(list)
		return list
	}
	for item := range section.Items() {
		if _, known := c.Groups[item.Key()]; known && !slices.Contains(list, item.Key()) {
			list = append(list, item.Key())
		}
	}
	return list
}

// namedTwice reports each name that several things bear, whatever its case, once.
func (c *crossCheck) namedTwice(section, so string, level finding.Level, list []bearer, within ...finding.Subject) {
	same := map[string][]bearer{}
	var twice []string
	for _, b := range list {
		key := groupKey(b.name)
		if key == "" {
			continue
		}
		if same[key] = append(same[key], b); len(same[key]) == 2 {
			twice = append(twice, key)
		}
	}
	for _, key := range twice {
		first, second := same[key][0], same[key][1]
		f := finding.Finding{
			Level: level, Subjects: append([]finding.Subject{about(first.kind, first.name)}, within...),
			Message: fmt.Sprintf("%s has the name of %s: %s.", say(about(second.kind, second.name)), say(about(first.kind, first.name)), so),
			Hint:    "give each a name of its own, and change what uses the name",
		}
		if first == second || first.name == second.name && first.kind == second.kind {
			f.Message = fmt.Sprintf("there are %d with the name %s: %s.", len(same[key]), say(about(first.kind, first.name)), so)
		}
		if !first.at.IsZero() {
			f.Related = append(f.Related, finding.Related{Message: "the first of that name", Place: fieldPlace(first.at, "name")})
		}
		for _, other := range same[key][2:min(len(same[key]), 10)] {
			if !other.at.IsZero() {
				f.Related = append(f.Related, finding.Related{Message: "another of that name", Place: fieldPlace(other.at, "name")})
			}
		}
		c.say("name-twice", section, second.at, "name", f)
	}
}

// reference is a name that stands for something else in the show.
type reference struct {
	section string
	at      source.Ref
	field   string
	by      []finding.Subject
	name    string
	known   nameSet
	is      string // what it should be: "a place or surface of the room"
	level   finding.Level
	id      string // what is wrong, if it is no name

	owner source.Ref // of a name in a list: what has the list
	list  []string   // and the whole of it
}

// corrected is the change that writes the name that was meant; none where the list that has it
// holds more than names.
func (r *reference) corrected(near string) []source.Edit {
	if len(r.list) == 0 {
		if !r.owner.IsZero() {
			return nil
		}
		return []source.Edit{{At: r.at, Field: r.field, Value: near}}
	}
	list := slices.Clone(r.list)
	for i := range list {
		if list[i] == r.name {
			list[i] = near
		}
	}
	return []source.Edit{{At: r.owner, Field: r.field, Value: ListText(list)}}
}

// rightName is the remedy of a name that is written wrongly.
func rightName(edits ...source.Edit) []finding.Remedy {
	return []finding.Remedy{{Effect: "What was meant by the name is found.", Edits: edits}}
}

// known reports a name that nothing bears, if such things are listed at all.
func (c *crossCheck) known(r reference) {
	if r.name == "" || len(r.known.has) == 0 || r.known.has[r.name] {
		return
	}
	id := cmp.Or(r.id, "unknown-name")
	if c.full(id, r.section, r.by) { // not shown, so no likeness is looked for
		return
	}
	var words []string
	for _, subject := range r.by {
		words = append(words, say(subject))
	}
	f := finding.Finding{
		Level: r.level, Subjects: r.by, Detail: r.field + "/" + source.Shorten(r.name),
		Message: fmt.Sprintf("%s of %s is %q, which is not %s.%s", r.field, strings.Join(words, " of "), source.Shorten(r.name), r.is, nearest(r.name, r.known.offered)),
		Hint:    "write it as it is listed, letter for letter",
	}
	if near := near(r.name, r.known.offered); near != "" {
		f.Hint = fmt.Sprintf("write %q, if that is what is meant", near)
		if edits := r.corrected(near); len(edits) > 0 {
			f.Remedies = rightName(edits...)
		}
	}
	c.say(id, r.section, r.at, r.field, f)
}

func (c *crossCheck) aim(section string, at source.Ref, field string, aim *Aim, by ...finding.Subject) {
	if aim == nil || aim.Point != nil {
		return
	}
	c.known(reference{
		section: section, at: at, field: field, by: by, name: aim.Name, level: finding.Warning,
		known: c.names.aims, is: "a place or surface of the room",
	})
}

func (c *crossCheck) room() {
	if c.Room == nil {
		return
	}
	c.howKnown("room", c.Room.At, c.Room.Known)
	for _, p := range c.Room.Places {
		by := about("place", p.Name)
		c.known(reference{
			section: "room", at: p.At, field: "background", by: []finding.Subject{by},
			name: p.Background, known: c.names.surfaces, is: "a surface of the room", level: finding.Warning,
		})
		c.meant("room", p.At, p.Meant, by)
		c.howKnown("room", p.At, p.Known, by)
	}
	for _, camera := range c.Room.Cameras {
		c.aim("room", camera.At, "aimed_at", camera.AimedAt, about("camera", camera.Name))
		c.howKnown("room", camera.At, camera.Known, about("camera", camera.Name))
	}
	for _, surface := range c.Room.Surfaces {
		c.howKnown("room", surface.At, surface.Known, about("surface", surface.Name))
	}
	for _, path := range c.Room.Paths {
		by := about("path", path.Name)
		c.place("room", path.At, "from", path.From, by)
		c.place("room", path.At, "to", path.To, by)
		c.howKnown("room", path.At, path.Known, by)
	}
	for _, bar := range c.Room.Bars {
		c.howKnown("room", bar.At, bar.Known, about("bar", bar.Name))
	}
	for _, area := range c.Room.Areas {
		c.howKnown("room", area.At, area.Known, about("area", area.Name))
	}
	for _, ambient := range c.Room.Ambient {
		by := about("ambient light", ambient.Place)
		c.place("room", ambient.At, "place", ambient.Place, by)
		c.howKnown("room", ambient.At, ambient.Known, by)
	}
	if air := c.Room.Air; air != nil {
		c.howKnown("room", air.At, air.Known)
	}
}

func (c *crossCheck) types() {
	for _, t := range c.Types {
		by := about("type", t.Name)
		c.howKnown("types", t.At, t.Known, by)
		if r := t.WhiteRangeK; len(r) == 2 && r[0] > r[1] {
			c.reversed(t.At, "white_range_k", by, fmt.Sprintf("white_range_k of %s goes from %g down to %g kelvin; the lower comes first.", say(by), r[0], r[1]))
		}
		c.fieldUnderBeam(t.At, by, "", t.BeamDeg, t.FieldDeg)
		if t.Zoom == nil || t.Zoom.Narrow == nil || t.Zoom.Wide == nil {
			continue
		}
		narrow, wide := t.Zoom.Narrow, t.Zoom.Wide
		c.fieldUnderBeam(narrow.At, by, "narrow", narrow.BeamDeg, narrow.FieldDeg)
		c.fieldUnderBeam(wide.At, by, "wide", wide.BeamDeg, wide.FieldDeg)
		for _, angle := range []struct {
			name   string
			lo, hi *float64
		}{{"beam_deg", narrow.BeamDeg, wide.BeamDeg}, {"field_deg", narrow.FieldDeg, wide.FieldDeg}} {
			if angle.lo != nil && angle.hi != nil && *angle.lo > *angle.hi {
				c.reversed(narrow.At, angle.name, by, fmt.Sprintf("%s of %s is %g degrees at the narrow end of the zoom and %g at the wide end.", angle.name, say(by), *angle.lo, *angle.hi))
			}
		}
	}
}

func (c *crossCheck) fieldUnderBeam(at source.Ref, by finding.Subject, end string, beam, field *float64) {
	if beam == nil || field == nil || *field >= *beam {
		return
	}
	of := say(by)
	if end != "" {
		of = "the " + end + " end of the zoom of " + of
	}
	c.reversed(at, "field_deg", by, fmt.Sprintf("field_deg of %s is %g degrees and beam_deg is %g; the field, to a tenth of the peak, is the wider one.", of, *field, *beam))
}

func (c *crossCheck) reversed(at source.Ref, field string, by finding.Subject, message string) {
	c.say("reversed-range", "types", at, field, finding.Finding{
		Subjects: []finding.Subject{by}, Detail: field, Message: message,
		Hint: "exchange the two numbers, if they were mixed up",
	})
}

func (c *crossCheck) groups() {
	section := c.ReadFrom["groups"]
	for _, name := range c.groupsInOrder() {
		by := []finding.Subject{about("group", name)}
		if groupKey(name) == everyChannel {
			at, _ := section.Get(name)
			c.say("name-twice", "groups", at, "", finding.Finding{
				Subjects: by, Detail: everyChannel,
				Message: "a group is called \"all\", a word that always means every patched channel; the group is never used.",
				Hint:    "give the group another name",
			})
		}
		if _, err := parseSpans(c.Groups[name]); err != nil {
			c.badChannels("groups", section, name, by, "the channels of "+say(by[0]), err)
		}
	}
}

func (c *crossCheck) badChannels(section string, at source.Ref, field string, by []finding.Subject, what string, err error) {
	if c.full("bad-channels", section, by) {
		return
	}
	c.say("bad-channels", section, at, field, finding.Finding{
		Subjects: by, Message: fmt.Sprintf("%s cannot be read: %v.", what, err),
		Hint: "write numbers and ranges with commas between, such as \"1-6,9\"",
	})
}

func (c *crossCheck) fixtures() {
	for _, fixture := range c.Patch {
		by := subjectOfFixture(fixture)
		c.aim("patch", fixture.At, "aimed_at", fixture.AimedAt, by)
		c.known(reference{
			section: "patch", at: fixture.At, field: "circuit", by: []finding.Subject{by},
			name: fixture.Circuit, known: c.names.circuits, is: "a circuit of the room", level: finding.Warning,
		})
		if fixture.HungAt == nil && (fixture.HungOrder != nil || fixture.HungAtM != nil) { // else it hangs on words
			c.known(reference{
				section: "patch", at: fixture.At, field: "hung_on", by: []finding.Subject{by},
				name: fixture.HungOn, known: c.names.bars, is: "a bar of the room, so nobody can tell where it hangs", level: finding.Warning,
			})
		}
		for _, t := range c.zooms.of[fixture.Channel] {
			if t.Name == fixture.Type {
				c.beyond("patch", fixture.At, fixture.ZoomDeg, t, say(by), by)
			}
		}
		c.howKnown("patch", fixture.At, fixture.Known, by)
	}
}

func subjectOfFixture(f *Fixture) finding.Subject {
	if f.Channel > 0 {
		return about("channel", fmt.Sprint(f.Channel))
	}
	return about("fixture", f.Name)
}

func (c *crossCheck) cues() {
	var groups nameSet
	for _, name := range c.GroupNames() {
		groups.add(name)
	}
	errs := map[string]error{}
	before := ""
	for _, cue := range c.Cues {
		by := about("cue", cue.Number.String())
		c.known(reference{
			section: "cues", at: cue.At, field: "segment", by: []finding.Subject{by},
			name: cue.Segment, known: c.names.segments, is: "a segment of the running order", level: finding.Warning,
		})
		c.people("cues", cue.At, "people", cue.People, by)
		c.people("cues", cue.At, "lead", cue.Lead, by)
		c.walks("cues", cue.At, cue.Walks, by)
		c.meant("cues", cue.At, cue.Meant, by)
		c.howKnown("cues", cue.At, cue.Known, by)
		for _, drive := range cue.Screens {
			c.known(reference{
				section: "cues", at: drive.At, field: "screen", by: []finding.Subject{by},
				name: drive.Screen, known: c.names.surfaces, is: "a surface of the room", level: finding.Error,
			})
		}
		for _, set := range cue.Set {
			if set.Aim != nil { // there are many settings, and few of them aim
				c.aim("cues", set.At, "aim", set.Aim, about("channels", set.Channels), by)
			}
			if set.ZoomDeg != nil && set.Channels != "" {
				for _, t := range c.zooms.types(c.Show, set.Channels) {
					c.beyond("cues", set.At, set.ZoomDeg, t, fmt.Sprintf("channels %s of %s", source.Shorten(set.Channels), say(by)), about("channels", set.Channels), by)
				}
			}
			if set.Channels == "" {
				continue // missing, which the schema says
			}
			if set.Channels == before {
				continue // the same as just before, and right
			}
			err, known := errs[set.Channels]
			if !known {
				_, err = c.selections.spans(set.Channels)
				errs[set.Channels] = err
			}
			var group *noGroup
			switch {
			case errors.As(err, &group):
				c.noGroup(set, by, group.name, groups.offered)
			case err != nil:
				what := fmt.Sprintf("the channels %q of %s", source.Shorten(set.Channels), say(by))
				c.badChannels("cues", set.At, "channels", []finding.Subject{about("channels", set.Channels), by}, what, err)
			default:
				before = set.Channels
			}
		}
	}
}

func (c *crossCheck) noGroup(set *Setting, by finding.Subject, name string, groups []string) {
	f := finding.Finding{
		Subjects: []finding.Subject{about("channels", set.Channels), by}, Detail: "group/" + source.Shorten(name),
		Message: fmt.Sprintf("%s sets %q, which is neither a group nor a list of channels.%s", say(by), source.Shorten(name), nearest(name, groups)),
		Hint:    "name a group of the show, or write channels such as \"1-6,9\"",
	}
	if len(groups) == 0 {
		f.Hint = "the show has no groups: give them, as groups in show.json or in a file of their own, or write channels such as \"1-6,9\""
	}
	if near := near(name, groups); near != "" {
		f.Hint = fmt.Sprintf("write %q, if that is what is meant", near)
		f.Remedies = rightName(source.Edit{At: set.At, Field: "channels", Value: strings.Replace(set.Channels, name, near, 1)})
	}
	c.say("unknown-name", "cues", set.At, "channels", f)
}

func (c *crossCheck) order() {
	if len(c.Order) == 0 {
		return
	}
	numbers := map[CueNumber]bool{}
	for _, cue := range c.Cues {
		numbers[cue.Number] = true
	}
	sorted := slices.Sorted(maps.Keys(numbers))
	starts := map[CueNumber]*Segment{}
	var before *Segment
	for _, segment := range c.Order {
		by := []finding.Subject{about("segment", segment.Name)}
		c.people("order", segment.At, "people", segment.People, by[0])
		c.people("order", segment.At, "lead", segment.Lead, by[0])
		c.walks("order", segment.At, segment.Walks, by[0])
		c.meant("order", segment.At, segment.Meant, by[0])
		c.howKnown("order", segment.At, segment.Known, by[0])
		for _, drive := range segment.Screens {
			c.known(reference{
				section: "order", at: drive.At, field: "screen", by: by,
				name: drive.Screen, known: c.names.surfaces, is: "a surface of the room", level: finding.Error,
			})
		}
		if segment.StartCue == nil {
			c.tooFine(segment.At, "start_cue", "order", by...)
			continue
		}
		start := *segment.StartCue
		if len(numbers) > 0 && !numbers[start] {
			c.say("unknown-name", "order", segment.At, "start_cue", finding.Finding{
				Subjects: by, Detail: "start_cue", Remedies: c.firstCue(segment),
				Message: fmt.Sprintf("%s starts with cue %s, which the cue list does not have.%s", say(by[0]), start, neighbours(start, sorted)),
				Hint:    "correct the number, or add the cue",
			})
		}
		f := finding.Finding{Level: finding.Warning, Subjects: by, Detail: "start_cue", Hint: "check the start cues against the running order"}
		switch first := starts[start]; {
		case before != nil && *before.StartCue == start: // one look for both of them
		case first != nil:
			f.Detail = "start_cue twice"
			f.Message = fmt.Sprintf("%s and %s both start with cue %s.", say(about("segment", first.Name)), say(by[0]), start)
			c.say("order-gap", "order", segment.At, "start_cue", f)
		case before != nil && start < *before.StartCue:
			f.Message = fmt.Sprintf("%s starts with cue %s, but %s before it starts with cue %s: the cues run backwards.", say(by[0]), start, say(about("segment", before.Name)), *before.StartCue)
			c.say("order-gap", "order", segment.At, "start_cue", f)
		}
		if starts[start] == nil {
			starts[start] = segment
		}
		before = segment
	}
}

// firstCue is the remedy of a part of the running order that starts with a cue which is
// not there: the first that says it belongs to it.
func (c *crossCheck) firstCue(segment *Segment) []finding.Remedy {
	var first *Cue
	for _, cue := range c.Cues {
		if cue.Segment == segment.Name && cue.Segment != "" && cue.Numbered() && (first == nil || cue.Number < first.Number) {
			first = cue
		}
	}
	if first == nil {
		return nil
	}
	return []finding.Remedy{{
		Effect: "The part starts with its own first cue.",
		Edits:  []source.Edit{{At: segment.At, Field: "start_cue", Value: first.Number.String()}},
	}}
}

// people looks for the names in a list of places.
func (c *crossCheck) people(section string, at source.Ref, field string, places []string, by finding.Subject) {
	c.listed(section, at, field, places, c.names.places, "a place of the room", by)
}

func (c *crossCheck) walks(section string, at source.Ref, paths []string, by finding.Subject) {
	c.listed(section, at, "walks", paths, c.names.paths, "a path of the room", by)
}

func (c *crossCheck) place(section string, at source.Ref, field, name string, by finding.Subject) {
	c.known(reference{
		section: section, at: at, field: field, by: []finding.Subject{by},
		name: name, known: c.names.places, is: "a place of the room", level: finding.Warning,
	})
}

// meant looks for the places of what is meant, and for its words: one that is none answers
// nothing, so the rules say what it was written for.
func (c *crossCheck) meant(section string, at source.Ref, intents []Intent, by finding.Subject) {
	words, ofPlaces := make([]string, len(intents)), false
	for i := range intents {
		c.people(section, intents[i].At, "places", intents[i].Places, by)
		words[i], ofPlaces = intents[i].Intent, ofPlaces || len(intents[i].Places) > 0
	}
	for i := range intents {
		word := reference{
			section: section, at: intents[i].At, field: "meant", by: []finding.Subject{by}, name: words[i],
			id: "unknown-word", known: c.names.meanings, is: "one of the words " + strings.Join(c.names.meanings.offered, ", "), level: finding.Warning, owner: at,
		}
		if !ofPlaces {
			word.list = words
		}
		c.known(word)
	}
}

// listed looks for each name of a list that stands under a key of an entity.
func (c *crossCheck) listed(section string, at source.Ref, field string, list []string, known nameSet, is string, by finding.Subject) {
	if len(known.has) == 0 || !slices.ContainsFunc(list, func(name string) bool { return !known.has[name] }) {
		return
	}
	places := itemsOf(at, field, len(list))
	for i, name := range list {
		c.known(reference{
			section: section, at: places[i], field: field, by: []finding.Subject{by},
			name: name, known: known, is: is, level: finding.Warning, owner: at, list: list,
		})
	}
}

// itemsOf returns where each text of a list stands.
func itemsOf(at source.Ref, field string, count int) []source.Ref {
	var list []source.Ref
	items, _ := at.Get(field)
	for item := range items.Items() {
		if item.Kind() == source.String { // what else is there was not read
			list = append(list, item)
		}
	}
	if len(list) != count { // not as in the file
		return slices.Repeat([]source.Ref{at}, count)
	}
	return list
}

// howKnown looks for the keys of which it is said how their values are known.
func (c *crossCheck) howKnown(section string, at source.Ref, known Known, by ...finding.Subject) {
	if at.IsZero() || len(known) == 0 {
		return
	}
	var keys []string
	for item := range at.Items() {
		if item.Key() != "known" {
			keys = append(keys, item.Key())
		}
	}
	of := "the section " + section
	if len(by) > 0 {
		of = say(by[0])
	} else {
		by = []finding.Subject{{Kind: "section", Name: section}}
	}
	for _, key := range slices.Sorted(maps.Keys(known)) {
		if _, there := at.Get(key); there {
			continue
		}
		c.say("unknown-name", section, at, "known", finding.Finding{
			Level: finding.Warning, Subjects: by, Detail: "known/" + source.Shorten(key),
			Message: fmt.Sprintf("%s says how %q is known, and has no such key.%s", of, source.Shorten(key), nearest(key, keys)),
			Hint:    "name a key of the same object, or take the line out",
		})
	}
}

// readings checks what a meter showed: where, and with what lit.
func (c *crossCheck) readings() {
	if len(c.Readings) == 0 {
		return
	}
	numbers := map[CueNumber]bool{}
	for _, cue := range c.Cues {
		numbers[cue.Number] = true
	}
	for _, reading := range c.Readings {
		by := about("reading", reading.Place)
		c.place("readings", reading.At, "place", reading.Place, by)
		if reading.Cue != nil && len(numbers) > 0 && !numbers[*reading.Cue] {
			c.say("unknown-name", "readings", reading.At, "cue", finding.Finding{
				Subjects: []finding.Subject{by}, Detail: "cue",
				Message: fmt.Sprintf("%s was taken in cue %s, which the cue list does not have.%s", say(by), reading.Cue, neighbours(*reading.Cue, slices.Sorted(maps.Keys(numbers)))),
				Hint:    "correct the number, or take the reading out",
			})
		}
		if reading.Channels == "" {
			continue
		}
		if _, err := c.selections.spans(reading.Channels); err != nil {
			c.badChannels("readings", reading.At, "channels", []finding.Subject{by}, "the channels of "+say(by), err)
		}
		if reading.Cue != nil {
			c.say("bad-form", "readings", reading.At, "channels", finding.Finding{
				Subjects: []finding.Subject{by}, Detail: "cue and channels", Level: finding.Warning,
				Message: fmt.Sprintf("%s names a cue and channels; only one of the two can have been lit.", say(by)),
				Hint:    "keep the cue if all of it was lit, or the channels if only they were",
			})
		}
	}
}

// neighbours names the cues around a number that no cue has.
func neighbours(n CueNumber, sorted []CueNumber) string {
	switch i, _ := slices.BinarySearch(sorted, n); i {
	case 0:
		return fmt.Sprintf(" Its first is cue %s.", sorted[0])
	case len(sorted):
		return fmt.Sprintf(" Its last is cue %s.", sorted[i-1])
	default:
		return fmt.Sprintf(" Around it are cues %s and %s.", sorted[i-1], sorted[i])
	}
}

// tooFine reports a cue number with more decimals than are kept: as a number of
// JSON it is valid, so only reading it shows.
func (c *crossCheck) tooFine(at source.Ref, field, section string, by ...finding.Subject) {
	if at.IsZero() {
		return
	}
	given, ok := at.Get(field)
	value, isNumber := given.Float()
	if !ok || !isNumber || value < 0 || value > 999_999.9999 || new(CueNumber).read(given) {
		return
	}
	if field == "cue" {
		by = []finding.Subject{about("cue", given.Str())}
	}
	c.say("bad-form", section, at, field, finding.Finding{
		Subjects: by, Detail: field,
		Message: fmt.Sprintf("%s is %s; a cue number has at most four decimals.", field, source.Shorten(given.Str())),
		Hint:    "round it to four decimals",
	})
}
