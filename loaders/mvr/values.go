package mvr

import (
	"math"
	"strconv"
	"strings"
)

// Matrix is a matrix of four rows that acts on row vectors, in millimetres: the
// images of the three axes and the origin. The text of the standard does not spell
// the product out; it follows from the names of the rows.
type Matrix [4][3]float64

var identity = Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, 0}}

// ParseMatrix reads "{u1,u2,u3}{v1,v2,v3}{w1,w2,w3}{o1,o2,o3}". Blanks and line
// breaks anywhere do no harm.
func ParseMatrix(text string) (m Matrix, ok bool) {
	rows := strings.Split(strings.TrimSpace(text), "}")
	if len(rows) != 5 || rows[4] != "" {
		return identity, false
	}
	for i := range m {
		row := strings.TrimSpace(rows[i])
		if !strings.HasPrefix(row, "{") {
			return identity, false
		}
		cells := strings.Split(row[1:], ",")
		if len(cells) != 3 {
			return identity, false
		}
		for j, cell := range cells {
			cell = strings.TrimSpace(cell)
			value, err := strconv.ParseFloat(cell, 64)
			if err != nil || strings.Trim(cell, "0123456789+-.eE") != "" {
				return identity, false
			}
			m[i][j] = value
		}
	}
	return m, m.bounded()
}

// bounded reports whether all numbers are ones that a plan can hold: less than a
// million kilometres. Groups inside groups that enlarge each other are not.
func (m Matrix) bounded() bool {
	for _, row := range m {
		for _, value := range row {
			if !(math.Abs(value) < 1e12) {
				return false
			}
		}
	}
	return true
}

// Direction turns and scales a vector.
func (m Matrix) Direction(p [3]float64) (q [3]float64) {
	for j := range 3 {
		q[j] = p[0]*m[0][j] + p[1]*m[1][j] + p[2]*m[2][j]
	}
	return q
}

// Point moves a point from the inside to the outside.
func (m Matrix) Point(p [3]float64) (q [3]float64) {
	q = m.Direction(p)
	for j := range 3 {
		q[j] += m[3][j]
	}
	return q
}

// In returns the matrix of a child in what the parent stands in: innermost first.
func (m Matrix) In(parent Matrix) (p Matrix) {
	for i := range 3 {
		p[i] = parent.Direction(m[i])
	}
	p[3] = parent.Point(m[3])
	return p
}

// Origin returns where the thing is, in millimetres.
func (m Matrix) Origin() [3]float64 { return m[3] }

// Down returns the direction in which a lamp in its default pose shines.
func (m Matrix) Down() [3]float64 { return m.Direction([3]float64{0, 0, -1}) }

// turned reports whether the axes differ from those of the plan.
func (m Matrix) turned() bool {
	for i := range 3 {
		for j := range 3 {
			if math.Abs(m[i][j]-identity[i][j]) > tolerance {
				return true
			}
		}
	}
	return false
}

// tolerance of rows that should be of length 1 and at right angles: our own.
const tolerance = 1e-3

// shape says what is odd about the three axes: "mirrored-matrix", "scaled-matrix" or "".
func (m Matrix) shape() string {
	dot := func(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
	u, v, w := m[0], m[1], m[2]
	cross := [3]float64{u[1]*v[2] - u[2]*v[1], u[2]*v[0] - u[0]*v[2], u[0]*v[1] - u[1]*v[0]}
	if dot(cross, w) < 0 {
		return "mirrored-matrix"
	}
	for _, row := range m[:3] {
		if math.Abs(math.Sqrt(dot(row, row))-1) > tolerance {
			return "scaled-matrix"
		}
	}
	if math.Abs(dot(u, v)) > tolerance || math.Abs(dot(v, w)) > tolerance || math.Abs(dot(u, w)) > tolerance {
		return "scaled-matrix"
	}
	return ""
}

// Mapping says how the axes of a plan lie on those of the show: where the origin of
// the plan is, in metres from the middle of the downstage edge, and how far the
// plan is turned against our axes, counter-clockwise as seen from above.
type Mapping struct {
	Origin  [3]float64
	TurnDeg float64
}

// Point turns a point of the plan, in millimetres, into one of the show, in metres.
func (m Mapping) Point(p [3]float64) [3]float64 {
	q := m.Direction(p)
	for i := range q {
		q[i] = m.Origin[i] + q[i]/1000
	}
	return q
}

// Direction turns a direction of the plan into one of the show.
func (m Mapping) Direction(p [3]float64) [3]float64 {
	sin, cos := math.Sincos(m.TurnDeg * math.Pi / 180)
	switch math.Mod(math.Mod(m.TurnDeg, 360)+360, 360) { // exact where people turn by quarters
	case 0:
		sin, cos = 0, 1
	case 90:
		sin, cos = 1, 0
	case 180:
		sin, cos = 0, -1
	case 270:
		sin, cos = -1, 0
	}
	return [3]float64{cos*p[0] - sin*p[1], sin*p[0] + cos*p[1], p[2]}
}

// ParseAddress reads an absolute address or "universe.slot"; 0 is not patched.
// The part behind the point is a number of its own: 2.10 is slot 10.
func ParseAddress(text string) (absolute int, ok bool) {
	const slots, universes = 512, 63_999
	universe, slot, dot := strings.Cut(strings.TrimSpace(text), ".")
	u, okU := whole(universe)
	if !dot {
		return u, okU && u <= universes*slots
	}
	s, okS := whole(slot)
	if !okU || !okS || u < 1 || u > universes || s < 1 || s > slots {
		return 0, false
	}
	return (u-1)*slots + s, true
}

func whole(text string) (int, bool) {
	if text == "" || strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}

// uuid returns the 32 digits of an identity in lower case; plain is false where it
// is written in another way than 8-4-4-4-12. The nil identity is none.
func uuid(text string) (digits string, plain bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	parts := strings.Split(text, "-")
	plain = len(parts) == 5 && len(parts[0]) == 8 && len(parts[1]) == 4 && len(parts[2]) == 4 && len(parts[3]) == 4 && len(parts[4]) == 12
	digits = strings.Map(func(r rune) rune {
		if strings.ContainsRune(" \t\r\n-{}", r) {
			return -1
		}
		return r
	}, text)
	if len(digits) != 32 || strings.Trim(digits, "0123456789abcdef") != "" || strings.Trim(digits, "0") == "" {
		return "", false
	}
	return digits, plain
}
