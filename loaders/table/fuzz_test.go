package table

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

var seeds = []string{
	"channel,name,address\n1,\"a\"\"b\",1.1\n", "cue,part,in_s,channels,level,mix,palette,screen\n1,,1:20,\"1-6\",Full,red=1 b=2,#aabbcc,w\n,2,,,,,,\n", "name,duration,people\na,1:2:3,a;b\n",
	"place,cue,channels,level,lux,kelvin\na,4,1-2,70 %,300.5,\n", "Rig;;\nHeight (mm);Unit name;Channel no.\n4800;a;1\nTotal;1;\n", "Cues,Ch 1,Ch 2,Level (0-255)\n1,255,--,\n2-4,51,FF,7\n",
	"Cue,Channels,Level,Red,Green,Blue,Colour\n1,1,50%,1,0.5,0,#ff8000\n", "\xEF\xBB\xBFch\tuniverse\tslot\r1\t2\t3", "cue,name\n\xFC,\x80", "a\x00", "[[", "<a>", `{"a": 1,,`, "",
}

// mostTried is how many bytes are tried: what goes wrong in a table does so in a few rows, and many
// rows only take time from trying others.
const mostTried = 200

// FuzzRead reads any bytes as a table: values and complaints have a place in the text, and
// what is not read is not read with a word. Half of them begin with the column without which
// nothing is read.
func FuzzRead(f *testing.F) {
	const given = 0x80
	for i, seed := range seeds {
		f.Add(byte(i), []byte(seed))
		f.Add(byte(i)|given, []byte(seed))
	}
	f.Fuzz(func(t *testing.T, which byte, data []byte) {
		data = data[:min(len(data), mostTried)]
		section := Format.Holds[int(which)%len(Format.Holds)]
		if which&given != 0 {
			data = append([]byte(tableOf(section).essential+","), data...)
		}
		file := &source.File{Name: section + ".csv"}
		in, said := format.Quiet(format.Options{}), 0
		inside := func(p source.Place) {
			if p.File != nil && (p.Start < 0 || p.Stop < p.Start || p.Stop > len(file.Text)) {
				t.Fatalf("%d-%d of %d bytes", p.Start, p.Stop, len(file.Text))
			}
		}
		in.Say = func(_ string, f finding.Finding) {
			said++
			inside(f.Place)
			if f.Message == "" {
				t.Fatal("a finding without a word")
			}
		}
		in.Fail = in.Say
		part, ok := read(in, section, file, string(data))
		if !ok && said == 0 {
			t.Fatal("not read without a word")
		}
		var walk func(ref source.Ref)
		walk = func(ref source.Ref) {
			inside(ref.Place())
			inside(ref.KeyPlace())
			for item := range ref.Items() {
				walk(item)
			}
		}
		for _, s := range part.Sections {
			walk(s.Root)
		}
	})
}

// FuzzMappings asks of any bytes what their columns probably are: it is told, or they are no table.
// Mostly it is said which section they are, since finding that out takes the time of four.
func FuzzMappings(f *testing.F) {
	for i, seed := range seeds {
		f.Add(byte(0), []byte(seed))
		f.Add(byte(i), []byte(seed))
	}
	f.Fuzz(func(t *testing.T, which byte, data []byte) {
		data = data[:min(len(data), mostTried)]
		text, _, err := source.Decode(data)
		if err != nil {
			return
		}
		section := ""
		if n := int(which) % (2*len(Format.Holds) + 1); n > 0 {
			section = Format.Holds[n%len(Format.Holds)]
		}
		words, err := Mappings([]Text{{Name: "x.csv", Text: text, Section: section}}, nil)
		if why, _ := noTable(text); (err == nil) == (words == "") || why != "" && (err == nil || !strings.Contains(err.Error(), why)) {
			t.Fatalf("%q and %v are said of the columns of %q", words, err, section)
		}
	})
}
