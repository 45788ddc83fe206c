package lint

import (
	"sync"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/plan"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/sight"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// picture is what the pictures of a show that was judged are drawn from. Its findings
// have to be marked by then: what somebody accepted bites no more.
func picture(now *proof.State, todo *plan.Plan, set *rules.Set, o Options) *scene.Scene {
	options := sight.Options{Found: now.Found, Tell: o.Tell}
	for _, rule := range set.Rules {
		options.Rules = append(options.Rules, rule.Rule)
	}
	measured := func(s *proof.State) func() *facts.Measured { return sync.OnceValue(s.Measured) }
	for _, step := range todo.Steps {
		options.Steps = append(options.Steps, sight.Step{Cleared: step.Cleared, Before: measured(step.Before), After: measured(step.After)})
	}
	return sight.Of(now.Facts, now.Show, options)
}

// Picture is the scene of one show without a plan: of one look and place, or of a choice
// of them where these are "".
func Picture(path string, o Options, cue, place string) (*outcome.Show, error) {
	c, now, _, err := judge(path, o, nil)
	if err != nil {
		return nil, err
	}
	options := sight.Options{Found: now.Found, Cue: cue, Place: place, Tell: o.Tell}
	for _, rule := range c.setup.Rules.Rules {
		options.Rules = append(options.Rules, rule.Rule)
	}
	c.told.Scene = sight.Of(now.Facts, now.Show, options)
	return &c.told, nil
}

// sceneOf is the scene of a show that was measured and judged.
func sceneOf(c *showCheck, o Options) *scene.Scene {
	if c.measured == nil {
		return nil
	}
	return sight.Of(c.measured, c.show, sight.Options{Rules: cards(c.setup.Rules), Found: c.told.Findings, Tell: o.Tell})
}

// MeasuredScene is the scene of facts alone, without a rule that speaks: of the look of a
// cue, or of a choice for "".
func MeasuredScene(m *facts.Measured, show *schema.Show, cue string) *scene.Scene {
	return sight.Of(m, show, sight.Options{Cue: cue})
}
