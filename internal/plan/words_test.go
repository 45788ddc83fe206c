package plan

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

const wordy = `{
	"room": {
		"cameras": [{"name": "centre", "white_k": 5600}],
		"surfaces": [{"name": "wall", "kind": "emissive", "white_k": 6500}],
		"circuits": [{"name": "front", "volts": 230, "amps": 16}],
		"bars": [
			{"name": "front bar", "from": {"x": -6, "y": 1, "z": 5}, "to": {"x": 6, "y": 1, "z": 5}},
			{"name": "side bar", "from": {"x": -6, "y": 0, "z": 5}, "to": {"x": -6, "y": 9, "z": 5}}],
		"places": [{"name": "pulpit", "x": 0, "y": 1, "z": 0}]
	},
	"types": [{"name": "profile", "halogen": true}],
	"patch": [
		{"channel": 1, "address": "1.1", "type": "profil", "aimed_at": {"x": 1, "y": 2, "z": 3}},
		{"channel": 2, "address": "1.2"}, {"channel": 3}, {"channel": 5}
	],
	"groups": {"front": "1-3"},
	"order": [{"name": "Talk", "kind": "talk", "start_cue": 1}],
	"cues": [
		{"cue": 3, "set": [{"channels": "front", "level": "Full"}, {"channels": "5", "white_k": 3200}],
		 "screens": [{"screen": "wall", "drive_pct": 90}]},
		{"cue": 7.5, "set": [{"channels": "1-2", "level": 70}], "screens": [{"screen": "wall", "drive_pct": 90}, {"screen": "side", "drive_pct": 80}]},
		{"cue": 9, "set": [{"channels": "1", "aim": {"x": -5, "y": 0, "z": 1}}]}
	]
}`

// read loads a show from its text; nothing may be wrong with the file.
func read(t testing.TB, text string) *schema.Show {
	t.Helper()
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(text), StdinName: "show.json"})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range loaded.Findings {
		if f.Rule == "file/syntax" {
			t.Fatal(f.Message)
		}
	}
	return loaded.Show
}

func TestOrders(t *testing.T) {
	show := read(t, wordy)
	edit := func(pointer, field string, value any, only ...int) source.Edit {
		ref, ok := show.At.Find(pointer)
		if !ok {
			t.Fatalf("nothing stands at %s", pointer)
		}
		return source.Edit{At: ref, Field: field, Value: value, Only: only}
	}
	for _, test := range []struct {
		name     string
		edits    []source.Edit
		do, undo string
	}{
		{"an address", []source.Edit{edit("/patch/0", "address", "2.101")}, "Set channel 1 to address 2.101.", "the address of channel 1 back to 1.1."},
		{"an address where there was none", []source.Edit{edit("/patch/2", "address", "2.101")}, "Set channel 3 to address 2.101.", "take the new address of channel 3 out again."},
		{"a type", []source.Edit{edit("/patch/0", "type", "profile")}, `Write the type of channel 1 as "profile".`, "the type of channel 1 back to profil."},
		{"an aim that was a point", []source.Edit{edit("/patch/0", "aimed_at", "pulpit")}, "Aim channel 1 at pulpit.", `the aim of channel 1 back to 1 m right of the middle (seen from the house), 2 m behind the edge of the stage, 3 m above its floor.`},
		{"a strobe that stops", []source.Edit{edit("/cues/0/set/1", "strobe_hz", 0.0)}, `Stop the strobe of channel 5 in cue 3.`, "take the new strobe of channel 5 in cue 3 out again."},
		{"an effect that stops", []source.Edit{edit("/cues/0/set/1", "effect", nil)}, `Stop the effect of channel 5 in cue 3.`, "take the new effect of channel 5 in cue 3 out again."},
		{"an effect that is none", []source.Edit{edit("/cues/0/set/1", "effect", &schema.Effect{Kind: "none"})}, `Stop the effect of channel 5 in cue 3.`, "take the new effect of channel 5 in cue 3 out again."},
		{"an effect that goes on", []source.Edit{edit("/cues/0/set/1", "effect", schema.Effect{Kind: "strobe", RateHz: new(2.0)})}, `Slow the effect of channel 5 in cue 3 to 2 times a second.`, "take the new effect of channel 5 in cue 3 out again."},
		{"a camera", []source.Edit{edit("/room/cameras/0", "white_k", 3200.0)}, `Set the white balance of the camera "centre" to 3200 K.`, `the white of the camera "centre" back to 5600 K.`},
		{"a surface", []source.Edit{edit("/room/surfaces/0", "white_k", 5600.0)}, `Set the screen "wall" to a white of 5600 K. That is set in its own menu.`, `the white of the screen "wall" back to 6500 K.`},
		{"a circuit", []source.Edit{edit("/room/circuits/0", "amps", 32.0)}, `Set amps of the circuit "front" to 32.`, `the amps of the circuit "front" back to 16.`},
		{"yes and no", []source.Edit{edit("/types/0", "halogen", false)}, `Set halogen of the type "profile" to no.`, `the halogen of the type "profile" back to true.`},
		{"a whole setting by the name of its group", []source.Edit{edit("/cues/0/set/0", "level", 62.0)}, "Bring channels 1-3 in cue 3 to 62 %.", "the level of channels 1-3 in cue 3 back to Full."},
		{"some channels of a setting", []source.Edit{edit("/cues/0/set/0", "level", 62.0, 2)}, "Bring channel 2 in cue 3 to 62 %.", "the level of channel 2 in cue 3 back to Full."},
		{"the same channels in several cues", []source.Edit{edit("/cues/1/set/0", "level", 62.0, 1, 2), edit("/cues/0/set/0", "level", 62.0, 1, 2)}, "Bring channels 1, 2 in cues 3, 7.5 to 62 %.", "the level of channels 1, 2 in cue 7.5 back to 70 %; the level of channels 1, 2 in cue 3 back to Full."},
		{"other channels in other cues are not mixed up", []source.Edit{edit("/cues/0/set/0", "level", 62.0, 1), edit("/cues/1/set/0", "level", 62.0, 2)}, "Bring channel 1 in cue 3 and channel 2 in cue 7.5 to 62 %.", "the level of channel 1 in cue 3 back to Full; the level of channel 2 in cue 7.5 back to 70 %."},
		{"one channel in a cue more", []source.Edit{edit("/cues/0/set/0", "level", 62.0, 1, 2), edit("/cues/1/set/0", "level", 62.0, 2)}, "Bring channel 1 in cue 3 and channel 2 in cues 3, 7.5 to 62 %.", "the level of channels 1, 2 in cue 3 back to Full; the level of channel 2 in cue 7.5 back to 70 %."},
		{"a setting added to a cue", []source.Edit{edit("/cues/2", "level", 50.0, 5)}, "Bring channel 5 in cue 9 to 50 %.", "take the new level of channel 5 in cue 9 out again."},
		{"a white in a setting", []source.Edit{edit("/cues/0/set/1", "white_k", 5600.0, 5)}, "Set channel 5 in cue 3 to a white of 5600 K.", "the white of channel 5 in cue 3 back to 3200 K."},
		{"a screen in several cues", []source.Edit{edit("/cues/1/screens/0", "drive_pct", 20.0), edit("/cues/0/screens/0", "drive_pct", 20.0)}, `Bring the screen "wall" in cues 3, 7.5 to 20 % drive.`, `the drive of the screen "wall" in cues 3, 7.5 back to 90 %.`},
		{"two screens", []source.Edit{edit("/cues/1/screens/0", "drive_pct", 20.0), edit("/cues/1/screens/1", "drive_pct", 20.0)}, `Bring the screen "wall" in cue 7.5 and the screen "side" in cue 7.5 to 20 % drive.`, `the drive of the screen "wall" in cue 7.5 back to 90 %; the drive of the screen "side" in cue 7.5 back to 80 %.`},
		{"an aim at a point", []source.Edit{edit("/patch/1", "aimed_at", "x 0.02, y -1.25, z 0")}, "Aim channel 2 at a point in the middle, 1.3 m before the edge of the stage, on its floor.", "take the new aim of channel 2 out again."},
		{"a place on a bar across the stage", []source.Edit{edit("/patch/1", "hung_on", "front bar"), edit("/patch/1", "hung_at", "x -2.44, y 1, z 5"), edit("/patch/1", "mount", "hangs")}, "Hang channel 2 on front bar, 2.4 m left of the middle (seen from the house).", "take the new bar of channel 2 out again; take the new place of channel 2 out again; take the new mount of channel 2 out again."},
		{"a place on a bar along the hall", []source.Edit{edit("/patch/1", "hung_on", "side bar"), edit("/patch/1", "hung_at", "x -6, y 1, z 5")}, "Hang channel 2 on side bar, 6 m left of the middle (seen from the house), 1 m behind the edge of the stage, 5 m above its floor.", "take the new bar of channel 2 out again; take the new place of channel 2 out again."},
		{"which way somebody looks", []source.Edit{edit("/room/places/0", "facing_deg", -30.0)}, `See that whoever is at the place "pulpit" looks to the house and to the left, seen from it, and write -30 degrees as the facing there.`, `take the new facing of the place "pulpit" out again.`},
		{"two screens to values of their own", []source.Edit{edit("/cues/0/screens/0", "drive_pct", 10.0), edit("/cues/1/screens/0", "drive_pct", 10.0), edit("/cues/1/screens/1", "drive_pct", 20.0)}, `Bring the screen "wall" in cues 3, 7.5 to 10 % drive and the screen "side" in cue 7.5 to 20 % drive.`, `the drive of the screen "wall" in cues 3, 7.5 back to 90 %; the drive of the screen "side" in cue 7.5 back to 80 %.`},
		{"other channels for a setting", []source.Edit{edit("/cues/1/set/0", "channels", "2")}, "Take channel 1 out of cue 7.5.", "the channels of cue 7.5 back to 1-2."},
		{"a setting out", []source.Edit{edit("/cues/1/set/0", "channels", nil)}, "Take the setting of channels 1-2 out of cue 7.5.", "the channels of cue 7.5 back to 1-2."},
		{"a number that is free", []source.Edit{edit("/patch/1", "channel", 22.0)}, "Give channel 2 the channel 22.", "the channel of channel 2 back to 2."},
		{"a field out", []source.Edit{edit("/patch/0", "address", nil)}, "Take address of channel 1 out of the show.", "the address of channel 1 back to 1.1."},
		{"a purpose of a cue", []source.Edit{edit("/cues/2", "purpose", "a bump")}, `Write the purpose of cue 9 as "a bump".`, "take the new purpose of cue 9 out again."},
		{"two orders", []source.Edit{edit("/patch/0", "address", "2.1"), edit("/patch/1", "address", "2.2")}, "Set channel 1 to address 2.1. Set channel 2 to address 2.2.", "the address of channel 1 back to 1.1; the address of channel 2 back to 1.2."},
		{"a percent sign in a name", []source.Edit{edit("/cues/2", "purpose", "100%d")}, `Write the purpose of cue 9 as "100%d".`, "take the new purpose of cue 9 out again."},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := &words{show: show}
			cleared := []finding.Finding{{Rule: "t/one", Verdict: finding.Fail, Message: "It is wrong."}}
			a := w.action(cure{edits: test.edits, effect: "It is right."}, cleared, &rules.Set{})
			if a.Do != test.do {
				t.Errorf("do:   %s\nwant: %s", a.Do, test.do)
			}
			if a.Undo != test.undo {
				t.Errorf("undo: %s\nwant: %s", a.Undo, test.undo)
			}
			if a.Effect != "It is right." || a.Why != "It is wrong." || a.Causes != 0 || len(a.Cures) != 1 {
				t.Errorf("%+v", a)
			}
		})
	}
}

func TestAnActionIsAsGraveAsWhatItClears(t *testing.T) {
	show := read(t, wordy)
	cleared := []finding.Finding{
		{Rule: "t/note", Verdict: finding.Fail, Level: finding.Note, Consequence: finding.Room, Message: "the note"},
		{Rule: "t/error", Verdict: finding.Fail, Level: finding.Error, Consequence: finding.Later, Message: "the error"},
		{Rule: "t/hurt", Verdict: finding.Fail, Level: finding.Warning, Consequence: finding.Hurt, Message: "the hurt"},
	}
	w := &words{show: show}
	a := w.action(cure{edits: []source.Edit{{At: show.Patch[0].At, Field: "address", Value: "1.9"}}, rule: cleared[0].Rule}, cleared, &rules.Set{})
	if a.Level != finding.Error || a.Consequence != finding.Hurt || a.Why != "the hurt" {
		t.Errorf("level %s, consequence %s, why %s", a.Level, a.Consequence, a.Why)
	}
	if got := strings.Join(a.Rules, " "); got != "t/hurt t/note t/error" {
		t.Errorf("rules %s", got)
	}
}

func TestThePlaceOfAnAction(t *testing.T) {
	show := read(t, wordy)
	w := &words{show: show}
	for _, test := range []struct{ field, want string }{{"address", `"1.2"`}, {"zoom_deg", "{"}} {
		place := w.place(source.Edit{At: show.Patch[1].At, Field: test.field})
		if got := place.File.Text[place.Start:place.Stop]; got != test.want {
			t.Errorf("%s would be changed at %s, want %s", test.field, got, test.want)
		}
	}
}

// What people know comes first, and numbers behind it.
func TestThingsAreCalledByTheirNames(t *testing.T) {
	show := read(t, `{
		"room": {"bars": [{"name": "front bar"}]},
		"types": [{"name": "profile"}],
		"patch": [
			{"channel": 1, "name": "pulpit left", "type": "profile", "hung_on": "front bar"}, {"channel": 2, "name": "pulpit right", "type": "profile"},
			{"channel": 3, "name": "drape left", "type": "profile"}, {"channel": 4, "name": "drape right", "type": "profile"}, {"channel": 5, "name": "lone", "type": "profile"},
			{"channel": 6, "type": "profile"}],
		"groups": {"front": "1-3"},
		"cues": [{"cue": 3, "name": "Dawn", "set": [{"channels": "1-6", "level": 50}]}, {"cue": 4, "set": [{"channels": "1-6", "level": 60}]}]
	}`)
	at := func(pointer string) source.Ref {
		ref, ok := show.Patch[0].At.File.Root().Find(pointer)
		if !ok {
			t.Fatal(pointer)
		}
		return ref
	}
	for _, test := range []struct {
		name, want string
		edit       source.Edit
	}{
		{"a lamp to climb to", "Set pulpit left on front bar (channel 1) to address 1.9.", source.Edit{At: at("/patch/0"), Field: "address", Value: "1.9"}},
		{"one in a cue with a name", `Bring lone (channel 5) in "Dawn" (cue 3) to 40 %.`, source.Edit{At: at("/cues/0/set/0"), Field: "level", Value: 40.0, Only: []int{5}}},
		{"two in a cue without", "Bring pulpit left and pulpit right (channels 1, 2) in cue 4 to 40 %.", source.Edit{At: at("/cues/1/set/0"), Field: "level", Value: 40.0, Only: []int{2, 1}}},
		{"a group", `Bring front (channels 1-3) in "Dawn" (cue 3) to 40 %.`, source.Edit{At: at("/cues/0/set/0"), Field: "level", Value: 40.0, Only: []int{1, 2, 3}}},
		{"several that are no group", `Bring pulpit right and 2 more (channels 2-4) in "Dawn" (cue 3) to 40 %.`, source.Edit{At: at("/cues/0/set/0"), Field: "level", Value: 40.0, Only: []int{2, 3, 4}}},
		{"one that has no name", `Bring channel 6 in "Dawn" (cue 3) to 40 %.`, source.Edit{At: at("/cues/0/set/0"), Field: "level", Value: 40.0, Only: []int{6}}},
	} {
		w := &words{show: show}
		w.findCues([]source.Edit{test.edit})
		if got := w.do([]source.Edit{test.edit}); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}

// Levels of several lamps in one cue are one sentence, and where they are those of another cue
// that is named: nobody types many numbers right in haste.
func TestLevelsInOneCueAreOneSentence(t *testing.T) {
	show := read(t, `{
		"types": [{"name": "profile"}],
		"patch": [{"channel": 1}, {"channel": 2}, {"channel": 3}, {"channel": 4}, {"channel": 5}],
		"cues": [
			{"cue": 1, "set": [{"channels": "1", "level": 41}, {"channels": "2", "level": 42}, {"channels": "3", "level": 43}, {"channels": "4", "level": 44}]},
			{"cue": 2, "name": "Dawn", "set": [{"channels": "1-5", "level": 0}]}]
	}`)
	looks := tracking.Resolve(show)
	w := &words{show: show, looks: looks}
	at := show.Cues[1].Set[0].At
	level := func(channel int, to float64) source.Edit {
		return source.Edit{At: at, Field: "level", Value: to, Only: []int{channel}}
	}
	for _, test := range []struct {
		name, want string
		edits      []source.Edit
		things     int
	}{
		{"two", `In "Dawn" (cue 2), bring channel 1 to 41 % and channel 3 to 30 %.`, []source.Edit{level(1, 41), level(3, 30)}, 2},
		{"three of another cue are typed", `In "Dawn" (cue 2), bring channel 1 to 41 %, channel 2 to 42 % and channel 3 to 43 %.`, []source.Edit{level(1, 41), level(2, 42), level(3, 43)}, 3},
		{"four of another cue are named", `Give channels 1-4 in "Dawn" (cue 2) the levels that they have in cue 1.`, []source.Edit{level(1, 41), level(2, 42), level(3, 43), level(4, 44)}, 1},
		{"four that no cue has", `In "Dawn" (cue 2), bring channel 1 to 41 %, channel 2 to 42 %, channel 3 to 43 % and channel 4 to 45 %.`, []source.Edit{level(1, 41), level(2, 42), level(3, 43), level(4, 45)}, 4},
	} {
		w.findCues(test.edits)
		if got := w.do(test.edits); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
		if _, things := w.sentences(test.edits); things != test.things {
			t.Errorf("%s: %d things to get right, want %d", test.name, things, test.things)
		}
	}
}

// An aim in metres is that of a cue in which the lamp points there.
func TestAnAimIsThatOfAnotherCue(t *testing.T) {
	show := read(t, wordy)
	at, _ := show.At.Find("/cues/1/set/0")
	w := &words{show: show, looks: tracking.Resolve(show)}
	edits := []source.Edit{{At: at, Field: "aim", Value: "x -5, y 0, z 1", Only: []int{1}}}
	w.findCues(edits)
	for text, want := range map[string]string{
		"x -5, y 0, z 1": "Aim channel 1 in cue 7.5 where it points in cue 9.",
		"x 1, y 2, z 3":  "Aim channel 1 in cue 7.5 as the patch has it.",
		"x 1, y 2, z 4":  "Aim channel 1 in cue 7.5 at a point 1 m right of the middle (seen from the house), 2 m behind the edge of the stage, 4 m above its floor.",
	} {
		edits[0].Value = text
		if got := w.do(edits); got != want {
			t.Error(got)
		}
	}
}

// Like things that are changed for one reason are one order, whatever the value of each is: levels
// in one cue or of the same lamps, drives of screens, shutters.
func TestLikeThingsAreOneOrder(t *testing.T) {
	show := read(t, wordy)
	step := func(rule string, level finding.Level, edits ...any) *Step { // place, field, value
		s := &Step{Before: &proof.State{Show: show}, cure: cure{rule: rule}}
		for i := 0; i < len(edits); i += 3 {
			ref, ok := show.At.Find(edits[i].(string))
			if !ok {
				t.Fatalf("nothing stands at %s", edits[i])
			}
			s.cure.edits = append(s.cure.edits, source.Edit{At: ref, Field: edits[i+1].(string), Value: edits[i+2]})
		}
		s.Cleared = []finding.Finding{{Rule: rule, Level: finding.Warning, Consequence: finding.Consequence(2)}}
		if level == finding.Note {
			s.Cleared[0].Likely, s.Cleared[0].Rests = true, []string{"the wall"}
		}
		return s
	}
	const sure, likely = finding.Warning, finding.Note
	wall := step("a/a", sure, "/cues/0/screens/0", "drive_pct", 10.0)
	five := step("a/a", sure, "/cues/0/set/1", "level", 10.0)
	for _, test := range []struct {
		name string
		a, b *Step
		want bool
	}{
		{"screens", wall, step("a/a", sure, "/cues/1/screens/1", "drive_pct", 20.0), true},
		{"for another reason", wall, step("a/b", sure, "/cues/1/screens/1", "drive_pct", 20.0), false},
		{"one is likely", wall, step("a/a", likely, "/cues/1/screens/1", "drive_pct", 20.0), false},
		{"a screen and a lamp", wall, five, false},
		{"lamps in one cue", five, step("a/a", sure, "/cues/0/set/0", "level", 20.0), true},
		{"other lamps in another cue", five, step("a/a", sure, "/cues/1/set/0", "level", 20.0), false},
		{"the same lamps in another cue", step("a/a", sure, "/cues/0/set/0", "level", 20.0), step("a/a", sure, "/cues/0/set/0", "level", 30.0), true},
		{"shutters", step("a/a", sure, "/patch/0", "shutter_top", 20.0), step("a/a", sure, "/patch/1", "shutter_top", 30.0), true},
		{"addresses", step("a/a", sure, "/patch/0", "address", "1.20"), step("a/a", sure, "/patch/1", "address", "1.30"), false},
	} {
		if got := likeThings(test.a, test.b); got != test.want {
			t.Errorf("%s: %v, want %v", test.name, got, test.want)
		}
	}
}

// A mix that stands in the file is told as one that is given, and not as JSON.
func TestAMixIsToldAsOneThatIsGiven(t *testing.T) {
	show := read(t, `{"patch": [{"channel": 1}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50, "mix": {"red": 100, "blue": 4.5}}]}]}`)
	w := &words{show: show}
	edits := w.data([]source.Edit{{At: show.Cues[0].Set[0].At, Field: schema.Mix, Value: "blue 100"}})
	if len(edits) != 1 || edits[0].From != "blue 4.5, red 100" || edits[0].To != "blue 100" {
		t.Errorf("%+v", edits)
	}
}

// One word for another is said where a list differs in that alone: where there are more or fewer, or two are others, the whole list is.
func TestOneWordForAnother(t *testing.T) {
	file := &source.File{Name: "a.json", Text: `["desk", "drums", "keys"]`}
	if _, ok := source.ParseJSON(file); !ok {
		t.Fatal("no list")
	}
	for text, want := range map[string]string{
		"desk + drum + keys": "drums for drum", "desc + drums + keys": "desk for desc", "desk + drums + organ": "keys for organ", "desk + drums + keys": " for ", "desk + drums": " for ", "desk + drum": " for ",
		"desk + drums + keys + organ": " for ", "desk + drum + keys + organ": " for ", "drums + desk + keys": " for ", "": " for ",
	} {
		was, is := oneWord(file.Root(), text)
		if got := was + " for " + is; got != want {
			t.Errorf("in %q it is %q, want %q", text, got, want)
		}
	}
}

// Channels as they are written, patched or not; what is no list of channels has none.
func TestNumbersAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]int{"1": 1, "1-3": 3, " 1 - 3 , 7": 4, "1-3,2-4": 4, "3-1": 0, "1-10001": 10001, "1-10002": 0, "front": 0, "1,front": 0, "1-x": 0, "": 0} {
		if got := numbersOf(text); len(got) != want {
			t.Errorf("%q has %d channels, want %d", text, len(got), want)
		}
	}
	if got := numbersOf("2-3,9"); !got[2] || !got[3] || !got[9] || got[1] || got[4] {
		t.Errorf("2-3,9 are %v", got)
	}
}

// Which way somebody looks, as it is seen from the house.
func TestWaysToLook(t *testing.T) {
	for deg, want := range map[float64]string{
		0: "straight to the house", 9.9: "straight to the house", -9.9: "straight to the house", 359: "straight to the house", 10: "to the house and to the right, seen from it", 100: "to the house and to the right, seen from it",
		-10: "to the house and to the left, seen from it", 300: "to the house and to the left, seen from it", 101: "away from the house", 180: "away from the house", -101: "away from the house",
	} {
		if got := facingWords(deg); got != want {
			t.Errorf("%v degrees are %q, want %q", deg, got, want)
		}
	}
}

// A number whose sign alone is wrong is said, of x or y, and of nothing else.
func TestAWrongSign(t *testing.T) {
	w := &words{show: read(t, `{"room": {"places": [{"name": "desk", "x": -2, "y": 3, "z": 0, "head_m": 1.6}]}, "patch": [{"channel": 1, "aimed_at": {"x": 2, "y": 3, "z": 1.6}}, {"channel": 2, "aimed_at": {"x": -2, "y": -3, "z": 1.6}}, {"channel": 3, "aimed_at": {"x": 2, "y": -3, "z": 1.6}}, {"channel": 4, "aimed_at": {"x": -2, "y": 3, "z": 1.6}}, {"channel": 5}]}`)}
	for channel, want := range map[int]string{1: "x as -2", 2: "y as 3", 3: "", 4: "", 5: ""} {
		edit := source.Edit{At: w.show.Patch[channel-1].At, Field: "aimed_at"}
		for how, to := range map[string]*schema.Point{"a point": {X: -2, Y: 3, Z: 1.6}, "a place": nil} {
			if got := w.wrongSign(edit, "desk", to); got != want {
				t.Errorf("channel %d, by %s: %q, want %q", channel, how, got, want)
			}
		}
		edit.Field = "hung_at"
		if got := w.wrongSign(edit, "desk", nil); got != "" {
			t.Errorf("where channel %d hangs: %q", channel, got)
		}
	}
}
