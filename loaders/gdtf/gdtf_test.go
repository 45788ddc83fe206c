package gdtf

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/archive"
)

// DIN SPEC 15800:2022-02 says by an example that 255/1 is 65535 in two bytes and
// 255/1s is 65280; the rest follows from repeating or shifting bytes.
func TestDMXValues(t *testing.T) {
	for _, test := range []struct {
		text string
		want [3]uint64 // in one, two and three bytes
	}{
		{"128/1", [3]uint64{128, 32896, 8421504}},
		{"128/1s", [3]uint64{128, 32768, 8388608}},
		{"255/1", [3]uint64{255, 65535, 16777215}},
		{"255/1s", [3]uint64{255, 65280, 16711680}},
		{"32768/2", [3]uint64{128, 32768, 8388736}},
		{"4660/2", [3]uint64{18, 4660, 1192978}},
		{"0/1", [3]uint64{}},
		{"7", [3]uint64{7, 1799, 460551}},
	} {
		v, err := ParseDMXValue(test.text)
		if err != nil {
			t.Error(err)
			continue
		}
		for i, want := range test.want {
			if got := v.In(i + 1); got != want {
				t.Errorf("%s in %d bytes: %d, want %d", test.text, i+1, got, want)
			}
		}
	}
	for _, text := range []string{"256/1", "0/255", "0/0", "1/9", "x/1", "-1/1", "1.5/1", "", "65536/2"} {
		if v, err := ParseDMXValue(text); err == nil {
			t.Errorf("%q: %+v", text, v)
		}
	}
	if v, err := ParseDMXValue("18446744073709551615/8"); err != nil || v.In(8) != math.MaxUint64 || v.In(1) != 255 {
		t.Error(v, err)
	}
}

func TestMatrices(t *testing.T) {
	near := func(a, b [3]float64) bool {
		return math.Abs(a[0]-b[0])+math.Abs(a[1]-b[1])+math.Abs(a[2]-b[2]) < 1e-9
	}
	m, ok := ParseMatrix("{1,0,0,0}{0,0,-1,0.1}{0,1,0,-0.25}{0,0,0,1}")
	if !ok {
		t.Fatal("not read")
	}
	if got := m.Point([3]float64{0, 0, -1}); !near(got, [3]float64{0, 1.1, -0.25}) {
		t.Error(got)
	}
	// From a child to the world: the parent acts last.
	parent, _ := ParseMatrix("{0,-1,0,1}{1,0,0,2}{0,0,1,3}{0,0,0,1}")
	if got := parent.Times(m).Point([3]float64{0, 0, -1}); !near(got, parent.Point(m.Point([3]float64{0, 0, -1}))) {
		t.Error(got)
	}
	if got := parent.Point([3]float64{1, 0, 0}); !near(got, [3]float64{1, 3, 3}) {
		t.Error(got)
	}
	for _, text := range []string{"", "None", " { 1, 0 ,0,0}\n{0,1,0,0} {0,0,1,0}{0,0,0,+1e0} "} {
		if m, ok := ParseMatrix(text); !ok || m != identity {
			t.Errorf("%q: %v", text, m)
		}
	}
	for _, text := range []string{"{1}", "{1,0,0}{0,1,0}{0,0,1}{0,0,0}", "{1,0,0,0}{0,1,0,0}{0,0,1,0}{0,0,0,nan}", "1,0,0,0}{0,1,0,0}{0,0,1,0}{0,0,0,1}", "{1,0,0,0}{0,1,0,0}{0,0,1,0}{0,0,0,1}x"} {
		if _, ok := ParseMatrix(text); ok {
			t.Errorf("%q is read", text)
		}
	}
}

func TestColours(t *testing.T) {
	for text, want := range map[string][3]float64{
		"0.3127,0.3290,100":      {.3127, .329, 100},
		" 0.3127, +0.3290 ,1e2 ": {.3127, .329, 100},
	} {
		if x, y, l, ok := parseColour(text); !ok || [3]float64{x, y, l} != want {
			t.Errorf("%q: %g %g %g %v", text, x, y, l, ok)
		}
	}
	for _, text := range []string{"0,3127,0,3290,100", "0.3,0.3", "0.3,0.3,0.3,0.3", "2,0,1", "-0.1,0.3,5", "nan,0.3,5", "0.6,0.6,5", "0x1p-2,0.3,5", "", "a,b,c"} {
		if _, _, _, ok := parseColour(text); ok {
			t.Errorf("%q is read", text)
		}
	}
}

// describe wraps parts of a description.
func describe(geometries, modes, physical string) string {
	return `<?xml version="1.0" encoding="UTF-8"?>
<GDTF DataVersion="1.2"><FixtureType Name="Lamp" Manufacturer="Nobody">
<AttributeDefinitions><FeatureGroups><FeatureGroup Name="All"><Feature Name="One"/></FeatureGroup></FeatureGroups><Attributes>` +
		func() string {
			list := ""
			for _, name := range []string{"Dimmer", "Pan", "Tilt", "Zoom", "ColorAdd_R", "ColorAdd_G", "ColorAdd_B", "Color1", "CTC", "Fog1"} {
				list += fmt.Sprintf(`<Attribute Name="%s" Feature="All.One"/>`, name)
			}
			return list
		}() + `</Attributes></AttributeDefinitions>
<PhysicalDescriptions>` + physical + `</PhysicalDescriptions>
<Geometries>` + geometries + `</Geometries>
<DMXModes>` + modes + `</DMXModes>
</FixtureType></GDTF>`
}

func channel(geometry, attribute, rest string) string {
	return fmt.Sprintf(`<DMXChannel Geometry="%s" %s><LogicalChannel Attribute="%s"><ChannelFunction DMXFrom="0/1" Default="0/1"/></LogicalChannel></DMXChannel>`, geometry, rest, attribute)
}

func mustParse(t *testing.T, text string) *Type {
	t.Helper()
	typ, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return typ
}

func codes(typ *Type) string {
	var list []string
	for _, p := range typ.Problems {
		list = append(list, p.Code)
	}
	return strings.Join(list, " ")
}

// Four cells on one body: a dimmer and three colours for each of them.
const cells = `<Geometry Name="Body">
	<GeometryReference Name="1" Geometry="Pixel"><Break DMXOffset="2" DMXBreak="1"/></GeometryReference>
	<GeometryReference Name="2" Geometry="Pixel"><Break DMXOffset="5" DMXBreak="1"/></GeometryReference>
	<GeometryReference Name="3" Geometry="Pixel"><Break DMXOffset="8" DMXBreak="1"/></GeometryReference>
	<GeometryReference Name="4" Geometry="Pixel"><Break DMXOffset="11" DMXBreak="1"/></GeometryReference>
</Geometry><Beam Name="Pixel" LuminousFlux="250"/>`

var cellMode = `<DMXMode Name="13 slots" Geometry="Body"><DMXChannels>` +
	channel("Body", "Dimmer", `Offset="1"`) + channel("Pixel", "ColorAdd_R", `Offset="1" DMXBreak="Overwrite"`) +
	channel("Pixel", "ColorAdd_G", `Offset="2" DMXBreak="Overwrite"`) + channel("Pixel", "ColorAdd_B", `Offset="3" DMXBreak="Overwrite"`) +
	`</DMXChannels></DMXMode>`

func TestFootprints(t *testing.T) {
	body := `<Geometry Name="Body"><Geometry Name="Head"><Beam Name="Lens"/></Geometry></Geometry>`
	mode := func(root string, channels ...string) string {
		return fmt.Sprintf(`<DMXMode Name="m" Geometry="%s"><DMXChannels>%s</DMXChannels></DMXMode>`, root, strings.Join(channels, ""))
	}
	four := `<Geometry Name="Base">` +
		strings.Repeat(`<GeometryReference Name="r" Geometry="Head"><Break DMXOffset="@"/></GeometryReference>`, 4) + `</Geometry><Geometry Name="Head"/>`
	for _, offset := range []string{"1", "8", "15", "22"} {
		four = strings.Replace(four, "@", offset, 1)
	}
	var head []string
	for i := range 7 {
		head = append(head, channel("Head", fmt.Sprint("X", i), fmt.Sprintf(`Offset="%d"`, i+3)))
	}
	tests := map[string]struct {
		geometries, mode string
		breaks           string
		beams            int
		codes            string
	}{
		"cells":  {cells, cellMode, "[{1 13}]", 4, ""},
		"breaks": {body, mode("Body", channel("Head", "Pan", `Offset="3,4"`), channel("Lens", "Dimmer", `Offset="1"`), channel("Head", "Color1", `DMXBreak="2" Offset="1"`), channel("Body", "Dimmer", `Offset="None"`)), "[{1 4} {2 1}]", 1, "slot-gap"},
		"thirty": {four, mode("Base", append(head, channel("Base", "Pan", `Offset="1"`), channel("Base", "Tilt", `Offset="2"`))...), "[{1 30}]", 0,
			strings.TrimSpace(strings.Repeat("attribute-missing ", 7))},
		"before 1.0":        {body, mode("Body", channel("Head", "Pan", `Coarse="1" Fine="2"`), channel("Lens", "Dimmer", `Coarse="3" Fine="None"`)), "[{1 3}]", 1, ""},
		"no such geometry":  {body, mode("Body", channel("Nothing", "Pan", `Offset="9"`), channel("Lens", "Dimmer", `Offset="1"`)), "[{1 1}]", 1, "geometry-missing"},
		"no such root":      {body + "<Geometry Name='x'/>", mode("Nothing", channel("Lens", "Dimmer", `Offset="1"`)), "[]", 0, "geometry-missing"},
		"no root, only one": {body, mode("", channel("Lens", "Dimmer", `Offset="1"`)), "[{1 1}]", 1, ""},
		"one slot twice":    {body, mode("Body", channel("Lens", "Dimmer", `Offset="1"`), channel("Head", "Pan", `Offset="1,2"`)), "[{1 2}]", 1, "duplicate-slot"},
		"a loop":            {`<Geometry Name="A"><GeometryReference Name="r" Geometry="B"/></Geometry><Geometry Name="B"><Beam Name="L"/><GeometryReference Name="s" Geometry="A"/></Geometry>`, mode("A", channel("L", "Dimmer", `Offset="1"`)), "[{1 1}]", 1, "break-missing reference-loop"},
		"nested references add up": {`<Geometry Name="A"><GeometryReference Name="r" Geometry="B"><Break DMXOffset="11"/></GeometryReference></Geometry>
			<Geometry Name="B"><GeometryReference Name="s" Geometry="C"><Break DMXOffset="5"/></GeometryReference></Geometry><Beam Name="C"/>`, mode("A", channel("C", "Dimmer", `Offset="2"`)), "[{1 16}]", 1, "slot-gap"},
		"the last break overwrites": {`<Geometry Name="A"><GeometryReference Name="r" Geometry="C"><Break DMXOffset="3" DMXBreak="1"/><Break DMXOffset="7" DMXBreak="2"/></GeometryReference></Geometry><Beam Name="C"/>`,
			mode("A", channel("C", "Dimmer", `Offset="1" DMXBreak="Overwrite"`), channel("C", "Pan", `Offset="1" DMXBreak="1"`)), "[{1 3} {2 7}]", 1, "slot-gap"},
		"no such break": {`<Geometry Name="A"><GeometryReference Name="r" Geometry="C"><Break DMXOffset="3" DMXBreak="0"/></GeometryReference></Geometry><Beam Name="C"/>`,
			mode("A", channel("C", "Dimmer", `Offset="1" DMXBreak="Overwrite"`), channel("C", "Pan", `Offset="2" DMXBreak="-1"`)), "[{1 4}]", 1, "bad-number bad-number slot-gap"},
		"bad offsets":           {body, mode("Body", channel("Lens", "Dimmer", `Offset="0"`), channel("Head", "Pan", `Offset="x,2"`)), "[{1 2}]", 1, "bad-offset bad-offset slot-gap"},
		"universe in an offset": {body, mode("Body", channel("Lens", "Dimmer", `Offset="1.3"`)), "[{1 3}]", 1, "slot-gap"},
		"too long":              {body, mode("Body", channel("Lens", "Dimmer", `Offset="513"`)), "[{1 513}]", 1, "slot-gap break-too-long"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			typ := mustParse(t, describe(test.geometries, test.mode, ""))
			m := typ.Modes[0]
			if got := fmt.Sprint(m.Breaks); got != test.breaks {
				t.Errorf("%s, want %s", got, test.breaks)
			}
			beams := 0
			for _, b := range m.Beams {
				beams += b.Count
			}
			if beams != test.beams {
				t.Errorf("%d beams, want %d", beams, test.beams)
			}
			if got := strings.Fields(codes(typ)); len(got) != len(strings.Fields(test.codes)) || !sameWords(got, strings.Fields(test.codes)) {
				t.Errorf("%q, want %q", got, test.codes)
			}
		})
	}
}

func sameWords(a, b []string) bool {
	count := map[string]int{}
	for _, w := range a {
		count[w]++
	}
	for _, w := range b {
		count[w]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// TestNothingExplodes follows references that double at every level.
func TestNothingExplodes(t *testing.T) {
	var b strings.Builder
	for i := range 40 {
		fmt.Fprintf(&b, `<Geometry Name="g%d"><GeometryReference Name="a" Geometry="g%d"/><GeometryReference Name="b" Geometry="g%d"/></Geometry>`, i, i+1, i+1)
	}
	b.WriteString(`<Beam Name="g40"/>`)
	typ := mustParse(t, describe(b.String(), `<DMXMode Name="m" Geometry="g0"><DMXChannels>`+channel("g40", "Dimmer", `Offset="1"`)+`</DMXChannels></DMXMode>`, ""))
	if !strings.Contains(codes(typ), "reference-loop") {
		t.Error(codes(typ))
	}
}

func TestProblems(t *testing.T) {
	body := `<Beam Name="Lens" %s/>`
	mode := `<DMXMode Name="m" Geometry="Lens"><DMXChannels>%s</DMXChannels></DMXMode>`
	dimmer := channel("Lens", "Dimmer", `Offset="1"`)
	tests := map[string]struct{ text, codes string }{
		"nothing":            {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), ""},
		"decimal comma":      {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), `<Emitters><Emitter Name="Red" Color="0,64,0,33,21,3"/></Emitters>`), "bad-colour"},
		"no colour":          {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), `<Emitters><Emitter Name="Red"/></Emitters>`), "colourless-emitter"},
		"invisible":          {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), `<Emitters><Emitter Name="UV" DominantWaveLength="395"/></Emitters>`), ""},
		"weight twice":       {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), `<Properties><Weight Value="1"/><Weight Value="2"/></Properties>`), "duplicate-property"},
		"field below beam":   {describe(fmt.Sprintf(body, `BeamAngle="30" FieldAngle="20"`), fmt.Sprintf(mode, dimmer), ""), "field-less-than-beam"},
		"field at beam":      {describe(fmt.Sprintf(body, `BeamAngle="20" FieldAngle="20"`), fmt.Sprintf(mode, dimmer), ""), ""},
		"no such emitter":    {describe(fmt.Sprintf(body, `EmitterSpectrum="Red"`), fmt.Sprintf(mode, dimmer), ""), "emitter-missing"},
		"bad matrix":         {describe(fmt.Sprintf(body, `Position="{1}"`), fmt.Sprintf(mode, dimmer), ""), "bad-matrix"},
		"bad number":         {describe(fmt.Sprintf(body, `BeamAngle="12,5"`), fmt.Sprintf(mode, dimmer), ""), "bad-number"},
		"same name":          {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer+channel("Lens", "Dimmer", `Offset="2"`)), ""), "duplicate-channel-name"},
		"no such attribute":  {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, channel("Lens", "Lasers", `Offset="1"`)), ""), "attribute-missing"},
		"no such wheel":      {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default=`, `Wheel="W" Default=`, 1)), ""), "wheel-missing"},
		"no such master":     {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default=`, `ModeMaster="Lens_Pan" Default=`, 1)), ""), "modemaster-missing"},
		"a master":           {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default=`, `ModeMaster="Lens_Dimmer.Dimmer.Dimmer 1" Default=`, 1)), ""), ""},
		"value too large":    {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default="0/1"`, `Default="300/1"`, 1)), ""), "dmx-value-range"},
		"value of 255 bytes": {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default="0/1"`, `Default="0/255"`, 1)), ""), "dmx-value-range"},
		"no mode":            {describe(fmt.Sprintf(body, ""), "", ""), "no-mode"},
		"another version":    {strings.Replace(describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), `"1.2"`, `"2.0"`, 1), "unsupported-version"},
		"no such main":       {strings.Replace(describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), `"Zoom" Feature="All.One"`, `"Zoom" MainAttribute="Zooom" Feature="All.One"`, 1), "attribute-missing"},
		"a main attribute":   {strings.Replace(describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), `"Zoom" Feature="All.One"`, `"Zoom" MainAttribute="dimmer" Feature="All.One"`, 1), ""},
		"no such group":      {strings.Replace(describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), `"Zoom" Feature="All.One"`, `"Zoom" ActivationGroup="Beam" Feature="All.One"`, 1), "activationgroup-missing"},
		"names that fall":    {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default="0/1"/>`, `Default="0/1"><ChannelSet Name="a" DMXFrom="9/1"/><ChannelSet Name="b" DMXFrom="8/1"/></ChannelFunction>`, 1)), ""), "dmx-value-range"},
		"names that rise":    {describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, strings.Replace(dimmer, `Default="0/1"/>`, `Default="0/1"><ChannelSet Name="a" DMXFrom="8/1"/><ChannelSet Name="b" DMXFrom="8/1"/><ChannelSet Name="c" DMXFrom="9/1"/></ChannelFunction>`, 1)), ""), ""},
		"no such feature":    {strings.Replace(describe(fmt.Sprintf(body, ""), fmt.Sprintf(mode, dimmer), ""), `"Zoom" Feature="All.One"`, `"Zoom" Feature="All.Two"`, 1), "feature-missing"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			typ := mustParse(t, test.text)
			if got := codes(typ); got != test.codes {
				t.Errorf("%q, want %q: %v", got, test.codes, typ.Problems)
			}
		})
	}
}

func TestNoDescription(t *testing.T) {
	for _, text := range []string{"", "<GDTF/>", "<a><FixtureType/></a>", "<GDTF><FixtureType>", "{}"} {
		_, err := Parse(text)
		var told *archive.SyntaxError
		if !errors.As(err, &told) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(describe(cells, cellMode, `<Emitters><Emitter Name="Red" Color="0.6,0.3,20"><Measurement Physical="100"><MeasurementPoint WaveLength="600" Energy="1"/></Measurement></Emitter></Emitters><Filters><Filter Name="F" Color="0.3,0.3,50"/></Filters>`))
	f.Add(describe(`<Axis Name="A" Position="{1,0,0,0}{0,1,0,0}{0,0,1,-0.1}{0,0,0,1}"><Beam Name="B" LampType="LED" BeamAngle="2e1" FieldAngle="30"/><WiringObject Name="P" ComponentType="Consumer" ElectricalPayLoad="120" CosPhi="0.9"/></Axis>`,
		`<DMXMode Name="m" Geometry="A"><DMXChannels>`+channel("B", "Zoom", `Offset="1,2" DMXBreak="2"`)+`</DMXChannels><Relations><Relation/></Relations></DMXMode>`,
		`<Properties><PowerConsumption Value="200"/></Properties>`))
	f.Add(`<GDTF><FixtureType><Wheels><Wheel Name="W"><Slot Name="s" Color="0.3,0.3,1" Filter="F"/></Wheel></Wheels></FixtureType></GDTF>`)
	f.Fuzz(func(t *testing.T, text string) {
		typ, err := Parse(text)
		if err != nil {
			var told *archive.SyntaxError
			if !errors.As(err, &told) {
				t.Fatal(err)
			}
			return
		}
		for _, p := range typ.Problems {
			if p.At.Start < 0 || p.At.Stop < p.At.Start || p.At.Stop > len(text) || p.Code == "" || p.Message == "" {
				t.Fatalf("%+v", p)
			}
		}
		for _, m := range typ.Modes {
			for _, b := range m.Breaks {
				if b.Number < 1 || b.Slots < 1 || b.Slots > maxSlot {
					t.Fatalf("%+v", m)
				}
			}
			for _, b := range m.Beams {
				for _, n := range []*Number{b.FluxLm, b.BeamDeg, b.FieldDeg, b.ColourK} {
					if n != nil && (math.IsNaN(n.Value) || math.IsInf(n.Value, 0)) {
						t.Fatalf("%+v", n)
					}
				}
			}
		}
	})
}

// Numbers have a decimal point, and may have exponents and signs; what is not finite, or no number, is none.
func TestNumbers(t *testing.T) {
	for text, want := range map[string]float64{"5": 5, " 5.25 ": 5.25, "+1.5e3": 1500, "-2E-1": -0.2, ".5": 0.5, "5.": 5} {
		if got, ok := float(text); !ok || got != want {
			t.Errorf("%q is %v, %v; want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", " ", "1.2.3", "--1", "e", "1e999", "-1e999", "5,5", "0x10", "Inf", "NaN", "5 5"} {
		if got, ok := float(text); ok {
			t.Errorf("%q is %v", text, got)
		}
	}
}

// A channel that says no function has one of its attribute, and one that says some has those.
func TestFunctionsOfAChannel(t *testing.T) {
	for inside, want := range map[string]string{"": "Dimmer", "<ChannelFunction/>": "Dimmer", `<ChannelFunction Attribute="Zoom"/><ChannelFunction/>`: "Zoom Dimmer"} {
		typ := mustParse(t, describe(`<Beam Name="Lens"/>`, `<DMXMode Name="m" Geometry="Lens"><DMXChannels><DMXChannel Geometry="Lens" Offset="1"><LogicalChannel Attribute="Dimmer">`+inside+`</LogicalChannel></DMXChannel></DMXChannels></DMXMode>`, ""))
		var got []string
		for _, f := range typ.Modes[0].Functions {
			got = append(got, f.Attribute)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("with %q it does %q, want %q", inside, got, want)
		}
	}
}
