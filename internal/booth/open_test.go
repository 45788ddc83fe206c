package booth

import (
	"slices"
	"testing"
)

// The command of each system shows an address as one word, in the browser that its user
// chose. From memory of the manual pages of open(1) and xdg-open(1), and of url.dll.
func TestTheCommandThatOpensABrowser(t *testing.T) {
	const address = "http://127.0.0.1:4711/TOKEN/"
	for system, want := range map[string][]string{
		"linux": {"xdg-open", address}, "freebsd": {"xdg-open", address}, "darwin": {"open", address},
		"windows": {"rundll32", "url.dll,FileProtocolHandler", address},
	} {
		if got := opener(system, address); !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", system, got, want)
		}
	}
}
