package say

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/spelling"
)

// mostIf is how much of each list an answer has.
const mostIf = 6

// WhatIf says an answer, a sentence a line.
func WhatIf(w *outcome.WhatIf) []string {
	list := []string{fmt.Sprintf("With %s: %s, %s, %s.", w.Question, Count(len(w.Come), "new finding"), Count(len(w.Worse), "finding")+" worse", Count(len(w.Go), "finding")+" gone")}
	add := func(word string, found []finding.Finding) {
		kinds := map[string]int{} // the same about the same is said once
		kind := func(f *finding.Finding) string {
			if len(f.Subjects) == 0 {
				return f.Rule
			}
			return f.Rule + " " + f.Subjects[0].Name
		}
		for i := range found {
			kinds[kind(&found[i])]++
		}
		told := 0
		for i := range found {
			f := &found[i]
			n := kinds[kind(f)]
			if n == 0 {
				continue
			}
			if told == mostIf {
				left := 0
				for _, n := range kinds {
					left += n
				}
				list = append(list, fmt.Sprintf("%s: and %d more.", word, left))
				return
			}
			line := word + ": " + Period(OneLine(f.Message))
			if n > 1 {
				line += fmt.Sprintf(" (And %d more like it.)", n-1)
			}
			list = append(list, line)
			kinds[kind(f)] = 0
			told++
		}
	}
	add("New", w.Come)
	add("Worse", w.Worse)
	add("Gone", w.Go)
	for i, loss := range w.Losses {
		if i == mostIf {
			list = append(list, fmt.Sprintf("And %d more lose light.", len(w.Losses)-i))
			break
		}
		where := "on the face"
		if loss.Back {
			where = "from behind"
		}
		var order []string // the same light in several cues is said once
		cues := map[string][]string{}
		for _, in := range loss.Cues {
			key := fmt.Sprintf("%s to %s lx", lux(in.Was), lux(in.Is))
			if cues[key] == nil {
				order = append(order, key)
			}
			cues[key] = append(cues[key], in.Cue)
		}
		var words []string
		for n, key := range order {
			if n == mostIf {
				words = append(words, fmt.Sprintf("and less of it in more cues, %d in all", len(loss.Cues)))
				break
			}
			words = append(words, fmt.Sprintf("%s in %s", key, spelling.Cues(cues[key], mostIf)))
		}
		list = append(list, fmt.Sprintf("Light %s of %s: %s.", where, OneLine(loss.Place), strings.Join(words, "; ")))
	}
	switch s := w.StandIn; {
	case s != nil:
		what := fmt.Sprintf("channel %d", s.Channel)
		if s.Purpose != "" {
			what += " (" + s.Purpose
			if s.AwayM != nil {
				what += fmt.Sprintf(", %.1f m away", *s.AwayM)
			}
			what += ")"
		}
		text := fmt.Sprintf("Nearest stand-in: %s from %s to %s %% in cue %s, as it is aimed, gives %s %s lx, which was %s and would be %s.", what, Short(&s.From), Short(&s.To), s.In.Cue, OneLine(s.Place), lux(s.Lux), lux(s.In.Was), lux(s.In.Is))
		if s.New > 0 {
			text += fmt.Sprintf(" It brings %s of its own.", Count(s.New, "finding"))
		}
		list = append(list, text)
	case len(w.Losses) > 0:
		list = append(list, "No lamp of the same purpose near it gives half of that light back from where it is aimed.")
	case w.Unmeasured != "":
		list = append(list, "Who loses light cannot be told in lux. Give "+Period(w.Unmeasured))
	default:
		list = append(list, "Nobody loses light that could be measured.")
	}
	if len(w.Rests) > 0 {
		list = append(list, "These lux rest on "+Period(spelling.Few(w.Rests, 3)))
	}
	return append(list, "Worked out in memory; nothing was written.")
}

// lux says light; of less than one nobody sees how much.
func lux(v float64) string {
	if v > 0 && v < 1 {
		return "under 1"
	}
	return Short(&v)
}
