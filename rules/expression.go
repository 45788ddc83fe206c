package rules

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"sort"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/checker"
	bytecode "github.com/expr-lang/expr/compiler"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/optimizer"
	"github.com/expr-lang/expr/vm"
)

// Bounds on what an expression may be. A rule's author is not trusted with the
// booth's time: one expression runs for every look of a show.
const (
	maxExpressionBytes = 2000
	maxExpressionNodes = 200
)

// allowedBuiltins are the functions that a rule may use. The others build text
// or lists without end, read the clock, or answer for an empty list.
var allowedBuiltins = []string{"all", "any", "none", "one", "count", "filter", "map", "sum", "len", "abs", "round", "floor", "ceil", "min", "max", "join", "lower"}

// refusedOperators build lists or numbers without end, or, as ?? does, put a
// value in the place of one that is unknown.
var refusedOperators = []string{"..", "matches", "**", "^", "%", "??"}

// expression is a compiled piece of a rule.
type expression struct {
	text    string
	program *vm.Program
	facts   []string // what it looks at outside of predicates, in the order written: "person.face_lx"
	limits  []string // the limits it names, in the order written
	plain   bool     // nothing but plain facts of its own subject decides it
}

// environment is the words that the expressions of a rule may use.
type environment struct {
	kind   string
	sample map[string]any
	base   *conf.Config // what the library makes of the words, and how it is told to work
	lock   *sync.Mutex  // of base, into which the library writes as it works
	limits map[string]float64
}

// environments are made once for each kind of subject, and type of thing to be changed, because the library reads
// all fields of a subject to make one.
var environments = struct {
	sync.Mutex
	of map[string]environment
}{of: map[string]environment{}}

func environmentOf(kind string, subject facts.Subject) environment {
	environments.Lock()
	defer environments.Unlock()
	env, done := environments.of[kind]
	if !done {
		env = newEnvironment(kind, map[string]any{kind: subject, "limit": map[string]float64{}})
		environments.of[kind] = env
	}
	return env
}

func newEnvironment(kind string, sample map[string]any) environment {
	env := environment{kind: kind, sample: sample, base: conf.CreateNew(), lock: &sync.Mutex{}}
	options := []expr.Option{
		expr.Env(sample), expr.MaxNodes(maxExpressionNodes), expr.DisableAllBuiltins(),
		expr.Function("known", knownFact, new(func(*float64, any, string) float64), new(func(*int, any, string) int), new(func(*string, any, string) string), new(func(*bool, any, string) bool)),
		expr.Function("rounded", func(params ...any) (any, error) { return facts.Round(toFloat(params[0])), nil }, new(func(float64) float64)),
		expr.Function("plural", plural, new(func(int, string) string), new(func(int, string, string) string)),
		expr.Function("divide", divide, new(func(float64, float64) float64), new(func(int, float64) float64), new(func(float64, int) float64), new(func(int, int) float64)),
	}
	for _, name := range allowedBuiltins {
		options = append(options, expr.EnableBuiltin(name))
	}
	for _, option := range options {
		option(env.base)
	}
	for name := range env.base.Disabled {
		delete(env.base.Builtins, name)
	}
	return env
}

// with returns the environment for a rule with these limits.
func (env environment) with(limits map[string]float64) environment {
	env.limits = limits
	return env
}

// about returns an environment in which "it" is a value too, made once for each type of it.
func (env environment) about(it any) environment {
	environments.Lock()
	defer environments.Unlock()
	name := fmt.Sprintf("%s %T", env.kind, it)
	about, done := environments.of[name]
	if !done {
		sample := maps.Clone(env.sample)
		sample["it"] = it
		about = newEnvironment(env.kind, sample)
		environments.of[name] = about
	}
	return about.with(env.limits)
}

// program is what [expr.Compile] makes of a text, with the settings of the environment in the
// place of new ones, which would be a third of the work.
func (env environment) program(text string, options []expr.Option, visitors ...ast.Visitor) (*vm.Program, error) {
	env.lock.Lock()
	defer env.lock.Unlock()
	config := *env.base
	config.Visitors = visitors
	for _, option := range options {
		option(&config)
	}
	config.Check()
	tree, err := checker.ParseCheck(text, &config)
	if err != nil {
		return nil, err
	}
	if err := optimizer.Optimize(&tree.Node, &config); err != nil {
		var at *file.Error
		if errors.As(err, &at) {
			return nil, at.Bind(tree.Source)
		}
		return nil, err
	}
	return bytecode.Compile(tree, &config)
}

// mistake is something wrong with an expression; offset counts characters from
// its start.
type mistake struct {
	offset  int
	message string
}

// unknownFact is what an expression meets when a fact that it needs is unknown.
type unknownFact struct {
	fact    string
	missing []string
}

func (u unknownFact) Error() string { return u.fact + " is unknown" }

var errDivision = errors.New("division by zero")

// compile compiles the text; want says what the result must be: reflect.Bool, or
// reflect.Invalid for anything.
func (env environment) compile(text string, want reflect.Kind) (*expression, *mistake) {
	if len(text) > maxExpressionBytes {
		return nil, &mistake{0, fmt.Sprintf("the expression has %d bytes; %d are the most", len(text), maxExpressionBytes)}
	}
	asked := &wayVisitor{methods: map[*ast.MemberNode]string{}}
	names := &nameVisitor{env: env, ways: asked.methods}
	var options []expr.Option
	if want == reflect.Bool {
		options = append(options, expr.AsBool(), expr.WarnOnAny())
	}
	program, err := env.program(text, options, asked, names, &strictVisitor{ways: asked.methods})
	if len(names.bare) > 0 {
		names.refuse(names.bare[0], "a limit is named by its word: limit.max_mired")
	}
	if names.mistake != nil {
		return nil, names.mistake
	}
	if err != nil {
		return nil, env.explain(err)
	}
	return &expression{text: text, program: program, facts: names.facts, limits: names.limits, plain: !names.far && len(asked.methods) == 0}, nil
}

// explain turns an error of the expression library into a mistake in our words.
func (env environment) explain(err error) *mistake {
	message, offset := err.Error(), 0
	var at *file.Error
	if errors.As(err, &at) {
		message, offset = at.Message, at.From
	}
	if field, ok := strings.CutPrefix(message, "type facts."); ok {
		if kind, word, found := strings.Cut(field, " has no field "); found {
			message = fmt.Sprintf("a %s has no fact %q.%s", strings.ToLower(kind), word, spelling.Hint(word, FactNames(strings.ToLower(kind))))
		}
	}
	if word, ok := strings.CutPrefix(message, "unknown name "); ok {
		message = fmt.Sprintf("nothing is called %q here.%s", word, spelling.Hint(word, env.words()))
	}
	if kind, ok := strings.CutPrefix(message, "expected bool, but got "); ok {
		message = fmt.Sprintf("this gives %s; wanted is true or false", kindWords(kind))
	}
	if strings.HasSuffix(message, "expression exceeds maximum allowed nodes") {
		return &mistake{0, fmt.Sprintf("the expression has more than %d parts", maxExpressionNodes)}
	}
	return &mistake{offset, message}
}

// kindWords says a Go type in the words of a rule's author.
func kindWords(kind string) string {
	switch kind {
	case "int", "float64":
		return "a number"
	case "string":
		return "text"
	case "unknown", "any", "interface {}":
		return "something of no certain kind"
	}
	if strings.HasPrefix(kind, "[]") {
		return "a list"
	}
	return strings.ToLower("a " + kind[strings.LastIndexByte(kind, '.')+1:])
}

func (env environment) words() []string {
	return append(slices.Sorted(maps.Keys(env.sample)), allowedBuiltins...)
}

// FactNames lists the facts of a kind of subject, sorted.
func FactNames(kind string) []string {
	var names []string
	for _, field := range facts.Fields(kind) {
		names = append(names, field.Tag.Get("expr"))
	}
	sort.Strings(names)
	return names
}

// wayVisitor finds the facts that are asked for in brackets, which are methods in Go
// and words like any other in a rule.
type wayVisitor struct {
	methods map[*ast.MemberNode]string // the word, by what is called
}

func (v *wayVisitor) Visit(node *ast.Node) {
	call, isCall := (*node).(*ast.CallNode)
	if !isCall {
		return
	}
	member, isMember := call.Callee.(*ast.MemberNode)
	if !isMember {
		return
	}
	word, named := member.Property.(*ast.StringNode)
	if !named {
		return
	}
	if method, ok := facts.Way(member.Node.Type(), word.Value); ok {
		v.methods[member] = word.Value
		member.Property = &ast.StringNode{Value: method}
	}
}

// nameVisitor reads the facts and limits off an expression, and refuses what a
// rule may not do. Nodes are visited after their parts.
type nameVisitor struct {
	env     environment
	ways    map[*ast.MemberNode]string
	facts   []string
	limits  []string
	bare    []ast.Node // uses of "limit" that no member has taken back yet
	far     bool       // it looks at more than plain facts of its own subject
	mistake *mistake
}

func (v *nameVisitor) refuse(n ast.Node, message string) {
	if v.mistake == nil {
		v.mistake = &mistake{n.Location().From, message}
	}
}

func (v *nameVisitor) Visit(node *ast.Node) {
	switch n := (*node).(type) {
	case *ast.MemberNode:
		v.member(n)
	case *ast.CallNode:
		if member, ok := n.Callee.(*ast.MemberNode); ok && v.ways[member] != "" {
			return
		}
		name := n.Callee.String()
		if name == "plural" {
			return
		}
		v.refuse(n.Callee, fmt.Sprintf("a rule may not call %q.%s It may call %s", name, spelling.Hint(name, append([]string{"plural"}, allowedBuiltins...)), strings.Join(append([]string{"plural"}, allowedBuiltins...), ", ")))
	case *ast.BuiltinNode:
		if n.Name == "min" || n.Name == "max" {
			v.extreme(n)
		}
	case *ast.PredicateNode:
		if inner := innerLoop(n.Node); inner != nil {
			v.refuse(inner, "a loop inside a loop is too much work for a rule: measure it as a fact instead")
		}
	case *ast.BinaryNode:
		if slices.Contains(refusedOperators, n.Operator) {
			v.refuse(n, fmt.Sprintf("a rule may not use %q", n.Operator))
		}
	case *ast.VariableDeclaratorNode:
		v.refuse(n, `a rule may not use "let": a finding shows its facts under the names they have`)
	case *ast.IdentifierNode:
		switch n.Value {
		case "limit":
			v.bare = append(v.bare, n)
		case "$env":
			v.refuse(n, fmt.Sprintf("nothing is called %q here", n.Value))
		}
	}
}

// extreme refuses the least or most of a list: of an empty list there is none,
// and what stands for it would be compared like a number.
func (v *nameVisitor) extreme(n *ast.BuiltinNode) {
	for _, argument := range n.Arguments {
		if t := argument.Type(); t == nil || !isNumber(t) {
			v.refuse(argument, fmt.Sprintf("%s takes numbers; a list may be empty: measure its extreme as a fact instead", n.Name))
		}
	}
}

func isNumber(t reflect.Type) bool {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t.Kind() == reflect.Int || t.Kind() == reflect.Float64
}

func (v *nameVisitor) member(n *ast.MemberNode) {
	property, ok := n.Property.(*ast.StringNode)
	if n.Optional {
		v.refuse(n, `a rule may not use "?.": what is unknown makes a finding that could not tell`)
		return
	}
	if isIdentifier(n.Node, "limit") {
		v.bare = slices.DeleteFunc(v.bare, func(bare ast.Node) bool { return bare == n.Node })
		if !ok {
			v.refuse(n, "a limit is named by its word: limit.max_mired")
			return
		}
		if _, declared := v.env.limits[property.Value]; !declared {
			names := slices.Sorted(maps.Keys(v.env.limits))
			v.refuse(n, fmt.Sprintf("the rule has no limit %q.%s", property.Value, spelling.Hint(property.Value, names)))
			return
		}
		if !slices.Contains(v.limits, property.Value) {
			v.limits = append(v.limits, property.Value)
		}
		return
	}
	if v.ways[n] != "" {
		return
	}
	if t := n.Type(); t != nil && t.Kind() == reflect.Func {
		v.refuse(n, fmt.Sprintf("%s is not a fact", n.String()))
		return
	}
	if !ok || !isIdentifier(n.Node, v.env.kind) || !facts.PlainWord(v.env.kind, property.Value) {
		v.far = true
	}
	if path := n.String(); ok && rooted(n) && !slices.Contains(v.facts, path) {
		v.facts = append(v.facts, path)
	}
}

func isIdentifier(n ast.Node, name string) bool {
	identifier, ok := n.(*ast.IdentifierNode)
	return ok && identifier.Value == name
}

// rooted reports whether a chain of members starts at a word of the environment
// and not at the item of a loop.
func rooted(n ast.Node) bool {
	for {
		switch m := n.(type) {
		case *ast.MemberNode:
			n = m.Node
		case *ast.ChainNode:
			n = m.Node
		case *ast.IdentifierNode:
			return true
		default:
			return false
		}
	}
}

// innerLoop returns what would run through a list again for each item of a loop:
// another loop, or anything at all done with a list.
func innerLoop(n ast.Node) ast.Node {
	finder := &loopFinder{}
	ast.Walk(&n, finder)
	return finder.found
}

type loopFinder struct{ found ast.Node }

func (f *loopFinder) Visit(node *ast.Node) {
	if f.found != nil {
		return
	}
	_, isLoop := (*node).(*ast.PredicateNode)
	_, isMember := (*node).(*ast.MemberNode)
	_, isCall := (*node).(*ast.CallNode)
	t := (*node).Type()
	if isLoop || (isMember || isCall) && t != nil && t.Kind() == reflect.Slice {
		f.found = *node
	}
}

// strictVisitor makes an expression honest about what is unknown: every fact
// that may be nil is asked for through known, which stops the expression with
// the name of the fact, unless the rule compares it with nil itself. Division
// goes through divide, which stops at zero.
type strictVisitor struct {
	ways map[*ast.MemberNode]string
}

func (v *strictVisitor) Visit(node *ast.Node) {
	switch n := (*node).(type) {
	case *ast.CallNode:
		member, ok := n.Callee.(*ast.MemberNode)
		if ok && v.ways[member] != "" { // whose numbers are never whole, also where it stands in another call
			for i := range n.Arguments {
				if whole, ok := n.Arguments[i].(*ast.IntegerNode); ok {
					ast.Patch(&n.Arguments[i], &ast.FloatNode{Value: float64(whole.Value)})
				}
			}
		}
		if t := n.Type(); !ok || v.ways[member] == "" || t == nil || t.Kind() != reflect.Pointer || t.Elem().Kind() == reflect.Struct {
			return
		}
		ast.Patch(node, &ast.CallNode{
			Callee:    &ast.IdentifierNode{Value: "known"},
			Arguments: []ast.Node{n, member.Node, &ast.StringNode{Value: v.ways[member]}},
		})
	case *ast.MemberNode:
		t := n.Type()
		property, named := n.Property.(*ast.StringNode)
		if t != nil && t.Kind() == reflect.Float64 && named && !isIdentifier(n.Node, "limit") {
			ast.Patch(node, &ast.CallNode{Callee: &ast.IdentifierNode{Value: "rounded"}, Arguments: []ast.Node{n}})
			return
		}
		if t == nil || t.Kind() != reflect.Pointer || !named || t.Elem().Kind() == reflect.Struct {
			return
		}
		ast.Patch(node, &ast.CallNode{
			Callee:    &ast.IdentifierNode{Value: "known"},
			Arguments: []ast.Node{n, n.Node, &ast.StringNode{Value: property.Value}},
		})
	case *ast.BinaryNode:
		if n.Operator == "==" || n.Operator == "!=" {
			if isNil(n.Right) {
				n.Left = asked(n.Left)
			}
			if isNil(n.Left) {
				n.Right = asked(n.Right)
			}
		}
		if n.Operator == "/" {
			ast.Patch(node, &ast.CallNode{Callee: &ast.IdentifierNode{Value: "divide"}, Arguments: []ast.Node{n.Left, n.Right}})
		}
	}
}

func isNil(n ast.Node) bool { _, ok := n.(*ast.NilNode); return ok }

// asked returns the fact inside a call of known.
func asked(n ast.Node) ast.Node {
	if call, ok := n.(*ast.CallNode); ok && isIdentifier(call.Callee, "known") {
		return call.Arguments[0]
	}
	return n
}

func knownFact(params ...any) (any, error) {
	switch fact := params[0].(type) { // what nearly all are
	case *float64:
		if fact != nil {
			return facts.Round(*fact), nil
		}
	case *int:
		if fact != nil {
			return *fact, nil
		}
	case *bool:
		if fact != nil {
			return *fact, nil
		}
	}
	value := reflect.ValueOf(params[0])
	if !value.IsValid() || value.IsNil() {
		name := params[2].(string)
		unknown := unknownFact{fact: name}
		if subject, ok := params[1].(interface{ Why(string) []string }); ok {
			unknown.missing = subject.Why(name)
		}
		return nil, unknown
	}
	if number, isNumber := value.Elem().Interface().(float64); isNumber {
		return facts.Round(number), nil
	}
	return value.Elem().Interface(), nil
}

// plural is the noun for a number of things: plural(2, "channel") is "channels", and
// plural(1, "it is", "they are") is "it is".
func plural(params ...any) (any, error) {
	one := params[1].(string)
	switch {
	case params[0].(int) == 1:
		return one, nil
	case len(params) > 2:
		return params[2], nil
	}
	return one + "s", nil
}

func divide(params ...any) (any, error) {
	a, b := toFloat(params[0]), toFloat(params[1])
	if b == 0 {
		return nil, errDivision
	}
	return a / b, nil
}

func toFloat(value any) float64 {
	v := reflect.ValueOf(value)
	if v.CanInt() {
		return float64(v.Int())
	}
	if v.CanFloat() {
		return v.Float()
	}
	return math.NaN()
}

// run evaluates the expression. missing is what would make an unknown fact
// known; it is empty when the expression has a value.
func (e *expression) run(machine *vm.VM, env map[string]any) (value any, missing []string) {
	value, err := machine.Run(e.program, env)
	if err == nil {
		if f, isFloat := value.(float64); isFloat && (math.IsNaN(f) || math.IsInf(f, 0)) {
			return nil, []string{fmt.Sprintf("numbers with which %s can be computed", e.text)}
		}
		return deref(value), nil
	}
	var unknown unknownFact
	if errors.As(err, &unknown) {
		if len(unknown.missing) > 0 {
			return nil, unknown.missing
		}
		return nil, []string{"what " + unknown.fact + " is measured from"}
	}
	return nil, []string{fmt.Sprintf("numbers with which %s can be computed", e.text)}
}

func deref(value any) any {
	v := reflect.ValueOf(value)
	if v.Kind() == reflect.Pointer && v.Type().Elem().Kind() != reflect.Struct {
		if v.IsNil() {
			return nil
		}
		return v.Elem().Interface()
	}
	return value
}
