package mvr

import (
	"testing"

	"github.com/cueproof/cueproof/loaders/format/formattest"
)

// Groups in groups, turned and mirrored, a raised layer, a class, a symbol, a truss that
// carries, an address past the end of a universe, breaks that count from 1, and a type
// that is not there. The places were worked out by hand, innermost first.
func TestASampleOfManyConstructs(t *testing.T) {
	data := formattest.Zip(t, description, scene(
		`<Class uuid="`+id(70)+`" name="rig"/><Symdef uuid="`+id(72)+`" name="clamp"><ChildList><Geometry3D fileName="clamp.3ds"/></ChildList></Symdef>`,
		`<Layer name="grid" uuid="`+id(900)+`"><Matrix>{1,0,0}{0,1,0}{0,0,1}{0,0,500}</Matrix><ChildList>`+
			`<GroupObject uuid="`+id(80)+`"><Matrix>{0,1,0}{-1,0,0}{0,0,1}{1000,0,0}</Matrix><ChildList>`+
			lamp(1, `<Matrix>{1,0,0}{0,1,0}{0,0,1}{200,300,4000}</Matrix><Classing>`+id(70)+`</Classing>`)+
			`<GroupObject uuid="`+id(81)+`"><Matrix>{-1,0,0}{0,1,0}{0,0,1}{0,0,0}</Matrix><ChildList>`+
			lamp(2, `<Matrix>{1,0,0}{0,1,0}{0,0,1}{200,300,4000}</Matrix><GDTFSpec>mover.gdtf</GDTFSpec><GDTFMode>m</GDTFMode><Addresses><Address break="1">1.511</Address><Address break="2">600</Address></Addresses>`)+
			`</ChildList></GroupObject></ChildList></GroupObject>`+
			`<SceneObject name="riser" uuid="`+id(82)+`"><Geometries><Symbol uuid="`+id(83)+`" symdef="`+id(72)+`"/></Geometries></SceneObject>`+
			`<Truss name="T1" uuid="`+id(84)+`"><Matrix>{1,0,0}{0,1,0}{0,0,1}{0,0,100}</Matrix><ChildList>`+lamp(3, `<Matrix>{1,0,0}{0,1,0}{0,0,1}{0,-3000,4400}</Matrix><GDTFSpec>Gone@Old lamp.gdtf</GDTFSpec><GDTFMode>x</GDTFMode><Addresses><Address>512</Address></Addresses>`)+`</ChildList></Truss>`+
			`</ChildList></Layer>`),
		"mover.gdtf", packType(t, "Mover", `LampType="LED"`, "Dimmer", "Pan/2"), "clamp.3ds", "")
	part, in, ok := read(t, data, &Mapping{Origin: [3]float64{-0.5, 1, 0}})
	if !ok {
		t.Fatal(in.Findings)
	}
	// Lamp 1: 200·(0,1,0) + 300·(-1,0,0) + 4000·(0,0,1) + (1000,0,0) + (0,0,500) = (700, 200, 4500).
	// Lamp 2 is mirrored first: -200 in place of 200, so y is -200.
	formattest.Same(t, formattest.Sections(part)["patch"], `[
		{"channel": 1, "name": "Lamp 1", "hung_at": {"x": 0.2, "y": 1.2, "z": 4.5}},
		{"channel": 2, "name": "Lamp 2", "type": "Mover", "mode": "m", "address": "1.511", "more_addresses": ["2.88"], "hung_at": {"x": 0.2, "y": 0.8, "z": 4.5}},
		{"channel": 3, "name": "Lamp 3", "type": "Old lamp", "mode": "x", "hung_on": "T1", "address": "1.512", "hung_at": {"x": -0.5, "y": -2, "z": 5}}
	]`)
	for _, f := range in.Findings {
		switch f.Detail {
		case "mirrored-matrix", "gdtf-missing", "slot-gap", "oddities":
		default:
			t.Errorf("%s: %s", f.Detail, f.Message)
		}
		if f.Place.File == nil || f.Place.File.Name == "hall.mvr" {
			t.Errorf("%s does not point into an entry: %v", f.Detail, f.Place)
		}
	}
}

func TestNamesThatDifferByCaseAlone(t *testing.T) {
	for name, want := range map[string]string{"par.gdtf": "", "PAR.gdtf": "archive-names alike"} {
		data := formattest.Zip(t, description, scene("", layer(lamp(1, ""))), "Par.3ds", "", name, packType(t, "Par", "", "Dimmer"), "par.gdtf.txt", "", "Par.gdtf", "")
		if name == "par.gdtf" {
			data = formattest.Zip(t, description, scene("", layer(lamp(1, ""))), name, packType(t, "Par", "", "Dimmer"))
		}
		_, in, ok := read(t, data, nil)
		if got := in.Details(); !ok || got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}
