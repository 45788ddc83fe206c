package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// offersFound are the offers for a show in which something was found.
func offersFound(t *testing.T, text string, found ...finding.Finding) *offers {
	t.Helper()
	show := read(t, text)
	state := &proof.State{Show: show, Looks: tracking.Resolve(show), Found: found}
	return (&prover{Options: Options{Rules: rules.Own()}, start: state}).offers(state)
}

// at is a finding about a place in cues.
func at(rule, place string, cues ...string) finding.Finding {
	return finding.Finding{Rule: rule, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: place}}, Cues: cues}
}

// heard keeps what is offered, each offer as its effect and its edits.
func heard(list *[][]source.Edit) adder {
	return func(_ string, edits ...source.Edit) {
		if len(edits) > 0 {
			*list = append(*list, edits)
		}
	}
}

// lampsTold are what lamps are told by edits: each channel with the value.
func (o *offers) lampsTold(list [][]source.Edit) (told []string) {
	for _, e := range slices.Concat(list...) {
		told = append(told, fmt.Sprint(o.words.fixture(e.At).Channel, " ", e.Value))
	}
	return told
}

// How far off a lamp is aimed is a distance, in which height counts half.
func TestHowFarOff(t *testing.T) {
	o := offersFound(t, `{"room": {"places": [{"name": "left", "x": -2, "y": 1.5, "z": 0, "head_m": 1.6}]}}`)
	for aim, want := range map[schema.Point]float64{{X: -2, Y: 1.5, Z: 1.6}: 0, {X: 1, Y: 5.5, Z: 1.6}: 5, {X: -5, Y: -2.5, Z: 1.6}: 5, {X: -2, Y: 1.5, Z: 3.6}: 1} {
		if got := o.off(&schema.Fixture{AimedAt: &schema.Aim{Point: &aim}}, "left"); math.Abs(got-want) > 1e-12 {
			t.Errorf("aimed at %v it is %v m off, want %v", aim, got, want)
		}
	}
}

// A value of a whole thing and one of its channel 1 are two values; of one given twice, the
// last is kept.
func TestEveryValueIsGivenOnce(t *testing.T) {
	show := read(t, wordy)
	place := show.Cues[0].At
	edits := settle([]source.Edit{{At: place, Field: "level", Value: 10.0, Only: []int{1}}, {At: place, Field: "level", Value: 20.0}, {At: place, Field: "level", Value: 30.0, Only: []int{1, 2}}})
	var got []string
	for _, e := range edits {
		got = append(got, fmt.Sprint(e.Value, e.Only))
	}
	if want := []string{"20 []", "30 [1 2]"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// Cool washes answer in a warm colour; warm ones, and those of no colour, in a cool one.
func TestTheColourThatAnswers(t *testing.T) {
	o := offersFound(t, `{"types": [{"name": "wash", "emitters": [{"name": "red"}, {"name": "green"}, {"name": "blue"}, {"name": "white"}]}],
		"patch": [{"channel": 1, "type": "wash", "purpose": "wash"}, {"channel": 2, "type": "wash", "purpose": "wash"}, {"channel": 3, "type": "wash", "purpose": "wash"}, {"channel": 4, "type": "wash", "purpose": "wash"}],
		"order": [{"name": "Song", "kind": "song", "mood": "loud", "start_cue": 1}],
		"cues": [{"cue": 1, "segment": "Song", "set": [{"channels": "1-4", "level": 80}, {"channels": "1", "mix": {"red": 100}}, {"channels": "2", "mix": {"blue": 100}}, {"channels": "3", "mix": {"white": 100}}, {"channels": "4", "mix": {"red": 50, "blue": 50}}]}]}`)
	var list [][]source.Edit
	o.secondColour(nil, heard(&list))
	if len(list) != 1 {
		t.Fatalf("%d offers", len(list))
	}
	got := map[int]bool{}
	for _, e := range list[0] {
		got[e.Only[0]] = strings.Contains(fmt.Sprint(e.Value), "blue 100")
	}
	for channel, isCool := range map[int]bool{1: true, 2: false, 3: true, 4: true} {
		if got[channel] != isCool {
			t.Errorf("channel %d is answered by %v", channel, list[0])
		}
	}
}

// Every cue of a stretch that tells the colour is told white, the last too.
func TestWhiteToTheEndOfAStretch(t *testing.T) {
	o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]}, "types": [{"name": "mixer", "emitters": [{"name": "red"}, {"name": "blue"}, {"name": "cold", "x": 0.33, "y": 0.34, "flux_lm": 900}]}],
		"patch": [{"channel": 1, "type": "mixer", "purpose": "key", "aimed_at": "desk"}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50, "mix": {"red": 100}}]}, {"cue": 2}, {"cue": 3, "set": [{"channels": "1", "mix": {"blue": 100}}]}, {"cue": 4, "set": [{"channels": "1", "mix": {"red": 50}}]}]}`,
		at("people/colour-on-face", "desk", "1", "2", "3"))
	var list [][]source.Edit
	o.whiteKeys(&o.order[0], heard(&list))
	if len(list) != 1 || len(list[0]) != 2 {
		t.Errorf("of cues 1 to 3, of which 1 and 3 tell a colour, are told: %v", list)
	}
}

// The cameras are turned where three places are off in three of five looks with people, and
// not in fewer; looks with nobody do not count.
func TestWhenItIsTheCameras(t *testing.T) {
	for _, c := range []struct {
		looks, faulty, empty, unknown, places int
		want                                  bool
	}{{5, 3, 0, 0, 3, true}, {5, 2, 0, 0, 3, false}, {6, 3, 0, 0, 3, false}, {5, 3, 1, 0, 3, true}, {5, 3, 0, 1, 3, true}, {5, 3, 0, 0, 2, false}} {
		var cues, numbers []string
		add := func(n int, people string) {
			for range n {
				cues = append(cues, fmt.Sprintf(`{"cue": %d, "people": [%s]}`, len(cues)+1, people))
			}
		}
		add(c.looks, `"a", "b", "c"`)
		add(c.empty, "")
		add(c.unknown, `"nowhere"`)
		for i := range c.faulty {
			numbers = append(numbers, fmt.Sprint(i+1))
		}
		var found []finding.Finding
		for _, place := range []string{"a", "b", "c"}[:c.places] {
			f := at("people/key-low", place, numbers...)
			f.Amount = &finding.Amount{Value: 1, Unit: "stops"}
			found = append(found, f)
		}
		o := offersFound(t, `{"room": {"places": [{"name": "a"}, {"name": "b"}, {"name": "c"}], "cameras": [{"name": "front", "sensitivity_iso": 400}]}, "cues": [`+strings.Join(cues, ",")+`]}`, found...)
		var list [][]source.Edit
		o.exposure(&o.order[0], heard(&list))
		if got := len(list) == 1 && len(list[0]) == 1 && list[0][0].Field == "sensitivity_iso" && list[0][0].Value == 800.0; got != c.want {
			t.Errorf("%+v: %v", c, list)
		}
	}
}

// A level as low as lamps are brought down to is no usual one.
func TestTheUsualLevelIsOneOfLight(t *testing.T) {
	for level, want := range map[int]bool{leastLevel: false, leastLevel + 1: true} {
		o := offersFound(t, fmt.Sprintf(`{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]}, "patch": [{"channel": 1, "purpose": "key", "aimed_at": "desk"}],
			"cues": [{"cue": 1}, {"cue": 2, "set": [{"channels": "1", "level": %d}]}]}`, level))
		got, ok := o.usual(o.state.Show.Patch[0], "desk", []int{0})
		if ok != want || ok && got != float64(level) {
			t.Errorf("at %d %% the usual level is %v, %v", level, got, ok)
		}
	}
}

// Lamps hang on the bars of the room, but for its stands; where it tells of none, where others
// hang.
func TestWhereLampsCanHang(t *testing.T) {
	const lamps = `"patch": [{"channel": 1, "hung_on": "front", "hung_at": {"x": 3, "y": -4, "z": 5}}, {"channel": 2, "hung_on": "front", "hung_at": {"x": -3, "y": -4, "z": 5}}, {"channel": 3, "hung_on": "floor", "mount": "stands", "hung_at": {"x": 0, "y": 0, "z": 1}}]`
	for _, c := range []struct{ room, want string }{
		{`"room": {"bars": [{"name": "truss", "from": {"x": -5, "y": 0, "z": 6}, "to": {"x": 5, "y": 0, "z": 6}}, {"name": "stand", "kind": "stand", "from": {"x": 5, "y": 0, "z": 2}, "to": {"x": 5, "y": 0, "z": 2}}]}, `, "truss 10"},
		{`"room": {"bars": [{"name": "truss"}]}, `, "front 6"},
		{"", "front 6"},
	} {
		o := offersFound(t, "{"+c.room+lamps+"}")
		if c.room == "" {
			o.state.Show.Room = nil
		}
		var words []string
		for _, bar := range o.bars() {
			words = append(words, fmt.Sprintf("%s %g", bar.name, bar.length()))
		}
		if got := strings.Join(words, ", "); got != c.want {
			t.Errorf("with %q lamps can hang on %q, want %q", c.room, got, c.want)
		}
	}
}

// What is done where: on paper, at the console, at the lamp.
func TestWhereAChangeIsMade(t *testing.T) {
	show := read(t, wordy)
	lamp, cue, camera := show.Patch[0].At, show.Cues[0].At, show.Room.Cameras[0].At
	w := wordsOf(&proof.State{Show: show})
	for _, c := range []struct {
		at    source.Ref
		field string
		want  chore
	}{
		{lamp, "hung_at", atHeight}, {lamp, "hung_on", atHeight}, {lamp, "purpose", inPaper}, {lamp, "aim", remoteLamp}, {lamp, "address", readdress}, {lamp, "circuit", replug}, {lamp, "filter", atHeight},
		{lamp, "mix", atConsole}, {cue, "level", atConsole}, {cue, "people", inPaper}, {camera, "white_k", inMenu},
	} {
		if got := w.choreOf(source.Edit{At: c.at, Field: c.field}); got != c.want {
			t.Errorf("%s is %v, want %v", c.field, got, c.want)
		}
	}
}

// A step that a later one makes again is left out, the first too, and proving the rest anew is
// taken from what may still be looked at.
func TestStepsThatAreMadeAgain(t *testing.T) {
	show := read(t, wordy)
	start := &proof.State{Show: show, Tallies: []finding.Tally{{Rule: "a/b", Subjects: 100}}}
	edit := func(value float64) cure {
		return cure{edits: []source.Edit{{At: show.Cues[0].At, Field: "level", Value: value}}}
	}
	steps := []Step{{Before: start, After: &proof.State{}, cure: edit(40)}, {Before: start, After: &proof.State{}, cure: edit(60), Cleared: []finding.Finding{{}}}}
	for left, want := range map[int]int{200: 1, 199: 2} {
		p := &prover{left: left}
		got, err := p.prune(start, steps)
		if err != nil || len(got) != want || got[len(got)-1].cure.edits[0].Value != 60.0 {
			t.Errorf("with %d left it makes %d steps, %v", left, len(got), err)
		}
		if want == 1 && p.left != left-100 {
			t.Errorf("%d are left of %d", p.left, left)
		}
	}
}

// A lamp of mixed colours gets the white of the camera by its mix, one that has whites by kelvin
// by its menu.
func TestWhiteByMixOrByMenu(t *testing.T) {
	const emitters = `"source": "colour-led", "emitters": [{"name": "red", "x": 0.69, "y": 0.3, "flux_lm": 600}, {"name": "green", "x": 0.17, "y": 0.7, "flux_lm": 1200}, {"name": "blue", "x": 0.14, "y": 0.05, "flux_lm": 200}]`
	for more, field := range map[string]string{"": schema.Mix, `, "white_range_k": [2700, 6500]`: schema.White, `, "can": ["white"]`: schema.White} {
		o := offersFound(t, `{"room": {"cameras": [{"name": "front", "white_k": 5600}]}, "types": [{"name": "wash", `+emitters+more+`}],
			"patch": [{"channel": 1, "type": "wash"}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`)
		edits, mix := o.white(o.state.Show.Patch[0], o.state.Show.Types[0], 0)
		if len(edits) != 1 || edits[0].Field != field || (mix != nil) != (field == schema.Mix) {
			t.Errorf("with %q: %v, %v; want %s", more, edits, mix, field)
		}
	}
}

// Where a room tells no places, a place is what lamps are aimed at.
func TestMeantForWithoutPlaces(t *testing.T) {
	for room, want := range map[string]string{`"room": {}, `: "desk", `"room": {"places": [{"name": "pulpit", "x": 0, "y": 1, "z": 0}]}, `: "pulpit"} {
		o := offersFound(t, `{`+room+`"patch": [{"channel": 1, "hung_at": {"x": 0, "y": -4, "z": 5}, "aimed_at": "desk"}, {"channel": 2, "hung_at": {"x": 0, "y": -4, "z": 5}, "aimed_at": {"x": 0.5, "y": 1, "z": 1.6}}]}`)
		lamp := o.state.Show.Patch[0]
		if want == "pulpit" {
			lamp = o.state.Show.Patch[1]
		}
		if place, off := o.meantFor(lamp); place != want || off > 1 {
			t.Errorf("with %s it is meant for %q, %v m beside it; want %q", room, place, off, want)
		}
	}
}

// Lenses and sensitivities are named in thirds of a stop; what lies between two names has that of the nearer one.
func TestNamesOfStops(t *testing.T) {
	for _, c := range []struct {
		name  func(float64) float64
		names []float64
	}{
		{nominalF, []float64{1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22}},
		{nominal, []float64{50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800}},
	} {
		for i, name := range c.names {
			next := 2 * name
			if i+1 < len(c.names) {
				next = c.names[i+1]
			}
			between := math.Sqrt(name * next)
			if i+1 == len(c.names) {
				next = name
			}
			for v, want := range map[float64]float64{name: name, 0.999 * between: name, 1.001 * between: next} {
				if got := c.name(v); got != want {
					t.Errorf("%g is named %g, want %g", v, got, want)
				}
			}
		}
	}
}

// What most of a list are is more than half of it, and two at least.
func TestWhatMostAre(t *testing.T) {
	for types, want := range map[string]string{"": "", "a": "", "aa": "a", "aab": "a", "aabb": "", "aabbb": "b", "abab": "", "ababab": "", "abababb": "b", "aaabb": "a"} {
		var list []*schema.Fixture
		for _, letter := range types {
			list = append(list, &schema.Fixture{Type: string(letter)})
		}
		got := ""
		if f := mostCommon(list); f != nil {
			got = f.Type
		}
		if got != want {
			t.Errorf("of %q most are %q, want %q", types, got, want)
		}
	}
}

// A lamp of another type than its twins gets theirs, and their mode where that is another.
func TestALampLikeItsTwins(t *testing.T) {
	for mode, want := range map[string]string{"wide": "type=good", "narrow": "type=good mode=wide"} {
		o := offersFound(t, `{"room": {"places": [{"name": "left", "x": -3, "y": 1}, {"name": "right", "x": 3, "y": 1}]},
			"types": [{"name": "good", "modes": [{"name": "wide", "slots": 2}]}, {"name": "odd", "modes": [{"name": "wide", "slots": 2}, {"name": "narrow", "slots": 2}]}],
			"patch": [{"channel": 1, "type": "odd", "mode": "`+mode+`", "purpose": "key", "aimed_at": "left"},
				{"channel": 2, "type": "good", "mode": "wide", "purpose": "key", "aimed_at": "right"}, {"channel": 3, "type": "good", "mode": "wide", "purpose": "key", "aimed_at": "right"}]}`)
		found := at("", "left")
		var list [][]source.Edit
		o.swap(&found, heard(&list))
		var got []string
		for _, edits := range list {
			for _, e := range edits {
				got = append(got, fmt.Sprintf("%s=%v", e.Field, e.Value))
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("from the mode %s: %v, want %s", mode, got, want)
		}
	}
}

// Of two lamps for one face the one that has another white is swapped, for one like the other, and not both for what hangs over
// others; where nobody is odd, or both are, it is as before. One of another field, or where nobody tells it one that hangs
// elsewhere, stays: it is there for something else.
func TestTheOddWhiteOfTwoIsSwapped(t *testing.T) {
	for _, c := range []struct{ one, two, types, more, want string }{
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600`, "", "", "2 warm"}, {`"loan", "white_k": 5600`, `"warm", "white_k": 3200`, "", "", "1 warm"},
		{`"warm", "white_k": 3200`, `"warm", "white_k": 3200`, "", "", "1 wide 2 wide"}, {`"loan", "white_k": 5600`, `"loan", "white_k": 5600`, "", "", "1 wide 2 wide"},
		{`"warm", "white_k": 3200`, `"loan", "white_k": 3810`, "", "", "2 warm"}, {`"warm", "white_k": 3200`, `"loan", "white_k": 3809`, "", "", "1 wide 2 wide"}, // 50 mired
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600, "hung_on": "gallery"`, "", "", ""},
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600, "hung_on": "gallery"`, `{"name": "warm", "field_deg": 20}, {"name": "loan", "field_deg": 22},`, "", "2 warm"},
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600`, `{"name": "warm", "field_deg": 20}, {"name": "loan", "field_deg": 22.3},`, "", ""},
		{`"warm", "white_k": 3200`, `"warm", "white_k": 3200`, "", `, {"channel": 6, "type": "rim", "white_k": 5600, "purpose": "back", "aimed_at": "left"}`, "1 wide 2 wide"},
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600`, "", strings.Repeat(`, {"channel": 7, "type": "flood", "white_k": 5600, "purpose": "wash", "aimed_at": "right"}`, 8), "2 warm"},
		{`"warm", "white_k": 3200`, `"loan", "white_k": 5600`, "", `, {"channel": 8, "type": "par", "purpose": "fill", "aimed_at": "left"}`, "2 warm"}, // of which nobody knows the white
		{`"warm", "white_k": 3200`, `"loan", "white_k": 0`, "", "", "1 wide 2 wide"},
	} {
		o := offersFound(t, fmt.Sprintf(`{"room": {"places": [{"name": "left", "x": -3, "y": 1}, {"name": "right", "x": 3, "y": 1}]},
			"types": [%s {"name": "wide", "white_k": 3200}],
			"patch": [{"channel": 1, "purpose": "key", "aimed_at": "left", "type": %s}, {"channel": 2, "purpose": "key", "aimed_at": "left", "type": %s},
				{"channel": 3, "type": "wide", "purpose": "key", "aimed_at": "right"}, {"channel": 4, "type": "wide", "purpose": "key", "aimed_at": "right"}, {"channel": 5, "type": "wide", "purpose": "key", "aimed_at": "right"}%s]}`,
			c.types, c.one, c.two, c.more))
		found := at("", "left")
		var list [][]source.Edit
		o.swap(&found, heard(&list))
		if got := o.lampsTold(list); strings.Join(got, " ") != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// A lamp that is told alone gets the type of its twins, whatever its white is.
func TestALampToldAloneIsSwapped(t *testing.T) {
	o := offersFound(t, `{"room": {"places": [{"name": "left", "x": -3, "y": 1}, {"name": "right", "x": 3, "y": 1}]}, "types": [{"name": "good", "white_k": 3200}],
		"patch": [{"channel": 1, "type": "other", "white_k": 5600, "purpose": "key", "aimed_at": "left"}, {"channel": 2, "type": "good", "purpose": "key", "aimed_at": "right"},
			{"channel": 3, "type": "good", "purpose": "key", "aimed_at": "right"}]}`)
	var list [][]source.Edit
	o.swap(&finding.Finding{Rule: "patch/type-unknown", Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}}, heard(&list))
	if got := o.lampsTold(list); strings.Join(got, " ") != "1 good" {
		t.Errorf("%q", got)
	}
}

// A remark about a lamp without an address, which is worked by hand, gives it none.
func TestARemarkMovesNoAddress(t *testing.T) {
	for level, want := range map[finding.Level]int{finding.Error: 1, finding.Warning: 1, finding.Note: 0} {
		o := offersFound(t, `{"types": [{"name": "a", "slots": 1}], "patch": [{"channel": 1, "address": "1.1", "type": "a"}, {"channel": 2, "address": "1.2", "type": "a"}, {"channel": 3, "type": "a"}]}`)
		var list [][]source.Edit
		o.outOfRow(&finding.Finding{Rule: "patch/no-address", Level: level, Subjects: []finding.Subject{{Kind: "channel", Name: "3"}}}, heard(&list))
		if len(list) != want {
			t.Errorf("%s: %q", level, o.lampsTold(list))
		}
	}
}

// A lamp that left its aim is aimed as the one across from it: at the point on the other side, or at the same place where that is
// in the middle; of a coloured face it is the lamp for the picture that points there.
func TestALampIsAimedAsTheOneAcross(t *testing.T) {
	const left = `"hung_at": {"x": -3, "y": 2, "z": 5}`
	for _, c := range []struct{ about, purpose, hung, aim, twin, want string }{
		{"channel 2", "beam", "3", "singer", `{"x": -1, "y": 4, "z": 6}`, "2 x 1, y 4, z 6"},
		{"channel 2", "back", "3", "left", `"singer"`, "2 singer"},
		{"channel 2", "back", "3", "left", `"right"`, ""}, // it has another across
		{"channel 2", "back", "3", "left", `"nowhere"`, ""}, {"channel 2", "back", "3", "singer", `"singer"`, ""},
		{"channel 2", "beam", "3.5", "singer", `{"x": -1, "y": 4, "z": 6}`, "2 x 1, y 4, z 6"}, {"channel 2", "beam", "3.6", "singer", `{"x": -1, "y": 4, "z": 6}`, ""}, // half a metre beside
		{"channel 2", "beam", "-3", "singer", `{"x": -1, "y": 4, "z": 6}`, ""}, // on the same side
		{"place singer", "effect", "3", "singer", `{"x": -1, "y": 4, "z": 6}`, "2 x 1, y 4, z 6"},
		{"place singer", "key", "3", "singer", `{"x": -1, "y": 4, "z": 6}`, ""},
		{"place left", "effect", "3", "singer", `{"x": -1, "y": 4, "z": 6}`, ""},
	} {
		kind, name, _ := strings.Cut(c.about, " ")
		f := finding.Finding{Rule: "people/colour-on-face", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: kind, Name: name}}}
		o := offersFound(t, fmt.Sprintf(`{"room": {"places": [{"name": "singer", "x": 0.5, "y": 1}, {"name": "left", "x": -6, "y": 1}, {"name": "right", "x": 6, "y": 1}]},
			"types": [{"name": "a"}], "patch": [{"channel": 1, "type": "a", "purpose": %q, %s, "aimed_at": %s},
				{"channel": 2, "type": "a", "purpose": %q, "hung_at": {"x": %s, "y": 2, "z": 5}, "aimed_at": %q}]}`, c.purpose, left, c.twin, c.purpose, c.hung, c.aim), f)
		var list [][]source.Edit
		o.mirrored(&o.order[0], heard(&list))
		if got := o.lampsTold(list); strings.Join(got, "; ") != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// A screen that shows pictures at least twice as bright as the brightest elsewhere gets pictures
// like those, where they are told: in the part or in the cue.
func TestPicturesOfOtherParts(t *testing.T) {
	const show = `{"room": {"surfaces": [{"name": "wall", "kind": "emissive"}, {"name": "side", "kind": "emissive"}]},
		"order": [{"name": "Song", "kind": "song", "start_cue": 1, "screens": [{"screen": "wall"%s}, {"screen": "side", "content_pct": 1}]},
			{"name": "Talk", "kind": "talk", "start_cue": 2, "screens": [{"screen": "wall"%s}]}],
		"cues": [{"cue": 1, "segment": "Song"}, {"cue": 2, "segment": "Talk"}, {"cue": 3, "segment": "Talk", "screens": [{"screen": "wall"%s}]}]}`
	for _, test := range []struct{ song, talk, cue, want string }{
		{`, "content_pct": 30`, `, "content_pct": 60`, "", "content_pct 30"},
		{`, "content_pct": 30`, `, "content_pct": 59`, "", ""},
		{`, "content_pct": 0`, `, "content_pct": 60`, "", ""},
		{"", `, "content_pct": 60`, "", ""},
		{`, "content_pct": 30`, "", `, "content_pct": 80`, "content_pct 30"},
		{`, "content_pct": 30`, `, "content_pct": 60`, `, "content_pct": 80`, "content_pct 30 content_pct 30"},
	} {
		f := finding.Finding{Rule: "screen/outshines-face", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "screen", Name: "wall"}}, Cues: []string{"2", "3"}}
		var list [][]source.Edit
		o := offersFound(t, fmt.Sprintf(show, test.song, test.talk, test.cue), f)
		o.otherPictures(&o.order[0], heard(&list))
		var got []string
		for _, edits := range list {
			for _, e := range edits {
				got = append(got, fmt.Sprint(e.Field, " ", e.Value))
			}
		}
		if strings.Join(got, " ") != test.want {
			t.Errorf("song%s, talk%s, cue%s: %q, want %q", test.song, test.talk, test.cue, got, test.want)
		}
	}
}

// A point is said from the middle of the edge of the stage, seen from the house; what is off by less than 5 cm is on it.
func TestPointsInWords(t *testing.T) {
	for p, want := range map[schema.Point]string{
		{}:                             "in the middle, at the edge of the stage, on its floor",
		{X: 0.04, Y: -0.04, Z: 0.04}:   "in the middle, at the edge of the stage, on its floor",
		{X: 0.05, Y: 0.05, Z: 0.05}:    "0.1 m right of the middle (seen from the house), 0.1 m behind the edge of the stage, 0.1 m above its floor",
		{X: -0.05, Y: -0.05, Z: -0.05}: "0.1 m left of the middle (seen from the house), 0.1 m before the edge of the stage, 0.1 m below its floor",
		{X: 2.04, Y: 3.26, Z: 1.6}:     "2 m right of the middle (seen from the house), 3.3 m behind the edge of the stage, 1.6 m above its floor",
	} {
		if got := pointWords(p); got != want {
			t.Errorf("%v is %q, want %q", p, got, want)
		}
	}
}

// A lamp from behind that any cue uses, be it the first or the last, is not forgotten.
func TestForgottenFromBehind(t *testing.T) {
	for lit, want := range map[string]bool{"": true, "1": false, "2": false, "3": false} {
		var cues []string
		for _, number := range []string{"1", "2", "3"} {
			level := 0
			if number == lit {
				level = 40
			}
			cues = append(cues, fmt.Sprintf(`{"cue": %s, "set": [{"channels": "1", "level": %d}]}`, number, level))
		}
		o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]}, "patch": [{"channel": 1, "purpose": "back", "aimed_at": "desk"}],
			"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["desk"]}], "cues": [`+strings.Join(cues, ", ")+`]}`)
		if got := len(o.forgottenBacks()) > 0; got != want {
			t.Errorf("lit in cue %q it is forgotten: %t", lit, got)
		}
	}
}

// Beams that nobody sees go out, and nothing else; none where there is a machine.
func TestBeamsThatNobodySees(t *testing.T) {
	for machine, want := range map[string]string{"": "beam 2", `, {"channel": 5, "type": "hazer"}`: ""} {
		o := offersFound(t, `{"types": [{"name": "hazer", "machine": {"fluid": "water"}}],
			"patch": [{"channel": 1, "purpose": "wash"}, {"channel": 2, "purpose": "beam"}, {"channel": 3, "purpose": "beam"}, {"channel": 4, "purpose": "key"}`+machine+`],
			"cues": [{"cue": 1, "set": [{"channels": "1-2,4", "level": 50}]}]}`, at("air/beams-without-haze", "", "1"))
		var list [][]source.Edit
		o.beamsOut(&o.order[0], heard(&list))
		got := ""
		for _, edits := range list {
			for _, e := range edits {
				lamp := o.state.Show.Patch[e.Only[0]-1]
				got += fmt.Sprint(lamp.Purpose, " ", lamp.Channel)
			}
		}
		if got != want {
			t.Errorf("with %q go out %q, want %q", machine, got, want)
		}
	}
}

// In a stretch that begins with somebody who speaks nobody loses more than half of the light, and in one that begins with a song
// it may be as little as in the dimmest cue.
func TestTheCalmestLook(t *testing.T) {
	for order, want := range map[string]float64{
		`{"name": "A", "kind": "talk", "start_cue": 1}, {"name": "B", "kind": "song", "start_cue": 2}`: 0,
		`{"name": "A", "kind": "song", "start_cue": 1}, {"name": "B", "kind": "talk", "start_cue": 2}`: 20,
		`{"name": "A", "kind": "talk", "start_cue": 3}`:                                                20, // nobody says what the two are
	} {
		o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]}, "patch": [{"channel": 1, "purpose": "key", "aimed_at": "desk"}],
			"order": [`+order+`], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 2}, {"cue": 3, "set": [{"channels": "1", "level": 20}]}]}`)
		edits := o.calmest([2]int{0, 1})
		if got := len(edits) > 0; got != (want > 0) || got && edits[0].Value != want {
			t.Errorf("with the order %s: %v", order, edits)
		}
	}
}

// Lamps that stand alike have one level in the calmest look, that of the brighter of them there; two that have another most
// elsewhere do not stand alike, though they have one level now.
func TestCalmLevelsOfLampsThatStandAlike(t *testing.T) {
	for most, want := range map[string]string{"60": "20 30 30", "50": "20 20 30"} { // that the second wash has in cue 2
		o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1}]},
			"patch": [{"channel": 1, "purpose": "key", "aimed_at": "desk"}, {"channel": 2, "purpose": "wash"}, {"channel": 3, "purpose": "wash"}],
			"cues": [{"cue": 1, "set": [{"channels": "1-3", "level": 80}]}, {"cue": 2, "set": [{"channels": "1,3", "level": 60}, {"channels": "2", "level": `+most+`}]},
				{"cue": 3, "set": [{"channels": "1-2", "level": 20}, {"channels": "3", "level": 30}]}]}`)
		var got []string
		for _, e := range o.calmest([2]int{0, 0}) {
			if len(e.Only) == 1 && e.At == o.state.Show.Cues[0].Set[0].At {
				got = append(got, fmt.Sprint(e.Value))
			}
		}
		if words := strings.Join(got, " "); words != want {
			t.Errorf("with %s %% in cue 2: %s, want %s", most, words, want)
		}
	}
}

// The louder looks are those outside of a stretch, of songs that are not quiet, with more around people than its first has,
// the loudest first.
func TestTheLoudestLooks(t *testing.T) {
	o := offersFound(t, `{"patch": [{"channel": 1, "purpose": "wash"}, {"channel": 2, "purpose": "key"}],
		"order": [{"name": "A", "kind": "song", "start_cue": 1}, {"name": "Quiet", "kind": "song", "mood": "quiet", "start_cue": 8}, {"name": "Talk", "kind": "talk", "start_cue": 9}],
		"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 2, "set": [{"channels": "1", "level": 30}]}, {"cue": 3, "set": [{"channels": "1", "level": 90}]},
			{"cue": 4, "set": [{"channels": "1", "level": 75}]}, {"cue": 5, "set": [{"channels": "1", "level": 70}]}, {"cue": 6, "set": [{"channels": "1", "level": 80}]},
			{"cue": 7, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 100}]}, {"cue": 8, "set": [{"channels": "1", "level": 100}]}, {"cue": 9}]}`)
	if got, want := o.loudest([2]int{1, 3}), []int{5, 4, 0}; !slices.Equal(got, want) { // cues 3 and 4 belong to the stretch, cue 7 has as much as its first
		t.Errorf("the loudest are the looks %v, want %v", got, want)
	}
}

// Everybody is lit as elsewhere where several are there; one person is not everybody.
func TestEverybodyIsSaidOfSeveral(t *testing.T) {
	for people, want := range map[string]bool{`"left"`: false, `"left", "right"`: true} {
		o := offersFound(t, `{"room": {"places": [{"name": "left", "x": -3, "y": 1}, {"name": "right", "x": 3, "y": 1}]},
			"patch": [{"channel": 1, "purpose": "key", "aimed_at": "left"}, {"channel": 2, "purpose": "key", "aimed_at": "right"}],
			"cues": [{"cue": 1, "people": [`+people+`], "set": [{"channels": "1-2", "level": 0}]}, {"cue": 2, "set": [{"channels": "1-2", "level": 80}]}]}`, at("people/no-key", "left", "1"))
		offered, said := 0, false
		o.darkLamps(&o.order[0], func(effect string, edits ...source.Edit) {
			if len(edits) > 0 {
				offered++
				said = said || strings.Contains(effect, "Everybody")
			}
		})
		if offered == 0 || said != want {
			t.Errorf("with %s there are %d offers, for everybody: %v", people, offered, said)
		}
	}
}

// What stands at a place of the file is told as data by its kind.
func TestKindsOfThings(t *testing.T) {
	w := &words{show: read(t, `{
		"room": {"cameras": [{"name": "centre"}], "surfaces": [{"name": "cloth", "kind": "reflective"}, {"name": "wall", "kind": "emissive"}, {"name": "sheet", "kind": "projection"}, {"name": "panel", "peak_cd_m2": 800}],
			"circuits": [{"name": "front"}], "places": [{"name": "desk", "x": 0, "y": 1}], "air": {"volume_m3": 900}},
		"types": [{"name": "profile"}], "order": [{"name": "Talk", "kind": "talk", "start_cue": 1}], "cues": [{"cue": 1}]}`)}
	for place, want := range map[string]string{
		"/room/cameras/0": "camera", "/room/surfaces/0": "surface", "/room/surfaces/1": "screen", "/room/surfaces/2": "screen", "/room/surfaces/3": "screen", "/room/circuits/0": "circuit",
		"/room/places/0": "place", "/room/air": "air", "/types/0": "type", "/order/0": "segment", "": "show",
	} {
		ref, ok := w.show.At.Find(place)
		if got := w.kind(ref); !ok || got != want {
			t.Errorf("at %q stands %q, want %q", place, got, want)
		}
	}
}

// One sentence says that cameras are set by hand and to which white, where all get the same by the same order, wherever it stands there.
func TestTheWhiteOfCamerasThatAreSetByHand(t *testing.T) {
	show := read(t, `{"room": {"cameras": [{"name": "left"}, {"name": "right"}]}}`)
	w := &words{show: show}
	left, right := show.Room.Cameras[0].At, show.Room.Cameras[1].At
	hand := func(at source.Ref) source.Edit { return source.Edit{At: at, Field: "auto_white", Value: false} }
	white := func(at source.Ref, kelvin float64) source.Edit {
		return source.Edit{At: at, Field: schema.White, Value: kelvin}
	}
	for about, c := range map[string]struct {
		edits []source.Edit
		want  any
	}{
		"the white before":      {[]source.Edit{white(left, 5600), white(right, 5600), hand(left), hand(right)}, 5600.0},
		"the white behind":      {[]source.Edit{hand(left), hand(right), white(right, 5600), white(left, 5600)}, 5600.0},
		"of one no white":       {[]source.Edit{white(left, 5600), hand(left), hand(right)}, nil},
		"of the other no white": {[]source.Edit{white(right, 5600), hand(left), hand(right)}, nil},
		"two whites":            {[]source.Edit{white(left, 5600), white(right, 3200), hand(left), hand(right)}, nil},
	} {
		if got := w.whiteToo([]source.Edit{hand(left), hand(right)}, c.edits); got != c.want {
			t.Errorf("%s: %v, want %v", about, got, c.want)
		}
	}
}

// What comes to just the least that lamps are brought down to stands there; less is a trickle.
func TestBroughtDownToALevel(t *testing.T) {
	for _, c := range []struct {
		level float64
		out   bool
		want  any
	}{{2 * leastLevel, true, float64(leastLevel)}, {2 * leastLevel, false, float64(leastLevel)}, {2*leastLevel - 1, true, 0.0}, {2*leastLevel - 1, false, float64(leastLevel)}, {leastLevel - 1, true, 0.0}, {leastLevel - 1, false, nil}, {60, true, 30.0}} {
		o := offersFound(t, fmt.Sprintf(`{"patch": [{"channel": 1, "purpose": "wash"}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": %g}]}]}`, c.level))
		edits := o.scale(1, 0.5, c.out, 0, 0)
		if c.want == nil && len(edits) > 0 || c.want != nil && (len(edits) == 0 || edits[0].Value != c.want) {
			t.Errorf("half of %g %%, out %v: %v, want %v", c.level, c.out, edits, c.want)
		}
	}
}

// A level is always one number, and a white where kelvins say it.
func TestWhatOneNumberSays(t *testing.T) {
	o := offersFound(t, `{"types": [{"name": "wash", "emitters": [{"name": "red"}, {"name": "blue"}]}], "patch": [{"channel": 1, "type": "wash"}, {"channel": 2}, {"channel": 3}],
		"cues": [{"cue": 1, "set": [{"channels": "1-3", "level": 40}, {"channels": "1", "mix": {"red": 100}}, {"channels": "2", "white_k": 3200}]}]}`)
	for channel, want := range map[int]float64{1: 0, 2: 3200, 3: 0} {
		look := &o.state.Looks[0]
		if level, ok := valueIn(look, channel, tracking.LevelBy); !ok || level != 40 {
			t.Errorf("channel %d has the level %v", channel, level)
		}
		if white, ok := valueIn(look, channel, tracking.ColourBy); ok != (want > 0) || ok && white != want {
			t.Errorf("channel %d has the white %v, %v", channel, white, ok)
		}
	}
}

// In a talk that is too short for its air to clear it is enough that no more haze comes; before a long one it stops
// with the part that has the last beams, or in one of its cues or the next.
func TestWhenTheHazeStops(t *testing.T) {
	for seconds, want := range map[string]string{"300": "3", "1200": "1 3 2"} {
		o := offersFound(t, `{"types": [{"name": "hazer", "machine": {"fluid": "water"}}], "patch": [{"channel": 1, "type": "hazer", "purpose": "haze"}, {"channel": 2, "purpose": "beam"}],
			"order": [{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 300}, {"name": "Talk", "kind": "talk", "start_cue": 3, "duration_s": `+seconds+`}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "2", "level": 50}]}, {"cue": 2}, {"cue": 3, "set": [{"channels": "2", "level": 0}]}, {"cue": 4}]}`)
		found := finding.Finding{Rule: "air/haze-lingers", Subjects: []finding.Subject{{Kind: "segment", Name: "Talk"}}}
		var list [][]source.Edit
		o.hazeOff(&found, heard(&list))
		var got []string
		for _, edits := range list {
			for _, c := range o.state.Show.Cues {
				if edits[0].At == c.At || len(c.Set) > 0 && edits[0].At == c.Set[0].At {
					got = append(got, c.Number.String())
				}
			}
			if edits[0].Value != 0.0 {
				t.Errorf("the haze goes to %v", edits[0].Value)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("before a talk of %s s it stops in %q, want %q", seconds, got, want)
		}
	}
}

// A black in the last two fifths of a part, and more than half a minute before its end, is called too early;
// any other is a slip in the cue, or its end.
func TestABlackThatIsCalledTooEarly(t *testing.T) {
	const show = `{"patch": [{"channel": 1, "purpose": "key"}],
		"order": [{"name": "Story", "kind": "reading", "start_cue": 1, "duration_s": 240}, {"name": "Song", "kind": "song", "start_cue": 3}],
		"cues": [{"cue": 1, "segment": "Story", "at_s": 0, "set": [{"channels": "1", "level": 50}]}, {"cue": 2, "segment": "Story", "at_s": %d, "set": [{"channels": "1", "level": 0}]},
			{"cue": 3, "segment": "Song", "at_s": 0, "set": [{"channels": "1", "level": 50}]}]}`
	for atS, want := range map[int]bool{143: false, 144: true, 210: true, 211: false} {
		f := finding.Finding{Rule: "dynamics/dark-on-camera", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "segment", Name: "Story"}}, Cues: []string{"2"}}
		var list [][]source.Edit
		o := offersFound(t, fmt.Sprintf(show, atS), f)
		o.earlyCue(&o.order[0], heard(&list))
		if got := len(list) == 1 && list[0][0].Field == "at_s" && list[0][0].Value == 240.0; got != want {
			t.Errorf("called at %d s of 240: %v, want %v", atS, list, want)
		}
	}
}

// A step that does not hold by itself on the show as it is, nor with one of those before it, brings all of these along.
func TestWhatAStepBringsAlong(t *testing.T) {
	show := read(t, wordy)
	start, later := &proof.State{Show: show}, &proof.State{Show: show}
	nowhere := cure{edits: []source.Edit{{Field: "level", Value: 50.0}}} // which no show can have
	p := &Plan{Start: start, prover: &prover{start: start}, Steps: []Step{{Before: start}, {Before: later, cure: nowhere}, {Before: later, cure: nowhere}, {Before: start}}}
	along, err := p.Alone()
	if want := [][]int{{0}, {0, 1}, {0, 1, 2}, {3}}; err != nil || !slices.EqualFunc(along, want, slices.Equal) {
		t.Errorf("%v bring along %v, want %v", err, along, want)
	}
}

// TestAQuietPartStaysQuiet: where a screen outshines a face in a part that is quiet, its lamps come up by what is missing
// and a third of a stop: at 1.2 stops under, where one is let pass, by half a stop, from 30 and 20 % to 42 and 28 %.
func TestAQuietPartStaysQuiet(t *testing.T) {
	const evening = `{"room": {"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0, "head_m": 1.6}]},
		"patch": [{"channel": 1, "purpose": "key", "aimed_at": "lectern"}, {"channel": 2, "purpose": "fill", "aimed_at": "lectern"}, {"channel": 3, "purpose": "back", "aimed_at": "lectern"}],
		"order": [{"name": "Talk", "kind": "talk", "start_cue": 1}, {"name": "Prayer", "kind": "prayer", "mood": "quiet", "start_cue": 2}],
		"cues": [{"cue": 1, "segment": "Talk", "set": [{"channels": "1-3", "level": 90}]}, {"cue": 2, "segment": "Prayer", "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 20}, {"channels": "3", "level": 10}]}]}`
	limit := 1.0
	as := func(change func(f *finding.Finding)) finding.Finding {
		f := at("people/key-low", "lectern", "2")
		f.Amount, f.Limits = &finding.Amount{Value: 1.2}, []finding.Evidence{{Num: &limit}}
		change(&f)
		return f
	}
	same := func(*finding.Finding) {}
	for about, c := range map[string]struct {
		was, is string // in the evening
		f       finding.Finding
		screen  string // the rule that speaks of it
		want    string
	}{
		"a quiet part":              {"", "", as(same), "screen/outshines-face", "1: 42, 2: 28"},
		"another rule":              {"", "", as(func(f *finding.Finding) { f.Rule = "people/no-key" }), "screen/outshines-face", ""},
		"no number":                 {"", "", as(func(f *finding.Finding) { f.Amount = nil }), "screen/outshines-face", ""},
		"no limit":                  {"", "", as(func(f *finding.Finding) { f.Limits = nil }), "screen/outshines-face", ""},
		"a limit that is no number": {"", "", as(func(f *finding.Finding) { f.Limits[0].Num = nil }), "screen/outshines-face", ""},
		"no part at all":            {`"segment": "Prayer", `, "", as(same), "screen/outshines-face", "1: 42, 2: 28"}, // its order says where it starts
		"a part that is not quiet":  {`"mood": "quiet", `, "", as(same), "screen/outshines-face", ""},
		"no part of the order":      {`"order"`, `"x_order"`, as(same), "screen/outshines-face", ""},
		"another screen":            {"", "", as(same), "screen/key-spill", ""},
		"a lamp as it usually is":   {`"channels": "1", "level": 30`, `"channels": "1", "level": 88`, as(same), "screen/outshines-face", ""},
		"one of them dark":          {`"channels": "2", "level": 20`, `"channels": "2", "level": 0`, as(same), "screen/outshines-face", "1: 42"},
		"far too little":            {"", "", as(func(f *finding.Finding) { f.Amount.Value = 2.5 }), "screen/outshines-face", ""}, // to 104 %
	} {
		o := offersFound(t, strings.Replace(evening, c.was, c.is, 1), finding.Finding{Rule: c.screen, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "screen", Name: "wall"}, {Kind: "cue", Name: "2"}}, Cues: []string{"2"}}, c.f)
		var got []string
		for _, e := range o.keepQuiet(&c.f, "lectern", 1, 1) {
			got = append(got, fmt.Sprintf("%d: %v", e.Only[0], e.Value))
		}
		if words := strings.Join(got, ", "); words != c.want {
			t.Errorf("%s: %q, not %q", about, words, c.want)
		}
	}
}

// Light that comes too late comes with the part where the next cue brings keys of whom it leaves dim: less than three fifths of
// what they get then is no light of theirs, and what is more is one.
func TestLightThatComesLate(t *testing.T) {
	for before, want := range map[string]int{"53": 1, "54": 0, "60": 0} { // of 90
		o := offersFound(t, `{"room": {"places": [{"name": "desk", "x": 0, "y": 1, "head_m": 1.6}]},
			"patch": [{"channel": 1, "purpose": "key", "aimed_at": "desk"}],
			"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["desk"]}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": `+before+`}]}, {"cue": 2, "at_s": 40, "set": [{"channels": "1", "level": 90}]}]}`, at("people/key-low", "desk", "1"))
		var offered [][]source.Edit
		o.lateCue(&o.order[0], heard(&offered))
		if len(offered) != want {
			t.Errorf("from %s %%: %v, want %d offers", before, offered, want)
		}
	}
}

// What others of the purpose usually have is a level at which they are seen.
func TestTheLevelOfOthersIsOne(t *testing.T) {
	for level, want := range map[string]float64{"10": 0, "11": 11} {
		o := offersFound(t, `{"patch": [{"channel": 1, "purpose": "key"}, {"channel": 2, "purpose": "key"}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "2", "level": `+level+`}]}]}`)
		got, ok := o.levelOf(o.state.Show.Patch[0], func(*schema.Fixture) bool { return true })
		if got != want || ok != (want > 0) {
			t.Errorf("of %s %%: %g, %v", level, got, ok)
		}
	}
}

// What could hurt comes first; of one consequence what is sure before what is likely, a remark behind both, and of as grave ones people first.
func TestTheGravestIsLookedAtFirst(t *testing.T) {
	f := func(rule string, consequence finding.Consequence, level finding.Level, likely bool) finding.Finding {
		return finding.Finding{Rule: rule, Verdict: finding.Fail, Consequence: consequence, Level: level, Likely: likely}
	}
	want := []finding.Finding{
		f("safety/haze-notice", finding.Hurt, finding.Note, true),
		f("people/key-low", finding.Camera, finding.Error, false), f("white/key-camera", finding.Camera, finding.Error, false), f("people/key-low", finding.Camera, finding.Warning, false),
		f("people/no-key", finding.Camera, finding.Error, true), f("colour/off-palette", finding.Camera, finding.Warning, true),
		f("people/key-angle", finding.Camera, finding.Note, false), f("people/key-angle", finding.Camera, finding.Note, true),
	}
	backwards := slices.Clone(want)
	slices.Reverse(backwards)
	if diff := cmp.Diff(want, ranked(backwards), cmp.Comparer(func(a, b finding.Finding) bool {
		return a.Rule == b.Rule && a.Consequence == b.Consequence && a.Level == b.Level && a.Likely == b.Likely
	})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Haze is gone when a twentieth is left: ln 20 / 63 of an hour are 171 s; where the air hardly changes, or nobody says, a quarter of
// an hour is taken.
func TestHowLongHazeTakesToGo(t *testing.T) {
	for air, want := range map[string]float64{
		`{}`: 900, `{"air": {}}`: 900, `{"air": {"air_changes_per_h": 6}}`: 900, `{"air": {"air_changes_per_h": 0}}`: 900,
		`{"air": {"air_changes_per_h": 60, "settling_per_h": 3}}`: 171.18, `{"air": {"air_changes_per_h": 60}}`: 179.74,
	} {
		if got := offersFound(t, `{"room": `+air+`}`).clearsIn(); math.Abs(got-want) > 0.01 {
			t.Errorf("%s: %g s, not %g", air, got, want)
		}
	}
}

// TestLengthsInWords: to a tenth of a metre, and whatever a file says, a number.
func TestLengthsInWords(t *testing.T) {
	for v, want := range map[float64]string{1.26: "1.3 m up", -0.04: "0 m down", 12: "12 m up", 1e308: "1e+308 m up", -math.MaxFloat64: "1.7976931348623157e+308 m down"} {
		if got := side(v, "up", "down"); got != want {
			t.Errorf("%g: %q, not %q", v, got, want)
		}
	}
}
