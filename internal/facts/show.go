package facts

import (
	"github.com/cueproof/cueproof/internal/source"
)

// Show is the whole evening.
type Show struct {
	unknowns
	at   source.Ref
	name string

	LookCount   int      `expr:"look_count"`         // how many looks the show has
	PeakPct     *float64 `expr:"peak_output_pct"`    // the largest output of a look
	NearPeakPct *float64 `expr:"near_peak_look_pct"` // share of looks within a third of a stop of the largest output
	QuietestPct *float64 `expr:"quietest_lit_pct"`   // the smallest output of a look that is not dark

	NearPeakTime *float64  `expr:"near_peak_time_pct"`     // share of the lit time of the set within a stop of its most light
	RangeStops   *float64  `expr:"range_stops"`            // from the quiet to the loud light of the set: 10th to 95th percentile over time, gated
	LoudPct      *float64  `expr:"loud_output_pct"`        // the 95th percentile of output over time
	QuietPct     *float64  `expr:"quiet_output_pct"`       // the 10th percentile of output over time
	TimeBasis    string    `expr:"time_basis"`             // what the times are taken from, in words
	OutputBasis  string    `expr:"output_basis"`           // what all light of the stage rig is counted by: "arriving" on people, surfaces and the stage floor, or "emitted" by the lamps if that is not known of each
	BasisNote    string    `expr:"output_basis_note"`      // where it is "emitted" though places or surfaces are given: why, as the end of a sentence; else ""
	Advice       string    `expr:"bring_down_text"`        // the segments to bring down for a range of 2 stops, and how far
	Dips         []*Placed `expr:"washes_to_dim"`          // the washes of those segments with the level that does it, and what is given back behind them
	DipsReach    *bool     `expr:"washes_can_dim"`         // whether the washes alone can do it
	StrobeUsed   bool      `expr:"strobe_in_use"`          // whether any look has a strobe, or an effect that flashes like one
	StrobeCues   string    `expr:"strobe_cues"`            // the cues of those looks, as "cues 4 and 5"
	StrobeNotice string    `expr:"strobe_notice"`          // what is recorded of a notice of strobes to the audience, or ""
	HazeUsed     bool      `expr:"haze_in_use"`            // whether any cue runs a haze or fog machine
	HazeCues     string    `expr:"haze_cues"`              // the cues in which one runs, as "cues 4 and 5"
	HazeNotice   string    `expr:"haze_notice"`            // what is recorded of a notice of haze to the audience, or ""
	SmokeNotice  string    `expr:"smoke_detection_notice"` // what is recorded of the agreement about smoke detection, or ""
}

// nearPeak is a third of a stop below the maximum, the step of a camera's dials.
const nearPeak = 0.7937005259840998 // 2^(-1/3)

// Names returns the show.
func (s *Show) Names() []Name { return []Name{{"show", s.name}} }

// Cue returns "": the show is all cues.
func (s *Show) Cue() string { return "" }

// Ref returns the cue list, or else what there is of the show.
func (s *Show) Ref() source.Ref { return s.at }

func measureShow(r *rig, looks []*Look) *Show {
	s := &Show{at: r.show.At, name: r.show.Name, LookCount: len(looks), OutputBasis: r.basis.word(), BasisNote: r.basis.note()}
	if cues, ok := r.show.ReadFrom["cues"]; ok {
		s.at = cues
	}
	facts := []string{"peak_output_pct", "near_peak_look_pct", "quietest_lit_pct"}
	lit := 0
	peak := 0.0
	for _, look := range looks {
		if look.OutputPct == nil {
			for _, fact := range facts {
				for _, phrase := range look.Why("output_pct") {
					s.lacks(fact, phrase)
				}
			}
			return s
		}
		if *look.OutputPct > 0 {
			lit++
			peak = max(peak, *look.OutputPct)
			if s.QuietestPct == nil || *look.OutputPct < *s.QuietestPct {
				s.QuietestPct = look.OutputPct
			}
		}
	}
	if lit == 0 {
		for _, fact := range facts {
			s.lacks(fact, "a cue list with at least one look that is lit")
		}
		return s
	}
	near := 0
	for _, look := range looks {
		if *look.OutputPct >= peak*nearPeak {
			near++
		}
	}
	s.PeakPct = &peak
	s.NearPeakPct = known(100 * float64(near) / float64(lit))
	return s
}
