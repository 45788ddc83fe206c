package rules

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/expr-lang/expr/vm"
)

// Judge holds every subject against every rule. The findings come in the order
// of rules and subjects; what one rule says of the same subject in several cues
// is one finding.
func (s *Set) Judge(measured *facts.Measured) ([]finding.Finding, []finding.Tally) {
	found, tallies, _ := s.JudgeAgain(measured, nil)
	return found, tallies
}

// Judgements are what rules made of the subjects of a state, to be taken over by another.
type Judgements map[*Rule]*ruleJudgements

// ruleJudgements are those of one rule: a letter for each subject, as they stand, and what of
// a subject findings are compared by, where it makes one.
type ruleJudgements struct {
	letters []byte
	parts   map[int]*part
	found   []finding.Finding // put together of the parts
	many    int               // how many these are, also where they are not kept
	tally   finding.Tally
	open    bool // some of it could not be told, for a reason that may be another by now
	far     bool // more than plain facts of the subjects decides it, so that only the state itself takes it over
}

// The letters of [Judgements].
const (
	toFinding byte = iota
	toNothing
	toNobody // the rule does not look
)

// part is what one subject adds to a finding, but for all words, places and remedies:
// these look farther than the subject.
type part struct {
	identity       string
	verdict        finding.Verdict
	level          finding.Level
	subjects, with []finding.Subject
	cues           []string
	amount         *finding.Amount
	missing        []string
}

// JudgeAgain is Judge of what [facts.MeasureAgain] measured: of a subject that is as it
// was in the state taken over from, the verdict is taken from before, which are those of
// that state, or nil.
func (s *Set) JudgeAgain(measured *facts.Measured, before Judgements) ([]finding.Finding, []finding.Tally, Judgements) {
	now := Judgements{}
	found, tallies := s.judge(measured, judgeRun{before: before, now: now, detail: full})
	return found, tallies, now
}

// JudgeInBrief is JudgeAgain of what [facts.BeginAgain] measured, which it finishes, without words, places and remedies: what is found, in which
// cues, how grave and how much, which is all that two states are held against each other by.
// first is judged before all other rules and may end it there, before the rest is measured;
// nil is nobody who would.
func (s *Set) JudgeInBrief(measured *facts.Measured, before Judgements, first *First) ([]finding.Finding, []finding.Tally, Judgements) {
	now := Judgements{}
	found, tallies := s.judge(measured, judgeRun{before: before, now: now, first: first})
	return found, tallies, now
}

// First is the rule by which a state stands or falls.
type First struct {
	Rule  string
	Holds func([]finding.Finding) bool // whether with these findings of it the others are worth a look
}

// Weigh says what was judged in brief with all that findings are ranked by: their places,
// limits and what they rest on.
func (s *Set) Weigh(measured *facts.Measured, now Judgements) []finding.Finding {
	found, _ := s.judge(measured, judgeRun{before: now, now: Judgements{}, detail: weighed, all: true})
	return found
}

// Tell says in full what one rule has found, of what was judged in brief.
func (s *Set) Tell(measured *facts.Measured, now Judgements, rule string) []finding.Finding {
	r, known := s.Find(rule)
	if !known {
		return nil
	}
	found, _ := r.judge(measured, &judgeRun{before: now, now: Judgements{}, detail: full, all: true, apart: s.Apart, kinds: map[string]subjects{}, env: map[string]any{}})
	return found
}

// JudgeAndTell is Judge for those who hold two states of a show against each other: it
// also lists for every rule of what it could tell whether all is as it should be, in
// each cue in which it looked.
func (s *Set) JudgeAndTell(measured *facts.Measured) ([]finding.Finding, []finding.Tally, map[string]Subjects, Judgements) {
	now := Judgements{}
	could := make(map[string]Subjects, len(s.Rules))
	found, tallies := s.judge(measured, judgeRun{now: now, detail: full, could: could})
	return found, tallies, could, now
}

// detail is how much is said of what is found.
type detail int

const (
	brief   detail = iota // what states are held against each other by
	weighed               // and where it stands, its limits and what it rests on
	full                  // and words and remedies
)

// judgeRun is what a run of the rules over a state is for.
type judgeRun struct {
	before, now Judgements // taken over from and handed on
	all         bool       // before are those of this very state
	detail      detail
	could       map[string]Subjects // of what each rule could tell; nil where nobody asks
	first       *First
	apart       int // see [Set]

	kinds   map[string]subjects // once they were asked for
	lists   [4][]string         // long ones of findings, those found last
	next    int                 // where the next of them goes
	machine vm.VM
	env     map[string]any
}

// run is a run of one rule, with the machine and the words of all.
func (how *judgeRun) run(r *Rule) judgement {
	clear(how.env)
	how.env["limit"] = r.limits
	j := judgement{rule: r, code: r.code, direct: r.code.plainly(), machine: &how.machine, env: how.env}
	if j.direct == nil {
		j.code.judge()
		return j
	}
	for _, name := range j.direct.limits {
		j.reading.limits = append(j.reading.limits, r.limits[name])
	}
	return j
}

// shared is a list as findings before have it, if it is long and they have: what rules find of somebody
// all evening shows in the same thousands of cues.
func (how *judgeRun) shared(list []string) []string {
	if len(list) < long {
		return list
	}
	for _, other := range how.lists {
		if slices.Equal(list, other) {
			return other
		}
	}
	list = slices.Clip(slices.Clone(list)) // it has grown with room to spare
	how.lists[how.next] = list
	how.next = (how.next + 1) % len(how.lists)
	return list
}

// subjects are those of a kind, with which of them are as they were; nil: nobody knows.
type subjects struct {
	list   []facts.Subject
	same   []bool
	all    bool  // all of them are
	others []int // those that are not, where it is known which are
}

func (how *judgeRun) of(kind string, measured *facts.Measured) subjects {
	s, done := how.kinds[kind]
	if !done {
		s.list = measured.Subjects(kind)
		if how.before != nil && !how.all {
			s.same = measured.Same(kind)
		}
		for i, same := range s.same {
			if !same {
				s.others = append(s.others, i)
			}
		}
		s.all = s.same != nil && len(s.others) == 0
		how.kinds[kind] = s
	}
	return s
}

func (s *Set) judge(measured *facts.Measured, how judgeRun) (found []finding.Finding, tallies []finding.Tally) {
	how.kinds, how.env = map[string]subjects{}, map[string]any{}
	if how.could == nil { // who asks of which things it could tell asks for each
		how.apart = s.Apart
	}
	tallies = make([]finding.Tally, 0, len(s.Rules))
	var told []finding.Finding
	var count finding.Tally
	ahead, known := (*Rule)(nil), false
	if how.first != nil {
		if ahead, known = s.Find(how.first.Rule); known {
			if !ahead.isEarly(measured) {
				measured.Finish()
			}
			if told, count = ahead.judge(measured, &how); !how.first.Holds(told) {
				return nil, nil
			}
		}
	}
	measured.Finish()
	delete(how.kinds, "look") // of which more is known now
	lists := make([][]finding.Finding, len(s.Rules))
	for i, rule := range s.Rules {
		tally := count
		if lists[i] = told; rule != ahead {
			lists[i], tally = rule.judge(measured, &how)
		}
		tallies = append(tallies, tally)
	}
	return slices.Concat(lists...), tallies
}

func (r *Rule) judge(measured *facts.Measured, how *judgeRun) ([]finding.Finding, finding.Tally) {
	tally := finding.Tally{Rule: r.ID, None: measured.None(r.Over)}
	of := how.of(r.Over, measured)
	var could *coverage
	if how.could != nil {
		could = &coverage{Subjects{}, map[string]bool{}}
		defer func() { how.could[r.ID] = could.subjects() }()
	}
	if len(of.list) == 0 {
		return nil, tally
	}
	was := how.before[r]
	if was != nil && (len(was.letters) != len(of.list) || was.far && !how.all) {
		was = nil
	}
	if was != nil && (of.all && how.detail == brief && !was.open || how.all && !was.open && len(was.found) == 0) {
		how.now[r] = was
		return was.found, was.tally
	}
	j := how.run(r)
	if was != nil && of.same != nil && !how.all && how.detail == brief && how.could == nil && !was.open {
		if now := j.asBefore(was, of); now != nil {
			how.now[r] = now
			return now.found, now.tally
		}
	}
	now := &ruleJudgements{letters: make([]byte, len(of.list)), parts: map[int]*part{}, far: j.direct == nil && !j.code.plain()}
	if was != nil && was.many > 0 { // there will be about as many
		j.found, j.byIdentity = make([]finding.Finding, 0, was.many), make(map[string]int, was.many)
		now.parts = make(map[int]*part, len(was.parts))
	}
	how.now[r] = now
	for i, subject := range of.list {
		var p *part
		if was != nil && (how.all || of.same != nil && of.same[i]) {
			if letter := was.letters[i]; letter != toFinding {
				if now.letters[i] = letter; letter == toNothing {
					tally.Subjects++
				}
				continue
			}
			if p = was.parts[i]; p != nil && !how.all && (p.verdict == finding.Open || !j.code.plainParts()) {
				p = nil
			}
		}
		if p == nil {
			verdict, missing := j.verdict(subject)
			switch verdict {
			case asItShould:
				tally.Subjects++
				now.letters[i] = toNothing
			case notItsBusiness:
				now.letters[i] = toNobody
			}
			if could != nil && verdict != notItsBusiness {
				could.add(subject, verdict == finding.Open)
			}
			if verdict == asItShould || verdict == notItsBusiness {
				continue
			}
			if word := r.answered(subject); word != "" {
				tally.Subjects++
				tally.Meant = append(tally.Meant, finding.Answer{Intent: word, Subjects: about(subject), Cue: subject.Cue()})
				continue
			}
			p = j.part(subject, verdict, missing)
		}
		tally.Subjects++
		if how.apart > 0 && p.verdict == finding.Open && j.gather(p, subject, how.apart) {
			continue
		}
		if p.verdict != finding.Open || how.detail < full { // what is told in full is not told again
			now.parts[i] = p
		}
		j.add(subject, p, how.detail)
	}
	for i := range j.found {
		f := &j.found[i]
		if f.Verdict == finding.Open {
			tally.Open += f.Things()
		} else {
			tally.Fails++
		}
		f.Cues, f.Missing = how.shared(f.Cues), how.shared(f.Missing)
		slices.SortStableFunc(f.Remedies, func(a, b finding.Remedy) int { return cmp.Compare(a.Way, b.Way) })
		if f.Alike != nil {
			f.Alike.Things = how.shared(f.Alike.Things)
		}
		if f.Alike != nil && how.detail == full {
			f.Message = fmt.Sprintf("Could not tell of %d more: %s", f.Things(), j.rule.Title)
		}
		for k := range f.Remedies { // once, not with every cue: a finding can show in thousands
			if !j.longer[i] {
				break
			}
			f.Remedies[k].Edits = finding.MergeEdits(nil, f.Remedies[k].Edits)
		}
	}
	now.many = len(j.found)
	now.tally, now.open = tally, tally.Open > 0 || tally.Fails > 0 && !j.code.plainParts()
	if !now.open { // or nobody takes it from there
		now.found = j.found
	}
	return j.found, tally
}

// isEarly reports whether all that the rule asks, and findings of it are compared by, is known
// before the evening is on the clock.
func (r *Rule) isEarly(measured *facts.Measured) bool {
	code := r.code.hold()
	if !code.plain() || !code.plainParts() || !facts.IsEarly(r.Over) || len(measured.Subjects(r.Over)) == 0 {
		return false
	}
	asks := slices.Concat([]*expression{code.when, code.expect, code.measure}, code.graver, code.cue.expressions())
	return !slices.ContainsFunc(asks, func(e *expression) bool {
		return e != nil && slices.ContainsFunc(e.facts, func(path string) bool { return !facts.IsEarly(path) })
	})
}

// asBefore judges the subjects that are not as they were, and takes all findings over: nil if
// one of them has a part in a finding, or had.
func (j *judgement) asBefore(was *ruleJudgements, of subjects) *ruleJudgements {
	now := was
	for _, i := range of.others {
		if was.letters[i] == toFinding {
			return nil
		}
		letter := toNothing
		switch verdict, _ := j.verdict(of.list[i]); verdict {
		case asItShould:
		case notItsBusiness:
			letter = toNobody
		default:
			return nil
		}
		if letter == was.letters[i] {
			continue
		}
		if now == was {
			copied := *was
			copied.letters = slices.Clone(was.letters)
			now = &copied
		}
		if now.letters[i] = letter; letter == toNothing {
			now.tally.Subjects++
		} else {
			now.tally.Subjects--
		}
	}
	return now
}

// answered returns the intent that answers the rule for a subject: what is done there
// on purpose. "" if there is none.
func (r *Rule) answered(subject facts.Subject) string {
	if len(r.Meant) == 0 {
		return ""
	}
	fact, _ := facts.ValueOf(subject, "meant")
	words, _ := fact.Value.([]string)
	for _, word := range words {
		if slices.Contains(r.Meant, word) {
			return word
		}
	}
	return ""
}

// The verdicts that make no finding.
const (
	asItShould     finding.Verdict = "as it should be"
	notItsBusiness finding.Verdict = "not its business"
)

// plain reports whether the verdict of the rule depends on plain facts of the subject
// alone.
func (code *code) plain() bool { return areAllPlain(code.expect) && areAllPlain(code.when) }

// plainParts reports the same of all that findings are compared by.
func (code *code) plainParts() bool {
	code.hold()
	return areAllPlain(code.measure) && areAllPlain(code.graver...) && areAllPlain(code.cue.expressions()...)
}

func areAllPlain(list ...*expression) bool {
	return !slices.ContainsFunc(list, func(e *expression) bool { return e != nil && !e.plain })
}

type judgement struct {
	rule       *Rule
	code       *code
	direct     *direct // nil: the machine judges
	reading    reading
	machine    *vm.VM
	env        map[string]any
	found      []finding.Finding
	byIdentity map[string]int
	gathered   map[string]*gapGroup       // by the form of what is missing
	has        map[listOf]map[string]bool // the words of long lists
	limitList  []finding.Evidence         // the limits that findings of the rule are held against, once asked for
	longer     map[int]bool               // findings with edits of several cues, to be put together
}

// gapGroup is the things of which the same is missing.
type gapGroup struct {
	apart int             // those with a finding of their own
	index int             // of the finding of the others, once there is one
	has   map[string]bool // what that is about
}

// newJudgement is a run of one rule alone.
func (r *Rule) newJudgement() judgement {
	return (&judgeRun{env: map[string]any{}}).run(r)
}

// verdict judges a subject, and says what is missing where that is open. What is as it should be of all that is known is open where
// the rule looked at a fact that is known in part.
func (j *judgement) verdict(subject facts.Subject) (finding.Verdict, []string) {
	verdict, missing := j.verdictOnKnown(subject)
	if verdict == asItShould {
		subject.InPart(func(fact string) {
			j.code.judge()
			if slices.Contains(j.code.expect.facts, j.rule.Over+"."+fact) {
				verdict, missing = finding.Open, subject.Why(fact)
			}
		})
	}
	return verdict, missing
}

func (j *judgement) verdictOnKnown(subject facts.Subject) (finding.Verdict, []string) {
	if j.direct != nil {
		return j.direct.verdict(&j.reading, subject)
	}
	j.env[j.rule.Over] = subject
	if j.code.when != nil {
		value, missing := j.code.when.run(j.machine, j.env)
		if len(missing) > 0 {
			return finding.Open, missing
		}
		if value != true {
			return notItsBusiness, nil
		}
	}
	value, missing := j.code.expect.run(j.machine, j.env)
	switch {
	case len(missing) > 0:
		return finding.Open, missing
	case value == true:
		return asItShould, nil
	default:
		return finding.Fail, nil
	}
}

// part works out what a subject adds to a finding.
func (j *judgement) part(subject facts.Subject, verdict finding.Verdict, missing []string) *part {
	j.env[j.rule.Over] = subject
	p := &part{verdict: verdict, level: j.rule.untoldLevel(), subjects: about(subject), missing: missing}
	if cue := subject.Cue(); cue != "" {
		p.cues = []string{cue}
	}
	if verdict == finding.Fail {
		j.code.hold()
		p.with = j.with(subject, p.subjects)
		if cue := j.code.cue.fill(j.machine, j.env); cue != "" {
			p.cues = []string{cue}
		}
		p.level = j.level()
		p.amount = j.amount()
	}
	f := p.finding(j.rule)
	p.identity = f.Identity()
	return p
}

// finding is a part as a finding of its own.
func (p *part) finding(r *Rule) finding.Finding {
	return finding.Finding{
		Rule: r.ID, Level: p.level, Verdict: p.verdict, Consequence: r.Consequence, Subjects: p.subjects, With: p.with,
		Cues: p.cues, Amount: p.amount, Missing: p.missing, Binding: r.Binding && p.verdict == finding.Fail,
	}
}

// add adds the part of a subject to the findings, with as much detail as is asked for.
func (j *judgement) add(subject facts.Subject, p *part, much detail) {
	f := p.finding(j.rule)
	if much == full {
		j.describe(&f, subject)
	}
	if much >= weighed {
		j.weigh(&f, subject) // adds to the words
	}
	if index, ok := j.byIdentity[p.identity]; ok {
		j.merge(index, f)
		return
	}
	if j.byIdentity == nil {
		j.byIdentity = map[string]int{}
	}
	j.byIdentity[p.identity] = len(j.found)
	f.Cues, f.Missing = slices.Clip(f.Cues), slices.Clip(f.Missing) // what is merged is added to them
	j.found = append(j.found, f)
}

// gather adds what is missing of a subject to the finding that others share, if there are
// as many findings of one form as there may be: the same is missing of all of them, or of each
// what has its channel or a name in it.
func (j *judgement) gather(p *part, subject facts.Subject, apart int) bool {
	if _, alone := j.byIdentity[p.identity]; alone {
		return false
	}
	why, named := formOf(p.missing) // with what is taken out marked, so that nothing else reads like it
	g := j.gathered[why]
	if g == nil {
		if j.gathered == nil {
			j.gathered = map[string]*gapGroup{}
		}
		g = &gapGroup{}
		j.gathered[why] = g
	}
	if g.apart < apart {
		g.apart++
		return false
	}
	f := p.finding(j.rule)
	about := f.About()
	if g.has == nil {
		g.has, g.index = map[string]bool{}, len(j.found)
		f.Subjects, f.Detail, f.Cues, f.Place = []finding.Subject{{Kind: f.Subjects[0].Kind}}, strings.ReplaceAll(why, "\x00", ""), nil, subject.Ref().Place()
		f.Alike = &finding.Alike{}
		j.found = append(j.found, f)
	}
	if shared := j.found[g.index].Alike; !g.has[about] {
		g.has[about] = true
		shared.Things = append(shared.Things, about)
		if named {
			missing := p.missing
			if last := len(shared.Missing) - 1; last >= 0 && slices.Equal(missing, shared.Missing[last]) {
				missing = shared.Missing[last]
			}
			shared.Missing = append(shared.Missing, missing)
		}
	}
	return true
}

// formOf is what phrases have in common with those of other things, on one line; named is
// whether something was taken out of them for it.
func formOf(missing []string) (form string, named bool) {
	words := make([]string, len(missing))
	for i, phrase := range missing {
		f := finding.FormOf(phrase)
		words[i], named = f.Words, named || f.Name != ""
	}
	return strings.Join(words, "; "), named
}

// weigh says where a finding stands, its limits and what it rests on.
func (j *judgement) weigh(f *finding.Finding, subject facts.Subject) {
	f.Item, f.Place = subject.Ref(), subject.Ref().Place()
	if f.Verdict != finding.Fail {
		return
	}
	j.code.judge()
	f.Limits = j.limits()
	basis, likely := j.basis(subject, f.Level)
	f.Known, f.Rests = basis.Known, basis.Rests
	if likely {
		f.Doubt(basis.Known)
	}
}

// describe says a finding in words, with what would mend it.
func (j *judgement) describe(f *finding.Finding, subject facts.Subject) {
	if f.Verdict != finding.Fail {
		f.Message = fmt.Sprintf("Could not tell: %s", j.rule.Title)
		return
	}
	j.code.tell()
	j.env[j.rule.Over] = subject
	f.Message = j.code.say.fill(j.machine, j.env) + j.housesOwn()
	f.Hint = j.code.hint.fill(j.machine, j.env)
	f.Measured = j.evidence(subject)
	f.Related = j.related(subject)
	f.Remedies = j.remedies()
}

func about(subject facts.Subject) (list []finding.Subject) {
	for _, name := range subject.Names() {
		list = append(list, finding.Subject{Kind: name.Kind, Name: name.Name})
	}
	return list
}

// merge adds what a rule says of the same subject in another cue. The words and
// numbers of the first cue stay, its amount is the worst of all, and what is sure
// in one of them is sure; what one remedy changes in all cues belongs together.
func (j *judgement) merge(index int, f finding.Finding) {
	into := &j.found[index]
	if f.Amount != nil && (into.Amount == nil || float64(f.Amount.Worse)*(f.Amount.Value-into.Amount.Value) > 0) {
		into.Amount = f.Amount
	}
	if f.Level.AtLeast(into.Level) {
		into.Level = f.Level
	}
	if into.Likely && !f.Likely {
		into.Message, into.Hint, into.Measured, into.Limits = f.Message, f.Hint, f.Measured, f.Limits
		into.Known, into.Rests, into.Likely = f.Known, f.Rests, false
	}
	into.Cues = j.withMore(into.Cues, f.Cues, listOf{index, "cues"})
	into.Missing = j.withMore(into.Missing, f.Missing, listOf{index, "missing"})
	for _, remedy := range f.Remedies {
		same := slices.IndexFunc(into.Remedies, func(r finding.Remedy) bool { return r.Way == remedy.Way })
		if same < 0 {
			into.Remedies = append(into.Remedies, remedy)
			continue
		}
		into.Remedies[same].Edits = append(into.Remedies[same].Edits, remedy.Edits...)
		if j.longer == nil {
			j.longer = map[int]bool{}
		}
		j.longer[index] = true
	}
}

// long is up to where it is quicker to look through a list than to look it up.
const long = 32

// listOf is one of a finding by its place.
type listOf struct {
	finding int
	of      string
}

// withMore adds words to a list that has each once.
func (j *judgement) withMore(words, more []string, of listOf) []string {
	if slices.Equal(words, more) { // the same is missing of it cue after cue
		return words
	}
	for _, word := range more {
		if len(words) < long {
			if !slices.Contains(words, word) {
				words = append(words, word)
			}
			continue
		}
		has := j.has[of]
		if has == nil {
			if j.has == nil {
				j.has = map[listOf]map[string]bool{}
			}
			has = make(map[string]bool, 2*len(words))
			for _, word := range words {
				has[word] = true
			}
			j.has[of] = has
		}
		if !has[word] {
			has[word] = true
			words = append(words, word)
		}
	}
	return words
}

// untoldLevel is how bad it is that something could not be told: it may be what would stop a show.
func (r *Rule) untoldLevel() finding.Level {
	switch {
	case slices.Contains(r.graver, finding.Error):
		return finding.Error
	case len(r.graver) > 0 && r.untold != "":
		return r.untold
	}
	return r.Level
}

// level is how bad the finding is.
func (j *judgement) level() finding.Level {
	level := j.rule.Level
	for i, graver := range j.rule.graver {
		if value, missing := j.code.graver[i].run(j.machine, j.env); len(missing) == 0 && value == true {
			level = graver
		}
	}
	return level
}

// amount is the measured value of the rule, with the way in which it is worse; nil
// where it has none or that is unknown.
func (j *judgement) amount() *finding.Amount {
	if j.code.measure == nil {
		return nil
	}
	value, missing := j.code.measure.run(j.machine, j.env)
	number := toFloat(value)
	if len(missing) > 0 || math.IsNaN(number) {
		return nil
	}
	m := j.rule.Measure
	return &finding.Amount{Fact: m.Fact, Value: number, Unit: m.Unit, Worse: m.Worse, Margin: m.Margin}
}

// mostRanges bounds the work of [judgement.basis], which grows with the power of
// two of the facts that have a range.
const mostRanges = 4

// basis joins what the facts rest on that the rule looked at. The finding is only
// likely if something of that was inferred or assumed and another value within its
// range, or any other where none is told, would turn the verdict or make it milder.
func (j *judgement) basis(subject facts.Subject, level finding.Level) (basis finding.Basis, likely bool) {
	paths := slices.Clone(j.code.expect.facts)
	if j.code.when != nil {
		paths = append(paths, j.code.when.facts...)
	}
	var ranged []string
	ranges := map[string]finding.Range{}
	openEnded := false
	for _, path := range paths {
		kind, word, _ := strings.Cut(path, ".")
		if kind != j.rule.Over || strings.Contains(word, ".") {
			continue
		}
		b := subject.Basis(word)
		basis = basis.And(finding.Basis{Known: b.Known, Rests: b.Rests})
		_, twice := ranges[word]
		switch {
		case b.Known.Sure() || twice:
		case b.Range == nil:
			openEnded = true
		default:
			ranges[word] = *b.Range
			ranged = append(ranged, word)
		}
	}
	if openEnded || len(ranged) > mostRanges {
		return basis, true
	}
	if len(ranged) == 0 {
		return basis, false
	}
	changed := facts.Copy(subject)
	for corner := range 1 << len(ranged) {
		if j.turns(changed, level, ranged, ranges, corner) {
			return basis, true
		}
	}
	return basis, false
}

// turns reports whether the verdict is another than fail, or milder than a level, in one
// corner of what the facts can be: bit i of the corner says whether fact i is at the high end.
// They are written into the subject, which is a copy.
func (j *judgement) turns(changed facts.Subject, level finding.Level, ranged []string, ranges map[string]finding.Range, corner int) bool {
	for i, word := range ranged {
		value := ranges[word].Low
		if corner&(1<<i) != 0 {
			value = ranges[word].High
		}
		facts.Set(changed, word, value)
	}
	if verdict, _ := j.verdict(changed); verdict != finding.Fail {
		return true
	}
	if level == j.rule.Level {
		return false
	}
	was := j.env[j.rule.Over]
	j.env[j.rule.Over] = changed
	milder := !j.level().AtLeast(level)
	j.env[j.rule.Over] = was
	return milder
}

// evidence reads the facts off the expression, in the order in which they are
// written. A fact of something that a subject holds is not evidence by itself.
func (j *judgement) evidence(subject facts.Subject) []finding.Evidence {
	var list []finding.Evidence
	for _, path := range j.code.expect.facts {
		kind, word, _ := strings.Cut(path, ".")
		if kind != j.rule.Over {
			continue
		}
		if fact, ok := facts.ValueOf(subject, word); ok && fact.Value != nil {
			list = append(list, evidenceOf(path, fact.Value))
		}
	}
	return list
}

func evidenceOf(name string, value any) finding.Evidence {
	e := finding.Evidence{Name: name, Value: FormatValue(value)}
	if v := reflect.ValueOf(value); v.CanFloat() {
		number := v.Float()
		e.Num = &number
	} else if v.CanInt() {
		number := float64(v.Int())
		e.Num = &number
	}
	return e
}

// housesOwn says of each limit that the house has set in the place of a published one
// what both are: a limit of a house never speaks as the published one.
func (j *judgement) housesOwn() string {
	var text strings.Builder
	for _, name := range j.code.expect.limits {
		for i := range j.rule.Limits {
			if l := &j.rule.Limits[i]; l.Name == name && l.Own != nil && l.Published != "" {
				fmt.Fprintf(&text, " The %s is this house's own limit; the published one is %s.",
					spelling.Amount(FormatNumber(l.Value), l.Unit), spelling.Amount(FormatNumber(*l.Own), l.Unit))
			}
		}
	}
	return text.String()
}

// limits are those that the rule holds subjects against: one list for all that it finds.
func (j *judgement) limits() []finding.Evidence {
	if j.limitList != nil {
		return j.limitList
	}
	var list []finding.Evidence
	for _, name := range j.code.expect.limits {
		for _, limit := range j.rule.Limits {
			if limit.Name == name {
				value := limit.Value
				list = append(list, finding.Evidence{Name: "limit." + name, Value: FormatNumber(value), Num: &value, Unit: limit.Unit})
			}
		}
	}
	j.limitList = slices.Clip(list)
	return j.limitList
}

func (j *judgement) related(subject facts.Subject) []finding.Related {
	others, ok := subject.(interface{ Others(string) []source.Ref })
	if !ok || j.code.others == "" {
		return nil
	}
	var related []finding.Related
	for _, ref := range others.Others(j.code.others) {
		related = append(related, finding.Related{Message: j.code.showing, Place: ref.Place()})
	}
	return related
}

// with names the others of a clash, where they are of the kind of the subject: which
// of two fixtures stands first in the patch is no matter of theirs.
func (j *judgement) with(subject facts.Subject, about []finding.Subject) (list []finding.Subject) {
	if j.code.others == "" || len(about) == 0 {
		return nil
	}
	others, _ := facts.ValueOf(subject, j.code.others)
	words, _ := others.Value.([]string)
	for _, word := range words {
		if kind, name, _ := strings.Cut(word, " "); kind == about[0].Kind {
			list = append(list, finding.Subject{Kind: kind, Name: name})
		}
	}
	return list
}

func (j *judgement) remedies() []finding.Remedy {
	var list []finding.Remedy
	for way, r := range j.code.remedies {
		if r.when != nil {
			if value, missing := r.when.run(j.machine, j.env); len(missing) > 0 || value != true {
				continue
			}
		}
		var edits []source.Edit
		complete := true
		for _, c := range r.changes {
			more, ok := j.edits(c)
			edits = append(edits, more...)
			complete = complete && ok
		}
		if complete && len(edits) > 0 {
			list = append(list, finding.Remedy{Way: way, Effect: r.effect.fill(j.machine, j.env), Edits: finding.MergeEdits(nil, edits)})
		}
	}
	return list
}

// edits works out one change; ok is false when a value of it is unknown.
func (j *judgement) edits(c change) (edits []source.Edit, ok bool) {
	value, missing := c.on.run(j.machine, j.env)
	if len(missing) > 0 {
		return nil, false
	}
	for _, target := range editors(value) {
		var to any
		if c.to != nil {
			j.env["it"] = target
			to, missing = c.to.run(j.machine, j.env)
			delete(j.env, "it")
			if len(missing) > 0 {
				return nil, false
			}
			if v := reflect.ValueOf(to); v.IsValid() && v.CanInt() {
				to = float64(v.Int())
			}
		}
		edits = append(edits, target.Edits(c.field, to)...)
	}
	return edits, true
}

func editors(value any) []facts.Editor {
	if one, ok := value.(facts.Editor); ok {
		if reflect.ValueOf(one).IsNil() {
			return nil
		}
		return []facts.Editor{one}
	}
	var list []facts.Editor
	if v := reflect.ValueOf(value); v.Kind() == reflect.Slice {
		for i := range v.Len() {
			if one, ok := v.Index(i).Interface().(facts.Editor); ok {
				list = append(list, one)
			}
		}
	}
	return list
}
