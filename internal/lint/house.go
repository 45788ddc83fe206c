package lint

import (
	"cmp"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// HouseOptions say which house file a run uses. The zero value looks for one
// beside each show and above it.
type HouseOptions struct {
	File  string // the one to use for all shows; "" looks for it
	None  bool   // use none
	Today string // the day as 2026-12-31, for waivers that have one; "" is before all days
}

// Setup is how one show is checked: with the rules, the limits and the words of
// its house. Without a house file these are the rules as they came.
type Setup struct {
	House   *house.House // nil: there is none
	Found   house.Found
	All     *rules.Set // all rules there are, with their own limits
	Rules   *rules.Set // those that look, with the limits of the house
	Aliases map[string][]string
	Scale   string // how tables write levels; "" to see by the column
	Exports Exports
	Notes   []string          // what the house changes, for the end of a report
	Beyond  []finding.Finding // where the house goes beyond a published limit

	carried []waiver.Target // what its waivers are about by today's names; nil if nothing is known of earlier
}

// publishedLimit is the problem of a house file that asks for less care than a
// published limit. It is no rule, so that nothing switches it off.
const publishedLimit = "file/published-limit"

// SetUp finds and reads the house file of a show, and changes the rules as it
// says. An error is a file that cannot be used, with every mistake in it
// ([house.Mistakes], [rules.Mistakes]), or that a named one cannot be read.
func SetUp(show string, o Options) (*Setup, error) {
	s := &Setup{All: o.Rules, Rules: o.Rules, Exports: o.Exports}
	if o.House.None {
		return s, nil
	}
	var err error
	if o.House.File != "" {
		s.Found, err = house.Named(o.House.File)
	} else {
		if show == "-" {
			show = cmp.Or(o.StdinName, ".") // where the show that comes in would stand
		}
		s.Found, err = house.Find(show)
	}
	if err != nil {
		return nil, err
	}
	o.read(append(s.Found.Passed, s.Found.Path)...)
	for _, name := range s.Found.Passed {
		s.Notes = append(s.Notes, fmt.Sprintf("%s is not used, because it stands above the show, outside of a repository; if it is meant for shows below, write topmost: true in it", toldName(name)))
	}
	if s.Found.Path == "" {
		return s, nil
	}
	data, err := house.Load(s.Found.Path, o.House.File != "")
	if err != nil {
		return nil, err
	}
	if s.House, err = house.Read(filepath.ToSlash(s.Found.Path), data); err != nil {
		return nil, err
	}
	s.Exports = o.Exports.over(s.House)
	if s.All == nil { // only the names of columns are wanted, but the whole file is to be right
		s.All = rules.Own()
	}
	if err := s.addFolders(o); err != nil {
		return nil, err
	}
	known := house.Known{Rules: cards(s.All), Edition: newest(s.All), Columns: loaders.CheckAliases, Binding: []string{publishedLimit}}
	for _, id := range schema.ProblemIDs() {
		known.FileProblems = append(known.FileProblems, "file/"+id)
	}
	if err := s.House.Check(known); err != nil {
		return nil, err
	}
	s.Aliases, s.Scale = s.House.Aliases(), s.House.Scale
	s.changeRules()
	s.sayBeyond()
	return s, nil
}

func cards(set *rules.Set) []finding.Rule {
	list := make([]finding.Rule, len(set.Rules))
	for i, rule := range set.Rules {
		list[i] = rule.Rule
	}
	return list
}

// addFolders reads the rules of the house.
func (s *Setup) addFolders(o Options) error {
	for _, folder := range s.House.Folders {
		root, err := s.House.OpenFolder(folder, s.Found)
		if err != nil {
			return err
		}
		here := path.Join(path.Dir(s.House.File.Name), folder.Path)
		own, mistakes := rules.Load(root.FS(), here)
		for _, name := range rules.Files(root.FS()) {
			o.read(path.Join(here, name))
		}
		root.Close()
		switch {
		case len(mistakes) > 0:
			return rules.Mistakes(mistakes)
		case len(own.Rules) == 0:
			return s.House.WrongFolder(folder, "no rule is in it; PACK/RULE/rule.yaml is looked for")
		}
		for _, rule := range own.Rules {
			if _, twice := s.All.Find(rule.ID); twice {
				return s.House.WrongFolder(folder, "there is a rule "+rule.ID+" already; give yours another name")
			}
		}
		s.All = &rules.Set{Rules: slices.Concat(s.All.Rules, own.Rules)} // a list of its own: several shows are set up at once
		slices.SortFunc(s.All.Rules, func(a, b *rules.Rule) int { return strings.Compare(a.ID, b.ID) })
	}
	return nil
}

// changeRules makes the rules what the house wants, and notes what that is.
func (s *Setup) changeRules() {
	name := toldName(s.Found.Path)
	changes := rules.Changes{Limits: map[string]map[string]rules.NewLimit{}, Levels: map[string]finding.Level{}, Off: map[string]bool{}}
	for _, l := range s.House.Limits {
		rule, _ := s.All.Find(l.Rule)
		own := rule.Limits[slices.IndexFunc(rule.Limits, func(limit finding.Limit) bool { return limit.Name == l.Name })]
		if changes.Limits[l.Rule] == nil {
			changes.Limits[l.Rule] = map[string]rules.NewLimit{}
		}
		changes.Limits[l.Rule][l.Name] = rules.NewLimit{Value: l.Value, Source: fmt.Sprintf(
			"set in %s, line %d; the rule itself has %s: %s", name, l.At.Span().Start.Line, rules.FormatNumber(own.Value), own.Source)}
		s.Notes = append(s.Notes, fmt.Sprintf("%s sets %s of %s to %s instead of %s", name, l.Name, l.Rule, withUnit(l.Value, own.Unit), withUnit(own.Value, own.Unit)))
	}
	for _, l := range s.House.Levels {
		rule, _ := s.All.Find(l.Rule)
		changes.Levels[l.Rule] = l.Level
		s.Notes = append(s.Notes, fmt.Sprintf("%s makes findings of %s %s instead of %s", name, l.Rule, levelWords(l.Level), levelWords(rule.Worst())))
	}
	var off, newer []string
	for _, rule := range s.All.Rules {
		if later(s.House, rule) {
			changes.Off[rule.ID] = true
			newer = append(newer, rule.ID)
			continue
		}
		if on, _ := s.House.Switched(rule.ID); !on {
			changes.Off[rule.ID] = true
			off = append(off, rule.ID)
		}
	}
	if len(off) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%s switches off %s", name, strings.Join(off, ", ")))
	}
	if len(newer) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%s holds to edition %d of the rules, so these do not look that came later: %s", name, s.House.Edition, strings.Join(newer, ", ")))
	}
	s.Rules = s.All.With(changes)
}

// newest is the newest edition that there are rules of.
func newest(set *rules.Set) int {
	edition := rules.Edition
	for _, rule := range set.Rules {
		edition = max(edition, rule.Since)
	}
	return edition
}

// later reports whether a rule came after the edition that the house holds to.
func later(h *house.House, rule *rules.Rule) bool {
	return h != nil && h.Edition > 0 && rule.Since > h.Edition
}

// sayBeyond tells where the house asks for less care than a published limit.
func (s *Setup) sayBeyond() {
	name := toldName(s.Found.Path)
	say := func(rule *rules.Rule, limit string, at source.Place, format string, args ...any) {
		s.Beyond = append(s.Beyond, finding.Finding{
			Rule: publishedLimit, Level: finding.Warning, Verdict: finding.Fail, Consequence: rule.Consequence,
			Subjects: []finding.Subject{{Kind: "rule", Name: rule.ID}}, Detail: limit, Place: at,
			Message: name + " " + fmt.Sprintf(format, args...),
			Hint:    "take the line out of the house file, unless those who are responsible for the place have decided it",
		})
	}
	for _, l := range s.House.Limits {
		rule, _ := s.All.Find(l.Rule)
		own := &rule.Limits[slices.IndexFunc(rule.Limits, func(limit finding.Limit) bool { return limit.Name == l.Name })]
		if own.Beyond(l.Value) {
			say(rule, l.Name, l.At, "sets %s of %s to %s; the published limit is %s (%s).", l.Name, l.Rule, withUnit(l.Value, own.Unit), withUnit(own.Value, own.Unit), own.Source)
		}
	}
	for _, rule := range s.All.Rules {
		if !slices.ContainsFunc(rule.Limits, func(l finding.Limit) bool { return l.Published != "" }) {
			continue
		}
		if on, by := s.House.Switched(rule.ID); !on {
			say(rule, "off", by.At, "switches off %s, which holds a published limit.", rule.ID)
		}
		for _, l := range s.House.Levels {
			if l.Rule == rule.ID && l.Level != rule.Worst() && rule.Worst().AtLeast(l.Level) {
				say(rule, "level", l.At, "makes findings of %s, which holds a published limit, %s instead of %s.", rule.ID, levelWords(l.Level), levelWords(rule.Worst()))
			}
		}
	}
}

// toldName names a house file in a report. Of an absolute name only the last
// part is told: the folders of a machine are no business of those who read it.
func toldName(name string) string {
	if filepath.IsAbs(name) {
		name = filepath.Base(name)
	}
	return filepath.ToSlash(name)
}

func withUnit(value float64, unit string) string {
	return spelling.Amount(rules.FormatNumber(value), unit)
}

func levelWords(level finding.Level) string { return string(level) + "s" }

// accept marks what the waivers of the house cover in lists of findings, and says
// what became of each of them.
func (s *Setup) accept(today string, lists ...[]finding.Finding) (uses []waiver.Use) {
	if s.House == nil {
		return nil
	}
	for _, found := range lists {
		uses = waiver.Join(uses, waiver.Apply(s.House.Waivers, s.carried, found, today))
	}
	return uses
}

// showCheck is one show between judging and the last word about it.
type showCheck struct {
	told           outcome.Show
	show           *schema.Show
	setup          *Setup
	loaded         loaders.Result
	could          map[string]rules.Subjects // of what each rule could tell, if there is an earlier state
	uses           []waiver.Use              // by waiver of its house
	stale          []string                  // where a meter was held in a light that orders make another
	cured, waiting map[string]bool           // findings that orders clear, and those that wait for an answer, by identity
	unread         *unread

	measured *facts.Measured // if there is an earlier state to hold it against
}

// sayWaivers adds what is wrong with the waivers of each house file to the first
// of its shows. A waiver is left over only if it covers nothing in any of them.
func sayWaivers(shows []showCheck, today string) {
	done := map[string]bool{}
	for i := range shows {
		first := &shows[i]
		if first.setup.House == nil || done[first.setup.House.File.Name] {
			continue
		}
		name := first.setup.House.File.Name
		done[name] = true
		uses := make([]waiver.Use, len(first.setup.House.Waivers))
		var found []finding.Finding
		for j := range shows {
			if other := &shows[j]; other.setup.House != nil && other.setup.House.File.Name == name {
				found = append(found, other.told.Findings...)
				uses = waiver.Join(uses, other.uses)
			}
		}
		for k := range uses {
			w := &first.setup.House.Waivers[k]
			if note := w.Renamed(&uses[k]); note != "" {
				first.told.Notes = append(first.told.Notes, fmt.Sprintf("%s, line %d: %s", toldName(name), w.Place.Span().Start.Line, note))
			}
		}
		first.told.Findings = append(first.told.Findings, waiver.Problems(first.setup.House.Waivers, uses, found, today)...)
	}
}

// aside says in the first lines of a report what does not count in its verdict.
func (c *showCheck) aside() string {
	if c.setup.House == nil {
		return ""
	}
	accepted := 0
	for i := range c.told.Findings {
		if c.told.Findings[i].Accepted != nil {
			accepted++
		}
	}
	var words []string
	switch accepted {
	case 0:
	case 1:
		words = append(words, "1 finding is accepted")
	default:
		words = append(words, fmt.Sprintf("%d findings are accepted", accepted))
	}
	switch off := len(c.setup.All.Rules) - len(c.setup.Rules.Rules); off {
	case 0:
	case 1:
		words = append(words, "1 rule is switched off")
	default:
		words = append(words, fmt.Sprintf("%d rules are switched off", off))
	}
	if len(words) == 0 {
		return ""
	}
	return fmt.Sprintf(" By %s %s.", toldName(c.setup.Found.Path), strings.Join(words, " and "))
}
