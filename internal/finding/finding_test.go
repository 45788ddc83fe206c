package finding

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/source"
)

func glare() Finding {
	number := 812.0
	file := &source.File{Name: "cues.json", Text: `[{"cue": 12}]`}
	return Finding{
		Rule: "comfort/glare", Level: Warning, Verdict: Fail, Consequence: Room,
		Subjects: []Subject{{"place", "front row"}, {"segment", "Talk"}}, Detail: "left",
		Message: "812 lx reach the front row; 500 lx is the limit.", Cues: []string{"12"},
		Measured: []Evidence{{"look.peak_lx", "812", &number, "lx"}}, Limits: []Evidence{{"limit.max_lx", "500", nil, "lx"}},
		Hint: "lower the front wash", Place: source.Place{File: file, Start: 9, Stop: 11},
	}
}

// Keys are written into house files and said over headsets: they may not change
// from one version of the program to the next. The hashes are SHA-256, worked out
// with another program (coreutils sha256sum).
func TestKeysAreStable(t *testing.T) {
	f := glare()
	if got, want := f.Identity(), "comfort/glare\x00fail\x00place=front row\x00segment=Talk\x00left"; got != want {
		t.Errorf("the identity is %q, want %q", got, want)
	}
	if got, want := f.Fingerprint(), "805ec0f88cd6ad3c71b33422cc2b3f38"; got != want {
		t.Errorf("the fingerprint is %s, want %s", got, want)
	}
	if got, want := f.Key(), "F-G1FC1"; got != want {
		t.Errorf("the key is %s, want %s", got, want)
	}
}

func TestAFindingIsRecognisedByWhatItIsAbout(t *testing.T) {
	base := glare()
	for name, change := range map[string]func(*Finding){
		"message":     func(f *Finding) { f.Message = "813 lx" },
		"measured":    func(f *Finding) { f.Measured = nil },
		"limits":      func(f *Finding) { f.Limits = nil },
		"place":       func(f *Finding) { f.Place = source.Place{} },
		"cues":        func(f *Finding) { f.Cues = []string{"13", "14"} },
		"level":       func(f *Finding) { f.Level = Error },
		"consequence": func(f *Finding) { f.Consequence = Hurt },
		"hint":        func(f *Finding) { f.Hint = "" },
		"missing":     func(f *Finding) { f.Missing = []string{"the flux"} },
		"remedies":    func(f *Finding) { f.Remedies = []Remedy{{Effect: "dim"}} },
		"related":     func(f *Finding) { f.Related = []Related{{Message: "here"}} },
	} {
		f := glare()
		change(&f)
		if f.Identity() != base.Identity() || f.Key() != base.Key() || f.Fingerprint() != base.Fingerprint() {
			t.Errorf("another %s makes another finding", name)
		}
	}
	for name, change := range map[string]func(*Finding){
		"rule":              func(f *Finding) { f.Rule = "comfort/gloom" },
		"verdict":           func(f *Finding) { f.Verdict = Open },
		"detail":            func(f *Finding) { f.Detail = "right" },
		"subject":           func(f *Finding) { f.Subjects[0].Name = "second row" },
		"kind":              func(f *Finding) { f.Subjects[0].Kind = "surface" },
		"second subject":    func(f *Finding) { f.Subjects = f.Subjects[:1] },
		"order of subjects": func(f *Finding) { slices.Reverse(f.Subjects) },
	} {
		f := glare()
		change(&f)
		if f.Identity() == base.Identity() || f.Key() == base.Key() || f.Fingerprint() == base.Fingerprint() {
			t.Errorf("another %s makes no other finding", name)
		}
	}
}

func TestKeysCanBeSaid(t *testing.T) {
	said := regexp.MustCompile(`^F-[0-9A-HJKMNP-TV-Z]{5}$`) // no I, L, O, U
	keys := map[string]int{}
	const many = 1500
	for i := range many {
		f := Finding{Rule: "patch/address-overlap", Verdict: Fail, Subjects: []Subject{{"channel", fmt.Sprint(i)}}}
		if !said.MatchString(f.Key()) {
			t.Fatalf("the key %q cannot be said", f.Key())
		}
		if len(f.Fingerprint()) != 32 {
			t.Fatalf("the fingerprint %q has %d digits", f.Fingerprint(), len(f.Fingerprint()))
		}
		keys[f.Key()]++
	}
	if len(keys) < many-1 { // about 1 in 30 that two of them meet, see Key
		t.Errorf("%d findings have %d keys", many, len(keys))
	}
}

func TestWords(t *testing.T) {
	for _, test := range []struct{ got, want string }{
		{Subject{"channel", "12"}.String(), "channel 12"},
		{Subject{"show", ""}.String(), "show"},
		{Hurt.String(), "hurt"}, {Later.String(), "later"},
		{Dark.Sentence(), "part of the service goes dark or cannot run"},
	} {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
	for i, name := range Consequences {
		if c := Consequence(i); c.String() != name || c.Sentence() == "" {
			t.Errorf("consequence %d is %q: %q", i, c, c.Sentence())
		}
	}
	if len(Consequences) != int(Later)+1 {
		t.Errorf("%d consequences have names", len(Consequences))
	}
}

func TestLevels(t *testing.T) {
	order := []Level{Error, Warning, Note, "unheard-of"} // a word that is no level is under all of them
	for i, a := range order {
		for k, b := range order {
			if got, want := a.AtLeast(b), i <= k; got != want {
				t.Errorf("%s at least %s: %v", a, b, got)
			}
		}
	}
}

var (
	aFile = &source.File{Name: "a.json", Text: "0123456789"}
	bFile = &source.File{Name: "b.json", Text: "0123456789"}
)

func TestSortByFilePlaceRuleAndIdentity(t *testing.T) {
	in := func(file *source.File, start int, rule, subject string) Finding {
		return Finding{Rule: rule, Verdict: Fail, Subjects: []Subject{{"channel", subject}}, Place: source.Place{File: file, Start: start}}
	}
	sorted := []Finding{
		in(nil, 0, "z/z", "9"), // what stands nowhere comes first
		in(aFile, 0, "z/z", "1"),
		in(aFile, 2, "a/a", "1"), in(aFile, 2, "b/b", "0"), in(aFile, 2, "b/b", "1"),
		in(aFile, 10, "a/a", "1"), // by number, not by letter
		in(bFile, 1, "a/a", "1"),
	}
	list := slices.Clone(sorted)
	slices.Reverse(list)
	Sort(list)
	words := func(list []Finding) (words []string) {
		for _, f := range list {
			words = append(words, fmt.Sprint(fileName(&f), f.Place.Start, f.Rule, f.Subjects))
		}
		return words
	}
	if diff := cmp.Diff(words(sorted), words(list)); diff != "" {
		t.Error(diff)
	}
}

func drawFinding() *rapid.Generator[Finding] {
	return rapid.Custom(func(t *rapid.T) Finding {
		words := rapid.SampledFrom([]string{"", "a", "b"})
		return Finding{
			Rule: words.Draw(t, "rule"), Verdict: rapid.SampledFrom([]Verdict{Fail, Open}).Draw(t, "verdict"),
			Level: rapid.SampledFrom(Levels).Draw(t, "level"), Consequence: Consequence(rapid.IntRange(0, 4).Draw(t, "consequence")),
			Subjects: []Subject{{"channel", words.Draw(t, "subject")}}, Detail: words.Draw(t, "detail"),
			Message: words.Draw(t, "message"), Hint: words.Draw(t, "hint"),
			Cues: []string{words.Draw(t, "cue")}, Missing: []string{words.Draw(t, "missing")},
			Place: source.Place{
				File:  rapid.SampledFrom([]*source.File{nil, aFile, bFile}).Draw(t, "file"),
				Start: rapid.IntRange(0, 2).Draw(t, "start"), Stop: rapid.IntRange(2, 3).Draw(t, "stop"),
			},
		}
	})
}

// The order is total: whatever order the findings were made in, the list is the same.
func TestSortDoesNotDependOnTheOrderBefore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(drawFinding()).Draw(t, "findings")
		shuffled := rapid.Permutation(list).Draw(t, "in another order")
		Sort(list)
		Sort(shuffled)
		if diff := cmp.Diff(list, shuffled, cmpopts.IgnoreUnexported(source.File{}), cmpopts.EquateComparable(source.Ref{}), cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("(-one order +another):\n%s", diff)
		}
		for i := 1; i < len(list); i++ {
			if compare(&list[i], &list[i-1]) < 0 {
				t.Fatalf("%d stands behind one that is more", i)
			}
			if compare(&list[i], &list[i]) < 0 {
				t.Fatal("a finding is less than itself")
			}
		}
	})
}

// Findings that differ in one thing alone stand in the same order, whichever was made first.
func TestSortTellsNearTwinsApart(t *testing.T) {
	for name, change := range map[string]func(*Finding){
		"file":        func(f *Finding) { f.Place.File = bFile },
		"start":       func(f *Finding) { f.Place.Start++ },
		"stop":        func(f *Finding) { f.Place.Stop++ },
		"rule":        func(f *Finding) { f.Rule += "x" },
		"verdict":     func(f *Finding) { f.Verdict = Open },
		"subject":     func(f *Finding) { f.Subjects = []Subject{{"place", "lectern"}} },
		"detail":      func(f *Finding) { f.Detail = "x" },
		"message":     func(f *Finding) { f.Message += "x" },
		"level":       func(f *Finding) { f.Level = Note },
		"consequence": func(f *Finding) { f.Consequence = Later },
		"cues":        func(f *Finding) { f.Cues = []string{"12", "13"} },
		"missing":     func(f *Finding) { f.Missing = []string{"the flux"} },
		"hint":        func(f *Finding) { f.Hint += "x" },
	} {
		one, other := glare(), glare()
		one.Place.File, other.Place.File = aFile, aFile
		change(&other)
		if (compare(&one, &other) < 0) == (compare(&other, &one) < 0) {
			t.Errorf("two findings that differ in their %s alone have no order", name)
		}
	}
}

// tape is a place for edits: a list of objects.
func tape(t testing.TB, count int) []source.Ref {
	t.Helper()
	text := "["
	for i := range count {
		if i > 0 {
			text += ","
		}
		text += "{}"
	}
	file := &source.File{Name: "show.json", Text: text + "]"}
	if _, ok := source.ParseJSON(file); !ok {
		t.Fatal("the tape is no JSON")
	}
	return slices.Collect(file.Root().Items())
}

func TestMergeEdits(t *testing.T) {
	places := tape(t, 2)
	edit := func(at int, field string, value any, only ...int) source.Edit {
		return source.Edit{At: places[at], Field: field, Value: value, Only: only}
	}
	for _, test := range []struct {
		name             string
		list, more, want []source.Edit
	}{
		{"nothing and nothing", nil, nil, nil},
		{"the same change stands once", []source.Edit{edit(0, "level", 50.0)}, []source.Edit{edit(0, "level", 50.0)}, []source.Edit{edit(0, "level", 50.0)}},
		{"channels are put together, in the order they come", []source.Edit{edit(0, "level", 50.0, 3, 1)}, []source.Edit{edit(0, "level", 50.0, 1, 2)}, []source.Edit{edit(0, "level", 50.0, 3, 1, 2)}},
		{"also within one list", nil, []source.Edit{edit(0, "level", 50.0, 1), edit(0, "level", 50.0, 2), edit(0, "level", 50.0, 2, 3)}, []source.Edit{edit(0, "level", 50.0, 1, 2, 3)}},
		{"a whole thing and some of its channels are two changes", []source.Edit{edit(0, "level", 50.0)}, []source.Edit{edit(0, "level", 50.0, 1)}, []source.Edit{edit(0, "level", 50.0), edit(0, "level", 50.0, 1)}},
		{"another value", []source.Edit{edit(0, "level", 50.0, 1)}, []source.Edit{edit(0, "level", 60.0, 1)}, []source.Edit{edit(0, "level", 50.0, 1), edit(0, "level", 60.0, 1)}},
		{"another place", []source.Edit{edit(0, "level", 50.0)}, []source.Edit{edit(1, "level", 50.0)}, []source.Edit{edit(0, "level", 50.0), edit(1, "level", 50.0)}},
		{"another field", []source.Edit{edit(0, "level", 50.0)}, []source.Edit{edit(0, "white_k", 50.0)}, []source.Edit{edit(0, "level", 50.0), edit(0, "white_k", 50.0)}},
		{"taking away", []source.Edit{edit(0, "channels", nil)}, []source.Edit{edit(0, "channels", nil), edit(0, "channels", "")}, []source.Edit{edit(0, "channels", nil), edit(0, "channels", "")}},
		{"text and a number that read alike", []source.Edit{edit(0, "cue", "5")}, []source.Edit{edit(0, "cue", 5.0)}, []source.Edit{edit(0, "cue", "5"), edit(0, "cue", 5.0)}},
	} {
		t.Run(test.name, func(t *testing.T) {
			before := fmt.Sprint(test.list, test.more)
			got := MergeEdits(test.list, test.more)
			if diff := cmp.Diff(test.want, got, cmpopts.EquateComparable(source.Ref{}), cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if again := MergeEdits(got, test.more); !cmp.Equal(got, again, cmpopts.EquateComparable(source.Ref{}), cmpopts.EquateEmpty()) {
				t.Errorf("merged again it is %v", again)
			}
			if after := fmt.Sprint(test.list, test.more); after != before {
				t.Errorf("the lists were changed: %s, before %s", after, before)
			}
		})
	}
}

// The channels of an edit may be part of a longer list that belongs to somebody else.
func TestMergeEditsWritesIntoNobodysList(t *testing.T) {
	place := tape(t, 1)[0]
	channels := []int{1, 2, 3, 4}
	MergeEdits([]source.Edit{{At: place, Field: "level", Value: 5.0, Only: channels[:2]}}, []source.Edit{{At: place, Field: "level", Value: 5.0, Only: []int{9}}})
	if !slices.Equal(channels, []int{1, 2, 3, 4}) {
		t.Errorf("the list is now %v", channels)
	}
}

// Whatever is merged in whatever order, each channel keeps each of its changes.
func TestMergeEditsLosesNothing(t *testing.T) {
	places := tape(t, 3)
	changes := func(list []source.Edit) map[string]bool {
		set := map[string]bool{}
		for _, e := range list {
			if len(e.Only) == 0 {
				set[fmt.Sprint(e.At.Pointer(), e.Field, e.Value)] = true
			}
			for _, channel := range e.Only {
				set[fmt.Sprint(e.At.Pointer(), e.Field, e.Value, " for ", channel)] = true
			}
		}
		return set
	}
	random := rand.New(rand.NewPCG(1, 2))
	draw := func() (list []source.Edit) {
		for range random.IntN(12) {
			e := source.Edit{At: places[random.IntN(3)], Field: []string{"level", "white_k"}[random.IntN(2)], Value: float64(random.IntN(2))}
			for range random.IntN(4) {
				e.Only = append(e.Only, random.IntN(5))
			}
			list = append(list, e)
		}
		return list
	}
	for range 2000 {
		a, b := draw(), draw()
		merged := MergeEdits(a, b)
		if diff := cmp.Diff(changes(slices.Concat(a, b)), changes(merged)); diff != "" {
			t.Fatalf("%v and %v (-both +merged):\n%s", a, b, diff)
		}
		if len(merged) > 3*2*2*2 {
			t.Fatalf("%d edits are left", len(merged))
		}
	}
}

// TestWithin: what is said of a whole look is said of everybody in it.
func TestWithin(t *testing.T) {
	pulpit := Answer{Cue: "12", Subjects: []Subject{{"segment", "Talk"}, {"place", "lectern"}, {"place", "pulpit"}}}
	look := Answer{Cue: "12", Subjects: []Subject{{"segment", "Talk"}}}
	for _, c := range []struct {
		answer     Answer
		kind, name string
		want       bool
	}{
		{pulpit, "cue", "12", true}, {pulpit, "cue", "13", false},
		{pulpit, "place", "lectern", true}, {pulpit, "place", "pulpit", true}, {pulpit, "place", "band", false},
		{look, "place", "band", true}, {look, "segment", "Talk", true}, {look, "segment", "Song", false},
	} {
		if got := c.answer.Within(c.kind, c.name); got != c.want {
			t.Errorf("%+v is within %s %s: %t", c.answer, c.kind, c.name, got)
		}
	}
}

// TestTheValueOfAFinding is the one that its first remedy would change there, or else the one that its item is known by.
func TestTheValueOfAFinding(t *testing.T) {
	file := &source.File{Name: "show.json", Text: `[{"channel": 2, "cue": 1, "level": 50}, {"name": "a", "channel": 3}, {"level": 4}, ["name"]]`}
	if _, ok := source.ParseJSON(file); !ok {
		t.Fatal("the list is no JSON")
	}
	items := slices.Collect(file.Root().Items())
	change := func(item int, field string) source.Edit { return source.Edit{At: items[item], Field: field} }
	for _, c := range []struct {
		about    string
		item     source.Ref
		remedies []Remedy
		want     string // the text there; "" for no place
	}{
		{"no item", source.Ref{}, []Remedy{{Edits: []source.Edit{change(0, "level")}}}, ""},
		{"a list", items[3], nil, ""},
		{"a cue", items[0], nil, "1"}, {"a channel", items[1], nil, "3"}, {"known by nothing", items[2], nil, ""},
		{"a remedy", items[0], []Remedy{{Edits: []source.Edit{change(0, "level")}}}, "50"},
		{"a remedy of another thing first", items[0], []Remedy{{Edits: []source.Edit{change(1, "name"), {}, change(0, "level")}}}, "50"},
		{"a second remedy", items[0], []Remedy{{Edits: []source.Edit{change(1, "name")}}, {Edits: []source.Edit{change(0, "level")}}}, "50"},
		{"of what is not there", items[0], []Remedy{{Edits: []source.Edit{change(0, "name")}}}, "1"},
		{"of another thing alone", items[2], []Remedy{{Edits: []source.Edit{change(0, "level")}}}, ""},
	} {
		at := (&Finding{Item: c.item, Remedies: c.remedies}).Value()
		if (at.File != nil) != (c.want != "") || at.File != nil && file.Text[at.Start:at.Stop] != c.want {
			t.Errorf("%s: %+v, not at %q", c.about, at, c.want)
		}
	}
}
