package gdtf

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/loaders/format"
)

// parser reads one description.
type parser struct {
	*Type
	told       map[string]bool // problems that are said once
	top        map[string]*archive.Element
	attributes map[string]bool // declared, in lower case
	emitters   map[string]*Emitter
	filters    map[string]*Filter
	wheels     map[string]*Wheel
	lenses     map[*archive.Element]*Lens
	instances  int
	slots      int
}

// Parse reads the text of a description.xml. The error is of type
// [*archive.SyntaxError] and says that it is no description at all.
func Parse(text string) (*Type, error) {
	root, err := archive.ParseXML(text, archive.UsualXML)
	if err != nil {
		return nil, err
	}
	fixture := root.First("FixtureType")
	if !root.Is("GDTF") || fixture == nil {
		return nil, &archive.SyntaxError{Offset: root.Start, Reason: "describes no type of fixture: <GDTF> with <FixtureType> in it is wanted"}
	}
	p := &parser{
		Type: &Type{Version: root.Value("DataVersion"), Left: map[string]int{}}, told: map[string]bool{}, top: map[string]*archive.Element{},
		attributes: map[string]bool{}, emitters: map[string]*Emitter{}, filters: map[string]*Filter{}, wheels: map[string]*Wheel{},
		lenses: map[*archive.Element]*Lens{},
	}
	if v := p.Version; v != "" && v != "1.1" && v != "1.2" {
		p.problem(attrPlace(root, "DataVersion"), "unsupported-version", format.Warning, fmt.Sprintf("the description is of version %q; it is read as 1.2", v))
	}
	p.head(fixture)
	physical := fixture.First("PhysicalDescriptions")
	p.declared(fixture.First("AttributeDefinitions"))
	p.sources(physical)
	p.readFilters(physical)
	p.readWheels(fixture.First("Wheels"))
	p.properties(physical.First("Properties"))
	for _, list := range fixture.All("Geometries") {
		for _, g := range list.Children {
			if isGeometry(g) && p.top[g.Value("Name")] == nil {
				p.top[g.Value("Name")] = g
			}
		}
	}
	for _, mode := range fixture.First("DMXModes").All("DMXMode") {
		p.mode(mode)
	}
	if len(p.Modes) == 0 {
		p.problem(place(fixture), "no-mode", format.Warning, "the description has no mode, so nobody knows what the type listens to")
	}
	p.count("models", len(fixture.First("Models").All("Model")))
	p.count("presets", len(fixture.First("FTPresets").All("FTPreset")))
	slices.SortStableFunc(p.Problems, func(a, b format.Problem) int { return cmp.Compare(a.At.Start, b.At.Start) })
	return p.Type, nil
}

func place(e *archive.Element) format.Span { return format.Span{Start: e.Start, Stop: e.Stop} }

// attrPlace is where an attribute stands, or its element if it is not there.
func attrPlace(e *archive.Element, name string) format.Span {
	if a, ok := e.Attr(name); ok {
		return format.Span{Start: a.Start, Stop: a.Stop}
	}
	return place(e)
}

func text(e *archive.Element, name string) format.Text {
	return format.Text{Words: e.Value(name), At: attrPlace(e, name)}
}

func (p *parser) problem(at format.Span, code string, severity format.Severity, message string) {
	p.Problems = append(p.Problems, format.Problem{Code: code, Severity: severity, Message: message, At: at})
}

// once tells a problem that several modes have once.
func (p *parser) once(at format.Span, code string, severity format.Severity, message string) {
	key := fmt.Sprint(code, at)
	if !p.told[key] {
		p.told[key] = true
		p.problem(at, code, severity, message)
	}
}

func (p *parser) count(what string, n int) {
	if n > 0 {
		p.Left[what] += n
	}
}

func (p *parser) head(e *archive.Element) {
	p.At = place(e)
	p.Name = format.Text{At: p.At}
	for _, name := range []string{"Name", "LongName", "ShortName"} {
		if t := text(e, name); t.Words != "" {
			p.Name = t
			break
		}
	}
	p.ShortName, p.LongName, p.Manufacturer = e.Value("ShortName"), e.Value("LongName"), e.Value("Manufacturer")
	p.ID = strings.ToLower(e.Value("FixtureTypeID"))
}

// number reads an attribute; nil if it is not written or is none.
func (p *parser) number(e *archive.Element, name string) *Number {
	a, ok := e.Attr(name)
	if !ok || strings.TrimSpace(a.Value) == "" {
		return nil
	}
	value, ok := float(a.Value)
	if !ok {
		p.once(format.Span{Start: a.Start, Stop: a.Stop}, "bad-number", format.Warning, fmt.Sprintf("%q is no number (a decimal point is wanted), so %s is left out", a.Value, name))
		return nil
	}
	return &Number{value, format.Span{Start: a.Start, Stop: a.Stop}}
}

// colour reads an attribute; nil if it is not written or is none.
func (p *parser) colour(e *archive.Element, name string) *Colour {
	a, ok := e.Attr(name)
	if !ok || strings.TrimSpace(a.Value) == "" {
		return nil
	}
	x, y, luminance, ok := parseColour(a.Value)
	if !ok {
		p.problem(format.Span{Start: a.Start, Stop: a.Stop}, "bad-colour", format.Warning, fmt.Sprintf("%q is no colour x,y,Y with decimal points, so it is left out", a.Value))
		return nil
	}
	return &Colour{x, y, luminance, format.Span{Start: a.Start, Stop: a.Stop}}
}

func (p *parser) matrix(e *archive.Element) (Matrix, bool) {
	m, ok := ParseMatrix(e.Value("Position"))
	if !ok {
		p.once(attrPlace(e, "Position"), "bad-matrix", format.Warning, "the position of a part cannot be read; it is taken as not moved")
	}
	return m, ok
}

// declared learns the attributes and looks whether what they name is there.
func (p *parser) declared(e *archive.Element) {
	features, groups := map[string]bool{}, map[string]bool{}
	for _, group := range e.Find("FeatureGroups").All("FeatureGroup") {
		for _, f := range group.All("Feature") {
			features[strings.ToLower(group.Value("Name")+"."+f.Value("Name"))] = true
		}
	}
	for _, g := range e.Find("ActivationGroups").All("ActivationGroup") {
		groups[strings.ToLower(g.Value("Name"))] = true
	}
	list := e.Find("Attributes").All("Attribute")
	for _, a := range list {
		p.attributes[strings.ToLower(a.Value("Name"))] = true
	}
	for _, a := range list {
		name := a.Value("Name")
		if f := a.Value("Feature"); f != "" && !features[strings.ToLower(f)] {
			p.problem(attrPlace(a, "Feature"), "feature-missing", format.Warning, fmt.Sprintf("the attribute %q belongs to the feature %q, which is not declared", name, f))
		}
		if g := a.Value("ActivationGroup"); g != "" && !groups[strings.ToLower(g)] {
			p.problem(attrPlace(a, "ActivationGroup"), "activationgroup-missing", format.Warning, fmt.Sprintf("the attribute %q belongs to the activation group %q, which is not declared", name, g))
		}
		if m := a.Value("MainAttribute"); m != "" && !p.attributes[strings.ToLower(m)] {
			p.problem(attrPlace(a, "MainAttribute"), "attribute-missing", format.Warning, fmt.Sprintf("the attribute %q names the main attribute %q, which is not declared", name, m))
		}
	}
}

// sources reads the emitters.
func (p *parser) sources(physical *archive.Element) {
	for _, e := range physical.First("Emitters").All("Emitter") {
		emitter := &Emitter{Name: text(e, "Name"), Colour: p.colour(e, "Color"), WavelengthNm: p.number(e, "DominantWaveLength"), At: place(e)}
		if _, written := e.Attr("Color"); !written && emitter.WavelengthNm == nil {
			p.problem(place(e), "colourless-emitter", format.Warning, fmt.Sprintf("the emitter %q has neither a colour nor a dominant wavelength", emitter.Name.Words))
		}
		if w := emitter.WavelengthNm; w != nil && w.Value <= 0 {
			emitter.WavelengthNm = nil
		}
		emitter.Spectrum = p.spectrum(e)
		p.Emitters = append(p.Emitters, emitter)
		if p.emitters[emitter.Name.Words] == nil {
			p.emitters[emitter.Name.Words] = emitter
		}
	}
}

// spectrum takes the measurement at the highest level; the others are counted.
func (p *parser) spectrum(e *archive.Element) []Energy {
	measurements := e.All("Measurement")
	var best []Energy
	top := math.Inf(-1)
	for _, m := range measurements {
		level := 0.0
		if n := p.number(m, "Physical"); n != nil {
			level = n.Value
		}
		var points []Energy
		for _, point := range m.All("MeasurementPoint") {
			nm, energy := p.number(point, "WaveLength"), p.number(point, "Energy")
			if nm == nil || energy == nil || nm.Value <= 0 || energy.Value < 0 {
				continue
			}
			points = append(points, Energy{nm.Value, energy.Value})
		}
		slices.SortStableFunc(points, func(a, b Energy) int { return cmp.Compare(a.Nm, b.Nm) })
		points = slices.CompactFunc(points, func(a, b Energy) bool { return a.Nm == b.Nm })
		if len(points) > 1 && level > top {
			best, top = points, level
		}
	}
	used := 0
	if best != nil {
		used = 1
	}
	p.count("measurements of emitters and filters", len(measurements)-used)
	return best
}

func (p *parser) readFilters(physical *archive.Element) {
	for _, e := range physical.First("Filters").All("Filter") {
		filter := &Filter{Name: text(e, "Name"), Colour: p.colour(e, "Color"), At: place(e)}
		p.count("measurements of emitters and filters", len(e.All("Measurement")))
		p.Filters = append(p.Filters, filter)
		if p.filters[filter.Name.Words] == nil {
			p.filters[filter.Name.Words] = filter
		}
	}
}

func (p *parser) readWheels(list *archive.Element) {
	for _, e := range list.All("Wheel") {
		wheel := &Wheel{Name: text(e, "Name")}
		for _, s := range e.All("Slot") {
			slot := Slot{Name: text(s, "Name"), Colour: p.colour(s, "Color"), Image: s.Value("MediaFileName") != "", At: place(s)}
			if name := s.Value("Filter"); name != "" {
				filter := p.filters[lastName(name)]
				if filter == nil {
					p.problem(attrPlace(s, "Filter"), "filter-missing", format.Warning, fmt.Sprintf("a slot of the wheel %q names the filter %q, which is not there", wheel.Name.Words, name))
				} else if slot.Colour == nil {
					slot.Colour = filter.Colour
				}
			}
			wheel.Slots = append(wheel.Slots, slot)
		}
		p.Wheels = append(p.Wheels, wheel)
		if p.wheels[wheel.Name.Words] == nil {
			p.wheels[wheel.Name.Words] = wheel
		}
	}
}

// lastName is the last name of a path of names. Wheels and emitters stand in one
// collection each, and some files write its name before theirs.
func lastName(node string) string {
	return strings.TrimSpace(node[strings.LastIndexByte(node, '.')+1:])
}

func (p *parser) properties(e *archive.Element) {
	for _, name := range []string{"OperatingTemperature", "Weight", "LegHeight"} {
		if list := e.All(name); len(list) > 1 {
			p.problem(place(list[1]), "duplicate-property", format.Warning, fmt.Sprintf("%s stands more than once", name))
		}
	}
	for _, power := range e.All("PowerConsumption") {
		p.Watts = sum(p.Watts, p.number(power, "Value"))
		p.PowerFactor = cmp.Or(p.PowerFactor, p.number(power, "PowerFactor"))
	}
}

func sum(a, b *Number) *Number {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	return &Number{a.Value + b.Value, a.At}
}

func (p *parser) mode(e *archive.Element) {
	mode := &Mode{Name: text(e, "Name"), At: place(e)}
	name := e.Value("Geometry")
	root := p.top[name]
	switch {
	case root != nil:
	case name == "" && len(p.top) == 1: // there is no choice
		for _, only := range p.top {
			root = only
		}
	default:
		p.once(attrPlace(e, "Geometry"), "geometry-missing", format.Error, fmt.Sprintf("the mode %q is built from the geometry %q, which is not there, so its slots are not known", mode.Name.Words, name))
	}
	p.count("relations between channels", len(e.Find("Relations").All("Relation")))
	p.count("macros", len(e.Find("FTMacros").All("FTMacro")))
	channels := p.channels(mode, e.First("DMXChannels"))
	if root != nil {
		t := p.expand(root)
		mode.Breaks = t.footprint(channels)
		p.light(mode, t)
		for _, c := range t.consumers {
			mode.Watts = sum(mode.Watts, p.number(c, "ElectricalPayLoad"))
			mode.CosPhi = cmp.Or(mode.CosPhi, p.number(c, "CosPhi"))
		}
	}
	p.Modes = append(p.Modes, mode)
}

// light collects the beams of a mode and counts how often each is there.
func (p *parser) light(mode *Mode, t *tree) {
	at := map[*archive.Element]int{}
	for _, i := range t.beams {
		n, known := at[i.element]
		if !known {
			n = len(mode.Beams)
			at[i.element] = n
			mode.Beams = append(mode.Beams, Beam{Lens: p.lens(i.element)})
		}
		mode.Beams[n].Count++
		down := i.world.Point([3]float64{0, 0, -1})
		zero := i.world.Point([3]float64{})
		straight := i.ok
		for k, want := range [3]float64{0, 0, -1} {
			straight = straight && math.Abs(down[k]-zero[k]-want) < 1e-3
		}
		lens := mode.Beams[n].Lens
		lens.Straight = straight && (lens.Straight || !lens.seen)
		lens.seen = true
	}
}

func (p *parser) lens(e *archive.Element) *Lens {
	if l := p.lenses[e]; l != nil {
		return l
	}
	l := &Lens{
		Name: e.Value("Name"), At: place(e), Watts: p.number(e, "PowerConsumption"), FluxLm: p.number(e, "LuminousFlux"),
		ColourK: p.number(e, "ColorTemperature"), BeamDeg: p.number(e, "BeamAngle"), FieldDeg: p.number(e, "FieldAngle"),
		RadiusM: p.number(e, "BeamRadius"), Rendering: p.number(e, "ColorRenderingIndex"),
		BeamType: e.Value("BeamType"), Spectrum: e.Value("EmitterSpectrum"),
	}
	if t := text(e, "LampType"); t.Words != "" {
		l.LampType = &t
	}
	if l.Spectrum != "" && p.emitters[lastName(l.Spectrum)] == nil {
		p.problem(attrPlace(e, "EmitterSpectrum"), "emitter-missing", format.Warning, fmt.Sprintf("a beam names the emitter %q, which is not there", l.Spectrum))
	}
	if l.BeamDeg != nil && l.FieldDeg != nil && l.FieldDeg.Value < l.BeamDeg.Value {
		p.problem(l.FieldDeg.At, "field-less-than-beam", format.Warning, fmt.Sprintf("the field angle (%g degrees) is less than the beam angle (%g)", l.FieldDeg.Value, l.BeamDeg.Value))
	}
	p.lenses[e] = l
	return l
}

// channels reads what listens in a mode.
func (p *parser) channels(mode *Mode, list *archive.Element) []listener {
	var all []listener
	names := map[string]bool{}
	for _, e := range list.All("DMXChannel") {
		names[strings.ToLower(channelName(e))] = true
	}
	seen := map[string]bool{}
	for _, e := range list.All("DMXChannel") {
		name := channelName(e)
		if seen[strings.ToLower(name)] {
			p.once(place(e), "duplicate-channel-name", format.Warning, fmt.Sprintf("two channels of the mode %q are both called %q", mode.Name.Words, name))
		}
		seen[strings.ToLower(name)] = true
		c := listener{element: e, geometry: e.Value("Geometry"), breaks: p.breakOf(e), offsets: p.offsets(e)}
		all = append(all, c)
		for _, logical := range e.All("LogicalChannel") {
			p.logical(mode, logical, max(len(c.offsets), 1), names)
		}
	}
	return all
}

// breakOf is the break that an element names, 1 where it names none, and 0 for "Overwrite".
func (p *parser) breakOf(e *archive.Element) int {
	text := e.Value("DMXBreak")
	switch n, ok := integer(text); {
	case strings.EqualFold(text, "Overwrite"):
		return 0
	case ok && n >= 1 && n <= maxSlot:
		return n
	case text != "":
		p.once(attrPlace(e, "DMXBreak"), "bad-number", format.Warning, fmt.Sprintf("%q is no break; 1 is assumed", text))
	}
	return 1
}

// channelName is the name that a channel has by what it does.
func channelName(e *archive.Element) string {
	attribute := ""
	if l := e.First("LogicalChannel"); l != nil {
		attribute = l.Value("Attribute")
	}
	return e.Value("Geometry") + "_" + attribute
}

// offsets reads where a channel lies, most significant byte first. Files before
// version 1.0 have an attribute for each byte.
func (p *parser) offsets(e *archive.Element) []int {
	var list []int
	words := strings.Split(e.Value("Offset"), ",")
	if _, written := e.Attr("Offset"); !written {
		words = []string{e.Value("Coarse"), e.Value("Fine"), e.Value("Ultra"), e.Value("Uber")}
	}
	for _, word := range words {
		word = strings.TrimSpace(word)
		if word == "" || strings.EqualFold(word, "None") {
			continue
		}
		n, ok := dmxOffset(word)
		if !ok {
			p.once(attrPlace(e, "Offset"), "bad-offset", format.Error, fmt.Sprintf("%q is no offset from 1, so a slot of a channel is not counted", word))
			continue
		}
		list = append(list, n)
	}
	return list
}

func (p *parser) logical(mode *Mode, e *archive.Element, bytes int, channels map[string]bool) {
	attribute := e.Value("Attribute")
	p.isDeclared(e, attribute)
	functions := e.All("ChannelFunction")
	if len(functions) == 0 && attribute != "" {
		mode.Functions = append(mode.Functions, Function{Attribute: attribute, At: place(e)})
	}
	for _, f := range functions {
		own := cmp.Or(f.Value("Attribute"), attribute)
		p.isDeclared(f, own)
		function := Function{Attribute: own, At: place(f)}
		from, to := p.number(f, "PhysicalFrom"), p.number(f, "PhysicalTo")
		if from != nil || to != nil {
			function.Physical = &[2]float64{0, 1}
			if from != nil {
				function.Physical[0] = from.Value
			}
			if to != nil {
				function.Physical[1] = to.Value
			}
		}
		function.Emitter = linked(p, f, "Emitter", p.emitters)
		function.Filter = linked(p, f, "Filter", p.filters)
		function.Wheel = linked(p, f, "Wheel", p.wheels)
		p.master(f, channels)
		p.values(f, bytes)
		mode.Functions = append(mode.Functions, function)
	}
}

func (p *parser) isDeclared(e *archive.Element, attribute string) {
	folded := strings.ToLower(attribute)
	if folded == "" || folded == "nofeature" || p.attributes[folded] {
		return
	}
	p.attributes[folded] = true // said once
	p.problem(attrPlace(e, "Attribute"), "attribute-missing", format.Warning, fmt.Sprintf("a channel controls %q, which is not declared", attribute))
}

// linked follows a name to an emitter, a filter or a wheel.
func linked[T any](p *parser, e *archive.Element, kind string, known map[string]*T) *T {
	name := e.Value(kind)
	if name == "" || strings.EqualFold(name, "None") {
		return nil
	}
	thing := known[lastName(name)]
	if thing == nil {
		p.once(attrPlace(e, kind), strings.ToLower(kind)+"-missing", format.Warning, fmt.Sprintf("a channel names the %s %q, which is not there", strings.ToLower(kind), name))
	}
	return thing
}

// master looks whether the channel that a function depends on is there.
func (p *parser) master(f *archive.Element, channels map[string]bool) {
	name := f.Value("ModeMaster")
	if name == "" || strings.EqualFold(name, "None") {
		return
	}
	channel, _, _ := strings.Cut(strings.ToLower(name), ".")
	if !channels[channel] {
		p.once(attrPlace(f, "ModeMaster"), "modemaster-missing", format.Warning, fmt.Sprintf("a function depends on the channel %q, which is not in this mode", name))
	}
}

// values looks whether the values of a function fit into its channel.
func (p *parser) values(f *archive.Element, bytes int) {
	check := func(e *archive.Element, name string) (uint64, bool) {
		a, ok := e.Attr(name)
		if !ok || strings.TrimSpace(a.Value) == "" || strings.EqualFold(a.Value, "None") {
			return 0, false
		}
		v, err := ParseDMXValue(a.Value)
		if err != nil {
			p.once(format.Span{Start: a.Start, Stop: a.Stop}, "dmx-value-range", format.Warning, err.Error())
			return 0, false
		}
		return v.In(min(bytes, maxBytes)), true
	}
	from, _ := check(f, "DMXFrom")
	check(f, "Default")
	before := from
	sets := f.All("ChannelSet")
	p.count("named values of channels", len(sets))
	for _, set := range sets {
		if v, ok := check(set, "DMXFrom"); ok {
			if v < before {
				p.once(attrPlace(set, "DMXFrom"), "dmx-value-range", format.Warning, "the named values of a function do not rise, or lie before it")
			}
			before = v
		}
	}
}
