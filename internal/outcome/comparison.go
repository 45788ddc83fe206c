package outcome

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// Past is a finding of an earlier run, as far as a report keeps it.
type Past struct {
	Fingerprint string // as [finding.Finding.Fingerprint] gives it
	Key         string
	Rule        string
	Level       finding.Level
	Verdict     finding.Verdict
	Consequence finding.Consequence
	Subjects    []finding.Subject
	With        []finding.Subject // the others of a clash
	Detail      string
	Cues        []string        // in which it showed
	Amount      *finding.Amount // what was measured then; nil for nothing
	Message     string
	Accepted    bool        // somebody had decided to live with it
	File        string      // "" for nowhere
	Span        source.Span // in the file as it was then

	Untold bool // it is gone because nobody can tell any more
	Review Why  // it is gone because of what somebody changed that is no light: it is not fixed
}

// Why says why a finding is gone that nobody put right.
type Why string

// The reasons.
const (
	SwitchedOff  Why = "off"    // its rule looks no more
	LimitChanged Why = "limit"  // a limit of its rule is another
	MeantNow     Why = "intent" // the show says by now that it is meant
)

// Counts says how two states differ. What is accepted, and what nobody could
// tell in either, is not counted. Untold is what was found and cannot be told now.
type Counts struct{ New, Worse, Fixed, Better, Before, Untold, Review int }

// Change is how a show stands against an earlier state of it, beside its findings.
type Change struct {
	Counts Counts
	Gone   []Past   // what was there and is no more
	Dark   []Dark   // what could be checked and cannot now
	Lost   []string // lists that lost so much that the file may be a wrong one, in sentences
	Review []Review // what somebody has to look at that is neither light nor fault
}

// Failed reports whether what could be told before cannot be told now.
func (c *Change) Failed() bool { return len(c.Dark) > 0 || len(c.Lost) > 0 }

// Dark is a check that could be made before and cannot be made now.
type Dark struct {
	Rule  string
	About []string // of what it can no longer tell, as people say it
	Why   string   // in a phrase: what is missing or gone
}

// Review is a change of what is judged and how, which no rule can call right or wrong.
type Review struct {
	What  string // rule, limit, level, waiver, intent
	Text  string // in a sentence
	Place source.Place
}

// LookChange is how the stage after one cue differs. Of a cue that only one side
// has, nothing else is said.
type LookChange struct {
	OldCue, NewCue string // "" if that side has no such cue
	Name           string // of the cue, as it is now if it is there
	Output         Step   // light of the stage rig as percent of everything at full; two nils for no change
	OldHues        string // in words; "" if unknown or none
	NewHues        string
	Levels         []ChannelStep // in percent; a lamp that is dark has 0
	Colours        []ColourStep
	Haze           []ChannelStep // of machines, in percent
	Others         []OtherStep   // whatever else people see
	Faces          []FaceStep    // in lux
}

// Step is a number then and now; nil is unknown, or not there.
type Step struct{ Old, New *float64 }

// ChannelStep is a level of channels that change alike, as "11-14".
type ChannelStep struct {
	Channels string
	Step
}

// ColourStep is a change of colour of channels that are lit on both sides, in
// words: "3200 K", "a hue of 250 degrees".
type ColourStep struct{ Channels, Old, New string }

// OtherStep is a change of what is neither light nor colour: where a lamp points, its
// effect, how a look fades in. Of names what it is of: channels, a screen, a part
// of the cue, or nothing. A side that has none of it is "".
type OtherStep struct{ What, Of, Old, New string }

// FaceStep is the light on the face at a place.
type FaceStep struct {
	Place string
	Step
}
