package mvr

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/format/formattest"
)

func read(t testing.TB, data []byte, mapping *Mapping) (format.Part, *formattest.Ear, bool) {
	t.Helper()
	var options format.Options
	if mapping != nil {
		options.Origin, options.TurnDeg = mapping.Origin, &mapping.TurnDeg
	}
	return formattest.Read(t, Format, options, "hall.mvr", string(data))
}

// packType makes the file of a type.
func packType(t testing.TB, name, lens string, channels ...string) string {
	t.Helper()
	var list strings.Builder
	for i, attribute := range channels {
		breaks := "1"
		if at, n, ok := strings.Cut(attribute, "/"); ok {
			attribute, breaks = at, n
		}
		fmt.Fprintf(&list, `<DMXChannel Geometry="Lens" DMXBreak="%s" Offset="%d"><LogicalChannel Attribute="%s"/></DMXChannel>`, breaks, i+1, attribute)
	}
	return string(formattest.Zip(t, "description.xml", `<GDTF DataVersion="1.2"><FixtureType Name="`+name+`"><AttributeDefinitions><Attributes><Attribute Name="Dimmer"/><Attribute Name="Pan"/></Attributes></AttributeDefinitions>
		<Geometries><Beam Name="Lens" `+lens+`/></Geometries><DMXModes><DMXMode Name="m" Geometry="Lens"><DMXChannels>`+list.String()+`</DMXChannels></DMXMode></DMXModes></FixtureType></GDTF>`))
}

// hall is a plan whose origin lies on the floor at the downstage edge, turned by a
// quarter: its y points to our right.
func hall(t testing.TB) []byte {
	at := func(x, y, z int, turned bool) string {
		axes := "{1,0,0}{0,1,0}{0,0,1}"
		if turned { // tilted by 60 degrees from straight down towards +y of the plan
			axes = "{1,0,0}{0,0.5,0.866025}{0,-0.866025,0.5}"
		}
		return fmt.Sprintf("<Matrix>%s{%d,%d,%d}</Matrix>", axes, x, y, z)
	}
	spec := func(name string) string { return "<GDTFSpec>" + name + "</GDTFSpec><GDTFMode>m</GDTFMode>" }
	return formattest.Zip(t, "GeneralSceneDescription.xml", scene(`<Position uuid="`+id(71)+`" name="bar 1"/>`, layer(
		lamp(1, at(-2000, 1000, 5000, true)+spec("Nobody@Par.gdtf")+"<Position>"+id(71)+"</Position><Function>Back light</Function><Addresses><Address>1.7</Address></Addresses>")+
			lamp(2, at(0, 0, 5000, false)+spec("Nobody@Par")+"<Focus>"+id(60)+"</Focus><Addresses><Address>522</Address></Addresses>")+
			lamp(3, at(0, 3000, 5000, true)+spec("mover.gdtf")+`<Addresses><Address break="0">3.1</Address><Address break="1">3.101</Address></Addresses>`)+
			lamp(4, at(0, 3000, 5000, false)+spec("gone@Lost lamp@rev.gdtf")+`<Addresses><Address break="0">0</Address></Addresses>`)+
			`<Fixture><FixtureID/></Fixture><Fixture multipatch="`+id(1)+`"><FixtureID>1</FixtureID></Fixture>`+
			`<FocusPoint uuid="`+id(60)+`">`+at(-4000, 2000, 1500, false)+`</FocusPoint>`+
			`<Truss name="T1"><Matrix>{1,0,0}{0,1,0}{0,0,1}{0,0,100}</Matrix><ChildList>`+lamp(5, at(0, 0, 4000, false))+`</ChildList></Truss>`)),
		"Nobody@Par.gdtf", packType(t, "Par", `LampType="LED"`, "Dimmer"), "Mover.gdtf", packType(t, "Mover", `LampType="LED"`, "Dimmer", "Pan/2"),
		"Nobody@Unused.gdtf", "", "truss.3ds", "")
}

func TestRead(t *testing.T) {
	part, in, ok := read(t, hall(t), &Mapping{TurnDeg: -90})
	if !ok {
		t.Fatal(in.Findings)
	}
	// Our x is the plan's y, our y is its minus x.
	formattest.Same(t, formattest.Sections(part)["patch"], `[
		{"channel": 1, "name": "Lamp 1", "type": "Par", "mode": "m", "hung_on": "bar 1", "purpose": "back", "address": "1.7",
			"hung_at": {"x": 1, "y": 2, "z": 5}, "aimed_at": {"x": 9.6603, "y": 2, "z": 0}, "known": {"aimed_at": "inferred"}},
		{"channel": 2, "name": "Lamp 2", "type": "Par", "mode": "m", "address": "2.10", "hung_at": {"x": 0, "y": 0, "z": 5}, "aimed_at": {"x": 2, "y": 4, "z": 1.5}},
		{"channel": 3, "name": "Lamp 3", "type": "Mover", "mode": "m", "address": "3.1", "more_addresses": ["3.101"], "hung_at": {"x": 3, "y": 0, "z": 5}},
		{"channel": 4, "name": "Lamp 4", "type": "Lost lamp", "mode": "m", "hung_at": {"x": 3, "y": 0, "z": 5}},
		{"channel": 1, "as_one": true},
		{"channel": 5, "name": "Lamp 5", "hung_on": "T1", "hung_at": {"x": 0, "y": 0, "z": 4.1}}
	]`)
	formattest.Same(t, formattest.Sections(part)["types"], `[
		{"name": "Par", "source": "white-led", "modes": [{"name": "m", "slots": 1}]},
		{"name": "Mover", "source": "white-led", "modes": [{"name": "m", "slots": 3, "breaks": [1, 2]}], "moving": true, "can": ["dim", "aim"], "known": {"can": "derived"}}
	]`)
	want := `dropped 1 fixtures without a number
dropped 3 directions of lamps that move or are not turned in the plan
dropped 1 trusses
dropped 1 type files that no fixture of the plan names
dropped 1 files of shapes and pictures`
	if got := formattest.Losses(part); got != want {
		t.Error(got)
	}
	if got := in.Details(); got != "plan gdtf-name, plan gdtf-name, plan gdtf-missing, type-file slot-gap" && got != "plan gdtf-name, plan gdtf-name, type-file oddities, plan gdtf-missing" {
		t.Error(got)
	}
}

func TestReadWithoutAnOrigin(t *testing.T) {
	part, in, _ := read(t, hall(t), nil)
	for _, f := range formattest.Sections(part)["patch"].([]any) {
		if at := f.(map[string]any)["hung_at"]; at != nil {
			t.Error(at)
		}
	}
	if !strings.Contains(in.Details(), "origin-unknown") || !strings.Contains(formattest.Losses(part), "dropped 5 places of fixtures, since nobody said where the plan's origin is") {
		t.Error(in.Details(), formattest.Losses(part))
	}
}

// A lamp that shares the number of another is one more lamp on that channel, with a
// place and an address of its own; two numbers on one address, type and mode do the same.
func TestLampsThatMoveAsOne(t *testing.T) {
	at := func(x int) string { return fmt.Sprintf("<Matrix>{1,0,0}{0,1,0}{0,0,1}{%d,0,5000}</Matrix>", x) }
	spec := "<GDTFSpec>a.gdtf</GDTFSpec><GDTFMode>m</GDTFMode>"
	wire := func(text string) string { return "<Addresses><Address>" + text + "</Address></Addresses>" }
	shares := func(n, with int, rest string) string {
		return fmt.Sprintf(`<Fixture name="Lamp %d" uuid="%s" multipatch="%s">%s</Fixture>`, n, id(n), id(with), rest)
	}
	data := formattest.Zip(t, description, scene("", layer(
		lamp(1, at(0)+spec+wire("1"))+
			shares(11, 1, at(1000)+spec+wire("2"))+ // a second lamp on channel 1
			shares(12, 11, spec)+ // shares the number of one that has none
			shares(13, 99, spec)+ // of one that is not there
			lamp(2, at(2000)+spec+wire("3"))+
			lamp(3, at(3000)+spec+wire("1.3"))+ // the same address as 2, written the other way
			lamp(4, at(4000)+"<GDTFSpec>b.gdtf</GDTFSpec><GDTFMode>m</GDTFMode>"+wire("3")))), // another type: a fault for a rule
		"a.gdtf", packType(t, "Par", "", "Dimmer"), "b.gdtf", packType(t, "Spot", "", "Dimmer"))
	part, in, ok := read(t, data, &Mapping{})
	if !ok {
		t.Fatal(in.Findings)
	}
	formattest.Same(t, formattest.Sections(part)["patch"], `[
		{"channel": 1, "name": "Lamp 1", "type": "Par", "mode": "m", "address": "1.1", "hung_at": {"x": 0, "y": 0, "z": 5}},
		{"channel": 1, "name": "Lamp 11", "type": "Par", "mode": "m", "address": "1.2", "as_one": true, "hung_at": {"x": 1, "y": 0, "z": 5}},
		{"channel": 2, "name": "Lamp 2", "type": "Par", "mode": "m", "address": "1.3", "hung_at": {"x": 2, "y": 0, "z": 5}},
		{"channel": 3, "name": "Lamp 3", "type": "Par", "mode": "m", "address": "1.3", "as_one": true, "hung_at": {"x": 3, "y": 0, "z": 5}, "known": {"as_one": "inferred"}},
		{"channel": 4, "name": "Lamp 4", "type": "Spot", "mode": "m", "address": "1.3", "hung_at": {"x": 4, "y": 0, "z": 5}}
	]`)
	if got := in.Details(); got != "plan dangling-reference, plan dangling-reference, plan address-shared" {
		t.Error(got)
	}
	if got := formattest.Losses(part); !strings.Contains(got, "dropped 2 fixtures that share the number of another which is not in the plan") {
		t.Error(got)
	}
}

func TestTypes(t *testing.T) {
	spec := func(n int, name string) string { return lamp(n, "<GDTFSpec>"+name+"</GDTFSpec><GDTFMode>m</GDTFMode>") }
	for name, test := range map[string]struct {
		data    []byte
		types   string
		details string
	}{
		"one name twice": {formattest.Zip(t, description, scene("", layer(spec(1, "a.gdtf")+spec(2, "b.gdtf"))), "a.gdtf", packType(t, "Par", "", "Dimmer"), "b.gdtf", packType(t, "Par", "", "Dimmer")),
			"[Par b]", ""},
		"one file, two names": {formattest.Zip(t, description, scene("", layer(spec(1, "a.gdtf")+spec(2, "a"))), "a.gdtf", packType(t, "Par", "", "Dimmer")), "[Par]", "plan gdtf-name"},
		"not an archive":      {formattest.Zip(t, description, scene("", layer(spec(1, "a.gdtf"))), "a.gdtf", "hello"), "[]", "plan gdtf-bad"},
		"no description":      {formattest.Zip(t, description, scene("", layer(spec(1, "a.gdtf")+spec(2, "b.gdtf"))), "a.gdtf", string(formattest.Zip(t, "x", "")), "b.gdtf", packType(t, "Par", "", "Dimmer")), "[Par]", "type-file a.gdtf"},
		"a break too many": {formattest.Zip(t, description, scene("", layer(lamp(1, `<GDTFSpec>a.gdtf</GDTFSpec><GDTFMode>m</GDTFMode><Addresses><Address break="0">1</Address><Address break="1">9</Address></Addresses>`))), "a.gdtf", packType(t, "Par", "", "Dimmer")),
			"[Par]", "plan unknown-break"},
		"no such mode":        {formattest.Zip(t, description, scene("", layer(lamp(1, "<GDTFSpec>a.gdtf</GDTFSpec><GDTFMode>n</GDTFMode>"))), "a.gdtf", packType(t, "Par", "", "Dimmer")), "[Par]", "plan mode-missing"},
		"a mode in capitals":  {formattest.Zip(t, description, scene("", layer(lamp(1, "<GDTFSpec>a.gdtf</GDTFSpec><GDTFMode> M </GDTFMode>"))), "a.gdtf", packType(t, "Par", "", "Dimmer")), "[Par]", ""},
		"a gap in the breaks": {formattest.Zip(t, description, scene("", layer(lamp(1, `<Addresses><Address break="0">1</Address><Address break="2">9</Address></Addresses>`)))), "[]", "plan unpatched-break"},
	} {
		t.Run(name, func(t *testing.T) {
			part, in, ok := read(t, test.data, nil)
			if !ok {
				t.Fatal(in.Findings)
			}
			names := []any{}
			list, _ := formattest.Sections(part)["types"].([]any)
			for _, typ := range list {
				names = append(names, typ.(map[string]any)["name"])
			}
			if got := fmt.Sprint(names); got != test.types {
				t.Error(got)
			}
			if got := in.Details(); got != test.details {
				t.Errorf("%q", got)
			}
		})
	}
}

func TestReadWhatIsNone(t *testing.T) {
	for name, test := range map[string]struct {
		data []byte
		says string
	}{
		"nothing":  {nil, "is no ZIP archive"},
		"no scene": {formattest.Zip(t, "a.gdtf", ""), "holds no GeneralSceneDescription.xml"},
		"no XML":   {formattest.Zip(t, description, "hello"), "holds no XML element"},
		"a type":   {formattest.Zip(t, description, "<GDTF/>"), "describes no plan"},
		"cut off":  {formattest.Zip(t, description, scene("", layer(lamp(1, "")))[:400]), "so it is cut off"},
		"entities": {formattest.Zip(t, description, `<!DOCTYPE a [<!ENTITY b "c">]><a/>`), "declares entities"},
		"bomb":     {formattest.Zip(t, description, strings.Repeat(" ", 8<<20)), "times its size"},
		"too deep": {formattest.Zip(t, description, strings.Repeat("<a>", 600)), "deeper than 512"},
	} {
		_, in, ok := read(t, test.data, nil)
		if ok || !in.Failed || !strings.Contains(in.Findings[len(in.Findings)-1].Message, test.says) {
			t.Errorf("%s: %v", name, in.Findings)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(hall(f), 0.)
	f.Add(formattest.Zip(f, description, "<a/>"), 45.)
	f.Fuzz(func(t *testing.T, data []byte, turn float64) {
		if _, in, ok := read(t, data, &Mapping{TurnDeg: turn}); !ok && len(in.Findings) == 0 {
			t.Fatal("unreadable without a word")
		}
	})
}

// FuzzScene lays what a text describes, with the types of the hall beside it.
func FuzzScene(f *testing.F) {
	par := packType(f, "Par", `LampType="LED"`, "Dimmer", "Pan/2")
	f.Add(scene(`<Position uuid="`+id(71)+`" name="bar 1"/>`, layer(lamp(1, `<Matrix>{1,0,0}{0,0.5,0.866025}{0,-0.866025,0.5}{0,0,5000}</Matrix><GDTFSpec>a.gdtf</GDTFSpec><GDTFMode>m</GDTFMode><Focus>`+id(60)+`</Focus><Position>`+id(71)+`</Position><Addresses><Address break="1">3.10</Address></Addresses>`)+`<FocusPoint uuid="`+id(60)+`"/>`)))
	f.Fuzz(func(t *testing.T, text string) {
		read(t, formattest.Zip(t, description, text, "a.gdtf", par), &Mapping{TurnDeg: 30})
	})
}
