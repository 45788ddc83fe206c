package facts

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/schema"
)

// measureEvening works out what only the whole evening shows.
func (s *Show) measureEvening(e *evening, changes []*Change, segments []*Segment) {
	s.measureCourse(e, segments)
	var strobes []string
	for _, c := range changes {
		if c.StrobesOn {
			strobes = append(strobes, c.Number)
		}
	}
	s.StrobeUsed, s.StrobeCues = len(strobes) > 0, cuesText(strobes)
	var haze []string
	for _, look := range e.looks {
		if slices.ContainsFunc(e.air.machines, func(f *schema.Fixture) bool { return look.look.State(f.Channel).Level > 0 }) {
			haze = append(haze, look.Number)
		}
	}
	s.HazeUsed, s.HazeCues = len(haze) > 0, cuesText(haze)
	if notices := e.rig.show.Notices; notices != nil {
		s.StrobeNotice = strings.TrimSpace(notices.Strobe)
		s.HazeNotice, s.SmokeNotice = strings.TrimSpace(notices.Haze), strings.TrimSpace(notices.SmokeDetection)
	}
}

// cuesText names cues: all of a few, or the first and how many more.
func cuesText(cues []string) string {
	switch {
	case len(cues) == 0:
		return ""
	case len(cues) == 1:
		return "cue " + cues[0]
	case len(cues) <= 4:
		return "cues " + joinWords(cues)
	}
	return "cues " + fmt.Sprintf("%s and %d more", strings.Join(cues[:3], ", "), len(cues)-3)
}

func (s *Show) measureCourse(e *evening, segments []*Segment) {
	facts := []string{"near_peak_time_pct", "range_stops", "loud_output_pct", "quiet_output_pct", "washes_can_dim"}
	s.TimeBasis = "the times of the running order"
	assumed := 0
	for _, m := range e.time.moments {
		if m.assumed {
			assumed++
		}
	}
	if assumed > 0 {
		s.TimeBasis = fmt.Sprintf("the times of the running order, with %d of %d cues spread evenly between the others", assumed, len(e.looks))
	}
	if e.alikeTimes || e.course == nil {
		s.TimeBasis = "every cue being taken as equally long, because not all times are known"
	}
	s.Advice = adviceText(segments)
	lack := func(phrase string, names ...string) {
		for _, fact := range names {
			s.lacks(fact, phrase)
		}
	}
	if e.course == nil {
		for _, phrase := range e.noCourse {
			lack(phrase, facts...)
		}
		return
	}
	if near, ok := e.course.Near(nearStops + stopSlack); ok {
		s.NearPeakTime = known(100 * near)
	}
	r, ok := e.loud, e.ranged
	if !ok {
		lack("a cue list with at least one look that is lit", facts...)
		return
	}
	s.RangeStops, s.LoudPct, s.QuietPct = &r.Stops, e.percent(r.High), e.percent(r.Low)
	if _, missing := e.rig.fullOutput(); e.full <= 0 {
		for _, phrase := range missing {
			lack(phrase, "loud_output_pct", "quiet_output_pct", "washes_can_dim")
		}
		return
	}
	s.proposeDips(e, segments)
}

// dipPurposes are the lamps that can be brought down without touching a face.
var dipPurposes = []string{"wash", "top", "beam", "effect", "side"}

// proposeDips finds the levels that bring the segments down which should be
// quiet. What stands on in the segment behind is given back there.
func (s *Show) proposeDips(e *evening, segments []*Segment) {
	for k, segment := range segments {
		if segment.DownBy == nil || *segment.DownBy <= 0 {
			continue
		}
		target := *s.LoudPct / 100 * e.full * math.Exp2(-rangeStops)
		for n, look := range segment.looks {
			rest, wash := 0.0, 0.0
			for _, lamp := range look.lamps {
				if slices.Contains(dipPurposes, lamp.Purpose) {
					wash += lamp.output()
				} else {
					rest += lamp.output()
				}
			}
			if wash+rest <= target {
				continue
			}
			if rest >= target || wash <= 0 {
				s.Dips, s.DipsReach = nil, known(false)
				return
			}
			for _, lamp := range look.lamps {
				if !slices.Contains(dipPurposes, lamp.Purpose) || n > 0 && lamp.state.LevelBy.Look != look.look.Index {
					continue
				}
				level := math.Floor(lamp.levelFor((target - rest) / wash))
				s.Dips = append(s.Dips, &Placed{look.look, lamp.Channel, max(0, min(level-1, lamp.Level))})
			}
		}
		s.giveBack(segments[k:])
	}
	s.DipsReach = known(len(s.Dips) > 0)
}

// giveBack states the levels again that stand on from a segment into the next.
func (s *Show) giveBack(segments []*Segment) {
	if len(segments) < 2 || len(segments[0].looks) == 0 || len(segments[1].looks) == 0 || segments[1].DownBy != nil && *segments[1].DownBy > 0 {
		return
	}
	next := segments[1].looks[0]
	for _, lamp := range next.lamps {
		if slices.Contains(dipPurposes, lamp.Purpose) && lamp.state.LevelBy.Look < next.look.Index {
			s.Dips = append(s.Dips, &Placed{next.look, lamp.Channel, lamp.Level})
		}
	}
}
