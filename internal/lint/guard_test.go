package lint

import (
	"errors"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/rules"
)

// A panic while a show is checked comes back as an error: in a goroutine nobody
// else could catch it.
func TestAPanicComesBackAsAnError(t *testing.T) {
	show := folder(t, map[string]string{"show.json": "{" + purposes("fill") + "}"})
	broken := &rules.Set{Rules: []*rules.Rule{nil}}
	for _, paths := range [][]string{{show}, {show, show, show}} {
		_, err := Run(paths, Options{Rules: broken, House: HouseOptions{None: true}})
		var panicked *cores.Panic
		if !errors.As(err, &panicked) || !strings.Contains(err.Error(), "our own fault") || !strings.Contains(err.Error(), "goroutine") {
			t.Errorf("%d shows: got %v", len(paths), err)
		}
	}
}
