// Package ascii reads console data as ASCII text: the "ASCII Text Representation
// for Lighting Console Data", version 3.0 of 1992 (USITT).
//
// In goes the text of a file; out come its patch, cues, groups and submasters as
// they are listed, each value with its place, and a [format.Problem] for everything that
// could not be read or is unusual. Only part of the standard could be read; what
// this reader takes from memory is marked "from memory" where it stands, and no
// problem ever claims the standard for it. A newcomer's mistake would be to work
// out looks here: whether a channel that a cue does not list goes off or keeps
// its level is not in the file, see [File.Tracks].
package ascii

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// File is what one text holds.
type File struct {
	Ident        string
	Manufacturer string
	Console      string
	Clears       [][]string // lower-case tokens
	Sets         [][]string
	Patch        []DimmerPatch
	Groups       []*Item
	Cues         []*Item // sorted by page and number
	Subs         []*Item
	Extensions   []Extension
	Ended        bool // EndData was there
	Problems     []format.Problem
}

// DimmerPatch is one dimmer of a channel.
type DimmerPatch struct {
	Page, Channel, Dimmer int
	Level                 float64 // 0 to 1: full unless limited
	At, ChannelAt         format.Span
	DimmerAt              format.Span
}

// Universe returns the universe and slot of the dimmer in a DMX512 world, both
// from 1. The format knows dimmers only; this is what everybody does.
func (p DimmerPatch) Universe() (universe, slot int) {
	const slots = 512
	return (p.Dimmer-1)/slots + 1, (p.Dimmer-1)%slots + 1
}

// Item is a cue, group or submaster.
type Item struct {
	Number   schema.CueNumber
	Page     int         // 0 if none is given
	At       format.Span // of its line
	NumberAt format.Span
	Whole    Part    // what stands above the first part
	Parts    []*Part // numbered ones, in ascending order
	Followon *Time
	Link     *Link

	kind     string
	nameless bool // the number could not be read
	numbered map[int]*Part
	claimed  map[int]int // channel -> the last numbered part that sets it
}

// Part is a part of an item, or what belongs to the whole of it.
type Part struct {
	Number   int
	At       format.Span
	Text     []Text
	Up, Down *Fade
	Levels   []Level     // as listed; a channel stands in it once
	index    map[int]int // channel -> its place in Levels
}

// set adds a level; it reports whether the channel had one before, which it replaces.
func (p *Part) set(l Level) (again bool) {
	if i, known := p.index[l.Channel]; known {
		p.Levels[i] = l
		return true
	}
	if p.index == nil {
		p.index = map[int]int{}
	}
	p.index[l.Channel] = len(p.Levels)
	p.Levels = append(p.Levels, l)
	return false
}

// Text is one line of words.
type Text struct {
	Words string
	Raw   string // with what stands behind an exclamation mark
	At    format.Span
}

// Level is what a channel is set to, 0 to 1.
type Level struct {
	Channel   int
	Level     float64
	Raw       string
	At        format.Span // of the pair
	ChannelAt format.Span
	LevelAt   format.Span
}

// Time is a number of seconds.
type Time struct {
	Seconds float64
	At      format.Span
}

// Fade is a fade time with its delay; Delay is 0 if none is written.
type Fade struct {
	Time
	Delay   float64
	DelayAt format.Span
}

// Link is the cue that runs next instead of the next one in the order of numbers
// (from memory).
type Link struct {
	Number schema.CueNumber
	Page   int
	At     format.Span
}

// Extension is data of a manufacturer, which is skipped.
type Extension struct {
	Keyword string
	Lines   []int
	At      format.Span
}

// Effective returns the level of each channel, in the order of the file: of a
// channel in several parts the part with the highest number wins.
func (i *Item) Effective() []Level {
	list := append([]Level(nil), i.Whole.Levels...)
	at := map[int]int{}
	for n, l := range list {
		at[l.Channel] = n
	}
	for _, part := range i.Parts {
		for _, l := range part.Levels {
			if n, known := at[l.Channel]; known {
				list[n] = l
				continue
			}
			at[l.Channel] = len(list)
			list = append(list, l)
		}
	}
	return list
}

// Tracks guesses whether a channel that a cue does not list keeps its level. A
// writer that lists a channel at zero needed to say "off", so the rest is kept; one
// that never does left out what is off. zero is the first level at zero, nil if
// there is none. It is a guess: the file does not say.
func (f *File) Tracks() (keep bool, zero *Level, cue *Item) {
	for _, cue := range f.Cues {
		for _, part := range append([]*Part{&cue.Whole}, cue.Parts...) {
			for i := range part.Levels {
				if part.Levels[i].Level == 0 {
					return true, &part.Levels[i], cue
				}
			}
		}
	}
	return false, nil, nil
}

// keywords of the format, in lower case.
var (
	basicWords     = []string{"clear", "console", "enddata", "ident", "manufacturer", "patch", "set"}
	primaryWords   = []string{"cue", "group", "sub"}
	secondaryWords = []string{"chan", "down", "followon", "link", "part", "text", "up"}
)

// allowed lists the secondary keywords that an item may have (from memory).
var allowed = map[string]string{
	"cue":   "chan text up down followon link part",
	"group": "chan text part",
	"sub":   "chan text up down",
}

func mayHave(item, keyword string) bool {
	return slices.Contains(strings.Fields(allowed[item]), keyword)
}
