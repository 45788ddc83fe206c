package gdtf

import (
	"encoding/json"
	"testing"

	"github.com/cueproof/cueproof/loaders/format/formattest"
)

// Each construct and what it should give, worked out by hand from the digest of the
// standard before the reader was asked.
func TestSamplesOfConstructs(t *testing.T) {
	for name, test := range map[string]struct {
		geometries, modes, physical string
		want                        map[string]any
	}{
		// Rows at 2 and 8, in each pixels at 1 and 4, in each three slots: 2 to 13, and the dimmer at 1. Four cells of 100 lm.
		"references in references": {
			`<Beam Name="Pixel" LampType="LED" LuminousFlux="100"/>` +
				`<Geometry Name="Row"><GeometryReference Name="p1" Geometry="Pixel"><Break DMXOffset="1"/></GeometryReference><GeometryReference Name="p2" Geometry="Pixel"><Break DMXOffset="4"/></GeometryReference></Geometry>` +
				`<Geometry Name="Body"><GeometryReference Name="r1" Geometry="Row"><Break DMXOffset="2"/></GeometryReference><GeometryReference Name="r2" Geometry="Row"><Break DMXOffset="8"/></GeometryReference></Geometry>`,
			mode("m", "Body", function("Body", "Dimmer", "1", ""), function("Pixel", "ColorAdd_R", "1", ""), function("Pixel", "ColorAdd_G", "2", ""), function("Pixel", "ColorAdd_B", "3", "")), "",
			map[string]any{"modes": []any{map[string]any{"name": "m", "slots": 13.0}}, "flux_lm": 400.0},
		},
		"offsets of old files": {
			`<Beam Name="Lens" LampType="LED" ColorTemperature="4200"/>`,
			`<DMXMode Name="old" Geometry="Lens"><DMXChannels><DMXChannel Geometry="Lens" Coarse="1" Fine="2"><LogicalChannel Attribute="Dimmer"><ChannelFunction/></LogicalChannel></DMXChannel>` +
				`<DMXChannel Geometry="Lens" Coarse="3"><LogicalChannel Attribute="Shutter1"><ChannelFunction/></LogicalChannel></DMXChannel></DMXChannels></DMXMode>`, "",
			map[string]any{"modes": []any{map[string]any{"name": "old", "slots": 3.0}}, "white_k": 4200.0, "source": "white-led"},
		},
		"power by the properties, all of it": {
			`<Beam Name="Lens" LampType="Halogen" PowerConsumption="900"/>`, mode("m", "Lens", function("Lens", "Dimmer", "1", "")),
			`<Properties><PowerConsumption Value="150" PowerFactor="0.9" Connector="a"/><PowerConsumption Value="50" Connector="b"/><Weight Value="7"/></Properties>`,
			map[string]any{"watts": 200.0, "source": "tungsten", "halogen": true},
		},
		"consumers before properties": {
			`<Geometry Name="Body"><Beam Name="Lens" LampType="LED"/><WiringObject Name="a" ComponentType="Consumer" ElectricalPayLoad="120" CosPhi="0.95"/><WiringObject Name="b" ComponentType="Consumer" ElectricalPayLoad="30" CosPhi="0.95"/><WiringObject Name="c" ComponentType="Input" ElectricalPayLoad="999"/></Geometry>`,
			mode("m", "Body", function("Lens", "Dimmer", "1", "")), `<Properties><PowerConsumption Value="10" Connector="a"/></Properties>`,
			map[string]any{"watts": 150.0, "power_factor": 0.95},
		},
		"a virtual dimmer takes no slot": {
			`<Beam Name="Lens" LampType="LED"/>`,
			mode("m", "Lens", function("Lens", "ColorAdd_R", "1", ""), function("Lens", "ColorAdd_G", "2,3", ""), function("Lens", "Dimmer", "None", "")), "",
			map[string]any{"modes": []any{map[string]any{"name": "m", "slots": 3.0}}},
		},
	} {
		t.Run(name, func(t *testing.T) {
			part, in, ok := read(t, formattest.Zip(t, "description.xml", describe(test.geometries, test.modes, test.physical)))
			if !ok {
				t.Fatal(in.Findings)
			}
			got := part.Sections[0].Root.Any().([]any)[0].(map[string]any)
			for key, want := range test.want {
				formattest.Same(t, got[key], string(asJSON(t, want)))
			}
		})
	}
}

func asJSON(t *testing.T, value any) []byte {
	t.Helper()
	data, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	return data
}
