package main

import (
	"fmt"
	"go/ast"
	"go/types"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// renderer writes files with the changes behind their switches.
type renderer struct {
	spots map[span]chosen
	units map[*unit]*companion
}

type chosen struct {
	spot
	number int
}

// companion is what a package with changes needs beside its files: the switch, and names
// for the types of its changes.
type companion struct {
	imports map[string]string // path to name
	types   []string
}

// write puts the changed files and an overlay that names them into a folder, and says which
// file stands for which.
func write(places []*place, scratch string) (overlay string, stands map[string]string, err error) {
	r := &renderer{spots: map[span]chosen{}, units: map[*unit]*companion{}}
	files := map[*file]bool{}
	for _, place := range places {
		for _, s := range place.spots {
			r.spots[s.span] = chosen{s, place.number}
			files[s.file] = true
			if r.units[s.file.unit] == nil {
				r.units[s.file.unit] = &companion{imports: map[string]string{}}
			}
		}
	}
	replace := map[string]string{}
	put := func(stands, text string) {
		to := filepath.Join(scratch, fmt.Sprintf("%d.go", len(replace)))
		replace[stands] = to
		if err == nil {
			err = os.WriteFile(to, []byte(text), 0o600)
		}
	}
	folders := map[*unit]string{}
	for f := range files {
		put(f.path, r.part(f, 0, len(f.source), span{}))
		folders[f.unit] = filepath.Dir(f.path)
	}
	for u, folder := range folders { // once all types have their names
		put(filepath.Join(folder, "zz_mutant.go"), r.units[u].text(u))
	}
	if err != nil {
		return "", nil, err
	}
	text, err := overlayOf(replace)
	if err != nil {
		return "", nil, err
	}
	overlay = filepath.Join(scratch, "overlay.json")
	return overlay, replace, os.WriteFile(overlay, text, 0o600)
}

// text is the file that is added to a package with changes.
func (c *companion) text(u *unit) string {
	var b strings.Builder
	fmt.Fprintf(&b, "package %s\n\nimport (\n\tmutantOS \"os\"\n\tmutantConv \"strconv\"\n\tmutantSync \"sync\"\n", u.types.Name())
	for _, path := range slices.Sorted(maps.Keys(c.imports)) {
		fmt.Fprintf(&b, "\t%s %q\n", c.imports[path], path)
	}
	b.WriteString(")\n" + switchText)
	for _, t := range c.types {
		b.WriteString(t + "\n")
	}
	return b.String()
}

const switchText = `
var mutantActive, mutantMarks = func() (int, string) {
	n, _ := mutantConv.Atoi(mutantOS.Getenv("CUEPROOF_MUTANT"))
	marks := mutantOS.Getenv("CUEPROOF_MUTANTS_REACHED")
	if marks != "" {
		n = -1
	}
	return n, marks
}()

var mutantSeen mutantSync.Map

func mutantOn(n int) bool {
	if mutantActive < 0 {
		mutantMark(n)
	}
	return mutantActive == n
}

func mutantMark(n int) {
	if _, seen := mutantSeen.LoadOrStore(n, true); seen {
		return
	}
	f, err := mutantOS.OpenFile(mutantMarks, mutantOS.O_APPEND|mutantOS.O_CREATE|mutantOS.O_WRONLY, 0o600)
	if err != nil {
		panic(err)
	}
	_, _ = f.WriteString(mutantConv.Itoa(n) + "\n")
	_ = f.Close()
}
`

// node is the text of a node with the changes in it.
func (r *renderer) node(f *file, node ast.Node) string {
	s := span{f, int(node.Pos()) - f.base, int(node.End()) - f.base}
	return r.part(f, s.from, s.to, s)
}

// part is a part of a file with the changes in it. The change of the whole, if there is
// one, is left out when it is without: it is what is being written.
func (r *renderer) part(f *file, from, to int, without span) string {
	var inside []span
	for s := range r.spots {
		if s.file == f && s != without && from <= s.from && s.to <= to {
			inside = append(inside, s)
		}
	}
	slices.SortFunc(inside, func(a, b span) int {
		if a.from != b.from {
			return a.from - b.from
		}
		return b.to - a.to // the outer first
	})
	var b strings.Builder
	at := from
	for _, s := range inside {
		if s.from < at {
			continue // within the one before
		}
		b.Write(f.source[at:s.from])
		b.WriteString(r.switched(s))
		at = s.to
	}
	b.Write(f.source[at:to])
	return b.String()
}

// switched is a spot behind its switch.
func (r *renderer) switched(s span) string {
	c := r.spots[s]
	was, is := r.part(s.file, s.from, s.to, s), c.write(r)
	switch c.kind {
	case truth:
		return fmt.Sprintf("(mutantOn(%d) && (%s) || !mutantOn(%d) && (%s))", c.number, is, c.number, was)
	case statement:
		return fmt.Sprintf("if mutantOn(%d) { %s }; %s", c.number, is, was)
	default:
		return fmt.Sprintf("func() %s { if mutantOn(%d) { return %s }; return %s }()", r.typeName(s.file, c.typ), c.number, is, was)
	}
}

// typeName is how a type is written in a file. One that the file could not name for want
// of an import gets a name in the companion.
func (r *renderer) typeName(f *file, t types.Type) string {
	if b, ok := t.(*types.Basic); ok {
		return types.Default(b).String()
	}
	foreign := false
	name := types.TypeString(t, func(pkg *types.Package) string {
		if pkg == f.unit.types {
			return ""
		}
		if name, ok := f.imports[pkg.Path()]; ok {
			return name
		}
		foreign = true
		return ""
	})
	if !foreign {
		return name
	}
	c := r.units[f.unit]
	written := types.TypeString(t, func(pkg *types.Package) string {
		if pkg == f.unit.types {
			return ""
		}
		if c.imports[pkg.Path()] == "" {
			c.imports[pkg.Path()] = fmt.Sprintf("mutantPackage%d", len(c.imports))
		}
		return c.imports[pkg.Path()]
	})
	alias := fmt.Sprintf("mutantType%d", len(c.types))
	c.types = append(c.types, "type "+alias+" = "+written)
	return alias
}
