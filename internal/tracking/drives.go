package tracking

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/schema"
)

// Drive is what a screen does in a look.
type Drive struct {
	schema.Drive
	By int // index of the look that set it
}

// Drives are what the screens do that were told anything, by their names. Looks share them,
// so they are never changed: a map for each of thousands of looks would take more room than
// all else that is known of a look.
type Drives []*Drive

// Of is what a screen was told; false if it was told nothing.
func (d Drives) Of(screen string) (Drive, bool) {
	if at, told := d.find(screen); told {
		return *d[at], true
	}
	return Drive{}, false
}

func (d Drives) find(screen string) (int, bool) {
	return slices.BinarySearchFunc(d, screen, func(drive *Drive, screen string) int { return strings.Compare(drive.Screen, screen) })
}

// with is a list with a screen doing something else.
func (d Drives) with(drive Drive) Drives {
	at, told := d.find(drive.Screen)
	if told {
		d = slices.Clone(d)
		d[at] = &drive
		return d
	}
	return slices.Insert(slices.Clip(d), at, &drive)
}

// does reports whether screens do the same, whoever told them.
func (d Drives) does(as Drives) bool {
	return slices.EqualFunc(d, as, func(a, b *Drive) bool {
		return a.Screen == b.Screen && sameNumber(a.DrivePct, b.DrivePct) && slices.Equal(a.Palette, b.Palette) && sameNumber(a.ContentPct, b.ContentPct) && a.Content == b.Content
	})
}

// applyScreens returns what the screens do behind the cue.
func applyScreens(cue *schema.Cue, index int, drives Drives) Drives {
	for _, told := range cue.Screens {
		before, _ := drives.Of(told.Screen)
		drives = drives.with(over(told, before, index))
	}
	return drives
}

// showSegments puts on the screens what the running order says of a segment, for as
// long as it lasts: it wins over cues before the segment, and loses to those in it.
func showSegments(looks []Look) {
	var shown Drives // of the screens that the segment names
	for i := range looks {
		look := &looks[i]
		look.Drives = look.carried
		if look.Segment == nil || len(look.Segment.Screens) == 0 {
			continue
		}
		begins, again := i == 0 || look.Segment != looks[i-1].Segment, true
		if begins {
			shown, again = nil, false
			for _, told := range look.Segment.Screens {
				before := Drive{}
				if i > 0 {
					before, _ = looks[i-1].carried.Of(told.Screen)
				}
				shown = shown.with(over(told, before, i))
			}
		}
		for _, part := range look.Parts {
			for _, told := range part.Screens {
				if before, named := shown.Of(told.Screen); named {
					shown, again = shown.with(over(told, before, i)), false
				}
			}
		}
		if again && slices.Equal(look.carried, looks[i-1].carried) {
			look.Drives = looks[i-1].Drives
			continue
		}
		for _, drive := range shown {
			look.Drives = look.Drives.with(*drive)
		}
	}
}

// over is what a screen does once it was told something: what it was not told stays.
func over(told *schema.Drive, before Drive, index int) Drive {
	after := Drive{Drive: *told, By: index}
	if after.DrivePct == nil {
		after.DrivePct = before.DrivePct
	}
	if after.Palette == nil {
		after.Palette = before.Palette
	}
	if after.ContentPct == nil && after.Content == "" {
		after.ContentPct, after.Content = before.ContentPct, before.Content
	}
	return after
}
