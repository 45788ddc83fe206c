package bigshow

import (
	"bytes"
	"errors"
	"testing"

	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
)

func written(t *testing.T, size Size) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, size); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAShowOfAnySizeIsSound(t *testing.T) {
	for _, size := range []Size{{1, 1, 1}, {7, 3, 40}, {100, 50, 8}, {333, 121, 40}, {2000, 60, 40}} {
		data := written(t, size)
		if !bytes.Equal(data, written(t, size)) {
			t.Errorf("%+v: two different shows", size)
		}
		read, err := loaders.Load("-", loaders.Options{Stdin: bytes.NewReader(data)})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range read.Findings {
			t.Errorf("%+v: line %d: %s", size, f.Place.Span().Start.Line, f.Message)
		}
		show := read.Show
		if len(show.Patch) != size.Fixtures || len(show.Cues) != size.Cues {
			t.Errorf("%+v: %d fixtures and %d cues", size, len(show.Patch), len(show.Cues))
		}
		looks := tracking.Resolve(show)
		if len(looks) != size.Cues {
			t.Errorf("%+v: %d looks", size, len(looks))
		}
		for i := range looks {
			if looks[i].Segment == nil {
				t.Errorf("%+v: cue %s is in no segment", size, looks[i].Number)
			}
		}
	}
}

func TestTheBigShowIsAsBigAsPromised(t *testing.T) {
	size := len(written(t, Size{}))
	if size < 18e6 || size > 22e6 {
		t.Errorf("the big show has %d bytes; about 20 MB are promised", size)
	}
}

func TestItGrowsInStep(t *testing.T) {
	base := len(written(t, Size{500, 200, 40}))
	for _, double := range []Size{{1000, 200, 40}, {500, 400, 40}} {
		ratio := float64(len(written(t, double))) / float64(base)
		if ratio < 1.8 || ratio > 2.1 {
			t.Errorf("twice the size is %.2f times the bytes: %+v", ratio, double)
		}
	}
}

type full struct{}

var errFull = errors.New("the disk is full")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestAFullDiskIsAnError(t *testing.T) {
	if err := Write(full{}, Size{10, 10, 1}); !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
}
