package mvr

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/loaders/format"
)

// parser reads one scene.
type parser struct {
	*Scene
	classes, positions, symbols map[string]format.Text // by identity
	focus                       map[string][3]float64
	objects                     map[string]format.Span
	aims                        []aim
	links                       []link
}

// aim is a fixture that aims at a focus point.
type aim struct {
	f    *Fixture
	uuid string
}

// link is a name of another object that has to be there.
type link struct {
	uuid, what string
	at         format.Span
	f          *Fixture // that shares; nil for others
}

// Parse reads the text of a GeneralSceneDescription.xml. The error is of type
// [*archive.SyntaxError] and says that it is no plan at all.
func Parse(text string) (*Scene, error) {
	root, err := archive.ParseXML(text, archive.XMLLimits{Depth: 512, Elements: archive.UsualXML.Elements})
	if err != nil {
		return nil, err
	}
	scene := root.First("Scene")
	if !root.Is("GeneralSceneDescription") || scene == nil {
		return nil, &archive.SyntaxError{Offset: root.Start, Reason: "describes no plan: <GeneralSceneDescription> with <Scene> in it is wanted"}
	}
	p := &parser{
		Scene:   &Scene{Provider: root.Value("provider"), Left: map[string]int{}},
		classes: map[string]format.Text{}, positions: map[string]format.Text{}, symbols: map[string]format.Text{},
		focus: map[string][3]float64{}, objects: map[string]format.Span{},
	}
	p.version(root)
	p.shared(scene.First("AUXData"))
	for _, layers := range scene.All("Layers") {
		for _, layer := range layers.All("Layer") {
			p.layer(layer)
		}
	}
	p.finish()
	return p.Scene, nil
}

func place(e *archive.Element) format.Span { return format.Span{Start: e.Start, Stop: e.Stop} }

// textPlace is where the text of an element stands, or its tag if it has none.
func textPlace(e *archive.Element) format.Span {
	if e.TextStop > e.TextStart {
		return format.Span{Start: e.TextStart, Stop: e.TextStop}
	}
	return place(e)
}

func attrPlace(e *archive.Element, name string) format.Span {
	if a, ok := e.Attr(name); ok {
		return format.Span{Start: a.Start, Stop: a.Stop}
	}
	return place(e)
}

// child returns the text of a child; what is empty counts as not there.
func child(e *archive.Element, name string) format.Text {
	c := e.First(name)
	if c == nil {
		return format.Text{At: place(e)}
	}
	return format.Text{Words: c.Text, At: textPlace(c)}
}

func (p *parser) problem(at format.Span, code string, severity format.Severity, message string, args ...any) {
	p.Problems = append(p.Problems, format.Problem{Code: code, Severity: severity, Message: fmt.Sprintf(message, args...), At: at})
}

func (p *parser) version(root *archive.Element) {
	major, minor := root.Value("verMajor"), root.Value("verMinor")
	p.Version = strings.Trim(major+"."+minor, ".")
	if major != "" && major != "1" {
		p.problem(attrPlace(root, "verMajor"), "unsupported-version", format.Warning, "the plan is of version %q; it is read as 1.6", p.Version)
	}
}

// identity reads the identity of an element. One that is written in another way is
// read too, since the samples of the standard do it.
func (p *parser) identity(e *archive.Element, name string) string {
	text := e.Value(name)
	digits, plain := uuid(text)
	if text != "" && !plain {
		severity, code := format.Note, "uuid-style"
		if digits == "" {
			severity, code = format.Warning, "bad-uuid"
		}
		p.problem(attrPlace(e, name), code, severity, "%q is an unusual identity", text)
	}
	return digits
}

// shared reads what objects only name.
func (p *parser) shared(e *archive.Element) {
	for kind, into := range map[string]map[string]format.Text{"Class": p.classes, "Position": p.positions, "Symdef": p.symbols} {
		for _, c := range e.All(kind) {
			if digits, _ := uuid(c.Value("uuid")); digits != "" {
				into[digits] = format.Text{Words: c.Value("name"), At: attrPlace(c, "name")}
			}
		}
	}
	p.Left["definitions of symbols"] += len(p.symbols)
	p.Left["mappings of pictures"] += len(e.All("MappingDefinition"))
}

func (p *parser) layer(e *archive.Element) {
	m, _, _ := p.matrix(e, identity)
	if m.turned() || math.Abs(m[3][0]) > tolerance || math.Abs(m[3][1]) > tolerance {
		p.problem(place(e), "layer-matrix", format.Error, "the layer %q is turned, scaled or moved sideways, which no layer should be; it is read so all the same", e.Value("name"))
	}
	p.children(e.First("ChildList"), m, carrier{})
}

// matrix returns where a thing stands in the plan, and whether it says so itself.
func (p *parser) matrix(e *archive.Element, outer Matrix) (world Matrix, at format.Span, given bool) {
	own := e.First("Matrix")
	if own == nil || own.Text == "" {
		return outer, place(e), false
	}
	m, ok := ParseMatrix(own.Text)
	world = m.In(outer)
	if !ok || !world.bounded() {
		p.problem(textPlace(own), "bad-matrix", format.Error, "the matrix cannot be read: four groups of three numbers are wanted; the thing is left where its group is")
		return outer, textPlace(own), false
	}
	return world, textPlace(own), true
}

// children reads the objects of a list. Their depth is bounded by that of the XML.
func (p *parser) children(list *archive.Element, outer Matrix, on carrier) {
	if list == nil {
		return
	}
	for _, e := range list.Children {
		switch strings.ToLower(e.Name) {
		case "groupobject":
			p.known(e)
			m, _, _ := p.matrix(e, outer)
			p.children(e.First("ChildList"), m, on)
		case "focuspoint":
			m, _, _ := p.matrix(e, outer)
			if id := p.known(e); id != "" {
				p.focus[id] = m.Origin()
			}
		case "fixture", "sceneobject", "truss", "support", "videoscreen", "projector":
			p.object(e, outer, on)
		default:
			if e.First("ChildList") != nil || e.First("Matrix") != nil {
				p.Left["objects of unknown kinds"]++
			}
		}
	}
}

// carrier is what the objects of a list hang on, if it is a truss or a lamp.
type carrier struct {
	bar  format.Text
	lamp *Fixture
}

// known remembers the identity of an object; each may stand once.
func (p *parser) known(e *archive.Element) string {
	id := p.identity(e, "uuid")
	if id == "" {
		return ""
	}
	if first, twice := p.objects[id]; twice {
		p.problem(attrPlace(e, "uuid"), "duplicate-uuid", format.Warning, "two objects have one identity, so what points at it is not certain")
		p.Problems[len(p.Problems)-1].Related = first
	} else {
		p.objects[id] = attrPlace(e, "uuid")
	}
	return id
}

var leftWords = map[string]string{
	"sceneobject": "scenery", "truss": "trusses", "support": "supports", "videoscreen": "video screens (where they are; nothing else is written)", "projector": "projectors",
}

func (p *parser) object(e *archive.Element, outer Matrix, on carrier) {
	f := &Fixture{UUID: p.known(e), Name: format.Text{Words: e.Value("name"), At: attrPlace(e, "name")}, At: place(e)}
	var given bool
	f.World, f.MatrixAt, given = p.matrix(e, outer)
	f.HasMatrix = given || outer != identity
	lamp := e.Is("Fixture")
	f.Addresses = p.addresses(e)
	f.ID, f.Spec, f.Mode, f.Function = child(e, "FixtureID"), child(e, "GDTFSpec"), child(e, "GDTFMode"), child(e, "Function")
	f.Unit, _ = whole(child(e, "UnitNumber").Words)
	p.number(e, f)
	switch {
	case lamp || f.listens():
		p.fixture(e, f, on)
		on.lamp = f
	default:
		p.Left[leftWords[strings.ToLower(e.Name)]]++
		if e.Is("Truss") {
			on.bar = f.Name
		}
	}
	p.children(e.First("ChildList"), f.World, on)
}

// listens reports whether the object is patched and can be called.
func (f *Fixture) listens() bool {
	for _, a := range f.Addresses {
		if a.Absolute > 0 && f.Number > 0 {
			return true
		}
	}
	return false
}

func (p *parser) fixture(e *archive.Element, f *Fixture, on carrier) {
	if shape := f.World.shape(); shape != "" && f.HasMatrix {
		what := map[string]string{"mirrored-matrix": "mirrored", "scaled-matrix": "scaled or skewed"}[shape]
		p.problem(f.MatrixAt, shape, format.Warning, "fixture %s is %s in the plan; where it points is not certain", f.called(), what)
	}
	f.Accessory = on.lamp != nil && e.First("ChildPosition") != nil
	if f.Spec.Words != "" && f.Mode.Words == "" {
		p.problem(f.Spec.At, "mode-missing", format.Warning, "fixture %s has a type and no mode", f.called())
	}
	for _, c := range []struct {
		name string
		into map[string]format.Text
	}{{"Classing", p.classes}, {"Position", p.positions}} {
		t := child(e, c.name)
		if t.Words == "" {
			continue
		}
		id, _ := uuid(t.Words)
		name, known := c.into[id]
		switch {
		case !known:
			p.problem(t.At, "dangling-reference", format.Warning, "fixture %s names a %s that is not in the plan", f.called(), strings.ToLower(c.name))
		case c.name == "Position":
			f.Position = format.Text{Words: name.Words, At: t.At}
		}
	}
	if f.Position.Words == "" {
		f.Position = on.bar
	}
	if t := child(e, "Focus"); t.Words != "" {
		id, _ := uuid(t.Words)
		f.FocusAt = t.At
		p.aims = append(p.aims, aim{f, id})
	}
	if text := e.Value("multipatch"); text != "" {
		if id, _ := uuid(text); id != "" {
			f.Multipatch = true
			p.links = append(p.links, link{uuid: id, what: "shares the number of a fixture", at: attrPlace(e, "multipatch"), f: f})
		}
	}
	p.Fixtures = append(p.Fixtures, f)
}

// called says which fixture it is, for a sentence.
func (f *Fixture) called() string {
	switch {
	case f.ID.Words != "":
		return fmt.Sprintf("%q", f.ID.Words)
	case f.Number > 0:
		return fmt.Sprint(f.Number)
	case f.Name.Words != "":
		return fmt.Sprintf("%q", f.Name.Words)
	}
	return "without a number"
}

// number finds the number that a console calls the fixture by: the numeric one; in
// older files the first digits of the one for people; else that of the pools of
// fixtures and channels (their numbers in CustomIdType are 1 and 2).
func (p *parser) number(e *archive.Element, f *Fixture) {
	take := func(t format.Text, digits string) bool {
		n, ok := whole(digits)
		if ok && n > 0 {
			f.Number, f.NumberAt = n, t.At
		}
		return ok && n > 0
	}
	numeric := child(e, "FixtureIDNumeric")
	if take(numeric, numeric.Words) {
		return
	}
	if digits := firstDigits(f.ID.Words); take(f.ID, digits) {
		if digits != f.ID.Words {
			p.problem(f.ID.At, "number-from-id", format.Note, "the number %d of fixture %q is taken from its name, since no other is written", f.Number, f.ID.Words)
		}
		return
	}
	if pool := child(e, "CustomIdType").Words; pool == "1" || pool == "2" {
		custom := child(e, "CustomId")
		take(custom, custom.Words)
	}
}

// firstDigits returns the first run of digits of a text.
func firstDigits(text string) string {
	start := strings.IndexAny(text, "0123456789")
	if start < 0 {
		return ""
	}
	digits := text[start:]
	return digits[:len(digits)-len(strings.TrimLeft(digits, "0123456789"))]
}

// addresses reads the breaks. Types count theirs from 1. The standard does not say
// how plans do: its samples start at 0, so a plan with a break 0 is taken to count
// from there.
func (p *parser) addresses(e *archive.Element) []Address {
	var list []Address
	fromZero := false
	seen := map[int]bool{}
	for _, a := range e.First("Addresses").All("Address") {
		number := 0
		if text := a.Value("break"); text != "" {
			n, ok := whole(text)
			if !ok || n > 255 {
				p.problem(attrPlace(a, "break"), "bad-address", format.Error, "%q is no break, so its address is left out", text)
				continue
			}
			number = n
		}
		if a.Text == "" {
			continue
		}
		absolute, ok := ParseAddress(a.Text)
		if !ok {
			p.problem(textPlace(a), "bad-address", format.Error, "%q is no address such as 45 or 3.101, so it is left out", a.Text)
			continue
		}
		if seen[number] {
			p.problem(attrPlace(a, "break"), "bad-address", format.Warning, "break %d of one fixture has two addresses; the first is used", number)
			continue
		}
		seen[number] = true
		fromZero = fromZero || number == 0
		list = append(list, Address{number, absolute, textPlace(a)})
	}
	for i := range list {
		if fromZero {
			list[i].Break++
		}
	}
	slices.SortFunc(list, func(a, b Address) int { return cmp.Compare(a.Break, b.Break) })
	return list
}

// finish does what can only be done when all objects are known.
func (p *parser) finish() {
	for _, a := range p.aims {
		point, known := p.focus[a.uuid]
		if !known {
			p.problem(a.f.FocusAt, "dangling-reference", format.Warning, "fixture %s aims at a focus point that is not in the plan", a.f.called())
			continue
		}
		a.f.Focus = &point
	}
	p.share()
	for _, l := range p.links {
		if _, known := p.objects[l.uuid]; !known {
			p.problem(l.at, "dangling-reference", format.Warning, "a fixture %s that is not in the plan", l.what)
		}
	}
	p.numbers()
	p.size()
	slices.SortStableFunc(p.Problems, func(a, b format.Problem) int { return cmp.Compare(a.At.Start, b.At.Start) })
}

// share finds the fixtures whose number others share. One that shares the number of
// another has none of its own, so nothing can share that.
func (p *parser) share() {
	byID := map[string]*Fixture{}
	for _, f := range p.Fixtures {
		if f.UUID != "" && byID[f.UUID] == nil {
			byID[f.UUID] = f
		}
	}
	for _, l := range p.links {
		switch parent := byID[l.uuid]; {
		case l.f == nil || parent == nil:
		case parent == l.f || parent.Multipatch:
			p.problem(l.at, "dangling-reference", format.Warning, "a fixture %s that has none of its own", l.what)
		default:
			l.f.Shares, l.f.Number, l.f.NumberAt = parent, parent.Number, l.at
		}
	}
}

// numbers looks for fixtures that cannot be told apart.
func (p *parser) numbers() {
	first := map[int]*Fixture{}
	for _, f := range p.Fixtures {
		if f.Number == 0 || f.Multipatch {
			continue
		}
		if other := first[f.Number]; other != nil {
			p.problem(f.NumberAt, "duplicate-fixture-id", format.Warning, "two fixtures have the number %d", f.Number)
			p.Problems[len(p.Problems)-1].Related = other.NumberAt
			continue
		}
		first[f.Number] = f
	}
}

// size notices a plan that was drawn in metres.
func (p *parser) size() {
	const rig = 50 // millimetres: no rig is so small
	any := false
	for _, f := range p.Fixtures {
		o := f.World.Origin()
		if !f.HasMatrix {
			continue
		}
		any = any || o != [3]float64{}
		if math.Abs(o[0]) > rig || math.Abs(o[1]) > rig || math.Abs(o[2]) > rig {
			return
		}
	}
	if any {
		p.problem(format.Span{}, "small-plan", format.Note, "all fixtures are within 5 cm of the origin: the plan looks written in metres, where millimetres are read")
	}
}
