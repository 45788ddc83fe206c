package stage

import (
	"slices"
)

// AddMissing adds a phrase for what is missing to a list in which each stands once;
// "" is nothing missing.
func AddMissing(list []string, phrase string) []string {
	if phrase == "" || slices.Contains(list, phrase) {
		return list
	}
	return append(list, phrase)
}

// Missing gathers what is missing of many things, each phrase once and in the order in
// which it comes: a rig that nobody described takes no longer than one that is known.
type Missing struct {
	Phrases []string
	known   map[string]struct{} // of a list that is long
}

// Add adds phrases; "" is nothing missing.
func (m *Missing) Add(phrases ...string) {
	const long = 32 // up to there it is quicker to look through the list
	for _, phrase := range phrases {
		if len(m.Phrases) < long {
			m.Phrases = AddMissing(m.Phrases, phrase)
			continue
		}
		if m.known == nil {
			m.known = map[string]struct{}{"": {}}
			for _, p := range m.Phrases {
				m.known[p] = struct{}{}
			}
		}
		if _, known := m.known[phrase]; !known {
			m.known[phrase] = struct{}{}
			m.Phrases = append(m.Phrases, phrase)
		}
	}
}
