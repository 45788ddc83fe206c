package sarif

import (
	"testing"
)

func TestLeavingHome(t *testing.T) {
	for _, tc := range []struct{ folder, text, want string }{
		{"/a/show", "open /a/show/cues.json: denied", "open cues.json: denied"},
		{"/a/show", "/a/show", "show"},
		{"/a/show", "It is in /a/show. And in (/a/show), /a/show...", "It is in show. And in (show), show..."},
		{"/a/show", "/a/show2/x", "/a/show2/x"},
		{"/a/show", "/a/show.json", "/a/show.json"},
		{"/a/show", "/b/a/show/x", "/b/a/show/x"},
		{"/a/show", "/a/show/a/show/x", "a/show/x"},
		{"/a/show", "nothing", "nothing"},
		{"/", "this and/or that", "this and/or that"},
		{"C:/a", `"C:/a/x"`, `"x"`},
	} {
		if got := (sarifHome{folder: tc.folder}).leave(tc.text); got != tc.want {
			t.Errorf("%q without %s is %q, want %q", tc.text, tc.folder, got, tc.want)
		}
	}
}

// Letters, digits and the four signs that RFC 3986 leaves free stand for themselves, and slashes between; all else is written in
// hexadecimal digits.
func TestEscapePath(t *testing.T) {
	const free = "/azbyAZBY0918-._~"
	if got := escapePath(free); got != free {
		t.Errorf("%q becomes %q", free, got)
	}
	if got, want := escapePath("`{@[:/ é%"), "%60%7B%40%5B%3A/%20%C3%A9%25"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Of a log that is too long nine tenths of what would fit are tried next, and fewer than there were, until there are none.
func TestFewerResults(t *testing.T) {
	for _, tc := range []struct{ results, size, want int }{
		{1000, 20_000_000, 450}, {1000, 10_000_001, 899}, {25_000, 100_000_000, 2250}, {10, 10_000_001, 8}, {2, 10_000_001, 1}, {1, 10_000_001, 0},
	} {
		if got := fewer(tc.results, tc.size); got != tc.want {
			t.Errorf("of %d results in %d bytes %d are tried, want %d", tc.results, tc.size, got, tc.want)
		}
	}
}

// A backslash that would escape what was cut goes with it, and where all are, nothing is left.
func TestCutEscapesNothing(t *testing.T) {
	for _, tc := range []struct {
		text string
		most int
		want string
	}{
		{"abcdef", 6, "abcdef"}, {"abcdef", 4, "abc…"}, {`abc\\def`, 5, "abc…"}, {`ab\\\\def`, 5, "ab…"}, {`\\\\\\`, 4, "…"}, {"äöüßé", 3, "äö…"},
	} {
		if got := cut(tc.text, tc.most); got != tc.want {
			t.Errorf("%q at %d is %q, want %q", tc.text, tc.most, got, tc.want)
		}
	}
}
