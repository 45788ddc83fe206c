package table

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// subjectWords are what exports put before the name of a column to say what the row is
// about, and trailing what they put behind it: "Cue name", "Channel range".
var (
	subjectWords = map[string][]string{
		"patch": {"fixture", "lamp", "light", "unit", "luminaire", "instrument", "dmx", "rig", "patch"},
		"cues":  {"cue", "auto", "lx", "light", "lighting", "scene", "look", "channel", "lamp", "fixture"},
		"order": {"segment", "item", "element", "service", "programme", "program"}, "readings": {"meter", "reading", "measured"},
	}
	trailingWords = []string{"range", "ranges", "list", "value", "values", "text", "used", "code", "info"}
)

// wordyName is the column that a header names once the words that say nothing more are
// left out; "" if it names none.
func (s *sheet) wordyName(header cell) string {
	if len(header.text) > 100 {
		return ""
	}
	bare := withoutUnit(withoutBrackets(header.text))
	words := strings.FieldsFunc(strings.ToLower(bare), func(r rune) bool { return !folds(r) })
	try := func(words []string) string {
		if len(words) == 0 {
			return ""
		}
		word := fold(strings.Join(words, ""))
		if name := s.names[word]; name != "" {
			return name
		}
		for _, c := range s.table.columns {
			if slices.Contains(s.table.weakNames()[c.name], word) {
				return c.name
			}
		}
		return ""
	}
	shorter := words
	for len(shorter) > 1 && slices.Contains(trailingWords, shorter[len(shorter)-1]) {
		shorter = shorter[:len(shorter)-1]
	}
	about := func(words []string) bool {
		return len(words) > 1 && slices.Contains(subjectWords[s.table.section], words[0])
	}
	var tries [][]string
	if about(words) {
		tries = append(tries, words[1:])
	}
	if len(shorter) < len(words) {
		tries = append(tries, shorter)
		if about(shorter) {
			tries = append(tries, shorter[1:])
		}
	}
	for _, words := range tries {
		if name := try(words); name != "" {
			return name
		}
	}
	return ""
}

// recognise takes headers that only nearly bear the name of a column: if the cells
// below could be meant so, and nothing else is that column.
func (s *sheet) recognise() {
	if len(s.unknown) == 0 {
		return
	}
	samples := s.columnSamples()
	s.unknown = slices.DeleteFunc(s.unknown, func(i int) bool {
		name := cmp.Or(s.wordyName(s.headers[i]), s.shortened(s.headers[i], samples[i]))
		if _, has := s.columns[name]; name == "" || has || private(s.headers[i].text) || !s.fits(name, samples[i]) {
			return false
		}
		s.columns[name] = i
		s.told = append(s.told, fmt.Sprintf("%q as %s", source.Shorten(s.headers[i].text), name))
		return true
	})
	s.recogniseName(samples)
}

// shortened is the one column of numbers that is still missing, has a name that begins
// with the header, and could have these cells; "" if there is none or more than one.
func (s *sheet) shortened(header cell, cells []string) string {
	const shortest, least = 3, 2
	word, found := foldCell(header), ""
	if utf8.RuneCountInString(word) < shortest || len(cells) < least {
		return ""
	}
	for name, column := range s.names {
		_, has := s.columns[column]
		if column == found || has || !strings.HasPrefix(name, word) || couldBe[s.formOf(column)] == nil || !s.fits(column, cells) {
			continue
		}
		if found != "" {
			return ""
		}
		found = column
	}
	return found
}

// recogniseName takes the first column of which nobody knows the header, and in which
// nearly each row has words of its own, for the names of lamps or cues where no column
// has them: they are for people, and what is concluded from them is marked as that.
func (s *sheet) recogniseName(samples [][]string) {
	const name, least = "name", 3
	if _, has := s.columns[name]; has || s.table.section != "patch" && s.table.section != "cues" || len(s.columns) < 2 {
		return
	}
	at := slices.IndexFunc(s.unknown, func(i int) bool {
		return !private(s.headers[i].text) && len(samples[i]) >= least && distinctTexts(samples[i]) && !most(isAmount)(samples[i]) && s.nearColumn(s.headers[i].text) == ""
	})
	if at < 0 {
		return
	}
	i := s.unknown[at]
	s.columns[name] = i
	s.unknown = slices.Delete(s.unknown, at, at+1)
	s.told = append(s.told, fmt.Sprintf("%q as name, by what stands in it", source.Shorten(s.headers[i].text)))
}

// dropMisfits lets go of columns in which no cell can be what their name says, if the
// name is one of several for it: "at" is a time, or a level. Two cells at least say so.
func (s *sheet) dropMisfits() {
	const least = 2
	samples := s.columnSamples()
	for i := range s.headers {
		name := ""
		for column, at := range s.columns {
			if at == i {
				name = column
			}
		}
		if name == "duration_s" && s.clock(i, samples) {
			delete(s.columns, name)
			s.told = append(s.told, fmt.Sprintf("%q as times of the clock, which are not read", source.Shorten(s.headers[i].text)))
			continue
		}
		if name == "" || name == fold(s.headers[i].text) || name == s.table.essential || len(samples[i]) < least {
			continue
		}
		if s.aliased(name, s.headers[i]) || slices.ContainsFunc(samples[i], func(text string) bool { return s.fits(name, []string{text}) }) {
			continue
		}
		delete(s.columns, name)
		if other := s.otherwise(s.headers[i], samples[i]); other != "" {
			s.columns[other] = i
			s.told = append(s.told, fmt.Sprintf("%q as %s, since nothing in it can be read as %s", source.Shorten(s.headers[i].text), other, name))
			continue
		}
		s.columns[name] = i // then its cells are wrong, and each is told
	}
}

// clock reports whether what could be lengths are times of the clock: they rise from row
// to row, and either another column has the lengths or there are too many for chance.
func (s *sheet) clock(index int, samples [][]string) bool {
	const many = 5
	before := -1
	for _, text := range samples[index] {
		hours, minutes, ok := strings.Cut(text, ":")
		h, err1 := strconv.Atoi(hours)
		m, err2 := strconv.Atoi(minutes)
		if !ok || err1 != nil || err2 != nil || h > 23 || len(minutes) != 2 || 60*h+m <= before {
			return false
		}
		before = 60*h + m
	}
	other := slices.ContainsFunc(s.unknown, func(i int) bool {
		form := s.seen.of(s.headers[i])
		return slices.ContainsFunc(s.table.weakNames()["duration_s"], func(weak string) bool { return slices.Contains(form[:], weak) })
	})
	return len(samples[index]) >= many || other && len(samples[index]) > 1
}

// aliased reports whether a person said that a header is the column.
func (s *sheet) aliased(column string, header cell) bool {
	return slices.ContainsFunc(s.table.aliases(column, s.in.Aliases), func(alias string) bool { return fold(alias) == foldCell(header) })
}

// otherwise is another column that a header names too, and whose form its cells have.
func (s *sheet) otherwise(header cell, samples []string) string {
	word := foldCell(header)
	for _, c := range s.table.columns {
		if _, has := s.columns[c.name]; !has && slices.Contains(s.table.weakNames()[c.name], word) && s.fits(c.name, samples) {
			return c.name
		}
	}
	return ""
}

// columnSamples are the filled cells of the first rows, by column.
func (s *sheet) columnSamples() [][]string {
	columns := make([][]string, len(s.headers))
	rows := scanner{text: s.text, comma: s.comma, pos: s.pos}
	for n := 0; n < sampleRows && rows.nextFilled(); n++ {
		if s.aside(rows.row) {
			continue
		}
		for i := range columns {
			if i < len(rows.row) {
				if text := trim(rows.row[i].text); text != "" {
					columns[i] = append(columns[i], text)
				}
			}
		}
	}
	return columns
}

// fits reports whether most of the cells could stand in a column.
func (s *sheet) fits(column string, cells []string) bool {
	if is := couldBe[s.formOf(column)]; is != nil {
		return most(is)(cells)
	}
	switch column {
	case "address":
		return most(func(c string) bool { return addressForm.MatchString(c) || wholeForm.MatchString(c) })(cells)
	case "universe", "slot":
		return most(wholeForm.MatchString)(cells)
	}
	return true
}

var wholeForm = regexp.MustCompile(`^[0-9]{1,6}$`)

// couldBe says of the forms that not every text has whether a cell could be one.
var couldBe = map[schema.Form]func(string) bool{
	schema.AsChannel: func(c string) bool {
		return wholeForm.MatchString(strings.TrimSpace(cuePrefix.ReplaceAllString(c, "")))
	},
	schema.AsWhole: wholeForm.MatchString, schema.AsLevel: isLevel, schema.AsPercent: isLevel, schema.AsSeconds: isTime,
	schema.AsNumber: isAmount, schema.AsMetres: isAmount, schema.AsDegrees: isAmount, schema.AsHertz: isAmount, schema.AsLux: isAmount, schema.AsMired: isAmount,
	schema.AsKelvin: within(1000, 25_000), schema.AsCue: cueForm.MatchString,
}

var amountForm = regexp.MustCompile(`^[-+]?[0-9]*[.,]?[0-9]+\s*(?:[°%A-Za-z"']{0,4})$`)

func isAmount(text string) bool { return amountForm.MatchString(text) }

// formOf is how the cells of a column are written.
func (s *sheet) formOf(column string) schema.Form {
	for _, on := range holdersOf[s.table.section] {
		for _, f := range schema.FieldsOf(on) {
			if f.Key == column && len(f.Parts) == 0 {
				return f.Form
			}
			for _, part := range f.Parts {
				if part.Column == column && part.Column != f.Key {
					return part.Form
				}
			}
		}
	}
	return schema.AsText
}

var holdersOf = map[string][]schema.Holder{
	"patch": {schema.OfFixture}, "cues": {schema.OfCue, schema.OfSetting, schema.OfDrive}, "order": {schema.OfSegment, schema.OfDrive}, "readings": {schema.OfReading},
}

var (
	totalForm   = regexp.MustCompile(`^(?i)(?:grand\s+|sub-?\s*)?(?:totals?|sum)\b[\s:=.,]*[0-9.,:]*\s*(?:cues?|units?|fixtures?|lamps?|rows?|items?|channels?|lines?|segments?)?$`)
	footerForm  = regexp.MustCompile(`^(?i)(?:page|sheet|seite)\s+[0-9]+(?:\s*(?:of|/)\s*[0-9]+)?$|^(?:end of (?:list|file|report|cues|patch)|printed\b.*|exported\b.*)$`)
	headingForm = regexp.MustCompile(`^[^0-9]*\pL{2}`)
)

// aside reports whether a row is no row of the list but a total, a foot line or, where
// the first column has the only cell and no number, a heading. A segment or a place may
// have nothing but its name.
func (s *sheet) aside(row []cell) bool {
	filled, first := 0, -1
	for i, c := range row {
		if !c.blank() {
			if filled++; first < 0 {
				first = i
			}
		}
	}
	width := len(s.headers)
	if first < 0 || width < 3 {
		return false
	}
	text := trim(row[first].text)
	switch {
	case len(text) > 200:
		return false
	case totalForm.MatchString(text):
		return 2*filled <= width
	case filled > 1:
		return false
	case footerForm.MatchString(text):
		return true
	}
	return first == 0 && (s.table.section == "patch" || s.table.section == "cues") && headingForm.MatchString(text)
}

// passOver notes a row that is none of the list.
func (s *sheet) passOver() { s.passed = append(s.passed, s.file.Position(s.row[0].start).Line) }

// passedWords says which rows were passed over.
func (s *sheet) passedWords() string {
	const most = 5
	var lines []string
	for _, line := range s.passed[:min(len(s.passed), most)] {
		lines = append(lines, strconv.Itoa(line))
	}
	if len(s.passed) > most {
		lines = append(lines, "…")
	}
	if len(s.passed) == 1 {
		return "without line " + lines[0] + ", which is a heading or a total"
	}
	return "without the lines " + strings.Join(lines, ", ") + ", which are headings or totals"
}

// unitOf is what one of the unit of a header is of the unit that the column has: a
// column "Height (mm)" counts thousandths of a metre.
func (s *sheet) unitOf(column string, header cell) float64 {
	m := unitWord.FindStringSubmatch(header.text)
	if len(header.text) > 100 || m == nil {
		return 1
	}
	word := strings.ToLower(m[1] + m[2] + m[3])
	switch s.formOf(column) {
	case schema.AsMetres:
		// The foot of 0.3048 m and the inch of 25.4 mm are exact (international agreement of 1959).
		return map[string]float64{"mm": 0.001, "millimetres": 0.001, "millimeters": 0.001, "cm": 0.01, "centimetres": 0.01, "centimeters": 0.01, "ft": 0.3048, "feet": 0.3048, "in": 0.0254, "inch": 0.0254, "inches": 0.0254}[word]
	case schema.AsSeconds:
		return map[string]float64{"ms": 0.001, "milliseconds": 0.001, "min": 60, "mins": 60, "minutes": 60}[word]
	}
	return 1
}

// A unit stands in brackets, or as the last word.
var unitWord = regexp.MustCompile(`(?i)[(\[{]\s*([a-z]{1,12})\.?\s*[)\]}]|[\s_.,/-](mm|cm|ft|feet|inch|inches|ms|min|mins|minutes)$|^\s*(mins?|minutes)\.?$`)

// inUnit turns a number of the header's unit into one of the column's. A time with a
// colon in it, or with a unit of its own, says by itself what it is.
func (s *sheet) inUnit(column string, v value, c cell) value {
	factor := s.units[column]
	if factor == 0 || strings.ContainsAny(c.text, ":'\"") || strings.ContainsFunc(c.text, isLetterRune) {
		return v
	}
	number, err := strconv.ParseFloat(v.text, 64)
	if err != nil {
		return v
	}
	v.text = strconv.FormatFloat(rounded(number*factor), 'f', -1, 64)
	return v
}

// rounded takes off what binary fractions add: 4800 mm are 4.8 m. A millionth is finer than anybody measures.
func rounded(v float64) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 6, 64), 64)
	if err != nil || out == 0 { // less than that is kept as it is
		return v
	}
	return out
}
