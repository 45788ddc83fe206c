// Package table reads and writes sections of a show as tables: CSV, as
// spreadsheets and exports have it.
//
// In go the bytes of one file and the section that it holds; out comes the value
// tree that the JSON of the section would have, each value with the place of its
// cell. A newcomer's mistake would be to name a column after an export: a column
// bears the key of its field, and other names are aliases.
package table

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"github.com/agext/levenshtein"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// Limits on what one table may hold. A list of 2,000 cues that sets 40 channels
// one by one in each has 80,000 rows of a dozen cells.
const (
	MaxRows  = 300_000
	MaxCells = 3_000_000 // with something in them
	MaxCell  = 64 << 10  // bytes: more is a quote mark that was forgotten
	MaxItems = 1_000     // in one cell
)

// sheet is one table while it is read: the rows become the value tree that the
// JSON form of the section would have.
type sheet struct {
	in    *format.Input
	table *table
	file  *source.File
	build *source.Builder
	scanner

	looking        bool              // what the table is like is only looked at, and nobody is told
	readable       bool              // the header could be read; known where the table is only looked at
	names          map[string]string // folded header word -> column
	seen           forms             // what cells that may be headers are compared by
	columns        map[string]int    // column -> its index in a row
	headers        []cell
	words          map[string]bool    // all header words, folded
	long           bool               // a row is about channels that a column names
	wide           []wideColumn       // columns of levels, one for each channel
	emitters       []emitterColumn    // columns of one colour of a mix
	levels, shares scale              // how the cells of those are written
	unknown        []int              // headers that no column bears
	told           []string           // what was decided about the table, for the notes
	unnamed        []bool             // by index: a column without a name in which something stood
	units          map[string]float64 // columns whose header names another unit -> what one of it is
	passed         []int              // lines that are headings or totals

	rows, cells int
	line        cell // from the first to the last byte of the row that is read
	subject     finding.Subject

	badCells       int
	points, commas int // decimals seen with either mark
	odd            source.Place
}

// Format is a table with a header row: one row for each fixture, setting,
// segment or reading.
var Format = format.Format{
	Name: "table", Ends: []string{".csv", ".tsv"}, Holds: sections(),
	Sniff: sniff, Read: read, Write: write,
}

// sniff goes by the name: any text could be a table.
func sniff(name, _ string) format.Sure {
	if end := path.Ext(name); strings.EqualFold(end, ".csv") || strings.EqualFold(end, ".tsv") {
		return format.ByName
	}
	return format.No
}

// jsonStarts is how a list or an object begins, and hardly a title above a table.
var jsonStarts = regexp.MustCompile(`^\s*[\[{]\s*(["{}\[\]]|$)`)

// markupStarts is how a page or XML begins.
var markupStarts = regexp.MustCompile(`^\s*<[!?A-Za-z]`)

// noTable says why a text is none that anybody would save as a table, and what to do.
func noTable(text string) (why, hint string) {
	switch {
	case strings.IndexByte(text, 0) >= 0:
		return "it holds a zero byte, which no text does", "if this is a spreadsheet that was renamed, export it as CSV instead"
	case jsonStarts.MatchString(text):
		return "it begins as JSON does", "if it is JSON, let its name end in .json"
	case markupStarts.MatchString(text):
		return "it begins as a page or XML does", "export it as CSV instead"
	}
	return "", ""
}

// read reads a table (RFC 4180, with the liberties that spreadsheets take).
func read(in *format.Input, section string, file *source.File, data string) (format.Part, bool) {
	if !decode(in, file, data) {
		return format.Part{}, false
	}
	s := newSheet(in, section, file)
	if !s.readHeader() {
		return format.Part{}, false
	}
	s.build = source.NewBuilder(file)
	s.build.Begin(source.Array, 0)
	s.table.read(s)
	root := s.build.End(len(file.Text))
	s.afterRows()
	return format.Part{Sections: []format.Section{{Name: section, Root: root}}}, true
}

func newSheet(in *format.Input, section string, file *source.File) *sheet {
	s := &sheet{in: in, table: tableOf(section), file: file, seen: forms{}}
	s.names = s.table.names(in.Aliases)
	s.text = file.Text
	s.comma = s.detectComma()
	return s
}

// decode gives the file its text. Spreadsheets export in several encodings,
// so any that is recognised will do, but never in silence.
func decode(in *format.Input, file *source.File, data string) bool {
	f := finding.Finding{Subjects: []finding.Subject{in.Subject(file)}, Place: source.Place{File: file}}
	text, encoding, err := source.Decode([]byte(data))
	if err != nil {
		f.Message = fmt.Sprintf("%s cannot be read: %s.", file.Name, err)
		in.Fail("encoding", f)
		return false
	}
	file.Encoding = encoding
	if why, hint := noTable(text); why != "" {
		f.Message, f.Hint = fmt.Sprintf("%s is no table: %s.", file.Name, why), hint
		in.Fail("encoding", f)
		return false
	}
	file.Text = text
	if strings.HasPrefix(encoding, "UTF-8") {
		return true
	}
	f.Level, f.Consequence = finding.Note, finding.Later
	f.Message = fmt.Sprintf("%s was read as %s.", file.Name, encoding)
	f.Hint = "export it as UTF-8, so that no letter is taken for another"
	if lost := strings.Count(text, "\uFFFD"); lost > 0 {
		f.Level = finding.Warning
		f.Message = fmt.Sprintf("%s was read as %s, but %d of its characters are damaged.", file.Name, encoding, lost)
		f.Place.Start = strings.Index(text, "\uFFFD")
		f.Place.Stop = f.Place.Start + len("\uFFFD")
	}
	in.Say("encoding", f)
	return true
}

// delimiters are what may stand between columns, with the words for it.
var delimiters = []struct {
	comma byte
	words string
}{
	{',', "a comma between columns"},
	{';', "a semicolon between columns"},
	{'\t', "a tab between columns"},
}

// detectComma finds what stands between the columns: what gives the most known names
// in one of the first rows, then what gives the most rows of one length, then the most
// columns. The first row alone may be a title.
func (s *sheet) detectComma() byte {
	const looked = 12
	best, bestKnown, bestAlike, bestColumns := delimiters[0].comma, -1, false, -1
	for _, d := range delimiters {
		try := scanner{text: s.text, comma: d.comma}
		known, columns, rows, lengths := 0, 0, 0, map[int]int{}
		for rows < looked && try.nextFilled() {
			rows++
			names := 0
			for _, c := range try.row {
				if _, ok := s.names[foldCell(c)]; ok {
					names++
				}
			}
			if names > known || rows == 1 {
				known, columns = names, len(try.row)
			}
			if len(try.row) > 1 {
				lengths[len(try.row)]++
			}
		}
		if rows == 0 {
			return d.comma // nothing but this in the whole file
		}
		alike := false
		for length, count := range lengths {
			if 2*count > rows {
				alike = true
				columns = max(columns, length)
			}
		}
		if known > bestKnown || known == bestKnown && (alike && !bestAlike || alike == bestAlike && columns > bestColumns) {
			best, bestKnown, bestAlike, bestColumns = d.comma, known, alike, columns
		}
	}
	return best
}

// longestHeader is how many bytes a header has at the most that names anything.
const longestHeader = 200

// foldCell folds a header cell; one that is far too long for a name is none.
func foldCell(c cell) string {
	if len(c.text) > longestHeader {
		return ""
	}
	return fold(c.text)
}

func (s *sheet) readHeader() bool {
	s.skipPreamble()
	if !s.nextFilled() {
		s.fileFails("syntax", "the file is empty.", 0, 0)
		return false
	}
	s.setLine()
	if !s.checkFlaws() {
		s.in.Lost()
		return false
	}
	if s.extra > 0 {
		s.fileFails("too-large", fmt.Sprintf("the header has %d columns; at most %d are read.", len(s.row)+s.extra, MaxColumns), s.line.start, s.line.start+1)
		return false
	}
	s.columns = map[string]int{}
	s.words = map[string]bool{}
	for _, c := range s.row {
		s.headers = append(s.headers, c.trimmed())
		s.words[s.seen.of(c)[0]] = true
		s.long = s.long || s.nameOf(c) == "channels"
	}
	s.unnamed = make([]bool, len(s.headers))
	for i := range s.headers {
		s.readHeaderCell(i)
	}
	s.dropMisfits()
	s.takeWeak()
	s.recognise()
	s.readUnits()
	for _, i := range s.unknown {
		if !private(s.headers[i].text) {
			s.unknownColumn(s.headers[i])
		}
	}
	if !s.checkMissing() {
		return false
	}
	s.survey()
	return true
}

// skipPreamble passes over lines above the header, such as the title of an export and
// its date: down to the first row that names the essential column with another beside
// it, or else to the first that fills at least half as many cells as any row near it.
func (s *sheet) skipPreamble() {
	const above, near = 10, 30
	try := scanner{text: s.text, comma: s.comma, pos: s.pos}
	var starts, filled []int
	widest := 0
	for row := 0; row < near; row++ {
		before := try.pos
		if !try.nextFilled() {
			break
		}
		essential, known, cells := false, 0, 0
		for _, c := range try.row {
			name := s.nameOf(c.trimmed())
			if name == "" && c.text != "" {
				name = s.wordyName(c.trimmed())
			}
			essential = essential || name == s.table.essential
			if name != "" || s.table.section == "cues" && channelOf(c.text) != "" {
				known++
			}
			if !c.blank() {
				cells++
			}
		}
		if row <= above && essential && (known > 1 || row == 0) {
			s.skipTo(before, row)
			return
		}
		starts, filled = append(starts, before), append(filled, cells)
		widest = max(widest, cells)
	}
	for row := range min(len(starts), above+1) {
		if 2*filled[row] >= widest {
			s.skipTo(starts[row], row)
			return
		}
	}
}

func (s *sheet) skipTo(pos, rows int) {
	s.pos = pos
	switch {
	case rows == 1:
		s.told = append(s.told, "without the first line, which stands above the header")
	case rows > 1:
		s.told = append(s.told, fmt.Sprintf("without the first %d lines, which stand above the header", rows))
	}
}

// readUnits finds out which headers name another unit than the column has.
func (s *sheet) readUnits() {
	for column, i := range s.columns {
		if factor := s.unitOf(column, s.headers[i]); factor > 0 && factor != 1 {
			if s.units == nil {
				s.units = map[string]float64{}
			}
			s.units[column] = factor
		}
	}
}

// nameOf returns the column that a header names, or "": as it is, or without what
// stands in brackets and without a unit at its end.
func (s *sheet) nameOf(header cell) string {
	for i, form := range s.seen.of(header) {
		if name := s.names[form]; name != "" || i == 0 && len(header.text) > 100 {
			return name
		}
	}
	return ""
}

// withoutBrackets is a header without what stands in brackets.
func withoutBrackets(header string) string {
	if !strings.ContainsAny(header, "([{") {
		return header
	}
	return bracketed.ReplaceAllString(header, "")
}

// withoutUnit is a header without a unit at its end, of which something must keep it apart.
func withoutUnit(header string) string {
	header = trim(header)
	if !strings.ContainsAny(header, " \t\r\n\f_.,/-") {
		return header
	}
	return headerUnit.ReplaceAllString(header, "")
}

var (
	bracketed  = regexp.MustCompile(`\s*[(\[{][^)\]}]*[)\]}]`)
	headerUnit = regexp.MustCompile(`(?i)[\s_.,/-]+(?:s|sec|secs|seconds|ms|min|mins|minutes|m|metres|meters|mm|cm|ft|feet|inch|inches|k|kelvin|lx|lux|deg|degrees|pct|percent|hz|0-255|0-100|%)$`)
)

// takeWeak gives columns that are still missing the headers that may well be meant,
// if each has only one: an id is a channel where nothing else is.
func (s *sheet) takeWeak() {
	if len(s.unknown) == 0 {
		return
	}
	for _, c := range s.table.columns {
		if _, has := s.columns[c.name]; has || c.name == "channels" && len(s.wide) > 0 {
			continue
		}
		for _, weak := range s.table.weakNames()[c.name] {
			at := slices.IndexFunc(s.unknown, func(i int) bool { form := s.seen.of(s.headers[i]); return slices.Contains(form[:], weak) })
			if at < 0 {
				continue
			}
			i := s.unknown[at]
			s.columns[c.name] = i
			s.unknown = slices.Delete(s.unknown, at, at+1)
			s.told = append(s.told, fmt.Sprintf("%q as %s", source.Shorten(s.headers[i].text), c.name))
			break
		}
	}
}

// forms keeps by its text what a header is compared by, folded: all of it, without what stands in
// brackets, and without a unit as well. Each cell that may be one is asked many times.
type forms map[string][3]string

func (f forms) of(header cell) [3]string {
	if known, ok := f[header.text]; ok || len(header.text) > longestHeader {
		return known
	}
	bare := withoutBrackets(header.text)
	is := [3]string{foldCell(header), fold(bare), fold(withoutUnit(bare))}
	f[header.text] = is
	return is
}

func (s *sheet) readHeaderCell(i int) {
	header := s.headers[i]
	if header.blank() {
		s.unnamed[i] = true
		return
	}
	name := s.nameOf(header)
	if name == "" || name == "white_k" && emitterOf(foldCell(header), s.words) != "" {
		if !s.takeColumn(i) {
			s.unknown = append(s.unknown, i)
		}
		return
	}
	first, twice := s.columns[name]
	if !twice {
		s.columns[name] = i
		return
	}
	s.in.Say("column-twice", finding.Finding{
		Level: finding.Error, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "column", Name: name}, s.in.Subject(s.file)},
		Message:  fmt.Sprintf("%q and %q are both the column %s; the first is used.", source.Shorten(s.headers[first].text), source.Shorten(header.text), name),
		Place:    s.place(header),
		Related:  []finding.Related{{Message: "this one is used", Place: s.place(s.headers[first])}},
	})
}

func (s *sheet) unknownColumn(header cell) {
	if s.looking {
		return
	}
	text := source.Shorten(header.text)
	f := finding.Finding{
		Level: finding.Warning, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "column", Name: text}, s.in.Subject(s.file)},
		Message:  fmt.Sprintf("no column of %s is called %q, so it is not read.", s.table.section, text),
		Hint:     `columns for people alone can be called "note" or start with "x_"`,
		Place:    s.place(header),
	}
	if near := s.nearColumn(text); near != "" {
		f.Level, f.Consequence = finding.Error, finding.Dark
		f.Message += fmt.Sprintf(" Did you mean %q?", near)
	}
	s.in.Say("unknown-column", f)
}

// nearColumn is the name of a column that a header may be misspelt from; "" if none is
// near, or the table has that column already. One letter in four, and no short words:
// of those some other word is always near. What stands in brackets and a unit do not count.
func (s *sheet) nearColumn(text string) string {
	const short = 4
	text = withoutUnit(withoutBrackets(text))
	var known []string
	for _, c := range s.table.columns {
		if _, has := s.columns[c.name]; !has {
			known = append(append(known, c.name), c.other...)
		}
	}
	near := spelling.Nearest(text, known)
	word, other := fold(text), fold(near)
	if len(word) < short || len(other) < short || levenshtein.Distance(word, other, nil) > max(1, len(word)/4) {
		return ""
	}
	return near
}

// checkMissing reports the columns without which the table says nothing.
func (s *sheet) checkMissing() bool {
	_, has := s.columns[s.table.essential]
	if !has {
		s.missing(s.table.essential, fmt.Sprintf("%s has no column %s, so nothing in it can be used. Its columns are read as: %s.%s",
			s.file.Name, s.table.essential, s.headerWords(), s.probably()))
		s.in.Lost()
		return false
	}
	_, universe := s.columns["universe"]
	_, slot := s.columns["slot"]
	_, address := s.columns["address"]
	switch {
	case universe && !slot && !address:
		s.missing("slot", fmt.Sprintf("%s has a column for the universe but none for the slot (or address) in it.", s.file.Name))
	case slot && !universe:
		s.missing("universe", fmt.Sprintf("%s has a column for the slot but none for the universe.", s.file.Name))
	}
	return true
}

func (s *sheet) missing(name, message string) {
	s.in.Say("missing-column", finding.Finding{
		Level: finding.Error, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "column", Name: name}, s.in.Subject(s.file)},
		Message:  message,
		Place:    s.place(s.line),
	})
}

func (s *sheet) headerWords() string {
	const most = 12
	var words []string
	for _, h := range s.headers[:min(len(s.headers), most+1)] { // with one more, few sees that there are more
		words = append(words, fmt.Sprintf("%q", source.Shorten(h.text)))
	}
	return few(words, most)
}

// few joins as many words as a sentence bears: most at the most, and no more once they have
// filled some lines. What is left out is an ellipsis.
func few(words []string, most int) string {
	const full = 600 // bytes
	length := 0
	for i, w := range words {
		if i == most || length > full {
			return strings.Join(append(words[:i:i], "…"), ", ")
		}
		length += len(w)
	}
	return strings.Join(words, ", ")
}

// nextRow reads the next row with something in it. usable is false for a row
// whose cells cannot be told apart; that has been said then.
func (s *sheet) nextRow() (usable, ok bool) {
	for {
		if !s.nextFilled() {
			return false, false
		}
		if !s.aside(s.row) {
			break
		}
		s.passOver()
	}
	s.setLine()
	s.rows++
	for i := range s.row {
		s.row[i] = s.row[i].trimmed()
		if s.row[i].text != "" {
			s.cells++
		}
	}
	if s.rows > MaxRows || s.cells > MaxCells {
		s.fileFails("too-large", fmt.Sprintf("the table is too long: at most %d rows and %d filled cells are read, and the rest from here on is not.", MaxRows, MaxCells),
			s.line.start, s.line.start+1)
		return false, false
	}
	s.subject = finding.Subject{}
	if c, ok := s.get(s.table.essential); ok {
		s.subject = finding.Subject{Kind: subjectKinds[s.table.section], Name: source.Shorten(c.text)}
	}
	return s.checkFlaws() && s.checkLength(), true
}

var subjectKinds = map[string]string{"patch": "channel", "cues": "cue", "order": "segment", "readings": "reading"}

func (s *sheet) setLine() {
	s.line = cell{start: s.row[0].start, stop: s.row[len(s.row)-1].stop}
}

// checkFlaws reports stray quote marks and endless cells. It returns false if the
// row, or what is left of the file, cannot be used for them.
func (s *sheet) checkFlaws() bool {
	usable, lost := true, "the row is left out"
	if s.columns == nil {
		lost = "nothing of the table is read"
	}
	for _, flaw := range s.flaws {
		switch flaw.kind {
		case quoteOpen:
			s.fileFails("syntax", "a quote mark opens here and is never closed: it is one too many, or the file is cut off.", flaw.start, flaw.stop)
			usable = false
		case quoteInside:
			s.sayRow("stray-quote", finding.Warning, finding.Later, flaw.start, flaw.stop,
				`a quote mark stands in a cell that is not in quote marks; it is taken as written. A cell with one in it should be written "like ""this""".`)
		case quoteBehind:
			s.sayRow("stray-quote", finding.Error, finding.Dark, flaw.start, flaw.stop,
				fmt.Sprintf("text follows the quote mark that closes the cell, so %s. A quote mark inside a cell should be written twice.", lost))
			usable = false
		}
	}
	for _, c := range s.row {
		if usable && len(c.text) > MaxCell {
			s.sayRow("bad-cell", finding.Error, finding.Dark, c.start, c.start+1,
				fmt.Sprintf("a cell starts here that is %d bytes long, so %s. Probably a quote mark is missing at its end.", len(c.text), lost))
			usable = false
		}
	}
	return usable
}

// checkLength compares a row with the header.
func (s *sheet) checkLength() bool {
	have := len(s.row) + s.extra
	want := len(s.headers)
	surplus := s.extra > 0
	for i := want; i < len(s.row); i++ {
		surplus = surplus || !s.row[i].blank()
	}
	for i := 0; i < min(len(s.row), want); i++ {
		if s.unnamed[i] && !s.row[i].blank() {
			s.unnamed[i] = false // say it once
			s.sayRow("unknown-column", finding.Warning, finding.Later, s.row[i].start, s.row[i].stop,
				fmt.Sprintf("something stands in column %d, which has no name in the header; the column is not read.", i+1))
		}
	}
	switch {
	case surplus:
		s.sayRow("ragged-row", finding.Error, finding.Dark, s.line.start, s.line.stop,
			fmt.Sprintf("the row has %d cells where the header has %d, so it is left out. Text or a number with %s in it should be in quote marks.", have, want, s.commaWord()))
		return false
	case have < want && s.pos >= len(s.text) && !strings.HasSuffix(s.text, "\n") && !strings.HasSuffix(s.text, "\r"):
		s.sayRow("ragged-row", finding.Warning, finding.Dark, s.line.start, s.line.stop,
			fmt.Sprintf("the last row has %d cells where the header has %d, and no line end: the file looks cut off.", have, want))
	case have < want:
		s.sayRow("ragged-row", finding.Warning, finding.Later, s.line.start, s.line.stop,
			fmt.Sprintf("the row has %d cells where the header has %d; the missing ones are taken as empty.", have, want))
	}
	return true
}

func (s *sheet) commaWord() string {
	return map[byte]string{',': "a comma", ';': "a semicolon", '\t': "a tab"}[s.comma]
}

// afterRows says what can only be said of the table as a whole.
func (s *sheet) afterRows() {
	s.subject = finding.Subject{}
	if s.rows == 0 {
		s.sayRow("no-rows", finding.Warning, finding.Dark, s.headers[0].start, s.headers[0].stop,
			fmt.Sprintf("%s has a header and no rows.", s.file.Name))
	}
	var parts []string
	for _, d := range delimiters {
		if d.comma == s.comma && len(s.headers) > 1 {
			parts = append(parts, d.words)
		}
	}
	if len(s.headers) == 1 {
		parts = append(parts, "one column")
	}
	switch {
	case s.commas > 0 && s.points > 0:
		parts = append(parts, "decimal commas and decimal points")
		s.sayRow("mixed-decimals", finding.Warning, finding.Later, s.odd.Start, s.odd.Stop,
			fmt.Sprintf("%s has numbers with a decimal comma and numbers with a decimal point; each mark was read as a decimal one, never as one between thousands.", s.file.Name))
	case s.commas > 0:
		parts = append(parts, "decimal commas")
	case s.points > 0:
		parts = append(parts, "decimal points")
	}
	parts = append(parts, s.told...)
	if len(s.passed) > 0 {
		parts = append(parts, s.passedWords())
	}
	s.in.Note(s.file, append(parts, s.file.Encoding)...)
}

// sawDecimal remembers which decimal mark is in use, and where it first changed.
func (s *sheet) sawDecimal(mark byte, c cell) {
	if mark == ',' {
		s.commas++
	} else {
		s.points++
	}
	if s.odd.File == nil && s.commas > 0 && s.points > 0 {
		s.odd = s.place(c)
	}
}

// get returns a cell of the row by its column; ok is false if it is blank.
func (s *sheet) get(column string) (cell, bool) {
	i, known := s.columns[column]
	if !known || i >= len(s.row) || s.row[i].text == "" {
		return cell{}, false
	}
	return s.row[i], true
}

// value reads a cell of the row; ok is false if it is blank or bad.
func (s *sheet) value(column string, read reading) (v value, c cell, ok bool) {
	c, ok = s.get(column)
	if !ok {
		return value{}, c, false
	}
	v, complaint := read(s, c)
	if complaint != "" {
		s.bad(column, c, complaint)
		return value{}, c, false
	}
	return s.inUnit(column, v, c), c, true
}

// field is a cell that becomes one member of an object.
type field struct {
	key, column string
	read        reading
}

// put writes the members that have a cell in this row.
func (s *sheet) put(fields []field) {
	for _, f := range fields {
		if v, c, ok := s.value(f.column, f.read); ok {
			s.member(f.key, f.column, v, c)
		}
	}
}

// member writes one member, named by its header cell.
func (s *sheet) member(key, column string, v value, c cell) {
	header := s.headers[s.columns[column]]
	s.build.Key(key, header.start, header.stop)
	s.scalar(v, c)
}

func (s *sheet) scalar(v value, c cell) { s.build.Scalar(v.kind, v.text, c.start, c.stop) }

// putObject writes several cells of a row as one object, if any is filled.
func (s *sheet) putObject(key string, fields []field) bool {
	first, last := cell{start: -1}, cell{}
	for _, f := range fields {
		if c, ok := s.get(f.column); ok {
			if first.start < 0 {
				first = c
			}
			last = c
		}
	}
	if first.start < 0 {
		return false
	}
	s.begin(key, source.Object, first)
	s.put(fields)
	s.build.End(max(first.stop, last.stop))
	return true
}

// holds counts the fields that the row gives.
func (s *sheet) holds(fields []field) (n int) {
	for _, f := range fields {
		if _, ok := s.get(f.column); ok {
			n++
		}
	}
	return n
}

// begin opens a list or an object that comes from one or more cells. It is
// printed with the first of them: the header would be far from what is meant.
func (s *sheet) begin(key string, kind source.Kind, c cell) {
	s.build.Key(key, c.start, c.stop)
	s.build.Begin(kind, c.start)
}

// putAim writes what something points at: a name, or a point in three columns.
func (s *sheet) putAim(key, column string) {
	c, named := s.get(column)
	if !named {
		s.putObject(key, aimPoint)
		return
	}
	for _, f := range aimPoint {
		if p, ok := s.get(f.column); ok {
			s.bad(f.column, p, fmt.Sprintf("is a part of a point to aim at, but the row already names %q; the name is used", source.Shorten(c.text)))
			break
		}
	}
	s.member(key, column, value{source.String, c.text}, c)
}

var aimPoint = partsOf(schema.OfSetting, "aim")

// list writes a cell with several words in it as a list.
func (s *sheet) list(key, column string, c cell, separator func(rune) bool) {
	items := listed(c, separator)
	if len(items) > MaxItems {
		s.bad(column, c, fmt.Sprintf("lists more than %d things", MaxItems))
		return
	}
	s.begin(key, source.Array, c)
	for _, item := range items {
		s.scalar(value{source.String, item.text}, item)
	}
	s.build.End(c.stop)
}

// people writes a cell with names of places as a list; a word for nobody is an
// empty one, which says more than a blank cell.
func (s *sheet) people(key, column string, c cell) {
	switch strings.ToLower(trim(c.text)) {
	case "none", "nobody", "no one", "-", "–":
		s.begin(key, source.Array, c)
		s.build.End(c.stop)
		return
	}
	s.list(key, column, c, betweenPeople(c.text))
}

// meanings writes intents such as "black; silhouette: lead singer, keys".
func (s *sheet) meanings(key, column string, c cell) {
	items := listed(c, betweenNames)
	if len(items) > MaxItems {
		s.bad(column, c, fmt.Sprintf("lists more than %d things", MaxItems))
		return
	}
	s.begin(key, source.Array, c)
	for _, item := range items {
		colon := strings.IndexByte(item.text, ':')
		if colon < 0 {
			s.scalar(value{source.String, item.text}, item)
			continue
		}
		word := listed(item.part(0, colon), betweenNames)
		s.build.Begin(source.Object, item.start)
		if len(word) == 1 {
			s.part("intent", value{source.String, word[0].text}, word[0])
		}
		places := item.part(colon+1, len(item.text))
		s.build.Key("places", places.start, places.stop)
		s.build.Begin(source.Array, places.start)
		for _, place := range listed(places, func(r rune) bool { return r == ',' }) {
			s.scalar(value{source.String, place.text}, place)
		}
		s.build.End(places.stop)
		s.build.End(item.stop)
	}
	s.build.End(c.stop)
}

// mostBadCells is how many bad cells are told in words; whoever listens tells fewer.
const mostBadCells = 1_000

// bad reports a cell that does not mean what its column is for.
func (s *sheet) bad(column string, c cell, complaint string) {
	if s.badCells++; s.badCells > mostBadCells {
		s.in.Say("bad-cell", finding.Finding{Place: source.Place{File: s.file}}) // is only counted
		return
	}
	header := s.headers[s.columns[column]].text
	s.sayAbout("bad-cell", column, c.start, c.stop,
		fmt.Sprintf("%q in the column %q %s.", source.Shorten(c.text), source.Shorten(header), complaint), finding.Error, finding.Dark)
}

// sayRow reports something about the row that is read.
func (s *sheet) sayRow(id string, level finding.Level, consequence finding.Consequence, start, stop int, message string) {
	s.sayAbout(id, "", start, stop, message, level, consequence)
}

func (s *sheet) sayAbout(id, detail string, start, stop int, message string, level finding.Level, consequence finding.Consequence) {
	f := finding.Finding{
		Level: level, Consequence: consequence,
		Subjects: []finding.Subject{s.in.Subject(s.file)},
		Detail:   detail,
		Message:  message,
		Place:    source.Place{File: s.file, Start: start, Stop: stop},
	}
	if s.subject.Name != "" {
		f.Subjects = slices.Insert(f.Subjects, 0, s.subject)
	}
	s.in.Say(id, f)
}

// fileFails reports that the file, or the rest of it, cannot be read.
func (s *sheet) fileFails(id, message string, start, stop int) {
	s.in.Fail(id, finding.Finding{
		Subjects: []finding.Subject{s.in.Subject(s.file)},
		Message:  message,
		Place:    source.Place{File: s.file, Start: start, Stop: stop},
	})
}

func (s *sheet) place(c cell) source.Place {
	return source.Place{File: s.file, Start: c.start, Stop: c.stop}
}
