package plan

import (
	"testing"

	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// The numbers that are free are those that somebody would find who counts up.
func TestTheNextFreeNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		taken, next := map[int]bool{}, free{}
		for _, number := range rapid.SliceOf(rapid.IntRange(-3, 30)).Draw(t, "taken") {
			taken[number], next[number] = true, number+1
		}
		for _, from := range rapid.SliceOf(rapid.IntRange(-3, 30)).Draw(t, "asked") {
			want := from
			for taken[want] {
				want++
			}
			taken[want] = true
			if got := next.from(from); got != want {
				t.Fatalf("from %d on %d is free, not %d", from, want, got)
			}
		}
	})
}
