package convert

import (
	"encoding/json"
	"fmt"

	"github.com/cueproof/cueproof/loaders/format"
)

// Kinds lists the kinds of loss in the order in which they are told.
var Kinds = []Kind{format.Dropped, format.Guessed, format.Defaulted}

// Words are what stands above the losses of a kind.
var Words = map[Kind]string{
	format.Dropped: "Dropped, as there is no word for it:", format.Guessed: "Guessed:", format.Defaulted: "Filled in:",
}

// Count adds up the losses of a kind.
func Count(list []Loss, kind Kind) int {
	n := 0
	for _, l := range list {
		if l.Kind == kind {
			n += l.Count
		}
	}
	return n
}

// lossFile writes the losses as JSON.
func lossFile(list []Loss) ([]byte, error) {
	file := struct {
		Schema string       `json:"schema"`
		Counts map[Kind]int `json:"counts"`
		Losses []Loss       `json:"losses"`
	}{"cueproof-losses-1", map[Kind]int{}, list}
	if file.Losses == nil {
		file.Losses = []Loss{}
	}
	for _, kind := range Kinds {
		file.Counts[kind] = Count(list, kind)
	}
	data, err := json.MarshalIndent(file, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write the losses: %w", err)
	}
	return append(data, '\n'), nil
}
