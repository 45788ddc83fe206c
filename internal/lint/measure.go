package lint

import (
	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
)

// Measure is the line of the program up to where rules begin: the facts of one
// show, as rules see them. The result of loading comes along, so that what is
// wrong with the files is not lost.
func Measure(path string, o Options) (*facts.Measured, loaders.Result, error) {
	setup, err := SetUp(path, o)
	if err != nil {
		return nil, loaders.Result{}, err
	}
	loaded, err := o.load(path, setup)
	if err != nil {
		return nil, loaded, err
	}
	read := calibrate.Run(loaded.Show) // as in every run: what was measured beats what a data sheet says
	loaded.Show = read.Show
	loaded.Findings = append(loaded.Findings, read.Findings...)
	loaded.Notes = append(loaded.Notes, read.Notes...)
	return facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)), loaded, nil
}
