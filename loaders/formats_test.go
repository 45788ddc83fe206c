package loaders

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// hooks is a format that is only read: a channel and an address on each line.
var hooks = format.Format{
	Name: "hook list", Ends: []string{".hooks"}, Holds: []string{"patch"},
	Alone: true,
	Sniff: func(name, head string) format.Sure {
		if strings.HasPrefix(head, "HOOKS") || head == "" && strings.HasSuffix(name, ".hooks") {
			return format.ByContent
		}
		return format.No
	},
	Read: func(in *format.Input, section string, file *source.File, data string) (format.Part, bool) {
		file.Text = data
		b := source.NewBuilder(file)
		b.Begin(source.Array, 0)
		at := 0
		for line := range strings.Lines(data) {
			if channel, address, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
				b.Begin(source.Object, at)
				b.Key("channel", at, at+len(channel))
				b.Scalar(source.Number, channel, at, at+len(channel))
				b.Key("address", at, at)
				b.Scalar(source.String, address, at+len(channel)+1, at+len(channel)+1+len(address))
				b.End(at + len(line))
			}
			at += len(line)
		}
		return format.Part{Sections: []format.Section{{Name: "patch", Root: b.End(at)}}}, true
	},
}

// A format is one row: a file of it is found, read and, if it cannot be written,
// refused as a whole with a word that says why.
func TestAFormatIsOneRow(t *testing.T) {
	formats = append(formats, &hooks)
	t.Cleanup(func() { formats = formats[:len(formats)-1] })
	folder := files(t, map[string]string{"patch.hooks": "HOOKS\n12 1.101\n13 1.102\n", "cues.json": `[{"cue": 1, "set": [{"channels": "12", "level": 50}]}]`})
	r := load(t, folder)
	if len(r.Findings) > 0 || len(r.Show.Patch) != 2 || r.Show.Patch[1].Address != "1.102" {
		t.Fatalf("read %d fixtures and %s", len(r.Show.Patch), messages(r.Findings))
	}
	if at, _ := r.Show.Patch[1].At.Find("/address"); at.Span().Start != (source.Position{Line: 3, Column: 4}) {
		t.Errorf("the address stands at %v", at.Span().Start)
	}
	list, err := Replacements(r.Show, []source.Edit{{At: r.Show.Cues[0].Set[0].At, Field: "level", Value: 40.0}}, Options{})
	if err != nil || len(list) != 1 {
		t.Errorf("a change of the cues alone: %v, %v", list, err)
	}
	var no *Unwritable
	_, err = Replacements(r.Show, []source.Edit{{At: r.Show.Patch[0].At, Field: "address", Value: "2.1"}}, Options{})
	if !errors.As(err, &no) || !strings.HasSuffix(err.Error(), "patch.hooks: a file of this format is only read, never written") {
		t.Errorf("a change of the patch: %v", err)
	}
	if Writable("patch.hooks") || !Writable("patch.csv") || !Writable("x.json") {
		t.Error("Writable is wrong")
	}
}

// with reads a folder that may hold hook lists.
func with(t *testing.T, content map[string]string) (Result, string) {
	t.Helper()
	formats = append(formats, &hooks)
	t.Cleanup(func() { formats = formats[:len(formats)-1] })
	folder := files(t, content)
	return load(t, folder), folder
}

func TestSourcesMeetByChannel(t *testing.T) {
	r, folder := with(t, map[string]string{
		"patch.json":   `[{"channel": 12, "name": "front", "address": "1.101"}, {"channel": 13, "name": "back"}, {"channel": 15, "address": "2/7"}]`,
		"grid map.txt": "HOOKS\n12 1.111\n13 1.102\n14 1.103\n15 2.7\n",
	})
	var got []string
	for _, f := range r.Show.Patch {
		got = append(got, fmt.Sprintf("%d %s %s", f.Channel, f.Name, f.Address))
	}
	if diff := cmp.Diff([]string{"12 front 1.101", "13 back 1.102", "15  2/7", "14  1.103"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"grid map.txt:2:4 sources-disagree warning"}, brief(folder, r.Findings)); diff != "" {
		t.Errorf("(-want +got):\n%s\n%s", diff, messages(r.Findings))
	}
	if f := r.Findings[0]; len(f.Related) != 1 || !strings.HasSuffix(f.Related[0].Place.File.Name, "patch.json") || f.Related[0].Place.Span().Start.Column != 46 {
		t.Errorf("the other place is %+v", f.Related)
	}
	// What was read here is written here, and nothing is written there.
	patch := r.Show.Patch
	list, err := Replacements(r.Show, []source.Edit{{At: patch[1].At, Field: "address", Value: "3.1"}}, Options{})
	if err != nil || len(list) != 1 || list[0].Text != `, "address": "3.1"` {
		t.Errorf("%v, %v", list, err)
	}
	var no *Unwritable
	for _, edits := range [][]source.Edit{
		{{At: patch[3].At, Field: "address", Value: "3.1"}},
		{{At: patch[3].At, Field: "address", Value: "3.1"}, {At: patch[0].At, Field: "name", Value: "x"}},
	} {
		if _, err := Replacements(r.Show, edits, Options{}); !errors.As(err, &no) || !strings.HasSuffix(no.File.Name, "grid map.txt") {
			t.Errorf("%v", err)
		}
	}
}

func TestSourcesMeetInTables(t *testing.T) {
	r, _ := with(t, map[string]string{"patch.csv": "channel,name\n12,front\n", "a.hooks": "HOOKS\n12 1.111\n13 1.102\n"})
	if len(r.Findings) > 0 || r.Show.Patch[0].Address != "1.111" || len(r.Show.Patch) != 2 {
		t.Errorf("%+v %s", r.Show.Patch, messages(r.Findings))
	}
	if _, err := Replacements(r.Show, []source.Edit{{At: r.Show.Patch[0].At, Field: "name", Value: "x"}}, Options{}); err != nil {
		t.Error(err)
	}
	var no *Unwritable
	if _, err := Replacements(r.Show, []source.Edit{{At: r.Show.Patch[1].At, Field: "address", Value: "3.1"}}, Options{}); !errors.As(err, &no) {
		t.Error(err)
	}
}

func TestAnExportAloneIsAShow(t *testing.T) {
	r, folder := with(t, map[string]string{"tonight.dat": "HOOKS\n12 1.111\n"})
	if len(r.Findings) > 0 || len(r.Show.Patch) != 1 {
		t.Errorf("%s", messages(r.Findings))
	}
	r = load(t, filepath.Join(folder, "tonight.dat"))
	if len(r.Findings) > 0 || len(r.Show.Patch) != 1 || r.Name != "tonight" {
		t.Errorf("%q: %s", r.Name, messages(r.Findings))
	}
}

func TestHowValuesAreKnownGoesWithThem(t *testing.T) {
	have := &schema.Fixture{Channel: 1, Purpose: "key"}
	m := merger{loader: &loader{}, section: "patch"}
	m.fill(finding.Subject{}, have, &schema.Fixture{Channel: 1, Purpose: "back", Type: "spot", Known: schema.Known{"purpose": {Word: "inferred"}, "type": {Word: "assumed"}}})
	if diff := cmp.Diff(&schema.Fixture{Channel: 1, Purpose: "key", Type: "spot", Known: schema.Known{"type": {Word: "assumed"}}}, have, cmpopts.IgnoreTypes(source.Ref{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestWordsAlike(t *testing.T) {
	for _, test := range []struct {
		key, a, b string
		want      bool
	}{
		{"address", "1.101", "1/101", true}, {"address", "1.101", "1.10", false}, {"address", "1.1", "1.1.1", false}, {"type", "Profile 26", "profile-26", true},
		{"type", "Profile 26", "Generic Profile 26 v2", true}, {"mode", "Mode 1", "Mode 12", false}, {"type", "wash", "spot", false}, {"type", "-", "spot", false},
	} {
		if got := alike(test.key, test.a, test.b); got != test.want {
			t.Errorf("%q and %q: %v", test.a, test.b, got)
		}
	}
}

func TestInputOfNobody(t *testing.T) {
	in := format.Quiet(format.Options{})
	in.Say("", finding.Finding{})
	in.Fail("", finding.Finding{})
	in.Lost()
	in.Note(&source.File{}, "")
	if in.Entry(&source.File{}, "a").Name != "a" || in.Subject(&source.File{Name: "b"}).Name != "b" {
		t.Error("a quiet input does not name files")
	}
}

func TestEverySectionHasAFormat(t *testing.T) {
	for _, section := range schema.Sections {
		if len(endsFor(section)) == 0 {
			t.Errorf("no format holds %s", section)
		}
	}
}

// What stands under which ending is asked in one place.
func TestEndings(t *testing.T) {
	for name, want := range map[string][3]bool{ // JSON, photometry, probably an export
		"cues.json": {true, false, false}, "CUES.JSON": {true, false, false}, "lamp.IES": {false, true, true}, "lamp.ldt": {false, true, true},
		"rig.mvr": {false, false, true}, "Lamp.GDTF": {false, false, true}, "desk.asc": {false, false, true}, "list.tsv": {false, false, true}, "rig.xlsx": {false, false, true},
		"faces.csv": {}, "faces.txt": {}, "faces": {}, "json": {},
	} {
		what, _ := TakenFor(name)
		if got := [3]bool{IsJSON(name), IsPhotometry(name), what == "an export"}; got != want && what != "the section cues of a show" {
			t.Errorf("%s: JSON, photometry, an export: %v, want %v (%s)", name, got, want, what)
		}
	}
}

// The file of the hall adds to every section what the show does not say itself, thing by thing by its name; of cues there is one list.
func TestTheHallAddsToAShow(t *testing.T) {
	r, folder := with(t, map[string]string{
		"show.json": `{"types": [{"name": "spot", "cri": 90}], "room": {"places": [{"name": "pulpit", "x": 1}], "bars": [{"name": "front"}]}, "groups": {"front": "1-2"},
			"order": [{"name": "Song"}], "cues": [{"cue": 1}], "readings": [{"place": "pulpit", "lx": 5}], "notices": {"haze": "a sign"}}`,
		HallFile: `{"types": [{"name": "spot", "cri": 70, "flux_lm": 1000}, {"name": "wash"}], "room": {"name": "Hall", "places": [{"name": "pulpit", "x": 2, "y": 3}, {"name": "desk"}], "bars": [{"name": "back"}]},
			"groups": {"front": "9", "back": "3"}, "order": [{"name": "Song", "kind": "song"}, {"name": "End"}], "cues": [{"cue": 9}], "readings": [{"place": "desk", "lx": 6}], "notices": {"haze": "another", "strobe": "said"}}`,
	})
	s := r.Show
	var got []string
	for _, ty := range s.Types {
		got = append(got, fmt.Sprint("type ", ty.Name, orNone(ty.CRI), orNone(ty.FluxLm)))
	}
	for _, p := range s.Room.Places {
		got = append(got, fmt.Sprint("place ", p.Name, orNone(p.X), orNone(p.Y)))
	}
	for _, b := range s.Room.Bars {
		got = append(got, "bar "+b.Name)
	}
	for _, segment := range s.Order {
		got = append(got, fmt.Sprint("segment ", segment.Name, " ", segment.Kind))
	}
	for _, reading := range s.Readings {
		got = append(got, "reading "+reading.Place)
	}
	got = append(got, fmt.Sprint("groups ", s.Groups["front"], " ", s.Groups["back"]), "room "+s.Room.Name, fmt.Sprint("cues ", len(s.Cues), " ", s.Cues[0].Number), fmt.Sprint("notices ", s.Notices.Haze, ", ", s.Notices.Strobe))
	want := []string{
		"type spot 90 1000", "type wash ? ?", "place pulpit 1 3", "place desk ? ?", "bar front", "bar back", "segment Song song", "segment End ", "reading pulpit", "reading desk",
		"groups 1-2 3", "room Hall", "cues 1 1", "notices a sign, said",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := brief(folder, r.Findings); len(got) != 1 || !strings.Contains(got[0], "section-twice error") {
		t.Errorf("%v\n%s", got, messages(r.Findings))
	}
}

func orNone(v *float64) string {
	if v == nil {
		return " ?"
	}
	return fmt.Sprint(" ", *v)
}
