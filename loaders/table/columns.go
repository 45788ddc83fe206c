package table

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// column is one column of a table: the name that the documentation uses, and
// other names by which exports and people call the same thing.
type column struct {
	name  string
	other []string
	weak  []string // names that are taken for it where nothing else is
}

// table is a section written as rows.
type table struct {
	section   string
	essential string // the column without which a row says nothing
	columns   []column
	read      func(s *sheet)
}

// tables lists the sections that can be written as rows. Names are compared
// without case, spaces and punctuation; a percent sign reads as "pct", a degree
// sign as "deg" and a number sign as "no", so "Level (%)" is levelpct.
var tables = []table{
	{"patch", "channel", columnsFor(schema.OfFixture), readPatchRows},
	{"cues", "cue", append(columnsFor(schema.OfCue, schema.OfSetting, schema.OfDrive), colourColumn), readCueRows},
	{"order", "name", columnsFor(schema.OfSegment, schema.OfDrive), readOrderRows},
	{"readings", "place", columnsFor(schema.OfReading), readReadingRows},
}

// colourColumn is a column that is no field: it becomes the x and y of a colour.
var colourColumn = column{
	"colour", []string{"color", "rgb", "rgb hex", "hex", "hex colour", "hex color", "colour hex", "colour rgb", "color rgb"}, []string{"color hex", "tint", "col", "hue name"},
}

// columnsFor lists the columns of what stands in one row.
func columnsFor(holders ...schema.Holder) []column {
	var list []column
	for _, on := range holders {
		for _, f := range schema.FieldsOf(on) {
			for _, c := range f.InTables() {
				if !slices.ContainsFunc(list, func(known column) bool { return known.name == c.Name }) {
					list = append(list, column{c.Name, c.Other, c.Weak})
				}
			}
		}
	}
	return list
}

// cellForms says how the cells of a form are read.
var cellForms = map[schema.Form]reading{
	schema.AsText: asText, schema.AsPurpose: asPurpose, schema.AsKind: asKind, schema.AsMood: asMood, schema.AsChannels: asChannels,
	schema.AsWhole: asWhole, schema.AsNumber: asPlain, schema.AsPercent: asPercent, schema.AsLevel: asLevel, schema.AsMetres: asMetres,
	schema.AsDegrees: asDegrees, schema.AsKelvin: asKelvin, schema.AsHertz: asHertz, schema.AsSeconds: asSeconds,
	schema.AsMired: asNumber("mired"), schema.AsLux: asNumber("lx", "lux"), schema.AsCue: asCue, schema.AsYes: asYes,
}

// simple lists the fields of a holder that stand in one cell as one value.
func simple(on schema.Holder) []field {
	var list []field
	for _, f := range schema.FieldsOf(on) {
		if read := cellForms[f.Form]; read != nil && len(f.Parts) == 0 {
			list = append(list, field{f.Key, f.Key, read})
		}
	}
	return list
}

// partsOf lists the columns of a field that takes several.
func partsOf(on schema.Holder, key string) []field {
	f, _ := schema.FieldOf(on, key)
	var list []field
	for _, part := range f.Parts {
		list = append(list, field{part.Key, part.Column, cellForms[part.Form]})
	}
	return list
}

type listField struct {
	field
	write func(s *sheet, key, column string, c cell)
}

// listsOf lists the fields of a holder that are a list in one cell.
func listsOf(on schema.Holder) []listField {
	forms := map[schema.Form]func(s *sheet, key, column string, c cell){
		schema.AsNames:   func(s *sheet, key, column string, c cell) { s.list(key, column, c, betweenNames) },
		schema.AsColours: func(s *sheet, key, column string, c cell) { s.list(key, column, c, betweenColours) },
		schema.AsPeople:  (*sheet).people,
		schema.AsMeant:   (*sheet).meanings,
	}
	var list []listField
	for _, f := range schema.FieldsOf(on) {
		if write := forms[f.Form]; write != nil {
			list = append(list, listField{field{f.Key, f.Key, asText}, write})
		}
	}
	return list
}

// putLists writes the lists that have a cell in this row.
func (s *sheet) putLists(fields []listField) {
	for _, f := range fields {
		if c, ok := s.get(f.column); ok {
			f.write(s, f.key, f.column, c)
		}
	}
}

func columnNames(on schema.Holder) []string {
	var names []string
	for _, c := range columnsFor(on) {
		names = append(names, c.name)
	}
	return names
}

func tableOf(section string) *table {
	for i := range tables {
		if tables[i].section == section {
			return &tables[i]
		}
	}
	panic("table: no table for " + section)
}

func sections() []string { return []string{"patch", "cues", "order", "readings"} }

// CheckAliases says what is wrong with further header names, by column or by table and
// column ("cues/level"): a column that no table has, or one name for two columns of a table. A name that the program
// gives to another column by itself is not wrong: the further name wins.
func CheckAliases(aliases map[string][]string) error {
	if len(aliases) == 0 {
		return nil
	}
	var known []string
	for _, t := range tables {
		for _, c := range t.columns {
			known = append(known, c.name, t.section+"/"+c.name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(aliases)) {
		if !slices.Contains(known, name) {
			return fmt.Errorf("CSV alias for %q: no table has such a column.%s", name, spelling.Hint(name, known))
		}
		for _, alias := range aliases[name] {
			if fold(alias) == "" {
				return fmt.Errorf("CSV alias %q for %s has no letter or digit", alias, name)
			}
		}
	}
	for _, t := range tables {
		owner := map[string]string{}
		for _, c := range t.columns {
			for _, alias := range t.aliases(c.name, aliases) {
				word := fold(alias)
				if first, taken := owner[word]; taken && first != c.name {
					return fmt.Errorf("CSV alias %q stands for %s and for %s", alias, first, c.name)
				}
				owner[word] = c.name
			}
		}
	}
	return nil
}

// aliases are the further names of a column: those for every table that has such a
// column, and those for this one, as "cues/level".
func (t *table) aliases(column string, aliases map[string][]string) []string {
	return slices.Concat(aliases[column], aliases[t.section+"/"+column])
}

// names maps every folded header word of a table to its column. It is only read.
func (t *table) names(aliases map[string][]string) map[string]string {
	names := ownNames()[t.section]
	if len(aliases) == 0 {
		return names
	}
	names = maps.Clone(names)
	for _, c := range t.columns {
		for _, alias := range t.aliases(c.name, aliases) {
			names[fold(alias)] = c.name
		}
	}
	return names
}

// ownNames maps the folded header words that the program knows by itself, by section.
var ownNames = sync.OnceValue(func() map[string]map[string]string {
	all := map[string]map[string]string{}
	for _, t := range tables {
		names := map[string]string{}
		for _, c := range t.columns {
			for _, other := range c.other {
				names[fold(other)] = c.name
			}
		}
		for _, c := range t.columns {
			names[fold(c.name)] = c.name
		}
		all[t.section] = names
	}
	return all
})

// fold reduces a header to what is compared: letters and digits, without case, and the
// words for signs that tell one column from another.
func fold(header string) string {
	var b strings.Builder
	b.Grow(len(header))
	for _, r := range header {
		switch {
		case r == '%':
			b.WriteString("pct")
		case r == '°':
			b.WriteString("deg")
		case r == '#':
			b.WriteString("no")
		case folds(r):
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}

// folds reports whether something of a character is left when a header is folded.
func folds(r rune) bool {
	return r == '%' || r == '°' || r == '#' || unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r)
}

// weakNames are the folded words of a table that may well mean a column, by the name of that column.
func (t *table) weakNames() map[string][]string { return ownWeak()[t.section] }

// ownWeak are the weak words that the program knows by itself, by section and column: folded once,
// since every header is compared with all of them.
var ownWeak = sync.OnceValue(func() map[string]map[string][]string {
	all := map[string]map[string][]string{}
	for _, t := range tables {
		weak := map[string][]string{}
		for _, c := range t.columns {
			for _, word := range c.weak {
				weak[c.name] = append(weak[c.name], fold(word))
			}
		}
		all[t.section] = weak
	}
	return all
})

// private reports whether a column is for people, or for other programs, as
// the JSON form has keys for them: note, and all that start with x_.
func private(header string) bool {
	switch fold(header) {
	case "note", "notes", "comment", "comments", "remark", "remarks":
		return true
	}
	return strings.HasPrefix(strings.ToLower(strings.Trim(header, blanks)), "x_")
}
