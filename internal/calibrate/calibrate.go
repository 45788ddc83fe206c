// Package calibrate holds what a light meter showed against what is worked out, and
// lets what was measured win over data sheets where the readings settle it.
//
// In go a show with readings; out come a copy in which lamps give the light that they
// were measured to give, and findings about readings that do not fit and lamps that
// are dim. A newcomer's mistake would be to trust one reading of many lamps: a factor
// is used, and a lamp is named, only if the readings determine it.
package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/schema"
)

// What is believed before a meter was held anywhere, as standard deviations of a
// factor around 1, and how a meter errs. Common practice, no source.
const (
	lampSpread    = 0.25 // of lamps of one type: age, dirt
	sheetSpread   = 0.10 // of a type whose light somebody has read
	typicalSpread = 0.60 // of a type whose light is assumed
	meterAccuracy = 10.0 // percent, of a meter of which nobody says it
	modelError    = 0.05 // of the light that is worked out, besides
	leastError    = 2.0  // lux
	colourError   = 3.0  // times: meters and data sheets disagree about coloured LED light
)

// When a factor counts. Common practice, no source.
const (
	settled = 0.20 // a factor with a larger standard deviation than that is not used
	dim     = 0.70 // of the light of others of its type, under which a lamp is named
	apart   = 2.5  // standard deviations that it must be away from them
	sigmas  = 3.0  // standard deviations that a reading must be away to be told

	graveStops = 1.0 // stops from which a reading makes all that is said of that face doubtful
)

// mostReadings and mostLamps bound the work, which grows with the cube of the lamps.
const mostReadings, mostLamps = 1000, 300

// Result is what readings have to say.
type Result struct {
	Show     *schema.Show // the show itself, or a calibrated copy
	Findings []finding.Finding
	Notes    []string
}

// row is one reading beside what is worked out for it.
type row struct {
	reading *schema.Reading
	index   int // in the show
	where   string
	parts   []stage.Part
	rest    float64 // ambient light
	sd      float64
	colour  bool
}

func (r *row) modelled(factor func(*schema.Fixture) float64) float64 {
	sum := r.rest
	for _, p := range r.parts {
		sum += p.Lux * factor(p.Fixture)
	}
	return sum
}

// Run compares all readings with the show and calibrates its lamps by them.
func Run(show *schema.Show) Result {
	result := Result{Show: show}
	if show == nil || len(show.Readings) == 0 || len(show.Readings) > mostReadings || show.Room == nil {
		return result
	}
	result.Show = ambient(show, &result)
	rows, whites, left := compare(result.Show)
	result.whites(whites)
	if left > 0 {
		result.Notes = append(result.Notes, fmt.Sprintf("%d readings are not compared, because the light there is not known", left))
	}
	if len(rows) == 0 {
		return result
	}
	one := func(*schema.Fixture) float64 { return 1 }
	before := typicalResidual(rows, one)
	m := newModel(result.Show, rows)
	if m == nil {
		result.Notes = append(result.Notes, fmt.Sprintf("%d readings differ from what is worked out by %.0f %% on average", len(rows), 100*before))
		result.differ(rows, one)
		return result
	}
	m.solve()
	calibrated := *result.Show
	calibrated.Patch = slices.Clone(calibrated.Patch)
	used := 0
	factors := map[*schema.Fixture]float64{}
	for i, f := range calibrated.Patch {
		j, ok := m.lamp[f]
		if !ok || !m.settles(j) {
			continue
		}
		factors[f] = m.factor(j)
		copied := *f
		copied.Output = m.factor(j)
		calibrated.Patch[i] = &copied
		used++
		if m.isDim(j) {
			result.Findings = append(result.Findings, m.dimFinding(f, j))
		}
	}
	after := func(f *schema.Fixture) float64 {
		if factor, ok := factors[f]; ok {
			return factor
		}
		return 1
	}
	result.Show = &calibrated
	result.Notes = append(result.Notes, fmt.Sprintf("%d readings differ from what is worked out by %.0f %% on average, and by %.0f %% once %d lamps follow them",
		len(rows), 100*before, 100*typicalResidual(rows, after), used))
	result.differ(rows, after)
	return result
}

// ambient takes the light that was read with every lamp off, where nobody has told it.
func ambient(show *schema.Show, result *Result) *schema.Show {
	sum, count := 0.0, 0
	for _, r := range show.Readings {
		if r.Cue == nil && r.Channels == "" && r.Lx != nil && *r.Lx >= 0 {
			sum, count = sum+*r.Lx, count+1
		}
	}
	told := show.Room.AmbientLx != nil && show.Room.Known.Of("ambient_lx").Word == "read"
	if count == 0 || told || len(show.Room.Ambient) > 0 {
		return show
	}
	copied, room := *show, *show.Room
	room.AmbientLx = new(sum / float64(count))
	room.Known = schema.Known{}
	for key, how := range show.Room.Known {
		room.Known[key] = how
	}
	room.Known["ambient_lx"] = schema.Knowing{Word: "measured"}
	copied.Room = &room
	result.Notes = append(result.Notes, fmt.Sprintf("the light with every lamp off is %.3g lx, as it was read", *room.AmbientLx))
	return &copied
}

// compare works out the light at every reading that tells lux or kelvin in a cue or of
// channels.
func compare(show *schema.Show) (rows []row, whites []white, left int) {
	show, held := meters(show)
	byCue, alone := []int{}, []int{}
	for i, r := range show.Readings {
		lux := r.Lx != nil && *r.Lx >= 0
		switch {
		case !lux && r.WhiteK == nil || r.Cue == nil && r.Channels == "":
			continue
		case r.Cue != nil:
			byCue = append(byCue, i)
		default:
			alone = append(alone, i)
		}
	}
	take := func(s *schema.Show, which []int, look func(k, i int, looks []tracking.Look) int) {
		if len(which) == 0 {
			return
		}
		looks := tracking.Resolve(s)
		rig := stage.NewRig(s, looks, nil)
		room, walk := rig.Room.Another(), rig.Walk()
		var lit stage.LookLight
		for k, i := range which {
			at := look(k, i, looks)
			if at < 0 || at >= len(looks) {
				left++
				continue
			}
			walk.To(&looks[at], &lit)
			r := show.Readings[i]
			missing := room.Light(&lit)
			if r.Plane == "up" {
				parts, ok := flat(room, &lit, held[i])
				if len(missing) > 0 || !ok || r.Lx == nil {
					left++
					continue
				}
				rows = append(rows, newRow(r, i, parts, rig.AmbientAt(&lit, r.Place).Lux))
				continue
			}
			face := room.FaceOn(&lit, cmp.Or(held[i], r.Place), missing)
			if len(face.Missing) > 0 {
				left++
				continue
			}
			if r.Lx != nil {
				rows = append(rows, newRow(r, i, face.Parts(), face.Ambient.Lux))
			}
			if r.WhiteK != nil {
				whites = append(whites, newWhite(r, i, face))
			}
		}
	}
	take(show, byCue, func(_, i int, looks []tracking.Look) int {
		return slices.IndexFunc(looks, func(l tracking.Look) bool { return l.Number == *show.Readings[i].Cue })
	})
	take(lampsAlone(show, alone), alone, func(k, _ int, _ []tracking.Look) int { return k })
	slices.SortStableFunc(rows, func(a, b row) int { return a.index - b.index })
	slices.SortStableFunc(whites, func(a, b white) int { return a.index - b.index })
	return rows, whites, left
}

// meterSize is the width of the white cap of a meter that lies flat, in metres.
const meterSize = 0.05

// meters is the show with a thing to measure on wherever a meter was not held at a face:
// a cap that lies flat, or a face at another height. held are their names, by reading.
func meters(show *schema.Show) (with *schema.Show, held map[int]string) {
	held = map[int]string{}
	room := *show.Room
	room.Places, room.Surfaces = slices.Clone(room.Places), slices.Clone(room.Surfaces)
	for i, r := range show.Readings {
		at := slices.IndexFunc(show.Room.Places, func(p *schema.Place) bool { return p.Name == r.Place })
		if at < 0 || r.Plane != "up" && r.HeightM == nil {
			continue
		}
		place := *show.Room.Places[at]
		name := fmt.Sprintf("\x00meter %d", i)
		if r.HeightM != nil {
			place.HeadM = r.HeightM
		}
		if r.Plane != "up" {
			place.Name = name
			room.Places = append(room.Places, &place)
			held[i] = name
			continue
		}
		if place.X == nil || place.Y == nil || place.HeadM == nil {
			continue
		}
		up, size, height := 90.0, meterSize, *place.HeadM
		if place.Z != nil {
			height += *place.Z
		}
		room.Surfaces = append(room.Surfaces, &schema.Surface{
			Name: name, Kind: "wall", Centre: &schema.Point{X: *place.X, Y: *place.Y, Z: height}, WidthM: &size, HeightM: &size, TiltDeg: &up,
		})
		held[i] = name
	}
	if len(held) == 0 {
		return show, held
	}
	copied := *show
	copied.Room = &room
	return &copied, held
}

// flat is what each lamp gives to a meter that lies flat.
func flat(room *stage.Room, look *stage.LookLight, name string) ([]stage.Part, bool) {
	for _, panel := range room.Panels {
		if name != "" && panel.Surface.Name == name {
			return room.PartsOn(look, panel)
		}
	}
	return nil, false
}

// white is one reading of a kelvin beside what is worked out for it.
type white struct {
	reading *schema.Reading
	index   int
	where   string
	kelvin  *float64 // nil: it is no white
	colour  bool
}

func newWhite(r *schema.Reading, index int, face *stage.Face) white {
	const slight = 0.2 // of the light: a white of the room of which nobody knows the kelvin does not matter
	w := white{reading: r, index: index, where: whereOf(r)}
	sum := 0.0
	for _, p := range face.Parts() {
		sum += p.Lux
		w.colour = w.colour || p.Colour
	}
	if face.Ambient.Lux <= slight*(sum+face.Ambient.Lux) {
		w.kelvin = face.Made().CCT
	}
	return w
}

// lampsAlone is the show with one cue for each reading of channels, in which only they
// are lit.
func lampsAlone(show *schema.Show, which []int) *schema.Show {
	copied := *show
	copied.Cues, copied.Order = nil, nil
	for k, i := range which {
		r := show.Readings[i]
		full := schema.Level(100)
		level := &full
		if r.Level != nil {
			level = r.Level
		}
		number, _ := schema.ParseCueNumber(fmt.Sprint(k + 1))
		copied.Cues = append(copied.Cues, &schema.Cue{Number: number, Tracking: "release", Set: []*schema.Setting{{Channels: r.Channels, Told: &schema.Told{Level: level}}}})
	}
	return &copied
}

func newRow(r *schema.Reading, index int, parts []stage.Part, rest float64) row {
	one := row{reading: r, index: index, parts: parts, rest: rest}
	coloured, total := 0.0, 0.0
	for _, p := range one.parts {
		total += p.Lux
		if p.Colour {
			coloured += p.Lux
		}
	}
	one.colour = coloured > total/4
	accuracy := meterAccuracy
	if r.AccuracyPct != nil {
		accuracy = *r.AccuracyPct
	}
	// Plus or minus 10 % is taken for what seven readings of ten keep to.
	one.sd = math.Hypot(accuracy/100*0.7, modelError)*math.Max(*r.Lx, (total+rest)/4) + leastError
	if one.colour {
		one.sd *= colourError
	}
	one.where = whereOf(r)
	return one
}

// whereOf says where and when a reading was taken.
func whereOf(r *schema.Reading) string {
	where := fmt.Sprintf("at %s", source.Shorten(r.Place))
	if r.Plane == "up" {
		where += ", lying flat,"
	}
	if r.Cue != nil {
		return where + " in cue " + r.Cue.String()
	}
	return where + " with channels " + source.Shorten(r.Channels) + " alone"
}

// typicalResidual is by how much readings differ from what is worked out, on average.
func typicalResidual(rows []row, factor func(*schema.Fixture) float64) float64 {
	sum := 0.0
	for i := range rows {
		lux := rows[i].modelled(factor)
		sum += math.Abs(lux-*rows[i].reading.Lx) / math.Max(*rows[i].reading.Lx, leastError)
	}
	return sum / float64(len(rows))
}

// differ tells of readings that do not fit, whatever the lamps give.
func (result *Result) differ(rows []row, factor func(*schema.Fixture) float64) {
	for i := range rows {
		r := &rows[i]
		lux := r.modelled(factor)
		if math.Abs(lux-*r.reading.Lx) <= sigmas*r.sd {
			continue
		}
		f := finding.Finding{
			Rule: "file/reading-differs", Level: finding.Note, Verdict: finding.Fail, Consequence: finding.Later,
			Subjects: []finding.Subject{{Kind: "place", Name: source.Shorten(r.reading.Place)}}, Detail: r.where,
			Message: fmt.Sprintf("%s the meter showed %.3g lx, and %.3g lx are worked out.", spelling.Capital(r.where), *r.reading.Lx, lux),
			Hint:    "look at what this light hangs on: where the lamps hang and point, their zoom and shutters, where the meter was and whether house lights or daylight were on",
			Likely:  r.colour,
		}
		if away := math.Abs(math.Log2(max(lux, leastError) / max(*r.reading.Lx, leastError))); away >= graveStops {
			f.Level, f.Consequence = finding.Warning, finding.Camera
		}
		if !r.reading.At.IsZero() {
			f.Place = r.reading.At.Place()
		}
		result.Findings = append(result.Findings, f)
	}
}

// How far a meter and what is worked out may be apart in mired: the meter's own error, and
// that of a data sheet's white. Common practice, no source.
const (
	whiteMired  = 25.0
	colourMired = 75.0 // where light of colours is in it
)

// whites tells of readings of another white than the one that is worked out.
func (result *Result) whites(list []white) {
	sum, count := 0.0, 0
	for _, w := range list {
		if w.kelvin == nil || !(*w.reading.WhiteK > 0) {
			continue
		}
		away, most := math.Abs(1e6 / *w.kelvin - 1e6 / *w.reading.WhiteK), whiteMired
		if w.colour {
			most = colourMired
		}
		sum, count = sum+away, count+1
		if away <= most {
			continue
		}
		f := finding.Finding{
			Rule: "file/reading-differs", Level: finding.Note, Verdict: finding.Fail, Consequence: finding.Later,
			Subjects: []finding.Subject{{Kind: "place", Name: source.Shorten(w.reading.Place)}}, Detail: w.where + ", white",
			Message: fmt.Sprintf("%s the meter showed %.0f K, and %.0f K are worked out.", spelling.Capital(w.where), *w.reading.WhiteK, *w.kelvin),
			Hint:    "look at the white that these lamps are set to, at their filters, and whether house lights or daylight were on",
			Likely:  w.colour,
		}
		if !w.reading.At.IsZero() {
			f.Place = w.reading.At.Place()
		}
		result.Findings = append(result.Findings, f)
	}
	if count > 0 {
		result.Notes = append(result.Notes, fmt.Sprintf("%d readings of a white differ from what is worked out by %.0f mired on average", count, sum/float64(count)))
	}
}

// model is what is solved: for each type a factor that its lamps share, and for each
// lamp its own, as differences from 1.
type model struct {
	rows  []row
	lamp  map[*schema.Fixture]int
	lamps []*schema.Fixture
	kind  []int // of a lamp: the index of its type
	prior []float64
	x     []float64 // lamps first, then types
	cov   *mat.SymDense
	bare  *mat.SymDense // of the factors of lamps by the readings alone, with next to nothing believed before
	hues  map[int]bool  // lamps that were only read in coloured light
}

func newModel(show *schema.Show, rows []row) *model {
	m := &model{rows: rows, lamp: map[*schema.Fixture]int{}, hues: map[int]bool{}}
	kinds := map[string]int{}
	var names []string
	for i := range rows {
		for _, p := range rows[i].parts {
			if _, known := m.lamp[p.Fixture]; known {
				continue
			}
			m.lamp[p.Fixture] = len(m.lamps)
			m.hues[len(m.lamps)] = true
			m.lamps = append(m.lamps, p.Fixture)
			k, known := kinds[p.Fixture.Type]
			if !known {
				k = len(names)
				kinds[p.Fixture.Type] = k
				names = append(names, p.Fixture.Type)
			}
			m.kind = append(m.kind, k)
		}
		for _, p := range rows[i].parts {
			if !p.Colour {
				m.hues[m.lamp[p.Fixture]] = false
			}
		}
	}
	if len(m.lamps) == 0 || len(m.lamps) > mostLamps {
		return nil
	}
	for range m.lamps {
		m.prior = append(m.prior, lampSpread)
	}
	for _, name := range names {
		spread := sheetSpread
		for _, t := range show.Types {
			if how := t.Known.Of("flux_lm").Word; t.Name == name && (how == "assumed" || how == "inferred") {
				spread = typicalSpread
			}
		}
		m.prior = append(m.prior, spread)
	}
	m.x = make([]float64, len(m.prior))
	return m
}

// bounds of a factor: a lamp that gives nothing is dark and not dim, and none gives
// three times what it should. Common practice, no source.
const leastFactor, mostFactor = 0.05, 3.0

// solve finds the factors by least squares, each drawn to 1 by what was believed before
// (ridge regression; Hoerl and Kennard, Technometrics 12(1), 1970), within bounds by
// descending along one coordinate after another, which for a convex square form with
// bounds ends at its least (Bertsekas, Nonlinear Programming, 2nd ed., section 2.7).
func (m *model) solve() {
	n := len(m.x)
	h := mat.NewSymDense(n, nil)
	g := make([]float64, n)
	for i := range n {
		h.SetSym(i, i, 1/(m.prior[i]*m.prior[i]))
	}
	bare := mat.NewSymDense(len(m.lamps), nil)
	for i := range m.lamps {
		bare.SetSym(i, i, 1/(unbelieved*unbelieved))
	}
	for r := range m.rows {
		row := &m.rows[r]
		a := make([]float64, n)
		at := row.rest
		for _, p := range row.parts {
			j := m.lamp[p.Fixture]
			a[j] += p.Lux
			a[len(m.lamps)+m.kind[j]] += p.Lux
			at += p.Lux
		}
		w := 1 / (row.sd * row.sd)
		for i := range n {
			if a[i] == 0 {
				continue
			}
			if i < len(m.lamps) {
				for j := i; j < len(m.lamps); j++ {
					bare.SetSym(i, j, bare.At(i, j)+w*a[i]*a[j])
				}
			}
			g[i] += w * a[i] * (*row.reading.Lx - at)
			for j := i; j < n; j++ {
				if a[j] != 0 {
					h.SetSym(i, j, h.At(i, j)+w*a[i]*a[j])
				}
			}
		}
	}
	const rounds = 500
	for range rounds {
		moved := 0.0
		for i := range n {
			pull := g[i]
			for j := range n {
				if j != i {
					pull -= h.At(i, j) * m.x[j]
				}
			}
			to := m.within(i, pull/h.At(i, i))
			moved = max(moved, math.Abs(to-m.x[i]))
			m.x[i] = to
		}
		if moved < 1e-9 {
			break
		}
	}
	m.cov, m.bare = inverse(h), inverse(bare)
}

// unbelieved is the spread of a factor of which nothing is believed before.
const unbelieved = 10.0

// inverse is the covariance that belongs to a matrix of what is known.
func inverse(h *mat.SymDense) *mat.SymDense {
	n := h.SymmetricDim()
	cov := mat.NewSymDense(n, nil)
	var cholesky mat.Cholesky
	if !cholesky.Factorize(h) || cholesky.InverseTo(cov) != nil {
		for i := range n { // nothing is settled
			cov.SetSym(i, i, math.Inf(1))
		}
	}
	return cov
}

// settles reports whether the readings alone determine what a lamp gives, whatever
// was believed before.
func (m *model) settles(j int) bool {
	return m.spread(j) <= settled && math.Sqrt(m.bare.At(j, j)) <= 1.5*settled
}

// within keeps the factors that a coordinate is part of within their bounds.
func (m *model) within(i int, to float64) float64 {
	if i < len(m.lamps) {
		shared := m.x[len(m.lamps)+m.kind[i]]
		return min(max(to, leastFactor-1-shared), mostFactor-1-shared)
	}
	for j, k := range m.kind {
		if len(m.lamps)+k == i {
			to = min(max(to, leastFactor-1-m.x[j]), mostFactor-1-m.x[j])
		}
	}
	return to
}

// factor is the part of its type's light that a lamp gives.
func (m *model) factor(j int) float64 { return 1 + m.x[j] + m.x[len(m.lamps)+m.kind[j]] }

// spread is the standard deviation of that.
func (m *model) spread(j int) float64 {
	k := len(m.lamps) + m.kind[j]
	return math.Sqrt(max(0, m.cov.At(j, j)+m.cov.At(k, k)+2*m.cov.At(j, k)))
}

// isDim reports whether a lamp gives clearly less than others of its type.
func (m *model) isDim(j int) bool {
	shared := 1 + m.x[len(m.lamps)+m.kind[j]]
	return shared > 0 && m.factor(j)/shared < dim && -m.x[j] > apart*math.Sqrt(m.cov.At(j, j))
}

func (m *model) dimFinding(lamp *schema.Fixture, j int) finding.Finding {
	shared := 1 + m.x[len(m.lamps)+m.kind[j]]
	f := finding.Finding{
		Rule: "file/lamp-dim", Level: finding.Warning, Verdict: finding.Fail, Consequence: finding.Camera,
		Subjects: []finding.Subject{{Kind: "channel", Name: fmt.Sprint(lamp.Channel)}},
		Message: fmt.Sprintf("By the readings channel %d (%s) gives about %.0f %% of the light of others of the type %q.",
			lamp.Channel, source.Shorten(lamp.Name), 100*m.factor(j)/shared, source.Shorten(lamp.Type)),
		Hint:   "look at it when somebody who may go up there does: dirt on the lens, an old lamp, a filter, shutters or an iris that are in, or an aim beside the place; then read again",
		Known:  finding.Reading,
		Likely: m.hues[j],
	}
	if lamp.Name == "" {
		f.Message = strings.Replace(f.Message, " ()", "", 1)
	}
	if place := m.readMostAt(lamp); place != "" {
		f.Subjects = append(f.Subjects, finding.Subject{Kind: "place", Name: source.Shorten(place)})
	}
	if !lamp.At.IsZero() {
		f.Place = lamp.At.Place()
	}
	return f
}

// readMostAt is the place of the reading to which a lamp is worked out to give most light.
func (m *model) readMostAt(lamp *schema.Fixture) (place string) {
	most := 0.0
	for i := range m.rows {
		for _, p := range m.rows[i].parts {
			if p.Fixture == lamp && p.Lux > most {
				most, place = p.Lux, m.rows[i].reading.Place
			}
		}
	}
	return place
}
