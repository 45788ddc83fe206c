package say

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// MostKeys and MostWords are how many keys or rules, and how many short words such as cues and
// lines, a person is given in a row; the rest is counted.
const (
	MostKeys  = 3
	MostWords = 12
)

// GapOrder says what to give, and to check what: "Give the white balance of the
// camera "front", to check 14 channels.", or for how many rules.
func GapOrder(g *outcome.Gap) string {
	var kinds []string
	most := map[string]int{} // by kind; several rules ask about the same things
	none := false
	for _, c := range g.Each {
		if c.Subjects == 0 {
			none = true
			continue
		}
		if !slices.Contains(kinds, c.Kind) {
			kinds = append(kinds, c.Kind)
		}
		most[c.Kind] = max(most[c.Kind], c.Subjects)
	}
	text := "Give " + g.Missing
	switch {
	case len(kinds) > 0:
		var words []string
		for _, kind := range kinds {
			words = append(words, Count(most[kind], kind))
		}
		text += ", to check " + spelling.List(words)
	case none:
		text += ", for " + Count(len(g.Rules), "rule")
	}
	return text + "."
}

// GapRules names the rules that wait for a piece of knowledge, gravest first.
func GapRules(g *outcome.Gap) string {
	if len(g.Each) == 0 {
		text := spelling.Few(g.Rules, MostKeys)
		if g.Subjects > 0 {
			text += fmt.Sprintf(" (%s)", Count(g.Subjects, "time"))
		}
		return text
	}
	var words []string
	for _, c := range g.Each {
		word := c.Rule
		if c.Subjects > 0 {
			word += fmt.Sprintf(" (%s)", Count(c.Subjects, c.Kind))
		}
		words = append(words, word)
	}
	return spelling.Few(words, MostKeys)
}

// Where says places as people look them up: the file as they named it, then its
// lines. A folder, and a file that was not read, has none.
func Where(places []source.Place) string {
	type lines struct {
		name   string
		list   []string
		column int
	}
	var files []*lines
	for _, p := range places {
		if p.File == nil {
			continue
		}
		i := slices.IndexFunc(files, func(l *lines) bool { return l.name == p.File.Name })
		if i < 0 {
			i = len(files)
			files = append(files, &lines{name: p.File.Name})
		}
		span, ok := Span(p)
		if !ok || p.File.Text == "" {
			continue
		}
		at := span.Start
		if line := fmt.Sprint(at.Line); !slices.Contains(files[i].list, line) {
			files[i].list = append(files[i].list, line)
			files[i].column = at.Column
		}
	}
	var words []string
	for _, f := range files {
		switch len(f.list) {
		case 0:
			words = append(words, f.name)
		case 1:
			words = append(words, fmt.Sprintf("%s, line %s, column %d", f.name, f.list[0], f.column))
		default:
			words = append(words, fmt.Sprintf("%s, lines %s", f.name, spelling.Few(f.list, MostWords)))
		}
	}
	return strings.Join(words, "; ")
}

// AddNew appends the words that the list does not have yet.
func AddNew(list []string, words ...string) []string {
	for _, word := range words {
		if !slices.Contains(list, word) {
			list = append(list, word)
		}
	}
	return list
}

// Subjects names what a finding is about, narrowest first.
func Subjects(f *finding.Finding) string {
	var names []string
	for _, s := range f.Subjects {
		names = append(names, s.String())
	}
	return strings.Join(names, " in ")
}

// Count writes a number with what it counts, as [spelling.Count] does.
func Count(n int, one string, many ...string) string { return spelling.Count(n, one, many...) }
