package evening

import "github.com/cueproof/cueproof/internal/stage"

const practice = "common practice, no source"

// Counts are the numbers that decide what counts over an evening.
func Counts() []stage.Count {
	return []stage.Count{
		{Name: "jump_s", Value: jumpS, Unit: "s", Means: "a change that takes less is a jump", Source: practice},
		{Name: "slow_move_s", Value: slowMoveS, Unit: "s", Means: "a beam that travels as long in a loud part may be a look", Source: practice},
		{Name: "slow_move_deg_s", Value: slowMoveDegS, Unit: "degrees/s", Means: "and it is one if it turns and zooms no faster", Source: practice},
		{Name: "usual_swing_deg", Value: usualSwingDeg, Unit: "degrees", Means: "that a beam is taken to turn of which nobody knows where it hangs or points", Source: practice},
		{Name: "long_fade_s", Value: longFadeS, Unit: "s", Means: "in which a lamp goes out that is watched on its way to its next place", Source: practice},
		{Name: "near_stops", Value: NearStops, Unit: "stops", Means: "under the most light of the show that counts as near it", Source: practice},
		{Name: "alike_stops", Value: alikeStops, Unit: "stops", Means: "looks in a row as near in brightness are alike", Source: practice},
		{Name: "alike_delta_e", Value: alikeColour, Means: "CIEDE2000: looks in a row as near in colour are alike", Source: practice},
		{Name: "alike_up", Value: alikeUp, Means: "of its lamps at full that a system may go up or down between looks that are alike", Source: practice},
		{Name: "alike_moved_pct", Value: alikeMoved, Unit: "%", Means: "of the light that may move between looks that are alike", Source: practice},
		{Name: "stage_black", Value: stageBlack, Means: "of the brightest look: a stage with less is black to a camera", Source: practice},
		{Name: "black_floor", Value: blackFloor, Means: "of the loudest picture: under it nothing is told apart", Source: practice},
		{Name: "fast_cues_s", Value: fastS, Unit: "s", Means: "between cues whose changes count as flashing together", Source: "WCAG 2.2 counts flashes within one second"},
		{Name: "crossing_s", Value: crossing, Unit: "s", Means: "before its segment that a follow-on may start it", Source: practice},
		{Name: "least_flash", Value: leastFlash, Means: "of the strongest light at a point: a light with less is no part of the flashing there", Source: "WCAG 2.2: a change of less is no flash"},
		{Name: "picture_white_cd_m2", Value: btWhite, Unit: "cd/m2", Means: "white of the picture that ITU-R BT.1702 is held against", Source: practice},
		{Name: "haze_margin", Value: hazeMargin, Means: "times the haze that is aimed at, because levels are whole percent", Source: practice},
	}
}
