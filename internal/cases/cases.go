// Package cases runs what a rule's author wrote down to be run: the small shows of
// cases.txtar, and the example that an explanation names.
//
// In go a file system of rules and one rule of it, out comes what the rule says of
// each show beside what was expected. A newcomer's mistake would be to look at the
// built-in rules only: a house's own rules are run by the same code.
package cases

import (
	"fmt"
	"io/fs"
	"path"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/rogpeppe/go-internal/txtar"
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

// Run runs the cases of a rule: in its cases.txtar each NAME.json is a small show
// and NAME.want what this rule alone says of it, a line for each finding, or
// "silent". Where there is a base.json, each show says only what differs from it,
// as [Merge] has it. It returns the archive too, with every .want as it should be,
// so that a test can rewrite the file.
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
	wants, shows := map[string]string{}, map[string]bool{}
	var base []byte
	for _, file := range archive.Files {
		if file.Name == baseFile {
			base = file.Data
		} else if base, ok := strings.CutSuffix(file.Name, ".json"); ok {
			shows[base] = true
		}
	}
	if len(shows) == 0 {
		return nil, nil, fmt.Errorf("%s holds no case; a case is NAME.json, a small show, and NAME.want, what is said of it", name)
	}
	for _, file := range archive.Files {
		base, isWant := strings.CutSuffix(file.Name, ".want")
		switch {
		case isWant && shows[base]:
			wants[base] = strings.TrimSpace(string(file.Data))
		case isWant || !strings.HasSuffix(file.Name, ".json"):
			return nil, nil, fmt.Errorf("%s: %q belongs to no show; a case is NAME.json, a small show, and NAME.want, what is said of it", name, file.Name)
		}
	}
	only := &rules.Set{Rules: []*rules.Rule{rule}}
	var cases []Case
	current := &txtar.Archive{Comment: archive.Comment}
	for _, file := range archive.Files {
		one, isShow := strings.CutSuffix(file.Name, ".json")
		if !isShow {
			continue
		}
		if file.Name == baseFile {
			current.Files = append(current.Files, file)
			continue
		}
		show := file.Data
		if base != nil {
			if show, err = Merge(base, file.Data); err != nil {
				return nil, nil, fmt.Errorf("%s: %s: %w", name, one, err)
			}
		}
		got, err := sayOf(string(show), only)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %s: %w", name, one, err)
		}
		cases = append(cases, Case{Rule: rule.ID, Name: one, Want: wants[one], Got: got, Show: show})
		current.Files = append(current.Files, file, txtar.File{Name: one + ".want", Data: []byte(got + "\n")})
	}
	return cases, current, nil
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
