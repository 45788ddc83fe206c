package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// leastColumn is how narrow a look may be in the strip, in pixels; where they are more,
// the strip goes on below.
const leastColumn = 20

// Strip draws all looks side by side: light and hues of the stage, faces, screens.
func Strip(s *scene.Scene, w float64) *picture.Pic {
	p := picture.New(w, 10)
	p.Title = "All looks, side by side"
	p.Table = eveningTable(s)
	p.Desc = sayStrip(s)
	if len(s.Cues) == 0 {
		return p
	}
	each := int(max(1, math.Floor((w-4)/(leastColumn+2))))
	if w >= Wide {
		each = max(each, min(len(s.Cues), 40))
	}
	y := 4.0
	for first := 0; first < len(s.Cues); first += each {
		y = strip(p, s, first, min(len(s.Cues), first+each), each, y) + 18
	}
	p.H = math.Ceil(y - 10)
	return p
}

// strip draws a row of looks and returns where it ends.
func strip(p *picture.Pic, s *scene.Scene, first, last, each int, y float64) float64 {
	const tall, gap, between = 76.0, 3.0, 9.0
	breaks := 0
	for i := first + 1; i < last; i++ {
		if s.Cues[i].Segment != s.Cues[i-1].Segment {
			breaks++
		}
	}
	wide := min(46, (p.W-between*float64(breaks))/float64(max(last-first, min(each, last-first))))
	range_ := picture.Scale{From: 0, To: lowest(s) - 0.5, A: y, B: y + tall}
	x := 0.0
	type stretch struct {
		segment int
		x1, x2  float64
	}
	var parts []stretch
	face := picture.Scale{From: 2, To: -2.5, A: y + tall + 8, B: y + tall + 40}
	p.Line(0, face.At(0), p.W, face.At(0), "grid")
	var fills []block
	var lines strokes
	said := ""
	for i := first; i < last; i++ {
		c := &s.Cues[i]
		if i > first && c.Segment != s.Cues[i-1].Segment {
			x += between
		}
		x1, x2 := x, x+wide-gap
		if n := len(parts); n > 0 && parts[n-1].segment == c.Segment {
			parts[n-1].x2 = x2
		} else {
			parts = append(parts, stretch{c.Segment, x1, x2})
			said = ""
		}
		switch {
		case c.Stops == nil && !c.Dark:
			p.Rect(x1, y, x2-x1, tall, "empty")
			p.Text((x1+x2)/2, y+tall/2+4, 11, picture.Middle, "sub", "?")
		default:
			top := y + tall - 2
			if c.Stops != nil {
				top = range_.At(*c.Stops)
			}
			at := top
			if len(c.Hues) == 0 {
				p.Rect(x1, top, x2-x1, y+tall-top, "run")
			}
			for _, hue := range c.Hues {
				h := (y + tall - top) * hue.Share
				fills = append(fills, block{x1, at, x2 - x1, h, ink(hue.Light)})
				at += h
			}
			lines.line(x1, top, x2, top, "line")
		}
		mid := (x1 + x2) / 2
		switch {
		case c.People == 0:
			p.Circle(mid, face.At(0), 1.4, "dotn")
		case c.FaceLow == nil:
			p.Text(mid, face.At(0)+4, 10.5, picture.Middle, "sub", "?")
		default:
			name := "stroke"
			if s.Limits.FaceUnder != nil && *c.FaceLow < -*s.Limits.FaceUnder {
				name = "strokebad"
			}
			low, high := face.At(*c.FaceLow), face.At(*c.FaceHigh)
			lines.line(mid, max(low, high+0.1), mid, high, name)
		}
		// The screen that is most over the faces: written when it changes, a line for as long.
		text, bad := "", false
		if over := mostOver(c); !math.IsInf(over, -1) {
			text, bad = stops(over), s.Limits.ScreenStops != nil && over > *s.Limits.ScreenStops
		}
		foot := y + tall + 56
		switch {
		case text == "":
			p.Circle(mid, foot-3, 1.2, "dotn")
		case text != said:
			class := "sub"
			if bad {
				class = "fnd"
			}
			if across := picture.Width(text, 10.5, bad); across <= wide+4 {
				half := across/2 + 1.5 // a sign of another face may be a little wider
				p.Text(min(max(mid, half), p.W-half), foot, 10.5, picture.Middle, class, text)
			} else {
				p.Circle(mid, foot-3, 2, "hot")
			}
		default:
			line := "axis"
			if bad {
				line = "last"
			}
			lines.line(x1-gap, foot-3.5, x2, foot-3.5, line)
		}
		said = text
		number := c.Number
		if picture.Width(number, 10.5, false) <= wide {
			p.Text(mid, y+tall+72, 10.5, picture.Middle, "sub", number)
		}
		x += wide
	}
	fillAll(p, fills)
	lines.draw(p)
	for _, part := range parts {
		p.Line(part.x1, y+tall+77, part.x2, y+tall+77, "tick")
		if part.segment >= 0 {
			p.Text((part.x1+part.x2)/2, y+tall+90, 11, picture.Middle, "lab", fmt.Sprint(part.segment+1))
		}
	}
	return y + tall + 92
}

// mostOver is how far the brightest screen of a look is over the dimmest face.
func mostOver(c *scene.Cue) float64 {
	most := math.Inf(-1)
	for _, showing := range c.Showings {
		if showing.OverFace != nil && !showing.FacesDark {
			most = max(most, *showing.OverFace)
		}
	}
	return most
}

func sayStrip(s *scene.Scene) string {
	dim := 0
	var hues []string
	for _, c := range s.Cues {
		if c.FaceLow != nil && s.Limits.FaceUnder != nil && *c.FaceLow < -*s.Limits.FaceUnder {
			dim++
		}
		for _, hue := range c.Hues {
			if hue.Share >= 0.1 && hue.Name != "" && !slices.Contains(hues, hue.Name) {
				hues = append(hues, hue.Name)
			}
		}
	}
	text := fmt.Sprintf("%d looks", len(s.Cues))
	if len(hues) > 0 {
		text += " in " + strings.Join(hues, ", ")
	}
	if dim > 0 {
		text += fmt.Sprintf("; in %d of them a face is too dim for the cameras", dim)
	}
	return text + "."
}

// Addresses draws a universe with its clashes, and with what the orders make of it. moved
// are the blocks that orders move, with where they go.
func Addresses(u *scene.Universe, w float64) *picture.Pic {
	p := picture.New(w, 130)
	p.Title = fmt.Sprintf("Addresses of universe %d", u.Number)
	p.Table = picture.Table{Head: []string{"channel", "slots", "clash", "slots after"}}
	x := picture.Scale{From: 0.5, To: 520.5, A: 0, B: w}
	at := func(slot int) float64 { return x.At(float64(slot) - 0.5) }
	p.Text(0, 11, 11, picture.Start, "lab", "Before")
	p.Text(0, 77, 11, picture.Start, "lab", "After")
	lane := func(y float64) {
		p.Rect(at(1), y, at(513)-at(1), 22, "lane")
		p.Line(at(513), y-3, at(513), y+25, "end")
		p.Text(at(513)-1, y+34, 10.5, picture.End, "sub", "512")
		p.Text(at(1), y+34, 10.5, picture.Start, "sub", "1")
		p.Take(picture.Box{X: at(513) - 20, Y: y + 25, W: 24, H: 11})
		p.Take(picture.Box{X: 0, Y: y + 25, W: 8, H: 11})
	}
	lane(18)
	lane(84)
	var words []string
	for i := range u.Blocks {
		b := &u.Blocks[i]
		y, name := 18.0, "adr"
		if b.Order > 0 {
			y, name = 25, "adrold"
		} else if b.Clash {
			name = "clash"
		}
		p.Rect(at(b.First), y, max(1.5, at(b.Last+1)-at(b.First)), 22, name)
		sign := fmt.Sprint(b.Channel)
		wide := at(b.Last+1) - at(b.First)
		if picture.Width(sign, 10.5, false) <= wide-1 {
			p.Place(picture.Words{Lines: []string{sign}, Size: 10.5, Class: "val"}, picture.Spot{X: (at(b.First) + at(b.Last+1)) / 2, Y: y + 14.5, Anchor: picture.Middle})
		}
		row := []string{sign, fmt.Sprintf("%d to %d", b.First, b.Last), "", ""}
		if b.Clash {
			row[2] = "yes"
			words = append(words, fmt.Sprintf("channel %d on %d to %d", b.Channel, b.First, b.Last))
		}
		switch {
		case b.Order == 0:
			row[3] = row[1]
			p.Rect(at(b.First), 84, max(1.5, wide), 22, "adr")
			if picture.Width(sign, 10.5, false) <= wide-1 {
				p.Place(picture.Words{Lines: []string{sign}, Size: 10.5, Class: "val"}, picture.Spot{X: at(b.First) + wide/2, Y: 98.5, Anchor: picture.Middle})
			}
		default:
			row[3] = fmt.Sprintf("%d.%d to %d (order %d)", b.ToUniverse, b.ToFirst, b.ToLast, b.Order)
		}
		p.Table.Rows = append(p.Table.Rows, row)
	}
	for i := range u.Blocks {
		b := &u.Blocks[i]
		if b.Order == 0 {
			if b.Clash {
				const foot = 59.0
				p.Place(picture.Words{Lines: []string{fmt.Sprintf("%d to %d", b.First, b.Last)}, Size: 10.5, Class: "fnd", Bold: true}, picture.Spot{X: at(b.First), Y: foot, Anchor: picture.Start}, picture.Spot{X: at(b.Last + 1), Y: foot, Anchor: picture.End})
			}
			continue
		}
		from := (at(b.First) + at(b.Last+1)) / 2
		label := fmt.Sprintf("%d.%d", b.ToUniverse, b.ToFirst)
		if b.ToUniverse != u.Number {
			const aside, foot = 4, 60.0
			p.Path(new(picture.Path).Move(from, 47).Line(from, 58), "arc")
			p.Place(picture.Words{Lines: []string{"to " + label}, Size: 10.5, Class: "fnd", Bold: true}, picture.Spot{X: from + aside, Y: foot, Anchor: picture.Start}, picture.Spot{X: from - aside, Y: foot, Anchor: picture.End})
			continue
		}
		x1, x2 := at(b.ToFirst), at(b.ToLast+1)
		p.Rect(x1, 84, max(2, x2-x1), 22, "adrnew")
		to := (x1 + x2) / 2
		p.Path(new(picture.Path).Move(from, 47).Curve(from, 66, (from+to)/2, 66).Curve(to, 66, to, 82).Move(to-4, 76).Line(to, 83).Line(to+4, 76), "arc")
		const foot = 118.0
		p.Place(picture.Words{Lines: []string{fmt.Sprintf("%d: %d to %d", b.Channel, b.ToFirst, b.ToLast)}, Size: 10.5, Class: "fnd", Bold: true}, picture.Spot{X: to, Y: foot, Anchor: picture.Middle}, picture.Spot{X: x1, Y: foot, Anchor: picture.Start}, picture.Spot{X: x2, Y: foot, Anchor: picture.End})
	}
	p.Desc = "No two fixtures listen to the same slots."
	if len(words) > 0 {
		p.Desc = "Slots that clash or are beyond 512: " + list(words, 6) + "."
	}
	return p
}
