package loaders

import (
	"encoding/json"
	"reflect"
	"strings"

	"github.com/cueproof/cueproof/schema"
)

// largestLooked is how much of a file is read only to see what it may be.
const largestLooked = 8 << 20

// items are what the sections of a show hold, so that a file can be known by its keys.
var items = []struct {
	section string
	of      any
}{
	{"patch", schema.Fixture{}}, {"cues", schema.Cue{}}, {"order", schema.Segment{}}, {"types", schema.Type{}},
	{"readings", schema.Reading{}}, {"room", schema.Room{}}, {"notices", schema.Notices{}},
}

// looksLike says which section a JSON file probably is that nothing read, by the keys
// in it: at least two of them, and more than of any other section. "" for none.
func (l *loader) looksLike(name string) string {
	if strings.HasPrefix(name, ".") || !IsJSON(name) {
		return ""
	}
	real, err := l.resolve(name)
	if err != nil {
		return ""
	}
	f, size, err := openFile(l.real, real, largestLooked)
	if err != nil {
		return ""
	}
	defer f.Close()
	data, err := readLimited(f, size)
	if err != nil {
		return ""
	}
	return likelySection([]byte(data))
}

func likelySection(data []byte) string {
	var item map[string]json.RawMessage
	var list []json.RawMessage
	isList := json.Unmarshal(data, &list) == nil
	if isList {
		if len(list) == 0 {
			return ""
		}
		data = list[0]
	}
	if json.Unmarshal(data, &item) != nil {
		return ""
	}
	best, most, second := "", 1, 0
	for _, one := range items {
		if t := reflect.TypeOf(one.of); isList != (one.section == "room" || one.section == "notices") {
			switch n := keysIn(t, item); {
			case n > most:
				best, most, second = one.section, n, most
			case n > second:
				second = n
			}
		}
	}
	if most == second {
		return ""
	}
	return best
}

// keysIn counts the keys of an object that a type has; what everything has tells nothing.
func keysIn(t reflect.Type, object map[string]json.RawMessage) (n int) {
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if _, there := object[key]; there && key != "name" && key != "note" && key != "type" {
			n++
		}
	}
	return n
}
