package loaders

import (
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// merge checks a section of a further file and puts it to what was read before:
// fixtures meet by channel, types and the things of a room by name. What was read
// first wins; where the two cannot both be right that is a finding. Of cues and
// running orders there can be only one.
func (l *loader) merge(section string, root source.Ref) {
	show := l.result.Show
	first, given := show.ReadFrom[section]
	if !given {
		l.take(section, root)
		return
	}
	var more schema.Show
	l.readInto(&more, section, root)
	m := merger{loader: l, section: section}
	switch section {
	case "patch":
		show.Patch = m.fixtures(show.Patch, more.Patch)
	case "types":
		show.Types = byName(&m, show.Types, more.Types, "type", func(t *schema.Type) string { return t.Name })
	case "room":
		m.room(show.Room, more.Room)
	case "groups":
		for name, channels := range more.Groups {
			if _, known := show.Groups[name]; !known {
				show.Groups[name] = channels
				if member, ok := root.Get(name); ok {
					first.Lend(name, member)
				}
			}
		}
	case "readings":
		show.Readings = append(show.Readings, more.Readings...)
	case "notices":
		m.fill(finding.Subject{Kind: "section", Name: section}, show.Notices, more.Notices)
	case "order", "cues":
		if section == "order" && strings.EqualFold(path.Base(root.File.Name), HallFile) { // it only adds to segments
			show.Order = byName(&m, show.Order, more.Order, "segment", func(s *schema.Segment) string { return s.Name })
			break
		}
		l.say("section-twice", finding.Finding{
			Level: finding.Error, Consequence: finding.Dark,
			Subjects: []finding.Subject{{Kind: "section", Name: section}, l.fileSubject(root.File)},
			Message:  fmt.Sprintf("the section %s stands twice, in %s and in %s; the first is used.", section, l.relative(first.File), root.File.Name),
			Hint:     "keep the one that is meant in the folder, and move the other out of it",
			Place:    root.Place(),
			Related:  []finding.Related{{Message: "this one is used", Place: first.Place()}},
		})
	}
}

type merger struct {
	*loader
	section string
}

// fixtures puts fixtures together by channel. Of several on one channel the first meets
// the first and the second the second: that a channel is there twice is for a rule to tell.
func (m *merger) fixtures(have, more []*schema.Fixture) []*schema.Fixture {
	index := map[int][]*schema.Fixture{}
	for _, f := range have {
		index[f.Channel] = append(index[f.Channel], f)
	}
	for _, f := range more {
		waiting := index[f.Channel]
		if len(waiting) == 0 || f.Channel == 0 {
			have = append(have, f)
			continue
		}
		index[f.Channel] = waiting[1:]
		m.fill(finding.Subject{Kind: "channel", Name: fmt.Sprint(f.Channel)}, waiting[0], f)
	}
	return have
}

func byName[E any](m *merger, have, more []*E, kind string, name func(*E) string) []*E {
	index := map[string]*E{}
	for _, e := range have {
		if index[name(e)] == nil {
			index[name(e)] = e
		}
	}
	for _, e := range more {
		first := index[name(e)]
		if first == nil || name(e) == "" {
			have = append(have, e)
			index[name(e)] = e
			continue
		}
		m.fill(finding.Subject{Kind: kind, Name: source.Shorten(name(e))}, first, e)
	}
	return have
}

func (m *merger) room(have, more *schema.Room) {
	if have == nil || more == nil {
		return
	}
	have.Places = byName(m, have.Places, more.Places, "place", func(p *schema.Place) string { return p.Name })
	have.Cameras = byName(m, have.Cameras, more.Cameras, "camera", func(c *schema.Camera) string { return c.Name })
	have.Surfaces = byName(m, have.Surfaces, more.Surfaces, "surface", func(s *schema.Surface) string { return s.Name })
	have.Circuits = byName(m, have.Circuits, more.Circuits, "circuit", func(c *schema.Circuit) string { return c.Name })
	have.Paths = byName(m, have.Paths, more.Paths, "path", func(p *schema.Path) string { return p.Name })
	have.Bars = byName(m, have.Bars, more.Bars, "bar", func(b *schema.Bar) string { return b.Name })
	have.Areas = byName(m, have.Areas, more.Areas, "area", func(a *schema.Area) string { return a.Name })
	m.fill(finding.Subject{Kind: "section", Name: "room"}, have, more)
}

// disputed are the keys in which two sources cannot both be right.
var disputed = map[string]bool{"address": true, "type": true, "mode": true}

// fill gives an entity what only the other one has. How the added values are known
// goes with them.
func (m *merger) fill(subject finding.Subject, into, from any) {
	have, more := reflect.ValueOf(into), reflect.ValueOf(from)
	if have.IsNil() || more.IsNil() {
		return
	}
	have, more = have.Elem(), more.Elem()
	var known *schema.Known
	var theirs schema.Known
	for _, member := range format.Members(have.Type()) {
		mine, other := have.FieldByIndex(member.Index), more.FieldByIndex(member.Index)
		if told, ok := other.Interface().(schema.Known); ok {
			known, theirs = mine.Addr().Interface().(*schema.Known), told
			continue
		}
		switch {
		case other.IsZero():
		case mine.IsZero():
			mine.Set(other)
			lend(into, from, member.Key)
			defer func() {
				if knowing, said := theirs[member.Key]; said && known != nil {
					if *known == nil {
						*known = schema.Known{}
					}
					(*known)[member.Key] = knowing
				}
			}()
		case disputed[member.Key] && alike(member.Key, mine.String(), other.String()):
			if mine.String() != other.String() {
				m.also(into, member.Key, other.String())
			}
		case disputed[member.Key]:
			m.disagree(subject, member.Key, into, from, mine.String(), other.String())
		}
	}
}

// lend makes the place of a value known that stands in another file.
func lend(into, from any, key string) {
	to, ok := format.PlaceOf(reflect.ValueOf(into))
	if !ok {
		return
	}
	at, ok := format.PlaceOf(reflect.ValueOf(from))
	if !ok {
		return
	}
	if member, ok := at.Get(key); ok {
		to.Lend(key, member)
	}
}

// other is what another file calls the type or the mode of a fixture, in words alike.
type other struct {
	f         *schema.Fixture
	key, name string
}

// also remembers it: which of the two names is that of a type is known when all is read.
func (m *merger) also(into any, key, name string) {
	if f, ok := into.(*schema.Fixture); ok {
		m.others = append(m.others, other{f, key, name})
	}
}

// settle gives fixtures the name that a type or a mode really has, where what was read
// first is no such name and what was read later is.
func (l *loader) settle() {
	types := map[string]*schema.Type{}
	for _, t := range l.result.Show.Types {
		types[t.Name] = t
	}
	hasMode := func(t *schema.Type, name string) bool {
		return t != nil && slices.ContainsFunc(t.Modes, func(m *schema.Mode) bool { return m.Name == name })
	}
	for _, key := range []string{"type", "mode"} { // a mode is one of its type
		for _, o := range l.others {
			switch {
			case o.key != key:
			case key == "type" && types[o.f.Type] == nil && types[o.name] != nil:
				o.f.Type = o.name
			case key == "mode" && !hasMode(types[o.f.Type], o.f.Mode) && hasMode(types[o.f.Type], o.name):
				o.f.Mode = o.name
			}
		}
	}
}

// alike compares words as people write them: a plan may say more of a type than a
// console does, with the same words in it. An address is compared as a whole.
func alike(key, a, b string) bool {
	a, b = words(a), words(b)
	return a == b || key != "address" && a != "  " && b != "  " && (strings.Contains(a, b) || strings.Contains(b, a))
}

// words is a text with one blank around each of its words, in lower case.
func words(text string) string {
	between := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }
	return " " + strings.Join(strings.FieldsFunc(strings.ToLower(text), between), " ") + " "
}

func (m *merger) disagree(subject finding.Subject, key string, into, from any, mine, other string) {
	place := func(entity any) source.Place {
		at, _ := format.PlaceOf(reflect.ValueOf(entity))
		member, _ := at.Find("/" + key)
		return member.Place()
	}
	here, there := place(into), place(from)
	m.say("sources-disagree", finding.Finding{
		Level: finding.Warning, Consequence: finding.Dark,
		Subjects: []finding.Subject{subject, m.fileSubject(there.File)}, Detail: key,
		Message: fmt.Sprintf("%s has the %s %s in %s and %s in %s; the first is used.", subject, key, source.Shorten(mine), m.relative(here.File), source.Shorten(other), m.relative(there.File)),
		Hint:    "find out on the fixture which of the two is right, and correct the other",
		Place:   there,
		Related: []finding.Related{{Message: "this one is used", Place: here}},
	})
}
