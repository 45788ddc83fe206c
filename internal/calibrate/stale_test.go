package calibrate

import (
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// A reading is stale if its own light is another: of that cue at that place, or of that lamp.
func TestStale(t *testing.T) {
	show := hall(t, `{"place": "lectern", "cue": 1, "lx": 100}, {"place": "lectern", "cue": 2, "white_k": 5000},
		{"place": "lectern", "channels": "1", "lx": 100}, {"place": "drums", "channels": "4", "lx": 100}, {"place": "lectern", "lx": 4}`)
	set := func(cue, setting int) source.Ref { return show.Cues[cue].Set[setting].At }
	lamp := show.Patch[0].At
	for _, tc := range []struct {
		what string
		edit source.Edit
		want string
	}{
		{"less than a meter shows", source.Edit{At: set(0, 0), Field: "level", Value: 60.3}, ""},
		{"more than that", source.Edit{At: set(0, 0), Field: "level", Value: 61.5}, "at lectern in cue 1"},
		{"another cue", source.Edit{At: set(1, 1), Field: "level", Value: 0.0}, "at lectern in cue 2"},
		{"the aim of a lamp", source.Edit{At: lamp, Field: "aimed_at", Value: "drums"}, "at lectern in cue 1; at lectern with channels 1 alone"},
		{"its zoom", source.Edit{At: lamp, Field: "zoom_deg", Value: 40.0}, ""}, // of a lamp that has none
		{"a name", source.Edit{At: lamp, Field: "name", Value: "front"}, ""},
	} {
		after, err := schema.Apply(show, []source.Edit{tc.edit})
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, r := range Stale(show, after) {
			if got != "" {
				got += "; "
			}
			got += Where(r)
		}
		if got != tc.want {
			t.Errorf("%s: %q, want %q", tc.what, got, tc.want)
		}
	}
	gone, err := schema.Apply(show, []source.Edit{{At: set(0, 0), Field: "level", Value: 0.0}, {At: show.Readings[0].At, Field: "place"}})
	if err != nil || len(gone.Readings) != 4 || len(show.Readings) != 5 || len(Stale(show, gone)) != 0 {
		t.Errorf("one that is taken out: %v, %d", err, len(gone.Readings))
	}
	if Stale(nil, show) != nil || Stale(show, nil) != nil || Stale(show, &schema.Show{}) != nil {
		t.Error("there is nothing to compare")
	}
}
