package ascii

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
)

// Format is the row of this format. Nothing is ever written into an export.
var Format = format.Format{
	Name:  "ASCII text",
	Ends:  ends,
	Holds: sections,
	Alone: true,
	Sniff: sniff,
	Read:  Read,
}

var (
	ends     = []string{".asc", ".ascii", ".txt"}
	sections = []string{"patch", "groups", "cues"}
)

// sniff looks for a line that only this format has: Ident with a version, or an
// item and something that belongs to it. A table may have a column called "cue", so
// one keyword alone does not decide.
func sniff(name, head string) format.Sure {
	text, _, err := source.Decode([]byte(head))
	if err != nil || strings.IndexByte(text, 0) >= 0 {
		return format.No
	}
	const lines = 50
	seen, items, parts := 0, 0, 0
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\r' || r == '\n' }) {
		words := tokens(line, 0)
		if len(words) == 0 {
			continue
		}
		if seen++; seen > lines {
			break
		}
		word := strings.ToLower(words[0].text)
		var first string
		if len(words) > 1 {
			first = words[1].text
		}
		_, number := integer(strings.Replace(first, ".", "", 1))
		switch {
		case word == "ident" && strings.HasPrefix(first, "3"):
			return format.ByContent
		case slices.Contains(primaryWords, word) && number:
			items++
		case word == "patch" && number && len(words)%3 == 2:
			return format.ByContent
		case word == "chan" && number && len(words) >= 3, slices.Contains(secondaryWords, word) && strings.TrimLeft(line, " \t") != line,
			(word == "up" || word == "down" || word == "followon" || word == "link") && number && len(words) <= 3:
			parts++
		}
	}
	if items > 0 && parts > 0 {
		return format.ByContent
	}
	for _, end := range ends[:2] {
		if strings.HasPrefix(text, "-----BEGIN") { // a signature or a key, which ends like that too
			break
		}
		if strings.HasSuffix(strings.ToLower(name), end) {
			return format.ByName
		}
	}
	return format.No
}

// Read reads a file into the sections patch, groups and cues.
func Read(in *format.Input, _ string, file *source.File, data string) (format.Part, bool) {
	text, encoding, err := source.Decode([]byte(data))
	if err != nil {
		in.Fail("encoding", finding.Finding{
			Subjects: []finding.Subject{in.Subject(file)}, Place: source.Place{File: file},
			Message: fmt.Sprintf("%s cannot be read: %s.", file.Name, err),
		})
		return format.Part{}, false
	}
	file.Text, file.Encoding = text, encoding
	r := &reader{in: in, file: file, f: Parse(text)}
	if !r.problems() {
		return format.Part{}, false
	}
	in.Note(file, "console data as ASCII text", encoding)
	r.build = source.NewBuilder(file)
	r.build.Begin(source.Object, 0)
	r.patch()
	r.groups()
	r.cues()
	r.build.End(len(text))
	r.left()
	for _, name := range sections {
		if root, ok := file.Root().Get(name); ok {
			r.part.Sections = append(r.part.Sections, format.Section{Name: name, Root: root})
		}
	}
	return r.part, true
}

// reader lays a file on a tree.
type reader struct {
	in    *format.Input
	file  *source.File
	f     *File
	build *source.Builder
	part  format.Part
}

func (r *reader) place(at format.Span) source.Place {
	return source.Place{File: r.file, Start: at.Start, Stop: at.Stop}
}

func (r *reader) loss(kind format.LossKind, what string, count int, at format.Span) {
	if count > 0 {
		r.part.Losses = append(r.part.Losses, format.Loss{Kind: kind, What: what, Count: count, Place: r.place(at)})
	}
}

// fatal lists the problems for which nothing of the file is used.
var fatal = []string{"not-text", "not-this-format", "too-many-errors"}

// problems tells what is wrong. What is only unusual is told once, with its count.
func (r *reader) problems() bool {
	about := []finding.Subject{r.in.Subject(r.file)}
	ok := true
	count := map[string]int{}
	for _, p := range r.f.Problems {
		count[p.Code]++
	}
	told := map[string]bool{}
	for _, p := range r.f.Problems {
		f := finding.Finding{
			Level: finding.Note, Consequence: finding.Later, Detail: p.Code, Subjects: about,
			Message: sentence(p.Message), Place: r.place(p.At),
		}
		switch {
		case slices.Contains(fatal, p.Code):
			f.Message = fmt.Sprintf("%s cannot be read as console data: %s", r.file.Name, f.Message)
			rule := "ascii-text"
			if p.Code == "too-many-errors" {
				rule = "too-large" // of many alike only the first are told, and this stands behind them
			}
			r.in.Fail(rule, f)
			ok = false
			continue
		case p.Severity == format.Error:
			f.Level, f.Consequence = finding.Error, finding.Dark
		case p.Code == "line-too-long" || p.Severity == format.Note:
			if told[p.Code] {
				continue
			}
			told[p.Code] = true
			if n := count[p.Code]; n > 1 {
				f.Message += fmt.Sprintf(" There are %d such places; this is the first.", n)
			}
		default:
			f.Level = finding.Warning
		}
		r.in.Say("ascii-text", f)
	}
	return ok
}

// sentence makes a sentence of a message.
func sentence(message string) string { return strings.TrimSuffix(message, ".") + "." }

// key names the next value by something that has a place.
func (r *reader) key(name string, at format.Span) { r.build.Key(name, at.Start, at.Stop) }

func (r *reader) text(name, text string, at format.Span) {
	r.key(name, at)
	r.build.Scalar(source.String, text, at.Start, at.Stop)
}

func (r *reader) number(name string, value float64, at format.Span) {
	r.key(name, at)
	r.build.Scalar(source.Number, decimal(value), at.Start, at.Stop)
}

func decimal(value float64) string { return strconv.FormatFloat(value, 'f', -1, 64) }

// patch takes the lowest page: which one is in use is not in the file. Each channel
// starts at its first dimmer, and further ones are further addresses.
func (r *reader) patch() {
	if len(r.f.Patch) == 0 {
		return
	}
	page := r.f.Patch[0].Page
	for _, p := range r.f.Patch {
		page = min(page, p.Page)
	}
	var channels []int
	byChannel := map[int][]DimmerPatch{}
	others, limited := 0, 0
	var firstOther, firstLimited format.Span
	for _, p := range r.f.Patch {
		if p.Page != page {
			if others++; others == 1 {
				firstOther = p.At
			}
			continue
		}
		if p.Level < 1 {
			if limited++; limited == 1 {
				firstLimited = p.At
			}
		}
		if byChannel[p.Channel] == nil {
			channels = append(channels, p.Channel)
		}
		byChannel[p.Channel] = append(byChannel[p.Channel], p)
	}
	r.loss(format.Dropped, "dimmers on other patch pages", others, firstOther)
	r.otherPages("the patch", "dimmers", page, others, firstOther)
	r.loss(format.Dropped, "limits of dimmers in the patch", limited, firstLimited)
	r.key("patch", r.f.Patch[0].At)
	r.build.Begin(source.Array, r.f.Patch[0].At.Start)
	for _, channel := range channels {
		dimmers := byChannel[channel]
		first := dimmers[0]
		r.build.Begin(source.Object, first.At.Start)
		r.number("channel", float64(channel), first.ChannelAt)
		r.text("address", address(first), first.DimmerAt)
		if len(dimmers) > 1 {
			r.key("more_addresses", dimmers[1].DimmerAt)
			r.build.Begin(source.Array, dimmers[1].DimmerAt.Start)
			for _, d := range dimmers[1:] {
				r.build.Scalar(source.String, address(d), d.DimmerAt.Start, d.DimmerAt.Stop)
			}
			r.build.End(dimmers[len(dimmers)-1].DimmerAt.Stop)
		}
		r.build.End(first.At.Stop)
	}
	r.build.End(r.f.Patch[len(r.f.Patch)-1].At.Stop)
}

// otherPages tells that a part of the file is not read: which page is in use is not in it.
func (r *reader) otherPages(of, what string, page, count int, first format.Span) {
	if count == 0 {
		return
	}
	r.in.Say("other-pages", finding.Finding{
		Level: finding.Warning, Consequence: finding.Later, Detail: what, Subjects: []finding.Subject{r.in.Subject(r.file)},
		Message: fmt.Sprintf("%s has several pages of %s. Page %d is read, the lowest; %d %s on others are not, since the file does not say which page is in use.", r.file.Name, of, page, count, what),
		Hint:    "if another page is used, export it alone",
		Place:   r.place(first),
	})
}

func address(p DimmerPatch) string {
	universe, slot := p.Universe()
	return fmt.Sprintf("%d.%d", universe, slot)
}

// groups become names for channels; levels in them have no word here.
func (r *reader) groups() {
	// A submaster is a fader in somebody's hand. What it lifts is a name for channels too.
	list := slices.Concat(r.f.Groups, r.f.Subs)
	if len(list) == 0 {
		return
	}
	r.key("groups", list[0].At)
	r.build.Begin(source.Object, list[0].At.Start)
	used := map[string]bool{}
	levels, empty := 0, 0
	for i, g := range list {
		kind := "group"
		if i >= len(r.f.Groups) {
			kind = "submaster"
		}
		var channels []int
		full := true
		for _, l := range g.Effective() {
			if l.Level > 0 {
				channels = append(channels, l.Channel)
				full = full && l.Level == 1
			}
		}
		if len(channels) == 0 {
			empty++
			continue
		}
		if !full && kind == "group" {
			levels++
		}
		name, at := r.groupName(g, kind)
		if used[strings.ToLower(name)] {
			name = fmt.Sprintf("%s (%s)", name, g.Number)
		}
		for used[strings.ToLower(name)] {
			name += " " + kind
		}
		used[strings.ToLower(name)] = true
		r.text(name, ranges(channels), at)
	}
	r.build.End(list[len(list)-1].At.Stop)
	r.loss(format.Dropped, "groups with levels of their own", levels, list[0].At)
	r.loss(format.Dropped, "groups and submasters without channels", empty, list[0].At)
}

// groupName is what people wrote at the group, unless a selection of channels could
// not tell it from channels.
func (r *reader) groupName(g *Item, kind string) (string, format.Span) {
	for _, t := range g.Whole.Text {
		if t.Words != "" && strings.ContainsFunc(t.Words, unicode.IsLetter) && !strings.ContainsAny(t.Words, ",+;|") && !strings.EqualFold(t.Words, "all") &&
			!strings.EqualFold(t.Words, "note") && !strings.HasPrefix(t.Words, "x_") && !strings.HasPrefix(t.Words, "$") {
			return t.Words, t.At
		}
	}
	return kind + " " + g.Number.String(), g.At
}

// ranges writes channels the short way: "1-6,9".
func ranges(channels []int) string {
	slices.Sort(channels)
	channels = slices.Compact(channels)
	var parts []string
	for i := 0; i < len(channels); {
		j := i
		for j+1 < len(channels) && channels[j+1] == channels[j]+1 {
			j++
		}
		if i == j {
			parts = append(parts, strconv.Itoa(channels[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d-%d", channels[i], channels[j]))
		}
		i = j + 1
	}
	return strings.Join(parts, ",")
}

// cues takes the lowest page, see [reader.patch].
func (r *reader) cues() {
	if len(r.f.Cues) == 0 {
		return
	}
	page := r.f.Cues[0].Page
	list := r.f.Cues
	if n := slices.IndexFunc(list, func(c *Item) bool { return c.Page != page }); n >= 0 {
		r.loss(format.Dropped, "cues on other pages", len(list)-n, list[n].At)
		r.otherPages("the cue list", "cues", page, len(list)-n, list[n].At)
		list = list[:n]
	}
	tracks := r.unlisted(list)
	r.key("cues", list[0].At)
	r.build.Begin(source.Array, list[0].At.Start)
	for _, cue := range list {
		for i, part := range cue.told() {
			r.cue(cue, part, i == 0, tracks)
		}
	}
	r.build.End(list[len(list)-1].At.Stop)
	r.rest(list)
}

// told returns the parts that say something, the whole of the cue first.
func (i *Item) told() []*Part {
	w := &i.Whole
	if len(i.Parts) > 0 && len(w.Levels) == 0 && len(w.Text) == 0 && w.Up == nil && w.Down == nil {
		return i.Parts
	}
	return append([]*Part{w}, i.Parts...)
}

// tracking is what channels do that a cue does not list.
type tracking struct {
	word    string // "" for carry, which need not be told
	guessed bool
}

// unlisted decides what it is. Where nobody said it and it makes a difference, it is a
// guess and told as one.
func (r *reader) unlisted(list []*Item) tracking {
	switch r.in.Unlisted {
	case "off":
		return tracking{word: "release"}
	case "keep":
		return tracking{}
	}
	where := dependent(list)
	if where == nil {
		return tracking{}
	}
	keep, zero, cue := r.f.Tracks()
	t, guess, at := tracking{"release", true}, "off", where.At
	reason := "no cue lists a channel at zero, so what is off was probably left out"
	if keep {
		t, guess, at = tracking{"carry", true}, "keep", zero.LevelAt
		reason = fmt.Sprintf("cue %s lists channel %d at zero, which says off, so the rest is probably kept", cue.Number, zero.Channel)
	}
	r.in.Say("unlisted-channels", finding.Finding{
		Level: finding.Note, Consequence: finding.Later, Subjects: []finding.Subject{r.in.Subject(r.file)},
		Message: fmt.Sprintf("%s does not say whether channels that a cue does not list go off or keep their level. The guess is %q: %s.", r.file.Name, guess, reason),
		Hint:    fmt.Sprintf(`look at cue %s at the desk; then write "unlisted: off" or "unlisted: keep" in the house file, or give --unlisted`, where.Number),
		Place:   r.place(at),
	})
	r.loss(format.Guessed, "cues whose unlisted channels go off or keep their level", len(list), at)
	return t
}

// dependent returns the first cue after which the stage depends on what happens to
// unlisted channels, or nil.
func dependent(list []*Item) *Item {
	lit := map[int]bool{}
	for _, cue := range list {
		levels := cue.Effective()
		listed := 0
		for _, l := range levels {
			if lit[l.Channel] {
				listed++
			}
		}
		if listed < len(lit) {
			return cue
		}
		for _, l := range levels {
			if l.Level > 0 {
				lit[l.Channel] = true
			} else {
				delete(lit, l.Channel)
			}
		}
	}
	return nil
}

// cue lays one cue, or a part of it. The first one laid tells what is of the whole.
func (r *reader) cue(cue *Item, part *Part, first bool, tracks tracking) {
	at := part.At
	r.build.Begin(source.Object, at.Start)
	r.key("cue", cue.NumberAt)
	r.build.Scalar(source.Number, cue.Number.String(), cue.NumberAt.Start, cue.NumberAt.Stop)
	if part.Number > 0 {
		r.number("part", float64(part.Number), part.At)
	}
	r.words(part)
	fadeTold := r.fades(part)
	follow := first && cue.Followon != nil
	if follow {
		r.number("follow_s", cue.Followon.Seconds, cue.Followon.At)
	}
	if first && tracks.word != "" {
		r.text("tracking", tracks.word, at)
	}
	if len(part.Levels) > 0 {
		r.levels(part)
	}
	if guessed := first && tracks.guessed; follow || guessed || !fadeTold {
		r.key("known", at)
		r.build.Begin(source.Object, at.Start)
		if !fadeTold {
			r.text("in_s", "assumed", at)
		}
		if guessed {
			r.text("tracking", "inferred", at)
		}
		if follow {
			// Whether the time counts from the start or the end of the fade could not be read.
			r.key("follow_s", cue.Followon.At)
			r.build.Begin(source.Array, cue.Followon.At.Start)
			for _, end := range []float64{cue.Followon.Seconds, cue.Followon.Seconds + cue.longest()} {
				r.build.Scalar(source.Number, decimal(end), cue.Followon.At.Start, cue.Followon.At.Stop)
			}
			r.build.End(cue.Followon.At.Stop)
		}
		r.build.End(at.Stop)
	}
	r.build.End(at.Stop)
}

// words are the name of a cue, and what else is written at it.
func (r *reader) words(part *Part) {
	var lines []Text
	for _, t := range part.Text {
		if t.Words != "" {
			lines = append(lines, t)
		}
	}
	if len(lines) == 0 {
		return
	}
	r.text("name", lines[0].Words, lines[0].At)
	if len(lines) > 1 {
		var more []string
		for _, t := range lines[1:] {
			more = append(more, t.Words)
		}
		r.text("note", strings.Join(more, "\n"), format.Span{Start: lines[1].At.Start, Stop: lines[len(lines)-1].At.Stop})
	}
}

// fades lays the times. A console has a default for what is not written; here it is
// taken as at once, and said to be assumed.
func (r *reader) fades(part *Part) (told bool) {
	if part.Up != nil {
		r.number("in_s", part.Up.Seconds, part.Up.At)
	} else {
		r.number("in_s", 0, part.At)
	}
	if part.Down != nil {
		r.number("out_s", part.Down.Seconds, part.Down.At)
	}
	if d := cmp.Or(part.Up, part.Down); d != nil && d.Delay > 0 {
		r.number("delay_s", d.Delay, d.DelayAt)
	}
	return part.Up != nil
}

// longest is how long the cue fades, with its delays.
func (i *Item) longest() float64 {
	most := 0.0
	for _, part := range i.told() {
		for _, f := range []*Fade{part.Up, part.Down} {
			if f != nil {
				most = max(most, f.Seconds+f.Delay)
			}
		}
	}
	return most
}

func (r *reader) levels(part *Part) {
	r.key("set", part.Levels[0].At)
	r.build.Begin(source.Array, part.Levels[0].At.Start)
	for _, l := range part.Levels {
		r.build.Begin(source.Object, l.At.Start)
		r.text("channels", strconv.Itoa(l.Channel), l.ChannelAt)
		r.number("level", percent(l.Level), l.LevelAt)
		r.build.End(l.At.Stop)
	}
	r.build.End(part.Levels[len(part.Levels)-1].At.Stop)
}

// percent of a share, without what binary fractions add: 7 for 0.07.
func percent(share float64) float64 { return math.Round(share*1e11) / 1e9 }

// rest counts what there is no word for in cues.
func (r *reader) rest(list []*Item) {
	var untimed, delays, links format.Places
	for i, cue := range list {
		for _, part := range cue.told() {
			if part.Up == nil {
				untimed.Add(part.At)
			}
			if part.Up != nil && part.Down != nil && part.Up.Delay != part.Down.Delay {
				delays.Add(part.Down.At)
			}
		}
		if cue.Link != nil && (i+1 >= len(list) || list[i+1].Number != cue.Link.Number) {
			links.Add(cue.Link.At)
		}
	}
	r.loss(format.Defaulted, "cues without a fade time (0 s is assumed)", untimed.Count, untimed.First)
	r.loss(format.Dropped, "delays of falling levels that differ from those of rising ones", delays.Count, delays.First)
	r.loss(format.Dropped, "links to another cue than the next", links.Count, links.First)
}

// left counts what is not a patch, a group or a cue.
func (r *reader) left() {
	var subs, extensions format.Places
	for _, sub := range r.f.Subs {
		subs.Add(sub.At)
	}
	for _, x := range r.f.Extensions {
		for range x.Lines {
			extensions.Add(x.At)
		}
	}
	r.loss(format.Dropped, "levels of submasters (their channels are groups)", subs.Count, subs.First)
	r.loss(format.Dropped, "lines of a maker's own data", extensions.Count, extensions.First)
}
