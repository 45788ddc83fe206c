package rules

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// compiler gathers all mistakes of one rule file.
type compiler struct {
	id    string
	file  *source.File
	rule  *Rule
	kind  facts.Subject // a value of the type of the rule's subjects
	found []finding.Finding
}

// compile turns a rule file into a rule. The JSON Schema of rule files says
// first what is wrong with its form; only a well-formed rule is compiled. A file
// that is not to be checked is compiled as its parts are needed, from what is known of
// it in short if that is given.
func compile(id string, file *source.File, root source.Ref, explain string, check bool) (*Rule, []finding.Finding) {
	c := &compiler{id: id, file: file}
	if root.IsZero() {
		if problem := source.ParseYAML(file); problem != nil {
			return nil, []finding.Finding{ruleFinding(id, problem.At, problem.Message)}
		}
		root = file.Root()
	}
	if check {
		for _, f := range schema.Validate("rule", root) {
			f.Subjects = []finding.Subject{{Kind: "rule", Name: id}}
			f.Level, f.Consequence = finding.Error, finding.Later
			c.found = append(c.found, f)
		}
		if len(c.found) > 0 {
			return nil, c.found
		}
	}
	rule := &Rule{Causes: texts(root, "causes"), limits: map[string]float64{}, code: &code{compiler: c, root: root}}
	rule.Rule = finding.Rule{
		ID: id, Title: text(root, "title"), Level: finding.Level(text(root, "level")),
		Consequence: finding.Consequence(slices.Index(finding.Consequences, text(root, "consequence"))),
		Over:        text(root, "over"), Expect: text(root, "expect"), Explain: explain, Caution: text(root, "caution"),
		Measure: measureOf(root), Meant: texts(root, "meant"), Symptoms: texts(root, "symptoms"),
	}
	if ask, said := root.Get("ask"); said {
		out, _ := ask.Get("out")
		rule.Ask = &Ask{Who: text(ask, "who"), Do: text(ask, "do"), Of: text(ask, "of"), Keys: texts(ask, "keys"), To: text(ask, "to"), Try: texts(ask, "try"), Out: out.Any() == true}
	}
	if waivable, said := root.Get("waivable"); said {
		rule.Binding = waivable.Any() == false
	}
	if since, said := root.Get("since"); said {
		edition, _ := since.Float()
		rule.Since = int(edition)
	}
	rule.untold = finding.Level(text(root, "untold"))
	gravers, _ := root.Get("graver")
	for graver := range gravers.Items() {
		rule.Gravest = finding.Level(text(graver, "level")) // the mildest stands first
		rule.graver = append(rule.graver, rule.Gravest)
	}
	c.readLimits(root, rule)
	c.rule, c.kind = rule, facts.Kinds()[rule.Over]
	if member, ok := root.Get("meant"); ok && check && !slices.Contains(FactNames(rule.Over), "meant") {
		c.found = append(c.found, ruleFinding(id, member.Place(), fmt.Sprintf("nothing is meant for a %s, so no word answers the rule", rule.Over)))
	}
	if check {
		code := rule.code
		code.judge()
		code.tell()
		c.checkLimits(root, code)
	}
	if len(c.found) > 0 {
		return nil, c.found
	}
	return rule, nil
}

// env is the words of the rule. Nobody needs them while nothing has to be compiled.
func (c *compiler) env() environment { return environmentOf(c.rule.Over, c.kind).with(c.rule.limits) }

// plainly returns what judges as functions, or nil.
func (code *code) plainly() *direct {
	code.shortly.Do(func() {
		when, _ := code.root.Get("when")
		expect, _ := code.root.Get("expect")
		code.direct = directly(code.compiler.rule.Over, code.compiler.kind, when.Str(), expect.Str())
	})
	return code.direct
}

// judge returns the code with what judges compiled.
func (code *code) judge() *code {
	code.judging.Do(func() {
		code.when = code.compiler.expression(code.root, "when", reflect.Bool)
		code.expect = code.compiler.expression(code.root, "expect", reflect.Bool)
	})
	return code
}

// hold returns the code with what findings are held against each other by compiled too.
func (code *code) hold() *code {
	code.judge()
	code.holding.Do(func() {
		c, root := code.compiler, code.root
		code.cue = c.template(root, "cue")
		code.measure = c.measure(root)
		gravers, _ := root.Get("graver")
		for graver := range gravers.Items() {
			code.graver = append(code.graver, c.expression(graver, "when", reflect.Bool))
		}
		code.others = c.others(root)
	})
	return code
}

// tell returns the code with all of it compiled.
func (code *code) tell() *code {
	code.hold()
	code.telling.Do(func() {
		c, root := code.compiler, code.root
		code.say = c.template(root, "say")
		code.hint = c.template(root, "hint")
		code.showing = text(root, "others_are")
		remedies, _ := root.Get("remedies")
		for item := range remedies.Items() {
			code.remedies = append(code.remedies, c.remedy(item))
		}
	})
	return code
}

func text(ref source.Ref, key string) string {
	member, _ := ref.Get(key)
	return strings.TrimSpace(member.Str())
}

// texts returns the words of a list.
func texts(ref source.Ref, key string) []string {
	var list []string
	member, _ := ref.Get(key)
	for item := range member.Items() {
		list = append(list, strings.TrimSpace(item.Str()))
	}
	return list
}

// measure compiles what gets worse or better.
func (c *compiler) measure(root source.Ref) *expression {
	member, ok := root.Get("measure")
	if !ok {
		return nil
	}
	e := c.expression(member, "of", reflect.Invalid)
	if e != nil {
		if t := e.program.Node().Type(); t == nil || !isNumber(t) {
			of, _ := member.Get("of")
			c.mistake(of, of.Str(), &mistake{0, fmt.Sprintf("this gives %s; wanted is a number", kindWords(fmt.Sprint(t)))})
		}
	}
	return e
}

// measureOf reads which way what is measured gets worse, and by how much.
func measureOf(root source.Ref) *finding.Measure {
	member, ok := root.Get("measure")
	if !ok {
		return nil
	}
	margin, _ := member.Get("margin")
	least, _ := margin.Float()
	m := &finding.Measure{Fact: text(member, "of"), Unit: text(member, "unit"), Worse: finding.More, Margin: least}
	if text(member, "worse") == finding.Less.String() {
		m.Worse = finding.Less
	}
	return m
}

func (c *compiler) readLimits(root source.Ref, rule *Rule) {
	limits, _ := root.Get("limits")
	for member := range limits.Items() {
		value, _ := member.Get("value")
		number, ok := value.Float()
		if !ok { // YAML has ways to write a number that nobody else has
			c.found = append(c.found, ruleFinding(c.id, value.Place(), fmt.Sprintf("write the limit %q in plain digits, such as 12.5: %s is not understood", member.Key(), value.Str())))
		}
		rule.limits[member.Key()] = number
		rule.Limits = append(rule.Limits, finding.Limit{Name: member.Key(), Value: number, Unit: text(member, "unit"), Source: text(member, "source"), Published: finding.Published(text(member, "published"))})
	}
}

// others reads the fact whose things are shown beside a finding.
func (c *compiler) others(root source.Ref) string {
	member, ok := root.Get("others")
	if !ok {
		return ""
	}
	kind := c.rule.Over
	name, known := text(root, "others"), FactNames(kind)
	if _, ok := c.kind.(interface{ Others(string) []source.Ref }); !ok {
		c.mistake(member, name, &mistake{0, fmt.Sprintf("a %s has no other things to show", kind)})
	} else if !slices.Contains(known, name) {
		c.mistake(member, name, &mistake{0, fmt.Sprintf("a %s has no fact %q.%s", kind, name, spelling.Hint(name, known))})
	}
	return name
}

// checkLimits reports limits that no expression uses: they would be changed in
// the belief that they matter.
func (c *compiler) checkLimits(root source.Ref, code *code) {
	used := map[string]bool{}
	expressions := append([]*expression{code.when, code.expect, code.measure}, code.graver...)
	for _, t := range []*template{code.say, code.hint, code.cue} {
		expressions = append(expressions, t.expressions()...)
	}
	for _, r := range code.remedies {
		expressions = append(expressions, r.when)
		expressions = append(expressions, r.effect.expressions()...)
		for _, change := range r.changes {
			expressions = append(expressions, change.on, change.to)
		}
	}
	for _, e := range expressions {
		if e != nil {
			for _, name := range e.limits {
				used[name] = true
			}
		}
	}
	limits, _ := root.Get("limits")
	for member := range limits.Items() {
		if !used[member.Key()] {
			c.found = append(c.found, ruleFinding(c.id, member.KeyPlace(), fmt.Sprintf("no expression of the rule uses the limit %q", member.Key())))
		}
	}
}

func (t *template) expressions() []*expression {
	var list []*expression
	if t != nil {
		for _, p := range t.pieces {
			list = append(list, p.expr)
		}
	}
	return list
}

func (c *compiler) expression(ref source.Ref, key string, want reflect.Kind) *expression {
	member, ok := ref.Get(key)
	if !ok {
		return nil
	}
	e, m := c.env().compile(member.Str(), want)
	c.mistake(member, member.Str(), m)
	return e
}

func (c *compiler) template(ref source.Ref, key string) *template {
	member, ok := ref.Get(key)
	if !ok {
		return nil
	}
	sentence := strings.TrimSpace(member.Str())
	t, m := c.env().compileTemplate(sentence)
	c.mistake(member, sentence, m)
	return t
}

// mistake reports what is wrong with a text that stands at a reference.
func (c *compiler) mistake(ref source.Ref, text string, m *mistake) {
	if m != nil {
		c.found = append(c.found, ruleFinding(c.id, placeIn(ref, text, m.offset), m.message))
	}
}

func (c *compiler) remedy(ref source.Ref) remedy {
	r := remedy{when: c.expression(ref, "when", reflect.Bool), effect: c.template(ref, "effect")}
	list, _ := ref.Get("change")
	for item := range list.Items() {
		r.changes = append(r.changes, c.change(item))
	}
	return r
}

// change compiles one change. What stands after "to" may use "it": the thing
// that is changed, one after the other.
func (c *compiler) change(ref source.Ref) change {
	on := c.expression(ref, "on", reflect.Invalid)
	result := change{on: on, field: text(ref, "set")}
	if on == nil {
		return result
	}
	target, editable := editorOf(on)
	if !editable {
		on, _ := ref.Get("on")
		c.mistake(on, on.Str(), &mistake{0, "this is not something that can be changed"})
		return result
	}
	member, ok := ref.Get("to")
	if !ok {
		return result
	}
	e, m := c.env().about(target).compile(member.Str(), reflect.Invalid)
	c.mistake(member, member.Str(), m)
	result.to = e
	return result
}

// editorOf returns a value of the type of the things that an expression gives,
// if these can be changed.
func editorOf(on *expression) (any, bool) {
	t := on.program.Node().Type()
	if t == nil {
		return nil, false
	}
	if t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if !t.Implements(reflect.TypeFor[facts.Editor]()) {
		return nil, false
	}
	return reflect.Zero(t).Interface(), true
}
