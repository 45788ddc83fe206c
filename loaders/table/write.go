package table

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// write writes what is different about a section into its table.
func write(c *format.Change, section string, at source.Ref) error {
	laid, ok := layOut(at.File, section, c.Options)
	if !ok {
		return &format.Unwritable{File: at.File, Why: "the table cannot be laid out"}
	}
	w := &rowWriter{layout: laid, file: at.File, index: map[int]int{}, change: c, cells: map[[2]int]string{}}
	for i, row := range laid.Rows {
		w.index[row.start()] = i
	}
	starts := map[int]int{}
	for _, cue := range c.Before.Cues {
		if start, _ := cue.At.Bytes(); cue.At.File == at.File {
			starts[start]++
		}
	}
	before, after := c.Before, c.After
	var err error
	switch section {
	case "patch":
		err = eachChanged(before.Patch, after.Patch, w.fixture)
	case "order":
		err = eachChanged(before.Order, after.Order, w.segment)
	case "readings":
		err = w.readings(before.Readings, after.Readings)
	case "cues":
		err = eachChanged(before.Cues, after.Cues, func(was, is *schema.Cue) error {
			if laid.ReadOnly != "" {
				return w.no("%s", laid.ReadOnly)
			}
			if start, _ := was.At.Bytes(); starts[start] > 1 {
				return w.no("the row of cue %s stands for several cues", was.Number)
			}
			return w.cue(was, is)
		})
	}
	if err == nil {
		err = w.finish()
	}
	return err
}

// readings takes out the rows of readings that are no longer there.
func (w *rowWriter) readings(before, after []*schema.Reading) error {
	w.gone = map[int]bool{}
	for _, r := range before {
		if slices.Contains(after, r) {
			continue
		}
		row, err := w.rowAt(r.At)
		if err != nil {
			return err
		}
		w.gone[row] = true
	}
	return nil
}

// eachChanged calls write for the entities that are not as they were. No edit
// takes one out of these lists or adds one.
func eachChanged[E any](before, after []*E, write func(was, is *E) error) error {
	for i := range before {
		if before[i] != after[i] {
			if err := write(before[i], after[i]); err != nil {
				return err
			}
		}
	}
	return nil
}

// rowWriter collects the cells of one table that get another text, and the rows
// that come and go.
type rowWriter struct {
	*layout
	file    *source.File
	index   map[int]int // offset of the first byte of a row -> its place
	change  *format.Change
	cells   map[[2]int]string // row and column -> text
	gone    map[int]bool
	inserts map[int][]string // behind the row
}

func (w *rowWriter) no(text string, args ...any) error {
	return &format.Unwritable{File: w.file, Why: fmt.Sprintf(text, args...)}
}

// rowAt finds the row that an entity was read from.
func (w *rowWriter) rowAt(at source.Ref) (int, error) {
	start, _ := at.Bytes()
	if at.File != w.file {
		return 0, &format.Unwritable{File: at.File, Why: "a file of this format is only read, never written"}
	}
	row, ok := w.index[start]
	if !ok {
		return 0, w.no("the row of the change is not found")
	}
	return row, nil
}

// text is what stands in a cell.
func (w *rowWriter) text(row int, column string) string {
	if text, changed := w.cells[[2]int{row, w.at(column)}]; changed {
		return text
	}
	if i, ok := w.Columns[column]; ok && i < len(w.Rows[row].Cells) {
		return w.Rows[row].Cells[i].Text
	}
	return ""
}

func (w *rowWriter) at(column string) int {
	if i, ok := w.Columns[column]; ok {
		return i
	}
	return -1
}

// set gives a cell another text; nothing can be written where no column is.
func (w *rowWriter) set(row int, column, text string) error {
	i, ok := w.Columns[column]
	switch {
	case !ok && text == "":
		return nil
	case !ok:
		return w.no("the table has no column %s", column)
	case i >= len(w.Rows[row].Cells):
		if text == "" {
			return nil
		}
		return w.no("the row ends before its column %s", column)
	}
	w.cells[[2]int{row, i}] = text
	return nil
}

// cellText is a cell and what it is to say.
type cellText struct{ column, text string }

func (w *rowWriter) setAll(row int, list []cellText) error {
	for _, c := range list {
		if err := w.set(row, c.column, c.text); err != nil {
			return err
		}
	}
	return nil
}

// finish writes the cells and the rows.
func (w *rowWriter) finish() error {
	for key, text := range w.cells {
		if w.gone[key[0]] {
			continue
		}
		c := w.Rows[key[0]].Cells[key[1]]
		w.change.Replace(w.file, c.Start, c.Stop, w.quoted(text, c.Quoted))
	}
	for row := range w.gone {
		w.change.Replace(w.file, w.Rows[row].start(), w.lineEnd(row), "")
	}
	for row, texts := range w.inserts {
		at := w.lineEnd(row)
		_, end := w.ending(row)
		text := ""
		for _, line := range texts {
			if end == "" { // the last line of a file that does not end in a line end
				text += w.newLine() + line
			} else {
				text += line + end
			}
		}
		if w.gone[row] {
			return w.no("a row would be added behind one that goes")
		}
		w.change.Replace(w.file, at, at, text)
	}
	return nil
}

// ending returns where the line of a row stops, blanks and all, and how it ends.
func (w *rowWriter) ending(row int) (stop int, end string) {
	text := w.file.Text
	stop = w.Rows[row].stop()
	for stop < len(text) && text[stop] != '\n' && text[stop] != '\r' {
		stop++
	}
	switch {
	case strings.HasPrefix(text[stop:], "\r\n"):
		return stop, "\r\n"
	case stop < len(text):
		return stop, text[stop : stop+1]
	}
	return stop, ""
}

func (w *rowWriter) lineEnd(row int) int {
	stop, end := w.ending(row)
	return stop + len(end)
}

// newLine is how the header ends.
func (w *rowWriter) newLine() string {
	text := w.file.Text
	switch at := strings.IndexAny(text, "\r\n"); {
	case at < 0:
		return "\n"
	case strings.HasPrefix(text[at:], "\r\n"):
		return "\r\n"
	default:
		return text[at : at+1]
	}
}

// quoted puts a text into quote marks if it needs them, or if the cell had them.
func (w *rowWriter) quoted(text string, was bool) string {
	if was && text != "" || strings.ContainsAny(text, "\"\r\n"+string(w.Comma)) || text != strings.TrimSpace(text) {
		return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
	}
	return text
}

// decimal writes a number with the decimal mark of the table: a comma where the
// column has numbers with one, or, if it has none with a mark, the table.
func (w *rowWriter) decimal(column string, v float64) string {
	text := format.Number(v)
	if strings.Contains(text, ".") && w.wantsComma(column) {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

var (
	withComma = regexp.MustCompile(`^[-+]?\d+,\d+`)
	withPoint = regexp.MustCompile(`^[-+]?\d*\.\d+`)
)

func (w *rowWriter) wantsComma(column string) bool {
	if w.Comma == ',' {
		return false // a comma would need quote marks, and a point is right everywhere
	}
	if i, ok := w.Columns[column]; ok {
		for _, row := range w.Rows {
			if i < len(row.Cells) && withComma.MatchString(row.Cells[i].Text) {
				return true
			}
			if i < len(row.Cells) && withPoint.MatchString(row.Cells[i].Text) {
				return false
			}
		}
	}
	for _, row := range w.Rows {
		for _, c := range row.Cells {
			if withComma.MatchString(c.Text) && strings.Count(c.Text, ",") == 1 && !slices.Contains([]int{w.at("channels"), w.at("groups")}, w.columnOf(row.Cells, c.Start)) {
				return true
			}
			if withPoint.MatchString(c.Text) {
				return false
			}
		}
	}
	return false
}

func (w *rowWriter) columnOf(cells []layoutCell, start int) int {
	return slices.IndexFunc(cells, func(c layoutCell) bool { return c.Start == start })
}

var unitBehind = regexp.MustCompile(`^[-+]?[0-9.,]+([\s\x{a0}\x{202f}]*[%°A-Za-z]+)$`)

// amount writes a number with the unit that the cell has, or that the first
// filled cell of its column has.
func (w *rowWriter) amount(row int, column string, v float64) string {
	unit := ""
	if m := unitBehind.FindStringSubmatch(w.text(row, column)); m != nil {
		unit = m[1]
	} else if i, ok := w.Columns[column]; ok && !startsWithDigit(w.text(row, column)) {
		for _, other := range w.Rows {
			if i < len(other.Cells) && startsWithDigit(other.Cells[i].Text) {
				if m := unitBehind.FindStringSubmatch(other.Cells[i].Text); m != nil {
					unit = m[1]
				}
				break
			}
		}
	}
	if unit == "" {
		v = w.inHeaderUnit(column, v)
	}
	return w.decimal(column, v) + unit
}

func startsWithDigit(text string) bool {
	return text != "" && strings.ContainsAny(text[:1], "0123456789-.")
}

// seconds writes a time as the cell has it: 3, or 1:20.
func (w *rowWriter) seconds(row int, column string, v float64) string {
	if strings.Contains(w.text(row, column), ":") && v >= 0 && v < 1e8 {
		whole := math.Floor(v)
		text := fmt.Sprintf("%d:%02d", int(whole)/60, int(whole)%60)
		if fraction := v - whole; fraction > 0 {
			_, digits, _ := strings.Cut(format.Number(v), ".")
			if w.wantsComma(column) {
				return text + "," + digits
			}
			return text + "." + digits
		}
		return text
	}
	return w.decimal(column, w.inHeaderUnit(column, v))
}

// written is the field of a holder in tables that bears a key; where two do, they
// are written alike.
func written(key string) *schema.Field {
	for _, on := range []schema.Holder{schema.OfSetting, schema.OfFixture, schema.OfCue, schema.OfDrive, schema.OfSegment} {
		if f, ok := schema.FieldOf(on, key); ok {
			return f
		}
	}
	return nil
}

func holdsTime(key string) bool {
	f := written(key)
	return f != nil && f.Form == schema.AsSeconds
}

// field returns the cells that say a field, given the row they stand in.
func (w *rowWriter) field(row int, name string, v reflect.Value) ([]cellText, error) {
	f := written(name)
	switch {
	case f == nil:
		return nil, w.no("a new %s cannot be written in a table", name)
	case v.IsZero() && name == "mix_part" && len(w.emitters) > 0:
		return w.shareCells(row, nil)
	case v.IsZero():
		return blank(f), nil
	}
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	switch value := v.Interface().(type) {
	case schema.Aim:
		cells := blank(f)
		if value.Point == nil {
			cells[0].text = value.Name
			return cells, nil
		}
		return append(cells[:1], w.parts(row, f, reflect.ValueOf(*value.Point))...), nil
	case schema.CueNumber:
		return []cellText{{name, value.String()}}, nil
	case schema.Level:
		text, err := w.level(row, name, float64(value), w.levels)
		return []cellText{{name, text}}, err
	case map[string]float64:
		if name == "mix_part" && len(w.emitters) > 0 {
			return w.shareCells(row, value)
		}
		var shares []string
		for _, key := range sortedKeys(value) {
			shares = append(shares, key+"="+w.decimal(name, value[key]))
		}
		return []cellText{{name, strings.Join(shares, " ")}}, nil
	case []schema.Intent:
		var words []string
		for _, intent := range value {
			if len(intent.Places) > 0 {
				intent.Intent += ": " + strings.Join(intent.Places, ", ")
			}
			words = append(words, intent.Intent)
		}
		return []cellText{{name, strings.Join(words, " + ")}}, nil
	case []string:
		between := " + "
		switch {
		case f.Form == schema.AsColours:
			between = " "
		case f.Form == schema.AsPeople && len(value) == 0:
			return []cellText{{name, "none"}}, nil
		}
		return []cellText{{name, strings.Join(value, between)}}, nil
	case []*schema.Shutter:
		return w.shutters(row, value)
	}
	if f.Form == schema.AsParts {
		return w.parts(row, f, v), nil
	}
	switch v.Kind() {
	case reflect.String:
		return []cellText{{name, v.String()}}, nil
	case reflect.Bool:
		return []cellText{{name, map[bool]string{true: "yes", false: "no"}[v.Bool()]}}, nil
	case reflect.Int:
		return []cellText{{name, strconv.FormatInt(v.Int(), 10)}}, nil
	case reflect.Float64:
		if f.Form == schema.AsSeconds {
			return []cellText{{name, w.seconds(row, name, v.Float())}}, nil
		}
		return []cellText{{name, w.amount(row, name, v.Float())}}, nil
	}
	return nil, w.no("a new %s cannot be written in a table", name)
}

// blank returns the cells of a field that says nothing any more.
func blank(f *schema.Field) []cellText {
	var list []cellText
	for _, c := range f.InTables() {
		list = append(list, cellText{c.Name, ""})
	}
	return list
}

// parts writes a value that takes several columns: the members of an object, or
// the items of a list.
func (w *rowWriter) parts(row int, f *schema.Field, v reflect.Value) []cellText {
	var list []cellText
	for i, part := range f.Parts {
		var value reflect.Value
		if v.Kind() == reflect.Slice {
			value = v.Index(i)
		} else {
			for _, m := range format.Members(v.Type()) {
				if m.Key == part.Key {
					value = v.FieldByIndex(m.Index)
				}
			}
		}
		text := ""
		switch {
		case value.Kind() == reflect.String:
			text = value.String()
		case value.Kind() == reflect.Pointer && !value.IsNil():
			text = w.amount(row, part.Column, value.Elem().Float())
		case value.Kind() == reflect.Float64:
			text = w.amount(row, part.Column, value.Float())
		}
		list = append(list, cellText{part.Column, text})
	}
	return list
}

// shutters writes cuts such as "top 30, left 20/15".
func (w *rowWriter) shutters(row int, blades []*schema.Shutter) ([]cellText, error) {
	var list []string
	for _, b := range blades {
		text := b.Side
		if b.DepthPct != nil {
			text += " " + w.decimal("shutters", *b.DepthPct)
		}
		if b.AngleDeg != nil {
			text += "/" + w.decimal("shutters", *b.AngleDeg)
		}
		list = append(list, text)
	}
	between := " "
	if old := w.text(row, "shutters"); strings.Contains(old, ", ") {
		between = ", "
	}
	return []cellText{{"shutters", strings.Join(list, between)}}, nil
}

// changes returns the cells of all fields of an entity that are not as they were.
func (w *rowWriter) changes(row int, before, after reflect.Value, skip ...string) ([]cellText, error) {
	var list []cellText
	for _, m := range format.Members(before.Type()) {
		was, is := before.FieldByIndex(m.Index), after.FieldByIndex(m.Index)
		if slices.Contains(skip, m.Key) || format.Same(was, is) {
			continue
		}
		if w.byColour(m.Key) {
			cells, err := w.colour(row, after)
			if err != nil {
				return nil, err
			}
			list = append(list, cells...)
			continue
		}
		cells, err := w.field(row, m.Key, is)
		if err != nil {
			return nil, err
		}
		list = append(list, cells...)
	}
	slices.SortStableFunc(list, func(a, b cellText) int { // where two fields share a cell, one that says something wins
		return filledLast(a) - filledLast(b)
	})
	return list, nil
}

func filledLast(c cellText) int {
	if c.text == "" {
		return 0
	}
	return 1
}

func (w *rowWriter) segment(was, is *schema.Segment) error {
	row, err := w.rowAt(was.At)
	if err != nil {
		return err
	}
	cells, err := w.changes(row, reflect.ValueOf(was).Elem(), reflect.ValueOf(is).Elem())
	if err != nil {
		return err
	}
	return w.setAll(row, cells)
}

func (w *rowWriter) fixture(was, is *schema.Fixture) error {
	row, err := w.rowAt(was.At)
	if err != nil {
		return err
	}
	cells, err := w.changes(row, reflect.ValueOf(was).Elem(), reflect.ValueOf(is).Elem(), "address")
	if err != nil {
		return err
	}
	if was.Address != is.Address {
		cells = append(cells, w.address(row, is.Address)...)
	}
	return w.setAll(row, cells)
}

// address writes a new address into the cells that the row has for it: one, or
// universe and slot in two.
func (w *rowWriter) address(row int, text string) []cellText {
	whole, universe, slot := w.text(row, "address"), w.text(row, "universe"), w.text(row, "slot")
	u, s, found := strings.Cut(strings.Replace(text, "/", ".", 1), ".")
	_, hasUniverse := w.Columns["universe"]
	_, hasSlot := w.Columns["slot"]
	switch {
	case !found || universe == "" && slot == "" && (whole != "" || !hasUniverse):
		if strings.Contains(whole, "/") {
			text = u + "/" + s
		}
		return []cellText{{"address", text}}
	case slot != "" || hasSlot && whole == "":
		return []cellText{{"universe", u}, {"slot", s}}
	default:
		return []cellText{{"universe", u}, {"address", s}}
	}
}

// rowsOf returns the rows that a cue was read from: those from its first byte to
// its last.
func (w *rowWriter) rowsOf(at source.Ref) (first, last int, err error) {
	first, err = w.rowAt(at)
	if err != nil {
		return 0, 0, err
	}
	_, stop := at.Bytes()
	last = first
	for last+1 < len(w.Rows) && w.Rows[last+1].start() < stop {
		last++
	}
	return first, last, nil
}

func (w *rowWriter) cue(was, is *schema.Cue) error {
	first, last, err := w.rowsOf(was.At)
	if err != nil {
		return err
	}
	if err := w.head(was, is, first, last); err != nil {
		return err
	}
	for i, drive := range was.Screens {
		if drive != is.Screens[i] {
			if err := w.drive(drive, is.Screens[i], first, last); err != nil {
				return err
			}
		}
	}
	if len(w.wide) > 0 {
		return w.wideSettings(was, is, first, last)
	}
	return w.settings(was, is, first, last)
}

// head writes what belongs to the whole cue, in every row that says it, or in
// the first if none does.
func (w *rowWriter) head(was, is *schema.Cue, first, last int) error {
	cells, err := w.changes(first, reflect.ValueOf(was).Elem(), reflect.ValueOf(is).Elem(), "set", "screens")
	if err != nil {
		return err
	}
	for _, c := range cells {
		said := false
		for row := first; row <= last; row++ {
			if w.text(row, c.column) != "" {
				said = true
				text := c.text
				if text != "" && holdsTime(c.column) {
					text = w.seconds(row, c.column, *fieldOf(is, c.column))
				}
				if err := w.set(row, c.column, text); err != nil {
					return err
				}
			}
		}
		if !said {
			if err := w.set(first, c.column, c.text); err != nil {
				return err
			}
		}
	}
	return nil
}

// fieldOf returns a time of a cue by its name.
func fieldOf(cue *schema.Cue, name string) *float64 {
	v := reflect.ValueOf(cue).Elem()
	for _, m := range format.Members(v.Type()) {
		if m.Key == name {
			value, _ := v.FieldByIndex(m.Index).Interface().(*float64)
			return value
		}
	}
	return nil
}

func (w *rowWriter) drive(was, is *schema.Drive, first, last int) error {
	start, _ := was.At.Bytes()
	for row := first; row <= last; row++ {
		if w.Rows[row].start() <= start && start <= w.Rows[row].stop() {
			cells, err := w.changes(row, reflect.ValueOf(was).Elem(), reflect.ValueOf(is).Elem())
			if err != nil {
				return err
			}
			return w.setAll(row, cells)
		}
	}
	return w.no("the row of a screen is not found")
}

// settings writes what a cue sets: a row for each.
func (w *rowWriter) settings(was, is *schema.Cue, first, last int) error {
	old := map[source.Ref]*schema.Setting{}
	for _, setting := range was.Set {
		old[setting.At] = setting
	}
	anchor := last
	met := map[source.Ref]bool{}
	for _, setting := range is.Set {
		before, known := old[setting.At]
		if !known || met[setting.At] {
			if !known { // it belongs to the cue as a whole: behind all its rows
				anchor = last
			}
			if err := w.add(anchor, setting); err != nil {
				return err
			}
			continue
		}
		met[setting.At] = true
		row, err := w.rowAt(setting.At)
		if err != nil {
			return err
		}
		anchor = row
		if before == setting {
			continue
		}
		cells, err := w.changes(row, reflect.ValueOf(before).Elem(), reflect.ValueOf(setting).Elem())
		if err != nil {
			return err
		}
		if err := w.setAll(row, cells); err != nil {
			return err
		}
	}
	for _, setting := range was.Set {
		if met[setting.At] {
			continue
		}
		row, err := w.rowAt(setting.At)
		if err != nil {
			return err
		}
		if err := w.remove(row, first); err != nil {
			return err
		}
	}
	return nil
}

// remove takes a setting out: its row, if nothing else is said in it, or else its cells.
func (w *rowWriter) remove(row, first int) error {
	alone := row != first && len(w.inserts[row]) == 0
	for i, c := range w.Rows[row].Cells {
		column := w.nameOf(i)
		alone = alone && (c.Text == "" || column == "cue" || column == "part" || slices.Contains(settingColumns, column) || strings.HasPrefix(column, emitterKey("")))
	}
	if alone {
		if w.gone == nil {
			w.gone = map[int]bool{}
		}
		w.gone[row] = true
		return nil
	}
	columns := slices.Clone(settingColumns)
	for _, e := range w.emitters {
		columns = append(columns, emitterKey(e.name))
	}
	for _, column := range columns {
		if err := w.set(row, column, ""); err != nil {
			return err
		}
	}
	return nil
}

func (w *rowWriter) nameOf(index int) string {
	for name, i := range w.Columns {
		if i == index {
			return name
		}
	}
	return ""
}

// add writes a row for a new setting behind another row of its cue.
func (w *rowWriter) add(anchor int, setting *schema.Setting) error {
	cells := make([]string, w.Width)
	put := func(column, text string) error {
		i, ok := w.Columns[column]
		if !ok && text != "" {
			return w.no("the table has no column %s", column)
		}
		if ok {
			cells[i] = w.quoted(text, false)
		}
		return nil
	}
	for _, column := range []string{"cue", "part"} {
		if err := put(column, w.text(anchor, column)); err != nil {
			return err
		}
	}
	var list []cellText
	v := reflect.ValueOf(setting).Elem()
	for _, m := range format.Members(v.Type()) {
		if v.FieldByIndex(m.Index).IsZero() {
			continue
		}
		write := func() ([]cellText, error) { return w.field(anchor, m.Key, v.FieldByIndex(m.Index)) }
		if w.byColour(m.Key) {
			write = func() ([]cellText, error) { return w.colour(anchor, v) }
		}
		more, err := write()
		if err != nil {
			return err
		}
		list = append(list, more...)
	}
	for _, c := range list {
		if c.text == "" {
			continue
		}
		if err := put(c.column, c.text); err != nil {
			return err
		}
	}
	if w.inserts == nil {
		w.inserts = map[int][]string{}
	}
	w.inserts[anchor] = append(w.inserts[anchor], strings.Join(cells, string(w.Comma)))
	return nil
}

func sortedKeys(m map[string]float64) []string { return slices.Sorted(maps.Keys(m)) }
