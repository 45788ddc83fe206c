package jsonform

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// writer writes into one file.
type writer struct {
	*format.Change
	elsewhere *source.File // of a changed entity that was read from another file
}

// write writes what is different about a section into its value.
func write(c *format.Change, section string, at source.Ref) error {
	w := &writer{Change: c}
	before, after := c.Before, c.After
	switch section {
	case "room":
		if before.Room != after.Room {
			w.object(at, reflect.ValueOf(before.Room).Elem(), reflect.ValueOf(after.Room).Elem())
		}
	case "types":
		w.items(at, reflect.ValueOf(before.Types), reflect.ValueOf(after.Types))
	case "patch":
		w.items(at, reflect.ValueOf(before.Patch), reflect.ValueOf(after.Patch))
	case "cues":
		w.items(at, reflect.ValueOf(before.Cues), reflect.ValueOf(after.Cues))
	case "order":
		w.items(at, reflect.ValueOf(before.Order), reflect.ValueOf(after.Order))
	case "readings":
		w.items(at, reflect.ValueOf(before.Readings), reflect.ValueOf(after.Readings))
	}
	if w.elsewhere != nil {
		return &format.Unwritable{File: w.elsewhere, Why: "a file of this format is only read, never written"}
	}
	return nil
}

func isEntityList(t reflect.Type) bool {
	if t.Kind() != reflect.Slice || t.Elem().Kind() != reflect.Pointer || t.Elem().Elem().Kind() != reflect.Struct {
		return false
	}
	_, has := t.Elem().Elem().FieldByName("At")
	return has
}

// object writes what is different about an entity into its JSON object.
func (w *writer) object(ref source.Ref, before, after reflect.Value) {
	removed := map[string]bool{}
	var added []string // names
	values := map[string]string{}
	style := styleOf(ref)
	for _, m := range format.Members(before.Type()) {
		was, is := before.FieldByIndex(m.Index), after.FieldByIndex(m.Index)
		if format.Same(was, is) {
			continue
		}
		old, stands := ref.Get(m.Key)
		stands = stands && old.File == ref.File // another file may have told it
		atWas, ok1 := format.PlaceOf(was)
		atIs, ok2 := format.PlaceOf(is)
		switch {
		case is.IsZero():
			removed[m.Key] = true
		case ok1 && ok2 && atWas == atIs && stands:
			w.object(old, was.Elem(), is.Elem())
		case isEntityList(is.Type()) && stands && old.Kind() == source.Array:
			w.items(old, was, is)
		default:
			text := ""
			if isEntityList(is.Type()) {
				text = style.list(is)
			} else {
				text = style.value(is)
			}
			if stands {
				start, stop := old.Bytes()
				w.Replace(ref.File, start, stop, text)
				continue
			}
			added = append(added, m.Key)
			values[m.Key] = text
		}
	}
	if len(removed) == 0 && len(added) == 0 {
		return
	}
	var parts []part
	for item := range ref.Items() {
		key := item.KeyPlace()
		_, stop := item.Bytes()
		parts = append(parts, part{start: key.Start, stop: stop, gone: removed[item.Key()]})
	}
	var texts []string
	for _, name := range added {
		texts = append(texts, quote(name)+style.colon+values[name])
	}
	w.sequence(ref, parts, map[int][]string{lastKept(parts): texts}, style.separator, style.pad)
}

// items writes what is different about a list of entities into its JSON array.
// An entity is known by its place; one whose place is not that of an item, or was
// met before, is new and stands behind the one before it.
func (w *writer) items(ref source.Ref, before, after reflect.Value) {
	if before.Len() == after.Len() && (before.Len() == 0 || before.Pointer() == after.Pointer()) {
		return
	}
	old := map[source.Ref]reflect.Value{}
	for i := range before.Len() {
		at, ok := format.PlaceOf(before.Index(i))
		switch {
		case !ok:
		case at.File == ref.File:
			old[at] = before.Index(i)
		case i >= after.Len() || after.Index(i).Pointer() != before.Index(i).Pointer():
			w.elsewhere = at.File // no edit takes such an entity out, so they stand at one place in both
		}
	}
	var parts []part
	place := map[source.Ref]int{}
	for item := range ref.Items() {
		place[item] = len(parts)
		start, stop := item.Bytes()
		_, read := old[item]
		parts = append(parts, part{start: start, stop: stop, gone: read, ref: item})
	}
	inserts := map[int][]string{}
	anchor := -1
	met := map[source.Ref]bool{}
	for i := range after.Len() {
		entity := after.Index(i)
		at, _ := format.PlaceOf(entity)
		if at.File != nil && at.File != ref.File {
			continue
		}
		if was, known := old[at]; known && !met[at] {
			met[at] = true
			anchor = place[at]
			parts[anchor].gone = false
			if was.Pointer() != entity.Pointer() {
				w.object(at, was.Elem(), entity.Elem())
			}
			continue
		}
		style := styleOf(siblingOf(ref, parts, anchor))
		if len(parts) == 0 {
			style = style.flat()
		}
		inserts[anchor] = append(inserts[anchor], style.object(entity.Elem()))
	}
	changed := len(inserts) > 0 || slices.ContainsFunc(parts, func(p part) bool { return p.gone })
	if changed {
		style := styleOf(ref)
		w.sequence(ref, parts, inserts, style.separator, style.pad)
	}
}

// siblingOf is the item that a new one is made to look like.
func siblingOf(list source.Ref, parts []part, anchor int) source.Ref {
	switch {
	case anchor >= 0:
		return parts[anchor].ref
	case len(parts) > 0:
		return parts[len(parts)-1].ref
	}
	return list
}

// part is a member of an object or an item of an array, with its name.
type part struct {
	start, stop int
	gone        bool
	ref         source.Ref
}

func lastKept(parts []part) int {
	for i := len(parts) - 1; i >= 0; i-- {
		if !parts[i].gone {
			return i
		}
	}
	return -1
}

// sequence takes parts out of an object or an array and puts texts in: behind
// the kept part by whose place they are listed, or before all for -1.
func (w *writer) sequence(ref source.Ref, parts []part, inserts map[int][]string, separator, pad string) {
	file := ref.File
	first := slices.IndexFunc(parts, func(p part) bool { return !p.gone })
	if first < 0 {
		start, stop := ref.Bytes()
		start, stop = start+1, stop-1
		text := strings.Join(inserts[-1], separator)
		if len(parts) > 0 {
			start, stop = parts[0].start, parts[len(parts)-1].stop
		} else if text != "" {
			text = pad + text + pad
		}
		w.Replace(file, start, stop, text)
		return
	}
	head := ""
	for _, text := range inserts[-1] {
		head += text + separator
	}
	w.Replace(file, parts[0].start, parts[first].start, head)
	for i := first; i < len(parts); {
		next := i + 1
		stop := parts[i].stop
		for next < len(parts) && parts[next].gone {
			stop = parts[next].stop
			next++
		}
		text := ""
		for _, insert := range inserts[i] {
			text += separator + insert
		}
		w.Replace(file, parts[i].stop, stop, text)
		i = next
	}
}

// style is how an object or an array of a file is laid out.
type style struct {
	separator  string // between two parts: ", " or a comma and a new line
	colon      string
	pad        string // behind the opening and before the closing bracket
	open, shut string // the same as they stand, with new lines
	comma      string // between parts on one line
}

// styleOf looks at how an object or an array is written. One without parts takes
// the looks of what it stands in.
func styleOf(ref source.Ref) style {
	s := style{separator: ", ", colon: ": ", pad: " ", comma: ", "}
	text := ref.File.Text
	if tight := !strings.ContainsAny(text, " \t\n\r"); tight || isTight(ref) {
		s = style{separator: ",", colon: ":", comma: ","}
	}
	s.open, s.shut = s.pad, s.pad
	isList := ref.Kind() == source.Array
	if isList {
		s.pad, s.open, s.shut = "", "", ""
	}
	var starts, stops []int
	for item := range ref.Items() {
		start, stop := item.Bytes()
		if !isList {
			start = item.KeyPlace().Start
		}
		starts, stops = append(starts, start), append(stops, stop)
	}
	if len(starts) == 0 {
		return s
	}
	from, to := ref.Bytes()
	if ref.Kind() != source.Array && ref.Kind() != source.Object {
		return s
	}
	last := len(starts) - 1
	s.open, s.shut = text[from+1:starts[0]], text[stops[last]:to-1]
	if last > 0 {
		s.separator = between(text[stops[last-1]:starts[last]], s.comma)
	} else {
		s.separator = between(","+s.open, s.comma)
	}
	if !strings.Contains(s.open, "\n") && !isList {
		s.pad = s.open
	}
	return s
}

// between makes a separator of what stands between two parts: blanks that only
// line up columns are not kept.
func between(text, comma string) string {
	if strings.ContainsAny(text, "\r\n") {
		return text
	}
	return comma
}

// isTight reports whether no blank stands behind the colons of an object, or of
// the first object in a list.
func isTight(ref source.Ref) bool {
	for item := range ref.Items() {
		if ref.Kind() == source.Object {
			start, _ := item.Bytes()
			return start == item.KeyPlace().Stop+1
		}
		return isTight(item)
	}
	return false
}

// object writes an entity that is new.
func (s style) object(v reflect.Value) string {
	var texts []string
	for _, m := range format.Members(v.Type()) {
		if field := v.FieldByIndex(m.Index); !field.IsZero() {
			texts = append(texts, quote(m.Key)+s.colon+s.flat().value(field))
		}
	}
	return "{" + s.open + strings.Join(texts, s.separator) + s.shut + "}"
}

// flat is the same style on one line, for what stands within a part.
func (s style) flat() style {
	s.separator = s.comma
	if s.colon != ":" {
		s.pad = " "
	}
	s.open, s.shut = s.pad, s.pad
	return s
}

// list writes a list of entities that was not there: each on a line of its own
// where the parts of its owner are.
func (s style) list(v reflect.Value) string {
	var texts []string
	for i := range v.Len() {
		texts = append(texts, s.flat().object(v.Index(i).Elem()))
	}
	at := strings.LastIndexAny(s.separator, "\r\n")
	if at < 0 || strings.Contains(s.separator[at:], ",") { // all on one line, or commas that begin lines
		return "[" + strings.Join(texts, s.comma) + "]"
	}
	indent := s.separator[at+1:]
	unit := strings.TrimPrefix(indent, s.shut[strings.LastIndexAny(s.shut, "\r\n")+1:])
	if unit == "" {
		unit = "  "
	}
	line := strings.TrimLeft(s.separator[:at+1], ", \t")
	return "[" + line + indent + unit + strings.Join(texts, ","+line+indent+unit) + line + indent + "]"
}

// value writes a value on one line.
func (s style) value(v reflect.Value) string {
	switch value := v.Interface().(type) {
	case schema.CueNumber:
		return value.String()
	case schema.Aim:
		if value.Point == nil {
			return quote(value.Name)
		}
		return s.flat().value(reflect.ValueOf(*value.Point))
	}
	switch v.Kind() {
	case reflect.Pointer:
		return s.value(v.Elem())
	case reflect.String:
		return quote(v.String())
	case reflect.Float64:
		return format.Number(v.Float())
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Bool:
		return strconv.FormatBool(v.Bool())
	case reflect.Slice:
		var texts []string
		for i := range v.Len() {
			texts = append(texts, s.value(v.Index(i)))
		}
		return "[" + strings.Join(texts, s.comma) + "]"
	case reflect.Map:
		var texts []string
		for _, key := range sortedKeys(v) {
			texts = append(texts, quote(key)+s.colon+s.value(v.MapIndex(reflect.ValueOf(key))))
		}
		return "{" + s.flat().open + strings.Join(texts, s.comma) + s.flat().shut + "}"
	case reflect.Struct:
		flat := s.flat()
		if v.Type() == reflect.TypeFor[schema.Point]() { // all three belong to it, zeros too
			return "{" + flat.open + quote("x") + s.colon + format.Number(v.Field(0).Float()) + s.comma + quote("y") + s.colon + format.Number(v.Field(1).Float()) +
				s.comma + quote("z") + s.colon + format.Number(v.Field(2).Float()) + flat.shut + "}"
		}
		return flat.object(v)
	}
	panic("jsonform: no writing for " + v.Type().String())
}

func sortedKeys(v reflect.Value) []string {
	var keys []string
	for _, key := range v.MapKeys() {
		keys = append(keys, key.String())
	}
	slices.Sort(keys)
	return keys
}

// quote writes a text as JSON, letters beyond ASCII as they are.
func quote(text string) string {
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	_ = encoder.Encode(text) // a string can always be written
	return strings.TrimSuffix(b.String(), "\n")
}
