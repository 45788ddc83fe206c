package table

import (
	"strings"
	"testing"
)

// What a column of levels should be taken for, written down from how exports are said
// to look.
func TestAColumnOfLevelsIsDecidedAsAWhole(t *testing.T) {
	for cells, want := range map[string]scale{
		"0 50 100":              percent,
		"50% 51 255":            percent, // the sign says it; 255 is a mistake
		"0 51 255":              bytes,
		"0 128 FF":              bytes,
		"0 128 204 90":          bytes,
		"10 20 30 40 120":       percent, // one slip is no scale
		"1 2 3 4 5 6 101 102":   bytes,   // a quarter, and two of them
		"1 2 3 4 5 6 7 101 102": percent,
		"1 2 3 101":             percent,
		"00 7F FF":              hex,
		"0x33 0xff":             hex,
		"00 50 99 FF":           percent, // nothing tells it from two digits of percent, and percent is the commoner
		"Full out 50":           percent,
		"0 0.5 1 0.25":          fraction,
		"0 0.5":                 percent,
		"0.5 1 30 0.25":         percent,
		"":                      percent,
		"full full":             percent,
		"255.5 3":               percent,
		"80 7F":                 hex,
	} {
		var tally levelTally
		for _, text := range strings.Fields(cells) {
			tally.add(text)
		}
		if got := tally.decide(); got != want {
			t.Errorf("%q is read as %s, want %s", cells, got, want)
		}
	}
}

func TestLevelsOfEachScale(t *testing.T) {
	for _, test := range []struct {
		as   scale
		text string
		want string // "" is a complaint
	}{
		{bytes, "51", "20"}, {bytes, "255", "100"}, {bytes, "128", "50.2"}, {bytes, "256", ""}, {bytes, "-1", ""}, {bytes, "FF", "100"}, {bytes, "20%", "20"}, {bytes, "out", "0"},
		{hex, "33", "20"}, {hex, "FF", "100"}, {hex, "0x80", "50.2"}, {hex, "G1", ""}, {hex, "100", ""},
		{fraction, "0.2", "20"}, {fraction, "1", "100"}, {fraction, "1.5", ""},
		{percent, "51", "51"}, {percent, "FF", "100"}, {percent, "half", "50"}, {percent, "bright", ""}, {percent, "70 %", "70"},
	} {
		s := &sheet{scanner: scanner{comma: ';'}}
		v, complaint := s.level(cell{text: test.text}, test.as)
		if (complaint == "") != (test.want != "") || v.text != test.want {
			t.Errorf("%q as %s is %q, %q; want %q", test.text, test.as, v.text, complaint, test.want)
		}
	}
}

func TestHeadersThatNameAChannel(t *testing.T) {
	for header, want := range map[string]string{
		"12": "12", "Ch 12": "12", "ch12": "12", "Chan. 007": "7", "12 Key left": "12", "12 - Key left": "12", "Key left (12)": "12", "Key left (ch 12)": "12",
		"#3": "3", "Song 1": "", "Cue": "", "0": "", "123456": "", "in 3": "", "Time (s)": "", "2nd": "",
	} {
		if got := channelOf(header); got != want {
			t.Errorf("%q names channel %q, want %q", header, got, want)
		}
	}
}

// Hue and saturation of the hexagonal model, from its definition.
func TestColourCells(t *testing.T) {
	for text, want := range map[string][2]float64{
		"#ff0000": {0, 100}, "#FF8000": {30.1, 100}, "00ff00": {120, 100}, "#0000ff": {240, 100}, "#ff00ff": {300, 100},
		"#ffffff": {0, 0}, "#000000": {0, 0}, "#80ff80": {120, 49.8}, "#f00": {0, 100}, "Blue": {240, 100},
	} {
		hue, saturation, ok := wheelOf(text)
		if !ok || hue != want[0] || saturation != want[1] {
			t.Errorf("%q is %v, %v, %v; want %v", text, hue, saturation, ok, want)
		}
	}
	for _, text := range []string{"", "#ff", "#gg0000", "gold leaf", "12"} {
		if _, _, ok := wheelOf(text); ok {
			t.Errorf("%q is taken for a colour", text)
		}
	}
}

func TestTimesAsPeopleWriteThem(t *testing.T) {
	for text, want := range map[string]string{
		"1:30": "90", "90": "90", "1,5": "1.5", "1.5 s": "1.5", "2 min": "120", "1m30s": "90", "1'30\"": "90", "3 sec": "3", "0": "0", "1:02:03": "3723",
	} {
		s := &sheet{scanner: scanner{comma: ';'}}
		if v, complaint := asSeconds(s, cell{text: text}); complaint != "" || v.text != want {
			t.Errorf("%q is %q, %q; want %s s", text, v.text, complaint, want)
		}
	}
}

// What is read as percent is not told, but for a word among them that is none.
func TestHowLevelsWereRead(t *testing.T) {
	for _, c := range []struct {
		as   scale
		full int
		want string
	}{
		{percent, 0, ""}, {"", 0, ""}, {percent, 1, "levels in percent with FF for full"}, {percent, 3, "levels in percent with FF for full"}, {bytes, 0, "levels counted from 0 to 255, so that 51 is 20 %"}, {bytes, 1, "levels counted from 0 to 255"},
		{hex, 0, "levels in hexadecimal digits from 00 to FF, so that 33 is 20 %"}, {fraction, 0, "levels as parts of 1, so that 0.2 is 20 %"},
	} {
		if got := c.as.words("levels", &levelTally{full: c.full}); !strings.HasPrefix(got, c.want) || (got == "") != (c.want == "") {
			t.Errorf("%q with %d that are full: %q, want %q", c.as, c.full, got, c.want)
		}
	}
}

// The names of colours are those of their places on the wheel of colours.
func TestNamesOfColours(t *testing.T) {
	for name, want := range map[string][2]float64{
		"red": {0, 100}, "orange": {30, 100}, "amber": {40, 100}, "yellow": {60, 100}, "lime": {80, 100}, "green": {120, 100}, "turquoise": {175, 100}, "cyan": {180, 100},
		"blue": {240, 100}, "lavender": {265, 45}, "violet": {275, 100}, "purple": {280, 100}, "magenta": {300, 100}, "pink": {330, 60}, "white": {0, 0},
	} {
		if hue, saturation, ok := wheelOf(" " + strings.ToUpper(name)); !ok || hue != want[0] || saturation != want[1] {
			t.Errorf("%s is %v, %v, %v; want %v", name, hue, saturation, ok, want)
		}
	}
}
