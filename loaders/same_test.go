package loaders

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"go/ast"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// sameShow compares what two shows say, wherever they stand.
var sameShow = cmp.Options{
	cmpopts.IgnoreTypes(source.Ref{}),
	cmpopts.IgnoreFields(schema.Show{}, "ReadFrom"),
	cmp.FilterPath(func(p cmp.Path) bool {
		field, ok := p.Last().(cmp.StructField)
		return ok && !ast.IsExported(field.Name())
	}, cmp.Ignore()),
	cmpopts.EquateEmpty(),
}

// writer writes cells in one of the ways that spreadsheets do.
type writer struct {
	comma    rune
	decimal  bool // a decimal comma
	crlf     bool
	encoding string
}

func (w writer) number(value any) string {
	text := strconv.FormatFloat(value.(float64), 'g', -1, 64)
	if w.decimal {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

func (w writer) cell(value any) string {
	switch v := value.(type) {
	case nil:
		return ""
	case string:
		return v
	case []any: // of names or colours
		var words []string
		for _, item := range v {
			if with, placed := item.(map[string]any); placed {
				var places []string
				for _, place := range with["places"].([]any) {
					places = append(places, place.(string))
				}
				item = with["intent"].(string) + ": " + strings.Join(places, ", ")
			}
			words = append(words, item.(string))
		}
		return strings.Join(words, "; ")
	default:
		return w.number(v)
	}
}

func (w writer) time(t *rapid.T, value any) string {
	seconds, ok := value.(float64)
	if !ok {
		return ""
	}
	if seconds >= 60 && seconds == math.Trunc(seconds) && rapid.Bool().Draw(t, "as minutes") {
		return fmt.Sprintf("%d:%02d", int(seconds)/60, int(seconds)%60)
	}
	return w.number(value)
}

func (w writer) write(t *rapid.T, path string, header []string, rows []map[string]string) {
	var b strings.Builder
	c := csv.NewWriter(&b)
	c.Comma, c.UseCRLF = w.comma, w.crlf
	_ = c.Write(header)
	for _, row := range rows {
		var record []string
		for _, column := range header {
			record = append(record, row[column])
		}
		_ = c.Write(record)
	}
	c.Flush()
	text := b.String()
	switch w.encoding {
	case "mark":
		text = "\xEF\xBB\xBF" + text
	case "UTF-16 LE":
		text = toUTF16(text, false)
	case "UTF-16 BE":
		text = toUTF16(text, true)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

var (
	drawName    = rapid.StringMatching(`[A-Za-zäß€][a-z "',0-9]{0,8}[a-z]`)
	drawPlace   = rapid.StringMatching(`[A-Za-zäß€][a-z "'0-9]{0,8}[a-z]`) // a comma stands between places
	drawWord    = rapid.SampledFrom([]string{"black", "sweep", "silhouette"})
	drawColour  = rapid.StringMatching(`#[0-9a-f]{6}`)
	drawNumber  = rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(0, 100_000).Draw(t, "n")) / 1000 })
	drawSeconds = rapid.OneOf(drawNumber, rapid.Map(rapid.IntRange(0, 9000), func(n int) float64 { return float64(n) }))
)

// optional draws a member, or leaves it out.
func optional[T any](t *rapid.T, into map[string]any, key string, draw *rapid.Generator[T]) {
	if rapid.Bool().Draw(t, key+" given") {
		into[key] = draw.Draw(t, key)
	}
}

func names(t *rapid.T, into map[string]any, key string, draw *rapid.Generator[string]) {
	if rapid.Bool().Draw(t, key+" given") {
		var items []any
		for _, item := range rapid.SliceOfN(draw, 1, 3).Draw(t, key) {
			items = append(items, item)
		}
		into[key] = items
	}
}

func meant(t *rapid.T, into map[string]any) {
	if !rapid.Bool().Draw(t, "meant given") {
		return
	}
	var items []any
	for _, word := range rapid.SliceOfN(drawWord, 1, 3).Draw(t, "meant") {
		if !rapid.Bool().Draw(t, "for places") {
			items = append(items, word)
			continue
		}
		var places []any
		for _, place := range rapid.SliceOfN(drawPlace, 1, 2).Draw(t, "places") {
			places = append(places, place)
		}
		items = append(items, map[string]any{"intent": word, "places": places})
	}
	into["meant"] = items
}

func point(t *rapid.T) map[string]any {
	return map[string]any{"x": -drawNumber.Draw(t, "x") - 1, "y": drawNumber.Draw(t, "y"), "z": drawNumber.Draw(t, "z")}
}

func aim(t *rapid.T, into map[string]any, key string) {
	switch rapid.IntRange(0, 2).Draw(t, key+" kind") {
	case 1:
		into[key] = drawName.Draw(t, key)
	case 2:
		into[key] = point(t)
	}
}

func drawFixture(t *rapid.T, channel int) map[string]any {
	f := map[string]any{"channel": float64(channel)}
	for _, key := range []string{"name", "type", "mode", "hung_on", "circuit"} {
		optional(t, f, key, drawName)
	}
	optional(t, f, "address", rapid.StringMatching(`[1-9][0-9]?\.[1-9][0-9]?`))
	optional(t, f, "purpose", rapid.SampledFrom([]string{"key", "back"}))
	optional(t, f, "zoom_deg", rapid.Map(drawNumber, func(n float64) float64 { return n + 1 }))
	optional(t, f, "white_k", rapid.Map(drawNumber, func(n float64) float64 { return n + 2000 }))
	names(t, f, "groups", drawName)
	if rapid.Bool().Draw(t, "hung") {
		f["hung_at"] = point(t)
	}
	aim(t, f, "aimed_at")
	if rapid.Bool().Draw(t, "cut") {
		var cuts []any
		for _, side := range rapid.SliceOfN(rapid.SampledFrom([]string{"top", "bottom", "left"}), 1, 3).Draw(t, "sides") {
			cut := map[string]any{"side": side}
			optional(t, cut, "depth_pct", drawNumber)
			optional(t, cut, "angle_deg", rapid.Map(drawNumber, func(n float64) float64 { return n/2 - 20 }))
			cuts = append(cuts, cut)
		}
		f["shutters"] = cuts
	}
	if rapid.Bool().Draw(t, "filtered") {
		filter := map[string]any{"name": drawName.Draw(t, "filter")}
		for _, key := range []string{"x", "y", "transmission"} {
			optional(t, filter, key, rapid.Map(drawNumber, func(n float64) float64 { return n / 128 }))
		}
		optional(t, filter, "shift_mired", drawNumber)
		optional(t, filter, "hue_deg", drawNumber)
		f["filter"] = filter
	}
	return f
}

var patchHeader = []string{
	"channel", "name", "address", "type", "mode", "purpose", "hung_on", "hung_x", "hung_y", "hung_z", "aimed_at", "aim_x", "aim_y", "aim_z", "zoom_deg",
	"shutters", "filter", "filter_x", "filter_y", "filter_transmission", "filter_shift_mired", "filter_hue_deg", "circuit", "groups", "white_k",
}

func (w writer) fixture(f map[string]any) map[string]string {
	row := map[string]string{}
	for key, value := range f {
		switch v := value.(type) {
		case map[string]any:
			prefix := map[string]string{"hung_at": "hung_", "aimed_at": "aim_", "filter": "filter_"}[key]
			for part, value := range v {
				row[prefix+part] = w.cell(value)
			}
			if key == "filter" {
				row["filter"] = row["filter_name"]
			}
		case []any:
			if key == "shutters" {
				var cuts []string
				for _, item := range v {
					cut := item.(map[string]any)
					text := cut["side"].(string)
					if depth, ok := cut["depth_pct"]; ok {
						text += " " + w.number(depth)
					}
					if angle, ok := cut["angle_deg"]; ok {
						text += "/" + w.number(angle)
					}
					cuts = append(cuts, text)
				}
				row[key] = strings.Join(cuts, "; ")
				continue
			}
			row[key] = w.cell(v)
		default:
			row[key] = w.cell(v)
		}
	}
	return row
}

func drawSetting(t *rapid.T) map[string]any {
	s := map[string]any{"channels": rapid.SampledFrom([]string{"1", "1-6,9", "all", "2;4-5"}).Draw(t, "channels")}
	switch rapid.IntRange(0, 3).Draw(t, "level kind") {
	case 1:
		s["level"] = drawNumber.Draw(t, "level")
	case 2:
		s["level"] = rapid.SampledFrom([]string{"Full", "full", "70%", "70.5 %"}).Draw(t, "level word")
	}
	optional(t, s, "white_k", rapid.Map(drawNumber, func(n float64) float64 { return n + 2000 }))
	for _, key := range []string{"hue_deg", "saturation_pct", "strobe_hz"} {
		optional(t, s, key, drawNumber)
	}
	optional(t, s, "zoom_deg", rapid.Map(drawNumber, func(n float64) float64 { return n + 1 }))
	optional(t, s, "pattern", drawName)
	optional(t, s, "wheel", drawName)
	aim(t, s, "aim")
	if rapid.Bool().Draw(t, "xy") {
		s["xy"] = []any{drawNumber.Draw(t, "x") / 128, drawNumber.Draw(t, "y") / 128}
	}
	if rapid.Bool().Draw(t, "mixed") {
		mix := map[string]any{}
		for _, name := range rapid.SliceOfN(rapid.StringMatching(`[a-z]{2,6}( [a-z]{2,4})?`), 1, 3).Draw(t, "mix") {
			mix[name] = drawNumber.Draw(t, "share")
		}
		s["mix"] = mix
	}
	if rapid.Bool().Draw(t, "effect") {
		effect := map[string]any{"kind": rapid.SampledFrom([]string{"chase", "pulse"}).Draw(t, "kind")}
		for _, key := range []string{"rate_hz", "duty_pct", "spread_pct", "low_pct", "high_pct"} {
			optional(t, effect, key, drawNumber)
		}
		s["effect"] = effect
	}
	return s
}

func drawCue(t *rapid.T, number int) map[string]any {
	c := map[string]any{"cue": rapid.SampledFrom([]string{"%d", "%d.5", "%d.25"}).Draw(t, "number")}
	c["cue"] = fmt.Sprintf(c["cue"].(string), number)
	for _, key := range []string{"at_s", "in_s", "out_s", "delay_s", "follow_s"} {
		optional(t, c, key, drawSeconds)
	}
	for _, key := range []string{"name", "segment", "note"} {
		optional(t, c, key, drawName)
	}
	for _, key := range []string{"people", "lead", "walks"} {
		names(t, c, key, drawPlace)
	}
	meant(t, c)
	optional(t, c, "tracking", rapid.SampledFrom([]string{"carry", "restate"}))
	optional(t, c, "part", rapid.SampledFrom([]float64{1, 2}))
	if n := rapid.IntRange(0, 3).Draw(t, "settings"); n > 0 {
		var set []any
		for range n {
			set = append(set, drawSetting(t))
		}
		c["set"] = set
	}
	if n := rapid.IntRange(0, 2).Draw(t, "screens"); n > 0 {
		var screens []any
		for range n {
			drive := map[string]any{"screen": drawName.Draw(t, "screen")}
			optional(t, drive, "drive_pct", drawNumber)
			optional(t, drive, "content_pct", drawNumber)
			optional(t, drive, "content", rapid.SampledFrom([]string{"dark", "bright"}))
			names(t, drive, "palette", drawColour)
			screens = append(screens, drive)
		}
		c["screens"] = screens
	}
	return c
}

var cueHeader = []string{
	"cue", "part", "name", "segment", "at_s", "in_s", "out_s", "delay_s", "follow_s", "tracking", "note", "people", "lead", "walks", "meant", "channels", "level", "white_k", "x", "y", "mix", "hue_deg", "saturation_pct",
	"aim", "aim_x", "aim_y", "aim_z", "zoom_deg", "strobe_hz", "pattern", "wheel", "effect", "effect_hz", "effect_duty", "effect_spread", "effect_low", "effect_high", "screen", "drive_pct", "palette", "content", "content_pct",
}

// cue writes a cue as rows; the head stands in the first of them or in all.
func (w writer) cue(t *rapid.T, c map[string]any) []map[string]string {
	settings, _ := c["set"].([]any)
	screens, _ := c["screens"].([]any)
	repeat := rapid.Bool().Draw(t, "head in every row")
	var rows []map[string]string
	for i := range max(1, len(settings), len(screens)) {
		row := map[string]string{}
		if i == 0 || repeat {
			for key, value := range c {
				switch {
				case key == "set" || key == "screens":
				case strings.HasSuffix(key, "_s"):
					row[key] = w.time(t, value)
				default:
					row[key] = w.cell(value)
				}
			}
		}
		if i < len(settings) {
			w.setting(row, settings[i].(map[string]any))
		}
		if i < len(screens) {
			for key, value := range screens[i].(map[string]any) {
				row[key] = w.cell(value)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func (w writer) setting(row map[string]string, s map[string]any) {
	for key, value := range s {
		switch v := value.(type) {
		case map[string]any:
			if key == "mix" {
				var parts []string
				for name, amount := range v {
					parts = append(parts, name+"="+w.number(amount))
				}
				sort.Strings(parts)
				row["mix"] = strings.Join(parts, " ")
				continue
			}
			for part, value := range v {
				column := map[string]string{
					"kind": "effect", "rate_hz": "effect_hz", "duty_pct": "effect_duty", "spread_pct": "effect_spread", "low_pct": "effect_low", "high_pct": "effect_high",
					"x": "aim_x", "y": "aim_y", "z": "aim_z",
				}[part]
				row[column] = w.cell(value)
			}
		case []any:
			row["x"], row["y"] = w.number(v[0]), w.number(v[1])
		default:
			row[key] = w.cell(v)
		}
	}
}

func drawSegment(t *rapid.T) map[string]any {
	s := map[string]any{"name": drawName.Draw(t, "segment")}
	optional(t, s, "kind", rapid.SampledFrom([]string{"song", "talk"}))
	optional(t, s, "start_cue", rapid.SampledFrom([]string{"1", "2.5"}))
	optional(t, s, "duration_s", drawSeconds)
	optional(t, s, "mood", rapid.SampledFrom([]string{"quiet", "loud"}))
	optional(t, s, "note", drawName)
	for _, key := range []string{"people", "lead", "walks"} {
		names(t, s, key, drawPlace)
	}
	meant(t, s)
	names(t, s, "palette", drawColour)
	return s
}

var orderHeader = []string{"name", "kind", "start_cue", "duration_s", "people", "mood", "palette", "note", "lead", "walks", "meant"}

// A show written as CSV and the same show written as JSON are the same show.
func TestCSVAndJSONSayTheSame(t *testing.T) {
	base := t.TempDir()
	count := 0
	rapid.Check(t, func(t *rapid.T) {
		count++
		folder := filepath.Join(base, strconv.Itoa(count))
		if err := os.Mkdir(folder, 0o755); err != nil {
			t.Fatal(err)
		}
		w := writer{
			comma:    rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "comma"),
			crlf:     rapid.Bool().Draw(t, "CR LF"),
			encoding: rapid.SampledFrom([]string{"", "mark", "UTF-16 LE", "UTF-16 BE"}).Draw(t, "encoding"),
		}
		w.decimal = w.comma != ',' && rapid.Bool().Draw(t, "decimal comma")
		var patch, cues, order []any
		var patchRows, cueRows, orderRows []map[string]string
		for i := range rapid.IntRange(1, 3).Draw(t, "fixtures") {
			fixture := drawFixture(t, i+1)
			patch = append(patch, fixture)
			patchRows = append(patchRows, w.fixture(fixture))
		}
		for i := range rapid.IntRange(1, 3).Draw(t, "cues") {
			cue := drawCue(t, i+1)
			cues = append(cues, cue)
			cueRows = append(cueRows, w.cue(t, cue)...)
		}
		for range rapid.IntRange(1, 3).Draw(t, "segments") {
			segment := drawSegment(t)
			order = append(order, segment)
			row := map[string]string{}
			for key, value := range segment {
				row[key] = w.cell(value)
			}
			row["duration_s"] = w.time(t, segment["duration_s"])
			orderRows = append(orderRows, row)
		}
		w.write(t, filepath.Join(folder, "patch.csv"), patchHeader, patchRows)
		w.write(t, filepath.Join(folder, "cues.csv"), cueHeader, cueRows)
		w.write(t, filepath.Join(folder, "order.csv"), orderHeader, orderRows)
		text, err := json.Marshal(map[string]any{"patch": patch, "cues": cues, "order": order})
		if err != nil {
			t.Fatal(err)
		}
		fromCSV, err := Load(folder, Options{})
		if err != nil {
			t.Fatal(err)
		}
		fromJSON, err := Load("-", Options{Stdin: strings.NewReader(string(text))})
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(fromJSON.Show, fromCSV.Show, sameShow); diff != "" {
			t.Fatalf("(-JSON +CSV):\n%s\n%s", diff, messages(fromCSV.Findings))
		}
		// And what is wrong with one is wrong with the other.
		if diff := cmp.Diff(rules(fromJSON), rules(fromCSV)); diff != "" {
			t.Fatalf("findings (-JSON +CSV):\n%s\n%s", diff, messages(fromCSV.Findings))
		}
	})
}

// rules counts the findings of each rule, but for what only files have.
func rules(r Result) map[string]int {
	count := map[string]int{}
	for _, f := range r.Findings {
		if f.Rule != "file/encoding" && f.Rule != "file/mixed-decimals" {
			count[f.Rule]++
		}
	}
	return count
}
