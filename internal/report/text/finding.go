package text

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/ask"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
)

// Finding writes all that is known of the findings with a key, and the order that
// clears them; ok is false if there is none.
func Finding(w io.Writer, r *outcome.Report, key string, o say.Options) (ok bool, err error) {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	for _, rule := range r.Rules {
		t.rules[rule.ID] = rule
	}
	for i := range r.Shows {
		s := &r.Shows[i]
		for j := range s.Findings {
			if f := &s.Findings[j]; strings.EqualFold(f.Key(), key) {
				if ok {
					t.line("")
				}
				t.finding(s, f)
				ok = true
			}
		}
	}
	return ok, out.Flush()
}

func (t *textWriter) finding(s *outcome.Show, f *finding.Finding) {
	t.styled(f.Key(), t.strong, say.Columns(f.Key())+2, f.Rule+": "+t.rules[f.Rule].Title, unstyled)
	t.line("")
	t.styled("", unstyled, 0, f.Message, t.strong)
	t.line("")
	level := string(f.Level)
	switch {
	case f.Verdict == finding.Open:
		level = "nobody could tell"
	case f.Likely:
		level += ", likely"
	}
	t.label("level", level+"; otherwise "+f.Consequence.Sentence())
	t.label("about", say.Subjects(f))
	t.label("cues", spelling.Few(f.Cues, say.MostWords))
	for _, e := range f.Measured {
		t.label("measured", factWords(e))
	}
	for _, e := range f.Limits {
		t.label("limit", e.Name+": "+spelling.Amount(e.Value, e.Unit))
	}
	if f.Verdict == finding.Fail {
		t.label("known", f.Known.String())
	}
	t.label("rests on", strings.Join(f.Rests, "; "))
	t.label("missing", strings.Join(f.Missing, "; "))
	t.whereOf(f)
	if f.Accepted != nil {
		t.label("accepted", acceptanceLine(f.Accepted))
	}
	at := slices.IndexFunc(s.Orders, func(o outcome.Order) bool { return slices.Contains(o.Cures, f.Key()) })
	if at < 0 {
		t.label("try", f.Hint)
		t.label("caution", t.rules[f.Rule].Caution)
		t.line("")
		t.block("", 0, "No order clears it: somebody has to decide.")
		return
	}
	o := &s.Orders[at]
	t.line("")
	t.block("", 0, fmt.Sprintf("Order %d of %d clears it:", at+1, len(s.Orders)))
	t.styled(fmt.Sprintf("%4d", at+1), t.strong, labelAt, o.Do, t.strong)
	t.orderDetails(o)
}

// orderDetails says all of an order but what is to be done.
func (t *textWriter) orderDetails(o *outcome.Order) {
	t.label("or", o.Or)
	t.label("then", o.Effect)
	t.label("who", o.Who)
	if o.Minutes.Most > 0 {
		t.label("minutes", say.Minutes(o.Minutes))
	}
	for i := range o.Worse {
		t.label("price", o.Worse[i].Message)
	}
	t.label("undo", o.Undo)
	t.label("caution", o.Caution)
}

// Asked writes which rules fit a question, and what they say of the show, if one was
// checked; r is nil if none was.
func Asked(w io.Writer, hits []ask.Hit, r *outcome.Report, o say.Options) error {
	out := bufio.NewWriter(w)
	t := newTextWriter(out, o)
	for i, hit := range hits {
		if i > 0 {
			t.line("")
		}
		t.styled(hit.Rule.ID, t.strong, say.Columns(hit.Rule.ID)+2, hit.Rule.Title, unstyled)
		t.label("as in", hit.Symptom)
		if r == nil {
			continue
		}
		said := 0
		for k := range r.Shows {
			s := &r.Shows[k]
			for j := range s.Findings {
				f := &s.Findings[j]
				if f.Rule != hit.Rule.ID || f.Verdict != finding.Fail {
					continue
				}
				if said++; said > mostSaid {
					continue
				}
				t.block("   -", labelAt, fmt.Sprintf("%s [%s]", f.Message, f.Key()))
				if at := slices.IndexFunc(s.Orders, func(o outcome.Order) bool { return slices.Contains(o.Cures, f.Key()) }); at >= 0 {
					t.label(fmt.Sprintf("order %d", at+1), s.Orders[at].Do)
				}
			}
		}
		switch {
		case said == 0:
			t.block("   -", labelAt, "It finds nothing tonight.")
		case said > mostSaid:
			t.block("   -", labelAt, fmt.Sprintf("... and %d more.", said-mostSaid))
		}
	}
	t.line("")
	t.block("", 0, "What is behind it: cueproof explain "+hits[0].Rule.ID)
	return out.Flush()
}
