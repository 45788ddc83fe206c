package schema

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// spot is a value with the entities that it belongs to, by the names people use.
type spot struct {
	ref      source.Ref
	subjects []finding.Subject // narrowest first
	path     []string          // from the narrowest entity to the value, without places in lists of entities
	section  string
	list     string // the list of entities that was just entered, or ""
}

// itemName is what the items of a list are called, and the key of their name.
type itemName struct{ kind, key string }

// lists names the lists of entities by the key they stand under. Those of the
// sections stand under the section's name.
var lists = map[string]itemName{
	"patch": {"channel", "channel"}, "cues": {"cue", "cue"}, "types": {"type", "name"}, "order": {"segment", "name"},
	"places": {"place", "name"}, "cameras": {"camera", "name"}, "surfaces": {"surface", "name"}, "circuits": {"circuit", "name"},
	"readings": {"reading", "place"}, "paths": {"path", "name"}, "bars": {"bar", "name"}, "areas": {"area", "name"}, "ambient": {"ambient light", "place"},
	"modes": {"mode", "name"}, "emitters": {"emitter", "name"}, "filters": {"filter", "name"},
	"set": {"channels", "channels"}, "waivers": {"waiver", "subject"}, "screens": {"screen", "screen"}, "shutters": {"shutter", "side"},
}

// start is the spot of a whole section, or of one item of its list.
func (v *validator) start(ref source.Ref, index int) spot {
	s := spot{ref: ref, section: v.section}
	if index >= 0 {
		s.list = v.section
		s.enter(ref, index)
	}
	return s
}

// enter goes down to a member, or to an item at a place of its list.
func (s *spot) enter(ref source.Ref, index int) {
	s.ref = ref
	list := s.list
	s.list = ""
	switch {
	case index < 0:
		key := ref.Key()
		if key == "" {
			s.path = append(s.path, `""`)
			return
		}
		s.path = append(s.path, source.Shorten(key))
		if lists[key].kind != "" && ref.Kind() == source.Array {
			s.list = key
		}
	case list != "":
		s.subjects = append([]finding.Subject{subjectOf(ref, lists[list], index)}, s.subjects...)
		if part, _ := ref.Get("part"); list == "cues" && part.Str() != "" {
			s.subjects = append([]finding.Subject{{Kind: "part", Name: source.Shorten(part.Str())}}, s.subjects...)
		}
		s.path = nil
	default:
		s.path = append(s.path, fmt.Sprintf("item %d", index+1))
	}
}

// unnamed ends the name of what has none: "3rd of the list".
const unnamed = " of the list"

// subjectOf names an entity, or says where in its list it stands if it has no name.
func subjectOf(ref source.Ref, entity itemName, index int) finding.Subject {
	text := ""
	if name, ok := ref.Get(entity.key); ok {
		text = strings.TrimSpace(name.Str())
	}
	switch {
	case text == "" && entity.kind == "channel":
		return finding.Subject{Kind: "fixture", Name: spelling.Ordinal(index+1) + unnamed}
	case text == "" && entity.kind == "channels":
		return finding.Subject{Kind: "setting", Name: spelling.Ordinal(index+1) + unnamed}
	case text == "":
		return finding.Subject{Kind: entity.kind, Name: spelling.Ordinal(index+1) + unnamed}
	case entity.kind == "cue":
		if number, err := ParseCueNumber(text); err == nil {
			text = number.String()
		}
	}
	return finding.Subject{Kind: entity.kind, Name: source.Shorten(text)}
}

// subject says what the spot is, as people would: level of channels 1-6 of cue 4.
func (s *spot) subject() string {
	var words []string
	for i := len(s.path) - 1; i >= 0; i-- {
		words = append(words, s.path[i])
	}
	for _, subject := range s.subjects {
		words = append(words, say(subject))
	}
	switch {
	case s.section == "house" && len(s.subjects) == 0:
		words = append(words, "the house file")
	case s.section == "show" || s.section == "rule":
		words = append(words, "the "+s.section)
	case len(s.subjects) == 0:
		words = append(words, "the section "+s.section)
	}
	return strings.Join(words, " of ")
}

// say names a subject in a sentence: what has a number bare, what has a name in quotes.
func say(s finding.Subject) string {
	place, isUnnamed := strings.CutSuffix(s.Name, unnamed)
	switch {
	case isUnnamed:
		return "the " + place + " " + s.Kind + unnamed
	case s.Kind == "channel":
		return "the fixture on channel " + s.Name
	case s.Kind == "channels" || s.Kind == "cue" || s.Kind == "part":
		return s.Kind + " " + s.Name
	default:
		return fmt.Sprintf("%s %q", s.Kind, s.Name)
	}
}

func lastKey(path []string) string {
	if len(path) == 0 {
		return ""
	}
	return path[len(path)-1]
}
