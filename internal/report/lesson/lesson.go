// Package lesson writes exercises for people who learn: pictures without a verdict,
// questions with room for answers, hints that open one after the other; and, on a sheet of
// its own, the answers.
//
// In go exercises whose shows have a scene, out comes a page that asks nothing of any other
// place. A newcomer's mistake would be to let a finding into it: who reads the verdict
// first never looks.
package lesson

import (
	_ "embed" // style and template
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/report/frame"
	"github.com/cueproof/cueproof/internal/report/say"
)

//go:embed lesson.css
var style string

//go:embed lesson.html
var text string

var page = sync.OnceValue(func() *template.Template { return template.Must(template.New("lesson").Parse(text)) })

// Exercise is one copy of a show with faults in it.
type Exercise struct {
	Folder string        // as the learner finds it
	Show   *outcome.Show // with its scene; what was found in it is not drawn
	Faults []Fault
}

// Fault is one that was put in.
type Fault struct {
	Hints []string // the first gives away least
	Title string   // of its rule
	Where string
	Says  string
	Parts []Part // what, why, how to put it right, how to keep it from coming back
}

// Part is a part of an explanation.
type Part struct{ Word, Text string }

// wide is how wide pictures are drawn: the width of a side of paper between its margins.
const wide = 690

type sheet struct {
	Head    template.HTML
	Title   string
	Answers bool
	Rows    []row
}

type face struct {
	Of      string
	Picture template.HTML
}

type row struct {
	Number   int
	Exercise Exercise
	Strip    template.HTML
	Evening  template.HTML
	Faces    []face
	Count    string
}

// Write writes exercises as one page, or their answers as another.
func Write(w io.Writer, title string, list []Exercise, answers bool) error {
	s := sheet{Head: frame.Head(picture.Palette+picture.Style+style, "", false), Title: title, Answers: answers}
	for i, e := range list {
		r := row{Number: i + 1, Exercise: clean(e), Count: say.Count(len(e.Faults), "fault")}
		if !answers && e.Show != nil && e.Show.Scene != nil {
			r.draw(fmt.Sprintf("e%d", i+1))
		}
		s.Rows = append(s.Rows, r)
	}
	if err := page().Execute(w, s); err != nil {
		return fmt.Errorf("lay out the exercises: %w", err)
	}
	return nil
}

// draw draws what somebody would see, without what was found.
func (r *row) draw(id string) {
	scene := r.Exercise.Show.Scene
	if len(scene.Cues) > 0 {
		two := func(name string, drawn func(w float64) *picture.Pic) template.HTML {
			return `<div class="wide">` + inline(drawn(wide), id+name) + `</div><div class="narrow">` + inline(drawn(draw.Narrow), id+name+"-narrow") + `</div>`
		}
		r.Evening = two("-evening", func(w float64) *picture.Pic { return draw.Evening(scene, nil, w) })
		r.Strip = two("-strip", func(w float64) *picture.Pic { return draw.Strip(scene, w) })
	}
	const most = 6
	for i := range scene.Faces {
		f := &scene.Faces[i]
		if len(f.Missing) > 0 || len(r.Faces) == most {
			continue
		}
		name := fmt.Sprintf("%s-face%d", id, i)
		cue := scene.Cues[f.Cue].Number
		r.Faces = append(r.Faces, face{say.OneLine(f.Place + ", cue " + cue), inline(draw.Face(f, cue, name, "", false), name)})
	}
}

func inline(p *picture.Pic, id string) template.HTML {
	return template.HTML(p.Inline(id, "pic")) //nolint:gosec // its words passed the door of package picture
}

// clean makes words from a show fit for a page.
func clean(e Exercise) Exercise {
	e.Folder = say.OneLine(e.Folder)
	faults := make([]Fault, len(e.Faults))
	for i, f := range e.Faults {
		f.Where, f.Says, f.Title = say.OneLine(f.Where), say.OneLine(f.Says), say.OneLine(f.Title)
		parts := make([]Part, len(f.Parts))
		for j, part := range f.Parts {
			parts[j] = Part{part.Word, strings.TrimSpace(say.OneLine(part.Text))}
		}
		f.Parts = parts
		faults[i] = f
	}
	e.Faults = faults
	return e
}
