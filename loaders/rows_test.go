package loaders_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
)

// tabled are tables as booths keep them: a cue list with a row for each setting, one with a column for each channel, numbers with
// a comma or a unit, columns that are left out.
var tabled = []struct {
	name  string
	files map[string]string
}{
	{"rows", map[string]string{
		"patch.csv":    "Chan,Label,Fixture Type,Mode,DMX,Hang,Focus,Circuit,Purpose,Zoom,White\n1,Key L,spot,2 ch,1/1,Front,desk,D1,key,26,5600\n2,Key R,spot,2 ch,1/3,Front,desk,D1,key,26,\n3,Wash,can,6 ch,1/11,Mid,,,wash,,\n",
		"cues.csv":     "Cue,Item,Label,Channels,Level,White,Zoom,In,Out,Follow,Aim\n1,Talk,Open,1-2,60,,,3,,,\n1,Talk,Open,3,40,3200,,3,,,\n2,Song,Verse,1,50,,30,5,2,,desk\n3,Song,Chorus,all,100,,,,,,\n",
		"order.csv":    "Item,Kind,Cue,Duration\nTalk,talk,1,5:00\nSong,song,2,240\n",
		"readings.csv": "Place,Cue,Lux\ndesk,1,300\ndesk,2,200\n",
	}},
	{"columns", map[string]string{
		"patch.csv": "Channel;Type;Address\r\n1;spot;1.1\r\n2;spot;1.3\r\n3;can;1.11\r\n",
		"cues.csv":  "Cue;Label;1;2;3;In\r\n1;Open;60;60;40;3,5\r\n2;\"Verse; loud\";50;;0;\r\n3;Chorus;;100;;5\r\n",
	}},
	{"percent", map[string]string{
		"patch.tsv": "Chan\tType\tUniverse\tStart\n1\tspot\t1\t1\n2\tspot\t1\t3\n",
		"cues.tsv":  "Cue\tChannels\tLevel\tTime\n1\t1\t60 %\t3s\n1.5\t1-2\tFull\t0:05\n2\t\t\t3s\n",
	}},
}

// TestChangesInTables: each change of each row as it is written into its table, or why it is not. CUEPROOF_UPDATE=1 writes what
// comes out; a table that was written is read again and says what was meant.
func TestChangesInTables(t *testing.T) {
	var got strings.Builder
	for _, table := range tabled {
		folder := t.TempDir()
		for name, text := range table.files {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		loaded := load(t, folder)
		fmt.Fprintf(&got, "== %s\n", table.name)
		for _, edits := range changesOf(loaded.Show) {
			var words []string
			for _, e := range edits {
				words = append(words, fmt.Sprintf("%s of %s %v", e.Field, where(folder, e.At), e.Only))
			}
			fmt.Fprintf(&got, "%s = %v: ", strings.Join(words, ", "), edits[0].Value)
			want, err := schema.Apply(loaded.Show, edits)
			if err != nil {
				fmt.Fprintln(&got, "makes no sense")
				continue
			}
			list, err := loaders.Replacements(loaded.Show, edits, loaders.Options{})
			if err != nil {
				fmt.Fprintln(&got, strings.ReplaceAll(err.Error(), folder+string(filepath.Separator), ""))
				continue
			}
			to := t.TempDir()
			written(t, loaded, folder, to, list)
			fmt.Fprintln(&got, strings.Join(changedLines(t, folder, to), " | "))
			again := load(t, to).Show
			if diff := cmp.Diff(done(want), done(again)); diff != "" {
				t.Errorf("%s: %v does something else\n%s", table.name, words, diff)
			}
			if diff := cmp.Diff(want, again, content); diff != "" && table.name != "columns" { // where a cell is all that a look says of a channel
				t.Errorf("%s: %v\n%s", table.name, words, diff)
			}
		}
	}
	const golden = "testdata/tables.txt"
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	before, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(before), "\n"), strings.Split(got.String(), "\n")); diff != "" {
		t.Errorf("tables are written otherwise (CUEPROOF_UPDATE=1 writes what comes out):\n%.3000s", diff)
	}
}

// changesOf are changes of each thing of a show, each alone, and some together.
func changesOf(s *schema.Show) (list [][]source.Edit) {
	add := func(at source.Ref, only []int, fields ...any) {
		for i := 0; i < len(fields); i += 2 {
			list = append(list, []source.Edit{{At: at, Field: fields[i].(string), Value: fields[i+1], Only: only}})
		}
	}
	for _, f := range s.Patch[:2] {
		add(f.At, nil, "address", "2.500", "type", "lamp, new", "mode", "8 ch", "aimed_at", "pulpit", "circuit", "D 2", "purpose", "fill", "zoom_deg", 30.5, "white_k", 3200.0, "white_k", nil, "hung_on", "Back \"low\"", "channel", 9.0, "shutters", nil, "name", "Key")
	}
	for _, c := range s.Cues {
		add(c.At, nil, "in_s", 4.5, "in_s", 65.0, "in_s", nil, "out_s", 1.0, "follow_s", 2.0, "at_s", 10.0, "name", "Other; \"look\"", "segment", "Talk")
		add(c.At, []int{1}, "level", 0.0, "level", 33.3, "white_k", 4000.0)
		add(c.At, []int{3}, "level", 12.0)
		for _, set := range c.Set {
			add(set.At, nil, "level", 70.0, "level", 100.0, "level", nil, "channels", "2", "zoom_deg", 40.0, "aim", "pulpit", "strobe_hz", 3.0)
			add(set.At, []int{2}, "level", 20.0, "level", 12.5)
		}
	}
	for _, o := range s.Order {
		add(o.At, nil, "kind", "film", "duration_s", 90.0, "duration_s", 3661.0, "duration_s", nil, "start_cue", 3.0, "name", "Break", "mood", "loud")
	}
	if last := len(s.Cues) - 1; last > 0 {
		list = append(list, []source.Edit{{At: s.Cues[0].At, Field: "in_s", Value: 7.0}, {At: s.Cues[last].At, Field: "in_s", Value: 8.0}, {At: s.Patch[0].At, Field: "address", Value: "1.77"}})
	}
	return list
}

// done is what the looks of a show do.
func done(s *schema.Show) (list []string) {
	for _, look := range tracking.Resolve(s) {
		line := fmt.Sprintf("%s %q in %v:", look.Number, look.Name(), look.Cue().InS != nil)
		if in := look.Cue().InS; in != nil {
			line += fmt.Sprint(" ", *in)
		}
		for channel := range 10 {
			line += fmt.Sprintf(" %g", look.State(channel).Level)
		}
		list = append(list, line)
	}
	return list
}

// where is a row of a file.
func where(folder string, at source.Ref) string {
	name, _ := filepath.Rel(folder, at.File.Name)
	return fmt.Sprintf("%s:%d", name, at.Place().Span().Start.Line)
}

// changedLines are the lines of a folder that are others than those of another.
func changedLines(t *testing.T, from, to string) (list []string) {
	files, err := filepath.Glob(filepath.Join(to, "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		now, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		then, err := os.ReadFile(filepath.Join(from, filepath.Base(name)))
		if err != nil {
			t.Fatal(err)
		}
		a, b := strings.Split(string(then), "\n"), strings.Split(string(now), "\n")
		if len(a) != len(b) {
			list = append(list, fmt.Sprintf("%d lines are %d", len(a), len(b)))
		}
		for i := range b {
			if i >= len(a) || a[i] != b[i] {
				list = append(list, fmt.Sprintf("%q", b[i]))
			}
		}
	}
	return list
}
