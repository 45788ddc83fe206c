package table

import (
	"slices"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// layout is how a section that was written as rows is laid out in its file. It is
// for whoever changes single cells of the text and nothing else in it.
type layout struct {
	Comma    byte           // what stands between columns
	Columns  map[string]int // a column by its name in the documentation -> its place in a row
	Width    int            // columns of the header
	ReadOnly string         // why cells of it cannot be written; "" if they can
	Rows     []layoutRow    // those with something in them, without the header

	wide           []wideColumn       // columns of levels, one for each channel
	emitters       []emitterColumn    // columns of one colour of a mix
	levels, shares scale              // how the cells of those are written
	units          map[string]float64 // columns that count in another unit -> what one of it is
}

// layoutRow is one row of a table.
type layoutRow struct{ Cells []layoutCell }

// layoutCell is one cell: its text, and the bytes that it takes up in the file,
// quote marks included and blanks around it not.
type layoutCell struct {
	Text        string
	Start, Stop int
	Quoted      bool
}

// start is where the row begins in the text of its file.
func (r layoutRow) start() int { return r.Cells[0].Start }

// stop is the byte behind the row, without its line end.
func (r layoutRow) stop() int { return r.Cells[len(r.Cells)-1].Stop }

// layOut finds the cells of a table in the text of a file that has been read.
// The section is one of those that can be written as rows; ok is false if it is
// none, or if the header cannot be used.
func layOut(file *source.File, section string, options format.Options) (t *layout, ok bool) {
	if !slices.Contains(sections(), section) {
		return nil, false
	}
	s := newSheet(format.Quiet(options), section, file) // what is wrong has been said when it was read
	if !s.readHeader() {
		return nil, false
	}
	t = &layout{
		Comma: s.comma, Columns: s.columns, Width: len(s.headers), ReadOnly: s.readOnly(),
		wide: s.wide, emitters: s.emitters, levels: s.levels, shares: s.shares, units: s.units,
	}
	for _, e := range s.emitters {
		t.Columns[emitterKey(e.name)] = e.index
	}
	for s.nextFilled() && len(t.Rows) < MaxRows {
		row := layoutRow{Cells: make([]layoutCell, len(s.row))}
		for i, c := range s.row {
			c = c.trimmed()
			row.Cells[i] = layoutCell{Text: c.text, Start: c.start, Stop: c.stop, Quoted: c.quoted}
		}
		t.Rows = append(t.Rows, row)
	}
	return t, true
}

// readOnly says why what a change needs cannot be written into the table: where a cell
// is not a value of the format as it stands.
func (s *sheet) readOnly() string {
	switch {
	case s.table.section != "cues":
		return ""
	case len(s.wide) > 0 && (len(s.emitters) > 0 || s.hasSettings()):
		return "it has columns for channels beside those of settings, and such a table is only read"
	case len(s.emitters) > 0 && s.hasMix():
		return "it has columns of colours beside one for the mix, and such a table is only read"
	}
	return ""
}

// hasSettings reports whether the table has columns of settings that are told by name.
func (s *sheet) hasSettings() bool {
	return slices.ContainsFunc(settingColumns, func(name string) bool { _, has := s.columns[name]; return has })
}

// hasMix reports whether the table has a column for a mix, or for a part of one.
func (s *sheet) hasMix() bool {
	return slices.ContainsFunc(schema.FieldsOf(schema.OfSetting), func(f *schema.Field) bool {
		_, has := s.columns[f.Key]
		return has && f.Form == schema.AsMix
	})
}

// emitterKey is a column of one colour of a mix among the columns of a layout.
func emitterKey(name string) string { return "mix: " + name }
