package ascii

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/loaders/format"
	gocmp "github.com/google/go-cmp/cmp"
)

// sampleA is a small show as the format's own keywords write it.
const sampleA = `! Harbour Night, act one
IDENT 3:0
MANUFACTURER Fictive
CONSOLE Demo1
Clear All
Set Channels 48
Patch 1 1<1@100 2<2@100 3<515@H80
Group 1
  Text Warm wash
  Chan 1@100 2@FULL
Cue 1
  Text Preset, house to half
  Up 3
  Down 0:05
  Chan 1@50 2@H80 / 3 = HFF
Cue 2.5
  UP 4.5 1
  FollowOn 1:30
  Link 7
  Chan 1/0, 2/75
  Chan 12;33
Sub 4
  Text Work light
  Chan 9>100
EndData
`

// sampleB is what goes wrong.
const sampleB = `Cue 10
Ident 3:0
Text Storm! thunder on stage
Up 2:75
Part 1
  Chan 1@100 2@140 3
  Up 3 0.5
  $$Colour 3 H1F
Part 2
  Chan 1@20 4@8C
  Fade 9
$Snapshot 12 full
  $$Item 4
  Chan 7@50
Chan 8@50
Cue 16
  Chan 5@ff
`

// told is a file as a person would tell it, to compare with.
func told(f *File) map[string]any {
	levels := func(list []Level) map[string]any {
		m := map[string]any{}
		for _, l := range list {
			m[strconv.Itoa(l.Channel)] = math.Round(l.Level*1e6) / 1e6
		}
		return m
	}
	fade := func(f *Fade) any {
		if f == nil {
			return nil
		}
		return map[string]any{"time": f.Seconds, "delay": f.Delay}
	}
	put := func(m map[string]any, key string, value any, given bool) {
		if given {
			m[key] = value
		}
	}
	part := func(p *Part) map[string]any {
		m := map[string]any{"channels": levels(p.Levels)}
		var text []any
		for _, t := range p.Text {
			text = append(text, t.Words)
		}
		put(m, "text", text, text != nil)
		put(m, "up", fade(p.Up), p.Up != nil)
		put(m, "down", fade(p.Down), p.Down != nil)
		return m
	}
	items := func(list []*Item) []any {
		all := []any{}
		for _, item := range list {
			m := part(&item.Whole)
			m["number"] = item.Number.String()
			if item.Followon != nil {
				m["followon"] = item.Followon.Seconds
			}
			if item.Link != nil {
				m["link"] = item.Link.Number.String()
			}
			for _, p := range item.Parts {
				m["part "+strconv.Itoa(p.Number)] = part(p)
			}
			all = append(all, m)
		}
		return all
	}
	patch := []any{}
	for _, p := range f.Patch {
		patch = append(patch, map[string]any{"page": p.Page, "channel": p.Channel, "dimmer": p.Dimmer, "level": math.Round(p.Level*1e6) / 1e6})
	}
	extensions := []any{}
	for _, x := range f.Extensions {
		if !strings.HasPrefix(x.Keyword, "$$") {
			extensions = append(extensions, map[string]any{"keyword": x.Keyword, "lines": x.Lines})
		}
	}
	problems := []any{}
	for _, p := range f.Problems {
		problems = append(problems, fmt.Sprintf("%d %s", p.Line, p.Code))
	}
	m := map[string]any{"patch": patch, "groups": items(f.Groups), "cues": items(f.Cues), "subs": items(f.Subs),
		"opaque": extensions, "endData": f.Ended, "problems": problems}
	put(m, "ident", f.Ident, f.Ident != "")
	put(m, "manufacturer", f.Manufacturer, f.Manufacturer != "")
	put(m, "console", f.Console, f.Console != "")
	put(m, "clears", f.Clears, f.Clears != nil)
	put(m, "sets", f.Sets, f.Sets != nil)
	return m
}

func compare(t *testing.T, text, want string) {
	t.Helper()
	data, err := json.Marshal(told(Parse(text)))
	if err != nil {
		t.Fatal(err)
	}
	var got, wanted any
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(want), &wanted); err != nil {
		t.Fatal(err)
	}
	if diff := gocmp.Diff(wanted, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestSampleA(t *testing.T) {
	compare(t, sampleA, `{"ident":"3:0","manufacturer":"Fictive","console":"Demo1",
		"clears":[["all"]],"sets":[["channels","48"]],
		"patch":[{"page":1,"channel":1,"dimmer":1,"level":1},{"page":1,"channel":2,"dimmer":2,"level":1},{"page":1,"channel":3,"dimmer":515,"level":0.501961}],
		"groups":[{"number":"1","text":["Warm wash"],"channels":{"1":1,"2":1}}],
		"cues":[
			{"number":"1","text":["Preset, house to half"],"up":{"time":3,"delay":0},"down":{"time":5,"delay":0},"channels":{"1":0.5,"2":0.501961,"3":1}},
			{"number":"2.5","up":{"time":4.5,"delay":1},"followon":90,"link":"7","channels":{"1":0,"2":0.75,"12":0.33}}],
		"subs":[{"number":"4","text":["Work light"],"channels":{"9":1}}],
		"opaque":[],"endData":true,"problems":["19 link-target-missing"]}`)
	f := Parse(sampleA)
	if universe, slot := f.Patch[2].Universe(); universe != 2 || slot != 3 {
		t.Error(universe, slot)
	}
	keep, zero, cue := f.Tracks()
	if !keep || zero.Channel != 1 || cue.Number.String() != "2.5" {
		t.Error(keep, zero, cue)
	}
	if at := zero.LevelAt; sampleA[at.Start:at.Stop] != "0" || !strings.HasPrefix(sampleA[at.Start:], "0, 2/75") {
		t.Errorf("%q", sampleA[at.Start:at.Stop])
	}
}

func TestLineEnds(t *testing.T) {
	want := told(Parse(sampleA))
	for _, end := range []string{"\r\n", "\r"} {
		if diff := gocmp.Diff(want, told(Parse(strings.ReplaceAll(sampleA, "\n", end)))); diff != "" {
			t.Errorf("%q (-want +got):\n%s", end, diff)
		}
	}
}

func TestSampleB(t *testing.T) {
	text := strings.Replace(sampleB, "Cue 16", "Cue 11", 1)
	compare(t, text, `{"ident":"3:0","patch":[],"groups":[],"subs":[],
		"cues":[{"number":"10","channels":{}},{"number":"11","channels":{"5":1}}],
		"opaque":[{"keyword":"$Snapshot","lines":[12,13,14,15]}],"endData":false,
		"problems":["2 ident-not-first","3 orphan-secondary","4 orphan-secondary","5 orphan-secondary","6 orphan-secondary","7 orphan-secondary",
			"9 orphan-secondary","10 orphan-secondary","11 unknown-keyword","17 bare-hex","17 no-enddata"]}`)
	// Without the second line; line numbers are one lower.
	compare(t, strings.Replace(text, "Ident 3:0\n", "", 1), `{"patch":[],"groups":[],"subs":[],
		"cues":[{"number":"10","text":["Storm"],"channels":{},
			"part 1":{"channels":{"1":1},"up":{"time":3,"delay":0.5}},"part 2":{"channels":{"1":0.2}}},
			{"number":"11","channels":{"5":1}}],
		"opaque":[{"keyword":"$Snapshot","lines":[11,12,13,14]}],"endData":false,
		"problems":["2 bang-in-text","3 bad-time","5 bad-level","5 chan-arity","9 channel-in-two-parts","9 bad-level","10 unknown-keyword","16 bare-hex","16 no-enddata"]}`)
	text = strings.Replace(text, "Ident 3:0\n", "", 1)
	f := Parse(text)
	if at := f.Problems[0].At; text[at.Start:at.Stop] != "!" {
		t.Errorf("the remark is said to begin with %q", text[at.Start:at.Stop])
	}
	if got := f.Cues[0].Effective(); len(got) != 1 || got[0].Level != 0.2 {
		t.Errorf("%+v", got)
	}
	if got := f.Cues[0].Whole.Text[0].Raw; got != "Storm! thunder on stage" {
		t.Errorf("%q", got)
	}
}

// TestConstructs reads one construct each: what comes out, and what is said of it.
func TestConstructs(t *testing.T) {
	level := func(want float64) func(f *File) string {
		return func(f *File) string {
			if got := f.Cues[0].Whole.Levels[0].Level; math.Abs(got-want) > 1e-12 {
				return fmt.Sprint(got)
			}
			return ""
		}
	}
	up := func(want float64) func(f *File) string {
		return func(f *File) string {
			if got := f.Cues[0].Whole.Up; got == nil || got.Seconds != want {
				return fmt.Sprintf("%+v", got)
			}
			return ""
		}
	}
	none := func(f *File) string {
		if len(f.Cues) != 1 || len(f.Cues[0].Whole.Levels) != 0 || f.Cues[0].Whole.Up != nil {
			return fmt.Sprintf("%+v", f.Cues)
		}
		return ""
	}
	number := func(want string) func(f *File) string {
		return func(f *File) string {
			if len(f.Cues) != 1 || f.Cues[0].Number.String() != want {
				return fmt.Sprintf("%+v", f.Cues)
			}
			return ""
		}
	}
	patched := func(want string) func(f *File) string {
		return func(f *File) string {
			got := ""
			for _, p := range f.Patch {
				got += fmt.Sprintf("%d/%d<%d@%g ", p.Page, p.Channel, p.Dimmer, p.Level)
			}
			if strings.TrimSpace(got) != want {
				return got
			}
			return ""
		}
	}
	tests := []struct {
		text   string
		check  func(f *File) string
		codes  string
		reason string
	}{
		{"Cue 1\nChan 1@H0", level(0), "", ""},
		{"Cue 1\nChan 1@h80", level(128. / 255), "", ""},
		{"Cue 1\nChan 1@H0F", level(15. / 255), "", "a leading zero"},
		{"Cue 1\nChan 1@HFFFF", level(1), "", ""},
		{"Cue 1\nChan 1@H8000", level(32768. / 65535), "", ""},
		{"Cue 1\nChan 1@H0FF", level(255. / 65535), "hex-width", "the width decides"},
		{"Cue 1\nChan 1@H100", level(256. / 65535), "", "beyond 8 bits"},
		{"Cue 1\nChan 1@ful", level(1), "", ""},
		{"Cue 1\nChan 1@Full", level(1), "", ""},
		{"Cue 1\nChan 1@FF", level(1), "bare-hex", ""},
		{"Cue 1\nChan 1@007", level(.07), "", "leading zeros"},
		{"Cue 1\nChan 001@7", level(.07), "", "leading zeros"},
		{"Cue 1\nChan 1@100", level(1), "", ""},
		{"Cue 1\nChan 1@101", none, "bad-level", "just over"},
		{"Cue 1\nChan 1@-1", none, "bad-level", ""},
		{"Cue 1\nChan 1@50.5", none, "bad-level", "fractional"},
		{"Cue 1\nChan 1@H", none, "bad-level", ""},
		{"Cue 1\nChan 1@H12345", none, "bad-level", ""},
		{"Cue 1\nChan 1@HXY", none, "bad-level", ""},
		{"Cue 1\nChan 0@50", none, "bad-channel", ""},
		{"Cue 1\nChan 65536@50", none, "bad-channel", "just over"},
		{"Cue 1\nChan 65535@50", level(.5), "", "the last one"},
		{"Cue 1\nChan", none, "", "no data is legal"},
		{"Cue 1\nChan ! 1@50", none, "", "a remark"},
		{"Cue 1\nChan 1@10\nChan 1@20", level(.2), "duplicate-channel", "the last wins"},
		{"Cue 1\nUp 120", up(120), "time-style", "three digits"},
		{"Cue 1\nUp 99", up(99), "", ""},
		{"Cue 1\nUp 0:05", up(5), "", ""},
		{"Cue 1\nUp 1:02:03.5", up(3723.5), "", ""},
		{"Cue 1\nUp 1:60", none, "bad-time", ""},
		{"Cue 1\nUp 1:59", up(119), "", ""},
		{"Cue 1\nUp 2.25", up(2.25), "time-style", ""},
		{"Cue 1\nUp .5", up(.5), "time-style", ""},
		{"Cue 1\nUp", none, "bad-time", ""},
		{"Cue 1\nUp x", none, "bad-time", ""},
		{"Cue 1\nUp 1\nUp 2", up(2), "duplicate-time", "the last wins"},
		{"Cue 1\nUp 1:2:3:4", none, "bad-time", "more than hours"},
		{"Cue 1\nUp 5.", none, "bad-time", "nothing behind the point"},
		{"Cue 1\nUp 5.x", none, "bad-time", ""},
		{"Cue 1\nUp 5.123456", up(5.123456), "time-style", ""},
		{"Cue 1\nUp 5.1234567", none, "bad-time", "a digit too many"},
		{"Cue 1\nUp 99999", up(99999), "time-style", ""},
		{"Cue 1\nUp 100000", none, "bad-time", "a digit too many"},
		{"Cue 1\nUp 99:59", up(5999), "", ""},
		{"Cue 1\nUp 100:00", none, "bad-time", "three digits of minutes"},
		{"Cue 1\nFollowon", number("1"), "bad-time", ""},
		{"Cue 1\nFollowon 3\nFollowon 4", number("1"), "duplicate-time", "the last wins"},
		{"Cue 1\nLink", number("1"), "bad-number", ""},
		{"Ident\nCue 1", number("1"), "bad-ident", ""},
		{"Patch", patched(""), "", "no data is legal"},
		{"Patch x 1<5@100", patched(""), "bad-number", "no page"},
		{"Patch 1 x<5@100", patched(""), "bad-channel", ""},
		{"Patch 1 65535<65535@100 65536<1@100 1<65536@100", patched("1/65535<65535@1"), "bad-channel bad-dimmer", "the last ones, and just over"},
		{"Cue 9999.9", number("9999.9"), "", ""},
		{"cue\t2.0", number("2"), "", ""},
		{"Cue 1.25", number("1.25"), "number-style", "read as it stands"},
		{"Cue 1\nCue 1.0", number("1"), "duplicate-item", "2 and 2.0 are the same"},
		{"Cue x\nChan 1@50\nCue 3", number("3"), "bad-number", "what stands under it goes with it"},
		{"Cue\nCue 3", number("3"), "bad-number", ""},
		{"Patch 1 1<1@100 2<2", patched("1/1<1@1"), "patch-arity", "what is whole is read"},
		{"Patch 1 1<5@100 2<5@100", patched("1/1<5@1 1/2<5@1"), "dimmer-patched-twice", "both are kept"},
		{"Patch 1 1<5@100\nPatch 2 2<5@100", patched("1/1<5@1 2/2<5@1"), "", "another page"},
		{"Patch 1 1<5@100 1<6@FULL", patched("1/1<5@1 1/1<6@1"), "", "many dimmers"},
		{"Patch 1 0<5@100", patched(""), "unpatched-dimmer", ""},
		{"Patch 1 1<0@100", patched(""), "bad-dimmer", ""},
		{"Set Channels 4\nPatch 1 5<5@100", patched("1/5<5@1"), "channel-out-of-range", ""},
		{"Set Channels 5\nPatch 1 5<5@100", patched("1/5<5@1"), "", "at the limit"},
		{"Ident 3.0\nCue 1", number("1"), "bad-ident", ""},
		{"Ident 3\nCue 1", number("1"), "bad-ident", ""},
		{"Ident 2:0\nCue 1", number("1"), "unsupported-version", ""},
		{"Manufacturer A B\nCue 1", number("1"), "id-style", ""},
		{"Console One\nConsole Two\nCue 1", number("1"), "duplicate-id", ""},
		{"Cue 1\nClear All", number("1"), "clear-after-data", "nothing is lost"},
		{"Cue 1\nFollow 3\nChan 1@50", level(.5), "unknown-keyword", "the item stays open"},
		{"Cue 1\nPart x\nChan 1@50", none, "bad-number", "what stands under it goes with it"},
		{"Cue 1\nPart 10000\nChan 1@50", none, "bad-number", "a part has a number up to 9999"},
		{"Cue 1\nFollowon 3\nLink 1", number("1"), "link-loop", ""},
		{"Cue 1\nLink 1", number("1"), "", "a person has to press"},
		{"Cue 1\nLink x", number("1"), "bad-number", ""},
		{"Group 1\nUp 3\nCue 1", number("1"), "unexpected-secondary", ""},
		{"Sub 1.5\nCue 1", number("1"), "bad-number", "submasters have whole numbers"},
		{"$Palette 3\n$$Colour 1\nChan 3@50\nCue 1", number("1"), "", "a maker's own data"},
		{"Cue 1\nText " + strings.Repeat("a", 76), number("1"), "line-too-long", ""},
		{"Cue 1\nText " + strings.Repeat("é", 75), number("1"), "", "80 characters, not bytes"},
	}
	for _, test := range tests {
		f := Parse(test.text + "\nEndData\n")
		if got := test.check(f); got != "" {
			t.Errorf("%q (%s): %s", test.text, test.reason, got)
		}
		var codes []string
		for _, p := range f.Problems {
			codes = append(codes, p.Code)
		}
		if got := strings.Join(codes, " "); got != test.codes {
			t.Errorf("%q: %q, want %q", test.text, got, test.codes)
		}
	}
}

func TestWholeFiles(t *testing.T) {
	for text, want := range map[string]string{
		"":                                 "1 not-this-format",
		"\n\n! nothing\n":                  "1 not-this-format",
		"cue sheet\n":                      "1 bad-number",
		"PK\x03\x04\x00":                   "1 not-text",
		"Cue 1\nEndData\nCue 2\nCue 3":     "3 data-after-end",
		"Cue 1\n\n! the end\n\n":           "3 no-enddata",
		"just words\nand more\n":           "1 not-this-format",
		strings.Repeat("Chan 1@50\n", 300): "too-many-errors",
		"Cue 1\nText " + "\x0b \u00a0x \nEndData": "",
	} {
		var got []string
		for _, p := range Parse(text).Problems {
			got = append(got, fmt.Sprintf("%d %s", p.Line, p.Code))
		}
		if want == "" && len(got) == 0 {
			continue
		}
		if !slices.ContainsFunc(got, func(s string) bool { return want != "" && strings.HasSuffix(s, want) }) {
			t.Errorf("%.30q: %v, want %q", text, got, want)
		}
	}
	if got := len(Parse(strings.Repeat("Chan 1@50\n", 300)).Problems); got != maxErrors+2 {
		t.Errorf("%d problems", got)
	}
}

// clock writes a time: in seconds as long as these have five digits.
func clock(seconds float64) string {
	text := strconv.FormatFloat(seconds, 'f', -1, 64)
	if seconds < 1e5 {
		return text
	}
	whole, tenth, _ := strings.Cut(text, ".")
	n, _ := strconv.Atoi(whole)
	text = fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
	if tenth != "" {
		text += "." + tenth
	}
	return text
}

// write writes a file the way that section 10 of our notes on the format asks for.
func write(f *File) string {
	var b strings.Builder
	b.WriteString("Ident 3:0\r\n")
	percent := func(l Level) string { return fmt.Sprintf("%d@%s", l.Channel, strings.ToUpper(l.Raw)) }
	part := func(p *Part) {
		for _, t := range p.Text {
			fmt.Fprintf(&b, "Text %s\r\n", t.Words)
		}
		for word, fade := range map[string]*Fade{"Up": p.Up, "Down": p.Down} {
			if fade != nil {
				fmt.Fprintf(&b, "%s %s %s\r\n", word, clock(fade.Seconds), clock(fade.Delay))
			}
		}
		for _, l := range p.Levels {
			fmt.Fprintf(&b, "Chan %s\r\n", percent(l))
		}
	}
	for _, p := range f.Patch {
		fmt.Fprintf(&b, "Patch %d %d<%d@100\r\n", p.Page, p.Channel, p.Dimmer)
	}
	for word, list := range map[string][]*Item{"Cue": f.Cues, "Group": f.Groups, "Sub": f.Subs} {
		for _, item := range list {
			fmt.Fprintf(&b, "%s %s %d\r\n", word, item.Number, item.Page)
			part(&item.Whole)
			if item.Followon != nil {
				fmt.Fprintf(&b, "Followon %s\r\n", clock(item.Followon.Seconds))
			}
			if item.Link != nil {
				fmt.Fprintf(&b, "Link %s %d\r\n", item.Link.Number, item.Link.Page)
			}
			for _, p := range item.Parts {
				fmt.Fprintf(&b, "Part %d\r\n", p.Number)
				part(p)
			}
		}
	}
	b.WriteString("EndData\r\n")
	return b.String()
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{sampleA, sampleB, "Cue 1\rText a!b\r\nPart 1\nChan 1@50 2/FULL\nPart 1\nLink 1 2\nFollowon .5", "Patch 1 1<1@H80 2", "\x00", "$A\n$$B\nChan 1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file := Parse(text)
		inside := func(at format.Span) {
			if at.Start < 0 || at.Stop < at.Start || at.Stop > len(text) {
				t.Fatalf("%+v is outside", at)
			}
		}
		for _, p := range file.Problems {
			inside(p.At)
			if p.Line < 1 || p.Column < 1 || p.Code == "" || p.Message == "" {
				t.Fatalf("%+v", p)
			}
		}
		if !slices.IsSortedFunc(file.Problems, func(a, b format.Problem) int { return cmp.Compare(a.Line, b.Line) }) {
			t.Fatal("problems are not in the order of lines")
		}
		for _, p := range file.Patch {
			inside(p.At)
			if universe, slot := p.Universe(); universe < 1 || slot < 1 || slot > 512 || p.Level < 0 || p.Level > 1 {
				t.Fatalf("%+v", p)
			}
		}
		for _, cue := range file.Cues {
			for _, l := range cue.Effective() {
				inside(l.LevelAt)
				if text[l.LevelAt.Start:l.LevelAt.Stop] != l.Raw || !(l.Level >= 0 && l.Level <= 1) {
					t.Fatalf("%+v", l)
				}
			}
			for _, words := range cue.Whole.Text {
				if text[words.At.Start:words.At.Stop] != words.Words {
					t.Fatalf("%q at %q", words.Words, text[words.At.Start:words.At.Stop])
				}
			}
		}
		if len(file.Problems) > 0 && (file.Problems[0].Code == "not-text" || file.Problems[0].Code == "not-this-format") {
			return
		}
		if strings.IndexByte(text, 0) >= 0 {
			return // behind the first 4096 bytes it is read over; written shorter, it would stand before them
		}
		// What was read can be written and read again, and is the same.
		want, got := told(file), told(Parse(write(file)))
		for _, key := range []string{"cues", "groups", "subs"} {
			if diff := gocmp.Diff(want[key], got[key]); diff != "" {
				t.Fatalf("%s (-first +again):\n%s", key, diff)
			}
		}
	})
}

// TestKeywordsOfAMaker begin with a dollar sign and have a letter behind it, and be it one.
func TestKeywordsOfAMaker(t *testing.T) {
	for text, want := range map[string]int{"$A 1\n": 1, "$Snapshot 12\n": 1, "$A 1\n$$B 2\n": 1, "$$B 2\n": 1, "$ 1\n": 0} {
		file := Parse(text)
		if len(file.Extensions) != want {
			t.Errorf("%q has %d keywords of a maker, not %d", text, len(file.Extensions), want)
		}
	}
}
