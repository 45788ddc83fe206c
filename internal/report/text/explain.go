package text

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
)

// Explain writes what a rule means, for a volunteer who reads it in the booth.
func Explain(w io.Writer, rule finding.Rule, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	t.styled("", unstyled, 0, rule.ID, t.strong)
	t.block("", 0, fmt.Sprintf("%s (%s: otherwise %s.)", rule.Title, rule.Levels(), rule.Consequence.Sentence()))
	t.line("")
	t.markdown(say.WithoutTitle(rule.Explain, rule.Title))
	if rule.Caution != "" {
		t.heading("Caution")
		t.styled("", unstyled, 2, rule.Caution, t.strong)
	}
	if len(rule.Limits) > 0 {
		t.heading("Limits")
		for _, limit := range rule.Limits {
			t.block("   -", labelAt, say.Limit(limit))
		}
	}
	if rule.Expect != "" {
		t.heading("What should be so, as the rule has it")
		t.block("", 2, rule.Expect)
	}
	return out.Flush()
}

// Count is a number that decides what counts, for all rules alike.
type Count struct {
	Name                string
	Value               float64
	Unit, Means, Source string
}

// RuleRow is a rule in a list, with whether it looks.
type RuleRow struct {
	finding.Rule
	Off string // where it is switched off, or ""
}

// List writes the rules with their limits, a few lines each, by packs.
func List(w io.Writer, rules []RuleRow, counts []Count, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	last, packs, off := "", 0, 0
	for _, rule := range rules {
		t.styled("", unstyled, 0, rule.ID, t.strong)
		state := string(rule.Level) + ", on"
		if rule.Off != "" {
			state, off = string(rule.Level)+", off: "+rule.Off, off+1
		}
		if pack, _, _ := strings.Cut(rule.ID, "/"); pack != last {
			last, packs = pack, packs+1
		}
		t.block("", labelAt, fmt.Sprintf("%s (%s)", rule.Title, state))
		for _, limit := range rule.Limits {
			t.block("      -", 8, say.Limit(limit))
		}
	}
	t.line("")
	end := fmt.Sprintf("%s in %s", say.Count(len(rules), "rule"), say.Count(packs, "pack"))
	if off > 0 {
		end += fmt.Sprintf(", of which %d off", off)
	}
	if len(counts) > 0 {
		t.block("", 0, "What counts as dark, white, near or lit is the same for all rules:")
		for _, c := range counts {
			value := spelling.Amount(strconv.FormatFloat(c.Value, 'g', 6, 64), c.Unit)
			t.block("      -", 8, fmt.Sprintf("%s: %s, %s (%s)", c.Name, value, c.Means, c.Source))
		}
		t.line("")
	}
	t.block("", 0, end+".")
	return out.Flush()
}

// markdown writes the few forms of Markdown that explanations use: headings,
// paragraphs, lists, fenced and indented text, and emphasis, which is dropped.
func (t *textWriter) markdown(text string) {
	front, at := "", 2
	var paragraph []string
	blank := true // the line above is empty, or there is none
	flush := func() {
		if len(paragraph) > 0 {
			words := say.Emphasis.ReplaceAllString(strings.Join(paragraph, " "), "$1")
			t.block(front, at, say.CodeQuote.ReplaceAllString(words, "$1"))
			blank = false
		}
		front, at, paragraph = "", 2, nil
	}
	as := func(line string) {
		t.line(line)
		blank = line == ""
	}
	fenced := false
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		line = strings.TrimRight(line, " \r")
		mark := say.ListMark.FindStringSubmatch(line)
		switch {
		case strings.HasPrefix(line, "```"):
			flush()
			fenced = !fenced
		case fenced:
			as("      " + say.Verbatim(line))
		case strings.HasPrefix(line, "#"):
			flush()
			if !blank {
				as("")
			}
			as(t.strong(say.Verbatim(strings.TrimLeft(line, "# \t"))))
		case line == "":
			flush()
			if !blank {
				as("")
			}
		case mark != nil:
			flush()
			front, at, paragraph = "   "+mark[1], 3+len(mark[1])+1, []string{mark[2]}
			if mark[1] == "*" {
				front = "   -"
			}
		case len(paragraph) == 0 && strings.HasPrefix(line, "    "):
			as("  " + say.Verbatim(line))
		default:
			paragraph = append(paragraph, strings.TrimSpace(line))
		}
	}
	flush()
}

// Work writes how a rule is worked out with the numbers of a show.
func Work(w io.Writer, worked *outcome.RuleWork, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	t.heading("With the numbers of " + say.Clean(say.Straight.Replace(worked.Show)))
	t.line("")
	if worked.Subjects == 0 {
		t.block("", 2, "There is nothing in this show for the rule to look at.")
		for _, phrase := range worked.None {
			t.block("   ?", labelAt, "It would need "+phrase)
		}
		return out.Flush()
	}
	t.block("", 2, fmt.Sprintf("The rule looked %s: %d are not as they should be, and of %d nobody could tell.", say.Count(worked.Subjects, "time"), worked.Fails, worked.Open))
	if len(worked.Names) > 0 || len(worked.Facts) > 0 {
		about := say.Subjects(&finding.Finding{Subjects: worked.Names})
		if worked.Cue != "" && !strings.Contains(about, "cue "+worked.Cue) {
			about += ", cue " + worked.Cue
		}
		front := "Nearest to the limit, and as it should be: "
		if worked.Wrong {
			front = "Furthest from right: "
		}
		t.line("")
		t.block("", 2, front+about+".")
		t.block("", 2, worked.Message)
		t.line("")
		for _, e := range worked.Facts {
			t.block("   -", labelAt, factWords(e))
		}
		for _, e := range worked.Limits {
			t.block("   -", labelAt, fmt.Sprintf("%s: %s", e.Name, spelling.Amount(e.Value, e.Unit)))
		}
	}
	if len(worked.Missing) > 0 {
		t.line("")
		t.block("", 2, "Where nobody could tell, this would help: "+strings.Join(worked.Missing, "; ")+".")
	}
	return out.Flush()
}

// units are told by how the words of facts end; see internal/facts/FACTS.md.
var units = []struct{ ending, unit string }{
	{"_cd_m2", "cd/m2"}, {"_mg_m3", "mg/m3"}, {"_per_s", "a second"}, {"_lx", "lx"}, {"_k", "K"}, {"_pct", "%"}, {"_stops", "stops"},
	{"_mired", "mired"}, {"_deg", "degrees"}, {"_hz", "Hz"}, {"_s", "s"}, {"_a", "A"}, {"_w", "W"}, {"_m", "m"}, {"_lm", "lm"},
}

func factWords(e finding.Evidence) string {
	value := e.Value
	if value == "" {
		value = "nothing"
	}
	if e.Num != nil {
		for _, u := range units {
			if strings.HasSuffix(e.Name, u.ending) {
				value = spelling.Amount(value, u.unit)
				break
			}
		}
	}
	return e.Name + ": " + value
}
