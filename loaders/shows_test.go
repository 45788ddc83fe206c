package loaders

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"
)

const shows = "../testdata/shows"

// The test shows are kept in both forms.
func TestShowsSayTheSameInBothForms(t *testing.T) {
	for _, name := range []string{"flawed", "mended"} {
		fromJSON, fromCSV := load(t, filepath.Join(shows, name)), load(t, filepath.Join(shows, name+"-csv"))
		for _, r := range []Result{fromJSON, fromCSV} {
			if len(r.Findings) > 0 || len(r.Show.Patch) < 40 || len(r.Show.Cues) < 30 || len(r.Show.Order) < 5 {
				t.Errorf("%s: %s", r.Files[0].Name, messages(r.Findings))
			}
		}
		if diff := cmp.Diff(fromJSON.Show, fromCSV.Show, sameShow); diff != "" {
			t.Errorf("%s (-JSON +CSV):\n%s", name, diff)
		}
	}
}

// A finding that nobody can look up is half a finding.
func TestEveryProblemIsExplained(t *testing.T) {
	said := regexp.MustCompile(`\.(?:[sS]ay|[fF]ail|sayRow|sayAbout|fileFails)\("([a-z-]+)"`)
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	inFormats, err := filepath.Glob("*/*.go")
	if err != nil {
		t.Fatal(err)
	}
	sources = append(sources, inFormats...)
	ids := map[string]bool{"syntax": true, "key-twice": true, "number-range": true} // these come from package source
	for _, name := range sources {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, match := range said.FindAllSubmatch(text, -1) {
			ids[string(match[1])] = true
		}
	}
	if len(ids) < 20 {
		t.Fatalf("found only %d ids", len(ids))
	}
	for id := range ids {
		if _, err := os.Stat(filepath.Join("..", "schema", "problems", id+".md")); err != nil {
			t.Errorf("file/%s is not explained: %v", id, err)
		}
	}
}

// bigShow writes a very big show in either form: 2,000 fixtures and 2,000 cues.
func bigShow(csv bool) map[string]string {
	var patch, cues strings.Builder
	const fixtures, cueCount, settings = 2000, 2000, 60
	for i := range fixtures {
		if csv {
			fmt.Fprintf(&patch, "%d,Front %d,%d.%d,par,basic,key,front bar,%.2f,4.5,6,lectern,36,\"front; all\"\n", i+1, i+1, 1+i/100, 1+5*(i%100), float64(i%100)/10)
			continue
		}
		fmt.Fprintf(&patch, "  {\"channel\": %d, \"name\": \"Front %d\", \"address\": \"%d.%d\", \"type\": \"par\", \"mode\": \"basic\", \"purpose\": \"key\", \"hung_on\": \"front bar\", "+
			"\"hung_at\": {\"x\": %.2f, \"y\": 4.5, \"z\": 6}, \"aimed_at\": \"lectern\", \"zoom_deg\": 36, \"groups\": [\"front\", \"all\"]},\n", i+1, i+1, 1+i/100, 1+5*(i%100), float64(i%100)/10)
	}
	for i := range cueCount {
		if !csv {
			fmt.Fprintf(&cues, "  {\"cue\": %d, \"name\": \"Verse %d\", \"in_s\": 3.5, \"out_s\": 5, \"set\": [\n", i+1, i+1)
		}
		for j := range settings {
			first := 1 + (i*settings+j)%(fixtures-10)
			if csv {
				fmt.Fprintf(&cues, "%d,Verse %d,3.5,5,\"%d-%d,%d\",%d,%d,red=100 deep blue=20.5,%.1f,lectern,leaves\n", i+1, i+1, first, first+3, first+6, j+20, 3000+j, float64(j)+0.5)
				continue
			}
			comma := ","
			if j == settings-1 {
				comma = "]},"
			}
			fmt.Fprintf(&cues, "    {\"channels\": \"%d-%d,%d\", \"level\": %d, \"white_k\": %d, \"mix\": {\"red\": 100, \"deep blue\": 20.5}, \"zoom_deg\": %.1f, \"aim\": \"lectern\", \"pattern\": \"leaves\"}%s\n",
				first, first+3, first+6, j+20, 3000+j, float64(j)+0.5, comma)
		}
	}
	if csv {
		return map[string]string{
			"patch.csv": "channel,name,address,type,mode,purpose,hung_on,hung_x,hung_y,hung_z,aimed_at,zoom_deg,groups\n" + patch.String(),
			"cues.csv":  "cue,name,in_s,out_s,channels,level,white_k,mix,zoom_deg,aim,pattern\n" + cues.String(),
		}
	}
	list := func(b *strings.Builder) string { return "[\n" + strings.TrimSuffix(b.String(), ",\n") + "\n]\n" }
	return map[string]string{"patch.json": list(&patch), "cues.json": list(&cues)}
}

// tokenPass reads JSON texts once and does nothing with them.
func tokenPass(b *testing.B, texts map[string]string) {
	for _, text := range texts {
		d := jsontext.NewDecoder(strings.NewReader(text))
		for {
			if _, err := d.ReadToken(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
}

// The unit is one bare pass over the tokens of the show's JSON form, timed in
// the same loop: the whole check may take three of them.
func BenchmarkLoad(b *testing.B) {
	texts := bigShow(false)
	for _, form := range []string{"JSON", "CSV"} {
		b.Run(form, func(b *testing.B) {
			folder := files(b, bigShow(form == "CSV"))
			var load, pass time.Duration
			for b.Loop() {
				start := time.Now()
				r, err := Load(folder, Options{})
				load += time.Since(start)
				if err != nil || len(r.Show.Cues) != 2000 || r.Unreadable {
					b.Fatalf("%v\n%s", err, messages(r.Findings))
				}
				start = time.Now()
				tokenPass(b, texts)
				pass += time.Since(start)
			}
			b.ReportMetric(float64(load)/float64(pass), "passes")
		})
	}
}
