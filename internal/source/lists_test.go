package source

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// told is everything that a reference says, and what is in it.
func told(b *strings.Builder, ref Ref) {
	start, stop := ref.Bytes()
	fmt.Fprintf(b, "%s %v %q %q %d-%d %d-%d %d-%d %s\n", ref.Pointer(), ref.Kind(), ref.Key(), ref.Str(), start, stop,
		ref.Place().Start, ref.Place().Stop, ref.KeyPlace().Start, ref.KeyPlace().Stop, ref.Place().File.Name)
	for item := range ref.Items() {
		told(b, item)
	}
}

// opened lists what is wrong in the items of long lists.
func opened(t *testing.T, root Ref) (problems []string) {
	t.Helper()
	var o Opener
	var visit func(ref Ref)
	visit = func(ref Ref) {
		if !ref.IsLong() {
			if ref.node >= 0 {
				for item := range ref.Items() {
					visit(item)
				}
			}
			return
		}
		i := 0
		for item := range ref.Items() {
			got, list := o.Open(ref.LongItems()[i])
			for _, p := range list {
				problems = append(problems, fmt.Sprint(p.ID, p.At.Start, p.Message))
			}
			if got.Lasting() != item {
				t.Errorf("item %d is %v, opened %v", i, item, got.Lasting())
			}
			var lasting, open strings.Builder
			told(&lasting, item)
			toldOpen(&open, got, item.Pointer())
			if diff := cmp.Diff(lasting.String(), open.String()); diff != "" {
				t.Errorf("item %d (-read again +open):\n%s", i, diff)
			}
			i++
		}
	}
	visit(root)
	return problems
}

// toldOpen is the same for an open item, which knows nothing of what is above it.
func toldOpen(b *strings.Builder, ref Ref, above string) {
	var inner strings.Builder
	told(&inner, ref)
	for line := range strings.Lines(inner.String()) {
		b.WriteString(above + line)
	}
}

// A file whose long lists are read again tells the same as one that is kept.
func TestLongListsTellTheSame(t *testing.T) {
	texts := []string{
		`[]`, `{"cues": [], "patch": [1]}`, `[{"a": 1, "b": [true, false, null, -1.5e3, "x\"y\\", "\u00e9\n"]}, 5, "x", [], {}]`,
		`{"name": "x", "cues": [ {"cue": 1, "set": [ {"channels": "1-6", "level": 5} ,{"xy":[.3]} ]} , {"cues": [1]}, [[1]] ], "x": {"cues": [2]}, "patch" : [ ]}`,
		`[{"a":1,"a":2,"b":{"a":1,"c":1e999,"c":[]}},{"a":1,"b":1}, {"b":1,"a":1,"b":{}}]`, `{"patch": {"a": [1]}, "cues": 5}`,
	}
	shows, err := filepath.Glob("../../testdata/shows/*/*.json")
	if err != nil || len(shows) == 0 {
		t.Fatal(err)
	}
	for _, name := range shows {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	for _, text := range texts {
		text = strings.ReplaceAll(text, "[.3]", "[0.3]")
		whole, long := &File{Name: "x", Text: text}, &File{Name: "x", Text: text}
		p1, ok1 := ParseJSON(whole)
		p2, ok2 := ParseJSON(long, "", "/cues", "/patch")
		if !ok1 || !ok2 {
			t.Fatalf("%q: %v %v", text, p1, p2)
		}
		var a, b strings.Builder
		told(&a, whole.Root())
		told(&b, long.Root())
		if diff := cmp.Diff(a.String(), b.String()); diff != "" {
			t.Errorf("%.80q (-kept +read again):\n%s", text, diff)
		}
		var want, got []string
		for _, p := range p1 {
			want = append(want, fmt.Sprint(p.ID, p.At.Start, p.Message))
		}
		for _, p := range p2 {
			got = append(got, fmt.Sprint(p.ID, p.At.Start, p.Message))
		}
		got = append(got, opened(t, long.Root())...)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%.80q: problems (-kept +read again):\n%s", text, diff)
		}
	}
}

func TestSkippedItemsAreOnlyPlaces(t *testing.T) {
	text := `[{"cue": 1, "set": [{"a": [1, {"set": 2}]}, "x]\"", 5 ,true,null,-1e5], "set2": [1]}, {"set": {"a": 1}}]`
	file := &File{Text: text}
	if _, ok := ParseJSON(file, ""); !ok {
		t.Fatal("not read")
	}
	o := Opener{Skip: "set"}
	items := file.Root().LongItems()
	ref, _ := o.Open(items[0])
	var got []string
	for _, item := range o.Skipped {
		got = append(got, item.Text())
	}
	if diff := cmp.Diff([]string{`{"a": [1, {"set": 2}]}`, `"x]\""`, "5", "true", "null", "-1e5"}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	set, _ := ref.Get("set")
	if start, stop := set.Bytes(); set.Len() != 0 || !strings.HasPrefix(text[start:], `[{"a"`) || !strings.HasSuffix(text[:stop], "-1e5]") {
		t.Errorf("set has %d items and is %q", set.Len(), text[start:stop])
	}
	if deep := o.Skipped[0].Ref(); deep.Pointer() != "/0/set/0" || deep.Kind() != Object {
		t.Errorf("the first is %s", deep.Pointer())
	}
	if ref, _ := o.Open(items[1]); len(o.Skipped) > 0 || ref.Len() != 1 {
		t.Errorf("what is no list is skipped: %v", o.Skipped)
	}
}

func TestItemsThatNestTooDeeplyAreToldOnce(t *testing.T) {
	for _, text := range []string{
		"[" + strings.Repeat("[", MaxDepth+1) + strings.Repeat("]", MaxDepth+1) + "]",
		`[{"set": [` + strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth) + `]}]`,
		`[[` + strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth) + "," + strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth) + `]]`,
	} {
		file := &File{Text: text}
		if _, ok := ParseJSON(file, ""); !ok {
			t.Fatal("not read")
		}
		o := Opener{Skip: "set"}
		_, problems := o.Open(file.Root().LongItems()[0])
		if len(problems) != 1 || problems[0].ID != "syntax" {
			t.Errorf("%.20s: %v", text, problems)
		}
	}
}

func TestItemsAreReadAgainByManyAtOnce(t *testing.T) {
	var b strings.Builder
	for i := range 100 {
		fmt.Fprintf(&b, `,{"cue": %d}`, i)
	}
	file := &File{Text: "[" + b.String()[1:] + "]"}
	if _, ok := ParseJSON(file, ""); !ok {
		t.Fatal("not read")
	}
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			i := 0
			for item := range file.Root().Items() {
				if number, _ := item.Get("cue"); number.Str() != fmt.Sprint(i) || item.Pointer() != fmt.Sprintf("/%d", i) {
					t.Errorf("item %d is %s", i, number.Str())
				}
				i++
			}
		})
	}
	group.Wait()
}
