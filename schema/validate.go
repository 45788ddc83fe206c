package schema

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// mostAlike is how many findings about one part of the format are given one by
// one; the rest are counted in one more. A key that is misspelt a hundred times
// has one cause, and a script may have misspelt it in every setting of a cue list.
const mostAlike = 100

// mostLooked is how many items that are not right are handed to the jsonschema
// library in one stretch of a list. It needs microseconds for each, which is
// nothing for a typing mistake and minutes for a file of garbage; items beyond
// that are counted. stretches is how many a list has, whatever the number of
// cores, so that the answer is the same on all machines.
const (
	mostLooked = 2000
	stretches  = 16
)

// Validate holds one section against its schema and says all that is wrong with
// it, in file order. Section is one of [Sections], or "show" for the object of
// show.json, of which only the head is looked at: sections that stand inside it
// are validated one by one, "rule" for a rule file, or "house" for a house file. It panics for any other name.
//
// The lists (types, patch, cues, order) are checked item by item on all cores;
// the answer does not depend on how many there are.
func Validate(section string, ref source.Ref) []finding.Finding {
	checker, known := checkers[section]
	if !known {
		panic("schema: no section " + section)
	}
	v := &validator{section: section, form: checker.form(), library: checker.library}
	if isList(section) && ref.Kind() == source.Array {
		return v.list(ref)
	}
	var found alike
	v.check(ref, -1, &found)
	return found.findings(v.section, ref)
}

// isList reports whether a section is a list of things that are checked one by one.
func isList(section string) bool { return lists[section].kind != "" }

type validator struct {
	section string
	form    *form
	library func() *fullSchema
}

// list checks the items of a section in stretches, on all cores.
func (v *validator) list(ref source.Ref) []finding.Finding {
	length := ref.Len()
	var found [stretches]alike
	cores.Each(stretches, func(i int) {
		from, to := i*length/stretches, (i+1)*length/stretches
		if from == to {
			return
		}
		index := 0
		for item := range ref.Items() {
			if index >= to {
				break
			}
			if index >= from {
				v.check(item, index, &found[i])
			}
			index++
		}
	})
	for i := 1; i < stretches; i++ {
		found[0].append(&found[i])
	}
	return found[0].findings(v.section, ref)
}

// check holds one value against its schema. Index is its place in its list, or
// -1 for the value of a whole section.
func (v *validator) check(ref source.Ref, index int, found *alike) {
	form := v.form
	if index >= 0 {
		form = form.items
	}
	if form != nil && form.accepts(ref) || !found.look() { // a rule file has no form: the library alone checks it
		return
	}
	library := v.library()
	t := translator{validator: v, at: library.at, ref: ref, index: index, excerpt: newExcerpt(found.look)}
	s := library.whole
	if index >= 0 {
		s = s.Items2020
	}
	var value any
	if v.section == "show" {
		value = head(ref)
	} else {
		value = t.excerpt.take(ref, form)
	}
	var invalid *jsonschema.ValidationError
	if err := s.Validate(value); errors.As(err, &invalid) {
		t.translate(invalid, found)
	} else if err != nil {
		panic("schema: " + err.Error()) // a value or schema of ours that is none
	}
}

// head is the object of show.json with every section that stands in it replaced
// by an empty one, and nothing in it that a name alone decides.
func head(ref source.Ref) any {
	if ref.Kind() != source.Object {
		return ref.Any()
	}
	members := map[string]any{}
	for item := range ref.Items() {
		isPart := item.Kind() == source.Object || item.Kind() == source.Array
		switch key := item.Key(); {
		case isPart && isList(key):
			members[key] = []any{}
		case isPart && slices.Contains(Sections, key):
			members[key] = map[string]any{}
		case item.Kind() == source.Object:
			members[key] = map[string]any{}
		case item.Kind() == source.Array:
			members[key] = []any{}
		default:
			members[key] = item.Any()
		}
	}
	return members
}

// alike gathers findings and counts what they are about, by part of the format.
type alike struct {
	list   []partFinding
	count  map[string]int
	looked int // items handed to the library
	missed int // items that are not right either and were only counted
}

// look reports whether one more item is to be handed to the library.
func (a *alike) look() bool {
	if a.looked == mostLooked {
		a.missed++
		return false
	}
	a.looked++
	return true
}

// partFinding is a finding with the part of the format that it is about.
type partFinding struct {
	finding.Finding
	part, section string
}

// room counts one more thing wrong against a part of the format and reports
// whether it is still one to be given by itself.
func (a *alike) room(part string) bool {
	if a.count == nil {
		a.count = map[string]int{}
	}
	a.count[part]++
	return a.count[part] <= mostAlike
}

// append adds what was gathered from the items that follow.
func (a *alike) append(b *alike) {
	a.missed += b.missed
	if a.count == nil {
		a.list, a.count = b.list, b.count
		return
	}
	for _, f := range b.list {
		if a.count[f.part] < mostAlike {
			a.list = append(a.list, f)
		}
	}
	for part, n := range b.count {
		a.count[part] += n
	}
}

// findings gives the list, with one finding for each part of the format that had
// more wrong than is given one by one, and one for the items that were only counted.
func (a *alike) findings(section string, ref source.Ref) []finding.Finding {
	var list []finding.Finding
	last := map[string]*partFinding{}
	for i := range a.list {
		list = append(list, a.list[i].Finding)
		last[a.list[i].part] = &a.list[i]
	}
	for _, part := range slices.Sorted(maps.Keys(last)) {
		if more := a.count[part] - mostAlike; more > 0 {
			list = append(list, last[part].andMore(more))
		}
	}
	if a.missed > 0 {
		list = append(list, finding.Finding{
			Rule: "file/too-many", Level: finding.Error, Verdict: finding.Fail, Consequence: consequence(finding.Error, section),
			Subjects: []finding.Subject{{Kind: "section", Name: section}},
			Message:  fmt.Sprintf("%s of the section %s are not right either; so many are wrong that these were only counted.", spelling.Count(a.missed, "more item"), section),
			Hint:     "mend what is listed, or see whether this is the right file at all, and check again",
			Place:    ref.Place(),
		})
	}
	finding.Sort(list)
	return list
}

// andMore counts the findings like this one, the last of its part that is given
// by itself.
func (l *partFinding) andMore(more int) finding.Finding {
	f := l.Finding
	f.Subjects = []finding.Subject{{Kind: "section", Name: l.section}}
	f.Detail = "more of " + l.part
	f.Message = fmt.Sprintf("the same kind of thing is wrong %s in the section %s; these are not listed one by one.", spelling.Count(more, "more time"), l.section)
	f.Hint = "mend the ones that are listed and check again"
	f.Measured, f.Limits, f.Related = nil, nil, nil
	return f
}
