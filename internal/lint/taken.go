package lint

import (
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
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

// holdsShow reports whether a part of a show stands in a folder.
func holdsShow(folder string) bool {
	entries, _ := os.ReadDir(folder) // a folder that cannot be read cannot be written to either
	return slices.ContainsFunc(entries, func(entry fs.DirEntry) bool {
		_, exactly := loaders.TakenFor(entry.Name())
		return exactly
	})
}

// Holds says what a file of any name holds that the program has not written and
// nobody can make again: a show, a history, or, in the folder of a show, an export.
func Holds(path string, beside bool) string {
	file, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer file.Close()
	if what := heldInJSON(file); what != "" {
		return what
	}
	if !beside && !holdsShow(filepath.Dir(path)) {
		return ""
	}
	head := make([]byte, 4096)
	n, _ := file.ReadAt(head, 0) // the end of a short file is no matter
	ext := strings.ToLower(filepath.Ext(path))
	if loaders.IsExport(path) || loaders.IsJSON(path) || ext == ".csv" && !isOurTable(string(head[:n])) { // our JSON has a mark
		return "taken for an export, as it stands in the folder of a show"
	}
	return ""
}

// isOurTable reports whether a file begins as the facts of one kind do in CSV.
func isOurTable(head string) bool {
	line, _, ended := strings.Cut(head, "\r\n")
	words := strings.Split(line, ",")
	return ended && slices.ContainsFunc(facts.KindNames(), func(kind string) bool {
		known := facts.WordsOf(kind)
		return !slices.ContainsFunc(words, func(word string) bool { return !slices.Contains(known, word) })
	})
}

// heldInJSON knows a show and a history by the members of their object.
func heldInJSON(r io.Reader) string {
	in := json.NewDecoder(r)
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
