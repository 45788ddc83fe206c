package loaders_test

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

func load(t rapid.TB, folder string) loaders.Result {
	t.Helper()
	loaded, err := loaders.Load(folder, loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return loaded
}

// written puts a changed copy of a show's files into a folder.
func written(t rapid.TB, loaded loaders.Result, from, to string, list []source.Replacement) {
	t.Helper()
	for _, file := range loaded.Files {
		data, err := os.ReadFile(file.Name)
		if err != nil {
			t.Fatal(err)
		}
		var mine []source.Replacement
		for _, r := range list {
			if r.File == file {
				mine = append(mine, r)
			}
		}
		out, err := loaders.File(file, data, mine)
		if err != nil {
			t.Fatal(err)
		}
		name, _ := filepath.Rel(from, file.Name)
		if err := os.WriteFile(filepath.Join(to, name), out, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// content compares shows by what they say: not by places, and not by whether an
// empty list was written.
var content = cmp.Options{
	cmpopts.IgnoreTypes(source.Ref{}, map[string]source.Ref{}), cmpopts.EquateEmpty(),
	cmpopts.IgnoreUnexported(schema.Show{}, schema.Cue{}, schema.Setting{}),
}

var shows = []string{"flawed", "flawed-csv", "mended", "mended-csv"}

// drawEdit draws a change like those that rules offer, and some that they do not.
func drawEdit(t *rapid.T, show *schema.Show) source.Edit {
	percent := rapid.Map(rapid.IntRange(0, 1000), func(n int) any { return float64(n) / 10 })
	degrees := rapid.Map(rapid.IntRange(1, 3590), func(n int) any { return float64(n) / 10 })
	kelvin := rapid.Map(rapid.IntRange(2000, 9000), func(n int) any { return float64(n) })
	seconds := rapid.Map(rapid.IntRange(0, 20000), func(n int) any { return float64(n) / 8 })
	hertz := rapid.Map(rapid.IntRange(0, 160), func(n int) any { return float64(n) / 8 })
	words := rapid.Map(rapid.StringMatching(`[a-zäß"#;,.] ?[a-zäß"#;,. ]{0,8}[a-z]`), func(s string) any { return strings.TrimSpace(s) })
	nothing := rapid.Just[any](nil)
	aim := rapid.SampledFrom([]any{"pulpit", schema.Aim{Point: &schema.Point{X: -1.25, Y: 0, Z: 3}}})
	effect := rapid.Just[any](schema.Effect{Kind: "none"})
	setting := map[string]*rapid.Generator[any]{
		"level": percent, "white_k": kelvin, "hue_deg": degrees, "saturation_pct": percent, "zoom_deg": degrees,
		"strobe_hz": hertz, "effect": effect, "pattern": words, "wheel": words, "aim": aim,
	}
	var at source.Ref
	var only []int
	var fields map[string]*rapid.Generator[any]
	kind := rapid.IntRange(0, 8).Draw(t, "kind")
	cue := show.Cues[rapid.IntRange(0, len(show.Cues)-1).Draw(t, "cue")]
	channels := func() []int {
		return rapid.SliceOfNDistinct(rapid.IntRange(1, 72), 1, 5, rapid.ID[int]).Draw(t, "only")
	}
	switch {
	case kind == 0:
		at = show.Patch[rapid.IntRange(0, len(show.Patch)-1).Draw(t, "fixture")].At
		fields = map[string]*rapid.Generator[any]{
			"address": rapid.Map(rapid.IntRange(1, 512), func(n int) any { return schema.Address{Universe: 3, Slot: n}.String() }),
			"channel": rapid.Map(rapid.IntRange(1, 9999), func(n int) any { return float64(n) }),
			"name":    words, "type": words, "circuit": words, "purpose": rapid.SampledFrom([]any{"key", "back"}),
			"shutter_top": percent, "shutter_left": percent, "zoom_deg": degrees, "white_k": kelvin, "aimed_at": aim,
		}
	case kind == 1:
		at = cue.At
		fields = map[string]*rapid.Generator[any]{
			"in_s": seconds, "out_s": seconds, "at_s": seconds, "follow_s": seconds, "note": words, "name": words,
		}
	case kind == 2:
		at, only, fields = cue.At, channels(), setting
	case kind == 3 && len(cue.Screens) > 0:
		at = cue.Screens[rapid.IntRange(0, len(cue.Screens)-1).Draw(t, "screen")].At
		fields = map[string]*rapid.Generator[any]{"drive_pct": percent}
	case kind == 4:
		at = show.Order[rapid.IntRange(0, len(show.Order)-1).Draw(t, "segment")].At
		fields = map[string]*rapid.Generator[any]{"duration_s": seconds, "mood": rapid.SampledFrom([]any{"quiet", "loud"}), "note": words}
	case kind == 5:
		at = show.Room.Cameras[0].At
		fields = map[string]*rapid.Generator[any]{"white_k": kelvin, "shutter_s": hertz}
	case len(cue.Set) > 0:
		at = cue.Set[rapid.IntRange(0, len(cue.Set)-1).Draw(t, "setting")].At
		fields = setting
		switch kind {
		case 6:
			only = channels()
		case 7:
			fields = map[string]*rapid.Generator[any]{
				"channels": rapid.OneOf(rapid.SampledFrom([]any{"1-3,7", "all"}), nothing),
				"mix":      nothing, "pattern": nothing, "level": nothing,
			}
		}
	default:
		at, fields = cue.At, map[string]*rapid.Generator[any]{"in_s": seconds}
	}
	field := rapid.SampledFrom(slices.Sorted(maps.Keys(fields))).Draw(t, "field")
	return source.Edit{At: at, Field: field, Value: fields[field].Draw(t, "value"), Only: only}
}

// What is written and read again says what the edits say: for any edits of the
// demo shows, in JSON and in tables.
func TestWrittenChangesReadBackAsTheyWereMeant(t *testing.T) {
	sources := map[string]loaders.Result{}
	for _, name := range shows {
		sources[name] = load(t, filepath.Join("..", "testdata", "shows", name))
	}
	to := t.TempDir()
	none, missing := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(shows).Draw(t, "show")
		loaded := sources[name]
		var edits []source.Edit
		for range rapid.IntRange(1, 6).Draw(t, "edits") {
			edits = append(edits, drawEdit(t, loaded.Show))
		}
		want, err := schema.Apply(loaded.Show, edits)
		if err != nil {
			none++
			return
		}
		list, err := loaders.Replacements(loaded.Show, edits, loaders.Options{})
		if err != nil {
			if !strings.HasSuffix(name, "-csv") {
				t.Fatalf("JSON has room for everything, but: %v", err)
			}
			missing++
			return
		}
		folder := filepath.Join(to, name)
		if err := os.MkdirAll(folder, 0o755); err != nil {
			t.Fatal(err)
		}
		written(t, loaded, filepath.Join("..", "testdata", "shows", name), folder, list)
		again := load(t, folder)
		if diff := cmp.Diff(want, again.Show, content); diff != "" {
			t.Fatalf("edits %v\n%s", list, diff)
		}
		for _, f := range again.Findings {
			if f.Rule == "file/ragged-row" || f.Rule == "file/syntax" || f.Rule == "file/mixed-decimals" && !mixedBefore(loaded) {
				t.Fatalf("the file is damaged: %s", f.Message)
			}
		}
	})
	t.Logf("%d without a copy, %d without a column", none, missing)
}

func mixedBefore(loaded loaders.Result) bool {
	for _, f := range loaded.Findings {
		if f.Rule == "file/mixed-decimals" {
			return true
		}
	}
	return false
}

// show makes a folder of files and loads it.
func show(t *testing.T, files map[string]string) (loaders.Result, string) {
	t.Helper()
	folder := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	loaded := load(t, folder)
	for _, f := range loaded.Findings {
		if f.Level == finding.Error {
			t.Fatal(f.Message)
		}
	}
	return loaded, folder
}

const patch = `{"patch": [{"channel": 1, "type": "a"}, {"channel": 2, "type": "a"}], "types": [{"name": "a"}], `

func TestJSONKeepsTheStyleOfItsFile(t *testing.T) {
	for _, test := range []struct {
		name, before, after string
		edits               func(s *schema.Show) []source.Edit
	}{
		{
			"a value within another", `{"room": {"air": {"volume_m3":   900, "start": "thin"}}, "cues": []}`, `{"room": {"air": {"volume_m3":   1200, "start": "thin"}}, "cues": []}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Room.Air.At, Field: "volume_m3", Value: 1200.0}}
			},
		}, {
			"a value in its place", patch + `"cues": [{"cue": 1, "set": [{"channels": "1",   "level":   50}]}]}`,
			patch + `"cues": [{"cue": 1, "set": [{"channels": "1",   "level":   62.5}]}]}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "level", Value: 62.5}}
			},
		}, {
			"a field on the same line", patch + `"cues": [{"cue": 1}]}`, patch + `"cues": [{"cue": 1, "in_s": 3}]}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "in_s", Value: 3.0}}
			},
		}, {
			"a field on a line of its own", patch + "\"cues\": [\r\n\t{\r\n\t\t\"cue\": 1\r\n\t}\r\n]}",
			patch + "\"cues\": [\r\n\t{\r\n\t\t\"cue\": 1,\r\n\t\t\"in_s\": 3\r\n\t}\r\n]}",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "in_s", Value: 3.0}}
			},
		}, {
			"no blanks where there are none", strings.ReplaceAll(patch, " ", "") + `"cues":[{"cue":1}]}`,
			strings.ReplaceAll(patch, " ", "") + `"cues":[{"cue":1,"set":[{"channels":"1","level":20}]}]}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 20.0, Only: []int{1}}}
			},
		}, {
			"a list of settings that was not there", patch + "\"cues\": [\n  {\n    \"cue\": 1,\n    \"name\": \"x\"\n  }\n]}",
			patch + "\"cues\": [\n  {\n    \"cue\": 1,\n    \"name\": \"x\",\n    \"set\": [\n      { \"channels\": \"1\", \"level\": 20 },\n      { \"channels\": \"2\", \"level\": 30 }\n    ]\n  }\n]}",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 20.0, Only: []int{1}}, {At: s.Cues[0].At, Field: "level", Value: 30.0, Only: []int{2}}}
			},
		}, {
			"a setting behind another, over several lines", patch + "\"cues\": [{\"cue\": 1, \"set\": [\n    {\n      \"channels\": \"1-2\",\n      \"level\": 50\n    }\n  ]}]}",
			patch + "\"cues\": [{\"cue\": 1, \"set\": [\n    {\n      \"channels\": \"1-2\",\n      \"level\": 50\n    },\n    {\n      \"channels\": \"2\",\n      \"level\": 20\n    }\n  ]}]}",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "level", Value: 20.0, Only: []int{2}}}
			},
		}, {
			"the other ways to tell a colour go", patch + `"cues": [{"cue": 1, "set": [{"channels": "1", "hue_deg": 5, "saturation_pct": 9, "level": 50}]}]}`,
			patch + `"cues": [{"cue": 1, "set": [{"channels": "1", "level": 50, "white_k": 3200}]}]}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "white_k", Value: 3200.0}}
			},
		}, {
			"a setting where there was none", patch + `"cues": [{"cue": 1, "set": []}, {"cue": 2, "set": [ ]}]}`, patch + `"cues": [{"cue": 1, "set": [{ "channels": "1", "level": 20 }]}, {"cue": 2, "set": [ ]}]}`,
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 20.0, Only: []int{1}}}
			},
		}, {
			"a setting goes", patch + `"cues": [{"cue": 1, "set": [{"channels": "1"}, {"channels": "2"}]}]}`, patch + `"cues": [{"cue": 1, "set": [{"channels": "1"}]}]}`,
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Cues[0].Set[1].At, Field: "channels"}} },
		}, {
			"the last setting goes", patch + `"cues": [{"cue": 1, "set": [ {"channels": "1"} ]}]}`, patch + `"cues": [{"cue": 1, "set": [  ]}]}`,
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "channels"}} },
		}, {
			"commas at the beginning of lines", patch + "\"cues\": [\n  { \"cue\": 1\n  , \"name\": \"x\"\n  }\n]}",
			patch + "\"cues\": [\n  { \"cue\": 1\n  , \"name\": \"x\"\n  , \"set\": [{ \"channels\": \"1\", \"level\": 20 }, { \"channels\": \"2\", \"level\": 30 }]\n  }\n]}",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 20.0, Only: []int{1}}, {At: s.Cues[0].At, Field: "level", Value: 30.0, Only: []int{2}}}
			},
		}, {
			"a name that stands twice goes twice", patch + `"cues": [{"name": "a", "cue": 1, "name": "b"}]}`, patch + `"cues": [{"cue": 1}]}`,
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Cues[0].At, Field: "name"}} },
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder := t.TempDir()
			if err := os.WriteFile(filepath.Join(folder, "show.json"), []byte(test.before), 0o600); err != nil {
				t.Fatal(err)
			}
			loaded := load(t, folder)
			list, err := loaders.Replacements(loaded.Show, test.edits(loaded.Show), loaders.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := loaders.File(loaded.Files[0], []byte(test.before), list)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.after, string(got)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestTablesKeepTheirStyle(t *testing.T) {
	const head = `{"types": [{"name": "a"}], "patch": [{"channel": 1, "type": "a"}, {"channel": 2, "type": "a"}]}`
	for _, test := range []struct {
		name, before, after string
		edits               func(s *schema.Show) []source.Edit
	}{
		{
			"percent signs and decimal commas", "Cue;Channels;Level;Fade in\r\n1;1-2;50,5 %;1:30\r\n", "Cue;Channels;Level;Fade in\r\n1;1-2;62,5 %;0:03\r\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "level", Value: 62.5}, {At: s.Cues[0].At, Field: "in_s", Value: 3.0}}
			},
		}, {
			"a row for a new setting", "cue,channels,level,note\n1,1-2,Full,mine\n2,1,10%,\n", "cue,channels,level,note\n1,1-2,Full,mine\n1,2,20%,\n2,1,10%,\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "level", Value: 20.0, Only: []int{2}}}
			},
		}, {
			"a row at the end of a file without a line end", "cue,channels,level\r\n1,1,10", "cue,channels,level\r\n1,1,10\r\n1,\"1, 3\",20",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 20.0, Only: []int{1, 3}}}
			},
		}, {
			"quote marks", "cue,channels,level,note\n1,\"1-2\",\"50\",\"\"\n", "cue,channels,level,note\n1,\"1,2\",\"40\",\"say \"\"when\"\"\"\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{
					{At: s.Cues[0].Set[0].At, Field: "channels", Value: "1,2"}, {At: s.Cues[0].Set[0].At, Field: "level", Value: 40.0},
					{At: s.Cues[0].At, Field: "note", Value: `say "when"`},
				}
			},
		}, {
			"a row goes", "cue,channels,level\n1,1,50\n1,2,60\n2,1,0\n", "cue,channels,level\n1,1,50\n2,1,0\n",
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Cues[0].Set[1].At, Field: "channels"}} },
		}, {
			"what several rows say of a cue changes in each of them", "cue,fade in,channels,level\n1,2,1,50\n1,2,2,60\n2,2,1,0\n", "cue,fade in,channels,level\n1,3,1,50\n1,3,2,60\n2,2,1,0\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "in_s", Value: 3.0}}
			},
		}, {
			"a row that says more than a setting stays", "cue,name,channels,level\n1,Doors,1,50\n1,,2,60\n", "cue,name,channels,level\n1,Doors,,\n1,,2,60\n",
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Cues[0].Set[0].At, Field: "channels"}} },
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			for _, code := range []struct {
				name   string
				encode func(string) string
			}{
				{"UTF-8", func(s string) string { return s }},
				{"UTF-8 with a mark", func(s string) string { return "\xEF\xBB\xBF" + s }},
				{"UTF-16", func(s string) string {
					out, _ := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(s)
					return out
				}},
				{"UTF-16 without a mark", func(s string) string {
					out, _ := unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder().String(s)
					return out
				}},
			} {
				loaded, _ := show(t, map[string]string{"show.json": head, "cues.csv": code.encode(test.before)})
				list, err := loaders.Replacements(loaded.Show, test.edits(loaded.Show), loaders.Options{})
				if err != nil {
					t.Fatalf("%s: %v", code.name, err)
				}
				got, err := loaders.File(loaded.Show.ReadFrom["cues"].File, []byte(code.encode(test.before)), list)
				if err != nil {
					t.Fatalf("%s: %v", code.name, err)
				}
				if want := code.encode(test.after); want != string(got) {
					t.Errorf("%s: got\n%q, want\n%q", code.name, got, want)
				}
			}
		})
	}
}

func TestWhatHasNoRoomIsSaid(t *testing.T) {
	const head = `{"types": [{"name": "a"}], "patch": [{"channel": 1, "type": "a"}]}`
	loaded, _ := show(t, map[string]string{"show.json": head, "cues.csv": "cue,channels,level\n1,1,50\n"})
	_, err := loaders.Replacements(loaded.Show, []source.Edit{{At: loaded.Show.Cues[0].At, Field: "in_s", Value: 3.0}}, loaders.Options{})
	if err == nil || !strings.Contains(err.Error(), "the table has no column in_s") {
		t.Errorf("got %v", err)
	}
	windows := []byte("cue,channels,name\n1,1,Gr\xFCn\n")
	loaded, _ = show(t, map[string]string{"show.json": head, "cues.csv": string(windows)})
	list, err := loaders.Replacements(loaded.Show, []source.Edit{{At: loaded.Show.Cues[0].At, Field: "name", Value: "舞台"}}, loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	file := loaded.Show.ReadFrom["cues"].File
	if _, err := loaders.File(file, windows, list); err == nil || !strings.Contains(err.Error(), "does not exist in Windows-1252") {
		t.Errorf("got %v", err)
	}
	for name, wrong := range map[string][]int{ // where each begins and ends
		"backwards":      {3, 2},
		"out of order":   {5, 6, 1, 2},
		"overlapping":    {1, 4, 3, 6},
		"beyond the end": {1, len(file.Text) + 1},
	} {
		var list []source.Replacement
		for at := range slices.Chunk(wrong, 2) {
			list = append(list, source.Replacement{Place: source.Place{File: file, Start: at[0], Stop: at[1]}})
		}
		if _, err := loaders.File(file, windows, list); err == nil || !strings.Contains(err.Error(), "out of order") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	list[0].Text = "Öl"
	if got, err := loaders.File(file, windows, list); err != nil || !bytes.Contains(got, []byte("\xD6l")) {
		t.Errorf("got %q, %v", got, err)
	}
	if _, err := loaders.File(file, append(windows, '\n'), list); err == nil || !strings.Contains(err.Error(), "changed meanwhile") {
		t.Errorf("got %v", err)
	}
}

// Tables with a column for each channel, or for each colour, get their cells changed as
// others do, where a cell can say what is meant.
func TestColumnsOfChannelsAndColoursAreWritten(t *testing.T) {
	const head = `{"types": [{"name": "a"}], "patch": [{"channel": 1, "type": "a"}, {"channel": 2, "type": "a"}, {"channel": 3, "type": "a"}]}`
	set := func(s *schema.Show, cue, setting int) source.Ref { return s.Cues[cue].Set[setting].At }
	for _, test := range []struct {
		name, before, after string // after "": it has no room, and why says so
		edits               func(s *schema.Show) []source.Edit
		why                 string
	}{
		{
			"a level, and one more", "Cue;Ch 1;Ch 2;Ch 3\n1;50 %;0;\n", "Cue;Ch 1;Ch 2;Ch 3\n1;62.5 %;0;30\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 0), Field: "level", Value: 62.5}, {At: s.Cues[0].At, Field: "level", Value: 30.0, Only: []int{3}}}
			}, "",
		}, {
			"a level that goes", "Cue,Fade,Ch 1,Ch 2\n1,3,50,20\n", "Cue,Fade,Ch 1,Ch 2\n1,4,,20\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 0), Field: "channels"}, {At: s.Cues[0].At, Field: "in_s", Value: 4.0}}
			}, "",
		}, {
			"steps of 255", "Cue,Ch 1,Ch 2\n1,255,51\n2,128,204\n", "Cue,Ch 1,Ch 2\n1,255,153\n2,128,204\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 1), Field: "level", Value: 60.0}}
			}, "",
		}, {
			"between two steps", "Cue,Ch 1,Ch 2\n1,255,51\n2,128,204\n", "",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 1), Field: "level", Value: 62.5}}
			}, "62.5 % lies between two of the 255 steps",
		}, {
			"a channel without a column", "Cue,Ch 1,Ch 2\n1,50,20\n", "",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "level", Value: 30.0, Only: []int{3}}}
			}, "no column for channel 3",
		}, {
			"what is no level", "Cue,Ch 1,Ch 2\n1,50,20\n", "",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 0), Field: "white_k", Value: 5600.0}}
			}, "no column white_k",
		}, {
			"hexadecimal digits", "Cue,Channels,Level\n1,1,ff\n2,2,1a\n", "Cue,Channels,Level\n1,1,ff\n2,2,cc\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 1, 0), Field: "level", Value: 80.0}}
			}, "",
		}, {
			"a colour by six digits", "Cue,Channels,Level,Colour\n1,1,50,#0000ff\n", "Cue,Channels,Level,Colour\n1,1,50,#00ff00\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 0, 0), Field: "hue_deg", Value: 120.0}, {At: set(s, 0, 0), Field: "saturation_pct", Value: 100.0}}
			}, "",
		}, {
			"a colour that goes, with its row staying", "Cue,Channels,Level,Red,Green,Blue\n1,1,50,100,0,20\n", "Cue,Channels,Level,Red,Green,Blue\n1,1,50,,,\n",
			func(s *schema.Show) []source.Edit { return []source.Edit{{At: set(s, 0, 0), Field: "mix_part"}} }, "",
		}, {
			"a share of a colour", "Cue,Channels,Level,Red,Green,Blue\n1,1,50,255,0,51\n2,2,,255,102,\n", "Cue,Channels,Level,Red,Green,Blue\n1,1,50,255,0,51\n2,2,,204,,0\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 1, 0), Field: "mix_part", Value: map[string]float64{"red": 80, "blue": 0}}}
			}, "",
		}, {
			"a share between two steps", "Cue,Channels,Level,Red,Green,Blue\n1,1,50,255,0,51\n2,2,,255,102,\n", "",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 1, 0), Field: "mix_part", Value: map[string]float64{"red": 62.5}}}
			}, "62.5 % lies between two of the 255 steps",
		}, {
			"parts of one", "Cue,Channels,Level\n1,1,1\n2,2,0.25\n3,3,0.5\n", "Cue,Channels,Level\n1,1,1\n2,2,0.8\n3,3,0.5\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 1, 0), Field: "level", Value: 80.0}}
			}, "",
		}, {
			"a row that ends before the column", "Cue;Channels;Level;Fade\n1;1;50\n2;2;50;2,5\n", "Cue;Channels;Level;Fade\n1;1;50\n2;2;50;3,25\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[1].At, Field: "in_s", Value: 3.25}}
			}, "",
		}, {
			"milliseconds and millimetres", "Cue,Channels,Level,Fade (ms)\n1,1,50,3500\n", "Cue,Channels,Level,Fade (ms)\n1,1,50,2250\n",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: s.Cues[0].At, Field: "in_s", Value: 2.25}}
			}, "",
		}, {
			"a row that is several cues", "Cue,Ch 1\n1,50\n2-4,60\n", "",
			func(s *schema.Show) []source.Edit {
				return []source.Edit{{At: set(s, 2, 0), Field: "level", Value: 30.0}}
			}, "the row of cue 3 stands for several cues",
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			loaded, folder := show(t, map[string]string{"show.json": head, "cues.csv": test.before})
			edits := test.edits(loaded.Show)
			list, err := loaders.Replacements(loaded.Show, edits, loaders.Options{})
			if test.after == "" {
				if err == nil || !strings.Contains(err.Error(), test.why) {
					t.Errorf("got %v, want %q", err, test.why)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			got, err := loaders.File(loaded.Show.ReadFrom["cues"].File, []byte(test.before), list)
			if err != nil || string(got) != test.after {
				t.Errorf("got %v\n%s\nwant\n%s", err, got, test.after)
			}
			want, err := schema.Apply(loaded.Show, edits)
			if err != nil {
				t.Fatal(err)
			}
			to := t.TempDir()
			written(t, loaded, folder, to, list)
			again := load(t, to)
			for i := range want.Cues {
				for channel := 1; channel <= 3; channel++ {
					if is, wanted := levelIn(again.Show, i, channel), levelIn(want, i, channel); is != wanted {
						t.Errorf("channel %d of cue %s is at %v, want %v", channel, want.Cues[i].Number, is, wanted)
					}
				}
			}
		})
	}
}

// levelIn is the level that a cue sets a channel to, -1 for none.
func levelIn(s *schema.Show, cue, channel int) float64 {
	level := -1.0
	for _, setting := range s.Cues[cue].Set {
		if channels, err := s.Channels(setting.Channels); err == nil && slices.Contains(channels, channel) && setting.Level != nil {
			level = float64(*setting.Level)
		}
	}
	return level
}

// What an edit gives is written in the form that its field has in a file: lists, points, mixes, truths and whole numbers, and what is
// struck out.
func TestEveryKindOfValueIsWritten(t *testing.T) {
	const rest = `{"types": [{"name": "a", "slots": 1}], "patch": [{"channel": 1, "type": "a"}], "cues": [{"cue": 1}], "order": [{"name": "Song", "people": ["a"]}], "readings": [{"place": "a", "lx": 5}, {"place": "b", "lx": 6}]}`
	type edits func(s *schema.Show) []source.Edit
	of := func(at func(s *schema.Show) source.Ref, field string, value any, only ...int) edits {
		return func(s *schema.Show) []source.Edit {
			return []source.Edit{{At: at(s), Field: field, Value: value, Only: only}}
		}
	}
	kind := func(s *schema.Show) source.Ref { return s.Types[0].At }
	lamp := func(s *schema.Show) source.Ref { return s.Patch[0].At }
	part := func(s *schema.Show) source.Ref { return s.Order[0].At }
	cue := func(s *schema.Show) source.Ref { return s.Cues[0].At }
	set := func(s *schema.Show) source.Ref { return s.Cues[0].Set[0].At }
	meant := []schema.Intent{{Intent: "sweep", Places: []string{"a", "b"}}, {Intent: "black"}}
	for _, c := range []struct {
		section, before, after string // the file of a section, or what changes in the one of all
		edits                  edits
	}{
		{"", `"slots": 1`, `"slots": 4`, of(kind, "slots", 4.0)},
		{"", `"slots": 1`, `"slots": 1, "halogen": true`, of(kind, "halogen", true)},
		{"", `"type": "a"`, `"type": "a", "aimed_at": { "x": 1, "y": 2.5, "z": -3 }`, of(lamp, "aimed_at", "x 1, y 2.5, z -3")},
		{"", `"type": "a"`, `"type": "a", "hung_at": { "x": 1, "y": 0, "z": 0 }`, of(lamp, "hung_at", "x 1, y 0, z 0")},
		{"", `"type": "a"`, `"type": "a", "hung_order": 3`, of(lamp, "hung_order", 3.0)},
		{"", `"people": ["a"]`, `"people": ["b", "c"]`, of(part, "people", "b + c")},
		{"", `"people": ["a"]`, `"people": ["a"], "palette": ["#ddeeff"]`, of(part, "palette", []string{"#ddeeff"})},
		{"", `"cue": 1`, `"cue": 2.5`, of(cue, "cue", "2.5")},
		{"", `"cue": 1`, `"cue": 1, "set": [{ "channels": "1", "mix": { "blue": 20, "red": 100 } }]`, of(cue, "mix", map[string]float64{"red": 100, "blue": 20}, 1)},
		{"", `{"place": "a", "lx": 5}, `, ``, func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Readings[0].At, Field: "place"}} }},
		{"", `, {"place": "b", "lx": 6}`, ``, func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Readings[1].At, Field: "place"}} }},
		{"order", "Item,On stage,Colours,Meant\nSong,lectern,#aabbcc,\n", "Item,On stage,Colours,Meant\nSong,drums + keys,#aabbcc,\n", of(part, "people", "drums + keys")},
		{"order", "Item,On stage,Colours,Meant\nSong,lectern,#aabbcc,\n", "Item,On stage,Colours,Meant\nSong,none,#aabbcc,\n", of(part, "people", []string{})},
		{"order", "Item,On stage,Colours,Meant\nSong,lectern,#aabbcc,\n", "Item,On stage,Colours,Meant\nSong,lectern,#ddeeff #112233,\n", of(part, "palette", []string{"#ddeeff", "#112233"})},
		{"order", "Item,On stage,Colours,Meant\nSong,lectern,#aabbcc,\n", "Item,On stage,Colours,Meant\nSong,lectern,#aabbcc,\"sweep: a, b + black\"\n", of(part, "meant", meant)},
		{"patch", "Channel,Type,Aimed at,Aim x,Aim y,Aim z\n1,a,lectern,,,\n", "Channel,Type,Aimed at,Aim x,Aim y,Aim z\n1,a,,1,2.5,-3\n", of(lamp, "aimed_at", "x 1, y 2.5, z -3")},
		{"patch", "Channel,Type,Hung x,Hung y,Hung z\n1,a,,,\n", "Channel,Type,Hung x,Hung y,Hung z\n1,a,1,0,4.5\n", of(lamp, "hung_at", "x 1, y 0, z 4.5")},
		{"patch", "Channel,Type,Shutters\n1,a,\n", "Channel,Type,Shutters\n1,a,top 30\n", of(lamp, "shutter_top", 30.0)},
		{"patch", "Channel;Type;Shutters\n1;a;left 20/15, top 5\n", "Channel;Type;Shutters\n1;a;left 20/15, top 30\n", of(lamp, "shutter_top", 30.0)},
		{"patch", "Channel,Type,Hung order,Groups\n1,a,2,keys\n", "Channel,Type,Hung order,Groups\n1,a,3,keys\n", of(lamp, "hung_order", 3.0)},
		{"patch", "Channel,Type,Hung order,Groups\n1,a,2,keys\n", "Channel,Type,Hung order,Groups\n1,a,2,front + keys\n", of(lamp, "groups", []string{"front", "keys"})},
		{"cues", "Cue,Channels,Level,Mix\n1,1,50,\n", "Cue,Channels,Level,Mix\n1,1,50,blue=20 red=100\n", of(set, "mix", map[string]float64{"red": 100, "blue": 20})},
		{"cues", "Cue,Channels,Level,CIE x,CIE y\n1,1,50,,\n", "Cue,Channels,Level,CIE x,CIE y\n1,1,50,0.4,0.35\n", of(set, "xy", []float64{0.4, 0.35})},
		{"cues", "Cue,Channels,Level,Effect,Effect rate\n1,1,50,,\n", "Cue,Channels,Level,Effect,Effect rate\n1,1,50,chase,2.5\n", of(set, "effect", schema.Effect{Kind: "chase", RateHz: new(2.5)})},
		{"readings", "Place,Cue,Lux\na,1,500\nb,1,400\n", "Place,Cue,Lux\nb,1,400\n", func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Readings[0].At, Field: "place"}} }},
		{"readings", "Place,Cue,Lux\na,1,500\nb,1,400\n", "Place,Cue,Lux\na,1,500\n", func(s *schema.Show) []source.Edit { return []source.Edit{{At: s.Readings[1].At, Field: "place"}} }},
	} {
		t.Run(c.section+" "+c.after, func(t *testing.T) {
			before, after, file := c.before, c.after, c.section+".csv"
			files := map[string]string{"show.json": `{"types": [{"name": "a"}]}`, file: before}
			if c.section == "" {
				file, before, after = "show.json", rest, strings.Replace(rest, c.before, c.after, 1)
				files = map[string]string{file: rest}
			}
			loaded, _ := show(t, files)
			list, err := loaders.Replacements(loaded.Show, c.edits(loaded.Show), loaders.Options{})
			if err != nil {
				t.Fatal(err)
			}
			at := slices.IndexFunc(loaded.Files, func(f *source.File) bool { return filepath.Base(f.Name) == file })
			got, err := loaders.File(loaded.Files[at], []byte(before), list)
			if err != nil || string(got) != after {
				t.Errorf("got %v\n%s\nwant\n%s", err, got, after)
			}
		})
	}
}
