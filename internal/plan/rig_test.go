package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
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

// The white of a face is that of the camera that looks at it or next beside it, and the level of a
// lamp that was left low that of its twins beside it.
func TestBesideAPlace(t *testing.T) {
	show := read(t, `{
		"room": {"places": [{"name": "left", "x": -6, "y": 1, "head_m": 1.6}, {"name": "middle", "x": 0, "y": 1, "head_m": 1.6}, {"name": "right", "x": 6, "y": 1, "head_m": 1.6}],
			"cameras": [{"name": "wide", "white_k": 5600}, {"name": "a", "white_k": 3200, "aimed_at": {"x": -5.5, "y": 1, "z": 1}}, {"name": "b", "white_k": 4300, "aimed_at": "middle"}]},
		"types": [{"name": "lamp"}],
		"patch": [{"channel": 1, "type": "lamp", "purpose": "key", "aimed_at": "left"}, {"channel": 2, "type": "lamp", "purpose": "key", "aimed_at": "middle"}, {"channel": 3, "type": "lamp", "purpose": "key", "aimed_at": "right"}],
		"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["left", "middle", "right"]}],
		"cues": [{"cue": 1, "segment": "Talk", "set": [{"channels": "1,3", "level": 46}, {"channels": "2", "level": 12}]}, {"cue": 2, "segment": "Talk", "set": [{"channels": "3", "level": 40}]}]
	}`)
	o := &offers{state: &proof.State{Show: show, Looks: tracking.Resolve(show)}, start: show}
	for place, want := range map[string]float64{"left": 3200, "middle": 4300, "right": 5600, "nowhere": 5600} {
		if got := o.whiteAt(place); got != want {
			t.Errorf("the white at %s is %v K, want %v", place, got, want)
		}
	}
	for look, want := range []int{1, 0} { // in the second cue the two differ
		if got := o.likeBeside("middle", look, look); (len(got) > 0) != (want > 0) || want > 0 && got[0].Value != 46.0 {
			t.Errorf("in look %d: %v", look, got)
		}
	}
	if got := o.likeBeside("left", 0, 0); len(got) != 0 {
		t.Errorf("those who are lit get %v", got)
	}
	for level, want := range map[string]bool{"0": false, "0.5": true, "29.9": true, "30": false} { // of 50; three fifths are no slip
		o := offersFound(t, `{
			"room": {"places": [{"name": "left", "x": -6, "y": 1}, {"name": "middle", "x": 0, "y": 1}]}, "types": [{"name": "lamp"}],
			"patch": [{"channel": 1, "type": "lamp", "purpose": "key", "aimed_at": "left"}, {"channel": 2, "type": "lamp", "purpose": "key", "aimed_at": "middle"}],
			"cues": [{"cue": 1, "people": ["left", "middle"], "set": [{"channels": "1", "level": 50}, {"channels": "2", "level": `+level+`}]}]
		}`)
		if got := len(o.likeBeside("middle", 0, 0)) > 0; got != want {
			t.Errorf("at %s %% of 50 it was left low: %v", level, got)
		}
	}
}

// A lamp that was knocked far aside has its level of before that, for which nobody has to look; one that hangs nearly right had to
// be brought up, and goes down with its twins. How far is three and a half metres.
func TestLevelsOfALampThatStrays(t *testing.T) {
	for aim, want := range map[string][]string{"3.5": {"aimed_at"}, "3.75": {"aimed_at", "aimed_at level"}} {
		o := offersFound(t, `{
			"room": {"places": [{"name": "left", "x": -9, "y": 1, "z": 0, "head_m": 1.6}, {"name": "middle", "x": 0, "y": 1, "z": 0, "head_m": 1.6}, {"name": "far", "x": -18, "y": 1, "z": 0, "head_m": 1.6}]}, "types": [{"name": "lamp"}],
			"patch": [{"channel": 1, "type": "lamp", "purpose": "key", "aimed_at": "left"}, {"channel": 2, "type": "lamp", "purpose": "key", "aimed_at": {"x": `+aim+`, "y": 1, "z": 1.6}}, {"channel": 3, "type": "lamp", "purpose": "key", "aimed_at": "far"}],
			"cues": [{"cue": 1, "people": ["left", "middle", "far"], "set": [{"channels": "1,3", "level": 50}, {"channels": "2", "level": 95}]}]
		}`, at("people/no-key", "middle", "1"))
		var list [][]source.Edit
		o.straying(&o.order[0], heard(&list))
		var got []string
		for _, edits := range list {
			var fields []string
			for _, e := range edits {
				fields = append(fields, e.Field)
			}
			got = append(got, strings.Join(fields, " "))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s m beside: %q, want %q", aim, got, want)
		}
	}
}

// Two twins are enough to be like; one may be what is wrong itself.
func TestHowManyTwinsAreLike(t *testing.T) {
	for zooms, want := range map[string]bool{"30 20": false, "30 20 20": true, "30 20 25": false, "30 20 20 20": true, "20 20 20": false} {
		var patch []string
		for i, zoom := range strings.Fields(zooms) {
			patch = append(patch, fmt.Sprintf(`{"channel": %d, "type": "lamp", "purpose": "key", "zoom_deg": %s, "aimed_at": "%s"}`, i+1, zoom, []string{"a", "b", "c", "d"}[i]))
		}
		o := offersFound(t, `{"room": {"places": [{"name": "a", "x": -9, "y": 1}, {"name": "b", "x": 0, "y": 1}, {"name": "c", "x": 9, "y": 1}, {"name": "d", "x": 18, "y": 1}]},
			"types": [{"name": "lamp"}], "patch": [`+strings.Join(patch, ", ")+`]}`)
		found := at("people/key-low", "a")
		var list [][]source.Edit
		o.twins(&found, heard(&list))
		if got := len(list) == 1 && list[0][0].Field == "zoom_deg" && list[0][0].Value == 20.0; got != want || !want && len(list) > 0 {
			t.Errorf("zooms %s: %v", zooms, list)
		}
	}
}

// A lamp is for two places where it is aimed at neither, is not more than 0.8 m nearer to one of them, and neither has another
// such lamp.
func TestALampForTwoPlaces(t *testing.T) {
	for _, test := range []struct {
		right, purpose, at string // where the place on the right is; another lamp
		want               bool
	}{
		{"1", "back", "left", true}, {"1.8", "back", "left", true}, {"1.81", "back", "left", false},
		{"1", "key", "left", false}, {"1", "key", "right", false}, {"1", "key", "far", true},
	} {
		o := offersFound(t, `{"room": {"places": [{"name": "left", "x": -1, "y": 1, "z": 0, "head_m": 1.6}, {"name": "right", "x": `+test.right+`, "y": 1, "z": 0, "head_m": 1.6}, {"name": "far", "x": 9, "y": 1, "z": 0, "head_m": 1.6}]},
			"patch": [{"channel": 1, "purpose": "key", "aimed_at": {"x": 0, "y": 1, "z": 1.6}}, {"channel": 2, "purpose": "`+test.purpose+`", "aimed_at": "`+test.at+`"}]}`)
		if got := o.isBetween(o.state.Show.Patch[0], "left", 1); got != test.want {
			t.Errorf("1 m beside the left place and %s m beside the right, with a %s at %s: %v", test.right, test.purpose, test.at, got)
		}
	}
}

// Of two lamps of one number, another number was meant for the one that stands behind its neighbour or before the next in the
// patch, or whose address goes on as those of the next two by number; where both do, for the later one. Neighbours are of its type.
func TestWhichOfTwoWasMeant(t *testing.T) {
	for lamps, want := range map[string]string{ // for the number 3, of the two lamps with the number 9
		"2 a 1.50|9 a 1.60|7 a 1.70|9 a 1.80":           "1.60", // behind 2
		"7 a 1.50|9 a 1.60|4 a 1.70|7 a 1.80|9 a 1.90":  "1.60", // before 4
		"2 a 1.50|9 a 1.60|2 a 1.70|9 a 1.80":           "1.80", // each behind a 2
		"2 b 1.50|9 a 1.60|7 a 1.70|9 a 1.80":           "",     // of another type
		"2 a 1.50|9 a 1.60|9 a 1.70|4 a 1.80|2 a 1.200": "1.70", // behind 2, and before 4
		"4 a 1.50|9 a 1.60|7 a 1.70|9 a 1.80":           "",     // behind 4
		"6 a 1.50|9 a 1.60|2 a 1.70|7 a 1.80|9 a 1.90":  "",     // before 2
		"9 a 1.21|7 a 1.90|9 a 1.99|1 a 1.1|2 a 1.11":   "1.21", // 1.1, 1.11, 1.21
		"9 a 1.1|7 a 1.90|9 a 1.99|5 a 1.21|4 a 1.11":   "1.1",  // 1.1, 1.11, 1.21, downwards
		"9 a 1.22|7 a 1.90|9 a 1.99|1 a 1.1|2 a 1.11":   "",     // another step
		"9 a 2.21|7 a 1.90|9 a 1.99|1 a 1.1|2 a 1.11":   "",     // in another universe
		"9 a 1.21|7 a 1.90|9 a 1.99|1 b 1.1|2 a 1.11":   "",     // the far one is of another type
		"9 a 1.21|7 a 1.90|9 a 1.99|1 a 1.1|2 b 1.11":   "",     // the near one is
		"9 a 1.21|7 a 1.90|9 a 1.99|2 a 1.11":           "",     // there is no far one
		"9 a 1.21|7 a 1.90|9 a 1.99|1 a 1.1":            "",     // there is no near one
		"9 a 1.1|7 a 1.90|9 a 1.1|1 a 1.1|2 a 1.1":      "",     // all at one address are no row
		"2 a 1.50|9 a 1.60|7 a 1.70":                    "",     // the number is there once
	} {
		var patch []string
		lines := map[int]int{}
		for lamp := range strings.SplitSeq(lamps, "|") {
			f := strings.Fields(lamp)
			patch = append(patch, fmt.Sprintf(`{"channel": %s, "type": %q, "address": %q}`, f[0], f[1], f[2]))
		}
		o := offersFound(t, `{"patch": [`+strings.Join(patch, ",")+`]}`)
		for _, lamp := range o.state.Show.Patch {
			lines[lamp.Channel]++
		}
		got := ""
		if lamp := o.doubleFor(3, lines); lamp != nil {
			got = lamp.Address
		}
		if got != want {
			t.Errorf("of %s it is the one at %q, want %q", lamps, got, want)
		}
	}
}

// A lamp whose aim has a wrong sign goes back to where it pointed beside somebody; one that is a digit
// off, or lands on somebody, is aimed at the place.
func TestWhereALampIsAimedAgain(t *testing.T) {
	o := offersFound(t, `{"room": {"places": [{"name": "lectern", "x": -5.5, "y": 1, "z": 0, "head_m": 1.6}, {"name": "middle", "x": 0, "y": 1, "z": 0, "head_m": 1.6}]}}`)
	for _, test := range []struct {
		aim         schema.Point
		place, want string
	}{
		{schema.Point{X: -5, Y: 6.4, Z: 2.4}, "lectern", "lectern"},
		{schema.Point{X: 0, Y: 15, Z: 1.6}, "middle", "middle"},
		{schema.Point{X: -5.5, Y: -1.5, Z: 1.6}, "lectern", schema.PointText(schema.Point{X: -5.5, Y: 1.5, Z: 1.6})},
		{schema.Point{X: -5.5, Y: -1.39, Z: 1.6}, "lectern", "lectern"},
		{schema.Point{X: 6, Y: 1, Z: 1.6}, "lectern", schema.PointText(schema.Point{X: -6, Y: 1, Z: 1.6})},
	} {
		if got := o.aimAt(&schema.Fixture{AimedAt: &schema.Aim{Point: &test.aim}}, test.place); got != test.want {
			t.Errorf("aimed at %v: %q, want %q", test.aim, got, test.want)
		}
	}
}

// Stands that were left low are raised to where most of their light comes from 30 degrees above the faces, in
// tenths of a metre and to four metres at most; none where another lamp for faces hangs.
func TestStandsThatWereLeftLow(t *testing.T) {
	const show = `{"room": {"places": [{"name": "reader", "x": 3, "y": 1, "z": 0, "head_m": 1.6}]},
		"patch": [{"channel": 1, "purpose": "key", "mount": "stands", "hung_at": {"x": 3, "y": %g, "z": %g}, "aimed_at": "reader"},
			{"channel": 2, "purpose": "back", "mount": "hangs", "hung_at": {"x": 0, "y": 4, "z": 4}, "aimed_at": "reader"},
			{"channel": 3, "purpose": "%s", "mount": "hangs", "hung_at": {"x": 2, "y": -2, "z": 4}, "aimed_at": "reader"}]}`
	for _, test := range []struct {
		y, z  float64
		third string
		want  []float64 // heights: from 30 degrees, from 24
	}{
		{-2, 1, "wash", []float64{3.3, 2.9}},    // 1.6 + 3 tan 30 = 3.33; 1.6 + 3 tan 24 = 2.94
		{-2, 2.68, "wash", []float64{3.3, 2.9}}, // atan(1.08 / 3) = 19.8 degrees
		{-2, 2.70, "wash", nil},                 // 20.1
		{-5, 1, "wash", []float64{4, 4}},        // 1.6 + 6 tan 24 = 4.27
		{-2, 1, "key", nil},
	} {
		o := offersFound(t, fmt.Sprintf(show, test.y, test.z, test.third), at("people/key-angle", "reader", "1"))
		var list [][]source.Edit
		o.raise(&o.order[0], heard(&list))
		var got []float64
		for i := 0; i < len(list); i += 2 { // without and with levels, of which this show has none
			p, _ := schema.ParsePoint(fmt.Sprint(list[i][0].Value))
			got = append(got, p.Z)
		}
		if !slices.Equal(got, test.want) {
			t.Errorf("from %g, %g beside a %s: %v, want %v", test.y, test.z, test.third, got, test.want)
		}
	}
}

// Where a key hangs best: 45 degrees up and 38 to the side of the face, each lamp of a place to the other side than the one
// before, or where it is already to its own. One that hangs there stays, and so does one for which no bar is better.
func TestWhereALampHangsBest(t *testing.T) {
	const across = `"from": {"x": -6, "y": -3, "z": 5.4}, "to": {"x": 6, "y": -3, "z": 5.4}`
	for _, test := range []struct {
		about, bar, lamps string
		want              []string
	}{
		{"straight in front, and at 50 %", across, `{"channel": 1, "hung_at": {"x": 0, "y": -3, "z": 5.4}`, []string{"hung_on front bar", "hung_at x -2.3, y -3, z 5.4", "level 68"}},
		{"a little to the right", across, `{"channel": 1, "hung_at": {"x": 1, "y": -3, "z": 5.4}`, []string{"hung_on front bar", "hung_at x 2.3, y -3, z 5.4", "level 64"}},
		{"there already", across, `{"channel": 1, "hung_at": {"x": -2.3, "y": -3, "z": 5.4}`, nil},
		{"there already, on the right", across, `{"channel": 1, "hung_at": {"x": 2.3, "y": -3, "z": 5.4}`, nil},
		{"on a stand before the edge", across, `{"channel": 1, "mount": "stands", "hung_at": {"x": 0, "y": -3, "z": 1.6}`, []string{"hung_on front bar", "hung_at x -2.3, y -3, z 5.4", "mount hangs", "level 100"}},
		{"a bar over the head", `"from": {"x": -1, "y": -0.2, "z": 6}, "to": {"x": 1, "y": -0.2, "z": 6}`, `{"channel": 1, "hung_at": {"x": 0, "y": -0.1, "z": 6}`, nil},
		{"a bar that is as bad as where it hangs", `"from": {"x": 0, "y": -3, "z": 5.4}, "to": {"x": 0, "y": -3, "z": 5.4}`, `{"channel": 1, "hung_at": {"x": 0, "y": -3, "z": 5.4}`, nil},
	} {
		o := offersFound(t, `{
			"room": {"places": [{"name": "lectern", "x": 0, "y": 0, "head_m": 1.6, "facing_deg": 0}], "bars": [{"name": "front bar", `+test.bar+`}]},
			"types": [{"name": "lamp"}], "patch": [`+test.lamps+`, "type": "lamp", "purpose": "key", "aimed_at": "lectern"}],
			"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["lectern"]}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]
		}`)
		var offered [][]source.Edit
		found := at("people/shadows", "lectern", "1")
		o.hang(&found, heard(&offered))
		var got []string
		for _, edits := range offered {
			for _, e := range edits {
				got = append(got, fmt.Sprint(e.Field, " ", e.Value))
			}
		}
		if !slices.Equal(got, test.want) {
			t.Errorf("%s: %q, not %q", test.about, got, test.want)
		}
	}
}

// A lamp that bears the name of another place than it is aimed at is aimed first: it is neither hung elsewhere for the eyes that
// it shines into from there, nor taken out of the cues in which somebody waits for its light.
func TestALampThatStraysIsAimedFirst(t *testing.T) {
	for name, test := range map[string]struct {
		hung bool
		out  []string // what is told of levels
	}{
		"pulpit key": {false, []string{"cue 2"}}, "altar key": {true, []string{"cue 1", "cue 2"}}, "old key": {true, []string{"cue 1", "cue 2"}},
	} {
		o := offersFound(t, `{
			"room": {"places": [{"name": "pulpit", "x": -3, "y": 0, "z": 0, "head_m": 1.6, "facing_deg": 0}, {"name": "altar", "x": 3, "y": 0, "z": 0, "head_m": 1.6, "facing_deg": 0}],
				"bars": [{"name": "front bar", "from": {"x": -6, "y": -3, "z": 5.4}, "to": {"x": 6, "y": -3, "z": 5.4}}]},
			"types": [{"name": "lamp"}], "patch": [{"channel": 1, "name": "`+name+`", "type": "lamp", "purpose": "key", "hung_at": {"x": 3, "y": -3, "z": 5.4}, "aimed_at": "altar"}],
			"order": [{"name": "Talk", "kind": "talk", "start_cue": 1, "people": ["pulpit"]}, {"name": "Pause", "kind": "changeover", "start_cue": 2, "people": []}],
			"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 2, "set": [{"channels": "1", "level": 60}]}]
		}`, at("people/empty-place-lit", "altar", "1", "2"))
		var hung, out [][]source.Edit
		eyes := finding.Finding{Rule: "safety/beam-into-eyes", Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}}
		o.hang(&eyes, heard(&hung))
		o.emptyLamps(&o.order[0], heard(&out))
		var cues []string
		for _, e := range out[0] {
			for i, cue := range o.state.Show.Cues {
				if slices.ContainsFunc(cue.Set, func(s *schema.Setting) bool { return s.At == e.At }) {
					cues = append(cues, fmt.Sprintf("cue %d", i+1))
				}
			}
		}
		if len(hung) > 0 != test.hung || !slices.Equal(cues, test.out) {
			t.Errorf("%s: hung elsewhere %v, out in %v", name, hung, cues)
		}
	}
}

// A number is a slip for one with another digit, or with two digits that stand side by side the other way round.
func TestNumbersThatMayBeMeant(t *testing.T) {
	var patch []*schema.Fixture
	for _, channel := range []int{21, 91, 15, 132, 213, 7} {
		patch = append(patch, &schema.Fixture{Channel: channel})
	}
	for number, want := range map[int][]int{12: {21, 15}, 19: {91, 15}, 10: {15}, 123: {132, 213}, 9: {7}, 50: nil, 120: nil} {
		if got := newSlips(patch).from(number); !slices.Equal(got, want) {
			t.Errorf("by %d may be meant %v, not %v", number, got, want)
		}
	}
}

// TestNobodyClimbsForARemark that hurts nobody; for a warning somebody does, and what is done at the console or on the floor is
// done for either.
func TestNobodyClimbsForARemark(t *testing.T) {
	o := offersFound(t, `{
		"types": [{"name": "spot"}, {"name": "head", "moving": true}],
		"patch": [{"channel": 1, "type": "spot", "mount": "hangs"}, {"channel": 2, "type": "spot", "mount": "stands"}, {"channel": 3, "type": "head", "mount": "hangs"}, {"channel": 4, "type": "spot"}]}`)
	for _, test := range []struct {
		channel     int
		field       string
		level       finding.Level
		consequence finding.Consequence
		want        bool
	}{
		{1, "shutter_top", finding.Note, finding.Camera, true}, {1, "shutter_top", finding.Warning, finding.Camera, false}, {1, "shutter_top", finding.Note, finding.Hurt, false},
		{1, "purpose", finding.Note, finding.Camera, false}, {1, "address", finding.Note, finding.Camera, false},
		{2, "shutter_top", finding.Note, finding.Camera, false}, {3, "aimed_at", finding.Note, finding.Camera, false}, {4, "aimed_at", finding.Note, finding.Room, true},
	} {
		f := finding.Finding{Level: test.level, Consequence: test.consequence}
		c := cure{edits: []source.Edit{{At: o.state.Show.Patch[test.channel-1].At, Field: test.field, Value: "1"}}}
		if got := o.climbsForLittle(&f, &c); got != test.want {
			t.Errorf("%+v: %t", test, got)
		}
	}
}
