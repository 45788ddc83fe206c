package lint

import (
	"fmt"
	"slices"

	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema/typical"
)

// Measure is the line of the program up to where rules begin: the facts of one
// show, as rules see them. The result of loading comes along, so that what is
// wrong with the files is not lost, and so do sentences about what the numbers rest on:
// a meter, or what is assumed.
func Measure(path string, o Options) (*facts.Measured, loaders.Result, []string, error) {
	setup, err := SetUp(path, o)
	if err != nil {
		return nil, loaders.Result{}, nil, err
	}
	loaded, err := o.load(path, setup)
	if err != nil {
		return nil, loaded, nil, err
	}
	read := calibrate.Run(loaded.Show) // as in every run: what was measured beats what a data sheet says
	loaded.Show = read.Show
	loaded.Findings = append(loaded.Findings, read.Findings...)
	loaded.Notes = append(loaded.Notes, read.Notes...)
	rests := read.Notes
	doubts := slices.DeleteFunc(typical.Doubts(loaded.Show), func(d typical.Doubt) bool { return d.All })
	if len(doubts) > 0 {
		words := fmt.Sprintf("%d things that these numbers rest on are assumed or inferred, such as %s", len(doubts), doubts[0].Rests)
		if len(doubts) == 1 {
			words = "these numbers rest on what is assumed or inferred: " + doubts[0].Rests
		}
		rests = append(rests, words+"; check says what would turn with it")
	}
	return facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)), loaded, rests, nil
}
