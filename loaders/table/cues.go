package table

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// cueHead lists what belongs to a cue as a whole, however many rows it has: first
// its number, then what else is one value. cueLists are lists in one cell.
var (
	cueHead        = simple(schema.OfCue)
	cueLists       = listsOf(schema.OfCue)
	settingFields  = simple(schema.OfSetting)
	effect         = partsOf(schema.OfSetting, "effect")
	driveFields    = simple(schema.OfDrive)
	driveLists     = listsOf(schema.OfDrive)
	settingColumns = append(columnNames(schema.OfSetting), colourColumn.name)
	driveColumns   = columnNames(schema.OfDrive)
)

// cueRows reads a cue from the rows that stand together and bear its number, or
// none. Settings go to the tree as they come. What belongs to the whole cue
// follows when its last row is known, since any of the rows may state it.
type cueRows struct {
	*sheet
	open   bool
	lost   bool // the number could not be read, so the rows below have no cue
	inSet  bool
	number schema.CueNumber
	part   string
	head   map[string]headCell
	drives []map[string]cell
	stop   int
	about  finding.Subject
}

type headCell struct {
	v value
	c cell
}

// readCueRows reads a cue list in the long form: one row for each setting.
func readCueRows(s *sheet) {
	r := &cueRows{sheet: s}
	for {
		usable, ok := s.nextRow()
		if !ok {
			break
		}
		if usable && r.severalCues() {
			continue
		}
		if r.belongs(usable) {
			r.add()
		}
	}
	r.close()
}

var cueRange = regexp.MustCompile(`^(?i)(?:lx|q|cue|cues)?[\s.#]*0*([1-9][0-9]{0,4})\s*(?:-|–|—|>|\.\.+|thru|through|to)\s*(?:lx|q|cue)?[\s.#]*0*([1-9][0-9]{0,4})$`)

// severalCues reads a row whose number is a range of cues, such as 2-4: each of them
// has all that the row says. More than a hundred are no range that somebody meant.
func (r *cueRows) severalCues() bool {
	const mostCues = 100
	c, _ := r.get("cue")
	m := cueRange.FindStringSubmatch(trim(c.text))
	if m == nil {
		return false
	}
	first, _ := strconv.Atoi(m[1])
	last, _ := strconv.Atoi(m[2])
	if last <= first || last-first >= mostCues {
		return false
	}
	r.close()
	for _, filled := range r.row {
		if filled.text != "" {
			r.cells += last - first // what it becomes counts, not what it takes up in the file
		}
	}
	for n := first; n <= last; n++ {
		number, _ := schema.ParseCueNumber(strconv.Itoa(n))
		r.start(number, headCell{value{source.String, strconv.Itoa(n)}, c})
		r.add()
		r.close()
	}
	r.lost = true // a row below without a number has no one cue
	return true
}

// belongs finds out which cue the row belongs to. It returns false if the row is left out.
func (r *cueRows) belongs(usable bool) bool {
	_, numbered := r.get("cue")
	if !numbered {
		return usable && r.continued()
	}
	if !usable {
		r.close()
		r.lost = true
		return false
	}
	v, c, ok := r.value("cue", asCue)
	if !ok {
		r.close()
		r.lost = true
		return false
	}
	number, _ := schema.ParseCueNumber(v.text)
	if !r.open || number != r.number || r.otherPart() {
		r.close()
		r.start(number, headCell{v, c})
	}
	return true
}

// continued places a row without a cue number: it belongs to the cue above.
func (r *cueRows) continued() bool {
	switch {
	case r.lost:
		r.sayAbout("bad-cell", "cue", r.line.start, r.line.stop,
			"the row belongs to a cue above that could not be read, or to several, so it is left out.", finding.Error, finding.Dark)
		return false
	case !r.open:
		r.sayAbout("bad-cell", "cue", r.line.start, r.line.stop,
			"the row has no cue number and no cue stands above it, so it is left out.", finding.Error, finding.Dark)
		return false
	}
	if r.otherPart() {
		number, above := r.number, r.head["cue"]
		r.close()
		r.start(number, above)
	}
	r.subject = r.about
	return true
}

// otherPart reports whether the row names a part that is not the one being read.
func (r *cueRows) otherPart() bool {
	c, ok := r.get("part")
	if !ok {
		return false
	}
	v, complaint := asWhole(r.sheet, c)
	return complaint == "" && v.text != r.part
}

func (r *cueRows) start(number schema.CueNumber, above headCell) {
	r.open, r.lost, r.inSet = true, false, false
	r.number, r.part = number, ""
	if r.head == nil {
		r.head = map[string]headCell{}
	}
	clear(r.head)
	r.head["cue"] = above
	r.drives = nil
	r.about = finding.Subject{Kind: "cue", Name: number.String()}
	r.build.Begin(source.Object, r.line.start)
}

// add adds the row to the cue.
func (r *cueRows) add() {
	r.subject = r.about
	r.stop = r.line.stop
	r.bothWays()
	for _, f := range cueHead[1:] {
		r.headField(f)
	}
	for _, l := range cueLists {
		r.headField(l.field)
	}
	if r.any(driveColumns) {
		drive := map[string]cell{}
		for _, column := range driveColumns {
			if c, ok := r.get(column); ok {
				drive[column] = c
			}
		}
		r.drives = append(r.drives, drive)
	}
	if len(r.wide) > 0 {
		r.wideSettings()
	}
	if (r.any(settingColumns) || len(r.emitterShares()) > 0) && !r.pairs() {
		r.openSet()
		r.setting()
	}
}

var (
	pairForms = regexp.MustCompile(`^[0-9][0-9\s-]*\s*[@=]\s*[0-9A-Za-z.]+\s?%?(?:\s*[,;+|/\s]\s*[0-9][0-9-]*\s*[@=]\s*[0-9A-Za-z.]+\s?%?)*$`)
	onePair   = regexp.MustCompile(`([0-9][0-9-]*)\s*[@=]\s*([0-9A-Za-z.]+\s?%?)`)
)

// pairs reads a cell of channels each with its level, such as 1@50 2@75, as a setting
// for each. It returns false if the row is none of that kind.
func (r *cueRows) pairs() bool {
	c, ok := r.get("channels")
	if _, leveled := r.get("level"); !ok || leveled || len(c.text) > MaxCell || !pairForms.MatchString(c.text) {
		return false
	}
	found := onePair.FindAllStringSubmatchIndex(c.text, MaxItems+1)
	if len(found) > MaxItems {
		r.bad("channels", c, fmt.Sprintf("lists more than %d things", MaxItems))
		return true
	}
	r.cells += len(found)
	r.openSet()
	for _, at := range found {
		channels, level := c.part(at[2], at[3]), c.part(at[4], at[5])
		v, complaint := r.level(level, percent)
		if complaint != "" {
			r.bad("channels", level, complaint)
			continue
		}
		r.build.Begin(source.Object, channels.start)
		r.sheet.part("channels", value{source.String, channels.text}, channels)
		r.sheet.part("level", v, level)
		r.build.End(level.stop)
	}
	return true
}

// openSet begins the settings of the cue, once.
func (r *cueRows) openSet() {
	if !r.inSet {
		r.inSet = true
		r.begin("set", source.Array, r.line)
	}
}

func (r *cueRows) any(columns []string) bool {
	for _, column := range columns {
		if _, ok := r.get(column); ok {
			return true
		}
	}
	return false
}

// bothWays splits a time such as 3/5 in the column of the fade: rising levels take the
// first, falling ones the second.
func (r *cueRows) bothWays() {
	c, ok := r.get("in_s")
	slash := strings.IndexByte(c.text, '/')
	if !ok || slash < 0 {
		return
	}
	for _, half := range []struct {
		key string
		c   cell
	}{{"in_s", c.part(0, slash).trimmed()}, {"out_s", c.part(slash+1, len(c.text)).trimmed()}} {
		v, complaint := asSeconds(r.sheet, half.c)
		if _, said := r.head[half.key]; complaint == "" && !said {
			r.head[half.key] = headCell{r.inUnit("in_s", v, half.c), half.c}
		}
	}
}

// headField keeps what a row says about the whole cue; rows may repeat it.
func (r *cueRows) headField(f field) {
	if c, filled := r.get(f.column); filled && f.key == "in_s" && strings.Contains(c.text, "/") {
		if _, split := r.head["in_s"]; split {
			return
		}
	}
	v, c, ok := r.value(f.column, f.read)
	if !ok {
		return
	}
	first, said := r.head[f.key]
	if !said {
		r.head[f.key] = headCell{v, c}
		if f.key == "part" {
			r.part = v.text
		}
		return
	}
	if first.v == v {
		return
	}
	r.in.Say("cue-row-differs", finding.Finding{
		Level: finding.Error, Consequence: finding.Dark,
		Subjects: []finding.Subject{r.about, r.in.Subject(r.file)},
		Detail:   f.column,
		Message: fmt.Sprintf("cue %s has %q in the column %q here and %q in a row above; the first is used.",
			r.number, source.Shorten(c.text), source.Shorten(r.headers[r.columns[f.column]].text), source.Shorten(first.c.text)),
		Place:   r.place(c),
		Related: []finding.Related{{Message: "this one is used", Place: r.place(first.c)}},
	})
}

// close writes what belongs to the whole cue.
func (r *cueRows) close() {
	if !r.open {
		return
	}
	r.open = false
	if r.inSet {
		r.build.End(r.stop)
	}
	r.subject = r.about
	r.screens()
	for _, f := range cueHead {
		if h, ok := r.head[f.key]; ok {
			if _, has := r.columns[f.column]; !has { // a part of another column's cell
				r.sheet.part(f.key, h.v, h.c)
				continue
			}
			r.member(f.key, f.column, h.v, h.c)
		}
	}
	for _, l := range cueLists {
		if h, ok := r.head[l.key]; ok {
			l.write(r.sheet, l.key, l.column, h.c)
		}
	}
	r.build.End(r.stop)
}

func (r *cueRows) setting() {
	r.build.Begin(source.Object, r.line.start)
	r.put(settingFields)
	r.chromaticity()
	r.mix()
	r.colourCell()
	r.putAim("aim", "aim")
	r.putObject("effect", effect)
	r.build.End(r.line.stop)
}

func (r *cueRows) chromaticity() {
	x, cx, hasX := r.value("x", asPlain)
	y, cy, hasY := r.value("y", asPlain)
	switch {
	case hasX && hasY:
		r.begin("xy", source.Array, cx)
		r.scalar(x, cx)
		r.scalar(y, cy)
		r.build.End(max(cx.stop, cy.stop))
	case hasX:
		r.bad("x", cx, "is the x of a colour, but its y is missing")
	case hasY:
		r.bad("y", cy, "is the y of a colour, but its x is missing")
	}
}

// mix writes a cell with a mix, which is the whole of it, and what stands in columns of
// emitters or under mix_part, of which a blank cell leaves its emitter as it is.
func (r *cueRows) mix() {
	key := "mix"
	c, ok := r.get(key)
	if !ok {
		key = "mix_part"
		c, ok = r.get(key)
	}
	list := r.emitterShares()
	inColumns := len(list)
	switch {
	case ok:
		more, good := shares(c)
		if !good || len(list)+len(more) > MaxItems {
			r.bad(key, c, `is not a mix such as "red=100 blue=20" (percent of each)`)
			return
		}
		list = append(list, more...)
	case len(list) == 0:
		return
	default:
		c = cell{start: list[0].amount.start, stop: list[len(list)-1].amount.stop}
	}
	r.begin(key, source.Object, c)
	seen := map[string]bool{}
	for i, share := range list {
		v, complaint := asPercent(r.sheet, share.amount)
		if i < inColumns {
			v, complaint = r.level(share.amount, r.shares)
		}
		switch {
		case complaint != "" && i < inColumns:
			r.sayAbout("bad-cell", share.name.text, share.amount.start, share.amount.stop, fmt.Sprintf("%q of %s %s.", source.Shorten(share.amount.text), share.name.text, complaint), finding.Error, finding.Dark)
		case complaint != "":
			r.bad(key, share.amount, complaint)
		case seen[share.name.text]:
			r.bad(key, share.name, "stands twice in one mix; the first is used")
		default:
			seen[share.name.text] = true
			r.build.Key(share.name.text, share.name.start, share.name.stop)
			r.scalar(v, share.amount)
		}
	}
	r.build.End(c.stop)
}

// screens writes what the cue does to screens.
func (r *cueRows) screens() {
	if len(r.drives) == 0 {
		return
	}
	r.begin("screens", source.Array, firstOf(r.drives[0]))
	for _, drive := range r.drives {
		r.build.Begin(source.Object, firstOf(drive).start)
		for _, f := range driveFields {
			if c, ok := drive[f.column]; ok {
				if v, complaint := f.read(r.sheet, c); complaint != "" {
					r.bad(f.column, c, complaint)
				} else {
					r.member(f.key, f.column, v, c)
				}
			}
		}
		for _, l := range driveLists {
			if c, ok := drive[l.column]; ok {
				l.write(r.sheet, l.key, l.column, c)
			}
		}
		r.build.End(r.stop)
	}
	r.build.End(r.stop)
}

func firstOf(drive map[string]cell) cell {
	for _, column := range driveColumns {
		if c, ok := drive[column]; ok {
			return c
		}
	}
	return cell{}
}
