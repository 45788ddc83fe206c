package stage

// Lights calls each for every receiver of the room on which a beam at full gives light, in
// lux: a point of a surface or the floor, a face, a shoulder.
func (s *Room) Lights(b *Beam, each func(receiver int, lux float64)) {
	if b.Column >= 0 && b.Column < len(s.given) {
		s.given[b.Column].Each(each)
	}
}
