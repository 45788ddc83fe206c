// Package measured prints facts as they were measured, before any rule looked.
package measured

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/report/say"
)

// Value gives a fact of a subject by its word; nil if it is unknown, with what would make
// it known.
type Value = func(subject facts.Subject, word string) (value any, missing []string)

// Table writes the facts in columns for people; an unknown fact is "?".
func Table(w io.Writer, subjects []facts.Subject, words []string, value Value) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tab, strings.Join(words, "\t"))
	for _, subject := range subjects {
		cells := make([]string, len(words))
		for i, word := range words {
			cells[i] = Text(subject, word, value)
		}
		fmt.Fprintln(tab, strings.Join(cells, "\t"))
	}
	return tab.Flush()
}

// Text is a fact of a subject for people; "?" if it is unknown.
func Text(subject facts.Subject, word string, value Value) string {
	fact, _ := value(subject, word)
	return say.Clean(say.Straight.Replace(factText(fact, "?", say.PeopleDigits)))
}

func factText(value any, unknown string, digits int) string {
	switch value := value.(type) {
	case nil:
		return unknown
	case float64:
		return strconv.FormatFloat(say.RoundFact(value, digits), 'f', -1, 64)
	case []int:
		words := make([]string, len(value))
		for i, n := range value {
			words[i] = strconv.Itoa(n)
		}
		return strings.Join(words, " ")
	case []string:
		return strings.Join(value, "; ")
	case []float64:
		words := make([]string, len(value))
		for i, n := range value {
			words[i] = factText(n, unknown, digits)
		}
		return strings.Join(words, " ")
	default:
		return fmt.Sprint(value)
	}
}

// CSV writes the facts as CSV (RFC 4180); an unknown fact is an empty cell.
// Text that a spreadsheet would take for a formula is written behind an apostrophe.
func CSV(w io.Writer, subjects []facts.Subject, words []string, value Value) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(words); err != nil {
		return err
	}
	for _, subject := range subjects {
		cells := make([]string, len(words))
		for i, word := range words {
			fact, _ := value(subject, word)
			cells[i] = say.Clean(factText(fact, "", say.MachineDigits))
			switch fact.(type) {
			case string, []string:
				if strings.IndexAny(cells[i], "=+-@\t\r") == 0 {
					cells[i] = "'" + cells[i]
				}
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// factsShape names the shape of facts in JSON.
const factsShape = "cueproof-facts-1"

// JSON writes a list of objects under "facts"; an unknown fact is null, and "missing" says
// for each what would make it known.
func JSON(w io.Writer, subjects []facts.Subject, words []string, value Value) error {
	list := make([]map[string]any, len(subjects))
	for i, subject := range subjects {
		row := map[string]any{}
		missing := map[string][]string{}
		for _, word := range words {
			fact, why := value(subject, word)
			switch number := fact.(type) {
			case float64:
				fact = say.RoundFact(number, say.MachineDigits)
			case []float64:
				rounded := make([]float64, len(number))
				for k, n := range number {
					rounded[k] = say.RoundFact(n, say.MachineDigits)
				}
				fact = rounded
			}
			row[word] = fact
			if fact == nil && len(why) > 0 {
				missing[word] = why
			}
		}
		if len(missing) > 0 {
			row["missing"] = missing
		}
		list[i] = row
	}
	return say.JSON(w, struct {
		Schema string           `json:"schema"`
		Facts  []map[string]any `json:"facts"`
	}{factsShape, list})
}
