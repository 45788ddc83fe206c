package facts

import (
	"math"
	"strconv"

	"github.com/cueproof/cueproof/internal/dynamics"
	"github.com/cueproof/cueproof/internal/evening"
	"github.com/cueproof/cueproof/internal/source"
)

// Minute is one minute of the evening, as far as the running order goes.
type Minute struct {
	unknowns
	at   source.Ref
	look *Look // that stands when it begins; nil if none does

	Minute      int      `expr:"minute"`             // which minute of the running order, from 1
	StartS      float64  `expr:"start_s"`            // when it begins, in seconds from the start of the running order
	SegmentName string   `expr:"segment"`            // the segment that runs when it begins
	Number      string   `expr:"cue"`                // the cue whose look stands when it begins, or ""
	MeanPct     *float64 `expr:"mean_output_pct"`    // mean light of the stage rig, as percent of everything at full
	HighestPct  *float64 `expr:"highest_output_pct"` // the most light in it
	LowestPct   *float64 `expr:"lowest_output_pct"`  // the least light in it
	HueNames    *string  `expr:"hue_names"`          // the hues of the look that stands when it begins
	Flashes     *float64 `expr:"flashes_per_s"`      // the most flashes in any second of the looks that stand in it
	Haze        *float64 `expr:"haze_mg_m3"`         // haze in the air when it begins
}

// Names returns the minute.
func (m *Minute) Names() []Name { return []Name{{"minute", strconv.Itoa(m.Minute)}} }

// Cue returns the number of the cue whose look stands when the minute begins.
func (m *Minute) Cue() string { return m.Number }

// Ref returns that cue, or else the segment.
func (m *Minute) Ref() source.Ref {
	if m.look != nil {
		return m.look.Ref()
	}
	return m.at
}

// maxMinutes is a day: no running order is longer, and a mistyped one may be.
const maxMinutes = 24 * 60

// measureMinutes cuts the evening into minutes; there are none if the running
// order does not say how long it is.
func measureMinutes(e *evening.Evening, looks []*Look, changes []*Change) []*Minute {
	end, ok := e.Time.End()
	if !ok {
		return nil
	}
	var minutes []*Minute
	segment, look := 0, -1
	for k := 0; float64(k)*60 < end && k < maxMinutes; k++ {
		start := float64(k) * 60
		until := min(start+60, end)
		for segment+1 < len(e.Time.Spans) && e.Time.Spans[segment+1].Start <= start {
			segment++
		}
		m := &Minute{Minute: k + 1, StartS: start, SegmentName: e.Time.Spans[segment].Segment.Name, at: e.Time.Spans[segment].Segment.At}
		next := look
		for i := look + 1; i < len(looks); i++ {
			if t := e.Time.Moments[i]; t.Clock == 0 && t.At <= start {
				next = i
			} else if t.Clock == 0 {
				break
			}
		}
		look = next
		if look >= 0 {
			m.look, m.Number, m.HueNames = looks[look], looks[look].Number, looks[look].HueNames
			m.lacks("hue_names", looks[look].Why("hue_names")...)
		} else {
			m.lacks("hue_names", "a cue that stands at that time")
		}
		m.fillLight(e, start, until)
		m.fillFlashes(e, changes, look, until)
		level, missing := e.Air.At(start)
		if e.Air.Clear() {
			level, missing = new(0.0), nil
		}
		m.restOnAirAt("haze_mg_m3", e.Air, level, start)
		m.Haze = level
		m.lacks("haze_mg_m3", missing...)
		minutes = append(minutes, m)
	}
	return minutes
}

func (m *Minute) fillLight(e *evening.Evening, from, to float64) {
	facts := []string{"mean_output_pct", "highest_output_pct", "lowest_output_pct"}
	list := e.PiecesBetween(from, to)
	course, err := dynamics.New(list)
	mean, ok := 0.0, false
	if err == nil && len(list) > 0 && e.Full > 0 {
		mean, ok = course.Mean()
	}
	if !ok {
		phrases := append(append([]string{}, e.NoCourse...), e.Time.Missing()...)
		if len(phrases) == 0 {
			phrases = []string{"a cue that stands at that time"}
		}
		m.lackAll(facts, phrases...)
		return
	}
	highest, lowest := 0.0, math.Inf(1)
	for _, p := range list {
		highest, lowest = max(highest, p.From, p.To), min(lowest, p.From, p.To)
	}
	m.MeanPct, m.HighestPct, m.LowestPct = e.Percent(mean), e.Percent(highest), e.Percent(lowest)
}

func (m *Minute) fillFlashes(e *evening.Evening, changes []*Change, look int, until float64) {
	worst := 0.0
	for i := max(look, 0); i < len(changes); i++ {
		if t := e.Time.Moments[i]; t.Clock == 0 && t.At >= until {
			break
		}
		if changes[i].Flashes == nil {
			m.lacks("flashes_per_s", changes[i].Why("flashes_per_s")...)
			return
		}
		worst = max(worst, *changes[i].Flashes)
	}
	m.Flashes = &worst
}
