package plan

import (
	"slices"

	"github.com/cueproof/cueproof/internal/cores"
)

// maxPairs bounds the proofs of changes together with one before them.
const maxPairs = 40

// Alone tells for each step which others have to be made with it by somebody who
// takes it out of the plan, by their places in it, itself included. A step that does
// not hold without those before it brings one of them along, or, if one is not
// enough, all: with those it was proved.
func (p *Plan) Alone() ([][]int, error) {
	along := make([][]int, len(p.Steps))
	var sets [][]int
	for i, s := range p.Steps {
		if s.Before == p.Start {
			along[i] = []int{i}
			continue
		}
		sets = append(sets, []int{i})
	}
	if err := p.settle(sets, along); err != nil {
		return nil, err
	}
	sets = nil
	for i := range along {
		for j := i - 1; along[i] == nil && j >= 0 && len(sets) < maxPairs; j-- {
			sets = append(sets, []int{j, i})
		}
	}
	if err := p.settle(sets, along); err != nil {
		return nil, err
	}
	for i := range along {
		if along[i] == nil { // all that come before it
			for j := range along[:i+1] {
				along[i] = append(along[i], j)
			}
		}
	}
	return along, nil
}

// settle proves sets of steps on the show as it is, without the rest. The first
// that holds becomes what its last step brings along, unless that is settled.
func (p *Plan) settle(sets [][]int, along [][]int) error {
	holds := make([]bool, len(sets))
	err := cores.Jobs(len(sets), func(n int) {
		var c cure
		missing := map[string]bool{}
		for _, i := range sets[n] {
			c.edits = slices.Concat(c.edits, p.Steps[i].cure.edits)
			for identity := range Identities(p.Steps[i].Cleared) {
				missing[identity] = true
			}
		}
		proved, ok := p.prover.prove(p.Start, c)
		for j := range proved.Cleared {
			delete(missing, proved.Cleared[j].Identity())
		}
		holds[n] = ok && len(missing) == 0
	})
	for n, set := range sets {
		if last := set[len(set)-1]; holds[n] && along[last] == nil {
			along[last] = set
		}
	}
	return err
}
