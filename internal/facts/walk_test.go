package facts

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"
)

// finite reports the first number of a value, however deep in facts, that is none.
func finiteFacts(v reflect.Value, seen map[uintptr]bool) (path string, ok bool) {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			return fmt.Sprint(" = ", v.Float()), false
		}
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return "", true
		}
		if v.Kind() == reflect.Pointer {
			if seen[v.Pointer()] {
				return "", true
			}
			seen[v.Pointer()] = true
		}
		return finiteFacts(v.Elem(), seen)
	case reflect.Slice:
		for i := range v.Len() {
			if path, ok := finiteFacts(v.Index(i), seen); !ok {
				return fmt.Sprintf("[%d]%s", i, path), false
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if field.Tag.Get("expr") == "" && !field.Anonymous {
				continue
			}
			if path, ok := finiteFacts(v.Field(i), seen); !ok {
				return "." + field.Name + path, false
			}
		}
	}
	return "", true
}

// checkFacts holds all facts of all subjects to what rules rely on: numbers are
// numbers, also those that they lie between, and what is unknown says why.
func checkFacts(t interface{ Errorf(string, ...any) }, m *Measured) {
	for _, kind := range KindNames() {
		for _, subject := range m.Subjects(kind) {
			if path, ok := finiteFacts(reflect.ValueOf(subject), map[uintptr]bool{}); !ok {
				t.Errorf("%s %v, cue %q: %s", kind, subject.Names(), subject.Cue(), path)
			}
			for _, word := range WordsOf(kind) {
				fact, ok := ValueOf(subject, word)
				if !ok {
					t.Errorf("%s has no %s", kind, word)
				}
				if r := subject.Basis(word).Range; r != nil && !(r.Low <= r.High && !math.IsInf(r.Low, 0) && !math.IsInf(r.High, 0)) {
					t.Errorf("%s %v, cue %q: %s is between %v and %v", kind, subject.Names(), subject.Cue(), word, r.Low, r.High)
				}
				if fact.Value == nil && !optional[kind+"."+word] {
					if why := subject.Why(word); len(why) == 0 || slices.Contains(why, "") {
						t.Errorf("%s %v, cue %q: %s is unknown and does not say why: %q", kind, subject.Names(), subject.Cue(), word, why)
					}
				}
			}
		}
	}
}

// optional are facts that are not asked for where their subject is not of the sort
// that they are about, with that sort.
var optional = map[string]bool{
	"fixture.lens_pct":     true, // back lights
	"circuit.move_channel": true, // overloaded circuits
	"circuit.move_to":      true,
}

func TestFactsOfTheDemoShows(t *testing.T) {
	for _, name := range []string{"mended", "flawed"} {
		checkFacts(t, measured(demo(t, name)))
	}
}

// TestFactsOfADarkStage: the face is as dark as can be, and where nobody says how much light is there without lamps it may
// have 10 lx, which is log2 50 stops under the 500 that the camera is set for. A lamp at half is as [TestOneLampOneFace] has
// it; what is worn has as many stops more by that as the face.
func TestFactsOfADarkStage(t *testing.T) {
	lit := 0.5 * 20000 / math.Sqrt2 / 32
	for _, c := range []struct {
		more, level string
		lux         float64
		between     map[string][2]float64 // under the value, and over it
	}{
		{`, "ambient_lx": 0`, "0", 0, nil}, {`, "ambient_lx": 0`, "50", lit, nil},
		{"", "0", 0, map[string][2]float64{"face_lx": {0, 10}, "dark_stops": {16 - math.Log2(50), 0}}},
		{"", "50", lit, map[string][2]float64{"face_lx": {0, 10}, "dark_stops": {math.Log2((lit + 10) / lit), 0}, "clothes_over_white_stops": {0, math.Log2((lit + 10) / lit)}}},
	} {
		r := room{patch: fixture(1, "key", 0, -2, 5.6, ""), more: c.more, cues: `{"cue": 1, "set": [{"channels": "1", "level": ` + c.level + `}]}`}
		r.types = strings.Replace(spotType, `"source"`, `"dimmer_curve": "linear", "source"`, 1)
		r.places, r.people = `, {"name": "desk", "x": 0, "y": 2, "head_m": 1.6, "clothing": "mid"}`, `"desk"`
		m := r.measure(t)
		p := m.People[0]
		if !isNear(p.FaceLux, c.lux, 1e-9) || c.lux == 0 && !isNear(p.DarkStops, 16, 0) {
			t.Errorf("the face has %s lx, and is %s stops in the dark", factText(p.FaceLux), factText(p.DarkStops))
		}
		for _, word := range []string{"face_lx", "dark_stops", "clothes_over_white_stops"} {
			value, _ := ValueOf(p, word)
			got, want := p.Basis(word), c.between[word]
			if _, assumed := c.between[word]; got.Known.Sure() == assumed || (got.Range != nil) != assumed {
				t.Errorf("with %q at %s %% %s rests on %+v", c.more, c.level, word, got)
			} else if f := value.Value.(float64); assumed && !(math.Abs(f-got.Range.Low-want[0]) < 1e-6 && math.Abs(got.Range.High-f-want[1]) < 1e-6) {
				t.Errorf("with %q at %s %% %s is %v, between %v; want %v around it", c.more, c.level, word, f, *got.Range, want)
			}
		}
		checkFacts(t, m)
	}
}

// extremes are what damage puts in the place of a number.
var extremes = []any{0.0, -1.0, 1e-300, -1e300, 1e300, 1e9, math.MaxFloat64, 5e-324, -0.5, 100.0, 101.0, 400.0}

// damage takes some members of a JSON value away, and puts extremes, other
// texts and empty lists in the place of some others.
func damage(t *rapid.T, v any, often int) any {
	hit := func() bool { return rapid.IntRange(0, often).Draw(t, "hit") == 0 }
	switch v := v.(type) {
	case map[string]any:
		names := make([]string, 0, len(v))
		for name := range v {
			names = append(names, name)
		}
		slices.Sort(names)
		for _, name := range names {
			if name != "cue" && name != "channel" && name != "channels" && hit() && rapid.Bool().Draw(t, "drop") {
				delete(v, name)
				continue
			}
			v[name] = damage(t, v[name], often)
		}
		return v
	case []any:
		if len(v) > 0 && hit() {
			v = v[:rapid.IntRange(0, len(v)-1).Draw(t, "length")]
		}
		for i := range v {
			v[i] = damage(t, v[i], often)
		}
		return v
	case float64:
		if hit() {
			return rapid.SampledFrom(extremes).Draw(t, "extreme")
		}
	case string:
		if hit() {
			return rapid.SampledFrom([]string{"", "pulpit", "key", "back", "LED wall", "side screen", "tunable profile 26", "colour wash 7", "tungsten", "none"}).Draw(t, "text")
		}
	}
	return v
}

// TestDamagedShows measures demo shows in which anything may be missing or wild:
// no panic, no NaN, nothing unknown without a reason.
func TestDamagedShows(t *testing.T) {
	whole := map[string]string{}
	for _, section := range schema.Sections {
		data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "shows", "flawed", section+".json"))
		if err == nil {
			whole[section] = string(data)
		}
	}
	sections := slices.Sorted(maps.Keys(whole))
	if len(sections) < 5 {
		t.Fatalf("the demo show has only the sections %v", sections)
	}
	damaged := rapid.Custom(func(t *rapid.T) string {
		var text strings.Builder
		text.WriteString("{")
		for i, section := range sections {
			var v any
			if err := json.Unmarshal([]byte(whole[section]), &v); err != nil {
				t.Fatal(err)
			}
			if list, ok := v.([]any); ok && section == "cues" {
				v = list[:rapid.IntRange(1, 12).Draw(t, "cues")]
			}
			// Mostly one section is damaged badly; sometimes all of them a little.
			often := rapid.SampledFrom([]int{8, 40, 400, 100_000, 100_000}).Draw(t, section)
			data, err := json.Marshal(damage(t, v, often))
			if err != nil {
				t.Fatal(err)
			}
			if i > 0 {
				text.WriteString(",")
			}
			fmt.Fprintf(&text, "%q: %s", section, data)
		}
		text.WriteString("}")
		return text.String()
	})
	rapid.Check(t, func(t *rapid.T) {
		show := readShow(t, damaged.Draw(t, "show"))
		checkFacts(t, Measure(show, tracking.Resolve(show)))
	})
}

// A cue that the next one replaces in the same moment is seen by nobody: who stands in its
// light is not judged in it. Where nobody tells the times, both are.
func TestACueOfNoTimeIsNotLookedAt(t *testing.T) {
	for _, test := range []struct {
		name, first, second string
		people              int
	}{
		{"in the same moment", `"at_s": 5,`, `"at_s": 5,`, 1},
		{"a second later", `"at_s": 5,`, `"at_s": 6,`, 2},
		{"of unknown times", ``, ``, 2},
		{"one of an unknown time", `"at_s": 5,`, ``, 2},
	} {
		m := room{
			patch: fixture(1, "key", 0, -2, 5.6, ""),
			cues:  `{"cue": 1, ` + test.first + ` "segment": "reading", "set": [{"channels": "1", "level": 0}]}, {"cue": 2, ` + test.second + ` "segment": "reading", "set": [{"channels": "1", "level": 50}]}`,
		}.measure(t)
		if len(m.People) != test.people {
			t.Errorf("%s: %d people, want %d", test.name, len(m.People), test.people)
		}
	}
}
