package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/cueproof/cueproof/internal/facts"
)

// FactFormats is the table of ways to print facts, by the name that asks for them.
var FactFormats = map[string]func(io.Writer, []facts.Subject, []string) error{
	"table": factTable,
	"csv":   factCSV,
	"json":  factJSON,
}

// How many digits of a fact are printed: for machines more than any of them is
// good for and fewer than processors agree on, for people what they can read.
const (
	machineDigits = 6
	peopleDigits  = 4
)

func roundFact(number float64, digits int) float64 {
	if digits == peopleDigits && math.Abs(number) < 1e-5 {
		return 0
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(number, 'g', digits, 64), 64)
	if err != nil || math.IsNaN(rounded) || math.IsInf(rounded, 0) {
		return 0 // facts are finite: their tests say so
	}
	return rounded
}

// factTable writes the facts in columns for people; an unknown fact is "?".
func factTable(w io.Writer, subjects []facts.Subject, words []string) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tab, strings.Join(words, "\t"))
	for _, subject := range subjects {
		cells := make([]string, len(words))
		for i, word := range words {
			fact, _ := facts.ValueOf(subject, word)
			cells[i] = Clean(strings.ReplaceAll(factText(fact.Value, "?", peopleDigits), "\t", " "))
		}
		fmt.Fprintln(tab, strings.Join(cells, "\t"))
	}
	return tab.Flush()
}

func factText(value any, unknown string, digits int) string {
	switch value := value.(type) {
	case nil:
		return unknown
	case float64:
		return strconv.FormatFloat(roundFact(value, digits), 'f', -1, 64)
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

// factCSV writes the facts as CSV (RFC 4180); an unknown fact is an empty cell.
// Text that a spreadsheet would take for a formula is written behind an apostrophe.
func factCSV(w io.Writer, subjects []facts.Subject, words []string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(words); err != nil {
		return err
	}
	for _, subject := range subjects {
		cells := make([]string, len(words))
		for i, word := range words {
			fact, _ := facts.ValueOf(subject, word)
			cells[i] = Clean(factText(fact.Value, "", machineDigits))
			if _, isText := fact.Value.(string); isText && strings.IndexAny(cells[i], "=+-@\t\r") == 0 {
				cells[i] = "'" + cells[i]
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

// factJSON writes a list of objects under "facts"; an unknown fact is null, and "missing" says
// for each what would make it known.
func factJSON(w io.Writer, subjects []facts.Subject, words []string) error {
	list := make([]map[string]any, len(subjects))
	for i, subject := range subjects {
		row := map[string]any{}
		missing := map[string][]string{}
		for _, word := range words {
			fact, _ := facts.ValueOf(subject, word)
			if number, isNumber := fact.Value.(float64); isNumber {
				fact.Value = roundFact(number, machineDigits)
			}
			row[word] = fact.Value
			if why := subject.Why(word); fact.Value == nil && len(why) > 0 {
				missing[word] = why
			}
		}
		if len(missing) > 0 {
			row["missing"] = missing
		}
		list[i] = row
	}
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	return out.Encode(struct {
		Schema string           `json:"schema"`
		Facts  []map[string]any `json:"facts"`
	}{factsShape, list})
}
