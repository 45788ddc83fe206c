package table

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

func TestColumnsThatRise(t *testing.T) {
	for _, tc := range []struct {
		cells  []string
		rising bool
	}{
		{[]string{"1", "2", "2.5"}, true},
		{[]string{"0", "0.5", "1"}, true}, // a list may begin with a cue 0
		{[]string{"cue 1", "cue 1", "cue 2"}, true},
		{[]string{"2", "1"}, false},
		{[]string{"0", "0"}, false},
		{[]string{"1", "x"}, false},
		{nil, false},
	} {
		if rising(tc.cells) != tc.rising {
			t.Errorf("%q rises: %v", tc.cells, !tc.rising)
		}
	}
}

func TestRowsThatAreNoneAreTold(t *testing.T) {
	for want, lines := range map[string][]int{
		"without line 4, which is a heading or a total":                    {4},
		"without the lines 4, 9, which are headings or totals":             {4, 9},
		"without the lines 1, 2, 3, 4, 5, which are headings or totals":    {1, 2, 3, 4, 5},
		"without the lines 1, 2, 3, 4, 5, …, which are headings or totals": {1, 2, 3, 4, 5, 6},
	} {
		if got := (&sheet{passed: lines}).passedWords(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A cell in the unit of its header is turned into the unit of the column, to a millionth; what says its own is not.
func TestCellsInTheUnitOfTheirHeader(t *testing.T) {
	for _, test := range []struct {
		factor           float64
		cell, read, want string
	}{
		{0.001, "4800", "4800", "4.8"}, {0.001, "0", "0", "0"}, {0.001, "0.0003", "0.0003", "0.0000003"}, {60, "1.5", "1.5", "90"},
		{60, "1:30", "90", "90"}, {0.3048, "5'", "1.524", "1.524"}, {0.0254, `5"`, "0.127", "0.127"}, {60, "3s", "3", "3"}, {0, "7", "7", "7"},
	} {
		s := &sheet{units: map[string]float64{"x": test.factor}}
		if got := s.inUnit("x", value{source.Number, test.read}, cell{text: test.cell}); got.text != test.want {
			t.Errorf("%s of %g is %s, want %s", test.cell, test.factor, got.text, test.want)
		}
	}
}

// A white among red, green and blue is an emitter, however these are written; alone it is a
// light of its own, and a column of it tells kelvin or a level.
func TestEmittersOfHeaders(t *testing.T) {
	for _, tc := range []struct {
		word, headers, want string
	}{
		{"white", "", ""}, {"warm", "red", ""}, {"cool", "red green", ""}, {"white", "r g", ""}, {"cool", "red g blue", ""},
		{"white", "red green", ""}, {"white", "red blue", ""}, {"white", "green blue", ""}, {"white", "r b", ""}, {"white", "g b", ""},
		{"white", "red green blue", "white"}, {"warm", "red green blue", "warm"}, {"cool", "red green blue", "cool"},
		{"white", "r g b", "white"}, {"warm", "r g b", "warm"}, {"cool", "r g b", "cool"}, {"w", "r g b", "white"}, {"whitepct", "r g b", "white"},
		{"red", "", "red"}, {"w", "", ""}, {"zoom", "red green blue", ""},
	} {
		headers := map[string]bool{}
		for _, h := range strings.Fields(tc.headers) {
			headers[h] = true
		}
		if got := emitterOf(tc.word, headers); got != tc.want {
			t.Errorf("%q beside %q is the emitter %q, not %q", tc.word, tc.headers, got, tc.want)
		}
	}
}

func TestWhatStandsBetweenColumns(t *testing.T) {
	for _, tc := range []struct {
		text  string
		comma byte
		why   string
	}{
		{"channel;name\n1;a, b, c\n", ';', "known names"},
		{"Rig, spring, second plot\nchannel;name\n1;a\n", ';', "known names below a title"},
		{"Rig, spring\nchannel;name\n1;a, b\n2;c, d\n", ';', "known names below a title, where rows have as many columns by either"},
		{"qq;rr\nuu, vv;ww\nkk, ll, mm, nn;bb\n", ';', "rows of one length where no name is known"},
		{"aa;bb,cc,dd\nqq;rr\nuu;vv\nww;kk\n", ';', "most rows of one length, not all"},
		{"a,b;c;d\ne,f;g;h\n", ';', "the most columns where both are even"},
		{"a,b,c;d\ne,f,g;h\n", ',', "the most columns where both are even"},
		{"a;b\nc;d\n", ';', "the only one there is"},
		{"one word\nanother\n", ',', "nothing at all"},
		{"", ',', "nothing at all"},
	} {
		s := newSheet(format.Quiet(format.Options{}), "patch", &source.File{Name: "patch.csv", Text: tc.text})
		if got := s.detectComma(); got != tc.comma {
			t.Errorf("%q: %q, not %q by %s", tc.text, got, tc.comma, tc.why)
		}
	}
}

// The first twelve names of a header are said, and whether there are more.
func TestNamesOfAHeaderInWords(t *testing.T) {
	for n, want := range map[int]string{1: `"a"`, 2: `"a", "a"`, 12: `"a"` + strings.Repeat(`, "a"`, 11), 13: `"a"` + strings.Repeat(`, "a"`, 11) + ", …"} {
		s := &sheet{}
		for range n {
			s.headers = append(s.headers, cell{text: "a"})
		}
		if got := s.headerWords(); got != want {
			t.Errorf("%d names are %s, want %s", n, got, want)
		}
	}
}

func TestChannelsOfRows(t *testing.T) {
	s := newSheet(format.Quiet(format.Options{}), "patch", &source.File{Name: "patch.csv"})
	for text, want := range map[string]string{
		"7": "7", "(7)": "7", "ch 7": "7", "7,8": "names more than one channel", "7-9": "names more than one channel",
		"7-7": "is not a whole number", "7.5": "is not a whole number", "+7": "7",
	} {
		got, complaint := asChannel(s, cell{text: text})
		if complaint != "" {
			if !strings.HasPrefix(complaint, want) {
				t.Errorf("%q %s, not %s", text, complaint, want)
			}
		} else if got.text != want {
			t.Errorf("%q is %q, not %s", text, got.text, want)
		}
	}
}

// A unit in the header counts for the numbers below it; a word that is no unit of ours
// changes nothing.
func TestUnitsOfHeaders(t *testing.T) {
	file := &source.File{Name: "patch.csv", Text: "channel,hung_x (mm),hung_y (rods),hung_z,zoom (deg)\n1,2,3,4,5\n"}
	s := newSheet(format.Quiet(format.Options{}), "patch", file)
	if !s.readHeader() {
		t.Fatal("no header")
	}
	if len(s.units) != 1 || s.units["hung_x"] != 0.001 {
		t.Errorf("units %v, not only millimetres of hung_x", s.units)
	}
}

// TestWhatColumnsProbablyAre: columns that are named need no line of the house, nor do those of channels and of emitters;
// what is missing is said.
func TestWhatColumnsProbablyAre(t *testing.T) {
	const whole, useful, missing, line = "It can be read as it is.", "Useful, and not there: ", "Missing: ", "columns: {"
	for _, c := range []struct {
		name, text  string
		says, hides []string
	}{
		{"patch.csv", "channel,address,type,purpose,hung_on,aimed_at\n1,1.1,par,key,bar,lectern\n", []string{"patch.csv, as patch:", whole}, []string{useful, missing, line}},
		{"patch.csv", "channel,address\n1,1.1\n", []string{whole, useful + "type, purpose, hung_on, aimed_at."}, []string{missing, line}},
		{"cues.csv", "cue,in_s,1,2\n1,3,50,60\n2,3,50,60\n", []string{"the levels of channel 2, by its name", whole}, []string{useful, missing, line}},
		{"cues.csv", "cue,channels,level,red,green,blue\n1,1,50,100,60,20\n2,1,50,100,60,20\n", []string{"green of the mix, by its name", whole, useful + "in_s."}, []string{missing, line}},
		{"list.csv", "quux,zork\n1,1.1\n2,1.2\n", []string{"list.csv, as patch:", "another whole number in each row", line + `patch: {channel: ["quux"], address: ["zork"]}}`, "To have it read so"}, []string{whole, missing}},
		{"patch.csv", "zork,address\nleft,1.1\nright,1.2\n", []string{missing + "channel", line + `patch: {name: ["zork"]}}`}, []string{whole}},
	} {
		told, err := Mappings([]Text{{Name: c.name, Text: c.text}}, nil)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
		}
		for _, words := range c.says {
			if !strings.Contains(told, words) {
				t.Errorf("%q is not told of %q:\n%s", words, c.text, told)
			}
		}
		for _, words := range c.hides {
			if strings.Contains(told, words) {
				t.Errorf("%q is told of %q:\n%s", words, c.text, told)
			}
		}
	}
	for _, odd := range []int{199, 200} { // rows after 200 are not looked at
		text := "quux,zork\n"
		for row := 1; row <= 210; row++ {
			if text += fmt.Sprintf("%d,1.%d\n", row, row); row == odd {
				text += "seven,1.300\n"
			}
		}
		told, err := Mappings([]Text{{Name: "list.csv", Text: text}}, nil)
		if err != nil || strings.Contains(told, `channel: ["quux"]`) != (odd == 200) {
			t.Errorf("with a word behind %d rows is told (%v)\n%s", odd, err, told)
		}
	}
	two, err := Mappings([]Text{{Name: "a.csv", Text: "quux,zork\n1,1.1\n2,1.2\n"}, {Name: "b.csv", Text: "quux,zork\n1,1.1\n2,1.2\n"}}, nil)
	if err != nil || !strings.Contains(two, "To have them read so") {
		t.Errorf("of two tables is told (%v)\n%s", err, two)
	}
	if _, err := Mappings([]Text{{Name: "a.csv", Text: "hello\nworld\n"}}, nil); err == nil || !strings.Contains(err.Error(), "nothing in it is set apart") {
		t.Errorf("of a letter is told %v", err)
	}
}

// TestWhatAColumnLooksLike: levels up to 255 or in two hexadecimal digits, and whole numbers that stand once.
func TestWhatAColumnLooksLike(t *testing.T) {
	for text, want := range map[string]bool{"Full": true, "0": true, "255": true, "256": false, "-1": false, "50 %": true, "40,5": true, "FF": true, "0xFF": true, "0x0FF": false, "000FF": false, "G7": false, "xyz": false} {
		if isLevel(text) != want {
			t.Errorf("%q is a level: %t", text, !want)
		}
	}
	for _, c := range []struct {
		cells []string
		want  bool
	}{{[]string{"1", "2"}, true}, {[]string{"12345"}, true}, {[]string{"123456"}, false}, {[]string{"1", "1"}, false}, {[]string{"1", ""}, false}, {[]string{"1", "x"}, false}, {[]string{"1.5"}, false}} {
		if distinctWholes(c.cells) != c.want {
			t.Errorf("%q are whole numbers that stand once: %t", c.cells, !c.want)
		}
	}
	for text, want := range map[string]bool{"3": true, "3.5/4": true, "3600": true, "3601": false, "-1": false, "1:30": true, "soon": false, "3 s": true} {
		if isTime(text) != want {
			t.Errorf("%q is a time: %t", text, !want)
		}
	}
	// Where a column has the channels, a number over another is no channel.
	for header, want := range map[string]bool{"cue,1,in_s": true, "cue,channels,1": false, "cue,1,channels": false} {
		told, err := Mappings([]Text{{Name: "cues.csv", Text: header + "\n1,50,3\n2,60,3\n"}}, nil)
		if err != nil || strings.Contains(told, "the levels of channel 1") != want {
			t.Errorf("under %s the levels of channel 1 are told: %t (%v)\n%s", header, !want, err, told)
		}
	}
}

// Lines above the header are passed over where one below names its column and another beside it; a first line of that column alone
// is the header.
func TestLinesAboveTheHeader(t *testing.T) {
	for text, want := range map[string]int{
		"channel,address\n1,1.1\n": 1, "channel\n1\n2\n": 2, "Front of house\nchannel,address\n1,1.1\n": 1, "Front of house\n\n30 May\nchannel,address\n1,1.1\n2,1.2\n": 2,
		"channel,,,\n1,a,b,c\n2,a,b,c\n": 2, strings.Repeat("x\n", 10) + "channel,address\n1,1.1\n": 1, strings.Repeat("x\n", 11) + "channel,address\n1,1.1\n": 0, "a,b,c\nchannel,,\n1,2,3\n": 0,
	} {
		t.Run(text, func(t *testing.T) {
			got, ok := layOut(&source.File{Name: "patch.csv", Text: text}, "patch", format.Options{})
			if ok != (want > 0) || ok && (got.Columns["channel"] != 0 || len(got.Columns) == 0 || len(got.Rows) != want) {
				t.Errorf("%+v, %v", got, ok)
			}
		})
	}
}

// TestSentencesOfManyHeadersEnd: what is left out of a list of words is an ellipsis, and 600 bytes are the last
// after which another word follows.
func TestSentencesOfManyHeadersEnd(t *testing.T) {
	a, b := strings.Repeat("a", 600), strings.Repeat("b", 601)
	for _, c := range []struct {
		words []string
		most  int
		want  string
	}{
		{nil, 2, ""}, {[]string{"x", "y"}, 2, "x, y"}, {[]string{"x", "y", "z"}, 2, "x, y, …"},
		{[]string{a, "y", "z"}, 9, a + ", y, …"}, {[]string{b, "y"}, 9, b + ", …"}, {[]string{b}, 9, b},
	} {
		if got := few(c.words, c.most); got != c.want {
			t.Errorf("%d words, %d at most: %q", len(c.words), c.most, got)
		}
	}
	for length, copied := range map[int]bool{548: true, 549: false} { // and 52 around them
		s := newSheet(format.Quiet(format.Options{}), "patch", &source.File{Name: "patch.csv"})
		s.text = strings.Repeat("q", length) + ",zork\n1,1.1\n2,1.2\n"
		s.comma = s.detectComma()
		s.readHeader()
		if line := s.lines(s.mapping()); strings.Contains(s.probably(), line) != copied {
			t.Errorf("a line of %d bytes:%s", len(line), s.probably())
		}
	}
}

// TestMisspeltHeaders: one letter in four may be wrong, whatever stands in brackets or says the unit behind it.
func TestMisspeltHeaders(t *testing.T) {
	s := newSheet(format.Quiet(format.Options{}), "patch", &source.File{Name: "patch.csv", Text: "name\na\n"})
	if !s.readHeader() {
		s.columns = map[string]int{"name": 0}
	}
	for text, want := range map[string]string{
		"Chanel": "channel", "Chanel (#)": "channel", "adress [universe.slot]": "address", "chaenl": "", "zork (#)": "", "nmae": "", "purpse m": "purpose",
	} {
		if got := s.nearColumn(text); got != want {
			t.Errorf("%q is near %q, not %q", text, got, want)
		}
	}
}
