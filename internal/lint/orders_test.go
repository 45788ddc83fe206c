package lint

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/draws"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// judgementFolder holds evenings, changes to each, and what an experienced person
// says of them; see its ABOUT.md.
const judgementFolder = "../../testdata/judgement"

// practice is one case of the yardstick, as far as it is about orders.
type practice struct {
	Name     string `json:"-"` // of the evening and the case
	base     []byte
	Practice string
	Patch    json.RawMessage
	Right    []wanted `json:"right_orders"`
	Wrong    []wanted `json:"wrong_orders"`
}

// practices reads the cases of all evenings.
func practices(t *testing.T) (list []practice) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(judgementFolder, "*", "cases", "*.json"))
	if err != nil || len(names) == 0 {
		t.Fatalf("%d cases: %v", len(names), err)
	}
	for _, name := range names {
		evening := filepath.Dir(filepath.Dir(name))
		p := practice{Name: filepath.Base(evening) + "/" + strings.TrimSuffix(filepath.Base(name), ".json")}
		var text []byte
		if text, err = os.ReadFile(name); err == nil {
			err = json.Unmarshal(text, &p)
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if p.base, err = os.ReadFile(filepath.Join(evening, "base.json")); err != nil {
			t.Fatal(err)
		}
		list = append(list, p)
	}
	return list
}

// wanted is an order that a good colleague would give, or one that would do harm.
type wanted struct {
	What, Key, Toward, Cue string
	Names                  []string
	Value                  any
}

// fits reports whether an edit is such an order: it changes the same key of one of
// the same things, there, in the same direction.
func (w *wanted) fits(e *outcome.Edit, groups *schema.Show) bool {
	if !alikeKeys(w.Key, e.Key) || w.Cue != "" && w.Cue != e.Cue {
		return false
	}
	switch { // the same change, named by where it stands
	case w.What == "segment" && e.Segment != "":
		e = &outcome.Edit{What: w.What, Names: []string{e.Segment}, Key: e.Key, From: e.From, To: e.To}
	case w.What == "cue" && e.What == "channels" && e.Cue != "":
		e = &outcome.Edit{What: w.What, Names: []string{e.Cue}, Key: e.Key, From: e.From, To: e.To}
	case w.What != e.What:
		return false
	}
	if !shares(w.Names, e.Names, w.What == "channels", groups) {
		return false
	}
	from, hasFrom := numberOf(e.From)
	to, hasTo := numberOf(e.To)
	switch w.Toward {
	case "up":
		return hasTo && (!hasFrom && to != 0 || hasFrom && to > from) // where nobody says from what, nought is down
	case "down":
		return !hasTo && e.To == nil || hasTo && (!hasFrom || to < from)
	}
	if w.Key == "effect" { // of an effect, that it stops or how it runs
		return (e.To == nil) == (w.Value == nil || fmt.Sprint(w.Value) == "none")
	}
	switch value := w.Value.(type) {
	case nil:
		return true
	case float64:
		const close = 0.25 // of the value: one close to it is as good
		return hasTo && math.Abs(to-value) <= max(1, close*math.Abs(value))
	case map[string]any: // a point, or a mix of colours
		var at schema.Point
		if read, _ := fmt.Sscanf(fmt.Sprint(e.To), "x %g, y %g, z %g", &at.X, &at.Y, &at.Z); read < 3 {
			return !slices.Contains(addressed, e.Key)
		}
		axis := func(name string) float64 { number, _ := value[name].(float64); return number }
		const close = 0.5 // m: nobody aims a beam closer by hand
		return math.Hypot(math.Hypot(at.X-axis("x"), at.Y-axis("y")), at.Z-axis("z")) <= close
	default:
		text := fmt.Sprint(value)
		if slices.Contains(addressed, e.Key) {
			return text == fmt.Sprint(e.To)
		}
		return true // a word describes the kind of value
	}
}

// addressed are keys of which a word is the very value.
var addressed = []string{"address", "type", "aimed_at", "aim", "tracking", "meant"}

// alikeKeys reports whether two keys tell the same: a colour, an aim, or, of a cue, a
// setting of it that is taken out by its channels.
func alikeKeys(a, b string) bool {
	colour := []string{"mix", "hue_deg", "xy", "saturation_pct"}
	aims := []string{"aim", "aimed_at"}
	return a == b || a == "set" && b == "channels" || slices.Contains(colour, a) && slices.Contains(colour, b) || slices.Contains(aims, a) && slices.Contains(aims, b)
}

// numberOf is a value as a number; of a point it is its height.
func numberOf(value any) (float64, bool) {
	switch value := value.(type) {
	case float64:
		return value, true
	case string:
		var at schema.Point
		if read, _ := fmt.Sscanf(value, "x %g, y %g, z %g", &at.X, &at.Y, &at.Z); read == 3 {
			return at.Z, true
		}
		number, err := strconv.ParseFloat(value, 64)
		return number, err == nil
	}
	return 0, false
}

func shares(want, have []string, channels bool, show *schema.Show) bool {
	if !channels {
		return slices.ContainsFunc(want, func(name string) bool { return slices.Contains(have, name) })
	}
	expand := func(names []string) map[int]bool {
		set := map[int]bool{}
		for _, name := range names {
			list, _ := show.Channels(name)
			for _, channel := range list {
				set[channel] = true
			}
		}
		return set
	}
	a, b := expand(want), expand(have)
	for channel := range b {
		if a[channel] {
			return true
		}
	}
	return false
}

// Every bad evening of the yardstick gets the order that a good colleague would
// give, and none that would do harm; how far that is so stands in a table. go test ./...
// looks at a few of them, CI at all.
func TestOrdersOfTheYardstick(t *testing.T) {
	step := draws.Step(28)
	if os.Getenv("CUEPROOF_ORDERS") != "" {
		step = 1
	}
	set := everyRule(t)
	right, wrong, missing := 0, 0, 0
	var table strings.Builder
	bad := slices.DeleteFunc(practices(t), func(p practice) bool { return p.Practice != "bad" })
	for i := 0; i < len(bad); i += step {
		p := bad[i]
		told, groups := ordersOf(t, p, set)
		word := "missing"
		var harm []string
		for i, o := range slices.Concat(told.Orders, told.Tasks) {
			is := func(list []wanted) bool {
				return slices.ContainsFunc(o.Edits, func(e outcome.Edit) bool {
					return slices.ContainsFunc(list, func(w wanted) bool { return w.fits(&e, groups) })
				})
			}
			// What does harm in the place of the right change may belong to it: a lamp that
			// is hung farther away needs more level there.
			if is(p.Right) {
				word = "right"
			} else if is(p.Wrong) {
				harm = append(harm, fmt.Sprintf("%d: %s", i+1, o.Do))
			}
		}
		switch {
		case len(p.Right) == 0:
			word = "-"
		case word == "right":
			right++
		default:
			missing++
		}
		if len(harm) > 0 {
			wrong++
			word += ", WRONG"
		}
		fmt.Fprintf(&table, "%-44s %s\n", p.Name, word)
		if os.Getenv("CUEPROOF_ORDERS") != "" {
			for i, o := range told.Orders {
				fmt.Fprintf(&table, "      %d %s [%s]\n", i+1, o.Do, strings.Join(o.Rules, " "))
			}
			for _, h := range harm {
				fmt.Fprintf(&table, "      WRONG %s\n", h)
			}
			if word != "right" {
				for _, w := range p.Right {
					fmt.Fprintf(&table, "      want %s %v %s cue %q %s %v\n", w.What, w.Names, w.Key, w.Cue, w.Toward, w.Value)
				}
				for _, f := range told.NeedPerson {
					fmt.Fprintf(&table, "      left %s %v %v\n", f.Rule, f.Subjects, f.Cues)
				}
			}
		}
	}
	if step > 1 {
		written, err := os.ReadFile(filepath.Join(judgementFolder, "orders.txt"))
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(table.String()) {
			if !strings.Contains(string(written), line) {
				t.Errorf("it is another now; CUEPROOF_UPDATE=1 writes all of them down, and then read what changed: %s", line)
			}
		}
		return
	}
	fmt.Fprintf(&table, "\n%d right, %d missing, %d with a wrong one\n", right, missing, wrong)
	if os.Getenv("CUEPROOF_ORDERS") != "" {
		t.Log("\n" + table.String())
		return
	}
	golden(t, filepath.Join(judgementFolder, "orders.txt"), table.String())
}

func ordersOf(t *testing.T, p practice, set *rules.Set) (outcome.Show, *schema.Show) {
	t.Helper()
	text, err := cases.Merge(p.base, p.Patch)
	if err != nil {
		t.Fatal(err)
	}
	o := Options{Rules: set, MinLevel: finding.Note, Stdin: strings.NewReader(string(text)), StdinName: "show.json", House: HouseOptions{None: true}}
	checked, err := check("-", o, nil)
	if err != nil {
		t.Fatal(err)
	}
	checked.finish(o)
	return checked.told, checked.show
}

// golden holds a text against a file; CUEPROOF_UPDATE=1 writes it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	if os.Getenv("CUEPROOF_UPDATE") != "" {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		t.Errorf("%s has changed; if that is right, run again with CUEPROOF_UPDATE=1 and review the difference:\n%s", name, got)
	}
}
