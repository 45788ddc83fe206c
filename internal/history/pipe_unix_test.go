//go:build unix

package history

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// Opening a pipe waits for somebody to write: it must not be opened at all.
func TestAPipeIsNoHistory(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Skip("no pipes here: ", err)
	}
	if h, err := Open(pipe); h != nil || err == nil || !strings.Contains(err.Error(), "no ordinary file") {
		t.Errorf("%v, %v", h, err)
	}
}
