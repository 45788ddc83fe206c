package dynamics

import "testing"

// TestJustUnderATenthOfTheTime: what is held for 9.95 % of the time sets no range, and for 10.05 % it does.
func TestJustUnderATenthOfTheTime(t *testing.T) {
	for quiet, want := range map[float64]float64{99.5: 0, 100.5: 2} {
		c, err := New([]Piece{{0, quiet, 1, 1}, {quiet, 1000, 4, 4}})
		if err != nil {
			t.Fatal(err)
		}
		if r, ok := c.Range(); !ok || r.Stops != want {
			t.Errorf("a quarter of the light for %v of 1000 s: %v stops, want %v", quiet, r.Stops, want)
		}
	}
}

// TestNearIsAsFarAsStopsSay: what is so many stops under the most counts as within so many stops of it.
func TestNearIsAsFarAsStopsSay(t *testing.T) {
	for a := 1.0; a < 201; a++ {
		c, err := New([]Piece{{0, 1, a, a}, {1, 2, 201, 201}})
		if err != nil {
			t.Fatal(err)
		}
		stops, _ := Stops(a, 201)
		if share, ok := c.Near(stops); !ok || share != 1 {
			t.Errorf("%v of 201 is %v stops under it, and %v of the time counts", a, stops, share)
		}
	}
}
