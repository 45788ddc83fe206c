package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// starters start goroutines: cores brings a panic back from each, and the other waits for
// a signal and does nothing else.
var starters = []string{"internal/cores/cores.go", "internal/outfile/part.go"}

// TestGoroutinesHaveOneHome: a panic in a goroutine ends the program before anybody could
// say whose fault it was and end with 70, so only one package starts them for work.
func TestGoroutinesHaveOneHome(t *testing.T) {
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && entry.Name() == ".ci" {
			return fs.SkipDir // what stands there is no part of the program
		}
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		name, _ := filepath.Rel(root, path)
		if name = filepath.ToSlash(name); slices.Contains(starters, name) {
			return nil
		}
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				t.Errorf("%s starts a goroutine; use internal/cores", files.Position(n.Pos()))
			case *ast.SelectorExpr:
				if of, ok := n.X.(*ast.Ident); ok && (of.Name == "sync" && n.Sel.Name == "WaitGroup" || of.Name == "errgroup") {
					t.Errorf("%s waits for goroutines; use internal/cores", files.Position(n.Pos()))
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
