package rules

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/source"
)

// placeIn returns where the character at an offset (counted in characters) of a
// YAML text stands in its file. YAML folds line breaks, takes indentation away
// and has escapes, so the text and the way it is written are gone through side by
// side: what is not space stands in both in the same order.
func placeIn(ref source.Ref, text string, offset int) source.Place {
	at := ref.Place()
	body := at.Start
	written := at.File.Text[at.Start:]
	next := plainRune
	switch {
	case strings.HasPrefix(written, "|"), strings.HasPrefix(written, ">"):
		end := strings.IndexByte(written, '\n')
		if end < 0 {
			return at
		}
		body += end + 1
	case strings.HasPrefix(written, `"`):
		body, next = body+1, escapedRune
	case strings.HasPrefix(written, "'"):
		body, next = body+1, quotedRune
	}
	place := func(at int) source.Place {
		file := ref.File
		at = min(at, len(file.Text))
		_, size := utf8.DecodeRuneInString(file.Text[at:])
		return source.Place{File: file, Start: at, Stop: at + size}
	}
	position, end := body, body // of the character gone through last
	for i, r := range []rune(text) {
		if i > offset {
			break
		}
		if unicode.IsSpace(r) {
			continue
		}
		for {
			written, size := next(at.File.Text[end:])
			if size == 0 {
				return place(position)
			}
			position, end = end, end+size
			if !unicode.IsSpace(written) {
				break
			}
		}
	}
	if offset >= utf8.RuneCountInString(text) {
		position = end
	}
	return place(position)
}

// plainRune reads one character that stands for itself.
func plainRune(text string) (r rune, size int) {
	if text == "" {
		return 0, 0
	}
	return utf8.DecodeRuneInString(text)
}

// quotedRune reads one character inside single quotes, where two stand for one.
func quotedRune(text string) (r rune, size int) {
	if strings.HasPrefix(text, "''") {
		return '\'', 2
	}
	return plainRune(text)
}

// escapedRune reads one character inside double quotes. An escaped line break
// joins two lines and counts as space.
func escapedRune(text string) (r rune, size int) {
	if !strings.HasPrefix(text, `\`) || len(text) < 2 {
		return plainRune(text)
	}
	digits := map[byte]int{'x': 2, 'u': 4, 'U': 8}[text[1]]
	if digits > 0 && len(text) >= 2+digits {
		code, err := strconv.ParseUint(text[2:2+digits], 16, 32)
		if err == nil {
			return rune(code), 2 + digits
		}
	}
	switch text[1] {
	case 'n', 't', 'r', 'f', 'v', '_', 'N', 'L', 'P', '\n':
		return ' ', 2
	}
	r, size = utf8.DecodeRuneInString(text[1:])
	return r, 1 + size
}
