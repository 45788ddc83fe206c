package table

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// value is what a cell means, as a value of the tree.
type value struct {
	kind source.Kind
	text string // the JSON literal of a number
}

// reading makes a value of a cell that is not blank. The complaint is a phrase
// that follows the cell's text, or "" if there is none.
type reading func(s *sheet, c cell) (v value, complaint string)

func asText(_ *sheet, c cell) (value, string) {
	return value{source.String, c.text}, ""
}

// asNumber reads a number with or without the unit of its column behind it.
func asNumber(units ...string) reading {
	return func(s *sheet, c cell) (value, string) {
		literal, complaint := s.number(c, units)
		return value{source.Number, literal}, complaint
	}
}

var (
	asMetres  = asNumber("m")
	asDegrees = asNumber("°", "deg")
	asKelvin  = asNumber("k")
	asHertz   = asNumber("hz")
	asPercent = asNumber("%", "pct")
	asPlain   = asNumber()
)

// asYes reads yes or no.
func asYes(_ *sheet, c cell) (value, string) {
	switch strings.ToLower(trim(c.text)) {
	case "yes", "y", "true", "x", "1":
		return value{source.Bool, "true"}, ""
	case "no", "n", "false", "0":
		return value{source.Bool, "false"}, ""
	}
	return value{}, "is neither yes nor no"
}

var (
	through     = regexp.MustCompile(`(?i)\s*(?:\b(?:thru|through|to)\b|>|\.\.+|–|—)\s*`)
	besides     = regexp.MustCompile(`\s*[+;&|/]\s*`)
	prefixEach  = regexp.MustCompile(`(?i)\b(?:ch|chan|chans|channel|channels)[\s.#]*([0-9])`)
	channelList = regexp.MustCompile(`^[0-9][0-9\s,-]*$`)
)

// asChannels reads which channels a row is about: a group, or numbers and ranges as
// people write them: 1-6,9, 1 thru 6 + 9, Ch 3.
func asChannels(_ *sheet, c cell) (value, string) {
	if _, err := schema.ParseRanges(c.text); err == nil {
		return value{source.String, c.text}, ""
	}
	text := prefixEach.ReplaceAllString(c.text, "$1")
	text = through.ReplaceAllString(text, "-")
	text = besides.ReplaceAllString(text, ",")
	if !channelList.MatchString(text) {
		return value{source.String, c.text}, ""
	}
	return value{source.String, text}, ""
}

// asChannel reads the channel of one fixture.
func asChannel(s *sheet, c cell) (value, string) {
	if n := len(c.text); n > 2 && c.text[0] == '(' && c.text[n-1] == ')' { // as plots write channels
		c = c.part(1, n-1)
	}
	if bare := cuePrefix.FindString(c.text); bare != "" && len(bare) < len(c.text) {
		c = c.part(len(bare), len(c.text))
	}
	if strings.ContainsAny(c.text, ",;+-") {
		if several, err := schema.ParseRanges(c.text); err == nil && several.Count() > 1 {
			return value{}, "names more than one channel; every fixture needs a row of its own, with its own address"
		}
	}
	return asWhole(s, c)
}

func asWhole(s *sheet, c cell) (value, string) {
	literal, complaint := s.number(c, nil)
	if complaint != "" || strings.Contains(literal, ".") {
		return value{}, "is not a whole number"
	}
	return value{source.Number, literal}, ""
}

// cuePrefix is what people write before the number of a cue or channel.
var cuePrefix = regexp.MustCompile(`^(?i)(?:lx|q|cue|ch|chan|channel)?[\s.#]*`)

// asCue reads a cue number. It stays text, because 12.10 says more than 12.1.
func asCue(s *sheet, c cell) (value, string) {
	text := trim(c.text)
	if bare := cuePrefix.FindString(text); len(bare) < len(text) {
		text = text[len(bare):]
	}
	if whole, part, cut := strings.Cut(text, ","); cut && s.decimalComma(c) {
		text = whole + "." + part
	}
	if _, err := schema.ParseCueNumber(text); err != nil {
		return value{}, "is not a cue number such as 12 or 12.5"
	}
	return value{source.String, text}, ""
}

// asSeconds reads seconds, minutes:seconds or hours:minutes:seconds.
func asSeconds(s *sheet, c cell) (value, string) {
	const wanted = "is not a time such as 3, 3.5 or 1:20 (minutes:seconds)"
	parts := strings.Split(trim(c.text), ":")
	if len(parts) == 1 {
		if v, ok := minutes(c.text); ok {
			return v, ""
		}
		literal, complaint := s.number(c, []string{"seconds", "secs", "sec", "s"})
		if complaint != "" {
			return value{}, wanted
		}
		return value{source.Number, literal}, ""
	}
	last := len(parts) - 1
	fraction := ""
	if i := strings.IndexAny(parts[last], ".,"); i >= 0 {
		if parts[last][i] == ',' && !s.decimalComma(c) {
			return value{}, wanted
		}
		s.sawDecimal(parts[last][i], c)
		parts[last], fraction = parts[last][:i], parts[last][i+1:]
	}
	total := 0
	for i, part := range parts {
		n, err := strconv.Atoi(part)
		mostDigits := 2
		if i == 0 {
			mostDigits = 6
		}
		if err != nil || !digits(part) || len(part) > mostDigits || i > 0 && n >= 60 || len(parts) > 3 {
			return value{}, wanted
		}
		total = total*60 + n
	}
	if !digits(fraction) {
		return value{}, wanted
	}
	literal, ok := canonical(strconv.Itoa(total) + "." + fraction)
	if !ok {
		return value{}, wanted
	}
	return value{source.Number, literal}, ""
}

var minuteForm = regexp.MustCompile(`^(?i)(\d{1,4})\s*(?:m|min|mins|minutes|')(?:\s*(\d{1,2})\s*(?:s|sec|secs|seconds|"|\'\')?)?$`)

// minutes reads a time such as 2 min, 1m30s or 1'30".
func minutes(text string) (value, bool) {
	m := minuteForm.FindStringSubmatch(trim(text))
	if m == nil {
		return value{}, false
	}
	whole, _ := strconv.Atoi(m[1])
	rest, _ := strconv.Atoi("0" + m[2])
	return value{source.Number, strconv.Itoa(60*whole + rest)}, true
}

func digits(text string) bool { return strings.Trim(text, "0123456789") == "" }

// decimalComma reports whether a comma in the cell can be a decimal one: not
// where the comma already stands between columns, unless quote marks keep the
// two apart.
func (s *sheet) decimalComma(c cell) bool { return s.comma != ',' || c.quoted }

// number returns the JSON literal of a cell's number, in its shortest form.
// What is not plainly one number (NaN, 0x10, 1,234.5, 1e999) is a complaint.
func (s *sheet) number(c cell, units []string) (literal, complaint string) {
	const wanted = "is not a number such as 3 or 3.5"
	text := trim(c.text)
	for _, unit := range units {
		if n := len(text) - len(unit); n > 0 && strings.EqualFold(text[n:], unit) {
			text = strings.TrimRight(text[:n], blanks)
			break
		}
	}
	mark := strings.IndexAny(text, ".,")
	if mark >= 0 && text[mark] == ',' {
		switch {
		case !s.decimalComma(c):
			return "", wanted
		case s.comma == ',' && looksLikeThousands(text, mark):
			whole, rest := text[:mark], text[mark+1:]
			return "", fmt.Sprintf("could mean %s%s or %s.%s; write the one that is meant", whole, rest, whole, rest)
		}
		text = text[:mark] + "." + text[mark+1:]
	}
	literal, ok := canonical(text)
	if !ok {
		return "", wanted
	}
	if mark >= 0 {
		s.sawDecimal(trim(c.text)[mark], c)
	}
	return literal, ""
}

// looksLikeThousands reports whether a number such as 3,200 may be one with a
// mark between its thousands: three digits behind the comma, and one to three
// before it that are not just 0.
func looksLikeThousands(text string, mark int) bool {
	whole, rest := strings.TrimLeft(text[:mark], "+-"), text[mark+1:]
	return len(rest) == 3 && digits(rest) && len(whole) <= 3 && digits(whole) && strings.Trim(whole, "0") != ""
}

// canonical returns the shortest JSON literal of a decimal number, without an exponent.
func canonical(text string) (string, bool) {
	if shortest(text) {
		return text, true
	}
	if strings.Trim(text, "0123456789.eE+-") != "" {
		return "", false
	}
	number, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(number, 0) {
		return "", false
	}
	return strconv.FormatFloat(number, 'f', -1, 64), true
}

// shortest reports whether a number certainly stands in its shortest form: up to
// 15 digits, which a float64 keeps, and no needless zero. Most numbers do.
func shortest(text string) bool {
	const kept = 15
	whole, fraction, point := strings.Cut(text, ".")
	switch {
	case len(text) > kept || whole == "" || !digits(whole) || !digits(fraction),
		whole[0] == '0' && whole != "0",
		point && (fraction == "" || fraction[len(fraction)-1] == '0'):
		return false
	}
	return true
}

// listed splits a cell at any of the separators and drops what is blank.
func listed(c cell, separator func(rune) bool) []cell {
	var items []cell
	from := 0
	add := func(to int) {
		item := c.part(from, to)
		lead := len(item.text) - len(strings.TrimLeft(item.text, blanks+"\n"))
		trail := len(strings.TrimRight(item.text, blanks+"\n"))
		if lead < trail {
			items = append(items, c.part(from+lead, from+trail))
		}
	}
	for i, r := range c.text {
		if separator(r) {
			add(i)
			from = i + len(string(r))
		}
	}
	add(len(c.text))
	return items
}

// betweenNames tells names apart; a comma or a space may be part of one.
func betweenNames(r rune) bool { return strings.ContainsRune("+;|\n", r) }

// betweenPeople tells names of places apart: at commas too, where nothing else
// stands between them.
func betweenPeople(text string) func(rune) bool {
	if strings.ContainsFunc(text, betweenNames) {
		return betweenNames
	}
	return func(r rune) bool { return r == ',' }
}

// betweenColours tells colours apart, which have neither commas nor spaces in them.
func betweenColours(r rune) bool { return strings.ContainsRune("+;|,\n"+blanks, r) }

// share is one part of a colour mix: "red=100".
type share struct{ name, amount cell }

// shares reads "red=100 deep blue=20". The text up to an equals sign is a name,
// the number behind it ends it, and what separates one from the next is free.
func shares(c cell) ([]share, bool) {
	const separators = "+;|,\n" + blanks
	var list []share
	for at := 0; ; {
		at += len(c.text[at:]) - len(strings.TrimLeft(c.text[at:], separators))
		if at == len(c.text) {
			return list, len(list) > 0
		}
		equals := strings.IndexByte(c.text[at:], '=')
		name := strings.TrimRight(c.text[at:at+max(equals, 0)], blanks)
		if name == "" || strings.ContainsAny(name, "+;|\n") {
			return nil, false
		}
		from := at + equals + 1
		from += len(c.text[from:]) - len(strings.TrimLeft(c.text[from:], blanks))
		amount := numberAt(c.text[from:])
		if amount == 0 {
			return nil, false
		}
		list = append(list, share{c.part(at, at+len(name)), c.part(from, from+amount)})
		at = from + amount
		if at < len(c.text) && c.text[at] == '%' {
			at++
		}
		if at < len(c.text) && !strings.ContainsAny(c.text[at:at+1], separators) && !strings.HasPrefix(c.text[at:], "\u00a0") {
			return nil, false
		}
	}
}

// numberAt returns how many bytes of a number the text starts with. A comma
// counts only before a digit, since otherwise it separates.
func numberAt(text string) int {
	n := 0
	for n < len(text) {
		switch b := text[n]; {
		case b >= '0' && b <= '9', b == '.', b == '-' && n == 0:
		case b == ',' && n > 0 && n+1 < len(text) && text[n+1] >= '0' && text[n+1] <= '9':
		default:
			return withDigits(text[:n])
		}
		n++
	}
	return withDigits(text)
}

func withDigits(text string) int {
	if !strings.ContainsAny(text, "0123456789") {
		return 0
	}
	return len(text)
}

// blade is one shutter cut: "left 20/15" is the left blade 20 % in, turned by 15 degrees.
type blade struct{ side, depth, angle cell }

// blades reads "top 30, left 20/15".
func blades(c cell) ([]blade, bool) {
	const separators = "+;|,\n" + blanks
	var list []blade
	for at := 0; ; {
		at += len(c.text[at:]) - len(strings.TrimLeft(c.text[at:], separators))
		if at == len(c.text) {
			return list, len(list) > 0
		}
		letters := 0
		for at+letters < len(c.text) && isLetter(c.text[at+letters]) {
			letters++
		}
		if letters == 0 {
			return nil, false
		}
		b := blade{side: c.part(at, at+letters)}
		at += letters
		at += len(c.text[at:]) - len(strings.TrimLeft(c.text[at:], blanks))
		if n := numberAt(c.text[at:]); n > 0 {
			b.depth = c.part(at, at+n)
			at += n
			at += len(c.text[at:]) - len(strings.TrimLeft(c.text[at:], "%"))
		}
		if at < len(c.text) && c.text[at] == '/' {
			n := numberAt(c.text[at+1:])
			if n == 0 {
				return nil, false
			}
			b.angle = c.part(at+1, at+1+n)
			at += 1 + n
			at += len(c.text[at:]) - len(strings.TrimLeft(c.text[at:], "°"))
		}
		list = append(list, b)
	}
}

func isLetter(b byte) bool { return b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' }
