package tracking

import (
	"hash/maphash"
	"maps"
	"math"
	"slices"

	"github.com/cueproof/cueproof/schema"
)

// pool keeps one of each state, colour and rest that a show has.
type pool struct {
	states  []*State // the first is dark
	byState map[State]uint32
	colours map[uint64][]*Colour
	rests   map[Rest]*Rest // by the pointers of a pool of aims, numbers and effects
	merged  map[mergeKey]*Colour
	told    map[*schema.Told]internedSetting
	aims    map[aimKey]*schema.Aim
	effects map[effectKey]*schema.Effect
	numbers map[float64]*float64
	seed    maphash.Seed
}

// mergeKey is a colour that is told on top of another.
type mergeKey struct {
	before, told *Colour
	part         bool
}

type aimKey struct {
	name    string
	pointed bool
	x, y, z float64
}

// effectKey is an effect by what it says; NaN stands for what is not told.
type effectKey struct {
	kind                            string
	rateHz, duty, spread, low, high uint64
}

func newPool() *pool {
	return &pool{
		states: []*State{dark}, byState: map[State]uint32{{}: 0}, colours: map[uint64][]*Colour{}, rests: map[Rest]*Rest{},
		merged: map[mergeKey]*Colour{}, told: map[*schema.Told]internedSetting{}, aims: map[aimKey]*schema.Aim{}, effects: map[effectKey]*schema.Effect{},
		numbers: map[float64]*float64{}, seed: maphash.MakeSeed(),
	}
}

// clone returns a pool with the same states, to add more to.
func (p *pool) clone() *pool {
	c := *p
	c.states, c.byState, c.rests, c.merged = slices.Clone(p.states), maps.Clone(p.byState), maps.Clone(p.rests), maps.Clone(p.merged)
	c.aims, c.effects, c.numbers = maps.Clone(p.aims), maps.Clone(p.effects), maps.Clone(p.numbers)
	c.told = maps.Clone(p.told)
	c.colours = make(map[uint64][]*Colour, len(p.colours))
	for hash, list := range p.colours {
		c.colours[hash] = slices.Clip(list)
	}
	return &c
}

// intern returns the index of a state whose colour and rest are interned.
func (p *pool) intern(s State) uint32 {
	if i, ok := p.byState[s]; ok {
		return i
	}
	i := uint32(len(p.states))
	kept := s // a copy, so that asking for what is known allocates nothing
	p.states = append(p.states, &kept)
	p.byState[s] = i
	return i
}

// internedSetting is what a setting tells, interned; nil where it tells nothing of a kind.
type internedSetting struct {
	colour *Colour
	rest   *Rest
	part   bool // the mix of the colour is a part of one
}

func (p *pool) toldBy(set *schema.Setting) internedSetting {
	if t, known := p.told[set.Told]; known {
		return t
	}
	t := p.read(set)
	p.told[set.Told] = t
	return t
}

func (p *pool) read(set *schema.Setting) internedSetting {
	var t internedSetting
	if tells(set, ColourBy) {
		c := Colour{WhiteK: set.WhiteK, XY: set.XY, Mix: set.Mix, HueDeg: set.HueDeg, SaturationPct: set.SaturationPct}
		switch {
		case len(set.MixPart) > 0 && len(set.Mix) > 0:
			c.Mix = maps.Clone(set.Mix)
			maps.Copy(c.Mix, set.MixPart)
		case len(set.MixPart) > 0:
			c.Mix, t.part = set.MixPart, true
		case len(set.Mix) == 0: // one that names nothing tells nothing
			c.Mix = nil
		}
		t.colour = p.colour(c)
	}
	if tells(set, RestBy) {
		t.rest = p.rest(Rest{Aim: set.Aim, ZoomDeg: set.ZoomDeg, StrobeHz: set.StrobeHz, Pattern: set.Pattern, Wheel: set.Wheel, Effect: set.Effect})
	}
	return t
}

// colour returns the one colour that is told in these words.
func (p *pool) colour(c Colour) *Colour {
	number := func(n *float64) uint64 {
		if n == nil {
			return 1
		}
		return math.Float64bits(*n)*0x9e3779b97f4a7c15 + 2
	}
	hash := number(c.WhiteK)
	for _, part := range []uint64{number(c.HueDeg), number(c.SaturationPct), uint64(len(c.XY))} {
		hash = hash*1099511628211 ^ part
	}
	for i := range c.XY {
		hash = hash*1099511628211 ^ number(&c.XY[i])
	}
	mix := uint64(0)
	for name, part := range c.Mix { // in any order
		mix += maphash.String(p.seed, name) * number(&part)
	}
	if c.Mix != nil {
		hash = hash*1099511628211 ^ mix
	}
	for _, known := range p.colours[hash] {
		if sameColour(known, &c) {
			return known
		}
	}
	p.colours[hash] = append(p.colours[hash], &c)
	return &c
}

func sameColour(a, b *Colour) bool {
	return sameNumber(a.WhiteK, b.WhiteK) && sameNumber(a.HueDeg, b.HueDeg) && sameNumber(a.SaturationPct, b.SaturationPct) &&
		slices.Equal(a.XY, b.XY) && (a.Mix == nil) == (b.Mix == nil) && maps.Equal(a.Mix, b.Mix)
}

func sameNumber(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

// rest returns the one rest of these words.
func (p *pool) rest(r Rest) *Rest {
	r.Aim, r.ZoomDeg, r.StrobeHz, r.Effect = p.aim(r.Aim), p.number(r.ZoomDeg), p.number(r.StrobeHz), p.effect(r.Effect)
	known := p.rests[r]
	if known == nil {
		kept := r // as in intern
		known = &kept
		p.rests[r] = known
	}
	return known
}

func (p *pool) number(n *float64) *float64 {
	if n == nil || math.IsNaN(*n) {
		return n
	}
	known := p.numbers[*n]
	if known == nil {
		known = n
		p.numbers[*n] = n
	}
	return known
}

func (p *pool) aim(a *schema.Aim) *schema.Aim {
	if a == nil {
		return nil
	}
	key := aimKey{name: a.Name}
	if a.Point != nil {
		key.pointed, key.x, key.y, key.z = true, a.Point.X, a.Point.Y, a.Point.Z
	}
	known := p.aims[key]
	if known == nil {
		known = a
		p.aims[key] = a
	}
	return known
}

func (p *pool) effect(e *schema.Effect) *schema.Effect {
	if e == nil {
		return nil
	}
	bits := func(n *float64) uint64 {
		if n == nil {
			return math.Float64bits(math.NaN())
		}
		return math.Float64bits(*n)
	}
	key := effectKey{e.Kind, bits(e.RateHz), bits(e.DutyPct), bits(e.SpreadPct), bits(e.LowPct), bits(e.HighPct)}
	known := p.effects[key]
	if known == nil {
		known = e
		p.effects[key] = e
	}
	return known
}

func (p *pool) applySetting(before uint32, set *schema.Setting, told internedSetting) uint32 {
	after := *p.states[before]
	if set.Level != nil {
		after.Level = float64(*set.Level)
	}
	if told.colour != nil {
		after.Colour = p.mergeColour(after.Colour, told.colour, told.part)
	}
	if told.rest != nil {
		after.Rest = p.mergeRest(after.Rest, told.rest)
	}
	return p.intern(after)
}

// mergeColour is a colour over the one before; part says that its mix is only a part of
// one, behind which the rest of the mix before stays.
func (p *pool) mergeColour(before, told *Colour, part bool) *Colour {
	if before == nil || before == told {
		return told
	}
	key := mergeKey{before, told, part}
	if after, done := p.merged[key]; done {
		return after
	}
	after := *told
	if part && !coversAll(told.Mix, before.Mix) {
		after.Mix = maps.Clone(before.Mix)
		maps.Copy(after.Mix, told.Mix)
	}
	// Hue and saturation are two handles of one colour: each keeps the other.
	if told.HueDeg != nil && told.SaturationPct == nil {
		after.SaturationPct = before.SaturationPct
	}
	if told.SaturationPct != nil && told.HueDeg == nil {
		after.HueDeg = before.HueDeg
	}
	p.merged[key] = p.colour(after)
	return p.merged[key]
}

// coversAll reports whether a part of a mix sets every part of another; then it stands
// for both, and no copy is made: most tables write mixes out.
func coversAll(mix, other map[string]float64) bool {
	if len(mix) < len(other) {
		return false
	}
	for name := range other {
		if _, ok := mix[name]; !ok {
			return false
		}
	}
	return true
}

// none is the word with which a cue ends an effect, or takes a pattern or a
// wheel's colour out of the light.
const none = "none"

func unless(word, text string) string {
	if text == word {
		return ""
	}
	return text
}

func (p *pool) mergeRest(before, told *Rest) *Rest {
	after := Rest{}
	if before != nil {
		after = *before
	}
	if told.Aim != nil {
		after.Aim = told.Aim
	}
	if told.ZoomDeg != nil {
		after.ZoomDeg = told.ZoomDeg
	}
	if told.StrobeHz != nil {
		after.StrobeHz = told.StrobeHz
	}
	if told.Pattern != "" {
		after.Pattern = unless(none, told.Pattern)
	}
	if told.Wheel != "" {
		after.Wheel = unless(none, told.Wheel)
	}
	if told.Effect != nil {
		after.Effect = told.Effect
		if told.Effect.Kind == none {
			after.Effect = nil
		}
	}
	return p.rest(after)
}
