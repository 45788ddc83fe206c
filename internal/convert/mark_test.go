package convert

import (
	"testing"

	"github.com/cueproof/cueproof/internal/source"
)

// TestWhereAnObjectCameFrom: what most of its values have is said of the whole, unless what it stands in says it; what
// differs is said beside it. Objects, and lists of them, speak for themselves.
func TestWhereAnObjectCameFrom(t *testing.T) {
	for _, c := range []struct{ about, text, want string }{
		{"one line", `{"a": 1, "b": 2}`, `{ "a": 1, "b": 2, "x_from": "a.json:1" }`},
		{"an object of objects", "{\"a\": 1,\n\"b\": {\"c\": {\"d\": 2}}}", `{ "a": 1, "b": { "c": { "d": 2, "x_from": "a.json:2" } }, "x_from": "a.json:1" }`},
		{"the same line within", `{"a": 1, "b": {"c": {"d": 2}}}`, `{ "a": 1, "b": { "c": { "d": 2 } }, "x_from": "a.json:1" }`},
		{"a list of objects", "{\"a\": 1,\n\"l\": [{\"b\": 2}]}", `{ "a": 1, "l": [{ "b": 2, "x_from": "a.json:2" }], "x_from": "a.json:1" }`},
		{"a list of numbers", "{\"a\": 1, \"b\": 2,\n\"l\": [3]}", `{ "a": 1, "b": 2, "l": [3], "x_from": { "all else": "a.json:1", "l": "a.json:2" } }`},
		{"a list of nothing", "{\"a\": 1, \"b\": 2,\n\"l\": []}", `{ "a": 1, "b": 2, "l": [], "x_from": { "all else": "a.json:1", "l": "a.json:2" } }`},
		{"most from the second line", "{\"a\": 1,\n\"b\": 2, \"c\": 3}", `{ "a": 1, "b": 2, "c": 3, "x_from": { "all else": "a.json:2", "a": "a.json:1" } }`},
		{"as many from each", "{\"a\": 1,\n\"b\": 2}", `{ "a": 1, "b": 2, "x_from": { "all else": "a.json:1", "b": "a.json:2" } }`},
		{"as many from each, of which one is said above", "{\"o\": {\"a\": 1,\n\"b\": 2}, \"c\": 3}", `{ "o": { "a": 1, "b": 2, "x_from": { "a": "a.json:1" } }, "c": 3, "x_from": "a.json:2" }`},
		{"a mix", "{\"a\": 1,\n\"mix\": {\"red\": 2}}", `{ "a": 1, "mix": { "red": 2 }, "x_from": "a.json:1" }`},
		{"part of a mix", "{\"a\": 1,\n\"mix_part\": {\"red\": 2}}", `{ "a": 1, "mix_part": { "red": 2 }, "x_from": "a.json:1" }`},
		{"how it is known", "{\"a\": 1,\n\"known\": {\"a\": \"read\"}}", `{ "a": 1, "known": { "a": "read" }, "x_from": "a.json:1" }`},
	} {
		file := &source.File{Name: "a.json", Text: c.text}
		if problems, ok := source.ParseJSON(file); !ok {
			t.Fatal(c.about, problems)
		}
		made := document{root: copied(file.Root())}
		(&maker{}).mark(made.root, "")
		if made.print(); made.text != c.want+"\n" {
			t.Errorf("%s:\n%s, not\n%s", c.about, made.text, c.want)
		}
	}
}
