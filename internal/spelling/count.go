package spelling

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Count writes a number with what it counts: "1 cue", "2 cues", "3 switches". Where
// more than a letter changes, many is said of any number but one:
// Count(2, "finding is", "findings are").
func Count(n int, one string, many ...string) string {
	switch {
	case n == 1:
		return "1 " + one
	case len(many) > 0:
		return strconv.Itoa(n) + " " + many[0]
	case strings.HasSuffix(one, "ch"):
		return strconv.Itoa(n) + " " + one + "es"
	}
	return strconv.Itoa(n) + " " + one + "s"
}

// List writes words as people list them: "red, amber and blue".
func List(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// Shortened is a list of at most so many words and one more, or else so many and the rest in a
// form such as "at %d more": one word is told as soon as counted.
func Shortened(words []string, most int, rest string) []string {
	if len(words) <= most+1 {
		return words
	}
	return append(slices.Clone(words[:most]), fmt.Sprintf(rest, len(words)-most))
}

// Few says a few words and counts the rest: "red, amber and 3 more".
func Few(words []string, most int) string {
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}
