package schema

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// show reads a whole show from one JSON text, as a loader does.
func show(t testing.TB, text string) *Show {
	t.Helper()
	root := parse(t, text)
	s := &Show{}
	s.ReadHead(root)
	for _, section := range Sections {
		if ref, ok := root.Get(section); ok {
			s.Read(section, ref)
		}
	}
	return s
}

// marked writes findings as [brief] does, but with the text that is marked for a column.
func marked(list []finding.Finding) []string {
	var lines []string
	for _, f := range list {
		_, rest, _ := strings.Cut(brief(f), " ")
		lines = append(lines, f.Place.File.Text[f.Place.Start:f.Place.Stop]+" "+rest)
	}
	return lines
}

const stage = `"room":{"places":[{"name":"pulpit"},{"name":"piano"}],"surfaces":[{"name":"wall"}],"circuits":[{"name":"A1"}]}`

func TestCheck(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       []string
	}{
		{"nothing", `{}`, nil},
		{"all as it should be", `{"date":"2024-02-29","exported_at":"2026-03-28t21:05:00.5z",` + stage + `,
			"types":[{"name":"Spot","white_range_k":[2700,6500],"beam_deg":20,"field_deg":20,"zoom":{"narrow":{"beam_deg":5,"field_deg":9},"wide":{"beam_deg":20,"field_deg":50}}}],
			"patch":[{"channel":1,"type":"Spot","aimed_at":"pulpit","circuit":"A1","groups":["front"]},{"channel":2,"aimed_at":"wall"},{"channel":3,"aimed_at":{"x":1,"y":1,"z":1}}],
			"groups":{"back":"7-9"},
			"cues":[{"cue":1,"segment":"Welcome","set":[{"channels":"front, 9","aim":"piano"},{"channels":"ALL"},{"channels":"Back"}],"screens":[{"screen":"wall"}]},{"cue":1.5}],
			"order":[{"name":"Welcome","start_cue":"1.0","people":["pulpit"]},{"name":"Talk"},{"name":"End","start_cue":1.5}]}`, nil},
		{"no such days", `{"date":"2026-02-30","exported_at":"2026-03-28T25:05:00Z"}`, []string{
			`"2026-02-30" bad-date warning [] date: date of the show is 2026-02-30, and there is no such day or time.`,
			`"2026-03-28T25:05:00Z" bad-date warning [] exported_at: exported_at of the show is 2026-03-28T25:05:00Z, and there is no such day or time.`,
		}},
		{"the form of a date is for the schema", `{"date":"30.2.2026","exported_at":"yesterday"}`, nil},
		{"names twice", `{"room":{"places":[{"name":"pulpit"},{"name":"Pulpit "},{"name":"PULPIT"}],"surfaces":[{"name":"wall"},{"name":"pulpit"}],"cameras":[{"name":"1"},{"name":"1"}],"circuits":[{"name":"A"},{"name":"a"}]}}`, []string{
			`"Pulpit " name-twice error [place pulpit] : place "Pulpit " has the name of place "pulpit": what points at it by that name may mean either.`,
			`"1" name-twice error [camera 1] : there are 2 with the name camera "1": nobody can tell which is meant.`,
			`"a" name-twice error [circuit A] : circuit "a" has the name of circuit "A": their loads cannot be told apart.`,
		}},
		{"a place called like a surface", `{"room":{"places":[{"name":"wall"}],"surfaces":[{"name":"wall"}]}}`, []string{
			`"wall" name-twice error [place wall] : surface "wall" has the name of place "wall": what points at it by that name may mean either.`,
		}},
		{"types and what is in them", `{"types":[{"name":"Wash","modes":[{"name":"a"},{"name":"a"}],"emitters":[{"name":"red"},{"name":"Red"}]},{"name":"wash","modes":[{"name":"a"}]}]}`, []string{
			`"a" name-twice error [mode a, type Wash] : there are 2 with the name mode "a": nobody can tell which is meant.`,
			`"Red" name-twice error [emitter red, type Wash] : emitter "Red" has the name of emitter "red": nobody can tell which is meant.`,
			`"wash" name-twice error [type Wash] : type "wash" has the name of type "Wash": fixtures of that type may be either.`,
		}},
		{"groups", `{"groups":{"front":"1-3","FRONT":"4","all":"5","bad":"3-1","word":"front","note":"x"}}`, []string{
			`"FRONT" name-twice error [group front] : group "FRONT" has the name of group "front": they are read as one group with the channels of both.`,
			`"all" name-twice error [group all] all: a group is called "all", a word that always means every patched channel; the group is never used.`,
			`"3-1" bad-channels error [group bad] : the channels of group "bad" cannot be read: the range 3-1 runs backwards.`,
			`"front" bad-channels error [group word] : the channels of group "word" cannot be read: "front" is not a channel from 1 to 99999.`,
		}},
		{"segments", `{"order":[{"name":"Song"},{"name":"song"}]}`, []string{
			`"song" name-twice warning [segment Song] : segment "song" has the name of segment "Song": cues that name it belong to the first.`,
		}},
		{"names that nothing bears", `{` + stage + `,"patch":[{"channel":12,"aimed_at":"pulpitt","circuit":"A2"}],
"cues":[{"cue":4,"segment":"Wellcome","set":[{"channels":"1","aim":"drums"},{"channels":"frnt"}],"screens":[{"screen":"wal"}]}],
"order":[{"name":"Welcome","start_cue":7,"people":["piano","Piano"]}],"groups":{"front":"1"}}`, []string{
			`"pulpitt" unknown-name warning [channel 12] aimed_at/pulpitt: aimed_at of the fixture on channel 12 is "pulpitt", which is not a place or surface of the room. Did you mean "pulpit"?`,
			`"A2" unknown-name warning [channel 12] circuit/A2: circuit of the fixture on channel 12 is "A2", which is not a circuit of the room. Did you mean "A1"?`,
			`"Wellcome" unknown-name warning [cue 4] segment/Wellcome: segment of cue 4 is "Wellcome", which is not a segment of the running order. Did you mean "Welcome"?`,
			`"drums" unknown-name warning [channels 1, cue 4] aim/drums: aim of channels 1 of cue 4 is "drums", which is not a place or surface of the room.`,
			`"frnt" unknown-name error [channels frnt, cue 4] group/frnt: cue 4 sets "frnt", which is neither a group nor a list of channels. Did you mean "front"?`,
			`"wal" unknown-name error [cue 4] screen/wal: screen of cue 4 is "wal", which is not a surface of the room. Did you mean "wall"?`,
			`7 unknown-name error [segment Welcome] start_cue: segment "Welcome" starts with cue 7, which the cue list does not have. Its last is cue 4.`,
			`"Piano" unknown-name warning [segment Welcome] people/Piano: people of segment "Welcome" is "Piano", which is not a place of the room. Did you mean "piano"?`,
		}},
		{"a camera and a background", `{"room":{"places":[{"name":"pulpit","background":"cloth"}],"surfaces":[{"name":"wall"}],"cameras":[{"name":"1","aimed_at":"stage"}]}}`, []string{
			`"cloth" unknown-name warning [place pulpit] background/cloth: background of place "pulpit" is "cloth", which is not a surface of the room.`,
			`"stage" unknown-name warning [camera 1] aimed_at/stage: aimed_at of camera "1" is "stage", which is not a place or surface of the room.`,
		}},
		{"no names are listed", `{"patch":[{"channel":1,"aimed_at":"pulpit","circuit":"A1"}],"cues":[{"cue":1,"segment":"Song","screens":[{"screen":"wall"}]}]}`, nil},
		{"channels that cannot be read", `{"cues":[{"cue":2,"set":[{"channels":"6-1"},{"channels":"1-3,"},{"channels":"0"},{"channels":""},{"level":5}]}]}`, []string{
			`"6-1" bad-channels error [channels 6-1, cue 2] : the channels "6-1" of cue 2 cannot be read: the range 6-1 runs backwards.`,
			`"0" bad-channels error [channels 0, cue 2] : the channels "0" of cue 2 cannot be read: "0" is not a channel from 1 to 99999.`,
		}},
		{"ranges the wrong way round", `{"types":[{"name":"Spot","white_range_k":[6500,2700],"beam_deg":30,"field_deg":20,"zoom":{"narrow":{"beam_deg":40,"field_deg":50},"wide":{"beam_deg":20,"field_deg":50}}}]}`, []string{
			`"white_range_k" reversed-range error [type Spot] white_range_k: white_range_k of type "Spot" goes from 6500 down to 2700 kelvin; the lower comes first.`,
			`20 reversed-range error [type Spot] field_deg: field_deg of type "Spot" is 20 degrees and beam_deg is 30; the field, to a tenth of the peak, is the wider one.`,
			`40 reversed-range error [type Spot] beam_deg: beam_deg of type "Spot" is 40 degrees at the narrow end of the zoom and 20 at the wide end.`,
		}},
		{"a zoom beyond its ends", `{"types":[{"name":"Spot","zoom":{"narrow":{"beam_deg":10,"field_deg":16},"wide":{"beam_deg":38,"field_deg":54}}},{"name":"Bare","zoom":{"narrow":{"beam_deg":8},"wide":{"beam_deg":40}}}],
"patch":[{"channel":1,"type":"Spot","zoom_deg":70},{"channel":2,"type":"Spot","zoom_deg":56.7},{"channel":3,"type":"Bare","zoom_deg":7},{"channel":4,"type":"Bare","zoom_deg":7.6},{"channel":5,"type":"Plain","zoom_deg":99}],
"cues":[{"cue":1,"set":[{"channels":"1-2","zoom_deg":15.1},{"channels":"1-5","zoom_deg":45},{"channels":"2","zoom_deg":0.5}]}]}`, []string{
			`70 zoom-range warning [channel 1] zoom_deg: the zoom of the fixture on channel 1 is set to 70 degrees, and the type "Spot" goes from 16 to 54 (field angle); its light is worked out with 54.`,
			`7 zoom-range warning [channel 3] zoom_deg: the zoom of the fixture on channel 3 is set to 7 degrees, and the type "Bare" goes from 8 to 40 (beam angle); its light is worked out with 8.`,
			`15.1 zoom-range warning [channels 1-2, cue 1] zoom_deg: the zoom of channels 1-2 of cue 1 is set to 15.1 degrees, and the type "Spot" goes from 16 to 54 (field angle); its light is worked out with 16.`,
			`45 zoom-range warning [channels 1-5, cue 1] zoom_deg: the zoom of channels 1-5 of cue 1 is set to 45 degrees, and the type "Bare" goes from 8 to 40 (beam angle); its light is worked out with 40.`,
			`0.5 zoom-range warning [channels 2, cue 1] zoom_deg: the zoom of channels 2 of cue 1 is set to 0.5 degrees, and the type "Spot" goes from 16 to 54 (field angle); its light is worked out with 16.`,
		}},
		{"the running order against the cues", `{"cues":[{"cue":1},{"cue":2},{"cue":3}],"order":[{"name":"a","start_cue":2},{"name":"b","start_cue":1},{"name":"c","start_cue":2},{"name":"d","start_cue":2.5}]}`, []string{
			`1 order-gap warning [segment b] start_cue: segment "b" starts with cue 1, but segment "a" before it starts with cue 2: the cues run backwards.`,
			`2 order-gap warning [segment c] start_cue twice: segment "a" and segment "c" both start with cue 2.`,
			`2.5 unknown-name error [segment d] start_cue: segment "d" starts with cue 2.5, which the cue list does not have. Around it are cues 2 and 3.`,
		}},
		{"one look for two segments in a row", `{"cues":[{"cue":1},{"cue":2}],"order":[{"name":"a","start_cue":1},{"name":"b","start_cue":1},{"name":"c","start_cue":1},{"name":"d","start_cue":2}]}`, nil},
		{"cue numbers too fine to keep", `{"cues":[{"cue":1.00001}],"order":[{"name":"a","start_cue":1.00001}]}`, []string{
			`1.00001 bad-form error [cue 1.00001] cue: cue is 1.00001; a cue number has at most four decimals.`,
			`1.00001 bad-form error [segment a] start_cue: start_cue is 1.00001; a cue number has at most four decimals.`,
		}},
		{"cue numbers that are small, large or none", `{"cues":[{"cue":0.12345},{"cue":999999.12345},{"cue":0},{"cue":999999.9999},{"cue":-1},{"cue":1000000.12345},{"cue":"1.00001"},{"cue":true},{}]}`, []string{
			`0.12345 bad-form error [cue 0.12345] cue: cue is 0.12345; a cue number has at most four decimals.`,
			`999999.12345 bad-form error [cue 999999.12345] cue: cue is 999999.12345; a cue number has at most four decimals.`,
		}},
		{"readings", `{"room":{"places":[{"name":"pulpit"}]},"cues":[{"cue":1}],"readings":[{"place":"pulpit","cue":1,"lx":5},{"place":"pulpit","cue":9,"lx":5},{"place":"pulpit","cue":1,"channels":"1","lx":5},{"place":"pulpit","channels":"3-1","lx":5},{"place":"desk","lx":5}]}`, []string{
			`9 unknown-name error [reading pulpit] cue: reading "pulpit" was taken in cue 9, which the cue list does not have. Its last is cue 1.`,
			`"1" bad-form warning [reading pulpit] cue and channels: reading "pulpit" names a cue and channels; only one of the two can have been lit.`,
			`"3-1" bad-channels error [reading pulpit] : the channels of reading "pulpit" cannot be read: the range 3-1 runs backwards.`,
			`"desk" unknown-name warning [reading desk] place/desk: place of reading "desk" is "desk", which is not a place of the room.`,
		}},
		{"readings without a cue list", `{"room":{"places":[{"name":"pulpit"}]},"readings":[{"place":"pulpit","cue":9,"lx":5}]}`, nil},
		{"one cue twice", `{"cues":[{"cue":1},{"cue":"1.0"},{"cue":1},{"cue":2},{}, {}]}`, []string{
			`"1.0" cue-twice error [cue 1] cue 1: cue 1 stands more than once in the cue list; they are read as one cue, and where they differ the last one wins.`,
		}},
		{"parts that do not meet", `{"cues":[{"cue":12,"part":1,"set":[{"channels":"1-6","level":5}]},{"cue":12,"part":2,"set":[{"channels":"7","level":5},{"channels":"1","white_k":3200}]},{"cue":12}]}`, []string{
			`12 cue-parts note [cue 12] : cue 12 comes in 3 parts; they are read as one cue, and later parts win.`,
		}},
		{"parts that meet", `{"cues":[{"cue":12,"part":2,"set":[{"channels":"3-9","level":5,"zoom_deg":9}]},{"cue":12,"part":1,"set":[{"channels":"1-4","level":5},{"channels":"front","zoom_deg":9}]},{"cue":12,"part":2}],"groups":{"front":"9"}}`, []string{
			`12 cue-parts note [cue 12] level: several parts of cue 12 set the level of channels 3, 4, first parts 1 and 2; the later part wins.`,
			`12 cue-parts note [cue 12] zoom_deg: several parts of cue 12 set the zoom_deg of channels 9, first parts 1 and 2; the later part wins.`,
			`12 cue-parts note [cue 12] : cue 12 comes in 2 parts; they are read as one cue, and later parts win.`,
			`12 cue-twice error [cue 12] part 2 of cue 12: part 2 of cue 12 stands more than once in the cue list; they are read as one cue, and where they differ the last one wins.`,
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if diff := cmp.Diff(tc.want, marked(show(t, tc.text).Check())); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// A show that was made in Go and not read has no places to show.
func TestCheckWithoutAFile(t *testing.T) {
	s := &Show{
		Room:   &Room{Places: []*Place{{Name: "a"}, {Name: "A"}}},
		Patch:  []*Fixture{{Channel: 1, AimedAt: &Aim{Name: "b"}}, {Name: "left", AimedAt: &Aim{Name: "c"}}},
		Groups: map[string]string{"x": "3-1", "X": "1"},
		Cues:   []*Cue{{Number: 10_000}, {Number: 10_000}},
		Order:  []*Segment{{Name: "s", StartCue: new(CueNumber)}},
		Date:   "2026-13-01",
	}
	found := s.Check()
	if len(found) != 8 {
		t.Errorf("%d findings: %v", len(found), strings.Join(briefs(found), "\n"))
	}
}

func TestRelatedPlaces(t *testing.T) {
	for _, f := range show(t, `{"room":{"places":[{"name":"pulpit"},{"name":"pulpit"},{"name":"pulpit"}]},"cues":[{"cue":1},{"cue":1}]}`).Check() {
		want := map[string]int{"file/name-twice": 2, "file/cue-twice": 1}[f.Rule]
		if len(f.Related) != want {
			t.Errorf("%s has %d related places", brief(f), len(f.Related))
		}
		for _, related := range f.Related {
			if related.Place == f.Place || related.Place.File == nil {
				t.Errorf("%s: the other place is %v", brief(f), related.Place)
			}
		}
	}
}

// The ranges that parts share are those that a look at each channel finds.
func TestSharedChannels(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var claims []claim
		by := map[int]map[int]bool{} // channel -> parts
		for range rapid.IntRange(0, 12).Draw(rt, "claims") {
			part := rapid.IntRange(1, 3).Draw(rt, "part")
			first := rapid.IntRange(1, 20).Draw(rt, "first")
			last := first + rapid.IntRange(0, 8).Draw(rt, "more")
			claims = append(claims, claim{span{first, last}, &Cue{Part: &part}})
			for c := first; c <= last; c++ {
				if by[c] == nil {
					by[c] = map[int]bool{}
				}
				by[c][part] = true
			}
		}
		var want []int
		for c, parts := range by {
			if len(parts) > 1 {
				want = append(want, c)
			}
		}
		slices.Sort(want)
		shared, a, b := sharedBy(slices.Clone(claims))
		if got := merged(shared).First(100); !slices.Equal(got, want) {
			rt.Fatalf("shared are %v; want %v", got, want)
		}
		if len(want) > 0 && (a == nil || a.part() >= b.part()) {
			rt.Fatalf("the parts are %v and %v", a, b)
		}
	})
}

// Lists of thousands that name each other wrongly take seconds only if the check
// compares all with all.
func TestCheckIsNotSquare(t *testing.T) {
	s := &Show{Room: &Room{}}
	for i := range 6_000 {
		s.Room.Places = append(s.Room.Places, &Place{Name: fmt.Sprint("place ", i)})
		s.Patch = append(s.Patch, &Fixture{Channel: i + 1, AimedAt: &Aim{Name: fmt.Sprint("plaice ", i)}, Groups: []string{"one"}})
		number := CueNumber(i)
		s.Order = append(s.Order, &Segment{Name: fmt.Sprint(i), StartCue: &number, People: []string{fmt.Sprint(i)}})
		s.Cues = append(s.Cues, &Cue{Number: 1, Part: &i, Set: []*Setting{{Channels: fmt.Sprintf("1-%d", 99_999-i), Told: &Told{Level: new(Level)}}, {Channels: "one", Told: &Told{Level: new(Level)}}}})
	}
	if offered := len(s.namesOf().places.offered); offered > 1000 {
		t.Errorf("a misspelt name is held against %d others", offered)
	}
	if found := s.Check(); len(found) < 4*mostAlike/2 {
		t.Errorf("%d findings", len(found))
	}
}

func FuzzCheck(f *testing.F) {
	f.Add(`{` + stage + `,"patch":[{"channel":1,"aimed_at":"x","groups":["a"]}],"groups":{"a":"1-3"},"cues":[{"cue":1,"part":1,"set":[{"channels":"a"}]},{"cue":1}],"order":[{"name":"a","start_cue":2}],"types":[{"name":"a","zoom":{"narrow":{},"wide":{}}}],"date":"2026-02-30"}`)
	f.Fuzz(func(t *testing.T, text string) {
		file := &source.File{Name: "fuzz", Text: text}
		if _, ok := source.ParseJSON(file); !ok {
			return
		}
		s := &Show{}
		s.ReadHead(file.Root())
		for _, section := range Sections {
			if ref, ok := file.Root().Get(section); ok {
				s.Read(section, ref)
			}
		}
		for _, found := range s.Check() {
			if found.Message == "" || len(found.Message) > 2000 {
				t.Fatalf("%d characters", len(found.Message))
			}
			if found.Place.File != nil {
				found.Place.Span()
			}
		}
	})
}

func TestNamesOfTheRoomAreLookedFor(t *testing.T) {
	s := show(t, `{
		"room": {"places": [{"name": "pulpit", "z": 1, "known": {"zz": "assumed", "z": [0, 1]}}, {"name": "steps"}],
			"paths": [{"name": "up", "from": "step", "to": "pulpit"}], "bars": [{"name": "front bar"}], "ambient": [{"face_lx": 3, "place": "steps"}, {"face_lx": 4, "place": "nowhere"}]},
		"patch": [{"channel": 1, "hung_on": "back bar", "hung_order": 2}, {"channel": 2, "hung_on": "a tree"}],
		"order": [{"name": "Talk", "people": ["pulpit"], "lead": ["lectern"], "walks": ["up", "down"], "meant": [{"intent": "black", "places": ["steps", "stpes"]}]}],
		"cues": [{"cue": 1, "people": ["steps", "organ"]}],
		"readings": [{"place": "pulpt", "cue": 7}, {"place": "pulpit", "channels": "1-", "cue": 1}]}`)
	var got []string
	for _, f := range s.Check() {
		got = append(got, f.Message)
	}
	want := []string{
		`place "pulpit" says how "zz" is known, and has no such key. Did you mean "z"?`,
		`from of path "up" is "step", which is not a place of the room. Did you mean "steps"?`,
		`place of ambient light "nowhere" is "nowhere", which is not a place of the room.`,
		`hung_on of the fixture on channel 1 is "back bar", which is not a bar of the room, so nobody can tell where it hangs.`,
		`lead of segment "Talk" is "lectern", which is not a place of the room.`,
		`walks of segment "Talk" is "down", which is not a path of the room.`,
		`places of segment "Talk" is "stpes", which is not a place of the room. Did you mean "steps"?`,
		`people of cue 1 is "organ", which is not a place of the room.`,
		`place of reading "pulpt" is "pulpt", which is not a place of the room. Did you mean "pulpit"?`,
		`reading "pulpt" was taken in cue 7, which the cue list does not have. Its last is cue 1.`,
		`the channels of reading "pulpit" cannot be read: "" is not a channel from 1 to 99999.`,
		`reading "pulpit" names a cue and channels; only one of the two can have been lit.`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestTheFirstCueOfAPart is the lowest of those that say they belong to it; a part without a name has none.
func TestTheFirstCueOfAPart(t *testing.T) {
	for name, want := range map[string]string{"Talk": "2", "Song": "2.5", "Film": "", "": ""} {
		read := show(t, `{"cues": [{"cue": 3, "segment": "Talk"}, {"cue": 2, "segment": "Talk"}, {"cue": 4, "segment": "Talk"}, {"cue": 1}, {"segment": "Song"}, {"cue": 2.5, "segment": "Song"}], "order": [{"name": "Talk"}]}`)
		c := crossCheck{Show: read}
		got := ""
		if list := c.firstCue(&Segment{Name: name, At: read.Order[0].At}); len(list) == 1 && len(list[0].Edits) == 1 && list[0].Edits[0].Field == "start_cue" {
			got = list[0].Edits[0].Value.(string)
		}
		if got != want {
			t.Errorf("%q starts with cue %q, not %q", name, got, want)
		}
	}
}
