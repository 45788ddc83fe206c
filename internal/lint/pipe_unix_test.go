//go:build unix

package lint

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/cueproof/cueproof/rules"
)

// A pipe waits for a writer, and a device has no end: neither is opened as a report.
func TestAPipeIsNoReceipt(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Skip("no pipes here: ", err)
	}
	for _, name := range []string{pipe, "/dev/zero"} {
		if _, err := Verify(name, folder(t, map[string]string{"show.json": "{}"}), Options{Rules: rules.Own()}); err == nil || !strings.Contains(err.Error(), "is no JSON report") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
