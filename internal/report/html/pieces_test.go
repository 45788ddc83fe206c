package html

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/source"
)

// TestWhatIsOnlySaidWhereItIs: what there is none of has no line.
func TestWhatIsOnlySaidWhereItIs(t *testing.T) {
	s := &show{}
	s.left(0, "# faces are")
	if s.left(3, "# faces are"); !slices.Equal(s.LeftOut, []string{"To keep the page small, 3 faces are left out."}) {
		t.Errorf("left out: %q", s.LeftOut)
	}
	if got := key(nil); got != "" {
		t.Errorf("a key without marks: %s", got)
	}
	if got := key([]draw.Bite{{}}); !strings.Contains(string(got), "someone could be hurt") || strings.Contains(string(got), "wrong on camera") {
		t.Errorf("the key of one mark: %s", got)
	}
	for v, want := range map[float64]string{0.04: "0", 0.06: "+0.1", 1: "+1", 0: "0", -1: "−1"} {
		if got := stops(v); got != want {
			t.Errorf("%v is %q, want %q", v, got, want)
		}
	}
	told := &outcome.Show{Findings: []finding.Finding{{Verdict: finding.Fail}}, Orders: []outcome.Order{{Cures: []string{"a"}}}}
	if got := promise(told); got != "1 order would clear it." {
		t.Error(got)
	}
	told.Orders[0].Minutes = outcome.Minutes{Least: 0.5, Most: 2}
	if got := promise(told); got != "1 order would clear it, in 1 to 2 minutes." {
		t.Error(got)
	}
	order := &outcome.Order{Edits: []outcome.Edit{{From: 40.0, To: 60.0, Unit: "%"}, {From: 40.0, To: 60.0, Unit: "%"}, {To: "key"}, {From: "key"}, {From: "back", To: "key"}}}
	if got := fromTo(order); got != "40 → 60 %; back → key" {
		t.Error(got)
	}
}

// TestOneLineForManyAlike: what a person decides is said once for each rule, with the others
// that are like it.
func TestOneLineForManyAlike(t *testing.T) {
	one := func(rule, place string) *finding.Finding {
		return &finding.Finding{Rule: rule, Message: rule + " on " + place, Subjects: []finding.Subject{{Kind: "place", Name: place}}}
	}
	s := &show{}
	s.decisions(&outcome.Report{}, &outcome.Show{NeedPerson: []*finding.Finding{one("a/b", "lectern"), one("a/c", "drums"), one("a/b", "keys")}})
	var also []string
	for _, one := range s.Decide {
		for _, line := range one.Lines {
			if strings.HasPrefix(line, "Also: ") {
				also = append(also, one.Text+" "+line)
			}
		}
	}
	if len(s.Decide) != 2 || len(also) != 1 || !strings.HasPrefix(also[0], "a/b on lectern") || !strings.Contains(also[0], "keys") || strings.Contains(also[0], "drums") {
		t.Errorf("%d are said, %q", len(s.Decide), also)
	}
}

// TestLinesAroundAPlace: a place is shown with the rest of its lines, of which there are at
// most three.
func TestLinesAroundAPlace(t *testing.T) {
	for _, c := range []struct{ text, marked, want string }{
		{"one\ntwo three\nfour", "three", "two <mark>three</mark>"},
		{"one\ntwo three", "two", "<mark>two</mark> three"},
		{"one\ntwo\n\nthree\nfour\nfive", "two\n\nthree\nfour", "<mark>two\n\nthree\n</mark> …"},
		{"one\na\nb\nc\nd\ne\nf", "a\nb\nc\nd\ne", "<mark>a\nb\nc\n</mark> …"},
		{"one\na\n\nb\nc", "a\n\n", "<mark>a\n\n</mark>"},
		{"one\n{\n\"a\": 1}", "{", "<mark>{</mark>"}, {"one\n{\"a\": 1,\n\"b\": 2}", "{", "<mark>{&#34;a&#34;: 1,</mark>"}, {"one\n{}", "{", "<mark>{</mark>}"},
		{"one", "one", ""}, // the whole file
	} {
		start := strings.Index(c.text, c.marked)
		got := string(excerpt(source.Place{File: &source.File{Name: "a.json", Text: c.text}, Start: start, Stop: start + len(c.marked)}))
		if want := "<pre><code>" + c.want + "</code></pre>"; got != want && (c.want != "" || got != "") {
			t.Errorf("%q in %q: %s, want %s", c.marked, c.text, got, c.want)
		}
	}
}

// TestWhoSinks: into what is darker by more than three and a half stops, with less than a tenth from behind; of what is unknown
// nothing is said.
func TestWhoSinks(t *testing.T) {
	for _, c := range []struct {
		stops, ratio *float64
		want         bool
	}{{new(-3.6), new(0.09), true}, {new(-3.5), new(0.09), false}, {new(-3.6), new(0.1), false}, {nil, new(0.0), false}, {new(-9.0), nil, false}, {new(-9.0), new(0.0), true}} {
		if got := sinks(&scene.Face{Stops: c.stops, Ratio: c.ratio}); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// TestSignsOfPeople: people are drawn the same from the left and the right, and all of them
// with a head of one size.
func TestSignsOfPeople(t *testing.T) {
	text := string(stageKey(&scene.Scene{}))
	heads := regexp.MustCompile(`<circle[^>]* r="([^"]+)"[^>]*class="(?:[^"]* )?(?:pers|off)"|<circle[^>]*class="(?:[^"]* )?(?:pers|off)"[^>]* r="([^"]+)"`).FindAllStringSubmatch(text, -1)
	if len(heads) != 3 {
		t.Fatalf("%d heads in %s", len(heads), text)
	}
	for _, head := range heads {
		if head[1]+head[2] != heads[0][1]+heads[0][2] {
			t.Errorf("one head is %s, another %s", head[1]+head[2], heads[0][1]+heads[0][2])
		}
	}
	paths := 0
	for _, path := range regexp.MustCompile(`<path d="([^"]+)" class="(?:pers|rim|norim)"`).FindAllStringSubmatch(text, -1) {
		paths++
		var points [][2]float64
		at := [2]float64{}
		for _, step := range regexp.MustCompile(`[A-Za-z][^A-Za-z]*`).FindAllString(path[1], -1) {
			from := at // small letters count from where the pen is
			if strings.ToUpper(step[:1]) == step[:1] {
				from = [2]float64{}
			}
			numbers := regexp.MustCompile(`-?[0-9.]+`).FindAllString(step[1:], -1)
			for i := 0; i+1 < len(numbers); i += 2 {
				x, _ := strconv.ParseFloat(numbers[i], 64)
				y, _ := strconv.ParseFloat(numbers[i+1], 64)
				at = [2]float64{from[0] + x, from[1] + y}
				points = append(points, at)
			}
		}
		for _, p := range points {
			if !slices.Contains(points, [2]float64{24 - p[0], p[1]}) {
				t.Errorf("%v has no twin on the other side in %s", p, path[1])
			}
		}
	}
	if paths != 3 {
		t.Errorf("%d paths in %s", paths, text)
	}
}

// TestALongTableIsCutAndCounted: a rule's page tells of forty people and counts the others.
func TestALongTableIsCutAndCounted(t *testing.T) {
	for people, want := range map[int]string{40: "", 41: "and 1 more rows"} {
		st := scene.Stage{HasPeople: true}
		for i := range people {
			st.People = append(st.People, scene.Person{Place: fmt.Sprintf("place %d", i+1), Here: true})
		}
		sc := &scene.Scene{Room: &scene.Room{}, Cues: []scene.Cue{{Number: "1", Segment: -1}}, Stages: []scene.Stage{st}}
		var page bytes.Buffer
		if err := Explain(&page, []RulePage{{Rule: finding.Rule{ID: "a/b", Title: "A rule.", Over: "person"}, Show: &outcome.Show{Scene: sc}}}); err != nil {
			t.Fatal(err)
		}
		if text := page.String(); !strings.Contains(text, "place 40<") || strings.Contains(text, "more rows") != (want != "") || !strings.Contains(text, want) {
			t.Errorf("of %d people the page does not say %q", people, want)
		}
	}
}

// TestARuleInNumbers: how often it looked, what it went by and what is missing, on the page of a rule.
func TestARuleInNumbers(t *testing.T) {
	got := string(worked(&outcome.RuleWork{Show: "A hall", Subjects: 1, Fails: 0, Open: 2, Message: "It is <right>", Missing: []string{"the cameras", "a patch"},
		Facts: []finding.Evidence{{Name: "person.face_lx", Value: "120", Unit: "lx"}}, Limits: []finding.Evidence{{Name: "max_stops", Value: "1", Unit: "stops"}}}))
	for _, words := range []string{"In the numbers of A hall", "It looked 1 time: 0 are wrong, and of 2 nobody could tell.", "<p>It is &lt;right&gt;.</p>", "Nobody can tell without the cameras.", "Nobody can tell without a patch.", "person.face_lx", "120 lx", "max_stops", "1 stop"} {
		if !strings.Contains(got, words) {
			t.Errorf("no %q in %s", words, got)
		}
	}
	if got := string(worked(&outcome.RuleWork{Show: "A hall"})); strings.Contains(got, "<p></p>") || !strings.Contains(got, "It looked 0 times") {
		t.Errorf("of no work: %s", got)
	}
}

// TestWhatThePageLeadsTo: each part of a page that has anything in it, by a word that begins in a capital, and no other.
func TestWhatThePageLeadsTo(t *testing.T) {
	one := &show{}
	one.Prefix = "s1-"
	one.navigation()
	if len(one.Nav) != 0 {
		t.Errorf("a page of nothing leads to %v", one.Nav)
	}
	for about, c := range map[string]struct {
		fill func(s *show)
		want link
	}{
		"gaps":      {func(s *show) { s.Gaps = []string{"Give a patch."} }, link{"s1-gaps", "Not checked"}},
		"looks":     {func(s *show) { s.ByEye = []string{"Look."} }, link{"s1-eye", "By eye"}},
		"orders":    {func(s *show) { s.Groups = make([]group, 1) }, link{"s1-orders", "Orders"}},
		"reasons":   {func(s *show) { s.Why = make([]reason, 1) }, link{"s1-why", "Why"}},
		"a picture": {func(s *show) { s.Pictures = []section{{ID: "s1-evening", Heading: "The evening, minute by minute"}} }, link{"s1-evening", "Evening"}},
	} {
		s := &show{}
		s.Prefix = "s1-"
		c.fill(s)
		if s.navigation(); len(s.Nav) != 1 || s.Nav[0] != c.want {
			t.Errorf("a page with %s leads to %v, want %v", about, s.Nav, c.want)
		}
	}
}
