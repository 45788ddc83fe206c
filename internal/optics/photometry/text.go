package photometry

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"
)

const (
	maxCount = 10_000 // angles or lamp sets; no instrument makes more, and a lying count must not ask for memory
	bom      = "\ufeff"

	// maxBytes bounds what a file can ask for before it is understood. One with a tenth of a degree in one direction and
	// one degree in the other, the finest known here, has under 5 MB. Common practice, no source.
	maxBytes = 8 << 20
)

// open cuts a file into lines, or refuses it for its size.
func (p *problems) open(data []byte) (lines []string, ok bool) {
	if len(data) > maxBytes {
		p.add(Error, "too-large", 0, "the file has %d bytes; a photometric file has at most %d", len(data), maxBytes)
		return nil, false
	}
	if bytes.HasPrefix(data, []byte(bom)) {
		p.pedantic("line-structure", 1, "the file begins with a byte order mark")
	}
	return textLines(data), true
}

// textLines cuts a file into lines at LF, CR LF or CR, as UTF-8. Bytes from 0x80 that are not valid UTF-8 mean that the
// file is Windows-1252. An end-of-file mark of old systems (0x1A) at the very end goes.
func textLines(data []byte) []string {
	data = bytes.TrimPrefix(bytes.TrimRight(data, "\x1a"), []byte(bom))
	text := string(data)
	if !utf8.ValidString(text) {
		text = windows1252(data)
	}
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	return strings.Split(strings.TrimSuffix(text, "\n"), "\n")
}

// windows1252High are the characters at 0x80 to 0x9F (Unicode Consortium mapping table CP1252.TXT); the rest of the code
// page is that of Unicode. Five places are not assigned.
var windows1252High = [32]rune{
	'€', utf8.RuneError, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', utf8.RuneError, 'Ž', utf8.RuneError,
	utf8.RuneError, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', utf8.RuneError, 'ž', 'Ÿ',
}

func windows1252(data []byte) string {
	var b strings.Builder
	for _, c := range data {
		if c >= 0x80 && c < 0xA0 {
			b.WriteRune(windows1252High[c-0x80])
		} else {
			b.WriteRune(rune(c))
		}
	}
	return b.String()
}

// parseNumber reads a plain decimal number. strconv alone would also take "NaN", "Inf", hexadecimal and underscores.
func parseNumber(s string) (float64, bool) {
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && finite(v)
}

// whole is v as a count from 1 to maxCount.
func whole(v float64) (int, bool) {
	if !(v >= 1 && v <= maxCount) || v != float64(int(v)) {
		return 0, false
	}
	return int(v), true
}

// number is one number of a stream: where it stood and whether it began its line.
type number struct {
	value float64
	line  int
	first bool
}

func values(numbers []number) []float64 {
	list := make([]float64, len(numbers))
	for i, n := range numbers {
		list[i] = n.value
	}
	return list
}

// checkAscending reports angles that do not ascend. Equal neighbours can be read, so a lenient reader warns only.
func checkAscending(p *problems, name string, angles []number) {
	equal := 0
	for i := 1; i < len(angles); i++ {
		switch {
		case angles[i].value < angles[i-1].value:
			p.add(Error, "angle-order", angles[i].line, "%s angle %g comes after %g: they must ascend", name, angles[i].value, angles[i-1].value)
			return
		case angles[i].value == angles[i-1].value && equal == 0:
			equal = i
		}
	}
	if equal > 0 {
		p.mendable("angle-order", angles[equal].line, "%s angle %g is listed twice", name, angles[equal].value)
	}
}

// scaleCandela turns stored intensities into candelas: negative ones become 0 with a warning, and a product that leaves
// the range of numbers is refused.
func scaleCandela(p *problems, stored []number, factor float64) []float64 {
	candela := make([]float64, len(stored))
	negative, firstLine := 0, 0
	for i, n := range stored {
		switch v := n.value * factor; {
		case !finite(v):
			p.add(Error, "bad-number", n.line, "intensity %g times %g is too large", n.value, factor)
			return nil
		case v < 0:
			if negative++; negative == 1 {
				firstLine = n.line
			}
		default:
			candela[i] = v
		}
	}
	if negative > 0 {
		p.mendable("negative-candela", firstLine, "%d of %d intensities are below 0; read as 0", negative, len(stored))
	}
	return candela
}
