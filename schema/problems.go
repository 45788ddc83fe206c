package schema

import (
	"embed"
	"path"
	"slices"
	"strings"
)

//go:embed problems/*.md
var problems embed.FS

// Problem returns what a volunteer should know about a problem of a file, in
// Markdown: a title, what it means and what to do. The id is the word behind
// "file/" in a finding's rule.
func Problem(id string) (markdown string, ok bool) {
	if !slices.Contains(ProblemIDs(), id) {
		return "", false
	}
	text, err := problems.ReadFile("problems/" + id + ".md")
	return string(text), err == nil
}

// ProblemIDs lists the ids that [Problem] knows, sorted.
func ProblemIDs() []string {
	files, err := problems.ReadDir("problems")
	if err != nil {
		panic("schema: " + err.Error()) // they are part of the program
	}
	var ids []string
	for _, file := range files {
		ids = append(ids, strings.TrimSuffix(path.Base(file.Name()), ".md"))
	}
	return ids
}
