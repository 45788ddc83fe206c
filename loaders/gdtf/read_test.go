package gdtf

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/format/formattest"
	"github.com/cueproof/cueproof/schema"
)

func read(t testing.TB, data []byte) (format.Part, *formattest.Ear, bool) {
	t.Helper()
	return formattest.Read(t, Format, format.Options{}, "Nobody@Lamp.gdtf", string(data))
}

func function(geometry, attribute, offset, rest string) string {
	return fmt.Sprintf(`<DMXChannel Geometry="%s" Offset="%s"><LogicalChannel Attribute="%s"><ChannelFunction DMXFrom="0/1" Default="0/1" %s/></LogicalChannel></DMXChannel>`, geometry, offset, attribute, rest)
}

func mode(name, root string, channels ...string) string {
	return fmt.Sprintf(`<DMXMode Name="%s" Geometry="%s"><DMXChannels>%s</DMXChannels></DMXMode>`, name, root, strings.Join(channels, ""))
}

func TestLay(t *testing.T) {
	colours := `<Emitters><Emitter Name="Red" Color="0.64,0.33,21.3"/><Emitter Name="Green" Color="0.3,0.6,71.5"/><Emitter Name="Blue" Color="0.15,0.06,7.2"/></Emitters>`
	additive := []string{function("Lens", "Dimmer", "1", ""), function("Lens", "ColorAdd_R", "2", `Emitter="Red"`), function("Lens", "ColorAdd_G", "3", `Emitter="Emitters.Green"`), function("Lens", "ColorAdd_B", "4", `Emitter="Blue"`)}
	tests := map[string]struct {
		geometries, modes, physical string
		want, losses                string
	}{
		"a lamp that says nothing": {`<Beam Name="Lens"/>`, mode("1 slot", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"modes": [{"name": "1 slot", "slots": 1}]}`, ""},
		"a lamp that says all": {`<Beam Name="Lens" LampType="Halogen" PowerConsumption="750" LuminousFlux="9000" ColorTemperature="3200" BeamAngle="18" FieldAngle="26" BeamRadius="0.07" ColorRenderingIndex="99"/>`,
			mode("1 slot", "Lens", function("Lens", "Dimmer", "1", "")), `<Properties><PowerConsumption Value="760" PowerFactor="1"/></Properties>`,
			`{"source": "tungsten", "halogen": true, "modes": [{"name": "1 slot", "slots": 1}], "watts": 760, "power_factor": 1, "white_k": 3200,
				"beam_deg": 18, "field_deg": 26, "flux_lm": 9000, "cri": 99, "opening_m": [0.14], "known": {"cri": "inferred"}}`, ""},
		"power of the beam alone": {`<Beam Name="Lens" LampType="Tungsten" PowerConsumption="750"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"source": "tungsten", "modes": [{"name": "m", "slots": 1}], "watts": 750, "known": {"watts": "inferred"}}`, ""},
		"power of consumers": {`<Geometry Name="Body"><Beam Name="Lens" PowerConsumption="750"/><WiringObject Name="in" ComponentType="Consumer" ElectricalPayLoad="120" CosPhi="0.95"/><WiringObject Name="in2" ComponentType="Consumer" ElectricalPayLoad="30"/></Geometry>`,
			mode("m", "Body", function("Lens", "Dimmer", "1", "")), `<Properties><PowerConsumption Value="760"/></Properties>`,
			`{"modes": [{"name": "m", "slots": 1}], "watts": 150, "power_factor": 0.95}`, ""},
		"what a program filled in": {`<Beam Name="Lens" LampType="Discharge" PowerConsumption="1000" LuminousFlux="10000" ColorTemperature="6000" BeamAngle="25" FieldAngle="25" ColorRenderingIndex="100"/>`,
			mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"source": "discharge", "modes": [{"name": "m", "slots": 1}], "white_k": 6000, "beam_deg": 25, "field_deg": 25, "flux_lm": 10000, "cri": 100,
				"known": {"source": "assumed", "white_k": "assumed", "beam_deg": "assumed", "field_deg": "assumed", "flux_lm": "assumed", "cri": "assumed"}}`, ""},
		"two that equal the defaults by chance": {`<Beam Name="Lens" LampType="LED" ColorTemperature="6000" BeamAngle="25" FieldAngle="40"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"source": "white-led", "modes": [{"name": "m", "slots": 1}], "white_k": 6000, "beam_deg": 25, "field_deg": 40}`, ""},
		"colours": {`<Beam Name="Lens" LampType="LED" LuminousFlux="2000" ColorTemperature="6500"/>`, mode("4 slots", "Lens", additive...), colours,
			`{"source": "colour-led", "modes": [{"name": "4 slots", "slots": 4}], "flux_lm": 2000,
				"emitters": [{"name": "Red", "x": 0.64, "y": 0.33, "flux_lm": 426}, {"name": "Green", "x": 0.3, "y": 0.6, "flux_lm": 1430}, {"name": "Blue", "x": 0.15, "y": 0.06, "flux_lm": 144}],
				"known": {"emitters": "derived"}}`, ""},
		"colours that nobody describes": {`<Beam Name="Lens"/>`, mode("3 slots", "Lens", function("Lens", "ColorAdd_R", "1", ""), function("Lens", "ColorAdd_RY", "2", ""), function("Lens", "ColorAdd_UV", "3", "")), "",
			`{"source": "colour-led", "modes": [{"name": "3 slots", "slots": 3}], "emitters": [{"name": "red"}, {"name": "amber"}, {"name": "uv"}], "known": {"source": "inferred"}}`, ""},
		// CIE 1931 has 0.1355, 0.0399 at 465 nm.
		"a spectrum and a wavelength": {`<Beam Name="Lens" LampType="LED"/>`, mode("2 slots", "Lens", function("Lens", "ColorAdd_R", "1", `Emitter="Red"`), function("Lens", "ColorAdd_B", "2", `Emitter="Blue"`)),
			`<Emitters><Emitter Name="Red" DominantWaveLength="620"/><Emitter Name="Blue" DominantWaveLength="465"><Measurement Physical="50"/><Measurement Physical="100"><MeasurementPoint WaveLength="464" Energy="1"/><MeasurementPoint WaveLength="465" Energy="2"/><MeasurementPoint WaveLength="466" Energy="1"/></Measurement></Emitter></Emitters>`,
			`{"source": "colour-led", "modes": [{"name": "2 slots", "slots": 2}], "emitters": [{"name": "Red", "wavelength_nm": 620}, {"name": "Blue", "x": 0.135497823, "y": 0.0399107059}]}`,
			"dropped 1 measurements of emitters and filters"},
		"cells": {cells, cellMode, "",
			`{"source": "colour-led", "modes": [{"name": "13 slots", "slots": 13}], "emitters": [{"name": "red"}, {"name": "green"}, {"name": "blue"}], "flux_lm": 1000,
				"known": {"source": "inferred", "flux_lm": "derived"}}`, ""},
		"a white that can be set": {`<Beam Name="Lens" LampType="LED" LuminousFlux="2600" ColorTemperature="5600"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", ""), function("Lens", "CTC", "2", `PhysicalFrom="6500" PhysicalTo="2700"`)), "",
			`{"source": "tunable-led", "modes": [{"name": "m", "slots": 2}], "white_range_k": [2700, 6500], "flux_lm": 2600}`, ""},
		"a white without kelvin": {`<Beam Name="Lens" LampType="LED" ColorTemperature="5600"/>`, mode("m", "Lens", function("Lens", "CTC", "1", `PhysicalFrom="0" PhysicalTo="1"`)), "",
			`{"source": "tunable-led", "modes": [{"name": "m", "slots": 1}], "white_k": 5600}`, ""},
		"a zoom": {`<Beam Name="Lens" LampType="LED" BeamAngle="20" FieldAngle="30"/>`, mode("m", "Lens", function("Lens", "Zoom", "1", `PhysicalFrom="50" PhysicalTo="10"`)), "",
			`{"source": "white-led", "modes": [{"name": "m", "slots": 1}], "zoom": {"narrow": {"beam_deg": 10, "field_deg": 15}, "wide": {"beam_deg": 50, "field_deg": 75}}, "known": {"zoom": "inferred"}}`, ""},
		"a zoom that is a share": {`<Beam Name="Lens" BeamAngle="20" FieldAngle="30"/>`, mode("m", "Lens", function("Lens", "Zoom", "1", `PhysicalFrom="0" PhysicalTo="1"`)), "",
			`{"modes": [{"name": "m", "slots": 1}], "beam_deg": 20, "field_deg": 30}`, ""},
		"one that moves": {`<Geometry Name="Base"><Axis Name="Head"><Beam Name="Lens" LampType="Discharge" BeamAngle="2.4" FieldAngle="3.4"/></Axis></Geometry>`,
			mode("m", "Base", function("Base", "Pan", "1,2", ""), function("Head", "Tilt", "3,4", ""), function("Lens", "Color1", "5", `Wheel="Colours"`)), "",
			`{"source": "discharge", "modes": [{"name": "m", "slots": 5}],
				"filters": [{"name": "amber", "x": 0.5, "y": 0.42, "transmission": 0.55}], "beam_deg": 2.4, "field_deg": 3.4, "moving": true, "can": ["wheel", "aim"], "known": {"can": "derived"}}`,
			"dropped 1 patterns of wheels"},
		"several breaks": {`<Geometry Name="Body"><Beam Name="Lens"/></Geometry>`, mode("m", "Body", function("Lens", "Dimmer", "1", ""), strings.Replace(function("Body", "Pan", "2,3", ""), "<DMXChannel", `<DMXChannel DMXBreak="3"`, 1)), "",
			`{"modes": [{"name": "m", "slots": 4, "breaks": [1, 0, 3]}], "moving": true, "can": ["dim", "aim"], "known": {"can": "derived"}}`, ""},
		"one break that is not the first": {`<Geometry Name="Body"><Beam Name="Lens"/></Geometry>`, mode("m", "Body", strings.Replace(function("Lens", "Dimmer", "1", ""), "<DMXChannel", `<DMXChannel DMXBreak="2"`, 1)), "",
			`{"modes": [{"name": "m", "slots": 1, "breaks": [0, 1]}]}`, ""},
		"more power than there is": {`<Beam Name="Lens"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), `<Properties><PowerConsumption Value="760" PowerFactor="1.5"/></Properties>`,
			`{"modes": [{"name": "m", "slots": 1}], "watts": 760}`, "dropped 1 numbers that cannot be true"},
		"a slot with a filter of its own": {`<Geometry Name="Base"><Beam Name="Lens"/></Geometry>`, mode("m", "Base", function("Lens", "Color1", "1", `Wheel="Filters"`)),
			`<Filters><Filter Name="Rose" Color="0.4,0.3,40"/></Filters>`,
			`{"modes": [{"name": "m", "slots": 1}], "filters": [{"name": "deep", "x": 0.4, "y": 0.3, "transmission": 0.4}, {"name": "own", "x": 0.5, "y": 0.42, "transmission": 0.55}]}`, ""},
		"a hazer": {`<Geometry Name="Body"/>`, mode("m", "Body", function("Body", "Fog1", "1", "")), "",
			`{"source": "none", "machine": {"kind": "fogger"}, "modes": [{"name": "m", "slots": 1}], "known": {"source": "inferred", "machine": "inferred"}}`, ""},
		"a needle of light": {`<Beam Name="Lens" BeamAngle="0.5" FieldAngle="0.8"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"modes": [{"name": "m", "slots": 1}], "beam_deg": 0.5, "field_deg": 0.8}`, ""},
		"a mode without a beam": {`<Geometry Name="Empty"/><Geometry Name="Base"><Beam Name="Lens"/></Geometry>`, mode("dark", "Empty", function("Empty", "Dimmer", "1", "")) + mode("lit", "Base", function("Lens", "Dimmer", "1", "")), "",
			`{"modes": [{"name": "dark", "slots": 1}, {"name": "lit", "slots": 1}]}`, "guessed 1 modes with fewer beams (the light of the fullest is taken)"},
		"what cannot be true": {`<Beam Name="Lens" BeamAngle="200" FieldAngle="0" ColorTemperature="100" ColorRenderingIndex="255" LuminousFlux="-5"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "",
			`{"modes": [{"name": "m", "slots": 1}]}`, "dropped 1 numbers that cannot be true\ndropped 1 numbers that cannot be true\ndropped 1 numbers that cannot be true"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			text := describe(test.geometries, test.modes, test.physical)
			text = strings.Replace(text, "<PhysicalDescriptions>", `<Wheels><Wheel Name="Colours"><Slot Name="open"/><Slot Name="white" Color="0.3127,0.3290,100"/><Slot Name="amber" Color="0.500,0.420,55"/></Wheel><Wheel Name="Filters"><Slot Name="deep" Filter="Rose"/><Slot Name="own" Color="0.500,0.420,55" Filter="Rose"/></Wheel></Wheels><PhysicalDescriptions>`, 1)
			if strings.Contains(test.losses, "patterns") {
				text = strings.Replace(text, `<Slot Name="open"/>`, `<Slot Name="open" MediaFileName="star"/>`, 1)
			}
			part, in, ok := read(t, formattest.Zip(t, "description.xml", text))
			if !ok {
				t.Fatal(in.Findings)
			}
			got := part.Sections[0].Root.Any().([]any)[0].(map[string]any)
			if got["name"] != "Lamp" {
				t.Error(got["name"])
			}
			delete(got, "name")
			var want any
			if err := json.Unmarshal([]byte(test.want), &want); err != nil {
				t.Fatal(err)
			}
			if diff := gocmp.Diff(want, any(got)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if got := formattest.Losses(part); got != test.losses {
				t.Errorf("%q", got)
			}
		})
	}
}

func TestPlaces(t *testing.T) {
	text := describe(`<Beam Name="Lens" BeamAngle="18"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "")
	part, _, _ := read(t, formattest.Zip(t, "description.xml", text))
	angle, ok := part.Sections[0].Root.Find("/0/beam_deg")
	if start, stop := angle.Bytes(); !ok || text[start:stop] != "18" {
		t.Errorf("%q", text[start:stop])
	}
	emitters := `<Emitter Name="Red" Color="0.6,0.3,20"/><Emitter Name="Blue" Color="0.1,0.1,5"/>`
	mixed := describe(`<Beam Name="Lens"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "<Emitters>"+emitters+"</Emitters>")
	part, _, _ = read(t, formattest.Zip(t, "description.xml", mixed))
	all, ok := part.Sections[0].Root.Find("/0/emitters")
	if start, stop := all.Bytes(); !ok || mixed[start:stop] != emitters {
		t.Errorf("%q", mixed[start:stop])
	}
	if got := angle.File.Name; got != "Nobody@Lamp.gdtf/description.xml" {
		t.Error(got)
	}
	if line := angle.Span().Start.Line; line != 1+strings.Count(text[:strings.Index(text, "18")], "\n") {
		t.Error(line)
	}
}

func TestReadWhatIsNone(t *testing.T) {
	good := describe(`<Beam Name="Lens"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")), "")
	for name, test := range map[string]struct {
		data []byte
		says string
	}{
		"nothing":         {nil, "is no ZIP archive"},
		"no archive":      {[]byte("<GDTF/>"), "is no ZIP archive"},
		"cut off":         {formattest.Zip(t, "description.xml", good)[:300], "is no ZIP archive"},
		"no description":  {formattest.Zip(t, "x.xml", good), "holds no description.xml"},
		"no XML":          {formattest.Zip(t, "description.xml", "hello"), "description.xml holds no XML element"},
		"another XML":     {formattest.Zip(t, "description.xml", "<a/>"), "describes no type of fixture"},
		"entities":        {formattest.Zip(t, "description.xml", `<!DOCTYPE a [<!ENTITY b "c">]><GDTF><FixtureType Name="&b;"/></GDTF>`), "declares entities"},
		"attribute twice": {formattest.Zip(t, "description.xml", `<GDTF DataVersion="1.2"><FixtureType Name="a" Name="b"/></GDTF>`), `the attribute "Name" twice`},
		"too deep":        {formattest.Zip(t, "description.xml", "<GDTF>"+strings.Repeat("<a>", 300)), "deeper than 256"},
	} {
		_, in, ok := read(t, test.data)
		found := false
		for _, f := range in.Findings {
			found = found || strings.Contains(f.Message, test.says)
		}
		if ok || !in.Failed || !found {
			t.Errorf("%s: %v", name, in.Findings)
		}
	}
	// Other case and bad names of other entries cost nothing but a word.
	part, in, ok := read(t, formattest.Zip(t, "Description.XML", good, "../x", "", `wheels\a.png`, ""))
	if !ok || len(part.Sections) != 1 || len(in.Findings) != 2 {
		t.Errorf("%v %v", ok, in.Findings)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(formattest.Zip(f, "description.xml", describe(cells, cellMode, `<Emitters><Emitter Name="Red" Color="0.6,0.3,20"/><Emitter Name="B" Color="0.1,0.1,5"/></Emitters><Properties><PowerConsumption Value="200"/></Properties>`)))
	f.Add(formattest.Zip(f, "x/description.xml", "<GDTF/>"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, in, ok := read(t, data); !ok && len(in.Findings) == 0 {
			t.Fatal("unreadable without a word")
		}
	})
}

// FuzzLay lays what a text describes, whatever it is: the archive around it is not
// in the way.
func FuzzLay(f *testing.F) {
	f.Add(describe(cells, cellMode, `<Emitters><Emitter Name="Red" Color="0.6,0.3,20"/><Emitter Name="B" Color="0.1,0.1,5"/></Emitters>`))
	f.Add(describe(`<Axis Name="A"><Beam Name="B" LampType="LED" LuminousFlux="1e3" BeamAngle="2e1" FieldAngle="30" ColorRenderingIndex="90"/></Axis>`, mode("m", "A", function("B", "Zoom", "1", `PhysicalFrom="5" PhysicalTo="50"`), function("A", "Pan", "2", "")), ""))
	f.Fuzz(func(t *testing.T, text string) {
		typ, err := Parse(text)
		if err != nil {
			return
		}
		entry := &source.File{Name: "description.xml", Text: text}
		root, _ := Lay(entry, typ, "x")
		for _, f := range schema.Validate("types", root) {
			t.Fatalf("%s", f.Message)
		}
	})
}
