package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// ran runs the program in this process.
func ran(args ...string) (stdout, stderr string, code int) {
	var out, complaints bytes.Buffer
	code = run(args, strings.NewReader(""), &out, &complaints)
	return out.String(), complaints.String(), code
}

// TestNothingLeavesTheMachine looks at all that is linked into the program: nothing but the
// page of the booth has the network or another program at hand, of libraries too.
func TestNothingLeavesTheMachine(t *testing.T) {
	list, err := exec.Command("go", "list", "-deps", "-f", `{{if not .Standard}}{{.ImportPath}} {{join .Imports " "}}{{end}}`, ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(list), "github.com/cueproof/cueproof/internal/lint ") {
		t.Fatal("the list does not even have our own packages")
	}
	for line := range strings.Lines(string(list)) {
		words := strings.Fields(line)
		if len(words) == 0 || words[0] == "github.com/cueproof/cueproof/internal/booth" {
			continue
		}
		for _, name := range []string{"net/http", "net/rpc", "net/smtp", "crypto/tls", "os/exec", "plugin", "testing"} {
			if slices.Contains(words[1:], name) {
				t.Errorf("%s imports %s", words[0], name)
			}
		}
	}
}

// TestTablesAndJSONSayTheSame holds a show in JSON against the same one as tables.
func TestTablesAndJSONSayTheSame(t *testing.T) {
	for _, name := range []string{"flawed", "mended"} {
		t.Run(name, func(t *testing.T) {
			objects, tables := findingsOf(t, "../../testdata/shows/"+name), findingsOf(t, "../../testdata/shows/"+name+"-csv")
			if name == "flawed" && len(objects) < 10 {
				t.Errorf("only %d findings in the flawed show", len(objects))
			}
			if diff := cmp.Diff(objects, tables); diff != "" {
				t.Errorf("JSON (-) and tables (+) differ:\n%s", diff)
			}
		})
	}
}

// findingsOf returns fingerprint, rule and message of all findings, in order of fingerprint.
func findingsOf(t *testing.T, path string) []string {
	t.Helper()
	stdout, stderr, code := ran("check", "--format", "json", path)
	if code > exitFindings || stderr != "" {
		t.Fatalf("%s: exit code %d, %s", path, code, stderr)
	}
	var r struct {
		Shows []struct {
			Findings []struct{ Fingerprint, Rule, Message string }
		}
	}
	if err := json.Unmarshal([]byte(stdout), &r); err != nil || len(r.Shows) != 1 {
		t.Fatalf("standard output is not one report: %v", err)
	}
	var list []string
	for _, f := range r.Shows[0].Findings {
		list = append(list, f.Fingerprint+" "+f.Rule+" "+f.Message)
	}
	slices.Sort(list)
	return list
}

// TestTheExcerptIsReal holds what README.md shows, a report and a picture, against what
// the program says and draws, but for the receipt, which every change of a rule makes
// another. With CUEPROOF_UPDATE=1 both are written anew.
func TestTheExcerptIsReal(t *testing.T) {
	const file, opening, closing, picture = "../../README.md", "```text\n", "\n```\n", "testdata/evening.svg"
	readme, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, opened := strings.Cut(string(readme), opening)
	_, after, closed := strings.Cut("\n"+rest, closing)
	if !opened || !closed {
		t.Fatal("README.md has no excerpt")
	}
	t.Chdir("../..") // the reader stands at the top of the repository
	report, _, _ := ran("check", "testdata/shows/flawed")
	report, _, _ = strings.Cut(report, " Receipt ")
	got := before + opening + strings.TrimSpace(report) + closing + after
	drawn, complaint, code := ran("picture", "evening", "--width", "800", "testdata/shows/flawed")
	if code != 0 || !strings.Contains(got, "]("+picture+")") {
		t.Errorf("exit code %d: %s", code, complaint)
	}
	if os.Getenv("CUEPROOF_UPDATE") == "1" {
		if err := errors.Join(os.WriteFile("README.md", []byte(got), 0o644), os.WriteFile(picture, []byte(drawn), 0o644)); err != nil {
			t.Fatal(err)
		}
		return
	}
	if shown, err := os.ReadFile(picture); err != nil || string(shown) != drawn {
		t.Errorf("%s is not what the program draws; run again with CUEPROOF_UPDATE=1 (%v)", picture, err)
	}
	if diff := cmp.Diff(strings.Split(string(readme), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("README.md does not show what the program says; run again with CUEPROOF_UPDATE=1:\n%s", diff)
	}
}

// full is a standard output that takes nothing.
type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

// TestFullOutputIsNoSuccess runs each command that prints.
func TestFullOutputIsNoSuccess(t *testing.T) {
	for _, args := range [][]string{
		{"check", "../../testdata/shows/mended"}, {"check", "--format", "annotations", smallShow(t, 1)},
		{"compare", "../../testdata/shows/mended", "../../testdata/shows/mended"}, {"measure", "../../testdata/shows/mended"}, {"explain", "white/key-mix"},
		{"rules"}, {"house", "../../testdata/house/evening"}, {"rules", "test", "../../testdata/house/house-rules"}, {"schema"}, {"schema", "cues"}, {"version"}, {"version", "--json"}, {"completion", "bash"},
		{"--help"}, {"check", "--help"}, {"help", "rules"}, {"--version"},
	} {
		var complaints bytes.Buffer
		if code := run(args, strings.NewReader(""), full{}, &complaints); code != exitFault || !strings.Contains(complaints.String(), "standard output") {
			t.Errorf("%v ended with %d and said %q", args, code, complaints.String())
		}
	}
}

// endedPipe is a standard output whose reader has ended.
type endedPipe struct{ err error }

func (p endedPipe) Write([]byte) (int, error) {
	return 0, &fs.PathError{Op: "write", Path: "/dev/stdout", Err: p.err}
}

func TestTheEndOfWhoReadsIsNoFault(t *testing.T) {
	for _, end := range pipeEnds {
		for _, args := range [][]string{{"check", "../../testdata/shows/mended"}, {"rules"}, {"schema", "cues"}, {"version", "--json"}, {"--help"}, {"--version"}} {
			var complaints bytes.Buffer
			if code := run(args, strings.NewReader(""), endedPipe{end}, &complaints); code != exitUnread || complaints.Len() > 0 {
				t.Errorf("%v with %v ended with %d and said %q", args, end, code, complaints.String())
			}
		}
	}
}

func TestAPanicIsOurOwnFault(t *testing.T) {
	var complaints bytes.Buffer
	code := run([]string{"measure", "-"}, panicking{}, io.Discard, &complaints)
	if code != exitFault || !strings.Contains(complaints.String(), "our own fault") {
		t.Errorf("exit code %d: %s", code, complaints.String())
	}
}

type panicking struct{}

func (panicking) Read([]byte) (int, error) { panic("a fault for a test") }

func TestOnlyTheFirstLineOfAComplaintStandsAtTheMargin(t *testing.T) {
	var complaints bytes.Buffer
	complain(&complaints, "one\x1b[31m\n\ncueproof: two\r\n\tthree")
	if want := "cueproof: one\\x1b[31m\n  \n  cueproof: two\\x0d\n  three\n"; complaints.String() != want {
		t.Errorf("%q, want %q", complaints.String(), want)
	}
}
