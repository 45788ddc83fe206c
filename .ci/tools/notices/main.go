// Command notices writes NOTICE.md: the licences and notices of everything that is
// linked into the program on any of its targets, and of what its folders carry along.
//
//	go run -C .ci/tools ./notices ../..     rewrites NOTICE.md at the top of the checkout
//
// The texts are copied from the modules as the Go module proxy serves them. What is no
// module (the standard library, a table, a schema) stands in own.md beside this file.
package main

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

//go:embed own.md
var own string

// targets are the systems that a release is built for: other files are linked on each.
var targets = []string{"linux", "darwin", "windows"}

// legal are the files of a module that must travel with the program; thirdParty is where
// a module keeps the terms of those whose code it took in turn.
var (
	legal      = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([-._].*)?$`)
	thirdParty = regexp.MustCompile(`(?i)^third.?party.*licen[cs]es?$`)
)

type module struct {
	Path, Version, Dir string
	Main               bool
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "notices:", err)
		os.Exit(1)
	}
}

func run() error {
	if len(os.Args) != 2 {
		return errors.New("name the top of the checkout")
	}
	top := os.Args[1]
	linked := map[string]module{}
	for _, system := range targets {
		if err := add(linked, top, system); err != nil {
			return err
		}
	}
	var out bytes.Buffer
	fmt.Fprint(&out, "<!-- Written by .ci/tools/notices; do not edit. -->\n\n# Notices\n\ncueproof itself: see LICENSE. The program that you were given also holds the work of others, on some or all systems:\n\n")
	for _, name := range slices.Sorted(maps.Keys(linked)) {
		fmt.Fprintf(&out, "- %s %s\n", name, linked[name].Version)
	}
	fmt.Fprintf(&out, "- the Go standard library\n\nTheir terms follow, each as its authors wrote them.\n\n%s", own)
	root, err := exec.Command("go", "env", "GOROOT").Output() // a program built with -trimpath does not know it
	if err != nil {
		return err
	}
	goLicence, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "LICENSE"))
	if err != nil {
		return err
	}
	section(&out, "The Go standard library", "LICENSE", goLicence)
	for _, name := range slices.Sorted(maps.Keys(linked)) {
		if err := texts(&out, linked[name]); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(top, "NOTICE.md"), out.Bytes(), 0o644)
}

// add adds the modules whose packages the program links on a system.
func add(linked map[string]module, top, system string) error {
	list := exec.Command("go", "list", "-deps", "-json=Module", "./cmd/cueproof")
	list.Dir = top
	list.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
	list.Stderr = os.Stderr
	text, err := list.Output()
	if err != nil {
		return fmt.Errorf("go list for %s: %w", system, err)
	}
	for packages := json.NewDecoder(bytes.NewReader(text)); ; {
		var p struct{ Module *module }
		if err := packages.Decode(&p); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
		if p.Module != nil && !p.Module.Main {
			linked[p.Module.Path] = *p.Module
		}
	}
}

// texts writes what a module says of its terms; one that says nothing is an error.
func texts(out *bytes.Buffer, m module) error {
	found, err := folder(out, m, ".", legal.MatchString)
	if err == nil && !found {
		err = fmt.Errorf("%s has no licence file in %s", m.Path, m.Dir)
	}
	return err
}

// folder writes the wanted files of a folder of a module, and says whether there was one.
func folder(out *bytes.Buffer, m module, name string, wanted func(name string) bool) (found bool, err error) {
	entries, err := os.ReadDir(filepath.Join(m.Dir, name))
	if err != nil {
		return false, err
	}
	for _, entry := range entries {
		inside := path.Join(name, entry.Name())
		switch {
		case entry.IsDir() && thirdParty.MatchString(entry.Name()):
			if _, err := folder(out, m, inside, func(string) bool { return true }); err != nil {
				return false, err
			}
		case !entry.IsDir() && wanted(entry.Name()):
			text, err := os.ReadFile(filepath.Join(m.Dir, inside))
			if err != nil {
				return false, err
			}
			section(out, m.Path, inside, text)
			found = true
		}
	}
	return found, nil
}

func section(out *bytes.Buffer, of, file string, text []byte) {
	fmt.Fprintf(out, "\n## %s: %s\n\n", of, file)
	for line := range strings.Lines(strings.ReplaceAll(strings.TrimRight(string(text), "\r\n\t ")+"\n", "\r\n", "\n")) {
		if line = strings.TrimRight(line, " \t\n"); line != "" {
			out.WriteString("    " + line)
		}
		out.WriteByte('\n')
	}
}
