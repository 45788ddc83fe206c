package main

import (
	"bytes"
	"io"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

// takesFiles lists every place of a command line where a file or a folder is named, as W.
var takesFiles = []string{
	"accept W --rule air/haze-late --reason r --by b", "accept show --rule air/haze-late --reason r --by b --house W", "accept show --rule air/haze-late --reason r --by b --history W",
	"ask dark --show W", "ask dark --rules W", "ask dark --house W", "booth W", "booth show --rules W",
	"check W", "check show --base W", "check show --history W", "check show --house W", "check show --rules W", "check show --root W", "check show --out W", "check show --try W",
	"compare W show", "compare show W", "compare show show --out W", "convert W --into OUT", "convert show --into W",
	"explain white/key-mix --show W", "explain white/key-mix --rules W", "explain --all --format html --out W", "house W", "house show --house W",
	"measure W", "measure show --out W", "paper W", "paper show --out W", "picture stage W", "picture stage show --out W",
	"practise W --into OUT", "practise --into W", "practise W --look", "practise W --hint", "practise OUT --page W", "rules --rules W", "rules --house W", "rules new a/b --in W", "rules test W",
	"schema --columns W", "start W", "start show --answers W", "verify W show", "verify receipt.json W", "waivers W", "waivers show --base W", "waivers show --history W",
}

// TestFilesOfAnotherKind names, wherever a command takes a file or a folder, one that is not
// there and some of another kind. Nothing is our own fault then, what is refused is refused
// with a word that names it, and leaves everything as it was.
func TestFilesOfAnotherKind(t *testing.T) {
	t.Chdir(t.TempDir())
	png := "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"
	for name, text := range map[string]string{
		"folder/note.txt": "x", "broken.json": `{"a": 1,,`, "show.json": `{"a": 1}`, "empty.csv": "", "picture.csv": png, "json.csv": `[{"channel": 1}]`, "text.txt": "Hello\n", "page.html": "<!doctype html>\n<a,b>\n",
		"show/show.json":  `{"name": "Small", "patch": [{"channel": 1}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 50}]}]}`,
		"show/house.yaml": "waivers:\n  - {rule: air/haze-late, subject: a song, reason: r, by: b, until: 2026-12-31}\n",
	} {
		writeBeside(t, name, text)
	}
	if code := run([]string{"check", "--format", "json", "--out", "receipt.json", "show"}, strings.NewReader(""), io.Discard, io.Discard); code > exitNothing || code == exitMisuse {
		t.Fatal(code)
	}
	files := func() map[string]string {
		all := map[string]string{}
		err := fs.WalkDir(os.DirFS("."), ".", func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				all[name] = "a folder"
				return err
			}
			data, err := os.ReadFile(name)
			all[name] = string(data)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	before := files()
	for _, command := range newRoot().Commands() {
		withFiles := slices.ContainsFunc(takesFiles, func(line string) bool { return strings.HasPrefix(line, command.Name()+" ") })
		if without := slices.Contains([]string{"completion", "help", "licences", "version"}, command.Name()); withFiles == without && !command.Hidden {
			t.Errorf("%s: in the list above %v, and without files %v", command.Name(), withFiles, without)
		}
	}
	kinds := []string{"nosuch/deeper", "folder", "broken.json", "show.json", "empty.csv", "picture.csv", "json.csv", "text.txt"}
	for i, line := range takesFiles {
		for k, wrong := range kinds {
			if !long() && k > 0 && (i+k)%4 > 0 {
				continue
			}
			switch {
			case wrong == "nosuch/deeper" && (strings.Contains(line, "--into W") || strings.Contains(line, "--try W")): // a new folder, with those above it
				continue
			case wrong == "empty.csv" && strings.Contains(line, "--out W"), wrong == "folder" && strings.Contains(line, "--in W"): // nothing is wrong
				continue
			case line == "booth W" && wrong != "nosuch/deeper" && !strings.HasSuffix(wrong, ".csv"): // it waits until this is a show
				continue
			}
			args := strings.Fields(strings.ReplaceAll(line, "W", wrong))
			var stdout, stderr bytes.Buffer
			code := run(args, strings.NewReader(""), &stdout, &stderr)
			said := stdout.String() + stderr.String()
			if code == exitFault || code == exitMisuse && (!strings.Contains(said, wrong) && !strings.Contains(said, "OUT") || stdout.Len() > 0) {
				t.Errorf("%s ends with %d\n%s", strings.Join(args, " "), code, said)
			}
			if after := files(); !maps.Equal(after, before) {
				t.Errorf("%s ends with %d and changes what is there", strings.Join(args, " "), code)
				before = after
			}
		}
	}
	for _, wrong := range []string{"nosuch", "folder", "broken.json", "show.json", "empty.csv", "picture.csv", "json.csv", "text.txt", "page.html"} {
		var stdout, stderr bytes.Buffer
		if code := run([]string{"schema", "--columns", wrong}, strings.NewReader(""), &stdout, &stderr); code != exitMisuse {
			t.Errorf("%s as a table ends with %d\n%s", wrong, code, stdout.String())
		}
	}
}

func writeBeside(t *testing.T, name, text string) {
	t.Helper()
	if folder, _, deeper := strings.Cut(name, "/"); deeper {
		if err := os.MkdirAll(folder, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
