package plan

import (
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// The numbers that are free are those that somebody would find who counts up.
func TestTheNextFreeNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		taken, next := map[int]bool{}, free{}
		for _, number := range rapid.SliceOf(rapid.IntRange(-3, 30)).Draw(t, "taken") {
			taken[number], next[number] = true, number+1
		}
		for _, from := range rapid.SliceOf(rapid.IntRange(-3, 30)).Draw(t, "asked") {
			want := from
			for taken[want] {
				want++
			}
			taken[want] = true
			if got := next.from(from); got != want {
				t.Fatalf("from %d on %d is free, not %d", from, want, got)
			}
		}
	})
}

// A lamp that points at nobody was meant for whom a sign or a point in the wrong position
// explains; one that is near no place, for whoever lacks light, unless it lights a way.
func TestAimedWrong(t *testing.T) {
	show := read(t, `{
		"room": {"places": [{"name": "left", "x": -2, "y": 1.5, "head_m": 1.6}, {"name": "right", "x": 3, "y": 1.5, "head_m": 1.6}, {"name": "gate", "x": 9, "y": 4, "head_m": 1.6}],
			"paths": [{"name": "way", "from": "right", "to": "gate"}]},
		"types": [{"name": "lamp"}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "key"}],
		"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["left"], "walks": ["way"]}],
		"cues": [{"cue": 1, "segment": "Talk", "set": [{"channels": "1", "level": 50}]}]
	}`)
	o := &offers{state: &proof.State{Show: show, Looks: tracking.Resolve(show)}, start: show}
	lamp := show.Patch[0]
	for _, test := range []struct {
		name, lacks, want string
		far               bool
		aim               schema.Point
	}{
		{"a sign", "left", "left", true, schema.Point{X: 2, Y: 1.5, Z: 1.6}},
		{"a sign, and somebody else lacks light", "right", "left", true, schema.Point{X: 2, Y: 1.5, Z: 1.6}},
		{"a point", "right", "right", true, schema.Point{X: 30, Y: 1.5, Z: 1.6}},
		{"another point", "left", "left", true, schema.Point{X: -2, Y: 0.15, Z: 1.6}},
		{"no slip", "left", "left", true, schema.Point{X: -9, Y: 9, Z: 1}},
		{"no slip, near somebody who is not there", "left", "", false, schema.Point{X: 3, Y: 4, Z: 1}},
		{"on a way", "left", "", true, schema.Point{X: 6, Y: 2.75, Z: 0}},
	} {
		lamp.AimedAt = &schema.Aim{Point: &test.aim}
		if got := o.aimedWrong(lamp, test.lacks, test.far); got != test.want {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
	lamp.AimedAt = &schema.Aim{Name: "nowhere"}
	if got := o.aimedWrong(lamp, "left", true); got != "" {
		t.Errorf("of a name %q", got)
	}
	if !o.litWith(lamp, "left") || o.litWith(lamp, "right") {
		t.Error("the lamp is lit with the one on the left, and not with the one on the right")
	}
}
