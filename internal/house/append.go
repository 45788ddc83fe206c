package house

import (
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/waiver"
)

// Append adds waivers at the end of the list in the text of a house file, which
// may be empty. Every line that was there stays as it is, remarks and order too.
// The new text is read again before it is given: it says all that the old one said,
// and the new waivers. Where that is not so, for instance because the file is
// written in brackets, the error says why and nothing is given.
func Append(name string, data []byte, list []waiver.Waiver) ([]byte, error) {
	before, err := Read(name, data)
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return data, nil
	}
	mark := strings.TrimSuffix(string(data), before.File.Text) // a byte order mark, or nothing
	text, err := insert(before.File, list)
	if err != nil {
		return nil, err
	}
	after := []byte(mark + text)
	if len(after) > MaxBytes {
		return nil, fmt.Errorf("with %d more waivers %s would have %d bytes; a house file has at most %d. Accept fewer findings, or change the limit that they are held against", len(list), name, len(after), MaxBytes)
	}
	now, err := Read(name, after)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be continued by the program; add the waivers by hand (%w)", name, err)
	}
	if !continues(before, now, list) {
		return nil, fmt.Errorf("%s is written in a way that the program cannot continue; add the waivers by hand", name)
	}
	return after, nil
}

// continues reports whether a house file says what another said, and the waivers.
func continues(before, now *House, list []waiver.Waiver) bool {
	wanted := append(bare(before.Waivers), bare(list)...)
	return reflect.DeepEqual(before.rest(), now.rest()) && reflect.DeepEqual(wanted, bare(now.Waivers))
}

// rest is all that a house file says but its waivers.
func (h *House) rest() map[string]any {
	if blank(h.File.Text) {
		return map[string]any{}
	}
	members, _ := h.File.Root().Any().(map[string]any)
	delete(members, "waivers")
	return members
}

// bare returns waivers without their places.
func bare(list []waiver.Waiver) []waiver.Waiver {
	result := make([]waiver.Waiver, len(list))
	for i, w := range list {
		w.Place, w.UntilPlace = source.Place{}, source.Place{}
		result[i] = w
	}
	return result
}

var (
	errBrackets = errors.New("the file is written in curly brackets; write one setting to a line, or add the waivers by hand")
	errItems    = errors.New("the waivers are not written each on lines of its own behind a dash; change them by hand")
	errList     = errors.New("the waivers stand in square brackets; put each on a line of its own behind a dash, or add the new ones by hand")
)

// insert writes the waivers into the text.
func insert(file *source.File, list []waiver.Waiver) (string, error) {
	text := file.Text
	end := "\n"
	if strings.Contains(text, "\r\n") {
		end = "\r\n"
	}
	write := func(at int, before string, indent int) string {
		head, tail := text[:at], text[at:]
		if head != "" && !strings.HasSuffix(head, "\n") {
			head += end
		}
		return head + before + format(list, indent, end) + tail
	}
	if blank(text) {
		return write(len(text), "waivers:"+end, 2), nil
	}
	root := file.Root()
	start, _ := root.Bytes()
	if strings.HasPrefix(text[start:], "{") {
		return "", errBrackets
	}
	waivers, ok := root.Get("waivers")
	if !ok {
		return write(len(text), "waivers:"+end, 2), nil
	}
	if waivers.Kind() == source.Null {
		line := waivers.KeyPlace().Stop
		if length := strings.IndexByte(text[line:], '\n'); length >= 0 {
			return write(line+length+1, "", 2), nil
		}
		return write(len(text), "", 2), nil
	}
	open, _ := waivers.Bytes()
	if strings.HasPrefix(text[open:], "[") {
		if waivers.Len() > 0 {
			return "", errList
		}
		return emptied(file, waivers, format(list, 2, end), end)
	}
	at, indent := endOfList(text, open)
	return write(at, "", indent), nil
}

// emptied puts the waivers in the place of an empty pair of brackets; a remark
// behind it stays on its line.
func emptied(file *source.File, waivers source.Ref, lines, end string) (string, error) {
	text := file.Text
	open, _ := waivers.Bytes()
	shut := strings.IndexByte(text[open:], ']')
	if shut < 0 || strings.TrimSpace(text[open+1:open+shut]) != "" {
		return "", errList
	}
	head, tail := strings.TrimRight(text[:open], " "), text[open+shut+1:]
	line, rest, found := strings.Cut(tail, "\n")
	if !found {
		return head + tail + end + lines, nil
	}
	return head + line + "\n" + lines + rest, nil
}

// endOfList finds the offset behind a list of lines with dashes, the first of
// which stands at the offset, and how far its dashes are indented. What belongs
// to the list is indented further than its dashes, or is another dash.
func endOfList(text string, first int) (at, indent int) {
	at = strings.LastIndexByte(text[:first], '\n') + 1
	indent = first - at
	last := at
	for line := range strings.Lines(text[at:]) {
		at += len(line)
		content := strings.TrimLeft(line, " ")
		depth := len(line) - len(content)
		content = strings.TrimRight(content, "\r\n\t ")
		isItem := depth == indent && (content == "-" || strings.HasPrefix(content, "- "))
		switch {
		case content == "":
		case depth > indent || isItem:
			last = at
		default:
			return last, indent
		}
	}
	return last, indent
}

// format writes waivers as a list of lines, its dashes indented so far.
func format(list []waiver.Waiver, indent int, end string) string {
	var b strings.Builder
	for _, w := range list {
		lead := "- "
		plainly := func(key, value string) {
			b.WriteString(strings.Repeat(" ", indent) + lead + key + ": " + value + end)
			lead = "  "
		}
		add := func(key, value string) {
			if value != "" {
				plainly(key, quote(value))
			}
		}
		add("rule", w.Rule)
		add("subject", w.Subject)
		add("detail", w.Detail)
		if w.Verdict != finding.Fail {
			add("verdict", string(w.Verdict))
		}
		if w.Value != nil {
			plainly("value", strconv.FormatFloat(*w.Value, 'f', -1, 64))
		}
		add("reason", w.Reason)
		add("by", w.By)
		add("since", w.Since)
		add("until", w.Until)
	}
	return b.String()
}

// quote writes a text in one line of YAML: as it is where every reader takes it
// for that text, and in double quotes otherwise.
func quote(text string) string {
	if plain(text) {
		return text
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r == '\uFEFF' || !unicode.IsPrint(r) && r <= 0xFFFF:
			fmt.Fprintf(&b, `\u%04x`, r)
		case !unicode.IsPrint(r):
			fmt.Fprintf(&b, `\U%08x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// plain reports whether a text needs no quotes: it starts with a letter, holds
// letters, digits, single blanks and a few marks that mean nothing in YAML, and is
// no word that some reader takes for true, false or nothing. Days need none either.
func plain(text string) bool {
	if CheckDay(text) == nil {
		return true
	}
	switch strings.ToLower(text) {
	case "", "true", "false", "yes", "no", "on", "off", "null", "y", "n", "nan", "inf":
		return false
	}
	last := ' '
	for i, r := range text {
		letter := r <= unicode.MaxLatin1 && unicode.IsLetter(r)
		switch {
		case i == 0 && !letter, r == ' ' && last == ' ':
			return false
		case !letter && !(r >= '0' && r <= '9') && !strings.ContainsRune(" -_/.,;()+%", r):
			return false
		}
		last = r
	}
	return last != ' '
}
