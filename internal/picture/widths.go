package picture

import (
	"strings"
	"unicode"
)

// widths are the advance widths of the characters from space to tilde, in thousandths
// of the size: those of the sans serif face in Adobe's metrics of the fourteen core
// fonts (Helvetica, 1997; from memory), which its usual stand-ins share.
var widths = [95]int16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// boldWidths are the same of its bold.
var boldWidths = [95]int16{
	278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611,
	975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556,
	333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611,
	611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584,
}

const (
	otherWidth = 600  // of a letter that is not in the table
	wideWidth  = 1000 // of one that fills a square, as those of East Asia, of an ellipsis and of an arrow
	boldWider  = 1.08 // by which bold is wider where it is not in the table
)

// Width is how wide a text is at a size, in pixels. It is never less than what a
// screen takes for letters of the table.
func Width(text string, size float64, bold bool) float64 {
	of, wider := &widths, 1.0
	if bold {
		of, wider = &boldWidths, boldWider
	}
	sum := 0.0
	for _, r := range text {
		switch {
		case r >= ' ' && r <= '~':
			sum += float64(of[r-' '])
		case r == '…' || r == '→':
			sum += wideWidth
		case unicode.Is(unicode.Mn, r):
		case r >= 0x1100 && (r <= 0x115f || r >= 0x2e80 && r <= 0xa4cf || r >= 0xac00 && r <= 0xd7a3 || r >= 0xf900 && r <= 0xfaff || r >= 0xff00 && r <= 0xff60 || r >= 0x1f000):
			sum += wideWidth
		default:
			sum += otherWidth * wider
		}
	}
	return sum / 1000 * size
}

// mostLetters is how many letters of a name are shown in a picture; the table has all.
const mostLetters = 28

// Fit cuts a text so that it is no wider than asked for and has at most 28 letters,
// with an ellipsis where something was cut; "" if not even two letters fit. Marks that
// turn the direction of writing are left out.
func Fit(text string, size, width float64, bold bool) string {
	text = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if unicode.In(r, unicode.Cf, unicode.Cc) {
			return ' '
		}
		return r
	}, text)), " ")
	letters := []rune(text)
	if len(letters) <= mostLetters && Width(text, size, bold) <= width {
		return text
	}
	for n := min(len(letters)-1, mostLetters-1); n >= 2; n-- {
		if cut := strings.TrimSpace(string(letters[:n])) + "…"; Width(cut, size, bold) <= width {
			return cut
		}
	}
	return ""
}
