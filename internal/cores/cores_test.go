package cores_test

import (
	"errors"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/cueproof/cueproof/internal/cores"
)

func TestTheFirstPanicIsTold(t *testing.T) {
	err := cores.Jobs(40, func(i int) {
		if i%10 == 7 {
			panic(i)
		}
	})
	var panicked *cores.Panic
	if !errors.As(err, &panicked) || panicked.Value != 7 {
		t.Errorf("got %v", err)
	}
}

// A panic of a stretch reaches whoever waits for the job that called it, with the
// value that it had.
func TestAPanicComesThrough(t *testing.T) {
	before := runtime.GOMAXPROCS(4)
	defer runtime.GOMAXPROCS(before)
	err := cores.Jobs(2, func(int) {
		cores.Stretches(1000, func(from, _ int) {
			if from == 0 {
				panic("the first")
			}
		})
	})
	var panicked *cores.Panic
	if !errors.As(err, &panicked) || panicked.Value != "the first" {
		t.Errorf("got %v", err)
	}
}

func TestStretchesCoverEachItemOnce(t *testing.T) {
	before := runtime.GOMAXPROCS(4)
	defer runtime.GOMAXPROCS(before)
	for _, length := range []int{0, 1, 63, 64, 65, 1001} {
		seen := make([]atomic.Int32, length)
		cores.Stretches(length, func(from, to int) {
			for i := from; i < to; i++ {
				seen[i].Add(1)
			}
		})
		for i := range seen {
			if n := seen[i].Load(); n != 1 {
				t.Fatalf("of %d items, number %d was done %d times", length, i, n)
			}
		}
	}
}
