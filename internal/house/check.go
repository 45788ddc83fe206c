package house

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// Known is what a house file may name.
type Known struct {
	Rules        []finding.Rule                  // the cards of all rules, before any is switched off
	FileProblems []string                        // "file/unknown-key"...
	Binding      []string                        // those of them that nobody can accept
	Edition      int                             // the newest edition of the rules
	Columns      func(map[string][]string) error // says what is wrong with further names of columns
}

// Check says what a house file names that there is not; the error is [Mistakes].
func (h *House) Check(known Known) error {
	c := checker{h: h, cards: map[string]*finding.Rule{}}
	for i := range known.Rules {
		card := &known.Rules[i]
		c.cards[card.ID] = card
		c.ids = append(c.ids, card.ID)
		if pack := packOf(card.ID); !slices.Contains(c.packs, pack) {
			c.packs = append(c.packs, pack)
		}
	}
	if h.Edition > known.Edition {
		c.say(h.editionAt, "this program has the rules up to edition %d; take another program, or another edition", known.Edition)
	}
	c.limits()
	for _, s := range h.Switches {
		if c.cards[s.Of] == nil && !slices.Contains(c.packs, s.Of) {
			c.unknownRule(s.Of, "rule or pack", slices.Concat(c.ids, c.packs), s.At)
		}
	}
	for _, l := range h.Levels {
		if c.cards[l.Rule] == nil {
			c.unknownRule(l.Rule, "rule", c.ids, l.At)
		}
	}
	for _, w := range h.Waivers {
		if slices.Contains(known.Binding, w.Rule) || c.cards[w.Rule] != nil && c.cards[w.Rule].Binding {
			c.say(w.Place, "%s cannot be accepted: it is told as long as it is so", w.Rule)
			continue
		}
		if c.cards[w.Rule] == nil && !slices.Contains(known.FileProblems, w.Rule) {
			c.say(w.Place, "there is no rule %q.%s", source.Shorten(w.Rule), hint(w.Rule, slices.Concat(c.ids, known.FileProblems)))
		}
	}
	c.columns(known.Columns)
	if len(c.found) > 0 {
		return c.found
	}
	return nil
}

// checker gathers all mistakes of one house file.
type checker struct {
	h          *House
	cards      map[string]*finding.Rule
	ids, packs []string
	found      Mistakes
}

func (c *checker) say(at source.Place, format string, args ...any) {
	c.found = append(c.found, c.h.mistake(at, format, args...))
}

func (c *checker) unknownRule(id, kind string, names []string, at source.Place) {
	if strings.HasPrefix(id, "file/") {
		c.say(at, "%s is a problem of a file and no rule: put it right, or accept it with a waiver", source.Shorten(id))
		return
	}
	c.say(at, "there is no %s %q.%s", kind, source.Shorten(id), hint(id, names))
}

func (c *checker) limits() {
	for _, l := range c.h.Limits {
		card := c.cards[l.Rule]
		if card == nil {
			if l.first {
				c.unknownRule(l.Rule, "rule", c.ids, l.RuleAt)
			}
			continue
		}
		var names []string
		for _, limit := range card.Limits {
			names = append(names, limit.Name)
		}
		switch {
		case l.empty:
			c.say(l.RuleAt, "no limit of %s is named here; %s", l.Rule, has(names))
		case !slices.Contains(names, l.Name):
			c.say(l.At, "the rule %s has no limit %q.%s It has %s", l.Rule, source.Shorten(l.Name), hint(l.Name, names), has(names))
		}
	}
}

func has(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

func (c *checker) columns(check func(map[string][]string) error) {
	wrong := false
	for _, column := range c.h.Columns {
		if err := check(map[string][]string{column.Name: column.Names}); err != nil {
			c.say(column.At, "%v", err)
			wrong = true
		}
	}
	if wrong || len(c.h.Columns) == 0 {
		return
	}
	if err := check(c.h.Aliases()); err != nil {
		c.say(c.h.columnsAt, "%v", err)
	}
}

// hint asks for the name that was probably meant. A name that is longer than any
// is not looked for: the search takes as long as the name is.
func hint(name string, known []string) string {
	const longest = 100
	if len(name) > longest {
		return ""
	}
	return spelling.Hint(name, known)
}

func packOf(id string) string {
	pack, _, _ := strings.Cut(id, "/")
	return pack
}

// Switched says whether the house switches a rule off or on, and which line of
// the file says so; by is nil when none does. A line about the rule counts before
// one about its pack.
func (h *House) Switched(id string) (on bool, by *Switch) {
	on = true
	for _, wanted := range []string{packOf(id), id} {
		for i := range h.Switches {
			if s := &h.Switches[i]; s.Of == wanted {
				on, by = s.On, s
			}
		}
	}
	return on, by
}
