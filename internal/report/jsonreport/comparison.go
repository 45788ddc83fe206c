package jsonreport

import (
	"io"

	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

// comparisonShape names the shape of the JSON of a comparison. Within one name
// members are only added.
const comparisonShape = "cueproof-comparison-1"

type jsonComparison struct {
	Schema    string        `json:"schema"`
	Version   string        `json:"version"`
	Old       jsonSide      `json:"old"`
	New       jsonSide      `json:"new"`
	Counts    jsonCompared  `json:"counts"`
	Findings  []jsonFinding `json:"findings"`
	Gone      []jsonPast    `json:"gone"`
	Looks     []jsonChange  `json:"looks"`
	SameLooks int           `json:"same_looks"`
	Dark      []jsonDark    `json:"dark"`
	Lost      []string      `json:"lost"`
	Review    []jsonReview  `json:"review"`
}

type jsonSide struct {
	Path       string   `json:"path"`
	Name       string   `json:"name"`
	Unreadable bool     `json:"unreadable"`
	Notes      []string `json:"notes"`
}

type jsonCompared struct {
	New      int `json:"new"`
	Fixed    int `json:"fixed"`
	AsBefore int `json:"as_before"`
	Untold   int `json:"untold"`
	Worse    int `json:"worse"`
	Better   int `json:"better"`
	Unfixed  int `json:"gone_by_change"`
}

type jsonChange struct {
	OldCue  string           `json:"old_cue,omitempty"`
	NewCue  string           `json:"new_cue,omitempty"`
	Name    string           `json:"name"`
	Output  *jsonStep        `json:"output_pct,omitempty"`
	OldHues string           `json:"old_hues,omitempty"`
	NewHues string           `json:"new_hues,omitempty"`
	Levels  []jsonLevelStep  `json:"levels"`
	Colours []jsonColourStep `json:"colours"`
	Haze    []jsonLevelStep  `json:"haze"`
	Others  []jsonOtherStep  `json:"others"`
	Faces   []jsonFaceStep   `json:"faces"`
}

type jsonStep struct {
	Old   *float64 `json:"old,omitempty"` // left out if unknown
	New   *float64 `json:"new,omitempty"`
	Stops *float64 `json:"stops,omitempty"`
}

type jsonLevelStep struct {
	Channels string   `json:"channels"`
	Old      *float64 `json:"old,omitempty"`
	New      *float64 `json:"new,omitempty"`
}

type jsonColourStep struct {
	Channels string `json:"channels"`
	Old      string `json:"old"`
	New      string `json:"new"`
}

type jsonOtherStep struct {
	What string `json:"what"`
	Of   string `json:"of,omitempty"`
	Old  string `json:"old"`
	New  string `json:"new"`
}

type jsonFaceStep struct {
	Place string `json:"place"`
	jsonStep
}

// Comparison writes a comparison for programs. The error is the writer's.
func Comparison(w io.Writer, c *outcome.Comparison, _ say.Options) error {
	side := func(s outcome.Side) jsonSide { return jsonSide{s.Path, s.Name, s.Unreadable, say.Filled(s.Notes)} }
	changed := jsonChangedOf(&c.Change)
	return say.JSON(w, jsonComparison{
		Schema: comparisonShape, Version: c.Version, Old: side(c.Old), New: side(c.New),
		Counts:   jsonCompared{c.Counts.New, c.Counts.Fixed, c.Counts.Before, c.Counts.Untold, c.Counts.Worse, c.Counts.Better, c.Counts.Review},
		Findings: say.Each(c.Findings, jsonFindingOf), Gone: say.Each(c.Gone, jsonPastOf),
		Looks: say.Each(c.Looks, jsonChangeOf), SameLooks: c.SameLooks,
		Dark: changed.Dark, Lost: changed.Lost, Review: changed.Review,
	})
}

func jsonChangeOf(l *outcome.LookChange) jsonChange {
	out := jsonChange{
		OldCue: l.OldCue, NewCue: l.NewCue, Name: l.Name,
		Levels: []jsonLevelStep{}, Colours: []jsonColourStep{}, Haze: []jsonLevelStep{}, Others: []jsonOtherStep{}, Faces: []jsonFaceStep{},
	}
	if l.OldHues != l.NewHues {
		out.OldHues, out.NewHues = l.OldHues, l.NewHues
	}
	if l.Output != (outcome.Step{}) {
		step := jsonStepOf(l.Output)
		out.Output = &step
	}
	for _, s := range l.Levels {
		step := jsonStepOf(s.Step)
		out.Levels = append(out.Levels, jsonLevelStep{s.Channels, step.Old, step.New})
	}
	for _, s := range l.Colours {
		out.Colours = append(out.Colours, jsonColourStep{s.Channels, s.Old, s.New})
	}
	for _, s := range l.Haze {
		step := jsonStepOf(s.Step)
		out.Haze = append(out.Haze, jsonLevelStep{s.Channels, step.Old, step.New})
	}
	for _, s := range l.Others {
		out.Others = append(out.Others, jsonOtherStep{s.What, s.Of, s.Old, s.New})
	}
	for _, s := range l.Faces {
		out.Faces = append(out.Faces, jsonFaceStep{s.Place, jsonStepOf(s.Step)})
	}
	return out
}

func jsonStepOf(s outcome.Step) jsonStep {
	rounded := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		number, ok := say.SixDigits(*v)
		if !ok {
			return nil
		}
		return &number
	}
	step := jsonStep{Old: rounded(s.Old), New: rounded(s.New)}
	if stops, ok := say.Stops(s); ok {
		step.Stops = rounded(&stops)
	}
	return step
}
