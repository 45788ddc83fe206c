package say

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// OneLine keeps line ends only as blanks, and nothing that a screen obeys.
func OneLine(text string) string {
	return Cap(Clean(strings.Join(strings.Fields(text), " ")))
}

// WithoutTitle takes the title away when an explanation opens with it too.
func WithoutTitle(markdown, title string) string {
	first, rest, _ := strings.Cut(strings.TrimSpace(markdown), "\n")
	if strings.TrimSuffix(strings.TrimLeft(first, "# "), ".") == strings.TrimSuffix(title, ".") {
		return rest
	}
	return markdown
}

// The forms of Markdown that explanations use inside of a line.
var (
	ListMark  = regexp.MustCompile(`^\s*([-*]|\d{1,3}[.)])\s+(.*)$`)
	Emphasis  = regexp.MustCompile(`\*\*([^*]+)\*\*`)
	CodeQuote = regexp.MustCompile("`([^`]+)`")
)

// Verbatim keeps the blanks of a line.
func Verbatim(line string) string { return Clean(strings.ReplaceAll(line, "\t", "    ")) }

// FirstParagraph returns the first paragraph of an explanation that is no heading.
func FirstParagraph(markdown string) string {
	for paragraph := range strings.SplitSeq(strings.ReplaceAll(markdown, "\r\n", "\n"), "\n\n") {
		var lines []string
		for line := range strings.SplitSeq(paragraph, "\n") {
			if !strings.HasPrefix(line, "#") {
				lines = append(lines, line)
			}
		}
		if text := strings.TrimSpace(strings.Join(lines, " ")); text != "" {
			return Plain(text)
		}
	}
	return ""
}

var markdownLink = regexp.MustCompile(`!?\[([^\[\]]*)\]\(([^()\s]*)\)`)

// Plain turns the Markdown of an explanation into plain text. Only what plain
// text would show wrongly is changed: links and the marks of headings.
func Plain(markdown string) string {
	lines := strings.Split(markdownLink.ReplaceAllString(markdown, "$1 ($2)"), "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, "#") {
			lines[i] = strings.TrimLeft(line, "# ")
		}
	}
	return strings.Join(lines, "\n")
}

// CleanLines is Clean for texts of many lines, whatever ends them.
func CleanLines(text string) string {
	return Clean(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text))
}

// Period ends a text with a period, unless it ends like a sentence already.
func Period(text string) string {
	end, _ := utf8.DecodeLastRuneInString(strings.TrimRight(text, `"'”’)`))
	if strings.ContainsRune(".!?…", end) {
		return text
	}
	return text + "."
}

// Straight takes away the line ends that long sentences have in rule files, and
// that a name could have to look like a line of ours.
var Straight = strings.NewReplacer("\n", " ", "\t", " ")

// Longest is how many characters of one text are shown. Ours are far shorter; a
// name in a show can have any length.
const Longest = 1200

// Cap cuts a text that is longer than [Longest] and counts the rest.
func Cap(text string) string {
	characters := 0
	for i := range text {
		if characters == Longest {
			return fmt.Sprintf("%s... (%d bytes more)", text[:i], len(text)-i)
		}
		characters++
	}
	return text
}

// Clean makes text from a show fit for a screen. Control characters but line
// ends and tabs, and characters that cannot be seen, are written as codes: with
// them a name could colour the screen or turn the direction of writing (Unicode
// Standard Annex 9). The two joiners stay, because some scripts need them.
// Whoever writes lines must also see to it that a line end in a name cannot
// start a line of its own.
func Clean(text string) string {
	if strings.IndexFunc(text, unseen) < 0 {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		switch {
		case !unseen(r):
			b.WriteRune(r)
		case r <= 0xFF:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r <= 0xFFFF:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
	}
	return b.String()
}

func unseen(r rune) bool {
	const nonJoiner, joiner = 0x200C, 0x200D
	if r >= ' ' && r < 0x7f { // nearly every text is of these alone
		return false
	}
	switch r {
	case '\n', '\t', nonJoiner, joiner:
		return false
	}
	return r == unicode.ReplacementChar || unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp)
}
