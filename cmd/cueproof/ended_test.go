//go:build unix

package main

import (
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestEndedWhileTrying sends what Ctrl-C sends, and what a system that goes down
// sends, as soon as the corrected copy is being made. Nothing may be left of it.
func TestEndedWhileTrying(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for a moment of some milliseconds")
	}
	show := smallShow(t, 1)
	inTime, enough := 0, 1
	if long() {
		enough = 4
	}
	for _, s := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
		caught := 0
		for tries := 0; caught < enough && tries < 100; tries++ { // the copy is there for some milliseconds only
			folder := t.TempDir()
			command := exec.Command("cueproof", "check", "--no-house", "--try", filepath.Join(folder, "new"), show)
			if err := command.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan struct{})
			go func() { _ = command.Wait(); close(ended) }()
			for open := true; open; {
				entries, _ := os.ReadDir(folder)
				select {
				case <-ended:
					open = false
				default:
					if len(entries) > 0 {
						_ = command.Process.Signal(s)
						<-ended
						open = false
					}
				}
			}
			status := command.ProcessState.Sys().(syscall.WaitStatus)
			if !status.Signaled() { //nolint:misspell // the name is that of package syscall; the copy was there before the signal was
				only(t, folder, "new")
				continue
			}
			caught++
			if status.Signal() != s {
				t.Errorf("ended by %v, want %v", status.Signal(), s)
			}
			entries, _ := os.ReadDir(folder)
			if len(entries) == 1 && entries[0].Name() == "new" {
				continue // it was finished when the signal came
			}
			only(t, folder)
		}
		inTime += caught
		if caught == 0 {
			t.Logf("%v never came in time", s) // on a busy machine
		}
	}
	if inTime == 0 {
		t.Error("no signal came in time")
	}
}

// writing is a command that writes, with what has to be there before and the
// files that it makes or changes.
type writing struct {
	args   []string
	before map[string]string
	writes []string // files or folders
}

// TestKilled kills the program at random moments while it writes. Whatever it
// writes is then as it was or as it should be, each whole; what else is left is a
// part that the next run clears away. CUEPROOF_KILLS says how many times; it is
// run a thousand times before a release.
func TestKilled(t *testing.T) {
	moments := 16
	if wanted, err := strconv.Atoi(os.Getenv("CUEPROOF_KILLS")); err == nil {
		moments = wanted
	}
	small := smallShow(t, 2)
	key := keysOf(t, small, "patch/patched-never-used")[0]
	mark := "Written by cueproof; whoever writes a report to this name again replaces it.\n"
	commands := []writing{
		{args: []string{"check", "--out", "report", small}, before: map[string]string{"report": mark + "old"}, writes: []string{"report"}},
		{args: []string{"check", "--format", "sarif", "--out", "report", small}, writes: []string{"report"}},
		{args: []string{"measure", "--of", "fixture", "--format", "csv", "--replace", "--out", "report", small}, before: map[string]string{"report": "old"}, writes: []string{"report"}},
		{args: []string{"compare", "--out", "report", small, small}, before: map[string]string{"report": mark}, writes: []string{"report"}},
		{args: []string{"explain", "white/key-mix", "--out", "report"}, before: map[string]string{"report": mark}, writes: []string{"report"}},
		{args: []string{"check", "--now", "2026-03-08", "--history", "h.json", "--out", "report", small}, before: map[string]string{"report": mark}, writes: []string{"report", "h.json"}},
		{args: []string{"check", "--no-house", "--try", "new", small}, writes: []string{"new"}},
		{args: []string{"accept", "--house", "house.yaml", "--key", key, "--reason", "spares", "--by", "stage", small}, before: map[string]string{"house.yaml": "# ours\n"}, writes: []string{"house.yaml"}},
		{args: []string{"rules", "new", "hall/fader-reach", "--in", "."}, writes: []string{"hall"}},
		{args: []string{"paper", "--out", "report", small}, before: map[string]string{"report": mark}, writes: []string{"report"}},
		{args: []string{"picture", "addresses", "--out", "report", small}, writes: []string{"report"}},
		{args: []string{"convert", small, "--into", "new"}, writes: []string{"new"}},
		{args: []string{"practise", "--into", "new", "--seed", "1", "--packs", "patch", "--now", "2026-03-08"}, writes: []string{"new", "cueproof-practice.json"}},
		{
			args:   []string{"waivers", "--prune", "--now", "2026-03-08", "--house", "house.yaml", small},
			before: map[string]string{"house.yaml": "# ours\nwaivers:\n  - {rule: patch/patched-never-used, subject: channel 99, reason: r, by: b, until: 2026-02-01}\n"}, writes: []string{"house.yaml"},
		},
		{
			args:   []string{"start", ".", "--answers", "answers"},
			before: map[string]string{"answers": "places: lectern = 0, 2\n", "patch.json": `[{"channel": 1, "type": "par led"}]`, "cues.json": `[{"cue": 1}]`}, writes: []string{"hall.json"},
		},
	}
	type measured struct {
		took     time.Duration
		old, new map[string]string
	}
	start := func(folder string, w writing) *exec.Cmd {
		for name, text := range w.before {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		command := exec.Command("cueproof", w.args...)
		command.Dir = folder
		return command
	}
	known := make([]measured, len(commands))
	for i, w := range commands {
		folder := t.TempDir()
		command := start(folder, w)
		known[i].old = stateOf(t, folder)
		begun := time.Now()
		if said, err := command.CombinedOutput(); err != nil && command.ProcessState.ExitCode() != exitFindings {
			t.Fatalf("%v: %v\n%s", w.args, err, said)
		}
		known[i].took, known[i].new = time.Since(begun), stateOf(t, folder)
	}
	left, before, after := 0, 0, 0
	for n := range moments {
		i := n % len(commands)
		w := commands[i]
		folder := t.TempDir()
		command := start(folder, w)
		if err := command.Start(); err != nil {
			t.Fatal(err)
		}
		// most of what is written is written at the end
		moment := known[i].took/2 + time.Duration(rand.Int64N(int64(known[i].took)))
		time.Sleep(moment)
		_ = command.Process.Kill()
		_ = command.Wait()
		now, litter := stateOf(t, folder), false
		for name := range now {
			if parts.MatchString(name) {
				delete(now, name)
				litter = true
				left++
			}
		}
		for _, name := range w.writes {
			got := below(now, name)
			switch {
			case maps.Equal(got, below(known[i].old, name)):
				before++
			case maps.Equal(got, below(known[i].new, name)):
				after++
			default:
				t.Errorf("%v killed after %v: %s is neither as it was nor as it should be:\n%.200q", w.args, moment, name, got)
			}
			for file := range got {
				delete(now, file)
			}
		}
		maps.DeleteFunc(now, func(name, text string) bool { return known[i].old[name] == text }) // what is only read
		if len(now) > 0 {
			t.Errorf("%v killed after %v left %v", w.args, moment, slices.Sorted(maps.Keys(now)))
		}
		if !litter && n%4 > 0 {
			continue
		}
		// the next run clears away and does its work
		command = start(folder, writing{args: []string{"explain", "white/key-mix", "--out", "other"}})
		if said, err := command.CombinedOutput(); err != nil {
			t.Fatalf("the run after the kill: %v\n%s", err, said)
		}
		for name := range stateOf(t, folder) {
			if strings.HasPrefix(name, ".cueproof-") {
				t.Errorf("%v killed after %v: the next run leaves %s", w.args, moment, name)
			}
		}
	}
	t.Logf("%d kills: %d times as before, %d times as after, %d parts left for the next run", moments, before, after, left)
}

var parts = regexp.MustCompile(`^\.cueproof-part-[0-9a-f]{16}(/|$)`)

// below is the part of a state that is one file or folder.
func below(state map[string]string, name string) map[string]string {
	part := map[string]string{}
	for file, text := range state {
		if file == name || strings.HasPrefix(file, name+"/") {
			part[file] = text
		}
	}
	return part
}

// stateOf reads all files below a folder.
func stateOf(t *testing.T, folder string) map[string]string {
	t.Helper()
	state := map[string]string{}
	err := fs.WalkDir(os.DirFS(folder), ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || path == "." {
			return err
		}
		if entry.IsDir() {
			state[path] = "a folder"
			return nil
		}
		data, err := os.ReadFile(filepath.Join(folder, path))
		state[path] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return state
}
