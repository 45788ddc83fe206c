package photometry

import "fmt"

// Severity says how much a problem in a photometric file matters.
type Severity string

// The severities, worst first.
const (
	Error   Severity = "error"   // the distribution cannot be trusted and is withheld
	Warning Severity = "warning" // read with the repair that the message names
	Note    Severity = "note"    // worth knowing
)

// Mode says how a reader takes what is wrong but can be mended.
type Mode int

// The modes.
const (
	Lenient Mode = iota // mend it and warn
	Strict              // refuse it
)

// Problem is something wrong, or worth knowing, in a photometric file.
type Problem struct {
	Severity Severity
	Code     string // stable short name, such as "number-count"
	Line     int    // 1-based; 0 when it is about the file as a whole
	Message  string
}

// Error makes a Problem usable as the error of a reader.
func (p Problem) Error() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.Code, p.Message)
	}
	return fmt.Sprintf("line %d: %s: %s", p.Line, p.Code, p.Message)
}

// problems collects what a reader finds.
type problems struct {
	mode Mode
	list []Problem
}

func (p *problems) add(severity Severity, code string, line int, format string, args ...any) {
	p.list = append(p.list, Problem{severity, code, line, fmt.Sprintf(format, args...)})
}

// mendable is an error in strict mode and a warning in lenient mode.
func (p *problems) mendable(code string, line int, format string, args ...any) {
	severity := Warning
	if p.mode == Strict {
		severity = Error
	}
	p.add(severity, code, line, format, args...)
}

// pedantic is a note that only a strict reading makes.
func (p *problems) pedantic(code string, line int, format string, args ...any) {
	if p.mode == Strict {
		p.add(Note, code, line, format, args...)
	}
}

// err is the first problem that is an error.
func (p *problems) err() error {
	for _, problem := range p.list {
		if problem.Severity == Error {
			return problem
		}
	}
	return nil
}
