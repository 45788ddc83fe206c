package picture

// Shape is what happens if nothing is done: the shape of a mark says it without colour.
type Shape int

// The shapes, gravest first.
const (
	Triangle   Shape = iota // someone could be hurt
	Square                  // part of the service goes dark or cannot run
	Disc                    // wrong on camera
	HalfCircle              // wrong in the room
	Lozenge                 // trips us up later
)

// Mark draws a mark around a point: full for an order, which has a number in it; open
// for what a person has to decide, which has a letter. r is half its size.
func (p *Pic) Mark(s Shape, full bool, sign string, x, y, r float64) {
	name, word := "mo", "mto"
	if full {
		name, word = "mf", "mt"
	}
	foot := y + 0.36*r
	switch s {
	case Triangle:
		p.Path(new(Path).Move(x, y-1.1*r).Line(x+1.25*r, y+1*r).Line(x-1.25*r, y+1*r).Close(), name)
		foot = y + 0.72*r
	case Square:
		p.Rect(x-0.92*r, y-0.92*r, 1.84*r, 1.84*r, name)
	case HalfCircle:
		path := new(Path).Move(x-1.1*r, y+0.75*r).Curve(x-1.1*r, y-1.2*r, x, y-1.2*r).Curve(x+1.1*r, y-1.2*r, x+1.1*r, y+0.75*r).Close()
		p.Path(path, name)
	case Lozenge:
		p.Path(new(Path).Move(x-1.3*r, y).Line(x, y-1.15*r).Line(x+1.3*r, y).Line(x, y+1.15*r).Close(), name)
	default:
		p.Circle(x, y, r, name)
	}
	size := 1.12 * r
	if len(sign) > 1 {
		size = 0.98 * r
	}
	if s == Triangle || s == Lozenge {
		size *= 0.88
	}
	p.Text(x, foot, size, Middle, word, sign)
}

// Sign is a mark as a picture of its own.
func Sign(s Shape, full bool, sign string) *Pic {
	p := New(28, 26)
	p.Mark(s, full, sign, 14, 13.4, 10.6)
	return p
}
