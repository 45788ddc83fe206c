package waiver

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
)

// TestWhatATargetCovers: the whole of what a finding is about, or one part of it; a show is the show, whatever it is called.
func TestWhatATargetCovers(t *testing.T) {
	of := func(words ...string) (list []finding.Subject) {
		for _, word := range words {
			kind, name, _ := strings.Cut(word, " ")
			list = append(list, finding.Subject{Kind: kind, Name: name})
		}
		return list
	}
	for _, c := range []struct {
		about, found []finding.Subject
		whole, want  bool
	}{
		{of("cue 4"), of("cue 4"), true, true}, {of("cue 4"), of("cue 5"), true, false}, {of("cue 4"), of("channel 4"), true, false}, {of("cue 4"), of("channel 1", "cue 4"), true, false},
		{of("cue 4"), of("channel 1", "cue 4"), false, true}, {of("cue 4"), of("channel 1", "cue 5"), false, false}, {of("channel 1", "cue 4"), of("channel 1", "cue 4"), true, true},
		{of("show Sunday"), of("show Monday"), true, true}, {of("show Sunday"), of("show Monday"), false, true}, {of("show Sunday"), of("cue Sunday"), false, false}, {of("cue Sunday"), of("show Sunday"), true, false},
		{nil, of("cue 4"), true, false}, {nil, nil, true, false},
	} {
		if got := (&Target{Known: true, About: c.about, Whole: c.whole}).covers(&finding.Finding{Subjects: c.found}); got != c.want {
			t.Errorf("%v (the whole: %t) covers %v: %t", c.about, c.whole, c.found, got)
		}
	}
}
