// Package start makes a hall from what a booth can export and ten answers.
//
// In go a show as far as its exports tell it, and answers in plain words; out comes
// the text of a file that stands beside the exports and tells the rest: bars, places,
// a camera, kinds of lamps, purposes and aims. What was concluded is marked as
// inferred, and what was not answered but has a usual value as assumed, so that
// nothing which rests on it is told as a fact. A newcomer's mistake would be to write
// into an export: what is guessed stands in a file of its own, and loses against
// whatever is read.
package start

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/typical"
)

// Question is one thing that nobody but a person in the hall can tell.
type Question struct {
	ID      string // by which a file of answers names it
	Ask     string
	Why     string // what it unlocks
	Default string // what is assumed if the answer is "default" or nothing; "" if there is nothing usual

	take func(answer string, assumed bool) error
}

// Start is a hall that is being told.
type Start struct {
	show  *schema.Show
	hall  *hall
	Notes []string // what was derived, in sentences
	Told  int      // values that were answered
}

// New begins with a show as it was read, the file of an earlier start among it, and
// the text of that file, or nothing.
func New(show *schema.Show, before []byte) (*Start, error) {
	h, err := readHall(before)
	if err != nil {
		return nil, err
	}
	if show.Room == nil {
		show.Room = &schema.Room{}
	}
	return &Start{show: show, hall: h}, nil
}

// Text derives what follows from the answers and returns the text of the file.
func (s *Start) Text() ([]byte, error) {
	s.derive()
	return s.hall.text()
}

// Questions lists what is still missing, what unlocks most first.
func (s *Start) Questions() []Question {
	var list []Question
	for _, make := range []func() (Question, bool){
		s.askPlaces, s.askBars, s.askTypes, s.askCamera, s.askPeople, s.askBackground, s.askStage, s.askPower, s.askAmbient, s.askAir,
	} {
		if q, missing := make(); missing {
			list = append(list, q)
		}
	}
	return list
}

// Answer takes an answer. An empty one, or "default", takes what is usual; "skip" and
// "-" leave the question open.
func (s *Start) Answer(q Question, answer string) (taken bool, err error) {
	before, told := s.hall.copied(), s.Told
	defer func() {
		if err != nil { // nothing of an answer that makes no sense stays
			s.hall.root, s.Told = before, told
		}
	}()
	answer = strings.TrimSpace(answer)
	switch strings.ToLower(answer) {
	case "skip", "-", "?":
		return false, nil
	case "", "default":
		if q.Default == "" {
			return false, nil
		}
		return true, q.take(q.Default, true)
	}
	return true, q.take(answer, false)
}

// places of which nobody has told where they are, in the order in which they are named.
func (s *Start) askPlaces() (Question, bool) {
	names := s.placeNames()
	var missing []string
	for _, name := range names {
		if p := s.place(name); p == nil || p.X == nil || p.Y == nil {
			missing = append(missing, name)
		}
	}
	if len(names) == 0 {
		missing = []string{"lectern"}
	}
	if len(missing) == 0 {
		return Question{}, false
	}
	var usual []string
	for i, name := range missing {
		usual = append(usual, fmt.Sprintf("%s = %s, 1.5", name, number(spreadOver(i, len(missing), 4))))
	}
	return Question{
		ID:      "places",
		Ask:     "Where do people stand? For each place: metres to the right of the middle of the stage as the house sees it (left: minus), metres upstage of its front edge. Such as: " + usual[0],
		Why:     "without it no light on a face can be worked out",
		Default: strings.Join(usual, "; "),
		take: func(answer string, assumed bool) error {
			entries, err := s.entries(answer, 2, 3)
			if err != nil {
				return err
			}
			for _, e := range entries {
				place := item{"name": e.name, "x": e.numbers[0], "y": e.numbers[1], "z": 0.0, "head_m": 1.65, "facing_deg": 0.0}
				known := item{"head_m": []any{1.2, 1.85}, "z": "inferred", "facing_deg": "inferred"}
				if len(e.numbers) > 2 {
					place["z"] = e.numbers[2]
					delete(known, "z")
				}
				if assumed {
					known["x"], known["y"] = "assumed", "assumed"
				}
				place["known"] = known
				s.hall.inRoom("places", e.name, place)
			}
			return s.refresh()
		},
	}, true
}

func spreadOver(i, n int, width float64) float64 {
	if n < 2 {
		return 0
	}
	return -width/2 + width*float64(i)/float64(n-1)
}

func (s *Start) askBars() (Question, bool) {
	var missing []string
	for _, name := range s.barNames() {
		if !slices.ContainsFunc(s.show.Room.Bars, func(b *schema.Bar) bool { return sameName(b.Name, name) }) {
			missing = append(missing, name)
		}
	}
	if len(s.show.Patch) == 0 && len(s.show.Room.Bars) == 0 {
		missing = []string{"front bar"}
	}
	if len(missing) == 0 {
		return Question{}, false
	}
	var usual []string
	for _, name := range missing {
		y := -4.0
		if words := wordsOf(name); contains(words, "back", "rear", "upstage", "us") {
			y = 5
		} else if contains(words, "mid", "middle", "stage", "centre", "center", "over") {
			y = 2
		}
		usual = append(usual, fmt.Sprintf("%s = %s, 4.5", name, number(y)))
	}
	return Question{
		ID:      "bars",
		Ask:     "Where do the bars hang? For each: metres upstage of the front edge of the stage (over the house: minus), metres above the stage; and, if you know, where its left and its right end are. Such as: " + usual[0],
		Why:     "it places every lamp on them",
		Default: strings.Join(usual, "; "),
		take: func(answer string, _ bool) error {
			entries, err := s.entries(answer, 2, 4)
			if err != nil {
				return err
			}
			for _, e := range entries {
				left, right := -s.width()/2, s.width()/2
				known := item{"from": "assumed", "to": "assumed"}
				switch len(e.numbers) {
				case 3:
					return fmt.Errorf("of %s one end alone is told; both are wanted, or none", e.name)
				case 4:
					left, right, known = e.numbers[2], e.numbers[3], item{}
				}
				bar := item{"name": e.name, "kind": "bar", "from": point(left, e.numbers[0], e.numbers[1]), "to": point(right, e.numbers[0], e.numbers[1])}
				if len(known) > 0 {
					bar["known"] = known
				}
				s.hall.inRoom("bars", e.name, bar)
			}
			return s.refresh()
		},
	}, true
}

func (s *Start) width() float64 {
	if stage, ok := s.hall.root["x_stage_m"].([]any); ok && len(stage) == 2 {
		if w, ok := stage[0].(float64); ok && w > 0 {
			return w
		}
	}
	return 8
}

func (s *Start) askStage() (Question, bool) {
	if _, told := s.hall.root["x_stage_m"]; told || len(s.show.Room.Areas) > 0 {
		return Question{}, false
	}
	return Question{
		ID: "stage", Ask: "How wide and how deep is the stage, in metres, and how far back do people sit? Such as: 8, 5, 14",
		Why: "it says where the audience is, for light in its eyes", Default: "8, 5, 14",
		take: func(answer string, assumed bool) error {
			n, err := s.numbers(answer, 2, 3)
			if err != nil {
				return err
			}
			s.hall.root["x_stage_m"] = []any{n[0], n[1]}
			back := 14.0
			if len(n) > 2 {
				back = n[2]
			} else {
				assumed = true
			}
			area := item{"name": "seats", "kind": "audience", "x": []any{-n[0] / 2, n[0] / 2}, "y": []any{-back, -2.0}, "z": -0.6,
				"known": item{"x": "assumed", "z": "assumed"}}
			if assumed {
				area["known"].(item)["y"] = "assumed"
			}
			s.hall.inRoom("areas", "seats", area)
			return s.refresh()
		},
	}, true
}

func (s *Start) askTypes() (Question, bool) {
	var missing []string
	for _, name := range s.typeNames() {
		if !s.described(name) && s.kindOf(name) == "" {
			missing = append(missing, name)
		}
	}
	if len(missing) == 0 {
		return Question{}, false
	}
	return Question{
		ID:  "types",
		Ask: fmt.Sprintf("What kind of lamp is each of these: %s? Such as: %s = profile white 26. Kinds: profile, fresnel, par, flood, panel, wash, batten, strip, moving spot, moving wash, moving beam, house, strobe, hazer; then white, tunable, tungsten with its watts, or its colours (rgbw); then the angle.", strings.Join(missing, ", "), missing[0]),
		Why: "it stands in for the data sheets until somebody looks them up",
		take: func(answer string, assumed bool) error {
			for _, part := range split(answer) {
				name, kind, ok := strings.Cut(part, "=")
				name, kind = strings.TrimSpace(name), strings.TrimSpace(kind)
				if !ok || name == "" {
					return fmt.Errorf("%q is not a type and its kind, such as %s = profile white 26", part, missing[0])
				}
				entry, known := typical.Find(kind)
				if !known {
					return fmt.Errorf("%q is no kind of lamp that is built in.%s", kind, spelling.Hint(kind, typical.Names()))
				}
				full := slices.IndexFunc(s.typeNames(), func(other string) bool { return sameName(other, name) })
				if full < 0 {
					return fmt.Errorf("no lamp of the patch is a %q.%s", name, spelling.Hint(name, s.typeNames()))
				}
				s.Told++
				s.hall.add("types", "name", s.typeNames()[full], item{"name": s.typeNames()[full], "typical": entry.Name})
			}
			return s.refresh()
		},
	}, true
}

func (s *Start) askCamera() (Question, bool) {
	whole := func(c *schema.Camera) bool {
		return c.X != nil && c.ApertureF != nil && c.SensitivityISO != nil && c.ShutterS != nil && c.WhiteK != nil
	}
	name := "main camera"
	for _, c := range s.show.Room.Cameras {
		if whole(c) {
			return Question{}, false
		}
		name = c.Name
	}
	return Question{
		ID:  "camera",
		Ask: "How does the main camera stand and how is it set? Metres from the front edge of the stage, metres above the stage, f-number, shutter, sensitivity, white. Such as: 12, 1.5, f/4, 1/50, ISO 800, 5600 K",
		Why: "faces are judged by what it is set for",
		take: func(answer string, _ bool) error {
			camera, err := s.camera(name, answer)
			if err != nil {
				return err
			}
			s.hall.inRoom("cameras", name, camera)
			return s.refresh()
		},
	}, true
}

// camera reads how a camera stands and is set: what has a sign or unit of its own may
// stand anywhere, the two plain numbers are metres.
func (s *Start) camera(name, answer string) (item, error) {
	camera := item{"name": name, "role": "main", "x": 0.0, "auto_white": false, "auto_exposure": false,
		"known": item{"x": []any{-2.0, 2.0}, "auto_white": "assumed", "auto_exposure": "assumed"}}
	var metres []float64
	for _, part := range strings.FieldsFunc(answer, func(r rune) bool { return r == ',' || r == ';' }) {
		text := strings.ToLower(strings.TrimSpace(part))
		bare := strings.TrimSpace(strings.Trim(text, "abcdefghijklmnopqrstuvwxyz/ "))
		value, err := strconv.ParseFloat(bare, 64)
		switch {
		case strings.HasPrefix(text, "1/"):
			n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text[2:], "s")), 64)
			if err != nil || n <= 0 {
				return nil, fmt.Errorf("%q is no shutter such as 1/50", part)
			}
			camera["shutter_s"] = 1 / n
		case err != nil:
			return nil, fmt.Errorf("%q is not understood; write it such as 12, 1.5, f/4, 1/50, ISO 800, 5600 K", strings.TrimSpace(part))
		case strings.HasPrefix(text, "f"):
			camera["aperture_f"] = value
		case strings.HasPrefix(text, "iso"):
			camera["sensitivity_iso"] = value
		case strings.HasSuffix(text, "k") || value >= 1800 && value <= 12_000:
			camera["white_k"] = value
		case value >= 100:
			camera["sensitivity_iso"] = value
		default:
			metres = append(metres, value)
		}
		s.Told++
	}
	if len(metres) > 0 {
		camera["y"], camera["z"] = -math.Abs(metres[0]), 1.5
	}
	if len(metres) > 1 {
		camera["z"] = metres[1]
	} else if len(metres) == 1 {
		camera["known"].(item)["z"] = []any{1.0, 2.5}
	}
	if len(metres) > 2 {
		return nil, fmt.Errorf("%v are more than two plain numbers; write f/ before the f-number and ISO before the sensitivity", metres)
	}
	if names := s.placeNames(); len(names) > 0 {
		camera["aimed_at"] = names[0]
	}
	return camera, nil
}

func (s *Start) askPeople() (Question, bool) {
	if slices.ContainsFunc(s.show.Order, func(seg *schema.Segment) bool { return seg.People != nil }) || len(s.show.Cues) == 0 || len(s.placeNames()) == 0 && len(s.show.Room.Places) == 0 {
		return Question{}, false
	}
	for _, cue := range s.show.Cues {
		if cue.People != nil {
			return Question{}, false // [Start.derivePeople] concludes the rest from these
		}
	}
	names := s.placeNames()
	for _, p := range s.show.Room.Places {
		if !slices.Contains(names, p.Name) {
			names = append(names, p.Name)
		}
	}
	return Question{
		ID:      "people",
		Ask:     "Who is lit while somebody speaks, and who in songs? Places of the first, then behind a slash those of the second. Such as: " + names[0] + " / " + strings.Join(names, ", "),
		Why:     "it says on whom light has to land, and when",
		Default: names[0] + " / " + strings.Join(names, ", "),
		take: func(answer string, assumed bool) error {
			how := "derived" // from the answer and the kind of each segment
			if assumed {
				how = "assumed"
			}
			spoken, sung, _ := strings.Cut(answer, "/")
			if sung == "" {
				sung = spoken
			}
			var lists [2][]any
			for i, text := range []string{spoken, sung} {
				for _, name := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;+|", r) }) {
					name = strings.TrimSpace(name)
					at := slices.IndexFunc(names, func(other string) bool { return sameName(other, name) })
					if at < 0 {
						return fmt.Errorf("%q is no place.%s", name, spelling.Hint(name, names))
					}
					lists[i] = append(lists[i], names[at])
					s.Told++
				}
			}
			s.people(lists[0], lists[1], how)
			return s.refresh()
		},
	}, true
}

func (s *Start) askBackground() (Question, bool) {
	if len(s.show.Room.Surfaces) > 0 {
		return Question{}, false
	}
	return Question{
		ID: "background", Ask: "What do the cameras see behind people? black drape, grey drape, white wall, or a dark or light wall; and how many metres upstage of the front edge. Such as: black drape, 6",
		Why: "before a dark background people need light from behind", Default: "black drape, 6",
		take: func(answer string, assumed bool) error {
			text, at, _ := strings.Cut(answer, ",")
			words := wordsOf(text)
			y, err := strconv.ParseFloat(strings.TrimSpace(at), 64)
			if err != nil {
				y = 6
			}
			// Reflectances of stage cloth and paint are common practice, no source.
			reflectance, low, high := 0.05, 0.02, 0.1
			switch {
			case contains(words, "black", "dark"):
			case contains(words, "grey", "gray", "mid"):
				reflectance, low, high = 0.2, 0.12, 0.35
			case contains(words, "white", "light", "bright"):
				reflectance, low, high = 0.7, 0.5, 0.85
			default:
				return fmt.Errorf("%q is neither black, grey nor white", strings.TrimSpace(text))
			}
			kind := "drape"
			if contains(words, "wall") {
				kind = "wall"
			}
			s.Told += 2
			surface := item{"name": "background", "kind": kind, "centre": point(0, y, 2.5), "width_m": s.width() + 4, "height_m": 5.0, "facing_deg": 0.0, "reflectance": reflectance,
				"known": item{"reflectance": []any{low, high}, "width_m": "inferred", "height_m": "inferred"}}
			if assumed || err != nil {
				surface["known"].(item)["centre"] = "inferred"
			}
			s.hall.inRoom("surfaces", "background", surface)
			for _, name := range s.placeNames() {
				if p := s.place(name); p == nil || p.Background == "" {
					s.hall.inRoom("places", name, item{"name": name, "background": "background", "known": item{"background": "inferred"}})
				}
			}
			return s.refresh()
		},
	}, true
}

func (s *Start) askPower() (Question, bool) {
	var names []string
	for _, f := range s.show.Patch {
		if f.Circuit != "" && !slices.Contains(names, f.Circuit) {
			names = append(names, f.Circuit)
		}
	}
	names = slices.DeleteFunc(names, func(name string) bool {
		return slices.ContainsFunc(s.show.Room.Circuits, func(c *schema.Circuit) bool { return c.Name == name && c.Amps != nil })
	})
	if len(names) == 0 {
		return Question{}, false
	}
	return Question{
		ID: "power", Ask: "What do the circuits carry? Volts and amps of all of them, as their breakers say. Such as: 230, 16",
		Why: "a circuit that carries too much goes out in the middle of a song",
		take: func(answer string, _ bool) error {
			n, err := s.numbers(strings.NewReplacer("V", "", "A", "", "v", "", "a", "").Replace(answer), 2, 2)
			if err != nil {
				return err
			}
			for _, name := range names {
				s.hall.inRoom("circuits", name, item{"name": name, "volts": n[0], "amps": n[1]})
			}
			return s.refresh()
		},
	}, true
}

func (s *Start) askAmbient() (Question, bool) {
	if s.show.Room.AmbientLx != nil || len(s.show.Room.Ambient) > 0 {
		return Question{}, false
	}
	return Question{
		ID: "ambient", Ask: "How much light is on a face on stage with every lamp of the rig off, in lux? A phone app will do. Such as: 10",
		Why: "daylight and house light count on faces too", Default: "5",
		take: func(answer string, assumed bool) error {
			n, err := s.numbers(strings.NewReplacer("lux", "", "lx", "").Replace(strings.ToLower(answer)), 1, 1)
			if err != nil {
				return err
			}
			room := s.hall.room()
			room["ambient_lx"] = n[0]
			if assumed {
				known(room)["ambient_lx"] = []any{0.0, 30.0}
			}
			return s.refresh()
		},
	}, true
}

func (s *Start) askAir() (Question, bool) {
	haze := slices.ContainsFunc(s.show.Patch, func(f *schema.Fixture) bool {
		return f.Purpose == "haze" || contains(wordsOf(f.Type+" "+f.Name), "haze", "hazer", "fog", "fogger")
	})
	if !haze || s.show.Room.Air != nil && s.show.Room.Air.VolumeM3 != nil {
		return Question{}, false
	}
	return Question{
		ID: "air", Ask: "How large is the hall: length, width, height in metres; and how often an hour is its air changed, if you know? Such as: 25, 15, 6, 3",
		Why: "it says when haze is there and when it is gone",
		take: func(answer string, _ bool) error {
			n, err := s.numbers(answer, 3, 4)
			if err != nil {
				return err
			}
			air := item{"volume_m3": n[0] * n[1] * n[2]}
			if len(n) == 4 {
				air["air_changes_per_h"] = n[3]
			}
			s.hall.room()["air"] = air
			return s.refresh()
		},
	}, true
}
