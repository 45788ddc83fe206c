package plan

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

const wholeEvening = `{
	"room": {
		"places": [{"name": "desk", "x": 0, "y": 1, "z": 0}, {"name": "lead singer at the front", "x": 2, "y": 1, "z": 0}, {"name": "second singer", "x": 4, "y": 1, "z": 0}],
		"circuits": [{"name": "front keys", "volts": 230, "amps": 10}]
	},
	"types": [{"name": "profile", "cri": 62}, {"name": "hazer", "machine": {"kind": "hazer"}}],
	"patch": [
		{"channel": 1, "type": "profile", "purpose": "key", "aimed_at": "desk", "name": "desk key", "circuit": "front keys"},
		{"channel": 2, "type": "profile", "purpose": "key", "aimed_at": "second singer", "name": "key for the lead singer"},
		{"channel": 8, "purpose": "house", "name": "hall"}, {"channel": 9, "type": "hazer", "name": "hazer"}
	],
	"order": [
		{"name": "Reading", "start_cue": 1, "people": ["desk"]}, {"name": "Song", "start_cue": 2, "people": ["second singer"]},
		{"name": "Prayer", "start_cue": 3, "people": ["desk"]}, {"name": "End", "start_cue": 4, "people": []}
	],
	"cues": [
		{"cue": 1, "name": "Desk", "set": [{"channels": "1", "level": 70}, {"channels": "9", "level": 40}, {"channels": "8", "level": 60}]}, {"cue": 2, "name": "Song"}, {"cue": 3}, {"cue": 4}
	]
}`

// Those of one rule are one task, which names the things and says as data what is asked.
func TestTasksNameTheThings(t *testing.T) {
	show, set := read(t, wholeEvening), rules.Own()
	left := func(rule, kind, name string, cues ...string) finding.Finding {
		return finding.Finding{
			Rule: rule, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: kind, Name: name}}, Cues: cues, Hint: "Ask.",
		}
	}
	for _, tc := range []struct{ found, do, edit string }{
		{"white/rendering channel 1", `of the type "profile"`, "type profile cri 90"},
		{"patch/circuit-load circuit front keys", "desk key (channel 1)", "channels 1 circuit <nil>"},
		{"camera/banding channel 1", `the type "profile" has a higher dimming frequency, and set it to 2000 Hz or more`, "type profile pwm_hz 2000"},
		{"patch/patched-never-used channel 2", `say 70 % in "Song" (cue 2). If not, write 0 %`, "channels 2 level 70 in 2"},
		{"patch/channel-twice channel 1", "by which numbers the cues call desk key (channel 1), before", "channels 1 channel <nil>"},
		{"dynamics/no-visible-change cue 2", `"Song" (cue 2)`, "cue 2 set <nil>"},
		{"air/haze-lingers segment Prayer", "leave hazer (channel 9) out", "channels 9 level 0 in 1"},
		{"people/dark-walk cue 2", `Bring hall (channel 8) in "Song" (cue 2) to 30 %, and look whether that is enough. If not: Ask for a light`, "channels 8 level 30 in 2"},
		{"people/flat place desk", "one of desk key (channel 1)", "channels 1 hung_at <nil>"},
		{"file/reading-differs place desk", "Look at desk key (channel 1)", "channels 1 aimed_at <nil>"},
		{"people/no-key place lead singer at the front", `Look whether key for the lead singer (channel 2) should be aimed at "lead singer at the front", as the name says, and what else the light would meet. If not: Ask for a light`, "channels 2 aimed_at lead singer at the front"},
		{"people/no-back place lead singer at the front", `Ask for a light from behind, high enough`, "place lead singer at the front people <nil>"},
		{"people/no-back place desk", `for whoever stands on "desk"`, "place desk people <nil>"},
		{"safety/haze-detection-notice show x", "Ask.", "notices smoke_detection smoke_detection <nil>"},
	} {
		words := strings.SplitN(tc.found, " ", 3)
		var cues []string
		if words[1] == "cue" {
			cues = []string{words[2]}
		}
		f := left(words[0], words[1], words[2], cues...)
		list := Tasks([]*finding.Finding{&f, &f}, show, set, nil)
		if len(list) != 1 || len(list[0].Cures) != 2 || len(list[0].Edits) == 0 || list[0].Who == "" {
			t.Errorf("%s: %+v", tc.found, list)
			continue
		}
		if undo := list[0].Undo; strings.Contains(undo, "words out of notices") != strings.HasPrefix(tc.edit, "notices ") || strings.Contains(undo, "Nothing is changed") == strings.HasPrefix(tc.edit, "notices ") {
			t.Errorf("%s is undone so: %q", tc.found, undo)
		}
		if !strings.Contains(list[0].Do, tc.do) {
			t.Errorf("%s: %q has no %q", tc.found, list[0].Do, tc.do)
		}
		e := list[0].Edits[0]
		is := strings.Join([]string{e.What, strings.Join(e.Names, ","), e.Key, fmt.Sprint(e.To)}, " ")
		if e.Cue != "" && e.What == "channels" {
			is += " in " + e.Cue
		}
		if is != tc.edit {
			t.Errorf("%s: %q, want %q", tc.found, is, tc.edit)
		}
	}
}

// What rests on what nobody has read says so, unless something of it is sure; and no lamp is
// asked for where one is aimed.
func TestTasksThatAreLikely(t *testing.T) {
	show, set := read(t, wholeEvening), rules.Own()
	sure := finding.Finding{Rule: "people/no-back", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: "desk"}}}
	likely := sure
	likely.Doubt(finding.Assumed, "an assumed aim")
	const look = " This is likely and not sure: look first at an assumed aim."
	if list := Tasks([]*finding.Finding{&likely, &likely}, show, set, nil); len(list) != 1 || !strings.HasSuffix(list[0].Do, look) {
		t.Errorf("%+v", list)
	}
	if list := Tasks([]*finding.Finding{&likely, &sure}, show, set, nil); len(list) != 1 || strings.Contains(list[0].Do, "likely") {
		t.Errorf("%+v", list)
	}
	show.Patch[1].Purpose = "back"
	sure.Subjects[0].Name = "second singer"
	if list := Tasks([]*finding.Finding{&sure}, show, set, nil); len(list) != 0 {
		t.Errorf("a back light is aimed there: %+v", list)
	}
}

// No notice is asked for while light flashes too fast, white or red: no words make up for it.
func TestNoNoticeOfWhatIsTooFast(t *testing.T) {
	show, set := read(t, wholeEvening), rules.Own()
	of := func(rule string, verdict finding.Verdict) *finding.Finding {
		return &finding.Finding{Rule: rule, Verdict: verdict, Hint: "Write it down."}
	}
	for _, c := range []struct {
		rule    string
		verdict finding.Verdict
		want    bool // that the notice is asked for
	}{
		{"safety/flash-rate", finding.Fail, false}, {"safety/red-flash", finding.Fail, false}, {"safety/flash-rate", finding.Open, true}, {"safety/red-flash", finding.Open, true}, {"safety/beam-into-eyes", finding.Fail, true},
	} {
		asked := slices.ContainsFunc(Tasks([]*finding.Finding{of("safety/strobe-notice", finding.Fail), of(c.rule, c.verdict)}, show, set, nil), func(o outcome.Order) bool { return o.Do == "Write it down." })
		if asked != c.want {
			t.Errorf("beside %s, %s, the notice is asked for: %v", c.rule, c.verdict, asked)
		}
	}
}

// What a rule asks about is something that can be named, and {things} stands in what it says.
func TestWhatRulesAsk(t *testing.T) {
	for _, rule := range rules.Own().Rules {
		if ask := rule.Ask; ask != nil && (ask.Of != "notices") == (ask.Do == "" || !strings.Contains(ask.Do, "{things}")) {
			t.Errorf("%s asks %+v", rule.ID, *ask)
		}
	}
}

func offersOf(t *testing.T, show *schema.Show) *offers {
	t.Helper()
	p := &prover{Options: Options{Rules: rules.Own()}}
	p.start = proof.Check(show, p.Rules)
	return p.offers(p.start)
}

// A lamp that is taken out while its place is empty comes back with the person, and not
// before: nobody is lit who is not there.
func TestLightComesBackWithPeople(t *testing.T) {
	o := offersOf(t, read(t, wholeEvening))
	edits := o.hold(1, 0, 1, 1) // in the song nobody is at the desk
	if len(edits) != 2 || edits[1].Value != 70.0 || edits[1].At != o.state.Looks[2].Place() {
		t.Errorf("behind the song: %v", edits)
	}
	if edits := o.hold(1, 0, 1, 2); len(edits) != 1 {
		t.Errorf("nobody comes back, and light does: %v", edits)
	}
	if edits := o.hold(9, 0, 1, 1); len(edits) != 2 {
		t.Errorf("a machine is for nobody, and goes on: %v", edits)
	}
}

// The name of a lamp tells for whom it is, if one place alone begins so.
func TestNamedFor(t *testing.T) {
	o := offersOf(t, read(t, wholeEvening))
	for name, want := range map[string]string{
		"key for the lead singer": "lead singer at the front", "desk fill": "desk", "second singer back": "second singer",
		"singer": "", "": "", "key for a singer": "",
	} {
		if got := o.namedFor(&schema.Fixture{Name: name}); got != want {
			t.Errorf("%q is for %q, want %q", name, got, want)
		}
	}
}

// One slip of the hand is one wrong digit, or two that changed places. What is looked up
// is held against comparing digit by digit, for every number up to four digits.
func TestOneSlip(t *testing.T) {
	oneSlip := func(a, b string) bool {
		if len(a) != len(b) {
			return false
		}
		var wrong []int
		for i := range len(a) {
			if a[i] != b[i] {
				wrong = append(wrong, i)
			}
		}
		return len(wrong) == 1 || len(wrong) == 2 && wrong[1] == wrong[0]+1 && a[wrong[0]] == b[wrong[1]] && a[wrong[1]] == b[wrong[0]]
	}
	for _, tc := range []struct {
		a, b string
		want bool
	}{
		{"19", "18", true}, {"331", "231", true}, {"12", "21", true}, {"123", "132", true},
		{"19", "19", false}, {"1", "11", false}, {"12", "34", false}, {"123", "321", false},
	} {
		if got := oneSlip(tc.a, tc.b); got != tc.want {
			t.Errorf("%s for %s: %v", tc.a, tc.b, got)
		}
	}
	var patch []*schema.Fixture
	for _, channel := range []int{331, 7, 19, 120, 18, 1001, 210, 331, 1010, 99, 5000} {
		patch = append(patch, &schema.Fixture{Channel: channel})
	}
	s := newSlips(patch)
	for number := range 10_000 {
		var want []int
		for _, lamp := range patch {
			if oneSlip(strconv.Itoa(number), strconv.Itoa(lamp.Channel)) && !slices.Contains(want, lamp.Channel) {
				want = append(want, lamp.Channel)
			}
		}
		if got := s.from(number); !s.has(number) && !slices.Equal(got, want) {
			t.Fatalf("%d may be meant for %v, want %v", number, got, want)
		}
	}
	if got := inPlaceOf("1, 19, 119", 19, 18); got != "1, 18, 119" {
		t.Errorf("%q", got)
	}
}

// Below the least level a lamp is not dimmed: it stays there, or goes out.
func TestScaleLeavesNoTrickle(t *testing.T) {
	o := offersOf(t, read(t, wholeEvening))
	for _, tc := range []struct {
		factor float64
		out    bool
		want   float64
	}{{0.5, false, 35}, {0.1, false, leastLevel}, {0.1, true, 0}, {2, false, 100}} {
		if edits := o.scale(1, tc.factor, tc.out, 0, 0); edits[0].Value != tc.want {
			t.Errorf("%v times 70 %%: %v, want %v", tc.factor, edits[0].Value, tc.want)
		}
	}
}

// An edit of what a part of the running order shows on a screen is told by its names.
func TestScreenOfAPart(t *testing.T) {
	show := read(t, `{"room": {"surfaces": [{"name": "wall", "kind": "emissive"}]}, "cues": [{"cue": 1}],
		"order": [{"name": "Talk", "start_cue": 1, "screens": [{"screen": "wall", "drive_pct": 60}]}]}`)
	edit := source.Edit{At: show.Order[0].Screens[0].At, Field: "drive_pct", Value: 12.0}
	w := &words{show: show}
	w.findCues([]source.Edit{edit})
	if do := w.do([]source.Edit{edit}); do != `Bring the screen "wall" in "Talk" to 12 % drive.` {
		t.Error(do)
	}
	changed, err := schema.Apply(show, []source.Edit{edit})
	if err != nil || *changed.Order[0].Screens[0].DrivePct != 12 || *show.Order[0].Screens[0].DrivePct != 60 {
		t.Errorf("%v", err)
	}
}
