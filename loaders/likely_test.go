package loaders

import (
	"os"
	"path/filepath"
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
