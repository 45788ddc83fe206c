package lint

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Where an earlier state is known, what was turned since goes back: here the cameras, and
// not the sixteen lamps that could follow them.
func TestTheValueOfTheBaseIsOfferedFirst(t *testing.T) {
	before := filepath.Join("..", "..", "testdata", "shows", "mended")
	after := t.TempDir()
	if err := os.CopyFS(after, os.DirFS(before)); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(after, "room.json")
	room, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	turned := strings.ReplaceAll(string(room), `"white_k": 5600, "aperture_f"`, `"white_k": 4300, "aperture_f"`)
	if turned == string(room) {
		t.Fatal("no camera was turned")
	}
	if err := os.WriteFile(name, []byte(turned), 0o600); err != nil {
		t.Fatal(err)
	}
	told := run(t, after, Options{Rules: everyRule(t), Base: before, House: HouseOptions{None: true}})
	if len(told.Orders) != 1 {
		t.Fatalf("orders %v", doing(told))
	}
	for _, e := range told.Orders[0].Edits {
		if e.What != "camera" || e.Key != "white_k" || e.To != 5600.0 || len(e.Names) != 3 {
			t.Errorf("%+v", e)
		}
	}
}
