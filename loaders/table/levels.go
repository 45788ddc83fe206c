package table

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// scale is how the levels of a column are written.
type scale string

// The scales. A house file may name the first three.
const (
	percent  scale = "percent"
	bytes    scale = "byte" // 0 to 255, the values of a slot (ANSI E1.11)
	hex      scale = "hex"  // the same with two hexadecimal digits
	fraction scale = "fraction"
)

// levelWords are levels that people write as words, in percent.
var levelWords = map[string]float64{
	"full": 100, "ff": 100, "on": 100, "max": 100, "half": 50, "out": 0, "off": 0, "zero": 0, "dark": 0, "black": 0, "blackout": 0, "min": 0,
}

// wordLevel is the level that a word in small letters stands for. Full may be shortened to
// its first letter and some of the others.
func wordLevel(word string) (pct float64, ok bool) {
	if pct, ok = levelWords[word]; ok {
		return pct, true
	}
	rest, begins := strings.CutPrefix(word, "f")
	if !begins || rest == "" {
		return 0, false
	}
	for _, letter := range "ull" {
		rest = strings.TrimPrefix(rest, string(letter))
	}
	return 100, rest == ""
}

// levelTally counts how the cells of a column could be meant.
type levelTally struct {
	cells, signs, decimals, overHundred, overByte, letters, notHex, fractions, ones, overOne, top, full int
}

func (t *levelTally) add(text string) {
	text = strings.TrimSpace(text)
	if strings.Trim(text, nothing) == "" {
		return
	}
	lower := strings.ToLower(text)
	if lower == "ff" {
		t.cells++
		t.full++
		return
	}
	if _, word := wordLevel(lower); word {
		return
	}
	t.cells++
	if strings.HasSuffix(text, "%") {
		t.signs++
		return
	}
	bare, prefixed := strings.CutPrefix(lower, "0x")
	if prefixed {
		t.letters++
	}
	if _, err := strconv.ParseUint(bare, 16, 16); err != nil || len(bare) != 2 {
		t.notHex++
	} else if strings.Trim(bare, "0123456789") != "" {
		t.letters++
	}
	number, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		return
	}
	switch {
	case number > 255:
		t.overByte++
	case number > 100:
		t.overHundred++
		if number == 255 {
			t.top++
		}
	case number > 1:
		t.overOne++
	case number == 1:
		t.ones++
	case number > 0:
		t.fractions++
	}
	if strings.ContainsAny(text, ".,") {
		t.decimals++
	}
}

// decide says how the column is meant as a whole.
func (t *levelTally) decide() scale {
	switch {
	case t.signs > 0 || t.overByte > 0:
		return percent
	case t.letters > 0 && t.notHex == 0:
		return hex
	case t.decimals == 0 && t.overHundred > 0 && (t.top > 0 || t.full > 0 || t.overHundred >= 2 && 4*t.overHundred >= t.cells):
		return bytes // one number over 100 alone is a slip in a column of percent
	case t.fractions >= 2 && t.ones > 0 && t.overOne+t.overHundred == 0: // some percent are rarer than that
		return fraction
	}
	return percent
}

// words say how levels were read, for the notes of a report.
func (s scale) words(what string, t *levelTally) string {
	switch s {
	case bytes:
		return what + " counted from 0 to 255, so that 51 is 20 % (levels: percent in house.yaml decides otherwise)"
	case hex:
		return what + " in hexadecimal digits from 00 to FF, so that 33 is 20 % (levels: percent in house.yaml decides otherwise)"
	case fraction:
		return what + " as parts of 1, so that 0.2 is 20 % (levels: percent in house.yaml decides otherwise)"
	}
	if t.full > 0 {
		return what + " in percent with FF for full (levels: hex in house.yaml decides otherwise)"
	}
	return ""
}

// survey looks through the rows for how levels are written, once for the column of
// levels, or the columns of channels, and once for those of emitters.
func (s *sheet) survey() {
	s.levels, s.shares = percent, percent
	if s.table.section != "cues" && s.table.section != "readings" {
		return
	}
	var level, share []int
	if i, ok := s.columns["level"]; ok {
		level = append(level, i)
	}
	for _, w := range s.wide {
		level = append(level, w.index)
	}
	for _, e := range s.emitters {
		share = append(share, e.index)
	}
	if len(level)+len(share) == 0 {
		return
	}
	var levels, shares levelTally
	rows := scanner{text: s.text, comma: s.comma, pos: s.pos}
	for n := 0; n < MaxRows && rows.nextFilled(); n++ {
		for _, i := range level {
			if i < len(rows.row) {
				levels.add(rows.row[i].text)
			}
		}
		for _, i := range share {
			if i < len(rows.row) {
				shares.add(rows.row[i].text)
			}
		}
	}
	s.levels, s.shares = levels.decide(), shares.decide()
	byHeader := func(columns []int, as *scale) {
		if len(columns) > 0 {
			if named := scaleIn(s.headers[columns[0]].text); named != "" {
				*as = named
			}
		}
	}
	byHeader(level, &s.levels)
	byHeader(share, &s.shares)
	if decided := scale(s.in.Levels); decided != "" {
		s.levels, s.shares = decided, decided
		s.told = append(s.told, "levels as "+s.in.Levels+", as house.yaml says")
		return
	}
	if words := s.levels.words("levels", &levels); words != "" {
		s.told = append(s.told, words)
	}
	if words := s.shares.words("colours", &shares); words != "" {
		s.told = append(s.told, words)
	}
}

// nothing is what people write into a cell in which nothing should stand.
const nothing = "-–—. "

// scaleIn is the scale that a header names behind the name of its column, such as
// "Level (0-255)"; "" if it names none.
func scaleIn(header string) scale {
	m := scaleForm.FindStringSubmatch(header)
	if len(header) > 100 || m == nil {
		return ""
	}
	switch word := strings.ToLower(m[1]); {
	case strings.HasSuffix(word, "255"), word == "byte", word == "bytes", word == "dmx":
		return bytes
	case strings.HasPrefix(word, "hex"), strings.HasSuffix(word, "ff"):
		return hex
	case strings.HasSuffix(word, "1"):
		return fraction
	}
	return percent
}

var scaleForm = regexp.MustCompile(`(?i)[\s(\[{_-](0\s*(?:-|–|\.\.+|to)\s*(?:255|100|1)|00\s*(?:-|–|\.\.+|to)\s*ff|bytes?|dmx|hex|hexadecimal|%|pct|percent)[\s)\]}]*$`)

// asLevel reads a level as its column is written, or a word that stands for one.
func asLevel(s *sheet, c cell) (value, string) { return s.level(c, s.levels) }

func (s *sheet) level(c cell, as scale) (value, string) {
	text := strings.ToLower(trim(c.text))
	if pct, word := wordLevel(text); word && !(as == hex && text == "ff") {
		if text == "full" {
			return value{source.String, c.text}, "" // the word of the format itself
		}
		return numeric(pct), ""
	}
	switch {
	case as == hex:
		bare := strings.TrimPrefix(text, "0x")
		n, err := strconv.ParseUint(bare, 16, 16)
		if err != nil || n > 255 || len(bare) > 2 {
			return value{}, "is not a level from 00 to FF, in hexadecimal digits as the rest of its column"
		}
		return numeric(float64(n) / 255 * 100), ""
	case as == bytes && !strings.HasSuffix(text, "%"):
		n, err := strconv.ParseUint(text, 10, 16)
		if err != nil || n > 255 {
			return value{}, "is not a level from 0 to 255, as the rest of its column"
		}
		return numeric(float64(n) / 255 * 100), ""
	case as == fraction && !strings.HasSuffix(text, "%"):
		literal, complaint := s.number(c, nil)
		part, err := strconv.ParseFloat(literal, 64)
		if complaint != "" || err != nil || part < 0 || part > 1 {
			return value{}, "is not a level from 0 to 1, as the rest of its column"
		}
		return numeric(part * 100), ""
	}
	if v, complaint := asPercent(s, c); complaint == "" {
		return v, ""
	}
	return value{}, "is not a level from 0 to 100, or Full"
}

// numeric is a number with at most two digits behind the point, which is finer than a
// slot can tell.
func numeric(pct float64) value {
	text := strconv.FormatFloat(pct, 'f', 2, 64)
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	return value{source.Number, text}
}
