package plan

import (
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
)

// hold holds the state behind a cure against the one before it. What gets worse by
// more than its margin, and what is new, is a price if it is milder than what is
// cleared; and so it is if it is no error and what is cleared is more than twice as much:
// a note never vetoes the cure of an error. Otherwise the cure is refused.
func (p *prover) hold(from *proof.State, c cure, after *proof.State) (s Step, ok bool) {
	had, has := from.Found, after.Found
	if len(p.Files) > 0 {
		had, has = slices.Concat(p.names(from), had), slices.Concat(p.names(after), has)
	}
	before, now := byIdentity(had), byIdentity(has)
	words := wordsOf(from)
	words.findCues(c.edits)
	s = Step{cure: c, Before: from, After: after, Minutes: words.minutes(c.edits)}
	for i := range had {
		f := &had[i]
		if identity := f.Identity(); f.Verdict == finding.Fail && f.Accepted == nil && f.Level.AtLeast(p.Least) && now[identity] == nil && p.first[identity] {
			s.Cleared = append(s.Cleared, *f)
		}
	}
	if len(s.Cleared) == 0 || slices.ContainsFunc(c.asked, func(identity string) bool { return now[identity] != nil }) {
		return s, false
	}
	if c.way == found && !slices.ContainsFunc(s.Cleared, func(f finding.Finding) bool { return f.Rule == c.rule }) {
		return s, false
	}
	level, got, lost := worst(s.Cleared), 0, 0
	missing := map[string]bool{} // what is asked for already
	for i := range had {
		for _, phrase := range had[i].Missing {
			missing[phrase] = true
		}
		if alike := had[i].Alike; alike != nil {
			for _, phrase := range slices.Concat(alike.Missing...) {
				missing[phrase] = true
			}
		}
	}
	gravest, milder, milderPrices, priced := gravestOf(s.Cleared), true, true, 0
	names := strings.HasPrefix(c.rule, "file/") // with the right name more is seen, which was there before
	for i := range has {
		f := &has[i]
		if f.Accepted != nil {
			continue
		}
		was := before[f.Identity()]
		revealed := names || c.reveals(f)
		if revealed && !names && f.Verdict == finding.Open {
			continue // it is asked for among what cannot be told
		}
		if was == nil && f.Verdict == finding.Open && !slices.ContainsFunc(f.Missing, func(phrase string) bool { return !missing[phrase] }) {
			continue // nobody could tell before either
		}
		price := outcome.Price{Key: f.Key(), Rule: f.Rule, Message: f.Message}
		switch {
		case was == nil || f.Things() > was.Things():
			s.caused++
			if f.Amount != nil {
				price.Is, price.Unit = f.Amount.Value, f.Amount.Unit
			}
		case was.Amount == nil || f.Amount == nil || was.Amount.Fact != f.Amount.Fact || f.Amount.Compare(*was.Amount) <= 0:
			continue
		default:
			price.Was, price.Is, price.Unit = was.Amount.Value, f.Amount.Value, f.Amount.Unit
		}
		s.Worse = append(s.Worse, price)
		milderPrices = milderPrices && (revealed || !f.Level.AtLeast(level))
		s.priced += truth(!c.bares(f))
		priced += truth(!revealed)
		worth := level == finding.Error && priced <= len(s.Cleared) || milderPrices && 2*priced <= len(s.Cleared)
		if priced > mostPrices && !worth {
			return s, false
		}
		even := f.Level == level && level != finding.Error && f.Consequence >= gravest // as grave, and it matters no more
		if !revealed && (f.Level.AtLeast(level) && !even || f.Consequence == finding.Hurt) {
			return s, false
		}
		if revealed {
			continue
		}
		milder = milder && f.Consequence > gravest
		if f.Level == level && f.Consequence == gravest {
			lost += weightOf(f.Level) // the same kind of fault again: what is cleared has to be far more
		}
		lost += weightOf(f.Level)
	}
	for i := range s.Cleared {
		got += weightOf(s.Cleared[i].Level)
	}
	if c.free && len(s.Worse) > 0 {
		return s, false
	}
	return s, names || lost < got || milder && lost == got
}

// mostPrices is how many things an order may make worse: with more of them it is no cure
// that anybody would choose in haste, unless it mends as many, an error among them, or twice
// as many that are all graver (common practice, no source).
const mostPrices = 2

// reveals reports whether a finding was only not looked for before a cure: the white of a face
// that was in the dark, what the cause of a cure hides, a lamp that no cue lights beside one that
// it lights, or for whom a face that is seen now would be too dark, which the room has never told.
func (c *cure) reveals(f *finding.Finding) bool {
	if f.Rule == "people/skin-not-told" {
		return true
	}
	if c.bares(f) {
		return true
	}
	if c.rule == "people/no-key" && strings.HasPrefix(f.Rule, "white/key-") {
		return true
	}
	rules, ok := reveals[c.cause]
	return ok && strings.HasPrefix(f.Rule, rules)
}

// bares reports whether a finding is about a lamp that no cue lights, put out with one that a
// cure lights.
func (c *cure) bares(f *finding.Finding) bool {
	channel, _ := strconv.Atoi(nameOf(f, "channel"))
	return f.Rule == "patch/patched-never-used" && !slices.ContainsFunc(c.edits, func(e source.Edit) bool { return slices.Contains(e.Only, channel) })
}

// clears reports whether a cure does what it is for, by what is left of the rule that asks.
func (p *prover) clears(from *proof.State, c *cure, now []finding.Finding) bool {
	left := Identities(now)
	if slices.ContainsFunc(c.asked, func(identity string) bool { return left[identity] }) {
		return false
	}
	return c.way != found || slices.ContainsFunc(from.Found, func(f finding.Finding) bool {
		return f.Rule == c.rule && f.Verdict == finding.Fail && f.Accepted == nil && !left[f.Identity()]
	})
}

// weightOf is what findings of a level count against those of another (common
// practice, no source: a level is worth several of the one below it).
func weightOf(level finding.Level) int {
	switch level {
	case finding.Error:
		return 16
	case finding.Warning:
		return 4
	}
	return 1
}

func byIdentity(found []finding.Finding) map[string]*finding.Finding {
	index := make(map[string]*finding.Finding, len(found))
	for i := range found {
		index[found[i].Identity()] = &found[i]
	}
	return index
}
