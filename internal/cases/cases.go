// Package cases runs what a rule's author wrote down to be run: the small shows of
// cases.txtar, and the example that an explanation names.
//
// In go a file system of rules and one rule of it, out comes what the rule says of
// each show beside what was expected. A newcomer's mistake would be to look at the
// built-in rules only: a house's own rules are run by the same code.
package cases

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"golang.org/x/tools/txtar"
)

// Case is one small show of a rule's cases.txtar, with what the rule is expected
// to say of it and what it says.
type Case struct {
	Rule, Name string
	Want, Got  string
	Show       []byte // the whole small show, as JSON
}

// maxCases is far more than small shows need and far less than could hurt.
const maxCases = 4 << 20

// baseFile is the show of which the other shows of an archive say what differs.
const baseFile = "base.json"

// Run runs the cases of a rule: in its cases.txtar each section NAME is a small show
// and, below it, what this rule alone says of it, a line for each finding, or
// "silent". Where there is a base.json, each show says only what differs from it,
// as [Merge] has it. NAME.json with the answer in NAME.want is read too. It returns
// the archive as well, with every answer as it should be, so that a test can rewrite
// the file.
func Run(fsys fs.FS, rule *rules.Rule) ([]Case, *txtar.Archive, error) {
	name := path.Join(rule.ID, "cases.txtar")
	info, err := fs.Stat(fsys, name)
	switch {
	case err != nil:
		return nil, nil, fmt.Errorf("the rule %s has no cases: %w", rule.ID, err)
	case !info.Mode().IsRegular():
		return nil, nil, fmt.Errorf("%s is no file", name)
	case info.Size() > maxCases:
		return nil, nil, fmt.Errorf("%s has %d bytes; the cases of a rule have at most %d", name, info.Size(), maxCases)
	}
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, nil, fmt.Errorf("the cases of the rule %s cannot be read: %w", rule.ID, err)
	}
	archive := txtar.Parse(data)
	cases, base, err := split(archive)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(cases) == 0 {
		return nil, nil, fmt.Errorf("%s holds no case; %s", name, whatIsACase)
	}
	only := &rules.Set{Rules: []*rules.Rule{rule}}
	current := &txtar.Archive{Comment: archive.Comment}
	if base != nil {
		current.Files = append(current.Files, txtar.File{Name: baseFile, Data: base})
	}
	for i := range cases {
		c := &cases[i]
		c.Rule = rule.ID
		written := c.Show
		if base != nil {
			if c.Show, err = Merge(base, written); err != nil {
				return nil, nil, fmt.Errorf("%s: %s: %w", name, c.Name, err)
			}
		}
		if c.Got, err = sayOf(string(c.Show), only); err != nil {
			return nil, nil, fmt.Errorf("%s: %s: %w", name, c.Name, err)
		}
		current.Files = append(current.Files, txtar.File{Name: c.Name, Data: fmt.Appendf(nil, "%s\n%s\n", written, c.Got)})
	}
	return cases, current, nil
}

const whatIsACase = "a case is a section NAME: a small show and, below it, what is said of it"

// split takes the sections of an archive apart: the base, nil if there is none, and
// the cases with their shows as they are written.
func split(archive *txtar.Archive) (cases []Case, base []byte, err error) {
	for _, file := range archive.Files {
		name := strings.TrimSpace(strings.TrimSuffix(file.Name, ".json"))
		switch {
		case file.Name == baseFile:
			base = file.Data
		case name == "" || strings.HasSuffix(name, ".json"): // rewritten, it would be no section, or another
			return nil, nil, fmt.Errorf("%q is no name of a case; %s", file.Name, whatIsACase)
		case strings.HasSuffix(name, ".want"):
		default:
			d := json.NewDecoder(bytes.NewReader(file.Data))
			end := len(file.Data)
			if d.Decode(new(json.RawMessage)) == nil {
				end = int(d.InputOffset())
			}
			cases = append(cases, Case{Name: name, Show: bytes.TrimSpace(file.Data[:end]), Want: strings.TrimSpace(string(file.Data[end:]))})
		}
	}
	for _, file := range archive.Files {
		answer, apart := strings.CutSuffix(file.Name, ".want")
		at := slices.IndexFunc(cases, func(c Case) bool { return c.Name == strings.TrimSpace(answer) })
		switch {
		case apart && at < 0:
			return nil, nil, fmt.Errorf("%q belongs to no show; %s", file.Name, whatIsACase)
		case apart && cases[at].Want == "":
			cases[at].Want = strings.TrimSpace(string(file.Data))
		}
	}
	return cases, base, nil
}

// apart says in brackets how a failure differs from what its rule says by default: it
// is graver, or only likely.
func apart(f *finding.Finding, set *rules.Set) string {
	if f.Verdict != finding.Fail {
		return ""
	}
	var words []string
	if rule, ok := set.Find(f.Rule); ok && rule.Level != f.Level {
		words = append(words, string(f.Level))
	}
	if f.Likely {
		words = append(words, "likely")
	}
	if len(words) == 0 {
		return ""
	}
	return " (" + strings.Join(words, ", ") + ")"
}

// sayOf returns what the rules say of a show, a line for each finding.
func sayOf(text string, set *rules.Set) (string, error) {
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(text), StdinName: "case.json"})
	if err != nil {
		return "", err
	}
	for _, f := range loaded.Findings {
		if f.Level == finding.Error {
			return "", fmt.Errorf("the show itself is wrong: %s", f.Message)
		}
	}
	var lines []string
	found, _ := set.Judge(facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)))
	for _, f := range found {
		var subjects []string
		for _, s := range f.Subjects {
			subjects = append(subjects, s.String())
		}
		line := fmt.Sprintf("%s%s %s", f.Verdict, apart(&f, set), strings.Join(subjects, ", "))
		if f.Verdict == finding.Open {
			line += ": needs " + strings.Join(f.Missing, "; ")
		} else {
			line += ": " + f.Message
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 {
		return silent, nil
	}
	return strings.Join(lines, "\n"), nil
}
