package table

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

// Section tells which section the columns of a table look like; "" if none of them.
// The name of the file decides between two that are equally near.
func Section(name, text string, aliases map[string][]string) string {
	if s := likest(glances(name, text, aliases, forms{})); s != nil {
		return s.table.section
	}
	return ""
}

// glance reads the header of a table as that of one section, and says nothing of it.
func (t *table) glance(name, text string, aliases map[string][]string, seen forms) *sheet {
	s := newSheet(format.Quiet(format.Options{Aliases: aliases}), t.section, &source.File{Name: name, Text: text})
	s.looking, s.seen = true, seen
	s.readable = s.readHeader()
	return s
}

// glances reads a header as that of each section.
func glances(name, text string, aliases map[string][]string, seen forms) []*sheet {
	var list []*sheet
	for i := range tables {
		list = append(list, tables[i].glance(name, text, aliases, seen))
	}
	return list
}

// likest is the glance that has the most telling columns; nil if none has any.
func likest(list []*sheet) *sheet {
	var best *sheet
	most := 0
	for _, s := range list {
		score := s.likeness()
		if score == 0 {
			continue
		}
		if s.namedSo() {
			score++
		}
		if score > most {
			best, most = s, score
		}
	}
	return best
}

// namedSo reports whether the file bears the name of the section.
func (s *sheet) namedSo() bool {
	return strings.Contains(strings.ToLower(s.file.Name), strings.TrimSuffix(s.table.section, "s"))
}

// telling are columns that only one section has, in the first words of people.
var telling = map[string][]string{
	"patch":    {"address", "universe", "type", "purpose", "hung_on", "mode", "circuit", "aimed_at", "hung_x"},
	"cues":     {"level", "channels", "in_s", "out_s", "segment", "tracking", "follow_s"},
	"order":    {"kind", "start_cue", "duration_s", "mood"},
	"readings": {"lx", "plane", "white_k", "height_m", "accuracy_pct", "cue", "channels"},
}

// likeness counts the telling columns of a table, if it has the essential one.
func (s *sheet) likeness() int {
	const least = 2
	if !s.readable {
		return 0
	}
	score := 0
	for _, column := range telling[s.table.section] {
		if _, has := s.columns[column]; has {
			score++
		}
	}
	score += min(len(s.wide), 3)
	if _, lux := s.columns["lx"]; s.table.section == "readings" && !lux {
		return 0 // the other columns stand in other tables too
	}
	if score < least {
		return 0
	}
	return score
}

// guess is what a column probably is.
type guess struct {
	index   int
	column  string // "" if nobody can tell
	why     string
	samples []string
}

// sampleRows is how many rows are looked at to see what a column holds.
const sampleRows = 200

// mapping guesses what the columns are that bear no name of the section: by what stands
// in them first, and by what they are called second.
func (s *sheet) mapping() []guess {
	columns := s.columnSamples()
	taken := map[string]bool{}
	list := make([]guess, len(s.headers))
	for i := range list {
		list[i] = guess{index: i, samples: samplesOf(columns[i])}
		for name, at := range s.columns {
			if at == i {
				list[i].column, list[i].why = name, "its name"
				taken[name] = true
			}
		}
	}
	named := make([]bool, len(s.headers)) // it has a name in another table, so it is no misnomer here, or that of a channel or an emitter
	for _, w := range s.wide {
		named[w.index] = true
	}
	for _, e := range s.emitters {
		named[e.index] = true
	}
	for i, header := range s.headers {
		for _, t := range tables {
			named[i] = named[i] || t.section != s.table.section && len(s.headers) > 1 && t.plainly(s.seen.of(header)[0])
		}
	}
	for _, look := range looksLike[s.table.section] {
		if taken[look.column] {
			continue
		}
		for i := range list {
			if list[i].column == "" && !named[i] && len(columns[i]) > 0 && look.is(columns[i]) {
				list[i].column, list[i].why = look.column, look.why
				taken[look.column] = true
				break
			}
		}
	}
	return list
}

// plainly reports whether a folded header is a column of the table by its first names.
func (t *table) plainly(word string) bool { return ownNames()[t.section][word] != "" }

func samplesOf(cells []string) []string {
	const most = 3
	var samples []string
	for _, text := range cells {
		if !slices.Contains(samples, text) {
			samples = append(samples, shortSample(text))
		}
		if len(samples) == most {
			break
		}
	}
	return samples
}

func shortSample(text string) string {
	const most = 16
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most-1]) + "…"
	}
	return text
}

// looks is what the cells of a column look like, most telling first.
type looks struct {
	column, why string
	is          func(cells []string) bool
}

var (
	addressForm = regexp.MustCompile(`^[A-Za-z0-9]{1,5}\s?[./:]\s?[0-9]{1,3}$`)
	hexColour   = regexp.MustCompile(`^#[0-9A-Fa-f]{6}$`)
	clockForm   = regexp.MustCompile(`^\d{1,3}:\d{2}$`)
	rangesForm  = regexp.MustCompile(`^(?i)(?:ch|chan)?\s*[0-9]{1,5}(?:\s*(?:[-,+;&>/]|thru|to)\s*[0-9]{1,5})*$`)
	numberForm  = regexp.MustCompile(`^-?[0-9]+(?:[.,][0-9]+)?$`)
	cueForm     = regexp.MustCompile(`^(?i)(?:lx|q|cue)?\s*[0-9]{1,5}(?:[.,][0-9]{1,3})?$`)
)

var looksLike = map[string][]looks{
	"patch": {
		{"address", "a universe and a slot in each row", all(addressForm.MatchString)},
		{"channel", "another whole number in each row", distinctWholes},
		{"purpose", "words for what lamps are for", most(isPurpose)},
		{"white_k", "numbers like kelvins", all(within(1800, 12_000))},
		{"type", "few different texts, each in several rows", repeated},
		{"hung_on", "few different texts, each in several rows", repeated},
		{"name", "another text in nearly each row", distinctTexts},
	},
	"cues": {
		{"cue", "numbers that never fall", rising},
		{"colour", "colours with six hexadecimal digits", all(hexColour.MatchString)},
		{"channels", "channel numbers or ranges of them", all(rangesForm.MatchString)},
		{"level", "levels", all(isLevel)},
		{"white_k", "numbers like kelvins", all(within(1800, 12_000))},
		{"in_s", "times", all(isTime)},
		{"segment", "few different texts, each in several rows", repeated},
		{"name", "another text in nearly each row", distinctTexts},
	},
	"order": {
		{"start_cue", "numbers that never fall", rising},
		{"duration_s", "times", all(isTime)},
		{"kind", "words for kinds of segment", most(isKind)},
		{"name", "another text in nearly each row", distinctTexts},
	},
	"readings": {
		{"white_k", "numbers like kelvins", all(within(1800, 12_000))},
		{"lx", "numbers like lux", all(numberForm.MatchString)},
		{"place", "texts", distinctTexts},
	},
}

func all(is func(string) bool) func([]string) bool {
	return func(cells []string) bool { return !slices.ContainsFunc(cells, func(c string) bool { return !is(c) }) }
}

// most is for words of people, who have words of their own too.
func most(is func(string) bool) func([]string) bool {
	return func(cells []string) bool {
		count := 0
		for _, c := range cells {
			if is(c) {
				count++
			}
		}
		return 2*count > len(cells)
	}
}

func within(low, high float64) func(string) bool {
	return func(text string) bool {
		number, err := strconv.ParseFloat(strings.TrimRight(text, "kK "), 64)
		return err == nil && number >= low && number <= high
	}
}

func isLevel(text string) bool {
	if _, word := wordLevel(strings.ToLower(text)); word {
		return true
	}
	bare := strings.TrimSpace(strings.TrimSuffix(text, "%"))
	number, err := strconv.ParseFloat(strings.Replace(bare, ",", ".", 1), 64)
	if err == nil {
		return number >= 0 && number <= 255
	}
	_, err = strconv.ParseUint(strings.TrimPrefix(strings.ToLower(text), "0x"), 16, 8)
	return err == nil && len(text) <= 4
}

func isTime(text string) bool {
	for _, half := range strings.Split(text, "/") {
		half = trim(half)
		if number, err := strconv.ParseFloat(strings.Replace(strings.TrimRight(half, " smincde"), ",", ".", 1), 64); (err != nil || number < 0 || number > 3600) && !clockForm.MatchString(half) {
			return false
		}
	}
	return true
}

var purposeWords = []string{"key", "fill", "back", "side", "top", "wash", "beam", "effect", "house", "practical", "haze", "front", "special"}

func isPurpose(text string) bool {
	for _, word := range strings.Fields(strings.ToLower(text)) {
		if slices.Contains(purposeWords, word) {
			return true
		}
	}
	return false
}

var kindWords = []string{"opening", "welcome", "song", "reading", "prayer", "talk", "film", "interview", "communion", "notices", "closing", "changeover"}

func isKind(text string) bool { return slices.Contains(kindWords, strings.ToLower(text)) }

func distinctWholes(cells []string) bool {
	seen := map[string]bool{}
	for _, c := range cells {
		c = strings.TrimSpace(cuePrefix.ReplaceAllString(c, ""))
		if !digits(c) || c == "" || len(c) > 5 || seen[c] {
			return false
		}
		seen[c] = true
	}
	return true
}

func rising(cells []string) bool {
	before := -1.0
	for _, c := range cells {
		if !cueForm.MatchString(c) {
			return false
		}
		number, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(cuePrefix.ReplaceAllString(c, "")), ",", ".", 1), 64)
		if err != nil || number < before {
			return false
		}
		before = number
	}
	return before > 0
}

func distinct(cells []string) int {
	seen := map[string]bool{}
	for _, c := range cells {
		seen[c] = true
	}
	return len(seen)
}

func hasLetters(cells []string) bool {
	return most(func(c string) bool { return strings.ContainsFunc(c, isLetterRune) })(cells)
}

func isLetterRune(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r > 0x7f }

func repeated(cells []string) bool {
	return hasLetters(cells) && len(cells) >= 3 && 2*distinct(cells) <= len(cells)
}

func distinctTexts(cells []string) bool {
	return len(cells) > 1 && hasLetters(cells) && 2*distinct(cells) > len(cells)
}

// lines are the columns that a house file would have to name, as one line of YAML.
func (s *sheet) lines(list []guess) string {
	part := s.houseColumns(list)
	if part == "" {
		return ""
	}
	return "columns: {" + part + "}"
}

// houseColumns is what the line says of this table.
func (s *sheet) houseColumns(list []guess) string {
	var parts []string
	for _, g := range list {
		if g.column == "" || s.nameOf(s.headers[g.index]) == g.column {
			continue
		}
		parts = append(parts, g.column+": ["+quoted(s.headers[g.index].text)+"]")
	}
	if len(parts) == 0 {
		return ""
	}
	return fmt.Sprintf("%s: {%s}", s.table.section, strings.Join(parts, ", "))
}

func quoted(text string) string {
	data, _ := json.Marshal(text)
	return string(data)
}

// probably says in a sentence what the columns of a table are that cannot be read, and
// what to write down to have it read so.
func (s *sheet) probably() string {
	if s.looking {
		return ""
	}
	if other := likest(glances("", s.text, s.in.Aliases, s.seen)); other != nil && other.table != s.table {
		return fmt.Sprintf(" By its columns it is %s.", map[string]string{"patch": "a patch", "cues": "a cue list", "order": "a running order", "readings": "a list of readings"}[other.table.section])
	}
	list := s.mapping()
	var words []string
	essential := false
	for _, g := range list {
		if g.column != "" && g.why != "its name" {
			words = append(words, fmt.Sprintf("%q is %s (%s)", source.Shorten(s.headers[g.index].text), g.column, g.why))
		}
		essential = essential || g.column == s.table.essential
	}
	if !essential || len(words) == 0 {
		return ""
	}
	const longest = 600 // bytes of a line that somebody would copy out of a sentence
	line := s.lines(list)
	if len(line) > longest {
		return " Probably " + few(words, len(words)) + ". cueproof schema --columns with the file says the line of house.yaml that has it read so."
	}
	return " Probably " + few(words, len(words)) + ". To have it read so, house.yaml needs the line: " + line + " (cueproof schema --columns with the file says more)."
}

// Text is a table to be looked at: the name of its file and what stands in it.
type Text struct {
	Name, Text string
	Section    string // that its name says; "" to see by its columns
}

// Mappings describes tables to a person: what stands in their columns, what each
// probably is and why, what is missing, and the line that makes the program read all of
// them so. An error is that one of them is no table.
func Mappings(tables []Text, aliases map[string][]string) (string, error) {
	var told strings.Builder
	var lines []string
	for i, t := range tables {
		if i > 0 {
			told.WriteByte('\n')
		}
		text, line, err := mapped(t.Name, t.Text, t.Section, aliases)
		if err != nil {
			return "", err
		}
		told.WriteString(text)
		if line != "" {
			lines = append(lines, line)
		}
	}
	if len(lines) > 0 {
		them := map[bool]string{true: "it", false: "them"}[len(tables) == 1]
		fmt.Fprintf(&told, "\nTo have %s read so, write this into house.yaml in the folder of the show, after a look at whether it is right\n"+
			"(where house.yaml has columns already, put what stands between the outer braces behind what is there):\n\ncolumns: {%s}\n", them, strings.Join(lines, ", "))
	}
	return told.String(), nil
}

func mapped(name, text, section string, aliases map[string][]string) (words, line string, err error) {
	if why, hint := noTable(text); why != "" {
		return "", "", fmt.Errorf("%s is no table: %s; %s", name, why, hint)
	}
	var s *sheet
	if section != "" {
		s = tableOf(section).glance(name, text, aliases, forms{})
	} else {
		list := glances(name, text, aliases, forms{})
		if s = likest(list); s == nil {
			s = probable(list)
		}
	}
	var told strings.Builder
	list := s.mapping()
	switch {
	case s.headers == nil:
		return "", "", fmt.Errorf("%s is no table: it has no header that can be read", name)
	case len(list) == 1 && list[0].column == "":
		return "", "", fmt.Errorf("%s is no table: nothing in it is set apart by commas, semicolons or tabs", name)
	}
	fmt.Fprintf(&told, "%s, as %s:\n\n", name, s.table.section)
	wide := map[int]string{}
	for _, w := range s.wide {
		wide[w.index] = "the levels of channel " + w.channel
	}
	for _, e := range s.emitters {
		wide[e.index] = e.name + " of the mix"
	}
	for _, g := range list {
		is, why := g.column, g.why
		if text, ok := wide[g.index]; ok {
			is, why = text, "its name"
		}
		if is == "" {
			is, why = "not read", "nobody can tell what it is"
		}
		samples := strings.Join(g.samples, ", ")
		if samples == "" {
			samples = "empty"
		}
		fmt.Fprintf(&told, "  %q (%s): %s, by %s\n", source.Shorten(s.headers[g.index].text), samples, is, why)
	}
	found := map[string]bool{}
	for _, g := range list {
		found[g.column] = true
	}
	if !found[s.table.essential] {
		fmt.Fprintf(&told, "\nMissing: %s, without which nothing in the table can be used.\n", s.table.essential)
	}
	var useful []string
	for _, column := range wanted[s.table.section] {
		if !found[column] && !(len(s.wide) > 0 && (column == "channels" || column == "level")) {
			useful = append(useful, column)
		}
	}
	if len(useful) > 0 {
		fmt.Fprintf(&told, "\nUseful, and not there: %s.\n", strings.Join(useful, ", "))
	}
	line = s.houseColumns(list)
	if line == "" && s.readable {
		fmt.Fprintf(&told, "\nIt can be read as it is.\n")
	}
	return told.String(), line, nil
}

// wanted are the columns with which a section says what most checks need.
var wanted = map[string][]string{
	"patch": {"address", "type", "purpose", "hung_on", "aimed_at"},
	"cues":  {"channels", "level", "in_s"}, "order": {"kind", "start_cue", "people"}, "readings": {"lx"},
}

// probable is the glance of which most columns can be guessed; that of cues where none can.
func probable(list []*sheet) *sheet {
	var best *sheet
	most := -1
	for _, s := range list {
		score := 0
		columns := s.mapping()
		for _, g := range columns {
			if g.column != "" {
				score++
			}
			if g.column == s.table.essential {
				score++
			}
		}
		if s.namedSo() {
			score += 2
		}
		if s.table.section == "patch" && !slices.ContainsFunc(columns, func(g guess) bool {
			return g.column == "address" || g.column == "type" || g.column == "purpose"
		}) {
			score -= 2 // numbers and names alone are no patch
		}
		if score > most {
			best, most = s, score
		}
	}
	return best
}

// Columns lists every column of every table with the names that it goes by.
func Columns() string {
	var told strings.Builder
	for _, t := range tables {
		fmt.Fprintf(&told, "%s: one row for each %s; %s is essential\n", t.section, rowOf[t.section], t.essential)
		for _, c := range t.columns {
			names := append(slices.Clone(c.other), c.weak...)
			fmt.Fprintf(&told, "  %-20s %s\n", c.name, strings.Join(names, ", "))
		}
		if t.section == "cues" {
			fmt.Fprintf(&told, "  %-20s %s\n", "(levels of channels)", "a column for each: 12, Ch 12, Chan 12, Key left (12), 12 Key left")
			fmt.Fprintf(&told, "  %-20s %s\n", "(emitters of a mix)", "red, green, blue, white, amber, lime, cyan, magenta, yellow, violet, uv, warm white, cool white; R, G, B, W, A")
		}
		told.WriteByte('\n')
	}
	told.WriteString("Case, spaces and punctuation of names do not count. Further names stand in house.yaml:\n  columns: {cues: {cue: [\"Scene\"]}, patch: {channel: [\"Nr\"]}}\n")
	return told.String()
}

var rowOf = map[string]string{"patch": "fixture", "cues": "setting, or for each cue if channels have columns", "order": "segment", "readings": "reading"}
