package picture

// Box is a stretch of a picture that something stands on.
type Box struct{ X, Y, W, H float64 }

// spare is how far labels stay from each other and from shapes, in pixels.
const spare = 1

func (b Box) meets(o Box) bool {
	return b.X < o.X+o.W+spare && o.X < b.X+b.W+spare && b.Y < o.Y+o.H+spare && o.Y < b.Y+b.H+spare
}

// within reports whether a box lies in the picture.
func (p *Pic) within(b Box) bool { return b.X >= 0 && b.Y >= 0 && b.X+b.W <= p.W && b.Y+b.H <= p.H }

// Take keeps labels off a stretch.
func (p *Pic) Take(b Box) { p.taken = append(p.taken, b) }

// Free reports whether a stretch lies in the picture and nothing stands on it.
func (p *Pic) Free(b Box) bool {
	if !drawable(b.X, b.Y, b.W, b.H) || !p.within(b) {
		return false
	}
	for _, other := range p.taken {
		if b.meets(other) {
			return false
		}
	}
	return true
}

// Spot is a place that a label may take: a point and how it hangs on it.
type Spot struct {
	X, Y   float64 // of the foot of its first line
	Anchor Anchor
}

// Words are lines of a label, first the one that goes first where there is no room.
type Words struct {
	Lines  []string
	Class  string   // of all lines
	Each   []string // of each line, if they differ
	Size   float64
	Bold   bool
	Plate  string // class of a plate behind it; "" for none
	Shrink bool   // drop the first line, then the next, until it fits
}

// lineStep is from the foot of a line to that of the next, in sizes.
const lineStep = 1.18

func (w *Words) box(at Spot) Box {
	wide := 0.0
	for _, line := range w.Lines {
		wide = max(wide, Width(line, w.Size, w.Bold))
	}
	b := Box{at.X, at.Y - 0.8*w.Size, wide, (float64(len(w.Lines)-1)*lineStep + 1.02) * w.Size}
	switch at.Anchor {
	case Middle:
		b.X -= wide / 2
	case End:
		b.X -= wide
	}
	return b
}

// Place writes a label at the first of its spots where nothing stands, and reports
// whether it found one. A label that may shrink loses its first line before it is
// left out.
func (p *Pic) Place(w Words, spots ...Spot) bool {
	for first := 0; first < len(w.Lines); first++ {
		now := w
		now.Lines = w.Lines[first:]
		for _, spot := range spots {
			b := now.box(spot)
			if !p.Free(b) {
				continue
			}
			p.Take(b)
			if w.Plate != "" {
				p.Rect(b.X-2, b.Y-1, b.W+4, b.H+1, w.Plate)
			}
			for i, line := range now.Lines {
				name := w.Class
				if first+i < len(w.Each) {
					name = w.Each[first+i]
				}
				p.Text(spot.X, spot.Y+float64(i)*lineStep*w.Size, w.Size, spot.Anchor, name, line)
			}
			return true
		}
		if !w.Shrink {
			return false
		}
	}
	return false
}

// Around are the usual spots round a point: below, right, left, right below, left
// below, above.
func Around(x, y, r, size float64) []Spot {
	return []Spot{
		{x, y + r + size, Middle}, {x + r + 3, y + 0.35*size, Start}, {x - r - 3, y + 0.35*size, End},
		{x + r, y + r + 0.8*size, Start}, {x - r, y + r + 0.8*size, End}, {x, y - r - 0.35*size, Middle},
		{x + r, y - r, Start}, {x - r, y - r, End},
	}
}
