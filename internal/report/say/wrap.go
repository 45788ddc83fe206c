package say

import (
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// Wrap breaks text at blanks into lines of at most the given number of columns.
// A word that is longer is broken too, unless it looks like the name of a file,
// which people copy. Text of blanks alone has no line.
func Wrap(text string, most int) []string {
	var lines []string
	line, used := "", 0
	flush := func() {
		if line != "" {
			lines = append(lines, line)
			line, used = "", 0
		}
	}
	for _, word := range strings.Fields(text) {
		if used+1+Columns(word) > most {
			flush()
		}
		for Columns(word) > most && !PathLike(word) {
			head := fitting(word, most)
			lines = append(lines, head)
			word = word[len(head):]
		}
		if line != "" {
			line += " "
			used++
		}
		line += word
		used += Columns(word)
	}
	flush()
	return lines
}

// PathLike says whether a long word should stay whole; a really long one is no
// name that anybody copies.
func PathLike(word string) bool {
	const longestPath = 200
	return strings.Contains(word, "/") && len(word) <= longestPath
}

// fitting returns the head of a word that fits, one character at least.
func fitting(word string, most int) string {
	used := 0
	for i, r := range word {
		used += columnsOf(r)
		if i > 0 && used > most {
			return word[:i]
		}
	}
	return word
}

// Columns returns how many columns of a terminal a text takes up.
func Columns(text string) int {
	n := 0
	for _, r := range text {
		n += columnsOf(r)
	}
	return n
}

// columnsOf follows Unicode Standard Annex 11: wide and fullwidth characters take
// two columns. Marks that stand on the character before them take none.
func columnsOf(r rune) int {
	if r < 0x7f { // nearly every text is of these alone
		return 1
	}
	if unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}
