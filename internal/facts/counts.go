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
		{Name: "exposure_share", Value: exposureShare, Means: "of an exposure limit that a lower setting of a haze machine aims at", Source: "common practice, no source"},
		{Name: "digits", Value: digits, Means: "significant digits of a measured number that are judged", Source: "no instrument of a booth is as good"},
	})
}
