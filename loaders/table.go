package loaders

import (
	"slices"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// Table is how a section that was written as rows is laid out in its file. It is
// for whoever changes single cells of the text and nothing else in it.
type Table struct {
	Comma   byte           // what stands between columns
	Columns map[string]int // a column by its name in the documentation -> its place in a row
	Width   int            // columns of the header
	Rows    []TableRow     // those with something in them, without the header
}

// TableRow is one row of a table.
type TableRow struct{ Cells []TableCell }

// TableCell is one cell: its text, and the bytes that it takes up in the file,
// quote marks included and blanks around it not.
type TableCell struct {
	Text        string
	Start, Stop int
	Quoted      bool
}

// Start is where the row begins in the text of its file.
func (r TableRow) Start() int { return r.Cells[0].Start }

// Stop is the byte behind the row, without its line end.
func (r TableRow) Stop() int { return r.Cells[len(r.Cells)-1].Stop }

// LayOut finds the cells of a table in the text of a file that [Load] has read.
// The section is one of those that can be written as rows; ok is false if it is
// none, or if the header cannot be used.
func LayOut(file *source.File, section string, aliases map[string][]string) (t *Table, ok bool) {
	if !slices.Contains(tableSections(), section) {
		return nil, false
	}
	l := &loader{result: Result{Show: &schema.Show{}}, counts: map[countKey]*count{}} // takes complaints that Load has made already
	s := &sheet{l: l, table: tableOf(section), file: file}
	s.names = s.table.names(aliases)
	s.text = file.Text
	s.comma = s.detectComma()
	if !s.readHeader() {
		return nil, false
	}
	t = &Table{Comma: s.comma, Columns: s.columns, Width: len(s.headers)}
	for s.nextFilled() && len(t.Rows) < maxRows {
		row := TableRow{Cells: make([]TableCell, len(s.row))}
		for i, c := range s.row {
			c = c.trimmed()
			row.Cells[i] = TableCell{Text: c.text, Start: c.start, Stop: c.stop, Quoted: c.quoted}
		}
		t.Rows = append(t.Rows, row)
	}
	return t, true
}
