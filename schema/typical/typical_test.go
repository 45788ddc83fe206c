package typical

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

func TestEveryNumberHasASourceAndARangeAroundIt(t *testing.T) {
	for _, name := range Names() {
		e, ok := Find(name)
		if !ok || e.Name != name {
			t.Fatalf("%q is listed and found as %q, %v", name, e.Name, ok)
		}
		v := reflect.ValueOf(&e.Type).Elem()
		for i := range v.NumField() {
			key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			if key == "" || key == "-" || key == "known" || key == "source" || v.Field(i).IsZero() {
				continue
			}
			if e.Sources[key] == "" {
				t.Errorf("%s: %s has no source", name, key)
			}
			how, said := e.Type.Known[key]
			if !said || how.Word != "assumed" {
				t.Errorf("%s: %s counts as %q where it is assumed", name, key, how.Word)
			}
			if number, ok := v.Field(i).Interface().(*float64); ok && !(how.Low <= *number && *number <= how.High && how.High > 0) {
				t.Errorf("%s: %s is %v, outside of its range %v to %v", name, key, *number, how.Low, how.High)
			}
		}
		for key := range e.Type.Known {
			if e.Sources[key] == "" {
				t.Errorf("%s: %s is said to be known and has no source", name, key)
			}
		}
	}
}

// What is put in has to be what a person might have written: the schema of types
// must accept it.
func TestBuiltInTypesFitTheSchema(t *testing.T) {
	for _, name := range append(Names(), "profile tungsten 750 19", "strip r g b", "profile white 170", "fresnel white 170") {
		e, ok := Find(name)
		if !ok {
			if strings.HasPrefix(name, "strip r") {
				continue
			}
			t.Fatalf("%q is not found", name)
		}
		e.Type.Name = "front"
		file := &source.File{Name: "types.json", Text: "[" + written(t, &e.Type) + "]"}
		if problems, ok := source.ParseJSON(file); !ok {
			t.Fatal(problems)
		}
		for _, f := range schema.Validate("types", file.Root()) {
			t.Errorf("%s: %s", name, f.Message)
		}
		if e.Type.BeamDeg != nil && *e.Type.BeamDeg >= *e.Type.FieldDeg {
			t.Errorf("%s: its beam of %v is not within its field of %v", name, *e.Type.BeamDeg, *e.Type.FieldDeg)
		}
	}
}

// written is a type as JSON without what is not given.
func written(t *testing.T, one *schema.Type) string {
	t.Helper()
	all, err := json.Marshal(one)
	if err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := json.Unmarshal(all, &tree); err != nil {
		t.Fatal(err)
	}
	delete(tree, "known")
	var prune func(m map[string]any)
	prune = func(m map[string]any) {
		for key, value := range m {
			switch value := value.(type) {
			case nil:
				delete(m, key)
			case string:
				if value == "" {
					delete(m, key)
				}
			case map[string]any:
				prune(value)
			case []any:
				for _, item := range value {
					if object, ok := item.(map[string]any); ok {
						prune(object)
					}
				}
			}
		}
	}
	prune(tree)
	text, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestNamesAsPeopleWriteThem(t *testing.T) {
	for written, want := range map[string]string{
		"profile white 26":            "profile white 26",
		"Profile, white, 19°":         "profile white 19",
		"LED profile":                 "profile white 26",
		"tungsten profile 750W 36":    "profile tungsten 750 36",
		"ellipsoidal halogen":         "profile tungsten 575 26",
		"wash RGBW":                   "wash red green blue white 40",
		"wash rgbaw 25":               "wash red green blue amber white 25",
		"wash red green blue amber":   "wash red green blue amber 40",
		"moving wash":                 "moving wash red green blue white",
		"wash moving":                 "moving wash red green blue white",
		"moving spot":                 "moving spot white",
		"haze machine":                "",
		"hazer":                       "hazer",
		"batten":                      "batten red green blue white 50",
		"profile white 26 19 36":      "",
		"profile white 500":           "",
		"par tungsten 20000":          "",
		"wash red red":                "",
		"":                            "",
		"moving":                      "",
		"wash NaN":                    "",
		"flood tungsten 90 500":       "flood tungsten 500 90",
		"flood tungsten 100":          "flood tungsten 100w 110",
		"flood tungsten 110° 100w":    "flood tungsten 100w 110",
		"flood tungsten 110°":         "flood tungsten 500 110",
		"flood tungsten 90 110°":      "",
		"flood tungsten 100w 110w":    "",
		"profile white 26w":           "",
		strings.Repeat("profile ", 9): "",
	} {
		e, ok := Find(written)
		if ok != (want != "") || e.Name != want {
			t.Errorf("%q is %q, %v; want %q", written, e.Name, ok, want)
		}
	}
}

func load(t *testing.T, types string) *schema.Show {
	t.Helper()
	file := &source.File{Name: "types.json", Text: types}
	if problems, ok := source.ParseJSON(file); !ok {
		t.Fatal(problems)
	}
	show := &schema.Show{}
	show.Read("types", file.Root())
	return show
}

func TestWhatIsGivenWins(t *testing.T) {
	show := load(t, `[{"name": "front", "typical": "profile white 26", "white_k": 4200, "field_deg": 36, "known": {"white_k": "measured"}}]`)
	if found := Fill(show); len(found) > 0 {
		t.Fatal(found)
	}
	front := show.Types[0]
	if *front.WhiteK != 4200 || front.Known.Of("white_k").Word != "measured" {
		t.Errorf("the white that was given became %v, %v", *front.WhiteK, front.Known.Of("white_k"))
	}
	if *front.FluxLm != 7000 || front.Known.Of("flux_lm").Word != "assumed" || front.Known.Of("flux_lm").Low != 4000 || front.Known.Of("flux_lm").High != 12_000 {
		t.Errorf("the flux is %v, %v", *front.FluxLm, front.Known.Of("flux_lm"))
	}
	if got := *front.BeamDeg / *front.FieldDeg; got < 0.69 || got > 0.71 {
		t.Errorf("the beam is %v of a field of %v", *front.BeamDeg, *front.FieldDeg)
	}
	if front.Slots != nil {
		t.Error("nobody can tell the slots of a lamp from its kind")
	}
}

func TestWhatCannotStandBesideItIsLeftOut(t *testing.T) {
	show := load(t, `[
		{"name": "a", "typical": "profile white 26", "photometry": "a.ies"},
		{"name": "b", "typical": "profile white 26", "peak_cd": 40000},
		{"name": "c", "typical": "wash rgbw", "emitters": [{"name": "red", "wavelength_nm": 630, "flux_lm": 900}]},
		{"name": "d", "typical": "profile white 26", "source": "tunable-led"},
		{"name": "e", "typical": "profile wihte 26"}]`)
	found := Fill(show)
	if len(found) != 1 || !strings.Contains(found[0].Message, `"e"`) || !strings.Contains(found[0].Message, "profile white 26") {
		t.Errorf("of the misspelt name it is said: %v", found)
	}
	a, b, c, d := show.Types[0], show.Types[1], show.Types[2], show.Types[3]
	if a.FluxLm != nil || a.BeamDeg != nil || b.FluxLm != nil || b.BeamDeg == nil || c.FluxLm != nil || len(c.Emitters) != 1 || d.WhiteK != nil {
		t.Errorf("what was put beside what is given: %+v %+v %+v %+v", a, b, c, d)
	}
	if !slices.Contains(a.Can, "shutters") {
		t.Errorf("a profile has shutters, whatever its file of light: %v", a.Can)
	}
}

func FuzzFind(f *testing.F) {
	for _, name := range Names() {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		e, ok := Find(name)
		if !ok {
			return
		}
		again, ok := Find(e.Name)
		if !ok || again.Name != e.Name {
			t.Errorf("%q is %q, which is %q, %v", name, e.Name, again.Name, ok)
		}
	})
}

// TestColoursGoWithTheirSource: the white of a built-in lamp is that of a lamp that says the same source, or none; and of beam and
// field the one that is given decides the other, and both stay as they are given.
func TestColoursGoWithTheirSource(t *testing.T) {
	usual, ok := Find("profile 26")
	if !ok || usual.Type.Source == "tungsten" || usual.Type.WhiteK == nil || usual.Type.BeamDeg == nil || usual.Type.FieldDeg == nil {
		t.Fatalf("the usual profile is %+v", usual.Type)
	}
	for source, want := range map[string]bool{"": true, usual.Type.Source: true, "discharge": false} {
		one := &schema.Type{Name: "profile 26", Source: source}
		if fill(one, usual); (one.WhiteK != nil) != want || one.FluxLm == nil && usual.Type.FluxLm != nil {
			t.Errorf("with the source %q its white is %v and its light %v", source, one.WhiteK, one.FluxLm)
		}
	}
	part := *usual.Type.BeamDeg / *usual.Type.FieldDeg
	for _, c := range []struct{ beam, field, wantBeam, wantField float64 }{{10, 40, 10, 40}, {0, 40, 40 * part, 40}, {10, 0, 10, 10 / part}, {0, 0, *usual.Type.BeamDeg, *usual.Type.FieldDeg}} {
		one := &schema.Type{Name: "profile 26"}
		if c.beam > 0 {
			one.BeamDeg = &c.beam
		}
		if c.field > 0 {
			one.FieldDeg = &c.field
		}
		if fill(one, usual); one.BeamDeg == nil || one.FieldDeg == nil || math.Abs(*one.BeamDeg-c.wantBeam) > 1e-9 || math.Abs(*one.FieldDeg-c.wantField) > 1e-9 {
			t.Errorf("given %g and %g degrees it has %v and %v, not %g and %g", c.beam, c.field, one.BeamDeg, one.FieldDeg, c.wantBeam, c.wantField)
		}
	}
}
