package verdict

import (
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/go-cmp/cmp"
)

func gapWords(list []outcome.Gap) []string {
	var words []string
	for _, g := range list {
		words = append(words, fmt.Sprintf("%s: %d, %v, %s", g.Missing, g.Subjects, g.Rules, g.Consequence))
	}
	return words
}

func TestGaps(t *testing.T) {
	open := func(rule string, consequence finding.Consequence, subject string, missing ...string) finding.Finding {
		return finding.Finding{
			Rule: rule, Verdict: finding.Open, Consequence: consequence, Missing: missing,
			Subjects: []finding.Subject{{Kind: "place", Name: subject}},
		}
	}
	set := &rules.Set{Rules: []*rules.Rule{
		{Rule: finding.Rule{ID: "t/hurt", Consequence: finding.Hurt}}, {Rule: finding.Rule{ID: "t/room", Consequence: finding.Room}},
	}}
	for _, test := range []struct {
		name    string
		found   []finding.Finding
		tallies []finding.Tally
		want    []string
	}{
		{"nothing is missing", []finding.Finding{{Rule: "t/room", Verdict: finding.Fail, Missing: []string{"not looked at"}}}, []finding.Tally{{Rule: "t/room", Subjects: 3}}, nil},
		{
			"one phrase is one gap, with the things it is about",
			[]finding.Finding{
				open("t/room", finding.Room, "pulpit", "the flux"), open("t/room", finding.Room, "lectern", "the flux"),
			}, nil,
			[]string{"the flux: 2, [t/room], room"},
		}, {
			"a thing counts once, however many rules ask about it; the gravest consequence holds",
			[]finding.Finding{
				open("t/room", finding.Room, "pulpit", "the flux"), open("t/hurt", finding.Hurt, "pulpit", "the flux"),
				open("t/hurt", finding.Hurt, "lectern", "the flux"),
			}, nil,
			[]string{"the flux: 2, [t/hurt t/room], hurt"},
		}, {
			"one finding can lack several things",
			[]finding.Finding{open("t/room", finding.Room, "pulpit", "the flux", "the beam")}, nil,
			[]string{"the beam: 1, [t/room], room", "the flux: 1, [t/room], room"},
		}, {
			"what would let most be checked first, then the gravest, then by letter",
			[]finding.Finding{
				open("t/room", finding.Later, "a", "z, later"),
				open("t/room", finding.Room, "a", "y, one rule, one thing"),
				open("t/room", finding.Room, "a", "x, one rule, two things"), open("t/room", finding.Room, "b", "x, one rule, two things"),
				open("t/room", finding.Room, "a", "w, two rules"), open("t/hurt", finding.Room, "a", "w, two rules"),
				open("t/room", finding.Room, "a", "v, one rule, one thing"),
				open("t/hurt", finding.Hurt, "a", "u, hurt"),
			}, nil,
			[]string{
				"w, two rules: 1, [t/hurt t/room], room",
				"x, one rule, two things: 2, [t/room], room",
				"u, hurt: 1, [t/hurt], hurt",
				"v, one rule, one thing: 1, [t/room], room",
				"y, one rule, one thing: 1, [t/room], room",
				"z, later: 1, [t/room], later",
			},
		}, {
			"a rule that had nothing to look at lacks something about nothing",
			nil, []finding.Tally{{Rule: "t/hurt", None: []string{"the circuits"}}, {Rule: "t/room", None: []string{"the circuits"}}},
			[]string{"the circuits: 0, [t/hurt t/room], hurt"},
		}, {
			"both kinds of the same phrase are one gap",
			[]finding.Finding{open("t/room", finding.Room, "a", "the cue list")}, []finding.Tally{{Rule: "t/hurt", None: []string{"the cue list"}}},
			[]string{"the cue list: 1, [t/hurt t/room], hurt"},
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, gapWords(Gaps(test.found, test.tallies, set, nil))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestGapsCountForEachRule(t *testing.T) {
	open := func(rule string, consequence finding.Consequence, kind, name string) finding.Finding {
		return finding.Finding{
			Rule: rule, Verdict: finding.Open, Consequence: consequence, Missing: []string{"the white balance of the camera \"front\""},
			Subjects: []finding.Subject{{Kind: kind, Name: name}, {Kind: "segment", Name: "Talk"}},
		}
	}
	list := Gaps([]finding.Finding{
		open("t/room", finding.Room, "channel", "1"), open("t/room", finding.Room, "channel", "2"),
		open("t/hurt", finding.Hurt, "channel", "2"), open("t/room", finding.Room, "place", "pulpit"),
	}, nil, nil, nil)
	want := []outcome.GapCount{
		{Rule: "t/hurt", Kind: "channel", Subjects: 1, Consequence: finding.Hurt},
		{Rule: "t/room", Kind: "channel", Subjects: 2, Consequence: finding.Room},
		{Rule: "t/room", Kind: "place", Subjects: 1, Consequence: finding.Room},
	}
	if len(list) != 1 || list[0].Subjects != 3 {
		t.Fatalf("got %+v", list)
	}
	if diff := cmp.Diff(want, list[0].Each); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// lacking is an open finding about one thing.
func lacking(missing, kind, name string) finding.Finding {
	return finding.Finding{
		Rule: "t/room", Verdict: finding.Open, Consequence: finding.Room, Missing: []string{missing}, Subjects: []finding.Subject{{Kind: kind, Name: name}},
	}
}

// The same of several things is asked for once, with where it is written.
func TestGapsAreGrouped(t *testing.T) {
	var found []finding.Finding
	open := func(missing, kind, name string) { found = append(found, lacking(missing, kind, name)) }
	for i := 1; i <= 29; i++ {
		open(fmt.Sprintf("the purpose of the fixture on channel %d", i), "channel", fmt.Sprint(i))
	}
	for _, name := range []string{"spot", "wash", "beam"} {
		open(fmt.Sprintf("the number of addresses of the type %q", name), "channel", "1 of "+name)
	}
	open(`the number of addresses of the mode "two" of the type "spot"`, "channel", "31")
	open("something that nobody has heard of", "channel", "32")
	files := []*source.File{{Name: "evening/show.json"}, {Name: "evening/patch.csv"}}
	var got []string
	for _, g := range Gaps(found, nil, nil, files) {
		got = append(got, fmt.Sprintf("%s (%d) %s|%s", g.Missing, g.Subjects, g.Key, g.File))
	}
	want := []string{
		"the purpose of the fixtures on channels 1-29 (29) patch: purpose|patch.csv",
		`the number of addresses of the type "spot", "wash" and 1 more (3) types: slots|show.json`,
		"something that nobody has heard of (1) |",
		`the number of addresses of the mode "two" of the type "spot" (1) types: slots|show.json`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// What is asked of several lamps is asked in the plural, verb and all.
func TestWhatSeveralLampsLackIsInThePlural(t *testing.T) {
	for one, want := range map[string]string{
		"where the fixture on channel %d hangs":                        "where the fixtures on channels 1-3 hang",
		"where the fixture on channel %d is aimed":                     "where the fixtures on channels 1-3 are aimed",
		"where the fixture on channel %d hangs and is aimed, its beam": "where the fixtures on channels 1-3 hang and are aimed, their beams",
		"where the key light on channel %d is aimed":                   "where the key lights on channels 1-3 are aimed",
		"the white of the fixture on channel %d":                       "the white of the fixtures on channels 1-3",
	} {
		var found []finding.Finding
		for i := 1; i <= 3; i++ {
			found = append(found, lacking(fmt.Sprintf(one, i), "channel", fmt.Sprint(i)))
		}
		if gaps := Gaps(found, nil, nil, nil); len(gaps) != 1 || gaps[0].Missing != want {
			t.Errorf("%s: got %+v, want %q", one, gaps, want)
		}
		if gaps := Gaps(found[:1], nil, nil, nil); len(gaps) != 1 || gaps[0].Missing != fmt.Sprintf(one, 1) {
			t.Errorf("of one lamp: %+v, want %q", gaps, fmt.Sprintf(one, 1))
		}
	}
}

// Several sides of one thing are one thing to write, under what their keys share.
func TestSidesOfOneThingAreOneGap(t *testing.T) {
	var found []finding.Finding
	for i, missing := range []string{
		"the running order, with the duration of each segment", "the running order, with the places of the people in each segment",
		"the patch: which channel is which fixture", "the patch: which channel is which fixture, at which address",
		`the type "spot", with its number of addresses`, `the type "spot", with its watts`, "the cameras of the room, with the white balance of each", "the circuits of the room, with volts and amps",
	} {
		found = append(found, finding.Finding{Rule: "t/room", Verdict: finding.Open, Missing: []string{missing}, Subjects: []finding.Subject{{Kind: "cue", Name: fmt.Sprint(i)}}})
	}
	var got []string
	for _, g := range Gaps(found, nil, nil, nil) {
		got = append(got, fmt.Sprintf("%s (%d) %s", g.Missing, g.Subjects, g.Key))
	}
	want := []string{
		"the patch: which channel is which fixture, at which address (2) patch",
		"the running order, with the duration of each segment and the places of the people in each segment (2) order",
		`the type "spot", with its number of addresses and its watts (2) types`,
		"the cameras of the room, with the white balance of each (1) room: cameras: white_k",
		"the circuits of the room, with volts and amps (1) room: circuits",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Where no file tells a type, all of them and each by name are one thing to give; where some do,
// those that lack are told by name.
func TestAllTypesAndEachAreOneGap(t *testing.T) {
	each := []string{`the type "par", with its modes`, `the type "wash", with its modes`, `the type "par", with its colour rendering`, `the flux of the type "par"`}
	for all, want := range map[string][]string{
		"the types of fixture in the rig": {"the types of fixture in the rig, with their modes and their colour rendering (4)", `the flux of the type "par" (1)`},
		"":                                {`the type "par", "wash", with its modes (2)`, `the type "par", with its colour rendering (1)`, `the flux of the type "par" (1)`},
	} {
		var found []finding.Finding
		for i, missing := range append(slices.Clone(each), all) {
			if missing != "" {
				found = append(found, finding.Finding{Rule: "t/room", Verdict: finding.Open, Missing: []string{missing}, Subjects: []finding.Subject{{Kind: "fixture", Name: fmt.Sprint(i)}}})
			}
		}
		var got []string
		for _, g := range Gaps(found, nil, nil, nil) {
			got = append(got, fmt.Sprintf("%s (%d)", g.Missing, g.Subjects))
		}
		slices.Sort(got)
		slices.Sort(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", all, diff)
		}
	}
}

// Two gaps in one count what each rule lacks of each kind, and are as grave as the graver.
func TestTwoGapsInOne(t *testing.T) {
	a := outcome.Gap{Subjects: 3, Consequence: finding.Camera, Rules: []string{"b/b"}, Each: []outcome.GapCount{{Rule: "b/b", Kind: "cue", Subjects: 3}}}
	b := outcome.Gap{Subjects: 6, Consequence: finding.Dark, Rules: []string{"a/a", "b/b"}, Each: []outcome.GapCount{{Rule: "a/a", Kind: "cue", Subjects: 1}, {Rule: "b/b", Kind: "lamp", Subjects: 2}, {Rule: "b/b", Kind: "cue", Subjects: 3}}}
	want := outcome.Gap{Subjects: 9, Consequence: finding.Dark, Rules: []string{"a/a", "b/b"}, Each: []outcome.GapCount{{Rule: "b/b", Kind: "cue", Subjects: 6}, {Rule: "a/a", Kind: "cue", Subjects: 1}, {Rule: "b/b", Kind: "lamp", Subjects: 2}}}
	if got := joined(a, b); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if a.Each[0].Subjects != 3 || len(a.Rules) != 1 {
		t.Errorf("the first is changed: %+v", a)
	}
}

// TestWhatEachThingWantsIsOneGap: of thousands of lamps each wants a type of its own, which is one
// gap in the end and no more on the way there.
func TestWhatEachThingWantsIsOneGap(t *testing.T) {
	const things = 3000
	found := make([]finding.Finding, things)
	for i := range found {
		found[i] = lacking(fmt.Sprintf("the type \"wash %d\", with its modes", i), "channel", fmt.Sprint(i))
	}
	for i := range 10 { // what is told of one thing alone is kept in its words
		found = append(found, lacking("the cue list", "place", fmt.Sprint(i)))
	}
	var list []outcome.Gap
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	list = Gaps(found, nil, nil, nil)
	runtime.ReadMemStats(&after)
	if len(list) != 2 || list[0].Missing != fmt.Sprintf("the type \"wash 0\", \"wash 1\" and %d more, with its modes", things-2) || list[0].Subjects != things {
		t.Errorf("%d gaps, the first %+v", len(list), list[0])
	}
	const most = 700 // bytes; a gap for each had 1,000
	if each := (after.TotalAlloc - before.TotalAlloc) / things; each > most {
		t.Errorf("%d bytes for each thing, at most %d are enough", each, most)
	}
}
