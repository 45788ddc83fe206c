package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
)

// Counts are all numbers that decide what counts for facts. They are no limits: a house
// cannot change them, and no rule judges by them.
func Counts() []stage.Count {
	return slices.Concat(stage.Counts(), evening.Counts(), []stage.Count{
		{Name: "talk_s", Value: talkS, Unit: "s", Means: "into a talk at which its air is looked at", Source: "common practice, no source"},
		{Name: "late_s", Value: lateS, Unit: "s", Means: "after the beginning of a segment its first cue may be called before its people count as being there without it", Source: "common practice, no source"},
		{Name: "waiting_part", Value: waitingPart, Means: "of what a camera is set for: from it on light stands on a place and does not fall there by the way", Source: "common practice, no source"},
		{Name: "dark_face_stops", Value: darkFace, Unit: "stops", Means: "under the cameras: a face that is as far is no measure for what is beside it", Source: "common practice, no source"},
		{Name: "beside_stops", Value: besideStops, Unit: "stops", Means: "under the best-lit face of a look: what is beside a darker one is not held against it", Source: "common practice, no source"},
		{Name: "bright_parts", Value: brightParts, Means: "times its mean that what is bright in a picture gives, at most white", Source: "common practice, no source"},
		{Name: "screen_black", Value: screenBlack, Means: "of a screen's white at full, under which nothing of its picture is told apart", Source: "common practice, no source"},
		{Name: "drive_black", Value: driveBlack, Means: "of the brightest white that a screen shows, for one that is never driven far", Source: "common practice, no source"},
		{Name: "palette_deg", Value: paletteDeg, Unit: "degrees", Means: "round the hue circle within which a hue is one of the palette", Source: "common practice, no source"},
		{Name: "exposure_share", Value: exposureShare, Means: "of an exposure limit that a lower setting of a haze machine aims at", Source: "common practice, no source"},
		{Name: "digits", Value: digits, Means: "significant digits of a measured number that are judged", Source: "no instrument of a booth is as good"},
	})
}
