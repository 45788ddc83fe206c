package facts_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/facts"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// object is a part of a show in the making, as it would stand in a file.
type object = map[string]any

func load(t testing.TB, show object) *schema.Show {
	t.Helper()
	text, err := json.Marshal(show)
	if err != nil {
		t.Fatal(err)
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(text)), StdinName: "test.json"})
	if err != nil || loaded.Show == nil {
		t.Fatalf("%v: %s", err, text)
	}
	return loaded.Show
}

func measure(t testing.TB, show object) *facts.Measured {
	t.Helper()
	loaded := load(t, show)
	return facts.Measure(loaded, tracking.Resolve(loaded))
}

// washShow is one wash of 1000 lm whose level is its light.
func washShow(cues []object, order []object) object {
	show := object{
		"types": []object{{"name": "wash", "source": "white-led", "white_k": 5600, "flux_lm": 1000}},
		"patch": []object{{"channel": 1, "type": "wash", "purpose": "wash"}},
		"cues":  cues,
	}
	if order != nil {
		show["order"] = order
	}
	return show
}

func at(level float64) []object { return []object{{"channels": "1", "level": level}} }

// near fails if a fact is unknown or farther from a number than a tolerance.
func near(t *testing.T, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is unknown, want %v", what, want)
	} else if !(math.Abs(*got-want) <= tolerance) {
		t.Errorf("%s is %v, want %v", what, *got, want)
	}
}

func starts(m *facts.Measured) []string {
	var list []string
	for _, c := range m.Changes {
		switch {
		case c.StartS == nil:
			list = append(list, "?")
		case *c.Assumed:
			list = append(list, fmt.Sprintf("~%.4g", *c.StartS))
		default:
			list = append(list, fmt.Sprintf("%.4g", *c.StartS))
		}
	}
	return list
}

func TestTimeline(t *testing.T) {
	cue := func(number float64, more object) object {
		c := object{"cue": number, "set": at(50)}
		for key, value := range more {
			c[key] = value
		}
		return c
	}
	song := func(start any, seconds any) []object {
		s := object{"name": "Song", "start_cue": start}
		if seconds != nil {
			s["duration_s"] = seconds
		}
		return []object{s}
	}
	for _, c := range []struct {
		what    string
		cues    []object
		order   []object
		want    string
		missing string // for the first unknown
	}{
		{"times are said", []object{cue(1, object{"at_s": 0}), cue(2, object{"at_s": 60})}, song(1, 300), "0 60", ""},
		{"the first cue begins the segment", []object{cue(1, nil), cue(2, object{"at_s": 60})}, song(1, 300), "0 60", ""},
		{"cues are spread over what is left", []object{cue(1, nil), cue(2, nil), cue(3, nil)}, song(1, 300), "0 ~100 ~200", ""},
		{"between two known times", []object{cue(1, nil), cue(2, nil), cue(3, object{"at_s": 100}), cue(4, nil)}, song(1, 300), "0 ~50 100 ~200", ""},
		{"a chain counts as one cue", []object{cue(1, nil), cue(2, object{"follow_s": 60}), cue(3, nil), cue(4, object{"at_s": 260})}, song(1, 300), "0 ~100 ~160 260", ""},
		{"a follow-on keeps its own time", []object{cue(1, object{"follow_s": 25}), cue(2, object{"at_s": 200})}, song(1, 300), "0 25", ""},
		{"segments follow each other", []object{cue(1, nil), cue(2, nil)}, []object{{"name": "A", "start_cue": 1, "duration_s": 100}, {"name": "B", "start_cue": 2, "duration_s": 50}}, "0 100", ""},
		{"a segment without cues of its own", []object{cue(1, nil), cue(3, nil)}, []object{{"name": "A", "start_cue": 1, "duration_s": 100}, {"name": "Pause", "duration_s": 30}, {"name": "B", "start_cue": 3, "duration_s": 50}}, "0 130", ""},
		{"a name instead of a start", []object{cue(1, object{"segment": "Song"}), cue(2, object{"segment": "Song"})}, []object{{"name": "Song", "duration_s": 100}}, "~0 ~50", ""},

		{"no running order", []object{cue(1, nil), cue(2, nil)}, nil, "? ?", "the running order, with the duration of each segment"},
		{"no duration", []object{cue(1, nil), cue(2, nil)}, song(1, nil), "? ?", `the duration of the segment "Song"`},
		{"no duration, and the clock is lost behind it", []object{cue(1, nil), cue(2, nil)}, []object{{"name": "A", "start_cue": 1}, {"name": "B", "start_cue": 2, "duration_s": 50}}, "0 ?", `the duration of the segment "A"`},
		{"times run backwards", []object{cue(1, object{"at_s": 100}), cue(2, object{"at_s": 60})}, song(1, 300), "? ?", `times of the cues in the segment "Song" that go forwards`},
		{"times do not fit", []object{cue(1, nil), cue(2, object{"at_s": 400})}, song(1, 300), "? ?", `times of the cues in the segment "Song" that fit into its duration`},
		{"a chain that is too long", []object{cue(1, object{"follow_s": 200}), cue(2, object{"follow_s": 200}), cue(3, nil)}, song(1, 300), "? ? ?", `times of the cues in the segment "Song" that fit into its duration`},
		{"a start that does not exist", []object{cue(1, nil), cue(2, nil)}, song(0.5, 300), "? ?", `cue 0.5, with which the segment "Song" is said to start`},
		{"a cue before the running order", []object{cue(1, nil), cue(2, nil)}, song(2, 300), "? 0", "the segment of cue 1 in the running order"},
		{"segments out of order", []object{cue(1, object{"segment": "B"}), cue(2, object{"segment": "A"})}, []object{{"name": "A", "duration_s": 100}, {"name": "B", "duration_s": 100}}, "~100 ?", "a running order in which cue 1 comes before cue 2"},
		{"a follow behind the last cue", []object{cue(1, object{"follow_s": 1})}, song(1, 300), "0", ""},
	} {
		t.Run(c.what, func(t *testing.T) {
			m := measure(t, washShow(c.cues, c.order))
			if got := strings.Join(starts(m), " "); got != c.want {
				t.Errorf("the cues start at %s, want %s", got, c.want)
			}
			for _, change := range m.Changes {
				if change.StartS == nil {
					if why := change.Why("start_s"); len(why) == 0 || why[0] != c.missing {
						t.Errorf("missing is %q, want %q", why, c.missing)
					}
					if why := change.Why("stands_s"); change.StandsS == nil && (len(why) == 0 || why[0] != c.missing) {
						t.Errorf("how long it stands lacks %q, want %q", why, c.missing)
					}
					break
				}
			}
		})
	}
}

// TestHostileTimes holds the timeline to shows that no reader lets through, and
// that may still be built by others: it has to end, and to say unknown.
func TestHostileTimes(t *testing.T) {
	for _, bad := range []float64{-1, -1e300, math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		show := load(t, washShow([]object{
			{"cue": 1, "at_s": 0, "set": at(10)}, {"cue": 2, "at_s": 10, "follow_s": 1, "set": at(90)}, {"cue": 3, "set": at(20)},
		}, []object{{"name": "Song", "start_cue": 1, "duration_s": 100}}))
		for what, change := range map[string]func(s *schema.Show){
			"duration": func(s *schema.Show) { s.Order[0].DurationS = &bad },
			"at":       func(s *schema.Show) { s.Cues[1].AtS = &bad },
			"follow":   func(s *schema.Show) { s.Cues[1].FollowS = &bad },
			"in":       func(s *schema.Show) { s.Cues[1].InS = &bad },
			"out":      func(s *schema.Show) { s.Cues[1].OutS = &bad },
			"delay":    func(s *schema.Show) { s.Cues[1].DelayS = &bad },
			"strobe":   func(s *schema.Show) { s.Cues[1].Set[0].StrobeHz = &bad },
			"effect": func(s *schema.Show) {
				s.Cues[1].Set[0].Effect = &schema.Effect{Kind: "strobe", RateHz: &bad, LowPct: &bad, HighPct: &bad, DutyPct: &bad, SpreadPct: &bad}
			},
		} {
			copied := load(t, object{})
			*copied = *show
			copied.Order = []*schema.Segment{{}}
			*copied.Order[0] = *show.Order[0]
			copied.Cues = nil
			for _, cue := range show.Cues {
				c := *cue
				c.Set = nil
				for _, set := range cue.Set {
					s := *set
					c.Set = append(c.Set, &s)
				}
				copied.Cues = append(copied.Cues, &c)
			}
			change(copied)
			m := facts.Measure(copied, tracking.Resolve(copied))
			checkFinite(t, fmt.Sprintf("%s of %v", what, bad), m)
			if what == "duration" && m.Segments[0].DurationS != nil {
				t.Errorf("a duration of %v is taken as %v", bad, *m.Segments[0].DurationS)
			}
			if what == "strobe" && (bad > 0 || math.IsNaN(bad)) && bad == bad && m.Changes[1].Flashes != nil {
				t.Errorf("a strobe of %v Hz flashes %v times", bad, *m.Changes[1].Flashes)
			}
		}
	}
}

// checkFinite looks into every fact of the kinds that need a clock.
func checkFinite(t testing.TB, what string, m *facts.Measured) {
	t.Helper()
	for _, kind := range []string{"show", "change", "segment", "machine", "minute"} {
		for _, subject := range m.Subjects(kind) {
			for _, word := range facts.WordsOf(kind) {
				fact, _ := facts.ValueOf(subject, word)
				if number, ok := fact.Value.(float64); ok && (math.IsNaN(number) || math.IsInf(number, 0)) {
					t.Errorf("%s: %s of %v is %v", what, word, subject.Names(), number)
				}
				if fact.Value == nil && len(subject.Why(word)) == 0 {
					t.Errorf("%s: %s of %v is unknown and does not say why", what, word, subject.Names())
				}
			}
		}
	}
}

// TestUnknownsSayWhy goes through the demonstration shows.
func TestUnknownsSayWhy(t *testing.T) {
	for _, name := range []string{"mended", "flawed"} {
		loaded, err := loaders.Load("../../testdata/shows/"+name, loaders.Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkFinite(t, name, facts.Measure(loaded.Show, tracking.Resolve(loaded.Show)))
	}
	for what, show := range map[string]object{
		"nothing":  {},
		"no patch": {"cues": []object{{"cue": 1, "set": at(50)}, {"cue": 2, "set": at(60)}}},
		"no cues":  {"patch": []object{{"channel": 1}}, "order": []object{{"name": "Song", "duration_s": 0}}},
		"no types": {"patch": []object{{"channel": 1, "purpose": "wash"}}, "cues": []object{{"cue": 1, "set": at(50)}, {"cue": 2, "set": at(60)}}, "order": []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 900}}},
		"a lamp without flux": {
			"types": []object{{"name": "wash", "source": "white-led", "white_k": 5600, "flux_lm": 1000}, {"name": "other", "source": "white-led", "white_k": 5600}},
			"patch": []object{{"channel": 1, "type": "wash", "purpose": "wash"}, {"channel": 2, "type": "other", "purpose": "wash"}},
			"cues":  []object{{"cue": 1, "set": at(50)}, {"cue": 2, "set": at(60)}},
			"order": []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 900}},
		},
		"all dark":   washShow([]object{{"cue": 1, "set": at(0)}, {"cue": 2, "set": at(0)}}, []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 900}}),
		"no seconds": washShow([]object{{"cue": 1, "set": at(10)}, {"cue": 2, "set": at(50)}}, []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 0}}),
	} {
		checkFinite(t, what, measure(t, show))
	}
}

// TestFades holds the light to closed forms.
func TestFades(t *testing.T) {
	order := []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 100}}
	fade := func(kind object) *facts.Measured {
		show := washShow([]object{{"cue": 1, "set": at(0)}, {"cue": 2, "at_s": 20, "in_s": 40, "set": at(100)}}, order)
		for key, value := range kind {
			show["types"].([]object)[0][key] = value
		}
		return measure(t, show)
	}
	// 20 s dark, 40 s of a straight line, 40 s at full: (40/2 + 40)/100.
	near(t, "mean of a straight fade", fade(nil).Segments[0].MeanPct, 60, 1e-9)
	// A square law over a straight level: 40/3 s worth of full light; a chord of eight lies above the
	// parabola by 40 (1/8)^2/6 = 0.104.
	near(t, "mean of a square-law fade", fade(object{"dimmer_curve": "square"}).Segments[0].MeanPct, 40.0/3+40+40.0/64/6, 1e-9)
	// The out time holds for falling levels.
	falling := measure(t, washShow([]object{{"cue": 1, "set": at(100)}, {"cue": 2, "at_s": 20, "in_s": 3, "out_s": 40, "delay_s": 10, "set": at(0)}}, order))
	near(t, "mean of a fade out", falling.Segments[0].MeanPct, 30+20, 1e-9)
	near(t, "length of a fade out", falling.Changes[1].FadeS, 40, 0)
	// A fade that another cue overtakes goes on from where it is: 10 s up to a half, and from there down in 20 s.
	overtaken := measure(t, washShow([]object{
		{"cue": 1, "set": at(0)}, {"cue": 2, "at_s": 20, "in_s": 20, "set": at(100)}, {"cue": 3, "at_s": 30, "in_s": 20, "set": at(0)},
	}, order))
	near(t, "mean of a fade that is overtaken", overtaken.Segments[0].MeanPct, (10*50/2+20*50/2)/100.0, 1e-9)
	// A lamp that no later cue speaks to finishes its fade.
	show := washShow([]object{
		{"cue": 1, "set": at(0)}, {"cue": 2, "at_s": 20, "in_s": 40, "set": at(100)}, {"cue": 3, "at_s": 30, "set": []object{{"channels": "2", "level": 0}}},
	}, order)
	near(t, "mean of a fade that is left alone", measure(t, show).Segments[0].MeanPct, 60, 1e-9)
}

// TestPercentiles holds the range of a set to a series worked out by hand. Each
// level stands for a tenth of the time. What is above a hundredth of the mean
// passes the gate, and darkness does not: nine levels of 100 s. The 10th
// percentile is the lowest of them (100 of 900 s is 11 %), the 95th the highest.
func TestPercentiles(t *testing.T) {
	levels := []float64{0, 5, 10, 20, 40, 40, 40, 60, 80, 80}
	var cues []object
	for i, level := range levels {
		cues = append(cues, object{"cue": i + 1, "at_s": i * 100, "set": at(level)})
	}
	m := measure(t, washShow(cues, []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 1000}}))
	near(t, "range", m.Show.RangeStops, 4, 1e-9) // 5 to 80
	near(t, "loud", m.Show.LoudPct, 80, 1e-9)
	near(t, "quiet", m.Show.QuietPct, 5, 1e-9)
	// Within a stop of 80 are 40 and more: six of the nine lit levels.
	near(t, "near the peak", m.Show.NearPeakTime, 100*6.0/9, 1e-9)
	near(t, "mean", m.Segments[0].MeanPct, 37.5, 1e-9)
}

// TestFlashSequences runs published verdicts through a cue list: each state is a
// cue that follows the one before by itself.
func TestFlashSequences(t *testing.T) {
	file, err := os.Open("../../testdata/reference/flash_sequences.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	column := func(name string) int { return slices.Index(rows[0], name) }
	for _, row := range rows[1:] {
		t.Run(row[column("id")], func(t *testing.T) {
			fps, err := strconv.ParseFloat(row[column("fps")], 64)
			if err != nil {
				t.Fatal(err)
			}
			red := row[column("kind")] == "red"
			m := measure(t, sequence(t, row[column("states_x_frames")], fps, red))
			worst := 0.0
			for _, c := range m.Changes {
				if c.Flashes == nil || c.RedFlashes == nil {
					t.Fatalf("unknown: %v", c.Why("flashes_per_s"))
				}
				flashes := *c.Flashes
				if red {
					flashes = *c.RedFlashes
				}
				worst = max(worst, flashes)
			}
			verdict := "pass"
			if worst > 3 {
				verdict = "fail"
			}
			if want := row[column("expected")]; verdict != want {
				t.Errorf("%v flashes in a second, which is %s; published is %s (%s)", worst, verdict, want, row[column("note")])
			}
			want, err := strconv.ParseFloat(row[column("max_transitions_in_1s")], 64)
			if err != nil {
				t.Fatal(err)
			}
			// Fewer than three changes within a second are not followed up: they cannot be four flashes.
			if worst*2 != want && !(want < 3 && worst == 0) {
				t.Errorf("%v changes in a second, published are %v", worst*2, want)
			}
		})
	}
}

// sequence is a cue list that shows a published sequence on one lamp, after a
// look at full that is the white of the picture.
func sequence(t *testing.T, states string, fps float64, red bool) object {
	t.Helper()
	show := washShow(nil, nil)
	if red {
		// The emitters are the primaries of sRGB, in lumens of white.
		show["types"] = []object{{"name": "wash", "source": "colour-led", "emitters": []object{
			{"name": "r", "x": 0.64, "y": 0.33, "flux_lm": 212.6}, {"name": "g", "x": 0.30, "y": 0.60, "flux_lm": 715.2}, {"name": "b", "x": 0.15, "y": 0.06, "flux_lm": 72.2},
		}}}
	}
	setting := func(state string) object {
		if !red {
			y, err := strconv.ParseFloat(state, 64)
			if err != nil {
				t.Fatal(err)
			}
			return object{"channels": "1", "level": 100 * y}
		}
		hex, err := strconv.ParseUint(strings.TrimPrefix(state, "#"), 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		linear := func(v uint64) float64 { // IEC 61966-2-1
			c := float64(v&255) / 255
			if c <= 0.04045 {
				return 100 * c / 12.92
			}
			return 100 * math.Pow((c+0.055)/1.055, 2.4)
		}
		return object{"channels": "1", "level": 100, "mix": object{"r": linear(hex >> 16), "g": linear(hex >> 8), "b": linear(hex)}}
	}
	full := "1"
	if red {
		full = "#ffffff"
	}
	cues := []object{{"cue": 1, "set": []object{setting(full)}}}
	for i, run := range strings.Fields(states) {
		state, frames, _ := strings.Cut(run, "*")
		n, err := strconv.ParseFloat(frames, 64)
		if err != nil {
			t.Fatal(err)
		}
		// Each cue but the last calls the next; the one at full is called by a person.
		cues = append(cues, object{"cue": i + 2, "in_s": 0, "follow_s": n / fps, "set": []object{setting(state)}})
	}
	show["cues"] = cues
	return show
}

// hazeShow is a room of 1000 m3 with a machine that runs in the first segment.
func hazeShow(ach, settling, level float64, seconds ...float64) object {
	var cues, order []object
	for i, s := range seconds {
		on := 0.0
		if i == 0 {
			on = level
		}
		cues = append(cues, object{"cue": i + 1, "set": []object{{"channels": "91", "level": on}, {"channels": "41", "level": 80}}})
		order = append(order, object{"name": fmt.Sprintf("Part %d", i+1), "kind": "talk", "start_cue": i + 1, "duration_s": s})
	}
	return object{
		"room": object{"air": object{"volume_m3": 1000, "air_changes_per_h": ach, "settling_per_h": settling, "start": "none"}},
		"types": []object{
			{"name": "hazer", "source": "none", "machine": object{"kind": "hazer", "fluid": "glycol", "output_mg_h": 60000}},
			{"name": "beam", "source": "white-led", "white_k": 6800},
		},
		"patch": []object{{"channel": 91, "type": "hazer", "purpose": "haze"}, {"channel": 41, "type": "beam", "purpose": "beam"}},
		"cues":  cues, "order": order,
	}
}

// TestClearing holds the haze to the air-change table of the CDC.
func TestClearing(t *testing.T) {
	file, err := os.Open("../../testdata/reference/ventilation.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, row := range rows[1:] {
		ach, err := strconv.ParseFloat(row[0], 64)
		if err != nil {
			t.Fatal(err)
		}
		for i, name := range rows[0] {
			removed, ok := map[string]float64{"min_90": 0.9, "min_99": 0.99, "min_99_9": 0.999}[name]
			if !ok || row[i] == "" {
				continue
			}
			minutes, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			m := measure(t, hazeShow(ach, 0, 50, 3600, minutes*60, 10))
			left := *m.Segments[1].HazeEnd / *m.Segments[1].HazeStart
			// The table is printed to the minute, so the time is off by up to half of one.
			off := math.Exp(ach * 0.5 / 60)
			if left > (1-removed)*off || left < (1-removed)/off {
				t.Errorf("%v air changes: %v left after %v min, want %v within half a minute", ach, left, minutes, 1-removed)
			}
			checked++
		}
	}
	if checked == 0 {
		t.Errorf("no column of %q was understood", rows[0])
	}
}

func TestHaze(t *testing.T) {
	// Ten hours at full end where G/((n+s)V) says: 60000/(4*1000) mg/m3.
	m := measure(t, hazeShow(3, 1, 100, 36000, 600, 600))
	near(t, "steady state", m.Segments[0].HazeEnd, 15, 1e-9)
	near(t, "decay", m.Segments[1].HazeEnd, 15*math.Exp(-4.0/6), 1e-9)
	near(t, "ten minutes in", m.Segments[1].HazeTen, 15*math.Exp(-4.0/6), 1e-9)
	near(t, "peak", m.Machines[0].Peak, 15, 1e-9)
	near(t, "longest run", m.Machines[0].RunS, 36000, 0)

	unknown := func(what string, change func(show object)) {
		t.Helper()
		show := hazeShow(3, 1, 100, 3600, 600, 600)
		change(show)
		m := measure(t, show)
		if m.Segments[1].HazeStart != nil || m.Machines[0].Peak != nil {
			t.Errorf("with %s the haze is %v", what, *m.Segments[1].HazeStart)
		}
		if len(m.Segments[1].Why("haze_start_mg_m3")) == 0 || len(m.Machines[0].Why("peak_mg_m3")) == 0 {
			t.Errorf("with %s nothing is said to be missing", what)
		}
	}
	unknown("no room", func(show object) { delete(show, "room") })
	unknown("no air", func(show object) { show["room"] = object{} })
	unknown("a room of 0 m3", func(show object) { show["room"].(object)["air"].(object)["volume_m3"] = 0 })
	unknown("no air changes", func(show object) { delete(show["room"].(object)["air"].(object), "air_changes_per_h") })
	unknown("no output", func(show object) { delete(show["types"].([]object)[0]["machine"].(object), "output_mg_h") })
	unknown("no duration", func(show object) { delete(show["order"].([]object)[0], "duration_s") })

	// Without a word on settling it is that of the fluid; without a fluid it is unknown.
	show := hazeShow(3, 1, 100, 36000, 600, 600)
	delete(show["room"].(object)["air"].(object), "settling_per_h")
	near(t, "steady state of a glycol", measure(t, show).Segments[0].HazeEnd, 60000/(3+2.3)/1000, 1e-9)
	delete(show["types"].([]object)[0]["machine"].(object), "fluid")
	if got := measure(t, show).Segments[0].HazeEnd; got != nil {
		t.Errorf("haze of an unknown fluid is %v", *got)
	}
}

// TestHazeProposals makes the proposed changes and looks again.
func TestHazeProposals(t *testing.T) {
	show := hazeShow(3, 0, 12, 1200, 600, 1200)
	m := measure(t, show)
	c := m.Changes[1]
	if !c.HazeRan || !c.HazeCanReach(2) || len(c.HazeLevels(2)) != 1 {
		t.Fatalf("nothing is proposed for %v mg/m3", *c.Haze)
	}
	show["cues"].([]object)[0]["set"].([]object)[0]["level"] = c.HazeLevels(2)[0].Wanted
	if level := *measure(t, show).Changes[1].Haze; level < 2 || level > 2.3 {
		t.Errorf("at the proposed level of %v %% there are %v mg/m3", c.HazeLevels(2)[0].Wanted, level)
	}
	never := hazeShow(3, 0, 100, 1200, 600, 1200)
	for _, cue := range never["cues"].([]object) {
		cue["set"].([]object)[0]["level"] = 100
	}
	talk := measure(t, never).Segments[2]
	if talk.HazeOffCue(1) != "1" && talk.HazeOffCue(1) != "" {
		k := slices.IndexFunc(never["cues"].([]object), func(o object) bool { return fmt.Sprint(o["cue"]) == talk.HazeOffCue(1) })
		for _, cue := range never["cues"].([]object)[k:] {
			cue["set"].([]object)[0]["level"] = 0
		}
		if left := *measure(t, never).Segments[2].HazeTen; left > 1 {
			t.Errorf("off from cue %s on, %v mg/m3 are left", talk.HazeOffCue(1), left)
		}
	}
}

// TestWhatHangsBeforeDoors: what is said to hang in the room decays from the first cue on by
// exp(-(n+s)t), whether a machine runs or not.
func TestWhatHangsBeforeDoors(t *testing.T) {
	for _, c := range []struct {
		key   string
		value any
		mgM3  float64
	}{{"start", "none", 0}, {"start", "thin", 1.4}, {"start", "full", 3}, {"start_mg_m3", 2.5, 2.5}} {
		show := hazeShow(3, 1, 0, 600, 900, 900)
		of := show["room"].(object)["air"].(object)
		delete(of, "start")
		of[c.key] = c.value
		m := measure(t, show)
		near(t, fmt.Sprint(c.value, " at doors"), m.Segments[0].HazeStart, c.mgM3, 1e-9)
		near(t, fmt.Sprint(c.value, " ten minutes later"), m.Segments[1].HazeStart, c.mgM3*math.Exp(-4.0/6), 1e-9)
		near(t, fmt.Sprint(c.value, " ten minutes into the second part"), m.Segments[1].HazeTen, c.mgM3*math.Exp(-8.0/6), 1e-9)
		// Another 15 mg/m3 is where the machine would end, 60000/(4*1000), and it adds up.
		show["cues"].([]object)[0]["set"].([]object)[0]["level"] = 100
		near(t, fmt.Sprint(c.value, " and the machine"), measure(t, show).Segments[1].HazeStart, c.mgM3*math.Exp(-4.0/6)+15*(1-math.Exp(-4.0/6)), 1e-9)
	}
	// Where haze is used and nobody says how it began, the room may have been hazed by hand.
	show := hazeShow(3, 1, 100, 600, 900)
	delete(show["room"].(object)["air"].(object), "start")
	if m := measure(t, show); m.Segments[0].HazeStart != nil || len(m.Segments[0].Why("haze_start_mg_m3")) == 0 {
		t.Errorf("nobody says how the air began, and it is %v", m.Segments[0].HazeStart)
	}
}

// TestWhenToStartAndToStop: a machine at full in a room with four changes an hour, settling
// among them, makes 15 (1 - exp(-4t)) mg/m3: 7.30 in ten minutes, 11.05 in twenty. Off, the
// 11.05 go down to 5.67 in ten minutes, and the 7.30 to 1.92 in twenty.
func TestWhenToStartAndToStop(t *testing.T) {
	late := measure(t, hazeShow(3, 1, 0, 600, 600, 900)).Changes[2]
	for mgM3, cue := range map[float64]string{7.29: "2", 7.31: "1", 11.04: "1", 11.06: ""} {
		placed := late.HazeStart(mgM3)
		if late.HazeStartCue(mgM3) != cue || (len(placed) == 1) != (cue != "") {
			t.Errorf("for %v mg/m3 the machine starts in cue %q (%d settings), not %q", mgM3, late.HazeStartCue(mgM3), len(placed), cue)
		}
		if len(placed) == 1 && (placed[0].Channel != 91 || placed[0].Wanted != 100) {
			t.Errorf("for %v mg/m3 channel %d goes to %v", mgM3, placed[0].Channel, placed[0].Wanted)
		}
	}
	if first := measure(t, hazeShow(3, 1, 0, 600, 600, 900)).Changes[0]; first.HazeStartCue(1) != "" {
		t.Errorf("haze for the first cue is made in cue %q", first.HazeStartCue(1))
	}
	show := hazeShow(3, 1, 100, 600, 600, 900)
	for _, cue := range show["cues"].([]object) {
		cue["set"].([]object)[0]["level"] = 100
	}
	talk := measure(t, show).Segments[2]
	for _, c := range []struct {
		mgM3 float64
		cue  string
		off  int // settings: that of the cue and those behind it
	}{{5.68, "3", 1}, {5.66, "2", 2}, {1.93, "2", 2}, {1.91, "1", 3}, {0, "1", 3}} {
		if cue, off := talk.HazeOffCue(c.mgM3), talk.HazeOff(c.mgM3); cue != c.cue || len(off) != c.off {
			t.Errorf("for %v mg/m3 it stops in cue %q with %d settings, not in %q with %d", c.mgM3, cue, len(off), c.cue, c.off)
		}
	}
	short := hazeShow(3, 1, 100, 600, 599)
	if talk := measure(t, short).Segments[1]; talk.HazeTen != nil || talk.HazeOffCue(1) != "" || len(talk.HazeOff(1)) > 0 {
		t.Errorf("a part of less than ten minutes has its haze off from cue %q", talk.HazeOffCue(1))
	}
	// What hangs there beforehand does not go away by stopping: 3 exp(-2) = 0.41.
	show["room"].(object)["air"].(object)["start"] = "full"
	hung := measure(t, show).Segments[2]
	if hung.HazeOffCue(0.42) != "1" || hung.HazeOffCue(0.40) != "" {
		t.Errorf("with 0.41 mg/m3 from before doors, it stops in cue %q and %q", hung.HazeOffCue(0.42), hung.HazeOffCue(0.40))
	}
}

// TestLessAerosol: of 15 mg/m3 at full, nine tenths of a limit of 11.1 are 66.6 %, and levels
// are whole percent. What is breathed is counted as in eight hours: ten hours at full and ten
// minutes off are 15 (10 - 1/4) + 15/4 (1 - exp(-2/3)) mg h/m3, an eighth of which is 18.51.
func TestLessAerosol(t *testing.T) {
	m := measure(t, hazeShow(3, 1, 100, 36000, 600)).Machines[0]
	for _, c := range []struct{ peak, mean, level float64 }{{11.1, 1000, 66}, {1000, 11.1, 53}, {11.1, 5, 24}, {15.1, 18.6, -1}, {15.1, 18.4, 89}, {14.9, 18.6, 89}} {
		turns := m.SettingsToTurn(c.peak, c.mean)
		switch {
		case c.level < 0 && len(turns) > 0, c.level >= 0 && (len(turns) != 1 || turns[0].Channel != 91 || math.Abs(turns[0].Wanted-c.level) > 0):
			t.Errorf("for %v and %v mg/m3: %+v, not %v %%", c.peak, c.mean, turns, c.level)
		}
	}
}

// evenings draws a show of a few cues with times, levels, fades, strobes and a
// haze machine.
func evenings(t *rapid.T) object {
	var cues []object
	var order []object
	number := 0
	for s := range rapid.IntRange(1, 3).Draw(t, "segments") {
		length := float64(rapid.IntRange(10, 1000).Draw(t, "length"))
		order = append(order, object{
			"name": fmt.Sprintf("Part %d", s), "kind": rapid.SampledFrom([]string{"song", "talk", "prayer", "opening"}).Draw(t, "kind"),
			"start_cue": number + 1, "duration_s": length,
		})
		last := 0.0
		for k := range rapid.IntRange(1, 4).Draw(t, "cues") {
			number++
			cue := object{"cue": number, "in_s": float64(rapid.IntRange(0, 20).Draw(t, "in"))}
			if k > 0 && rapid.Bool().Draw(t, "said") && last < length {
				last += float64(rapid.IntRange(0, int(length-last)).Draw(t, "at"))
				cue["at_s"] = last
			}
			if k == 0 {
				cue["at_s"] = 0.0
			}
			wash := object{"channels": "1", "level": float64(rapid.IntRange(0, 100).Draw(t, "level"))}
			if rapid.Bool().Draw(t, "strobes") {
				wash["strobe_hz"] = float64(rapid.IntRange(0, 10).Draw(t, "hz"))
			}
			cue["set"] = []object{wash, {"channels": "91", "level": float64(rapid.IntRange(0, 100).Draw(t, "haze"))}}
			cues = append(cues, cue)
		}
	}
	show := washShow(cues, order)
	show["room"] = object{"air": object{"volume_m3": 1000.0, "air_changes_per_h": rapid.Float64Range(0, 20).Draw(t, "ach"), "settling_per_h": 0.5, "start": "none"}}
	show["types"] = append(show["types"].([]object), object{"name": "hazer", "source": "none", "machine": object{"kind": "hazer", "fluid": "glycol", "output_mg_h": 50000}})
	show["patch"] = append(show["patch"].([]object), object{"channel": 91, "type": "hazer", "purpose": "haze"})
	return show
}

// sameNumbers compares the plain facts of two lists of subjects, but for some.
func sameNumbers(t *rapid.T, kind string, a, b []facts.Subject, but ...string) {
	for i := range a {
		for _, word := range facts.WordsOf(kind) {
			if slices.Contains(but, word) {
				continue
			}
			x, _ := facts.ValueOf(a[i], word)
			y, _ := facts.ValueOf(b[i], word)
			p, isNumber := x.Value.(float64)
			q, both := y.Value.(float64)
			if isNumber && both {
				// Times up to 10,000 s carry rounding of 2e-12 s; light moves by up to 100 % a second.
				if math.Abs(p-q) > 1e-6*max(1, math.Abs(p)) {
					t.Fatalf("%s of %v is %v and %v", word, a[i].Names(), p, q)
				}
				continue
			}
			if diff := cmp.Diff(x.Value, y.Value); diff != "" {
				t.Fatalf("%s of %v: %s", word, a[i].Names(), diff)
			}
		}
	}
}

// TestShiftingTheClock puts a pause before the evening: nothing else changes.
func TestShiftingTheClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := evenings(t)
		before := measure2(t, show)
		pause := object{"name": "Pause", "kind": "changeover", "duration_s": float64(rapid.IntRange(1, 5000).Draw(t, "pause"))}
		show["order"] = append([]object{pause}, show["order"].([]object)...)
		after := measure2(t, show)
		sameNumbers(t, "change", before.Subjects("change"), after.Subjects("change"), "start_s")
		sameNumbers(t, "segment", before.Subjects("segment"), after.Subjects("segment")[1:], "start_s")
		sameNumbers(t, "machine", before.Subjects("machine"), after.Subjects("machine"))
		sameNumbers(t, "show", before.Subjects("show"), after.Subjects("show"))
	})
}

func measure2(t *rapid.T, show object) *facts.Measured {
	loaded := read(t, show)
	return facts.Measure(loaded, tracking.Resolve(loaded))
}

func read(t *rapid.T, show object) *schema.Show {
	text, err := json.Marshal(show)
	if err != nil {
		t.Fatal(err)
	}
	loaded, err := loaders.Load("-", loaders.Options{Stdin: strings.NewReader(string(text)), StdinName: "test.json"})
	if err != nil {
		t.Fatal(err)
	}
	return loaded.Show
}

// TestSplittingAFade cuts a fade in two with the same path.
func TestSplittingAFade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := float64(rapid.IntRange(0, 100).Draw(t, "from")), float64(rapid.IntRange(0, 100).Draw(t, "to"))
		long := float64(rapid.IntRange(2, 60).Draw(t, "long"))
		part := rapid.Float64Range(0.05, 0.95).Draw(t, "part")
		order := []object{{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 100}}
		first := object{"cue": 1, "at_s": 0, "set": at(from)}
		whole := washShow([]object{first, {"cue": 2, "at_s": 20, "in_s": long, "set": at(to)}}, order)
		cut := washShow([]object{
			first, {"cue": 2, "at_s": 20, "in_s": long * part, "follow_s": long * part, "set": at(from + part*(to-from))},
			{"cue": 3, "in_s": long * (1 - part), "set": at(to)},
		}, order)
		a, b := measure2(t, whole), measure2(t, cut)
		sameNumbers(t, "segment", a.Subjects("segment"), b.Subjects("segment"), "look_count", "cues_text", "alike_run_looks", "alike_run_cues", "dark_cue", "dark_s",
			"picture_stops", "over_quiet_stops", "under_loudest_song_stops") // of looks, not of the way between them
		sameNumbers(t, "show", a.Subjects("show"), b.Subjects("show"), "look_count", "near_peak_look_pct", "quietest_lit_pct",
			"picture_range_stops", "picture_near_peak_pct", "picture_up_pct")
	})
}

// TestMoreAir holds that more air changes never raise the haze.
func TestMoreAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		show := evenings(t)
		before := measure2(t, show)
		air := show["room"].(object)["air"].(object)
		air["air_changes_per_h"] = air["air_changes_per_h"].(float64) + rapid.Float64Range(0, 20).Draw(t, "more")
		after := measure2(t, show)
		less := func(what string, a, b *float64) {
			if a != nil && b != nil && *b > *a*(1+1e-9)+1e-9 {
				t.Fatalf("%s rises from %v to %v", what, *a, *b)
			}
		}
		for i, c := range before.Changes {
			less("haze of cue "+c.Number, c.Haze, after.Changes[i].Haze)
		}
		less("peak", before.Machines[0].Peak, after.Machines[0].Peak)
		less("mean", before.Machines[0].Mean, after.Machines[0].Mean)
	})
}

func TestEffects(t *testing.T) {
	flashes := func(effect object, more object) *facts.Change {
		set := object{"channels": "1-4", "level": 100}
		if effect != nil {
			set["effect"] = effect
		}
		for key, value := range more {
			set[key] = value
		}
		show := washShow([]object{{"cue": 1, "set": []object{set}}}, nil)
		var patch []object
		for channel := 1; channel <= 4; channel++ {
			patch = append(patch, object{"channel": channel, "type": "wash", "purpose": "wash"})
		}
		show["patch"] = patch
		return measure(t, show).Changes[0]
	}
	for _, c := range []struct {
		what   string
		effect object
		more   object
		want   float64
	}{
		{"nothing", nil, nil, 0},
		{"a strobe of 0 Hz is off", nil, object{"strobe_hz": 0}, 0},
		{"a strobe", nil, object{"strobe_hz": 7}, 7},
		{"a strobe that fuses", nil, object{"strobe_hz": 61}, 0},
		{"an effect of 0 Hz stands", object{"kind": "strobe", "rate_hz": 0}, nil, 0},
		{"an effect of 1000 Hz fuses", object{"kind": "strobe", "rate_hz": 1000}, nil, 0},
		{"a pulse", object{"kind": "pulse", "rate_hz": 4}, nil, 4},
		{"a pulse of nine tenths", object{"kind": "pulse", "rate_hz": 4, "low_pct": 91}, nil, 0},
		{"a pulse that stays bright", object{"kind": "pulse", "rate_hz": 4, "low_pct": 80}, nil, 0}, // the darker state is not below 0.80
		{"a chase without a gap flashes each lamp once a cycle", object{"kind": "chase", "rate_hz": 2}, nil, 2},
		{"a chase with gaps flashes the row at every step", object{"kind": "chase", "rate_hz": 2, "duty_pct": 10}, nil, 8},
		{"a strobe with half the lamps against the others", object{"kind": "strobe", "rate_hz": 2, "spread_pct": 100, "duty_pct": 10}, nil, 8},
		{"movement does not flash", object{"kind": "movement", "rate_hz": 5}, nil, 0},
		{"a strobe on top of a pulse adds up", object{"kind": "pulse", "rate_hz": 2}, object{"strobe_hz": 3}, 5},
		{"in the dark", object{"kind": "strobe", "rate_hz": 9}, object{"level": 0}, 0},
	} {
		t.Run(c.what, func(t *testing.T) {
			near(t, "flashes", flashes(c.effect, c.more).Flashes, c.want, 1e-9)
		})
	}
	t.Run("a proposal is within the limit", func(t *testing.T) {
		c := flashes(object{"kind": "chase", "rate_hz": 2, "duty_pct": 10}, nil)
		if len(c.EffectsTooFast(3)) != 4 {
			t.Fatalf("%d effects are to be slowed down, want 4", len(c.EffectsTooFast(3)))
		}
		slower := c.EffectsTooFast(3)[0].Slower
		near(t, "flashes at the proposed rate", flashes(object{"kind": "chase", "rate_hz": *slower.RateHz, "duty_pct": 10}, nil).Flashes, 3, 0.5)
	})
}

// TestAlikePieces holds the fallback: without times every look counts alike.
func TestAlikePieces(t *testing.T) {
	m := measure(t, washShow([]object{{"cue": 1, "set": at(100)}, {"cue": 2, "set": at(60)}, {"cue": 3, "set": at(20)}, {"cue": 4, "set": at(10)}}, nil))
	near(t, "near the peak", m.Show.NearPeakTime, 50, 1e-9)
	if !strings.Contains(m.Show.TimeBasis, "equally long") {
		t.Errorf("the basis is %q", m.Show.TimeBasis)
	}
}

// TestDips makes the proposed changes and looks again: the set has its range, and
// what stood on into the next song is given back.
func TestDips(t *testing.T) {
	order := []object{
		{"name": "Song", "kind": "song", "start_cue": 1, "duration_s": 300},
		{"name": "Prayer", "kind": "prayer", "start_cue": 2, "duration_s": 300},
		{"name": "Second song", "kind": "song", "start_cue": 4, "duration_s": 300},
	}
	show := load(t, washShow([]object{
		{"cue": 1, "set": at(100)}, {"cue": 2, "name": "Prayer"}, {"cue": 3, "set": at(80)}, {"cue": 4, "name": "Second song"},
	}, order))
	m := facts.Measure(show, tracking.Resolve(show))
	if !m.Show.WashesCanDim(2) || len(m.Show.WashesToDim(2)) != 3 {
		t.Fatalf("%d levels are proposed for %q", len(m.Show.WashesToDim(2)), m.Show.BringDownText(2))
	}
	var edits []source.Edit
	for _, dip := range m.Show.WashesToDim(2) {
		edits = append(edits, dip.Edits("level", dip.Wanted)...)
	}
	changed, err := schema.Apply(show, edits)
	if err != nil {
		t.Fatal(err)
	}
	after := facts.Measure(changed, tracking.Resolve(changed))
	if after.Show.RangeStops == nil || *after.Show.RangeStops < 2 {
		t.Errorf("with the washes down the range is %v", after.Show.RangeStops)
	}
	near(t, "the second song", after.Segments[2].MeanPct, 80, 1e-6)
	if *m.Segments[2].MeanPct != *after.Segments[2].MeanPct {
		t.Errorf("the second song was %v %% and is %v %%", *m.Segments[2].MeanPct, *after.Segments[2].MeanPct)
	}
}

func TestLastDark(t *testing.T) {
	away := object{"x": 1, "y": 2, "z": 3}
	show := washShow([]object{
		{"cue": 1, "set": at(0)}, {"cue": 2, "set": at(80)}, {"cue": 3, "set": []object{{"channels": "1", "aim": away, "zoom_deg": 20, "wheel": "blue", "pattern": "leaves"}}},
	}, nil)
	c := measure(t, show).Changes[2]
	if c.MovedText != "1" || c.MovedWhat != "aim, zoom, wheel and pattern" || c.LastDark != "1" {
		t.Errorf("moved %q, %q, dark in %q", c.MovedText, c.MovedWhat, c.LastDark)
	}
	show["cues"] = show["cues"].([]object)[1:]
	if c := measure(t, show).Changes[1]; c.LastDark != "" {
		t.Errorf("never dark, and said to be in cue %s", c.LastDark)
	}
}

// TestFlashesWhereTheyLand: two lamps of one rate in counter-phase, side by side, on one
// cloth, and filling each other's gaps.
func TestFlashesWhereTheyLand(t *testing.T) {
	flashes := func(purpose string, apart float64, effect object, second object) *facts.Change {
		lamp := func(channel int, x float64) object {
			return object{"channel": channel, "type": "spot", "purpose": purpose, "hung_at": object{"x": x, "y": -4, "z": 4}, "aimed_at": object{"x": x, "y": 0, "z": 4}}
		}
		set := []object{{"channels": "1-2", "level": 100, "effect": effect}}
		if second != nil {
			set = []object{{"channels": "1", "level": 100, "effect": effect}, {"channels": "2", "level": 100, "effect": second}}
		}
		var areas []object
		purpose, unseen := strings.CutPrefix(purpose, "unseen ")
		if unseen { // the house sits behind them
			areas = []object{{"name": "seats", "kind": "audience", "x": []float64{-3, 3}, "y": []float64{-12, -6}, "z": 0}}
		}
		return measure(t, object{
			"room":  object{"areas": areas, "surfaces": []object{{"name": "cloth", "kind": "drape", "centre": object{"x": 0, "y": 0, "z": 4}, "width_m": 12, "height_m": 8, "facing_deg": 0}}},
			"types": []object{{"name": "spot", "source": "white-led", "white_k": 5600, "beam_deg": 20, "field_deg": 30, "flux_lm": 5000, "dimmer_curve": "linear"}},
			"patch": []object{lamp(1, -apart/2), lamp(2, apart/2)},
			"cues":  []object{{"cue": 1, "set": set}},
		}).Changes[0]
	}
	pulse := func(hz, duty float64) object {
		return object{"kind": "pulse", "rate_hz": hz, "duty_pct": duty, "spread_pct": 100}
	}
	for _, c := range []struct {
		about, purpose string
		apart          float64
		effect, second object
		want           float64
	}{
		{"beams side by side", "beam", 6, pulse(2.9, 20), nil, 2.9},
		{"washes side by side", "wash", 6, pulse(2.9, 20), nil, 2.9},
		{"on one cloth with short pulses", "wash", 0.2, pulse(2.9, 20), nil, 5.8},
		{"beams on one cloth with short pulses", "beam", 0.2, pulse(2.9, 20), nil, 5.8},
		{"filling each other's gaps, before who may look into them", "wash", 0, pulse(2.9, 50), nil, 2.9},
		{"filling each other's gaps, where nobody looks into them", "unseen wash", 0, pulse(2.9, 50), nil, 0},
		{"filling the gaps but at the edges, where nobody looks into them", "unseen wash", 0.4, pulse(2.9, 50), nil, 2.9},
		{"side by side, where nobody looks into them", "unseen wash", 6, pulse(2.9, 50), nil, 2.9},
		{"short pulses on one cloth, where nobody looks into them", "unseen wash", 0, pulse(2.9, 20), nil, 5.8},
		{"filling each other's gaps, made to be seen", "unseen beam", 0, pulse(2.9, 50), nil, 2.9},
		{"two rates side by side", "wash", 6, pulse(2, 50), pulse(2.5, 50), 2.5},
		{"two rates on one cloth", "wash", 0.2, pulse(2, 50), pulse(2.5, 50), 4.5},
		{"strobes out of step, made to be seen", "effect", 6, object{"kind": "strobe", "rate_hz": 2, "duty_pct": 10, "spread_pct": 100}, nil, 4},
	} {
		// A window of a second catches a half of a flash more where the rate is no whole number.
		near(t, c.about, flashes(c.purpose, c.apart, c.effect, c.second).Flashes, c.want, 0.6)
	}
}

// TestHowLongALookStands: until the next is called, and the last until the evening is over; a follow-on comes when it comes.
func TestHowLongALookStands(t *testing.T) {
	m := measure(t, washShow([]object{{"cue": 1, "at_s": 0, "follow_s": 25, "set": at(50)}, {"cue": 2, "set": at(60)}, {"cue": 3, "at_s": 85, "set": at(50)}},
		[]object{{"name": "Song", "start_cue": 1, "duration_s": 300}}))
	for i, want := range []float64{25, 60, 215} {
		near(t, "how long cue "+m.Changes[i].Number+" stands", m.Changes[i].StandsS, want, 1e-9)
	}
	if m := measure(t, washShow([]object{{"cue": 1, "set": at(50)}, {"cue": 2, "set": at(60)}}, nil)); m.Changes[0].StandsS != nil {
		t.Errorf("without a clock it stands %v s", *m.Changes[0].StandsS)
	}
}
