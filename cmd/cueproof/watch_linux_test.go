package main

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// notified reports whether the system tells a process of changes.
func notified(t *testing.T, process int) bool {
	t.Helper()
	files, err := filepath.Glob(fmt.Sprintf("/proc/%d/fd/*", process))
	if err != nil || len(files) == 0 {
		t.Fatalf("what process %d has open cannot be seen: %v", process, err)
	}
	for _, file := range files {
		if to, err := os.Readlink(file); err == nil && strings.Contains(to, "inotify") {
			return true
		}
	}
	return false
}

// TestWatchOnAReadOnlyMountWithoutNotices: the show is on a mount that nobody can write to,
// and the system tells of no change. Both are so for the one process alone, in name spaces of
// its own; somebody else writes the files.
func TestWatchOnAReadOnlyMountWithoutNotices(t *testing.T) {
	folder := smallShow(t, 1)
	watched(t, folder, exec.Command("cueproof", "check", "--no-house", "--watch", folder), func(process int) {
		if !notified(t, process) {
			t.Error("it is not told of changes where the system can, so the rest proves nothing")
		}
	})
	mount := t.TempDir()
	inside := func(then string) *exec.Cmd {
		return exec.Command("unshare", "--user", "--map-root-user", "--mount", "sh", "-c",
			`mount --bind "$1" "$2" && mount -o remount,ro,bind "$2" && echo 0 > /proc/sys/user/max_inotify_instances && ! touch "$2/x" 2>/dev/null && `+then, "sh", filepath.Dir(folder), mount)
	}
	if out, err := inside("true").CombinedOutput(); err != nil {
		t.Skipf("this system gives nobody name spaces of his own: %v: %s", err, out)
	}
	watched(t, folder, inside(`exec cueproof check --no-house --watch "$2/`+filepath.Base(folder)+`"`), func(process int) {
		if notified(t, process) {
			t.Error("it is told of changes after all")
		}
	})
}

// TestNothingButLoopbackIsTouched looks at every call of the system that has to do with the
// network, from the start of a booth to its end: it is fetched, followed, asked and opened.
// strace has to be there.
func TestNothingButLoopbackIsTouched(t *testing.T) {
	if _, err := exec.LookPath("strace"); err != nil {
		t.Skip("what is asked of the system is not looked at: there is no strace")
	}
	folder, calls := smallShow(t, 1), filepath.Join(t.TempDir(), "calls")
	command := exec.Command("strace", "-D", "-f", "-e", "trace=%network", "-o", calls, "cueproof", "booth", "--no-house", folder)
	address, lines := serving(t, command)
	if address == "" {
		t.Skip("strace may not look at a program here")
	}
	for _, path := range []string{"", "state?after=99", "ask?show=0&question=channel+1+dark"} {
		if path == "state?after=99" {
			if err := os.WriteFile(filepath.Join(folder, "room.json"), []byte(`{"name": "Hall"}`), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if code := got(t, address+path); code != http.StatusOK {
			t.Errorf("%s answers %d", path, code)
		}
	}
	interrupted(t, command, lines)
	var text []byte
	for until := time.Now().Add(time.Minute); !bytes.Contains(text, []byte("+++ exited with 0 +++")); time.Sleep(time.Millisecond) {
		if text, _ = os.ReadFile(calls); time.Now().After(until) {
			t.Fatalf("strace does not end; it saw\n%s", text)
		}
	}
	addresses := regexp.MustCompile(`sin6?_addr=inet_(?:addr\(|pton\(AF_INET6, )"([^"]*)"|inet_pton\(AF_INET6, "([^"]*)"`)
	seen := 0
	for line := range strings.Lines(string(text)) {
		if strings.Contains(line, " connect(") {
			t.Errorf("it opens a connection: %s", line)
		}
		for _, m := range addresses.FindAllStringSubmatch(line, -1) {
			seen++
			switch at := m[1] + m[2]; at {
			case "127.0.0.1", "::1", "::ffff:127.0.0.1": // the last is how Go asks what the system can do
			default:
				t.Errorf("it touches %s: %s", at, line)
			}
		}
		if family := regexp.MustCompile(`socket\((\w+)`).FindStringSubmatch(line); family != nil && family[1] != "AF_INET" && family[1] != "AF_INET6" {
			t.Errorf("it wants a socket of another kind: %s", line)
		}
	}
	if !strings.Contains(string(text), "listen(") || !strings.Contains(string(text), "accept4(") || seen < 4 {
		t.Errorf("strace saw no server at all:\n%s", text)
	}
}
