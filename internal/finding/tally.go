package finding

// Tally is how often one rule looked, and what came of it.
type Tally struct {
	Rule     string
	Subjects int      // what it should have looked at
	Fails    int      // what is not as it should be
	Open     int      // what it could not tell
	None     []string // when it had nothing to look at: what the show would have to give
	Meant    []Answer // what it would have said of what is done on purpose
}

// Answer is something that was not said, because it is meant.
type Answer struct {
	Intent   string
	Subjects []Subject
	Cue      string
}

// Within reports whether it was given in a cue, in a segment or at a place, as
// far as its names tell: what is said of a whole look is said of everybody in it.
func (a Answer) Within(kind, name string) bool {
	if kind == "cue" {
		return a.Cue == name
	}
	told := false
	for _, n := range a.Subjects {
		if n.Kind == kind {
			if n.Name == name {
				return true
			}
			told = true
		}
	}
	return !told
}
