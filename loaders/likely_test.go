package loaders

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every section of the demo shows is known by its keys, and what is none is not.
func TestASectionIsKnownByItsKeys(t *testing.T) {
	for _, section := range []string{"patch", "cues", "order", "types", "room"} {
		for _, show := range []string{"mended", "flawed"} {
			data, err := os.ReadFile(filepath.Join("../testdata/shows", show, section+".json"))
			if err != nil {
				t.Fatal(err)
			}
			if got := likelySection(data); got != section {
				t.Errorf("%s of %s is taken for %q", section, show, got)
			}
		}
	}
	for text, want := range map[string]string{
		`{"strobe": "a sign", "haze": "a word"}`: "notices",
		`[]`:                                     "",
		`[1, 2]`:                                 "",
		`{"name": "x", "version": "1.0.0", "scripts": {}}`:               "",
		`[{"name": "x", "note": "y"}]`:                                   "",
		`[{"channel": 1}]`:                                               "",
		`{"schema": "cueproof-findings-1", "version": "1", "shows": []}`: "",
		`{`: "",
	} {
		if got := likelySection([]byte(text)); got != want {
			t.Errorf("%s is taken for %q, want %q", text, got, want)
		}
	}
}

// Of files that are probably sections three are named.
func TestLikelyFilesAreNamed(t *testing.T) {
	for n := 1; n <= 5; n++ {
		list := map[string]string{}
		for i := range n {
			list[fmt.Sprintf("list %d.json", i)] = `[{"channel": 1, "address": "1.1", "type": "a"}]`
		}
		r := load(t, files(t, list))
		if got := strings.Count(messages(r.Findings), "which is probably the section patch"); got != min(n, 3) {
			t.Errorf("of %d files %d are named:\n%s", n, got, messages(r.Findings))
		}
	}
}
