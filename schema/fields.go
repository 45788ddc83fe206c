package schema

import (
	"cmp"
	"iter"
	"reflect"
	"slices"
)

// Field is one key of something in a show, with all that others need to know of
// it: how tables write it, what people call it, and what an order to change it
// says. Readers, writers, edits and orders ask here, so a further field of a
// setting or of a fixture is one row, its place in the Go type and its JSON Schema.
type Field struct {
	On      Holder
	Key     string
	Form    Form
	Columns []string // further names of its column in tables; the first name is the key
	Weak    []string // names that are taken for it where nothing else is
	Parts   []Part   // of a field that takes several columns

	Noun   string // what people call it, if the key reads badly: "zoom"
	Do     string // an order to give it a value: %[1]s is the thing, %[2]s the value
	Remove string // an order to take it away
	Group  Group  // of fields of a setting: what it tells a lamp
	Alike  bool   // things of one kind usually have the same number here
}

// Part is a part of a field with a column of its own.
type Part struct {
	Key     string // in the object or the list; "" is the field itself
	Column  string
	Form    Form
	Columns []string
}

// Holder is what a field belongs to.
type Holder string

// The holders that tables have rows for, and those whose fields orders change.
const (
	OfSetting Holder = "setting"
	OfFixture Holder = "fixture"
	OfCue     Holder = "cue"
	OfDrive   Holder = "drive"
	OfSegment Holder = "segment"
	OfReading Holder = "reading"
	OfCamera  Holder = "camera"
)

// Form is how the value of a field is written in one cell.
type Form int

// The forms.
const (
	AsText    Form = iota
	AsPurpose      // words, of which people have more than the format
	AsKind
	AsMood
	AsChannel
	AsChannels
	AsWhole
	AsNumber
	AsPercent
	AsLevel
	AsMetres
	AsDegrees
	AsKelvin
	AsHertz
	AsSeconds
	AsMired
	AsLux
	AsCue
	AsYes      // yes or no
	AsNames    // a list, in which a name may have a comma
	AsPeople   // a list of places or paths
	AsColours  // a list without blanks in its items
	AsMeant    // intents
	AsShutters // "top 30, left 20/15"
	AsMix      // "red=100 blue=20"
	AsParts    // in several columns
	AsAim      // a name in one column, or a point in three others
)

// Group is what a field of a setting tells a lamp. Fields of one group were told
// by one cue.
type Group string

// The groups. A setting that is told a colour loses the other ways to tell one.
const (
	Brightness Group = "level"
	Colour     Group = "colour"
	Shade      Group = "shade" // belongs to a colour and does not replace it
	Manner     Group = "rest"
)

var (
	whiteNames   = []string{"white", "kelvin", "cct", "cct k", "colour temperature", "color temperature", "colour temp", "color temp", "white point"}
	paletteNames = []string{"colours", "colors", "screen palette", "screen colours", "screen colors", "on screen palette"}
	peopleNames  = []string{"who", "places", "place", "on stage"}
	leadNames    = []string{"leads", "leader", "speaker", "speakers", "who speaks"}
	walkNames    = []string{"walk", "path", "paths", "who walks"}
	meantNames   = []string{"intent", "intents", "on purpose"}
	noteNames    = []string{"notes", "comment", "comments", "remark", "remarks", "reason", "purpose"}

	pointOfAim = []Part{
		{"x", "aim_x", AsMetres, []string{"aimed at x", "target x", "focus x"}},
		{"y", "aim_y", AsMetres, []string{"aimed at y", "target y", "focus y"}},
		{"z", "aim_z", AsMetres, []string{"aimed at z", "target z", "focus z"}},
	}
)

// Fields lists the fields, those of one holder in the order in which they are written.
var Fields = []Field{
	{On: OfFixture, Key: "channel", Form: AsChannel, Columns: []string{"chan", "ch", "channel no", "channel number", "chan no", "ch no"}, Weak: []string{"fixture id", "fixture no", "fixture number", "unit no", "unit number", "desk channel", "console channel", "control channel", "channel id", "id", "number", "no", "nr", "num", "fid", "unit", "fixture"}, Do: "Give %[1]s the channel %[2]s"},
	{On: OfFixture, Key: "name", Columns: []string{"fixture name", "title"}, Weak: []string{"fixture", "description", "text", "unit name", "what"}},
	{On: OfFixture, Key: "address", Columns: []string{"addr", "dmx", "dmx address", "dmx addr", "start address", "dmx start address", "dmx start", "patch"}, Weak: []string{"dmx512", "patched at", "patched to", "universe address", "start", "output", "line", "dimmer", "dim", "dimmer no", "dimmer number"}, Do: "Set %[1]s to address %[2]s",
		Parts: []Part{
			{Column: "address"},
			{Column: "universe", Columns: []string{"univ", "uni", "dmx universe", "universe no"}},
			{Column: "slot", Columns: []string{"dmx slot", "start slot", "dmx channel", "first slot"}},
		}},
	{On: OfFixture, Key: "more_addresses", Form: AsColours, Columns: []string{"further addresses", "other addresses"}},
	{On: OfFixture, Key: "type", Columns: []string{"fixture type", "instrument", "luminaire", "luminaire type", "lamp type", "model"}, Weak: []string{"kind", "fixture model", "make and model", "product", "device", "lamp", "head", "profile", "fixture"}, Do: "Write the type of %[1]s as %[2]q"},
	{On: OfFixture, Key: "mode", Columns: []string{"dmx mode", "fixture mode", "operating mode"}, Do: "Set %[1]s to the mode %[2]q"},
	{On: OfFixture, Key: "purpose", Form: AsPurpose, Columns: []string{"use", "used for", "usage", "function", "role"}, Weak: []string{"job", "category", "task"}, Do: "Write the purpose of %[1]s as %[2]q"},
	{On: OfFixture, Key: "hung_on", Columns: []string{"position", "hung from", "hanging position", "bar", "truss", "pipe", "batten", "location", "mounted on"}, Weak: []string{"hangs on", "rigging", "rig position", "bar name", "electric", "lx bar", "where", "hang", "boom"}, Noun: "bar", Do: "Hang %[1]s on %[2]s"},
	{On: OfFixture, Key: "hung_order", Form: AsWhole, Columns: []string{"order on bar", "place on bar", "number on bar"}, Weak: []string{"unit", "unit no", "position on bar", "no on bar", "nr on bar"}},
	{On: OfFixture, Key: "hung_at_m", Form: AsMetres, Columns: []string{"distance on bar", "metres on bar", "offset", "offset m"}},
	{On: OfFixture, Key: "hung_at", Form: AsParts, Noun: "place", Do: "Hang %[1]s at %[2]s (metres)", Parts: []Part{
		{"x", "hung_x", AsMetres, []string{"x", "pos x", "position x", "x m", "across", "left right", "sl sr"}},
		{"y", "hung_y", AsMetres, []string{"y", "pos y", "position y", "y m", "upstage", "depth", "up down stage"}},
		{"z", "hung_z", AsMetres, []string{"z", "pos z", "position z", "z m", "height", "hung height", "hang height"}},
	}},
	{On: OfFixture, Key: "mount", Columns: []string{"mounting", "mounted"}, Do: "Write for %[1]s that it %[2]s"},
	{On: OfFixture, Key: "as_one", Form: AsYes, Columns: []string{"moves as one", "twin"}},
	{On: OfFixture, Key: "aimed_at", Form: AsAim, Columns: []string{"aim", "aim at", "focus", "focused at", "focus area", "target"}, Weak: []string{"area", "lights", "points at", "pointing at", "focus point", "focussed at", "zone"}, Parts: pointOfAim, Noun: "aim", Do: "Aim %[1]s at %[2]s"},
	{On: OfFixture, Key: "zoom_deg", Alike: true, Form: AsDegrees, Columns: []string{"zoom", "zoom angle", "zoom degrees", "field angle", "field deg"}},
	{On: OfFixture, Key: "shutters", Form: AsShutters, Columns: []string{"shutter", "shutter cut", "shutter cuts", "cuts", "blades"}},
	{On: OfFixture, Key: "filter", Form: AsParts, Parts: []Part{
		{"name", "filter", AsText, []string{"filter name", "gel", "colour filter", "color filter", "colour", "color"}},
		{"x", "filter_x", AsNumber, nil}, {"y", "filter_y", AsNumber, nil},
		{"transmission", "filter_transmission", AsNumber, []string{"transmission"}},
		{"shift_mired", "filter_shift_mired", AsMired, []string{"filter shift", "mired shift", "shift mired"}},
		{"hue_deg", "filter_hue_deg", AsDegrees, []string{"filter hue"}},
	}},
	{On: OfFixture, Key: "circuit", Columns: []string{"circ", "circuit no", "circuit name", "outlet", "breaker", "feed"}, Weak: []string{"dimmer", "socket", "power", "mains", "supply"}, Do: "Plug %[1]s into circuit %[2]s"},
	{On: OfFixture, Key: "groups", Form: AsNames, Columns: []string{"group", "member of"}},
	{On: OfFixture, Key: White, Alike: true, Form: AsKelvin, Columns: whiteNames},

	{On: OfCue, Key: "cue", Form: AsCue, Columns: []string{"q", "cue no", "cue number", "cue num", "q no", "number", "no"}, Weak: []string{"cues", "lx cue", "lighting cue", "memory", "step", "scene no", "id", "nr", "num", "state", "lx", "cue id", "look no"}},
	{On: OfCue, Key: "part", Form: AsWhole, Columns: []string{"cue part", "part no", "part number"}},
	{On: OfCue, Key: "name", Columns: []string{"cue name", "title", "description"}, Weak: []string{"text", "what", "look", "scene", "scene name", "look name"}},
	{On: OfCue, Key: "segment", Columns: []string{"item", "section", "song", "segment name"}, Weak: []string{"part of service", "moment", "event", "programme item", "part of the service", "when"}},
	{On: OfCue, Key: "at_s", Form: AsSeconds, Columns: []string{"at", "at time", "called at"}, Noun: "time in its segment", Do: "Call %[1]s %[2]s seconds into its segment"},
	{On: OfCue, Key: "in_s", Form: AsSeconds, Columns: []string{"up down", "in out", "time up down", "time in out", "fade up down", "fade in out", "up dn", "times", "fade times", "in", "up", "time", "fade", "fade in", "fade up", "fade time", "time in", "time up", "in time", "up time"}, Weak: []string{"duration", "crossfade", "xfade", "transition", "speed", "seconds", "secs"}, Noun: "fade-in", Do: "Let %[1]s fade in over %[2]s seconds"},
	{On: OfCue, Key: "out_s", Form: AsSeconds, Columns: []string{"dn", "fade dn", "time dn", "down fade", "out", "down", "fade out", "fade down", "time out", "time down", "out time", "down time"}, Noun: "fade-out", Do: "Let %[1]s fade out over %[2]s seconds"},
	{On: OfCue, Key: "delay_s", Form: AsSeconds, Columns: []string{"delay", "delay time"}, Weak: []string{"wait", "wait time", "pause"}},
	{On: OfCue, Key: "follow_s", Form: AsSeconds, Columns: []string{"follow", "follow on", "follow time"}, Weak: []string{"auto"}},
	{On: OfCue, Key: "tracking", Columns: []string{"track", "tracking mode"}},
	{On: OfCue, Key: "people", Form: AsPeople, Columns: peopleNames, Weak: []string{"on stage", "cast"}},
	{On: OfCue, Key: "lead", Form: AsPeople, Columns: leadNames},
	{On: OfCue, Key: "walks", Form: AsPeople, Columns: walkNames},
	{On: OfCue, Key: "meant", Form: AsMeant, Columns: meantNames},
	{On: OfCue, Key: "note", Columns: noteNames},

	{On: OfSetting, Key: "channels", Form: AsChannels, Columns: []string{"channel", "chan", "chans", "ch", "channel selection", "selection", "fixtures", "lights"}, Weak: []string{"fixture", "fixture no", "fixture id", "unit", "units", "heads", "lamps", "group", "lamp"},
		Do: "Let %[1]s set only channels %[2]s", Remove: "Take the setting of channels %[2]s out of %[1]s"},
	{On: OfSetting, Key: "level", Form: AsLevel, Columns: []string{"level pct", "intensity", "intensity pct", "lvl", "dimmer", "pct"}, Weak: []string{"value", "output", "percent", "dim", "brightness", "at level", "val", "inten", "at", "brightness pct", "strength"}, Do: "Bring %[1]s to %[2]s %%", Group: Brightness},
	{On: OfSetting, Key: White, Form: AsKelvin, Columns: whiteNames, Noun: "white", Do: "Set %[1]s to a white of %[2]s K", Group: Colour},
	{On: OfSetting, Key: "xy", Form: AsParts, Group: Colour, Parts: []Part{
		{"", "x", AsNumber, []string{"cie x", "chromaticity x", "colour x", "color x"}},
		{"", "y", AsNumber, []string{"cie y", "chromaticity y", "colour y", "color y"}},
	}},
	{On: OfSetting, Key: "mix", Form: AsMix, Columns: []string{"colour mix", "color mix", "emitters"}, Noun: "mix", Do: "Give %[1]s the mix %[2]s", Group: Colour},
	{On: OfSetting, Key: "mix_part", Form: AsMix, Group: Colour},
	{On: OfSetting, Key: "hue_deg", Form: AsDegrees, Columns: []string{"hue", "hue angle"}, Noun: "hue", Do: "Turn %[1]s to hue %[2]s degrees", Group: Colour},
	{On: OfSetting, Key: "saturation_pct", Form: AsPercent, Columns: []string{"saturation", "sat", "sat pct"}, Noun: "saturation", Do: "Bring the saturation of %[1]s to %[2]s %%", Group: Shade},
	{On: OfSetting, Key: "aim", Form: AsAim, Columns: []string{"aimed at", "aim at", "focus", "target"}, Parts: pointOfAim, Do: "Aim %[1]s at %[2]s", Group: Manner},
	{On: OfSetting, Key: "zoom_deg", Form: AsDegrees, Columns: []string{"zoom", "zoom angle", "zoom degrees"}, Noun: "zoom", Do: "Set the zoom of %[1]s to %[2]s degrees", Group: Manner},
	{On: OfSetting, Key: "strobe_hz", Form: AsHertz, Columns: []string{"strobe", "strobe rate", "flash rate", "flashes per second"}, Noun: "strobe", Do: "Bring the strobe of %[1]s to %[2]s flashes per second", Group: Manner},
	{On: OfSetting, Key: "pattern", Columns: []string{"gobo", "template"}, Group: Manner},
	{On: OfSetting, Key: "wheel", Columns: []string{"colour wheel", "color wheel"}, Group: Manner},
	{On: OfSetting, Key: "effect", Form: AsParts, Remove: "Stop the effect of %[1]s", Group: Manner, Parts: []Part{
		{"kind", "effect", AsText, []string{"effect kind", "effect type", "fx"}},
		{"rate_hz", "effect_hz", AsHertz, []string{"effect rate", "effect rate hz", "effect speed", "fx rate"}},
		{"duty_pct", "effect_duty", AsPercent, []string{"effect duty pct", "duty", "duty pct"}},
		{"spread_pct", "effect_spread", AsPercent, []string{"effect spread pct", "spread", "spread pct"}},
		{"low_pct", "effect_low", AsPercent, []string{"effect low pct"}},
		{"high_pct", "effect_high", AsPercent, []string{"effect high pct"}},
	}},

	{On: OfDrive, Key: "screen", Columns: []string{"display", "screen name"}},
	{On: OfDrive, Key: "drive_pct", Form: AsPercent, Columns: []string{"drive", "screen drive", "screen level", "brightness", "brightness pct"}, Noun: "drive", Do: "Bring %[1]s to %[2]s %% drive"},
	{On: OfDrive, Key: "palette", Form: AsColours, Columns: paletteNames},
	{On: OfDrive, Key: "content", Columns: []string{"screen content", "picture"}},
	{On: OfDrive, Key: "content_pct", Form: AsPercent, Columns: []string{"content level", "picture level", "mean picture level"}, Noun: "picture level", Do: "Show pictures of %[2]s %% of full white on %[1]s, such as light letters on a dark ground"},

	{On: OfSegment, Key: "name", Columns: []string{"item", "segment", "segment name", "title", "song"}, Weak: []string{"what", "event", "moment", "programme item", "part", "element", "programme", "program", "description", "content", "activity", "slot"}},
	{On: OfSegment, Key: "kind", Form: AsKind, Columns: []string{"type", "segment kind", "segment type"}},
	{On: OfSegment, Key: "start_cue", Form: AsCue, Columns: []string{"cue", "first cue", "cue no", "cue number", "q"}, Weak: []string{"lx", "lx cue", "starts with", "lighting cue", "light cue", "lx q", "lights"}},
	{On: OfSegment, Key: "duration_s", Form: AsSeconds, Columns: []string{"duration", "length", "time", "running time"}, Weak: []string{"minutes", "mins", "dur"}, Noun: "length", Do: "Give %[1]s %[2]s seconds"},
	{On: OfSegment, Key: "people", Form: AsPeople, Columns: peopleNames},
	{On: OfSegment, Key: "lead", Form: AsPeople, Columns: leadNames},
	{On: OfSegment, Key: "walks", Form: AsPeople, Columns: walkNames},
	{On: OfSegment, Key: "mood", Form: AsMood, Columns: []string{"feel", "atmosphere"}},
	{On: OfSegment, Key: "palette", Form: AsColours, Columns: paletteNames},
	{On: OfSegment, Key: "meant", Form: AsMeant, Columns: meantNames},
	{On: OfSegment, Key: "note", Columns: noteNames},

	{On: OfReading, Key: "place", Columns: []string{"where", "position", "point"}},
	{On: OfReading, Key: "cue", Form: AsCue, Columns: []string{"q", "cue no", "cue number", "q no"}},
	{On: OfReading, Key: "channels", Columns: []string{"channel", "chan", "chans", "ch", "fixtures", "lights"}},
	{On: OfReading, Key: "level", Form: AsLevel, Columns: []string{"level pct", "intensity", "lvl", "pct"}},
	{On: OfReading, Key: "lx", Form: AsLux, Columns: []string{"lux", "illuminance", "light", "reading"}},
	{On: OfReading, Key: "white_k", Form: AsKelvin, Columns: whiteNames},
	{On: OfReading, Key: "duv", Form: AsNumber},
	{On: OfReading, Key: "plane", Columns: []string{"held", "meter plane"}},
	{On: OfReading, Key: "height_m", Form: AsMetres, Columns: []string{"height", "meter height"}},
	{On: OfReading, Key: "accuracy_pct", Form: AsPercent, Columns: []string{"accuracy", "meter accuracy"}},

	{On: OfCamera, Key: "sensitivity_iso", Form: AsWhole, Noun: "sensitivity", Do: "Set the sensitivity of %[1]s to ISO %[2]s", Alike: true},
	{On: OfCamera, Key: "aperture_f", Form: AsNumber, Noun: "aperture", Do: "Set the aperture of %[1]s to f/%[2]s", Alike: true},
	{On: OfCamera, Key: "shutter_s", Form: AsSeconds, Noun: "shutter time", Do: "Set the shutter of %[1]s to %[2]s s", Alike: true},
	{On: OfCamera, Key: "nd_stops", Form: AsNumber, Noun: "neutral filter", Do: "Set the neutral filter of %[1]s to %[2]s stops", Alike: true},
	{On: OfCamera, Key: White, Form: AsKelvin, Noun: "white balance", Do: "Set the white balance of %[1]s to %[2]s K", Alike: true},
}

// Mix is the key of a mix of emitters, for those who tell a lamp one.
const Mix = "mix"

// White is the key of a white in kelvin, of whatever has one.
const White = "white_k"

// Strobe is the key of a strobe, of which an order says that it stops.
const Strobe = "strobe_hz"

// FieldsOf lists the fields of a holder.
func FieldsOf(on Holder) []*Field {
	var list []*Field
	for i := range Fields {
		if Fields[i].On == on {
			list = append(list, &Fields[i])
		}
	}
	return list
}

// FieldOf returns the field of a holder with a key.
func FieldOf(on Holder, key string) (*Field, bool) {
	for i := range Fields {
		if Fields[i].On == on && Fields[i].Key == key {
			return &Fields[i], true
		}
	}
	return nil, false
}

// Column is one column of a table.
type Column struct {
	Name        string
	Other, Weak []string
}

// InTables returns the columns that a table has for the field, the main one first.
func (f *Field) InTables() []Column {
	var list []Column
	if f.Form == AsAim || len(f.Parts) == 0 {
		list = append(list, Column{f.Key, f.Columns, f.Weak})
	}
	for _, part := range f.Parts {
		if part.Column == f.Key && len(part.Columns) == 0 {
			list = append(list, Column{f.Key, f.Columns, f.Weak})
			continue
		}
		list = append(list, Column{part.Column, part.Columns, nil})
	}
	return list
}

// Number returns a number of a thing of the holder, given as a pointer to its Go type; nil
// if the thing does not have it.
func (f *Field) Number(of any) *float64 {
	v := reflect.ValueOf(of).Elem()
	index, ok := fieldsOf(v.Type()).byName[f.Key]
	if !ok {
		return nil
	}
	number, _ := v.FieldByIndex(index).Interface().(*float64)
	return number
}

// AlikeFields lists the fields of a holder in which things of one kind usually agree.
func AlikeFields(on Holder) []*Field {
	return slices.DeleteFunc(FieldsOf(on), func(f *Field) bool { return !f.Alike })
}

// Spoken returns what people say of the fields with a key: the noun, and the orders
// to change and to remove it, "" for what nobody says.
func Spoken(key string) (noun, do, remove string) {
	for i := range Fields {
		if f := &Fields[i]; f.Key == key {
			noun, do, remove = cmp.Or(noun, f.Noun), cmp.Or(do, f.Do), cmp.Or(remove, f.Remove)
		}
	}
	return noun, do, remove
}

// TellsColour reports whether a key of a setting belongs to what tells a lamp its
// colour.
func TellsColour(key string) bool {
	f, ok := FieldOf(OfSetting, key)
	return ok && (f.Group == Colour || f.Group == Shade)
}

// Values yields what a setting tells, each value as it is in the Go type, in the
// order of the fields.
func (s *Setting) Values() iter.Seq2[*Field, any] {
	return func(yield func(*Field, any) bool) {
		v := reflect.ValueOf(s.Told).Elem()
		fields := fieldsOf(v.Type())
		for _, f := range FieldsOf(OfSetting) {
			index, told := fields.byName[f.Key]
			if !told || v.FieldByIndex(index).IsZero() {
				continue
			}
			if !yield(f, v.FieldByIndex(index).Interface()) {
				return
			}
		}
	}
}

// replacesColour reports whether a key of a setting is one of the ways to tell a
// colour, of which a setting has one.
func replacesColour(key string) bool {
	f, ok := FieldOf(OfSetting, key)
	return ok && f.Group == Colour
}
