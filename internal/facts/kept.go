package facts

import (
	"maps"
	"slices"

	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
)

// Kept is what facts of changed copies of a show take over from those of the show. It
// is only read, so several goroutines may use it.
type Kept struct {
	rig *stage.Kept
	m   *Measured
}

// Keep returns what [MeasureAgain] can take over.
func (m *Measured) Keep() *Kept {
	m.before, m.same = nil, nil // or one would hold on to all before it
	k := &Kept{rig: m.back.rig.Keep(), m: m}
	for _, p := range m.faces {
		p.from = nil
	}
	for _, l := range m.Looks {
		l.from = nil
	}
	for _, f := range m.Fixtures {
		f.from = nil
	}
	for _, s := range m.Showings {
		s.from = nil
	}
	return k
}

// ofLook are those of the people or the screens of all looks, one look after the other, that are in one of them.
func ofLook[S interface{ lookIndex() int }](all []S, i int) []S {
	from, _ := slices.BinarySearchFunc(all, i, func(s S, i int) int { return s.lookIndex() - i })
	to := from
	for to < len(all) && all[to].lookIndex() == i {
		to++
	}
	return all[from:to:to]
}

func (p *Person) lookIndex() int  { return p.look.look.Index }
func (s *Showing) lookIndex() int { return s.look.look.Index }

// Measured returns the facts that were kept.
func (k *Kept) Measured() *Measured { return k.m }

// onlyRewired reports whether nothing has changed but how fixtures are wired up, so that
// the whole evening stands as it stood.
func (k *Kept) onlyRewired(r *stage.Rig, steady *stage.Steady) bool {
	if steady == nil || !steady.Wiring || len(steady.Looks) != len(k.m.Looks) || slices.Contains(steady.Looks, false) {
		return false
	}
	was, now := k.m.back.rig.Show, r.Show
	return was.Name == now.Name && was.At == now.At && was.Notices == now.Notices && slices.Equal(was.Cues, now.Cues) && maps.Equal(was.ReadFrom, now.ReadFrom)
}

// fixturesAgain takes over what was measured of fixtures, circuits, screens and cameras,
// but for what looks tell of them; false if the rig is another, or a fixture is lit that
// was not, or the other way round.
func (m *Measured) fixturesAgain(r *stage.Rig, looks []tracking.Look, k *Kept) bool {
	if k == nil || len(looks) == 0 || !r.IsAs(k.rig) {
		return false
	}
	used := stage.UsedChannels(looks, r.Show.Patch)
	for _, f := range k.m.Fixtures {
		if (used[f.Channel] > 0) != f.isUsed() {
			return false
		}
	}
	m.Circuits, m.Screens, m.Cameras = k.m.Circuits, k.m.Screens, k.m.Cameras
	m.Fixtures = make([]*Fixture, len(k.m.Fixtures))
	copies := make([]Fixture, len(m.Fixtures))
	var unlit alike
	for i, old := range k.m.Fixtures {
		f := &copies[i]
		*f = *old
		f.from, f.all = &old.unknowns, m
		f.lend()
		f.UsedInLooks, f.FaceShare, f.FacePlace, f.FaceCue = new(used[f.Channel]), nil, "", ""
		unlit.tell(&f.unknowns, func() { f.forget("face_share") })
		m.Fixtures[i] = f
	}
	return true
}

// takeOver takes over all but fixtures and circuits.
func (m *Measured) takeOver(from *Measured) {
	all := *from
	all.Fixtures, all.Circuits, all.back, all.before, all.same = m.Fixtures, m.Circuits, m.back, m.before, nil
	all.back.evening = from.back.evening
	*m = all
}

// look takes over the facts of a look that stands as it stood; ok is false if it does
// not. What only all looks together tell is left out.
func (k *Kept) look(l *Look, steady *stage.Steady, full float64) (people []*Person, showings []*Showing, ok bool) {
	i := l.look.Index
	if steady == nil || !steady.Looks[i] || !steady.Full && full <= 0 {
		return nil, nil, false
	}
	old := k.m.Looks[i]
	if old.passes != l.passes || old.earlyIn != l.earlyIn || old.lateS != l.lateS || l.late != nil && old.late.Number != l.late.Number || !slices.Equal(old.coming, l.coming) || !slices.Equal(old.moving, l.moving) || !slices.Equal(old.early, l.early) {
		return nil, nil, false
	}
	were, showed := ofLook(k.m.faces, i), ofLook(k.m.Showings, i)
	people, showings = l.as(old, were, showed)
	l.from = &old.unknowns
	l.forget("output_of_peak_pct")
	l.PeakShare = nil
	if l.OutputPct != nil && !steady.Full {
		l.OutputPct = new(100 * l.output / full)
	}
	for n, p := range people {
		p.from = &were[n].unknowns
		p.forget("held_hue_s")
		p.HeldHue, p.HeldS = "", nil
		if steady.Backs {
			p.BackText = darkBacks(l.back.rig, l.look, p.Place)
		}
		if p.againstBest {
			p.forget("dark_stops")
			p.DarkStops = nil
		}
	}
	for n, s := range showings {
		s.from = &showed[n].unknowns
	}
	return people, showings, true
}

// lend marks what is not known as that of another subject, to be copied before it is
// changed.
func (u *unknowns) lend() { u.lent = true }

// forget takes back what was said of facts.
func (u *unknowns) forget(facts ...string) {
	if is := func(s factNote) bool { return slices.Contains(facts, s.fact) }; slices.ContainsFunc(u.said, is) {
		u.lent, u.said = false, slices.DeleteFunc(slices.Clone(u.said), is)
	}
}
