package ascii

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

const (
	maxLine   = 80    // characters of a line, without its end
	maxErrors = 200   // problems with severity format.Error before the rest is left unread
	maxNumber = 65535 // of integers
)

// token is a word of a line with its place.
type token struct {
	text string
	format.Span
}

// parser reads a text line by line.
type parser struct {
	*File
	text      string
	line      int         // number of the line
	at        format.Span // of the line, without its end
	lastAt    format.Span // of the last line with something on it
	words     []token     // without the keyword
	keyword   token
	item      *Item
	part      *Part
	extension *Extension
	known     bool // a keyword of the format was seen
	first     bool // no keyword was seen before
	data      bool // patch, cue, group or submaster was seen
	channels  int  // Set Channels, 0 if not given
	errors    int
	lastKind  map[string]map[itemKey]int // kind -> key -> index of the item
	dimmers   map[[2]int]int             // page and dimmer -> channel
}

type itemKey struct {
	number schema.CueNumber
	page   int
}

// Parse reads a text. It never fails: what is wrong is in Problems, and a text
// that is none of this format has the problem "not-this-format" or "not-text".
func Parse(text string) *File {
	const sample = 4096
	p := &parser{File: &File{}, text: text, first: true, lastKind: map[string]map[itemKey]int{}, dimmers: map[[2]int]int{}}
	if zero := strings.IndexByte(text[:min(len(text), sample)], 0); zero >= 0 {
		p.problem(format.Span{Start: zero, Stop: zero + 1}, "not-text", format.Error, "the file holds a zero byte, so it is no text")
		p.place()
		return p.File
	}
	p.lines()
	p.finish()
	p.place()
	return p.File
}

// lines reads the lines; CR, LF and CR LF each end one.
func (p *parser) lines() {
	for at := 0; at < len(p.text); {
		stop := at + len(p.text[at:])
		if end := strings.IndexAny(p.text[at:], "\r\n"); end >= 0 {
			stop = at + end
		}
		p.line++
		p.at = format.Span{Start: at, Stop: stop}
		if p.errors > maxErrors {
			p.problem(p.at, "too-many-errors", format.Error, fmt.Sprintf("more than %d errors stand above, so the rest is not read", maxErrors))
			return
		}
		if p.takeLine() {
			return
		}
		at = stop + 1
		if strings.HasPrefix(p.text[stop:], "\r\n") {
			at++
		}
	}
}

// takeLine reads one line; it reports whether the data end there.
func (p *parser) takeLine() (ended bool) {
	line := p.text[p.at.Start:p.at.Stop]
	if p.Ended {
		if words := tokens(line, p.at.Start); len(words) > 0 {
			p.problem(words[0].Span, "data-after-end", format.Note, "something follows EndData and is not read")
			return true
		}
		return false
	}
	words := tokens(line, p.at.Start)
	if strings.TrimSpace(line) != "" {
		p.lastAt = p.at
	}
	if len(line) > maxLine && len([]rune(line)) > maxLine {
		p.problem(p.at, "line-too-long", format.Warning, fmt.Sprintf("the line is longer than %d characters; it is read whole", maxLine))
	}
	if len(words) == 0 {
		return false
	}
	p.keyword, p.words = words[0], words[1:]
	p.instruction(strings.ToLower(p.keyword.text))
	p.first = false
	return false
}

// delimiters are all the same, and any run of them is one.
const delimiters = " \t,/;<=>@"

// tokens cuts a line at the comment and splits it.
func tokens(line string, offset int) []token {
	if bang := strings.IndexByte(line, '!'); bang >= 0 {
		line = line[:bang]
	}
	var list []token
	for at := 0; at < len(line); {
		start := at + len(line[at:]) - len(strings.TrimLeft(line[at:], delimiters))
		stop := len(line)
		if end := strings.IndexAny(line[start:], delimiters); end >= 0 {
			stop = start + end
		}
		if stop > start {
			list = append(list, token{line[start:stop], format.Span{Start: offset + start, Stop: offset + stop}})
		}
		at = max(stop, start+1)
	}
	return list
}

func (p *parser) instruction(word string) {
	switch {
	case strings.HasPrefix(word, "$$"):
		if p.extension != nil {
			p.extension.Lines = append(p.extension.Lines, p.line)
		} else {
			p.Extensions = append(p.Extensions, Extension{Keyword: p.keyword.text, Lines: []int{p.line}, At: p.at})
		}
		return
	case strings.HasPrefix(word, "$") && len(word) > 1:
		p.close()
		p.Extensions = append(p.Extensions, Extension{Keyword: p.keyword.text, Lines: []int{p.line}, At: p.at})
		p.extension = &p.Extensions[len(p.Extensions)-1]
		return
	case slices.Contains(secondaryWords, word):
		p.known = true
		switch {
		case p.extension != nil:
			p.extension.Lines = append(p.extension.Lines, p.line)
		case p.item == nil:
			p.problem(p.keyword.Span, "orphan-secondary", format.Error, fmt.Sprintf("%q stands under no cue, group or submaster, so the line is left out", p.keyword.text))
		default:
			p.secondary(word)
		}
		return
	case slices.Contains(primaryWords, word):
		p.known, p.data = true, true
		p.close()
		p.open(word)
		return
	case slices.Contains(basicWords, word):
		p.known = true
		p.close()
		p.basic(word)
		return
	}
	p.problem(p.keyword.Span, "unknown-keyword", format.Warning, fmt.Sprintf("%q is no keyword, so the line is left out", p.keyword.text))
}

func (p *parser) basic(word string) {
	switch word {
	case "ident":
		p.ident()
	case "manufacturer":
		p.identity(&p.Manufacturer)
	case "console":
		p.identity(&p.Console)
	case "clear":
		p.Clears = append(p.Clears, p.lower())
		if p.data {
			p.problem(p.keyword.Span, "clear-after-data", format.Warning, "Clear stands behind data; who loads the file would lose them, here they are kept")
		}
	case "set":
		p.set()
	case "patch":
		p.data = true
		p.patch()
	case "enddata":
		p.Ended = true
	}
}

func (p *parser) ident() {
	if !p.first {
		p.problem(p.keyword.Span, "ident-not-first", format.Warning, "Ident does not stand first; it ends what was open above it")
	}
	if len(p.words) == 0 {
		p.problem(p.keyword.Span, "bad-ident", format.Warning, "Ident has no version; 3:0 is assumed")
		return
	}
	text := p.words[0].text
	major, _, colon := strings.Cut(text, ":")
	if !colon {
		var minor string
		major, minor, _ = strings.Cut(text, ".")
		p.problem(p.words[0].Span, "bad-ident", format.Warning, fmt.Sprintf("Ident says %q where 3:0 is usual", text))
		text = major + ":" + cmp.Or(minor, "0")
	}
	p.Ident = text
	if m, ok := integer(major); !ok || m != 3 {
		p.problem(p.words[0].Span, "unsupported-version", format.Warning, fmt.Sprintf("the file says that it is of version %q; it is read as 3:0", text))
	}
}

// identity reads one word that names a maker or a console.
func (p *parser) identity(into *string) {
	var words []string
	for _, w := range p.words {
		words = append(words, w.text)
	}
	text := strings.Join(words, " ")
	if text == "" {
		return
	}
	const longest = 10
	if len(p.words) > 1 || len(text) > longest {
		p.problem(p.words[0].Span, "id-style", format.Note, fmt.Sprintf("%q is more than one word of %d letters and digits", p.keyword.text, longest))
	}
	if *into != "" && *into != text {
		p.problem(p.words[0].Span, "duplicate-id", format.Warning, fmt.Sprintf("%q says something else than above; this one is kept", p.keyword.text))
	}
	*into = text
}

func (p *parser) lower() []string {
	list := []string{}
	for _, w := range p.words {
		list = append(list, strings.ToLower(w.text))
	}
	return list
}

// set reads system settings. Only the number of channels is understood.
func (p *parser) set() {
	words := p.lower()
	p.Sets = append(p.Sets, words)
	if len(words) >= 2 && words[0] == "channels" {
		if n, ok := integer(words[1]); ok && n > 0 {
			p.channels = n
		}
	}
}

// patch reads a page and triples of channel, dimmer and level (from memory).
func (p *parser) patch() {
	if len(p.words) == 0 {
		return
	}
	page, ok := integer(p.words[0].text)
	if !ok {
		p.problem(p.words[0].Span, "bad-number", format.Error, fmt.Sprintf("%q is no patch page, so the line is left out", p.words[0].text))
		return
	}
	triples := p.words[1:]
	if odd := len(triples) % 3; odd != 0 {
		p.problem(triples[len(triples)-odd].Span, "patch-arity", format.Error, "a patch line holds channel, dimmer and level again and again, and here something is missing; what is whole is read")
	}
	for ; len(triples) >= 3; triples = triples[3:] {
		p.triple(page, triples[0], triples[1], triples[2])
	}
}

func (p *parser) triple(page int, channel, dimmer, level token) {
	at := format.Span{Start: channel.Start, Stop: level.Stop}
	d, ok := integer(dimmer.text)
	if !ok || d == 0 {
		p.problem(dimmer.Span, "bad-dimmer", format.Error, fmt.Sprintf("%q is no dimmer from 1 to %d, so its patch is left out", dimmer.text, maxNumber))
		return
	}
	c, ok := integer(channel.text)
	if ok && c == 0 {
		p.problem(channel.Span, "unpatched-dimmer", format.Note, fmt.Sprintf("dimmer %d is on channel 0, which is read as on none", d))
		return
	}
	if !ok {
		p.problem(channel.Span, "bad-channel", format.Error, fmt.Sprintf("%q is no channel from 1 to %d, so its patch is left out", channel.text, maxNumber))
		return
	}
	share, ok := p.level(level)
	if !ok {
		return
	}
	p.inRange(c, channel)
	if before, twice := p.dimmers[[2]int{page, d}]; twice && before != c {
		p.problem(dimmer.Span, "dimmer-patched-twice", format.Warning, fmt.Sprintf("dimmer %d is on channel %d and on channel %d", d, before, c))
	}
	p.dimmers[[2]int{page, d}] = c
	p.Patch = append(p.Patch, DimmerPatch{Page: page, Channel: c, Dimmer: d, Level: share, At: at, ChannelAt: channel.Span, DimmerAt: dimmer.Span})
}

func (p *parser) inRange(channel int, at token) {
	if p.channels > 0 && channel > p.channels {
		p.problem(at.Span, "channel-out-of-range", format.Warning, fmt.Sprintf("channel %d is beyond the %d channels that the file sets", channel, p.channels))
	}
}

// open begins a cue, group or submaster; its second number is a page (from memory).
func (p *parser) open(kind string) {
	p.item = &Item{kind: kind, At: p.at, NumberAt: p.keyword.Span, numbered: map[int]*Part{}, claimed: map[int]int{}}
	p.item.Whole.At = p.at
	p.part = &p.item.Whole
	if len(p.words) > 0 {
		p.item.NumberAt = p.words[0].Span
		number, ok := p.number(p.words[0], kind == "sub")
		p.item.Number, p.item.nameless = number, !ok
	} else {
		p.item.nameless = true
	}
	if p.item.nameless {
		p.problem(p.item.NumberAt, "bad-number", format.Error, fmt.Sprintf("the number of this %s cannot be read, so it is left out with all that stands under it", kindWords[kind]))
	}
	if len(p.words) > 1 {
		if page, ok := integer(p.words[1].text); ok {
			p.item.Page = page
		}
	}
}

var kindWords = map[string]string{"cue": "cue", "group": "group", "sub": "submaster"}

// number reads the number of a cue or group.
func (p *parser) number(t token, whole bool) (schema.CueNumber, bool) {
	number, err := schema.ParseCueNumber(t.text)
	if err != nil || whole && strings.Contains(t.text, ".") {
		return 0, false
	}
	digits, decimals, _ := strings.Cut(t.text, ".")
	if len(digits) > 4 || len(decimals) > 1 {
		p.problem(t.Span, "number-style", format.Note, fmt.Sprintf("%q has more digits than are usual; it is read as it stands", t.text))
	}
	return number, true
}

// close ends what is open.
func (p *parser) close() {
	p.extension = nil
	item := p.item
	p.item, p.part = nil, nil
	if item == nil || item.nameless {
		return
	}
	list := map[string]*[]*Item{"cue": &p.Cues, "group": &p.Groups, "sub": &p.Subs}[item.kind]
	if p.lastKind[item.kind] == nil {
		p.lastKind[item.kind] = map[itemKey]int{}
	}
	key := itemKey{item.Number, item.Page}
	if before, twice := p.lastKind[item.kind][key]; twice {
		p.problem(item.NumberAt, "duplicate-item", format.Warning, fmt.Sprintf("%s %s stands twice in the file; this one replaces the one above", kindWords[item.kind], item.Number))
		(*list)[before] = item
		return
	}
	p.lastKind[item.kind][key] = len(*list)
	*list = append(*list, item)
}

func (p *parser) secondary(word string) {
	if !mayHave(p.item.kind, word) {
		p.problem(p.keyword.Span, "unexpected-secondary", format.Note, fmt.Sprintf("%q is unusual under a %s; it is kept", p.keyword.text, kindWords[p.item.kind]))
	}
	switch word {
	case "chan":
		p.pairs()
	case "text":
		p.readText()
	case "up":
		p.fade(&p.part.Up)
	case "down":
		p.fade(&p.part.Down)
	case "followon":
		p.followon()
	case "link":
		p.link()
	case "part":
		p.openPart()
	}
}

// pairs reads pairs of channel and level.
func (p *parser) pairs() {
	left := p.words
	for ; len(left) >= 2; left = left[2:] {
		p.pair(left[0], left[1])
	}
	if len(left) == 1 {
		p.problem(left[0].Span, "chan-arity", format.Error, fmt.Sprintf("a level is missing behind channel %s, so it is left out", left[0].text))
	}
}

func (p *parser) pair(channel, level token) {
	c, ok := integer(channel.text)
	if !ok || c == 0 {
		p.problem(channel.Span, "bad-channel", format.Error, fmt.Sprintf("%q is no channel from 1 to %d, so its level is left out", channel.text, maxNumber))
		return
	}
	share, ok := p.level(level)
	if !ok {
		return
	}
	p.inRange(c, channel)
	next := Level{Channel: c, Level: share, Raw: level.text, At: format.Span{Start: channel.Start, Stop: level.Stop}, ChannelAt: channel.Span, LevelAt: level.Span}
	if p.part.set(next) {
		p.problem(channel.Span, "duplicate-channel", format.Warning, fmt.Sprintf("channel %d stands twice in one %s; the last one is kept", c, kindWords[p.item.kind]))
		return
	}
	if p.part.Number == 0 {
		return
	}
	if other, claimed := p.item.claimed[c]; claimed {
		p.problem(channel.Span, "channel-in-two-parts", format.Warning, fmt.Sprintf("channel %d stands in parts %d and %d of one cue; here the higher number wins", c, other, p.part.Number))
	}
	p.item.claimed[c] = p.part.Number
}

var fullForm = regexp.MustCompile(`^FU?L?L?$`)

// level reads percent, hexadecimal behind an H, or full, which may be shortened.
func (p *parser) level(t token) (share float64, ok bool) {
	text := strings.ToUpper(t.text)
	switch {
	case text != "F" && fullForm.MatchString(text):
		return 1, true
	case text == "FF":
		p.problem(t.Span, "bare-hex", format.Warning, `"FF" is read as full; a hexadecimal level is written HFF`)
		return 1, true
	case strings.HasPrefix(text, "H") && len(text) >= 2 && len(text) <= 5:
		value, err := strconv.ParseUint(text[1:], 16, 16)
		if err != nil {
			break
		}
		if len(text) <= 3 {
			return float64(value) / 0xFF, true
		}
		if value <= 0xFF {
			p.problem(t.Span, "hex-width", format.Note, fmt.Sprintf("%q is read as 16 bits, that is %.1f %%; if 8 bits were meant, it would be %.0f %%", t.text, float64(value)/0xFFFF*100, float64(value)/0xFF*100))
		}
		return float64(value) / 0xFFFF, true
	default:
		if value, whole := integer(text); whole && value <= 100 {
			return float64(value) / 100, true
		}
	}
	p.problem(t.Span, "bad-level", format.Error, fmt.Sprintf("%q is no level from 0 to 100 or H0 to HFFFF, so it is left out", t.text))
	return 0, false
}

// readText reads a line of text. An exclamation mark ends it, since no exception
// from the rule for comments is known.
func (p *parser) readText() {
	line := p.text[p.keyword.Stop:p.at.Stop]
	start := p.keyword.Stop
	if line != "" && strings.ContainsRune(delimiters, rune(line[0])) {
		line, start = line[1:], start+1
	}
	raw := strings.TrimSpace(line)
	if bang := strings.IndexByte(line, '!'); bang >= 0 {
		p.problem(format.Span{Start: start + bang, Stop: start + bang + 1}, "bang-in-text", format.Note, "an exclamation mark ends the text here, as it begins a remark")
		line = line[:bang]
	}
	words := strings.TrimSpace(line)
	start += len(line) - len(strings.TrimLeft(line, " \t\v\f\u0085\u00a0"))
	p.part.Text = append(p.part.Text, Text{Words: words, Raw: raw, At: format.Span{Start: start, Stop: start + len(words)}})
}

// fade reads a time with its delay (that it is one is from memory).
func (p *parser) fade(into **Fade) {
	if len(p.words) == 0 {
		p.problem(p.keyword.Span, "bad-time", format.Error, fmt.Sprintf("%q has no time", p.keyword.text))
		return
	}
	seconds, ok := p.time(p.words[0])
	if !ok {
		return
	}
	f := &Fade{Time: Time{seconds, p.words[0].Span}}
	if len(p.words) > 1 {
		if delay, ok := p.time(p.words[1]); ok {
			f.Delay, f.DelayAt = delay, p.words[1].Span
		}
	}
	if *into != nil {
		p.problem(p.keyword.Span, "duplicate-time", format.Warning, fmt.Sprintf("%q stands twice; the last one is kept", p.keyword.text))
	}
	*into = f
}

// time reads [[hh:]mm:]ss[.t].
func (p *parser) time(t token) (seconds float64, ok bool) {
	bad := func() (float64, bool) {
		p.problem(t.Span, "bad-time", format.Error, fmt.Sprintf("%q is no time such as 5, 1:30 or 1:02:03.5, so it is left out", t.text))
		return 0, false
	}
	whole, tenth, point := strings.Cut(t.text, ".")
	fields := strings.Split(whole, ":")
	if len(fields) > 3 || point && (tenth == "" || !digits(tenth) || len(tenth) > 6) {
		return bad()
	}
	unusual := len(tenth) > 1
	total := 0
	for i, field := range fields {
		if field == "" && len(fields) == 1 && point { // .5
			field, unusual = "0", true
		}
		if !digits(field) || len(field) > 5 || len(fields) > 1 && len(field) > 2 {
			return bad()
		}
		n, _ := strconv.Atoi(field)
		if i > 0 && n >= 60 {
			return bad()
		}
		unusual = unusual || len(field) > 2
		total = total*60 + n
	}
	seconds, err := strconv.ParseFloat(fmt.Sprintf("%d.%s", total, cmp.Or(tenth, "0")), 64)
	if err != nil {
		return bad()
	}
	if unusual {
		p.problem(t.Span, "time-style", format.Note, fmt.Sprintf("%q is an unusual way to write a time; it is read as %g s", t.text, seconds))
	}
	return seconds, true
}

// followon reads after how long the next cue starts by itself (from memory).
func (p *parser) followon() {
	if len(p.words) == 0 {
		p.problem(p.keyword.Span, "bad-time", format.Error, fmt.Sprintf("%q has no time", p.keyword.text))
		return
	}
	if seconds, ok := p.time(p.words[0]); ok {
		if p.item.Followon != nil {
			p.problem(p.keyword.Span, "duplicate-time", format.Warning, fmt.Sprintf("%q stands twice; the last one is kept", p.keyword.text))
		}
		p.item.Followon = &Time{seconds, p.words[0].Span}
	}
}

func (p *parser) link() {
	if len(p.words) == 0 {
		p.problem(p.keyword.Span, "bad-number", format.Error, "Link names no cue")
		return
	}
	number, ok := p.number(p.words[0], false)
	if !ok {
		p.problem(p.words[0].Span, "bad-number", format.Error, fmt.Sprintf("%q is no cue number, so the link is left out", p.words[0].text))
		return
	}
	link := &Link{Number: number, Page: p.item.Page, At: p.words[0].Span}
	if len(p.words) > 1 {
		if page, ok := integer(p.words[1].text); ok {
			link.Page = page
		}
	}
	p.item.Link = link
}

// openPart begins a numbered part. What stands under a part whose number cannot
// be read is left out.
func (p *parser) openPart() {
	n, ok := 0, false
	at := p.keyword.Span
	if len(p.words) > 0 {
		at = p.words[0].Span
		n, ok = integer(p.words[0].text)
	}
	if !ok || n == 0 || n > schema.MaxPart {
		p.problem(at, "bad-number", format.Error, "the number of this part cannot be read, so it is left out with all that stands under it")
		p.part = &Part{}
		return
	}
	if other := p.item.numbered[n]; other != nil {
		p.problem(at, "duplicate-part", format.Note, fmt.Sprintf("part %d stands twice in one cue; both are read as one", n))
		p.part = other
		return
	}
	p.part = &Part{Number: n, At: p.at}
	p.item.Parts = append(p.item.Parts, p.part)
	p.item.numbered[n] = p.part
}

// finish does what can only be done when all is read.
func (p *parser) finish() {
	p.close()
	if !p.known && len(p.Extensions) == 0 {
		p.Problems = nil
		p.problem(format.Span{}, "not-this-format", format.Error, "the file holds no keyword of console data as ASCII text")
		return
	}
	if !p.Ended && p.errors <= maxErrors {
		p.problem(format.Span{Start: p.lastAt.Stop, Stop: p.lastAt.Stop}, "no-enddata", format.Warning, "the file does not end with EndData: it may be cut off")
	}
	order := func(a, b *Item) int { return cmp.Or(cmp.Compare(a.Page, b.Page), cmp.Compare(a.Number, b.Number)) }
	for _, list := range [][]*Item{p.Cues, p.Groups, p.Subs} {
		slices.SortFunc(list, order)
		for _, item := range list {
			slices.SortFunc(item.Parts, func(a, b *Part) int { return cmp.Compare(a.Number, b.Number) })
		}
	}
	p.links()
}

// links looks for links that lead nowhere, and for loops that never stop by themselves.
func (p *parser) links() {
	byKey := map[itemKey]*Item{}
	for _, cue := range p.Cues {
		byKey[itemKey{cue.Number, cue.Page}] = cue
	}
	const (
		unseen = iota
		onWay
		done
	)
	state := map[*Item]int{}
	for _, cue := range p.Cues {
		if cue.Link != nil && byKey[itemKey{cue.Link.Number, cue.Link.Page}] == nil {
			p.problem(cue.Link.At, "link-target-missing", format.Warning, fmt.Sprintf("cue %s links to cue %s, which is not in the file", cue.Number, cue.Link.Number))
		}
		var way []*Item
		for at := cue; at != nil && state[at] != done; {
			if state[at] == onWay {
				p.problem(at.Link.At, "link-loop", format.Note, fmt.Sprintf("the links lead from cue %s back to itself, and every cue on the way starts the next by itself", at.Number))
				break
			}
			state[at] = onWay
			way = append(way, at)
			if at.Link == nil || at.Followon == nil {
				break
			}
			at = byKey[itemKey{at.Link.Number, at.Link.Page}]
		}
		for _, seen := range way {
			state[seen] = done
		}
	}
}

func (p *parser) problem(at format.Span, code string, severity format.Severity, message string) {
	if severity == format.Error {
		p.errors++
	}
	p.Problems = append(p.Problems, format.Problem{Code: code, Severity: severity, Message: message, At: at})
}

// place works out lines and columns and sorts by lines.
func (p *parser) place() {
	slices.SortStableFunc(p.Problems, func(a, b format.Problem) int { return cmp.Compare(a.At.Start, b.At.Start) })
	line, start, at := 1, 0, 0
	for i := range p.Problems {
		problem := &p.Problems[i]
		for ; at < problem.At.Start; at++ {
			if p.text[at] == '\n' || p.text[at] == '\r' && (at+1 >= len(p.text) || p.text[at+1] != '\n') {
				line, start = line+1, at+1
			}
		}
		problem.Line, problem.Column = line, problem.At.Start-start+1
	}
}

// integer reads a whole number from 0 to 65535. Leading zeros do no harm.
func integer(text string) (int, bool) {
	if !digits(text) || len(text) > 10 {
		return 0, false
	}
	n, err := strconv.Atoi(text)
	return n, err == nil && n <= maxNumber
}

func digits(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}
