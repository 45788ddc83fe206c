package main

import (
	"errors"
	"fmt"
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/tools/go/packages"
)

// folders hold what computes and judges.
var folders = []string{"./internal/...", "./loaders/...", "./rules/...", "./schema/..."}

// forTests only make input for tests and benchmarks.
var forTests = []string{"internal/bigshow", "internal/draws", "internal/judged", "internal/season", "loaders/format/formattest", "schema/schematest"}

// swaps are the operators that take each other's place.
var swaps = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR, token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// program is what can be changed.
type program struct {
	places []*place
}

// unit is a package.
type unit struct {
	folder string // from the top, with slashes
	tested bool   // has tests of its own
	types  *types.Package
	info   *types.Info
}

// heldBy are packages whose tests stand in another package, because they make sense
// together with it alone: light and the clock are held by the facts that they are measured
// for, orders by whole runs, what reads files and what writes reports by one set of tests
// for all.
var heldBy = map[string]string{
	"internal/stage": "internal/facts", "internal/evening": "internal/facts",
	"internal/plan":       "internal/lint",
	"internal/report/say": "internal/report", "internal/report/text": "internal/report", "internal/report/jsonreport": "internal/report",
	"internal/report/measured": "internal/report", "internal/report/sarif": "internal/report", "internal/report/annotate": "internal/report", "internal/report/summary": "internal/report",
	"loaders/table": "loaders", "loaders/jsonform": "loaders", "loaders/format": "loaders",
}

// tests are those that hold the package: its own, and those of the package that holds it.
func (u *unit) tests() (list []string) {
	if u.tested {
		list = append(list, "./"+u.folder)
	}
	if by, ok := heldBy[u.folder]; ok {
		list = append(list, "./"+by)
	}
	return list
}

// file is a file of a package, from the top, with slashes.
type file struct {
	name, path string
	source     []byte
	lines      []string
	unit       *unit
	base       int // of its positions
	imports    map[string]string
}

// span is a part of a file, in bytes.
type span struct {
	file     *file
	from, to int
}

// spot is a part of a file and what stands there when the change is switched on.
type spot struct {
	span
	kind  kind
	typ   types.Type
	write func(r *renderer) string // the other text
}

// kind is how a spot is put behind its switch.
type kind int

const (
	truth     kind = iota // an expression that is true or false
	value                 // an expression with a type
	statement             // a statement in a list of them
)

// place is one change. A constant has a spot wherever it is used.
type place struct {
	file   *file
	line   int
	what   string
	spots  []spot
	number int

	tried   bool
	reached bool   // by the tests of its package
	noticed string // by which tests
}

// text is the line of the place.
func (p *place) text() string {
	return strings.TrimSpace(p.file.lines[p.line-1])
}

// load reads and type-checks what can be changed, and lists the places in the order of files.
func load(top, within string) (*program, error) {
	loaded, err := packages.Load(&packages.Config{
		Dir:  top,
		Mode: packages.NeedName | packages.NeedFiles | packages.NeedSyntax | packages.NeedTypes | packages.NeedTypesInfo | packages.NeedImports | packages.NeedExportFile,
	}, folders...)
	if err != nil {
		return nil, err
	}
	p := &program{}
	for _, pkg := range loaded {
		if len(pkg.Errors) > 0 {
			return nil, errors.Join(fmt.Errorf("%s", pkg.PkgPath), pkg.Errors[0])
		}
		if len(pkg.GoFiles) == 0 {
			continue
		}
		folder, err := filepath.Rel(top, filepath.Dir(pkg.GoFiles[0]))
		if err != nil {
			return nil, err
		}
		tests, err := filepath.Glob(filepath.Join(top, folder, "*_test.go"))
		if err != nil {
			return nil, err
		}
		u := &unit{folder: filepath.ToSlash(folder), tested: len(tests) > 0, types: pkg.Types, info: pkg.TypesInfo}
		if len(u.tests()) == 0 || slices.Contains(forTests, u.folder) {
			continue
		}
		var files []*file
		for i, tree := range pkg.Syntax {
			path := pkg.GoFiles[i]
			source, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			files = append(files, &file{name: u.folder + "/" + filepath.Base(path), path: path, source: source, lines: strings.Split(string(source), "\n"), unit: u, base: pkg.Fset.File(tree.Pos()).Base(), imports: importsOf(tree, pkg.TypesInfo)})
		}
		f := &finder{unit: u, set: pkg.Fset, files: files, uses: map[types.Object][]use{}}
		f.find(pkg.Syntax)
		for _, place := range f.places {
			if strings.HasPrefix(place.file.name, within) {
				p.places = append(p.places, place)
			}
		}
	}
	return p, nil
}

// importsOf are the names that a file knows other packages by.
func importsOf(tree *ast.File, info *types.Info) map[string]string {
	names := map[string]string{}
	for _, spec := range tree.Imports {
		if name := info.PkgNameOf(spec); name != nil {
			names[name.Imported().Path()] = name.Name()
		}
	}
	return names
}

// use is a place where a constant is used.
type use struct {
	file  *file
	node  ast.Expr
	outer ast.Expr // the whole of the constant that it is a part of
	fixed bool     // where only a constant may stand
}

// finder goes through a package.
type finder struct {
	unit   *unit
	set    *token.FileSet
	files  []*file
	uses   map[types.Object][]use
	places []*place
	above  []ast.Node // from the file down to the node that is looked at
}

func (f *finder) find(trees []*ast.File) {
	walk := func(visit func(*file, ast.Node) bool) {
		for i, tree := range trees {
			if ast.IsGenerated(tree) {
				continue
			}
			f.above = f.above[:0]
			ast.Inspect(tree, func(node ast.Node) bool {
				if node == nil {
					f.above = f.above[:len(f.above)-1]
					return true
				}
				deeper := visit(f.files[i], node)
				if deeper {
					f.above = append(f.above, node)
				}
				return deeper
			})
		}
	}
	walk(func(file *file, node ast.Node) bool {
		name, ok := node.(*ast.Ident)
		if ok {
			if c, ok := f.unit.info.Uses[name].(*types.Const); ok && c.Pkg() == f.unit.types {
				f.uses[c] = append(f.uses[c], use{file, name, f.outermost(name), f.fixed(node)})
			}
		}
		return true
	})
	walk(f.look)
}

// fixed tells whether only a constant may stand here.
func (f *finder) fixed(node ast.Node) bool {
	below := node
	for i := len(f.above) - 1; i >= 0; i-- {
		switch above := f.above[i].(type) {
		case *ast.GenDecl:
			return above.Tok == token.CONST
		case *ast.ArrayType:
			return above.Len == below
		case *ast.KeyValueExpr:
			if above.Key == below && i > 0 {
				if list, ok := f.above[i-1].(*ast.CompositeLit); ok {
					switch f.unit.info.TypeOf(list).Underlying().(type) {
					case *types.Array, *types.Slice:
						return true
					}
				}
			}
		case *ast.FuncLit, *ast.BlockStmt:
			return false
		}
		below = f.above[i]
	}
	return false
}

// idle tells whether what stands here changes nothing but how much room is kept, is read by
// a person alone, is a number that is returned beside false or an error, which says that it is
// none, or how long somebody waits, which no test measures by a clock.
func (f *finder) idle(node ast.Node) bool {
	for _, above := range append(slices.Clone(f.above), node) {
		if e, ok := above.(ast.Expr); ok && isDuration(f.unit.info.TypeOf(e)) {
			return true
		}
	}
	below := node
	for i := len(f.above) - 1; i >= 0; i-- {
		switch above := f.above[i].(type) {
		case *ast.CallExpr:
			var name string
			switch fun := above.Fun.(type) {
			case *ast.Ident:
				name = fun.Name
			case *ast.SelectorExpr:
				name = fun.Sel.Name
				if from, ok := fun.X.(*ast.Ident); ok {
					name = from.Name + "." + name
				}
			}
			switch {
			case name == "make" && len(above.Args) == 3 && above.Args[2] == below,
				name == "make" && len(above.Args) == 2 && isMapOrChan(f.unit.info.TypeOf(above.Args[0])),
				name == "panic", strings.HasPrefix(name, "strconv."), strings.HasSuffix(name, ".Grow"), strings.HasPrefix(name, "os."):
				return true
			}
		case *ast.ReturnStmt:
			last := above.Results[len(above.Results)-1]
			if name, ok := last.(*ast.Ident); ok && name.Name == "false" {
				return below == node
			}
			return len(above.Results) > 1 && below == node && f.unit.info.TypeOf(last).String() == "error" && !f.unit.info.Types[last].IsNil()
		case *ast.BlockStmt:
			return false
		}
		below = f.above[i]
	}
	return false
}

// sign tells whether a number that stands here says of which of the two infinities is spoken: any of its sign says the same.
func (f *finder) sign() bool {
	above := f.above
	if _, ok := above[len(above)-1].(*ast.UnaryExpr); ok {
		above = above[:len(above)-1]
	}
	call, ok := above[len(above)-1].(*ast.CallExpr)
	if !ok {
		return false
	}
	fun, ok := call.Fun.(*ast.SelectorExpr)
	return ok && (fun.Sel.Name == "Inf" || fun.Sel.Name == "IsInf")
}

func isDuration(t types.Type) bool { return t != nil && t.String() == "time.Duration" }

func isMapOrChan(t types.Type) bool {
	switch t.Underlying().(type) {
	case *types.Map, *types.Chan:
		return true
	}
	return false
}

func (f *finder) add(file *file, at ast.Node, what string, spots ...spot) {
	f.places = append(f.places, &place{file: file, line: f.set.Position(at.Pos()).Line, what: what, spots: spots})
}

func (f *finder) span(file *file, node ast.Node) span {
	return span{file, int(node.Pos()) - file.base, int(node.End()) - file.base}
}

func (f *finder) look(file *file, node ast.Node) bool {
	info := f.unit.info
	switch node := node.(type) {
	case *ast.ImportSpec, *ast.Field:
		return false // a path is no value, and a tag neither
	case *ast.BinaryExpr:
		f.binary(file, node)
	case *ast.UnaryExpr:
		if node.Op == token.SUB && !f.fixed(node) && !f.idle(node) {
			f.add(file, node, "- falls away", f.valued(file, node, func(r *renderer) string { return r.node(file, node.X) }))
		}
	case *ast.IfStmt:
		f.add(file, node, "if becomes if not", spot{f.span(file, node.Cond), truth, nil, func(r *renderer) string { return "!(" + r.node(file, node.Cond) + ")" }})
	case *ast.BasicLit:
		f.literal(file, node)
	case *ast.Ident:
		if parent, ok := f.above[len(f.above)-1].(*ast.ReturnStmt); ok && (node.Name == "true" || node.Name == "false") && slices.Contains(parent.Results, ast.Expr(node)) {
			other := map[string]string{"true": "false", "false": "true"}[node.Name]
			f.add(file, node, node.Name+" becomes "+other, spot{f.span(file, node), truth, nil, func(*renderer) string { return other }})
		}
	case *ast.BranchStmt:
		if node.Tok == token.CONTINUE && node.Label == nil && f.inRange() {
			f.add(file, node, "continue becomes break", spot{f.span(file, node), statement, nil, func(*renderer) string { return "break" }})
		}
	case *ast.ReturnStmt:
		for _, result := range node.Results {
			if t := info.TypeOf(result); t != nil && t.String() == "error" && !info.Types[result].IsNil() {
				f.add(file, result, "an error becomes nil", spot{f.span(file, result), value, t, func(*renderer) string { return "nil" }})
			}
		}
	}
	return true
}

// inRange tells whether a break would end the same loop as a continue.
func (f *finder) inRange() bool {
	for _, above := range slices.Backward(f.above) {
		switch above.(type) {
		case *ast.RangeStmt:
			return true
		case *ast.ForStmt, *ast.SwitchStmt, *ast.TypeSwitchStmt, *ast.SelectStmt, *ast.FuncLit:
			return false
		}
	}
	return false
}

func (f *finder) binary(file *file, node *ast.BinaryExpr) {
	to, ok := swaps[node.Op]
	t := f.unit.info.TypeOf(node)
	if !ok || f.fixed(node) || f.idle(node) {
		return
	}
	write := func(r *renderer) string { return r.node(file, node.X) + " " + to.String() + " " + r.node(file, node.Y) }
	what := fmt.Sprintf("%s becomes %s", node.Op, to)
	if isTruth(t) {
		f.add(file, node, what, spot{f.span(file, node), truth, nil, write})
		return
	}
	if b, ok := t.Underlying().(*types.Basic); !ok || b.Info()&types.IsNumeric == 0 {
		return // strings are not subtracted
	}
	if y := f.unit.info.Types[node.Y].Value; to == token.QUO && y != nil && constant.Sign(constant.ToFloat(y)) == 0 {
		return // no division by a constant 0
	}
	f.add(file, node, what, f.valued(file, node, write))
}

// valued is the spot of an expression with a type. In the midst of a constant it is the
// whole of that, because only the whole has its type.
func (f *finder) valued(file *file, node ast.Expr, write func(r *renderer) string) spot {
	return f.within(file, node, f.outermost(node), write)
}

// outermost is the whole of the constant that an expression is in the midst of.
func (f *finder) outermost(node ast.Expr) ast.Expr {
	outer := node
	if f.unit.info.Types[node].Value != nil {
		for _, above := range slices.Backward(f.above) {
			expr, ok := above.(ast.Expr)
			if !ok || f.unit.info.Types[expr].Value == nil {
				break
			}
			outer = expr
		}
	}
	return outer
}

func (f *finder) within(file *file, node, outer ast.Expr, write func(r *renderer) string) spot {
	if outer == node {
		return spot{f.span(file, node), value, f.unit.info.TypeOf(node), write}
	}
	whole, part := f.span(file, outer), f.span(file, node)
	return spot{whole, value, f.unit.info.TypeOf(outer), func(r *renderer) string {
		return string(file.source[whole.from:part.from]) + write(r) + string(file.source[part.to:whole.to])
	}}
}

func isTruth(t types.Type) bool {
	b, ok := t.Underlying().(*types.Basic)
	return ok && b.Info()&types.IsBoolean != 0
}

// literal changes a number: one more for a count, a quarter more for a measure. One in the
// declaration of a constant is changed wherever the constant is used, if that can be.
func (f *finder) literal(file *file, node *ast.BasicLit) {
	t := f.unit.info.TypeOf(node)
	to, ok := other(node, t)
	if !ok || f.idle(node) || f.sign() {
		return
	}
	what := node.Value + " becomes " + to
	if !f.fixed(node) {
		f.add(file, node, what, f.valued(file, node, func(*renderer) string { return to }))
		return
	}
	for _, above := range slices.Backward(f.above) {
		spec, ok := above.(*ast.ValueSpec)
		if !ok {
			continue
		}
		i := slices.IndexFunc(spec.Values, func(v ast.Expr) bool { return v.Pos() <= node.Pos() && node.End() <= v.End() })
		if i < 0 || i >= len(spec.Names) {
			return
		}
		whole := f.span(file, spec.Values[i])
		lit := f.span(file, node)
		text := string(file.source[whole.from:lit.from]) + to + string(file.source[lit.to:whole.to])
		if strings.Contains(text, "iota") {
			return
		}
		uses := f.uses[f.unit.info.Defs[spec.Names[i]]]
		var spots []spot
		for _, u := range uses {
			if u.fixed {
				return
			}
			spots = append(spots, f.within(u.file, u.node, u.outer, func(*renderer) string { return "(" + text + ")" }))
		}
		if len(spots) > 0 {
			f.add(file, node, what, spots...)
		}
		return
	}
}

// other is another number of the same type.
func other(literal *ast.BasicLit, t types.Type) (string, bool) {
	switch literal.Kind {
	case token.INT:
		if strings.HasPrefix(literal.Value, "0o") {
			return "", false // the mode of a file
		}
		n, err := strconv.ParseInt(literal.Value, 0, 64)
		if err != nil {
			return "", false
		}
		if b, ok := t.Underlying().(*types.Basic); ok && b.Info()&types.IsFloat != 0 && n > 1 {
			return strconv.FormatFloat(float64(n)*1.25, 'f', -1, 64), true
		}
		if n == 255 || n == 65535 || n == 127 {
			return strconv.FormatInt(n-1, 10), true
		}
		return strconv.FormatInt(n+1, 10), true
	case token.FLOAT:
		x, err := strconv.ParseFloat(literal.Value, 64)
		if err != nil || x == 0 {
			return "", false
		}
		return strconv.FormatFloat(x*1.25, 'g', -1, 64), true
	}
	return "", false
}
