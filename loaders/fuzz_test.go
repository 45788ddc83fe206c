package loaders

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/table"
	"github.com/cueproof/cueproof/schema"
)

// asJSON writes a value tree as JSON, numbers as they stand in the tree.
func asJSON(b *strings.Builder, ref source.Ref) {
	quoted := func(text string) {
		data, _ := json.Marshal(text)
		b.Write(data)
	}
	switch ref.Kind() {
	case source.Object:
		b.WriteByte('{')
		between := ""
		for member := range ref.Items() {
			b.WriteString(between)
			quoted(member.Key())
			b.WriteByte(':')
			asJSON(b, member)
			between = ","
		}
		b.WriteByte('}')
	case source.Array:
		b.WriteByte('[')
		between := ""
		for item := range ref.Items() {
			b.WriteString(between)
			asJSON(b, item)
			between = ","
		}
		b.WriteByte(']')
	case source.String:
		quoted(ref.Str())
	case source.Number:
		b.WriteString(ref.Str())
	case source.Bool:
		truth, _ := ref.Truth()
		data, _ := json.Marshal(truth)
		b.Write(data)
	default:
		b.WriteString("null")
	}
}

func fromStdin(t *testing.T, text string) Result {
	t.Helper()
	r, err := Load("-", Options{Stdin: strings.NewReader(text)})
	if err != nil {
		t.Fatal(err)
	}
	checkFindings(t, r)
	return r
}

// seeds reads the sections of a test show.
func seeds(f *testing.F, form string) map[string]string {
	texts := map[string]string{}
	for _, section := range table.Format.Holds {
		folder := map[string]string{"json": "flawed", "csv": "flawed-csv"}[form]
		text, err := os.ReadFile(filepath.Join(shows, folder, section+"."+form))
		if errors.Is(err, fs.ErrNotExist) && section == "readings" {
			text = []byte(map[string]string{
				"json": `[{"place": "lectern", "cue": 4, "lx": 640, "white_k": 5500}, {"place": "pulpit", "channels": "1-2", "level": "70%", "lx": 300.5}]`,
				"csv":  "place,cue,channels,level,lux,kelvin\nlectern,4,,,640,5500\npulpit,,1-2,70 %,300.5,\n",
			}[form])
		} else if err != nil {
			f.Fatal(err)
		}
		texts[section] = string(text)
	}
	return texts
}

// mostTried is how many bytes of a file are tried: more only takes time from trying others. The
// whole tables of the demo shows are read by other tests.
const mostTried = 2000

func FuzzLoadJSON(f *testing.F) {
	for _, seed := range []string{
		`{"name": "Sunday", "patch": ` + onePatch + `, "cues": ` + oneCue + `}`,
		`{"patch": "patch.csv", "pach": 1, "order": [{"name": "x", "duration_s": 1e999}]}`,
		"\xEF\xBB\xBF{}", "{\"a\": \"\xFC\"}", "\xFF\xFE{\x00}\x00", "[[", "", `{"room": null, "room": {"places": [{"name": "a", "x": 0}]}}`,
		`{"groups": {"a": "1-6,9"}, "notices": {"haze": "x"}, "types": [{"name": "par", "slots": 1, "emitters": [{"x": 0.3}]}]}`,
	} {
		f.Add(seed)
	}
	for section, text := range seeds(f, "json") {
		f.Add(`{"` + section + `": ` + text + `}`)
	}
	f.Fuzz(func(t *testing.T, text string) {
		text = text[:min(len(text), mostTried)]
		r := fromStdin(t, text)
		if r.Unreadable && len(r.Findings) == 0 {
			t.Fatal("unreadable without a word")
		}
		if r.Show.At.IsZero() {
			return
		}
		var b strings.Builder
		asJSON(&b, r.Show.At)
		again := fromStdin(t, b.String())
		if diff := cmp.Diff(r.Show, again.Show, sameShow); diff != "" {
			t.Fatalf("(-first +again):\n%s", diff)
		}
		if len(r.Findings) != len(again.Findings) {
			t.Fatalf("%d findings, then %d: %s", len(r.Findings), len(again.Findings), b.String())
		}
	})
}

// fromTable reads a table without a folder around it.
func fromTable(section string, data []byte) (Result, source.Ref, bool) {
	l := &loader{folder: ".", lit: map[*schema.Type]bool{}, result: Result{Name: "fuzz", Show: &schema.Show{}}, counts: map[countKey]*count{}}
	root, ok := l.readOne(&table.Format, section, l.addFile(section+".csv"), string(data))
	if ok {
		l.take(section, root)
	}
	return l.finish(), root, ok
}

func FuzzLoadCSV(f *testing.F) {
	for _, seed := range []string{
		"channel,name,address\n1,\"a\"\"b\",1.1\n", "channel;hung_x;hung_y;hung_z;shutters;groups\r\n1;3,5;2;1;top 30,5/-2;a+b\r\n", "\xEF\xBB\xBFch\tuniverse\tslot\r1\t2\t3",
		"cue,part,in_s,channels,level,mix,palette,screen\n1,,1:20,\"1-6\",Full,red=1 b=2,#aabbcc,w\n,2,,,,,,\n", "cue;level\n1;70,5%\n1;x\n2;", "name,duration,people\na,1:2:3,a;b\n",
		toUTF16("cue,x,y,aim\n1,.3,.3,a", false), "cue,channels\n1,\"", "\"cue\"\"", "cue,name\n\xFC,\x80", "\"\"0",
	} {
		for i := range table.Format.Holds {
			f.Add(byte(i), []byte(seed))
		}
	}
	const lines = 8 // a whole table would be read so slowly that little is tried
	texts := seeds(f, "csv")
	for i := range table.Format.Holds {
		rows := strings.SplitAfter(texts[table.Format.Holds[i]], "\n")
		f.Add(byte(i), []byte(strings.Join(rows[:min(len(rows), lines)], "")))
	}
	for i, seed := range []string{
		"Rig of the hall;;\nPrinted 3.11.;;\nHeight (mm);Unit name;Channel no.\n4800;a;1\nBACK;;\nTotal;1;\n", "Cues,Ch 1,Ch 2,Level (0-255)\n1,255,--,\n2-4,51,FF,7\n",
		"Pos;Element;Length;LX cue\n1;Song;25 min;2\n;Total;25 min;\n", "Where,Lux,Kelvin,Height (ft)\na,3,,5\n", "Cue,Channels,Level,Red,Green,Blue,Colour\n1,1,50%,1,0.5,0,#ff8000\n",
	} {
		f.Add(byte(i), []byte(seed))
	}
	f.Fuzz(func(t *testing.T, which byte, data []byte) {
		data = data[:min(len(data), mostTried)]
		section := table.Format.Holds[int(which)%len(table.Format.Holds)]
		r, root, ok := fromTable(section, data)
		checkFindings(t, r)
		if !ok {
			if len(r.Findings) == 0 || !r.Unreadable {
				t.Fatal("not read without a word")
			}
			return
		}
		checkTree(t, root)
		var b strings.Builder
		asJSON(&b, root)
		again := fromStdin(t, `{"`+section+`":`+b.String()+`}`)
		if diff := cmp.Diff(r.Show, again.Show, sameShow); diff != "" {
			t.Fatalf("(-CSV +JSON):\n%s", diff)
		}
		for _, finding := range again.Findings {
			switch finding.Rule { // a table must never make a tree that a text could not
			case "file/syntax", "file/key-twice", "file/number-range", "file/unknown-key":
				t.Fatalf("%s in %s", finding.Message, b.String())
			}
		}
	})
}

// checkTree makes sure that every value has a place within the text.
func checkTree(t *testing.T, ref source.Ref) {
	t.Helper()
	for _, place := range []source.Place{ref.Place(), ref.KeyPlace()} {
		if place.Start < 0 || place.Stop < place.Start || place.Stop > len(ref.File.Text) {
			t.Fatalf("%s stands at %d-%d of %d", ref.Pointer(), place.Start, place.Stop, len(ref.File.Text))
		}
	}
	for item := range ref.Items() {
		checkTree(t, item)
	}
}
