package schema

import (
	"maps"
	"math"
	"reflect"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// Sections lists the parts of a show in reading order. Each may stand in
// show.json or in a file of its own.
var Sections = []string{"room", "types", "patch", "groups", "cues", "order", "notices", "readings"}

// Read fills one section of the show from its value tree. What does not fit its
// type is left out; [Validate] on the same tree says so.
func (s *Show) Read(section string, ref source.Ref) {
	by := checkers[section].form()
	switch section {
	case "room":
		decodeBy(by, ref, &s.Room)
	case "types":
		decodeBy(by, ref, &s.Types)
	case "patch":
		decodeBy(by, ref, &s.Patch)
	case "groups":
		decodeBy(by, ref, &s.Groups)
		maps.DeleteFunc(s.Groups, func(name, _ string) bool { return isRemark(name) })
	case "cues":
		decodeBy(by, ref, &s.Cues)
		for _, cue := range s.Cues {
			cue.unnumbered = !hasNumber(cue.At)
		}
		shareTold(s.Cues)
	case "order":
		decodeBy(by, ref, &s.Order)
	case "notices":
		decodeBy(by, ref, &s.Notices)
	case "readings":
		decodeBy(by, ref, &s.Readings)
	default:
		panic("schema: no section " + section)
	}
	s.readFrom(section, ref)
}

// shareTold lets settings that tell a level alone, as nearly all rows of a table do, share what they tell.
func shareTold(cues []*Cue) {
	known := map[uint64]*Told{} // by the bits of the level: -0 is not 0
	for _, cue := range cues {
		for _, setting := range cue.Set {
			if setting.Level == nil || !reflect.DeepEqual(*setting.Told, Told{Level: setting.Level}) {
				continue
			}
			level := math.Float64bits(float64(*setting.Level))
			if same := known[level]; same != nil {
				setting.Told = same
			} else {
				known[level] = setting.Told
			}
		}
	}
}

func (s *Show) readFrom(section string, ref source.Ref) {
	if section == "patch" {
		for _, f := range s.Patch {
			if f.Filter.absent() {
				f.Filter = nil
			}
		}
	}
	if s.ReadFrom == nil {
		s.ReadFrom = map[string]source.Ref{}
	}
	s.ReadFrom[section] = ref
}

// isRemark reports whether a key is for people and editors, not for us. The
// schemas say the same with the pattern ^(x_|note$|\$schema$).
func isRemark(key string) bool {
	return strings.HasPrefix(key, "x_") || key == "note" || key == "$schema"
}

// ReadHead fills what show.json says about the show as a whole.
func (s *Show) ReadHead(ref source.Ref) {
	s.At = ref
	for name, into := range map[string]*string{"name": &s.Name, "date": &s.Date, "exported_at": &s.ExportedAt, "starts_at": &s.StartsAt} {
		if member, ok := ref.Get(name); ok {
			decode(member, into)
		}
	}
}
