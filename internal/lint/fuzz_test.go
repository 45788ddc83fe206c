package lint

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/cueproof/cueproof/internal/convert"
	"github.com/cueproof/cueproof/loaders/format/formattest"
	"github.com/cueproof/cueproof/rules"
)

// FuzzExports takes whatever a desk and a drawing program may have written through the
// whole line, and writes it down as JSON: no panic, no error of ours, and a show that can
// be written is one that can be read.
func FuzzExports(f *testing.F) {
	scene := `<GeneralSceneDescription verMajor="1" verMinor="6"><Scene><Layers><Layer><ChildList><Fixture name="a"><Matrix>{1,0,0}{0,0.5,0.866025}{0,-0.866025,0.5}{-2000,-3000,5000}</Matrix><GDTFSpec>a.gdtf</GDTFSpec><GDTFMode>m</GDTFMode><FixtureID>1</FixtureID><Addresses><Address>1.7</Address></Addresses></Fixture><Fixture><FixtureID>2</FixtureID></Fixture></ChildList></Layer></Layers></Scene></GeneralSceneDescription>`
	typ := describe(object{"name": "Par", "source": "colour-led", "flux_lm": 3000., "watts": 100., "power_factor": .9, "beam_deg": 20., "field_deg": 30.,
		"emitters": []any{object{"name": "red", "x": .69, "y": .3, "flux_lm": 600.}, object{"name": "blue", "x": .14, "y": .05, "flux_lm": 200.}},
		"modes":    []any{object{"name": "m", "slots": 4.}}})
	f.Add(lectern["desk.asc"], scene, typ)
	f.Add("Ident 3:0\nPatch 1 1<1@100 1<9@H80\nCue 1\nPart 1\nUp 2 1\nChan 1@50\nPart 2\nChan 1@FULL\nFollowon 3\nLink 1\nGroup 1\nText x\nChan 1@100\nEndData", scene, typ)
	set := rules.Own()
	turn := 30.
	o := Options{Rules: set, House: HouseOptions{None: true}, Exports: Exports{TurnDeg: &turn}}
	f.Fuzz(func(t *testing.T, desk, scene, typ string) {
		folder := t.TempDir()
		for name, data := range map[string]string{
			"show.json": `{"name": "Evening", "room": {"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0}]}}`,
			"desk.asc":  desk, "hall.mvr": string(formattest.Zip(t, "GeneralSceneDescription.xml", scene, "a.gdtf", string(formattest.Zip(t, "description.xml", typ)))),
		} {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(data), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		report, err := Run([]string{folder}, o)
		if err != nil {
			t.Fatal(err)
		}
		if report.Shows[0].Verdict == "" {
			t.Fatal("no verdict")
		}
		read, err := ReadAll([]string{folder}, o)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := convert.Make(read, []string{folder}); err != nil && !read.Unreadable {
			t.Fatal(err)
		}
	})
}
