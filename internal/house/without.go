package house

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/waiver"
)

// Without takes waivers out of the text of a house file, by their place in the list.
// All that is not of theirs stays byte for byte. The new text is read again before it
// is given: it says what the old one said but for these. Otherwise the error says why.
func Without(name string, data []byte, which []int) ([]byte, error) {
	return change(name, data, which, func(h *House, text string) (string, []waiver.Waiver, error) {
		items, err := h.itemLines(text)
		if err != nil {
			return "", nil, err
		}
		var left []waiver.Waiver
		for i, w := range h.Waivers {
			if !slices.Contains(which, i) {
				left = append(left, w)
			}
		}
		for _, i := range slices.Backward(slices.Sorted(slices.Values(which))) {
			text = text[:items[i].start] + text[items[i].stop:]
		}
		return text, left, nil
	})
}

// Rename writes other subjects into waivers, by their place in the list; nothing else
// is touched, as with [Without].
func Rename(name string, data []byte, subjects map[int]string) ([]byte, error) {
	var which []int
	for i := range subjects {
		which = append(which, i)
	}
	return change(name, data, which, func(h *House, text string) (string, []waiver.Waiver, error) {
		waivers, _ := h.File.Root().Get("waivers")
		renamed := slices.Clone(h.Waivers)
		type stretch struct {
			start, stop int
			to          string
		}
		var list []stretch
		i := 0
		for item := range waivers.Items() {
			if to, ok := subjects[i]; ok {
				subject, _ := item.Get("subject")
				start, stop := subject.Bytes()
				list = append(list, stretch{start, stop, quote(to)})
				renamed[i].Subject = to
			}
			i++
		}
		for _, s := range slices.Backward(list) {
			text = text[:s.start] + s.to + text[s.stop:]
		}
		return text, renamed, nil
	})
}

// change makes a new text of a house file and holds it against what it should say.
func change(name string, data []byte, which []int, make func(h *House, text string) (string, []waiver.Waiver, error)) ([]byte, error) {
	before, err := Read(name, data)
	if err != nil {
		return nil, err
	}
	for _, i := range which {
		if i < 0 || i >= len(before.Waivers) {
			return nil, fmt.Errorf("%s has %d waivers; there is no number %d", name, len(before.Waivers), i+1)
		}
	}
	if len(which) == 0 {
		return data, nil
	}
	mark := strings.TrimSuffix(string(data), before.File.Text) // a byte order mark, or nothing
	text, want, err := make(before, before.File.Text)
	if err != nil {
		return nil, err
	}
	after := []byte(mark + text)
	now, err := Read(name, after)
	if err != nil || !reflect.DeepEqual(before.rest(), now.rest()) || !slices.EqualFunc(bare(want), bare(now.Waivers), func(a, b waiver.Waiver) bool { return a.Same(b) }) {
		return nil, fmt.Errorf("%s is written in a way that the program cannot change; do it by hand", name)
	}
	return after, nil
}

// lines are a stretch of a text, whole lines.
type lines struct{ start, stop int }

// itemLines finds the lines of each waiver: from its dash to the last line that is
// indented further. Empty lines behind it and remarks between two waivers are of
// neither.
func (h *House) itemLines(text string) ([]lines, error) {
	waivers, _ := h.File.Root().Get("waivers")
	open, _ := waivers.Bytes()
	if strings.HasPrefix(text[open:], "[") {
		return nil, errItems
	}
	var items []lines
	for item := range waivers.Items() {
		first, _ := item.Bytes()
		start := strings.LastIndexByte(text[:first], '\n') + 1
		indent := len(text[start:]) - len(strings.TrimLeft(text[start:], " "))
		if !strings.HasPrefix(text[start+indent:], "-") { // the dash stands on a line of its own
			return nil, errItems
		}
		stop, at := start, start
		for line := range strings.Lines(text[start:]) {
			content := strings.TrimSpace(line)
			depth := len(line) - len(strings.TrimLeft(line, " "))
			if at > start && content != "" && depth <= indent {
				break
			}
			at += len(line)
			if content != "" {
				stop = at
			}
		}
		if n := len(items); n > 0 && start < items[n-1].stop {
			return nil, errItems // two on one line
		}
		items = append(items, lines{start, stop})
	}
	return items, nil
}
