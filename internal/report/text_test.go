package report

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/text"
	"github.com/cueproof/cueproof/internal/source"
	"pgregory.net/rapid"
)

func textOf(t testing.TB, r *outcome.Report, o say.Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := text.Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func explained(t testing.TB, rule finding.Rule, o say.Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := text.Explain(&out, rule, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestTextGolden(t *testing.T) {
	golden(t, "evening.txt", []byte(textOf(t, sample(t), say.Options{All: true})))
}

func TestExplainGolden(t *testing.T) {
	golden(t, "explain.txt", []byte(explained(t, finding.Rule{
		ID: "white/made-up", Title: "Two lamps differ.", Level: finding.Warning, Consequence: finding.Camera,
		Expect:  "person.spread_mired <= limit.max_mired",
		Limits:  []finding.Limit{{Name: "max_mired", Value: 10, Unit: "mired", Source: "common practice, no source"}},
		Caution: "Whoever climbs up to a lamp needs a second person at the ladder.",
		Explain: "# Two lamps differ\n\n## What it looks like\n\nOne half of a face is orange.\nThe **other** is `blue`.\n" +
			"## What to try\n\n- Filter the odd lamp with a correction filter that is wide enough to reach the next line.\n* Replace it.\n" +
			"2. Or leave it dark.\n\n\n## Example\n\n```json\n{\"channel\":\t1}\n```\n\n    indented  as it is\n",
	}, say.Options{All: true})))
}

// small is a report on one show with so many actions and findings.
func small(actions, findings int) *outcome.Report {
	s := outcome.Show{Path: "evening", Verdict: outcome.Hold, Because: "So it is.", Looked: []finding.Tally{{Rule: "a/b", Subjects: 1}}}
	for i := range actions {
		s.Orders = append(s.Orders, outcome.Order{
			Do: fmt.Sprintf("Do thing %d.", i+1), Why: fmt.Sprintf("Reason %d.", i+1), Effect: "It is done.", Undo: fmt.Sprintf("back to %d.", i+1),
			Consequence: finding.Dark, Level: finding.Error, Rules: []string{"a/b"}, Cures: []string{fmt.Sprintf("F-%05d", i+1)},
		})
	}
	for i := range findings {
		s.NeedPerson = append(s.NeedPerson, &finding.Finding{
			Rule: "a/c", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Camera, Hint: "look again",
			Subjects: []finding.Subject{{Kind: "channel", Name: fmt.Sprint(i + 1)}}, Message: fmt.Sprintf("Message %d.", i+1),
		})
	}
	return &outcome.Report{Shows: []outcome.Show{s}}
}

// assertSays makes sure that the text has the words, whatever breaks its lines,
// and has none of the others.
func assertSays(t *testing.T, text string, words, others []string) {
	t.Helper()
	flat := strings.Join(strings.Fields(text), " ")
	for _, word := range words {
		if !strings.Contains(flat, word) {
			t.Errorf("%q is not said in\n%s", word, text)
		}
	}
	for _, word := range others {
		if strings.Contains(flat, word) {
			t.Errorf("%q is said in\n%s", word, text)
		}
	}
}

func TestManyAlikeDoNotFillTheScreen(t *testing.T) {
	text := textOf(t, small(10, 10), say.Options{All: true})
	assertSays(t, text, []string{
		"10 Do thing 10.", "1-10 why Reason 1. (And 9 like it.)", "10: back to 10.", "clears 10 findings (F-00001, F-00002, F-00003 and 7 more), causes 0",
		"Message 1.", "also channels 2, 3, 4, 5, 6, 7, 8, 9, 10",
	}, []string{"Reason 2.", "Message 2."})
	for _, once := range []string{"It is done.", "look again", "a/c", "F-00001"} {
		if n := strings.Count(text, once); n != 1 {
			t.Errorf("%q is said %d times:\n%s", once, n, text)
		}
	}
	if lines := strings.Count(text, "\n"); lines > 50 {
		t.Errorf("20 findings of two rules take %d lines:\n%s", lines, text)
	}
}

// How to go back is told with the number of its action where several share a reason, be it two.
func TestHowToGoBack(t *testing.T) {
	assertSays(t, textOf(t, small(1, 0), say.Options{All: true}), []string{"1 why Reason 1. then", "undo back to 1. proof"}, []string{"like it"})
	assertSays(t, textOf(t, small(2, 0), say.Options{All: true}), []string{"1-2 why Reason 1. (And 1 like it.) then", "undo 1: back to 1. 2: back to 2. proof"}, nil)
}

// Everything is told to whoever asks for it: only what stands in one row is counted.
func TestAllIsAll(t *testing.T) {
	r := small(30, 0)
	s := &r.Shows[0]
	for i := range 20 {
		s.NeedPerson = append(s.NeedPerson, &finding.Finding{Rule: fmt.Sprintf("a/r%d", i), Message: "M.", Level: finding.Note, Consequence: finding.Later})
		s.Gaps = append(s.Gaps, outcome.Gap{Missing: fmt.Sprintf("piece %d", i), Rules: []string{"a/1", "a/2", "a/3", "a/4", "a/5"}, Subjects: 2})
	}
	s.Untried, s.LeftOut = 1, 7
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{
		"30 orders would clear 30 of 50 findings.", "30 Do thing 30.", "piece 19", "a/r19", "for a/1, a/2, a/3 and 2 more (2 times)", "For 1 finding a change could be worked out but was not tried",
		"Left out below the level you asked for: 7 findings.",
	}, []string{"..."})
}

func TestTheOrderOfActionsIsKept(t *testing.T) {
	r := small(3, 0)
	list := r.Shows[0].Orders
	list[0].Consequence, list[2].Consequence = finding.Room, finding.Room // not the order of gravity, but the one that was proved
	text := textOf(t, r, say.Options{All: true})
	first, second, third := strings.Index(text, "Do thing 1."), strings.Index(text, "Do thing 2."), strings.Index(text, "Do thing 3.")
	if first < 0 || first > second || second > third {
		t.Errorf("the actions stand at %d, %d, %d:\n%s", first, second, third, text)
	}
}

func TestWhatCouldHurtComesFirst(t *testing.T) {
	r := small(1, 2)
	r.Shows[0].NeedPerson[1].Consequence = finding.Hurt
	text := textOf(t, r, say.Options{All: true})
	hurt, do, rest := strings.Index(text, "Message 2."), strings.Index(text, "Do thing 1."), strings.Index(text, "Message 1.")
	if hurt < 0 || hurt > do || do > rest {
		t.Errorf("they stand at %d, %d, %d:\n%s", hurt, do, rest, text)
	}
}

func TestCautionsStandWithTheOrder(t *testing.T) {
	r := small(4, 1)
	list := r.Shows[0].Orders
	list[1].Caution, list[2].Caution = "Mind the ladder.", "Mind the ladder."
	r.Rules = []finding.Rule{{ID: "a/c", Caution: "Mind the lamp."}}
	text := textOf(t, r, say.Options{All: true})
	assertSays(t, text, []string{"2 Do thing 2. caution For 2 to 3: Mind the ladder. 3 Do thing 3. 4 Do thing 4.", "caution Mind the lamp."}, nil)
	if strings.Count(text, "Mind the ladder.") != 1 {
		t.Errorf("the caution is not said once:\n%s", text)
	}
}

func TestWhatAFindingSpeaksFor(t *testing.T) {
	of := func(rule, message string, subjects ...finding.Subject) *finding.Finding {
		return &finding.Finding{Rule: rule, Message: message, Subjects: subjects, Level: finding.Note, Consequence: finding.Later}
	}
	in := func(place, segment string) []finding.Subject {
		return []finding.Subject{{Kind: "place", Name: place}, {Kind: "segment", Name: segment}}
	}
	r := small(0, 0)
	r.Shows[0].NeedPerson = []*finding.Finding{
		of("a/p", "First.", in("left", "one")...), of("a/p", "Hidden.", in("left", "two")...), of("a/p", "Hidden.", in("left", "three")...),
		of("a/p", "Hidden.", in("right", "one")...), of("a/p", "Second of the same.", in("left", "one")...),
		of("file/unknown-key", "Key one.", finding.Subject{Kind: "cue", Name: "1"}), of("file/unknown-key", "Key two.", finding.Subject{Kind: "cue", Name: "2"}),
		of("file/unknown-key", "Key three."), of("file/unknown-key", "Key four."), of("file/unknown-key", "Key five."),
	}
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{
		"First.", "Second of the same.", "also place left in 2 more segments; place right in segment one",
		"Key one.", "Key two.", "Key three.", "also 2 more of this kind",
	}, []string{"Hidden.", "Key four."})
}

func TestPlacesAreSaidAsPeopleNamedThem(t *testing.T) {
	cues := &source.File{Name: "../shows/sunday/cues.json", Text: "a\nbc\nd"}
	folder := &source.File{Name: "shows/none"}
	for _, tc := range []struct {
		name, want string
		places     []source.Place
	}{
		{"nowhere", "", []source.Place{{}}},
		{"one", "../shows/sunday/cues.json, line 2, column 2", []source.Place{{File: cues, Start: 3, Stop: 4}}},
		{"several lines, each once", "../shows/sunday/cues.json, lines 3, 1", []source.Place{{File: cues, Start: 5, Stop: 6}, {File: cues}, {File: cues, Stop: 1}}},
		{"a folder has no lines", "shows/none", []source.Place{{File: folder}}},
		{"several files", "shows/none; ../shows/sunday/cues.json, line 1, column 1", []source.Place{{File: folder}, {File: cues}}},
	} {
		if got := say.Where(tc.places); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}

func TestSeveralShowsAreCountedFirstAndShareTheirEnd(t *testing.T) {
	one, two := small(1, 0), small(0, 0)
	one.Shows = append(one.Shows, two.Shows[0])
	one.Shows[1].Path, one.Shows[1].Verdict = "morning", outcome.Ready
	for i := range one.Shows {
		one.Shows[i].ByEye = []string{"Look up."}
	}
	text := textOf(t, one, say.Options{All: true})
	if !strings.HasPrefix(text, "2 shows: 1 HOLD, 1 READY.\n\nHOLD  evening\n") || !strings.Contains(text, "\nREADY  morning\n") {
		t.Errorf("the verdicts do not come first:\n%s", text)
	}
	for _, once := range []string{"Look up.", "It certifies nothing."} {
		if strings.Count(text, once) != 1 {
			t.Errorf("%q is not said once:\n%s", once, text)
		}
	}
}

func TestWhatCannotBeReadAsksForNothingElse(t *testing.T) {
	r := small(0, 1)
	s := &r.Shows[0]
	s.Looked, s.Unreadable, s.Verdict = nil, true, outcome.NotChecked
	s.Gaps, s.ByEye = []outcome.Gap{{Missing: "the cue list", Rules: []string{"a/b"}}}, []string{"Look up."}
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{"NOT CHECKED evening", "everything: put the file right first"}, []string{"the cue list", "Look up."})
}

var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

func TestColourIsNeverAlone(t *testing.T) {
	for _, verdict := range []outcome.Readiness{outcome.Ready, outcome.WithCare, outcome.Hold, outcome.NotChecked, "SOMETHING NEW"} {
		r := sample(t)
		r.Shows[0].Verdict = verdict
		without, with := textOf(t, r, say.Options{All: true}), textOf(t, r, say.Options{Colour: true, All: true})
		if !escapes.MatchString(with) {
			t.Error("no colour although it was asked for")
		}
		if escapes.ReplaceAllString(with, "") != without {
			t.Errorf("%s: without its colours the text is another one", verdict)
		}
		if !strings.HasPrefix(without, string(verdict)+"  ") {
			t.Errorf("the verdict %s is not the first word:\n%.200s", verdict, without)
		}
	}
	rule := sample(t).Rules[0]
	if escapes.ReplaceAllString(explained(t, rule, say.Options{Colour: true, All: true}), "") != explained(t, rule, say.Options{All: true}) {
		t.Error("without its colours the explanation is another one")
	}
}

func TestANameCannotPassForAVerdict(t *testing.T) {
	r := small(1, 1)
	s := &r.Shows[0]
	const forged = "evening\nREADY  all is well\r\nREADY\u2028READY"
	s.Name, s.Path, s.Because = forged, forged, forged
	s.Orders[0].Do, s.NeedPerson[0].Message = forged, forged
	s.Notes, s.ByEye = []string{forged}, []string{forged}
	for _, line := range strings.Split(textOf(t, r, say.Options{All: true}), "\n") {
		if strings.HasPrefix(line, "READY") {
			t.Errorf("a line of a name passes for ours: %q", line)
		}
	}
}

// assertFits makes sure that no line is wider than 80 columns but for a path.
func assertFits(t interface{ Fatalf(string, ...any) }, text string) {
	for _, line := range strings.Split(text, "\n") {
		words := strings.Fields(line)
		if say.Columns(line) > 80 && (len(words) == 0 || !say.PathLike(words[len(words)-1]) && !say.PathLike(words[0])) {
			t.Fatalf("%d columns: %q", say.Columns(line), line)
		}
	}
}

func assertShowsNothingUnseen(t interface{ Fatalf(string, ...any) }, text string) {
	for i, r := range text {
		if ' ' <= r && r <= '~' || r == '\u200c' || r == '\u200d' || r == '\n' {
			continue // the joiners some scripts need, and the ends of our lines
		}
		if r == unicode.ReplacementChar || unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Bidi_Control) {
			t.Fatalf("%U stands bare at byte %d", r, i)
		}
	}
}

func TestHostileTextGivesHarmlessText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := hostileReport(rt)
		text := textOf(t, r, say.Options{All: true})
		assertShowsNothingUnseen(rt, text)
		assertFits(rt, text)
		assertShowsNothingUnseen(rt, escapes.ReplaceAllString(textOf(t, r, say.Options{Colour: true, All: true}), ""))
		for _, rule := range r.Rules {
			assertShowsNothingUnseen(rt, explained(t, rule, say.Options{All: true}))
		}
	})
}

func FuzzClean(f *testing.F) {
	for _, seed := range []string{"", "plain", "\x1b[31mred", "\u202egnp.exe", "\u2066\u2069\u061c", "a\xff\xfeb", "\u009b2J", "\x07\x00\x7f", "क\u200dष", "\U000e0041\ufeff\u2028"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := say.Clean(text)
		assertShowsNothingUnseen(t, strings.ReplaceAll(got, "\t", " "))
		if again := say.Clean(got); again != got {
			t.Fatalf("%q becomes %q, and that becomes %q", text, got, again)
		}
	})
}

// FuzzText: whatever a text from a show is, what is written of it fits and shows nothing unseen. One
// part of what is written at a time: all parts in one take the time of four.
func FuzzText(f *testing.F) {
	for _, seed := range []string{"lamp", "\x1b]0;own\x07", "\nREADY", strings.Repeat("x", 120), strings.Repeat("宽", 40), strings.Repeat("é\u0301", 30), "a/" + strings.Repeat("b", 118), "\u202e\u2067"} {
		for part := range 4 {
			f.Add(byte(part), seed)
		}
	}
	f.Fuzz(func(t *testing.T, part byte, name string) {
		const most = 120 // bytes: more than a line holds; what is longer only takes time from trying others
		name = name[:min(len(name), most)]
		var r *outcome.Report
		switch part % 4 {
		case 0:
			r = small(0, 0)
			s := &r.Shows[0]
			s.Name, s.Path, s.Because = name, name, "Because of "+name+"."
			s.Notes, s.ByEye, s.Files = []string{name}, []string{name}, []*source.File{{Name: name, Text: name}}
		case 1:
			r = small(1, 0)
			order := &r.Shows[0].Orders[0]
			order.Do, order.Why, order.Effect, order.Undo, order.Rules, order.Cures = name, name, name, name, []string{name}, []string{name}
		case 2:
			r = small(0, 1)
			s := &r.Shows[0]
			*s.NeedPerson[0] = finding.Finding{
				Rule: name, Level: finding.Warning, Verdict: finding.Fail, Message: name, Hint: name, Subjects: []finding.Subject{{Kind: name, Name: name}},
				Place: source.Place{File: &source.File{Name: name, Text: name}},
			}
			s.Gaps = []outcome.Gap{{Missing: name, Rules: []string{name}}}
		case 3:
			assertShowsNothingUnseen(t, explained(t, finding.Rule{ID: name, Title: name, Explain: name, Caution: name}, say.Options{All: true}))
			return
		}
		text := textOf(t, r, say.Options{All: true})
		assertShowsNothingUnseen(t, text)
		assertFits(t, text)
		if len(text) > 40*(4*most+200) {
			t.Fatalf("%d bytes of text for a name of %d", len(text), len(name))
		}
	})
}

func TestColumns(t *testing.T) {
	for text, want := range map[string]int{
		"": 0, "abc": 3, "Ä": 1, "A\u0308": 1, "宽": 2, "ｘ": 2, "😀": 2, "ﾊ": 1, "·": 1, "क\u200dष": 2,
	} {
		if got := say.Columns(text); got != want {
			t.Errorf("%q takes %d columns, want %d", text, got, want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		most       int
		want       string
	}{
		{"blanks have no line", " \n ", 5, ""},
		{"exact", "ab cd", 5, "ab cd"},
		{"one too many", "ab cde", 5, "ab|cde"},
		{"a long word breaks", "a bcdefghijk l", 4, "a|bcde|fghi|jk l"},
		{"a path stays whole", "in shows/sunday now", 5, "in|shows/sunday|now"},
		{"wide letters", "宽宽宽", 5, "宽宽|宽"},
		{"a mark stays with its letter", "a\u0301b\u0301c", 2, "a\u0301b\u0301|c"},
	} {
		if got := strings.Join(say.Wrap(tc.text, tc.most), "|"); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}

func TestLongTextIsCutAndCounted(t *testing.T) {
	long := strings.Repeat("ä", say.Longest+3)
	if got := say.Cap(long); got != strings.Repeat("ä", say.Longest)+"... (6 bytes more)" {
		t.Errorf("cut to %d bytes ending in %q", len(got), got[len(got)-30:])
	}
	if exact := strings.Repeat("ä", say.Longest); say.Cap(exact) != exact {
		t.Error("a text of exactly the longest length is cut")
	}
}

func TestTextSaysWhenTheDiskIsFull(t *testing.T) {
	if err := text.Write(&fullDisk{}, sample(t), say.Options{All: true}); err == nil {
		t.Error("no error from Text")
	}
	if err := text.Explain(&fullDisk{}, sample(t).Rules[0], say.Options{All: true}); err == nil {
		t.Error("no error from Explain")
	}
}
