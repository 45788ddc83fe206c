package season_test

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"sort"
	"testing"

	"github.com/cueproof/cueproof/internal/season"
)

func base(t *testing.T) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/judgement/tallow/base.json")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The same seed gives the same year, and another seed another one.
func TestAYearIsFixedByItsSeed(t *testing.T) {
	one, err := season.Year(base(t), 7, 8)
	if err != nil {
		t.Fatal(err)
	}
	again, _ := season.Year(base(t), 7, 8)
	other, _ := season.Year(base(t), 8, 8)
	differ := false
	for i := range one {
		if !bytes.Equal(one[i].Show, again[i].Show) || !bytes.Equal(one[i].Plain, again[i].Plain) {
			t.Fatalf("service %d differs with the same seed", i)
		}
		differ = differ || !bytes.Equal(one[i].Show, other[i].Show)
	}
	if !differ {
		t.Error("two seeds gave one year")
	}
}

// Every kind of fault comes, those that have sizes grow, and every fault changes the show.
func TestEveryFaultComesAndGoes(t *testing.T) {
	services, err := season.Year(base(t), 1, 52)
	if err != nil {
		t.Fatal(err)
	}
	if len(services) != 104 {
		t.Fatalf("%d services, want two a week", len(services))
	}
	did := map[string]int{}
	for i, service := range services {
		for _, edit := range service.Edits {
			did[edit]++
		}
		if i > 0 && !slices.Equal(service.Faults, services[i-1].Faults) && samePlain(t, service.Plain, services[i-1].Plain) {
			t.Errorf("service %d has other faults (%v) than the one before (%v) and the same show", i, service.Faults, services[i-1].Faults)
		}
	}
	for _, kind := range []string{
		"address-clash", "address-out-of-range", "channel-twice", "camera-white", "channel-unknown",
		"no-word-about-smoke", "circuit-overload", "key-too-low", "screen-too-bright", "strobe-too-fast",
	} {
		if did["put in "+kind] == 0 || did["took out "+kind] == 0 {
			t.Errorf("%s was put in %d times and taken out %d times", kind, did["put in "+kind], did["took out "+kind])
		}
	}
	for _, kind := range []string{"camera-white", "circuit-overload", "key-too-low", "screen-too-bright", "strobe-too-fast"} {
		if did["made worse "+kind] == 0 {
			t.Errorf("%s never got worse", kind)
		}
	}
}

// samePlain compares two shows but for their day.
func samePlain(t *testing.T, a, b []byte) bool {
	t.Helper()
	var one, other map[string]any
	for data, into := range map[*[]byte]*map[string]any{&a: &one, &b: &other} {
		if err := json.Unmarshal(*data, into); err != nil {
			t.Fatal(err)
		}
		delete(*into, "date")
	}
	x, _ := json.Marshal(one)
	y, _ := json.Marshal(other)
	return bytes.Equal(x, y)
}

// A dress changes words, numbers and order, and nothing else: as many fixtures, cues and settings with the same levels.
func TestADressChangesNothingThatIsSeen(t *testing.T) {
	services, err := season.Year(base(t), 3, 20)
	if err != nil {
		t.Fatal(err)
	}
	for i, service := range services {
		if plain, dressed := levels(t, service.Plain), levels(t, service.Show); !slices.Equal(plain, dressed) {
			t.Fatalf("service %d: the levels of the cues differ: %v and %v", i, plain, dressed)
		}
	}
}

// levels returns all levels of the cues in the order of their numbers.
func levels(t *testing.T, data []byte) (all []float64) {
	t.Helper()
	var s struct {
		Cues []struct {
			Cue float64
			Set []struct{ Level float64 }
		}
	}
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	sort.Slice(s.Cues, func(i, j int) bool { return s.Cues[i].Cue < s.Cues[j].Cue })
	for _, cue := range s.Cues {
		for _, set := range cue.Set {
			all = append(all, set.Level)
		}
	}
	return all
}

func TestWhatIsNoShow(t *testing.T) {
	if _, err := season.Year([]byte("[1"), 1, 1); err == nil {
		t.Error("half a list made a year")
	}
}
