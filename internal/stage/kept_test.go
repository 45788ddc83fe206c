package stage

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestWhatAChangeLeaves: which looks stand as they stood, and what of the rig and of each lamp is as it was. Channel 1
// lights the sky all evening, so that lamps count by all their light; 2 is lit in the first look and 3 in the second.
func TestWhatAChangeLeaves(t *testing.T) {
	show := read(t, `{"room": {"places": [{"name": "lectern", "x": 0, "y": 2, "z": 0, "head_m": 1.6}], "cameras": [{"name": "front", "x": 0, "y": -10, "z": 1.6, "white_k": 5600}]},
		"types": [{"name": "spot", "source": "white-led", "white_k": 5600, "flux_lm": 1000, "beam_deg": 20, "field_deg": 30}, {"name": "weak", "source": "white-led", "white_k": 5600, "flux_lm": 500, "beam_deg": 20, "field_deg": 30}],
		"patch": [{"channel": 1, "type": "spot", "purpose": "wash", "hung_at": {"x": 1, "y": 0, "z": 5}, "aimed_at": {"x": 1, "y": 0, "z": 9}},
			{"channel": 2, "type": "spot", "purpose": "key", "hung_at": {"x": 0, "y": -3, "z": 5}, "aimed_at": "lectern"},
			{"channel": 3, "type": "spot", "purpose": "back", "hung_at": {"x": 0, "y": 6, "z": 5}, "aimed_at": "lectern"}],
		"order": [{"name": "talk", "start_cue": 1, "people": ["lectern"]}],
		"cues": [{"cue": 1, "set": [{"channels": "1-2", "level": 50}]}, {"cue": 2, "set": [{"channels": "2", "level": 0}, {"channels": "3", "level": 50}]}, {"cue": 3, "set": [{"channels": "3", "level": 0}]}]}`)
	looks := tracking.Resolve(show)
	kept := NewRig(show, looks, nil).Keep()
	letters := func(n int, is func(i int) bool) string {
		var b strings.Builder
		for i := range n {
			b.WriteByte(map[bool]byte{true: 'y', false: 'n'}[is(i)])
		}
		return b.String()
	}
	for _, c := range []struct {
		about string
		at    source.Ref
		field string
		value any
		want  string // of the looks, of the show, of where lamps shine, of how dim they get
	}{
		{"nothing", source.Ref{}, "", nil, "yyy full wiring room cues yyy yyy"},
		{"an address", show.Patch[1].At, "address", "1.1", "yyy full wiring cues yny yyy"},
		{"a mode", show.Patch[1].At, "mode", "long", "yyy full wiring cues yny yyy"},
		{"a circuit", show.Patch[2].At, "circuit", "side", "yyy full wiring cues yyn yyy"},
		{"where a key points", show.Patch[1].At, "aimed_at", "x 0, y 2, z 1.5", "nyy full cues yny yyy"},
		{"where a back light points", show.Patch[2].At, "aimed_at", "x 0, y 2, z 1.5", "yny backs full cues yyn yyy"},
		{"a weaker lamp", show.Patch[1].At, "type", "weak", "nyy cues yny yyy"},
		{"what a lamp is for", show.Patch[1].At, "purpose", "fill", "changed cues yny yyy"},
		{"a lamp that is for the house", show.Patch[1].At, "purpose", "house", "changed cues yny yyy"},
		{"a type", show.Types[1].At, "flux_lm", 600.0, "changed cues yyy yyy"},
		{"a place", show.Room.Places[0].At, "x", 0.5, "changed cues nnn yyy"},
		{"the white of a camera", show.Room.Cameras[0].At, "white_k", 4300.0, "changed cues yyy yyy"},
		{"where a camera stands", show.Room.Cameras[0].At, "x", 1.0, "changed cues nnn yyy"},
		{"a part of the evening", show.Order[0].At, "name", "sermon", "changed cues yyy yyy"},
		{"a level", show.Cues[1].Set[1].At, "level", 40.0, "yny full wiring room yyy yyn"},
		{"another channel", show.Patch[2].At, "channel", 9.0, "yny backs full yyn yyn"},
		{"the name of a cue", show.Cues[1].At, "name", "later", "yny full wiring room yyy yyy"},
		{"a fade", show.Cues[1].At, "in_s", 3.0, "yny full wiring room yyy yyy"},
	} {
		changed := show
		if c.field != "" {
			var err error
			if changed, err = schema.Apply(show, []source.Edit{{At: c.at, Field: c.field, Value: c.value}}); err != nil {
				t.Fatalf("%s: %v", c.about, err)
			}
		}
		again := tracking.Again(changed, looks)
		r := NewRig(changed, again, kept)
		var got []string
		tell := func(is bool, word string) {
			if is {
				got = append(got, word)
			}
		}
		s := r.Steady(kept)
		if s == nil {
			got = append(got, "changed")
		} else {
			got = append(got, letters(len(s.Looks), func(i int) bool { return s.Looks[i] }))
			tell(s.Backs, "backs")
			tell(s.Full, "full")
			tell(s.Wiring, "wiring")
		}
		tell(r.IsAs(kept), "room")
		tell(r.CuedAs(kept.rig), "cues")
		got = append(got, letters(len(r.Lines), func(i int) bool { return r.ShinesAs(kept, i) }), letters(len(r.Lines), func(i int) bool { return r.DimmedAs(kept, i) }))
		if got := strings.Join(got, " "); got != c.want {
			t.Errorf("%s: %s\nwant %s", c.about, got, c.want)
		}
	}
	if r := NewRig(show, looks, nil); r.Steady(nil) != nil || r.Steady(NewRig(show, nil, nil).Keep()) != nil {
		t.Error("what nothing was kept of stays")
	}
}

// TestRoomsOfOneSight: no room is only like none, and two are alike where their cameras alone are set otherwise.
func TestRoomsOfOneSight(t *testing.T) {
	room := func(white, x float64) *schema.Room {
		return &schema.Room{Name: "hall", Cameras: []*schema.Camera{{Name: "front", X: &x, WhiteK: &white}}}
	}
	one := room(5600, 1)
	for about, c := range map[string]struct {
		a, b *schema.Room
		want bool
	}{
		"the same": {one, one, true}, "none": {nil, nil, true}, "none and one": {nil, one, false}, "one and none": {one, nil, false}, "another white": {one, room(3200, 1), true}, "a camera elsewhere": {one, room(5600, 2), false},
		"another name": {one, &schema.Room{Name: "other", Cameras: one.Cameras}, false},
	} {
		if got := sameSight(c.a, c.b); got != c.want {
			t.Errorf("%s: %v", about, got)
		}
	}
}
