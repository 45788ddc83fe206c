// Package schematest reads the shows that tests write.
package schematest

import (
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// T is a test, a benchmark or a property.
type T interface {
	Helper()
	Fatalf(format string, args ...any)
}

// Read reads a whole show from one document of JSON as the loaders do, so that every thing has its
// place, but without their findings. The test ends where something is wrong with the document.
func Read(t T, text string) *schema.Show {
	t.Helper()
	file := &source.File{Name: "show.json", Text: text}
	if problems, ok := source.ParseJSON(file); !ok || len(problems) > 0 {
		t.Fatalf("the show of the test is no JSON: %v\n%s", problems, text)
	}
	show := &schema.Show{}
	show.ReadHead(file.Root())
	for _, section := range schema.Sections {
		if ref, ok := file.Root().Get(section); ok {
			show.Read(section, ref)
		}
	}
	return show
}
