package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/paper"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/rules"
)

// slot is a value in a tree of JSON, and how it is put back changed or taken away.
type slot struct {
	value any
	put   func(any)
	drop  func()
}

// slots lists every value below a slot, the same in every run.
func (s slot) slots(list []slot) []slot {
	list = append(list, s)
	switch v := s.value.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			list = slot{v[key], func(new any) { v[key] = new }, func() { delete(v, key) }}.slots(list)
		}
	case []any:
		for i := range v {
			list = slot{v[i], func(new any) { v[i] = new }, func() { s.put(slices.Delete(slices.Clone(v), i, i+1)) }}.slots(list)
		}
	}
	return list
}

// clone copies a value with all that is in it, so that a tree never holds itself.
func clone(value any) any {
	switch v := value.(type) {
	case map[string]any:
		of := map[string]any{}
		for key, member := range v {
			of[key] = clone(member)
		}
		return of
	case []any:
		of := make([]any, len(v))
		for i := range v {
			of[i] = clone(v[i])
		}
		return of
	}
	return value
}

// strange is what no show should hold where it is put.
var strange = []any{
	nil, true, "", []any{}, map[string]any{}, "\u202e\u2066name", "\x1b[2J\u009b31m", "a\r\nREADY  all is well", "<script>", "=cmd|x", "\u0000", "1-99999", "Full", "fünf", strings.Repeat("long ", 300),
	json.Number("0"), json.Number("-1"), json.Number("1e308"), json.Number("-1e308"), json.Number("5e-324"), json.Number("1e999"), json.Number("0.5"), json.Number("513"), json.Number("1e9"), json.Number("99999999999999999999"),
}

// changed makes a few changes to a show, four bytes each: what, where (two), and how much.
func changed(t *testing.T, show string, edits []byte) string {
	decoder := json.NewDecoder(strings.NewReader(show))
	decoder.UseNumber()
	var tree any
	if err := decoder.Decode(&tree); err != nil {
		t.Fatal(err)
	}
	cut := -1
	for n := 0; len(edits) >= 4 && n < 12; n++ {
		all := slot{tree, func(new any) { tree = new }, func() { tree = map[string]any{} }}.slots(nil)
		if len(all) > 5000 { // it grew by copies of itself
			break
		}
		at := func(i int) slot { return all[(int(edits[1])<<8|int(edits[2])+i)%len(all)] }
		here, much := at(0), int(edits[3])
		switch number, isNumber := here.value.(json.Number); edits[0] % 8 {
		case 0:
			here.drop()
		case 1, 2:
			here.put(strange[much%len(strange)])
		case 3: // something else of the same show
			here.put(clone(at(1 + much).value))
		case 4: // a list that repeats itself
			if list, is := here.value.([]any); is && len(list) > 0 {
				here.put(append(slices.Clone(list), clone(list[much%len(list)])))
			}
		case 5, 6:
			if value, err := number.Float64(); isNumber && err == nil {
				scaled, err := json.Marshal(value * float64(much-64) / 32)
				if err == nil {
					here.put(json.Number(scaled))
				}
			}
		default:
			cut = int(edits[1])<<8 | int(edits[2])
		}
		edits = edits[4:]
	}
	var text bytes.Buffer
	if err := json.NewEncoder(&text).Encode(tree); err != nil {
		t.Fatal(err)
	}
	if cut >= 0 && cut%16 == 0 { // a file of which a part is missing is seldom more than that
		return text.String()[:cut%text.Len()]
	}
	return text.String()
}

// smallDemo is the one or other demo show with two of its cues, one place, the lamps that light it, and
// some of those that light something else.
func smallDemo(tb testing.TB, name, place string, first float64) string {
	read := func(section string, keep func(i int, item map[string]any) bool) any {
		data, err := os.ReadFile(filepath.Join("../../testdata/shows", name, section+".json"))
		if err != nil {
			tb.Fatal(err)
		}
		var value any
		if err := json.Unmarshal(data, &value); err != nil {
			tb.Fatal(err)
		}
		if keep == nil {
			return value
		}
		i := -1
		return slices.DeleteFunc(value.([]any), func(item any) bool { i++; return !keep(i, item.(map[string]any)) })
	}
	types := map[any]bool{}
	patch := read("patch", func(i int, lamp map[string]any) bool {
		point, isPoint := lamp["aimed_at"].(map[string]any)
		here := lamp["aimed_at"] == place || isPoint && len(point) > 0 && i%4 == 0 || lamp["aimed_at"] == nil
		types[lamp["type"]] = types[lamp["type"]] || here
		return here
	})
	room := read("room", nil).(map[string]any)
	room["places"] = slices.DeleteFunc(room["places"].([]any), func(item any) bool { return item.(map[string]any)["name"] != place })
	room["surfaces"] = room["surfaces"].([]any)[:3]
	room["cameras"] = room["cameras"].([]any)[:2]
	show := read("show", nil).(map[string]any)
	show["room"], show["patch"] = room, patch
	show["types"] = read("types", func(_ int, kind map[string]any) bool { return types[kind["name"]] })
	show["cues"] = read("cues", func(_ int, cue map[string]any) bool {
		n, is := cue["cue"].(float64)
		return is && n >= first && n < first+2
	})
	show["order"] = read("order", func(_ int, segment map[string]any) bool { return segment["start_cue"] == first })
	delete(show, "groups") // cues name channels that are gone often enough
	text, err := json.Marshal(show)
	if err != nil {
		tb.Fatal(err)
	}
	return string(text)
}

var notANumber = regexp.MustCompile(`\bNaN\b|\bInf\b`)

// noNumber finds what is written for what is no number; to look for the words first is quicker.
func noNumber(text []byte) []int {
	if !bytes.Contains(text, []byte("NaN")) && !bytes.Contains(text, []byte("Inf")) {
		return nil
	}
	return notANumber.FindIndex(text)
}

// FuzzWholePath changes small shows as people and programs break files, and takes each through
// check, the corrected copy, the text and by turns each other format, the paper and the numbers: nothing fails, no output
// holds what is no number or a character that is not seen, and the exit code fits the verdict.
func FuzzWholePath(f *testing.F) {
	shows := []string{smallDemo(f, "mended", "pulpit", 24), smallDemo(f, "flawed", "lead singer", 4), smallDemo(f, "flawed", "lectern", 10), smallDemo(f, "mended", "keys", 22)}
	for i := range shows {
		for turn := i; turn < 8; turn += len(shows) { // each format and the rest once, in one show or the other
			f.Add(byte(i+4*turn), []byte{1, byte(turn), 20, byte(5 + i), 3, 0, 80, 9, 5, 2, 2, 200, 0, 1, byte(i), 0})
		}
		f.Add(byte(128+i), []byte{})
	}
	f.Add(byte(1), []byte{7, 4, 0, 0})
	f.Add(byte(1), []byte{4, 0, 2, 1, 4, 0, 2, 1, 5, 1, 1, 0})
	set, formats := rules.Own(), formatNames()
	f.Fuzz(func(t *testing.T, which byte, edits []byte) {
		folder := t.TempDir()
		path, to := filepath.Join(folder, "evening.json"), filepath.Join(folder, "corrected")
		text := changed(t, shows[int(which)%len(shows)], edits)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		turn := int(which>>2) % (len(formats) + 2) // all of them each time would try fewer shows
		format := formats[min(turn, len(formats)-1)]
		o := lint.Options{Rules: set, House: lint.HouseOptions{None: true}, Pictures: format == "html", Fixes: format == "sarif", Try: to}
		r, err := lint.Run([]string{path}, o)
		if err != nil {
			t.Fatal(err)
		}
		exit := exitCode(exitClean)
		errors.As(exitOf(r, checkOptions{failLevel: string(finding.Error)}), &exit)
		if !fits(exit, &r.Shows[0]) {
			t.Fatalf("%s ends with %d", r.Shows[0].Verdict, exit)
		}
		if tried := r.Shows[0].Tried; tried != nil {
			if _, err := os.Stat(to); (err == nil) != (tried.Changes > 0) {
				t.Fatalf("a copy with %d changes: %v", tried.Changes, err)
			}
		}
		// The card of a rule is the same in every report; those of what was found will do.
		r.Rules = slices.DeleteFunc(r.Rules, func(card finding.Rule) bool {
			return !slices.ContainsFunc(r.Shows[0].Findings, func(f finding.Finding) bool { return f.Rule == card.ID })
		})
		told := func(name string, write func(io.Writer) error) {
			var out bytes.Buffer
			if err := write(&out); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if at := noNumber(out.Bytes()); at != nil {
				t.Fatalf("%s holds %s: %.200q", name, out.Bytes()[at[0]:at[1]], out.Bytes()[max(0, at[0]-100):])
			}
			text := strings.ReplaceAll(out.String(), "\r\n", "\n") // RFC 4180 ends its lines so
			for i, c := range text {
				if c != '\n' && (c < 0x20 || c > 0x7e) && unicode.In(c, unicode.Cc, unicode.Bidi_Control, unicode.Zl, unicode.Zp) {
					t.Fatalf("%s holds %U: %.200q", name, c, text[max(0, i-100):])
				}
			}
		}
		options := say.Options{Width: 80, All: which >= 128, Exit: int(exit)}
		told("text", func(w io.Writer) error { return report.Formats["text"](w, r, options) })
		switch turn {
		case len(formats):
			told("paper", func(w io.Writer) error { return paper.Write(w, r, paper.Size(paper.Sizes[0])) })
		case len(formats) + 1:
			numbers, _, _, err := lint.Measure(path, o)
			if err != nil {
				t.Fatal(err)
			}
			for _, kind := range facts.KindNames() {
				for name, write := range report.FactFormats {
					told(kind+" as "+name, func(w io.Writer) error { return write(w, numbers.Subjects(kind), rules.WordsOf(kind), set.Value) })
				}
			}
		default:
			told(format, func(w io.Writer) error { return report.Formats[format](w, r, options) })
		}
	})
}

// fits says whether an exit code is one that goes with what is said first.
func fits(exit exitCode, show *outcome.Show) bool {
	switch exit {
	case exitClean:
		return show.Verdict == outcome.Ready || show.Verdict == outcome.WithCare
	case exitFindings:
		return show.Verdict == outcome.Hold
	case exitShow:
		return show.Unreadable && show.Verdict == outcome.NotChecked
	}
	return exit == exitNothing && show.Verdict == outcome.NotChecked
}
