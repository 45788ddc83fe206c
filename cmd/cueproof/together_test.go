package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// many is how many runs write to one file at the same time: CI takes more.
var many = 8

func init() {
	if long() {
		many = 48
	}
}

// together starts the program once for each list of arguments, all at the same
// time, and fails for each run that does not end with the code.
func together(t *testing.T, code int, each [][]string) {
	t.Helper()
	var group sync.WaitGroup
	ends := make([]string, len(each))
	for i, args := range each {
		group.Go(func() {
			var said bytes.Buffer
			command := exec.Command("cueproof", args...)
			command.Stderr = &said
			_ = command.Run() // the code says it
			if got := command.ProcessState.ExitCode(); got != code {
				ends[i] = fmt.Sprintf("%v ended with %d: %s", args, got, said.String())
			}
		})
	}
	group.Wait()
	for _, end := range ends {
		if end != "" {
			t.Error(end)
		}
	}
}

// only fails if a folder holds anything but the named files.
func only(t *testing.T, folder string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var there []string
	for _, entry := range entries {
		there = append(there, entry.Name())
	}
	if got, want := strings.Join(there, " "), strings.Join(names, " "); got != want {
		t.Errorf("%s holds %q, want %q", filepath.Base(folder), got, want)
	}
}

// smallShow writes a show in which two lamps overlap and so many are never used.
func smallShow(t *testing.T, idle int) string {
	t.Helper()
	show := t.TempDir()
	patch := `[{"channel": 1, "type": "lamp", "address": "1.1"}, {"channel": 2, "type": "lamp", "address": "1.3"}`
	for i := range idle {
		patch += fmt.Sprintf(`, {"channel": %d, "type": "lamp", "address": "2.%d"}`, i+3, 1+4*i)
	}
	for name, text := range map[string]string{
		"types.json": `[{"name": "lamp", "slots": 4, "watts": 100}]`,
		"patch.json": patch + "]",
		"cues.json":  `[{"cue": 1, "in_s": 3, "set": [{"channels": "1-2", "level": 50}]}]`,
	} {
		if err := os.WriteFile(filepath.Join(show, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return show
}

// keysOf lists the keys of what a rule finds.
func keysOf(t *testing.T, show, rule string) []string {
	t.Helper()
	stdout, _, _ := ran("check", "--no-house", "--format", "json", show)
	var report struct {
		Shows []struct{ Findings []struct{ Key, Rule string } }
	}
	if err := json.Unmarshal([]byte(stdout), &report); err != nil {
		t.Fatal(err)
	}
	var keys []string
	for _, f := range report.Shows[0].Findings {
		if f.Rule == rule {
			keys = append(keys, f.Key)
		}
	}
	return keys
}

// TestAcceptTogether: what each of many runs says is written is there afterwards,
// whether or not there was a house file before.
func TestAcceptTogether(t *testing.T) {
	for _, before := range []string{"", "# what the hall wants\n"} {
		show := smallShow(t, many)
		house := filepath.Join(show, "house.yaml")
		if before != "" {
			if err := os.WriteFile(house, []byte(before), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		var each [][]string
		for i, key := range keysOf(t, show, "patch/patched-never-used") {
			each = append(each, []string{"accept", "--key", key, "--reason", fmt.Sprintf("reason number %d", i), "--by", "stage", show})
		}
		if len(each) != many {
			t.Fatalf("there are %d findings to accept", len(each))
		}
		together(t, exitClean, each)
		text, err := os.ReadFile(house)
		if err != nil {
			t.Fatal(err)
		}
		for i := range many {
			if n := strings.Count(string(text), fmt.Sprintf("reason: reason number %d\n", i)); n != 1 {
				t.Errorf("reason %d stands %d times in the file", i, n)
			}
		}
		if !strings.HasPrefix(string(text), before) {
			t.Error("what was there before is lost")
		}
		if info, err := os.Stat(house); err != nil || before != "" && info.Mode().Perm() != 0o600 {
			t.Errorf("%v %v", info.Mode(), err)
		}
		only(t, show, "cues.json", "house.yaml", "patch.json", "types.json")
	}
}

// TestHistoryTogether: each of many runs of different days is remembered.
func TestHistoryTogether(t *testing.T) {
	show := smallShow(t, 1)
	file := filepath.Join(show, ".cueproof-history.json")
	var each [][]string
	for i := range many {
		each = append(each, []string{"check", "--no-house", "--now", fmt.Sprintf("2026-%02d-%02d", 1+i/20, 1+i%20), "--history", file, show})
	}
	together(t, exitFindings, each)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var kept struct {
		Runs []struct {
			Date string `json:"date"`
		} `json:"runs"`
	}
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	times := map[string]int{}
	for _, run := range kept.Runs {
		times[run.Date]++
	}
	for i := range many {
		if day := fmt.Sprintf("2026-%02d-%02d", 1+i/20, 1+i%20); times[day] != 1 {
			t.Errorf("%s is remembered %d times, and not once", day, times[day])
		}
	}
	only(t, show, ".cueproof-history.json", "cues.json", "patch.json", "types.json")
}

// TestReportsTogether: whoever reads a report that many write finds a whole one.
func TestReportsTogether(t *testing.T) {
	show, folder := smallShow(t, 1), t.TempDir()
	report := filepath.Join(folder, "report")
	var each [][]string
	for range many / 4 {
		each = append(each, []string{"check", "--no-house", "--format", "json", "--out", report, show})
	}
	together(t, exitFindings, each)
	alone := filepath.Join(t.TempDir(), "report")
	together(t, exitFindings, [][]string{{"check", "--no-house", "--format", "json", "--out", alone, show}})
	got, err1 := os.ReadFile(report)
	want, err2 := os.ReadFile(alone)
	if err1 != nil || err2 != nil || !bytes.Equal(got, want) {
		t.Errorf("%d bytes, want %d (%v, %v)", len(got), len(want), err1, err2)
	}
	only(t, folder, "report")
}
