package source

import (
	"strings"
	"testing"
)

func TestDecode(t *testing.T) {
	for _, tc := range []struct {
		name, data, text, encoding string
	}{
		{"plain", "Grün", "Grün", "UTF-8"},
		{"empty", "", "", "UTF-8"},
		{"UTF-8 mark", "\xEF\xBB\xBFa", "a", "UTF-8 with byte order mark"},
		{"UTF-16 LE mark", "\xFF\xFEa\x00\xFC\x00", "aü", "UTF-16 (little endian)"},
		{"UTF-16 BE mark", "\xFE\xFF\x00a\x00\xFC", "aü", "UTF-16 (big endian)"},
		{"UTF-16 LE without mark", "a\x00b\x00c\x00", "abc", "UTF-16 (little endian)"},
		{"UTF-16 BE without mark", "\x00a\x00b\x00c", "abc", "UTF-16 (big endian)"},
		{"surrogate pair", "\xFF\xFE\x3D\xD8\x00\xDE", "😀", "UTF-16 (little endian)"},
		{"UTF-16 whose letters are Greek behind the first 64 bytes", strings.Repeat("a\x00", 32) + "\xB1\x03", strings.Repeat("a", 32) + "α", "UTF-16 (little endian)"},
		{"NULs whose second byte is one at the end of the first 64", strings.Repeat("a\x00", 31) + "\x01\x03", strings.Repeat("a\x00", 31) + "\x01\x03", "UTF-8"},
		{"Windows-1252", "Gr\xFCn \x80", "Grün €", "Windows-1252"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			text, encoding, err := Decode([]byte(tc.data))
			if err != nil || text != tc.text || encoding != tc.encoding {
				t.Errorf("got %q, %s, %v; want %q, %s", text, encoding, err, tc.text, tc.encoding)
			}
		})
	}
	for name, data := range map[string]string{
		"cut off":             "\xFF\xFEa\x00b",
		"byte 4 is not UTF-8": "\xEF\xBB\xBF\xFF",
		"byte 6 is not UTF-8": "\xEF\xBB\xBFab\xFF",
		"byte 9 is not UTF-8": "\xEF\xBB\xBFé\uFFFD\xC3a\xFF", // a letter that is cut off, behind one that stands for others
		"byte 5 is not UTF-8": "\xEF\xBB\xBFa\xC3",
	} {
		if _, _, err := Decode([]byte(data)); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%q: got %v, want ...%s...", data, err, name)
		}
	}
}
