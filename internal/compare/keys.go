package compare

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// lostKeys says of things of then which keys they had and have no more. Whatever
// hangs on a thing of the show as a whole hangs on its head, its air and its notices
// as well.
func (a *against) lostKeys() map[finding.Subject]string {
	then, now := itemsOf(a.then.Show), itemsOf(a.now.Show)
	lost := map[finding.Subject]string{}
	for s, was := range then {
		link, ok := a.pairs.Now(s.Kind, s.Name)
		if !ok {
			continue
		}
		is, there := now[finding.Subject{Kind: s.Kind, Name: link.Name}]
		if !there {
			continue
		}
		var keys []string
		for key := range was {
			if !is[key] {
				keys = append(keys, key)
			}
		}
		if len(keys) > 0 {
			slices.Sort(keys)
			lost[s] = fmt.Sprintf("%s no longer gives %s", strings.TrimSpace(s.Kind+" "+link.Name), strings.Join(keys, ", "))
		}
	}
	return lost
}

// itemsOf lists which keys each thing of a show gives.
func itemsOf(show *schema.Show) map[finding.Subject]map[string]bool {
	items := map[finding.Subject]map[string]bool{}
	add := func(kind, name string, at source.Ref) {
		keys := map[string]bool{}
		for item := range at.Items() {
			switch key := item.Key(); {
			case key == "note", key == "known", key == "meant", key == "$schema", strings.HasPrefix(key, "x_"):
			default:
				keys[key] = true
			}
		}
		items[finding.Subject{Kind: kind, Name: name}] = keys
	}
	if show == nil {
		return items
	}
	if room := show.Room; room != nil {
		for _, p := range room.Places {
			add("place", p.Name, p.At)
		}
		for _, c := range room.Cameras {
			add("camera", c.Name, c.At)
		}
		for _, s := range room.Surfaces {
			add("screen", s.Name, s.At)
		}
		for _, c := range room.Circuits {
			add("circuit", c.Name, c.At)
		}
	}
	for _, t := range show.Types {
		add("type", t.Name, t.At)
	}
	for _, f := range show.Patch {
		add("channel", strconv.Itoa(f.Channel), f.At)
	}
	for _, s := range show.Order {
		add("segment", s.Name, s.At)
	}
	return items
}

// lostColumns says which keys a whole list gave and gives no more, if the show has
// words of which nobody knows what they mean, and had none: a column that is called
// otherwise takes all of its values along. It is "" otherwise.
func (a *against) lostColumns() string {
	strange := func(list []*finding.Finding) map[string]bool {
		found := map[string]bool{}
		for _, f := range list {
			if f.Rule == "file/unknown-column" || f.Rule == "file/unknown-key" {
				found[f.Detail+key(f.Subjects)] = true
			}
		}
		return found
	}
	before := strange(a.then.Findings)
	more := false
	for word := range strange(a.now.Findings) {
		more = more || !before[word]
	}
	if !more {
		return ""
	}
	then, now := columnsOf(a.then.Show), columnsOf(a.now.Show)
	var lost []string
	for column := range then {
		if !now[column] {
			lost = append(lost, column)
		}
	}
	if len(lost) == 0 {
		return ""
	}
	slices.Sort(lost)
	return "nothing gives " + strings.Join(lost, ", ") + " any more"
}

// columnsOf lists the keys that anything in the long lists of a show gives.
func columnsOf(show *schema.Show) map[string]bool {
	given := map[string]bool{}
	add := func(of string, item any) {
		v := reflect.ValueOf(item).Elem()
		for i := range v.NumField() {
			key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			if key != "" && key != "-" && key != "note" && key != "known" && key != "meant" && !v.Field(i).IsZero() {
				given[of+" "+key] = true
			}
		}
	}
	if show == nil {
		return given
	}
	for _, f := range show.Patch {
		add("patch", f)
	}
	for _, s := range show.Order {
		add("order", s)
	}
	for _, c := range show.Cues {
		add("cues", c)
		for _, set := range c.Set {
			add("set", set.Told)
		}
	}
	return given
}
