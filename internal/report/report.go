// Package report tells people and machines what was found. It never judges.
//
// In go one [outcome.Report], out come bytes: text for people, SARIF 2.1.0 and JSON
// for machines. [Formats] is the table of them, each is a folder, and what they
// share (rounding, cleaning, words) is package say. A newcomer's mistake would be
// to print in the order of the findings: people read orders, machines read findings.
package report

import (
	"io"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/annotate"
	"github.com/cueproof/cueproof/internal/report/handbook"
	"github.com/cueproof/cueproof/internal/report/html"
	"github.com/cueproof/cueproof/internal/report/jsonreport"
	"github.com/cueproof/cueproof/internal/report/measured"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/report/summary"
	"github.com/cueproof/cueproof/internal/report/text"
)

// Formats is the table of report formats, by the name that asks for them.
var Formats = map[string]func(io.Writer, *outcome.Report, say.Options) error{
	"text":        text.Write,
	"html":        html.Write,
	"json":        jsonreport.Write,
	"sarif":       sarif.Write,
	"annotations": annotate.Write,
	"summary":     summary.Write,
}

// ComparisonFormats is the table of formats for comparisons.
var ComparisonFormats = map[string]func(io.Writer, *outcome.Comparison, say.Options) error{
	"text": text.Comparison,
	"json": jsonreport.Comparison,
	"html": html.Comparison,
}

// FactFormats is the table of ways to print facts.
var FactFormats = map[string]func(io.Writer, []facts.Subject, []string, measured.Value) error{
	"table": measured.Table,
	"csv":   measured.CSV,
	"json":  measured.JSON,
}

// Handbooks are the ways to write all explanations as one document.
var Handbooks = map[string]func(io.Writer, []handbook.Chapter) error{"md": handbook.Markdown, "html": handbook.HTML}
