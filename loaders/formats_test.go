package loaders

import (
	"errors"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// hooks is a format that is only read: a channel and an address on each line.
var hooks = format.Format{
	Name: "hook list", Ends: []string{".hooks"}, Holds: []string{"patch"},
	Sniff: func(name, head string) format.Sure {
		if strings.HasPrefix(head, "HOOKS") || head == "" && strings.HasSuffix(name, ".hooks") {
			return format.ByContent
		}
		return format.No
	},
	Read: func(in *format.Input, section string, file *source.File, data string) (format.Part, bool) {
		file.Text = data
		b := source.NewBuilder(file)
		b.Begin(source.Array, 0)
		at := 0
		for line := range strings.Lines(data) {
			if channel, address, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
				b.Begin(source.Object, at)
				b.Key("channel", at, at+len(channel))
				b.Scalar(source.Number, channel, at, at+len(channel))
				b.Key("address", at, at)
				b.Scalar(source.String, address, at+len(channel)+1, at+len(channel)+1+len(address))
				b.End(at + len(line))
			}
			at += len(line)
		}
		return format.Part{Sections: []format.Section{{Name: "patch", Root: b.End(at)}}}, true
	},
}

// A format is one row: a file of it is found, read and, if it cannot be written,
// refused as a whole with a word that says why.
func TestAFormatIsOneRow(t *testing.T) {
	formats = append(formats, &hooks)
	t.Cleanup(func() { formats = formats[:len(formats)-1] })
	folder := files(t, map[string]string{"patch.hooks": "HOOKS\n12 1.101\n13 1.102\n", "cues.json": `[{"cue": 1, "set": [{"channels": "12", "level": 50}]}]`})
	r := load(t, folder)
	if len(r.Findings) > 0 || len(r.Show.Patch) != 2 || r.Show.Patch[1].Address != "1.102" {
		t.Fatalf("read %d fixtures and %s", len(r.Show.Patch), messages(r.Findings))
	}
	if at, _ := r.Show.Patch[1].At.Find("/address"); at.Span().Start != (source.Position{Line: 3, Column: 4}) {
		t.Errorf("the address stands at %v", at.Span().Start)
	}
	list, err := Replacements(r.Show, []source.Edit{{At: r.Show.Cues[0].Set[0].At, Field: "level", Value: 40.0}}, nil)
	if err != nil || len(list) != 1 {
		t.Errorf("a change of the cues alone: %v, %v", list, err)
	}
	var no *Unwritable
	_, err = Replacements(r.Show, []source.Edit{{At: r.Show.Patch[0].At, Field: "address", Value: "2.1"}}, nil)
	if !errors.As(err, &no) || !strings.HasSuffix(err.Error(), "patch.hooks: a file of this format is only read, never written") {
		t.Errorf("a change of the patch: %v", err)
	}
	if Writable("patch.hooks") || !Writable("patch.csv") || !Writable("x.json") {
		t.Error("Writable is wrong")
	}
}

func TestInputOfNobody(t *testing.T) {
	in := format.Quiet(format.Options{})
	in.Say("", finding.Finding{})
	in.Fail("", finding.Finding{})
	in.Lost()
	in.Note(&source.File{}, "")
	if in.Entry(&source.File{}, "a").Name != "a" || in.Subject(&source.File{Name: "b"}).Name != "b" {
		t.Error("a quiet input does not name files")
	}
}

func TestEverySectionHasAFormat(t *testing.T) {
	for _, section := range schema.Sections {
		if len(endsFor(section)) == 0 {
			t.Errorf("no format holds %s", section)
		}
	}
}
