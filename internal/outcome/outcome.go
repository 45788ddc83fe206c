// Package outcome is what one run has to say, as plain values: what was found, what
// to change, what could not be told.
//
// Judging and planning fill it in, reports print it. Nothing here computes. A
// newcomer's mistake would be to give a value here a method that decides something.
package outcome

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/source"
)

// Readiness is the verdict on a show, the first word of a report about it.
type Readiness string

// The verdicts.
const (
	Ready      Readiness = "READY"
	WithCare   Readiness = "READY WITH CARE"
	Hold       Readiness = "HOLD"
	NotChecked Readiness = "NOT CHECKED"

	Early Readiness = "WORKING OUT CHANGES" // no verdict yet: what was found, before changes were tried
)

// Report is everything that one run has to say.
type Report struct {
	Version string
	Rules   []finding.Rule // the cards of all rules that ran, by id
	Shows   []Show         // in the order they were asked for
	Base    *Base          // how they stand against an earlier state; nil: the run knows of none
}

// Show is what was found about one show.
type Show struct {
	Path    string // as it was named
	Name    string // as the show calls itself, or ""
	Verdict Readiness
	Because string   // one or two sentences
	Since   []string // what a history file says of last time, in sentences

	Keys map[string]string // keys of earlier runs that a history knows, with those of today

	Findings []finding.Finding // sorted for machines; without what MinLevel left out
	LeftOut  int               // findings below the level that was asked for

	Tasks      []Order            // what only a person can give, such as a notice; nothing of it is proved
	Orders     []Order            // proved changes, gravest consequence first; to be done in this order
	NeedPerson []*finding.Finding // those of Findings that no proved change clears, gravest first
	Minutes    float64            // the time that the actions were chosen for; 0 for all there is
	Undone     []Order            // proved changes for which there is no time; they count in the order of the whole plan
	Tried      *Trial             // a corrected copy that was written; nil: none was asked for
	Untried    int                // findings with a change that was not tried: there were too many, or it gives anew what another one gave
	Gaps       []Gap              // what could not be checked, gravest first
	ByEye      []string           // what no program can see

	Assumed    []string        // what nobody has read and a verdict may turn with, each a phrase behind "it rests on"
	Looked     []finding.Tally // how often each rule looked, by rule id
	Files      []*source.File  // what was read, by name
	Notes      []string        // how it was read: dialects, encodings
	Unreadable bool            // something that was there could not be read
	Receipt    *Receipt        // what was checked; nil in a report made by hand
	Scene      *scene.Scene    // what its pictures are drawn from; nil: none were asked for
	Room, Day  string          // what the show says of where and when, for the head of a page
}

// Order is one thing to do: a change that was made on a copy of the show, and
// what the rules said of that copy.
type Order struct {
	Do          string // an order to a person, with the exact new value
	Why         string // the gravest of the findings that it clears
	Effect      string // what the room or the stream would see
	Undo        string // how to go back
	Caution     string // for what can hurt somebody
	Consequence finding.Consequence
	Level       finding.Level
	Rules       []string // the rules whose findings it clears
	Cures       []string // the keys of the findings that it clears
	Causes      int      // new findings, each milder than what is cleared and among Worse
	Place       source.Place
	Minutes     Minutes              // how long it takes
	Fix         []source.Replacement // what has to be written for it, in order of place; nil if the files have no room for it
	FixBrings   []string             // the orders of other changes that are in it, without which it does not hold
	Or          string               // another change that clears as much, or ""

	Edits []Edit  // the same as data, so that nobody has to parse a sentence
	Where Where   // the farthest that somebody has to go for it
	Who   string  // who does it
	After []int   // the orders that have to be done before it, counted from 1
	Worse []Price // what it makes worse elsewhere, by more than the margin of the rule that says so
	First bool    // of a task: orders rest on what it asks for, so it comes before all of them
}

// Edit is one value that an order changes.
type Edit struct {
	What     string   // channels, cue, screen, camera, surface, circuit, type, segment, place, air
	Names    []string // of what is changed; channels as ranges: "1-3"
	Cue      string   // in which cue, if it stands in one
	Segment  string   // in which part of the running order, if it is a drive that stands there
	Key      string   // the key of the format
	From, To any      // float64, string or bool; nil: it is not there
	Unit     string
}

// Where is where something is done.
type Where string

// The places, nearest first.
const (
	Booth  Where = "booth"  // at the console, or in the export and the running order
	Device Where = "device" // in the menu of a camera or a screen
	Stage  Where = "stage"  // by hand, on the floor
	Ladder Where = "ladder" // by hand, at height
)

// Price is what an order makes worse: a finding that was there before it and has
// a worse value after it.
type Price struct {
	Key, Rule string
	Message   string // what is said of it after the change
	Was, Is   float64
	Unit      string
}

// Trial is a corrected copy of a show that was written, read again and checked:
// what was to be cleared is gone, and nothing new came.
type Trial struct {
	Folder  string
	Changes int      // in it; 0: there was nothing to write, and no folder was made
	Cleared int      // findings
	LeftOut []string // changes that the files have no room for, each with why
	Stale   []string // where a meter was held in a light that the changes have made another: those readings are not in it
}

// Minutes is a rough range of time.
type Minutes struct{ Least, Most float64 }

// Gap is a piece of missing knowledge, with what it keeps us from checking.
type Gap struct {
	Missing     string   // a phrase: "the white balance of the camera \"front\""
	Rules       []string // the rules that could not tell
	Subjects    int      // about how many things
	Consequence finding.Consequence
	Key         string     // where it would be written: "patch: purpose"; "" if nobody knows
	File        string     // and in which of the files that were read, by its last name
	Each        []GapCount // the same, rule by rule: by consequence, then by rule and kind
}

// GapCount is about how many things of a kind one rule could not tell.
type GapCount struct {
	Rule, Kind  string // the kind is that of the finding's first subject; "" for a rule without anything to look at
	Subjects    int
	Consequence finding.Consequence
}
