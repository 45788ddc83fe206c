package lint

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/loaders"
)

// TakenFor says what a file would be taken for that is no report. Beside tells
// whether something in its folder was read in this run.
func TakenFor(path string, beside bool) string {
	folder, name := filepath.Split(path)
	if folder == "" {
		folder = "."
	}
	if runtime.GOOS == "windows" { // where these lead to the file without them
		name, _, _ = strings.Cut(name, ":")
		name = strings.TrimRight(name, ". ")
	}
	lower := strings.ToLower(name)
	ext := filepath.Ext(lower)
	_, err := os.Stat(path)
	there := err == nil
	what, exactly := loaders.TakenFor(name)
	switch {
	case exactly:
		return what
	case lower == house.FileName:
		return "a house file"
	case lower == "rule.yaml" || lower == "cases.txtar" || lower == "explain.md" && has(folder, "rule.yaml"):
		return "a part of a rule"
	case there && slices.Contains([]string{".yaml", ".yml", ".txtar"}, ext):
		return "a house file or a rule"
	case what != "" && (beside || holdsShow(folder) || holdsShow(filepath.Join(folder, ".."))):
		return what
	}
	return ""
}

func has(folder, name string) bool {
	_, err := os.Lstat(filepath.Join(folder, name))
	return err == nil
}

// holdsShow reports whether a part of a show stands in a folder, or its house file.
func holdsShow(folder string) bool {
	entries, _ := os.ReadDir(folder) // a folder that cannot be read cannot be written to either
	return slices.ContainsFunc(entries, func(entry fs.DirEntry) bool {
		_, exactly := loaders.TakenFor(entry.Name())
		return exactly || strings.EqualFold(entry.Name(), house.FileName)
	})
}

// Holds says what a file of any name is by the members of its JSON: a show, or a
// history, which cannot be made again.
func Holds(path string) string {
	file, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer file.Close()
	in := json.NewDecoder(file)
	if open, err := in.Token(); err != nil || open != json.Delim('{') {
		return ""
	}
	var members []string
	for in.More() {
		key, err := in.Token()
		var value json.RawMessage
		if err != nil || in.Decode(&value) != nil {
			break
		}
		members = append(members, fmt.Sprint(key))
		if key == "schema" && strings.HasPrefix(string(value), `"cueproof-history-`) {
			return "a history"
		}
	}
	if loaders.IsShow(members) {
		return "a show"
	}
	return ""
}
