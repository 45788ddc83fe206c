package outfile

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
)

// TestAFullDisk: what is there stays, and nothing is left of what found no room.
// It needs the right to make a small disk. The disk is made in a process that alone sees it, so that it goes
// with the process, however that ends.
func TestAFullDisk(t *testing.T) {
	disk := os.Getenv("CUEPROOF_SMALL_DISK")
	if disk == "" {
		inAProcessWithItsOwnDisks(t, "CUEPROOF_SMALL_DISK="+t.TempDir())
		return
	}
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=64k"); err != nil {
		t.Skip("no small disk here: ", err)
	}
	var g Guard
	path := filepath.Join(disk, "report")
	old := TextMark + "old"
	if err := os.WriteFile(path, []byte(old), 0o644); err != nil {
		t.Fatal(err)
	}
	large := bytes.Repeat([]byte("x"), 1<<20)
	for name, err := range map[string]error{
		"report": g.Write(path, nil, false, func(w io.Writer) error { _, err := w.Write(large); return err }),
		"kept":   g.Merge(path, "", func([]byte) ([]byte, error) { return large, nil }),
		"folder": g.Folder(filepath.Join(disk, "new"), func(made *os.Root) error { return made.WriteFile("file", large, 0o644) }),
	} {
		if !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, err := os.ReadFile(path); string(got) != old {
		t.Errorf("it holds %q (%v)", got, err)
	}
	if got := inFolder(t, disk); len(got) != 1 {
		t.Errorf("the disk holds %v", got)
	}
}

// inAProcessWithItsOwnDisks runs the calling test once more, in a process that sees its own list of disks.
func inAProcessWithItsOwnDisks(t *testing.T, setting string) {
	t.Helper()
	again := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	again.Env = append(os.Environ(), setting)
	again.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNS, Pdeathsig: syscall.SIGKILL}
	switch told, err := again.CombinedOutput(); {
	case errors.Is(err, syscall.EPERM):
		t.Skip("no disks of its own here: ", err)
	case err != nil:
		t.Fatalf("%v\n%s", err, told)
	case bytes.Contains(told, []byte("--- SKIP")):
		t.Skipf("%s", told)
	case !bytes.Contains(told, []byte("--- PASS: "+t.Name())):
		t.Fatalf("it did not run:\n%s", told)
	}
}
