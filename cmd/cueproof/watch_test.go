//go:build unix

package main

import (
	"bufio"
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
	name := filepath.Join(folder, "cues.json")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command("cueproof", "check", "--no-house", "--watch", folder)
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	giveUp := time.AfterFunc(time.Minute, func() { _ = command.Process.Kill() })
	defer giveUp.Stop()
	lines := bufio.NewScanner(out)
	state := func(want string) {
		t.Helper()
		var said strings.Builder
		for lines.Scan() {
			said.WriteString(lines.Text() + "\n")
			if strings.Contains(lines.Text(), "Ctrl-C ends it") {
				if !strings.Contains(strings.Join(strings.Fields(said.String()), " "), want) {
					t.Fatalf("it does not say %q:\n%s", want, said.String())
				}
				return
			}
		}
		t.Fatalf("it ended after:\n%s", said.String())
	}
	put := func(text string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	state("certifies nothing")
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

// TestBoothEndsByCtrlC: the address is printed and answers, and Ctrl-C ends it cleanly though
// somebody waits.
func TestBoothEndsByCtrlC(t *testing.T) {
	command := exec.Command("cueproof", "booth", "--no-house", smallShow(t, 1))
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	giveUp := time.AfterFunc(time.Minute, func() { _ = command.Process.Kill() })
	defer giveUp.Stop()
	lines := bufio.NewScanner(out)
	lines.Scan()
	address := lines.Text()
	answer, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		t.Errorf("%s answers %s", address, answer.Status)
	}
	waits := make(chan error, 1)
	go func() {
		answer, err := http.Get(address + "state?after=1")
		if err == nil {
			answer.Body.Close()
		}
		waits <- err
	}()
	if err := command.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	if err := <-waits; err != nil {
		t.Logf("the one that waited got no answer any more: %v", err)
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
