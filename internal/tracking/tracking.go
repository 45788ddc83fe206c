// Package tracking turns a cue list into looks: the resolved state of the stage
// after each cue, every value remembering the cue that set it.
//
// In goes a show, out comes one [Look] for each cue number, in numeric order.
// Levels and attributes persist until a cue changes them; a cue may also restate
// (take responsibility for everything that is on) or release (everything it does
// not mention goes to black). Resolve never fails: what cannot be resolved was
// already a finding of the reader. States are interned: two channels that do the
// same share one [State], whoever told them, so pointers can be compared. A newcomer's
// mistake would be to take a value's place from the cue in which it shows: ask
// [Look.SetBy].
package tracking

import (
	"cmp"
	"iter"
	"reflect"
	"slices"
	"sort"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// State is what one channel does in one look. There is one for everything that
// channels do, shared and never changed.
type State struct {
	Level  float64 // percent
	Colour *Colour // nil: no cue chose a colour
	Rest   *Rest   // nil: no cue set any of it
}

// Colour is the colour a channel was last told to make. White, chromaticity, hue
// and mix are alternatives: the last one told holds. A mix is the whole of it; only of
// a part of one ([schema.Told.MixPart]) the rest persists.
type Colour struct {
	WhiteK        *float64
	XY            []float64
	Mix           map[string]float64
	HueDeg        *float64
	SaturationPct *float64
}

// Rest is what a channel was told apart from level and colour.
type Rest struct {
	Aim      *schema.Aim
	ZoomDeg  *float64
	StrobeHz *float64
	Pattern  string
	Wheel    string
	Effect   *schema.Effect
}

// Look is the stage after one cue.
type Look struct {
	Index   int
	Number  schema.CueNumber
	Parts   []*schema.Cue   // the cue's parts in order; most cues have one
	Segment *schema.Segment // nil if the running order does not say
	Drives  Drives

	carried Drives // what the cues up to it have told the screens

	blocks []*block // the states of the slots
	told   []uint64 // a bit for each slot of which the cue says anything
	of     *list
}

// Cue returns the first part of the look's cue.
func (l *Look) Cue() *schema.Cue { return l.Parts[0] }

// Name returns the first name that a part of the cue bears.
func (l *Look) Name() string {
	for _, part := range l.Parts {
		if part.Name != "" {
			return part.Name
		}
	}
	return ""
}

// Place returns where the cue stands.
func (l *Look) Place() source.Ref { return l.Parts[0].At }

// Meant returns what is done on purpose at a place in this look, in words of
// [schema.Meanings], as its cue and its segment say; with no place, what is meant
// for all of them.
func (l *Look) Meant(place string) []string {
	var words []string
	add := func(intents []schema.Intent) {
		for i := range intents {
			if intent := &intents[i]; intent.For(place) && !slices.Contains(words, intent.Intent) {
				words = append(words, intent.Intent)
			}
		}
	}
	for _, part := range l.Parts {
		add(part.Meant)
	}
	if l.Segment != nil {
		add(l.Segment.Meant)
	}
	return words
}

// dark is the state of a channel that no cue has mentioned yet, or that was told
// nothing but darkness.
var dark = &State{}

// State returns what a channel does; a channel that no cue mentions is dark.
func (l *Look) State(channel int) *State {
	slot, ok := l.of.slots.of(channel)
	if !ok {
		return dark
	}
	return l.At(slot)
}

// Slots is how many fixtures the patch has; each is a slot, numbered from 0 in its order.
func (l *Look) Slots() int { return l.of.slots.count() }

// Slot is the first fixture of the patch with a channel; ok is false if there is none.
func (l *Look) Slot(channel int) (slot int, ok bool) { return l.of.slots.of(channel) }

// At is what a slot does.
func (l *Look) At(slot int) *State {
	return l.of.states[l.blocks[slot/blockSize][slot%blockSize]]
}

// Changed yields the slots that do not do what they do in another look of the show,
// in order; all of them where there is no other. What stands still costs next to
// nothing.
func (l *Look) Changed(from *Look) iter.Seq[int] {
	return func(yield func(int) bool) {
		for b, now := range l.blocks {
			var was *block
			if from != nil {
				if was = from.blocks[b]; was == now {
					continue
				}
			}
			for k := range min(blockSize, l.of.slots.count()-b*blockSize) {
				if (was == nil || was[k] != now[k]) && !yield(b*blockSize+k) {
					return
				}
			}
		}
	}
}

// Differs reports whether a slot does not do what it does in another look of the show.
func (l *Look) Differs(slot int, from *Look) bool {
	return l.blocks[slot/blockSize][slot%blockSize] != from.blocks[slot/blockSize][slot%blockSize]
}

// Says reports whether the look's cue says anything of a slot, also if it is what it did
// already.
func (l *Look) Says(slot int) bool { return l.told[slot/64]&(1<<(slot%64)) != 0 }

// Same reports whether a look is that of the same cue, told the same, in the same
// segment, with all channels and screens doing the same; one of them was resolved
// [Again] from the other.
func (l *Look) Same(as *Look) bool { return slices.Equal(l.blocks, as.blocks) && l.ToldAs(as) }

// ToldAs reports the same without what channels do.
func (l *Look) ToldAs(as *Look) bool {
	return l.Index == as.Index && l.Segment == as.Segment && slices.Equal(l.Parts, as.Parts) &&
		(reflect.ValueOf(l.Drives).Pointer() == reflect.ValueOf(as.Drives).Pointer() || reflect.DeepEqual(l.Drives, as.Drives))
}

// Does reports whether all slots do the same in two looks.
func (l *Look) Does(as *Look) bool { return slices.Equal(l.blocks, as.blocks) }

// list is what the looks of a show share.
type list struct {
	slots  slots
	states []*State
	looks  []Look
	show   *schema.Show
	pool   *pool
	by     byIndex
	told   *toldOfAll
}

// Resolve turns the cues of a show into looks.
func Resolve(show *schema.Show) []Look {
	groups := groupCues(show.Cues)
	segments := segmentsOf(show)
	all := &list{slots: slotsOf(show), show: show, looks: make([]Look, 0, len(groups))}
	r := newResolver(show, all)
	var drives Drives
	for index, parts := range groups {
		told := make([]uint64, (all.slots.count()+63)/64)
		r.applyTracking(parts, told)
		for _, part := range parts {
			r.applySettings(part, told)
			drives = applyScreens(part, index, drives)
		}
		all.looks = append(all.looks, Look{
			Index: index, Number: parts[0].Number, Parts: parts, Segment: segments.of(parts),
			carried: drives, blocks: r.blocks(), told: told, of: all,
		})
	}
	return all.finish(r.pool, newToldOfAll(all))
}

// Again resolves a changed copy of a show whose looks were resolved before. States,
// and looks that come out the same, are shared with those.
func Again(show *schema.Show, before []Look) []Look {
	if len(before) == 0 {
		return Resolve(show)
	}
	was := before[0].of
	all := &list{slots: was.slots, show: show}
	pool := was.pool.clone()
	// Selections mean the same slots.
	alike := slices.EqualFunc(show.Patch, was.show.Patch, func(a, b *schema.Fixture) bool {
		return a == b || a.Channel == b.Channel && slices.Equal(a.Groups, b.Groups)
	})
	if !alike {
		all.slots = slotsOf(show)
	}
	groups := groupCues(show.Cues)
	segments := segmentsOf(show)
	all.looks = make([]Look, 0, len(groups))
	r := newResolver(show, all)
	r.pool = pool
	if moved, ok := movedSlots(show, was.show, groups, before); ok && !alike {
		all.againFor(moved, before, segments, r)
		return all.finish(pool, newToldOfAll(all))
	}
	var drives Drives
	synced, same := alike, alike && len(groups) == len(before) // whether all stands as it stood behind the cue before; or behind all
	for index, parts := range groups {
		var old *Look
		if alike && index < len(before) && slices.Equal(parts, before[index].Parts) {
			old = &before[index]
		}
		if synced && old != nil {
			look := *old
			look.Segment, look.of = segments.of(parts), all
			all.looks = append(all.looks, look)
			continue
		}
		same = false
		if synced && index > 0 {
			r.from(&before[index-1])
			drives = before[index-1].carried
		}
		told := make([]uint64, (all.slots.count()+63)/64)
		r.applyTracking(parts, told)
		for _, part := range parts {
			r.applySettings(part, told)
			drives = applyScreens(part, index, drives)
		}
		if index < len(before) && len(show.Patch) == was.slots.count() {
			r.likely = before[index].blocks
		}
		all.looks = append(all.looks, Look{
			Index: index, Number: parts[0].Number, Parts: parts, Segment: segments.of(parts),
			carried: drives, blocks: r.blocks(), told: told, of: all,
		})
		synced = alike && index < len(before) && slices.Equal(r.last, before[index].blocks) && reflect.DeepEqual(drives, before[index].carried)
	}
	told := was.told
	if !same {
		told = newToldOfAll(all)
	}
	return all.finish(pool, told)
}

// finish gives looks that are resolved what they share.
func (all *list) finish(pool *pool, told *toldOfAll) []Look {
	all.states, all.pool, all.told = pool.states, pool, told
	showSegments(all.looks)
	return all.looks
}

// groupCues puts the cues in numeric order and the parts of a number together.
func groupCues(cues []*schema.Cue) [][]*schema.Cue {
	sorted := slices.DeleteFunc(slices.Clone(cues), unnumbered)
	sort.SliceStable(sorted, func(i, j int) bool {
		if sorted[i].Number != sorted[j].Number {
			return sorted[i].Number < sorted[j].Number
		}
		return partOf(sorted[i]) < partOf(sorted[j])
	})
	var groups [][]*schema.Cue
	for i, cue := range sorted {
		if i > 0 && cue.Number == sorted[i-1].Number {
			groups[len(groups)-1] = append(groups[len(groups)-1], cue)
			continue
		}
		groups = append(groups, []*schema.Cue{cue})
	}
	return groups
}

// unnumbered reports whether a cue was read without a number that is one. It has
// no place in the list, and a finding of the reader says so.
func unnumbered(cue *schema.Cue) bool {
	return !cue.Numbered()
}

func partOf(cue *schema.Cue) int {
	if cue.Part == nil {
		return 0
	}
	return *cue.Part
}

// slots are the fixtures of the patch: a fixture that gets another channel keeps its
// slot. What a cue does to a channel that no fixture has does nothing, so a selection
// such as 1-99999 costs no memory. A channel beyond [schema.MaxChannel] was a finding of
// the reader and no selection has it: its fixture stays dark.
type slots struct {
	first []int32 // by channel, the first slot plus one; 0: none
	next  []int32 // by slot, the next with its channel plus one; 0: none
}

func (s *slots) count() int { return len(s.next) }

// of is the first slot of a channel.
func (s *slots) of(channel int) (slot int, ok bool) {
	if channel < 0 || channel >= len(s.first) || s.first[channel] == 0 {
		return 0, false
	}
	return int(s.first[channel]) - 1, true
}

// all yields the slots of a channel: those of all fixtures that share it.
func (s *slots) all(channel int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for slot, more := s.of(channel); more && yield(slot); slot, more = int(s.next[slot])-1, s.next[slot] > 0 {
		}
	}
}

func slotsOf(show *schema.Show) slots {
	s := slots{next: make([]int32, len(show.Patch))}
	for slot, fixture := range slices.Backward(show.Patch) {
		channel := fixture.Channel
		if channel < 0 || channel > schema.MaxChannel {
			continue
		}
		if channel >= len(s.first) {
			s.first = append(s.first, make([]int32, channel+1-len(s.first))...)
		}
		s.next[slot], s.first[channel] = s.first[channel], int32(slot)+1
	}
	return s
}

// resolver turns one cue after the other into what all slots do behind it.
type resolver struct {
	selected func(text string) ([]int, schema.Ranges, error) // as the show tells one after the other
	slots    *slots
	pool     *pool
	now      []uint32 // the state of each slot
	dirty    []bool   // blocks that the present cue may have changed
	last     []*block // as they stood behind the cue before
	known    map[uint64][]*block
	likely   []*block // blocks that the present cue may come to; nil if nobody knows any
	only     []int    // the slots that it is for; nil: all
}

// each yields the slots that it is for.
func (r *resolver) each() iter.Seq[int] {
	if r.only != nil {
		return slices.Values(r.only)
	}
	return func(yield func(int) bool) {
		for slot := range r.slots.count() {
			if !yield(slot) {
				return
			}
		}
	}
}

// turn makes a change of a slot.
func (r *resolver) turn(slot int, by *change, told []uint64) {
	r.now[slot] = by.turn(r.now[slot])
	r.dirty[slot/blockSize] = true
	told[slot/64] |= 1 << (slot % 64)
}

// from goes on behind a look.
func (r *resolver) from(look *Look) {
	r.last = look.blocks
	for i, b := range look.blocks {
		copy(r.now[i*blockSize:], b[:])
		r.dirty[i] = false
	}
}

// blockSize is how many slots share a piece of memory that looks hand on to each
// other while nothing in it changes.
const blockSize = 64

type block [blockSize]uint32

func newResolver(show *schema.Show, all *list) *resolver {
	count := (all.slots.count() + blockSize - 1) / blockSize
	r := &resolver{
		selected: show.Selections(), slots: &all.slots, pool: newPool(), now: make([]uint32, count*blockSize),
		dirty: make([]bool, count), last: make([]*block, count), known: map[uint64][]*block{},
	}
	for i := range r.dirty {
		r.dirty[i] = true
	}
	return r
}

// blocks are the states of all slots as they stand.
func (r *resolver) blocks() []*block {
	changed := false
	list := r.last
	for i, dirty := range r.dirty {
		if !dirty {
			continue
		}
		r.dirty[i] = false
		now := (*block)(r.now[i*blockSize:])
		if list[i] != nil && *list[i] == *now {
			continue
		}
		if !changed {
			list, changed = slices.Clone(list), true
		}
		if i < len(r.likely) && *r.likely[i] == *now {
			list[i] = r.likely[i]
		} else {
			list[i] = r.intern(now)
		}
	}
	r.last = list
	return list
}

// intern returns the block with some content, which is copied the first time.
func (r *resolver) intern(content *block) *block {
	hash := uint64(14695981039346656037) // FNV-1a, by words
	for _, state := range content {
		hash = (hash ^ uint64(state)) * 1099511628211
	}
	for _, known := range r.known[hash] {
		if *known == *content {
			return known
		}
	}
	kept := *content
	r.known[hash] = append(r.known[hash], &kept)
	return &kept
}

// change makes the same change of many slots: what shared a state before it shares
// one behind it.
type change struct {
	pool          *pool
	set           *schema.Setting // nil: it goes dark
	told          internedSetting // by the setting
	before, after uint32          // the last one: neighbours mostly share a state
	made          bool
	done          map[uint32]uint32 // those before it, if there were several
}

func (c *change) turn(before uint32) uint32 {
	if c.made && before == c.before {
		return c.after
	}
	if c.made {
		if c.done == nil {
			c.done = map[uint32]uint32{}
		}
		c.done[c.before] = c.after
	}
	after, known := c.done[before]
	switch {
	case known:
	case c.set != nil:
		after = c.pool.applySetting(before, c.set, c.told)
	default:
		state := *c.pool.states[before]
		state.Level = 0
		after = c.pool.intern(state)
	}
	c.before, c.after, c.made = before, after, true
	return after
}

// applyTracking does what a cue does to all that it does not mention, before any
// of its parts speaks. Parts are one cue: what one of them says of the rest holds
// for the cue, and if they differ, release goes before restate. A restate changes no
// state: it only takes responsibility.
func (r *resolver) applyTracking(parts []*schema.Cue, told []uint64) {
	switch {
	case tracks(parts, "release"):
		all := change{pool: r.pool}
		for slot := range r.each() {
			if r.pool.states[r.now[slot]].Level > 0 {
				r.turn(slot, &all, told)
			}
		}
	case tracks(parts, "restate"):
		for slot := range r.each() {
			told[slot/64] |= 1 << (slot % 64)
		}
	}
}

func tracks(parts []*schema.Cue, word string) bool {
	return slices.ContainsFunc(parts, func(part *schema.Cue) bool { return part.Tracking == word })
}

func (r *resolver) applySettings(cue *schema.Cue, told []uint64) {
	for _, setting := range cue.Set {
		channels, _, _ := r.selected(setting.Channels)
		var set change
		for _, channel := range channels {
			for slot := range r.slots.all(channel) {
				if set.set == nil {
					set = change{pool: r.pool, set: setting, told: r.pool.toldBy(setting)}
				}
				r.turn(slot, &set, told)
			}
		}
	}
}

// segments finds the segment of a cue: the one it names, or else the last one of
// the running order that starts at its number or before it.
type segments struct {
	byName  map[string]*schema.Segment // of several with one name the first
	byStart []*schema.Segment          // those with a start cue; of several that start together the last wins
}

func segmentsOf(show *schema.Show) segments {
	s := segments{byName: map[string]*schema.Segment{}}
	for _, segment := range show.Order {
		if s.byName[segment.Name] == nil {
			s.byName[segment.Name] = segment
		}
		if segment.StartCue != nil {
			s.byStart = append(s.byStart, segment)
		}
	}
	slices.SortStableFunc(s.byStart, func(a, b *schema.Segment) int { return cmp.Compare(*a.StartCue, *b.StartCue) })
	return s
}

func (s *segments) of(parts []*schema.Cue) *schema.Segment {
	for _, part := range parts {
		if named := s.byName[part.Segment]; named != nil && part.Segment != "" {
			return named
		}
	}
	behind := sort.Search(len(s.byStart), func(i int) bool { return *s.byStart[i].StartCue > parts[0].Number })
	if behind == 0 {
		return nil
	}
	return s.byStart[behind-1]
}
