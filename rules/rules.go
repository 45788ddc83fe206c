// Package rules is what a rule is: how its folder is read, compiled and judged.
//
// In go a file system with folders pack/rule (rule.yaml, explain.md,
// cases.txtar) and the facts measured about a show; out come findings and a
// tally of what was looked at. The built-in rules are read by the same code as
// anybody's. A newcomer's mistake would be to compute in a rule: an expression
// states what should be so; whatever takes more than a comparison is a fact.
package rules

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

//go:embed packs
var packs embed.FS

// Edition is the newest edition of the rules that come with the program. Whoever adds
// a rule writes the number of the next one into it (since) and here, until that is
// released: a house that holds to an edition is then asked nothing new.
const Edition = 2

// BuiltIn returns the rules that come with the program, as files.
func BuiltIn() fs.FS {
	sub, err := fs.Sub(packs, "packs")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return sub
}

// Rule is one rule: its card, its limits, and what its expressions mean.
type Rule struct {
	finding.Rule

	Causes []string // what to look for in the show where it finds something; in words of package plan
	Ask    *Ask     // what a person is asked for where no change helps; nil: nothing

	limits map[string]float64
	graver []finding.Level // where those of code.graver are so; nil if a house has set the level
	untold finding.Level   // how bad it is that the rule could not tell, where it says so
	code   *code           // shared by copies with other limits: an expression knows limits by name
}

// Ask is what somebody gives or decides where no change of the show helps.
type Ask struct {
	Who  string   // decides it
	Do   string   // what they are asked, with {things} for what it is about; "": the hint
	Of   string   // what it is about: lamps, types, machines, circuit, cue, screen, place or notices
	Keys []string // the keys of the format where it would be written
	To   string   // the limit that is asked for, by its name, or ""
	Try  []string // purposes of lamps that are brought up first, to look whether that is enough
	Out  bool     // whether the value is 0: the thing is left out
}

// code is the expressions of a rule, each part compiled when it is first needed:
// most rules find nothing, and then need no words for it.
type code struct {
	compiler *compiler
	root     source.Ref

	shortly sync.Once
	direct  *direct // what judges, where it is plain; else nil

	judging sync.Once
	when    *expression // nil: every subject
	expect  *expression

	holding sync.Once
	graver  []*expression // when it is worse than the level says, mildest first
	measure *expression   // nil: nothing that gets worse or better
	cue     *template     // nil: in that of the subject
	others  string        // the fact whose places are shown beside the finding, or ""

	telling  sync.Once
	say      *template
	hint     *template // nil: none
	showing  string
	remedies []remedy
}

// remedy is a change that the rule offers.
type remedy struct {
	when    *expression
	changes []change
	effect  *template
}

// change gives a field of some things a value.
type change struct {
	on    *expression
	field string
	to    *expression // nil takes the field away
}

// Set is rules that were read together.
type Set struct {
	Rules []*Rule

	// Of what a rule cannot tell for want of the same, so many findings are of one thing
	// each; the things beyond are one finding together ([finding.Finding.Alike]). 0: all are
	// of one thing.
	Apart int
}

// Find returns the rule with that id.
func (s *Set) Find(id string) (*Rule, bool) {
	for _, rule := range s.Rules {
		if rule.ID == id {
			return rule, true
		}
	}
	return nil, false
}

// Files lists what stands in the folders pack/rule. Hidden folders hold no rules.
func Files(fsys fs.FS) []string { return glob(fsys, "[^.]*/[^.]*/*") }

func glob(fsys fs.FS, pattern string) []string {
	names, err := fs.Glob(fsys, pattern)
	if err != nil {
		panic(err) // the patterns here are right
	}
	return names
}

// Own returns the rules that come with the program. They are known to be right (a
// test compiles all of them), so that each is compiled only when it is needed, and once.
func Own() *Set { return &Set{Rules: slices.Clone(own())} } // the rules themselves never change

var own = sync.OnceValue(func() []*Rule {
	set, mistakes := readSet(BuiltIn(), "rules/packs", false)
	if len(mistakes) > 0 {
		panic(Mistakes(mistakes)) // a file of ours that is none
	}
	return set.Rules
})

// Load reads every folder pack/rule that holds a rule.yaml. Mistakes are
// findings with the file, line and column of the mistake, all of them; a rule
// with a mistake is left out of the set. prefix is put before file names, so
// that a finding names the file as its owner knows it.
func Load(fsys fs.FS, prefix string) (*Set, []finding.Finding) { return readSet(fsys, prefix, true) }

// readSet reads rules; those that are not checked are taken as they are.
func readSet(fsys fs.FS, prefix string, check bool) (*Set, []finding.Finding) {
	set := &Set{}
	var found []finding.Finding
	names := glob(fsys, "[^.]*/[^.]*/rule.yaml")
	sort.Strings(names)
	rules, problems := make([]*Rule, len(names)), make([][]finding.Finding, len(names))
	cores.Each(len(names), func(i int) { rules[i], problems[i] = loadRule(fsys, names[i], prefix, check) })
	for i, rule := range rules {
		found = append(found, problems[i]...)
		if rule != nil {
			set.Rules = append(set.Rules, rule)
		}
	}
	return set, found
}

// maxRuleFile is far more than a rule needs and far less than could hurt: the YAML
// library takes time by the square of the brackets that are left open.
const maxRuleFile = 16 << 10

func loadRule(fsys fs.FS, name, prefix string, check bool) (*Rule, []finding.Finding) {
	id := path.Dir(name)
	file := &source.File{Name: path.Join(prefix, name)}
	mistake := func(format string, args ...any) []finding.Finding {
		return []finding.Finding{ruleFinding(id, source.Place{File: file}, fmt.Sprintf(format, args...))}
	}
	if info, err := fs.Stat(fsys, name); err == nil && info.Size() > maxRuleFile {
		return nil, mistake("the file has %d bytes; a rule has at most %d", info.Size(), maxRuleFile)
	}
	for _, part := range []string{name, path.Join(id, "explain.md")} { // before it is opened: a pipe would wait for a writer
		if info, err := fs.Stat(fsys, part); err == nil && !info.IsDir() && !info.Mode().IsRegular() {
			return nil, mistake("%s is a pipe or a device", path.Base(part))
		}
	}
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, mistake("the file cannot be read: %v", err)
	}
	text, encoding, err := source.Decode(data)
	if err != nil || !strings.HasPrefix(encoding, "UTF-8") {
		return nil, mistake("the file is not UTF-8 text")
	}
	file.Text, file.Encoding = text, encoding
	explain, err := fs.ReadFile(fsys, path.Join(id, "explain.md"))
	if err != nil || len(explain) > maxRuleFile {
		return nil, mistake("explain.md beside it is missing or too large: every rule explains itself")
	}
	var root source.Ref
	if !check {
		if line := shorts()[id]; line.sum == sumOf(data) {
			root = line.rule
		}
	}
	return compile(id, file, root, string(explain), check)
}

// ruleFinding is a mistake in a rule.
func ruleFinding(id string, at source.Place, message string) finding.Finding {
	return finding.Finding{
		Rule: "file/rule-mistake", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "rule", Name: id}}, Detail: message, Message: message, Place: at,
	}
}

// Mistakes are mistakes in rules, as an error: one to a line, with its place.
type Mistakes []finding.Finding

func (m Mistakes) Error() string {
	lines := []string{"a rule is broken:"}
	if len(m) > 1 {
		lines[0] = fmt.Sprintf("there are %d mistakes in rules:", len(m))
	}
	for _, f := range m {
		at := f.Place.Span().Start
		lines = append(lines, fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, strings.ReplaceAll(f.Message, "\n", " ")))
	}
	return strings.Join(lines, "\n")
}

// ExplanationMistake is a mistake in the explanation of a rule, at an offset of its text.
func (r *Rule) ExplanationMistake(offset int, message string) Mistakes {
	file := &source.File{Name: path.Join(path.Dir(r.code.compiler.file.Name), "explain.md"), Text: r.Explain}
	return Mistakes{ruleFinding(r.ID, source.Place{File: file, Start: offset, Stop: offset}, message)}
}
