package schema

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/cueproof/cueproof/internal/source"
)

// selections remembers what channel selections mean: the same few stand in
// thousands of settings.
type selections struct {
	patch  []int             // patched channels, each once, in the order of the patch
	sorted []int             // the same in numeric order
	groups map[string][]span // by lower-case name, in the order written

	mu    sync.Mutex
	known map[string]*selection
	room  int // how many more channels may be remembered
}

type selection struct {
	text      string
	channels  []int  // patched
	unpatched Ranges // the others
	err       error

	kept   bool                         // it is remembered
	behind [2]atomic.Pointer[selection] // remembered ones that came behind it, the last of them first
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
		patch := s.patched()
		s.selections = &selections{
			patch: patch, sorted: slices.Sorted(slices.Values(patch)), groups: s.groupSpans(),
			known: map[string]*selection{}, room: mostRemembered,
		}
	}
	return s.selections
}

// Channels returns the patched channels of a selection, in the order written and
// without repeats: numbers and ranges such as "1-6,9", names of groups, "all" for
// every patched channel, or several of them with commas between. What no fixture
// has ([Show.Unpatched]) is never listed, so that 1-99999 costs no more than
// the patch has lines. The slice belongs to the show: do not change it, nor the show's
// patch or groups after the first call; [Apply] makes a changed copy. It may be
// called from several goroutines.
func (s *Show) Channels(text string) ([]int, error) {
	channels, _, err := s.Selected(text)
	return channels, err
}

// Selected is [Show.Channels] and [Show.Unpatched] at once.
func (s *Show) Selected(text string) (channels []int, unpatched Ranges, err error) {
	found := s.selectionsOf().find(text)
	return found.channels, found.unpatched, found.err
}

// Selections returns what tells of selections one after the other what [Show.Selected] does.
// Cue after cue names the same ones in the same order, so those that came behind another
// are looked at first. It is for one goroutine.
func (s *Show) Selections() func(text string) (channels []int, unpatched Ranges, err error) {
	all, before := s.selectionsOf(), &selection{}
	next := func(text string) *selection {
		for i := range before.behind {
			if found := before.behind[i].Load(); found != nil && found.text == text {
				return found
			}
		}
		found := all.find(text)
		if found.kept {
			before.behind[1].Store(before.behind[0].Load())
			before.behind[0].Store(found)
		}
		return found
	}
	return func(text string) ([]int, Ranges, error) {
		before = next(text)
		return before.channels, before.unpatched, before.err
	}
}

// Unpatched returns the channels of a selection that no fixture has. A selection that
// cannot be read has none.
func (s *Show) Unpatched(text string) Ranges { return s.selectionsOf().find(text).unpatched }

func (all *selections) find(text string) *selection {
	all.mu.Lock()
	defer all.mu.Unlock()
	found, known := all.known[text]
	if !known {
		found = all.resolve(text)
		found.text = text
		if all.room -= len(found.channels) + len(found.unpatched) + 1; all.room >= 0 {
			found.kept = true
			all.known[text] = found
		}
	}
	return found
}

func (all *selections) resolve(text string) *selection {
	if groupKey(text) == everyChannel {
		return &selection{channels: all.patch}
	}
	spans, err := all.spans(text)
	if err != nil {
		return &selection{err: err}
	}
	return &selection{channels: all.within(spans), unpatched: merged(spans).without(all.sorted)}
}

// within lists the patched channels of spans in the order written, without
// repeats. A channel that was taken points to the next one that may be free, so
// ranges that overlap a thousand times cost no more than one.
func (all *selections) within(spans []span) []int {
	if len(spans) == 1 {
		from, _ := slices.BinarySearch(all.sorted, spans[0].first)
		to, _ := slices.BinarySearch(all.sorted, spans[0].last+1)
		return slices.Clip(all.sorted[from:max(from, to)])
	}
	var channels []int
	after := make([]int32, len(all.sorted)+1) // by place among the patched channels; 0: free
	free := func(i int) int {
		end := int32(i)
		for after[end] != 0 {
			end = after[end]
		}
		for i := int32(i); after[i] != 0; {
			i, after[i] = after[i], end
		}
		return int(end)
	}
	for _, s := range spans {
		first, _ := slices.BinarySearch(all.sorted, s.first)
		for i := free(first); i < len(all.sorted) && all.sorted[i] <= s.last; i = free(i) {
			channels = append(channels, all.sorted[i])
			after[i] = int32(i) + 1
		}
	}
	return channels
}

// named returns the channels of a group or of "all".
func (all *selections) named(text string) ([]span, bool) {
	name := groupKey(text)
	if name == everyChannel {
		return spansOf(all.patch), true
	}
	spans, isGroup := all.groups[name]
	return spans, isGroup
}

// spans reads a selection without listing every channel of its ranges.
func (all *selections) spans(text string) ([]span, error) {
	if spans, ok := all.named(text); ok { // also a group whose name holds a comma
		return spans, nil
	}
	var spans []span
	said := map[string]bool{} // a group that is named again adds nothing
	for _, part := range strings.FieldsFunc(text, isSeparator) {
		part = strings.TrimSpace(part)
		if named, ok := all.named(part); ok {
			if key := groupKey(part); !said[key] {
				said[key] = true
				spans = append(spans, named...)
			}
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
	var channels channelSet
	for _, fixture := range s.Patch {
		channels.add(fixture.Channel)
	}
	return channels.list
}

// groupSpans gathers the groups of the groups section and those that fixtures
// name; a group may be named in both and then has the channels of both.
func (s *Show) groupSpans() map[string][]span {
	groups := map[string][]span{}
	for _, name := range slices.Sorted(maps.Keys(s.Groups)) {
		spans, _ := parseSpans(s.Groups[name])
		groups[groupKey(name)] = append(groups[groupKey(name)], spans...)
	}
	for _, fixture := range s.Patch {
		for _, name := range fixture.Groups {
			key := groupKey(name)
			list := groups[key]
			switch n := len(list) - 1; {
			case fixture.Channel < 1: // could not be read
			case n >= 0 && list[n].last+1 == fixture.Channel:
				list[n].last++
			default:
				list = append(list, span{fixture.Channel, fixture.Channel})
			}
			groups[key] = list
		}
	}
	return groups
}

// channelSet is a list of channels without repeats. A channel below 1 is one that
// could not be read, and is left out.
type channelSet struct {
	list []int
	seen map[int]bool
}

func (g *channelSet) add(channel int) {
	if channel < 1 || g.seen[channel] {
		return
	}
	if g.seen == nil {
		g.seen = map[int]bool{}
	}
	g.seen[channel] = true
	g.list = append(g.list, channel)
}
