// Package formattest helps to test the readers of show files.
//
// In goes a row of the table of formats and the bytes of a file; out come the
// sections, held against their schemas, and what the reader said.
package formattest

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// Ear is an input that remembers what was said.
type Ear struct {
	*format.Input
	Findings []finding.Finding
	Failed   bool
}

// Listen returns an input with nothing said so far.
func Listen(options format.Options) *Ear {
	e := &Ear{Input: format.Quiet(options)}
	e.Say = func(id string, f finding.Finding) {
		f.Rule = "file/" + id
		e.Findings = append(e.Findings, f)
	}
	e.Fail = func(id string, f finding.Finding) {
		e.Failed = true
		e.Say(id, f)
	}
	e.Entry = func(of *source.File, name string) *source.File { return &source.File{Name: of.Name + "/" + name} }
	return e
}

// Details lists what was said: "plan duplicate-uuid, plan bad-address".
func (e *Ear) Details() string {
	var list []string
	for _, f := range e.Findings {
		list = append(list, strings.TrimPrefix(f.Rule, "file/")+" "+f.Detail)
	}
	return strings.Join(list, ", ")
}

// Read reads a file and checks what the reader lays against the schemas.
func Read(t testing.TB, row format.Format, options format.Options, name, data string) (format.Part, *Ear, bool) {
	t.Helper()
	in := Listen(options)
	part, ok := row.Read(in.Input, "", &source.File{Name: name}, data)
	for _, s := range part.Sections {
		for _, f := range schema.Validate(s.Name, s.Root) {
			t.Errorf("%s: %s", s.Name, f.Message)
		}
	}
	return part, in, ok
}

// Sections are what a part holds, by name; lists of one name are joined.
func Sections(part format.Part) map[string]any {
	got := map[string]any{}
	for _, s := range part.Sections {
		value := s.Root.Any()
		if list, ok := value.([]any); ok {
			before, _ := got[s.Name].([]any)
			value = append(before, list...)
		}
		got[s.Name] = value
	}
	return got
}

// Same compares a value with JSON.
func Same(t testing.TB, got any, want string) {
	t.Helper()
	var wanted any
	if err := json.Unmarshal([]byte(want), &wanted); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(wanted, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Losses lists what a file says and the show has no word for, a line each.
func Losses(part format.Part) string {
	var list []string
	for _, l := range part.Losses {
		list = append(list, fmt.Sprintf("%s %d %s", l.Kind, l.Count, l.What))
	}
	return strings.Join(list, "\n")
}

// Zip makes an archive of names and texts, in turn.
func Zip(t testing.TB, entries ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(entries); i += 2 {
		w, err := z.Create(entries[i])
		if err == nil {
			_, err = w.Write([]byte(entries[i+1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
