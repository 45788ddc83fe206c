package start

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/typical"
)

// placeNames are the places that the show names: where people are and where lamps
// point, in the order in which they are named.
func (s *Start) placeNames() []string {
	var names []string
	add := func(name string) {
		name = strings.TrimSpace(name)
		if name == "" || len(name) > 60 || s.surface(name) || notAPlace(name) || slices.ContainsFunc(names, func(other string) bool { return sameName(other, name) }) {
			return
		}
		names = append(names, name)
	}
	for _, p := range s.show.Room.Places {
		add(p.Name)
	}
	for _, seg := range s.show.Order {
		for _, name := range seg.People {
			add(name)
		}
	}
	for _, cue := range s.show.Cues {
		for _, name := range cue.People {
			add(name)
		}
	}
	for _, f := range s.show.Patch {
		if f.AimedAt != nil && f.AimedAt.Point == nil {
			add(f.AimedAt.Name)
		}
	}
	return names
}

// notAPlace tells words for a part of the room on which no person is meant.
func notAPlace(name string) bool {
	return contains(wordsOf(name), "stage", "audience", "house", "crowd", "cyc", "backdrop", "drape", "screen", "wall", "air", "floor", "ceiling", "everywhere", "room", "background")
}

func (s *Start) surface(name string) bool {
	return slices.ContainsFunc(s.show.Room.Surfaces, func(c *schema.Surface) bool { return sameName(c.Name, name) })
}

func (s *Start) place(name string) *schema.Place {
	for _, p := range s.show.Room.Places {
		if sameName(p.Name, name) {
			return p
		}
	}
	return nil
}

// barNames are what lamps hang on, by the patch.
func (s *Start) barNames() []string {
	var names []string
	for _, f := range s.show.Patch {
		if name := strings.TrimSpace(f.HungOn); name != "" && f.HungAt == nil && !slices.ContainsFunc(names, func(other string) bool { return sameName(other, name) }) {
			names = append(names, name)
		}
	}
	return names
}

func (s *Start) typeNames() []string {
	var names []string
	for _, f := range s.show.Patch {
		if f.Type != "" && !slices.Contains(names, f.Type) {
			names = append(names, f.Type)
		}
	}
	return names
}

func (s *Start) typeOf(name string) *schema.Type {
	for _, t := range s.show.Types {
		if t.Name == name {
			return t
		}
	}
	return nil
}

// kindOf guesses the built-in type of a type by its name: the words in it that name a
// kind, a light and an angle, whatever else it says.
func (s *Start) kindOf(name string) string {
	var words []string
	for _, word := range wordsOf(name) {
		switch word {
		case "spot", "lekol", "ellipsoidal", "profile":
			if contains(wordsOf(name), "moving") {
				word = "spot"
			} else {
				word = "profile"
			}
		case "can":
			word = "par"
		case "led", "and", "with":
			continue
		}
		words = append(words, word)
	}
	for _, word := range words {
		if strings.Contains(word, "rgb") && !contains(words, "wash", "batten", "strip", "moving", "bar") {
			words = []string{"wash", word}
			break
		}
	}
	for take := len(words); take > 0; take-- { // the longest run of words that is a kind
		for from := 0; from+take <= len(words); from++ {
			if e, ok := typical.Find(strings.Join(words[from:from+take], " ")); ok {
				return e.Name
			}
		}
	}
	return ""
}

// derive concludes what follows from names, addresses and what was answered, for what
// nobody has told.
func (s *Start) derive() {
	counts := map[string]int{}
	for _, f := range s.show.Patch {
		s.deriveFixture(f, counts)
	}
	s.deriveTypes(counts)
	s.deriveSlots(counts)
	s.deriveOrder(counts)
	s.derivePeople(counts)
	for _, what := range sortedKeys(counts) {
		s.Notes = append(s.Notes, fmt.Sprintf("%s: %d", what, counts[what]))
	}
}

// purposeWords are words in names of lamps and bars that say what a lamp is for.
var purposeWords = []struct {
	purpose string
	words   []string
}{
	{"haze", []string{"haze", "hazer", "fog", "fogger", "smoke"}},
	{"house", []string{"house", "houselight", "houselights", "audience", "aisle"}},
	{"practical", []string{"practical", "lantern", "candle"}},
	{"back", []string{"back", "backlight", "rim", "hair"}},
	{"side", []string{"side", "sidelight"}},
	{"top", []string{"top", "toplight", "down", "downlight", "overhead"}},
	{"key", []string{"key", "keylight", "front", "frontlight", "face"}},
	{"fill", []string{"fill"}},
	{"beam", []string{"beam", "beams"}},
	{"effect", []string{"effect", "effects", "strobe", "blinder", "strip", "fx"}},
	{"wash", []string{"wash", "cyc", "colour", "color", "drape", "uplight", "batten"}},
}

func purposeIn(text string) string {
	words := wordsOf(text)
	for _, p := range purposeWords {
		if contains(words, p.words...) {
			return p.purpose
		}
	}
	return ""
}

func (s *Start) deriveFixture(f *schema.Fixture, counts map[string]int) {
	told := item{"channel": f.Channel}
	how := item{}
	purpose := f.Purpose
	if purpose == "" {
		for _, text := range []string{f.Name, strings.Join(f.Groups, " "), f.Type, f.HungOn} {
			if purpose = purposeIn(text); purpose != "" {
				break
			}
		}
		if purpose == "" {
			purpose = s.purposeByBar(f)
		}
		if purpose != "" {
			told["purpose"], how["purpose"] = purpose, "inferred"
			counts["purposes inferred from names and bars"]++
		}
	}
	if f.AimedAt == nil || f.AimedAt.Point == nil && s.place(f.AimedAt.Name) == nil && !s.surface(f.AimedAt.Name) {
		if aim := s.aimOf(f, purpose); aim != nil && f.AimedAt == nil {
			told["aimed_at"], how["aimed_at"] = aim, "inferred"
			counts["aims inferred from names and purposes"]++
		}
	}
	if f.HungOn == "" && f.HungAt == nil && len(s.show.Room.Bars) == 1 && purpose != "house" && purpose != "haze" {
		told["hung_on"], how["hung_on"] = s.show.Room.Bars[0].Name, "inferred"
		counts["lamps hung on the only bar"]++
	}
	if len(how) > 0 {
		told["known"] = how
		s.hall.add("patch", "channel", f.Channel, told)
	}
}

// purposeByBar is what a lamp is for by where its bar hangs: over the house it lights
// faces, behind all places it lights from behind.
func (s *Start) purposeByBar(f *schema.Fixture) string {
	for _, b := range s.show.Room.Bars {
		if !sameName(b.Name, f.HungOn) || b.From == nil {
			continue
		}
		last := 0.0
		for _, p := range s.show.Room.Places {
			if p.Y != nil {
				last = max(last, *p.Y)
			}
		}
		switch {
		case b.From.Y < -0.5:
			return "key"
		case b.From.Y > last+0.5:
			return "back"
		}
	}
	return ""
}

// aimOf is what a lamp points at: the place whose name stands in its own; for washes
// the middle of the stage.
func (s *Start) aimOf(f *schema.Fixture, purpose string) any {
	name := " " + strings.Join(wordsOf(f.Name), " ") + " "
	best := ""
	for _, p := range s.show.Room.Places {
		if words := strings.Join(wordsOf(p.Name), " "); words != "" && strings.Contains(name, " "+words+" ") && len(p.Name) > len(best) {
			best = p.Name
		}
	}
	switch {
	case best != "":
		return best
	case len(s.show.Room.Places) == 1 && (purpose == "key" || purpose == "fill" || purpose == "back"):
		return s.show.Room.Places[0].Name
	case purpose == "wash" || purpose == "beam" || purpose == "effect":
		return point(0, 2, 0)
	}
	return nil
}

// deriveTypes takes the built-in type that the name of a type tells.
func (s *Start) deriveTypes(counts map[string]int) {
	for _, name := range s.typeNames() {
		if kind := s.kindOf(name); kind != "" && !s.described(name) {
			s.hall.add("types", "name", name, item{"name": name, "typical": kind, "known": item{"typical": "inferred"}})
			counts["kinds of lamps inferred from the names of types"]++
		}
	}
}

// described reports whether a type says what light it gives.
func (s *Start) described(name string) bool {
	t := s.typeOf(name)
	return t != nil && (t.Typical != "" || t.Machine != nil || t.Source != "" && (t.FluxLm != nil || t.PeakCd != nil || t.Photometry != "" || len(t.Emitters) > 0))
}

var slotWords = regexp.MustCompile(`(?i)\b([0-9]{1,3})[\s-]*(?:ch|chan|channel|channels|slot|slots|dmx)\b`)

// deriveSlots concludes how many slots a type listens to: from the name of its mode, or
// from the step between addresses of three or more in a row.
func (s *Start) deriveSlots(counts map[string]int) {
	for _, name := range s.typeNames() {
		t := s.typeOf(name)
		if t != nil && (t.Slots != nil || len(t.Modes) > 0 || len(t.Breaks) > 0) {
			continue
		}
		slots, modes := 0, map[string]bool{}
		var at []int
		for _, f := range s.show.Patch {
			if f.Type != name {
				continue
			}
			modes[f.Mode] = true
			if m := slotWords.FindStringSubmatch(f.Mode + " " + f.Type); m != nil {
				slots, _ = strconv.Atoi(m[1])
			}
			if a, err := schema.ParseAddress(f.Address); err == nil {
				at = append(at, a.Universe*1000+a.Slot)
			}
		}
		if slots == 0 {
			slots = step(at)
		}
		if slots < 1 || slots > 512 || len(modes) > 1 {
			continue
		}
		s.hall.add("types", "name", name, item{"name": name, "slots": slots, "known": item{"slots": "inferred"}})
		counts["slots of types inferred from modes and addresses"]++
	}
}

// step is the one step between addresses in order; 0 if they have no one step, or are
// too few to tell.
func step(at []int) int {
	const least = 3
	slices.Sort(at)
	if len(at) < least {
		return 0
	}
	steps := map[int]int{}
	for i := 1; i < len(at); i++ {
		steps[at[i]-at[i-1]]++
	}
	best := 0
	for _, size := range slices.Sorted(func(yield func(int) bool) {
		for size := range steps {
			if !yield(size) {
				return
			}
		}
	}) {
		if steps[size] > steps[best] || best == 0 {
			best = size
		}
	}
	if 3*steps[best] < 2*(len(at)-1) || best > 64 {
		return 0
	}
	return best
}

// kindIn is the kind of a segment by the words of its name.
func kindIn(name string) string {
	words := wordsOf(name)
	for _, k := range []struct {
		kind  string
		words []string
	}{
		{"opening", []string{"opening", "intro", "countdown", "prelude"}}, {"welcome", []string{"welcome", "greeting"}},
		{"film", []string{"film", "video", "clip"}}, {"prayer", []string{"prayer", "pray"}}, {"reading", []string{"reading", "lesson"}},
		{"talk", []string{"talk", "sermon", "message", "speech"}}, {"interview", []string{"interview"}}, {"communion", []string{"communion"}},
		{"notices", []string{"notices", "announcements", "news"}}, {"closing", []string{"closing", "blessing", "outro", "end", "goodbye"}},
		{"song", []string{"song", "hymn", "music", "worship", "band", "set"}},
	} {
		if contains(words, k.words...) {
			return k.kind
		}
	}
	return ""
}

// deriveOrder adds the kinds of segments that their names tell.
func (s *Start) deriveOrder(counts map[string]int) {
	for _, seg := range s.show.Order {
		if seg.Kind == "" {
			if kind := kindIn(seg.Name); kind != "" {
				s.hall.add("order", "name", seg.Name, item{"name": seg.Name, "kind": kind, "known": item{"kind": "inferred"}})
				counts["kinds of segments inferred from names"]++
			}
		}
	}
}

// derivePeople concludes who is there in a segment from its cues, where the cues name
// people and the segment does not: all whom any of its cues names. Where there is no
// running order, segments are made of what the cues call theirs.
func (s *Start) derivePeople(counts map[string]int) {
	named := map[string][]any{} // by segment
	var order []string
	starts := map[string]string{}
	current := ""
	for _, cue := range s.show.Cues {
		name := s.segmentAt(cue, current)
		if name != current || len(order) == 0 {
			if _, met := starts[name]; !met {
				order, starts[name] = append(order, name), cue.Number.String()
			}
			current = name
		}
		for _, person := range cue.People {
			if !slices.Contains(named[name], any(person)) {
				named[name] = append(named[name], person)
			}
		}
		if cue.People != nil && named[name] == nil {
			named[name] = []any{}
		}
	}
	if len(named) == 0 {
		return
	}
	if len(s.show.Order) > 0 {
		for _, seg := range s.show.Order {
			if people, told := named[seg.Name]; told && seg.People == nil {
				s.hall.add("order", "name", seg.Name, item{"name": seg.Name, "people": people, "known": item{"people": "inferred"}})
				counts["people of segments inferred from their cues"]++
			}
		}
		return
	}
	for _, name := range order {
		known := item{"start_cue": "derived"}
		seg := item{"name": name, "start_cue": starts[name], "known": known}
		if name == "" {
			seg["name"] = "whole evening"
		}
		if people, told := named[name]; told {
			seg["people"], known["people"] = people, "inferred"
		}
		if kind := kindIn(name); kind != "" {
			seg["kind"], known["kind"] = kind, "inferred"
		}
		s.hall.add("order", "name", seg["name"], seg)
		counts["segments made of the cues that name people"]++
	}
}

// segmentAt is the segment that a cue belongs to: the one that it names, the one of the
// running order that starts with it, one that its own name tells, or the one before.
func (s *Start) segmentAt(cue *schema.Cue, before string) string {
	if cue.Segment != "" {
		return cue.Segment
	}
	for _, seg := range s.show.Order {
		if seg.StartCue != nil && *seg.StartCue == cue.Number {
			return seg.Name
		}
	}
	if len(s.show.Order) == 0 && kindIn(cue.Name) != "" {
		return cue.Name
	}
	return before
}

// people says who is where: in the segments of the running order, or, where there is
// none, in segments made of what the cues call theirs, or in one for the whole list.
func (s *Start) people(spoken, sung []any, how string) {
	of := func(kind string) []any {
		if kind == "song" || kind == "opening" {
			return sung
		}
		return spoken
	}
	if len(s.show.Order) > 0 {
		for _, seg := range s.show.Order {
			if seg.People == nil {
				kind := seg.Kind
				if kind == "" {
					kind = kindIn(seg.Name)
				}
				s.hall.add("order", "name", seg.Name, item{"name": seg.Name, "people": of(kind), "known": item{"people": how}})
			}
		}
		return
	}
	made := 0
	before := ""
	for _, cue := range s.show.Cues {
		name := cue.Segment
		if name == "" && kindIn(cue.Name) != "" {
			name = cue.Name
		}
		if name == "" || name == before {
			continue
		}
		before = name
		kind := kindIn(name)
		seg := item{"name": name, "start_cue": cue.Number.String(), "people": of(kind), "known": item{"people": how, "start_cue": "derived"}}
		if kind != "" {
			seg["kind"] = kind
			known(seg)["kind"] = "inferred"
		}
		s.hall.add("order", "name", name, seg)
		made++
	}
	if made == 0 {
		s.hall.add("order", "name", "whole evening", item{"name": "whole evening", "start_cue": s.show.Cues[0].Number.String(), "people": spoken, "known": item{"people": how, "start_cue": "derived"}})
	}
}
