package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	debug.SetGCPercent(300) // as internal/draws has it; the program decides for itself
	testscript.Main(m, map[string]func(){"cueproof": main})
}

// long reports whether tests run in full, as CI does, and not in a short form.
func long() bool { return os.Getenv("CUEPROOF_LONG") != "" }

// TestScripts runs testdata/script/*.txtar. In a script $SHOWS is the folder of
// the demo shows, $HOUSE that of the sample house, and $FAULTS a demo show with faults. With CUEPROOF_UPDATE=1 what
// "cmp" expects is written anew.
func TestScripts(t *testing.T) {
	shows, err1 := filepath.Abs("../../testdata/shows")
	scripts, err2 := filepath.Abs("testdata/script")
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	faults := fewFaults(t, shows)
	testscript.Run(t, testscript.Params{
		Dir:           scripts,
		UpdateScripts: os.Getenv("CUEPROOF_UPDATE") == "1",
		Condition: func(word string) (bool, error) {
			if word != "long" {
				return false, fmt.Errorf("there is no condition %q", word)
			}
			return long(), nil
		},
		Setup: func(env *testscript.Env) error {
			env.Setenv("SHOWS", filepath.ToSlash(shows))
			env.Setenv("FAULTS", filepath.ToSlash(faults))
			env.Setenv("HOUSE", filepath.ToSlash(filepath.Join(filepath.Dir(shows), "house")))
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits": exits, "process": process, "bytes": writeBytes, "sparse": sparse, "same": same, "hardlink": hardlink, "zip": zipFiles,
			"copy": copyFolder, "edit": editFile, "renumber": renumber,
		},
	})
}

// fewFaults is the flawed demo show for scripts to which it is all the same how many faults there are: in full it
// itself, and else the sound one with its room, its head and four more of its faults, which takes a quarter.
func fewFaults(t *testing.T, shows string) string {
	t.Helper()
	flawed := filepath.Join(shows, "flawed")
	if long() {
		return flawed
	}
	few := filepath.Join(t.TempDir(), "flawed")
	if err := os.CopyFS(few, os.DirFS(filepath.Join(shows, "mended"))); err != nil {
		t.Fatal(err)
	}
	const extra = `{"channel": 19, "address": "1.181", "type": "tunable fresnel", "mode": "8 slots", "purpose": "key", "hung_at": {"x": 6.4, "y": -1, "z": 2.4}, "aimed_at": "pulpit"}`
	for name, changes := range map[string][]string{
		"room.json": nil, "show.json": nil,
		"patch.json": {`"2.41"`, `"2.31"`, "\n  { \"channel\": 21,", "\n  " + extra + ",\n  { \"channel\": 21,"},
		"cues.json":  {`"beams",        "level": 100 }`, `"beams",        "level": 100, "strobe_hz": 8 }`, `"pulpit keys",  "level":  45`, `"pulpit keys",  "level":  20`},
	} {
		from := flawed
		if changes != nil {
			from = few
		}
		text, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(changes); i += 2 {
			if strings.Count(string(text), changes[i]) != 1 {
				t.Fatalf("%s does not have %s once", name, changes[i])
			}
		}
		if err := os.WriteFile(filepath.Join(few, name), []byte(strings.NewReplacer(changes...).Replace(string(text))), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return few
}

// exits CODE ARGUMENT... runs cueproof, which must end with that code: in this process, which
// costs a third of a new one, and in full as a process.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if long() {
		process(ts, neg, args)
		return
	}
	ends(ts, neg, args, func(args []string) int {
		defer standIn(ts)()
		return run(args, strings.NewReader(""), ts.Stdout(), ts.Stderr())
	})
}

// process CODE ARGUMENT... is the same as a process of its own, which reads what "stdin" says.
func process(ts *testscript.TestScript, neg bool, args []string) {
	ends(ts, neg, args, func(args []string) int {
		err := ts.Exec("cueproof", args...)
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			return exit.ExitCode()
		}
		ts.Check(err)
		return exitClean
	})
}

// ends fails if a run does not end with the code that stands before its arguments.
func ends(ts *testscript.TestScript, neg bool, args []string, run func(args []string) int) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: exits CODE ARGUMENT...")
	}
	if code := run(args[1:]); strconv.Itoa(code) != args[0] {
		ts.Fatalf("cueproof %s ended with %d, want %s", strings.Join(args[1:], " "), code, args[0])
	}
}

// told are the variables that the program asks for and scripts may set.
var told = []string{"SOURCE_DATE_EPOCH", "NO_COLOR", "FORCE_COLOR", "CLICOLOR_FORCE", "TERM", "HOME", behind}

// standing is held by the script that this process does as if it were a process of: the
// folder and the variables of a process are the same for all.
var standing sync.Mutex

// standIn goes to the folder of a script and takes over its variables; what it returns goes back.
func standIn(ts *testscript.TestScript) (back func()) {
	standing.Lock()
	before, err := os.Getwd()
	undo := []func() error{func() error { return os.Chdir(before) }}
	err = errors.Join(err, os.Chdir(ts.MkAbs(".")))
	for _, name := range told {
		old, was := os.LookupEnv(name)
		if was {
			undo = append(undo, func() error { return os.Setenv(name, old) })
		} else {
			undo = append(undo, func() error { return os.Unsetenv(name) })
		}
		if now := ts.Getenv(name); now != "" {
			err = errors.Join(err, os.Setenv(name, now))
		} else {
			err = errors.Join(err, os.Unsetenv(name))
		}
	}
	return func() {
		for _, undo := range undo {
			err = errors.Join(err, undo())
		}
		standing.Unlock()
		ts.Check(err)
	}
}

// bytes FILE TEXT [N] writes a text with the escapes of Go, N times.
func writeBytes(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 || len(args) > 3 {
		ts.Fatalf("usage: bytes FILE TEXT [N]")
	}
	text, err := strconv.Unquote(`"` + strings.ReplaceAll(args[1], `"`, `\"`) + `"`)
	ts.Check(err)
	n := 1
	if len(args) == 3 {
		n, err = strconv.Atoi(args[2])
		ts.Check(err)
	}
	name := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(filepath.Dir(name), 0o777))
	ts.Check(os.WriteFile(name, []byte(strings.Repeat(text, n)), 0o666))
}

// sparse FILE SIZE makes a file of zero bytes that takes no room on the disk.
func sparse(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: sparse FILE SIZE")
	}
	size, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	name := ts.MkAbs(args[0])
	ts.Check(os.WriteFile(name, nil, 0o666))
	ts.Check(os.Truncate(name, size))
}

// same ARGUMENT... runs cueproof twice, which must print the same bytes.
func same(ts *testscript.TestScript, neg bool, args []string) {
	if neg {
		ts.Fatalf("unsupported: ! same")
	}
	var printed [2]string
	for i := range printed {
		_ = ts.Exec("cueproof", args...) // the exit code is the business of exits; other processes have other seeds
		printed[i] = ts.ReadFile("stdout")
	}
	if printed[0] == "" || printed[0] != printed[1] {
		ts.Fatalf("cueproof %s printed %d bytes and then %d others", strings.Join(args, " "), len(printed[0]), len(printed[1]))
	}
}

// copy FOLDER NEW copies a folder.
func copyFolder(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: copy FOLDER NEW")
	}
	ts.Check(os.CopyFS(ts.MkAbs(args[1]), os.DirFS(ts.MkAbs(args[0]))))
}

// edit FILE EXPRESSION TEXT puts a text in the place of all that a regular expression
// finds; it has to find something.
func editFile(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE EXPRESSION TEXT")
	}
	name := ts.MkAbs(args[0])
	data, err := os.ReadFile(name)
	ts.Check(err)
	edited := regexp.MustCompile(args[1]).ReplaceAll(data, []byte(strings.ReplaceAll(args[2], `\n`, "\n")))
	if bytes.Equal(edited, data) {
		ts.Fatalf("%s: %s finds nothing", args[0], args[1])
	}
	ts.Check(os.WriteFile(name, edited, 0o666))
}

// renumber FOLDER TIMES PLUS gives all cues of a show in JSON other numbers.
func renumber(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: renumber FOLDER TIMES PLUS")
	}
	times, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	plus, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	numbers := regexp.MustCompile(`("(?:start_)?cue": ?)([0-9.]+)`)
	for _, name := range []string{"cues.json", "order.json"} {
		name = ts.MkAbs(filepath.Join(args[0], name))
		data, err := os.ReadFile(name)
		ts.Check(err)
		data = numbers.ReplaceAllFunc(data, func(found []byte) []byte {
			part := numbers.FindSubmatch(found)
			number, err := strconv.ParseFloat(string(part[2]), 64)
			ts.Check(err)
			return strconv.AppendFloat(bytes.Clone(part[1]), number*times+plus, 'f', -1, 64)
		})
		ts.Check(os.WriteFile(name, data, 0o666))
	}
}

// hardlink FILE NAME gives a file another name.
func hardlink(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: hardlink FILE NAME")
	}
	ts.Check(os.Link(ts.MkAbs(args[0]), ts.MkAbs(args[1])))
}

// zip ARCHIVE FILE... packs files, each under its last name; FILE=NAME gives another.
func zipFiles(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: zip ARCHIVE FILE...")
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, arg := range args[1:] {
		file, name, given := strings.Cut(arg, "=")
		if !given {
			name = filepath.Base(file)
		}
		w, err := z.Create(name)
		ts.Check(err)
		_, err = w.Write([]byte(ts.ReadFile(file)))
		ts.Check(err)
	}
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o666))
}
