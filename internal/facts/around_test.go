package facts

import (
	"testing"

	"github.com/cueproof/cueproof/schema"
)

// TestWhatIsAlikeAboutALook: looks share what is about them where all of it is the same.
func TestWhatIsAlikeAboutALook(t *testing.T) {
	segment, look := &schema.Segment{}, &Look{}
	whole := func() around {
		return around{passes: true, coming: []string{"a"}, moving: []string{"b"}, early: []string{"c"}, earlyIn: segment, late: look, lateS: 3}
	}
	one := whole()
	if other := whole(); !one.is(&other) {
		t.Error("what is the same is not")
	}
	for about, change := range map[string]func(*around){
		"passes": func(a *around) { a.passes = false }, "coming": func(a *around) { a.coming = nil }, "moving": func(a *around) { a.moving = []string{"a"} },
		"early": func(a *around) { a.early = []string{"c", "d"} }, "earlyIn": func(a *around) { a.earlyIn = &schema.Segment{Name: "b"} },
		"late": func(a *around) { a.late = nil }, "lateS": func(a *around) { a.lateS = 4 },
	} {
		other := whole()
		if change(&other); one.is(&other) || other.is(&one) {
			t.Errorf("another %s is the same", about)
		}
	}
}
