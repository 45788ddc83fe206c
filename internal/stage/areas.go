package stage

// Areas are the surfaces, the stage floor and the people of the room, each as the light
// that arrives there of every column at full: lux for what is flat, lumens for a person.
func (s *Room) Areas() [][]float64 {
	var areas [][]float64
	for _, c := range s.Panels {
		if c.Mean != nil {
			areas = append(areas, c.Mean)
		}
	}
	if s.floor != nil && s.floor.Mean != nil {
		areas = append(areas, s.floor.Mean)
	}
	for _, sp := range s.Stands {
		if sp.Body != nil {
			areas = append(areas, sp.Body)
		}
	}
	return areas
}
