package history

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

func failure(name string) *finding.Finding {
	return &finding.Finding{Rule: "white/key-mix", Level: finding.Error, Verdict: finding.Fail, Subjects: []finding.Subject{{Kind: "place", Name: name}}}
}

// runWith is a run that found failures about places of these names.
func runWith(day string, names ...string) Run {
	r := Run{Date: day, Show: &schema.Show{}, Files: []*source.File{{Name: "s/show.json", Text: day + "\n"}}}
	for _, name := range names {
		r.Findings = append(r.Findings, failure(name))
	}
	return r
}

// saved is the history as the next run reads it.
func saved(t testing.TB, h *History) *History {
	t.Helper()
	data, err := h.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	return again
}

func empty(t testing.TB) *History {
	t.Helper()
	h, err := Open(filepath.Join(t.TempDir(), "none.json"))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestSinceLastTime(t *testing.T) {
	h := empty(t)
	for _, step := range []struct {
		day   string
		names []string
		want  string
	}{
		{"2026-03-01", []string{"a", "b", "c"}, "This is the first run that the history remembers."},
		{"2026-03-08", []string{"a", "d"}, "Since last time (2026-03-01): 2 fixed, 1 new."},
		{"2026-03-15", []string{"a", "b", "d"}, "Since last time (2026-03-08): 0 fixed, 0 new, 1 back for the second time."},
		{"2026-03-22", []string{"a"}, "Since last time (2026-03-15): 2 fixed, 0 new."},
		{"2026-03-29", []string{"a", "b", "c", "d", "e"}, "Since last time (2026-03-22): 0 fixed, 1 new, 2 back for the second time, 1 back for the third time."},
		{"2026-03-29", []string{"a", "b", "c", "d", "e"}, "Since last time (2026-03-29): 0 fixed, 0 new."},
	} {
		now := runWith(step.day, step.names...)
		if got := h.Since(now)[0]; got != step.want {
			t.Errorf("%s: %q, want %q", step.day, got, step.want)
		}
		h.Add(now)
		h = saved(t, h)
	}
	if len(h.kept.Runs) != 5 {
		t.Errorf("%d runs are kept; the same show twice on a day is one", len(h.kept.Runs))
	}
}

func TestWhatNobodyCanTellStaysWhereItWas(t *testing.T) {
	h := empty(t)
	h.Add(runWith("2026-03-01", "a", "b"))
	open := failure("a")
	open.Verdict = finding.Open
	now := runWith("2026-03-08", "b")
	now.Findings = append(now.Findings, open)
	if got := h.Since(now)[0]; got != "Since last time (2026-03-01): 0 fixed, 0 new, 1 of which nobody can tell any more." {
		t.Error(got)
	}
	h.Add(now)
	if got := h.Since(runWith("2026-03-15", "a", "b"))[0]; got != "Since last time (2026-03-08): 0 fixed, 0 new." {
		t.Error(got) // it was never gone
	}
	blind := runWith("2026-03-15")
	blind.Blind = map[string]bool{"white/key-mix": true}
	if got := h.Since(blind)[0]; !strings.Contains(got, "0 fixed, 0 new, 2 of which nobody can tell") {
		t.Error(got)
	}
}

// TestTheFileStaysSmall runs for years.
func TestTheFileStaysSmall(t *testing.T) {
	h := empty(t)
	for week := range 200 {
		day := fmt.Sprintf("%04d-%02d-%02d", 2026+week/48, 1+week/4%12, 1+week%4*7)
		h.Add(runWith(day, "always", fmt.Sprint("once ", week)))
	}
	if len(h.kept.Runs) != mostRuns {
		t.Errorf("%d runs", len(h.kept.Runs))
	}
	if n := len(h.kept.Services[0].Findings); n != mostRuns+1 {
		t.Errorf("%d findings; those before the oldest run are to be forgotten", n)
	}
	many := runWith("2040-01-01")
	for i := range mostFindings + 100 {
		many.Findings = append(many.Findings, failure(fmt.Sprint("one of many ", i)))
	}
	h.Add(many)
	data, err := h.Bytes()
	if err != nil || len(h.kept.Services[0].Findings) != mostFindings || len(data) > largest {
		t.Errorf("%d findings, %d bytes, %v", len(h.kept.Services[0].Findings), len(data), err)
	}
}

// TestItHoldsNoNames looks for every name that went in.
func TestItHoldsNoNames(t *testing.T) {
	h := empty(t)
	now := runWith("2026-03-01", "Secret Person")
	now.Show.Name = "Secret Hall"
	now.Files = append(now.Files, &source.File{Name: "home/secret-person/secret-patch.csv", Text: "secret"})
	h.Add(now)
	data, err := h.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(bytes.ToLower(data), []byte("secret")) || bytes.Contains(data, []byte("show.json")) {
		t.Errorf("%s", data)
	}
}

func TestForeignFilesAreRefused(t *testing.T) {
	h := empty(t)
	h.Add(runWith("2026-03-01", "a"))
	good, err := h.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	change := func(old, new string) string {
		if !bytes.Contains(good, []byte(old)) {
			t.Fatalf("nothing to change: %s", old)
		}
		return strings.Replace(string(good), old, new, 1)
	}
	for _, tc := range []struct{ name, text, problem string }{
		{"empty", "", "no JSON"},
		{"a show", `{"patch": []}`, `does not say "schema"`},
		{"a list", `[]`, "no JSON object"},
		{"cut off", string(good[:len(good)/2]), "no JSON object"},
		{"a later shape", change("history-2", "history-3"), "history-3"},
		{"another key", change(`"runs"`, `"walks": [], "runs"`), "walks"},
		{"no such day", change(`"date": "2026-03-01"`, `"date": "2026-02-30"`), "2026-02-30"},
		{"a bad hash", change(`"show": "`, `"show": "x`), "is broken"},
		{"a bad salt", change(`"salt": "`, `"salt": "x`), "salt"},
		{"fewer than none", change(`"fixtures": 0`, `"fixtures": -1`), "is broken"},
		{"never came", change(`"times": 1`, `"times": 0`), "is broken"},
		{"no finding", `{"schema":"cueproof-history-2","salt":"` + strings.Repeat("0", 32) + `","services":[{"date":"2026-03-01","findings":[{}]}]}`, "is broken"},
		{"too long", `{"schema":"cueproof-history-2"` + strings.Repeat(" ", largest), "more than"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			name := filepath.Join(t.TempDir(), "h.json")
			if err := os.WriteFile(name, []byte(tc.text), 0o666); err != nil {
				t.Fatal(err)
			}
			_, err := Open(name)
			if err == nil || !strings.Contains(err.Error(), tc.problem) && !strings.Contains(err.Error(), "it has more than") || !strings.Contains(err.Error(), "left as it is") {
				t.Errorf("%v, want %q", err, tc.problem)
			}
		})
	}
	if _, err := Open(t.TempDir()); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
		t.Errorf("a folder: %v", err)
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if h, err := Open(filepath.Join(file, "h.json")); h != nil || err == nil || !strings.Contains(err.Error(), "cannot be opened") {
		t.Errorf("below a file: %v, %v", h, err)
	}
}

func said(list []finding.Finding) string {
	var words []string
	for _, f := range list {
		words = append(words, strings.TrimPrefix(f.Rule, "file/show-")+" "+string(f.Level))
	}
	return strings.Join(words, ", ")
}

func TestIsItTonightsFile(t *testing.T) {
	patch := func(n int) []*schema.Fixture { return make([]*schema.Fixture, n) }
	file := func(text string) []*source.File { return []*source.File{{Name: "x/patch.csv", Text: text}} }
	rows := strings.Repeat("a row of the patch\n", 10)
	last := Run{Date: "2026-03-01", Show: &schema.Show{Patch: patch(100)}, Files: file(rows)}
	other := "# " + rows
	for _, tc := range []struct {
		name string
		now  Run
		want string
	}{
		{"all is well", Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-03-08", ExportedAt: "2026-03-07T20:00:00+01:00", Patch: patch(100)}, Files: file(other)}, ""},
		{"no dates", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(other)}, ""},
		{"bad dates", Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-02-30", ExportedAt: "today", Patch: patch(100)}, Files: file(other)}, ""},
		{"six days old", Run{Date: "2026-03-08", Show: &schema.Show{ExportedAt: "2026-03-02t20:00:00z", Patch: patch(100)}, Files: file(other)}, ""},
		{"seven days old", Run{Date: "2026-03-08", Show: &schema.Show{ExportedAt: "2026-03-01T20:00:00Z", Patch: patch(100)}, Files: file(other)}, "old warning"},
		{"tomorrow elsewhere", Run{Date: "2026-03-08", Show: &schema.Show{ExportedAt: "2026-03-09T01:00:00+14:00", Patch: patch(100)}, Files: file(other)}, ""},
		{"from the days to come", Run{Date: "2026-03-08", Show: &schema.Show{ExportedAt: "2026-03-10T01:00:00Z", Patch: patch(100)}, Files: file(other)}, "old warning"},
		{"for yesterday", Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-03-07", Patch: patch(100)}, Files: file(other)}, "other-day warning"},
		{"for tomorrow", Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-03-09", Patch: patch(100)}, Files: file(other)}, "other-day note"},
		{"the same file", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows)}, "as-last-time warning"},
		{"the same file, for today", Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-03-08", Patch: patch(100)}, Files: file(rows)}, ""},
		{"the same file on the same day", Run{Date: "2026-03-01", Show: &schema.Show{Patch: patch(100)}, Files: file(rows)}, ""},
		{"4 fewer", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(96)}, Files: file(other)}, ""},
		{"5 fewer", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(95)}, Files: file(other)}, "fewer-fixtures warning"},
		{"41 fewer", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(59)}, Files: file(other)}, "fewer-fixtures warning"},
		{"more", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(141)}, Files: file(other)}, ""},
		{"half of it", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows[:len(rows)/2-1] + "\n")}, ""},
		{"less than half", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows[:len(rows)/2-2] + "\n")}, "cut-short warning"},
		{"in the middle of a line", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows[:len(rows)-5])}, "cut-short warning"},
		{"longer with no last end", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows + "one more")}, ""},
		{"as long with no last end", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows[:len(rows)-1] + ".")}, ""},
		{"a file of another name", Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: []*source.File{{Name: "x/cues.csv", Text: "a"}}}, ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			h := empty(t)
			h.Add(last)
			if got := said(saved(t, h).Problems(tc.now)); got != tc.want {
				t.Errorf("%q, want %q", got, tc.want)
			}
		})
	}
	// A second run today with last week's file is still last week's file.
	h := empty(t)
	h.Add(last)
	again := Run{Date: "2026-03-08", Show: &schema.Show{Patch: patch(100)}, Files: file(rows)}
	h.Add(again)
	if got := said(h.Problems(again)); got != "as-last-time warning" {
		t.Errorf("the second time today: %q", got)
	}
	// Without a history only the dates can be told.
	if got := said(empty(t).Problems(Run{Date: "2026-03-08", Show: &schema.Show{Date: "2026-03-01"}, Files: file(rows)})); got != "other-day warning" {
		t.Errorf("without a history: %q", got)
	}
}

func TestWhatIsWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := empty(t)
		for range rapid.IntRange(1, 8).Draw(rt, "runs") {
			day := fmt.Sprintf("2026-%02d-%02d", rapid.IntRange(1, 12).Draw(rt, "month"), rapid.IntRange(1, 28).Draw(rt, "day"))
			names := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", "d"}), 0, 6).Draw(rt, "names")
			h.Add(runWith(day, names...))
			before, err := h.Bytes()
			if err != nil {
				rt.Fatal(err)
			}
			h = saved(t, h)
			if after, err := h.Bytes(); err != nil || !bytes.Equal(before, after) {
				rt.Fatalf("read and written again it differs: %v\n%s\n%s", err, before, after)
			}
			if got := h.Since(runWith(day, names...))[0]; !strings.HasSuffix(got, ": 0 fixed, 0 new.") {
				rt.Fatalf("nothing happened, and yet: %s", got)
			}
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"schema":"cueproof-history-2","salt":"` + strings.Repeat("0", 32) + `","runs":[],"services":[{"date":"2026-03-01","things":{"cue":[{"name":"a","levels":"AAAA"}]},"findings":[{"rule":"white/key-mix","about":[["place","a"]],"keys":["F-1"],"times":1,"here":true,"last":"2026-03-01"}]}]}`))
	f.Add([]byte(`{"schema":"cueproof-history-2","runs":[{"date":"2026-03-01","show":"` + strings.Repeat("a", 64) + `","fixtures":9223372036854775807,"files":[{"name":"` + strings.Repeat("b", 64) + `","bytes":9223372036854775807}]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		h, err := Read(data)
		if err != nil {
			return
		}
		now := runWith("2026-03-08", "a")
		h.Since(now)
		h.Problems(now)
		h.Add(now)
		saved(t, h)
	})
}

// TestASketchIsReadInPairs: two bytes are a level of a look, the high one first; what is left over is none.
func TestASketchIsReadInPairs(t *testing.T) {
	for text, want := range map[string][]uint16{"": nil, "\x01": nil, "\x01\x02": {0x0102}, "\x01\x02\x03": {0x0102}, "\x01\x02\x03\x04": {0x0102, 0x0304}} {
		if got := (&thing{Levels: []byte(text)}).match().Sketch; !slices.Equal(got, want) {
			t.Errorf("%q is %v, not %v", text, got, want)
		}
	}
}
