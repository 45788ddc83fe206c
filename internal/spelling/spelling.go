// Package spelling finds the word that was probably meant, and counts things in words.
// In go a word and the words that are known; out comes the nearest one, or nothing
// when none is near enough to be worth saying.
package spelling

import (
	"strings"
	"unicode/utf8"

	"github.com/agext/levenshtein"
)

// longest is how many bytes a word may have that is compared.
const longest = 200

// Nearest returns the known word closest to the given one, ignoring case, and
// "" when more than about a third of its letters differ. Of words equally close
// the first is taken, so the order of known decides and the answer is stable.
//
// A word longer than any that a show has is like none: the work grows with the
// product of the lengths.
func Nearest(word string, known []string) string {
	if len(word) > longest {
		return ""
	}
	best, bestDistance := "", 1+max(2, len(word)/3)
	lower := strings.ToLower(word)
	letters := utf8.RuneCountInString(lower)
	for _, candidate := range known {
		other := strings.ToLower(candidate)
		if apart := utf8.RuneCountInString(other) - letters; max(apart, -apart) >= bestDistance {
			continue // as many letters at least are put in or left out (the bound that the library takes is not kept by it)
		}
		if distance := levenshtein.Distance(lower, other, nil); distance < bestDistance {
			best, bestDistance = candidate, distance
		}
	}
	if bestDistance >= len(word) { // two letters changed in a word of two is no likeness
		return ""
	}
	return best
}

// Hint returns ` Did you mean "x"?` or "", to be put behind a sentence.
func Hint(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return ` Did you mean "` + near + `"?`
	}
	return ""
}
