package plan

import (
	"cmp"
	"slices"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// chore is how long one change of a kind takes somebody who knows the rig, in
// minutes. All of them are common practice, no source: a rough range to choose
// by, and nothing to promise anybody.
type chore struct {
	words       string
	least, most float64
	where       outcome.Where
}

// The chores. This is the one place where they stand.
var (
	atConsole  = chore{"a value at the console", 0.5, 1, outcome.Booth}
	inPaper    = chore{"a word in the export or the running order", 0.5, 2, outcome.Booth}
	remoteLamp = chore{"the aim or the zoom of a moving lamp", 1, 3, outcome.Booth}
	inMenu     = chore{"the menu of a camera or a screen", 1, 2, outcome.Device}
	ofPictures = chore{"other pictures for a screen", 1, 5, outcome.Device}
	atStand    = chore{"a lamp that stands on the floor", 3, 8, outcome.Stage}
	replug     = chore{"a plug", 5, 10, outcome.Stage}
	readdress  = chore{"a new address at the fixture", 5, 15, outcome.Ladder}
	atHeight   = chore{"a lamp at height, by people who may, with a lift", 10, 30, outcome.Ladder}
)

// by says who does what is done in a place: near doors a volunteer is sent to the
// console and to nothing that hangs or carries mains.
var by = map[outcome.Where]string{
	outcome.Booth:  "you, at the console",
	outcome.Device: "whoever runs the cameras and screens",
	outcome.Stage:  "the person responsible for the stage: leave it and ask",
	outcome.Ladder: "the person responsible for the rig: leave it and ask",
}

// choreOf tells which chore an edit is: by the thing it changes and the field.
func (w *words) choreOf(edit source.Edit) chore {
	fixture := w.fixture(edit.At)
	switch {
	case w.isCamera(edit.At), w.isSurface(edit.At):
		return inMenu
	case edit.Field == "content_pct":
		return ofPictures
	case edit.Field == "circuit":
		return replug
	case edit.Field == "hung_at" && w.raisedTo(edit) > 0:
		return atStand
	case w.swaps(edit), edit.Field == "hung_at", edit.Field == "hung_on":
		return atHeight
	case slices.Contains(paperFields, edit.Field):
		return inPaper
	case edit.Field == "aim":
		return remoteLamp
	case fixture == nil:
		return atConsole
	case edit.Field == "address", edit.Field == "mode":
		if w.stands(fixture) {
			return atStand
		}
		return readdress
	case schema.TellsColour(edit.Field):
		return atConsole
	case w.moves(fixture) && edit.Field != "filter":
		return remoteLamp
	case w.stands(fixture):
		return atStand
	}
	return atHeight
}

// paperFields are corrected where the show is written down, and nothing moves.
var paperFields = []string{"type", "purpose", "name", "duration_s", "mood", "channel", "start_cue", "meant", "people", "lead", "walks", "segment", "facing_deg", "mount", "palette", "kind"}

// stands reports whether a fixture is known to stand on the floor.
func (w *words) stands(f *schema.Fixture) bool { return f.Mount == "stands" }

// wheres are the places, nearest first.
var wheres = []outcome.Where{outcome.Booth, outcome.Device, outcome.Stage, outcome.Ladder}

// whereOf is the farthest that somebody has to go for edits.
func (w *words) whereOf(edits []source.Edit) outcome.Where {
	farthest := 0
	for _, edit := range edits {
		farthest = max(farthest, slices.Index(wheres, w.choreOf(edit).where))
	}
	return wheres[farthest]
}

func (w *words) isSurface(at source.Ref) bool {
	return w.show.Room != nil && slices.ContainsFunc(w.show.Room.Surfaces, func(s *schema.Surface) bool { return s.At == at })
}

func (w *words) moves(f *schema.Fixture) bool {
	return slices.ContainsFunc(w.show.Types, func(t *schema.Type) bool { return t.Name == f.Type && t.Moving != nil && *t.Moving })
}

// minutes is how long an action takes: what has to be done with hands counts for
// every thing, and values at the console for every cue that they are typed into.
func (w *words) minutes(edits []source.Edit) outcome.Minutes {
	type job struct {
		chore chore
		at    any
	}
	done := map[job]bool{}
	var sum outcome.Minutes
	for _, edit := range edits {
		j := job{w.choreOf(edit), edit.At}
		if cue := w.cues[edit.At]; cue != nil {
			j.at = cue.Number
		}
		if !done[j] {
			done[j] = true
			sum.Least += j.chore.least
			sum.Most += j.chore.most
		}
	}
	return sum
}

// within chooses from the steps those that fit into a time, by harm avoided: the
// gravest consequence first, then the most findings for each minute, counting the
// longer end of each range. What is chosen is proved again without the rest; a
// step that needs one of the rest is left undone too, and its time given to
// others. The order of the plan is kept.
func (p *prover) within(minutes float64, start *proof.State, steps []Step) (chosen, undone []Step, err error) {
	order := make([]int, len(steps))
	for i := range order {
		order[i] = i
	}
	worth := func(s Step) float64 { return float64(len(s.Cleared)) / s.Minutes.Most }
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(
			cmp.Compare(gravestOf(steps[a].Cleared), gravestOf(steps[b].Cleared)),
			cmp.Compare(worth(steps[b]), worth(steps[a])),
		)
	})
	refused := map[int]bool{}
	for i := range steps {
		refused[i] = p.Near && steps[i].risky()
	}
	for {
		left := minutes
		taken := map[int]bool{}
		for _, i := range order {
			if !refused[i] && steps[i].Minutes.Most <= left {
				left -= steps[i].Minutes.Most
				taken[i] = true
			}
		}
		again, failed, err := p.replay(start, pick(steps, taken, true))
		if err != nil {
			return nil, nil, err
		}
		if failed < 0 {
			return again, pick(steps, taken, false), nil
		}
		for i, n := 0, 0; i < len(steps); i++ { // the place of the one that failed, in the whole plan
			if !taken[i] {
				continue
			}
			if n == failed {
				refused[i] = true
			}
			n++
		}
	}
}

// risky reports whether a step is worse to do in haste than the fault is to live
// with: somebody climbs for what only looks wrong, or works at a plug at all.
func (s *Step) risky() bool {
	words := wordsOf(s.Before)
	words.findCues(s.cure.edits)
	plug := func(e source.Edit) bool { return words.choreOf(e) == replug }
	return slices.ContainsFunc(s.cure.edits, plug) || slices.Index(wheres, words.whereOf(s.cure.edits)) >= slices.Index(wheres, outcome.Stage) && gravestOf(s.Cleared) > finding.Dark
}

func pick(steps []Step, taken map[int]bool, want bool) []Step {
	var list []Step
	for i, s := range steps {
		if taken[i] == want {
			list = append(list, s)
		}
	}
	return list
}

func gravestOf(found []finding.Finding) finding.Consequence {
	gravest := finding.Later
	for _, f := range found {
		gravest = min(gravest, f.Consequence)
	}
	return gravest
}
