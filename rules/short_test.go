package rules

import (
	"encoding/json"
	"io/fs"
	"os"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
)

// TestShortIsWhatTheFilesSay holds the short form of the rules against their files. A line
// that was made from another state of its file is not used, so it is no mistake until CI
// finds that a rewrite of all goldens changes it.
func TestShortIsWhatTheFilesSay(t *testing.T) {
	var lines []string
	used := 0
	for _, name := range glob(BuiltIn(), "*/*/rule.yaml") {
		data, err := fs.ReadFile(BuiltIn(), name)
		if err != nil {
			t.Fatal(err)
		}
		id := path.Dir(name)
		file := &source.File{Name: name, Text: string(data)}
		if problem := source.ParseYAML(file); problem != nil {
			t.Fatalf("%s: %s", name, problem.Message)
		}
		var want, got strings.Builder
		writeJSON(&want, file.Root())
		lines = append(lines, `{"id":`+quoted(id)+`,"sum":`+quoted(sumOf(data))+`,"rule":`+want.String()+"}")
		line := shorts()[id]
		if line.sum != sumOf(data) {
			t.Logf("%s is read from its file, which is slower: CUEPROOF_UPDATE=1 go test ./rules -run Short", id)
			continue
		}
		used++
		if writeJSON(&got, line.rule); got.String() != want.String() {
			t.Errorf("%s is in its file\n%s\nand in short\n%s", id, want.String(), got.String())
		}
	}
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile("short.json", []byte("[\n"+strings.Join(lines, ",\n")+"\n]\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if used < len(lines)/2 {
		t.Errorf("%d of %d rules can be read in short", used, len(lines))
	}
}

// writeJSON writes a value with its members in their order.
func writeJSON(to *strings.Builder, ref source.Ref) {
	switch ref.Kind() {
	case source.Object:
		before := "{"
		for member := range ref.Items() {
			to.WriteString(before + quoted(member.Key()) + ":")
			writeJSON(to, member)
			before = ","
		}
		to.WriteString(map[string]string{"{": "{}"}[before] + map[string]string{",": "}"}[before])
	case source.Array:
		before := "["
		for item := range ref.Items() {
			to.WriteString(before)
			writeJSON(to, item)
			before = ","
		}
		to.WriteString(map[string]string{"[": "[]"}[before] + map[string]string{",": "]"}[before])
	case source.Number:
		number, _ := ref.Float()
		to.WriteString(strconv.FormatFloat(number, 'g', -1, 64))
	case source.String:
		to.WriteString(quoted(ref.Str()))
	default:
		plain, _ := json.Marshal(ref.Any())
		to.Write(plain)
	}
}

func quoted(text string) string {
	var out strings.Builder
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	_ = e.Encode(text)
	return strings.TrimSuffix(out.String(), "\n")
}
