package facts

import (
	"fmt"
	"math"
	"os"
	"path/filepath"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// litLooks are all looks of a rig as light, each in memory of its own.
func litLooks(r *stage.Rig, looks []tracking.Look) []*stage.LookLight {
	walk := r.Walk()
	list := make([]*stage.LookLight, len(looks))
	for i := range looks {
		list[i] = &stage.LookLight{}
		walk.To(&looks[i], list[i])
	}
	return list
}

// lampsOf are the lamps of a look, lit ones.
func lampsOf(m *Measured, look int) []*Lamp {
	for l, lit := range m.Lit() {
		if l == m.Looks[look] {
			return newLamps(lit.Lamps)
		}
	}
	return nil
}

// stopper is a test, a benchmark or a property.
type stopper interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// readShow reads a whole show as the loaders do, but without their findings.
func readShow(t stopper, text string) *schema.Show {
	t.Helper()
	show := &schema.Show{}
	root := parse(t, "show.json", text)
	show.ReadHead(root)
	for _, section := range schema.Sections {
		if ref, ok := root.Get(section); ok {
			show.Read(section, ref)
		}
	}
	return show
}

func parse(t stopper, name, text string) source.Ref {
	t.Helper()
	file := &source.File{Name: name, Text: text}
	if problems, ok := source.ParseJSON(file); !ok {
		t.Fatalf("%s is not JSON: %v", name, problems)
	}
	return file.Root()
}

// demo reads one of the demo shows.
func demo(t stopper, name string) *schema.Show {
	t.Helper()
	folder := filepath.Join("..", "..", "testdata", "shows", name)
	show := &schema.Show{}
	show.ReadHead(parse(t, "show.json", readFileText(t, filepath.Join(folder, "show.json"))))
	for _, section := range schema.Sections {
		data, err := os.ReadFile(filepath.Join(folder, section+".json"))
		if err != nil {
			continue
		}
		show.Read(section, parse(t, section+".json", string(data)))
	}
	if len(show.Patch) == 0 || len(show.Cues) == 0 {
		t.Fatalf("the demo show %s has no patch or no cues", name)
	}
	return show
}

func readFileText(t stopper, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// measured takes a show through resolving and measuring.
func measured(show *schema.Show) *Measured { return Measure(show, tracking.Resolve(show)) }

// factText is a fact for messages.
func factText(f *float64) string {
	if f == nil {
		return "unknown"
	}
	return fmt.Sprintf("%.9g", *f)
}

// isNear reports whether a fact is known and within a tolerance of a number.
func isNear(f *float64, want, tolerance float64) bool {
	return f != nil && math.Abs(*f-want) <= tolerance
}
