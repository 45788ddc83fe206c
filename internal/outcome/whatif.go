package outcome

import "github.com/cueproof/cueproof/internal/finding"

// WhatIf is what would be if something of a show were otherwise. Nothing is written.
type WhatIf struct {
	Question   string // as it was understood
	Come, Go   []finding.Finding
	Worse      []finding.Finding // their Before says what they were
	Losses     []Loss            // by place, the deepest first
	StandIn    *StandIn          // nil: none helps, or none is needed
	Rests      []string          // assumed or inferred numbers that the lux rest on
	Unmeasured string            // why nobody can say who loses light; "" if somebody can
}

// Loss is the light that falls on somebody, before and after, in the cues in which it gets
// less.
type Loss struct {
	Place string
	Back  bool // on head and shoulders from behind, not on the face
	Cues  []LossIn
}

// LossIn is a loss in one cue, in lux.
type LossIn struct {
	Cue     string
	Was, Is float64
}

// StandIn is the nearest lamp that gives much of the light back which the worst place lost,
// proved on a copy.
type StandIn struct {
	Channel  int
	Purpose  string
	AwayM    *float64 // from the lamp that it stands in for; nil where nobody says where they hang
	Place    string
	In       LossIn  // was: before anything happened; is: without the stand-in
	Lux      float64 // with it
	From, To float64 // its level, in percent
	New      int     // findings that it brings by itself
}
