package proof

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// edits is how many random changes are tried: a few of those that CI tries.
func edits(t *testing.T) int {
	text := os.Getenv("CUEPROOF_EDITS")
	if text == "" {
		return 15
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("CUEPROOF_EDITS is %q, wanted a number", text)
	}
	return n
}

// TestAChangeIsAFreshStart makes random changes, some on top of each other, and holds
// what With makes of each against a check of the changed show from the beginning:
// every finding, and every fact of every subject.
func TestAChangeIsAFreshStart(t *testing.T) {
	set := rules.Own()
	shows := []*schema.Show{loadShow(t, "mended"), loadShow(t, "flawed"), smallEvening(t)}
	random := rand.New(rand.NewPCG(1, 2)) // the same changes each time
	count := edits(t)
	if testing.Short() {
		count = min(count, 20)
	}
	made := 0
	for made < count {
		start := Check(shows[made%len(shows)], set)
		for range 1 + random.IntN(3) {
			edit := randomEdit(random, start.Show)
			show, err := schema.Apply(start.Show, edit)
			if err != nil {
				continue // no change of this show
			}
			after, err := start.Try(set, nil, edit)
			if err != nil {
				t.Fatal(err)
			}
			brief := slices.Clone(after.Found)
			after.TellAll(set)
			made++
			what := fmt.Sprintf("change %d, %s of %s to %v", made, edit[0].Field, edit[0].At.Pointer(), edit[0].Value)
			fresh := Check(show, set)
			sameFindings(t, what, after.Found, fresh.Found)
			sameInBrief(t, what, brief, after.Found)
			sameFacts(t, what, after.made, fresh.Facts)
			if t.Failed() {
				return
			}
			if start = after; random.IntN(2) == 0 {
				start.Settle(set)
			}
		}
	}
}

// TestAStateThatRestedSaysTheSame lets go of what was found in states that were passed, and
// asks them again.
func TestAStateThatRestedSaysTheSame(t *testing.T) {
	set := rules.Own()
	var text bytes.Buffer
	text.WriteString(`{"types": [{"name": "par", "slots": 4}], "cues": [{"cue": 1, "set": [{"channels": "1-250", "level": 50}]}], "patch": [`)
	for i := range fewToKeep + 50 {
		fmt.Fprintf(&text, `{"channel": %d, "type": "par", "address": "1.1"},`, i+1)
	}
	text.WriteString(`{"channel": 999, "type": "par", "address": "2.1"}]}`)
	loaded, err := loaders.Load("-", loaders.Options{Stdin: &text, StdinName: "show.json"})
	if err != nil || loaded.Show == nil {
		t.Fatal(err)
	}
	now := Check(loaded.Show, set)
	if now.Rest(); len(now.Found) <= fewToKeep {
		t.Errorf("the show as it was given has %d findings", len(now.Found))
	}
	var passed []*State
	for i := range 4 {
		after, err := now.Try(set, nil, []source.Edit{{At: now.Show.Patch[i].At, Field: "address", Value: fmt.Sprintf("3.%d", 1+4*i)}})
		if err != nil {
			t.Fatal(err)
		}
		after.Settle(set)
		now.Rest()
		now = after
		passed = append(passed, after)
	}
	if now.Rest(); now.Wake(set) {
		t.Error("the state that changes take over from let go of what was found")
	}
	for i, s := range passed[:len(passed)-1] {
		if s.Found != nil || !s.Wake(set) || s.Wake(set) {
			t.Errorf("state %d did not rest once", i)
		}
		s.TellAll(set)
		sameFindings(t, fmt.Sprintf("state %d", i), s.Found, Check(s.Show, set).Found)
	}
	few := Check(loadShow(t, "flawed"), set)
	for range 2 {
		after, err := few.Try(set, nil, []source.Edit{{At: few.Show.Patch[0].At, Field: "address", Value: "9.1"}})
		if err != nil {
			t.Fatal(err)
		}
		after.Settle(set)
		if few.Rest(); few.Found == nil {
			t.Error("a state let go of few findings")
		}
		few = after
	}
}

func loadShow(t testing.TB, name string) *schema.Show {
	t.Helper()
	loaded, err := loaders.Load(filepath.Join("..", "..", "testdata", "shows", name), loaders.Options{})
	if err != nil || loaded.Show == nil {
		t.Fatal(err)
	}
	return loaded.Show
}

func smallEvening(t *testing.T) *schema.Show {
	t.Helper()
	var text bytes.Buffer
	if err := bigshow.Write(&text, bigshow.Size{Fixtures: 120, Cues: 90, Places: 4}); err != nil {
		t.Fatal(err)
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: &text, StdinName: "evening.json"})
	if err != nil || loaded.Show == nil {
		t.Fatal(err)
	}
	return loaded.Show
}

// randomEdit changes something that remedies change.
func randomEdit(r *rand.Rand, show *schema.Show) []source.Edit {
	number := func(list ...float64) float64 { return list[r.IntN(len(list))] }
	one := func(at source.Ref, field string, value any) []source.Edit {
		return []source.Edit{{At: at, Field: field, Value: value}}
	}
	cue := show.Cues[r.IntN(len(show.Cues))]
	line := show.Patch[r.IntN(len(show.Patch))]
	place := ""
	if places := show.Room.Places; len(places) > 0 {
		place = places[r.IntN(len(places))].Name
	}
	switch r.IntN(20) {
	case 0, 1, 2, 3:
		if len(cue.Set) > 0 {
			set := cue.Set[r.IntN(len(cue.Set))]
			edit := one(set.At, "level", number(0, 10, 37, 50, 80, 100))
			if channels, err := show.Channels(set.Channels); err == nil && len(channels) > 1 && r.IntN(2) == 0 {
				edit[0].Only = channels[:1+r.IntN(len(channels)-1)]
			}
			return edit
		}
	case 4:
		if len(cue.Set) > 0 {
			set := cue.Set[r.IntN(len(cue.Set))]
			if r.IntN(2) == 0 {
				return one(set.At, "white_k", number(3200, 4000, 5600))
			}
			return one(set.At, "aim", place)
		}
	case 5:
		return []source.Edit{{At: cue.At, Field: "level", Value: number(0, 20, 100), Only: []int{line.Channel}}}
	case 6:
		return one(cue.At, "in_s", number(0, 0.2, 3, 12))
	case 7:
		if len(cue.Screens) > 0 {
			return one(cue.Screens[0].At, "drive_pct", number(0, 15, 60))
		}
	case 8:
		return one(line.At, "address", fmt.Sprintf("%d.%d", 1+r.IntN(9), 1+r.IntN(500)))
	case 9:
		return one(line.At, "aimed_at", place)
	case 10:
		if cameras := show.Room.Cameras; len(cameras) > 0 {
			return one(cameras[r.IntN(len(cameras))].At, "white_k", number(3200, 4300, 5600))
		}
	case 16:
		return one(line.At, []string{"zoom_deg", "white_k", "output", "shutter_top"}[r.IntN(4)], number(0.5, 20, 40))
	case 17:
		return one(line.At, []string{"purpose", "type", "filter"}[r.IntN(3)], []any{"key", "wash", "back", show.Types[r.IntN(len(show.Types))].Name}[r.IntN(4)])
	case 18:
		for _, machine := range show.Patch {
			if machine.Purpose == "haze" {
				return []source.Edit{{At: cue.At, Field: "level", Value: number(0, 15, 100), Only: []int{machine.Channel}}}
			}
		}
	case 19:
		if cameras := show.Room.Cameras; len(cameras) > 0 {
			return one(cameras[r.IntN(len(cameras))].At, []string{"x", "z", "view_deg"}[r.IntN(3)], number(1.8, 6, 40))
		}
	case 12:
		if len(cue.Set) > 0 {
			return one(cue.Set[r.IntN(len(cue.Set))].At, "channels", strconv.Itoa(line.Channel))
		}
	case 13:
		if circuits := show.Room.Circuits; len(circuits) > 0 {
			return one(line.At, "circuit", circuits[r.IntN(len(circuits))].Name)
		}
		return one(line.At, "mode", "ten")
	case 14:
		if cameras := show.Room.Cameras; len(cameras) > 0 {
			return one(cameras[r.IntN(len(cameras))].At, []string{"sensitivity_iso", "aperture_f"}[r.IntN(2)], number(2.8, 5.6, 800))
		}
	case 15:
		if places := show.Room.Places; len(places) > 0 && r.IntN(2) == 0 {
			return one(places[r.IntN(len(places))].At, "facing_deg", number(-40, 0, 25))
		}
		if surfaces := show.Room.Surfaces; len(surfaces) > 0 {
			return one(surfaces[r.IntN(len(surfaces))].At, "white_k", number(3200, 5600, 9000))
		}
	case 11:
		if types := show.Types; r.IntN(3) == 0 {
			return one(types[r.IntN(len(types))].At, "watts", number(50, 575, 2000))
		}
		return one(line.At, "channel", float64(1+r.IntN(600)))
	}
	return one(cue.At, "delay_s", number(0, 1, 4))
}

func sameFindings(t *testing.T, what string, got, want []finding.Finding) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d findings, from the beginning %d", what, len(got), len(want))
		return
	}
	for i := range got {
		a, b := got[i], want[i]
		if a.Identity() != b.Identity() || a.Verdict != b.Verdict || a.Message != b.Message || !reflect.DeepEqual(a.Cues, b.Cues) || !reflect.DeepEqual(a.Missing, b.Missing) {
			t.Errorf("%s: finding %d is\n%s %s %q %v\nand from the beginning\n%s %s %q %v", what, i, a.Rule, a.Verdict, a.Message, a.Cues, b.Rule, b.Verdict, b.Message, b.Cues)
			return
		}
		for k := range a.Remedies {
			if len(b.Remedies) != len(a.Remedies) || fmt.Sprint(words(a.Remedies[k].Edits)) != fmt.Sprint(words(b.Remedies[k].Edits)) {
				t.Errorf("%s: the remedies of %q are %v and %v", what, a.Message, a.Remedies, b.Remedies)
				return
			}
		}
	}
}

// sameInBrief compares what states are held against each other by.
func sameInBrief(t *testing.T, what string, got, want []finding.Finding) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d findings in brief, in full %d", what, len(got), len(want))
		return
	}
	for i := range got {
		a, b := got[i], want[i]
		if a.Identity() != b.Identity() || a.Level != b.Level || a.Consequence != b.Consequence || a.Binding != b.Binding ||
			!reflect.DeepEqual(a.Amount, b.Amount) || !reflect.DeepEqual(a.Cues, b.Cues) || !reflect.DeepEqual(a.Missing, b.Missing) || !reflect.DeepEqual(a.With, b.With) {
			t.Errorf("%s: finding %d is in brief\n%+v\nand in full\n%+v", what, i, a, b)
			return
		}
	}
}

func words(edits []source.Edit) []string {
	var list []string
	for _, e := range edits {
		list = append(list, fmt.Sprint(e.At.Pointer(), e.Field, e.Value, e.Only))
	}
	return list
}

// sameFacts compares to nine digits: light on a face is a sum over the beams of the
// show in the order in which they are met, and that may be another.
func sameFacts(t *testing.T, what string, got, want *facts.Measured) {
	t.Helper()
	for _, kind := range facts.KindNames() {
		as, bs := got.Subjects(kind), want.Subjects(kind)
		if len(as) != len(bs) {
			t.Errorf("%s: %d of the kind %s, from the beginning %d", what, len(as), kind, len(bs))
			return
		}
		words := facts.WordsOf(kind)
		for i := range as {
			for _, word := range words {
				x, _ := facts.ValueOf(as[i], word)
				y, _ := facts.ValueOf(bs[i], word)
				if !reflect.DeepEqual(x.Value, y.Value) && nine(x.Value) != nine(y.Value) || x.Value == nil && !reflect.DeepEqual(as[i].Why(word), bs[i].Why(word)) {
					t.Errorf("%s: %s of %s %v in cue %q is %v %q, from the beginning %v %q", what, word, kind, as[i].Names(), as[i].Cue(), x.Value, as[i].Why(word), y.Value, bs[i].Why(word))
					return
				}
			}
		}
	}
}

func nine(value any) string {
	if f, ok := value.(float64); ok {
		return strconv.FormatFloat(f, 'g', 9, 64)
	}
	return fmt.Sprint(value)
}

// TestWhatWasSettledIsTakenOver: a camera of another white touches every face, and a cue
// after it only what stands from there on.
func TestWhatWasSettledIsTakenOver(t *testing.T) {
	set := rules.Own()
	start := Check(loadShow(t, "mended"), set)
	white, err := start.With(set, []source.Edit{{At: start.Show.Room.Cameras[0].At, Field: "white_k", Value: 5000.0}})
	if err != nil {
		t.Fatal(err)
	}
	measured := white.made
	white.Settle(set)
	last := white.Show.Cues[len(white.Show.Cues)-1]
	after, err := white.With(set, []source.Edit{{At: last.At, Field: "level", Value: 20.0, Only: []int{white.Show.Patch[0].Channel}}})
	if err != nil {
		t.Fatal(err)
	}
	taken := 0
	for i, p := range after.made.People {
		if p.FaceLux != nil && p.FaceLux == measured.People[i].FaceLux { // the very number, not one like it
			taken++
		}
	}
	if all := len(measured.People); taken < all*9/10 {
		t.Errorf("of %d people %d were taken over, and only the last cue has changed", all, taken)
	}
	plugged, err := white.With(set, []source.Edit{{At: white.Show.Patch[0].At, Field: "address", Value: "9.1"}})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range plugged.made.Fixtures[1:] {
		if was := measured.Fixtures[i+1]; f.EyesLux != was.EyesLux || f.Azimuth != was.Azimuth {
			t.Errorf("what channel %d does to eyes was worked out anew, and only a plug has changed", f.Channel)
		}
	}
	same := after.made.Same("fixture")
	if len(same) != len(after.Show.Patch) {
		t.Errorf("of %d fixtures %d were held against those before", len(after.Show.Patch), len(same))
	}
}
