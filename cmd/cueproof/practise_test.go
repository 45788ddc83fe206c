package main

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/practise"
)

// What a command reads of an exercise may be gone when it writes: somebody deleted the memory
// meanwhile. That is said, and is no fault of the program; no memory is made for it.
func TestTheMemoryIsGoneMeanwhile(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "lesson")
	p := &practice{guard: &outfile.Guard{}}
	err := p.remembered(folder, func(*practise.Memory, *practise.Exercise) { t.Error("there is no exercise to change") })
	var misuse usage
	if !errors.As(err, &misuse) {
		t.Errorf("%v is not told as misuse", err)
	}
	if _, err := os.Stat(p.memoryFile(folder)); err == nil {
		t.Error("a memory is made of nothing")
	}
}
