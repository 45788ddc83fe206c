package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// The size of the small picture of an order.
const (
	smallW = 288.0
	smallH = 46.0
)

// Move marks in the universes of a scene which blocks the orders of a show move, and
// where to.
func Move(s *outcome.Show) {
	if s.Scene == nil {
		return
	}
	for n := range s.Orders {
		for _, e := range s.Orders[n].Edits {
			to, ok := e.To.(string)
			if e.Key != "address" || !ok {
				continue
			}
			u, slot, good := addressOf(to)
			from, _ := e.From.(string)
			u0, slot0, had := addressOf(from)
			for i := range s.Scene.Universes {
				universe := &s.Scene.Universes[i]
				for k := range universe.Blocks {
					b := &universe.Blocks[k]
					if good && had && universe.Number == u0 && b.First == slot0 && len(e.Names) > 0 && e.Names[0] == fmt.Sprint(b.Channel) {
						b.Order, b.ToUniverse, b.ToFirst, b.ToLast = n+1, u, slot, slot+b.Last-b.First
					}
				}
			}
		}
	}
}

func addressOf(text string) (universe, slot int, ok bool) {
	a, b, found := strings.Cut(text, ".")
	universe, err1 := strconv.Atoi(a)
	slot, err2 := strconv.Atoi(b)
	return universe, slot, found && err1 == nil && err2 == nil
}

// Order draws what an order changes, before and after; nil if there is nothing to be
// seen in it. id has to be one of its own in the page, kept is that of the figure in it.
func Order(s *outcome.Show, n int, id, kept string) *picture.Pic {
	o := &s.Orders[n]
	after := afterOf(s, n)
	if after != nil && after.FaceWas != nil && after.FaceIs != nil {
		return faces(s.Scene, after, id, kept)
	}
	for _, e := range o.Edits {
		if e.Key == "address" {
			if p := moved(s.Scene, n); p != nil {
				return p
			}
		}
		if from, to, ok := numbers(e); ok && (e.Key == "in_s" || e.Key == "out_s") {
			return slope(from, to)
		}
	}
	if after != nil && after.Was != nil && after.Is != nil {
		return gauge(*after.Was, *after.Is, after.Limit, after.LimitLow, after.Unit)
	}
	for _, e := range o.Edits {
		if from, to, ok := numbers(e); ok {
			return gauge(from, to, nil, false, e.Unit)
		}
	}
	for _, e := range o.Edits {
		if p := words(e); p != nil {
			return p
		}
	}
	return nil
}

func afterOf(s *outcome.Show, n int) *scene.After {
	if s.Scene == nil {
		return nil
	}
	for i := range s.Scene.Afters {
		if s.Scene.Afters[i].Order == n {
			return &s.Scene.Afters[i]
		}
	}
	return nil
}

func numbers(e outcome.Edit) (from, to float64, ok bool) {
	from, ok1 := e.From.(float64)
	to, ok2 := e.To.(float64)
	if e.From == nil && ok2 && (e.Key == "in_s" || e.Key == "out_s" || strings.HasPrefix(e.Key, "shutter_")) {
		return 0, to, true // not given is 0 by the format
	}
	return from, to, ok1 && ok2
}

// say writes a number with as many digits as it needs.
func say(v float64) string {
	switch {
	case math.Abs(v) >= 100:
		return picture.Say(v, 0)
	case math.Abs(v) >= 10:
		return picture.Say(v, 1)
	}
	return picture.Say(v, 2)
}

// gauge is a scale with the value now, the value after, and the band where a rule speaks.
func gauge(was, is float64, limit *float64, low bool, unit string) *picture.Pic {
	p := picture.New(smallW, smallH)
	left, right := min(was, is), max(was, is)
	if limit != nil {
		left, right = min(left, *limit), max(right, *limit)
	}
	if left > 0 && left < 0.6*right {
		left = 0
	}
	pad := 0.12 * (right - left)
	if pad == 0 {
		pad = 1
	}
	x := picture.Scale{From: left - pad*0.4, To: right + pad, A: 8, B: smallW - 8}
	const y = 17.0
	if limit != nil {
		if low {
			p.Rect(8, y-9, x.At(*limit)-8, 18, "lim")
		} else {
			p.Rect(x.At(*limit), y-9, smallW-8-x.At(*limit), 18, "lim")
		}
		p.Line(x.At(*limit), y-11, x.At(*limit), y+11, "limline")
	}
	p.Line(8, y, smallW-8, y, "ftl")
	a, b := x.At(was), x.At(is)
	p.Line(a, y, b, y, "ftm")
	p.Circle(a, y, 4.2, "fta")
	p.Circle(b, y, 5, "ftb")
	p.Place(picture.Words{Lines: []string{say(was)}, Size: 11, Class: "sub"}, spots(a, y+21)...)
	p.Place(picture.Words{Lines: []string{strings.TrimSpace(say(is) + " " + unit)}, Size: 11, Class: "lab", Bold: true}, spots(b, y+21)...)
	if limit != nil {
		p.Place(picture.Words{Lines: []string{"limit " + say(*limit)}, Size: 10.5, Class: "sub"}, append(spots(x.At(*limit), y+21), spots(x.At(*limit), y+29)...)...)
	}
	p.Title = "Before and after"
	p.Desc = strings.TrimSpace(fmt.Sprintf("%s now, %s after %s", say(was), say(is), unit))
	if limit != nil {
		p.Desc += "; the limit is " + say(*limit)
	}
	p.Desc += "."
	return p
}

// spots are the usual places of a number under a scale.
func spots(x, y float64) []picture.Spot {
	return []picture.Spot{{X: max(14, min(smallW-14, x)), Y: y, Anchor: picture.Middle}, {X: max(2, min(smallW-40, x-4)), Y: y, Anchor: picture.Start}, {X: min(smallW-2, max(40, x+4)), Y: y, Anchor: picture.End}}
}

// slope is a fade before and after.
func slope(from, to float64) *picture.Pic {
	p := picture.New(smallW, smallH+8)
	most := max(from, to, 1)
	draw := func(x, s float64, word, class string) {
		wide := 70.0 * s / most
		p.Line(x, 34, x+118, 34, "grid")
		p.Path(new(picture.Path).Move(x, 34).Line(x+14, 34).Line(x+14+wide, 8).Line(x+118, 8), class)
		p.Text(x, 50, 11, picture.Start, "sub", word)
	}
	draw(4, from, say(from)+" s", "line")
	p.Path(new(picture.Path).Move(132, 22).Line(152, 22).Move(146, 18).Line(153, 22).Line(146, 26), "arc")
	draw(164, to, say(to)+" s", "hotline")
	p.Title = "The fade before and after"
	p.Desc = fmt.Sprintf("Over %s seconds now, over %s after.", say(from), say(to))
	return p
}

// moved is the stretch of a universe that an address leaves, and the one that it goes to.
func moved(s *scene.Scene, n int) *picture.Pic {
	for i := range s.Universes {
		u := &s.Universes[i]
		for k := range u.Blocks {
			if b := &u.Blocks[k]; b.Order == n+1 {
				return blocks(s, u, b)
			}
		}
	}
	return nil
}

func blocks(s *scene.Scene, u *scene.Universe, b *scene.Block) *picture.Pic {
	p := picture.New(smallW, 74)
	draw := func(left float64, universe, first, last int, name string, others bool) {
		size := last - first + 1
		x := picture.Scale{From: float64(first - size), To: float64(last + 1 + size), A: left, B: left + 122}
		p.Rect(left, 10, 122, 22, "lane")
		if others {
			for i := range s.Universes {
				if s.Universes[i].Number != universe {
					continue
				}
				for _, o := range s.Universes[i].Blocks {
					if o.Channel == b.Channel && o.First == b.First { // what is farther away has no width on this scale
						continue
					}
					a, z := x.At(float64(o.First)), x.At(float64(o.Last+1))
					p.Rect(a, 10, z-a, 22, "adr")
					if sign := fmt.Sprint(o.Channel); picture.Width(sign, 10.5, false) < z-a-2 {
						p.Place(picture.Words{Lines: []string{sign}, Size: 10.5, Class: "val"}, picture.Spot{X: (a + z) / 2, Y: 24.5, Anchor: picture.Middle})
					}
				}
			}
		}
		if x.Within(512.999) {
			p.Line(x.At(513), 6, x.At(513), 36, "end")
		}
		y := 10.0
		if name == "adrold" {
			y = 17
		}
		a, z := x.At(float64(first)), x.At(float64(last+1))
		p.Rect(a, y, z-a, 22, name)
		p.Text(left, 52, 10.5, picture.Start, "sub", fmt.Sprintf("%d.%d to %d", universe, first, last))
	}
	draw(2, u.Number, b.First, b.Last, "adrold", true)
	p.Path(new(picture.Path).Move(134, 22).Line(154, 22).Move(148, 18).Line(155, 22).Line(148, 26), "arc")
	draw(164, b.ToUniverse, b.ToFirst, b.ToLast, "adrnew", true)
	p.H = 58
	p.Title = fmt.Sprintf("The slots of channel %d before and after", b.Channel)
	p.Desc = fmt.Sprintf("Slots %d to %d of universe %d now, %d to %d of universe %d after.", b.First, b.Last, u.Number, b.ToFirst, b.ToLast, b.ToUniverse)
	return p
}

// words are a change that has no scale: what is written now, and what is to be.
func words(e outcome.Edit) *picture.Pic {
	text := func(v any) string {
		switch v := v.(type) {
		case nil:
			return "nothing"
		case float64:
			return say(v)
		default:
			return fmt.Sprint(v)
		}
	}
	from, to := picture.Fit(text(e.From), 11.5, 112, false), picture.Fit(text(e.To), 11.5, 112, true)
	if from == "" || to == "" {
		return nil
	}
	p := picture.New(smallW, 32)
	p.Rect(2.5, 4.5, 124, 22, "adrold")
	p.Text(64, 19.5, 11.5, picture.Middle, "val", from)
	p.Path(new(picture.Path).Move(134, 16).Line(154, 16).Move(148, 12).Line(155, 16).Line(148, 20), "arc")
	p.Rect(162.5, 4.5, 124, 22, "adrnew")
	p.Text(224, 19.5, 11.5, picture.Middle, "mt", to)
	p.Title = "Before and after"
	p.Desc = fmt.Sprintf("%s now, %s after.", text(e.From), text(e.To))
	return p
}

// faces are a face before and after.
func faces(s *scene.Scene, a *scene.After, id, kept string) *picture.Pic {
	p := picture.New(smallW, 128)
	cue := ""
	if a.FaceWas.Cue < len(s.Cues) {
		cue = s.Cues[a.FaceWas.Cue].Number
	}
	was, is := Face(a.FaceWas, cue, id+"-a", kept, true), Face(a.FaceIs, cue, id+"-b", kept, true)
	p.Moved(2, 2, 0.58, func() { p.Add(was) })
	p.Path(new(picture.Path).Move(126, 58).Line(150, 58).Move(144, 53).Line(151, 58).Line(144, 63), "arc")
	p.Moved(160, 2, 0.58, func() { p.Add(is) })
	p.Title = fmt.Sprintf("Sketch of the face on %s in cue %s, before and after", a.FaceWas.Place, cue)
	p.Desc = "Before: " + SayFace(a.FaceWas) + " After: " + SayFace(a.FaceIs)
	p.H = 116
	return p
}
