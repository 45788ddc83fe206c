package tracking

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/schematest"
)

// readShow reads a whole show as the loaders do, so that every entity has its place.
func readShow(t testing.TB, text string) *schema.Show {
	t.Helper()
	return schematest.Read(t, text)
}

// withCues is a small rig with the given cue list: four channels, a group of two
// and a fixture that says itself which group it is in.
func withCues(t testing.TB, cues string) *schema.Show {
	t.Helper()
	return readShow(t, `{
		"patch": [{"channel": 1}, {"channel": 2}, {"channel": 3, "groups": ["Sides"]}, {"channel": 4}],
		"groups": {"front": "1-2"},
		"cues": `+cues+`}`)
}

// levels writes the levels of channels 1 to 4 in every look.
func levels(looks []Look) []string {
	var list []string
	for i := range looks {
		line := looks[i].Number.String() + ":"
		for channel := 1; channel <= 4; channel++ {
			line += fmt.Sprintf(" %g", looks[i].State(channel).Level)
		}
		list = append(list, line)
	}
	return list
}

func TestLevels(t *testing.T) {
	for _, test := range []struct {
		name, cues string
		want       []string
	}{
		{
			"no cue, no look", `[]`, nil,
		}, {
			"a level stays until a cue changes it",
			`[{"cue": 1, "set": [{"channels": "1", "level": 70}]},
			  {"cue": 2, "set": [{"channels": "2", "level": 30}]},
			  {"cue": 3},
			  {"cue": 4, "set": [{"channels": "1", "level": 0}]}]`,
			[]string{"1: 70 0 0 0", "2: 70 30 0 0", "3: 70 30 0 0", "4: 0 30 0 0"},
		}, {
			"cues run in the order of their numbers, not of the file",
			`[{"cue": 10, "set": [{"channels": "1", "level": 100}]},
			  {"cue": 9.5, "set": [{"channels": "1", "level": 95}]},
			  {"cue": 9, "set": [{"channels": "1", "level": 90}]}]`,
			[]string{"9: 90 0 0 0", "9.5: 95 0 0 0", "10: 100 0 0 0"},
		}, {
			"2.10 is the cue 2.1, and stands before 2.9",
			`[{"cue": "2.9", "set": [{"channels": "1", "level": 29}]},
			  {"cue": "2.10", "set": [{"channels": "1", "level": 20}]},
			  {"cue": "2.1", "part": 2, "set": [{"channels": "2", "level": 21}]}]`,
			[]string{"2.1: 20 21 0 0", "2.9: 29 21 0 0"},
		}, {
			"cue 0 is a cue",
			`[{"cue": 1}, {"cue": 0, "set": [{"channels": "1", "level": 5}]}]`,
			[]string{"0: 5 0 0 0", "1: 5 0 0 0"},
		}, {
			"a number is a number in any notation of JSON",
			`[{"cue": 1e1, "set": [{"channels": "1", "level": 10}]}, {"cue": 25E-1, "set": [{"channels": "1", "level": 25}]}, {"cue": -0, "set": [{"channels": "2", "level": 5}]}]`,
			[]string{"0: 0 5 0 0", "2.5: 25 5 0 0", "10: 10 5 0 0"},
		}, {
			"parts are one cue, and the later part wins",
			`[{"cue": 1, "part": 2, "set": [{"channels": "1-2", "level": 20}]},
			  {"cue": 1, "part": 1, "set": [{"channels": "1-3", "level": 10}]},
			  {"cue": 1, "set": [{"channels": "1-4", "level": 1}]}]`,
			[]string{"1: 20 20 10 1"},
		}, {
			"the later of two settings in a cue wins",
			`[{"cue": 1, "set": [{"channels": "1-4", "level": 50}, {"channels": "2", "level": 0}]}]`,
			[]string{"1: 50 0 50 50"},
		}, {
			"of the same cue twice the later in the file wins",
			`[{"cue": 1, "set": [{"channels": "1", "level": 10}]}, {"cue": 1, "set": [{"channels": "1", "level": 20}]}]`,
			[]string{"1: 20 0 0 0"},
		}, {
			"release takes all that it does not mention to black",
			`[{"cue": 1, "set": [{"channels": "all", "level": 80}]},
			  {"cue": 2, "tracking": "release", "set": [{"channels": "2", "level": 40}]}]`,
			[]string{"1: 80 80 80 80", "2: 0 40 0 0"},
		}, {
			"parts of a release do not black each other out",
			`[{"cue": 1, "set": [{"channels": "all", "level": 80}]},
			  {"cue": 2, "part": 1, "tracking": "release", "set": [{"channels": "1", "level": 10}]},
			  {"cue": 2, "part": 2, "tracking": "release", "set": [{"channels": "2", "level": 20}]}]`,
			[]string{"1: 80 80 80 80", "2: 10 20 0 0"},
		}, {
			"a release in the second part holds for the whole cue",
			`[{"cue": 1, "set": [{"channels": "all", "level": 80}]},
			  {"cue": 2, "part": 1, "set": [{"channels": "1", "level": 10}]},
			  {"cue": 2, "part": 2, "tracking": "release"}]`,
			[]string{"1: 80 80 80 80", "2: 10 0 0 0"},
		}, {
			"where one part releases and another restates, the cue releases",
			`[{"cue": 1, "set": [{"channels": "all", "level": 80}]},
			  {"cue": 2, "part": 1, "tracking": "restate"},
			  {"cue": 2, "part": 2, "tracking": "release"}]`,
			[]string{"1: 80 80 80 80", "2: 0 0 0 0"},
		}, {
			"restate changes no level",
			`[{"cue": 1, "set": [{"channels": "1-2", "level": 80}]},
			  {"cue": 2, "tracking": "restate", "set": [{"channels": "2", "level": 40}]}]`,
			[]string{"1: 80 80 0 0", "2: 80 40 0 0"},
		}, {
			"carry is what happens without a word",
			`[{"cue": 1, "set": [{"channels": "1", "level": 80}]}, {"cue": 2, "tracking": "carry"}]`,
			[]string{"1: 80 0 0 0", "2: 80 0 0 0"},
		}, {
			"ranges, lists, groups whatever their case, groups of fixtures, all",
			`[{"cue": 1, "set": [{"channels": "1-2,4", "level": 10}]},
			  {"cue": 2, "set": [{"channels": "Front", "level": 20}]},
			  {"cue": 3, "set": [{"channels": "sides", "level": 30}]},
			  {"cue": 4, "set": [{"channels": "front, 4", "level": 40}]},
			  {"cue": 5, "set": [{"channels": "All", "level": 50}]}]`,
			[]string{"1: 10 10 0 10", "2: 20 20 0 10", "3: 20 20 30 10", "4: 40 40 30 40", "5: 50 50 50 50"},
		}, {
			"a selection that cannot be read sets nothing",
			`[{"cue": 1, "set": [{"channels": "frnt", "level": 10}, {"channels": "9-1", "level": 10}, {"channels": "3", "level": 30}]}]`,
			[]string{"1: 0 0 30 0"},
		}, {
			"a setting without a level leaves the level",
			`[{"cue": 1, "set": [{"channels": "1", "level": 70}]}, {"cue": 2, "set": [{"channels": "1", "white_k": 3200}]}]`,
			[]string{"1: 70 0 0 0", "2: 70 0 0 0"},
		}, {
			"Full is 100", `[{"cue": 1, "set": [{"channels": "1", "level": "Full"}, {"channels": "2", "level": "70 %"}]}]`,
			[]string{"1: 100 70 0 0"},
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, levels(Resolve(withCues(t, test.cues)))); diff != "" {
				t.Errorf("levels of channels 1 to 4 (-want +got):\n%s", diff)
			}
		})
	}
}

// byWords says who gave a value: the cue, and the channels of the setting.
func byWords(looks []Look, by By) string {
	if by.Look < 0 {
		return "nobody"
	}
	words := "cue " + looks[by.Look].Number.String()
	if by.Setting == nil {
		return words + " as a whole"
	}
	return words + " channels " + by.Setting.Channels
}

func TestByOfEveryValue(t *testing.T) {
	looks := Resolve(withCues(t, `[
		{"cue": 1, "set": [{"channels": "1-2", "level": 70, "white_k": 3200, "zoom_deg": 20}, {"channels": "4", "white_k": 5600}]},
		{"cue": 2, "set": [{"channels": "2", "level": 60}]},
		{"cue": 3, "set": [{"channels": "1", "white_k": 4000}]},
		{"cue": 4, "tracking": "restate", "set": [{"channels": "2", "level": 50}]},
		{"cue": 5},
		{"cue": 6, "tracking": "release", "set": [{"channels": "3", "level": 10}]},
		{"cue": 7, "tracking": "release"},
		{"cue": 8, "set": [{"channels": "1", "pattern": "leaves"}]}
	]`))
	type who struct{ level, colour, rest string }
	for _, test := range []struct {
		look, channel int
		want          who
	}{
		{0, 1, who{"cue 1 channels 1-2", "cue 1 channels 1-2", "cue 1 channels 1-2"}},
		{0, 3, who{"nobody", "", ""}},                 // never mentioned so far
		{0, 4, who{"nobody", "cue 1 channels 4", ""}}, // a colour in the dark
		{1, 1, who{"cue 1 channels 1-2", "cue 1 channels 1-2", "cue 1 channels 1-2"}},
		{1, 2, who{"cue 2 channels 2", "cue 1 channels 1-2", "cue 1 channels 1-2"}},
		{2, 1, who{"cue 1 channels 1-2", "cue 3 channels 1", "cue 1 channels 1-2"}},
		{3, 1, who{"cue 4 as a whole", "cue 4 as a whole", "cue 4 as a whole"}},
		{3, 2, who{"cue 4 channels 2", "cue 4 as a whole", "cue 4 as a whole"}},
		{3, 3, who{"nobody", "", ""}}, // there is nothing to state again
		{3, 4, who{"nobody", "cue 4 as a whole", ""}},
		{4, 1, who{"cue 4 as a whole", "cue 4 as a whole", "cue 4 as a whole"}},
		{5, 1, who{"cue 6 as a whole", "cue 4 as a whole", "cue 4 as a whole"}},
		{5, 3, who{"cue 6 channels 3", "", ""}},
		{6, 1, who{"cue 6 as a whole", "cue 4 as a whole", "cue 4 as a whole"}}, // was black already
		{6, 3, who{"cue 7 as a whole", "", ""}},
		{7, 1, who{"cue 6 as a whole", "cue 4 as a whole", "cue 8 channels 1"}},
	} {
		state := looks[test.look].State(test.channel)
		got := who{level: byWords(looks, looks[test.look].SetBy(test.channel, LevelBy))}
		if state.Colour != nil {
			got.colour = byWords(looks, looks[test.look].SetBy(test.channel, ColourBy))
		}
		if state.Rest != nil {
			got.rest = byWords(looks, looks[test.look].SetBy(test.channel, RestBy))
		}
		if got != test.want {
			t.Errorf("channel %d in look %d: %+v, want %+v", test.channel, test.look, got, test.want)
		}
	}
	if state := looks[3].State(1); *state.Colour.WhiteK != 4000 || *state.Rest.ZoomDeg != 20 || state.Level != 70 {
		t.Errorf("restate changed a value: %+v", state)
	}
	if looks[2].SetBy(1, ColourBy).Setting == nil || looks[2].SetBy(1, LevelBy).Setting == nil {
		t.Error("a restate reached back into the look before it")
	}
}

func TestAPlaceIsThatOfTheCueThatSetTheValue(t *testing.T) {
	show := withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 70}]}, {"cue": 2}]`)
	by := Resolve(show)[1].SetBy(1, LevelBy)
	if by.Setting != show.Cues[0].Set[0] {
		t.Fatalf("the level of look 2 was set by %+v", by)
	}
	if got := by.Setting.At.Pointer(); got != "/cues/0/set/0" {
		t.Errorf("the place is %s", got)
	}
}

func TestColour(t *testing.T) {
	for _, test := range []struct {
		name, cues string
		want       string // of channel 1 in the last look
	}{
		{"no cue chose one", `[{"cue": 1, "set": [{"channels": "1", "level": 70}]}]`, "none"},
		{"it stays when the level changes", `[{"cue": 1, "set": [{"channels": "1", "white_k": 3200}]}, {"cue": 2, "set": [{"channels": "1", "level": 70}]}]`, "white 3200"},
		{"release keeps it", `[{"cue": 1, "set": [{"channels": "1", "level": 50, "white_k": 3200}]}, {"cue": 2, "tracking": "release"}]`, "white 3200"},
		{"a part of a mix changes that part", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100, "blue": 50}}]}, {"cue": 2, "set": [{"channels": "1", "mix_part": {"blue": 0, "green": 20}}]}]`, "mix map[blue:0 green:20 red:100]"},
		{"a mix is the whole mix", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100, "blue": 50}}]}, {"cue": 2, "set": [{"channels": "1", "mix": {"green": 20}}]}]`, "mix map[green:20]"},
		{"a mix and a part of it", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "set": [{"channels": "1", "mix": {"green": 20, "blue": 5}, "mix_part": {"blue": 30}}]}]`, "mix map[blue:30 green:20]"},
		{"a mix that names nothing tells nothing", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "set": [{"channels": "1", "mix": {}}]}]`, "mix map[red:100]"},
		{"a part of nothing is all there is", `[{"cue": 1, "set": [{"channels": "1", "mix_part": {"red": 100}}]}]`, "mix map[red:100]"},
		{"the same words, once the whole and once a part", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "set": [{"channels": "1", "mix": {"blue": 10}}]}, {"cue": 3, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 4, "set": [{"channels": "1", "mix_part": {"blue": 10}}]}]`, "mix map[blue:10 red:100]"},
		{"a hue keeps the saturation", `[{"cue": 1, "set": [{"channels": "1", "hue_deg": 20, "saturation_pct": 60}]}, {"cue": 2, "set": [{"channels": "1", "hue_deg": 200}]}]`, "hue 200 saturation 60"},
		{"a saturation keeps the hue", `[{"cue": 1, "set": [{"channels": "1", "hue_deg": 20, "saturation_pct": 60}]}, {"cue": 2, "set": [{"channels": "1", "saturation_pct": 0}]}]`, "hue 20 saturation 0"},
		{"both are replaced by both", `[{"cue": 1, "set": [{"channels": "1", "hue_deg": 20, "saturation_pct": 60}]}, {"cue": 2, "set": [{"channels": "1", "hue_deg": 1, "saturation_pct": 2}]}]`, "hue 1 saturation 2"},
		{"a white ends a hue", `[{"cue": 1, "set": [{"channels": "1", "hue_deg": 20, "saturation_pct": 60}]}, {"cue": 2, "set": [{"channels": "1", "white_k": 3200}]}]`, "white 3200"},
		{"a hue after a white has no saturation from before it", `[{"cue": 1, "set": [{"channels": "1", "hue_deg": 20, "saturation_pct": 60}]}, {"cue": 2, "set": [{"channels": "1", "white_k": 3200}]}, {"cue": 3, "set": [{"channels": "1", "hue_deg": 40}]}]`, "hue 40"},
		{"a chromaticity ends a mix", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "set": [{"channels": "1", "xy": [0.3, 0.3]}]}]`, "xy [0.3 0.3]"},
		{"a part of a mix after a chromaticity starts anew", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "set": [{"channels": "1", "xy": [0.3, 0.3]}]}, {"cue": 3, "set": [{"channels": "1", "mix_part": {"blue": 10}}]}]`, "mix map[blue:10]"},
		{"restate keeps it", `[{"cue": 1, "set": [{"channels": "1", "mix": {"red": 100}}]}, {"cue": 2, "tracking": "restate"}, {"cue": 3, "set": [{"channels": "1", "mix_part": {"blue": 10}}]}]`, "mix map[blue:10 red:100]"},
		{"settings of one cue add up", `[{"cue": 1, "set": [{"channels": "1-2", "mix": {"red": 100}}, {"channels": "1", "mix_part": {"blue": 10}}]}]`, "mix map[blue:10 red:100]"},
	} {
		t.Run(test.name, func(t *testing.T) {
			looks := Resolve(withCues(t, test.cues))
			if got := colourWords(looks[len(looks)-1].State(1).Colour); got != test.want {
				t.Errorf("got %s, want %s", got, test.want)
			}
		})
	}
}

func colourWords(c *Colour) string {
	if c == nil {
		return "none"
	}
	words := ""
	add := func(format string, value any) { words += fmt.Sprintf(" "+format, value) }
	if c.WhiteK != nil {
		add("white %g", *c.WhiteK)
	}
	if c.XY != nil {
		add("xy %v", c.XY)
	}
	if c.Mix != nil {
		add("mix %v", c.Mix)
	}
	if c.HueDeg != nil {
		add("hue %g", *c.HueDeg)
	}
	if c.SaturationPct != nil {
		add("saturation %g", *c.SaturationPct)
	}
	return words[1:]
}

func TestMixesOfEarlierLooksStay(t *testing.T) {
	show := withCues(t, `[
		{"cue": 1, "set": [{"channels": "1-2", "mix": {"red": 100}}]},
		{"cue": 2, "set": [{"channels": "1", "mix": {"red": 0}}]}]`)
	looks := Resolve(show)
	if got := colourWords(looks[0].State(1).Colour); got != "mix map[red:100]" {
		t.Errorf("look 1 has %s after look 2 was made", got)
	}
	if got := colourWords(looks[1].State(2).Colour); got != "mix map[red:100]" {
		t.Errorf("channel 2 has %s", got)
	}
	if show.Cues[0].Set[0].Mix["red"] != 100 {
		t.Error("the show itself was changed")
	}
}

func TestRest(t *testing.T) {
	const all = `{"cue": 1, "set": [{"channels": "1", "aim": "pulpit", "zoom_deg": 20, "strobe_hz": 5, "pattern": "leaves", "wheel": "amber", "effect": {"kind": "chase", "rate_hz": 1}}]}`
	for _, test := range []struct {
		name, cue string
		want      string
	}{
		{"all stays", `{"cue": 2, "set": [{"channels": "1", "level": 5}]}`, "pulpit 20 5 leaves amber chase"},
		{"an aim", `{"cue": 2, "set": [{"channels": "1", "aim": "lectern"}]}`, "lectern 20 5 leaves amber chase"},
		{"an aim at a point", `{"cue": 2, "set": [{"channels": "1", "aim": {"x": 1, "y": 2, "z": 3}}]}`, "x 1 m, y 2 m, z 3 m 20 5 leaves amber chase"},
		{"a zoom", `{"cue": 2, "set": [{"channels": "1", "zoom_deg": 30}]}`, "pulpit 30 5 leaves amber chase"},
		{"no strobe is 0", `{"cue": 2, "set": [{"channels": "1", "strobe_hz": 0}]}`, "pulpit 20 0 leaves amber chase"},
		{"none ends a pattern", `{"cue": 2, "set": [{"channels": "1", "pattern": "none"}]}`, "pulpit 20 5  amber chase"},
		{"none ends the colour of a wheel", `{"cue": 2, "set": [{"channels": "1", "wheel": "none"}]}`, "pulpit 20 5 leaves  chase"},
		{"none ends an effect", `{"cue": 2, "set": [{"channels": "1", "effect": {"kind": "none"}}]}`, "pulpit 20 5 leaves amber -"},
		{"an effect replaces another as a whole", `{"cue": 2, "set": [{"channels": "1", "effect": {"kind": "pulse"}}]}`, "pulpit 20 5 leaves amber pulse"},
		{"release keeps it", `{"cue": 2, "tracking": "release"}`, "pulpit 20 5 leaves amber chase"},
		{"restate keeps it", `{"cue": 2, "tracking": "restate"}`, "pulpit 20 5 leaves amber chase"},
	} {
		t.Run(test.name, func(t *testing.T) {
			looks := Resolve(withCues(t, "["+all+","+test.cue+"]"))
			r := looks[1].State(1).Rest
			effect := "-"
			if r.Effect != nil {
				effect = r.Effect.Kind
			}
			if got := fmt.Sprintf("%s %g %g %s %s %s", r.Aim, *r.ZoomDeg, *r.StrobeHz, r.Pattern, r.Wheel, effect); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
			if first := looks[0].State(1).Rest; first.Pattern != "leaves" || first.Effect.Kind != "chase" {
				t.Error("the look before was changed")
			}
		})
	}
}

func TestScreens(t *testing.T) {
	looks := Resolve(withCues(t, `[
		{"cue": 1, "screens": [{"screen": "wall", "drive_pct": 20, "palette": ["#102030"]}]},
		{"cue": 2, "screens": [{"screen": "side", "drive_pct": 90}]},
		{"cue": 3, "screens": [{"screen": "wall", "drive_pct": 10}]},
		{"cue": 4, "screens": [{"screen": "wall", "palette": ["#ffffff"]}]},
		{"cue": 5, "tracking": "release"},
		{"cue": 6, "part": 1, "screens": [{"screen": "side", "drive_pct": 50}]},
		{"cue": 6, "part": 2, "screens": [{"screen": "side", "drive_pct": 60}]}]`))
	for _, test := range []struct {
		look   int
		screen string
		want   string
	}{
		{0, "wall", "20 [#102030] by cue 1"},
		{0, "side", "nothing"},
		{1, "wall", "20 [#102030] by cue 1"},
		{1, "side", "90 [] by cue 2"},
		{2, "wall", "10 [#102030] by cue 3"},
		{3, "wall", "10 [#ffffff] by cue 4"},
		{4, "wall", "10 [#ffffff] by cue 4"}, // release is about channels
		{5, "side", "60 [] by cue 6"},
	} {
		got := "nothing"
		if d, ok := looks[test.look].Drives.Of(test.screen); ok {
			got = fmt.Sprintf("%g %v by cue %s", *d.DrivePct, d.Palette, looks[d.By].Number)
		}
		if got != test.want {
			t.Errorf("look %d, %s: %s, want %s", test.look, test.screen, got, test.want)
		}
	}
}

func TestSegments(t *testing.T) {
	const order = `[
		{"name": "opening", "start_cue": 1},
		{"name": "talk", "start_cue": 10},
		{"name": "film"},
		{"name": "talk", "start_cue": 20},
		{"name": "prayer", "start_cue": 20}]`
	show := readShow(t, `{"order": `+order+`, "cues": [
		{"cue": 0.5}, {"cue": 1}, {"cue": 9.9}, {"cue": 10},
		{"cue": 11, "segment": "film"}, {"cue": 12, "segment": "nowhere"},
		{"cue": 13, "segment": "talk"}, {"cue": 19, "part": 1}, {"cue": 19, "part": 2, "segment": "opening"},
		{"cue": 25}]}`)
	want := map[string]*schema.Segment{
		"0.5": nil, // before the first start
		"1":   show.Order[0], "9.9": show.Order[0], "10": show.Order[1],
		"11": show.Order[2], // by name, although it has no start
		"12": show.Order[1], // no segment has that name, so by start
		"13": show.Order[1], // the first of two with the name
		"19": show.Order[0], // a part may say it
		"25": show.Order[4], // the last of two that start together
	}
	for _, look := range Resolve(show) {
		if look.Segment != want[look.Number.String()] {
			t.Errorf("cue %s is in %v, want %v", look.Number, look.Segment, want[look.Number.String()])
		}
	}
	for _, look := range Resolve(withCues(t, `[{"cue": 1, "segment": "talk"}]`)) {
		if look.Segment != nil {
			t.Errorf("without a running order the segment is %v", look.Segment)
		}
	}
}

func TestWordsOfACueInParts(t *testing.T) {
	looks := Resolve(withCues(t, `[
		{"cue": 1, "part": 1},
		{"cue": 1, "part": 2, "name": "Dawn", "meant": ["instant-change"]},
		{"cue": 1, "part": 3, "name": "Dusk"},
		{"cue": 2}]`))
	if len(looks) != 2 || len(looks[0].Parts) != 3 {
		t.Fatalf("%d looks", len(looks))
	}
	look := &looks[0]
	if look.Name() != "Dawn" || strings.Join(look.Meant(""), " ") != "instant-change" || look.Cue() != look.Parts[0] || look.Place().Pointer() != "/cues/0" {
		t.Errorf("name %q, meant %q, at %s", look.Name(), look.Meant(""), look.Place().Pointer())
	}
	if looks[1].Name() != "" || looks[1].Meant("") != nil || looks[1].Index != 1 {
		t.Errorf("%+v", looks[1])
	}
}

func TestChannelsThatNobodyHas(t *testing.T) {
	looks := Resolve(withCues(t, `[{"cue": 1, "set": [{"channels": "99999", "level": 5}, {"channels": "700", "level": 7}]}]`))
	// A level needs a fixture: a selection such as 1-99999 must cost nothing.
	for _, channel := range []int{99_999, 700, 701, 0, -1, 100_000, math.MaxInt} {
		if got := looks[0].State(channel); got.Level != 0 || looks[0].SetBy(channel, LevelBy) != Nobody {
			t.Errorf("channel %d, which no fixture has, is %+v", channel, got)
		}
	}
	odd := readShow(t, `{"patch": [{"channel": -3}, {"channel": 2000000000}, {"channel": 0}], "cues": [{"cue": 1, "set": [{"channels": "all", "level": 5}]}]}`)
	if got := Resolve(odd)[0].State(2_000_000_000); got.Level != 0 {
		t.Errorf("a channel beyond the highest is %+v", got)
	}
	if slot, ok := Resolve(odd)[0].of.slots.of(0); !ok || slot != 2 { // the reader told of it; here it is a number as any other
		t.Errorf("channel 0 has slot %d, %v", slot, ok)
	}
}

// Each fixture is a slot of its own, also if it shares its channel, and one that gets
// another channel keeps it: what the others do is what it was.
func TestASlotIsAFixture(t *testing.T) {
	show := readShow(t, `{"patch": [{"channel": 5}, {"channel": 3}, {"channel": 5}], "cues": [{"cue": 1, "set": [{"channels": "5", "level": 60}]}, {"cue": 2, "set": [{"channels": "4", "level": 20}]}]}`)
	before := Resolve(show)
	levels := func(look *Look) (list []float64) {
		for slot := range look.Slots() {
			list = append(list, look.At(slot).Level)
		}
		return list
	}
	if got := levels(&before[0]); !slices.Equal(got, []float64{60, 0, 60}) || !before[0].Says(0) || before[0].Says(1) || !before[0].Says(2) {
		t.Errorf("the fixtures of channels 5, 3 and 5 are at %v", got)
	}
	changed, err := schema.Apply(show, []source.Edit{{At: show.Patch[2].At, Field: "channel", Value: 4.0}})
	if err != nil {
		t.Fatal(err)
	}
	looks := Again(changed, before)
	if a, b := levels(&looks[0]), levels(&looks[1]); !slices.Equal(a, []float64{60, 0, 0}) || !slices.Equal(b, []float64{60, 0, 20}) {
		t.Errorf("the fixtures of channels 5, 3 and 4 are at %v and then %v", a, b)
	}
}

func TestAnEmptyShow(t *testing.T) {
	if looks := Resolve(&schema.Show{}); len(looks) != 0 {
		t.Errorf("%d looks", len(looks))
	}
}

func TestCueWithoutANumberHasNoPlace(t *testing.T) {
	looks := Resolve(withCues(t, `[{"cue": 1}, {"cue": "one"}, {"name": "lost"}, {"cue": 0, "name": "preset"}, {"cue": 1e9}]`))
	var numbers []string
	for i := range looks {
		numbers = append(numbers, looks[i].Number.String())
	}
	if got := strings.Join(numbers, " "); got != "0 1" {
		t.Errorf("looks %s, want 0 1", got)
	}
}

// Neighbours share what they have in common, and a cue list may name channels
// without end: neither may cost what each channel by itself would.
func TestWhatALookHolds(t *testing.T) {
	looks := Resolve(withCues(t, `[
		{"cue": 1, "set": [{"channels": "1-4", "level": 5, "mix": {"red": 10}}]},
		{"cue": 2, "set": [{"channels": "4", "level": 6}, {"channels": "all", "mix": {"red": 20}}]},
		{"cue": 3, "tracking": "restate"},
		{"cue": 4, "tracking": "release"}]`))
	for i := range looks {
		if looks[i].State(1) != looks[i].State(3) {
			t.Errorf("channels 1 and 3 do the same in look %d and have a state each", i)
		}
		// Channel 4 was told another level, and the release makes them the same again.
		if shared := looks[i].State(1) == looks[i].State(4); shared != (i == 0 || i == 3) {
			t.Errorf("channels 1 and 4 share a state in look %d: %v", i, shared)
		}
	}
	show := &schema.Show{Patch: []*schema.Fixture{{Channel: 1}}}
	level := schema.Level(5)
	for i := range 100 {
		show.Cues = append(show.Cues, &schema.Cue{
			Number: schema.CueNumber(i), Set: []*schema.Setting{{Channels: "1-99999", Told: &schema.Told{Level: &level}}},
		})
	}
	_, _ = show.Channels("1-99999") // remembered from here on
	if most := testing.AllocsPerRun(1, func() { Resolve(show) }); most > 5000 {
		t.Errorf("100 cues with 99999 channels of which one is patched take %g allocations", most)
	}
}

// TestScreensOfASegment: what the running order says of a screen holds while the segment
// lasts, over cues before it and under those in it.
func TestScreensOfASegment(t *testing.T) {
	show := readShow(t, `{"cues": [
		{"cue": 1, "segment": "Song", "screens": [{"screen": "wall", "drive_pct": 8, "content": "dark"}]},
		{"cue": 2, "segment": "Talk"},
		{"cue": 3, "segment": "Talk", "screens": [{"screen": "wall", "drive_pct": 20}]},
		{"cue": 4, "segment": "Closing"}],
		"order": [{"name": "Song"}, {"name": "Talk", "screens": [{"screen": "wall", "drive_pct": 60, "content": "bright"}, {"screen": "side", "drive_pct": 30}]}, {"name": "Closing"}]}`)
	looks := Resolve(show)
	var got []string
	for i := range looks {
		wall, _ := looks[i].Drives.Of("wall")
		side, _ := looks[i].Drives.Of("side")
		words := fmt.Sprintf("%v %s", *wall.DrivePct, wall.Content)
		if side.DrivePct != nil {
			words += fmt.Sprintf(", side %v", *side.DrivePct)
		}
		got = append(got, words)
	}
	if diff := cmp.Diff([]string{"8 dark", "60 bright, side 30", "20 bright, side 30", "20 dark"}, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	again := Again(show, looks)
	last, _ := again[3].Drives.Of("wall")
	if talk, _ := again[1].Drives.Of("wall"); last.Content != "dark" || *talk.DrivePct != 60 {
		t.Error("resolved again, it is another")
	}
}

// TestToldAs: looks are told alike by what they say, not by the memory that holds it.
func TestToldAs(t *testing.T) {
	show := withCues(t, `[{"cue": 1, "segment": "Song", "screens": [{"screen": "wall", "drive_pct": 8}]}]`)
	one, twin := Resolve(show)[0], Resolve(show)[0]
	if !one.ToldAs(&one) || !one.ToldAs(&twin) {
		t.Error("a look is not told as itself")
	}
	brighter, later, elsewhere := one, one, one
	brighter.Drives = Drives{{Drive: schema.Drive{Screen: "wall", DrivePct: new(9.0)}}}
	later.Index++
	elsewhere.Segment = &schema.Segment{Name: "Talk"}
	if one.ToldAs(&brighter) || one.ToldAs(&later) || one.ToldAs(&elsewhere) {
		t.Error("another screen, cue or segment is told the same")
	}
}

// The looks in which a slot is lit count from the first to the last, wherever it goes out.
func TestLooksInWhichASlotIsLit(t *testing.T) {
	looks := Resolve(withCues(t, `[
		{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "2", "level": 10}]},
		{"cue": 2, "set": [{"channels": "1", "level": 0}, {"channels": "3", "level": 10}]},
		{"cue": 3, "set": [{"channels": "1", "level": 70}, {"channels": "3", "level": 0}]}]`))
	lit := litIn(looks)
	for channel, want := range map[int]int{1: 2, 2: 3, 3: 1, 4: 0} {
		if slot, ok := looks[0].Slot(channel); !ok || lit[slot] != want {
			t.Errorf("channel %d is lit in %d looks, want %d", channel, lit[slot], want)
		}
	}
}

// Cues that are put in behind the last, and taken out there, leave the others as they were.
func TestAgainWithMoreCuesAndFewer(t *testing.T) {
	few := Resolve(withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}]`))
	many := Resolve(withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 2}, {"cue": 3, "set": [{"channels": "1", "level": 70}]}]`))
	for _, c := range []struct {
		from, to []Look
		want     []float64
	}{{few, many, []float64{50, 50, 70}}, {many, few, []float64{50}}, {many, many, []float64{50, 50, 70}}} {
		var got []float64
		for _, look := range Again(c.to[0].of.show, c.from) {
			got = append(got, look.State(1).Level)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v, want %v", got, c.want)
		}
	}
}

// Where nothing but channels is another, the slots that may do something else are those of the channels that were given up or got;
// where groups are others too, nobody can tell.
func TestSlotsThatMoved(t *testing.T) {
	was := withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}]`)
	before := Resolve(was)
	for _, c := range []struct {
		about  string
		change func(patch []*schema.Fixture) []*schema.Fixture
		want   []int
		ok     bool
	}{
		{"nothing", func(p []*schema.Fixture) []*schema.Fixture { return p }, nil, true},
		{"a free channel", func(p []*schema.Fixture) []*schema.Fixture { p[1].Channel = 9; return p }, []int{1}, true},
		{"the channel of another", func(p []*schema.Fixture) []*schema.Fixture { p[1].Channel = 4; return p }, []int{1, 3}, true},
		{"a name", func(p []*schema.Fixture) []*schema.Fixture { p[1].Name = "x"; return p }, nil, true},
		{"a group", func(p []*schema.Fixture) []*schema.Fixture { p[1].Groups = []string{"Sides"}; return p }, nil, false},
		{"a group and a channel of another", func(p []*schema.Fixture) []*schema.Fixture { p[0].Channel, p[2].Groups = 9, nil; return p }, nil, false},
		{"one less", func(p []*schema.Fixture) []*schema.Fixture { return p[1:] }, nil, false},
	} {
		var patch []*schema.Fixture
		for _, f := range was.Patch {
			line := *f
			patch = append(patch, &line)
		}
		now := copyOf(was, was.Cues)
		now.Patch = c.change(patch)
		if got, ok := movedSlots(now, was, groupCues(now.Cues), before); ok != c.ok || !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, %v; want %v, %v", c.about, got, ok, c.want, c.ok)
		}
	}
}

// Looks that were resolved again do what the others do where nothing but words is another, and else not.
func TestAllAlike(t *testing.T) {
	show := withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 2}]`)
	looks := Resolve(show)
	order := copyOf(show, show.Cues)
	order.Order = []*schema.Segment{{Name: "Song"}}
	other := withCues(t, `[{"cue": 1, "set": [{"channels": "1", "level": 60}]}, {"cue": 2}]`)
	for about, c := range map[string]struct {
		looks, before []Look
		want          bool
	}{
		"the same": {looks, looks, true}, "again": {Again(show, looks), looks, true}, "another running order": {Again(order, looks), looks, true},
		"another level": {Again(other, looks), looks, false}, "from the beginning": {Resolve(show), looks, false}, "none": {nil, looks, false}, "of none": {looks, nil, false}, "neither": {nil, nil, false},
	} {
		if got := AllAlike(c.looks, c.before); got != c.want {
			t.Errorf("%s: %v", about, got)
		}
	}
	if got := LitIn(nil); got != nil {
		t.Errorf("in no look are lit %v", got)
	}
}

// Of looks in which channels and screens do the same the first stands for all that are alike in the rest, however far apart; it is
// looked for among some of them only.
func TestFirsts(t *testing.T) {
	var cues []string
	for i, cue := range []string{`"set": [{"channels": "1", "level": 50}]`, `"set": [{"channels": "1", "level": 60}]`, `"set": [{"channels": "1", "level": 50}]`, `"name": "x"`, `"screens": [{"screen": "wall", "drive_pct": 20}]`, `"set": [{"channels": "1", "level": 60}], "screens": [{"screen": "wall", "drive_pct": 30}]`, `"set": [{"channels": "1", "level": 50}]`, `"screens": [{"screen": "wall", "drive_pct": 20}]`} {
		cues = append(cues, fmt.Sprintf(`{"cue": %d, %s}`, i+1, cue))
	}
	looks := Resolve(withCues(t, "["+strings.Join(cues, ", ")+"]"))
	all := func(int, int) bool { return true }
	if got, want := Firsts(looks, all), []int{0, 1, 0, 0, 4, 5, 6, 4}; !slices.Equal(got, want) {
		t.Errorf("the first of each is %v, want %v", got, want)
	}
	if got, want := Firsts(looks, func(first, i int) bool { return i != 2 }), []int{0, 1, 2, 0, 4, 5, 6, 4}; !slices.Equal(got, want) {
		t.Errorf("where one is another in the rest, the first of each is %v, want %v", got, want)
	}
	dark := make([]string, 12)
	for i := range dark {
		dark[i] = fmt.Sprintf(`{"cue": %d}`, i+1)
	}
	tried := 0
	Firsts(Resolve(withCues(t, "["+strings.Join(dark, ", ")+"]")), func(int, int) bool { tried++; return false })
	if want := 0 + 1 + 2 + 3 + 4 + 5 + 6 + 7 + 8 + 8 + 8 + 8; tried != want {
		t.Errorf("twelve dark looks are held against each other %d times, want %d", tried, want)
	}
}
