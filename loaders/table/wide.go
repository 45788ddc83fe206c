package table

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// wideColumn is a column of levels for one channel, named by its header.
type wideColumn struct {
	index   int
	channel string
}

// emitterColumn is a column of one colour of a mix.
type emitterColumn struct {
	index int
	name  string
}

var (
	channelHeader = regexp.MustCompile(`^(?i)(?:ch|chan|channel|dim|dimmer|fix|fixture|unit|c|k)?[\s._#-]*0*([1-9][0-9]{0,4})$`)
	labelledFront = regexp.MustCompile(`^(?i)(?:ch|chan|channel)?[\s._#-]*0*([1-9][0-9]{0,4})(?:\s*[-:–/]\s*|\s+)[\pL(].*$`)
	labelledBack  = regexp.MustCompile(`^.*\((?i:ch|chan|channel)?[\s.]*0*([1-9][0-9]{0,4})\)$`)
)

// channelOf returns the channel that a header names: "12", "Ch 12", "12 key left" or
// "key left (12)"; "" if it names none.
func channelOf(header string) string {
	header = trim(header)
	if len(header) > 100 {
		return ""
	}
	for _, form := range []*regexp.Regexp{channelHeader, labelledFront, labelledBack} {
		if m := form.FindStringSubmatch(header); m != nil {
			return m[1]
		}
	}
	return ""
}

// emitterNames are columns that are emitters of a mix, by their folded names.
var emitterNames = map[string]string{
	"red": "red", "green": "green", "blue": "blue", "amber": "amber", "lime": "lime", "mint": "mint", "cyan": "cyan", "magenta": "magenta", "yellow": "yellow",
	"indigo": "indigo", "violet": "violet", "uv": "violet", "white": "white", "warmwhite": "warm", "coolwhite": "cool", "warm": "warm", "cool": "cool",
	"colourred": "red", "colourgreen": "green", "colourblue": "blue", "colorred": "red", "colorgreen": "green", "colorblue": "blue",
}

// letterNames are emitters by one letter, where red, green and blue all stand so.
var letterNames = map[string]string{"r": "red", "g": "green", "b": "blue", "w": "white", "a": "amber", "l": "lime", "uv": "violet"}

// emitterOf returns the emitter that a header of a cue table names; headers are all
// of the table, folded: white is an emitter beside red, green and blue, and else a
// kelvin.
func emitterOf(word string, headers map[string]bool) string {
	word = strings.TrimSuffix(word, "pct")
	if headers["r"] && headers["g"] && headers["b"] {
		if name := letterNames[word]; name != "" {
			return name
		}
	}
	name := emitterNames[word]
	if (name == "white" || name == "warm" || name == "cool") && !(headers["red"] && headers["green"] && headers["blue"] || headers["r"] && headers["g"] && headers["b"]) {
		return ""
	}
	return name
}

// takeColumn takes a header that is no column of the section by its name: a channel
// or an emitter.
func (s *sheet) takeColumn(i int) bool {
	if s.table.section != "cues" {
		return false
	}
	header := s.headers[i]
	if name := emitterOf(foldCell(header), s.words); name != "" {
		s.emitters = append(s.emitters, emitterColumn{i, name})
		return true
	}
	if s.long {
		return false
	}
	channel := channelOf(header.text)
	if channel == "" {
		return false
	}
	for _, w := range s.wide {
		if w.channel == channel {
			s.in.Say("column-twice", finding.Finding{
				Level: finding.Error, Consequence: finding.Dark,
				Subjects: []finding.Subject{{Kind: "column", Name: channel}, s.in.Subject(s.file)},
				Message:  fmt.Sprintf("%q and %q are both channel %s; the first is used.", source.Shorten(s.headers[w.index].text), source.Shorten(header.text), channel),
				Place:    s.place(header),
				Related:  []finding.Related{{Message: "this one is used", Place: s.place(s.headers[w.index])}},
			})
			return true
		}
	}
	s.wide = append(s.wide, wideColumn{i, channel})
	return true
}

// wideSettings writes a setting for each cell in a column of a channel. A blank cell
// says nothing: the channel stays as it is.
func (r *cueRows) wideSettings() {
	for _, w := range r.wide {
		if w.index >= len(r.row) || r.row[w.index].text == "" {
			continue
		}
		c, header := r.row[w.index], r.headers[w.index]
		if strings.Trim(c.text, nothing) == "" { // a dash or dots, for nothing
			continue
		}
		level, complaint := asLevel(r.sheet, c)
		if complaint != "" {
			r.sayAbout("bad-cell", "channel "+w.channel, c.start, c.stop,
				fmt.Sprintf("%q in the column %q %s.", source.Shorten(c.text), source.Shorten(header.text), complaint), finding.Error, finding.Dark)
			continue
		}
		r.openSet()
		r.build.Begin(source.Object, c.start)
		r.build.Key("channels", header.start, header.stop)
		r.build.Scalar(source.String, w.channel, header.start, header.stop)
		r.build.Key("level", header.start, header.stop)
		r.scalar(level, c)
		r.build.End(c.stop)
	}
}

// emitterShares collects the emitters of a row as parts of its mix.
func (s *sheet) emitterShares() (list []share) {
	for _, e := range s.emitters {
		if e.index < len(s.row) && s.row[e.index].text != "" {
			name := s.headers[e.index]
			name.text = e.name
			list = append(list, share{name, s.row[e.index]})
		}
	}
	return list
}

// colourWords are colours by their usual names, as degrees of the colour wheel and
// percent of saturation.
var colourWords = map[string][2]float64{
	"red": {0, 100}, "orange": {30, 100}, "amber": {40, 100}, "yellow": {60, 100}, "lime": {80, 100}, "green": {120, 100}, "cyan": {180, 100}, "turquoise": {175, 100},
	"blue": {240, 100}, "lavender": {265, 45}, "purple": {280, 100}, "violet": {275, 100}, "magenta": {300, 100}, "pink": {330, 60}, "white": {0, 0},
}

// wheelOf reads a colour cell: #rrggbb, rrggbb, #rgb, or a name.
func wheelOf(text string) (hue, saturation float64, ok bool) {
	text = strings.ToLower(trim(text))
	if c, named := colourWords[text]; named {
		return c[0], c[1], true
	}
	digits := strings.TrimPrefix(strings.TrimPrefix(text, "#"), "0x")
	if len(digits) == 3 && strings.HasPrefix(text, "#") {
		digits = string([]byte{digits[0], digits[0], digits[1], digits[1], digits[2], digits[2]})
	}
	n, err := strconv.ParseUint(digits, 16, 32)
	if err != nil || len(digits) != 6 {
		return 0, 0, false
	}
	r, g, b := float64(n>>16&255)/255, float64(n>>8&255)/255, float64(n&255)/255
	most, least := max(r, g, b), min(r, g, b)
	if most == least {
		return 0, 0, true
	}
	// The hexagonal model of hue and saturation (Smith 1978, SIGGRAPH 12(3), p. 12).
	switch span := most - least; most {
	case r:
		hue = math.Mod((g-b)/span+6, 6)
	case g:
		hue = (b-r)/span + 2
	default:
		hue = (r-g)/span + 4
	}
	return math.Round(hue*600) / 10, math.Round(1000*(most-least)/most) / 10, true
}

// colourCell writes a cell with one colour as hue and saturation.
func (r *cueRows) colourCell() {
	c, ok := r.get("colour")
	if !ok || schema.NoColour(c.text) {
		return
	}
	hue, saturation, ok := wheelOf(c.text)
	if !ok {
		r.bad("colour", c, `is not a colour such as #ff8800, or a name such as blue`)
		return
	}
	header := r.headers[r.columns["colour"]]
	r.build.Key("hue_deg", header.start, header.stop)
	r.scalar(numeric(hue), c)
	r.build.Key("saturation_pct", header.start, header.stop)
	r.scalar(numeric(saturation), c)
}
