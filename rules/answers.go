package rules

import "github.com/cueproof/cueproof/internal/facts"

// answer is a way back that ends in a plain value. Facts know no limit, so what is
// printed beside them is worked out for the limits of the rule that asks.
type answer struct {
	kind, word, rule string
	like             string // a fact of the subject that is unknown where this is; "" if it never is
	of               func(s facts.Subject, limit limits) any
}

func answerOf[S facts.Subject, V any](kind, word, rule, like string, of func(S, limits) V) answer {
	return answer{kind, word, rule, like, func(s facts.Subject, limit limits) any { return of(s.(S), limit) }}
}

// limits gives the limits of a rule by name.
type limits = func(name string) float64

var answers = []answer{
	answerOf("lamp", "steady_level_pct", "white/dim-drift", "drift_mired", func(l *facts.Lamp, limit limits) *float64 { return l.LevelForDrift(limit("max_mired")) }),
	answerOf("look", "odd_channels_text", "colour/too-many-hues", "hue_names", func(l *facts.Look, limit limits) string {
		return facts.Channels(l.OddLamps(limit("max_main"), limit("max_accent")))
	}),
	answerOf("person", "common_key_k", "white/key-mix", "key_spread_mired", func(p *facts.Person, limit limits) *float64 { return p.CommonKeyK(limit("camera_mired")) }),
	answerOf("person", "best_camera_k", "white/key-camera", "key_camera_mired", func(p *facts.Person, limit limits) *float64 { return p.BestCameraK(limit("max_mired")) }),
	answerOf("person", "drifted_keys_text", "white/dim-drift", "", func(p *facts.Person, limit limits) string {
		return facts.Channels(p.DriftedKeys(limit("max_mired"), limit("most_up")))
	}),
	answerOf("person", "keys_can_reach", "people/key-low", "under_stops", func(p *facts.Person, _ limits) bool { return p.KeysCanReach(0) }),
	answerOf("person", "backs_can_reach", "people/back-weak", "back_key_ratio", func(p *facts.Person, limit limits) bool { return p.BacksCanReach(limit("aim_ratio")) }),
	answerOf("showing", "drive_for_face_pct", "screen/outshines-face", "over_face_stops", func(s *facts.Showing, limit limits) *float64 { return s.DriveForFace(limit("max_stops")) }),
	answerOf("change", "haze_can_reach", "air/haze-late", "haze_mg_m3", func(c *facts.Change, limit limits) bool { return c.HazeCanReach(limit("min_mg_m3")) }),
	answerOf("change", "haze_start_cue", "air/haze-late", "", func(c *facts.Change, limit limits) string { return c.HazeStartCue(limit("min_mg_m3")) }),
	answerOf("segment", "bring_down_stops", "dynamics/narrow-range", "picture_stops", func(s *facts.Segment, limit limits) float64 { return s.BringDownStops(limit("min_stops")) }),
	answerOf("segment", "haze_off_cue", "air/haze-lingers", "", func(s *facts.Segment, limit limits) string { return s.HazeOffCue(limit("max_mg_m3")) }),
	answerOf("show", "bring_down_text", "dynamics/narrow-range", "", func(s *facts.Show, limit limits) string { return s.BringDownText(limit("min_stops")) }),
	answerOf("show", "washes_can_dim", "dynamics/narrow-range", "picture_range_stops", func(s *facts.Show, limit limits) bool { return s.WashesCanDim(limit("min_stops")) }),
	answerOf("circuit", "move_channel", "patch/circuit-load", "load_pct", func(c *facts.Circuit, limit limits) *int {
		if mover := c.Mover(limit("max_pct")); mover != nil {
			return &mover.Channel
		}
		return nil
	}),
	answerOf("circuit", "move_to", "patch/circuit-load", "load_pct", func(c *facts.Circuit, limit limits) *string { return c.MoveTo(limit("max_pct")) }),
}

// WordsOf lists what [Set.Value] can say of a kind of subject: its plain facts, and
// what rules would have of it.
func WordsOf(kind string) []string {
	words := facts.WordsOf(kind)
	for _, a := range answers {
		if a.kind == kind {
			words = append(words, a.word)
		}
	}
	return words
}

// Value returns a fact of a subject, or what a rule of the set would have of it; nil
// if that is unknown, with what would make it known.
func (s *Set) Value(subject facts.Subject, word string) (value any, missing []string) {
	if fact, ok := facts.ValueOf(subject, word); ok {
		if fact.Value == nil {
			missing = subject.Why(word)
		}
		return fact.Value, missing
	}
	for _, a := range answers {
		if a.word != word {
			continue
		}
		if fact, ok := facts.ValueOf(subject, a.like); ok && fact.Value == nil {
			return nil, subject.Why(a.like)
		}
		rule, ok := s.Find(a.rule)
		if !ok {
			return nil, []string{"the rule " + a.rule}
		}
		return facts.Plain(a.of(subject, func(name string) float64 { return rule.limits[name] })), nil
	}
	return nil, nil
}
