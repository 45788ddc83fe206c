package cases

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

// elsewhere is how a place of the room, of a lamp or of an aim is told somewhere else: what is from left to
// right, and which way something looks.
type elsewhere struct {
	x    func(float64) float64
	deg  func(float64) float64
	side map[string]string
}

var elsewheres = map[string]elsewhere{
	"in a mirror": {
		x:    func(x float64) float64 { return 0 - x },
		deg:  func(deg float64) float64 { return math.Mod(360-deg, 360) },
		side: map[string]string{"left": "right", "right": "left"},
	},
	"measured from a corner": {
		x:   func(x float64) float64 { return x + 16 },
		deg: func(deg float64) float64 { return deg },
	},
}

// tell tells a part of a show somewhere else. What has x beside z is a point, what has it beside a kind an
// area; x beside nothing of the two is a colour.
func (e elsewhere) tell(value any) any {
	switch value := value.(type) {
	case []any:
		for i := range value {
			value[i] = e.tell(value[i])
		}
	case map[string]any:
		for key := range value {
			value[key] = e.tell(value[key])
		}
		_, point := value["z"]
		if x, ok := value["x"].(float64); ok && point {
			value["x"] = e.x(x)
		}
		if x, ok := value["x"].([]any); ok {
			ends := []float64{e.x(x[0].(float64)), e.x(x[1].(float64))}
			slices.Sort(ends)
			value["x"] = []any{ends[0], ends[1]}
		}
		if deg, ok := value["facing_deg"].(float64); ok {
			value["facing_deg"] = e.deg(deg)
		}
		if _, blade := value["depth_pct"]; blade && e.side != nil {
			if side, ok := value["side"].(string); ok && e.side[side] != "" {
				value["side"] = e.side[side]
			}
			if angle, ok := value["angle_deg"].(float64); ok {
				value["angle_deg"] = -angle
			}
		}
	}
	return value
}

// TestTheSameEveningElsewhere: what is found does not depend on which side of the hall is left, nor on where
// metres are counted from.
func TestTheSameEveningElsewhere(t *testing.T) {
	set := builtIn(t)
	step := 96
	if os.Getenv("CUEPROOF_LONG") != "" {
		step = 8
	}
	var list []practice
	for i, p := range practices(t) {
		if i%step == 0 {
			list = append(list, p)
		}
	}
	here := judgeAll(t, list, set)
	for name, e := range elsewheres {
		moved := slices.Clone(list)
		for i, p := range moved {
			text, err := Merge(p.base, p.Patch)
			if err != nil {
				t.Fatal(err)
			}
			var show map[string]any
			if err := json.Unmarshal(text, &show); err != nil {
				t.Fatal(err)
			}
			for _, part := range []string{"room", "patch", "cues"} {
				if _, told := show[part]; told {
					show[part] = e.tell(show[part])
				}
			}
			if moved[i].base, err = json.Marshal(show); err != nil {
				t.Fatal(err)
			}
			moved[i].Patch = json.RawMessage("{}")
		}
		for i, there := range judgeAll(t, moved, set) {
			if a, b := foundIn(&here[i]), foundIn(&there); !slices.Equal(a, b) {
				t.Errorf("%s, told %s: it is no more\n\t%s\nbut\n\t%s", here[i].id(), name, strings.Join(less(a, b), "\n\t"), strings.Join(less(b, a), "\n\t"))
			}
		}
	}
}

// foundIn lists what is found in an evening, without the numbers.
func foundIn(j *judged) (list []string) {
	list = append(list, fmt.Sprint(j.verdict))
	for i := range j.found {
		f := &j.found[i]
		line := fmt.Sprint(f.Rule, " ", f.Level, " ", f.Verdict)
		for _, s := range f.Subjects {
			line += " " + s.String()
		}
		list = append(list, line)
	}
	slices.Sort(list)
	return list
}

// less lists what one has more of than the other.
func less(a, b []string) (list []string) {
	count := map[string]int{}
	for _, line := range b {
		count[line]++
	}
	for _, line := range a {
		if count[line]--; count[line] < 0 {
			list = append(list, line)
		}
	}
	return list
}
