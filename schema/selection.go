package schema

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/source"
)

// selections remembers what channel selections mean: the same few stand in
// thousands of settings.
type selections struct {
	all    []int
	groups map[string][]int // by lower-case name

	mu    sync.Mutex
	known map[string]selection
	room  int // how many more channels may be remembered
}

type selection struct {
	channels []int
	err      error
}

// everyChannel is the word for every patched channel.
const everyChannel = "all"

// mostRemembered keeps a cue list of many long selections, all different, from
// filling the memory: 2 million channels are 16 MB.
const mostRemembered = 2_000_000

// making guards the moment in which a show's selections are first worked out.
var making sync.Mutex

func (s *Show) selectionsOf() *selections {
	making.Lock()
	defer making.Unlock()
	if s.selections == nil {
		s.selections = &selections{
			all: s.patched(), groups: s.groupChannels(),
			known: map[string]selection{}, room: mostRemembered,
		}
	}
	return s.selections
}

// Channels returns the channels of a selection, in the order written and without
// repeats: numbers and ranges such as "1-6,9", names of groups, "all" for every
// patched channel, or several of them with commas between. The slice belongs to
// the show: do not change it, nor the show's patch or groups after the first
// call; [Apply] makes a changed copy. It may be called from several goroutines.
func (s *Show) Channels(text string) ([]int, error) {
	all := s.selectionsOf()
	all.mu.Lock()
	defer all.mu.Unlock()
	found, known := all.known[text]
	if !known {
		found.channels, found.err = all.resolve(text)
		if all.room -= len(found.channels) + 1; all.room >= 0 {
			all.known[text] = found
		}
	}
	return found.channels, found.err
}

func (all *selections) resolve(text string) ([]int, error) {
	if channels, ok := all.named(text); ok {
		return channels, nil
	}
	spans, err := all.spans(text)
	if err != nil {
		return nil, err
	}
	return expand(spans), nil
}

// named returns the channels of a group or of "all".
func (all *selections) named(text string) ([]int, bool) {
	name := groupKey(text)
	if name == everyChannel {
		return all.all, true
	}
	channels, isGroup := all.groups[name]
	return channels, isGroup
}

// spans reads a selection without listing every channel of its ranges.
func (all *selections) spans(text string) ([]span, error) {
	if channels, ok := all.named(text); ok { // also a group whose name holds a comma
		return spansOf(channels), nil
	}
	var spans []span
	for _, part := range strings.FieldsFunc(text, isSeparator) {
		part = strings.TrimSpace(part)
		if channels, ok := all.named(part); ok {
			spans = append(spans, spansOf(channels)...)
			continue
		}
		s, err := parseSpan(part)
		if err != nil && strings.Trim(part, "0123456789-. ") != "" {
			err = &noGroup{part}
		}
		if err != nil {
			return nil, err
		}
		spans = append(spans, s)
	}
	if len(spans) == 0 {
		return nil, fmt.Errorf("%q names no channel", source.Shorten(text))
	}
	return spans, nil
}

// noGroup is the error of a selection with a word that is no group's name.
type noGroup struct{ name string }

func (e *noGroup) Error() string {
	return fmt.Sprintf("no group is called %q, and it is not a list of channels", source.Shorten(e.name))
}

// spansOf gathers channels into ranges, in their order.
func spansOf(channels []int) []span {
	var spans []span
	for _, c := range channels {
		if n := len(spans) - 1; n >= 0 && c == spans[n].last+1 {
			spans[n].last = c
			continue
		}
		spans = append(spans, span{c, c})
	}
	return spans
}

// GroupNames returns the names of all groups, sorted.
func (s *Show) GroupNames() []string {
	names := map[string]bool{}
	for name := range s.Groups {
		names[name] = true
	}
	for _, fixture := range s.Patch {
		for _, name := range fixture.Groups {
			names[name] = true
		}
	}
	return slices.Sorted(maps.Keys(names))
}

func groupKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// patched returns the channels of the patch in its order.
func (s *Show) patched() []int {
	var channels gathered
	for _, fixture := range s.Patch {
		channels.add(fixture.Channel)
	}
	return channels.list
}

// groupChannels gathers the groups of the groups section and those that
// fixtures name; a group may be named in both and then has the channels of both.
func (s *Show) groupChannels() map[string][]int {
	groups := map[string]*gathered{}
	group := func(name string) *gathered {
		key := groupKey(name)
		if groups[key] == nil {
			groups[key] = &gathered{}
		}
		return groups[key]
	}
	for _, name := range slices.Sorted(maps.Keys(s.Groups)) {
		channels, _ := ParseChannels(s.Groups[name])
		known := group(name)
		for _, channel := range channels {
			known.add(channel)
		}
	}
	for _, fixture := range s.Patch {
		for _, name := range fixture.Groups {
			group(name).add(fixture.Channel)
		}
	}
	lists := map[string][]int{}
	for key, channels := range groups {
		lists[key] = channels.list
	}
	return lists
}

// gathered is a list of channels without repeats. A channel below 1 is one that
// could not be read, and is left out.
type gathered struct {
	list []int
	seen map[int]bool
}

func (g *gathered) add(channel int) {
	if channel < 1 || g.seen[channel] {
		return
	}
	if g.seen == nil {
		g.seen = map[int]bool{}
	}
	g.seen[channel] = true
	g.list = append(g.list, channel)
}
