package gdtf

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// float reads a number with a decimal point. Exponents and plus signs stand in
// real files; what is not finite does not count.
func float(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	if text == "" || strings.Trim(text, "0123456789+-.eE") != "" {
		return 0, false
	}
	value, err := strconv.ParseFloat(text, 64)
	return value, err == nil && !math.IsInf(value, 0)
}

// integer reads a whole number that is not negative.
func integer(text string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	return n, err == nil && n >= 0
}

// parseColour reads "x,y,Y". Four or five parts are a colour with decimal commas, which
// is not guessed at.
func parseColour(text string) (x, y, luminance float64, ok bool) {
	parts := strings.Split(text, ",")
	if len(parts) != 3 {
		return 0, 0, 0, false
	}
	var v [3]float64
	for i, part := range parts {
		if v[i], ok = float(part); !ok || v[i] < 0 {
			return 0, 0, 0, false
		}
	}
	return v[0], v[1], v[2], v[0] <= 1 && v[1] <= 1 && v[0]+v[1] <= 1+1e-9
}

// Matrix is a matrix of four rows that acts on column vectors, in metres; the last
// number of each row moves.
type Matrix [4][4]float64

// identity is where a geometry stands that does not say.
var identity = Matrix{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}

// ParseMatrix reads "{a,b,c,d}{…}{…}{…}"; "None" and "" are the identity. Blanks
// anywhere do no harm.
func ParseMatrix(text string) (m Matrix, ok bool) {
	text = strings.TrimSpace(text)
	if text == "" || strings.EqualFold(text, "None") {
		return identity, true
	}
	rows := strings.Split(text, "}")
	if len(rows) != 5 || strings.TrimSpace(rows[4]) != "" {
		return identity, false
	}
	for i := range m {
		row := strings.TrimSpace(rows[i])
		if !strings.HasPrefix(row, "{") {
			return identity, false
		}
		cells := strings.Split(row[1:], ",")
		if len(cells) != 4 {
			return identity, false
		}
		for j := range cells {
			if m[i][j], ok = float(cells[j]); !ok {
				return identity, false
			}
		}
	}
	return m, true
}

// Times returns the matrix that does first n, then m.
func (m Matrix) Times(n Matrix) (p Matrix) {
	for i := range 4 {
		for j := range 4 {
			for k := range 4 {
				p[i][j] += m[i][k] * n[k][j]
			}
		}
	}
	return p
}

// Point moves a point from the inside to the outside.
func (m Matrix) Point(p [3]float64) (q [3]float64) {
	for i := range 3 {
		q[i] = m[i][0]*p[0] + m[i][1]*p[1] + m[i][2]*p[2] + m[i][3]
	}
	return q
}

// DMXValue is a value as it is written: of so many bytes, and whether it is
// shifted or mirrored to more.
type DMXValue struct {
	Value   uint64
	Bytes   int
	Shifted bool
}

// maxBytes is the widest channel.
const maxBytes = 8

// ParseDMXValue reads "value/n" or "value/ns".
func ParseDMXValue(text string) (v DMXValue, err error) {
	value, size, slash := strings.Cut(strings.TrimSpace(text), "/")
	if !slash {
		size = "1" // older files leave it out
	}
	if strings.HasSuffix(size, "s") {
		v.Shifted, size = true, strings.TrimSuffix(size, "s")
	}
	v.Value, err = strconv.ParseUint(strings.TrimSpace(value), 10, 64)
	if err != nil {
		return DMXValue{}, fmt.Errorf("%q is no value such as 128/1", text)
	}
	n, ok := integer(size)
	if !ok || n < 1 || n > maxBytes {
		return DMXValue{Bytes: 1}, fmt.Errorf("%q has a number of bytes that is not 1 to %d", text, maxBytes)
	}
	v.Bytes = n
	if n < maxBytes && v.Value >= 1<<(8*n) {
		return DMXValue{Bytes: 1}, fmt.Errorf("%q does not fit into %d bytes", text, n)
	}
	return v, nil
}

// In returns the value in a channel of so many bytes: shifted, or with its bytes
// repeated (mirrored). To fewer bytes the lowest are dropped.
func (v DMXValue) In(bytes int) uint64 {
	if bytes <= v.Bytes {
		return v.Value >> (8 * (v.Bytes - bytes))
	}
	var out uint64
	for i := range bytes {
		var b uint64
		if !v.Shifted || i < v.Bytes {
			b = v.Value >> (8 * (v.Bytes - 1 - i%v.Bytes)) & 0xFF
		}
		out = out<<8 | b
	}
	return out
}
