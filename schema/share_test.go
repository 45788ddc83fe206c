package schema

import (
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/google/go-cmp/cmp"
)

// Two copies with the same changes, made in another order, are one and the same but for what
// only one of them has.
func TestCopiesShareWhatBothSay(t *testing.T) {
	original := show(t, wholeShow)
	level := source.Edit{At: at(t, original, "/cues/0/set/0"), Field: "level", Value: 5.0}
	white := source.Edit{At: at(t, original, "/room/cameras/0"), Field: "white_k", Value: 4000.0}
	channel := source.Edit{At: at(t, original, "/patch/0"), Field: "channel", Value: 44.0}
	one, other := edited(t, original, level, white, channel), edited(t, original, channel, white, level)
	shared, apart := other.Sharing(one)
	if apart != 0 || shared.Cues[0] != one.Cues[0] || shared.Room != one.Room || shared.Patch[0] != one.Patch[0] || shared.selectionsOf() != one.selectionsOf() {
		t.Errorf("of two copies that say the same %d things are apart", apart)
	}
	if other.Cues[0] == one.Cues[0] {
		t.Error("the copy itself was changed")
	}
	if diff := cmp.Diff(other, shared, likeInFiles...); diff != "" {
		t.Errorf("what it says was changed too (-before +after):\n%s", diff)
	}
	for _, test := range []struct {
		edits []source.Edit
		apart int
	}{
		{nil, 0},
		{[]source.Edit{level}, 1},
		{[]source.Edit{level, channel}, 2},
		{[]source.Edit{white}, 1 + len(original.Cues)}, // which all looks are seen by
	} {
		changed := edited(t, original, test.edits...)
		if _, apart := changed.Sharing(original); apart != test.apart {
			t.Errorf("after %v %d are apart, not %d", test.edits, apart, test.apart)
		}
		if _, apart := original.Sharing(changed); apart != test.apart {
			t.Errorf("before %v %d are apart, not %d", test.edits, apart, test.apart)
		}
	}
}

// TestLevelsAloneAreShared: settings that tell the same level and nothing more share what they tell, also behind one that tells
// more or nothing.
func TestLevelsAloneAreShared(t *testing.T) {
	s := show(t, `{"cues": [{"cue": 1, "set": [{"channels": "1", "white_k": 3200}, {"channels": "2", "level": 50}, {"channels": "3"}, {"channels": "4", "level": 50, "white_k": 3200}, {"channels": "5", "level": 50}, {"channels": "6", "level": 40}]},
		{"cue": 2, "set": [{"channels": "7", "level": 50}]}]}`)
	set := append(s.Cues[0].Set, s.Cues[1].Set...)
	for i, like := range []int{0, 1, 2, 3, 1, 5, 1} {
		for k := range set {
			if same := set[i].Told == set[k].Told; same != (like == []int{0, 1, 2, 3, 1, 5, 1}[k]) {
				t.Errorf("channels %s and %s share what they tell: %v", set[i].Channels, set[k].Channels, same)
			}
		}
	}
}

// TestWhatListsShare: what says the same at the same place, and nothing of what one of them alone has; types count for all
// looks.
func TestWhatListsShare(t *testing.T) {
	a, again, other := new(1), new(1), new(2)
	for _, c := range []struct {
		list, with []*int
		apart      int
	}{
		{nil, nil, 0}, {[]*int{a}, []*int{a}, 0}, {[]*int{again}, []*int{a}, 0}, {[]*int{other}, []*int{a}, 1}, {[]*int{a, other}, []*int{a}, 1}, {[]*int{a}, []*int{a, other}, 1},
		{[]*int{again, other}, []*int{a, again, a}, 2},
	} {
		list := c.list
		if apart := share(&list, c.with); apart != c.apart || len(list) > 0 && *c.list[0] == 1 && list[0] != c.with[0] {
			t.Errorf("%v and %v are %d apart, not %d", c.list, c.with, apart, c.apart)
		}
	}
	original := show(t, wholeShow)
	for _, test := range []struct {
		pointer, field string
		value          any
		apart          int
	}{{"/types/0", "white_k", 3000.0, 2 * (1 + len(original.Cues))}, {"/order/0", "name", "hymn", 1}} {
		changed := edited(t, original, source.Edit{At: at(t, original, test.pointer), Field: test.field, Value: test.value})
		if _, apart := changed.Sharing(original); apart != test.apart {
			t.Errorf("with another %s of %s %d are apart, not %d", test.field, test.pointer, apart, test.apart)
		}
	}
}
