package ascii

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/format/formattest"
)

// read reads a text and checks what it lays against the schemas.
func read(t testing.TB, text, unlisted string) (format.Part, *formattest.Ear, bool) {
	t.Helper()
	return formattest.Read(t, Format, format.Options{Unlisted: unlisted}, "desk.asc", text)
}

func TestLaySampleA(t *testing.T) {
	part, in, ok := read(t, sampleA, "keep")
	if !ok {
		t.Fatal("not read")
	}
	formattest.Same(t, any(formattest.Sections(part)), `{
		"patch": [{"channel": 1, "address": "1.1"}, {"channel": 2, "address": "1.2"}, {"channel": 3, "address": "2.3"}],
		"groups": {"Warm wash": "1-2", "Work light": "9"},
		"cues": [
			{"cue": 1, "name": "Preset, house to half", "in_s": 3, "out_s": 5,
				"set": [{"channels": "1", "level": 50}, {"channels": "2", "level": 50.196078431}, {"channels": "3", "level": 100}]},
			{"cue": 2.5, "in_s": 4.5, "delay_s": 1, "follow_s": 90, "known": {"follow_s": [90, 95.5]},
				"set": [{"channels": "1", "level": 0}, {"channels": "2", "level": 75}, {"channels": "12", "level": 33}]}
		]}`)
	if got := formattest.Losses(part); got != "dropped 1 limits of dimmers in the patch\ndropped 1 links to another cue than the next\ndropped 1 levels of submasters (their channels are groups)" {
		t.Error(got)
	}
	if len(in.Findings) != 1 || in.Findings[0].Detail != "link-target-missing" {
		t.Errorf("%v", in.Findings)
	}
	for _, s := range part.Sections {
		if s.Name != "cues" {
			continue
		}
		level, _ := s.Root.Find("/1/set/1/level")
		if start, stop := level.Bytes(); sampleA[start:stop] != "75" {
			t.Errorf("%q", sampleA[start:stop])
		}
		channels, _ := s.Root.Find("/1/set/2/channels")
		if start, stop := channels.Bytes(); sampleA[start:stop] != "12" {
			t.Errorf("%q", sampleA[start:stop])
		}
	}
}

func TestUnlisted(t *testing.T) {
	state := "Cue 1\nUp 1\nChan 1@50 2@50\nCue 2\nUp 1\nChan 2@50\nEndData\n"
	tracks := strings.Replace(state, "Chan 2@50\nEnd", "Chan 1@0\nEnd", 1)
	whole := strings.Replace(state, "Chan 2@50\nEnd", "Chan 2@50 1@0\nEnd", 1)
	for name, test := range map[string]struct {
		text, option, tracking, known string
	}{
		"nothing is listed at zero": {state, "", "release", "inferred"},
		"something is":              {tracks, "", "carry", "inferred"},
		"all is listed":             {whole, "", "", ""}, // it makes no difference, so nobody is asked
		"said to be off":            {tracks, "off", "release", ""},
		"said to be kept":           {state, "keep", "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			part, in, _ := read(t, test.text, test.option)
			told := 0
			for _, f := range in.Findings {
				if f.Rule == "file/unlisted-channels" {
					told++
				}
			}
			if (told == 1) != (test.known != "") {
				t.Errorf("told %d times", told)
			}
			tracking, _ := part.Sections[0].Root.Find("/1/tracking")
			if got := tracking.Str(); got != test.tracking {
				t.Errorf("%q", got)
			}
			known, _ := part.Sections[0].Root.Find("/1/known/tracking")
			if got := known.Str(); got != test.known && known.Key() == "tracking" {
				t.Errorf("%q", got)
			}
		})
	}
}

func TestLayParts(t *testing.T) {
	part, _, _ := read(t, `Ident 3:0
Patch 2 1<7@100
Patch 1 1<1@100 1<2@100 5<9@100
Cue 3
Text Storm
Text from the left
Up 2
Part 2
Up 4 1
Chan 1@20
Part 1
Up 3
Down 6 2
Chan 1@100
Link 4
Followon 10
Cue 4
Chan 5@50
Cue 9 2
Up 1
$Stack 1
Text x
EndData
`, "off")
	formattest.Same(t, any(formattest.Sections(part)), `{
		"patch": [{"channel": 1, "address": "1.1", "more_addresses": ["1.2"]}, {"channel": 5, "address": "1.9"}],
		"cues": [
			{"cue": 3, "name": "Storm", "note": "from the left", "in_s": 2, "follow_s": 10, "tracking": "release", "known": {"follow_s": [10, 18]}},
			{"cue": 3, "part": 1, "in_s": 3, "out_s": 6, "set": [{"channels": "1", "level": 100}]},
			{"cue": 3, "part": 2, "in_s": 4, "delay_s": 1, "set": [{"channels": "1", "level": 20}]},
			{"cue": 4, "in_s": 0, "tracking": "release", "known": {"in_s": "assumed"}, "set": [{"channels": "5", "level": 50}]}
		]}`)
	want := `dropped 1 dimmers on other patch pages
dropped 1 cues on other pages
defaulted 1 cues without a fade time (0 s is assumed)
dropped 1 delays of falling levels that differ from those of rising ones
dropped 2 lines of a maker's own data`
	if got := formattest.Losses(part); got != want {
		t.Error(got)
	}
}

func TestGroupNames(t *testing.T) {
	part, _, _ := read(t, `Group 1
Text 1-6
Chan 1@100
Group 2
Text Front
Chan 1@100 2@100 3@100 5@50
Group 3
Text front
Chan 9@0 8@100
Group 4
Chan 1@0
Group 5
Text all
Chan 7@100
Cue 1
EndData`, "")
	formattest.Same(t, any(formattest.Sections(part)), `{"groups": {"group 1": "1", "Front": "1-3,5", "front (3)": "8", "group 5": "7"},
		"cues": [{"cue": 1, "in_s": 0, "known": {"in_s": "assumed"}}]}`)
	if got := formattest.Losses(part); !strings.Contains(got, "dropped 1 groups with levels of their own") || !strings.Contains(got, "dropped 1 groups and submasters without channels") {
		t.Error(got)
	}
}

// What is the same in many places is told once, with how many there are.
func TestLinesThatAreTooLong(t *testing.T) {
	for n, want := range map[int]string{1: "", 2: "There are 2 such places; this is the first.", 3: "There are 3 such places; this is the first."} {
		_, in, ok := read(t, "Cue 1\n"+strings.Repeat("Text "+strings.Repeat("a", 90)+"\n", n)+"EndData\n", "")
		if !ok || len(in.Findings) != 1 {
			t.Errorf("of %d lines is told %v", n, in.Findings)
			continue
		}
		if got := in.Findings[0].Message; !strings.HasSuffix(got, want) || strings.Contains(got, "such places") != (want != "") {
			t.Errorf("of %d lines is told %q", n, got)
		}
	}
}

func TestReadWhatIsNone(t *testing.T) {
	for text, says := range map[string]string{
		"":                            "holds no keyword",
		"a,b\n1,2\n":                  "holds no keyword",
		"Cue 1\x00":                   "a zero byte",
		"\xff\xfeC":                   "cut off",
		strings.Repeat("Up 1\n", 300): "more than 200 errors",
	} {
		_, in, ok := read(t, text, "")
		if ok || !in.Failed || len(in.Findings) == 0 {
			t.Errorf("%.20q is read", text)
			continue
		}
		if got := in.Findings[len(in.Findings)-1].Message; !strings.Contains(got, says) {
			t.Errorf("%.20q: %s", text, got)
		}
	}
}

func TestSniff(t *testing.T) {
	for text, want := range map[string]format.Sure{
		sampleA:                            format.ByContent,
		sampleB:                            format.ByContent,
		"Ident 3.0\r\n":                    format.ByContent,
		"! remark\n\nPatch 1 1<1@100\n":    format.ByContent,
		"cue,name,level\n1,Doors,50\n":     format.No,
		"Cue 1,House,50\nCue 2,Stage,50\n": format.No,
		"Cue 1\nChan 1@50\n":               format.ByContent,
		"{\"cues\": []}":                   format.No,
		"PK\x03\x04":                       format.No,
		"\x00\r\nIdent 3.0\r\n":            format.No,
		"Ident 3.0\r\n\x00":                format.No,
		"Ident 3.0\r\nText \x01\r\n":       format.ByContent,
		"":                                 format.No,
		"channel,address\n1,1.1\n":         format.No,
		"Chan,Address,Type\n1,1.1,Par\n":   format.No,
		"group,channels\nfront,1-6\n":      format.No,
	} {
		if got := Format.Sniff("desk", text); got != want {
			t.Errorf("%.30q: %d, want %d", text, got, want)
		}
	}
	if got := Format.Sniff("desk.ASC", "Cue 1"); got != format.ByName {
		t.Error(got)
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{sampleA, sampleB, "Cue 1\nPart 1\nChan 1@50 2/FULL\nFollowon .5\nGroup 2\nText a,b\nChan 4@9"} {
		f.Add([]byte(seed), "off")
		f.Add([]byte(seed), "")
	}
	f.Fuzz(func(t *testing.T, data []byte, unlisted string) {
		part, in, ok := read(t, string(data), unlisted)
		if !ok && len(in.Findings) == 0 {
			t.Fatal("unreadable without a word")
		}
		for _, l := range part.Losses {
			if l.Count < 1 || l.Place.File == nil || l.Place.Stop > len(l.Place.File.Text) {
				t.Fatalf("%+v", l)
			}
		}
	})
}

// What a file is is looked for in its first fifty lines that say something.
func TestHowFarItIsLookedFor(t *testing.T) {
	for lines, want := range map[int]format.Sure{0: format.ByContent, 49: format.ByContent, 50: format.No} {
		text := strings.Repeat("hello there\n\n! a remark\n", lines) + "Ident 3:0\n"
		if got := sniff("desk.txt", text); got != want {
			t.Errorf("behind %d lines it is %v, want %v", lines, got, want)
		}
	}
}
