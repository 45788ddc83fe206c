package loaders

import (
	"path"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/loaders/ascii"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/gdtf"
	"github.com/cueproof/cueproof/loaders/jsonform"
	"github.com/cueproof/cueproof/loaders/mvr"
	"github.com/cueproof/cueproof/loaders/table"
)

// formats lists the ways of writing down a show. Where a folder has a section in
// two of them, the earlier is read. A further format is one more row.
var formats = []*format.Format{&jsonform.Format, &table.Format, &ascii.Format, &mvr.Format, &gdtf.Format}

// CheckAliases says what is wrong with further names of table columns.
func CheckAliases(aliases map[string][]string) error { return table.CheckAliases(aliases) }

// Columns lists the columns of tables with the names that they go by.
func Columns() string { return table.Columns() }

// TableText is a table to be looked at.
type TableText = table.Text

// MapColumns says what stands in the columns of tables, what each probably is, and what
// has all of them read so. An error is that one of them is no table.
func MapColumns(tables []TableText, aliases map[string][]string) (string, error) {
	for i := range tables {
		if section, ok := sectionOf(path.Base(tables[i].Name)); ok && table.Format.Can(section) {
			tables[i].Section = section
		}
	}
	return table.Mappings(tables, aliases)
}

// sniffed returns the format of a file that can hold a section; nil if there is
// none that is at all sure. Of several the one is taken that is surest.
func sniffed(section, name, head string) *format.Format {
	var best *format.Format
	sure := format.No
	for _, f := range formats {
		if s := f.Sniff(name, head); s > sure && f.Can(section) {
			best, sure = f, s
		}
	}
	return best
}

// headOf is the part of a file that is looked at to know its format.
func headOf(data string) string { return data[:min(len(data), format.HeadBytes)] }

// sectionOf tells which section a file holds by its name: patch for "Patch.csv".
func sectionOf(name string) (section string, ok bool) {
	for _, f := range formats {
		for _, end := range f.Ends {
			if stem, cut := strings.CutSuffix(strings.ToLower(name), end); cut && f.Can(stem) && !f.Alone {
				return stem, true
			}
		}
	}
	return "", false
}

// endsFor lists how names of files end that can hold a section and nothing else.
func endsFor(section string) []string {
	return ends(func(f *format.Format) bool { return f.Can(section) && !f.Alone })
}

// Writable reports whether a file of that name is one that a changed copy of a
// show can be written to.
func Writable(name string) bool {
	return slices.ContainsFunc(formats, func(f *format.Format) bool { return f.Write != nil && f.Sniff(name, "") > format.No })
}

// saved are the endings under which other programs save lists that nobody reads here.
var saved = []string{".xls", ".xlsx", ".ods", ".xml"}

// photometric are the endings of photometric files.
var photometric = []string{".ies", ".ldt"}

// ends lists how names end of the files of the formats that keep says.
func ends(keep func(*format.Format) bool) (list []string) {
	for _, f := range formats {
		if keep(f) {
			list = append(list, f.Ends...)
		}
	}
	return list
}

// endsIn reports whether a name ends in one of a list, in letters of either case.
func endsIn(name string, list []string) bool {
	return slices.Contains(list, strings.ToLower(path.Ext(name)))
}

// IsJSON reports whether a name is that of a JSON file.
func IsJSON(name string) bool { return endsIn(name, jsonform.Format.Ends) }

// IsPhotometry reports whether a name is that of a photometric file.
func IsPhotometry(name string) bool { return endsIn(name, photometric) }

// partOnly reports whether a file of that name can hold a section, but no show.
func partOnly(name string) bool {
	return endsIn(name, ends(func(f *format.Format) bool { return !f.Can("show") && !f.Alone }))
}
