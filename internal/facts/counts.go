package facts

import (
	"slices"

	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/stage"
)

const practice = "common practice, no source"

// Counts are all numbers that decide what counts for facts. They are no limits: a house
// cannot change them, and no rule judges by them.
func Counts() []stage.Count {
	return slices.Concat(stage.Counts(), evening.Counts(), []stage.Count{
		{Name: "talk_s", Value: evening.TalkS, Unit: "s", Means: "into a talk at which its air is looked at", Source: practice},
		{Name: "late_s", Value: lateS, Unit: "s", Means: "after the beginning of a segment its first cue may be called before its people count as being there without it", Source: practice},
		{Name: "waiting_part", Value: waitingPart, Means: "of what a camera is set for: from it on light stands on a place and does not fall there by the way", Source: practice},
		{Name: "dark_face_stops", Value: darkFace, Unit: "stops", Means: "under the cameras: a face that is as far is no measure for what is beside it", Source: practice},
		{Name: "dim_face_stops", Value: dimFace, Unit: "stops", Means: "under a camera: a face that is darker is told of itself, and not as one that differs from others", Source: practice},
		{Name: "quiet_dim_face_stops", Value: quietDimFace, Unit: "stops", Means: "the same in a prayer or a quiet part", Source: practice},
		{Name: "bright_face_stops", Value: brightFace, Unit: "stops", Means: "over a camera: the same of a face that is brighter", Source: practice},
		{Name: "beside_stops", Value: besideStops, Unit: "stops", Means: "under the best-lit face of a look: what is beside a darker one is not held against it", Source: practice},
		{Name: "bright_parts", Value: brightParts, Means: "times its mean that what is bright in a picture gives, at most white", Source: practice},
		{Name: "screen_black", Value: screenBlack, Means: "of a screen's white at full, under which nothing of its picture is told apart", Source: practice},
		{Name: "drive_black", Value: driveBlack, Means: "of the brightest white that a screen shows, for one that is never driven far", Source: practice},
		{Name: "waiting_s", Value: waitingS, Unit: "s", Means: "for which light may wait on a place for somebody who comes with the next cue", Source: practice},
		{Name: "black_stops", Value: blackStops, Unit: "stops", Means: "under the cameras: stands for a face with no light on it", Source: practice},
		{Name: "no_haze_mg_m3", Value: noHaze, Unit: "mg/m3", Means: "with less it makes no difference what hung before", Source: practice},
		{Name: "near_peak", Value: nearPeak, Means: "of the brightest look that counts as at the peak: a third of a stop under it", Source: "the step of a camera's dials"},
		{Name: "exposure_share", Value: exposureShare, Means: "of an exposure limit that a lower setting of a haze machine aims at", Source: practice},
		{Name: "digits", Value: digits, Means: "significant digits of a measured number that are judged", Source: "no instrument of a booth is as good"},
	})
}
