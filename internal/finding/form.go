package finding

import "strings"

// Form is a phrase that asks for a piece of knowledge without the one channel or the one
// name in it; phrases of one form ask for the same of several things. A phrase with none of them, or with more than one, is its own form.
type Form struct {
	Words string // with [FormChannel] or [FormName] in place of what was taken out
	Name  string // the number of the channel, or the name in its quote marks; ""
}

// What stands in a form for what differs.
const (
	FormChannel = "\x00channel"
	FormName    = "\x00name"
)

// FormOf takes the channel or the name out of a phrase.
func FormOf(phrase string) Form {
	start, stop, channel := varying(phrase, 0)
	if start < 0 {
		return Form{Words: phrase}
	}
	if again, _, _ := varying(phrase, stop); again >= 0 {
		return Form{Words: phrase}
	}
	if channel {
		return Form{phrase[:start] + FormChannel + phrase[stop:], phrase[start+len("channel ") : stop]}
	}
	return Form{phrase[:start] + FormName + phrase[stop:], phrase[start:stop]}
}

// varying finds the next channel with its number, or name in quote marks; start is -1
// where there is none.
func varying(phrase string, from int) (start, stop int, channel bool) {
	const word = "channel "
	for at := from; at < len(phrase); at++ {
		switch rest := phrase[at:]; {
		case rest[0] == '"':
			if end := strings.IndexByte(rest[1:], '"'); end >= 0 {
				return at, at + end + 2, false
			}
		case rest[0] == word[0] && strings.HasPrefix(rest, word):
			end := len(word)
			for end < len(rest) && rest[end] >= '0' && rest[end] <= '9' {
				end++
			}
			if end > len(word) {
				return at, at + end, true
			}
		}
	}
	return -1, -1, false
}
