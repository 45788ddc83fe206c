package schema

import (
	"fmt"
	"slices"
	"strings"
	"sync"
)

// selections remembers what channel selections mean: the same few stand in
// thousands of settings.
type selections struct {
	mu     sync.Mutex
	groups map[string][]int // by lower-case name
	known  map[string]selection
}

type selection struct {
	channels []int
	err      error
}

// everyChannel is the word for every patched channel.
const everyChannel = "all"

// Channels returns the channels of a selection: numbers and ranges such as
// "1-6,9", the name of a group, or "all" for every patched channel. The slice
// belongs to the show: do not change it.
func (s *Show) Channels(text string) ([]int, error) {
	if s.selections == nil {
		s.selections = &selections{groups: s.groupChannels(), known: map[string]selection{}}
	}
	s.selections.mu.Lock()
	defer s.selections.mu.Unlock()
	found, known := s.selections.known[text]
	if !known {
		found.channels, found.err = s.resolveSelection(text)
		s.selections.known[text] = found
	}
	return found.channels, found.err
}

func (s *Show) resolveSelection(text string) ([]int, error) {
	name := strings.ToLower(strings.TrimSpace(text))
	if channels, isGroup := s.selections.groups[name]; isGroup {
		return channels, nil
	}
	if name == everyChannel {
		var all []int
		for _, fixture := range s.Patch {
			if fixture.Channel > 0 && !slices.Contains(all, fixture.Channel) {
				all = append(all, fixture.Channel)
			}
		}
		return all, nil
	}
	channels, err := ParseChannels(text)
	if err != nil && strings.Trim(name, "0123456789-,;+ ") != "" {
		return nil, fmt.Errorf("no group is called %q, and it is not a list of channels", text)
	}
	return channels, err
}

// GroupNames returns the names of all groups, sorted.
func (s *Show) GroupNames() []string {
	var names []string
	for name := range s.Groups {
		names = append(names, name)
	}
	for _, fixture := range s.Patch {
		for _, name := range fixture.Groups {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	slices.Sort(names)
	return names
}

// groupChannels gathers the groups of the groups section and those that
// fixtures name; a group may be named in both and then has the channels of both.
func (s *Show) groupChannels() map[string][]int {
	groups := map[string][]int{}
	for name, text := range s.Groups {
		channels, _ := ParseChannels(text)
		groups[strings.ToLower(strings.TrimSpace(name))] = channels
	}
	for _, fixture := range s.Patch {
		for _, name := range fixture.Groups {
			key := strings.ToLower(strings.TrimSpace(name))
			if !slices.Contains(groups[key], fixture.Channel) {
				groups[key] = append(groups[key], fixture.Channel)
			}
		}
	}
	return groups
}
