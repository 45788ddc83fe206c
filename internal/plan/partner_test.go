package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// A place is turned to where most of the others look, where at least two do, to the house where it does not, and the place itself
// does not count.
func TestWhereAPlaceIsTurned(t *testing.T) {
	for others, want := range map[string][]any{
		"": nil, "45": nil, "45 45": {45.0}, "45 45 90": {45.0}, "90 45 90": {90.0}, "45 90": nil, "0 0": {0.0}, "45 45 0": {45.0}, "? ?": nil, "10": nil,
	} {
		var places []string
		for i, facing := range strings.Fields(others) {
			places = append(places, fmt.Sprintf(`{"name": "p%d", "x": %d, "y": 1%s}`, i, i, map[bool]string{true: "", false: `, "facing_deg": ` + facing}[facing == "?"]))
		}
		o := offersFound(t, `{"room": {"places": [`+strings.Join(append(places, `{"name": "desk", "x": 9, "y": 1, "facing_deg": 10}`), ", ")+`]}}`)
		found := at("people/turned-away", "desk")
		var list [][]source.Edit
		o.facing(&found, heard(&list))
		var got []any
		for _, edits := range list {
			if edits[0].Field == "facing_deg" && edits[0].At == o.place("desk").At {
				got = append(got, edits[0].Value)
			}
		}
		if len(want) > 0 && !slices.Contains(got, want[0]) || len(want) == 0 && len(got) > 1 || len(want) > 0 && got[0] != want[0] {
			t.Errorf("where the others look to %s it is turned to %v, want %v", others, got, want)
		}
	}
}

// A fill that was brought up because of its filter goes down to the key of its place, where that is lit and told, if both are of one
// source.
func TestAFillLikeItsKey(t *testing.T) {
	for _, c := range []struct {
		key, fill, source string
		want              []float64
	}{{"50", "80", "tungsten", []float64{50}}, {"50", "50", "tungsten", nil}, {"50", "40", "tungsten", nil}, {"0", "80", "tungsten", nil}, {"0.5", "80", "tungsten", []float64{0.5}}, {"50", "80", "white-led", nil}} {
		o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]}, "types": [{"name": "a", "source": "tungsten"}, {"name": "b", "source": "`+c.source+`"}],
			"patch": [{"channel": 1, "type": "a", "purpose": "key", "aimed_at": "desk"}, {"channel": 2, "type": "b", "purpose": "fill", "aimed_at": "desk"}, {"channel": 3, "type": "b", "purpose": "back", "aimed_at": "desk"}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": `+c.key+`}, {"channels": "2-3", "level": `+c.fill+`}]}, {"cue": 2}]}`)
		var got []float64
		for _, e := range o.likePartner(o.state.Show.Patch[1]) {
			level, _ := e.Value.(float64)
			got = append(got, level)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("a fill at %s beside a key at %s, of %s: %v, want %v", c.fill, c.key, c.source, got, c.want)
		}
		if got := o.likePartner(o.state.Show.Patch[2]); len(got) > 0 {
			t.Errorf("a back light goes to %v", got)
		}
	}
}

// Between two looks lie the parts of the running order that are neither's, each once, however many looks it has, if its length is told.
func TestWhatLiesBetweenLooks(t *testing.T) {
	o := offersFound(t, `{"order": [{"name": "A", "start_cue": 1, "duration_s": 100}, {"name": "B", "start_cue": 2, "duration_s": 200}, {"name": "C", "start_cue": 4}, {"name": "D", "start_cue": 5, "duration_s": 400}, {"name": "E", "start_cue": 6, "duration_s": 800}],
		"cues": [{"cue": 1}, {"cue": 2}, {"cue": 3}, {"cue": 4}, {"cue": 5}, {"cue": 6}, {"cue": 7}]}`)
	for _, c := range []struct {
		first, last int
		want        float64
	}{{0, 1, 0}, {0, 2, 0}, {0, 3, 200}, {0, 4, 200}, {0, 5, 600}, {0, 6, 600}, {1, 2, 0}, {1, 5, 400}, {2, 3, 0}, {3, 6, 400}} {
		if got := o.between(c.first, c.last); got != c.want {
			t.Errorf("between looks %d and %d lie %v s, want %v", c.first, c.last, got, c.want)
		}
	}
}

// On a bar that goes across the stage a lamp is told by how far from the middle it hangs, on any other by its point.
func TestWhereOnABar(t *testing.T) {
	w := &words{show: read(t, `{"room": {"bars": [{"name": "front", "from": {"x": -3, "y": -2, "z": 5}, "to": {"x": 3, "y": -2, "z": 5}}, {"name": "askew", "from": {"x": -3, "y": -2, "z": 5}, "to": {"x": 3, "y": 4, "z": 5}},
		{"name": "deep", "from": {"x": 3, "y": -2, "z": 5}, "to": {"x": 3, "y": 5, "z": 5}}, {"name": "up", "from": {"x": 3, "y": -2, "z": 1}, "to": {"x": 3.5, "y": -2, "z": 5}}, {"name": "open", "from": {"x": 3, "y": -2, "z": 1}}]}}`)}
	p := schema.Point{X: -2, Y: -2, Z: 5}
	for name, short := range map[string]bool{"front": true, "askew": true, "deep": false, "up": false, "open": false, "none": false} {
		want := "on " + name + ", " + pointWords(p)
		if short {
			want = "on " + name + ", 2 m left of the middle (seen from the house)"
		}
		if got := w.onBar(name, p); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := w.onBar("", p); got != pointWords(p) {
		t.Errorf("on no bar it is %q", got)
	}
}
