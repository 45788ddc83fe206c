package table

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/spelling"
)

// column is one column of a table: the name that the documentation uses, and
// other names by which exports and people call the same thing.
type column struct {
	name  string
	other []string
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
// The first name of a column is its field in the JSON form where it has one.
var tables = []table{
	{"patch", "channel", []column{
		{"channel", []string{"chan", "ch", "channel no", "channel number", "chan no", "ch no"}},
		{"name", []string{"fixture name", "title"}},
		{"address", []string{"addr", "dmx", "dmx address", "dmx addr", "start address", "dmx start address", "dmx start", "patch"}},
		{"more_addresses", []string{"further addresses", "other addresses"}},
		{"universe", []string{"univ", "uni", "dmx universe", "universe no"}},
		{"slot", []string{"dmx slot", "start slot", "dmx channel", "first slot"}},
		{"type", []string{"fixture type", "instrument", "luminaire", "luminaire type", "lamp type", "model"}},
		{"mode", []string{"dmx mode", "fixture mode", "operating mode"}},
		{"purpose", []string{"use", "used for", "usage", "function", "role"}},
		{"hung_on", []string{"position", "hung from", "hanging position", "bar", "truss", "pipe", "batten", "location", "mounted on"}},
		{"hung_order", []string{"order on bar", "place on bar", "number on bar"}},
		{"hung_at_m", []string{"distance on bar", "metres on bar", "offset", "offset m"}},
		{"hung_x", []string{"x", "pos x", "position x", "x m"}},
		{"hung_y", []string{"y", "pos y", "position y", "y m"}},
		{"hung_z", []string{"z", "pos z", "position z", "z m", "height", "hung height"}},
		{"mount", []string{"mounting", "mounted"}},
		{"aimed_at", []string{"aim", "aim at", "focus", "focused at", "focus area", "target"}},
		{"aim_x", []string{"aimed at x", "target x", "focus x"}},
		{"aim_y", []string{"aimed at y", "target y", "focus y"}},
		{"aim_z", []string{"aimed at z", "target z", "focus z"}},
		{"zoom_deg", []string{"zoom", "zoom angle", "zoom degrees", "field angle", "field deg"}},
		{"shutters", []string{"shutter", "shutter cut", "shutter cuts", "cuts", "blades"}},
		{"filter", []string{"filter name", "gel", "colour filter", "color filter", "colour", "color"}},
		{"filter_x", nil},
		{"filter_y", nil},
		{"filter_transmission", []string{"transmission"}},
		{"filter_shift_mired", []string{"filter shift", "mired shift", "shift mired"}},
		{"filter_hue_deg", []string{"filter hue"}},
		{"circuit", []string{"circ", "circuit no", "circuit name", "outlet", "breaker", "feed"}},
		{"groups", []string{"group", "member of"}},
		{"white_k", whiteNames},
	}, readPatchRows},
	{"cues", "cue", []column{
		{"cue", []string{"q", "cue no", "cue number", "cue num", "q no", "number", "no"}},
		{"part", []string{"cue part", "part no", "part number"}},
		{"name", []string{"cue name", "title", "description"}},
		{"segment", []string{"item", "section", "song", "segment name"}},
		{"at_s", []string{"at", "at time", "called at"}},
		{"in_s", []string{"in", "up", "time", "fade", "fade in", "fade up", "fade time", "time in", "time up", "in time", "up time"}},
		{"out_s", []string{"out", "down", "fade out", "fade down", "time out", "time down", "out time", "down time"}},
		{"delay_s", []string{"delay", "delay time"}},
		{"follow_s", []string{"follow", "follow on", "follow time"}},
		{"tracking", []string{"track", "tracking mode"}},
		{"people", peopleNames},
		{"lead", leadNames},
		{"walks", walkNames},
		{"meant", meantNames},
		{"note", noteNames},
		{"channels", []string{"channel", "chan", "chans", "ch", "channel selection", "selection", "fixtures", "lights"}},
		{"level", []string{"level pct", "intensity", "intensity pct", "lvl", "dimmer", "pct"}},
		{"white_k", whiteNames},
		{"x", []string{"cie x", "chromaticity x", "colour x", "color x"}},
		{"y", []string{"cie y", "chromaticity y", "colour y", "color y"}},
		{"mix", []string{"colour mix", "color mix", "emitters"}},
		{"hue_deg", []string{"hue", "hue angle"}},
		{"saturation_pct", []string{"saturation", "sat", "sat pct"}},
		{"aim", []string{"aimed at", "aim at", "focus", "target"}},
		{"aim_x", []string{"aimed at x", "target x", "focus x"}},
		{"aim_y", []string{"aimed at y", "target y", "focus y"}},
		{"aim_z", []string{"aimed at z", "target z", "focus z"}},
		{"zoom_deg", []string{"zoom", "zoom angle", "zoom degrees"}},
		{"strobe_hz", []string{"strobe", "strobe rate", "flash rate", "flashes per second"}},
		{"pattern", []string{"gobo", "template"}},
		{"wheel", []string{"colour wheel", "color wheel"}},
		{"effect", []string{"effect kind", "effect type", "fx"}},
		{"effect_hz", []string{"effect rate", "effect rate hz", "effect speed", "fx rate"}},
		{"effect_duty", []string{"effect duty pct", "duty", "duty pct"}},
		{"effect_spread", []string{"effect spread pct", "spread", "spread pct"}},
		{"effect_low", []string{"effect low pct"}},
		{"effect_high", []string{"effect high pct"}},
		{"screen", screenNames},
		{"drive_pct", driveNames},
		{"palette", paletteNames},
		{"content", contentNames},
		{"content_pct", contentShares},
	}, readCueRows},
	{"order", "name", []column{
		{"name", []string{"item", "segment", "segment name", "title", "song"}},
		{"kind", []string{"type", "segment kind", "segment type"}},
		{"start_cue", []string{"cue", "first cue", "cue no", "cue number", "q"}},
		{"duration_s", []string{"duration", "length", "time", "running time"}},
		{"people", peopleNames},
		{"lead", leadNames},
		{"walks", walkNames},
		{"mood", []string{"feel", "atmosphere"}},
		{"palette", paletteNames},
		{"meant", meantNames},
		{"note", noteNames},
		{"screen", screenNames},
		{"drive_pct", driveNames},
		{"content", contentNames},
		{"content_pct", contentShares},
	}, readOrderRows},
	{"readings", "place", []column{
		{"place", []string{"where", "position", "point"}},
		{"cue", []string{"q", "cue no", "cue number", "q no"}},
		{"channels", []string{"channel", "chan", "chans", "ch", "fixtures", "lights"}},
		{"level", []string{"level pct", "intensity", "lvl", "pct"}},
		{"lx", []string{"lux", "illuminance", "light", "reading"}},
		{"white_k", whiteNames},
		{"duv", nil},
		{"plane", []string{"held", "meter plane"}},
		{"height_m", []string{"height", "meter height"}},
		{"accuracy_pct", []string{"accuracy", "meter accuracy"}},
	}, readReadingRows},
}

var (
	whiteNames    = []string{"white", "kelvin", "cct", "cct k", "colour temperature", "color temperature", "colour temp", "color temp", "white point"}
	peopleNames   = []string{"who", "places", "place", "on stage"}
	leadNames     = []string{"leads", "leader", "speaker", "speakers", "who speaks"}
	walkNames     = []string{"walk", "path", "paths", "who walks"}
	meantNames    = []string{"intent", "intents", "on purpose"}
	noteNames     = []string{"notes", "comment", "comments", "remark", "remarks", "reason", "purpose"}
	screenNames   = []string{"display", "screen name"}
	driveNames    = []string{"drive", "screen drive", "screen level", "brightness", "brightness pct"}
	contentNames  = []string{"screen content", "picture"}
	contentShares = []string{"content level", "picture level", "mean picture level"}
	paletteNames  = []string{"colours", "colors", "screen palette", "screen colours", "screen colors", "on screen palette"}
)

func tableOf(section string) *table {
	for i := range tables {
		if tables[i].section == section {
			return &tables[i]
		}
	}
	panic("table: no table for " + section)
}

func sections() []string { return []string{"patch", "cues", "order", "readings"} }

// CheckAliases says what is wrong with further header names: a column that no
// table has, or one name for two columns of a table. A name that the program
// gives to another column by itself is not wrong: the further name wins.
func CheckAliases(aliases map[string][]string) error {
	var known []string
	for _, t := range tables {
		for _, c := range t.columns {
			known = append(known, c.name)
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
			for _, alias := range aliases[c.name] {
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

// names maps every folded header word of a table to its column.
func (t *table) names(aliases map[string][]string) map[string]string {
	names := map[string]string{}
	for _, c := range t.columns {
		for _, other := range c.other {
			names[fold(other)] = c.name
		}
	}
	for _, c := range t.columns {
		names[fold(c.name)] = c.name
	}
	for _, c := range t.columns {
		for _, alias := range aliases[c.name] {
			names[fold(alias)] = c.name
		}
	}
	return names
}

var signWords = strings.NewReplacer("%", "pct", "°", "deg", "#", "no")

// fold reduces a header to what is compared: letters and digits, without case.
func fold(header string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, signWords.Replace(header))
}

// private reports whether a column is for people, or for other programs, as
// the JSON form has keys for them: note, and all that start with x_.
func private(header string) bool {
	switch fold(header) {
	case "note", "notes", "comment", "comments", "remark", "remarks":
		return true
	}
	return strings.HasPrefix(strings.ToLower(strings.Trim(header, blanks)), "x_")
}
