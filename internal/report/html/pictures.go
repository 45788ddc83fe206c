package html

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/draw"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/picture"
	"github.com/cueproof/cueproof/internal/scene"
	"github.com/cueproof/cueproof/internal/spelling"
)

// figureID is what the figure of all heads is kept under.
const figureID = "k"

// thinner are how many looks of the stage, faces, rows of a table, universes, orders and
// explanations a page has, and whether it has the strip of all looks: from the usual to
// the least, which always fits.
var thinner = []struct {
	stages, faces, rows, universes, orders, reasons int
	strip                                           bool
}{{2, 24, 400, 40, 200, 60, true}, {2, 12, 150, 12, 100, 30, true}, {1, 4, 60, 4, 60, 10, false}, {1, 0, 20, 1, 30, 3, false}}

// left counts what a page lost to stay small; # stands for the number.
func (s *show) left(n int, what string) {
	if n > 0 {
		s.LeftOut = append(s.LeftOut, "To keep the page small, "+strings.Replace(what, "#", fmt.Sprint(n), 1)+" left out.")
	}
}

func (s *show) pictures(told *outcome.Show, thin int) {
	sc, most := told.Scene, thinner[thin]
	if len(sc.Cues) > 0 {
		bites := draw.Bites(told)
		lead := "Along the running order: where the light of the picture is quiet and loud, what the faces get, which hues stand, what hangs in the air."
		if sc.EndS == nil {
			lead += " Nobody says when the cues are, so they stand side by side."
		}
		s.add("evening", "The evening", lead, s.three("evening", "The evening as a table", func(w float64) *picture.Pic { return draw.Evening(sc, bites, w) }, most.rows)+names(sc)+key(bites))
	}
	s.stage(sc, most.stages, most.rows)
	s.faces(sc, most.faces)
	s.left(max(0, len(sc.Stages)-most.stages), "the stage in # looks is")
	s.left(max(0, len(sc.Faces)-most.faces), "# faces are")
	if !most.strip {
		s.left(1, "the strip of all looks is")
	} else if len(sc.Cues) > 0 {
		s.add("strip", "All looks, side by side", "Height: the light of the picture in stops. Filling: hues by share. Stroke below: faces from the dimmest to the brightest, the thin line is what the cameras want. Number: the screen that is most over the dimmest face, in stops, and a line for as long as it stays.",
			s.three("strip", "", func(w float64) *picture.Pic { return draw.Strip(sc, w) }, 0))
	}
	s.addresses(sc, most.universes)
}

func (s *show) add(id, heading, lead string, body template.HTML) {
	s.Pictures = append(s.Pictures, section{s.Prefix + id, heading, text(lead), body})
}

// three draws a picture for each width, of which style shows one, with its table behind
// it, which says what it is about; of a table at most so many rows, none for 0.
func (s *show) three(id, about string, draw_ func(w float64) *picture.Pic, rows int) template.HTML {
	var b strings.Builder
	b.WriteString("<figure>")
	var table picture.Table
	for i, w := range draw.Widths {
		p := draw_(w)
		fmt.Fprintf(&b, `<div class="w%d">%s</div>`, len(draw.Widths)-i, p.Inline(fmt.Sprintf("%s%s-%d", s.Prefix, id, len(draw.Widths)-i), "pic"))
		table = p.Table
	}
	b.WriteString("</figure>")
	return safe(b.String()) + tableOf(table, rows, about)
}

// two draws a picture for a wide and a narrow page.
func (s *show) two(id string, draw_ func(w float64) *picture.Pic) template.HTML {
	wide, narrow := draw_(draw.Middle), draw_(draw.Narrow)
	return safe(fmt.Sprintf(`<figure><div class="wx">%s</div><div class="w1">%s</div></figure>`, wide.Inline(s.Prefix+id+"-2", "pic"), narrow.Inline(s.Prefix+id+"-1", "pic")))
}

// tableOf folds a table.
func tableOf(t picture.Table, most int, summary string) template.HTML {
	if most == 0 || len(t.Rows) == 0 {
		return ""
	}
	var b strings.Builder
	esc := func(words string) string { return template.HTMLEscapeString(text(words)) }
	fmt.Fprintf(&b, `<details class="tbl"><summary>%s</summary><div class="tw" tabindex="0" role="group" aria-label="%s"><table><thead><tr>`, esc(summary), esc(summary))
	for _, head := range t.Head {
		if head == "" {
			b.WriteString(`<td></td>`)
			continue
		}
		fmt.Fprintf(&b, `<th scope="col">%s</th>`, esc(head))
	}
	b.WriteString("</tr></thead><tbody>")
	for i, row := range t.Rows {
		if i == most {
			break
		}
		b.WriteString("<tr>")
		for k, cell := range row {
			if k == 0 {
				fmt.Fprintf(&b, `<th scope="row">%s</th>`, esc(cell))
			} else {
				fmt.Fprintf(&b, "<td>%s</td>", esc(cell))
			}
		}
		b.WriteString("</tr>")
	}
	b.WriteString("</tbody></table></div>")
	if left := len(t.Rows) - most; left > 0 {
		fmt.Fprintf(&b, "<p>and %d more rows: cueproof measure has them</p>", left)
	}
	b.WriteString("</details>")
	return safe(b.String())
}

// names lists the running order for a narrow page, whose picture has only its numbers.
func names(sc *scene.Scene) template.HTML {
	var b strings.Builder
	b.WriteString(`<ol class="names">`)
	for _, segment := range sc.Segments {
		fmt.Fprintf(&b, "<li><bdi>%s</bdi></li>", template.HTMLEscapeString(text(segment.Name)))
	}
	b.WriteString("</ol>")
	if len(sc.Segments) == 0 {
		return ""
	}
	return safe(b.String())
}

// shapeWords say what the marks mean.
var shapeWords = []string{"someone could be hurt", "goes dark or cannot run", "wrong on camera", "wrong in the room", "trips us up later"}

func key(bites []draw.Bite) template.HTML {
	if len(bites) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString(`<ul class="key">`)
	for shape, words := range shapeWords {
		if slices.ContainsFunc(bites, func(bite draw.Bite) bool { return bite.Shape == picture.Shape(shape) }) {
			fmt.Fprintf(&b, "<li>%s%s</li>", picture.Sign(picture.Shape(shape), true, "").Bare("sign"), words)
		}
	}
	fmt.Fprintf(&b, "<li>%sopen: a person decides</li></ul>", picture.Sign(picture.Disc, false, "").Bare("sign"))
	return safe(b.String())
}

func (s *show) stage(sc *scene.Scene, most, rows int) {
	if sc.Room == nil {
		if len(sc.Cues) > 0 {
			s.add("stage", "The stage", "It cannot be drawn: give "+strings.Join(sc.NoRoom, ", and ")+".", "")
		}
		return
	}
	if len(sc.Stages) == 0 {
		return
	}
	var body template.HTML
	for i := range sc.Stages[:min(most, len(sc.Stages))] {
		st := &sc.Stages[i]
		cue := sc.Cues[st.Cue]
		title := text(fmt.Sprintf("Cue %s, %s", cue.Number, cue.Name))
		if cue.Name == "" {
			title = text("Cue " + cue.Number)
		}
		if cue.Segment >= 0 {
			title = text(title + ", in " + sc.Segments[cue.Segment].Name)
		}
		id := fmt.Sprintf("stage-%d", i+1)
		kept := s.Prefix + id + "-kept"
		body += safe(draw.StageShapes(sc, st, kept).Hidden())
		table := tableOf(draw.Stage(sc, st, draw.Narrow, kept).Table, rows, "Light on each person, cue "+cue.Number)
		if i == 0 {
			body += safe("<h3>"+template.HTMLEscapeString(title)+"</h3>") + s.three(id, "", func(w float64) *picture.Pic { return draw.Stage(sc, st, w, kept) }, 0) + stageKey(sc) + table
			continue
		}
		if i == 1 {
			body += `<div class="looks">`
		}
		body += safe("<details><summary>"+template.HTMLEscapeString(title)+"</summary>") + s.two(id, func(w float64) *picture.Pic { return draw.Stage(sc, st, w, kept) }) + table + "</details>"
	}
	if min(most, len(sc.Stages)) > 1 {
		body += "</div>"
	}
	lead := "Lines join places where a face would get the same light, each with twice the lux of the next. A thin line is where a lamp points; its dot has the colour of the light and stands on the side that it comes from."
	if sc.Room.Unplaced > 0 {
		lead += fmt.Sprintf(" %d lamps are not drawn: nobody says where they hang.", sc.Room.Unplaced)
	}
	s.add("stage", "The stage", lead, body)
}

// stageKey says what the signs of the stage mean.
func stageKey(sc *scene.Scene) template.HTML {
	item := func(words string, draw_ func(p *picture.Pic)) string {
		p := picture.New(24, 24)
		draw_(p)
		return "<li>" + p.Bare("sign") + words + "</li>"
	}
	cut := false
	for i := range sc.Stages {
		cut = cut || slices.ContainsFunc(sc.Stages[i].Lamps, func(l scene.Lamp) bool { return l.Lit && l.Cut })
	}
	text := `<ul class="key">` +
		item("lamp, lit, with its channel", func(p *picture.Pic) { p.Dot(12, 12, "lamp") }) +
		item("lamp, dark", func(p *picture.Pic) { p.Dot(12, 12, "lampo"); p.Dot(12, 12, "lampi") }) +
		item("person, the point faces where they face; the bow is light from behind", func(p *picture.Pic) {
			p.Path(new(picture.Path).Move(7, 14).Line(12, 22).Line(17, 14).Close(), "pers")
			p.Circle(12, 11, 6, "pers")
			p.Path(new(picture.Path).Move(5, 5).Curve(12, 0, 19, 5), "rim")
		}) +
		item("no light from behind before something dark", func(p *picture.Pic) {
			p.Circle(12, 14, 6, "pers")
			p.Path(new(picture.Path).Move(5, 8).Curve(12, 2, 19, 8), "norim")
		}) +
		item("place, empty in this cue", func(p *picture.Pic) { p.Circle(12, 12, 6, "off") })
	if cut {
		text += item("shutter in", func(p *picture.Pic) { p.Dot(8, 12, "lamp"); p.Line(15, 6, 15, 18, "cutm") })
	}
	text += item("camera; broken lines: what it sees", func(p *picture.Pic) {
		p.Path(new(picture.Path).Move(12, 20).Line(12, 6).Move(8, 11).Line(12, 5).Line(16, 11).Move(6, 20).Line(18, 20), "cam")
	})
	return safe(text + "</ul>")
}

// sinks tells whether a face sinks into what is behind it: that is more than three and a half stops darker, and from behind comes
// less than a tenth of the light on the face (common practice, no source).
func sinks(f *scene.Face) bool {
	const dark, rim = -3.5, 0.1
	return f.Stops != nil && *f.Stops < dark && f.Ratio != nil && *f.Ratio < rim
}

func (s *show) faces(sc *scene.Scene, most int) {
	if len(sc.Faces) == 0 || most == 0 {
		return
	}
	var b strings.Builder
	b.WriteString(`<div class="faces">`)
	esc := func(words string) string { return template.HTMLEscapeString(text(words)) }
	others := false
	for i := range sc.Faces[:min(most, len(sc.Faces))] {
		f := &sc.Faces[i]
		cue := sc.Cues[f.Cue].Number
		id := fmt.Sprintf("%sf%d", s.Prefix, i+1)
		fmt.Fprintf(&b, `<div>%s<h3><bdi>%s</bdi>, cue %s</h3>`, draw.Face(f, cue, id, figureID, false).Inline(id, "face"), esc(f.Place), esc(cue))
		row := func(name, words string, bad bool) {
			class := ""
			if bad {
				class = ` class="bad"`
			}
			fmt.Fprintf(&b, "<dt>%s</dt><dd%s>%s</dd>", name, class, esc(words))
		}
		b.WriteString("<dl>")
		if len(f.Missing) > 0 {
			row("light", "unknown: give "+strings.Join(f.Missing[:min(2, len(f.Missing))], ", and "), false)
			b.WriteString("</dl></div>")
			continue
		}
		light := number(math.Round(f.Lux)) + " lx"
		bad := false
		if f.Wanted != nil && f.Lux > 0 {
			over := math.Log2(f.Lux / *f.Wanted)
			light = fmt.Sprintf("%s of %s lx, %s stops", number(math.Round(f.Lux)), number(math.Round(*f.Wanted)), stops(over))
			bad = sc.Limits.FaceUnder != nil && math.Abs(over) > *sc.Limits.FaceUnder
		}
		row("light", light, bad)
		switch {
		case f.Kelvin == nil:
			row("colour", "no white", false)
		case f.CameraK != nil:
			mired := math.Abs(1e6 / *f.Kelvin - 1e6 / *f.CameraK)
			row("colour", fmt.Sprintf("%s K, camera %s", picture.Kelvin(*f.Kelvin), number(*f.CameraK)), sc.Limits.WhiteMired != nil && mired > *sc.Limits.WhiteMired)
		default:
			row("colour", picture.Kelvin(*f.Kelvin)+" K", false)
		}
		behind := number(math.Round(f.BackLux)) + " lx"
		row("behind", behind, sinks(f))
		if f.Backdrop != "" {
			words := f.Backdrop
			if f.Stops != nil {
				words += ", " + stops(*f.Stops) + " stops"
			} else {
				words += ", unknown"
			}
			row("backdrop", words, false)
		} else {
			row("backdrop", "unknown", false)
		}
		row("seen by", cmp.Or(f.Camera, "unknown"), false)
		b.WriteString("</dl>")
		var more []string
		if clips := draw.Clips(f); len(clips) > 0 {
			more = append(more, spelling.Capital(strings.Join(clips, "; "))+".")
		}
		if n := len(f.Cues); n > 1 {
			var list []string
			for _, at := range f.Cues[1:] {
				list = append(list, sc.Cues[at].Number)
			}
			more = append(more, "The same in cues "+strings.Join(list[:min(8, len(list))], ", ")+".")
		}
		if len(f.Rests) > 0 {
			more = append(more, "Rests on "+f.Rests[0]+".")
		}
		if len(f.Others) > 0 {
			others = true
			more = append(more, fmt.Sprintf("Framed: through %s, set to %s K.", f.Others[0].Camera, number(f.Others[0].White)))
		}
		if len(more) > 0 {
			fmt.Fprintf(&b, "<p>%s</p>", esc(strings.Join(more, " ")))
		}
		b.WriteString("</div>")
	}
	b.WriteString("</div>")
	lead := "A head of no person, lit from the directions, with the lux and the colours that were computed, through the white and the exposure of the camera named, before what that camera sees behind it. Below: light, medium and dark skin."
	if others {
		lead += " The framed one is what another camera makes of the same light."
	}
	lead += " Hatching at the top: the background burns out; at the foot: it is black. It is a sketch; look at the stream itself."
	s.add("faces", "A face as a camera sees it", lead, safe(b.String()))
}

func stops(v float64) string { return picture.Signed(v, 1) }

func (s *show) addresses(sc *scene.Scene, most int) {
	var body template.HTML
	n := 0
	for i := range sc.Universes {
		u := &sc.Universes[i]
		if !u.Clash {
			continue
		}
		if n++; n > most {
			continue
		}
		body += safe(fmt.Sprintf("<h3>Universe %d</h3>", u.Number)) + s.two(fmt.Sprintf("universe-%d", u.Number), func(w float64) *picture.Pic { return draw.Addresses(u, w) }) + tableOf(draw.Addresses(u, draw.Narrow).Table, 60, fmt.Sprintf("Universe %d as a table", u.Number))
	}
	s.left(max(0, n-most), "# universes with a clash are")
	if n > 0 {
		s.add("addresses", "Addresses that clash", "A block is one fixture, as wide as the slots that it listens to. Above: now; below: when the orders are done.", body)
	}
}
