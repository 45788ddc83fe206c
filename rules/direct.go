package rules

import (
	"math"
	"reflect"
	"slices"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/parser"
)

// What decides in most rules is plain: facts of the subject, limits and words, compared
// and joined. That needs no machine. Such an expression is read by the library's parser
// and turned into functions that read the facts where they stand, without compiling,
// checking or boxing anything; all others, and all that is said about a finding, go the
// library's own way. A test holds both to agree on every rule of the program.

// direct is the judging part of a rule as functions.
type direct struct {
	when   func(*reading) bool // nil: every subject
	expect func(*reading) bool
	limits []string // that it names
}

// reading is the subject that is looked at.
type reading struct {
	subject facts.Subject
	facts   reflect.Value // the struct behind it
	limits  []float64     // in the order of direct.limits
	unknown string        // the first fact that was needed and is unknown, or ""
}

// need notes a fact that is unknown. What is worked out behind it does not count.
func (r *reading) need(word string) {
	if r.unknown == "" {
		r.unknown = word
	}
}

// missing is what would make the unknown fact known.
func (r *reading) missing() []string {
	if missing := r.subject.Why(r.unknown); len(missing) > 0 {
		return missing
	}
	return []string{"what " + r.unknown + " is measured from"}
}

// value is a part of an expression; it has one of number, text and truth.
type value struct {
	number func(*reading) float64
	text   func(*reading) string
	truth  func(*reading) bool
	absent func(*reading) bool // whether the fact is unknown; nil if it is none or always known
	list   func(*reading) int  // how long the list is
	null   bool                // it is the word nil
	whole  bool                // the number is one to the library, too: it mixes them badly
}

// plainText parses without knowing any subject.
var plainText = func() *conf.Config {
	c := conf.CreateNew()
	c.MaxNodes = maxExpressionNodes
	return c
}()

// directly turns the judging part of a rule about a kind of subject into functions; nil
// where something in it is not plain.
func directly(kind string, subject facts.Subject, when, expect string) *direct {
	d := &direct{}
	t := &director{kind: kind, of: reflect.TypeOf(subject).Elem(), direct: d}
	if when != "" {
		if d.when = t.truth(when); d.when == nil {
			return nil
		}
	}
	if d.expect = t.truth(expect); d.expect == nil {
		return nil
	}
	return d
}

type director struct {
	kind   string
	of     reflect.Type
	direct *direct
}

func (t *director) truth(text string) func(*reading) bool {
	if len(text) > maxExpressionBytes {
		return nil
	}
	tree, err := new(parser.Parser).Parse(text, plainText)
	if err != nil {
		return nil
	}
	return t.value(tree.Node).truth
}

// value returns the zero value for what is not plain, or does not go together. The words
// true and false are left to the library, which asks for no fact that they make needless.
func (t *director) value(node ast.Node) value {
	switch n := node.(type) {
	case *ast.NilNode:
		return value{null: true}
	case *ast.IntegerNode:
		return value{number: constant(float64(n.Value)), whole: true}
	case *ast.FloatNode:
		return value{number: constant(n.Value)}
	case *ast.StringNode:
		return value{text: func(*reading) string { return n.Value }}
	case *ast.MemberNode:
		return t.member(n)
	case *ast.UnaryNode:
		return t.unary(n)
	case *ast.BinaryNode:
		return t.binary(n)
	case *ast.ConditionalNode:
		return t.conditional(n)
	case *ast.BuiltinNode:
		return t.builtin(n)
	}
	return value{}
}

func constant(number float64) func(*reading) float64 { return func(*reading) float64 { return number } }

func (t *director) member(n *ast.MemberNode) value {
	word, named := n.Property.(*ast.StringNode)
	if !named || n.Optional || n.Method {
		return value{}
	}
	if isIdentifier(n.Node, "limit") {
		at := slices.Index(t.direct.limits, word.Value)
		if at < 0 {
			at = len(t.direct.limits)
			t.direct.limits = append(t.direct.limits, word.Value)
		}
		return value{number: func(r *reading) float64 { return r.limits[at] }}
	}
	if !isIdentifier(n.Node, t.kind) {
		return value{}
	}
	field, ok := facts.FieldOf(t.of, word.Value)
	if !ok {
		return value{}
	}
	return fact(field, word.Value)
}

// fact reads a plain fact, numbers as [facts.Round] makes them.
func fact(field reflect.StructField, word string) value {
	read := func(r *reading) reflect.Value { return r.facts.FieldByIndex(field.Index) }
	if len(field.Index) == 1 {
		at := field.Index[0]
		read = func(r *reading) reflect.Value { return r.facts.Field(at) }
	}
	v, kind := value{}, field.Type.Kind()
	known := func(r *reading) (reflect.Value, bool) { return read(r), true }
	if kind == reflect.Pointer {
		kind = field.Type.Elem().Kind()
		v.absent = func(r *reading) bool { return read(r).IsNil() }
		known = func(r *reading) (reflect.Value, bool) {
			pointer := read(r)
			if pointer.IsNil() {
				r.need(word)
				return reflect.Value{}, false
			}
			return pointer.Elem(), true
		}
	}
	switch kind {
	case reflect.Float64:
		v.number = func(r *reading) float64 {
			if number, ok := known(r); ok {
				return facts.Round(number.Float())
			}
			return 0
		}
	case reflect.Int:
		v.whole = true
		v.number = func(r *reading) float64 {
			if number, ok := known(r); ok {
				return float64(number.Int())
			}
			return 0
		}
	case reflect.String:
		v.text = func(r *reading) string {
			if text, ok := known(r); ok {
				return text.String()
			}
			return ""
		}
	case reflect.Bool:
		v.truth = func(r *reading) bool {
			truth, ok := known(r)
			return ok && truth.Bool()
		}
	case reflect.Slice:
		v.list = func(r *reading) int { return read(r).Len() }
	}
	return v
}

func (t *director) unary(n *ast.UnaryNode) value {
	v := t.value(n.Node)
	switch {
	case (n.Operator == "not" || n.Operator == "!") && v.truth != nil:
		return value{truth: func(r *reading) bool { return !v.truth(r) }}
	case n.Operator == "-" && v.number != nil:
		return value{number: func(r *reading) float64 { return -v.number(r) }, whole: v.whole}
	}
	return value{}
}

func (t *director) binary(n *ast.BinaryNode) value {
	if n.Operator == "in" {
		return t.among(n)
	}
	a, b := t.value(n.Left), t.value(n.Right)
	switch n.Operator {
	case "and", "&&":
		if a.truth != nil && b.truth != nil {
			return value{truth: func(r *reading) bool { return a.truth(r) && r.unknown == "" && b.truth(r) }}
		}
	case "or", "||":
		if a.truth != nil && b.truth != nil {
			return value{truth: func(r *reading) bool { return a.truth(r) || r.unknown == "" && b.truth(r) }}
		}
	case "==", "!=":
		if same := equal(a, b); same != nil {
			unlike := n.Operator == "!="
			return value{truth: func(r *reading) bool { return same(r) != unlike }}
		}
	}
	if a.number == nil || b.number == nil {
		return value{}
	}
	whole := a.whole && b.whole
	switch x, y := a.number, b.number; n.Operator {
	case "<":
		return value{truth: func(r *reading) bool { return x(r) < y(r) }}
	case "<=":
		return value{truth: func(r *reading) bool { return x(r) <= y(r) }}
	case ">":
		return value{truth: func(r *reading) bool { return x(r) > y(r) }}
	case ">=":
		return value{truth: func(r *reading) bool { return x(r) >= y(r) }}
	case "+":
		return value{number: func(r *reading) float64 { return x(r) + y(r) }, whole: whole}
	case "-":
		return value{number: func(r *reading) float64 { return x(r) - y(r) }, whole: whole}
	case "*":
		return value{number: func(r *reading) float64 { return x(r) * y(r) }, whole: whole}
	}
	return value{}
}

// equal compares two values of one kind, or asks whether a fact is unknown; nil where
// that makes no sense.
func equal(a, b value) func(*reading) bool {
	switch {
	case a.null && b.absent != nil:
		return b.absent
	case b.null && a.absent != nil:
		return a.absent
	case a.number != nil && b.number != nil:
		return func(r *reading) bool { return a.number(r) == b.number(r) }
	case a.text != nil && b.text != nil:
		return func(r *reading) bool { return a.text(r) == b.text(r) }
	case a.truth != nil && b.truth != nil:
		return func(r *reading) bool { return a.truth(r) == b.truth(r) }
	}
	return nil
}

// among asks whether a text is one of some words.
func (t *director) among(n *ast.BinaryNode) value {
	text := t.value(n.Left).text
	list, ok := n.Right.(*ast.ArrayNode)
	if text == nil || !ok {
		return value{}
	}
	var words []string
	for _, item := range list.Nodes {
		word, ok := item.(*ast.StringNode)
		if !ok {
			return value{}
		}
		words = append(words, word.Value)
	}
	return value{truth: func(r *reading) bool { return slices.Contains(words, text(r)) }}
}

func (t *director) conditional(n *ast.ConditionalNode) value {
	when, a, b := t.value(n.Cond).truth, t.value(n.Exp1), t.value(n.Exp2)
	switch {
	case when == nil:
	case a.number != nil && b.number != nil && a.whole == b.whole:
		return value{whole: a.whole, number: func(r *reading) float64 {
			if when(r) {
				return a.number(r)
			}
			return b.number(r)
		}}
	case a.text != nil && b.text != nil:
		return value{text: func(r *reading) string {
			if when(r) {
				return a.text(r)
			}
			return b.text(r)
		}}
	case a.truth != nil && b.truth != nil:
		return value{truth: func(r *reading) bool {
			if when(r) {
				return a.truth(r)
			}
			return b.truth(r)
		}}
	}
	return value{}
}

func (t *director) builtin(n *ast.BuiltinNode) value {
	var of []value
	for _, argument := range n.Arguments {
		of = append(of, t.value(argument))
	}
	switch {
	case len(of) == 1 && n.Name == "len" && of[0].list != nil:
		return value{number: func(r *reading) float64 { return float64(of[0].list(r)) }, whole: true}
	case len(of) == 1 && n.Name == "abs" && of[0].number != nil:
		return value{number: func(r *reading) float64 { return math.Abs(of[0].number(r)) }, whole: of[0].whole}
	case len(of) == 2 && (n.Name == "min" || n.Name == "max") && of[0].number != nil && of[1].number != nil && of[0].whole == of[1].whole:
		least := n.Name == "min"
		return value{whole: of[0].whole, number: func(r *reading) float64 {
			a, b := of[0].number(r), of[1].number(r)
			if (b < a) == least {
				return b
			}
			return a
		}}
	}
	return value{}
}

// verdict is that of the rule on a subject, and what is missing where it is open.
func (d *direct) verdict(r *reading, subject facts.Subject) (finding.Verdict, []string) {
	r.subject, r.facts, r.unknown = subject, reflect.ValueOf(subject).Elem(), ""
	if d.when != nil {
		holds := d.when(r)
		switch {
		case r.unknown != "":
			return finding.Open, r.missing()
		case !holds:
			return notItsBusiness, nil
		}
	}
	holds := d.expect(r)
	switch {
	case r.unknown != "":
		return finding.Open, r.missing()
	case holds:
		return asItShould, nil
	}
	return finding.Fail, nil
}
