package lesson

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
)

const hostile = "<script>alert(1)</script> \u202e \x1b[31m &\""

// Words of a show run nothing and change no layout, and the sheet of exercises tells
// nothing that the sheet of answers is for.
func TestHostileWordsAndNoAnswers(t *testing.T) {
	list := []Exercise{{Folder: hostile, Faults: []Fault{{
		Hints: []string{"look", "measure", "rule"}, Title: "the title " + hostile, Where: "the place " + hostile, Says: "what is said " + hostile,
		Parts: []Part{{"What", "the part " + hostile}},
	}}}}
	for _, answers := range []bool{false, true} {
		var page bytes.Buffer
		if err := Write(&page, "Exercises", list, answers); err != nil {
			t.Fatal(err)
		}
		text := page.String()
		for _, bad := range []string{"<script", "\u202e", "\x1b", "http:", "https:", " style="} {
			if strings.Contains(text, bad) {
				t.Errorf("answers %v: %q stands in it", answers, bad)
			}
		}
		for _, told := range []string{"the title", "the place", "what is said", "the part"} {
			if strings.Contains(text, told) != answers {
				t.Errorf("answers %v: it tells %q", answers, told)
			}
		}
		d := xml.NewDecoder(strings.NewReader(text))
		d.Strict = false
		d.AutoClose, d.Entity = xml.HTMLAutoClose, xml.HTMLEntity
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("answers %v: %v", answers, err)
			}
		}
	}
}
