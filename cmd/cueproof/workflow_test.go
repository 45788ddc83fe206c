package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
)

// step is a step of an action or of a job.
type step struct {
	ID, Name, Uses, Shell, Run string
	Env, With                  map[string]string
}

type actionFile struct {
	Inputs map[string]struct {
		Required bool
		Default  *string
	}
	Outputs map[string]struct{ Value string }
	Runs    struct {
		Using string
		Steps []step
	}
}

func readYAML(t *testing.T, name string, into any) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := yaml.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// runner is a machine that runs steps, in a folder that no version control knows.
type runner struct {
	t                       *testing.T
	folder, temp            string
	output, summary, stdout string
}

func newRunner(t *testing.T) *runner {
	if _, err := exec.LookPath("bash"); err != nil {
		t.Skip("there is no bash here")
	}
	return &runner{t: t, folder: t.TempDir(), temp: t.TempDir()}
}

// run runs the script of a step as the host does, and returns its exit code.
func (r *runner) run(s step, env map[string]string) int {
	r.t.Helper()
	if strings.Contains(s.Run, "${{") {
		r.t.Fatalf("the step %q puts what comes from outside into its script", s.Name)
	}
	if s.Shell != "bash" {
		r.t.Fatalf("the step %q has the shell %q", s.Name, s.Shell)
	}
	output, summary, script := filepath.Join(r.temp, "output"), filepath.Join(r.temp, "summary"), filepath.Join(r.temp, "script.sh")
	for _, name := range []string{output, summary} {
		if err := os.WriteFile(name, nil, 0o666); err != nil {
			r.t.Fatal(err)
		}
	}
	if err := os.WriteFile(script, []byte(s.Run), 0o666); err != nil {
		r.t.Fatal(err)
	}
	command := exec.Command("bash", "--noprofile", "--norc", "-eo", "pipefail", script)
	command.Dir = r.folder
	command.Env = append(os.Environ(), "RUNNER_TEMP="+r.temp, "GITHUB_OUTPUT="+output, "GITHUB_STEP_SUMMARY="+summary, "SOURCE_DATE_EPOCH=1772928000")
	for name := range s.Env {
		if _, given := env[name]; !given {
			r.t.Fatalf("the step %q wants %s", s.Name, name)
		}
	}
	for name, value := range env {
		command.Env = append(command.Env, name+"="+value)
	}
	text, err := command.CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		r.t.Fatal(err)
	}
	r.stdout = string(text)
	r.output, r.summary = readText(r.t, output), readText(r.t, summary)
	return command.ProcessState.ExitCode()
}

func readText(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// copyShow puts a demo show into the folder of the runner.
func (r *runner) copyShow(name, to string) {
	r.t.Helper()
	if err := os.CopyFS(filepath.Join(r.folder, to), os.DirFS("../../testdata/shows/"+name)); err != nil {
		r.t.Fatal(err)
	}
}

func (r *runner) write(name, text string) {
	r.t.Helper()
	if err := os.WriteFile(filepath.Join(r.folder, name), []byte(text), 0o666); err != nil {
		r.t.Fatal(err)
	}
}

func TestActionRuns(t *testing.T) {
	if testing.Short() {
		t.Skip("it builds the program and checks shows with it many times")
	}
	var action actionFile
	readYAML(t, "../../action.yml", &action)
	if action.Runs.Using != "composite" {
		t.Fatalf("the action runs %q", action.Runs.Using)
	}
	var scripts []step
	for _, s := range action.Runs.Steps {
		if s.Run != "" {
			scripts = append(scripts, s)
		}
	}
	if len(scripts) != 2 {
		t.Fatalf("%d scripts, want the build and the check", len(scripts))
	}
	r := newRunner(t)
	if long() {
		source, err := filepath.Abs("../..")
		if err != nil {
			t.Fatal(err)
		}
		if code := r.run(scripts[0], map[string]string{"SOURCE": source}); code != 0 {
			t.Fatalf("the build ended with %d:\n%s", code, r.stdout)
		}
	} else { // what was built for the tests does instead
		built, err := exec.LookPath("cueproof")
		folder := filepath.Join(r.temp, "cueproof")
		if err = errors.Join(err, os.Mkdir(folder, 0o777), os.Symlink(built, filepath.Join(folder, "cueproof"))); err != nil {
			t.Fatal(err)
		}
	}
	flawed := "show; echo $(pwned)" // a name that would do harm in a script
	r.copyShow("flawed", flawed)
	check := func(show, base string) int {
		return r.run(scripts[1], map[string]string{"SHOW": show, "BASE": base, "FAIL_LEVEL": "error", "COMPLETE": "false", "HOUSE": "", "SARIF": "out.sarif"})
	}

	if code := check(flawed, ""); code != exitFindings {
		t.Fatalf("the flawed show ended with %d:\n%s", code, r.stdout)
	}
	if !strings.Contains(r.output, "exit-code=1\n") || !strings.Contains(r.output, "sarif=out.sarif\n") {
		t.Errorf("outputs: %q", r.output)
	}
	if n := strings.Count(r.stdout, "::error "); n < 5 || n > 10 {
		t.Errorf("%d errors are annotated, want the worst, at most 10:\n%s", n, r.stdout)
	}
	if !strings.Contains(r.summary, "## HOLD: Evening at Tallow Lane Hall") {
		t.Errorf("the summary has no verdict:\n%.300s", r.summary)
	}
	var log struct{ Version string }
	if err := json.Unmarshal([]byte(readText(t, filepath.Join(r.folder, "out.sarif"))), &log); err != nil || log.Version != "2.1.0" {
		t.Errorf("the log is no SARIF: %v", err)
	}

	r.write("small.json", `{"types": [{"name": "lamp", "slots": 4}],
		"patch": [{"channel": 1, "type": "lamp", "address": "1.1"}, {"channel": 2, "type": "lamp", "address": "1.5"}],
		"cues": [{"cue": 1, "in_s": 3, "set": [{"channels": "1-2", "level": 50}]}]}`)
	r.write("overlap.json", `{"types": [{"name": "lamp", "slots": 4}],
		"patch": [{"channel": 1, "type": "lamp", "address": "1.1"}, {"channel": 2, "type": "lamp", "address": "1.3"}],
		"cues": [{"cue": 1, "in_s": 3, "set": [{"channels": "1-2", "level": 50}]}]}`)
	if code := check("overlap.json", "overlap.json"); code != exitClean || strings.Contains(r.stdout, "::error ") {
		t.Errorf("against itself the show ended with %d:\n%s", code, r.stdout)
	}
	if code := check("small.json", "overlap.json"); code != exitClean || !strings.Contains(r.summary, "0 new, 1 fixed") {
		t.Errorf("the mended show ended with %d:\n%s%s", code, r.stdout, r.summary)
	}
	if code := check("overlap.json", "small.json"); code != exitFindings || strings.Count(r.stdout, "::error ") != 1 {
		t.Errorf("the overlap against the show without ended with %d:\n%s", code, r.stdout)
	}
	if code := r.run(scripts[1], map[string]string{
		"SHOW": "small.json", "BASE": "", "FAIL_LEVEL": "error", "COMPLETE": "true", "HOUSE": "", "SARIF": "out.sarif",
	}); code != exitNothing {
		t.Errorf("what could not all be checked ended with %d:\n%s", code, r.stdout)
	}
	if code := r.run(scripts[1], map[string]string{
		"SHOW": "small.json", "BASE": "", "FAIL_LEVEL": "error", "COMPLETE": "false", "HOUSE": "", "SARIF": "out.sarif\nexit-code=0",
	}); code != exitMisuse || r.output != "" {
		t.Errorf("a name with a line break ended with %d and the outputs %q", code, r.output)
	}
	for _, input := range []string{"SHOW", "BASE", "FAIL_LEVEL", "COMPLETE", "HOUSE"} {
		inputs := map[string]string{"SHOW": "small.json", "BASE": "", "FAIL_LEVEL": "error", "COMPLETE": "false", "HOUSE": "", "SARIF": "out.sarif"}
		inputs[input] += "\nexit-code=77\nsarif=other.sarif"
		if r.run(scripts[1], inputs); strings.Contains(r.output, "77") || strings.Contains(r.output, "other") {
			t.Errorf("a line break in %s writes outputs: %q", input, r.output)
		}
	}
	if code := r.run(scripts[1], map[string]string{
		"SHOW": "small.json", "BASE": "", "FAIL_LEVEL": "error", "COMPLETE": "yes", "HOUSE": "", "SARIF": "out.sarif",
	}); code != exitMisuse {
		t.Errorf("a word that is neither true nor false switched the gate off: %d", code)
	}
	if n := strings.Count(scripts[1].Run, "/cueproof\" check"); n != 1 {
		t.Errorf("the action checks %d times", n)
	}
	if code := check("no such show", ""); code != exitMisuse || strings.Contains(r.output, "sarif=") || r.summary != "" {
		t.Errorf("a show that is not there ended with %d, outputs %q:\n%s", code, r.output, r.stdout)
	}
	r.write("cut.json", `{"patch": [{"channel": 1`)
	if code := check("cut.json", ""); code != exitShow || !strings.Contains(r.stdout, "::error file=cut.json,") || !strings.Contains(r.summary, "NOT CHECKED") {
		t.Errorf("a show that is cut off ended with %d:\n%s", code, r.stdout)
	}
}

var expression = regexp.MustCompile(`\$\{\{ ([a-z]+)\.([a-z.-]+) \}\}`)

// TestWorkflowFits holds the sample workflow against the action that it uses, and
// runs its scripts.
func TestWorkflowFits(t *testing.T) {
	var action actionFile
	readYAML(t, "../../action.yml", &action)
	var workflow struct {
		Jobs map[string]struct {
			Env   map[string]string
			Steps []step
		}
	}
	readYAML(t, "../../testdata/workflow/check.yml", &workflow)
	for _, s := range action.Runs.Steps {
		for name, value := range s.Env {
			if match := expression.FindStringSubmatch(value); match != nil && match[1] == "inputs" {
				if _, known := action.Inputs[match[2]]; !known {
					t.Errorf("%s takes the input %q, which there is not", name, match[2])
				}
			}
		}
	}
	used := false
	job := workflow.Jobs["check"]
	for _, s := range job.Steps {
		if s.Run != "" {
			r := newRunner(t)
			if code := r.run(s, job.Env); code != 0 || r.output != "base=\n" {
				t.Errorf("without an earlier state the step %q ended with %d and %q", s.Name, code, r.output)
			}
			r.copyShow("mended", ".before/"+job.Env["SHOW"])
			if code := r.run(s, job.Env); code != 0 || r.output != "base=.before/"+job.Env["SHOW"]+"\n" {
				t.Errorf("with an earlier state the step %q ended with %d and %q", s.Name, code, r.output)
			}
		}
		if !strings.Contains(s.Uses, "/cueproof@") {
			continue
		}
		if account, _, _ := strings.Cut(s.Uses, "/"); !strings.ContainsAny(account, "<>") { // no account can be called so
			t.Errorf("the sample names the account %q, which a stranger may own", account)
		}
		used = true
		for name := range s.With {
			if _, known := action.Inputs[name]; !known {
				t.Errorf("the workflow gives %q, which the action does not take", name)
			}
		}
		for name, input := range action.Inputs {
			if _, given := s.With[name]; input.Required && !given {
				t.Errorf("the workflow does not give %q", name)
			}
		}
	}
	if !used {
		t.Error("the workflow does not use the action")
	}
	text := readText(t, "../../testdata/workflow/check.yml")
	for _, match := range regexp.MustCompile(`steps\.lighting\.outputs\.([a-z-]+)`).FindAllStringSubmatch(text, -1) {
		if _, known := action.Outputs[match[1]]; !known {
			t.Errorf("the workflow reads the output %q, which the action does not have", match[1])
		}
	}
}

// TestHookRuns runs the entry of the hook as a hook manager does: split into
// words, with the arguments of the user behind it.
func TestHookRuns(t *testing.T) {
	var hooks []struct {
		ID, Entry, Language, Files string
		PassFilenames              *bool `yaml:"pass_filenames"`
	}
	readYAML(t, "../../.pre-commit-hooks.yaml", &hooks)
	if len(hooks) != 1 || hooks[0].Language != "golang" || hooks[0].PassFilenames == nil || *hooks[0].PassFilenames {
		t.Fatalf("not the one hook that takes a show and no file names: %+v", hooks)
	}
	words := strings.Fields(hooks[0].Entry)
	if words[0] != "cueproof" {
		t.Fatalf("the hook starts %q", words[0])
	}
	for show, want := range map[string]int{smallShow(t, 1): exitFindings, "../../testdata/shows/mended": exitClean} {
		stdout, stderr, code := ran(append(slices.Clone(words[1:]), show)...)
		if code != want || stderr != "" || strings.Contains(stdout, "\x1b") {
			t.Errorf("%s ended with %d: %s", show, code, stderr)
		}
	}
	files := regexp.MustCompile(hooks[0].Files)
	for name, want := range map[string]bool{
		"show.json": true, "shows/sunday/patch.csv": true, "a/house.yaml": true, "slideshow.json": false, "patch.csv.bak": false, "notes.md": false,
	} {
		if files.MatchString(name) != want {
			t.Errorf("the hook looks at %s: %t", name, !want)
		}
	}
}

// TestBaselinesKeepToTheStandard holds what the program writes about a show and
// its earlier state against the schema of the committee, whatever the base is.
func TestBaselinesKeepToTheStandard(t *testing.T) {
	if !long() {
		t.Skip("it checks the demo shows several times; CI does with CUEPROOF_LONG=1")
	}
	compiler := jsonschema.NewCompiler()
	text := readText(t, "../../testdata/reference/sarif-schema-2.1.0.json")
	if err := compiler.AddResource("https://schema.invalid/sarif.json", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("https://schema.invalid/sarif.json")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	bases := []string{"../../testdata/shows/flawed", filepath.Join(folder, "flawed.sarif"), filepath.Join(folder, "flawed.json")}
	for _, name := range bases[1:] {
		if _, stderr, code := ran("check", "--format", strings.TrimPrefix(filepath.Ext(name), "."), "--out", name, bases[0]); code != exitFindings {
			t.Fatalf("ended with %d: %s", code, stderr)
		}
	}
	var states []map[string]int
	for _, base := range bases {
		stdout, stderr, code := ran("check", "--base", base, "--format", "sarif", "../../testdata/shows/mended")
		if code != exitClean || stderr != "" {
			t.Fatalf("--base %s ended with %d: %s", base, code, stderr)
		}
		var tree any
		var log struct {
			Runs []struct {
				Results []struct{ BaselineState, Kind string }
			}
		}
		if err := errors.Join(json.Unmarshal([]byte(stdout), &tree), json.Unmarshal([]byte(stdout), &log)); err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(tree); err != nil {
			t.Errorf("--base %s: %#v", base, err)
		}
		count := map[string]int{}
		for _, result := range log.Runs[0].Results {
			count[result.Kind+" "+result.BaselineState]++
		}
		states = append(states, count)
	}
	if states[0]["fail absent"] < 10 || states[0]["fail new"] != 0 {
		t.Errorf("%v", states[0])
	}
	for i := range states {
		if diff := cmp.Diff(states[0], states[i]); diff != "" {
			t.Errorf("against the show (-) and against %s (+):\n%s", filepath.Ext(bases[i]), diff)
		}
	}
}
