package start

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// item is an object of the file.
type item = map[string]any

// hall is the file while it is being written. What stands in it already stays.
type hall struct{ root item }

func readHall(before []byte) (*hall, error) {
	h := &hall{root: item{}}
	if len(bytes.TrimSpace(before)) == 0 {
		h.root["note"] = "Written by cueproof start from the answers of a person. What is read from an export wins over it; put right here what was guessed wrong, and take its key out of known."
		return h, nil
	}
	if err := json.Unmarshal(before, &h.root); err != nil || h.root == nil {
		return nil, errors.New("it is no JSON object, so nothing is written into it; put it right or move it away")
	}
	return h, nil
}

func (h *hall) text() ([]byte, error) {
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(h.root); err != nil {
		return nil, fmt.Errorf("write the hall: %w", err)
	}
	return text.Bytes(), nil
}

// copied is the file as it is now.
func (h *hall) copied() item {
	text, err := json.Marshal(h.root)
	if err != nil {
		return h.root // numbers of answers are finite, so that it can be written
	}
	var root item
	_ = json.Unmarshal(text, &root) // it was written just now
	return root
}

func (h *hall) room() item {
	room, ok := h.root["room"].(item)
	if !ok {
		room = item{}
		h.root["room"] = room
	}
	return room
}

// inRoom adds a thing to a list of the room, or what it lacks to the one of that name.
func (h *hall) inRoom(list, name string, thing item) { addTo(h.room(), list, "name", name, thing) }

// add adds a thing to a section.
func (h *hall) add(section, key string, name any, thing item) {
	addTo(h.root, section, key, name, thing)
}

func addTo(holder item, list, key string, name any, thing item) {
	things, _ := holder[list].([]any)
	for _, other := range things {
		before, ok := other.(item)
		if !ok || fmt.Sprint(before[key]) != fmt.Sprint(name) {
			continue
		}
		for k, v := range thing {
			if k == "known" {
				for word, how := range v.(item) {
					if _, given := before[word]; !given {
						known(before)[word] = how
					}
				}
			}
		}
		for k, v := range thing {
			if _, given := before[k]; !given && k != "known" {
				before[k] = v
			}
		}
		return
	}
	holder[list] = append(things, thing)
}

func known(thing item) item {
	k, ok := thing["known"].(item)
	if !ok {
		k = item{}
		thing["known"] = k
	}
	return k
}

func point(x, y, z float64) item { return item{"x": x, "y": y, "z": z} }

// refresh puts what the file tells now into the show, so that further questions and
// conclusions know it.
func (s *Start) refresh() error {
	text, err := s.hall.text()
	if err != nil {
		return err
	}
	file := &source.File{Name: "hall.json", Text: string(text)}
	if problems, ok := source.ParseJSON(file); !ok {
		return fmt.Errorf("the answer makes no sense: %s", problems[0].Message)
	}
	var told schema.Show
	for _, section := range schema.Sections {
		ref, given := file.Root().Get(section)
		if !given {
			continue
		}
		for _, f := range schema.Validate(section, ref) {
			return errors.New(f.Message)
		}
		told.Read(section, ref)
	}
	room := s.show.Room
	if told.Room != nil {
		room.Places = join(room.Places, told.Room.Places, func(p *schema.Place) string { return p.Name })
		room.Bars = join(room.Bars, told.Room.Bars, func(b *schema.Bar) string { return b.Name })
		room.Cameras = join(room.Cameras, told.Room.Cameras, func(c *schema.Camera) string { return c.Name })
		room.Surfaces = join(room.Surfaces, told.Room.Surfaces, func(c *schema.Surface) string { return c.Name })
		room.Areas = join(room.Areas, told.Room.Areas, func(a *schema.Area) string { return a.Name })
		room.Circuits = join(room.Circuits, told.Room.Circuits, func(c *schema.Circuit) string { return c.Name })
		if room.AmbientLx == nil {
			room.AmbientLx = told.Room.AmbientLx
		}
		if room.Air == nil {
			room.Air = told.Room.Air
		}
	}
	s.show.Types = join(s.show.Types, told.Types, func(t *schema.Type) string { return t.Name })
	if len(s.show.Order) == 0 {
		s.show.Order = told.Order
	}
	return nil
}

// join puts what was told behind what was read. Of two with one name the one that was
// told replaces one that was read without numbers only if nothing was read of it.
func join[E any](read, told []*E, name func(*E) string) []*E {
	list := slices.Clone(read)
	for _, e := range told {
		if i := slices.IndexFunc(list, func(other *E) bool { return sameName(name(other), name(e)) }); i >= 0 {
			list[i] = e
			continue
		}
		list = append(list, e)
	}
	return list
}

// entry is a name with numbers behind it.
type entry struct {
	name    string
	numbers []float64
}

// split cuts an answer at semicolons and line breaks.
func split(answer string) []string {
	var parts []string
	for _, part := range strings.FieldsFunc(answer, func(r rune) bool { return r == ';' || r == '\n' || r == '|' }) {
		if part = strings.TrimSpace(part); part != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

// entries reads names with numbers: "lectern = 2, 1; keys = -3, 2.5".
func (s *Start) entries(answer string, least, most int) ([]entry, error) {
	var list []entry
	for _, part := range split(answer) {
		cut := strings.LastIndexAny(part, "=:")
		if cut < 0 {
			return nil, fmt.Errorf("%q is not a name with numbers behind it, such as lectern = 2, 1", part)
		}
		name := strings.TrimSpace(part[:cut])
		numbers, err := s.numbers(part[cut+1:], least, most)
		if err != nil || name == "" {
			return nil, fmt.Errorf("%q is not understood: %w", part, cmpError(err))
		}
		list = append(list, entry{name, numbers})
	}
	if len(list) == 0 {
		return nil, errors.New("nothing is named")
	}
	return list, nil
}

func cmpError(err error) error {
	if err == nil {
		return errors.New("the name is missing")
	}
	return err
}

// mostMetres is more than any hall or number in it has.
const mostMetres = 100_000

// numbers reads numbers between commas, or between blanks where there is no comma.
func (s *Start) numbers(text string, least, most int) ([]float64, error) {
	between := func(r rune) bool { return r == ',' || r == 'x' || r == '×' }
	if !strings.ContainsFunc(text, between) {
		between = func(r rune) bool { return r == ' ' || r == '\t' }
	}
	var list []float64
	for _, part := range strings.FieldsFunc(text, between) {
		part = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(part), "m"))
		if part == "" {
			continue
		}
		n, err := strconv.ParseFloat(part, 64)
		if err != nil || math.IsNaN(n) || math.Abs(n) > mostMetres {
			return nil, fmt.Errorf("%q is no number", part)
		}
		list = append(list, n)
	}
	if len(list) < least || len(list) > most {
		return nil, fmt.Errorf("%d numbers stand there, and %d are wanted", len(list), least)
	}
	s.Told += len(list)
	return list, nil
}

func number(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func sameName(a, b string) bool {
	return strings.Join(wordsOf(a), " ") == strings.Join(wordsOf(b), " ")
}

// wordsOf is a text as words in lower case.
func wordsOf(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 0x7f)
	})
}

func contains(words []string, any ...string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(any, w) })
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
