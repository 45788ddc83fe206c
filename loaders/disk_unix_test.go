//go:build unix

package loaders

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Opening a pipe waits for somebody to write: it must not be opened at all.
func TestAPipeIsRefused(t *testing.T) {
	folder := files(t, map[string]string{"cues.json": oneCue})
	pipe := filepath.Join(folder, "patch.csv")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Skip("no pipes here: ", err)
	}
	r := load(t, folder)
	if diff := cmp.Diff([]string{"patch.csv:1:1 not-a-file error"}, brief(folder, r.Findings)); diff != "" || !r.Unreadable {
		t.Errorf("%s\n%s", diff, messages(r.Findings))
	}
	if _, err := Load(pipe, Options{}); err == nil {
		t.Error("a pipe is taken for a show")
	}
	if _, err := Load("/dev/null", Options{}); err == nil {
		t.Error("a device is taken for a show")
	}
}
