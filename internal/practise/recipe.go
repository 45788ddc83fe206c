// Package practise puts faults into a copy of a sound show, so that people learn on a
// copy before it is Sunday.
//
// In go the files of a show and, from the folder of each rule, how a show is broken so
// that this rule speaks; out come the changed files and what was done to them. A newcomer's
// mistake would be to change numbers at random: a fault is one that people make, and it
// counts only if its rule finds it and no other rule has anything to say of it.
package practise

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"github.com/expr-lang/expr/parser"
	"github.com/goccy/go-yaml"

	"github.com/cueproof/cueproof/internal/source"
)

// File is the name of a recipe in the folder of its rule.
const File = "break.yaml"

// mostRecipe is far more than a recipe needs.
const mostRecipe = 16 << 10

// Recipe is how a sound show is broken so that one rule speaks.
type Recipe struct {
	Rule    string   `yaml:"-"`
	Fault   string   `yaml:"fault"`   // what somebody did or forgot, told when it is found
	Look    string   `yaml:"look"`    // the first hint: where to look
	Measure string   `yaml:"measure"` // the second: what to hold against what
	Also    []string `yaml:"also"`    // rules that cannot but speak too
	Because string   `yaml:"because"` // why they cannot
	May     []string `yaml:"may"`     // rules that cannot but speak too in some shows
	When    string   `yaml:"when"`    // in which, and why

	Edit `yaml:",inline"`
	Then []Edit `yaml:"then"` // what else has to change with it; each sees the thing chosen first as "chosen"
}

// Edit changes some things of a list of the show. Values of change and settings are JSON,
// or, where they begin with "=", an expression.
type Edit struct {
	Each     string         `yaml:"each"`   // cues, patch, order, types, places, cameras, surfaces, circuits; room, or show for what stands at its top
	Where    string         `yaml:"where"`  // which of them: an expression in which "it" is the thing; "" for all
	Change   map[string]any `yaml:"change"` // merged with the thing; null takes a key away
	Settings []Settings     `yaml:"settings"`
	Add      map[string]any `yaml:"add"`    // a new entry behind the thing
	Remove   bool           `yaml:"remove"` // the thing goes
}

// Settings are added to a cue.
type Settings struct {
	Lamps string         `yaml:"lamps"` // which fixtures: an expression in which "it" is the fixture, "cue" the cue; "" where set names channels
	Set   map[string]any `yaml:"set"`
}

// Recipes reads what stands in the folders of rules, by rule.
func Recipes(fsys fs.FS) (map[string]*Recipe, error) {
	names, err := fs.Glob(fsys, "*/*/"+File)
	if err != nil {
		return nil, err
	}
	all := map[string]*Recipe{}
	var broken []error
	for _, name := range names {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		rule := path.Dir(name)
		recipe, err := parse(data)
		if err != nil {
			broken = append(broken, fmt.Errorf("%s: %w", name, err))
			continue
		}
		recipe.Rule = rule
		all[rule] = recipe
	}
	return all, errors.Join(broken...)
}

func parse(data []byte) (*Recipe, error) {
	if len(data) > mostRecipe {
		return nil, fmt.Errorf("it has %d bytes; a recipe has at most %d", len(data), mostRecipe)
	}
	file := &source.File{Text: string(data)} // what the decoder cannot stand, tags among it, is refused first
	if problem := source.ParseYAML(file); problem != nil {
		return nil, fmt.Errorf("line %d: %s", file.Position(problem.At.Start).Line, problem.Message)
	}
	var r Recipe
	if err := yaml.NewDecoder(bytes.NewReader(data), yaml.DisallowUnknownField()).Decode(&r); err != nil {
		return nil, errors.New(strings.TrimSpace(yaml.FormatError(err, false, false)))
	}
	for word, text := range map[string]string{"fault": r.Fault, "look": r.Look, "measure": r.Measure} {
		if strings.TrimSpace(text) == "" {
			return nil, fmt.Errorf("it does not say %q", word)
		}
	}
	if (len(r.Also) > 0) != (r.Because != "") || (len(r.May) > 0) != (r.When != "") {
		return nil, errors.New("rules that speak too need a reason, and a reason needs rules")
	}
	for _, edit := range append([]Edit{r.Edit}, r.Then...) {
		if !slices.Contains(lists, edit.Each) {
			return nil, fmt.Errorf("each is %q; it is one of %s", edit.Each, strings.Join(lists, ", "))
		}
		if len(edit.Change)+len(edit.Settings)+len(edit.Add) == 0 && !edit.Remove {
			return nil, fmt.Errorf("nothing is changed in %s", edit.Each)
		}
		for _, text := range edit.expressions() {
			if _, err := parser.Parse(text); err != nil {
				return nil, fmt.Errorf("%q is no expression: %w", text, err)
			}
		}
		if len(edit.Settings) > 0 && edit.Each != "cues" {
			return nil, fmt.Errorf("settings stand in cues, not in %s", edit.Each)
		}
	}
	return &r, nil
}

// expressions are all that have to be worked out for an edit.
func (e *Edit) expressions() (list []string) {
	var within func(value any)
	within = func(value any) {
		switch value := value.(type) {
		case string:
			if text, ok := strings.CutPrefix(value, "="); ok {
				list = append(list, text)
			}
		case map[string]any:
			for _, key := range slices.Sorted(maps.Keys(value)) {
				within(value[key])
			}
		case []any:
			for _, one := range value {
				within(one)
			}
		}
	}
	conditions := []string{e.Where}
	within(e.Change)
	within(e.Add)
	for _, one := range e.Settings {
		conditions = append(conditions, one.Lamps)
		within(one.Set)
	}
	for _, text := range conditions {
		if text != "" {
			list = append(list, text)
		}
	}
	return list
}
