package facts

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	gocmp "github.com/google/go-cmp/cmp"
)

// update says whether the tests should rewrite what they expect.
var update = os.Getenv("CUEPROOF_UPDATE") != ""

// code is what the source of this package says of its facts.
type code struct {
	types   map[string]typeCode
	strings map[string]bool // all string literals that are not tags
	whys    map[string]bool // types with a Why method of their own
	ways    map[string][]fieldCode
}

type typeCode struct {
	doc    string
	fields []fieldCode
	ways   []fieldCode // facts that are asked for in brackets
}

type fieldCode struct{ name, word, comment, kind string }

func readCode(t *testing.T) code {
	t.Helper()
	c := code{types: map[string]typeCode{}, strings: map[string]bool{}, whys: map[string]bool{}, ways: map[string][]fieldCode{}}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	fset := token.NewFileSet()
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, name, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		tags := map[*ast.BasicLit]bool{}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				readWay(c.ways, n)
				if n.Name.Name == "Why" && n.Recv != nil {
					if star, ok := n.Recv.List[0].Type.(*ast.StarExpr); ok {
						c.whys[fmt.Sprint(star.X)] = true
					}
				}
			case *ast.GenDecl:
				for _, spec := range n.Specs {
					if s, ok := spec.(*ast.TypeSpec); ok {
						if fields, ok := s.Type.(*ast.StructType); ok {
							c.types[s.Name.Name] = typeCode{strings.TrimSpace(cmp.Or(s.Doc.Text(), n.Doc.Text())), readFields(fields, tags), nil}
						}
					}
				}
			case *ast.BasicLit:
				if n.Kind == token.STRING && !tags[n] {
					if text, err := strconv.Unquote(n.Value); err == nil {
						c.strings[text] = true
					}
				}
			}
			return true
		})
	}
	for name, typ := range c.types {
		typ.fields, typ.ways = c.withEmbedded(typ.fields), c.ways[name]
		c.types[name] = typ
	}
	return c
}

// readWay takes down a method that a rule may ask for, with its numbers in brackets.
func readWay(all map[string][]fieldCode, n *ast.FuncDecl) {
	if n.Recv == nil || !ast.IsExported(n.Name.Name) {
		return
	}
	star, ok := n.Recv.List[0].Type.(*ast.StarExpr)
	if !ok {
		return
	}
	for word, method := range ways {
		if method != n.Name.Name {
			continue
		}
		var numbers []string
		for _, p := range n.Type.Params.List {
			for _, name := range p.Names {
				numbers = append(numbers, snake(name.Name))
			}
		}
		of := fmt.Sprint(star.X)
		meaning := strings.Join(strings.Fields(n.Doc.Text()), " ")
		meaning = strings.TrimSuffix(strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(meaning, method), " are "), " is "), ".")
		all[of] = append(all[of], fieldCode{method, word + "(" + strings.Join(numbers, ", ") + ")", strings.TrimSpace(meaning), kindOf(n.Type.Results.List[0].Type)})
		slices.SortFunc(all[of], func(a, b fieldCode) int { return strings.Compare(a.word, b.word) })
	}
}

// snake writes a name of Go as rules write words: maxMired as max_mired.
func snake(name string) string {
	var b strings.Builder
	for _, r := range name {
		if unicode.IsUpper(r) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

// withEmbedded puts the fields of embedded unexported types in their places:
// they are facts of the type that embeds them.
func (c code) withEmbedded(fields []fieldCode) []fieldCode {
	var all []fieldCode
	for _, f := range fields {
		if f.name == "" {
			all = append(all, c.withEmbedded(c.types[f.kind].fields)...)
			continue
		}
		all = append(all, f)
	}
	return all
}

func readFields(s *ast.StructType, tags map[*ast.BasicLit]bool) []fieldCode {
	var fields []fieldCode
	for _, f := range s.Fields.List {
		word := ""
		if f.Tag != nil {
			tags[f.Tag] = true
			tag, _ := strconv.Unquote(f.Tag.Value)
			word = reflect.StructTag(tag).Get("expr")
		}
		if len(f.Names) == 0 {
			embedded := f.Type
			if star, ok := embedded.(*ast.StarExpr); ok {
				embedded = star.X
			}
			if name := fmt.Sprint(embedded); !ast.IsExported(name) {
				fields = append(fields, fieldCode{kind: name})
			}
		}
		for _, name := range f.Names {
			comment := strings.TrimSpace(f.Comment.Text())
			if comment == "" {
				comment = strings.TrimSpace(f.Doc.Text())
			}
			fields = append(fields, fieldCode{name.Name, word, strings.Join(strings.Fields(comment), " "), kindOf(f.Type)})
		}
	}
	return fields
}

// kindOf writes the type of a fact as rule authors know it.
func kindOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.StarExpr:
		if kind := kindOf(e.X); kind == "number" || kind == "whole number" || kind == "text" || kind == "truth" {
			return kind + " or unknown"
		}
		return kindOf(e.X) + " or none"
	case *ast.ArrayType:
		return "list of " + map[string]string{"number": "numbers", "whole number": "whole numbers", "text": "texts"}[kindOf(e.Elt)] + pluralOf(e.Elt)
	case *ast.Ident:
		if kind, ok := map[string]string{"float64": "number", "int": "whole number", "string": "text", "bool": "truth"}[e.Name]; ok {
			return kind
		}
		return strings.ToLower(e.Name)
	case *ast.SelectorExpr:
		return strings.ToLower(e.Sel.Name)
	default:
		return "?"
	}
}

func pluralOf(e ast.Expr) string {
	if star, ok := e.(*ast.StarExpr); ok {
		return kindOf(star.X) + "s"
	}
	return ""
}

// units are the ends of words that tell a unit.
var units = []struct{ suffix, unit string }{
	{"_per_s", "a second"}, {"_per_h", "an hour"}, {"_cd_m2", "cd/m2"}, {"_mg_m3", "mg/m3"}, {"_pct", "%"}, {"_mired", "mired"}, {"_stops", "stops"}, {"_deg", "degrees"}, {"_lx", "lx"},
	{"_hz", "Hz"}, {"_min", "minutes"}, {"_k", "K"}, {"_w", "W"}, {"_a", "A"}, {"_s", "s"}, {"_h", "hours"}, {"lumens", "lm"},
}

func unitOf(f fieldCode) string {
	if strings.HasPrefix(f.kind, "number") {
		for _, u := range units {
			if strings.HasSuffix(f.word, u.suffix) {
				return f.kind + ", " + u.unit
			}
		}
	}
	return f.kind
}

// typeNames are the types of the kinds of subject, and of what their facts hold.
func typeNames(c code) (kinds map[string]string, others []string) {
	kinds = map[string]string{}
	for kind, subject := range Kinds() {
		kinds[kind] = reflect.TypeOf(subject).Elem().Name()
	}
	for name, typ := range c.types {
		isKind := false
		for _, of := range kinds {
			isKind = isKind || of == name
		}
		if !isKind && ast.IsExported(name) && slices.ContainsFunc(typ.fields, func(f fieldCode) bool { return f.word != "" }) {
			others = append(others, name)
		}
	}
	slices.Sort(others)
	return kinds, others
}

// TestFactsDocument holds FACTS.md against the comments in the source. With
// CUEPROOF_UPDATE=1 in the environment it writes it anew.
func TestFactsDocument(t *testing.T) {
	c := readCode(t)
	kinds, others := typeNames(c)
	var doc strings.Builder
	doc.WriteString(`# Facts

What rules may use, made from the source of this package by its test (CUEPROOF_UPDATE=1 writes it). A rule is
about one kind of subject, and names a fact as KIND.WORD: ` + "`person.face_lx`" + `. What is unknown is never zero: a
rule that needs it answers "could not tell" and says what is missing.

A word with brackets is a way back from what should be so to what would have to be done. A rule hands it the numbers to
aim at, mostly its own limits (` + "`person.keys_to_set(limit.camera_mired)`" + `), so that a limit that a house changes moves
the aim too. Ways are worked out when a remedy or a sentence asks, and belong there, not in ` + "`when`" + ` and ` + "`expect`" + `.
`)
	section := func(title, name string) {
		typ := c.types[name]
		fmt.Fprintf(&doc, "\n## %s\n\n%s\n\n| fact | is | means |\n|---|---|---|\n", title, strings.ReplaceAll(typ.doc, "\n", " "))
		for _, f := range typ.fields {
			if f.word != "" {
				fmt.Fprintf(&doc, "| `%s` | %s | %s |\n", f.word, unitOf(f), strings.ReplaceAll(f.comment, "|", `\|`))
			}
		}
		for _, f := range typ.ways {
			fmt.Fprintf(&doc, "| `%s` | %s | %s |\n", f.word, unitOf(f), f.comment)
		}
	}
	for _, kind := range KindNames() {
		section(kind, kinds[kind])
	}
	for _, name := range others {
		section("In lists: "+strings.ToLower(name), name)
	}
	if update {
		if err := os.WriteFile("FACTS.md", []byte(doc.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := gocmp.Diff(strings.Split(readFileText(t, "FACTS.md"), "\n"), strings.Split(doc.String(), "\n")); diff != "" {
		t.Errorf("FACTS.md is not what the comments say (-it +comments):\n%sRun the test again with CUEPROOF_UPDATE=1 and read what changed.", diff)
	}
}

// TestEveryFactIsExplained holds the source to what rule authors rely on.
func TestEveryFactIsExplained(t *testing.T) {
	c := readCode(t)
	kinds, others := typeNames(c)
	for _, name := range append(slices.Sorted(mapValues(kinds)), others...) {
		seen := map[string]bool{}
		for _, f := range c.types[name].fields {
			exported := ast.IsExported(f.name)
			switch {
			case exported && f.word == "":
				t.Errorf("%s.%s is exported and no fact: give it an expr tag or a small letter", name, f.name)
			case !exported && f.word != "":
				t.Errorf("%s.%s is a fact that no rule can reach: give it a capital letter", name, f.name)
			case f.word != "" && f.comment == "":
				t.Errorf("%s.%s has no comment: rule authors read it", name, f.name)
			case seen[f.word]:
				t.Errorf("%s has two facts %q", name, f.word)
			case slices.Contains(others, name): // what facts hold is known with the fact
			case strings.HasSuffix(f.kind, " or unknown") && !c.strings[f.word] && !c.whys[name]:
				t.Errorf("%s.%s can be unknown, and nothing says why: call lacks with %q", name, f.name, f.word)
			}
			seen[f.word] = f.word != ""
		}
		if c.types[name].doc == "" {
			t.Errorf("the type %s has no comment", name)
		}
	}
}

func mapValues(m map[string]string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for _, v := range m {
			if !yield(v) {
				return
			}
		}
	}
}

func TestWords(t *testing.T) {
	m := measured(demo(t, "mended"))
	for _, kind := range KindNames() {
		words := WordsOf(kind)
		if len(words) == 0 || len(Fields(kind)) < len(words) {
			t.Errorf("%s has %d words of %d facts", kind, len(words), len(Fields(kind)))
		}
		if len(m.Subjects(kind)) == 0 {
			t.Errorf("the demo show has no %s", kind)
		}
		for _, subject := range m.Subjects(kind) {
			for _, word := range words {
				if fact, ok := ValueOf(subject, word); !ok || fact.Word != word {
					t.Fatalf("%s.%s cannot be read: %v", kind, word, fact)
				}
			}
			if _, ok := ValueOf(subject, "no_such_fact"); ok {
				t.Fatalf("%s has a fact that nobody declared", kind)
			}
		}
	}
	if WordsOf("prson") != nil || Fields("prson") != nil {
		t.Error("a kind that does not exist has words")
	}
	lamp := lampsOf(m, len(m.Looks)-2)[0]
	if fact, ok := ValueOf(lamp, "level_pct"); !ok || fact.Value != lamp.Level {
		t.Errorf("level_pct is %v, want %v", fact.Value, lamp.Level)
	}
	if _, ok := ValueOf(m.People[0], "keys_to_set"); ok {
		t.Error("a way back is a plain value")
	}
}

// TestEveryWayIsThere: each word in brackets is a method of some type that rules meet,
// and says what it means.
func TestEveryWayIsThere(t *testing.T) {
	c := readCode(t)
	said := map[string]string{}
	for _, list := range c.ways {
		for _, way := range list {
			word, _, _ := strings.Cut(way.word, "(")
			said[word] = way.comment
		}
	}
	for word, method := range ways {
		if said[word] == "" {
			t.Errorf("%s is the method %s of no type, or has no comment: rule authors read it", word, method)
		}
	}
	if _, ok := Way(reflect.TypeOf((*Person)(nil)), "names"); ok {
		t.Error("a rule may call any method")
	}
}
