package table

import (
	"slices"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

// layout is how a section that was written as rows is laid out in its file. It is
// for whoever changes single cells of the text and nothing else in it.
type layout struct {
	Comma    byte           // what stands between columns
	Columns  map[string]int // a column by its name in the documentation -> its place in a row
	Width    int            // columns of the header
	ReadOnly string         // why cells of it cannot be written; "" if they can
	Rows     []layoutRow    // those with something in them, without the header
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
func layOut(file *source.File, section string, aliases map[string][]string) (t *layout, ok bool) {
	if !slices.Contains(sections(), section) {
		return nil, false
	}
	s := newSheet(format.Quiet(format.Options{Aliases: aliases}), section, file) // what is wrong has been said when it was read
	if !s.readHeader() {
		return nil, false
	}
	t = &layout{Comma: s.comma, Columns: s.columns, Width: len(s.headers), ReadOnly: s.readOnly()}
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
	_, colour := s.columns["colour"]
	switch {
	case s.table.section != "cues":
		return ""
	case len(s.wide) > 0:
		return "it has a column for each channel, and such a table is only read"
	case len(s.emitters) > 0 || colour:
		return "it has columns of colours, and such a table is only read"
	case s.levels != percent:
		return "its levels are not in percent, and such a table is only read"
	}
	return ""
}
