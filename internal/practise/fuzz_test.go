package practise

import (
	"bytes"
	"io/fs"
	"testing"

	"github.com/cueproof/cueproof/rules"
)

// FuzzRecipe reads what somebody wrote as break.yaml: it is a recipe or it is refused.
func FuzzRecipe(f *testing.F) {
	own, err := fs.Glob(rules.BuiltIn(), "*/*/break.yaml")
	if err != nil || len(own) == 0 {
		f.Fatal(err, len(own))
	}
	for _, name := range own[:5] {
		data, err := fs.ReadFile(rules.BuiltIn(), name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("each: [patch\n"))
	f.Add([]byte("&a [*a, *a]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if recipe, err := parse(data); (recipe == nil) == (err == nil) || err != nil && err.Error() == "" {
			t.Fatalf("%v, %v", recipe, err)
		}
	})
}

// FuzzReadMemory: what is read of a memory is written so that it is read as the same.
func FuzzReadMemory(f *testing.F) {
	m := &Memory{}
	m.missed("white/key-mix", "2026-03-01")
	data, err := m.Bytes()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{}`))
	f.Add([]byte(`[`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadMemory(data)
		if err != nil {
			return
		}
		once, err := m.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		again, err := ReadMemory(once)
		if err != nil {
			t.Fatalf("%s is not read again: %v", once, err)
		}
		if twice, err := again.Bytes(); err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("%s becomes %s (%v)", once, twice, err)
		}
		m.Due("2026-03-08")
	})
}
