package history

import (
	"fmt"
	"maps"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/waiver"
)

// clears are the orders of a run: each clears what was found about these places.
func clears(r Run, places ...string) Run {
	for _, list := range places {
		var keys []string
		for _, name := range strings.Fields(list) {
			keys = append(keys, failure(name).Key())
		}
		r.Orders = append(r.Orders, keys)
	}
	return r
}

// TestWhatBecameOfOrders: one is done when nothing that it would have cleared is found any more; one that clears a part of
// what another cleared is no new one.
func TestWhatBecameOfOrders(t *testing.T) {
	const rule = " (white/key-mix)"
	then := clears(runWith("2026-03-01", "a", "b", "c"), "a b", "c")
	for about, c := range map[string]struct {
		now  Run
		want string
	}{
		"all done":             {runWith("2026-03-08"), "2 of 2 orders of last time done."},
		"nothing done":         {clears(runWith("2026-03-08", "a", "b", "c"), "a b", "c"), "0 of 2 orders of last time done; 2 open: place a" + rule + ", place c" + rule + "."},
		"a half is none":       {clears(runWith("2026-03-08", "b"), "b"), "1 of 2 orders of last time done; 1 open: place b" + rule + "."},
		"a new one":            {clears(runWith("2026-03-08", "c", "d"), "c", "d"), "1 of 2 orders of last time done; 1 open: place c" + rule + "; 1 new: place d" + rule + "."},
		"four new ones":        {clears(runWith("2026-03-08", "d", "e", "f", "g"), "d", "e", "f", "g"), "2 of 2 orders of last time done; 4 new: place d" + rule + ", place e" + rule + ", place f" + rule + " and 1 more."},
		"of what is not there": {clears(runWith("2026-03-08"), "d"), "2 of 2 orders of last time done."},
	} {
		h := empty(t)
		h.Add(then)
		said := saved(t, h).Since(c.now)
		if got := said[len(said)-1]; got != c.want {
			t.Errorf("%s: %q, not %q", about, got, c.want)
		}
	}
	h := empty(t)
	h.Add(clears(runWith("2026-03-01", "a"), "a"))
	blind := runWith("2026-03-08")
	blind.Blind = map[string]bool{"white/key-mix": true}
	if said := h.Since(blind); said[len(said)-1] != "0 of 1 order of last time done; 1 open: one of which nobody can tell any more"+rule+"." {
		t.Errorf("of which nobody can tell: %q", said)
	}
	h = empty(t)
	h.Add(runWith("2026-03-01", "a"))
	if said := h.Since(runWith("2026-03-08", "a")); len(said) != 1 {
		t.Errorf("without orders there is nothing to say of them: %q", said)
	}
}

// withCues is a run of a service with cues whose looks are of these contents, by their numbers.
func withCues(day string, looks map[string]uint64) Run {
	r := runWith(day)
	r.Show.StartsAt, r.Things = "10:00", match.Things{}
	for n := 1; n <= 9; n++ {
		if content := looks[fmt.Sprint(n)]; content > 0 {
			r.Things["cue"] = append(r.Things["cue"], match.Thing{Name: fmt.Sprint(n), Exact: content, Core: content})
		}
	}
	return r
}

// TestAThirdOfTheCuesIsGone: more than one, and of the same service.
func TestAThirdOfTheCuesIsGone(t *testing.T) {
	cues := func(day string, n int) Run {
		looks := map[string]uint64{}
		for i := range n {
			looks[fmt.Sprint(i+1)] = uint64(100 + i)
		}
		return withCues(day, looks)
	}
	for _, c := range []struct {
		was, is int
		want    string
	}{{6, 6, ""}, {6, 5, ""}, {6, 4, "2 of the 6 cues"}, {7, 5, ""}, {7, 4, "3 of the 7 cues"}, {2, 1, ""}, {3, 1, "2 of the 3 cues"}, {4, 6, ""}} {
		h := empty(t)
		h.Add(cues("2026-03-01", c.was))
		if got := h.Lost(cues("2026-03-08", c.is)); (got == "") != (c.want == "") || !strings.HasPrefix(got, c.want) {
			t.Errorf("%d of %d: %q", c.is, c.was, got)
		}
		another := cues("2026-03-08", c.is)
		another.Show.StartsAt = "18:00"
		if got := h.Lost(another); got != "" {
			t.Errorf("%d of %d of another service: %q", c.is, c.was, got)
		}
	}
	if got := empty(t).Lost(cues("2026-03-08", 1)); got != "" {
		t.Errorf("of a first run: %q", got)
	}
}

// TestNamesOfToday: a cue that is called otherwise by now takes along the keys of what was found in it and what waivers
// are about; one that is gone does not.
func TestNamesOfToday(t *testing.T) {
	in := func(r Run, cues ...string) Run {
		r.Waivers = map[string]waiver.Target{}
		for _, name := range cues {
			about := []finding.Subject{{Kind: "cue", Name: name}}
			r.Findings = append(r.Findings, &finding.Finding{Rule: "white/key-mix", Verdict: finding.Fail, Subjects: about})
			r.Waivers["W-"+name] = waiver.Target{Known: true, About: about, Whole: name == "1"}
		}
		return r
	}
	then := in(withCues("2026-03-01", map[string]uint64{"1": 11, "2": 22, "3": 33, "4": 44}), "1", "2", "3")
	now := in(withCues("2026-03-08", map[string]uint64{"1": 11, "4": 44, "7": 22}), "1", "7")
	now.Waivers = nil
	h := empty(t)
	h.Add(then)
	h = saved(t, h)
	if got, want := h.Keys(now), map[string]string{then.Findings[1].Key(): now.Findings[1].Key()}; !maps.Equal(got, want) {
		t.Errorf("keys of then are now %v, not %v", got, want)
	}
	alone := empty(t)
	alone.Add(in(withCues("2026-03-01", map[string]uint64{"2": 22}), "2"))
	if got, want := alone.Keys(in(withCues("2026-03-08", map[string]uint64{"7": 22}), "7")), map[string]string{then.Findings[1].Key(): now.Findings[1].Key()}; !maps.Equal(got, want) {
		t.Errorf("of all that was found the keys are now %v, not %v", got, want)
	}
	waivers := h.Waivers(now)
	for id, want := range map[string]string{"W-1": "cue 1", "W-2": "cue 7", "W-3": ""} {
		got, known := waivers[id]
		said := ""
		if len(got.About) > 0 {
			said = got.Subject()
		}
		if !known || !got.Known || said != want || got.Whole != (id == "W-1") {
			t.Errorf("%s is about %q by now, not %q: %+v", id, said, want, got)
		}
	}
	now.Show.StartsAt = "18:00" // another service knows what is gone from it
	if got := h.Waivers(now); len(got) != 2 {
		t.Errorf("in another service they are about %v", got)
	}
}

// TestHowOften: the words go up to the tenth time.
func TestHowOften(t *testing.T) {
	for n, want := range map[int]string{1: "first", 2: "second", 10: "tenth", 11: "11th", 22: "22nd"} {
		if got := ordinal(n); got != want {
			t.Errorf("%d is %s, not %s", n, got, want)
		}
	}
}

// TestAddedOntoWhatAnotherAdded: what another run wrote meanwhile stays, and this one comes after it.
func TestAddedOntoWhatAnotherAdded(t *testing.T) {
	h, other := empty(t), empty(t)
	h.Add(runWith("2026-03-08", "a"))
	other.Add(runWith("2026-03-01", "b"))
	data, err := other.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	for about, before := range map[string][]byte{"alone": nil, "onto another": data} {
		text, err := h.Onto(before)
		if err != nil {
			t.Fatal(err)
		}
		both, err := Read(text)
		if err != nil || len(both.kept.Runs) != 1+min(1, len(before)) || both.kept.Runs[len(both.kept.Runs)-1].Date != "2026-03-08" {
			t.Errorf("%s: %+v, %v", about, both.kept.Runs, err)
		}
	}
	if _, err := h.Onto([]byte("{}")); err == nil || !strings.Contains(err.Error(), "no history") {
		t.Errorf("onto what is no history: %v", err)
	}
}

// TestWhereAValueOfTheShowStands: at its key, or else at the show; one that was read from no file stands nowhere.
func TestWhereAValueOfTheShowStands(t *testing.T) {
	file := &source.File{Name: "show.json", Text: `{"date": "2026-03-01"}`}
	if _, ok := source.ParseJSON(file); !ok {
		t.Fatal("no JSON")
	}
	show := runWith("2026-03-01").Show
	if at := keyOf(show, "date"); at.File != nil {
		t.Errorf("of no file: %+v", at)
	}
	show.At = file.Root()
	for key, want := range map[string]string{"date": `"2026-03-01"`, "name": "{"} {
		if at := keyOf(show, key); file.Text[at.Start:at.Stop] != want {
			t.Errorf("%s stands at %q, not %q", key, file.Text[at.Start:at.Stop], want)
		}
	}
}
