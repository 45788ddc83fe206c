package match_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// evening is a show before it is dressed: names are ids, and stay with their things.
type evening struct {
	places, segments []string
	at               map[string][2]float64
	cues             []cue
}

type cue struct {
	id, title, segment string
	levels             map[int]float64
	aim                string
}

const channels = 12

// draw invents an evening of which some looks repeat, as a refrain does.
func draw(t *rapid.T) evening {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	e := evening{at: map[string][2]float64{}}
	for i := range 3 + r.IntN(4) {
		name := fmt.Sprintf("place-%d", i)
		e.places = append(e.places, name)
		e.at[name] = [2]float64{float64(i) - 3, float64(r.IntN(5))}
	}
	for i := range 2 + r.IntN(4) {
		segment := fmt.Sprintf("segment-%d", i)
		e.segments = append(e.segments, segment)
		for k := range 2 + r.IntN(5) {
			c := cue{id: fmt.Sprintf("%d.%d", i, k), title: fmt.Sprintf("title %d %d", i, k), segment: segment, aim: e.places[r.IntN(len(e.places))]}
			if r.IntN(3) == 0 {
				c.title = ""
			}
			c.levels = map[int]float64{}
			for channel := range channels {
				if r.IntN(2) == 0 {
					c.levels[channel+1] = float64(10 * (1 + r.IntN(10)))
				}
			}
			if len(e.cues) > 0 && r.IntN(4) == 0 { // a refrain
				old := e.cues[r.IntN(len(e.cues))]
				c.levels, c.aim = old.levels, old.aim
			}
			e.cues = append(e.cues, c)
		}
	}
	return e
}

// dress gives names and numbers to an evening: what it returns are the things, and the
// names that the ids have got.
func (e evening) dress(step float64, name func(id string) string) (match.Things, map[string]string) {
	called := map[string]string{}
	show := &schema.Show{Room: &schema.Room{}}
	for _, id := range e.places {
		called[id] = name(id)
		x, y := e.at[id][0], e.at[id][1]
		show.Room.Places = append(show.Room.Places, &schema.Place{Name: called[id], X: &x, Y: &y})
	}
	for channel := range channels {
		show.Patch = append(show.Patch, &schema.Fixture{Channel: channel + 1, Address: fmt.Sprintf("1.%d", 1+channel)})
	}
	for _, id := range e.segments {
		called[id] = name(id)
		show.Order = append(show.Order, &schema.Segment{Name: called[id], Kind: "song"})
	}
	for i, c := range e.cues {
		number, err := schema.ParseCueNumber(fmt.Sprint(step * float64(i+1)))
		if err != nil {
			panic(err)
		}
		called[c.id] = number.String()
		one := &schema.Cue{Number: number, Segment: called[c.segment], Tracking: "release", Name: c.title}
		for channel := range channels {
			level := schema.Level(c.levels[channel+1])
			one.Set = append(one.Set, &schema.Setting{Channels: fmt.Sprint(channel + 1), Told: &schema.Told{Level: &level, Aim: &schema.Aim{Name: called[c.aim]}}})
		}
		show.Cues = append(show.Cues, one)
	}
	return match.Of(show, tracking.Resolve(show)), called
}

func keep(id string) string { return id }

// TestDressAloneChangesNothing: other numbers, titles and names, and every thing is
// found again.
func TestDressAloneChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := draw(t)
		then, old := e.dress(1, keep)
		retitled := e
		retitled.cues = slices.Clone(e.cues)
		step := rapid.SampledFrom([]float64{1, 2, 10, 0.5}).Draw(t, "step")
		if rapid.Bool().Draw(t, "retitle cues") {
			for i := range retitled.cues {
				retitled.cues[i].title = fmt.Sprintf("other %d", i)
			}
		}
		now, called := retitled.dress(step, func(id string) string { return "new " + id })
		pairs := match.Pair(then, now)
		for kind, ids := range map[string][]string{"place": e.places, "segment": e.segments, "cue": idsOf(e.cues)} {
			for _, id := range ids {
				link, ok := pairs.Now(kind, old[id])
				if !ok || link.Name != called[id] {
					t.Fatalf("%s %s is %v (%t) now and should be %s", kind, old[id], link, ok, called[id])
				}
				if back, ok := pairs.Then(kind, called[id]); !ok || back.Name != old[id] {
					t.Fatalf("and back it is %v (%t)", back, ok)
				}
			}
		}
	})
}

func idsOf(cues []cue) []string {
	var ids []string
	for _, c := range cues {
		ids = append(ids, c.id)
	}
	return ids
}

// TestNeverAWrongPair: whatever is renamed, swapped, taken out, put in and turned up,
// what is paired is the same thing, or one that nobody could have told from it.
func TestNeverAWrongPair(t *testing.T) {
	paired, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		e := draw(t)
		then, old := e.dress(1, keep)
		edited := e
		edited.cues, edited.places, edited.segments = slices.Clone(e.cues), slices.Clone(e.places), slices.Clone(e.segments)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "edits"), 2))
		for range rapid.IntRange(0, 6).Draw(t, "how many") {
			i, j := r.IntN(len(edited.cues)), r.IntN(len(edited.cues))
			switch r.IntN(6) {
			case 0:
				if len(edited.cues) > 3 {
					edited.cues = slices.Delete(edited.cues, i, i+1)
				}
			case 1:
				edited.cues[i], edited.cues[j] = edited.cues[j], edited.cues[i]
			case 2:
				c := cue{id: fmt.Sprint("in ", len(edited.cues), r.Int()), segment: edited.cues[i].segment, aim: e.places[0], levels: map[int]float64{}}
				for channel := range channels {
					c.levels[channel+1] = float64(r.IntN(101))
				}
				edited.cues = slices.Insert(edited.cues, i, c)
			case 3:
				c := &edited.cues[i]
				levels := map[int]float64{}
				for channel, level := range c.levels {
					levels[channel] = level
				}
				levels[1+r.IntN(channels)] = float64(r.IntN(101))
				c.levels = levels
			case 4:
				edited.cues[i].title = fmt.Sprint("other ", r.IntN(3))
			case 5:
				if len(edited.places) > 2 {
					k := r.IntN(len(edited.places))
					edited.places = slices.Delete(edited.places, k, k+1)
				}
			}
		}
		// Names are handed round: what is called like another thing was called before.
		names := map[string]string{}
		for _, list := range [][]string{edited.places, edited.segments} {
			turned := slices.Clone(list)
			if r.IntN(2) == 0 {
				r.Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
			}
			for i := range list {
				names[list[i]] = turned[i]
			}
		}
		now, called := edited.dress(1, func(id string) string { return names[id] })
		pairs := match.Pair(then, now)
		exact := func(things match.Things, kind, name string) uint64 {
			for _, thing := range things[kind] {
				if thing.Name == name {
					return thing.Exact
				}
			}
			return 0
		}
		for kind, ids := range map[string][]string{"place": e.places, "cue": idsOf(e.cues)} {
			for _, id := range ids {
				link, ok := pairs.Now(kind, old[id])
				if !ok {
					continue
				}
				if kind == "cue" {
					all++
				}
				if link.Name == called[id] {
					if kind == "cue" {
						paired++
					}
					continue
				}
				twin := false // of two that were one to look at, either may be the one that was edited
				for _, other := range ids {
					twin = twin || called[other] == link.Name && exact(then, kind, old[other]) == exact(then, kind, old[id])
				}
				if kind == "cue" && link.Name == old[id] && len(then[kind]) == len(now[kind]) {
					continue // made anew under its number: for people that is the cue
				}
				if x := exact(then, kind, old[id]); !twin && x != exact(now, kind, link.Name) {
					t.Fatalf("%s %s is taken for %s (by %s) and is %q", kind, old[id], link.Name, link.How, called[id])
				}
			}
		}
	})
	t.Logf("%d of %d pairs are those of the ids; the rest look the same to the last number", paired, all)
}
