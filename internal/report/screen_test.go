package report

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/say"
	"pgregory.net/rapid"
)

func TestScreenGolden(t *testing.T) {
	golden(t, "screen.txt", []byte(textOf(t, sample(t), say.Options{})))
}

// One screen has forty lines of eighty columns, whatever there is to say, and the
// first order stands within eight lines of its top.
func TestOneScreen(t *testing.T) {
	order := regexp.MustCompile(`^ ?\d+  \S`)
	rapid.Check(t, func(rt *rapid.T) {
		r := small(rapid.IntRange(0, 60).Draw(rt, "orders"), rapid.IntRange(0, 60).Draw(rt, "findings"))
		s := &r.Shows[0]
		reason := rapid.SampledFrom([]string{"A reason that goes on. ", "awordthatnothingbreaks"}).Draw(rt, "reason")
		s.Because = strings.Repeat(reason, rapid.IntRange(1, 20).Draw(rt, "reasons"))
		for i := range s.Orders {
			s.Orders[i].Do = strings.Repeat("Do it with care and then ", rapid.IntRange(1, 12).Draw(rt, "words"))
			s.Orders[i].Minutes = outcome.Minutes{Least: 1, Most: 2}
			s.Orders[i].Consequence = finding.Consequence(min(4, i/5))
			s.Orders[i].Or = rapid.SampledFrom([]string{"", "Do another thing.", strings.Repeat("Do another thing ", 9)}).Draw(rt, "or")
		}
		for range rapid.IntRange(0, 9).Draw(rt, "gaps") {
			s.Gaps = append(s.Gaps, outcome.Gap{Missing: strings.Repeat("something long ", 9), Rules: []string{"a/b"}})
		}
		for range rapid.IntRange(0, 9).Draw(rt, "tasks") {
			s.Tasks = append(s.Tasks, outcome.Order{Do: strings.Repeat("ask somebody ", 30), Consequence: finding.Consequence(rapid.IntRange(0, 4).Draw(rt, "task"))})
		}
		text := textOf(t, r, say.Options{})
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		if len(lines) > 40 {
			rt.Fatalf("%d lines:\n%s", len(lines), text)
		}
		assertFits(rt, text)
		if len(s.Gaps) > 0 && !strings.Contains(text, "Not checked") {
			rt.Fatalf("what is missing is not told:\n%s", text)
		}
		if len(s.NeedPerson) > 0 && !strings.Contains(text, "decide (") {
			rt.Fatalf("what somebody has to decide is not told:\n%s", text)
		}
		first := -1
		for i, line := range lines {
			if first < 0 && order.MatchString(line) {
				first = i
			}
		}
		if len(s.Orders) > 0 && (first < 0 || first > 7) {
			rt.Fatalf("the first order stands in line %d:\n%s", first+1, text)
		}
		if !strings.HasSuffix(text, "It certifies nothing.\n") {
			rt.Fatalf("the end is cut:\n%s", text)
		}
	})
}

// Where it is a matter of taste the second cure stands in one line under its order, behind
// what the first costs. One that is longer than a line is counted, and so is one for which
// an order, or what somebody has to decide, would have to go.
func TestSecondCures(t *testing.T) {
	const short, long = "Bring back 1 (channel 9) to 0 %.", "Bring back 1 (channel 9) in every cue from 3 on to 0 %, and bring it back again."
	const all, counted = "Everything, with reasons and how to go back: ", "All, with %s and the way back: "
	r := small(3, 0)
	orders := r.Shows[0].Orders
	orders[0].Or, orders[1].Or = short, long
	orders[0].Worse = []outcome.Price{{Key: "F-00009", Message: "It is less loud."}}
	text := textOf(t, r, say.Options{})
	want := "    Its price: It is less loud. [F-00009]\n    Or: Bring back 1 (channel 9) to 0 %.\n 2  Do thing 2."
	if !strings.Contains(text, want) || strings.Count(text, "Or:") != 1 || !strings.Contains(text, fmt.Sprintf(counted, "1 second cure")) {
		t.Errorf("not so:\n%s", text)
	}
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{short, long}, nil)
	orders[1].Or = ""
	assertSays(t, textOf(t, r, say.Options{}), []string{"Or: " + short, all}, nil)

	for n := 1; n < 40; n++ {
		r := small(n, 9)
		without := textOf(t, r, say.Options{})
		for i := range r.Shows[0].Orders {
			r.Shows[0].Orders[i].Or = short
		}
		with := textOf(t, r, say.Options{})
		said := strings.Count(with, "Or: Bring")
		if lines := strings.Count(with, "\n"); lines > 40 || strings.Count(with, "Why: ") != strings.Count(without, "Why: ") || !strings.Contains(with, "ecide (9 findings)") {
			t.Errorf("%d lines:\n%s\nand without second cures\n%s", lines, with, without)
		}
		if left := n - said; left > 0 && !strings.Contains(with, fmt.Sprintf(counted, say.Count(left, "second cure"))) || n < 10 && left > 0 || n > 30 && said > 0 {
			t.Errorf("%d of %d second cures:\n%s", said, n, with)
		}
	}
}

// What a corrected copy no longer holds of a meter is told, with where to measure again.
func TestStaleReadingsAreTold(t *testing.T) {
	r := small(1, 0)
	r.Shows[0].Tried = &outcome.Trial{Folder: "copy", Changes: 1, Cleared: 1}
	assertSays(t, textOf(t, r, say.Options{}), []string{"copy has 1 change."}, []string{"measure again"})
	r.Shows[0].Tried.Stale = []string{"at lectern in cue 5"}
	told := "1 reading was taken before these changes and is not in it: measure again at lectern in cue 5."
	assertSays(t, textOf(t, r, say.Options{}), []string{told}, nil)
	r.Shows[0].Tried.Stale = []string{"at lectern in cue 5", "at desk in cue 6"}
	told = "2 readings were taken before these changes and are not in it: measure again at lectern in cue 5 and at desk in cue 6."
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{told}, nil)
}

// Where there are more orders than room, decisions and gaps have one line each behind them.
func TestOrdersHaveTheRoomFirst(t *testing.T) {
	r := small(60, 9)
	for range 9 {
		r.Shows[0].Gaps = append(r.Shows[0].Gaps, outcome.Gap{Missing: strings.Repeat("something long ", 9), Rules: []string{"a/b"}, Key: "room", File: "room.json"})
	}
	text := textOf(t, r, say.Options{})
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	more := slices.IndexFunc(lines, func(line string) bool { return strings.Contains(line, "orders more") })
	if len(lines) != 40 || more < 0 || !strings.HasPrefix(lines[more+1], " -  To decide (9 findings): Message 1.") ||
		!strings.HasPrefix(lines[more+2], " ?  Not checked (9 missing pieces): give something long") ||
		!strings.HasSuffix(lines[more+2], " ... [room in room.json]") || lines[more+3] != "" {
		t.Errorf("%d lines:\n%s", len(lines), text)
	}
}

// What orders have no room for is counted, and so that there are things to ask for, but for those that could hurt
// somebody: these stand above.
func TestThingsToAskForAreCounted(t *testing.T) {
	const ask = "orders more, and things to ask for."
	for _, c := range []struct {
		tasks []outcome.Order
		says  bool
	}{{nil, false}, {[]outcome.Order{{Do: "Ask.", Consequence: finding.Hurt}}, false}, {[]outcome.Order{{Do: "Ask.", Consequence: finding.Hurt}, {Do: "Ask more.", Consequence: finding.Camera}}, true}} {
		r := small(60, 0)
		r.Shows[0].Tasks = c.tasks
		if got := textOf(t, r, say.Options{}); strings.Contains(got, ask) != c.says || !strings.Contains(got, " orders more") {
			t.Errorf("of %d things to ask for is said\n%s", len(c.tasks), got)
		}
	}
}

// What orders rest on is asked for before all of them, and once, whatever it is about.
func TestWhatOrdersRestOnComesFirst(t *testing.T) {
	for _, consequence := range []finding.Consequence{finding.Hurt, finding.Camera} {
		r := small(3, 0)
		r.Shows[0].Tasks = []outcome.Order{{Do: "Write that again.", Consequence: consequence, First: true}, {Do: "Ask.", Consequence: finding.Camera}}
		lines := strings.Split(textOf(t, r, say.Options{}), "\n")
		heading := slices.IndexFunc(lines, func(line string) bool { return strings.HasPrefix(line, "What to do, in this order") })
		if heading < 0 || lines[heading+1] != " A  Write that again." || strings.Count(strings.Join(lines, "\n"), "Write that again") != 1 || !slices.Contains(lines, " B  Ask.") {
			t.Errorf("%q", lines)
		}
		if data := string(written(t, jsonreport.Write, r)); strings.Count(data, `"first": true`) != 1 || strings.Index(data, `"first": true`) > strings.Index(data, `"do": "Ask."`) {
			t.Errorf("which task comes first is not in %s", data)
		}
	}
}

// A word that answers nothing is counted at the end of the screen, and told whole with all else.
func TestIdleWordsAreCounted(t *testing.T) {
	r := small(1, 3)
	for i := range 2 {
		r.Shows[0].NeedPerson[i].Rule = "file/meant-for-nothing"
	}
	text := textOf(t, r, say.Options{})
	assertSays(t, text, []string{`Nothing asks for 2 words under "meant"; nothing has to be done tonight.`, "decide (1 finding)", "Message 3."}, []string{"Message 1.", "Message 2."})
	assertSays(t, textOf(t, r, say.Options{All: true}), []string{"Message 1."}, []string{"Nothing asks for 2"})
	assertSays(t, textOf(t, small(1, 3), say.Options{}), []string{"Message 1."}, []string{"Nothing asks for"})
	r = small(0, 1)
	r.Shows[0].NeedPerson[0].Rule = "file/meant-for-nothing"
	assertSays(t, textOf(t, r, say.Options{}), []string{"Nothing asks for 1 word"}, []string{"One of them", "decide ("})
}

// Whom to tell of what could hurt somebody stands above orders that hurt nobody, and behind those
// that do.
func TestWhomToTellStandsAboveWhatHurtsNobody(t *testing.T) {
	for _, first := range []finding.Consequence{finding.Hurt, finding.Dark} {
		r := small(2, 0)
		s := &r.Shows[0]
		s.Orders[0].Consequence, s.Orders[1].Consequence = first, finding.Dark
		s.Undone = []outcome.Order{
			{Do: "Leave me.", Why: "It is ugly.", Consequence: finding.Camera},
			{Do: "Plug it in elsewhere.", Why: "A circuit carries more than it should.", Consequence: finding.Hurt},
			{Do: "And this.", Why: "Another one.", Consequence: finding.Hurt},
		}
		text := textOf(t, r, say.Options{})
		at := func(words string) int {
			t.Helper()
			i := strings.Index(text, words)
			if i < 0 || strings.Contains(text[i+1:], words) {
				t.Fatalf("%q is not said once in\n%s", words, text)
			}
			return i
		}
		tell, one, two, leave := at("There is no time to do this well"), at("Do thing 1."), at("Do thing 2."), at("Leave this, there is no time: Leave me.")
		if tell > two || (tell < one) != (first != finding.Hurt) || leave < two {
			t.Errorf("the first is %v, and it is said at the wrong place:\n%s", first, text)
		}
		at("[and 1 more]")
	}
}
