package loaders

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/cueproof/cueproof/loaders/format/formattest"
	"github.com/cueproof/cueproof/schema"
)

const plan = `<GeneralSceneDescription verMajor="1" verMinor="6"><Scene><Layers><Layer><ChildList><Fixture name="left"><FixtureID>7</FixtureID></Fixture></ChildList></Layer></Layers></Scene></GeneralSceneDescription>`

// A plan carries shapes and pictures, of which nothing is read: it may be larger than
// what is read of a show.
func TestAnArchiveMayBeLarge(t *testing.T) {
	folder := t.TempDir()
	for name, size := range map[string]int64{"large.mvr": maxFile + 1, "too large.mvr": maxArchive} {
		file, err := os.Create(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		// What stands before an archive is no part of it; here it is a hole in the file.
		if _, err := file.WriteAt(formattest.Zip(t, "GeneralSceneDescription.xml", plan), size); err != nil {
			t.Fatal(err)
		}
		if err := file.Close(); err != nil {
			t.Fatal(err)
		}
	}
	r := load(t, filepath.Join(folder, "large.mvr"))
	if r.Unreadable || len(r.Show.Patch) != 1 || r.Show.Patch[0].Channel != 7 {
		t.Errorf("%s", messages(r.Findings))
	}
	r = load(t, filepath.Join(folder, "too large.mvr"))
	if !r.Unreadable || len(r.Findings) != 1 || r.Findings[0].Rule != "file/too-large" {
		t.Errorf("%s", messages(r.Findings))
	}
}

// One path after the other is one show; what is named first wins.
func TestLoadAll(t *testing.T) {
	folder := files(t, map[string]string{
		"desk.asc":        "Ident 3:0\nPatch 1 1<11@100 2<2@100\nCue 1\nUp 1\nChan 1@50\nEndData\n",
		"patch.csv":       "channel,name,address\n1,left,1.1\n3,back,1.3\n",
		"hall/room.json":  `{"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0}]}`,
		"hall/types.json": `[{"name": "par", "slots": 1, "photometry": "par.ies"}]`,
	})
	r, err := LoadAll([]string{filepath.Join(folder, "patch.csv"), filepath.Join(folder, "desk.asc"), filepath.Join(folder, "hall")}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Show.Patch) != 3 || r.Show.Patch[0].Address != "1.1" || r.Show.Patch[0].Name != "left" || len(r.Show.Cues) != 1 || len(r.Show.Room.Places) != 1 {
		t.Errorf("%+v", r.Show)
	}
	rules := map[string]int{}
	for _, f := range r.Findings {
		rules[f.Rule]++
	}
	if rules["file/sources-disagree"] != 1 || rules["file/missing-file"] != 1 {
		t.Errorf("%s", messages(r.Findings))
	}
	if _, err := LoadAll([]string{folder, filepath.Join(folder, "nothing")}, Options{}); err == nil {
		t.Error("what is not there is read")
	}
	twice, err := LoadAll([]string{filepath.Join(folder, "desk.asc"), filepath.Join(folder, "desk.asc")}, Options{})
	if err != nil || !twice.Unreadable {
		t.Errorf("one file twice: %v, %s", err, messages(twice.Findings))
	}
}

func TestAFileThatIsCalledLikeAnArchive(t *testing.T) {
	for name, text := range map[string]string{"hall.mvr": "<html>not found</html>", "lamp.gdtf": "", "desk.asc": "nothing of a desk"} {
		folder := files(t, map[string]string{name: text, "patch.csv": "channel\n1\n"})
		if r := load(t, folder); !r.Unreadable || len(r.Findings) == 0 {
			t.Errorf("%s: %s", name, messages(r.Findings))
		}
	}
	folder := files(t, map[string]string{"show.json.asc": "-----BEGIN PGP SIGNATURE-----\n\nabc\n", "patch.csv": "channel\n1\n"})
	if r := load(t, folder); r.Unreadable {
		t.Errorf("a signature: %s", messages(r.Findings))
	}
}

// A plan and a table may call one type in words alike: the name counts that a type has.
func TestTheNameCountsThatATypeHas(t *testing.T) {
	for patch, want := range map[string]string{
		"channel,type,mode\n7,Nobody Wash 7,mode 12 extended\n": "Wash 7/12 extended",
		"channel,type,mode\n7,Wash 7,\n":                        "Wash 7/",
		"channel,type,mode\n7,,\n":                              "wash 7 rev 2/",
	} {
		folder := files(t, map[string]string{
			"patch.csv": patch, "types.json": `[{"name": "Wash 7", "modes": [{"name": "12 extended", "slots": 12}]}]`,
		})
		l := newLoader(Options{})
		if err := l.load(folder); err != nil {
			t.Fatal(err)
		}
		m := merger{loader: l, section: "patch"}
		more := &schema.Fixture{Channel: 7, Type: "wash 7 rev 2"}
		if l.result.Show.Patch[0].Type != "" {
			more = &schema.Fixture{Channel: 7, Type: "Wash 7", Mode: "12 extended"}
			if l.result.Show.Patch[0].Mode == "" {
				more.Mode = ""
			}
		}
		m.fixtures(l.result.Show.Patch, []*schema.Fixture{more})
		r := l.finish()
		if got := r.Show.Patch[0].Type + "/" + r.Show.Patch[0].Mode; got != want {
			t.Errorf("%q: %q, want %q", patch, got, want)
		}
	}
}
