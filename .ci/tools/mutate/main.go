// Command mutate asks whether the tests would notice: it changes one place of the
// program at a time (a comparison, a sum, a constant, a condition), runs the tests of
// that package and then the cases of the rules, and lists what nobody noticed.
//
//	go run -C .ci/tools ./mutate -top ../.. -seed 7 -n 30
//
// Which places, and in which order, follows from the seed alone. A change that does not
// compile counts for nothing and another takes its place, nor does one in a package whose
// tests take over ten seconds; tests that take five times as
// long as without the change have noticed. Files are changed by an overlay: nothing in the checkout is written.
// What survives for a stated reason stands in argued.txt beside this file.
package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// argued are survivors that change nothing that anybody could notice, with the reason.
//
//go:embed argued.txt
var argued string

// folders hold what computes and judges. What only prints is held by golden files.
var folders = []string{"internal", "loaders", "rules", "schema"}

// casesOf are the tests that hold the rules as a whole.
const casesOf = "./internal/cases"

// slowest is how long the tests of a package may take for its places to be tried: what
// takes longer holds the rest together, and has no place in a run of minutes.
const slowest = 10 * time.Second

// swaps are the operators that take each other's place.
var swaps = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR, token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// place is where a file can be changed: the n-th node that can be.
type place struct {
	file string
	n    int
}

// mutant is a changed file and what was done to it.
type mutant struct {
	line   int
	what   string
	source []byte
}

func main() {
	top := flag.String("top", ".", "the top of the checkout")
	seed := flag.Uint64("seed", 1, "which places, in which order")
	count := flag.Int("n", 30, "how many changes to try")
	within := flag.String("in", "", "only files whose path begins so, such as internal/stage")
	least := flag.Float64("least", 0, "exit with 1 when a smaller share is noticed, in percent")
	flag.Parse()
	if err := run(*top, *seed, *count, *within, *least); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func run(top string, seed uint64, count int, within string, least float64) error {
	places, err := all(top, within)
	if err != nil {
		return err
	}
	// One place of each file in turn would favour small files; every place counts alike.
	rand.New(rand.NewPCG(seed, 0)).Shuffle(len(places), func(i, j int) { places[i], places[j] = places[j], places[i] })
	usual := map[string]time.Duration{}
	tried, killed, excused := 0, 0, 0
	for _, p := range places {
		if tried == count {
			break
		}
		m, err := mutate(filepath.Join(top, p.file), p.n)
		if err != nil {
			return err
		}
		verdict, err := test(top, p.file, m.source, usual)
		if err != nil {
			return err
		}
		if verdict == "does not compile" || verdict == "takes too long" {
			continue
		}
		tried++
		name := fmt.Sprintf("%s:%d: %s", filepath.ToSlash(p.file), m.line, m.what)
		switch reason := reasonFor(filepath.ToSlash(p.file), m.what); {
		case verdict != "":
			killed++
			fmt.Printf("%3d noticed by %s  %s\n", tried, verdict, name)
		case reason != "":
			excused++
			fmt.Printf("%3d argued  %s (%s)\n", tried, name, reason)
		default:
			fmt.Printf("%3d SURVIVED  %s\n", tried, name)
		}
	}
	if tried == 0 {
		return errors.New("there was nothing to change")
	}
	share := 100 * float64(killed+excused) / float64(tried)
	fmt.Printf("%d changes of %d places, seed %d: %d noticed, %d argued, %d survived (%.0f %%)\n", tried, len(places), seed, killed, excused, tried-killed-excused, share)
	if share < least {
		return fmt.Errorf("less than %g %%", least)
	}
	return nil
}

// all lists the places of the program that can be changed, in the order of their names.
func all(top, within string) ([]place, error) {
	var places []place
	for _, folder := range folders {
		err := filepath.WalkDir(filepath.Join(top, folder), func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			file, err := filepath.Rel(top, path)
			if err != nil || !strings.HasPrefix(filepath.ToSlash(file), within) || !hasTests(filepath.Dir(path)) {
				return err
			}
			tree, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			for n := range changeable(tree) {
				places = append(places, place{file, n})
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return places, nil
}

func hasTests(dir string) bool {
	tests, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
	return err == nil && len(tests) > 0
}

// change is a node that can be changed, and what changes it and says how.
type change struct {
	node ast.Node
	make func() string
}

// changeable are the changes that a file can take.
func changeable(file *ast.File) []change {
	var list []change
	add := func(node ast.Node, make func() string) { list = append(list, change{node, make}) }
	ast.Inspect(file, func(node ast.Node) bool {
		switch node := node.(type) {
		case *ast.ImportSpec, *ast.Field:
			return false // a path is no value, and a tag neither
		case *ast.BinaryExpr:
			if to, ok := swaps[node.Op]; ok {
				add(node, func() string {
					from := node.Op
					node.Op = to
					return fmt.Sprintf("%s becomes %s", from, to)
				})
			}
		case *ast.IfStmt:
			add(node, func() string {
				node.Cond = &ast.UnaryExpr{Op: token.NOT, X: &ast.ParenExpr{X: node.Cond}}
				return "if becomes if not"
			})
		case *ast.BasicLit:
			if to, ok := other(node); ok {
				add(node, func() string {
					from := node.Value
					node.Value = to
					return from + " becomes " + to
				})
			}
		case *ast.BranchStmt:
			if node.Tok == token.CONTINUE && node.Label == nil {
				add(node, func() string {
					node.Tok = token.BREAK
					return "continue becomes break"
				})
			}
		}
		return true
	})
	return list
}

// other is another number: one more for a count, a quarter more for a measure.
func other(literal *ast.BasicLit) (string, bool) {
	switch literal.Kind {
	case token.INT:
		n, err := strconv.ParseInt(literal.Value, 0, 64)
		if err != nil {
			return "", false
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

// mutate makes the n-th change of a file.
func mutate(path string, n int) (mutant, error) {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, path, nil, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return mutant{}, err
	}
	chosen := changeable(tree)[n]
	m := mutant{line: set.Position(chosen.node.Pos()).Line, what: chosen.make()}
	var out bytes.Buffer
	if err := format.Node(&out, set, tree); err != nil {
		return mutant{}, err
	}
	m.source = out.Bytes()
	return m, nil
}

// test runs the tests with one file changed and says who noticed: nobody is "". What the
// tests of a package usually take is kept for the next change.
func test(top, file string, source []byte, usual map[string]time.Duration) (string, error) {
	dir, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return "", err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	absolute, err := filepath.Abs(filepath.Join(top, file))
	if err != nil {
		return "", err
	}
	changed, overlay := filepath.Join(dir, "changed.go"), filepath.Join(dir, "overlay.json")
	text, err := json.Marshal(map[string]any{"Replace": map[string]string{absolute: changed}})
	if err != nil {
		return "", err
	}
	if err := errors.Join(os.WriteFile(changed, source, 0o600), os.WriteFile(overlay, text, 0o600)); err != nil {
		return "", err
	}
	own := "./" + filepath.ToSlash(filepath.Dir(file))
	if compiles, _ := command(top, time.Hour, "build", "-overlay", overlay, own); !compiles {
		return "does not compile", nil
	}
	for _, tests := range slices.Compact([]string{own, casesOf}) {
		if usual[tests] == 0 {
			begun := time.Now()
			if passed, _ := command(top, time.Hour, "test", "-short", "-count=1", "-vet=off", tests); !passed {
				return "", fmt.Errorf("the tests of %s fail without a change", tests)
			}
			usual[tests] = time.Since(begun)
		}
		if tests == own && usual[own] > slowest {
			return "takes too long", nil
		}
		limit := max(20*time.Second, 5*usual[tests])
		if passed, late := command(top, limit, "test", "-short", "-failfast", "-vet=off", "-overlay", overlay, tests); late {
			return "the clock", nil
		} else if !passed {
			return tests, nil
		}
	}
	return "", nil
}

func command(top string, most time.Duration, words ...string) (passed, late bool) {
	ctx, cancel := context.WithTimeout(context.Background(), most)
	defer cancel()
	c := exec.CommandContext(ctx, "go", words...)
	c.Dir = top
	c.WaitDelay = time.Second
	err := c.Run()
	return err == nil, ctx.Err() != nil
}

// reasonFor is why a survivor may live: a line of argued.txt with its file, what is done
// and the reason, apart by tabs.
func reasonFor(file, what string) string {
	for line := range strings.Lines(argued) {
		words := strings.SplitN(strings.TrimSpace(line), "\t", 3)
		if len(words) == 3 && words[0] == file && words[1] == what {
			return words[2]
		}
	}
	return ""
}
