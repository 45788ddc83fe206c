package report

import (
	"fmt"
	"strconv"
	"strings"
)

// inBrackets says a range of minutes behind an order, or nothing if there is none.
func (m Minutes) inBrackets() string {
	if m.Most <= 0 {
		return ""
	}
	return " (" + m.String() + " min)"
}

// String says a range: "5-15".
func (m Minutes) String() string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	if m.Least == m.Most {
		return number(m.Most)
	}
	return number(m.Least) + "-" + number(m.Most)
}

// undone lists the changes for which there is no time, by what happens without them.
func (t *textWriter) undone(s *Show) {
	if s.Minutes <= 0 {
		return
	}
	within := fmt.Sprintf("%s minutes", Minutes{s.Minutes, s.Minutes})
	if s.Minutes == 1 {
		within = "1 minute"
	}
	if len(s.Undone) == 0 {
		if len(s.Actions) > 0 {
			t.line("")
			t.block("", labelAt, fmt.Sprintf("All changes above fit into %s.", within))
		}
		return
	}
	t.heading(fmt.Sprintf("What stays undone in %s", within))
	last := s.Undone[0].Consequence - 1
	for i, action := range s.Undone {
		if i == mostOrders {
			t.line("")
			t.block("", labelAt, fmt.Sprintf("... and %s more; see --format json.", count(len(s.Undone)-mostOrders, "change")))
			return
		}
		if action.Consequence != last {
			last = action.Consequence
			t.line("")
			t.line("So " + last.Sentence() + ":")
			t.line("")
		}
		t.block("   -", labelAt, action.Do+action.Minutes.inBrackets())
	}
}

// tried says what became of the corrected copy.
func (t *textWriter) tried(tried *Tried) {
	if tried == nil {
		return
	}
	t.heading("The corrected copy")
	t.line("")
	if tried.Changes == 0 {
		t.block("   -", labelAt, fmt.Sprintf("There is no change to write, so %s was not made.", tried.Folder))
	} else {
		t.block("   -", labelAt, fmt.Sprintf("%s has %s. It was read again and all rules looked: %s gone, 0 are new.",
			tried.Folder, count(tried.Changes, "change"), areGone(tried.Cleared)))
	}
	for _, text := range tried.LeftOut {
		t.block("   -", labelAt, "Left out: "+text+".")
	}
}

func areGone(n int) string {
	if n == 1 {
		return "1 finding is"
	}
	return fmt.Sprintf("%d findings are", n)
}

type jsonMinutes struct {
	Least float64 `json:"least"`
	Most  float64 `json:"most"`
}

func jsonMinutesOf(m Minutes) *jsonMinutes {
	if m.Most <= 0 {
		return nil
	}
	return &jsonMinutes{m.Least, m.Most}
}

type jsonTried struct {
	Folder  string   `json:"folder"`
	Changes int      `json:"changes"`
	Cleared int      `json:"cleared"`
	LeftOut []string `json:"left_out"`
}

func jsonTriedOf(t *Tried) *jsonTried {
	if t == nil {
		return nil
	}
	return &jsonTried{t.Folder, t.Changes, t.Cleared, filled(t.LeftOut)}
}

// ---- SARIF

// A fix of SARIF 2.1.0, sections 3.55 to 3.57 (from memory; the schema is held
// against it in the tests): what is deleted is told in lines and columns of the
// file as it is, and what stands there instead as text.
type sarifFix struct {
	Description     sarifText             `json:"description"`
	ArtifactChanges []sarifArtifactChange `json:"artifactChanges"`
}

type sarifArtifactChange struct {
	ArtifactLocation sarifArtifactLocation `json:"artifactLocation"`
	Replacements     []sarifReplacement    `json:"replacements"`
}

type sarifReplacement struct {
	DeletedRegion   sarifRegion  `json:"deletedRegion"`
	InsertedContent sarifContent `json:"insertedContent"`
}

type sarifContent struct {
	Text string `json:"text"`
}

// fixes returns the change of an action as exact replacements. Text within them is
// that of the file: it is not cleaned, or it would be another text.
func (s *sarifWriter) fixes(action *Action) []sarifFix {
	if action == nil || len(action.Fix) == 0 {
		return nil
	}
	text := action.Do
	if len(action.FixBrings) > 0 {
		text += " This needs to be done with it: " + strings.Join(action.FixBrings, " ")
	}
	fix := sarifFix{Description: sarifText{Text: s.prose(text)}}
	for _, r := range action.Fix {
		region, ok := regionOf(r.Place)
		if !ok {
			return nil
		}
		at := s.artifact(r.Place.File, "")
		last := len(fix.ArtifactChanges) - 1
		if last < 0 || fix.ArtifactChanges[last].ArtifactLocation.URI != at.URI {
			fix.ArtifactChanges = append(fix.ArtifactChanges, sarifArtifactChange{ArtifactLocation: at})
			last++
		}
		fix.ArtifactChanges[last].Replacements = append(fix.ArtifactChanges[last].Replacements, sarifReplacement{region, sarifContent{r.Text}})
	}
	return []sarifFix{fix}
}
