package spelling

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
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

// Capital is a text that begins a sentence: its first letter, of whatever alphabet, is a capital.
func Capital(text string) string { return withFirst(text, unicode.ToUpper) }

// Small is a text that goes on in a sentence.
func Small(text string) string { return withFirst(text, unicode.ToLower) }

func withFirst(text string, change func(rune) rune) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 || first == utf8.RuneError {
		return text
	}
	return string(change(first)) + text[size:]
}

// Ordinal is the place of something in a row as a number: 1st, 22nd, 113th.
func Ordinal(n int) string {
	ending := "th"
	if tens := n % 100 / 10; tens != 1 {
		switch n % 10 {
		case 1:
			ending = "st"
		case 2:
			ending = "nd"
		case 3:
			ending = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, ending)
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

// Cues says a few cues by their numbers and counts the rest: "cue 3", "cues 3, 4 and 2 more".
func Cues(numbers []string, most int) string {
	if len(numbers) == 1 {
		return "cue " + numbers[0]
	}
	return "cues " + Few(numbers, most)
}

// counted are the nouns in which limits and facts are counted, with what one of them is called.
var counted = map[string]string{
	"stops": "stop", "degrees": "degree", "flashes": "flash", "cues": "cue", "looks": "look", "lamps": "lamp", "hues": "hue",
	"places": "place", "channels": "channel", "slots": "slot",
}

// Amount writes a number with its unit: "2 stops", "1 stop", "1 flash/s", "7" without one.
func Amount(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + After(number, " "+unit)
}

// After is what stands behind a number that is written so, in the singular behind "1":
// After("1", " stops more") is " stop more".
func After(number, text string) string {
	noun := strings.TrimPrefix(text, " ")
	end := strings.IndexFunc(noun, func(c rune) bool { return c < 'a' || c > 'z' })
	if end < 0 {
		end = len(noun)
	}
	one, ok := counted[noun[:end]]
	if number != "1" && number != "-1" || !ok || len(noun) == len(text) {
		return text
	}
	return " " + one + noun[end:]
}
