package practise

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
)

// lists are what a recipe can go through.
var lists = []string{"cues", "patch", "order", "types", "places", "cameras", "surfaces", "circuits", "room", "show"}

// roomLists stand in the room.
var roomLists = []string{"places", "cameras", "surfaces", "circuits", "bars"}

// Files are the files of a show, by name.
type Files map[string][]byte

// Put writes the files into a folder, one beside the other.
func (f Files) Put(folder string) error {
	for name, data := range f {
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// document is a show as JSON files, each value with its place, so that a change leaves all
// else as somebody wrote it.
type document struct {
	files map[string]*source.File
	edits []splice
	added map[string]int // keys that were added to objects, with their edits
}

// splice puts a text in place of another.
type splice struct {
	file        *source.File
	start, stop int
	text        string
}

// read lays the JSON files of a show. Others are left alone.
func read(files Files) (*document, error) {
	d := &document{files: map[string]*source.File{}, added: map[string]int{}}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if path.Ext(name) != ".json" || path.Dir(name) != "." {
			continue
		}
		file := &source.File{Name: name, Text: string(files[name])}
		if problems, ok := source.ParseJSON(file); !ok {
			return nil, fmt.Errorf("%s is no JSON: %s", name, problems[0].Message)
		}
		d.files[name] = file
	}
	return d, nil
}

// list finds a list of the show; the whole of "show" is one thing.
func (d *document) list(name string) (list source.Ref, items []source.Ref) {
	for _, file := range slices.Sorted(maps.Keys(d.files)) {
		root := d.files[file].Root()
		at, ok := source.Ref{}, false
		switch {
		case name == "show":
			at, ok = root, root.Kind() == source.Object && (file == "show.json" || len(d.files) == 1)
			if ok {
				return at, []source.Ref{at}
			}
		case name == "room":
			if at, ok = root, root.Kind() == source.Object && file == "room.json"; !ok {
				at, ok = root.Get(name)
			}
			if ok {
				return at, []source.Ref{at}
			}
		case root.Kind() == source.Array:
			at, ok = root, file == name+".json"
		case slices.Contains(roomLists, name):
			room := root
			if file != "room.json" {
				room, _ = root.Get("room")
			}
			at, ok = room.Get(name)
		default:
			at, ok = root.Get(name)
		}
		if ok && at.Kind() == source.Array {
			return at, slices.Collect(at.Items())
		}
	}
	return source.Ref{}, nil
}

// set merges a value into what stands under a key of an object.
func (d *document) set(object source.Ref, key string, value any) error {
	at, there := object.Get(key)
	if part, ok := value.(map[string]any); ok && there && at.Kind() == source.Object {
		for _, inner := range slices.Sorted(maps.Keys(part)) {
			if err := d.set(at, inner, part[inner]); err != nil {
				return err
			}
		}
		return nil
	}
	if value == nil {
		if there {
			d.cut(at)
		}
		return nil
	}
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	if there {
		start, stop := at.Bytes()
		d.splice(at.File, start, stop, string(text))
		return nil
	}
	name, err := json.Marshal(key)
	if err != nil {
		return err
	}
	start, _ := object.Bytes()
	place := fmt.Sprint(object.File.Name, " ", start, " ", key)
	if i, again := d.added[place]; again { // a key stands once; the last one counts
		d.edits[i].text = d.edits[i].text[:strings.Index(d.edits[i].text, string(name))] + string(name) + ": " + string(text)
		return nil
	}
	d.add(object, string(name)+": "+string(text))
	d.added[place] = len(d.edits) - 1
	return nil
}

// add puts an entry at the end of an object or array.
func (d *document) add(into source.Ref, text string) {
	start, stop := into.Bytes()
	end := start + len(strings.TrimRight(into.File.Text[start:stop-1], " \t\r\n")) // behind the last entry
	lead := " "
	if line := strings.LastIndexByte(into.File.Text[:end], '\n'); line > start { // several lines: as the line before begins
		last := into.File.Text[line+1 : end]
		lead = "\n" + last[:len(last)-len(strings.TrimLeft(last, " \t"))]
	}
	second := slices.ContainsFunc(d.edits, func(s splice) bool { return s.file == into.File && s.start == end && s.stop == end })
	if into.Len() > 0 || second {
		lead = "," + lead
	}
	d.splice(into.File, end, end, lead+text)
}

// cut takes an entry out, with the comma that belongs to it.
func (d *document) cut(entry source.Ref) {
	start, stop := entry.Bytes()
	if entry.Key() != "" {
		start = entry.KeyPlace().Start
	}
	text := entry.File.Text
	behind := stop + len(text[stop:]) - len(strings.TrimLeft(text[stop:], " \t\r\n"))
	if behind < len(text) && text[behind] == ',' {
		behind++
		stop = behind + len(text[behind:]) - len(strings.TrimLeft(text[behind:], " \t\r\n"))
	} else if before := strings.TrimRight(text[:start], " \t\r\n"); strings.HasSuffix(before, ",") {
		start = len(before) - 1
	}
	d.splice(entry.File, start, stop, "")
}

func (d *document) splice(file *source.File, start, stop int, text string) {
	d.edits = append(d.edits, splice{file, start, stop, text})
}

// changed returns the files with everything done that was asked for. What was added at one
// place stands there in the order in which it was asked for.
func (d *document) changed(files Files) Files {
	result := maps.Clone(files)
	for name, file := range d.files {
		edits := slices.DeleteFunc(slices.Clone(d.edits), func(s splice) bool { return s.file != file })
		if len(edits) == 0 {
			continue
		}
		slices.SortStableFunc(edits, func(a, b splice) int { return cmp.Compare(a.start, b.start) })
		var text strings.Builder
		at := 0
		for _, edit := range edits {
			if edit.start < at {
				continue // inside what is gone already
			}
			text.WriteString(file.Text[at:edit.start] + edit.text)
			at = edit.stop
		}
		text.WriteString(file.Text[at:])
		result[name] = []byte(text.String())
	}
	return result
}
