package lint

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A singer stands far too dark in cue 2, and the other place has the same light in both cues.
const measuredEvening = `{
	"room": {
		"ambient_lx": 1,
		"places": [{"name": "lectern", "x": 0, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0}, {"name": "stool", "x": 8, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0}],
		"cameras": [{"name": "centre", "x": 0, "y": -12, "z": 1.6}]
	},
	"types": [{"name": "key", "source": "white-led", "white_k": 5600, "flux_lm": 6000, "beam_deg": 20, "field_deg": 30, "dimmer_curve": "linear", "slots": 1}],
	"patch": [
		{"channel": 1, "name": "lectern key", "address": "1.1", "type": "key", "purpose": "key", "hung_at": {"x": -1, "y": -4, "z": 5}, "aimed_at": "lectern"},
		{"channel": 2, "name": "stool key", "address": "1.2", "type": "key", "purpose": "key", "hung_at": {"x": 7, "y": -4, "z": 5}, "aimed_at": "stool"}
	],
	"cues": [
		{"cue": 1, "set": [{"channels": "1", "level": 70}, {"channels": "2", "level": 70}]},
		{"cue": 2, "set": [{"channels": "1", "level": 2}, {"channels": "2", "level": 70}]}
	],
	"order": [
		{"name": "Talk", "kind": "talk", "start_cue": 1, "duration_s": 300, "people": ["lectern", "stool"]},
		{"name": "Word", "kind": "talk", "start_cue": 2, "duration_s": 300, "people": ["lectern", "stool"]}
	]`

// A corrected copy has no reading of a light that its changes made another, and keeps every
// other one: of a lamp alone, of another cue and of another place. It is asked for anew, and
// the copy itself speaks of no reading.
func TestStaleReadings(t *testing.T) {
	readings := `"readings": [
		{"place": "lectern", "cue": 1, "lx": 1000}, {"place": "lectern", "cue": 2, "lx": 30},
		{"place": "lectern", "channels": "1", "lx": 1430}, {"place": "stool", "cue": 2, "lx": 1000}
	]`
	table := "place,cue,channels,lx\nlectern,1,,1000\nlectern,2,,30\nlectern,,1,1430\nstool,2,,1000\n"
	for name, files := range map[string]map[string]string{
		"json":  {"show.json": measuredEvening + "," + readings + "}"},
		"table": {"show.json": measuredEvening + "}", "readings.csv": table},
	} {
		to := filepath.Join(t.TempDir(), "corrected")
		told := run(t, folder(t, files), Options{Rules: everyRule(t), Try: to, House: HouseOptions{None: true}})
		if told.Tried == nil || strings.Join(told.Tried.Stale, "; ") != "at lectern in cue 2" {
			t.Errorf("%s: %+v", name, told.Tried)
			continue
		}
		last := told.Tasks[len(told.Tasks)-1].Do
		if last != "When the orders are done, measure again at lectern in cue 2: the reading there was taken before them." {
			t.Errorf("%s: %q", name, last)
		}
		after := run(t, to, Options{Rules: everyRule(t), House: HouseOptions{None: true}})
		for _, f := range after.Findings {
			if f.Rule == "file/reading-differs" {
				t.Errorf("%s: the copy says %q", name, f.Message)
			}
		}
		text := ""
		for _, file := range []string{"show.json", "readings.csv"} {
			if data, err := os.ReadFile(filepath.Join(to, file)); err == nil {
				text += string(data)
			}
		}
		for word, want := range map[string]int{"1430": 1, "1000": 2, `"lx": 30`: 0, "2,,30": 0} {
			if n := strings.Count(text, word); n != want {
				t.Errorf("%s: %q stands %d times in\n%s", name, word, n, text)
			}
		}
	}
}

// Whoever only corrects what is written changes no light, and measures nothing again.
func TestNothingIsMeasuredAgain(t *testing.T) {
	show := strings.Replace(measuredEvening, `"level": 2}`, `"level": 70}`, 1) + `,
	"readings": [{"place": "lectern", "cue": 2, "lx": 1000}]}`
	show = strings.Replace(show, `"1.2", "type"`, `"1.1", "type"`, 1)
	to := filepath.Join(t.TempDir(), "corrected")
	told := run(t, folder(t, map[string]string{"show.json": show}), Options{Rules: everyRule(t), Try: to, House: HouseOptions{None: true}})
	if len(told.Orders) == 0 || told.Tried == nil || len(told.Tried.Stale) > 0 {
		t.Errorf("%d orders, %+v", len(told.Orders), told.Tried)
	}
	for _, task := range told.Tasks {
		if strings.Contains(task.Do, "measure again") {
			t.Errorf("%q", task.Do)
		}
	}
}

// TestHowManyPlacesAreMeasuredAgain: up to four are named, of more three and how many others; without any nothing is asked.
func TestHowManyPlacesAreMeasuredAgain(t *testing.T) {
	for n, want := range map[int]string{
		1: "measure again a: the reading there was taken", 2: "measure again a and b: the readings there were taken", 4: "measure again a, b, c and d: the readings there were taken",
		5: "measure again a, b, c and at 2 more: the readings there were taken",
	} {
		if tasks := measureAgain([]string{"a", "b", "c", "d", "e"}[:n]); len(tasks) != 1 || !strings.Contains(tasks[0].Do, want) {
			t.Errorf("of %d places: %+v, not %q", n, tasks, want)
		}
	}
	if tasks := measureAgain(nil); len(tasks) != 0 {
		t.Errorf("of none: %+v", tasks)
	}
}
