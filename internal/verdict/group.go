package verdict

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// grouped puts the gaps together that ask for the same of several things: "the purpose
// of channels 1-29". Only phrases that differ in one place are alike.
func (g *gapList) grouped() []outcome.Gap {
	list := make([]outcome.Gap, len(g.list))
	for i := range g.list {
		one := &g.list[i]
		if len(one.names) > 1 {
			one.Missing = several(one.form, one.names)
		}
		list[i] = one.Gap
	}
	return aspects(list)
}

// with stands before what is wanted of a thing.
const with = ", with "

// allTypes asks for all types where no file tells any, and oneType begins what asks for one.
const allTypes, oneType = "the types of fixture in the rig", "the type \""

// aspects puts the gaps together that ask for several sides of one thing: the running
// order with the places of people, and the same with the duration of its parts, are one
// file that one person writes once. So are all types and each of them.
func aspects(list []outcome.Gap) []outcome.Gap {
	if slices.ContainsFunc(list, func(gap outcome.Gap) bool { return gap.Missing == allTypes }) {
		list = slices.Clone(list)
		for i, gap := range list {
			if name, side, sided := strings.Cut(gap.Missing, with); strings.HasPrefix(name, oneType) {
				list[i].Missing = allTypes
				if sided {
					list[i].Missing += with + strings.ReplaceAll(side, "its ", "their ")
				}
			}
		}
	}
	index := map[string]int{}
	var whole []outcome.Gap
	for _, gap := range list {
		// A colon tells what the thing is, and asks for nothing more.
		plain, _, _ := strings.Cut(gap.Missing, ": ")
		head, side, _ := strings.Cut(plain, with)
		at, known := index[head]
		if !known {
			index[head] = len(whole)
			whole = append(whole, gap)
			continue
		}
		one := joined(whole[at], gap)
		if strings.HasPrefix(gap.Missing, one.Missing) {
			one.Missing = gap.Missing
		} else if side != "" {
			one.Missing += map[bool]string{true: " and ", false: with}[strings.Contains(one.Missing, with)] + side
		}
		whole[at] = one
	}
	return whole
}

// joined is two gaps as one.
func joined(a, b outcome.Gap) outcome.Gap {
	a.Subjects += b.Subjects
	a.Consequence = min(a.Consequence, b.Consequence)
	a.Rules = slices.Clone(a.Rules)
	for _, rule := range b.Rules {
		if !slices.Contains(a.Rules, rule) {
			a.Rules = append(a.Rules, rule)
		}
	}
	slices.Sort(a.Rules)
	a.Each = slices.Clone(a.Each)
	for _, c := range b.Each {
		at := slices.IndexFunc(a.Each, func(o outcome.GapCount) bool { return o.Rule == c.Rule && o.Kind == c.Kind })
		if at < 0 {
			a.Each = append(a.Each, c)
		} else {
			a.Each[at].Subjects += c.Subjects
		}
	}
	return a
}

// several writes a phrase about several things: channels as ranges, of names the
// first few.
func several(form string, names []string) string {
	if strings.Contains(form, finding.FormChannel) {
		var channels []int
		for _, name := range names {
			if number, err := strconv.Atoi(name); err == nil {
				channels = append(channels, number)
			}
		}
		const slot = finding.FormChannel
		for _, words := range [][2]string{
			{"the fixture on " + slot, "the fixtures on " + slot}, {" light on " + slot, " lights on " + slot},
			{slot + " hangs and is aimed, its beam", slot + " hang and are aimed, their beams"}, {slot + " hangs and is aimed", slot + " hang and are aimed"}, {slot + " hangs", slot + " hang"}, {slot + " is aimed", slot + " are aimed"},
		} {
			form = strings.Replace(form, words[0], words[1], 1)
		}
		return strings.Replace(form, finding.FormChannel, "channels "+schema.FormatChannels(channels), 1)
	}
	const few = 2
	text := strings.Join(names[:min(few, len(names))], ", ")
	if more := len(names) - few; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return strings.Replace(form, finding.FormName, text, 1)
}

// unlocked is how many checks a piece of knowledge would let us make.
func unlocked(g *outcome.Gap) int {
	sum := 0
	for _, c := range g.Each {
		sum += max(1, c.Subjects)
	}
	return sum
}

// mostUnlocked orders gaps by the checks that each would let us make.
func mostUnlocked(a, b outcome.Gap) int {
	return cmp.Or(cmp.Compare(unlocked(&b), unlocked(&a)), cmp.Compare(a.Consequence, b.Consequence), cmp.Compare(a.Missing, b.Missing))
}

// keys are where pieces of knowledge are written, by words of the phrases that ask for
// them; the first that fits decides.
var keys = []struct{ word, section, key string }{
	{"notice", "notices", ""}, {"smoke", "notices", "smoke_detection"},
	{"areas of the room", "room", "areas"}, {"running order", "order", ""}, {"segment", "order", ""},
	{"white balance", "room", "cameras: white_k"}, {"shutter of the camera", "room", "cameras: shutter_s"}, {"aperture", "room", "cameras: aperture_f"},
	{"sensitivity", "room", "cameras: sensitivity_iso"}, {"camera", "room", "cameras"}, {"circuit", "room", "circuits"}, {"volume", "room", "air: volume_m3"},
	{"air change", "room", "air: air_changes_per_h"}, {"the screen", "room", "surfaces"}, {"the surface", "room", "surfaces"}, {"background", "room", "surfaces"},
	{"the types of fixture", "types", ""}, {"watts", "types", "watts"}, {"addresses", "types", "slots"}, {"of the type", "types", ""}, {"the type \"", "types", ""},
	{"the purpose", "patch", "purpose"}, {"the address", "patch", "address"}, {"position of the fixture", "patch", "hung_at"}, {"aimed", "patch", "aimed_at"},
	{"the type of the fixture", "patch", "type"}, {"on channel", "patch", ""}, {"fixture", "patch", ""},
	{"place", "room", "places"}, {"the room", "room", ""}, {"cue", "cues", ""},
}

// write says for each gap in which file its piece of knowledge would be written, and
// under which key. Of several sides of one thing that is what their keys share.
func write(list []outcome.Gap, files []*source.File) {
	for i := range list {
		head, sides, found := strings.Cut(list[i].Missing, with)
		section, key, known := keyOf(list[i].Missing)
		if found {
			for side := range strings.SplitSeq(sides, " and ") {
				if _, other, ok := keyOf(head + with + side); ok && other != key {
					key, _, _ = strings.Cut(key, ": ")
					if !strings.HasPrefix(other, key) {
						key = ""
					}
				}
			}
		}
		if known {
			list[i].File, list[i].Key = fileOf(section, files), strings.TrimSuffix(section+": "+key, ": ")
		}
	}
}

// keyOf is where a piece of knowledge is written.
func keyOf(phrase string) (section, key string, known bool) {
	for _, k := range keys {
		if strings.Contains(phrase, k.word) {
			return k.section, k.key, true
		}
	}
	return "", "", false
}

// sections are those that may stand in a file of their own.
var sections = []string{"room", "types", "patch", "groups", "cues", "order", "notices", "readings"}

// fileOf is the file that holds a section: the one of that name, or else one that holds
// no other section alone; where there is none, the file that would have to be made.
func fileOf(section string, files []*source.File) string {
	whole := ""
	for _, file := range files {
		base := path.Base(file.Name)
		switch name := strings.ToLower(strings.TrimSuffix(base, path.Ext(base))); {
		case name == section:
			return base
		case slices.Contains(sections, name):
		case whole == "" || name == "show":
			whole = base
		}
	}
	return cmp.Or(whole, section+".json")
}
