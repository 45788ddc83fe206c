package outfile

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// TestAFullDisk: what is there stays, and nothing is left of what found no room.
// It needs the right to make a small disk.
func TestAFullDisk(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=64k"); err != nil {
		t.Skip("no small disk here: ", err)
	}
	defer func() {
		if err := syscall.Unmount(disk, 0); err != nil {
			t.Error(err)
		}
	}()
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
