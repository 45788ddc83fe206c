package practise

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/ask"
	"github.com/cueproof/cueproof/internal/finding"
)

// Nearness is what is said of an answer in words. Nobody is ranked by it.
type Nearness int

// From far to right.
const (
	Unknown   Nearness = iota // no rule lists anything like it
	NotThat                   // it means something that was not put in
	Near                      // it means something of the kind
	Elsewhere                 // it means what was put in, at another place
	Right
)

// Reply is what is said of an answer.
type Reply struct {
	Is     Nearness
	Fault  *Fault // of a right one
	Before bool   // it was named before
	Left   int    // how many are still to be named or put right
}

// Names are the names that people may say: of places, cameras, surfaces and segments.
func Names(files Files) (names []string, err error) {
	d, err := read(files)
	if err != nil {
		return nil, err
	}
	for _, list := range []string{"places", "cameras", "surfaces", "order"} {
		_, things := d.list(list)
		for _, thing := range things {
			if at, ok := thing.Get("name"); ok {
				if name, ok := at.Any().(string); ok {
					names = append(names, name)
				}
			}
		}
	}
	return names, nil
}

// nearly is how near to the best rule another has to come to be meant too. Ours, from the
// answers of the test.
const nearly = 0.75

// Answer holds what somebody thinks is wrong against what was put in, by the symptoms and
// the title of each rule and by what its recipe says was done. Cards are all rules, names
// those of things of the show.
func (e *Exercise) Answer(words string, cards []finding.Rule, recipes map[string]*Recipe, names []string) (said Reply) {
	cards = slices.Clone(cards)
	for i := range cards {
		if r := recipes[cards[i].ID]; r != nil {
			cards[i].Symptoms = append(slices.Clone(cards[i].Symptoms), r.Fault)
		}
	}
	hits := ask.Rules(words, cards)
	if len(hits) == 0 {
		return said
	}
	said.Is = NotThat
	pack := func(rule string) string { name, _, _ := strings.Cut(rule, "/"); return name }
	for i := range e.Faults {
		planted := &e.Faults[i]
		verdict := NotThat
		if k := slices.IndexFunc(hits, func(h ask.Hit) bool { return h.Rule.ID == planted.Rule }); k >= 0 {
			verdict = Near
			if hits[k].Weight >= nearly*hits[0].Weight {
				verdict = Right
				if !planted.there(words, names) {
					verdict = Elsewhere
				}
			}
		} else if r := recipes[planted.Rule]; pack(hits[0].Rule.ID) == pack(planted.Rule) || r != nil && slices.Contains(slices.Concat(r.Also, r.May), hits[0].Rule.ID) {
			verdict = Near
		}
		if verdict > said.Is || verdict == Right && said.Before && !planted.Named {
			said.Is, said.Fault, said.Before = verdict, planted, planted.Named
		}
	}
	if said.Is == Right {
		said.Fault.Named = true
	}
	for _, planted := range e.Faults {
		if !planted.Named && !planted.Found {
			said.Left++
		}
	}
	return said
}

// there reports whether words name nothing that the fault is not about. Who names no thing
// at all is not wrong about it.
func (p *Fault) there(words string, names []string) bool {
	words = spaced(words)
	named, right := false, false
	for _, name := range names {
		if name != "" && strings.Contains(words, spaced(name)) {
			named = true
			right = right || slices.Contains(p.Names, name)
		}
	}
	return !named || right || len(p.Names) == 0
}

// spaced is a text in small letters with one blank around each word.
func spaced(text string) string {
	return " " + strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" .,;:!?\t\n\"'()", r) }), " ") + " "
}
