//go:build unix

package main

import (
	"bufio"
	"bytes"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestWatchFollowsTheFiles runs check --watch as people do: a show that is good, broken,
// gone, and good again, until Ctrl-C.
func TestWatchFollowsTheFiles(t *testing.T) {
	folder := smallShow(t, 1)
	watched(t, folder, exec.Command("cueproof", "check", "--no-house", "--watch", folder), nil)
}

// watched follows what a command prints that watches the show in a folder. Looked at is its
// process, while it runs; nil: nobody wants to.
func watched(t *testing.T, folder string, command *exec.Cmd, look func(process int)) {
	t.Helper()
	name := filepath.Join(folder, "cues.json")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var complaints bytes.Buffer
	command.Stderr = &complaints
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	giveUp := time.AfterFunc(2*time.Minute, func() { _ = command.Process.Kill() })
	defer giveUp.Stop()
	lines := bufio.NewScanner(out)
	state := func(want string) {
		t.Helper()
		var said strings.Builder
		for lines.Scan() {
			said.WriteString(lines.Text() + "\n")
			if !strings.Contains(lines.Text(), "Ctrl-C ends it") {
				continue
			}
			if strings.Contains(strings.Join(strings.Fields(said.String()), " "), want) {
				return
			}
			t.Logf("it does not say %q yet; on a busy machine half of a save is a state of its own:\n%s", want, said.String())
			said.Reset()
		}
		t.Fatalf("it ended without %q after:\n%s%s", want, said.String(), complaints.String())
	}
	put := func(text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	state("certifies nothing")
	if look != nil {
		look(command.Process.Pid)
	}
	put(string(text) + " ")
	state("Saved, and nothing that is told has changed.")
	put(string(text[:len(text)/2]))
	state("Below is the last state that could be.")
	put(string(text))
	state("Saved, and nothing that is told has changed.")
	if err := os.Rename(folder, folder+"-away"); err != nil {
		t.Fatal(err)
	}
	state("Below is the last state that could be.")
	if err := os.Rename(folder+"-away", folder); err != nil {
		t.Fatal(err)
	}
	state("Saved, and nothing that is told has changed.")
	if err := command.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() {
		t.Errorf("after Ctrl-C it says %s", lines.Text())
	}
	if err := command.Wait(); err != nil {
		t.Errorf("Ctrl-C ends it with %v", err)
	}
}

// serving starts a booth, and says its address once the page is there.
func serving(t *testing.T, command *exec.Cmd) (address string, lines *bufio.Scanner) {
	t.Helper()
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	giveUp := time.AfterFunc(2*time.Minute, func() { _ = command.Process.Kill() })
	t.Cleanup(func() { giveUp.Stop() })
	lines = bufio.NewScanner(out)
	lines.Scan()
	return lines.Text(), lines
}

// got is the code that an address answers with.
func got(t *testing.T, address string) int {
	t.Helper()
	answer, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	return answer.StatusCode
}

// interrupted ends a booth as Ctrl-C does.
func interrupted(t *testing.T, command *exec.Cmd, lines *bufio.Scanner) {
	t.Helper()
	if err := command.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() {
		if !strings.Contains(lines.Text(), "Ctrl-C ends it") {
			t.Errorf("it says %s", lines.Text())
		}
	}
	if err := command.Wait(); err != nil {
		t.Errorf("Ctrl-C ends it with %v", err)
	}
}

// TestBoothEndsByCtrlC: the address is printed and answers, and Ctrl-C ends it cleanly though
// somebody waits.
func TestBoothEndsByCtrlC(t *testing.T) {
	command := exec.Command("cueproof", "booth", "--no-house", smallShow(t, 1))
	address, lines := serving(t, command)
	if code := got(t, address); code != http.StatusOK {
		t.Errorf("%s answers %d", address, code)
	}
	waits := make(chan error, 1)
	go func() {
		answer, err := http.Get(address + "state?after=99")
		if err == nil {
			answer.Body.Close()
		}
		waits <- err
	}()
	interrupted(t, command, lines)
	if err := <-waits; err != nil {
		t.Logf("the one that waited got no answer any more: %v", err)
	}
}

// TestBoothOpensABrowserIfAsked: the program that opens addresses on this system is given
// the address of the page, once, and only with --open; without one the booth goes on.
func TestBoothOpensABrowserIfAsked(t *testing.T) {
	folder := t.TempDir()
	told := filepath.Join(folder, "told")
	for _, name := range []string{"xdg-open", "open"} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte("#!/bin/sh\nprintf '%s\\n' \"$@\" >> '"+told+"'\n"), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	cueproof, err := exec.LookPath("cueproof")
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ path, want string }{{folder + ":/bin:/usr/bin", "opened"}, {t.TempDir(), "no browser could be opened"}} {
		command := exec.Command(cueproof, "booth", "--no-house", "--open", smallShow(t, 1))
		command.Env = append(os.Environ(), "PATH="+test.path)
		var complaints bytes.Buffer
		command.Stderr = &complaints
		address, lines := serving(t, command)
		if test.want == "opened" {
			text := ""
			for until := time.Now().Add(time.Minute); !strings.HasSuffix(text, "\n") && time.Now().Before(until); time.Sleep(time.Millisecond) {
				data, _ := os.ReadFile(told) // it comes when the script runs
				text = string(data)
			}
			if text != address+"\n" {
				t.Errorf("the browser is given %q, the address is %q", text, address)
			}
		}
		if code := got(t, address); code != http.StatusOK {
			t.Errorf("%s answers %d", address, code)
		}
		interrupted(t, command, lines)
		if said := complaints.String(); strings.Contains(said, test.want) == (test.want == "opened") {
			t.Errorf("it complains: %s", said)
		}
	}
	command := exec.Command(cueproof, "booth", "--no-house", smallShow(t, 1))
	command.Env = append(os.Environ(), "PATH="+folder+":/bin:/usr/bin")
	before, _ := os.ReadFile(told)
	_, lines := serving(t, command)
	interrupted(t, command, lines)
	if after, _ := os.ReadFile(told); !bytes.Equal(before, after) {
		t.Error("a browser is opened though nobody asked")
	}
}
