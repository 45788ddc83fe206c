package practise

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

const small = `{"room": {"bars": [{"name": "front", "from": {"x": -3, "y": -2, "z": 5}, "to": {"x": 3, "y": -2, "z": 5}}, {"name": "middle", "zero": "middle", "from": {"x": -3, "y": 4, "z": 5}, "to": {"x": 3, "y": 4, "z": 5}}, {"name": "rising", "from": {"x": 0, "y": 0, "z": 0}, "to": {"x": 0, "y": 3, "z": 4}}, {"name": "open", "from": {"x": 0, "y": 0, "z": 0}}]},
	"groups": {"keys": "1-2", "all keys": "keys, 7", "round": "round"},
	"patch": [{"channel": 1, "purpose": "key", "aimed_at": "desk"}, {"channel": 2, "purpose": "key", "aimed_at": "drums"}, {"channel": 3, "purpose": "back", "aimed_at": "desk"}],
	"order": [{"name": "Song 1", "kind": "song", "start_cue": 1}, {"name": "Talk", "kind": "talk", "start_cue": 3}, {"name": "Song 2", "kind": "song", "start_cue": 5}, {"name": "Loose"}]}`

func smallDocument(t *testing.T) *document {
	t.Helper()
	d, err := read(Files{"show.json": []byte(small)})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestWhereAFixtureHangs: at its own point, or as far along its bar as it says, from the end or the middle of it.
func TestWhereAFixtureHangs(t *testing.T) {
	d := smallDocument(t)
	for about, c := range map[string]struct {
		fixture map[string]any
		want    []float64
	}{
		"its own":         {map[string]any{"hung_at": map[string]any{"x": 1.0, "y": 2.0, "z": 3.0}, "hung_on": "front"}, []float64{1, 2, 3}},
		"along a bar":     {map[string]any{"hung_on": "front", "hung_at_m": 2.0}, []float64{-1, -2, 5}},
		"at its end":      {map[string]any{"hung_on": "front"}, []float64{-3, -2, 5}},
		"from the middle": {map[string]any{"hung_on": "middle", "hung_at_m": -1.0}, []float64{-1, 4, 5}},
		"up a bar":        {map[string]any{"hung_on": "rising", "hung_at_m": 2.5}, []float64{0, 1.5, 2}},
		"half a bar":      {map[string]any{"hung_on": "open"}, nil},
		"no such bar":     {map[string]any{"hung_on": "none"}, nil},
	} {
		at := d.hung(c.fixture)
		if len(at) != len(c.want) {
			t.Errorf("%s: %v", about, at)
			continue
		}
		for i, want := range c.want {
			if got, _ := at[[]string{"x", "y", "z"}[i]].(float64); math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: %v, want %v", about, at, c.want)
			}
		}
	}
}

// TestWhatASelectionHas: numbers, ranges and groups, which may hold groups, though not for ever.
func TestWhatASelectionHas(t *testing.T) {
	d := smallDocument(t)
	for text, want := range map[string]string{
		"1": "1", "2-3": "23", " 1 , 3 - 3": "13", "keys": "12", "all keys": "127", "keys,3": "123", "round": "", "none": "", "": "", "3-2": "", "7-9": "789",
	} {
		got := ""
		for channel := 1; channel <= 9; channel++ {
			if d.selects(text, float64(channel), 0) {
				got += fmt.Sprint(channel)
			}
		}
		if got != want {
			t.Errorf("%q has %s, want %s", text, got, want)
		}
	}
}

// TestWordsOfRecipes: what an expression of a recipe may ask of a show.
func TestWordsOfRecipes(t *testing.T) {
	d := smallDocument(t)
	_, order := d.list("order")
	list := make([]any, len(order))
	for i := range order {
		list[i] = order[i].Any()
	}
	for cue, want := range map[float64]string{0: "", 1: "Song 1", 2.5: "Song 1", 3: "Talk", 9: "Song 2"} {
		if got, _ := segmentOf(list, map[string]any{"cue": cue})["name"].(string); got != want {
			t.Errorf("cue %v falls under %q, want %q", cue, got, want)
		}
	}
	if got := segmentOf(list, map[string]any{"cue": 1.0, "segment": "Loose"})["name"]; got != "Loose" {
		t.Errorf("a cue that names its part falls under %v", got)
	}
	_, patch := d.list("patch")
	var lamps []any
	for _, ref := range patch {
		lamps = append(lamps, ref.Any())
	}
	cue := map[string]any{"set": []any{map[string]any{"channels": "keys", "level": 40.0}, map[string]any{"channels": "3", "level": 50.0}, map[string]any{"channels": "1"}, map[string]any{"channels": "1-3", "level": 0.0}, map[string]any{"channels": "9", "level": 60.0}}}
	for purpose, want := range map[string][]any{"key": {40.0, 0.0}, "back": {50.0, 0.0}, "wash": {}} {
		if got := d.levels(lamps, cue, purpose); !slices.Equal(got, want) {
			t.Errorf("for %s it sets %v, want %v", purpose, got, want)
		}
	}
	e := scope{"level": 40.0, "name": "x"}
	for condition, want := range map[string]any{"": true, "level > 39": true, "level > 40": false, "name": "no condition", "level >": "unexpected token"} {
		ok, err := e.is(condition)
		if says, wrong := want.(string); wrong && (err == nil || !strings.Contains(err.Error(), says)) || !wrong && (err != nil || ok != want) {
			t.Errorf("%q: %v, %v; want %v", condition, ok, err, want)
		}
	}
	got, err := e.values(map[string]any{"a": "= level / 2", "b": []any{"=level", "level"}, "c": map[string]any{"d": "=name"}, "e": 5.0})
	if want := map[string]any{"a": 20.0, "b": []any{40.0, "level"}, "c": map[string]any{"d": "x"}, "e": 5.0}; err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("got %v (%v), want %v", got, err, want)
	}
	for _, wrong := range []any{"= level >", []any{"= level >"}, map[string]any{"a": "= level >"}} {
		if got, err := e.worked(wrong); err == nil {
			t.Errorf("%v is %v", wrong, got)
		}
	}
}

// TestWhatSpeaks: a fault is planted where its rule alone has something new to say, beside what its recipe says that it may bring along.
func TestWhatSpeaks(t *testing.T) {
	of := func(rule string, verdict finding.Verdict, place string) finding.Finding {
		return finding.Finding{Rule: rule, Verdict: verdict, Message: rule + " on " + place + ".", Subjects: []finding.Subject{{Kind: "place", Name: place}}}
	}
	own, twin, old := of("a/b", finding.Fail, "desk"), of("a/b", finding.Fail, "drums"), of("a/b", finding.Fail, "keys")
	recipe := &Recipe{Rule: "a/b", Also: []string{"a/also"}, May: []string{"a/may"}}
	for about, c := range map[string]struct {
		found        []finding.Finding
		other        string
		keys, others int
	}{
		"nothing":                 {nil, "nothing is said", 0, 0},
		"what was said":           {[]finding.Finding{old}, "nothing is said", 0, 0},
		"nobody can tell":         {[]finding.Finding{of("a/b", finding.Open, "desk"), of("a/c", finding.Open, "desk")}, "nothing is said", 0, 0},
		"its rule":                {[]finding.Finding{old, own}, "", 1, 0},
		"its rule twice":          {[]finding.Finding{own, twin}, "", 2, 0},
		"what comes with it":      {[]finding.Finding{own, of("a/also", finding.Fail, "desk"), of("a/also", finding.Fail, "drums"), of("a/may", finding.Fail, "desk")}, "", 1, 2},
		"only what comes with it": {[]finding.Finding{of("a/also", finding.Fail, "desk")}, "nothing is said", 0, 0},
		"another rule":            {[]finding.Finding{own, of("a/c", finding.Fail, "desk")}, "a/c speaks too: a/c on desk.", 0, 0},
	} {
		planted, other := spoken(recipe, map[string]bool{old.Key(): true}, c.found)
		if other != c.other || other == "" && (len(planted.Keys) != c.keys || len(planted.Others) != c.others || planted.Says != own.Message || planted.Names[0] != "desk" || len(planted.Names) != c.keys) {
			t.Errorf("%s: %+v, %q", about, planted, other)
		}
	}
}
