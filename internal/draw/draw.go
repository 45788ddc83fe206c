// Package draw makes the pictures of a show: the evening, the stage, faces, the cue
// strip, addresses, and what an order changes.
//
// In go a [scene.Scene], what was found and a width, out come pictures. Each is drawn
// anew for each width, with fewer labels where there is less room. What is unknown is a
// gap or a dotted frame with words in it, what is assumed has a broken line, and nothing
// is told by colour alone. A newcomer's mistake would be to put a number into a picture
// that its table does not have.
package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
)

// The widths that pages are drawn for, in pixels.
const (
	Wide   = 1000
	Middle = 640
	Narrow = 328
)

// Widths are all of them, widest first.
var Widths = []float64{Wide, Middle, Narrow}

// shapes are the marks of the consequences.
var shapes = map[finding.Consequence]picture.Shape{
	finding.Hurt: picture.Triangle, finding.Dark: picture.Square, finding.Camera: picture.Disc, finding.Room: picture.HalfCircle, finding.Later: picture.Lozenge,
}

// ShapeOf is the mark of a consequence.
func ShapeOf(c finding.Consequence) picture.Shape { return shapes[c] }

// Letter is the sign of something that a person decides: a, b... z, then a2...
func Letter(i int) string {
	letter := string(rune('a' + i%26))
	if i >= 26 {
		letter += fmt.Sprint(i/26 + 1)
	}
	return letter
}

// Bite is where something bites: an order, or what a person has to decide.
type Bite struct {
	Shape picture.Shape
	Full  bool
	Sign  string
	Text  string
	Cues  []int // by their place in the scene, ascending
}

// Bites are those of a show: its orders by number, then what is left to a person by
// letter, alike ones under one letter.
func Bites(s *outcome.Show) []Bite {
	if s.Scene == nil {
		return nil
	}
	at := map[string]int{}
	for i, c := range s.Scene.Cues {
		at[c.Number] = i
	}
	byKey := map[string]*finding.Finding{}
	for i := range s.Findings {
		byKey[s.Findings[i].Key()] = &s.Findings[i]
	}
	cuesOf := func(f *finding.Finding, list []int) []int {
		for _, number := range f.Cues {
			if i, ok := at[number]; ok {
				list = append(list, i)
			}
		}
		for _, subject := range f.Subjects {
			if i, ok := at[subject.Name]; subject.Kind == "cue" && ok {
				list = append(list, i)
			}
		}
		return list
	}
	var list []Bite
	add := func(b Bite) {
		slices.Sort(b.Cues)
		if b.Cues = slices.Compact(b.Cues); len(b.Cues) > 0 {
			list = append(list, b)
		}
	}
	for n := range s.Orders {
		o := &s.Orders[n]
		b := Bite{Shape: ShapeOf(o.Consequence), Full: true, Sign: fmt.Sprint(n + 1), Text: o.Do}
		for _, key := range o.Cures {
			if f := byKey[key]; f != nil {
				b.Cues = cuesOf(f, b.Cues)
			}
		}
		add(b)
	}
	for n, group := range Decisions(s) {
		b := Bite{Shape: ShapeOf(group[0].Consequence), Sign: Letter(n), Text: group[0].Message}
		for _, f := range group {
			b.Cues = cuesOf(f, b.Cues)
		}
		add(b)
	}
	return list
}

// Decisions are the findings that are left to a person and that no task is about, those
// of one rule together, in the order of the report.
func Decisions(s *outcome.Show) [][]*finding.Finding {
	var list [][]*finding.Finding
	index := map[string]int{}
	for _, f := range s.NeedPerson {
		if slices.ContainsFunc(s.Tasks, func(task outcome.Order) bool { return slices.Contains(task.Cures, f.Key()) }) {
			continue
		}
		k, ok := index[f.Rule]
		if !ok {
			k = len(list)
			index[f.Rule] = k
			list = append(list, nil)
		}
		list[k] = append(list[k], f)
	}
	return list
}

// hex is linear light as a colour of a screen (IEC 61966-2-1).
func hex(rgb scene.RGB) string {
	var b strings.Builder
	b.WriteByte('#')
	for _, v := range rgb {
		v = max(0, min(1, v))
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		fmt.Fprintf(&b, "%02x", int(math.Round(255*v)))
	}
	return b.String()
}

// nearWhite is the least part of a light from which it counts as nearly white, and stays
// brighter than the ground that it is drawn on. Ours, by eye.
const nearWhite = 0.3

// ink is the colour of light as it would be printed: its hue at full, neither black nor
// a lamp that dazzles.
func ink(rgb scene.RGB) string {
	top := max(rgb[0], rgb[1], rgb[2])
	if !(top > 0) || math.IsInf(top, 0) {
		return "#8a8272"
	}
	low := 1.0
	for i := range rgb {
		rgb[i] = max(0, rgb[i]/top)
		low = min(low, rgb[i])
	}
	if low > nearWhite {
		return hex(rgb)
	}
	for i := range rgb {
		rgb[i] = 0.075 + 0.7*rgb[i]
	}
	return hex(rgb)
}

// stops says a number of stops with its sign.
func stops(v float64) string { return picture.Signed(v, 1) }

func number(v *float64, digits int) string {
	if v == nil {
		return "unknown"
	}
	return picture.Say(*v, digits)
}

// clock says seconds of the evening as minutes.
func clock(s float64) string {
	m := int(s) / 60
	if rest := int(s) % 60; rest != 0 {
		return fmt.Sprintf("%d:%02d", m, rest)
	}
	return fmt.Sprintf("%d:00", m)
}

// list says a few words and counts the rest.
func list(words []string, most int) string {
	if len(words) <= most {
		return strings.Join(words, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(words[:most], ", "), len(words)-most)
}
