package mvr

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/gdtf"
)

// Format is the row of this format. Nothing is ever written into an export.
var Format = format.Format{Name: "MVR", Ends: []string{".mvr"}, Holds: []string{"types", "patch"}, Archive: true, Alone: true, Sniff: format.SniffArchive(".mvr", description), Read: Read}

// description is the entry that holds the scene.
const description = "GeneralSceneDescription.xml"

// Read reads a file into the sections patch and types.
func Read(in *format.Input, _ string, file *source.File, data string) (format.Part, bool) {
	r := &reader{in: in, file: file, types: map[string]*device{}, called: map[string]string{}}
	fails := func(at source.Place, message string) (format.Part, bool) {
		in.Fail("plan", finding.Finding{Subjects: []finding.Subject{in.Subject(file)}, Place: at, Message: message})
		return format.Part{}, false
	}
	bytes, size := in.Bytes(data)
	a, err := archive.Open(bytes, size, archive.Usual)
	if err != nil {
		return fails(source.Place{File: file}, fmt.Sprintf("%s %s.", file.Name, err))
	}
	r.archive = a
	gdtf.Refused(in, file, a)
	r.alike()
	name, _ := a.Lookup(description)
	if name == "" {
		return fails(source.Place{File: file}, fmt.Sprintf("%s holds no %s, so it is no plan.", file.Name, description))
	}
	text, err := a.Read(name)
	if err != nil {
		return fails(source.Place{File: file}, fmt.Sprintf("%s cannot be used: %s.", file.Name, err))
	}
	r.scene = in.Entry(file, name)
	words, encoding, err := source.Decode(text)
	if err != nil {
		return fails(source.Place{File: r.scene}, fmt.Sprintf("%s cannot be read: %s.", r.scene.Name, err))
	}
	r.scene.Text, r.scene.Encoding = words, encoding
	s, err := Parse(words)
	if err != nil {
		at := source.Place{File: r.scene}
		var wrong *archive.SyntaxError
		if errors.As(err, &wrong) {
			at.Start, at.Stop = wrong.Offset, wrong.Offset
		}
		return fails(at, fmt.Sprintf("%s %s.", r.scene.Name, err))
	}
	r.s = s
	in.Note(file, "a plan as MVR "+s.Version)
	r.problems()
	r.devices()
	r.patch()
	r.left()
	return r.part, true
}

// alike tells of entries whose names differ by case alone, which no plan may have: on
// some machines one of them takes the place of the other.
func (r *reader) alike() {
	first := map[string]string{}
	for _, name := range r.archive.Names() {
		lower := strings.ToLower(name)
		if other, met := first[lower]; met {
			r.in.Say("archive-names", finding.Finding{
				Level: finding.Warning, Consequence: finding.Later, Subjects: []finding.Subject{r.in.Subject(r.file)}, Detail: "alike",
				Message: fmt.Sprintf("%s holds %q and %q, whose names differ by case alone; each is taken for what is called so exactly.", r.file.Name, source.Shorten(other), source.Shorten(name)),
				Hint:    "save the plan again, with another name for one of them", Place: source.Place{File: r.file},
			})
			return
		}
		first[lower] = name
	}
}

// device is a type that fixtures of the plan name, with the file that describes it.
type device struct {
	entry string // in the archive; "" if it is not there
	typ   *gdtf.Type
	file  *source.File
	name  string // under which the show knows it
}

// reader lays a plan on trees.
type reader struct {
	in      *format.Input
	file    *source.File // the archive
	scene   *source.File // its entry
	archive *archive.Archive
	s       *Scene
	build   *source.Builder
	part    format.Part
	types   map[string]*device // by what fixtures write
	called  map[string]string  // name of a type -> the entry that has it
}

func (r *reader) place(at format.Span) source.Place {
	return source.Place{File: r.scene, Start: at.Start, Stop: at.Stop}
}

func (r *reader) loss(kind format.LossKind, what string, count int, at format.Span) {
	if count > 0 {
		r.part.Losses = append(r.part.Losses, format.Loss{Kind: kind, What: what, Count: count, Place: r.place(at)})
	}
}

func (r *reader) tell(code string, level finding.Level, at format.Span, subject finding.Subject, message string) {
	f := finding.Finding{
		Level: level, Consequence: finding.Later, Subjects: []finding.Subject{r.in.Subject(r.scene)}, Detail: code,
		Message: message, Place: r.place(at),
	}
	if subject.Kind != "" {
		f.Subjects = append([]finding.Subject{subject}, f.Subjects...)
	}
	if level == finding.Error {
		f.Consequence = finding.Dark
	}
	r.in.Say("plan", f)
}

// problems tells what is wrong in the scene. What is only unusual is told once,
// with its count.
func (r *reader) problems() {
	count := map[string]int{}
	for _, p := range r.s.Problems {
		count[p.Code]++
	}
	told := map[string]bool{}
	for _, p := range r.s.Problems {
		if p.Code == "duplicate-fixture-id" {
			continue // a rule tells a channel that is there twice, whoever says so
		}
		f := finding.Finding{
			Level: finding.Note, Consequence: finding.Later, Detail: p.Code, Subjects: []finding.Subject{r.in.Subject(r.scene)},
			Message: spelling.Capital(p.Message) + ".", Place: r.place(p.At),
		}
		switch {
		case p.Code == "bad-address":
			f.Level, f.Consequence = finding.Error, finding.Dark
		case p.Severity > format.Note: // what comes of it is for rules to tell
			f.Level = finding.Warning
		default:
			if told[p.Code] {
				continue
			}
			told[p.Code] = true
			if n := count[p.Code]; n > 1 {
				f.Message += fmt.Sprintf(" There are %d such places; this is the first.", n)
			}
		}
		if p.Related != (format.Span{}) {
			f.Related = []finding.Related{{Message: "the other one", Place: r.place(p.Related)}}
		}
		r.in.Say("plan", f)
	}
}

// devices opens the descriptions of the types that fixtures name, each once, and
// lays them. One that is missing costs that type alone.
func (r *reader) devices() {
	for _, f := range r.s.Fixtures {
		spec := f.Spec.Words
		if spec == "" || r.types[spec] != nil {
			continue
		}
		d := &device{name: baseName(spec)}
		r.types[spec] = d
		entry := r.entry(f)
		if entry == "" {
			r.tell("gdtf-missing", finding.Warning, f.Spec.At, finding.Subject{Kind: "type", Name: d.name},
				fmt.Sprintf("The plan names the type file %q, which is not in it, so nothing is known of the light of these fixtures.", spec))
			continue
		}
		if known := r.byEntry(entry); known != nil {
			r.types[spec] = known
			continue
		}
		d.entry = entry
		inner, err := r.archive.Nested(entry)
		if err != nil {
			r.tell("gdtf-bad", finding.Warning, f.Spec.At, finding.Subject{Kind: "type", Name: d.name},
				fmt.Sprintf("%s cannot be used: %s.", r.file.Name, err))
			continue
		}
		gdtf.Refused(r.in, r.file, inner)
		typ, file, ok := gdtf.Open(r.in, r.file, entry, inner)
		if !ok {
			continue
		}
		d.typ, d.file = typ, file
		r.name(d)
		root, losses := gdtf.Lay(file, typ, d.name)
		r.part.Sections = append(r.part.Sections, format.Section{Name: "types", Root: root})
		r.part.Losses = append(r.part.Losses, losses...)
	}
}

func (r *reader) byEntry(entry string) *device {
	for _, d := range r.types {
		if d.entry == entry {
			return d
		}
	}
	return nil
}

// entry finds the file that a fixture names. Older plans leave out its ending.
func (r *reader) entry(f *Fixture) string {
	spec := f.Spec.Words
	for i, name := range []string{spec, spec + ".gdtf"} {
		entry, exact := r.archive.Lookup(name)
		if entry == "" {
			continue
		}
		if i > 0 || !exact {
			r.tell("gdtf-name", finding.Warning, f.Spec.At, finding.Subject{}, fmt.Sprintf("The plan names the type file %q; %q is taken for it.", spec, entry))
		}
		return entry
	}
	return ""
}

// name gives a type the name that it has in its description; of two with one name
// the later gets that of its file.
func (r *reader) name(d *device) {
	name := d.typ.Name.Words
	if name == "" {
		name = d.name
	}
	if other, taken := r.called[name]; taken && other != d.entry {
		name = strings.TrimSuffix(d.entry, path.Ext(d.entry))
	}
	r.called[name] = d.entry
	d.name = name
}

// baseName is the type in the name of its file, usually maker@type@remark.
func baseName(spec string) string {
	name := spec
	if strings.EqualFold(path.Ext(spec), ".gdtf") {
		name = spec[:len(spec)-len(".gdtf")]
	}
	if parts := strings.Split(name, "@"); len(parts) > 1 && parts[1] != "" {
		return parts[1]
	}
	return name
}

// mapping returns how the plan lies to the show, if somebody said it.
func (r *reader) mapping() (Mapping, bool) {
	if r.in.TurnDeg == nil {
		return Mapping{}, false
	}
	return Mapping{r.in.Origin, *r.in.TurnDeg}, true
}

func (r *reader) key(name string, at format.Span) { r.build.Key(name, at.Start, at.Stop) }

func (r *reader) text(name string, t format.Text) {
	if t.Words != "" {
		r.key(name, t.At)
		r.build.Scalar(source.String, t.Words, t.At.Start, t.At.Stop)
	}
}

func (r *reader) scalar(name string, value float64, at format.Span) {
	r.key(name, at)
	r.build.Scalar(source.Number, decimal(value), at.Start, at.Stop)
}

// decimal writes tenths of a millimetre, more than any plan is true to.
func decimal(value float64) string {
	return strconv.FormatFloat(math.Round(value*1e4)/1e4+0, 'f', -1, 64)
}

func (r *reader) point(name string, p [3]float64, at format.Span) {
	r.key(name, at)
	r.build.Begin(source.Object, at.Start)
	for i, axis := range []string{"x", "y", "z"} {
		r.scalar(axis, p[i], at)
	}
	r.build.End(at.Stop)
}

// patch lays the fixtures that can be called by a number.
func (r *reader) patch() {
	r.build = source.NewBuilder(r.scene)
	root := r.build.Begin(source.Array, 0)
	var nameless, shared, accessories, unplaced, unaimed format.Places
	at := map[string]*Fixture{}
	mapping, mapped := r.mapping()
	for _, f := range r.s.Fixtures {
		switch {
		case f.Multipatch && f.Shares == nil:
			shared.Add(f.At)
			continue
		case f.Number == 0:
			nameless.Add(f.At)
			continue
		case f.Number > mostChannel:
			r.tell("number", finding.Error, f.NumberAt, finding.Subject{}, fmt.Sprintf("The fixture %s has a number over %d, so it is left out.", f.called(), mostChannel))
			continue
		}
		if f.Accessory {
			accessories.Add(f.At)
		}
		r.fixture(f, r.asOne(f, at), mapping, mapped, &unplaced, &unaimed)
	}
	r.build.End(len(r.scene.Text))
	if len(r.s.Fixtures) > 0 {
		r.part.Sections = append(r.part.Sections, format.Section{Name: "patch", Root: root})
	}
	r.loss(format.Dropped, "fixtures without a number", nameless.Count, nameless.First)
	r.loss(format.Dropped, "fixtures that share the number of another which is not in the plan", shared.Count, shared.First)
	r.loss(format.Guessed, "places of lamps that hang on a part of another (its middle is taken)", accessories.Count, accessories.First)
	r.loss(format.Dropped, "directions of lamps that move or are not turned in the plan", unaimed.Count, unaimed.First)
	if mapped {
		r.loss(format.Dropped, "places of fixtures far outside any hall", unplaced.Count, unplaced.First)
	} else if unplaced.Count > 0 {
		r.loss(format.Dropped, "places of fixtures, since nobody said where the plan's origin is", unplaced.Count, unplaced.First)
		r.in.Say("origin-unknown", finding.Finding{
			Level: finding.Note, Consequence: finding.Later, Subjects: []finding.Subject{r.in.Subject(r.scene)},
			Message: fmt.Sprintf("%s places %d fixtures, but nobody said where its origin and axes lie in the hall, so they have no place here.", r.file.Name, unplaced.Count),
			Hint:    `write "origin" (where the origin of the plan is, in metres from the middle of the downstage edge) and "turn_deg" in the house file, or give --origin and --turn`,
			Place:   r.place(unplaced.First),
		})
	}
}

const mostChannel = 99_999

// together is how a fixture moves as one with another.
type together int

const (
	alone    together = iota
	byNumber          // it shares the number of another, as the plan says
	byWire            // it has the address, the type and the mode of another, which is a guess
)

// asOne finds out whether a fixture does what another one does, on purpose. at
// holds the first fixture of each address, type and mode.
func (r *reader) asOne(f *Fixture, at map[string]*Fixture) together {
	if f.Shares != nil {
		return byNumber
	}
	key := ""
	for _, a := range f.Addresses {
		if a.Absolute > 0 {
			key += fmt.Sprintf("%d=%d ", a.Break, a.Absolute)
		}
	}
	if key == "" {
		return alone
	}
	key += f.Spec.Words + "\x00" + f.Mode.Words
	first := at[key]
	if first == nil {
		at[key] = f
		return alone
	}
	if f.Spec.Words == "" || f.Mode.Words == "" || first.Number == f.Number {
		return alone
	}
	r.tell("address-shared", finding.Note, f.At, channel(f), fmt.Sprintf("Fixtures %d and %d have one address, one type and one mode, so they do the same; that is taken as meant.", first.Number, f.Number))
	return byWire
}

func (r *reader) fixture(f *Fixture, as together, mapping Mapping, mapped bool, unplaced, unaimed *format.Places) {
	r.build.Begin(source.Object, f.At.Start)
	r.scalar("channel", float64(f.Number), f.NumberAt)
	r.text("name", f.Name)
	d := r.types[f.Spec.Words]
	if d != nil {
		r.text("type", format.Text{Words: d.name, At: f.Spec.At})
	}
	r.text("mode", r.mode(f, d))
	r.text("hung_on", f.Position)
	if purpose := purposeOf(f.Function.Words); purpose != "" {
		r.text("purpose", format.Text{Words: purpose, At: f.Function.At})
	}
	r.addresses(f, d)
	if as != alone {
		r.key("as_one", f.At)
		r.build.Scalar(source.Bool, "true", f.At.Start, f.At.Stop)
	}
	inferred := false
	switch place := mapping.Point(f.World.Origin()); {
	case !f.HasMatrix:
	case !mapped || !inHall(place):
		unplaced.Add(f.At)
	default:
		r.point("hung_at", place, f.MatrixAt)
		inferred = r.aim(f, d, mapping, place, unaimed)
	}
	if inferred || as == byWire {
		r.key("known", f.MatrixAt)
		r.build.Begin(source.Object, f.MatrixAt.Start)
		if inferred {
			r.text("aimed_at", format.Text{Words: "inferred", At: f.MatrixAt})
		}
		if as == byWire {
			r.text("as_one", format.Text{Words: "inferred", At: f.At})
		}
		r.build.End(f.MatrixAt.Stop)
	}
	r.build.End(f.At.Stop)
}

// mode returns the mode of a fixture under the name that its type has for it. Names
// have to be the same, but for case and blanks real files are not.
func (r *reader) mode(f *Fixture, d *device) format.Text {
	if f.Mode.Words == "" || d == nil || d.typ == nil || len(d.typ.Modes) == 0 {
		return f.Mode
	}
	fold := func(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }
	var names []string
	for _, m := range d.typ.Modes {
		if m.Name.Words == f.Mode.Words {
			return f.Mode
		}
		names = append(names, fmt.Sprintf("%q", m.Name.Words))
	}
	for _, m := range d.typ.Modes {
		if fold(m.Name.Words) == fold(f.Mode.Words) {
			return format.Text{Words: m.Name.Words, At: f.Mode.At}
		}
	}
	const most = 8
	if len(names) > most {
		names = append(names[:most], "…")
	}
	of := source.Place{File: d.file, Start: d.typ.Modes[0].At.Start, Stop: d.typ.Modes[0].At.Stop}
	r.in.Say("plan", finding.Finding{
		Level: finding.Warning, Consequence: finding.Later, Subjects: []finding.Subject{channel(f), r.in.Subject(r.scene)}, Detail: "mode-missing",
		Message: fmt.Sprintf("Fixture %d is set to the mode %q in the plan, and the file of its type %q has no such mode. It has %s.", f.Number, f.Mode.Words, d.name, strings.Join(names, ", ")),
		Hint:    "choose the mode in the drawing again, with the type file that is used now",
		Place:   r.place(f.Mode.At), Related: []finding.Related{{Message: "the first mode of the type", Place: of}},
	})
	return f.Mode
}

// inHall reports whether a point is where a hall may be.
func inHall(p [3]float64) bool {
	const far = 500
	return math.Abs(p[0]) <= far && math.Abs(p[1]) <= far && math.Abs(p[2]) <= far
}

// aim lays where a fixture points: to its focus point or, if it cannot move itself and
// is drawn turned, along its axis. One that is drawn straight down was most likely
// never turned by anybody.
func (r *reader) aim(f *Fixture, d *device, mapping Mapping, from [3]float64, unaimed *format.Places) (inferred bool) {
	if f.Focus != nil {
		if p := mapping.Point(*f.Focus); inHall(p) {
			r.point("aimed_at", p, f.FocusAt)
			return false
		}
	}
	if d == nil || d.typ == nil || d.typ.Moves() || !d.typ.Straight() || f.Accessory || f.World.shape() != "" || !f.World.turned() {
		unaimed.Add(f.At)
		return false
	}
	way := mapping.Direction(f.World.Down())
	const far = 10 // metres: any point on the way is as good
	length := float64(far)
	if way[2] < 0 && from[2] > 0 {
		length = min(length, from[2]/-way[2]) // the stage floor
	}
	for i := range way {
		way[i] = from[i] + length*way[i]
	}
	if !inHall(way) {
		unaimed.Add(f.At)
		return false
	}
	r.point("aimed_at", way, f.MatrixAt)
	return true
}

// purposes are words for what a fixture is for that mean ours.
var purposes = map[string]string{
	"key": "key", "fill": "fill", "back": "back", "backlight": "back", "back light": "back", "side": "side", "sidelight": "side", "side light": "side",
	"top": "top", "toplight": "top", "top light": "top", "wash": "wash", "beam": "beam", "effect": "effect", "house": "house", "houselight": "house",
	"house light": "house", "practical": "practical", "haze": "haze", "hazer": "haze",
}

func purposeOf(words string) string { return purposes[strings.ToLower(strings.TrimSpace(words))] }

// addresses lays where the breaks start, in their order: a break without an address
// ends the list, since the places in it are those of the type.
func (r *reader) addresses(f *Fixture, d *device) {
	var slots map[int]int
	if d != nil && d.typ != nil {
		slots = d.typ.BreaksOf(f.Mode.Words)
	}
	at := map[int]Address{}
	var last int
	for _, a := range f.Addresses {
		if a.Absolute == 0 {
			continue
		}
		if slots != nil && slots[a.Break] == 0 {
			r.tell("unknown-break", finding.Warning, a.At, channel(f), fmt.Sprintf("Fixture %d has an address for break %d, which its mode does not have; it is left out.", f.Number, a.Break))
			continue
		}
		at[a.Break] = a
		last = max(last, a.Break)
	}
	if first, ok := at[1]; ok {
		r.text("address", format.Text{Words: called(first), At: first.At})
	}
	var more []Address
	for n := 2; n <= last; n++ {
		a, ok := at[n]
		if !ok {
			r.tell("unpatched-break", finding.Note, f.At, channel(f), fmt.Sprintf("Fixture %d has no address for break %d, so those behind it are left out.", f.Number, n))
			break
		}
		more = append(more, a)
	}
	if len(more) == 0 {
		return
	}
	r.key("more_addresses", more[0].At)
	r.build.Begin(source.Array, more[0].At.Start)
	for _, a := range more {
		r.build.Scalar(source.String, called(a), a.At.Start, a.At.Stop)
	}
	r.build.End(more[len(more)-1].At.Stop)
}

func channel(f *Fixture) finding.Subject {
	return finding.Subject{Kind: "channel", Name: strconv.Itoa(f.Number)}
}

func called(a Address) string {
	universe, slot := a.Universe()
	return fmt.Sprintf("%d.%d", universe, slot)
}

// left counts what is in the plan and has no word here.
func (r *reader) left() {
	for _, what := range slices.Sorted(maps.Keys(r.s.Left)) {
		r.loss(format.Dropped, what, r.s.Left[what], format.Span{})
	}
	used := map[string]bool{}
	for _, d := range r.types {
		used[d.entry] = true
	}
	unused, files := 0, 0
	for _, name := range r.archive.Names() {
		switch {
		case used[name] || strings.EqualFold(name, description):
		case strings.EqualFold(path.Ext(name), ".gdtf"):
			unused++
		default:
			files++
		}
	}
	r.loss(format.Dropped, "type files that no fixture of the plan names", unused, format.Span{})
	r.loss(format.Dropped, "files of shapes and pictures", files, format.Span{})
}
