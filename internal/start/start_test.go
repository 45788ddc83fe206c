package start

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

// lamp is a fixture as the export tells it, and as the hall has it.
type lamp struct {
	name, kind, mode, hang, focus string
	slots                         int
	purpose, aim, typical         string // the truth, written down by hand; aim "" is anywhere on stage, "-" is none
}

// lamps is a hall with words of a booth. Some of them mislead on purpose: nobody can
// tell from the name that "spare" lights the keys from behind.
var lamps = []lamp{
	{"Lectern key L", "LED profile 26", "2 ch", "Front bar", "Lectern", 2, "key", "Lectern", "profile white 26"},
	{"Lectern key R", "LED profile 26", "2 ch", "Front bar", "Lectern", 2, "key", "Lectern", "profile white 26"},
	{"Singer face", "LED profile 26", "2 ch", "Front bar", "", 2, "key", "Singer", "profile white 26"},
	{"Keys", "LED profile 26", "2 ch", "Front bar", "", 2, "key", "Keys", "profile white 26"},
	{"Lectern rim", "fresnel tungsten 650", "", "Back bar", "", 1, "back", "Lectern", "fresnel tungsten 650 45"},
	{"Singer rim", "fresnel tungsten 650", "", "Back bar", "", 1, "back", "Singer", "fresnel tungsten 650 45"},
	{"Keys backlight", "fresnel tungsten 650", "", "Back bar", "", 1, "back", "Keys", "fresnel tungsten 650 45"},
	{"spare", "fresnel tungsten 650", "", "Back bar", "", 1, "back", "Keys", "fresnel tungsten 650 45"},
	{"Colour 1", "RGBW can", "6 channel", "Mid bar", "", 6, "wash", "", "wash red green blue white 40"},
	{"Colour 2", "RGBW can", "6 channel", "Mid bar", "", 6, "wash", "", "wash red green blue white 40"},
	{"Colour 3", "RGBW can", "6 channel", "Mid bar", "", 6, "wash", "", "wash red green blue white 40"},
	{"Mover 1", "moving beam", "16 ch", "Mid bar", "", 16, "beam", "", "moving beam white 4"},
	{"Mover 2", "moving beam", "16 ch", "Mid bar", "", 16, "beam", "", "moving beam white 4"},
	{"House L", "house tungsten 150", "", "", "", 1, "house", "-", "house tungsten 150 90"},
	{"House R", "house tungsten 150", "", "", "", 1, "house", "-", "house tungsten 150 90"},
	{"Haze", "hazer", "", "", "", 2, "haze", "-", "hazer"},
}

func export(t *testing.T) (folder string, show *schema.Show) {
	t.Helper()
	folder = t.TempDir()
	var rows strings.Builder
	rows.WriteString("Chan,Label,Fixture Type,Mode,DMX,Hang,Focus\n")
	at := 1
	for i, l := range lamps {
		fmt.Fprintf(&rows, "%d,%s,%s,%s,1/%d,%s,%s\n", i+1, l.name, l.kind, l.mode, at, l.hang, l.focus)
		at += l.slots
	}
	for name, text := range map[string]string{
		"patch.csv": rows.String(),
		"cues.csv":  "Cue,Item,Channels,Level\n1,Welcome,1-2,60\n2,Song,3-8,50\n3,Talk,1-2,60\n",
	} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return folder, load(t, folder)
}

func load(t *testing.T, folder string) *schema.Show {
	t.Helper()
	r, err := loaders.Load(folder, loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.Findings {
		if f.Level == "error" {
			t.Fatalf("%s: %s", f.Rule, f.Message)
		}
	}
	return r.Show
}

var answers = map[string]string{
	"places": "Lectern = 2, 1; Singer = 0, 1.5; Keys = -3, 2.5", "bars": "Front bar = -4, 4.8; Mid bar = 2, 5; Back bar = 5.5, 5",
	"camera": "12, 1.5, f/4, 1/50, ISO 800, 5600 K", "people": "Lectern / Singer, Keys", "background": "black drape, 6.5", "stage": "9, 6, 15", "ambient": "5", "air": "22, 14, 6, 4",
}

// run answers all questions and writes the file beside the exports.
func run(t *testing.T, folder string, show *schema.Show) *Start {
	t.Helper()
	return runWith(t, folder, show, answers)
}

func runWith(t *testing.T, folder string, show *schema.Show, answers map[string]string) *Start {
	t.Helper()
	s, err := New(show, nil)
	if err != nil {
		t.Fatal(err)
	}
	asked := map[string]bool{}
	for {
		again := false
		for _, q := range s.Questions() {
			if asked[q.ID] {
				continue
			}
			asked[q.ID], again = true, true
			if _, err := s.Answer(q, answers[q.ID]); err != nil {
				t.Fatalf("%s: %v", q.ID, err)
			}
			break
		}
		if !again {
			break
		}
	}
	if len(asked) > 10 || s.Told > 40 {
		t.Errorf("%d questions with %d values; at most 10 and 40", len(asked), s.Told)
	}
	text, err := s.Text()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, FileName), text, 0o600); err != nil {
		t.Fatal(err)
	}
	return s
}

// Every derived value is compared with the hall as a person knows it, and the wrong
// ones are counted: all of the "spare", whose name says nothing, by where it hangs.
func TestWhatIsDerivedAgainstTheHall(t *testing.T) {
	folder, show := export(t)
	run(t, folder, show)
	got := load(t, folder)
	types := map[string]*schema.Type{}
	for _, ty := range got.Types {
		types[ty.Name] = ty
	}
	var wrong []string
	derived := 0
	for i, l := range lamps {
		f := got.Patch[i]
		compare := func(what, is, want string) {
			derived++
			if is != want {
				wrong = append(wrong, fmt.Sprintf("%s of %s is %q, want %q", what, l.name, is, want))
			}
		}
		compare("purpose", f.Purpose, l.purpose)
		aim := "-"
		if f.AimedAt != nil {
			if aim = f.AimedAt.Name; f.AimedAt.Point != nil {
				aim = ""
			}
		}
		compare("aim", aim, l.aim)
		if ty := types[l.kind]; ty == nil {
			t.Errorf("no type %q", l.kind)
		} else {
			compare("kind", ty.Typical, l.typical)
			if ty.Slots != nil {
				compare("slots", fmt.Sprint(*ty.Slots), fmt.Sprint(l.slots))
			}
		}
		if hangs := f.HungAt != nil; hangs != (l.hang != "") {
			wrong = append(wrong, fmt.Sprintf("%s hangs: %v", l.name, hangs))
		}
		if f.Purpose != "" && l.focus == "" && f.Known.Of("purpose").Word == "read" {
			t.Errorf("the purpose of %s counts as read", l.name)
		}
	}
	want := []string{`aim of spare is "-", want "Keys"`}
	if strings.Join(wrong, "\n") != strings.Join(want, "\n") {
		t.Errorf("of %d derived values are wrong:\n%s\nwant\n%s", derived, strings.Join(wrong, "\n"), strings.Join(want, "\n"))
	}
	if len(got.Order) != 3 || got.Order[1].Kind != "song" || strings.Join(got.Order[1].People, ",") != "Singer,Keys" || got.Order[2].People[0] != "Lectern" {
		t.Errorf("the running order made of the cues is %+v", got.Order)
	}
	if c := got.Room.Cameras[0]; *c.Y != -12 || *c.ApertureF != 4 || *c.ShutterS != 0.02 || *c.SensitivityISO != 800 || *c.WhiteK != 5600 || c.AimedAt.Name != "Lectern" {
		t.Errorf("the camera is %+v", c)
	}
	if v := *got.Room.Air.VolumeM3; v != 22*14*6 {
		t.Errorf("the hall has %v m3", v)
	}
	s, err := New(got, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range s.Questions() {
		if q.ID != "stage" { // it knows that from the file itself, which was not given
			t.Errorf("run again it asks for %s", q.ID)
		}
	}
}

// What a person wrote into the file by hand stays, and what an export says wins.
func TestTheFileIsContinued(t *testing.T) {
	folder, show := export(t)
	before := `{"x_mine": 1, "room": {"places": [{"name": "Lectern", "x": 7, "y": 1, "clothing": "dark"}]}, "patch": [{"channel": 1, "purpose": "fill"}]}`
	s, err := New(show, []byte(before))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Answer(s.Questions()[0], "Lectern = 2, 1; Singer = 0, 1"); err != nil {
		t.Fatal(err)
	}
	text, err := s.Text()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Mine float64 `json:"x_mine"`
		Room struct {
			Places []struct {
				Name, Clothing string
				X              float64
			}
		}
		Patch []struct {
			Channel int
			Purpose string
		}
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if got.Mine != 1 || got.Room.Places[0].X != 7 || got.Room.Places[0].Clothing != "dark" || got.Patch[0].Purpose != "fill" || len(got.Room.Places) != 2 {
		t.Errorf("what stood there became %s", text)
	}
	if _, err := New(show, []byte("[1]")); err == nil {
		t.Error("a list is taken for a hall")
	}
	_ = folder
}

func FuzzAnswers(f *testing.F) {
	for i, id := range IDs {
		f.Add(byte(i), answers[id])
	}
	at := func(id string) byte { return byte(slices.Index(IDs, id)) }
	f.Add(at("types"), "odd = profile white 26")
	f.Add(at("power"), "230 V, 16 A")
	f.Add(at("camera"), "f, ISO, k, 1/, 1/0, nan")
	f.Add(at("places"), "= 1, 2;;= ; a=1e309,2")
	f.Fuzz(func(t *testing.T, which byte, answer string) {
		id := IDs[int(which)%len(IDs)]
		show := &schema.Show{
			Patch: []*schema.Fixture{{Channel: 1, Type: "odd", HungOn: "bar", Circuit: "c", Name: "haze"}},
			Cues:  []*schema.Cue{{}},
		}
		s, err := New(show, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{id + ": " + answer, answer} {
			if list, err := ReadAnswers(text); err == nil && len(list) == 0 {
				t.Error("answers that are none")
			}
		}
		for _, q := range s.Questions() {
			if q.ID == id {
				before, _ := s.hall.text()
				if _, err := s.Answer(q, answer); err != nil {
					if after, _ := s.hall.text(); string(after) != string(before) {
						t.Fatalf("%q is refused (%v) and stays: %s", answer, err, after)
					}
				}
			}
		}
		text, err := s.Text()
		if err != nil {
			t.Fatalf("%q: %v", answer, err)
		}
		if !json.Valid(text) {
			t.Fatalf("%q makes %s", answer, text)
		}
	})
}

// People who are named in cues alone are not asked for: their segments have all of them.
func TestPeopleNamedInCuesAlone(t *testing.T) {
	for name, test := range map[string]struct{ order, want string }{
		"without a running order": {"", "Welcome 1 [Host] welcome; Song one 2 [Singer Keys] song; Sermon 4 [] talk"},
		"with one":                {"Item,Cue\nWelcome,1\nSong one,2\nSermon,4\nClosing,5\n", "Welcome 1 [Host] welcome; Song one 2 [Singer Keys] song; Sermon 4 [] talk; Closing 5 unknown closing"},
	} {
		folder := t.TempDir()
		files := map[string]string{
			"patch.csv": "Chan,Fixture Type,Focus\n1,LED profile 26,Host\n2,LED profile 26,Singer\n",
			"cues.csv":  "Cue,Item,Channels,Level,On stage\n1,Welcome,1,60,Host\n2,Song one,2,50,Singer\n3,Song one,2,60,\"Keys, Singer\"\n4,Sermon,1,60,none\n",
		}
		if test.order != "" {
			files["order.csv"] = test.order
			files["cues.csv"] += "5,Closing,1,50,\n"
		}
		for file, text := range files {
			if err := os.WriteFile(filepath.Join(folder, file), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		show := load(t, folder)
		first, err := New(show, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range first.Questions() {
			if q.ID == "people" {
				t.Error("it asks for people whom the cues name")
			}
			if q.ID == "places" && !strings.Contains(q.Default, "Keys") {
				t.Errorf("it asks where to find %s", q.Default)
			}
		}
		runWith(t, folder, show, map[string]string{"places": "default"})
		var told []string
		for _, seg := range load(t, folder).Order {
			people := "unknown"
			if seg.People != nil {
				people = fmt.Sprint(seg.People)
				if seg.Known.Of("people").Word != "inferred" {
					t.Errorf("the people of %s count as %s", seg.Name, seg.Known.Of("people").Word)
				}
			}
			told = append(told, fmt.Sprintf("%s %s %s %s", seg.Name, seg.StartCue, people, seg.Kind))
		}
		if got := strings.Join(told, "; "); got != test.want {
			t.Errorf("%s: %s, want %s", name, got, test.want)
		}
	}
}

func TestAnswersInQuotes(t *testing.T) {
	for written, want := range map[string]string{`"8, 5, 14"`: "8, 5, 14", `'8'`: "8", `""`: "", `"`: `"`, `"8'`: `"8'`, `8"`: `8"`} {
		got, err := ReadAnswers("stage: " + written)
		if err != nil || got["stage"] != want {
			t.Errorf("%s is read as %q, %v; want %q", written, got["stage"], err, want)
		}
	}
}

// Where there is one place alone, lamps for people point at it, and no others do.
func TestWhatALampPointsAt(t *testing.T) {
	s := &Start{show: &schema.Show{Room: &schema.Room{Places: []*schema.Place{{Name: "Lectern"}}}}}
	for purpose, want := range map[string]any{"key": "Lectern", "fill": "Lectern", "back": "Lectern", "wash": point(0, 2, 0), "beam": point(0, 2, 0), "effect": point(0, 2, 0), "house": nil} {
		if got := s.aimOf(&schema.Fixture{Name: "Lamp 3"}, purpose); !reflect.DeepEqual(got, want) {
			t.Errorf("%s points at %v, want %v", purpose, got, want)
		}
	}
	s.show.Room.Places = append(s.show.Room.Places, &schema.Place{Name: "Keys"})
	if got := s.aimOf(&schema.Fixture{Name: "Lamp 3"}, "key"); got != nil {
		t.Errorf("of two places it points at %v", got)
	}
	if got := s.aimOf(&schema.Fixture{Name: "Wash keys"}, "wash"); got != "Keys" {
		t.Errorf("a lamp that is called after a place points at %v", got)
	}
}

// What was told replaces what was read under the same name, each by itself.
func TestToldReplacesRead(t *testing.T) {
	type thing struct{ name, by string }
	list := join([]*thing{{"a", "read"}, {"b", "read"}, {"c", "read"}}, []*thing{{"a", "told"}, {"c", "told"}, {"d", "told"}}, func(x *thing) string { return x.name })
	var words []string
	for _, x := range list {
		words = append(words, x.name+" "+x.by)
	}
	if got := strings.Join(words, ", "); got != "a told, b read, c told, d told" {
		t.Error(got)
	}
}

// Where the background stands is inferred only where nobody gave the number.
func TestWhereTheBackgroundStands(t *testing.T) {
	for answer, inferred := range map[string]bool{"black drape, 6": false, "black drape": true, "": true} {
		s, err := New(&schema.Show{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		q, ok := s.askBackground()
		if !ok {
			t.Fatal("nobody asks for the background")
		}
		if _, err := s.Answer(q, answer); err != nil {
			t.Fatal(err)
		}
		text, err := s.hall.text()
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(strings.Fields(string(text)), ""), `"centre":"inferred"`); got != inferred {
			t.Errorf("%q: inferred is %v", answer, got)
		}
	}
}

// TestWhatAnswersWrite: what each answer makes of the hall, and how many values count as told. What was not told is marked.
func TestWhatAnswersWrite(t *testing.T) {
	show := func() *schema.Show {
		return &schema.Show{
			Order: []*schema.Segment{{Name: "Song", Kind: "song", People: []string{"A"}}},
			Patch: []*schema.Fixture{{Channel: 1, HungOn: "F", Type: "hazer", Circuit: "D1", Purpose: "haze", Name: "Haze"}},
		}
	}
	for _, c := range []struct {
		id, answer, want string // what stands in the hall; "" for an answer that makes no sense
		told             int
	}{
		{"places", "A = 1, 2", `{"room":{"places":[{"facing_deg":0,"head_m":1.65,"known":{"facing_deg":"inferred","head_m":[1.2,1.85],"z":"inferred"},"name":"A","x":1,"y":2,"z":0}]}}`, 2},
		{"places", "A = 1, 2, 0.4", `{"room":{"places":[{"facing_deg":0,"head_m":1.65,"known":{"facing_deg":"inferred","head_m":[1.2,1.85]},"name":"A","x":1,"y":2,"z":0.4}]}}`, 3},
		{"places", "default", `{"room":{"places":[{"facing_deg":0,"head_m":1.65,"known":{"facing_deg":"inferred","head_m":[1.2,1.85],"x":"assumed","y":"assumed","z":"inferred"},"name":"A","x":0,"y":1.5,"z":0}]}}`, 2},
		{"places", "A = 1", "", 0}, {"places", "A = 1, 2, 3, 4", "", 0}, {"places", "A = 1, 100001", "", 0}, {"places", " = 1, 2", "", 0}, {"places", "A", "", 0}, {"places", ";", "", 0},
		{"bars", "F = -4, 5", `{"room":{"bars":[{"from":{"x":-4,"y":-4,"z":5},"kind":"bar","known":{"from":"assumed","to":"assumed"},"name":"F","to":{"x":4,"y":-4,"z":5}}]}}`, 2},
		{"bars", "F = -4, 5, -3, 2.5", `{"room":{"bars":[{"from":{"x":-3,"y":-4,"z":5},"kind":"bar","name":"F","to":{"x":2.5,"y":-4,"z":5}}]}}`, 4},
		{"bars", "default", `{"room":{"bars":[{"from":{"x":-4,"y":-4,"z":4.5},"kind":"bar","known":{"from":"assumed","to":"assumed"},"name":"F","to":{"x":4,"y":-4,"z":4.5}}]}}`, 2},
		{"bars", "F = -4", "", 0}, {"bars", "F = -4, 5, 3", "", 0}, {"bars", "F = 1, 2, 3, 4, 5", "", 0},
		{"stage", "9, 6, 15", `{"room":{"areas":[{"kind":"audience","known":{"x":"assumed","z":"assumed"},"name":"seats","x":[-4.5,4.5],"y":[-15,-2],"z":-0.6}]},"x_stage_m":[9,6]}`, 3},
		{"stage", "9 x 6 m", `{"room":{"areas":[{"kind":"audience","known":{"x":"assumed","y":"assumed","z":"assumed"},"name":"seats","x":[-4.5,4.5],"y":[-14,-2],"z":-0.6}]},"x_stage_m":[9,6]}`, 2},
		{"stage", "default", `{"room":{"areas":[{"kind":"audience","known":{"x":"assumed","y":"assumed","z":"assumed"},"name":"seats","x":[-4,4],"y":[-14,-2],"z":-0.6}]},"x_stage_m":[8,5]}`, 3},
		{"stage", "9", "", 0}, {"stage", "9, 6, 15, 1", "", 0},
		{"camera", "12, 1.8, f/4, 1/50, ISO 800, 5600 K", `{"room":{"cameras":[{"aimed_at":"A","aperture_f":4,"auto_exposure":false,"auto_white":false,"known":{"auto_exposure":"assumed","auto_white":"assumed","x":[-2,2]},"name":"main camera","role":"main","sensitivity_iso":800,"shutter_s":0.02,"white_k":5600,"x":0,"y":-12,"z":1.8}]}}`, 6},
		{"camera", "-12; 1/25 s; f2; 100; 1800", `{"room":{"cameras":[{"aimed_at":"A","aperture_f":2,"auto_exposure":false,"auto_white":false,"known":{"auto_exposure":"assumed","auto_white":"assumed","x":[-2,2],"z":[1,2.5]},"name":"main camera","role":"main","sensitivity_iso":100,"shutter_s":0.04,"white_k":1800,"x":0,"y":-12,"z":1.5}]}}`, 5},
		{"camera", "99, 2, 1799", `{"room":{"cameras":[{"aimed_at":"A","auto_exposure":false,"auto_white":false,"known":{"auto_exposure":"assumed","auto_white":"assumed","x":[-2,2]},"name":"main camera","role":"main","sensitivity_iso":1799,"x":0,"y":-99,"z":2}]}}`, 3},
		{"camera", "12000, 12001", `{"room":{"cameras":[{"aimed_at":"A","auto_exposure":false,"auto_white":false,"known":{"auto_exposure":"assumed","auto_white":"assumed","x":[-2,2]},"name":"main camera","role":"main","sensitivity_iso":12001,"white_k":12000,"x":0}]}}`, 2},
		{"camera", "12, 1.5, 4", "", 0}, {"camera", "1/0", "", 0}, {"camera", "1/x", "", 0}, {"camera", "far", "", 0},
		{"background", "black drape, 7", `{"room":{"places":[{"background":"background","known":{"background":"inferred"},"name":"A"}],"surfaces":[{"centre":{"x":0,"y":7,"z":2.5},"facing_deg":0,"height_m":5,"kind":"drape","known":{"height_m":"inferred","reflectance":[0.02,0.1],"width_m":"inferred"},"name":"background","reflectance":0.05,"width_m":12}]}}`, 2},
		{"background", "grey drape", `{"room":{"places":[{"background":"background","known":{"background":"inferred"},"name":"A"}],"surfaces":[{"centre":{"x":0,"y":6,"z":2.5},"facing_deg":0,"height_m":5,"kind":"drape","known":{"centre":"inferred","height_m":"inferred","reflectance":[0.12,0.35],"width_m":"inferred"},"name":"background","reflectance":0.2,"width_m":12}]}}`, 2},
		{"background", "white wall, 5", `{"room":{"places":[{"background":"background","known":{"background":"inferred"},"name":"A"}],"surfaces":[{"centre":{"x":0,"y":5,"z":2.5},"facing_deg":0,"height_m":5,"kind":"wall","known":{"height_m":"inferred","reflectance":[0.5,0.85],"width_m":"inferred"},"name":"background","reflectance":0.7,"width_m":12}]}}`, 2},
		{"background", "green", "", 0},
		{"power", "230 V, 16 A", `{"room":{"circuits":[{"amps":16,"name":"D1","volts":230}]}}`, 2}, {"power", "230", "", 0}, {"power", "230, 16, 1", "", 0},
		{"ambient", "12 lx", `{"room":{"ambient_lx":12}}`, 1}, {"ambient", "default", `{"room":{"ambient_lx":5,"known":{"ambient_lx":[0,30]}}}`, 1}, {"ambient", "1, 2", "", 0},
		{"air", "25, 15, 6", `{"room":{"air":{"volume_m3":2250}}}`, 3}, {"air", "25 15 6 3", `{"room":{"air":{"air_changes_per_h":3,"volume_m3":2250}}}`, 4}, {"air", "25, 15", "", 0}, {"air", "1, 2, 3, 4, 5", "", 0},
	} {
		s, err := New(show(), nil)
		if err != nil {
			t.Fatal(err)
		}
		list := s.Questions()
		i := slices.IndexFunc(list, func(q Question) bool { return q.ID == c.id })
		if i < 0 {
			t.Errorf("nobody asks for %s", c.id)
			continue
		}
		taken, err := s.Answer(list[i], c.answer)
		if !taken {
			t.Errorf("%s: %q is not taken", c.id, c.answer)
		}
		delete(s.hall.root, "note")
		got, _ := json.Marshal(s.hall.root)
		if c.want == "" {
			if err == nil || s.Told != 0 || string(got) != "{}" {
				t.Errorf("%s: %q makes %s, %d values told, %v", c.id, c.answer, got, s.Told, err)
			}
			continue
		}
		if err != nil || string(got) != c.want || s.Told != c.told {
			t.Errorf("%s: %q makes\n%s (%d values, %v), want\n%s (%d values)", c.id, c.answer, got, s.Told, err, c.want, c.told)
		}
	}
}

// TestWhatIsLeftOpen: an answer that leaves the question open, or asks for what is usual where nothing is, is not taken.
func TestWhatIsLeftOpen(t *testing.T) {
	s := &Start{hall: &hall{root: item{}}}
	taken := 0
	q := Question{Default: "5", take: func(string, bool) error { taken++; return nil }}
	for answer, want := range map[string]bool{"skip": false, " - ": false, "?": false, "SKIP": false, "": true, "Default": true, "5": true} {
		before := taken
		if got, err := s.Answer(q, answer); err != nil || got != want || (taken > before) != want {
			t.Errorf("%q is taken: %v, %v", answer, got, err)
		}
	}
	q.Default = ""
	for _, answer := range []string{"", "default"} {
		if got, err := s.Answer(q, answer); err != nil || got {
			t.Errorf("where nothing is usual %q is taken: %v, %v", answer, got, err)
		}
	}
}

// TestTheOnlyBar: a lamp of which nobody says where it hangs hangs on the only bar, but for those of the house and machines.
func TestTheOnlyBar(t *testing.T) {
	bars := func(names ...string) (list []*schema.Bar) {
		for _, name := range names {
			list = append(list, &schema.Bar{Name: name})
		}
		return list
	}
	for _, c := range []struct {
		about string
		bars  []*schema.Bar
		lamp  schema.Fixture
		want  bool
	}{
		{"no bar", nil, schema.Fixture{Purpose: "key"}, false}, {"one bar", bars("front"), schema.Fixture{Purpose: "key"}, true}, {"two bars", bars("front", "back"), schema.Fixture{Purpose: "key"}, false},
		{"a place of its own", bars("front"), schema.Fixture{Purpose: "key", HungAt: &schema.Point{X: 1}}, false}, {"another bar", bars("front"), schema.Fixture{Purpose: "key", HungOn: "box"}, false},
		{"for nobody knows what", bars("front"), schema.Fixture{}, true}, {"for the house", bars("front"), schema.Fixture{Purpose: "house"}, false}, {"a machine", bars("front"), schema.Fixture{Purpose: "haze"}, false},
	} {
		s, err := New(&schema.Show{Room: &schema.Room{Bars: c.bars}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		counts := map[string]int{}
		c.lamp.Channel = 1
		s.deriveFixture(&c.lamp, counts)
		if got := counts["lamps hung on the only bar"] == 1; got != c.want {
			t.Errorf("%s: it is hung on the only bar: %v", c.about, got)
		}
	}
}

// TestWhatIsUsual: places stand over four metres, bars hang where their names say.
func TestWhatIsUsual(t *testing.T) {
	people := func(names ...string) *schema.Show { return &schema.Show{Order: []*schema.Segment{{People: names}}} }
	bars := func(names ...string) *schema.Show {
		show := &schema.Show{}
		for i, name := range names {
			show.Patch = append(show.Patch, &schema.Fixture{Channel: i + 1, HungOn: name})
		}
		return show
	}
	for _, c := range []struct {
		id, want string
		show     *schema.Show
	}{
		{"places", "lectern = 0, 1.5", people()},
		{"places", "A = 0, 1.5", people("A")},
		{"places", "A = -2, 1.5; B = 2, 1.5", people("A", "B")},
		{"places", "A = -2, 1.5; B = 0, 1.5; C = 2, 1.5", people("A", "B", "C")},
		{"bars", "front bar = -4, 4.5", bars()},
		{"bars", "House = -4, 4.5; US truss = 5, 4.5; Over stage = 2, 4.5", bars("House", "US truss", "Over stage", "house")},
	} {
		s, err := New(c.show, nil)
		if err != nil {
			t.Fatal(err)
		}
		list := s.Questions()
		if i := slices.IndexFunc(list, func(q Question) bool { return q.ID == c.id }); i < 0 || list[i].Default != c.want {
			t.Errorf("%s: %+v, want %q", c.id, list, c.want)
		}
	}
}

// TestTheStepBetweenAddresses is one that two thirds of them have, of up to 64 slots, where there are three addresses or more.
func TestTheStepBetweenAddresses(t *testing.T) {
	for _, c := range []struct {
		at   []int
		want int
	}{
		{[]int{1, 17}, 0}, {[]int{1, 17, 33}, 16}, {[]int{33, 1, 17}, 16}, {[]int{1, 65, 129}, 64}, {[]int{1, 66, 131}, 0},
		{[]int{1, 17, 33, 100}, 16}, {[]int{1, 17, 33, 100, 200}, 0}, {[]int{1, 5, 14}, 0}, {[]int{1, 7, 11, 17}, 6},
	} {
		if got := step(slices.Clone(c.at)); got != c.want {
			t.Errorf("%v: %d, want %d", c.at, got, c.want)
		}
	}
}

// TestWhatABarIsFor: one half a metre over the house lights faces, one half a metre behind all places lights from behind.
func TestWhatABarIsFor(t *testing.T) {
	two := 2.0
	for y, want := range map[float64]string{-0.5: "", -0.6: "key", 2.5: "", 2.6: "back", 0: ""} {
		s := &Start{show: &schema.Show{Room: &schema.Room{Places: []*schema.Place{{Name: "A", Y: &two}, {Name: "B"}}, Bars: []*schema.Bar{{Name: "other", From: &schema.Point{Y: -5}}, {Name: "F", From: &schema.Point{Y: y}}}}}}
		if got := s.purposeByBar(&schema.Fixture{HungOn: "F"}); got != want {
			t.Errorf("at %g it is for %q, want %q", y, got, want)
		}
	}
}

// TestHowManySlots a type has, by the name of its mode or by its addresses, where all its lamps have one mode.
func TestHowManySlots(t *testing.T) {
	for _, c := range []struct {
		modes []string
		at    string // the addresses
		want  string
	}{
		{[]string{"16 ch"}, "1.1", "16"}, {[]string{"1 ch"}, "1.1", "1"}, {[]string{"0 ch"}, "1.1", ""}, {[]string{"512 ch"}, "1.1", "512"}, {[]string{"513 ch"}, "1.1", ""},
		{[]string{"", "", ""}, "1.1 1.7 1.13", "6"}, {[]string{"", "", ""}, "1.1 2.7 3.13", ""}, {[]string{"", ""}, "1.1 1.7", ""}, {[]string{"4 ch", "6 ch"}, "1.1 1.7", ""}, {[]string{"wide"}, "1.1", ""},
	} {
		s, err := New(&schema.Show{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, at := range strings.Fields(c.at) {
			s.show.Patch = append(s.show.Patch, &schema.Fixture{Channel: i + 1, Type: "lamp", Mode: c.modes[i], Address: at})
		}
		s.deriveSlots(map[string]int{})
		got := ""
		if types, ok := s.hall.root["types"].([]any); ok {
			got = fmt.Sprint(types[0].(item)["slots"])
		}
		if got != c.want {
			t.Errorf("modes %q at %s: %q slots, want %q", c.modes, c.at, got, c.want)
		}
	}
}

// TestAFileOfAnswers: lines that go on, remarks, and what is no answer, with its line.
func TestAFileOfAnswers(t *testing.T) {
	for text, want := range map[string]string{
		"stage: 8, 5": "map[stage:8, 5]", "\ufeffStage: 8, 5\r\n": "map[stage:8, 5]", "# remark\n\n air : 1, 2, 3\n": "map[air:1, 2, 3]", "places:\n  - A = 1, 2;\n\t- B = 2, 2\nair: 1": "map[air:1 places:; A = 1, 2; B = 2, 2]",
		"places: >\n  A = 1, 2": "map[places:; A = 1, 2]", "  stage: 8": "map[stage:8]",
	} {
		if got, err := ReadAnswers(text); err != nil || fmt.Sprint(got) != want {
			t.Errorf("%q is read as %v, %v; want %s", text, got, err, want)
		}
	}
	for text, want := range map[string]string{"": "it holds no answer", "# a\n": "it holds no answer", "air: 1\nstage 8": "line 2 is not an answer", "air: 1\nhaze: 8": "line 2 is not an answer", "air: 1\n\nair: 2": "line 3 answers air a second time"} {
		if _, err := ReadAnswers(text); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

// TestASheetToFillIn has a question with why, with what is usual where there is such a thing, and a place for the answer.
func TestASheetToFillIn(t *testing.T) {
	if got := string(Sheet(nil)); got != "# Nothing is missing that a question could tell.\n" {
		t.Error(got)
	}
	got := string(Sheet([]Question{{ID: "stage", Ask: "How wide?", Why: "it is", Default: "8"}, {ID: "air", Ask: "How high?", Why: "so"}}))
	if _, rest, _ := strings.Cut(got, "\n"); rest != "\n# How wide?\n# Why: it is.\n# Usual: 8\nstage:\n\n# How high?\n# Why: so.\nair:\n" {
		t.Error(got)
	}
	for before, want := range map[string]bool{"": true, `{"note": "x"}`: true, `{"note": "x", "room": {}}`: false, `{"patch": []}`: false} {
		if s, err := New(&schema.Show{}, []byte(before)); err != nil || s.Empty() != want {
			t.Errorf("%q: %v, empty is %t", before, err, !want)
		}
	}
}

// TestKindsOfLamps: which kinds are asked for, and what an answer has to be.
func TestKindsOfLamps(t *testing.T) {
	for _, c := range []struct{ answer, want string }{
		{"odd = profile white 26", `[{"name":"odd","typical":"profile white 26"}]`}, {"ODD=profile white 26; other = hazer", `[{"name":"odd","typical":"profile white 26"},{"name":"other","typical":"hazer"}]`},
		{"odd", ""}, {"= hazer", ""}, {"odd = bulb", ""}, {"none = hazer", ""},
	} {
		s, err := New(&schema.Show{Patch: []*schema.Fixture{{Channel: 1, Type: "odd"}, {Channel: 2, Type: "other"}, {Channel: 3, Type: "told"}, {Channel: 4, Type: "hazer"}}, Types: []*schema.Type{{Name: "told", Typical: "hazer"}}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		q, ok := s.askTypes()
		if !ok || !strings.HasPrefix(q.Ask, "What kind of lamp is each of these: odd, other? Such as: odd = ") {
			t.Fatalf("asked is %q", q.Ask)
		}
		_, err = s.Answer(q, c.answer)
		got, _ := json.Marshal(s.hall.root["types"])
		if c.want == "" {
			c.want = "null"
			if err == nil {
				t.Errorf("%q is taken", c.answer)
			}
		} else if err != nil || s.Told != strings.Count(c.want, "name") {
			t.Errorf("%q: %v, %d told", c.answer, err, s.Told)
		}
		if string(got) != c.want {
			t.Errorf("%q makes %s, want %s", c.answer, got, c.want)
		}
	}
}

// TestWhatIsDescribed says what light it gives: its kind, or its source with a figure.
func TestWhatIsDescribed(t *testing.T) {
	lumens := 5000.0
	for i, c := range []struct {
		of   schema.Type
		want bool
	}{
		{schema.Type{}, false}, {schema.Type{Typical: "hazer"}, true}, {schema.Type{Source: "led"}, false}, {schema.Type{FluxLm: &lumens}, false}, {schema.Type{Source: "led", FluxLm: &lumens}, true}, {schema.Type{Source: "led", PeakCd: &lumens}, true},
		{schema.Type{Source: "led", Photometry: "a.ies"}, true}, {schema.Type{Source: "colour-led", Emitters: []*schema.Emitter{{}}}, true}, {schema.Type{Machine: &schema.Machine{}}, true},
	} {
		c.of.Name = "lamp"
		s := &Start{show: &schema.Show{Types: []*schema.Type{{Name: "other", Typical: "hazer"}, &c.of}}}
		if got := s.described("lamp"); got != c.want {
			t.Errorf("%d: %t", i, got)
		}
	}
}

// TestWhoIsWhere: who is lit while somebody speaks and in songs, by the running order, by what cues call theirs, or all evening.
func TestWhoIsWhere(t *testing.T) {
	number := func(text string) schema.CueNumber {
		n, err := schema.ParseCueNumber(text)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	places := &schema.Room{Places: []*schema.Place{{Name: "Host"}, {Name: "Band"}}}
	for _, c := range []struct {
		about  string
		show   schema.Show
		answer string
		want   string // "" for an answer that makes no sense
	}{
		{"by the running order", schema.Show{Order: []*schema.Segment{{Name: "Song one"}, {Name: "Talk"}, {Name: "x", Kind: "opening"}}, Cues: []*schema.Cue{{Number: number("1")}}}, "host / Band, Host",
			`[{"known":{"people":"derived"},"name":"Song one","people":["Band","Host"]},{"known":{"people":"derived"},"name":"Talk","people":["Host"]},{"known":{"people":"derived"},"name":"x","people":["Band","Host"]}]`},
		{"one list for all", schema.Show{Order: []*schema.Segment{{Name: "Song one"}}, Cues: []*schema.Cue{{Number: number("1")}}}, "Host", `[{"known":{"people":"derived"},"name":"Song one","people":["Host"]}]`},
		{"the usual", schema.Show{Order: []*schema.Segment{{Name: "Talk"}}, Cues: []*schema.Cue{{Number: number("1")}}}, "default", `[{"known":{"people":"assumed"},"name":"Talk","people":["Host"]}]`},
		{"by what cues call theirs", schema.Show{Cues: []*schema.Cue{{Number: number("1"), Segment: "Song one"}, {Number: number("2"), Segment: "Song one"}, {Number: number("3"), Name: "Sermon"}, {Number: number("4"), Name: "more light"}, {Number: number("5"), Segment: "Part"}}}, "Host / Band",
			`[{"kind":"song","known":{"kind":"inferred","people":"derived","start_cue":"derived"},"name":"Song one","people":["Band"],"start_cue":"1"},{"kind":"talk","known":{"kind":"inferred","people":"derived","start_cue":"derived"},"name":"Sermon","people":["Host"],"start_cue":"3"},{"known":{"people":"derived","start_cue":"derived"},"name":"Part","people":["Host"],"start_cue":"5"}]`},
		{"all evening", schema.Show{Cues: []*schema.Cue{{Number: number("7")}, {Number: number("8")}}}, "Host / Band", `[{"known":{"people":"derived","start_cue":"derived"},"name":"whole evening","people":["Host"],"start_cue":"7"}]`},
		{"nobody that is known", schema.Show{Cues: []*schema.Cue{{Number: number("7")}}}, "Choir", ""},
	} {
		c.show.Room = places
		s, err := New(&c.show, nil)
		if err != nil {
			t.Fatal(err)
		}
		q, ok := s.askPeople()
		if !ok || q.Default != "Host / Host, Band" {
			t.Fatalf("%s: the usual is %q", c.about, q.Default)
		}
		_, err = s.Answer(q, c.answer)
		got, _ := json.Marshal(s.hall.root["order"])
		if c.want == "" {
			c.want = "null"
			if err == nil {
				t.Errorf("%s: %q is taken", c.about, c.answer)
			}
		} else if err != nil {
			t.Errorf("%s: %v", c.about, err)
		}
		if string(got) != c.want {
			t.Errorf("%s:\n%s, want\n%s", c.about, got, c.want)
		}
	}
	for i, show := range []*schema.Show{{Room: places}, {Cues: []*schema.Cue{{Number: number("1")}}}, {Room: places, Cues: []*schema.Cue{{Number: number("1")}}, Order: []*schema.Segment{{People: []string{}}}}} {
		s, err := New(show, nil)
		if err != nil {
			t.Fatal(err)
		}
		if q, ok := s.askPeople(); ok {
			t.Errorf("%d: it asks %q", i, q.Ask)
		}
	}
}

// TestWhatIsAskedNoMore is what is told already.
func TestWhatIsAskedNoMore(t *testing.T) {
	v := 1.0
	for id, show := range map[string]*schema.Show{
		"stage": {Room: &schema.Room{Areas: []*schema.Area{{Name: "a"}}}}, "background": {Room: &schema.Room{Surfaces: []*schema.Surface{{Name: "a"}}}}, "ambient": {Room: &schema.Room{AmbientLx: &v}},
		"air": {Room: &schema.Room{Air: &schema.Air{VolumeM3: &v}}, Patch: []*schema.Fixture{{Channel: 1, Type: "hazer"}}}, "power": {Room: &schema.Room{Circuits: []*schema.Circuit{{Name: "D1", Amps: &v}}}, Patch: []*schema.Fixture{{Channel: 1, Circuit: "D1"}}},
		"camera": {Room: &schema.Room{Cameras: []*schema.Camera{{Name: "b"}, {Name: "a", X: &v, ApertureF: &v, SensitivityISO: &v, ShutterS: &v, WhiteK: &v}}}},
		"bars":   {Room: &schema.Room{Bars: []*schema.Bar{{Name: "Front  BAR"}}}, Patch: []*schema.Fixture{{Channel: 1, HungOn: "front bar"}}}, "places": {Room: &schema.Room{Places: []*schema.Place{{Name: "A", X: &v, Y: &v}}}},
	} {
		has := func(show *schema.Show) bool {
			s, err := New(show, nil)
			if err != nil {
				t.Fatal(err)
			}
			return slices.ContainsFunc(s.Questions(), func(q Question) bool { return q.ID == id })
		}
		if has(show) {
			t.Errorf("it asks for %s", id)
		}
		if show.Room = nil; !has(show) {
			t.Errorf("it does not ask for %s", id)
		}
	}
}

// TestAmbientOfPlaces: light that is told of one place is told.
func TestAmbientOfPlaces(t *testing.T) {
	s, err := New(&schema.Show{Room: &schema.Room{Ambient: make([]*schema.Ambient, 1)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, asks := s.askAmbient(); asks {
		t.Error("it asks for the ambient light")
	}
}

// TestNamesWithNumbers: each has a name, and as many numbers as are wanted.
func TestNamesWithNumbers(t *testing.T) {
	for answer, want := range map[string]string{
		"lectern = 2, 1": "", "lectern: 2 1; keys = -3 x 2.5 m": "", "= 2, 1": "the name is missing", "lectern = 2": "1 numbers stand there, and 2 are wanted", "lectern = 2, far": `"far" is no number`,
		"lectern": "is not a name with numbers behind it", "": "nothing is named", "lectern = 2, 100001": "is no number",
	} {
		list, err := new(Start).entries(answer, 2, 2)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) || err == nil && len(list) == 0 {
			t.Errorf("%q is %v (%v), want %q", answer, list, err, want)
		}
	}
}
