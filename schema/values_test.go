package schema

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"
)

func TestLevels(t *testing.T) {
	for text, want := range map[string]Level{
		"0": 0, "70": 70, "70%": 70, "70 %": 70, " 70 ": 70, "70\u00a0%": 70, "70.5": 70.5, "100": 100, "100.0": 100, "007": 7,
		"Full": 100, "FULL": 100, ".5": 0.5, "5.": 5,
	} {
		if got, err := ParseLevel(text); err != nil || got != want {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", " ", "%", ".", "-1", "100.1", "101", "1e1", "0x10", "NaN", "Inf", "1_0", "7 0", "seventy", "Fl%", "70%%", "٧٠", strings.Repeat("9", 1000)} {
		if got, err := ParseLevel(text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		} else if len(err.Error()) > 200 {
			t.Errorf("the error repeats %d characters of the file", len(err.Error()))
		}
	}
}

func TestCueNumbers(t *testing.T) {
	for text, want := range map[string]string{
		"0": "0", "12": "12", "12.5": "12.5", "1.10": "1.1", "1.1": "1.1", "1.01": "1.01", "0.0001": "0.0001",
		"999999.9999": "999999.9999", " 3 ": "3", "012": "12", "12.": "12", "12.5000": "12.5",
	} {
		if got, err := ParseCueNumber(text); err != nil || got.String() != want {
			t.Errorf("%q is %v, %v; want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", ".", ".5", "-1", "+1", "1,5", "1.2.3", "1000000", "1.00001", "1e3", "A1", "1 2", strings.Repeat("1", 1000)} {
		if got, err := ParseCueNumber(text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
	a, _ := ParseCueNumber("9.5")
	b, _ := ParseCueNumber("10")
	if a >= b {
		t.Error("9.5 does not stand before 10")
	}
}

func TestCueNumbersRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := CueNumber(rapid.Int64Range(0, 1_000_000*cueUnit-1).Draw(rt, "n"))
		if got, err := ParseCueNumber(n.String()); err != nil || got != n {
			rt.Fatalf("%d is written %s and read %d, %v", n, n, got, err)
		}
	})
}

func TestAddresses(t *testing.T) {
	for text, want := range map[string]Address{
		"1.101": {1, 101}, "1/101": {1, 101}, " 2.5 ": {2, 5}, "0.0": {0, 0}, "1.10": {1, 10}, "1.1": {1, 1}, "-1.600": {-1, 600},
	} {
		if got, err := ParseAddress(text); err != nil || got != want {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "1", "1.", ".1", "1.2.3", "1-101", "a.b", "1 . 2", "1,5", "99999999999999999999.1"} {
		if got, err := ParseAddress(text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		}
	}
}

// What a schema takes as a text, the reader has to read, or the value would be
// lost in silence.
func TestPatternsAndReadersAgree(t *testing.T) {
	level := checkers["cues"].form().items.also.members["set"].forms[0].items.also.members["level"].forms[0].also.pattern
	cue := checkers["cues"].form().items.also.members["cue"].forms[0].also.pattern
	address := checkers["patch"].form().items.also.members["address"].forms[0].also.pattern
	letters := rapid.StringOfN(rapid.SampledFrom([]rune("0123459.%FLUfulé \t\u00a0\u202f-+/eE_x,")), 0, 9, -1)
	rapid.Check(t, func(rt *rapid.T) {
		text := letters.Draw(rt, "text")
		if _, err := ParseLevel(text); (err == nil) != level.MatchString(text) {
			rt.Fatalf("level %q: the schema says %v, the reader %v", text, level.MatchString(text), err)
		}
		if _, err := ParseCueNumber(text); err != nil && cue.MatchString(text) {
			rt.Fatalf("cue %q: the schema takes it, the reader says %v", text, err)
		}
		if _, err := ParseAddress(text); err != nil && address.MatchString(text) {
			rt.Fatalf("address %q: the schema takes it, the reader says %v", text, err)
		}
	})
	for _, text := range []string{"1.101", "2/5", " 1.1 ", "-1.0", "1.600"} {
		if !address.MatchString(text) {
			t.Errorf("the schema refuses the address %q; whether it is in range is for a rule", text)
		}
	}
}

// Numbers of JSON come in any notation.
func TestNumbersAreReadInAnyNotation(t *testing.T) {
	var show Show
	show.Read("cues", parse(t, `[{"cue": 1.2e1, "set": [{"channels": "1", "level": 7e1}]}, {"cue": -0, "set": [{"channels": "1", "level": -0}, {"channels": "1", "level": 1E2}]}, {"cue": 1.10}]`))
	if got := show.Cues[0].Number.String(); got != "12" || *show.Cues[0].Set[0].Level != 70 {
		t.Errorf("1.2e1 is cue %s, 7e1 is level %v", got, *show.Cues[0].Set[0].Level)
	}
	if got := show.Cues[1].Number.String(); got != "0" || *show.Cues[1].Set[0].Level != 0 || *show.Cues[1].Set[1].Level != 100 {
		t.Errorf("-0 is cue %s", got)
	}
	if got := show.Cues[2].Number.String(); got != "1.1" {
		t.Errorf("1.10 is cue %s", got)
	}
	show.Read("cues", parse(t, `[{"cue": 1, "set": [{"channels": "1", "level": 101}, {"channels": "1", "level": -1}, {"channels": "1", "level": "x"}]}]`))
	for _, set := range show.Cues[0].Set {
		if set.Level != nil {
			t.Errorf("a level of %v is read", *set.Level)
		}
	}
}

func TestRanges(t *testing.T) {
	for text, want := range map[string]string{
		"1": "1", "1-3": "1-3", "1-3,9": "1-3, 9", "9;1-2": "1, 2, 9", "3+1": "1, 3", " 1 - 2 , 5 ": "1, 2, 5",
		"5-5": "5", "1-4,2-6,1": "1-6", "4-6,1-9": "1-9", "99999": "99999", "1,,2,": "1, 2", "1-99999": "1-99999",
	} {
		if got, err := ParseRanges(text); err != nil || got.String() != want {
			t.Errorf("%q is %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", ",", "0", "-1", "6-1", "1-", "1-2-3", "a", "1 2", "100000", "1-99999999", "1.5", "٣", strings.Repeat("x", 1000)} {
		if got, err := ParseRanges(text); err == nil {
			t.Errorf("%q is read as %v", text, got)
		} else if len(err.Error()) > 200 {
			t.Errorf("the error repeats %d characters of the file", len(err.Error()))
		}
	}
	if _, err := ParseRanges("6-1"); err == nil || !strings.Contains(err.Error(), "backwards") {
		t.Errorf("6-1: %v", err)
	}
}

// Ranges that overlap ten thousand times must not cost ten thousand times as
// much: channel by channel this would be a thousand million steps, some minutes.
func TestOverlappingRangesAreCheap(t *testing.T) {
	var b strings.Builder
	for i := range 10_000 {
		fmt.Fprintf(&b, "%d-%d,", 1+i, 99_999-i)
	}
	channels, err := ParseRanges(b.String())
	if err != nil || channels.Count() != MaxChannel {
		t.Errorf("%d channels, %v", channels.Count(), err)
	}
}

func TestFormatChannels(t *testing.T) {
	for want, channels := range map[string][]int{
		"": nil, "5": {5}, "1, 2": {2, 1}, "1-3": {3, 1, 2, 2}, "1-6, 9": {9, 1, 2, 3, 4, 5, 6}, "1, 3, 5": {5, 3, 1}, "7": {7, 7, 7},
	} {
		if got := FormatChannels(channels); got != want {
			t.Errorf("%v is written %q; want %q", channels, got, want)
		}
	}
}

func TestChannelsRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		channels := rapid.SliceOfN(rapid.IntRange(1, 40), 1, 40).Draw(rt, "channels")
		before := slices.Clone(channels)
		ranges, err := ParseRanges(FormatChannels(channels))
		got := ranges.First(100)
		if !slices.Equal(channels, before) {
			rt.Fatal("writing the channels changed them")
		}
		slices.Sort(channels)
		if want := slices.Compact(channels); err != nil || !slices.Equal(got, want) {
			rt.Fatalf("%v is written %q and read %v, %v", want, FormatChannels(want), got, err)
		}
	})
}

func FuzzValues(f *testing.F) {
	for _, text := range []string{"70%", "Full", "1.10", "1.101", "1-6,9", "9-1", "1-99999,1-99999"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if level, err := ParseLevel(text); err == nil && !(level >= 0 && level <= 100) {
			t.Errorf("level %q is %v", text, level)
		}
		if n, err := ParseCueNumber(text); err == nil && (n < 0 || n >= 1_000_000*cueUnit) {
			t.Errorf("cue %q is %d", text, n)
		}
		if a, err := ParseAddress(text); err == nil {
			if again, err := ParseAddress(a.String()); err != nil || again != a {
				t.Errorf("address %q is %v, written and read %v, %v", text, a, again, err)
			}
		}
		if channels, err := ParseRanges(text); err == nil {
			if first := channels.First(1); len(first) != 1 || first[0] < 1 || channels.Count() > MaxChannel {
				t.Errorf("%q has %d channels from %v", text, channels.Count(), first)
			}
			if again, err := ParseRanges(channels.String()); err != nil || again.String() != channels.String() {
				t.Errorf("%q is written %s and read %v, %v", text, channels, again, err)
			}
		}
	})
}

// The highest number of a part stands in the schema and in the code.
func TestPartsAreAsManyAsTheSchemaSays(t *testing.T) {
	for part, want := range map[int]int{1: 0, MaxPart: 0, MaxPart + 1: 1, 0: 1} {
		file := &source.File{Name: "cues.json", Text: fmt.Sprintf(`[{"cue":1,"part":%d}]`, part)}
		source.ParseJSON(file)
		if found := Validate("cues", file.Root()); len(found) != want {
			t.Errorf("part %d: %v, want %d findings", part, briefs(found), want)
		}
	}
}

// A type tells how many slots it listens to by its mode; where it has one mode alone that is the one, and a mode that it does not
// know tells nothing.
func TestSlotsInAMode(t *testing.T) {
	two, six, nine := 2, 6, 9
	modes := []*Mode{{Name: "wide", Slots: &two}, {Name: "long", Slots: &six}, {Name: "odd"}}
	for i, c := range []struct {
		of   Type
		mode string
		want *int
	}{
		{Type{}, "", nil}, {Type{Slots: &nine}, "", &nine}, {Type{Slots: &nine}, "wide", &nine}, {Type{Slots: &nine, Modes: modes}, "", &nine},
		{Type{Slots: &nine, Modes: modes}, "wide", &two}, {Type{Modes: modes}, "long", &six}, {Type{Slots: &nine, Modes: modes}, "odd", nil}, {Type{Slots: &nine, Modes: modes}, "none", nil},
		{Type{Modes: modes[:1]}, "", &two}, {Type{Slots: &nine, Modes: modes[:1]}, "", &nine}, {Type{Modes: modes[:2]}, "", nil},
	} {
		if got := c.of.SlotsIn(c.mode); got != c.want {
			t.Errorf("%d: %v, want %v", i, got, c.want)
		}
	}
}
