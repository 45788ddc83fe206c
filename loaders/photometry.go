package loaders

import (
	"fmt"
	"path"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/optics/photometry"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// readPhotometry reads the photometric files that the types name. Several types
// may name one file. A file that is missing or wrong is a finding, and the type
// then has no data: its light is unknown, not zero.
func (l *loader) readPhotometry() {
	data := map[string][]byte{}
	for _, t := range l.result.Show.Types {
		if t.Photometry == "" || l.lit[t] {
			continue
		}
		l.lit[t] = true
		relative := path.Clean(strings.ReplaceAll(t.Photometry, `\`, "/"))
		text, done := data[relative]
		if !done {
			text = l.photometricFile(t, relative)
			data[relative] = text
		}
		t.PhotometryData = text
	}
}

func (l *loader) photometricFile(t *schema.Type, relative string) []byte {
	named, _ := t.At.Find("/photometry")
	if l.folder == "" {
		l.say("missing-file", l.dark(fmt.Sprintf("the type %q has its light in the file %q, but a show on standard input has no folder to find it in.", t.Name, relative), relative, named.Place()))
		return nil
	}
	file, text, ok := l.open(relative, "photometry of "+t.Name, named.Place())
	if !ok {
		return nil
	}
	// Only lines are wanted of it, and those are the same in every encoding that
	// begins with ASCII.
	file.Text = strings.ToValidUTF8(text, "?")
	_, problems, err := photometry.Parse([]byte(text), photometry.Lenient)
	for _, p := range problems {
		at := lineOf(file, p.Line)
		message := fmt.Sprintf("%s (%s)", p.Message, p.Code)
		f := finding.Finding{
			Level: finding.Note, Consequence: finding.Later, Detail: p.Code,
			Subjects: []finding.Subject{l.fileSubject(file)}, Message: message, Place: at,
		}
		switch p.Severity {
		case photometry.Error:
			f.Level, f.Consequence = finding.Error, finding.Dark
		case photometry.Warning:
			f.Level = finding.Warning
		}
		l.say("photometry", f)
	}
	if err != nil {
		return nil
	}
	return []byte(text)
}

func (l *loader) dark(message, relative string, at source.Place) finding.Finding {
	return finding.Finding{
		Level: finding.Error, Consequence: finding.Dark, Message: message, Place: at,
		Subjects: []finding.Subject{{Kind: "file", Name: relative}},
	}
}

// lineOf is a line of a file, counted from 1; line 0 is the file as a whole.
func lineOf(file *source.File, line int) source.Place {
	start := 0
	for ; line > 1; line-- {
		next := strings.IndexByte(file.Text[start:], '\n')
		if next < 0 {
			break
		}
		start += next + 1
	}
	stop := start + len(strings.TrimRight(strings.SplitN(file.Text[start:], "\n", 2)[0], "\r"))
	return source.Place{File: file, Start: start, Stop: stop}
}
