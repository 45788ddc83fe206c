package source

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Decode turns the bytes of a file into UTF-8 text without a byte order mark
// and says in words what they were. A byte order mark decides; without one,
// text that is valid UTF-8 is UTF-8, text with a NUL in every second byte is
// UTF-16, and anything else is Windows-1252 (the WHATWG Encoding Standard gives
// every byte a meaning there, so nothing is lost). Callers for whom only UTF-8
// will do compare the name.
func Decode(data []byte) (text, name string, err error) {
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
		if _, valid, err := transform.Bytes(encoding.UTF8Validator, data); err != nil {
			return "", "", fmt.Errorf("the file starts with a UTF-8 mark but byte %d is not UTF-8", valid+4)
		}
		return string(data), "UTF-8 with byte order mark", nil
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		return decodeWith(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), data, "UTF-16 (little endian)")
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return decodeWith(unicode.UTF16(unicode.BigEndian, unicode.UseBOM), data, "UTF-16 (big endian)")
	case looksUTF16(data, 1):
		return decodeWith(unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), data, "UTF-16 (little endian)")
	case looksUTF16(data, 0):
		return decodeWith(unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), data, "UTF-16 (big endian)")
	case utf8.Valid(data):
		return string(data), "UTF-8", nil
	default:
		return decodeWith(charmap.Windows1252, data, "Windows-1252")
	}
}

var errHalfUnit = errors.New("the file ends in the middle of a UTF-16 character: it looks cut off")

func decodeWith(enc encoding.Encoding, data []byte, name string) (string, string, error) {
	if len(data)%2 != 0 && name != "Windows-1252" {
		return "", "", errHalfUnit
	}
	text, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return "", "", fmt.Errorf("the file is not %s: %w", name, err)
	}
	return string(text), name, nil
}

// looksUTF16 reports whether the start of the data has a NUL at every second
// byte, as Latin text in UTF-16 has; offset is where the NULs stand.
func looksUTF16(data []byte, offset int) bool {
	const sample = 64
	if len(data) < 4 || len(data)%2 != 0 {
		return false
	}
	n := min(len(data), sample)
	for i := 0; i < n; i += 2 {
		if data[i+offset] != 0 || data[i+1-offset] == 0 {
			return false
		}
	}
	return true
}
