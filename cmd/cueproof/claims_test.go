package main

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

var manuals = []string{"README.md", "DEVELOPERS.md"}

func manual(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestCommandsInTheManualsExist: each "cueproof ..." of a manual is a command of ours, with
// options that it has.
func TestCommandsInTheManualsExist(t *testing.T) {
	root := newRoot()
	for _, name := range manuals {
		lines := regexp.MustCompile("(?m)(?:^|`|\\$ )cueproof ([a-z][^`#\n]*)").FindAllStringSubmatch(manual(t, name), -1)
		if len(lines) == 0 {
			t.Errorf("%s names no command", name)
		}
		for _, line := range lines {
			words := strings.Fields(line[1])
			command, _, err := root.Find(words)
			if err != nil || !command.HasParent() {
				t.Errorf("%s: there is no command for %q", name, line[0])
				continue
			}
			for _, word := range words {
				option, is := strings.CutPrefix(word, "--")
				option, _, _ = strings.Cut(strings.TrimRight(option, ",.;:)"), "=")
				if is && command.Flags().Lookup(option) == nil {
					t.Errorf("%s: %s has no option --%s", name, command.CommandPath(), option)
				}
			}
		}
	}
}

// TestExitCodesAreToldAsTheyAre: the README lists those that there are.
func TestExitCodesAreToldAsTheyAre(t *testing.T) {
	var told []string
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+) \| [a-z]`).FindAllStringSubmatch(manual(t, "README.md"), -1) {
		told = append(told, row[1])
	}
	var codes []string
	for _, code := range []int{exitClean, exitFindings, exitMisuse, exitShow, exitNothing, exitFault} {
		codes = append(codes, strconv.Itoa(code))
	}
	if !slices.Equal(told, codes) {
		t.Errorf("README.md tells of %v, and there are %v", told, codes)
	}
}

// exitCodes are those that the help of each command tells, by the words of the command.
func exitCodes() map[string][]string {
	codes := map[string][]string{}
	var each func(command *cobra.Command)
	each = func(command *cobra.Command) {
		for _, below := range command.Commands() {
			each(below)
		}
		if !command.Runnable() || !command.HasParent() || command.Name() == "help" {
			return
		}
		_, name, _ := strings.Cut(command.CommandPath(), " ")
		codes[name] = nil
		_, said, _ := strings.Cut(command.Long+command.Example, "Exit codes:")
		for _, found := range regexp.MustCompile(`(?m)(?:^  |, |^ )(\d+) `).FindAllStringSubmatch(said, -1) {
			codes[name] = append(codes[name], found[1])
		}
	}
	each(newRoot())
	return codes
}

// TestHelpTellsExitCodes: of each command, none that there is not, and those of misuse and
// of our own faults always.
func TestHelpTellsExitCodes(t *testing.T) {
	known := []string{"0", "1", "2", "3", "4", "70"}
	for name, told := range exitCodes() {
		for _, code := range told {
			if !slices.Contains(known, code) {
				t.Errorf("%s tells of the exit code %s", name, code)
			}
		}
		if len(told) < 3 || !slices.Contains(told, "2") || !slices.Contains(told, "70") {
			t.Errorf("%s tells of the exit codes %v only", name, told)
		}
		command, _, err := newRoot().Find(strings.Fields(name))
		if err != nil || command.Example == "" {
			t.Errorf("%s has no example (%v)", name, err)
		}
	}
}

// TestFilesInTheManualsExist: what a manual links to, and each path of ours in backquotes,
// is there.
func TestFilesInTheManualsExist(t *testing.T) {
	path := regexp.MustCompile("(?:\\]\\(|`)((?:internal|cmd|loaders|rules|schema|testdata|\\.ci|\\.github)/[A-Za-z0-9_./-]+|[A-Za-z]+\\.md|\\.golangci\\.yml|action\\.yml)(?:\\)|`)")
	for _, name := range manuals {
		for _, found := range path.FindAllStringSubmatch(manual(t, name), -1) {
			if strings.Contains(found[1], "PACK") || strings.Contains(found[1], "/X") || found[1] == "explain.md" || found[1] == "ABOUT.md" {
				continue
			}
			if _, err := os.Stat(filepath.Join("..", "..", filepath.FromSlash(found[1]))); err != nil {
				t.Errorf("%s names %s, which is not there", name, found[1])
			}
		}
	}
}

// TestNamesInTheManualsExist: each test, benchmark and name of a package that a manual puts
// in backquotes stands in the code.
func TestNamesInTheManualsExist(t *testing.T) {
	var code strings.Builder
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || filepath.Ext(path) != ".go" {
			return err
		}
		data, err := os.ReadFile(path)
		code.Write(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	declared := map[string]bool{} // functions, methods, types, variables, constants and fields
	for _, found := range regexp.MustCompile(`(?m)(?:^func (?:\([^)]*\) )?|^(?:type|var|const) |^\t)(\w+)`).FindAllStringSubmatch(code.String(), -1) {
		declared[found[1]] = true
	}
	for _, name := range manuals {
		for _, found := range regexp.MustCompile("`([a-z]+\\.[A-Z]\\w+(?:\\.[A-Z]\\w+)*|(?:Test|Benchmark|Fuzz)[A-Z]\\w+)`").FindAllStringSubmatch(manual(t, name), -1) {
			parts := strings.Split(found[1], ".")
			if !declared[parts[len(parts)-1]] {
				t.Errorf("%s names %s, which is not in the code", name, found[1])
			}
		}
	}
}

// TestDependenciesAreToldAsTheyAre: each module that is required directly has its line in
// DEVELOPERS.md, and those that only tests need are not linked.
func TestDependenciesAreToldAsTheyAre(t *testing.T) {
	list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}}{{end}}", "./cmd/cueproof")
	list.Dir = filepath.Join("..", "..")
	out, err := list.Output()
	if err != nil {
		t.Skipf("go list is not to be had: %v", err)
	}
	linked := strings.Fields(string(out))
	_, told, ok := strings.Cut(manual(t, "DEVELOPERS.md"), "\n## Dependencies\n")
	if !ok {
		t.Fatal("DEVELOPERS.md has no part on dependencies")
	}
	told, _, _ = strings.Cut(told, "\n## ")
	for _, line := range regexp.MustCompile(`(?m)^\t(\S+) v\S+$`).FindAllStringSubmatch(manual(t, "go.mod"), -1) {
		module := line[1]
		short := strings.TrimSuffix(strings.TrimPrefix(module, "github.com/"), "/v5")
		row := regexp.MustCompile("(?m)^- .*`" + regexp.QuoteMeta(short) + "(/v[0-9]+)?`.*$").FindString(told)
		if row == "" {
			t.Errorf("DEVELOPERS.md says nothing of %s", module)
		} else if isLinked := slices.Contains(linked, module); isLinked == strings.Contains(row, "(tests only)") {
			t.Errorf("%s: it is linked: %v, and DEVELOPERS.md says: %s", module, isLinked, row)
		}
	}
}

// TestNothingCallsTheNetwork: what is linked can read and write files and standard streams;
// whoever listens on loopback is named here. Nothing of it is for tests.
func TestNothingCallsTheNetwork(t *testing.T) {
	list := exec.Command("go", "list", "-deps", "-f", "{{.ImportPath}} {{join .Imports \" \"}}", "./cmd/cueproof")
	list.Dir = filepath.Join("..", "..")
	out, err := list.Output()
	if err != nil {
		t.Skipf("go list is not to be had: %v", err)
	}
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		if words[0] == "testing" {
			t.Error("what only tests need is linked")
		}
		if strings.HasPrefix(words[0], ours) && words[0] != ours+"internal/booth" && slices.ContainsFunc(words[1:], func(w string) bool { return w == "net" || w == "net/http" || w == "os/exec" }) {
			t.Errorf("%s imports the network or starts programs", words[0])
		}
	}
}

// TestScriptsProveExitCodes: each exit code that the help of a command tells is one that a
// script meets; our own fault is met once, since all commands end in one place.
func TestScriptsProveExitCodes(t *testing.T) {
	scripts, err := filepath.Glob("testdata/script/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatal(err, len(scripts))
	}
	met := map[string]bool{"booth 0": true} // by TestBoothEndsByCtrlC
	for _, name := range scripts {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range regexp.MustCompile(`(?m)^(?:\[[^]]+\] )*(?:exits|process) (\d+) (\w+)(?: (new|test))?\b`).FindAllStringSubmatch(string(data), -1) {
			met[line[2]+" "+line[1]] = true
			met[line[2]+" "+line[3]+" "+line[1]] = true
		}
		if strings.Contains(string(data), "-eq 70") {
			met["70"] = true
		}
	}
	for name, codes := range exitCodes() {
		for _, code := range codes {
			if !met[name+" "+code] && (code != "70" || !met["70"]) {
				t.Errorf("no script has %s end with %s", name, code)
			}
		}
	}
}
