package table

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// level writes a level as its column has them. A column that counts in steps has no
// cell for what lies between two of them, and a value near by is not what was proved.
func (w *rowWriter) level(row int, column string, pct float64, as scale) (string, error) {
	const top = 255
	if as == percent || as == "" {
		return w.amount(row, column, pct), nil
	}
	if as == fraction {
		return w.decimal(column, rounded(pct/100)), nil
	}
	step := math.Round(pct / 100 * top)
	if back, _ := strconv.ParseFloat(numeric(step/top*100).text, 64); back != pct {
		return "", w.no("%s %% lies between two of the 255 steps in which it counts levels", format.Number(pct))
	}
	if as == hex {
		text := fmt.Sprintf("%02X", int(step))
		if old := w.text(row, column); old != "" && old == strings.ToLower(old) && strings.ContainsFunc(old, isLetterRune) {
			text = strings.ToLower(text)
		}
		return text, nil
	}
	return strconv.Itoa(int(step)), nil
}

// shareCells writes a part of a mix into the columns of its colours.
func (w *rowWriter) shareCells(row int, mix map[string]float64) ([]cellText, error) {
	var list []cellText
	written := 0
	for _, e := range w.emitters {
		share, has := mix[e.name]
		if !has {
			list = append(list, cellText{emitterKey(e.name), ""})
			continue
		}
		text, err := w.level(row, emitterKey(e.name), share, w.shares)
		if err != nil {
			return nil, err
		}
		written++
		list = append(list, cellText{emitterKey(e.name), text})
	}
	if written < len(mix) {
		return nil, w.no("the table has no column for a colour of the mix")
	}
	return list, nil
}

// byColour reports whether a field of a setting is told by a cell with one colour: its
// hue, or how much of it there is.
func (w *rowWriter) byColour(key string) bool {
	_, colour := w.Columns[colourColumn.name]
	_, own := w.Columns[key]
	f, known := schema.FieldOf(schema.OfSetting, key)
	return colour && !own && known && (f.Group == schema.Shade || f.Group == schema.Colour && f.Form == schema.AsDegrees)
}

// colour writes hue and saturation of a setting as one colour.
func (w *rowWriter) colour(row int, of reflect.Value) ([]cellText, error) {
	setting, ok := of.Interface().(schema.Setting)
	if !ok {
		return nil, w.no("a colour cannot be written here")
	}
	hue, saturation := setting.HueDeg, setting.SaturationPct
	if hue == nil && saturation == nil {
		return []cellText{{colourColumn.name, ""}}, nil
	}
	if hue != nil && saturation != nil {
		text := hexOf(*hue, *saturation)
		if h, s, ok := wheelOf(text); ok && h == *hue && s == *saturation {
			if old := w.text(row, colourColumn.name); len(old) == 6 && !strings.HasPrefix(old, "#") {
				text = text[1:]
			}
			return []cellText{{colourColumn.name, text}}, nil
		}
	}
	return nil, w.no("no colour of six hexadecimal digits is the new hue and saturation")
}

// hexOf is the brightest colour of a hue and a saturation, by the model of [wheelOf].
func hexOf(hue, saturation float64) string {
	part := func(n float64) int { // Smith 1978 in the form that needs no cases
		k := math.Mod(n+hue/60, 6)
		v := 1 - saturation/100*max(0, min(k, 4-k, 1))
		return int(math.Round(255 * min(max(v, 0), 1)))
	}
	return fmt.Sprintf("#%02x%02x%02x", part(5), part(3), part(1))
}

// inHeaderUnit is a number in the unit that the header names.
func (w *rowWriter) inHeaderUnit(column string, v float64) float64 {
	if factor := w.units[column]; factor > 0 {
		return rounded(v / factor)
	}
	return v
}

// wideSettings writes what a cue sets into the columns of its channels.
func (w *rowWriter) wideSettings(was, is *schema.Cue, first, last int) error {
	if first != last {
		return w.no("cue %s has several rows", was.Number)
	}
	before, err := w.levelsOf(was)
	if err != nil {
		return err
	}
	after, err := w.levelsOf(is)
	if err != nil {
		return err
	}
	for _, column := range w.wide {
		channel, _ := strconv.Atoi(column.channel)
		old, had := before[channel]
		level, has := after[channel]
		delete(after, channel)
		if had == has && old == level {
			continue
		}
		if column.index >= len(w.Rows[first].Cells) {
			return w.no("the row ends before its column of channel %d", channel)
		}
		text := ""
		if has {
			key := "channel " + column.channel
			w.Columns[key] = column.index
			if text, err = w.level(first, key, level, w.levels); err != nil {
				return err
			}
		}
		w.cells[[2]int{first, column.index}] = text
	}
	for channel := range after {
		return w.no("the table has no column for channel %d", channel)
	}
	return nil
}

// levelsOf are the levels that a cue sets, by channel. Such a table has room for
// nothing else.
func (w *rowWriter) levelsOf(cue *schema.Cue) (map[int]float64, error) {
	levels := map[int]float64{}
	for _, setting := range cue.Set {
		for f := range setting.Values() {
			if f.Key != "level" {
				return nil, w.no("the table has no column %s", f.Key)
			}
		}
		channels, err := w.change.Before.Channels(setting.Channels)
		if err != nil {
			return nil, w.no("the channels of a setting cannot be read")
		}
		unpatched := w.change.Before.Unpatched(setting.Channels)
		for _, channel := range append(unpatched.First(MaxColumns+1), channels...) {
			if setting.Level != nil {
				levels[channel] = float64(*setting.Level)
			} else {
				delete(levels, channel)
			}
		}
	}
	return levels, nil
}
