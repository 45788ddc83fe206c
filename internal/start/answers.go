package start

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// FileName is what the file is called.
const FileName = "hall.json"

// IDs are the questions by their names in a file of answers, what unlocks most first.
var IDs = []string{"places", "bars", "types", "camera", "people", "background", "stage", "power", "ambient", "air"}

// IsQuestion reports whether a name is one of a question.
func IsQuestion(id string) bool { return slices.Contains(IDs, id) }

// Empty reports whether nothing is told yet.
func (s *Start) Empty() bool {
	for key := range s.hall.root {
		if key != "note" {
			return false
		}
	}
	return true
}

// ReadAnswers reads a file of answers: a line "question: answer" for each, in plain
// text; lines that begin with # are remarks, and one that begins with a blank goes on
// with the answer above.
func ReadAnswers(text string) (map[string]string, error) {
	answers := map[string]string{}
	last := ""
	text = strings.TrimPrefix(text, "\ufeff")
	for i, line := range strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n") {
		switch {
		case strings.TrimSpace(line) == "" || strings.HasPrefix(strings.TrimSpace(line), "#"):
			continue
		case (line[0] == ' ' || line[0] == '\t') && last != "":
			answers[last] += "; " + strings.Trim(strings.TrimSpace(line), "-; ")
			continue
		}
		id, answer, ok := strings.Cut(line, ":")
		id = strings.ToLower(strings.TrimSpace(id))
		if !ok || !IsQuestion(id) {
			return nil, fmt.Errorf("line %d is not an answer such as \"stage: 8, 5, 14\"; the questions are %s", i+1, strings.Join(IDs, ", "))
		}
		if _, twice := answers[id]; twice {
			return nil, fmt.Errorf("line %d answers %s a second time", i+1, id)
		}
		answer = strings.TrimSpace(answer)
		if n := len(answer); n > 1 && (answer[0] == '"' || answer[0] == '\'') && answer[n-1] == answer[0] {
			answer = answer[1 : n-1]
		}
		answers[id] = strings.TrimPrefix(answer, ">")
		last = id
	}
	if len(answers) == 0 {
		return nil, errors.New("it holds no answer")
	}
	return answers, nil
}

// Sheet writes questions as a file of answers to be filled in.
func Sheet(list []Question) []byte {
	if len(list) == 0 {
		return []byte("# Nothing is missing that a question could tell.\n")
	}
	var text strings.Builder
	text.WriteString("# Answer behind each colon; what is left empty takes what is usual, where there is such a thing; - leaves it open.\n")
	for _, q := range list {
		fmt.Fprintf(&text, "\n# %s\n# Why: %s.\n", q.Ask, q.Why)
		if q.Default != "" {
			fmt.Fprintf(&text, "# Usual: %s\n", q.Default)
		}
		fmt.Fprintf(&text, "%s:\n", q.ID)
	}
	return []byte(text.String())
}
