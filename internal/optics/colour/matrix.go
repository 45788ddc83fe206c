package colour

// matrix is a 3 by 3 matrix, rows first. It is an array so that a conversion
// allocates nothing.
type matrix [3][3]float64

func (m *matrix) times(x, y, z float64) (float64, float64, float64) {
	return m[0][0]*x + m[0][1]*y + m[0][2]*z,
		m[1][0]*x + m[1][1]*y + m[1][2]*z,
		m[2][0]*x + m[2][1]*y + m[2][2]*z
}

// inverse returns the inverse by cofactors. It is used on the constant, well
// conditioned matrices of this package only.
func (m *matrix) inverse() (inv matrix) {
	cofactor := func(i, j int) float64 {
		a, b := (i+1)%3, (i+2)%3
		c, d := (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*cofactor(0, 0) + m[0][1]*cofactor(0, 1) + m[0][2]*cofactor(0, 2)
	for i := range inv {
		for j := range inv[i] {
			inv[i][j] = cofactor(j, i) / det
		}
	}
	return inv
}
