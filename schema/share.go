package schema

import (
	"reflect"
	"slices"
)

// Sharing is a changed copy of a show that has, of all that says the same in another one,
// what stands there: whoever holds the two against each other sees by the pointers what is
// as it was. apart says how much is not, by what it takes to look at it again.
func (s *Show) Sharing(with *Show) (shared *Show, apart int) {
	now, n := *s, 0
	if n = share(&now.Types, with.Types); n > 0 {
		apart += 2 * (n + len(s.Cues)) // the light of every look
	}
	if now.Room != with.Room {
		if now.Room != nil && with.Room != nil && reflect.DeepEqual(now.Room, with.Room) {
			now.Room = with.Room
		} else {
			apart += 1 + len(s.Cues)
		}
	}
	if now.Notices != with.Notices {
		if apart++; reflect.DeepEqual(now.Notices, with.Notices) {
			now.Notices = with.Notices
			apart--
		}
	}
	apart += share(&now.Patch, with.Patch) + share(&now.Cues, with.Cues) + share(&now.Order, with.Order) + share(&now.Readings, with.Readings)
	if slices.Equal(now.Patch, with.Patch) && reflect.ValueOf(now.Groups).Pointer() == reflect.ValueOf(with.Groups).Pointer() {
		now.selections = with.selectionsOf()
	}
	return &now, apart
}

// share puts into a list what says the same in another at the same place, and counts what
// does not.
func share[T any](list *[]*T, with []*T) (apart int) {
	now, owned := *list, false
	for i, one := range now {
		switch {
		case i >= len(with):
			apart++
		case one == with[i]:
		case !reflect.DeepEqual(one, with[i]):
			apart++
		default:
			if !owned {
				now, owned = slices.Clone(now), true
			}
			now[i] = with[i]
		}
	}
	*list = now
	return apart + max(0, len(with)-len(now))
}
