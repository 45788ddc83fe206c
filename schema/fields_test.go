package schema

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
)

// Every key of what tables have rows for is a field, and every field is a key.
func TestFieldsAreTheKeysOfTheirTypes(t *testing.T) {
	apart := map[Holder][]string{ // lists of other things, and what no cell holds
		OfCue: {"set", "screens", "known"}, OfSegment: {"screens", "known"}, OfFixture: {"known"},
	}
	for on, of := range map[Holder]reflect.Type{
		OfSetting: reflect.TypeFor[Setting](), OfFixture: reflect.TypeFor[Fixture](), OfCue: reflect.TypeFor[Cue](),
		OfDrive: reflect.TypeFor[Drive](), OfSegment: reflect.TypeFor[Segment](), OfReading: reflect.TypeFor[Reading](),
	} {
		fields := fieldsOf(of)
		for key := range fields.byName {
			if _, ok := FieldOf(on, key); !ok && !slices.Contains(apart[on], key) {
				t.Errorf("%s of a %s is no field", key, on)
			}
		}
		columns := map[string]string{}
		for _, f := range FieldsOf(on) {
			index, ok := fields.byName[f.Key]
			if !ok {
				t.Errorf("a %s has no %s", on, f.Key)
				continue
			}
			if on == OfSetting && f.Group == "" && f.Key != "channels" {
				t.Errorf("%s belongs to no group", f.Key)
			}
			for _, c := range f.InTables() {
				if columns[c.Name] != "" && !strings.HasPrefix(c.Name, "aim_") {
					t.Errorf("%s: the column %s is one of %s and of %s", on, c.Name, columns[c.Name], f.Key)
				}
				columns[c.Name] = f.Key
			}
			part := of.FieldByIndex(index).Type
			for part.Kind() == reflect.Pointer {
				part = part.Elem()
			}
			if f.Form == AsParts && part.Kind() == reflect.Struct {
				inner := fieldsOf(part)
				if len(inner.byName) != len(f.Parts) {
					t.Errorf("%s has %d parts, its type %d", f.Key, len(f.Parts), len(inner.byName))
				}
				for _, p := range f.Parts {
					if _, ok := inner.byName[p.Key]; !ok {
						t.Errorf("%s has no part %s", f.Key, p.Key)
					}
				}
			}
		}
	}
}

// writersOfTrees lay values under keys, which is what a key is for; the rest of the
// program asks the table of fields.
var writersOfTrees = []string{
	"../loaders/ascii/", "../loaders/gdtf/", "../loaders/mvr/", "../schema/typical/", "../internal/bigshow/", "../internal/season/", "../internal/start/", "../internal/convert/", "../internal/practise/",
	"../loaders/table/cues.go", "../loaders/table/wide.go", // of a mix, and of a colour in one cell
}

// A key of a setting stands as text in the table of fields and in nobody else's
// code, so that a further one is one row. What a rule's remedy changes by name, and
// words that are no key alone ("level", "aim"), are left out.
func TestKeysOfSettingsStandInOnePlace(t *testing.T) {
	keys := regexp.MustCompile(`"(saturation_pct|strobe_hz|effect_hz|effect_duty|xy|mix)"`)
	tag := regexp.MustCompile("`[^`]*`")
	for _, folder := range []string{"../schema", "../loaders", "../internal", "../rules", "../cmd"} {
		err := filepath.WalkDir(folder, func(name string, entry os.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || name == "../schema/fields.go" {
				return err
			}
			if slices.ContainsFunc(writersOfTrees, func(folder string) bool { return strings.HasPrefix(name, folder) }) {
				return nil
			}
			text, err := os.ReadFile(name)
			if err != nil {
				return err
			}
			for i, line := range strings.Split(string(text), "\n") {
				if found := keys.FindString(tag.ReplaceAllString(line, "")); found != "" {
					t.Errorf("%s:%d has %s as text; ask schema.Fields", name, i+1, found)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// What things of one kind have alike is a number of each, read from where it stands.
func TestNumber(t *testing.T) {
	deg, kelvin := 26.0, 5600.0
	for on, thing := range map[Holder]any{OfFixture: &Fixture{ZoomDeg: &deg, WhiteK: &kelvin}, OfCamera: &Camera{WhiteK: &kelvin}} {
		fields := fieldsOf(reflect.TypeOf(thing).Elem())
		for _, f := range AlikeFields(on) {
			if _, ok := fields.byName[f.Key]; !ok || f.Do == "" && on == OfCamera {
				t.Errorf("%s of a %s: no such key, or no order", f.Key, on)
			}
			want := map[string]*float64{White: &kelvin, "zoom_deg": &deg}[f.Key]
			if got := f.Number(thing); got != want {
				t.Errorf("%s of a %s is %v, want %v", f.Key, on, got, want)
			}
		}
	}
	if f, _ := FieldOf(OfCue, "name"); f.Number(&Cue{Name: "x"}) != nil {
		t.Error("a name is a number")
	}
}

// TestWhatPeopleSayOfAField: the first noun and order of those of its key, and nothing of a key that there is not.
func TestWhatPeopleSayOfAField(t *testing.T) {
	if noun, do, remove := Spoken("nothing of the kind"); noun+do+remove != "" {
		t.Errorf("of no field is said %q, %q, %q", noun, do, remove)
	}
	said := map[string]bool{}
	for _, f := range Fields {
		noun, do, remove := Spoken(f.Key)
		if f.Noun != "" && !said[f.Key] && noun != f.Noun || f.Noun+f.Do+f.Remove != "" && noun+do+remove == "" {
			t.Errorf("of %s is said %q, %q, %q", f.Key, noun, do, remove)
		}
		said[f.Key] = said[f.Key] || f.Noun != ""
	}
}

// Numbers by their names are read where they are numbers, and what is no object is none.
func TestReadingAMap(t *testing.T) {
	for text, want := range map[string]map[string]float64{`{"red": 5, "blue": 7}`: {"red": 5, "blue": 7}, `{}`: {}, `{"red": 5, "blue": "x"}`: {"red": 5}, `5`: nil, `[1]`: nil} {
		file := &source.File{Name: "a.json", Text: text}
		if _, ok := source.ParseJSON(file); !ok {
			t.Fatal(text)
		}
		var got map[string]float64
		if ok := decodeMap(nil, file.Root(), reflect.ValueOf(&got).Elem()); ok != (want != nil) || !reflect.DeepEqual(got, want) {
			t.Errorf("%s is %v, %v", text, got, ok)
		}
	}
}

// The place of a thing is its field At; a field of that kind or of that name alone is none.
func TestWhichFieldIsThePlace(t *testing.T) {
	type named struct {
		Other source.Ref
		Level float64 `json:"level"`
		At    string  `json:"at"`
	}
	type placed struct {
		Level float64 `json:"level"`
		At    source.Ref
	}
	if got := fieldsOf(reflect.TypeFor[named]()); got.at != -1 || len(got.byName) != 2 || got.byName["at"] == nil {
		t.Errorf("a place that is not called At: %+v", got)
	}
	if got := fieldsOf(reflect.TypeFor[placed]()); got.at != 1 || len(got.byName) != 1 {
		t.Errorf("a place: %+v", got)
	}
}
