// Package convert writes down what was read as the neutral form: a folder of JSON
// files that a team can keep in git, with everything counted that did not come along.
//
// In goes what package loaders made of folders, exports and files by hand; out come
// the files of a new folder. Values are carried over as they stand, with where they
// came from. A newcomer's mistake would be to write a show from its Go types: what was
// told in one way would come out in another, and nobody could find it again.
package convert

import (
	"fmt"
	"maps"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// Folder is the neutral form of a show.
type Folder struct {
	Files  []File         // by name
	Losses []Loss         // by file and place
	Holds  map[string]int // how many of each thing: "fixture", "cue"...
}

// File is one file of it.
type File struct {
	Name string
	Data []byte
}

// Loss is something that did not come along as it was.
type Loss struct {
	Kind  format.LossKind `json:"kind"`
	What  string          `json:"what"` // a noun phrase in the plural
	Count int             `json:"count"`
	First string          `json:"first"` // where the first of them is: file, or file:line
}

// Kind is what became of what did not come along.
type Kind = format.LossKind

// LossFile is the file that lists the losses.
const LossFile = "losses.json"

// Make makes the files. names are the paths that were read, for where values came
// from. The error is our own fault or that of the machine.
func Make(read loaders.Result, names []string) (*Folder, error) {
	m := &maker{show: read.Show, above: folders(names), mistakes: map[string]*Loss{}}
	files := m.files(read)
	if err := m.prove(files); err != nil {
		return nil, err
	}
	folder := &Folder{Holds: map[string]int{}}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		folder.Files = append(folder.Files, File{name, []byte(files[name].text)})
	}
	folder.Files = append(folder.Files, m.light...)
	for _, l := range read.Losses {
		folder.Losses = append(folder.Losses, Loss{l.Kind, l.What, l.Count, m.origin(l.Place)})
	}
	for _, id := range slices.Sorted(maps.Keys(m.mistakes)) {
		folder.Losses = append(folder.Losses, *m.mistakes[id])
	}
	folder.Losses = joined(folder.Losses)
	for section, n := range map[string]int{"type": len(read.Show.Types), "fixture": len(read.Show.Patch), "cue": len(read.Show.Cues), "segment": len(read.Show.Order), "group": len(read.Show.Groups)} {
		folder.Holds[section] = n
	}
	losses, err := lossFile(folder.Losses)
	if err != nil {
		return nil, err
	}
	folder.Files = append(folder.Files, File{LossFile, losses})
	slices.SortFunc(folder.Files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	return folder, nil
}

// joined adds up losses of one kind from one file, as thirty types may have each.
func joined(list []Loss) []Loss {
	var out []Loss
	at := map[string]int{}
	for _, l := range list {
		file, _, _ := strings.Cut(l.First, ":")
		outer, _, _ := strings.Cut(file, "/") // of an archive
		key := string(l.Kind) + "\x00" + l.What + "\x00" + outer
		if i, known := at[key]; known {
			out[i].Count += l.Count
			continue
		}
		at[key] = len(out)
		out = append(out, l)
	}
	return out
}

// maker makes one folder.
type maker struct {
	show     *schema.Show
	above    []string // the folders of what was named, with a slash behind
	light    []File   // photometric files
	mistakes map[string]*Loss
}

// files lays the sections on files of their names; what has no long list stays in
// show.json.
func (m *maker) files(read loaders.Result) map[string]*document {
	head := &node{kind: source.Object}
	if !m.show.At.IsZero() {
		for member := range m.show.At.Items() {
			if key := member.Key(); !slices.Contains(schema.Sections, key) && key != "$schema" {
				head.put(copied(member))
			}
		}
	}
	if head.get("name") == nil && read.Name != "" {
		head.put(&node{kind: source.String, key: "name", text: read.Name})
	}
	files := map[string]*document{"show.json": {root: head}}
	for _, section := range schema.Sections {
		from, given := m.show.ReadFrom[section]
		if !given {
			continue
		}
		root := m.section(section, from)
		if root == nil || len(root.kids) == 0 {
			continue
		}
		if section == "groups" || section == "notices" {
			root.key = section
			head.put(root)
			continue
		}
		files[section+".json"] = &document{root: root}
	}
	for _, file := range files {
		m.mark(file.root, "")
		file.print()
	}
	return files
}

// section copies one section. Things that several files tell of are put together from
// what was read; what only one can hold is copied as it stands.
func (m *maker) section(section string, from source.Ref) *node {
	switch section {
	case "types":
		root := entities(m.show.Types)
		for i, t := range m.show.Types {
			m.photometry(t, root.kids[i])
		}
		return root
	case "patch":
		return entities(m.show.Patch)
	case "readings":
		return entities(m.show.Readings)
	case "room":
		return entity(reflect.ValueOf(m.show.Room))
	case "notices":
		return entity(reflect.ValueOf(m.show.Notices))
	case "groups":
		root := copied(from)
		root.key = ""
		for _, name := range slices.Sorted(maps.Keys(m.show.Groups)) {
			if root.get(name) == nil {
				if lent, ok := from.Get(name); ok {
					root.put(copied(lent))
				}
			}
		}
		return root
	}
	root := copied(from)
	root.key = ""
	return root
}

// photometry takes the file along that a type names, under its own name.
func (m *maker) photometry(t *schema.Type, n *node) {
	named := n.get("photometry")
	if named == nil || t.PhotometryData == nil {
		return
	}
	named.text = path.Base(strings.ReplaceAll(t.Photometry, `\`, "/"))
	for i := 2; ; i++ {
		at := slices.IndexFunc(m.light, func(f File) bool { return strings.EqualFold(f.Name, named.text) })
		if at < 0 {
			m.light = append(m.light, File{named.text, t.PhotometryData})
			return
		}
		if string(m.light[at].Data) == string(t.PhotometryData) {
			return
		}
		end := path.Ext(named.text)
		named.text = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(path.Base(strings.ReplaceAll(t.Photometry, `\`, "/")), end), i, end)
	}
}

// entities copies a list of things with what other files tell of them.
func entities[E any](list []*E) *node {
	root := &node{kind: source.Array}
	for _, e := range list {
		if n := entity(reflect.ValueOf(e)); n != nil {
			root.kids = append(root.kids, n)
		}
	}
	return root
}

// entity copies one thing, given a pointer to it: its own values, then those that
// other files tell. How values are known was put together when they were read.
func entity(v reflect.Value) *node {
	at, ok := format.PlaceOf(v)
	if !ok {
		return nil
	}
	n := copied(at)
	n.key = ""
	order := map[string]int{}
	for i, member := range format.Members(v.Type().Elem()) {
		order[member.Key] = i + 1
		value, err := v.Elem().FieldByIndexErr(member.Index)
		if err != nil {
			continue // a part that is not there
		}
		if known, is := value.Interface().(schema.Known); is {
			n.drop(member.Key)
			if k := knownNode(known, n, at); k != nil {
				k.key = member.Key
				n.put(k)
			}
			continue
		}
		if value.Kind() == reflect.Slice && value.Len() > 0 {
			if _, listed := format.PlaceOf(value.Index(0)); listed {
				list := &node{kind: source.Array, key: member.Key, from: at}
				if there, ok := at.Get(member.Key); ok {
					list.from = there
				}
				for i := range value.Len() {
					if item := entity(value.Index(i)); item != nil {
						list.kids = append(list.kids, item)
					}
				}
				n.replace(list)
				continue
			}
		}
		if there := n.get(member.Key); there != nil && value.Kind() == reflect.String && there.kind == source.String {
			there.text = value.String() // what it is called where another file says more
		}
		if n.get(member.Key) == nil {
			if lent, ok := at.Get(member.Key); ok {
				n.put(copied(lent))
			}
		}
	}
	slices.SortStableFunc(n.kids, func(a, b *node) int { return order[a.key] - order[b.key] }) // remarks first
	return n
}

// knownNode says how values are known, of the keys that are there.
func knownNode(known schema.Known, of *node, at source.Ref) *node {
	n := &node{kind: source.Object, from: at}
	for _, key := range slices.Sorted(maps.Keys(known)) {
		if of.get(key) == nil {
			if _, lent := at.Get(key); !lent {
				continue
			}
		}
		k := known[key]
		if k.Low == k.High && k.Word != "" {
			n.put(&node{kind: source.String, key: key, text: k.Word, from: at})
			continue
		}
		list := &node{kind: source.Array, key: key, from: at}
		for _, end := range []float64{k.Low, k.High} {
			list.kids = append(list.kids, &node{kind: source.Number, text: format.Number(end), from: at})
		}
		n.put(list)
	}
	if len(n.kids) == 0 {
		return nil
	}
	return n
}

// mark notes in each object where its values came from, unless what it stands in
// says it already: a place for all, or one for each that differs.
func (m *maker) mark(n *node, above string) {
	here := above
	if n.kind == source.Object && !n.plain() {
		places := map[string]string{}
		count := map[string]int{}
		for _, k := range n.kids {
			if k.from.IsZero() || k.kind == source.Object || k.kind == source.Array && len(k.kids) > 0 && k.kids[0].kind == source.Object {
				continue
			}
			if at := m.origin(k.from.Place()); at != "" {
				places[k.key] = at
				count[at]++
			}
		}
		if len(count) > 0 {
			here = most(count, above)
		}
		differ := &node{kind: source.Object, key: "x_from"}
		for _, key := range slices.Sorted(maps.Keys(places)) {
			if places[key] != here {
				differ.put(&node{kind: source.String, key: key, text: places[key]})
			}
		}
		switch {
		case len(differ.kids) > 0:
			if here != above {
				differ.kids = slices.Insert(differ.kids, 0, &node{kind: source.String, key: "all else", text: here})
			}
			defer n.put(differ)
		case here != above:
			defer n.put(&node{kind: source.String, key: "x_from", text: here})
		}
	}
	for _, k := range n.kids {
		m.mark(k, here)
	}
}

// most returns the place that most values have; of several the one from above, then
// the first.
func most(count map[string]int, above string) string {
	best := ""
	for _, at := range slices.Sorted(maps.Keys(count)) {
		if best == "" || count[at] > count[best] || count[at] == count[best] && at == above {
			best = at
		}
	}
	return best
}

// folders returns the folders of what was named.
func folders(names []string) []string {
	var list []string
	for _, name := range names {
		folder := filepath.ToSlash(filepath.Clean(name))
		if info, err := os.Stat(name); err != nil || !info.IsDir() {
			folder = path.Dir(folder)
		}
		list = append(list, strings.TrimSuffix(folder, "/")+"/")
	}
	return list
}

// origin says where something stands: file and line, as seen from what was named.
func (m *maker) origin(at source.Place) string {
	if at.File == nil {
		return ""
	}
	name := at.File.Name
	for _, folder := range m.above {
		if rest, cut := strings.CutPrefix(name, folder); cut {
			name = rest
			break
		}
	}
	if at.File.Text == "" {
		return name
	}
	return fmt.Sprintf("%s:%d", name, at.Span().Start.Line)
}

// rounds is how often a folder is read again before it is given up.
const rounds = 50

// prove reads what was made as a show and takes out, value by value, what a file of a
// show may not hold, until nothing is wrong with it: a mistake in an export is told
// when that is checked, and is not handed on.
func (m *maker) prove(files map[string]*document) error {
	folder, err := os.MkdirTemp("", "cueproof-convert-")
	if err != nil {
		return fmt.Errorf("prove the files: %w", err)
	}
	defer os.RemoveAll(folder)
	for range rounds {
		for name, file := range files {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(file.text), 0o600); err != nil {
				return fmt.Errorf("prove the files: %w", err)
			}
		}
		for _, f := range m.light {
			if err := os.WriteFile(filepath.Join(folder, f.Name), f.Data, 0o600); err != nil {
				return fmt.Errorf("prove the files: %w", err)
			}
		}
		again, err := loaders.Load(folder, loaders.Options{})
		if err != nil {
			return fmt.Errorf("prove the files: %w", err)
		}
		wrong := 0
		gone := map[*node]bool{}
		for _, f := range again.Findings {
			if f.Level != finding.Error {
				continue
			}
			wrong++
			if file := files[path.Base(f.Place.File.Name)]; file != nil {
				m.takeOut(file, f, gone)
			}
		}
		if wrong == 0 {
			return nil
		}
		if len(gone) == 0 {
			break
		}
		for _, file := range files {
			file.root.clean(gone)
			file.print()
		}
	}
	return fmt.Errorf("what was made is no show that can be read")
}

// takeOut marks the smallest thing at the place of a mistake.
func (m *maker) takeOut(file *document, f finding.Finding, gone map[*node]bool) {
	n := file.at(f.Place.Start)
	if n == nil || n == file.root {
		return
	}
	gone[n] = true
	id := strings.TrimPrefix(f.Rule, "file/")
	l := m.mistakes[id]
	if l == nil {
		first := ""
		if !n.from.IsZero() {
			first = m.origin(n.from.Place())
		}
		l = &Loss{Kind: format.Dropped, What: fmt.Sprintf("values with a mistake (see explain file/%s)", id), First: first}
		m.mistakes[id] = l
	}
	l.Count++
}
