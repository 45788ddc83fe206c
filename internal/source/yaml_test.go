package source

import (
	"strings"
	"testing"
)

func TestYAMLPlaces(t *testing.T) {
	text := "limits:\n  white/key-mix:\n    max_mired: 12   # a remark\nwaivers:\n- reason: \"größer, \\u00e9\"\n  until: 2026-02-30\r\n- {rule: a}\n"
	file := &File{Name: "house.yaml", Text: text}
	if problem := ParseYAML(file); problem != nil {
		t.Fatal(problem.Message)
	}
	for pointer, want := range map[string]struct {
		text string
		at   Position
		kind Kind
	}{
		"/limits/white~1key-mix/max_mired": {"12", Position{3, 16}, Number},
		"/waivers/0/reason":                {"größer, é", Position{5, 11}, String},
		"/waivers/0/until":                 {"2026-02-30", Position{6, 10}, String},
		"/waivers/1/rule":                  {"a", Position{7, 10}, String},
		"/limits":                          {"", Position{1, 1}, Object},
	} {
		ref, ok := file.Root().Find(pointer)
		if !ok || ref.Str() != want.text || ref.Kind() != want.kind || ref.Place().Span().Start != want.at {
			t.Errorf("%s is %q (%s) at %v; want %q (%s) at %v", pointer, ref.Str(), ref.Kind(), ref.Place().Span().Start, want.text, want.kind, want.at)
		}
	}
}

// TestYAMLThings: a thing begins at its first key, however many it has, and at its bracket if it has one.
func TestYAMLThings(t *testing.T) {
	file := &File{Name: "house.yaml", Text: "one:\n  a: 1\ntwo:\n  b: 2\n  c: 3\nin: {d: 4}\nlist:\n- e: 5\nnone: {}\n"}
	if problem := ParseYAML(file); problem != nil {
		t.Fatal(problem.Message)
	}
	for pointer, begins := range map[string]string{"": "one:", "/one": "a: 1", "/two": "b: 2", "/in": "{d: 4}", "/list": "- e: 5", "/list/0": "e: 5", "/none": "{}"} {
		ref, ok := file.Root().Find(pointer)
		if start, _ := ref.Bytes(); !ok || !strings.HasPrefix(file.Text[start:], begins) {
			t.Errorf("%q begins at %.9q, not at %q", pointer, file.Text[start:], begins)
		}
	}
}

func TestYAMLRefused(t *testing.T) {
	for what, text := range map[string]string{
		"an alias that grows": "a: &a [x, x]\nb: [*a, *a]\n",
		"a tag":               "a: !!str x\n",
		"a merge":             "<<: {a: 1}\n",
		"two documents":       "a: 1\n---\nb: 2\n",
		"nothing":             "# only a remark\n",
		"a key twice":         "a: 1\na: 2\n",
		"open brackets":       strings.Repeat("[", 60_000),
		"nested dashes":       strings.Repeat("- ", 300) + "x",
		"a line of dashes":    strings.Repeat("- ", 32_000),
		"a line of pairs":     "a: 1\n" + strings.Repeat("[]{}", 16_000),
		"a line of anchors":   strings.Repeat("&a ", 20_000),
		"a line of items":     "a: [" + strings.Repeat("a, ", 20_000) + "]",
	} {
		problem := ParseYAML(&File{Name: "house.yaml", Text: text})
		if problem == nil {
			t.Errorf("%s is taken", what)
		} else if problem.ID != "syntax" || problem.Message == "" || problem.At.File == nil {
			t.Errorf("%s: %+v", what, problem)
		}
	}
}

func TestLineOfMarks(t *testing.T) {
	if at, most := tooDense("a: 1\nb: " + strings.Repeat("-", mostMarks) + "\n"); most != mostMarks || at != 5 {
		t.Errorf("found at %d (%d); want 5", at, most)
	}
	if at, most := tooDense(strings.Repeat("- - -\n", mostMarksInAll/3+1)); most != mostMarksInAll || at != mostMarksInAll/3*6 {
		t.Errorf("found at %d (%d); want %d", at, most, mostMarksInAll/3*6)
	}
	if _, most := tooDense(strings.Repeat("- -\n", mostMarksInAll/2)); most > 0 {
		t.Error("a file of as many marks as it may have is refused")
	}
	if _, most := tooDense("a: " + strings.Repeat("-", mostMarks-1) + "\n" + strings.Repeat("word ", 10_000)); most > 0 {
		t.Error("a long text is refused")
	}
}

// A remark and line ends of two characters move no place.
func TestYAMLPlacesWithCarriageReturns(t *testing.T) {
	file := &File{Name: "house.yaml", Text: "# ours\r\nrules: # these\r\n  colour: off\r\n\r\n# more\r\nwaivers:\r\n  - subject: cue 5\r\n"}
	if problem := ParseYAML(file); problem != nil {
		t.Fatal(problem)
	}
	waivers, _ := file.Root().Get("waivers")
	for item := range waivers.Items() {
		subject, _ := item.Get("subject")
		if start, stop := subject.Bytes(); file.Text[start:stop] != "cue 5" {
			t.Errorf("the subject stands at %q", file.Text[start:stop])
		}
	}
}
