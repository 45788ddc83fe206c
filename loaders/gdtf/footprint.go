package gdtf

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/loaders/format"
)

// These bound what references can make of a short file.
const (
	maxDepth     = 64
	maxInstances = 100_000 // of geometries, over all modes
	maxSlot      = 65_535
)

// reference is a GeometryReference on the way to an instance: what each of its
// breaks adds, in the order of the file.
type reference struct {
	at     format.Span
	breaks []shift
}

type shift struct{ number, offset int }

// instance is one time that a geometry stands in the tree of a mode.
type instance struct {
	element *archive.Element
	path    []*reference // outermost first
	world   Matrix
	ok      bool // world is known
}

// tree is the geometry of a mode, with references followed.
type tree struct {
	p         *parser
	instances map[string][]instance // by name
	beams     []instance
	consumers []*archive.Element
}

// expand follows the geometry that a mode names. References back to what is being
// followed are cut.
func (p *parser) expand(root *archive.Element) *tree {
	t := &tree{p: p, instances: map[string][]instance{}}
	t.walk(root, nil, identity, true, []string{root.Value("Name")}, 0)
	return t
}

func (t *tree) walk(e *archive.Element, path []*reference, outer Matrix, ok bool, targets []string, depth int) {
	if t.p.instances++; t.p.instances > maxInstances || depth > maxDepth {
		t.p.once(place(e), "reference-loop", format.Error, fmt.Sprintf("the geometries of the type lead to more than %d parts or %d levels, and what is beyond is not followed", maxInstances, maxDepth))
		return
	}
	position, good := t.p.matrix(e)
	world := outer.Times(position)
	ok = ok && good
	name := e.Value("Name")
	t.instances[name] = append(t.instances[name], instance{e, path, world, ok})
	switch strings.ToLower(e.Name) {
	case "beam":
		t.beams = append(t.beams, instance{e, path, world, ok})
	case "wiringobject":
		if strings.EqualFold(e.Value("ComponentType"), "Consumer") {
			t.consumers = append(t.consumers, e)
		}
	case "geometryreference":
		t.follow(e, path, world, ok, targets, depth)
		return
	}
	for _, child := range e.Children {
		if isGeometry(child) {
			t.walk(child, path, world, ok, targets, depth+1)
		}
	}
}

func (t *tree) follow(e *archive.Element, path []*reference, world Matrix, ok bool, targets []string, depth int) {
	name := e.Value("Geometry")
	target := t.p.top[name]
	switch {
	case target == nil:
		t.p.once(attrPlace(e, "Geometry"), "geometry-missing", format.Error, fmt.Sprintf("a part refers to the geometry %q, which is not there", name))
		return
	case slices.Contains(targets, name):
		t.p.once(attrPlace(e, "Geometry"), "reference-loop", format.Error, fmt.Sprintf("the geometry %q refers to itself, and is followed once", name))
		return
	}
	r := &reference{at: place(e)}
	for _, b := range e.All("Break") {
		offset := 1
		if n, ok := dmxOffset(b.Value("DMXOffset")); ok {
			offset = n
		}
		r.breaks = append(r.breaks, shift{max(t.p.breakOf(b), 1), offset})
	}
	t.walk(target, append(slices.Clip(path), r), world, ok, append(slices.Clip(targets), name), depth+1)
}

// dmxOffset reads an address that is absolute or "universe.slot".
func dmxOffset(text string) (int, bool) {
	universe, slot, dot := strings.Cut(text, ".")
	u, okU := integer(universe)
	if !dot {
		return u, okU && u >= 1
	}
	s, okS := integer(slot)
	return (u-1)*512 + s, okU && okS && u >= 1 && u <= maxSlot && s >= 1 && s <= 512
}

// geometries lists the elements that are one, in lower case.
var geometries = []string{
	"geometry", "axis", "filterbeam", "filtercolor", "filtergobo", "filtershaper", "beam", "mediaserverlayer", "mediaservercamera",
	"mediaservermaster", "display", "geometryreference", "laser", "wiringobject", "inventory", "structure", "support", "magnet",
}

func isGeometry(e *archive.Element) bool {
	return slices.Contains(geometries, strings.ToLower(e.Name))
}

// listener is one channel of a mode.
type listener struct {
	element  *archive.Element
	geometry string
	breaks   int // 0 for Overwrite
	offsets  []int
}

// footprint finds the slots that channels use, counted from 1 in each break.
// That the last Break of a reference is that of channels which overwrite, and that
// the shifts of nested references add up, is from memory.
func (t *tree) footprint(channels []listener) []Break {
	type slot struct{ number, slot int }
	used := map[slot]bool{}
	highest := map[int]int{}
	for _, c := range channels {
		found := t.instances[c.geometry]
		if len(found) == 0 {
			t.p.problem(attrPlace(c.element, "Geometry"), "geometry-missing", format.Error, fmt.Sprintf("a channel belongs to the geometry %q, which is not in this mode, so it is not counted", c.geometry))
			continue
		}
		for _, i := range found {
			number, base := t.base(c, i)
			for _, o := range c.offsets {
				at := slot{number, base + o}
				if at.slot > maxSlot || at.slot < 1 {
					t.p.once(place(c.element), "bad-offset", format.Error, fmt.Sprintf("a channel lies at slot %d, which no break has", at.slot))
					continue
				}
				if used[at] {
					t.p.once(place(c.element), "duplicate-slot", format.Error, fmt.Sprintf("two channels of one mode lie on slot %d of break %d", at.slot, at.number))
				}
				if t.p.slots++; t.p.slots > maxInstances {
					t.p.once(place(c.element), "too-many-slots", format.Error, fmt.Sprintf("the modes of the type use more than %d slots, and what is beyond is not counted", maxInstances))
					return breaks(highest)
				}
				used[at] = true
				highest[number] = max(highest[number], at.slot)
			}
		}
	}
	list := breaks(highest)
	perBreak := map[int]int{}
	for at := range used {
		perBreak[at.number]++
	}
	for _, b := range list {
		if gap := b.Slots - perBreak[b.Number]; gap > 0 {
			t.p.once(format.Span{}, "slot-gap", format.Note, "a mode has slots below its last one that no channel uses")
		}
		if b.Slots > 512 {
			t.p.once(format.Span{}, "break-too-long", format.Error, fmt.Sprintf("a mode has a break of %d slots, and a universe has 512", b.Slots))
		}
	}
	return list
}

// base adds up what references shift, and finds the break.
func (t *tree) base(c listener, i instance) (number, base int) {
	number = max(c.breaks, 1)
	for _, r := range i.path {
		var found *shift
		for k := range r.breaks {
			if c.breaks == 0 || r.breaks[k].number == c.breaks {
				found = &r.breaks[k]
				if c.breaks != 0 {
					break
				}
			}
		}
		if found == nil {
			t.p.once(r.at, "break-missing", format.Warning, "a reference to a geometry does not say where its channels lie; they are counted as not shifted")
			continue
		}
		number = found.number
		base += found.offset - 1
	}
	return number, base
}

func breaks(highest map[int]int) []Break {
	var list []Break
	for number, slots := range highest {
		list = append(list, Break{number, slots})
	}
	slices.SortFunc(list, func(a, b Break) int { return a.Number - b.Number })
	return list
}
