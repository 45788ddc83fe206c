package schema

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/source"
)

// wholeShow has at least one of everything that an edit can change.
const wholeShow = `{
	"name": "Evening",
	"room": {
		"name": "Hall", "ambient_lx": 3,
		"places": [{"name": "pulpit", "x": 1, "y": 2, "z": 0, "background": "drape"}, {"name": "lectern", "x": -1, "y": 2, "z": 0}],
		"cameras": [{"name": "centre", "white_k": 5600, "aimed_at": "pulpit"}, {"name": "left", "white_k": 3200}],
		"surfaces": [{"name": "drape", "kind": "drape", "reflectance": 0.06}, {"name": "wall", "kind": "emissive", "drive_pct": 15}],
		"air": {"volume_m3": 2600},
		"circuits": [{"name": "front", "volts": 230, "amps": 16}]
	},
	"types": [{"name": "profile", "source": "tungsten", "slots": 1, "halogen": true, "white_k": 3200}],
	"patch": [
		{"channel": 1, "address": "1.1", "type": "profile", "aimed_at": "pulpit", "groups": ["keys"]},
		{"channel": 2, "address": "1.2", "type": "profile"},
		{"channel": 3, "address": "1.3", "type": "profile"},
		{"channel": 4, "address": "1.4", "type": "profile"}
	],
	"groups": {"front": "1-2"},
	"order": [{"name": "song", "kind": "song", "start_cue": 1, "people": ["pulpit"]}],
	"cues": [
		{"cue": 1, "name": "Dawn", "in_s": 3, "set": [
			{"channels": "1-4", "level": 50, "aim": "pulpit"},
			{"channels": "2", "white_k": 3200}
		], "screens": [{"screen": "wall", "drive_pct": 20}]},
		{"cue": 2, "part": 1, "set": [{"channels": "front", "level": 70}]},
		{"cue": 3}
	],
	"readings": [{"place": "pulpit", "cue": 1, "lx": 500}, {"place": "lectern", "cue": 1, "lx": 400}, {"place": "choir", "cue": 3, "lx": 5}],
	"notices": {"haze": "a sign at the door"}
}`

// like compares shows by all that a file can say, and by where it stands; likeInFiles
// takes two readings of one text as the same place.
var (
	like = []cmp.Option{
		cmpopts.EquateComparable(source.Ref{}),
		cmpopts.IgnoreUnexported(Show{}, Cue{}, Setting{}),
	}
	likeInFiles = []cmp.Option{
		cmp.Comparer(func(a, b source.Ref) bool { return a.Pointer() == b.Pointer() }),
		cmpopts.IgnoreUnexported(Show{}, Cue{}, Setting{}),
	}
)

// at returns the place of what stands at a pointer of the show's file.
func at(t testing.TB, s *Show, pointer string) source.Ref {
	t.Helper()
	ref, ok := s.At.Find(pointer)
	if !ok {
		t.Fatalf("nothing stands at %s", pointer)
	}
	return ref
}

func edited(t testing.TB, s *Show, edits ...source.Edit) *Show {
	t.Helper()
	changed, err := Apply(s, edits)
	if err != nil {
		t.Fatal(err)
	}
	return changed
}

// said lists the members of an entity that were given, as a file says them.
func said(entity any) string {
	v := reflect.ValueOf(entity).Elem()
	var words []string
	for _, f := range reflect.VisibleFields(v.Type()) {
		name := f.Tag.Get("json")
		if field := v.FieldByIndex(f.Index); name != "" && name != "-" && !field.IsZero() {
			if field.Kind() == reflect.Pointer {
				field = field.Elem()
			}
			words = append(words, fmt.Sprintf("%s=%v", name, field.Interface()))
		}
	}
	return strings.Join(words, " ")
}

func TestApplyChangesEveryKindOfThing(t *testing.T) {
	for _, test := range []struct {
		at, field string
		value     any
		get       func(*Show) any
		want      string
	}{
		{"/patch/1", "address", "2.101", func(s *Show) any { return s.Patch[1] }, "channel=2 address=2.101 type=profile"},
		{"/patch/1", "channel", 22.0, func(s *Show) any { return s.Patch[1] }, "channel=22 address=1.2 type=profile"},
		{"/patch/1", "aimed_at", "lectern", func(s *Show) any { return s.Patch[1] }, "channel=2 address=1.2 type=profile aimed_at=lectern"},
		{"/patch/0", "aimed_at", nil, func(s *Show) any { return s.Patch[0] }, "channel=1 address=1.1 type=profile groups=[keys]"},
		{"/patch/1", "zoom_deg", 26.5, func(s *Show) any { return s.Patch[1] }, "channel=2 address=1.2 type=profile zoom_deg=26.5"},
		{"/types/0", "halogen", false, func(s *Show) any { return s.Types[0] }, "name=profile source=tungsten slots=1 white_k=3200 halogen=false"},
		{"/types/0", "slots", 4.0, func(s *Show) any { return s.Types[0] }, "name=profile source=tungsten slots=4 white_k=3200 halogen=true"},
		{"/types/0", "slots", nil, func(s *Show) any { return s.Types[0] }, "name=profile source=tungsten white_k=3200 halogen=true"},
		{"/room/cameras/1", "white_k", 5600.0, func(s *Show) any { return s.Room.Cameras[1] }, "name=left white_k=5600"},
		{"/room/surfaces/1", "drive_pct", 20.0, func(s *Show) any { return s.Room.Surfaces[1] }, "name=wall kind=emissive drive_pct=20"},
		{"/room/circuits/0", "amps", 32.0, func(s *Show) any { return s.Room.Circuits[0] }, "name=front volts=230 amps=32"},
		{"/room/places/1", "background", "drape", func(s *Show) any { return s.Room.Places[1] }, "name=lectern x=-1 y=2 z=0 background=drape"},
		{"/room/air", "air_changes_per_h", 6.0, func(s *Show) any { return s.Room.Air }, "volume_m3=2600 air_changes_per_h=6"},
		{"/order/0", "start_cue", 2.5, func(s *Show) any { return s.Order[0] }, "name=song kind=song start_cue=2.5 people=[pulpit]"},
		{"/order/0", "mood", "quiet", func(s *Show) any { return s.Order[0] }, "name=song kind=song start_cue=1 people=[pulpit] mood=quiet"},
		{"/cues/2", "note", "a bump is meant", func(s *Show) any { return s.Cues[2] }, "cue=3 note=a bump is meant"},
		{"/cues/2", "cue", 12.5, func(s *Show) any { return s.Cues[2] }, "cue=12.5"},
		{"/cues/2", "cue", "2.10", func(s *Show) any { return s.Cues[2] }, "cue=2.1"},
		{"/cues/2", "part", 2.0, func(s *Show) any { return s.Cues[2] }, "cue=3 part=2"},
		{"/cues/2", "in_s", 1.5, func(s *Show) any { return s.Cues[2] }, "cue=3 in_s=1.5"},
		{"/cues/0/screens/0", "drive_pct", 12.0, func(s *Show) any { return s.Cues[0].Screens[0] }, "screen=wall drive_pct=12"},
		{"/cues/0/set/0", "level", 60.0, func(s *Show) any { return s.Cues[0].Set[0] }, "channels=1-4 level=60 aim=pulpit"},
		{"/cues/0/set/0", "level", "Full", func(s *Show) any { return s.Cues[0].Set[0] }, "channels=1-4 level=100 aim=pulpit"},
		{"/cues/0/set/0", "aim", "lectern", func(s *Show) any { return s.Cues[0].Set[0] }, "channels=1-4 level=50 aim=lectern"},
		{"/cues/0/set/0", "channels", "1-2", func(s *Show) any { return s.Cues[0].Set[0] }, "channels=1-2 level=50 aim=pulpit"},
		{"/cues/0/set/1", "white_k", nil, func(s *Show) any { return s.Cues[0].Set[1] }, "channels=2"},
	} {
		t.Run(fmt.Sprintf("%s %s is %v", test.at, test.field, test.value), func(t *testing.T) {
			original := show(t, wholeShow)
			changed := edited(t, original, source.Edit{At: at(t, original, test.at), Field: test.field, Value: test.value})
			if got := said(test.get(changed)); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
			if diff := cmp.Diff(show(t, wholeShow), original, likeInFiles...); diff != "" {
				t.Errorf("the original was changed too (-before +after):\n%s", diff)
			}
		})
	}
}

// The place of a cue is found among cues that stand in order, that of what it sets too, and of nothing else.
func TestFindingTheCueOfAnEdit(t *testing.T) {
	original := show(t, wholeShow)
	for pointer, want := range map[string]int{"/cues/0": 0, "/cues/0/set/1": 0, "/cues/0/screens/0": 0, "/cues/1": 1, "/cues/1/set/0": 1, "/cues/2": 2, "/patch/0": -1, "/readings/0": -1, "/notices": -1} {
		if got := original.findInOrder(at(t, original, pointer)); got != want {
			t.Errorf("%s is found in cue %d of the list, not %d", pointer, got, want)
		}
	}
	if got := original.findInOrder(source.Ref{}); got != -1 {
		t.Errorf("no place is found in %d", got)
	}
	other, without := show(t, wholeShow), show(t, `{"patch": [{"channel": 1}]}`)
	if got := original.findInOrder(at(t, other, "/cues/1")); got != -1 {
		t.Errorf("the cue of another file is found in %d", got)
	}
	if got := without.findInOrder(at(t, without, "/patch/0")); got != -1 {
		t.Errorf("where there are no cues it is found in %d", got)
	}
}

// A reading that is struck out is gone, and it alone; nothing else of a reading is edited.
func TestAReadingIsStruckOut(t *testing.T) {
	original := show(t, wholeShow)
	places := func(s *Show) (list []string) {
		for _, r := range s.Readings {
			list = append(list, r.Place)
		}
		return list
	}
	for i, want := range [][]string{{"lectern", "choir"}, {"pulpit", "choir"}, {"pulpit", "lectern"}} {
		out := source.Edit{At: at(t, original, fmt.Sprintf("/readings/%d", i)), Field: "place"}
		if got := places(edited(t, original, out)); !slices.Equal(got, want) {
			t.Errorf("without the reading %d there are those at %v, want %v", i, got, want)
		}
		for _, other := range []source.Edit{{At: out.At, Field: "place", Value: "choir"}, {At: out.At, Field: "lx"}} {
			if _, err := Apply(original, []source.Edit{other}); err == nil {
				t.Errorf("%s of the reading %d becomes %v", other.Field, i, other.Value)
			}
		}
	}
	if got := places(original); len(got) != 3 {
		t.Errorf("the original has the readings at %v", got)
	}
}

func TestApplySharesWhatItDoesNotTouch(t *testing.T) {
	original := show(t, wholeShow)
	changed := edited(t, original, source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: 5.0})
	switch {
	case changed == original, changed.Cues[0] == original.Cues[0], changed.Cues[0].Set[0] == original.Cues[0].Set[0]:
		t.Error("what is changed is not a copy")
	case changed.Cues[0].Set[1] != original.Cues[0].Set[1]:
		t.Error("the other setting of the cue was copied")
	case changed.Cues[0].Screens[0] != original.Cues[0].Screens[0]:
		t.Error("the screen of the cue was copied")
	case changed.Cues[1] != original.Cues[1], &changed.Patch[0] != &original.Patch[0], changed.Room != original.Room,
		&changed.Types[0] != &original.Types[0], &changed.Order[0] != &original.Order[0], changed.Notices != original.Notices:
		t.Error("something that was not edited was copied")
	case changed.selections != original.selections:
		t.Error("what selections mean is worked out again, although no channel changed")
	}
	changed = edited(t, original, source.Edit{At: at(t, original, "/room/cameras/0"), Field: "white_k", Value: 4000.0})
	switch {
	case changed.Room == original.Room, changed.Room.Cameras[0] == original.Room.Cameras[0]:
		t.Error("what is changed is not a copy")
	case changed.Room.Cameras[1] != original.Room.Cameras[1], &changed.Room.Surfaces[0] != &original.Room.Surfaces[0],
		changed.Room.Air != original.Room.Air, &changed.Cues[0] != &original.Cues[0]:
		t.Error("something that was not edited was copied")
	}
	if again := edited(t, original); again == original || &again.Cues[0] != &original.Cues[0] {
		t.Error("without an edit the copy shares everything")
	}
}

// settings writes what a cue sets.
func settings(cue *Cue) []string {
	var list []string
	for _, s := range cue.Set {
		list = append(list, said(s))
	}
	return list
}

func TestApplyToSomeChannelsOfASetting(t *testing.T) {
	level := func(pointer string, value float64, only ...int) edit { return edit{pointer, "level", value, only} }
	for _, test := range []struct {
		name  string
		edits []edit
		want  []string // the settings of cue 1
	}{
		{
			"some channels get a setting behind the one they are in",
			[]edit{level("/cues/0/set/0", 60, 2, 3)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2, 3 level=60", "channels=2 white_k=3200"},
		}, {
			"a later one comes behind an earlier one, so that it wins",
			[]edit{level("/cues/0/set/0", 60, 2, 3), level("/cues/0/set/0", 70, 3)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2, 3 level=60", "channels=3 level=70", "channels=2 white_k=3200"},
		}, {
			"all channels change the setting in place",
			[]edit{level("/cues/0/set/0", 60, 4, 3, 2, 1)},
			[]string{"channels=1-4 level=60 aim=pulpit", "channels=2 white_k=3200"},
		}, {
			"more than all channels too",
			[]edit{level("/cues/0/set/1", 60, 1, 2)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2 level=60 white_k=3200"},
		}, {
			"the whole setting holds for channels that were set apart before",
			[]edit{level("/cues/0/set/0", 60, 2), level("/cues/0/set/0", 80)},
			[]string{"channels=1-4 level=80 aim=pulpit", "channels=2 level=80", "channels=2 white_k=3200"},
		}, {
			"and so do all of its channels by name",
			[]edit{level("/cues/0/set/0", 60, 2), level("/cues/0/set/0", 80, 1, 2, 3, 4)},
			[]string{"channels=1-4 level=80 aim=pulpit", "channels=2 level=80", "channels=2 white_k=3200"},
		}, {
			"an edit of the setting behind leaves the ones before alone",
			[]edit{level("/cues/0/set/0", 60, 2), level("/cues/0/set/1", 10)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2 level=60", "channels=2 level=10 white_k=3200"},
		}, {
			"a field of settings on the cue adds one at its end",
			[]edit{level("/cues/0", 60, 3, 9)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2 white_k=3200", "channels=3, 9 level=60"},
		}, {
			"and another behind it",
			[]edit{level("/cues/0", 60, 3), level("/cues/0", 30, 3)},
			[]string{"channels=1-4 level=50 aim=pulpit", "channels=2 white_k=3200", "channels=3 level=60", "channels=3 level=30"},
		}, {
			"taking the channels away takes the setting out",
			[]edit{{"/cues/0/set/0", "channels", nil, nil}},
			[]string{"channels=2 white_k=3200"},
		}, {
			"with what was added for some of them",
			[]edit{level("/cues/0/set/0", 60, 2), {"/cues/0/set/0", "channels", nil, nil}},
			[]string{"channels=2 white_k=3200"},
		}, {
			"other channels for the setting leave those set apart alone",
			[]edit{level("/cues/0/set/0", 60, 2), {"/cues/0/set/0", "channels", "1-2", nil}},
			[]string{"channels=1-2 level=50 aim=pulpit", "channels=2 level=60", "channels=2 white_k=3200"},
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			original := show(t, wholeShow)
			var edits []source.Edit
			for _, e := range test.edits {
				edits = append(edits, source.Edit{At: at(t, original, e.at), Field: e.field, Value: e.value, Only: e.only})
			}
			if diff := cmp.Diff(test.want, settings(edited(t, original, edits...).Cues[0])); diff != "" {
				t.Errorf("settings (-want +got):\n%s", diff)
			}
			// The same edits one after the other, each on the copy of the one before.
			step := original
			for _, e := range edits {
				step = edited(t, step, e)
			}
			if diff := cmp.Diff(test.want, settings(step.Cues[0])); diff != "" {
				t.Errorf("settings, edit by edit (-want +got):\n%s", diff)
			}
			if got := settings(original.Cues[0]); len(got) != 2 || got[0] != "channels=1-4 level=50 aim=pulpit" {
				t.Errorf("the original was changed too: %q", got)
			}
		})
	}
}

type edit struct {
	at, field string
	value     any
	only      []int
}

func TestApplyRefuses(t *testing.T) {
	original := show(t, wholeShow)
	stranger := show(t, wholeShow)
	for _, test := range []struct {
		name, part string
		edit       source.Edit
	}{
		{"a field that is not there", "Fixture has no field colour", source.Edit{At: at(t, original, "/patch/0"), Field: "colour", Value: "red"}},
		{"a field's name in Go", "has no field Address", source.Edit{At: at(t, original, "/patch/0"), Field: "Address", Value: "1.9"}},
		{"a field of settings on a whole cue", "Cue has no field level", source.Edit{At: at(t, original, "/cues/0"), Field: "level", Value: 5.0}},
		{"a field of cues for some channels", "Setting has no field purpose", source.Edit{At: at(t, original, "/cues/0"), Field: "purpose", Value: "x", Only: []int{1}}},
		{"a place of no entity", "no entity of the show stands at /cues", source.Edit{At: at(t, original, "/cues"), Field: "level", Value: 5.0}},
		{"a value instead of its entity", "no entity of the show stands at /patch/0/address", source.Edit{At: at(t, original, "/patch/0/address"), Field: "address", Value: "1.9"}},
		{"a thing of another show", "no entity of the show", source.Edit{At: at(t, stranger, "/patch/0"), Field: "address", Value: "1.9"}},
		{"nowhere", "names no place", source.Edit{Field: "address", Value: "1.9"}},
		{"a number for text", "address of a Fixture cannot be 5", source.Edit{At: at(t, original, "/patch/0"), Field: "address", Value: 5.0}},
		{"text for a number", "zoom_deg of a Fixture cannot be wide", source.Edit{At: at(t, original, "/patch/0"), Field: "zoom_deg", Value: "wide"}},
		{"a number for a yes or no", "halogen of a Type cannot be 1", source.Edit{At: at(t, original, "/types/0"), Field: "halogen", Value: 1.0}},
		{"a list for a number", "level of a Setting cannot be [5]", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: []float64{5}}},
		{"nothing for a list", "people of a Segment cannot be", source.Edit{At: at(t, original, "/order/0"), Field: "people", Value: ""}},
		{"a list of a mix that is none", "mix of a Setting cannot be red", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "mix", Value: "red"}},
		{"more than full in a mix", "mix of a Setting cannot be red 101", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "mix", Value: "red 101"}},
		{"half a point", "hung_at of a Fixture cannot be x 1, y 2", source.Edit{At: at(t, original, "/patch/0"), Field: "hung_at", Value: "x 1, y 2"}},
		{"a filter that is not grey", "filter of a Fixture cannot be blue", source.Edit{At: at(t, original, "/patch/0"), Field: "filter", Value: "blue"}},
		{"half a channel", "channel of a Fixture cannot be 2.5", source.Edit{At: at(t, original, "/patch/0"), Field: "channel", Value: 2.5}},
		{"a level over full", "level of a Setting cannot be 101", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: 101.0}},
		{"a level under black", "level of a Setting cannot be -1", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: -1.0}},
		{"less than a file may say", "white_k of a Camera cannot be 999", source.Edit{At: at(t, original, "/room/cameras/0"), Field: "white_k", Value: 999.0}},
		{"more than a file may say", "white_k of a Setting cannot be 40001", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "white_k", Value: 40001.0}},
		{"the end of a range that is outside", "beam_deg of a Type cannot be 0", source.Edit{At: at(t, original, "/types/0"), Field: "beam_deg", Value: 0.0}},
		{"no level at all", "level of a Setting cannot be bright", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: "bright"}},
		{"not a number", "white_k of a Camera cannot be NaN", source.Edit{At: at(t, original, "/room/cameras/0"), Field: "white_k", Value: math.NaN()}},
		{"an endless number", "level of a Setting cannot be +Inf", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: math.Inf(1)}},
		{"a cue number below nothing", "cue of a Cue cannot be -1", source.Edit{At: at(t, original, "/cues/0"), Field: "cue", Value: -1.0}},
		{"a cue number too fine", "cue of a Cue cannot be 0.00001", source.Edit{At: at(t, original, "/cues/0"), Field: "cue", Value: "0.00001"}},
		{"a number for an aim", "aim of a Setting cannot be 5", source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "aim", Value: 5.0}},
	} {
		t.Run(test.name, func(t *testing.T) {
			good := source.Edit{At: at(t, original, "/patch/1"), Field: "address", Value: "3.1"}
			changed, err := Apply(original, []source.Edit{good, test.edit})
			if err == nil || !strings.Contains(err.Error(), test.part) {
				t.Errorf("the error is %v; want ...%s...", err, test.part)
			}
			if changed != nil {
				t.Error("there is a copy although an edit is no use")
			}
		})
	}
	taken := []source.Edit{
		{At: at(t, original, "/cues/0/set/0"), Field: "channels"},
		{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: 5.0},
	}
	if _, err := Apply(original, taken); err == nil || !strings.Contains(err.Error(), "taken out before") {
		t.Errorf("an edit of a setting that is gone: %v", err)
	}
	unread := show(t, `{"cues": [{"cue": 1, "set": [{"channels": "nobody", "level": 5}]}]}`)
	if _, err := Apply(unread, []source.Edit{{At: at(t, unread, "/cues/0/set/0"), Field: "level", Value: 6.0}}); err == nil {
		t.Error("a setting whose channels cannot be read was changed")
	}
	byHand := &Show{Patch: []*Fixture{{Channel: 1}}, Cues: []*Cue{{Number: 1}}}
	if _, err := Apply(byHand, []source.Edit{{Field: "address", Value: "1.1"}}); err == nil {
		t.Error("an edit without a place changed a fixture without one")
	}
}

func TestSelectionsFollowTheEdits(t *testing.T) {
	original := show(t, wholeShow)
	first := func(s *Show) string {
		all, err := s.Channels("all")
		if err != nil {
			t.Fatal(err)
		}
		keys, _ := s.Channels("keys")
		return fmt.Sprint(all, keys)
	}
	if got := first(original); got != "[1 2 3 4] [1]" {
		t.Fatal(got)
	}
	changed := edited(t, original,
		source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: 5.0, Only: []int{1}}, // asks for selections
		source.Edit{At: at(t, original, "/patch/0"), Field: "channel", Value: 9.0},
	)
	if got := first(changed); got != "[9 2 3 4] [9]" {
		t.Errorf("after the edit all and keys are %s", got)
	}
	if got := first(original); got != "[1 2 3 4] [1]" {
		t.Errorf("before it they are now %s", got)
	}
}

// An edit and then the one that puts back what stood there give an equal show.
func TestApplyThereAndBack(t *testing.T) {
	original := show(t, wholeShow)
	all := []struct {
		at, field string
		values    []any
	}{
		{"/patch/1", "address", []any{"2.5", nil}},
		{"/patch/2", "channel", []any{7.0, 400.0}},
		{"/types/0", "white_k", []any{2700.0, nil}},
		{"/types/0", "halogen", []any{false, nil}},
		{"/room/cameras/0", "white_k", []any{3200.0, 4000.5, nil}},
		{"/room/surfaces/1", "drive_pct", []any{0.0, 100.0, nil}},
		{"/room/circuits/0", "amps", []any{10.0, nil}},
		{"/room/places/0", "background", []any{"wall", nil}},
		{"/room/air", "volume_m3", []any{1.0, nil}},
		{"/order/0", "start_cue", []any{2.0, 2.5, nil}},
		{"/cues/0", "in_s", []any{0.0, 9.0, nil}},
		{"/cues/0", "name", []any{"Dusk", nil}},
		{"/cues/0/screens/0", "drive_pct", []any{5.0, nil}},
		{"/cues/0/set/0", "level", []any{0.0, 100.0, 33.3, nil}},
		{"/cues/0/set/0", "aim", []any{"lectern", nil}},
		{"/cues/0/set/0", "channels", []any{"2", "all"}},
		{"/cues/1/set/0", "level", []any{0.0, nil}},
	}
	rapid.Check(t, func(rt *rapid.T) {
		changed := original
		var back []source.Edit
		for range rapid.IntRange(1, 6).Draw(rt, "edits") {
			one := rapid.SampledFrom(all).Draw(rt, "edit")
			edit := source.Edit{At: at(t, original, one.at), Field: one.field, Value: rapid.SampledFrom(one.values).Draw(rt, "value")}
			var err error
			if changed, err = Apply(changed, []source.Edit{edit}); err != nil {
				rt.Fatalf("%s %s: %v", one.at, one.field, err)
			}
			edit.Value = valueIn(rt, original, edit)
			back = append(back, edit)
		}
		slices.Reverse(back)
		restored, err := Apply(changed, back)
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(original, restored, like...); diff != "" {
			rt.Fatalf("there and back (-before +after):\n%s", diff)
		}
	})
}

// valueIn is what a field says in the file, as the value of an edit.
func valueIn(t *rapid.T, s *Show, edit source.Edit) any {
	member, ok := edit.At.Get(edit.Field)
	if !ok {
		return nil
	}
	switch value := member.Any().(type) {
	case float64, string, bool:
		return value
	}
	t.Fatalf("%s of %s is no plain value", edit.Field, edit.At.Pointer())
	return nil
}

func TestApplyOfManyEditsIsNotSquare(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"patch": [{"channel": 1}], "cues": [`)
	const cues = 400
	for i := range cues {
		if i > 0 {
			b.WriteString(",")
		}
		fmt.Fprintf(&b, `{"cue": %d, "set": [{"channels": "1", "level": 5}]}`, i)
	}
	original := show(t, b.String()+"]}")
	allocations := func(edits int) float64 {
		var list []source.Edit
		for i := range edits {
			list = append(list, source.Edit{At: original.Cues[i].Set[0].At, Field: "level", Value: 6.0})
		}
		return testing.AllocsPerRun(3, func() { edited(t, original, list...) })
	}
	if few, many := allocations(cues/4), allocations(cues); many > 6*few {
		t.Errorf("four times the edits take %.1f times the allocations", many/few)
	}
}

// What an edit of a blade, of intents or of a screen of a part of the evening leaves.
func TestApplyToWhatIsInLists(t *testing.T) {
	const text = `{"patch": [{"channel": 1}, {"channel": 2, "shutters": [{"side": "left", "depth_pct": 20, "angle_deg": 5}, {"side": "top", "depth_pct": 10}]}],
		"order": [{"name": "Song"}, {"name": "Talk", "screens": [{"screen": "wall", "drive_pct": 10}, {"screen": "side", "drive_pct": 30}]}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 5}]}]}`
	blades := func(f *Fixture) string {
		var words []string
		for _, b := range f.Shutters {
			words = append(words, fmt.Sprint(b.Side, " ", *b.DepthPct, " ", b.AngleDeg != nil))
		}
		return strings.Join(words, ", ")
	}
	for _, c := range []struct {
		at, field string
		value     any
		get       func(s *Show) string
		want      string
	}{
		{"/patch/0", "shutter_top", 30.0, func(s *Show) string { return blades(s.Patch[0]) }, "top 30 false"},
		{"/patch/1", "shutter_top", 30.0, func(s *Show) string { return blades(s.Patch[1]) }, "left 20 true, top 30 false"},
		{"/patch/1", "shutter_left", 0.0, func(s *Show) string { return blades(s.Patch[1]) }, "left 0 true, top 10 false"},
		{"/patch/1", "shutter_right", 5.0, func(s *Show) string { return blades(s.Patch[1]) }, "left 20 true, top 10 false, right 5 false"},
		{"/order/1/screens/1", "drive_pct", 50.0, func(s *Show) string {
			return fmt.Sprint(*s.Order[1].Screens[0].DrivePct, " ", *s.Order[1].Screens[1].DrivePct)
		}, "10 50"},
		{"/cues/0", "meant", "sweep + black", func(s *Show) string { return fmt.Sprint(s.Cues[0].Meant[0].Intent, ", ", s.Cues[0].Meant[1].Intent) }, "sweep, black"},
	} {
		original := show(t, text)
		changed := edited(t, original, source.Edit{At: at(t, original, c.at), Field: c.field, Value: c.value})
		if got := c.get(changed); got != c.want {
			t.Errorf("%s of %s: %s, want %s", c.field, c.at, got, c.want)
		}
		if diff := cmp.Diff(show(t, text), original, likeInFiles...); diff != "" {
			t.Errorf("the original was changed too (-before +after):\n%s", diff)
		}
	}
	original := show(t, text)
	for _, wrong := range []source.Edit{{At: at(t, original, "/patch/0"), Field: "shutter_top", Value: "deep"}, {At: at(t, original, "/cues/0"), Field: "shutter_top", Value: 5.0}, {At: at(t, original, "/patch/0"), Field: "shutter_middle", Value: 5.0}, {At: at(t, original, "/cues/0"), Field: "meant", Value: ""}} {
		if _, err := Apply(original, []source.Edit{wrong}); err == nil {
			t.Errorf("%s becomes %v", wrong.Field, wrong.Value)
		}
	}
}

// Aims and effects in words.
func TestAimsAndEffectsInWords(t *testing.T) {
	for want, aim := range map[string]Aim{"desk": {Name: "desk"}, "x 1, y 2.5, z -3": {Point: &Point{1, 2.5, -3}}} {
		if got := AimText(&aim); got != want {
			t.Errorf("%+v is %q, want %q", aim, got, want)
		}
	}
	for want, effect := range map[string]Effect{"chase": {Kind: "chase"}, "pulse at 2.5 Hz": {Kind: "pulse", RateHz: new(2.5)}, "pulse at 0.3333 Hz": {Kind: "pulse", RateHz: new(1.0 / 3)}} {
		if got := effect.Label(); got != want {
			t.Errorf("%+v is %q, want %q", effect, got, want)
		}
	}
	for key, want := range map[string]bool{"white_k": true, "mix": true, "hue_deg": true, "saturation_pct": true, "xy": true, "mix_part": true, "wheel": false, "level": false, "aim": false, "nothing": false} {
		if TellsColour(key) != want {
			t.Errorf("%s tells a colour: %v", key, !want)
		}
	}
}

// What somebody asks one after the other for selections is what each of them means, however often it comes back.
func TestSelectionsOneAfterTheOther(t *testing.T) {
	s := show(t, wholeShow)
	ask := s.Selections()
	for range 2 {
		for text, want := range map[string][]int{"1-2": {1, 2}, "front": {1, 2}, "4, 1": {1, 4}, "keys": {1}, "all": {1, 2, 3, 4}, "1-2, 77": {1, 2}} {
			channels, unpatched, err := ask(text)
			slices.Sort(channels)
			again, _ := s.Channels(text)
			if err != nil || !slices.Equal(channels, want) || len(again) != len(want) || (len(unpatched) > 0) != (text == "1-2, 77") {
				t.Errorf("%q is %v and %v, want %v (%v)", text, channels, unpatched, want, err)
			}
		}
		if _, _, err := ask("3-1"); err == nil {
			t.Error("3-1 is a selection")
		}
	}
}

// Notices that say the same are one, and else apart.
func TestNoticesThatAreShared(t *testing.T) {
	original := show(t, wholeShow)
	again := show(t, wholeShow)
	if shared, apart := again.Sharing(again); apart != 0 || shared.Notices != again.Notices {
		t.Errorf("of one show %d things are apart", apart)
	}
	same := *original
	same.Notices = &Notices{At: original.Notices.At, Haze: original.Notices.Haze}
	if shared, apart := same.Sharing(original); apart != 0 || shared.Notices != original.Notices {
		t.Errorf("of notices that say the same %d are apart", apart)
	}
	other := *original
	other.Notices = &Notices{Haze: "none"}
	if shared, apart := other.Sharing(original); apart != 1 || shared.Notices == original.Notices {
		t.Errorf("of other notices %d are apart", apart)
	}
}

// A count is whole, and no more than any that is kept.
func TestNumbersForACount(t *testing.T) {
	for value, want := range map[float64]bool{0: true, 3: true, -2: true, 2.5: false, 1 << 31: true, 1<<31 + 1: false, -(1 << 31): true} {
		if _, ok := numberFor(reflect.TypeFor[int](), value); ok != want {
			t.Errorf("%g as a count: %v", value, ok)
		}
	}
}
