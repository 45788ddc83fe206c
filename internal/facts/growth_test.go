package facts

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// TestCostGrowsLikeTheShow doubles what a show repeats, and holds what resolving and
// measuring take from the heap against the double. Bytes are counted and no seconds, so
// a busy machine says the same.
func TestCostGrowsLikeTheShow(t *testing.T) {
	const most = 2.3
	patch := func(n int, line func(i int) string) string {
		list := make([]string, n)
		for i := range list {
			list[i] = line(i)
		}
		return strings.Join(list, ",")
	}
	const types = `{"name": "par", "source": "white-led", "white_k": 5600, "flux_lm": 9000, "beam_deg": 20, "field_deg": 30, "slots": 4}`
	for name, show := range map[string]func(n int) string{
		"fixtures of one channel": func(n int) string {
			return fmt.Sprintf(`{"types": [%s], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`, types,
				patch(n, func(i int) string {
					return fmt.Sprintf(`{"channel": 1, "type": "par", "address": "%d.%d"}`, 1+i/100, 1+5*(i%100))
				}))
		},
		"fixtures at one address": func(n int) string {
			return fmt.Sprintf(`{"types": [%s], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "all", "level": 50}]}]}`, types,
				patch(n, func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "1.1"}`, i+1) }))
		},
		"fixtures on impossible universes": func(n int) string {
			return fmt.Sprintf(`{"types": [%s], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "all", "level": 50}]}]}`, types,
				patch(n, func(i int) string {
					return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "%d.1"}`, i+1, 70_000+i)
				}))
		},
		"cues": func(n int) string {
			return fmt.Sprintf(`{"types": [%s], "patch": [%s], "cues": [%s]}`, types,
				patch(50, func(i int) string { return fmt.Sprintf(`{"channel": %d, "type": "par", "purpose": "wash"}`, i+1) }),
				patch(n, func(i int) string {
					return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "%d-%d", "level": %d}]}`, i+1, 1+i%40, 5+i%40, 1+i%99)
				}))
		},
		"back lights": func(n int) string {
			return fmt.Sprintf(`{"room": {"cameras": [{"name": "c", "x": 0, "y": -10, "z": 2}], "places": [{"name": "p", "x": 0, "y": 1, "head_m": 1.6}]}, "types": [%s], "patch": [%s],
				"cues": [{"cue": 1, "set": [{"channels": "all", "level": 50}]}, {"cue": 2, "set": [{"channels": "1-20", "level": 0}]}], "order": [{"name": "s", "start_cue": 1, "people": ["p"]}]}`, types,
				patch(n, func(i int) string {
					return fmt.Sprintf(`{"channel": %d, "type": "par", "purpose": "back", "hung_at": {"x": %d, "y": 6, "z": 5}, "aimed_at": "p"}`, i+1, i%20)
				}))
		},
		"channels that no fixture has": func(n int) string {
			return fmt.Sprintf(`{"types": [%s], "patch": [{"channel": 1, "type": "par", "purpose": "wash"}], "cues": [%s]}`, types,
				patch(n, func(i int) string {
					return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1,%d-%d", "level": %d}]}`, i+1, 100+i, 9000+i, 1+i%99)
				}))
		},
	} {
		t.Run(name, func(t *testing.T) {
			once, twice := heapOf(t, show(300)), heapOf(t, show(600))
			if ratio := float64(twice) / float64(once); ratio > most {
				t.Errorf("%d bytes, twice as many %d: %.2f times", once, twice, ratio)
			}
		})
	}
}

// TestALongListIsSharedBySubjects tells many subjects what one list says: all of them know
// as much as if each had been told phrase by phrase, and they share one list.
func TestALongListIsSharedBySubjects(t *testing.T) {
	var list []string
	for i := range 100 {
		list = append(list, fmt.Sprintf("light on place %d", i))
	}
	facts := []string{"over_face_stops", "over_darkest_stops"}
	for name, own := range map[string][]string{"nothing": nil, "a screen": {"the drive"}, "a place": {"light on place 7", "the drive"}} {
		var told, each unknowns
		for _, u := range []*unknowns{&told, &each} {
			u.said = make([]factNote, 0, len(facts))
			u.lackAll(facts, own...)
		}
		told.lackSame(facts, list)
		each.lackAll(facts, list...)
		if !slices.EqualFunc(told.said, each.said, factNote.is) {
			t.Errorf("%s: %v, and phrase by phrase %v", name, told.said, each.said)
		}
		for _, note := range told.said {
			if shared := told.said[0].why; len(own) == 0 {
				if &note.why[0] != &list[0] {
					t.Errorf("%s: %s has a copy of the list", name, note.fact)
				}
			} else if &note.why[0] != &shared[0] {
				t.Errorf("%s: %s has a list of its own", name, note.fact)
			}
		}
	}
}

// heapOf is what resolving and measuring a show take from the heap.
func heapOf(t *testing.T, text string) uint64 {
	t.Helper()
	show := readShow(t, text)
	Measure(show, tracking.Resolve(show)) // what is worked out once is not counted
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	m := Measure(show, tracking.Resolve(show))
	runtime.ReadMemStats(&after)
	listed := 0
	for _, f := range m.Fixtures {
		listed += len(f.Twins) + len(f.Overlaps)
	}
	if most := 10 * len(m.Fixtures); listed > most {
		t.Errorf("%d fixtures are named beside others, %d are enough", listed, most)
	}
	return after.TotalAlloc - before.TotalAlloc
}

// TestWhatIsSaidOfAllCuesStandsOnce counts the lists of what is missing that the cues of
// a show without a patch keep; and what is told of one of them later stays its own.
func TestWhatIsSaidOfAllCuesStandsOnce(t *testing.T) {
	cues := make([]string, 200)
	for i := range cues {
		cues[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": 50}]}`, i+1)
	}
	show := readShow(t, fmt.Sprintf(`{"cues": [%s]}`, strings.Join(cues, ",")))
	m := Measure(show, tracking.Resolve(show))
	lists := map[*factNote]bool{}
	for i := range m.Looks {
		for _, u := range []*unknowns{m.Looks[i].self(), m.Changes[i].self(), m.Cues[i].self()} {
			if len(u.said) > 0 {
				lists[&u.said[0]] = true
			}
		}
	}
	if len(lists) == 0 || len(lists) > 10 { // of each kind the first, the last and what lies between
		t.Errorf("%d cues keep %d lists", len(cues), len(lists))
	}
	m.Looks[7].lacks("output_pct", "another lamp")
	if with, other := m.Looks[7].Why("output_pct"), m.Looks[8].Why("output_pct"); len(with) != len(other)+1 {
		t.Errorf("one lacks %q now, and its neighbour %q", with, other)
	}
}

// TestWhatIsMissingOfAStayIsOneList: of somebody who stands there for many cues the same is
// unknown in each, and it is put together once.
func TestWhatIsMissingOfAStayIsOneList(t *testing.T) {
	cues := make([]string, 50)
	for i := range cues {
		cues[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": 50}]}`, i+1)
	}
	show := readShow(t, fmt.Sprintf(`{"room": {"places": [{"name": "p"}]}, "types": [{"name": "par", "source": "white-led", "slots": 4}], "patch": [{"channel": 1, "type": "par"}],
		"order": [{"name": "song", "start_cue": 1, "people": ["p"]}], "cues": [%s]}`, strings.Join(cues, ",")))
	m := Measure(show, tracking.Resolve(show))
	if len(m.People) != len(cues) {
		t.Fatalf("%d people in %d cues", len(m.People), len(cues))
	}
	lists := map[*factNote]bool{}
	for _, p := range m.People {
		if why, first := p.Why("held_hue_s"), m.People[0].Why("held_hue_s"); len(why) == 0 || &why[0] != &first[0] {
			t.Fatalf("cue %s lacks %q in a list of its own", p.Number, why)
		}
		lists[&p.said[0]] = true
	}
	if len(lists) > 10 { // the first, the last, and what lies between
		t.Errorf("in %d cues there are %d lists of all that is said of somebody", len(cues), len(lists))
	}
}

// TestLooksThatSayTheSameHaveItOnce counts what the looks, people and changes of an evening keep that comes back to four looks
// and of which nobody knows the light: as many values as there are kinds, and not as cues.
func TestLooksThatSayTheSameHaveItOnce(t *testing.T) {
	cues := make([]string, 200)
	for i := range cues {
		cues[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": %d}]}`, i+1, 20*(1+i%4))
	}
	show := readShow(t, fmt.Sprintf(`{"types": [{"name": "par", "source": "white-led", "white_k": 5600}], "patch": [{"channel": 1, "type": "par", "address": "1.1"}],
		"room": {"places": [{"name": "p"}]}, "order": [{"name": "song", "kind": "song", "start_cue": 1, "duration_s": 3000, "people": ["p"]}], "cues": [%s]}`, strings.Join(cues, ",")))
	m := Measure(show, tracking.Resolve(show))
	kept := map[string]map[any]bool{}
	keep := func(what string, value any) {
		if kept[what] == nil {
			kept[what] = map[any]bool{}
		}
		kept[what][value] = true
	}
	for i, l := range m.Looks {
		keep("looks", l.lookLight)
		keep("words of segments", l.segmentWords)
		keep("what is about looks", l.around)
		keep("changes", m.Changes[i].changeLight)
		keep("moves", m.Changes[i].changeMoves)
		keep("flashes", m.back.evening.Flashes[i])
		keep("channels that no fixture has", m.Cues[i].notPatched)
	}
	for _, p := range m.People {
		if p.FaceLux != nil {
			t.Fatal("the light on a face is known")
		}
		keep("people", p.personLight)
		keep("what is missing of people", &p.said[0])
	}
	const most = 15 // the first, the last, four looks and the ways between them, and of each what is told where nobody else is compared with it
	for what, values := range kept {
		if len(values) > most {
			t.Errorf("%s: %d of %d cues, at most %d", what, len(values), len(cues), most)
		}
	}
	if len(m.People) != len(cues) || len(kept["changes"]) < 4 || len(kept["looks"]) < 4 {
		t.Errorf("%d people, %d changes and %d looks", len(m.People), len(kept["changes"]), len(kept["looks"]))
	}
}

// TestTypesOfTheirOwnLackTheSame counts the lists of what is missing of fixtures, each of a type of its own that nobody
// described; each is told the name of its own all the same.
func TestTypesOfTheirOwnLackTheSame(t *testing.T) {
	const many = 200
	patch := make([]string, many)
	for i := range patch {
		patch[i] = fmt.Sprintf(`{"channel": %d, "type": "wash %d", "address": "1.%d"}`, i+1, i, 1+i)
	}
	show := readShow(t, fmt.Sprintf(`{"types": [{"name": "par"}], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 50}]}]}`, strings.Join(patch, ","), many))
	m := Measure(show, tracking.Resolve(show))
	lists := map[*factNote]bool{}
	for i, f := range m.Fixtures {
		lists[&f.said[0]] = true
		if got, want := f.Why("pwm_hz"), fmt.Sprintf(`the PWM frequency of the type "wash %d"`, i); !slices.Equal(got, []string{want}) {
			t.Errorf("channel %d lacks %q, want %q", f.Channel, got, want)
		}
	}
	if len(lists) > 4 {
		t.Errorf("%d lists of %d fixtures", len(lists), many)
	}
}

// TestStretchesOfOneLookAreTakenOver changes one of many cues of which nobody tells the times, each of which is a stretch of
// its own: all others are the very same in the changed copy.
func TestStretchesOfOneLookAreTakenOver(t *testing.T) {
	cues := make([]string, 100)
	for i := range cues {
		cues[i] = fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": %d}]}`, i+1, 20*(1+i%4))
	}
	show := readShow(t, fmt.Sprintf(`{"types": [{"name": "par", "source": "white-led", "white_k": 5600, "flux_lm": 5000}], "patch": [{"channel": 1, "type": "par", "purpose": "wash"}], "cues": [%s]}`, strings.Join(cues, ",")))
	looks := tracking.Resolve(show)
	m := Measure(show, looks)
	changed, err := schema.Apply(show, []source.Edit{{At: show.Cues[40].Set[0].At, Field: "level", Value: 33.0}})
	if err != nil {
		t.Fatal(err)
	}
	again := MeasureAgain(changed, tracking.Again(changed, looks), m.Keep())
	was, now := m.back.evening.Stretches, again.back.evening.Stretches
	if len(was) != len(cues) || len(now) != len(cues) {
		t.Fatalf("%d and %d stretches of %d cues", len(was), len(now), len(cues))
	}
	for i := range now {
		if (now[i] == was[i]) != (i != 40) {
			t.Errorf("the stretch of cue %d is the same: %v", i+1, now[i] == was[i])
		}
	}
}
