package plan

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
)

// TestWhatACureMayCost: findings are written as a letter, their level (e, w or n) and how much they matter (h hurts somebody, d leaves
// them in the dark, c is wrong on camera, r in the room), with an amount where one is told. A cure has to clear what asks for it; what it
// makes worse has to be milder than what it clears, or no error and far less than it, and hurts nobody.
func TestWhatACureMayCost(t *testing.T) {
	levels := map[byte]finding.Level{'e': finding.Error, 'w': finding.Warning, 'n': finding.Note}
	matter := map[byte]finding.Consequence{'h': finding.Hurt, 'd': finding.Dark, 'c': finding.Camera, 'r': finding.Room}
	list := func(text string) (found []finding.Finding) {
		for word := range strings.FieldsSeq(text) {
			f := finding.Finding{Rule: "a/" + word[:1], Verdict: finding.Fail, Level: levels[word[1]], Consequence: matter[word[2]], Subjects: []finding.Subject{{Kind: "place", Name: word[:1]}}}
			if len(word) > 3 {
				f.Amount = &finding.Amount{Fact: "person.face_lx", Value: float64(word[3] - '0'), Unit: "lx", Worse: finding.More}
			}
			found = append(found, f)
		}
		return found
	}
	for _, c := range []struct {
		about, had, has string
		free            bool
		want            bool
		worse, caused   int
	}{
		{"it clears what asks for it", "aec", "", false, true, 0, 0},
		{"it clears nothing", "aec", "aec", false, false, 0, 0},
		{"it clears something else", "aec bwc", "aec", false, false, 0, 0},
		{"it leaves the rest as it was", "aec bwc cnr", "bwc cnr", false, true, 0, 0},
		{"a warning for an error", "aec", "bwc", false, true, 1, 1},
		{"a warning for an error, where nothing may be lost", "aec", "bwc", true, false, 1, 1},
		{"a note for a warning", "awc", "bnc", false, true, 1, 1},
		{"an error for an error", "aec", "bec", false, false, 1, 1},
		{"an error for a warning", "awc", "bec", false, false, 1, 1},
		{"a warning for a warning, in the same way", "awc", "bwc", false, false, 1, 1},
		{"a warning for a warning, which matters less", "awc", "bwr", false, true, 1, 1},
		{"a warning for a warning, which matters more", "awr", "bwc", false, false, 1, 1},
		{"a note for a note, which matters less", "anc", "bnr", false, true, 1, 1},
		{"somebody is hurt by a note", "aec", "bnh", false, false, 1, 1},
		{"two warnings for an error", "aec", "bwc cwc", false, true, 2, 2},
		{"three warnings for an error", "aec", "bwc cwc dwc", false, false, 3, 3},
		{"three warnings for four errors", "aec bec cec dec", "ewc fwc gwc", false, true, 3, 3},
		{"three notes for an error and one more", "aec bwc", "dnr enr fnr", false, false, 3, 3},
		{"three notes for as many, an error among them", "aec bwc cwc", "dnr enr fnr", false, true, 3, 3},
		{"three notes for twice as many warnings", "awc bwc cwc dwc ewc fwc", "hnr inr jnr", false, true, 3, 3},
		{"three notes for five warnings", "awc bwc cwc dwc ewc", "hnr inr jnr", false, false, 3, 3},
		{"three notes for four warnings", "awc bwc cwc dwc", "hnr inr jnr", false, false, 3, 3},
		{"one is worse than it was", "aec bwc3", "bwc5", false, true, 1, 0},
		{"one is as it was", "aec bwc3", "bwc3", false, true, 0, 0},
		{"one is better than it was", "aec bwc3", "bwc2", false, true, 0, 0},
		{"an error is worse than it was", "aec bec3", "bec5", false, false, 1, 0},
	} {
		had, has := list(c.had), list(c.has)
		first := map[string]bool{}
		for i := range had {
			first[had[i].Identity()] = true
		}
		p := &prover{first: first}
		p.Least = finding.Note
		show := read(t, wordy)
		s, ok := p.hold(&proof.State{Show: show, Found: had}, cure{rule: "a/a", free: c.free, way: found, asked: []string{had[0].Identity()}}, &proof.State{Show: show, Found: has})
		if ok != c.want || len(s.Worse) != c.worse && ok || s.caused != c.caused && ok {
			t.Errorf("%s: it holds: %v, and makes %d worse, of which %d are new; want %v, %d, %d", c.about, ok, len(s.Worse), s.caused, c.want, c.worse, c.caused)
		}
		if cleared := len(s.Cleared); ok && cleared != len(had)-strings.Count(c.has, "wc3")-strings.Count(c.has, "wc5")-strings.Count(c.has, "wc2") && !strings.Contains(c.about, "the rest") {
			t.Errorf("%s: it clears %d of %d", c.about, cleared, len(had))
		}
	}
}

// TestWhatACureOnlyReveals: what was only not looked for before is no price.
func TestWhatACureOnlyReveals(t *testing.T) {
	lamp := finding.Finding{Rule: "patch/patched-never-used", Subjects: []finding.Subject{{Kind: "channel", Name: "7"}}}
	for _, c := range []struct {
		cure cure
		f    finding.Finding
		want bool
	}{
		{cure{rule: "a/b"}, finding.Finding{Rule: "people/skin-not-told"}, true}, {cure{rule: "a/b"}, lamp, true}, {cure{rule: "a/b"}, finding.Finding{Rule: "a/c"}, false},
		{cure{rule: "people/no-key"}, finding.Finding{Rule: "white/key-camera"}, true}, {cure{rule: "people/no-key"}, finding.Finding{Rule: "white/rendering"}, false}, {cure{rule: "people/no-back"}, finding.Finding{Rule: "white/key-camera"}, false},
	} {
		if got := c.cure.reveals(&c.f); got != c.want {
			t.Errorf("a cure of %s only reveals %s: %v", c.cure.rule, c.f.Rule, got)
		}
	}
}
