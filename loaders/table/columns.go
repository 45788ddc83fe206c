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
// The first name of a column is its field in the JSON form where it has one.
var tables = []table{
	{"patch", "channel", []column{
		{"channel", []string{"chan", "ch", "channel no", "channel number", "chan no", "ch no"}, []string{"fixture id", "fixture no", "fixture number", "unit no", "unit number", "desk channel", "console channel", "control channel", "channel id", "id", "number", "no", "nr", "num", "fid", "unit", "fixture"}},
		{"name", []string{"fixture name", "title"}, []string{"label", "fixture", "description", "text", "unit name", "what"}},
		{"address", []string{"addr", "dmx", "dmx address", "dmx addr", "start address", "dmx start address", "dmx start", "patch"}, []string{"dmx512", "patched at", "patched to", "universe address", "start", "output", "line"}},
		{"more_addresses", []string{"further addresses", "other addresses"}, nil},
		{"universe", []string{"univ", "uni", "dmx universe", "universe no"}, nil},
		{"slot", []string{"dmx slot", "start slot", "dmx channel", "first slot"}, nil},
		{"type", []string{"fixture type", "instrument", "luminaire", "luminaire type", "lamp type", "model"}, []string{"kind", "instrument type", "fixture model", "make and model", "product", "device", "lamp", "head", "profile", "fixture"}},
		{"mode", []string{"dmx mode", "fixture mode", "operating mode"}, nil},
		{"purpose", []string{"use", "used for", "usage", "function", "role"}, []string{"system", "job", "category", "task"}},
		{"hung_on", []string{"position", "hung from", "hanging position", "bar", "truss", "pipe", "batten", "location", "mounted on"}, []string{"hangs on", "rigging", "rig position", "bar name", "electric", "lx bar", "where", "hang", "boom"}},
		{"hung_order", []string{"order on bar", "place on bar", "number on bar"}, []string{"unit", "unit no", "position on bar", "no on bar", "nr on bar"}},
		{"hung_at_m", []string{"distance on bar", "metres on bar", "offset", "offset m"}, nil},
		{"hung_x", []string{"x", "pos x", "position x", "x m"}, nil},
		{"hung_y", []string{"y", "pos y", "position y", "y m"}, nil},
		{"hung_z", []string{"z", "pos z", "position z", "z m", "height", "hung height"}, nil},
		{"mount", []string{"mounting", "mounted"}, nil},
		{"aimed_at", []string{"aim", "aim at", "focus", "focused at", "focus area", "target"}, []string{"area", "lights", "points at", "pointing at", "focus point", "focussed at", "zone"}},
		{"aim_x", []string{"aimed at x", "target x", "focus x"}, nil},
		{"aim_y", []string{"aimed at y", "target y", "focus y"}, nil},
		{"aim_z", []string{"aimed at z", "target z", "focus z"}, nil},
		{"zoom_deg", []string{"zoom", "zoom angle", "zoom degrees", "field angle", "field deg"}, nil},
		{"shutters", []string{"shutter", "shutter cut", "shutter cuts", "cuts", "blades"}, nil},
		{"filter", []string{"filter name", "gel", "colour filter", "color filter", "colour", "color"}, nil},
		{"filter_x", nil, nil},
		{"filter_y", nil, nil},
		{"filter_transmission", []string{"transmission"}, nil},
		{"filter_shift_mired", []string{"filter shift", "mired shift", "shift mired"}, nil},
		{"filter_hue_deg", []string{"filter hue"}, nil},
		{"circuit", []string{"circ", "circuit no", "circuit name", "outlet", "breaker", "feed"}, []string{"dimmer", "socket", "power", "mains", "supply"}},
		{"groups", []string{"group", "member of"}, nil},
		{"white_k", whiteNames, nil},
	}, readPatchRows},
	{"cues", "cue", []column{
		{"cue", []string{"q", "cue no", "cue number", "cue num", "q no", "number", "no"}, []string{"lx cue", "lighting cue", "memory", "step", "scene no", "id", "nr", "num", "state", "lx", "cue id", "look no"}},
		{"part", []string{"cue part", "part no", "part number"}, nil},
		{"name", []string{"cue name", "title", "description"}, []string{"label", "text", "what", "look", "scene", "scene name", "look name"}},
		{"segment", []string{"item", "section", "song", "segment name"}, []string{"part of service", "moment", "event", "programme item", "part of the service", "when"}},
		{"at_s", []string{"at", "at time", "called at"}, nil},
		{"in_s", []string{"in", "up", "time", "fade", "fade in", "fade up", "fade time", "time in", "time up", "in time", "up time"}, []string{"duration", "crossfade", "xfade", "transition", "speed", "seconds", "secs"}},
		{"out_s", []string{"out", "down", "fade out", "fade down", "time out", "time down", "out time", "down time"}, nil},
		{"delay_s", []string{"delay", "delay time"}, nil},
		{"follow_s", []string{"follow", "follow on", "follow time"}, nil},
		{"tracking", []string{"track", "tracking mode"}, nil},
		{"people", peopleNames, []string{"on stage", "cast"}},
		{"lead", leadNames, nil},
		{"walks", walkNames, nil},
		{"meant", meantNames, nil},
		{"note", noteNames, nil},
		{"channels", []string{"channel", "chan", "chans", "ch", "channel selection", "selection", "fixtures", "lights"}, []string{"fixture", "fixture no", "fixture id", "unit", "units", "heads", "lamps", "group", "lamp"}},
		{"level", []string{"level pct", "intensity", "intensity pct", "lvl", "dimmer", "pct"}, []string{"value", "output", "percent", "dim", "brightness", "at level", "val"}},
		{"white_k", whiteNames, nil},
		{"x", []string{"cie x", "chromaticity x", "colour x", "color x"}, nil},
		{"y", []string{"cie y", "chromaticity y", "colour y", "color y"}, nil},
		{"colour", []string{"color", "rgb", "rgb hex", "hex", "hex colour", "hex color", "colour hex", "colour rgb", "color rgb"}, []string{"color hex", "tint"}},
		{"mix", []string{"colour mix", "color mix", "emitters"}, nil},
		{"hue_deg", []string{"hue", "hue angle"}, nil},
		{"saturation_pct", []string{"saturation", "sat", "sat pct"}, nil},
		{"aim", []string{"aimed at", "aim at", "focus", "target"}, nil},
		{"aim_x", []string{"aimed at x", "target x", "focus x"}, nil},
		{"aim_y", []string{"aimed at y", "target y", "focus y"}, nil},
		{"aim_z", []string{"aimed at z", "target z", "focus z"}, nil},
		{"zoom_deg", []string{"zoom", "zoom angle", "zoom degrees"}, nil},
		{"strobe_hz", []string{"strobe", "strobe rate", "flash rate", "flashes per second"}, nil},
		{"pattern", []string{"gobo", "template"}, nil},
		{"wheel", []string{"colour wheel", "color wheel"}, nil},
		{"effect", []string{"effect kind", "effect type", "fx"}, nil},
		{"effect_hz", []string{"effect rate", "effect rate hz", "effect speed", "fx rate"}, nil},
		{"effect_duty", []string{"effect duty pct", "duty", "duty pct"}, nil},
		{"effect_spread", []string{"effect spread pct", "spread", "spread pct"}, nil},
		{"effect_low", []string{"effect low pct"}, nil},
		{"effect_high", []string{"effect high pct"}, nil},
		{"screen", screenNames, nil},
		{"drive_pct", driveNames, nil},
		{"palette", paletteNames, nil},
		{"content", contentNames, nil},
		{"content_pct", contentShares, nil},
	}, readCueRows},
	{"order", "name", []column{
		{"name", []string{"item", "segment", "segment name", "title", "song"}, []string{"what", "event", "moment", "programme item", "part"}},
		{"kind", []string{"type", "segment kind", "segment type"}, nil},
		{"start_cue", []string{"cue", "first cue", "cue no", "cue number", "q"}, []string{"lx", "lx cue", "starts with"}},
		{"duration_s", []string{"duration", "length", "time", "running time"}, []string{"minutes", "mins", "dur"}},
		{"people", peopleNames, nil},
		{"lead", leadNames, nil},
		{"walks", walkNames, nil},
		{"mood", []string{"feel", "atmosphere"}, nil},
		{"palette", paletteNames, nil},
		{"meant", meantNames, nil},
		{"note", noteNames, nil},
		{"screen", screenNames, nil},
		{"drive_pct", driveNames, nil},
		{"content", contentNames, nil},
		{"content_pct", contentShares, nil},
	}, readOrderRows},
	{"readings", "place", []column{
		{"place", []string{"where", "position", "point"}, nil},
		{"cue", []string{"q", "cue no", "cue number", "q no"}, nil},
		{"channels", []string{"channel", "chan", "chans", "ch", "fixtures", "lights"}, nil},
		{"level", []string{"level pct", "intensity", "lvl", "pct"}, nil},
		{"lx", []string{"lux", "illuminance", "light", "reading"}, nil},
		{"white_k", whiteNames, nil},
		{"duv", nil, nil},
		{"plane", []string{"held", "meter plane"}, nil},
		{"height_m", []string{"height", "meter height"}, nil},
		{"accuracy_pct", []string{"accuracy", "meter accuracy"}, nil},
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

// CheckAliases says what is wrong with further header names, by column or by table and
// column ("cues/level"): a column that no table has, or one name for two columns of a table. A name that the program
// gives to another column by itself is not wrong: the further name wins.
func CheckAliases(aliases map[string][]string) error {
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
		for _, alias := range t.aliases(c.name, aliases) {
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
