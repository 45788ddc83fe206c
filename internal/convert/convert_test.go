package convert

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/loaders"
)

// lamp is a photometric file (LM-63) of a lamp with so many candela.
func lamp(candela string) string {
	return "IESNA:LM-63-2002\nTILT=NONE\n1 1000 1 3 1 1 2 0.1 0.1 0\n1 1 100\n0 10 20\n0\n" + candela + " 500 0\n"
}

func made(t *testing.T, content map[string]string, names ...string) map[string]string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range content {
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var paths []string
	for _, name := range names {
		paths = append(paths, filepath.Join(folder, name))
	}
	read, err := loaders.LoadAll(paths, loaders.Options{})
	if err != nil || read.Unreadable {
		t.Fatal(err, read.Findings)
	}
	out, err := Make(read, paths)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range out.Files {
		files[f.Name] = string(f.Data)
		if filepath.Ext(f.Name) == ".json" && !json.Valid(f.Data) {
			t.Errorf("%s is no JSON:\n%s", f.Name, f.Data)
		}
	}
	return files
}

// Values of one thing from two files: each says where it came from, in the order of the
// format and not of the files.
func TestWhereValuesCameFrom(t *testing.T) {
	files := made(t, map[string]string{
		"patch.json": "[\n{ \"purpose\": \"key\", \"channel\": 1, \"note\": \"left <of> stage & \\\"house\\\"\" },\n{ \"channel\": 2, \"name\": \"right\", \"address\": \"1.2\" }\n]",
		"desk.asc":   "Ident 3:0\nPatch 1 1<11@100 2<2@100\nEndData\n",
	}, "patch.json", "desk.asc")
	want := `[
  {
    "note": "left <of> stage & \"house\"",
    "channel": 1,
    "address": "1.11",
    "purpose": "key",
    "x_from": { "all else": "patch.json:2", "address": "desk.asc:2" }
  },
  { "channel": 2, "name": "right", "address": "1.2", "x_from": "patch.json:3" }
]
`
	if diff := cmp.Diff(want, files["patch.json"]); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Two types may have their light in files of one name: both come along.
func TestPhotometryComesAlong(t *testing.T) {
	files := made(t, map[string]string{
		"types.json": `[{"name": "a", "photometry": "x/par.ies"}, {"name": "b", "photometry": "y/par.ies"}, {"name": "c", "photometry": "x/par.ies"}]`,
		"x/par.ies":  lamp("1000"), "y/par.ies": lamp("2000"),
	}, ".")
	if files["par.ies"] != lamp("1000") || files["par-2.ies"] != lamp("2000") {
		t.Errorf("%q", files)
	}
	for _, want := range []string{`"name": "a", "photometry": "par.ies"`, `"name": "b", "photometry": "par-2.ies"`, `"name": "c", "photometry": "par.ies"`} {
		if !strings.Contains(files["types.json"], want) {
			t.Errorf("no %s in\n%s", want, files["types.json"])
		}
	}
}

// A mistake is counted and not handed on; what is right beside it stays.
func TestMistakesAreTakenOut(t *testing.T) {
	files := made(t, map[string]string{
		"patch.json": `[{"channel": 1, "address": "1.1", "zoom_deg": 400, "name": "left"}, {"name": "no channel"}]`,
	}, ".")
	if got := files["patch.json"]; !strings.Contains(got, `"name": "left"`) || strings.Contains(got, "400") || strings.Contains(got, "no channel") {
		t.Error(got)
	}
	if got := files[LossFile]; strings.Count(got, "values with a mistake") < 2 {
		t.Error(got)
	}
}

func TestLossesOfOneKindAddUp(t *testing.T) {
	got := joined([]Loss{{"dropped", "models", 2, "hall.mvr/a.gdtf/description.xml:3"}, {"dropped", "models", 3, "hall.mvr/b.gdtf/description.xml:9"}, {"dropped", "models", 1, "c.gdtf/description.xml:1"}, {"guessed", "models", 1, "hall.mvr:1"}})
	want := []Loss{{"dropped", "models", 5, "hall.mvr/a.gdtf/description.xml:3"}, {"dropped", "models", 1, "c.gdtf/description.xml:1"}, {"guessed", "models", 1, "hall.mvr:1"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Lists of words, mixes and what is known have no room for where they came from: what they stand in says it.
func TestListsAndMixesCarryNoPlaces(t *testing.T) {
	files := made(t, map[string]string{
		"cues.json": "[\n{ \"cue\": 1, \"in_s\": 3, \"set\": [{ \"channels\": \"1\", \"level\": 50,\n\"mix\": { \"red\": 50,\n\"blue\": 20 } }],\n\"people\": [ \"desk\",\n\"band\" ] }\n]",
	}, ".")
	want := `[
  {
    "cue": 1,
    "in_s": 3,
    "set": [{ "channels": "1", "level": 50, "mix": { "red": 50, "blue": 20 } }],
    "people": ["desk", "band"],
    "x_from": { "all else": "cues.json:2", "people": "cues.json:5" }
  }
]
`
	if diff := cmp.Diff(want, files["cues.json"]); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// A section may have one thing in it; one with nothing in it has no file.
func TestSectionsOfOne(t *testing.T) {
	files := made(t, map[string]string{
		"patch.json": `[{"channel": 7, "address": "1.1"}]`, "cues.json": `[{"cue": 3, "set": [{"channels": "7", "level": 50}]}]`, "order.json": `[]`, "groups.json": `{"front": "7"}`,
	}, ".")
	for name, want := range map[string]string{"patch.json": `"channel": 7`, "cues.json": `"cue": 3`, "show.json": `"front": "7"`} {
		if !strings.Contains(files[name], want) {
			t.Errorf("no %s in %s:\n%s", want, name, files[name])
		}
	}
	if text, ok := files["order.json"]; ok {
		t.Errorf("an order of nothing is written: %s", text)
	}
}

// How a value is known comes along: in a word, and in a range where there is one.
func TestHowValuesAreKnownComesAlong(t *testing.T) {
	files := made(t, map[string]string{
		"patch.json": `[{"channel": 7, "address": "1.1", "zoom_deg": 15, "known": {"address": "inferred", "zoom_deg": [10, 20]}}]`,
	}, ".")
	if got := strings.Join(strings.Fields(files["patch.json"]), " "); !strings.Contains(got, `"address": "inferred"`) || !strings.Contains(got, `"zoom_deg": [10, 20]`) && !strings.Contains(got, `"zoom_deg": [ 10, 20 ]`) {
		t.Error(got)
	}
}

// TestAWholeShowComesAlong: all that was written is there, word for word, and beside it only where it came from.
func TestAWholeShowComesAlong(t *testing.T) {
	content := map[string]string{
		"show.json":     `{"name": "hall", "date": "2026-03-01", "note": "ours", "x_own": [1, null, true, false], "groups": {"front": "1-2"}, "notices": {"strobe": "at the door"}}`,
		"room.json":     `{"ambient_lx": 4, "places": [{"name": "a", "x": 1, "y": 2, "z": 0, "head_m": 1.6, "facing_deg": 0, "known": {"x": [0.5, 1.5], "y": "assumed"}}, {"name": "b"}], "cameras": [{"name": "c", "x": 0, "y": -12, "z": 1.6, "auto_white": true}], "surfaces": []}`,
		"types.json":    `[{"name": "t", "source": "colour-led", "emitters": [{"name": "red", "x": 0.7, "y": 0.29, "flux_lm": 100}, {"name": "blue", "x": 0.14, "y": 0.05, "flux_lm": 40}], "slots": 3}]`,
		"patch.json":    `[{"channel": 1, "type": "t", "address": "1.1"}, {"channel": 2, "type": "t", "address": "1.4", "more_addresses": ["2.1"]}]`,
		"cues.json":     `[{"cue": 1, "set": [{"channels": "front", "level": 50}, {"channels": "1", "mix": {"red": 20}}]}, {"cue": 2.5, "set": []}]`,
		"order.json":    `[{"name": "Talk", "kind": "talk", "start_cue": 1, "duration_s": 600, "people": ["a"]}]`,
		"readings.json": `[{"place": "a", "cue": 1, "lx": 100}]`,
	}
	files := made(t, content, ".")
	var strip func(any) any
	strip = func(v any) any {
		switch v := v.(type) {
		case map[string]any:
			delete(v, "x_from")
			for key := range v {
				v[key] = strip(v[key])
			}
		case []any:
			for i := range v {
				v[i] = strip(v[i])
			}
		}
		return v
	}
	for name, text := range content {
		var was, is any
		if err := json.Unmarshal([]byte(text), &was); err != nil {
			t.Fatal(name, err)
		}
		if err := json.Unmarshal([]byte(files[name]), &is); err != nil {
			t.Fatal(name, err)
		}
		if diff := cmp.Diff(was, strip(is)); diff != "" {
			t.Errorf("%s (-was +is):\n%s", name, diff)
		}
	}
	if len(files) != len(content)+1 || strings.Contains(files[LossFile], "mistake") {
		t.Errorf("%d files for %d, and %s", len(files), len(content), files[LossFile])
	}
}

// TestGroupsOfSeveralFilesComeTogether, each as it was written.
func TestGroupsOfSeveralFilesComeTogether(t *testing.T) {
	files := made(t, map[string]string{
		"show.json": `{"name": "hall", "groups": {"front": "1"}}`,
		"desk.asc":  "Ident 3:0\nPatch 1 1<1@100 2<2@100 3<3@100\nGroup 2\nText back\nChan 1@100 2@100 3@100\nEndData\n",
	}, ".")
	var show struct{ Groups map[string]any }
	if err := json.Unmarshal([]byte(files["show.json"]), &show); err != nil {
		t.Fatal(err)
	}
	if show.Groups["front"] != "1" || show.Groups["back"] != "1-3" {
		t.Errorf("%v", show.Groups)
	}
}
