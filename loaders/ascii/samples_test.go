package ascii

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/loaders/format/formattest"
)

// A legal file that looks unlike most: CR LF, tabs, words in any case, each delimiter,
// levels in percent and in two and four hexadecimal digits, times with hours, parts out
// of order, a decimal cue, several universes, and what a maker adds. The values were
// written down from the digest of the standard.
func TestASampleOfManyConstructs(t *testing.T) {
	text := strings.ReplaceAll("! Café evening\n\tident\t3:0\nmanufacturer fictive\nCLEAR\tcues\nclear patch\nset channels 512\n$Palette 3 H7F\n$$Colour 9\n"+
		"patch\t1\t1<512@100\t2<513@H80\t3<1024@100\nPATCH 1 1<1025@100\n"+
		"group 2.5\n\ttext Face light, front\n\tchan 1;100\t2=H0F\n"+
		"cue 0.5\n\ttext Doors ! house at half\n\tup 1:00\n\tdown 0:01:30.5\n\tchan 1@hff 2/H8000 3>50\n"+
		"cue 10\n\tpart 2\n\t up 3 1\n\t chan 1@20\n\tpart 1\n\t chan 2@0\n\t up 5\n\tfollowon 2\n\tlink 0.5\n"+
		"cue 2\n\tchan 3@100\n\tchan 1@0\n"+
		"Sub 7\n\tChan 1@100 3@50\nenddata\ncue 99\n", "\n", "\r\n")
	part, in, ok := read(t, text, "keep")
	if !ok {
		t.Fatal(in.Findings)
	}
	formattest.Same(t, any(formattest.Sections(part)), `{
		"patch": [{"channel": 1, "address": "1.512", "more_addresses": ["3.1"]}, {"channel": 2, "address": "2.1"}, {"channel": 3, "address": "2.512"}],
		"groups": {"group 2.5": "1-2", "submaster 7": "1,3"},
		"cues": [
			{"cue": 0.5, "name": "Doors", "in_s": 60, "out_s": 90.5, "set": [{"channels": "1", "level": 100}, {"channels": "2", "level": 50.000762951}, {"channels": "3", "level": 50}]},
			{"cue": 2, "in_s": 0, "known": {"in_s": "assumed"}, "set": [{"channels": "3", "level": 100}, {"channels": "1", "level": 0}]},
			{"cue": 10, "part": 1, "in_s": 5, "follow_s": 2, "known": {"follow_s": [2, 7]}, "set": [{"channels": "2", "level": 0}]},
			{"cue": 10, "part": 2, "in_s": 3, "delay_s": 1, "set": [{"channels": "1", "level": 20}]}
		]}`)
	want := `dropped 1 limits of dimmers in the patch
dropped 1 groups with levels of their own
defaulted 1 cues without a fade time (0 s is assumed)
dropped 1 links to another cue than the next
dropped 1 levels of submasters (their channels are groups)
dropped 2 lines of a maker's own data`
	if got := formattest.Losses(part); got != want {
		t.Error(got)
	}
	for _, f := range in.Findings {
		if f.Level != "note" && f.Detail != "data-after-end" {
			t.Errorf("%s: %s", f.Detail, f.Message)
		}
	}
}

// Of several pages the lowest is read, and it is said that the others are not.
func TestOtherPagesAreTold(t *testing.T) {
	part, in, ok := read(t, "Ident 3:0\nPatch 2 5<9@100\nPatch 1 1<1@100\nCue 1 2\nUp 1\nChan 5@50\nCue 3 1\nUp 1\nChan 1@50\nCue 4 1\nUp 1\nChan 1@0\nEndData\n", "keep")
	if !ok {
		t.Fatal(in.Findings)
	}
	formattest.Same(t, any(formattest.Sections(part)), `{
		"patch": [{"channel": 1, "address": "1.1"}],
		"cues": [{"cue": 3, "in_s": 1, "set": [{"channels": "1", "level": 50}]}, {"cue": 4, "in_s": 1, "set": [{"channels": "1", "level": 0}]}]}`)
	var told []string
	for _, f := range in.Findings {
		if f.Rule == "file/other-pages" {
			told = append(told, f.Message)
		}
	}
	if got := strings.Join(told, "\n"); !strings.Contains(got, "Page 1 is read, the lowest; 1 dimmers on others are not") || !strings.Contains(got, "Page 1 is read, the lowest; 1 cues on others are not") {
		t.Error(got)
	}
}
