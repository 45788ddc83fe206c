package source

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

func parse(t *testing.T, text string) (*File, []Problem, bool) {
	t.Helper()
	file := &File{Name: "show.json", Text: text}
	problems, ok := ParseJSON(file)
	return file, problems, ok
}

func TestPositionsCountCharacters(t *testing.T) {
	for _, tc := range []struct {
		name, text, pointer string
		line, column        int
	}{
		{"first line", `{"a": 1}`, "/a", 1, 7},
		{"LF", "{\n \"a\": 1}", "/a", 2, 7},
		{"CR LF is one line break", "{\r\n\r\n\"a\": 1}", "/a", 3, 6},
		{"lone CR is a line break", "{\r\r\"a\": 1}", "/a", 3, 6},
		{"CR before a letter and LF", "{\r \n\"a\": 1}", "/a", 3, 6},
		{"a tab is one character", "{\n\t\t\"a\":\t1}", "/a", 2, 8},
		{"multi-byte text counts once", `{"ü€😀": "x", "a": 1}`, "/a", 1, 19},
		{"item of a list", "{\"a\": [10,\n 20]}", "/a/1", 2, 2},
		{"object stands at its key", "{\n\"a\": {\"b\": 1}}", "/a", 2, 1},
		{"escaped pointer", `{"a/b~c": 1}`, "/a~1b~0c", 1, 11},
		{"unknown pointer gives the parent", "{\n\"a\": {\"b\": 1}}", "/a/zz/9", 2, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			file, problems, ok := parse(t, tc.text)
			if !ok || len(problems) > 0 {
				t.Fatalf("did not parse: %v", problems)
			}
			ref, _ := file.Root().Find(tc.pointer)
			if got := ref.Span().Start; got != (Position{tc.line, tc.column}) {
				t.Errorf("%s stands at %v, want %d:%d", tc.pointer, got, tc.line, tc.column)
			}
		})
	}
}

func TestPointerFindsItself(t *testing.T) {
	file, _, _ := parse(t, `{"a/b": [{"~": [1, 2, {"c": null}]}], "": {"x": true}}`)
	for i := range file.nodes {
		ref := Ref{file, int32(i)}
		back, ok := file.Root().Find(ref.Pointer())
		if !ok || back != ref {
			t.Errorf("pointer %q of node %d leads to node %d", ref.Pointer(), i, back.node)
		}
	}
}

func TestBadTextHasAPlace(t *testing.T) {
	for _, tc := range []struct {
		name, text, id, message string
		line, column            int
		readable                bool
	}{
		{"empty", "", "syntax", "the file is empty", 1, 1, false},
		{"blank", " \n\t", "syntax", "the file is empty", 1, 1, false},
		{"cut off", "{\"a\": [1,\n2", "syntax", "cut off", 2, 2, false},
		{"cut off in text", `{"a": "x`, "syntax", "cut off", 1, 9, false},
		{"garbage", "%PDF-1.4", "syntax", "not JSON", 1, 1, false},
		{"NaN", `{"a": NaN}`, "syntax", "not JSON", 1, 7, false},
		{"text behind the value", "{}\n{}", "syntax", "more text follows", 2, 2, false},
		{"deep nesting", strings.Repeat("[", 10_000), "syntax", "more than 200 levels", 1, 201, false},
		{"not UTF-8", "{\"a\": \"\xff\"}", "syntax", "not JSON: invalid UTF-8", 1, 8, false},
		{"huge number", "{\"a\":\n1e999}", "number-range", "1e999 is too large", 2, 1, true},
		{"same key twice", "{\"a\": 1,\n \"b\": {\"a\": 2},\n \"a\": 3}", "key-twice", `"a" stands twice`, 3, 2, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, problems, ok := parse(t, tc.text)
			if ok != tc.readable || len(problems) != 1 {
				t.Fatalf("readable %v, problems %v; want %v and one", ok, problems, tc.readable)
			}
			got := problems[0]
			if got.ID != tc.id || !strings.Contains(got.Message, tc.message) {
				t.Errorf("got %s: %s; want %s: ...%s...", got.ID, got.Message, tc.id, tc.message)
			}
			if place := got.At.Span().Start; place != (Position{tc.line, tc.column}) {
				t.Errorf("place %v, want %d:%d", place, tc.line, tc.column)
			}
		})
	}
}

func TestNestedTwinIsNotMistakenForItsParents(t *testing.T) {
	_, problems, ok := parse(t, `{"a": {"a": {"a": 1}}, "b": [{"a": 1}, {"a": 1}]}`)
	if !ok || len(problems) != 0 {
		t.Errorf("problems %v, want none", problems)
	}
}

func TestSeveralProblemsAreReportedAtOnce(t *testing.T) {
	_, problems, ok := parse(t, `{"a": 1e999, "a": -1e999, "b": {"c": 1, "c": 1, "c": 1}}`)
	if !ok || len(problems) != 5 {
		t.Errorf("got %d problems %v, want 2 numbers and 3 names", len(problems), problems)
	}
}

func TestTooManyValuesAreRefused(t *testing.T) {
	for text, wanted := range map[string]bool{
		`[0, {"a": 1}]`: true, `[0, {"a": 1}, 2]`: false, `[0, {"a": 1}, []]`: false,
	} {
		problems, ok := parseJSON(&File{Text: text}, 4)
		if ok != wanted || !ok && !strings.Contains(problems[0].Message, "more than 4 values") {
			t.Errorf("%s: readable %v, problems %v", text, ok, problems)
		}
	}
}

func TestProblemsBeyondTheThousandthAreCounted(t *testing.T) {
	_, problems, ok := parse(t, "["+strings.Repeat("1e999,", 1500)+"0]")
	if !ok || len(problems) != 1000 || !strings.Contains(problems[999].Message, "; 500 more things") {
		t.Errorf("readable %v, %d problems, the last %q", ok, len(problems), problems[len(problems)-1].Message)
	}
}

// Whatever parses must mean the same to the standard library, and every value
// must have a place inside the text.
func FuzzParseJSON(f *testing.F) {
	for _, seed := range []string{`{}`, `{"a":[1,2.5e3,"x\n\u00e9",null,true,{"b":{}}]}`, `[[[`, `{"a":1,"a":2}`, "\r\n{\"ü\":\t-0}", `1e999`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file := &File{Name: "fuzz", Text: text}
		problems, ok := ParseJSON(file)
		for _, p := range problems {
			p.At.Span()
		}
		if !ok {
			if len(problems) == 0 {
				t.Fatal("unreadable without a word")
			}
			return
		}
		for i := range file.nodes {
			ref := Ref{file, int32(i)}
			start, stop := ref.Bytes()
			if start > stop || stop > len(text) || !utf8.ValidString(ref.Pointer()) {
				t.Fatalf("node %d spans %d-%d of %d", i, start, stop, len(text))
			}
			ref.Span()
		}
		if len(problems) > 0 {
			return
		}
		var want any
		if err := json.Unmarshal([]byte(text), &want); err != nil {
			t.Fatalf("the standard library refuses it: %v", err)
		}
		if diff := cmp.Diff(want, file.Root().Any()); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestPositionInOneLongLine(t *testing.T) {
	text := strings.Repeat("aü€😀", 5000) + "\n" + strings.Repeat("ö", 9000)
	file := &File{Text: text}
	for offset := 0; offset < len(text); offset += 37 {
		for !utf8.RuneStart(text[offset]) {
			offset++
		}
		line, start := 1, 0
		if i := strings.IndexByte(text, '\n'); offset > i {
			line, start = 2, i+1
		}
		want := Position{line, utf8.RuneCountInString(text[start:offset]) + 1}
		if got := file.Position(offset); got != want {
			t.Fatalf("offset %d is at %v, want %v", offset, got, want)
		}
	}
}

// TestLend gives an object a member of another file: its place is known there, and it
// is none of the object's own.
func TestLend(t *testing.T) {
	parse := func(name, text string) Ref {
		f := &File{Name: name, Text: text}
		if problems, ok := ParseJSON(f); !ok {
			t.Fatal(problems)
		}
		return f.Root()
	}
	mine, theirs := parse("mine", `{"a": 1, "b": 2}`), parse("theirs", "{\n\"c\": 3, \"a\": 4}")
	c, _ := theirs.Get("c")
	a, _ := theirs.Get("a")
	mine.Lend("c", c)
	mine.Lend("a", a)
	if got, ok := mine.Get("c"); !ok || got.File.Name != "theirs" || got.Span().Start.Line != 2 {
		t.Errorf("%+v", got)
	}
	if got, _ := mine.Get("a"); got.Str() != "1" {
		t.Error("what was lent hides what is there")
	}
	if got, ok := mine.Find("/c"); !ok || got != c {
		t.Error("not found")
	}
	if mine.Len() != 2 {
		t.Error("it is among the items")
	}
}

func TestShorten(t *testing.T) {
	full := strings.Repeat("ü", 60)
	if got := Shorten(full); got != full {
		t.Errorf("60 letters became %q", got)
	}
	if got := Shorten(full + "x"); got != full+"…" {
		t.Errorf("61 letters became %q", got)
	}
}

// TestTheLastLineBreak: a text that ends with a line break of two characters ends in the line
// after it, as one that ends with a break of one.
func TestTheLastLineBreak(t *testing.T) {
	for text, want := range map[string]Position{"a\r\n": {2, 1}, "a\n": {2, 1}, "a\r": {2, 1}, "a\r\nb": {2, 2}, "a\r\n\r\n": {3, 1}, "": {1, 1}} {
		f := &File{Name: "a.json", Text: text}
		if got := (Place{File: f, Start: len(text), Stop: len(text)}).Span().Start; got != want {
			t.Errorf("%q ends at %v, want %v", text, got, want)
		}
	}
}
