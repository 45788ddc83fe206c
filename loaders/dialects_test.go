package loaders

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run
)

// Exports as a stranger's program or spreadsheet would write them, and the values that
// they say, written down by hand from what stands in the cells.
func TestDialectsOfTables(t *testing.T) {
	for _, test := range []struct {
		name  string
		files map[string]string
		want  map[string]string // section -> JSON of its values
		told  []string          // what has to be found, by rule; nothing else may be
	}{
		{
			"semicolons, decimal commas, titles above, a total below, units in brackets, another order, a mark and CR LF",
			map[string]string{
				"Rig list.csv": "\ufeffHollow Yard Hall\r\nLighting plot, rev. C;;;;printed 3.11.2026;;;;\r\n;;;;;;;;\r\n" +
					"Height [mm];Purpose;Unit name;Fixture type;Across [m];Upstage [cm];Universe;DMX start;Channel no.\r\n" +
					"4800;Front light;\"Lectern, left\";Profile 26;-1,5;-320;1;1;1\r\nBACK;;;;;;;;\r\n5100;Backlight;Band back;Fresnel;0;550;1;5;3\r\n;;;;;;;;\r\nTotal;2 units;;;;;;;\r\n",
				"Cue sheet.csv": "\ufeffTime up/down (s);Intensity (%);Channel range;Cue no.;Scene;Segment\r\n3,5/5;70;1 - 2;1;Welcome;Welcome\r\n;40,5;3;;;\r\n1:30;Full;3;2;Song build;Song\r\n2;Off;1-2;3;Talk ready;Talk\r\nTotal: 3 cues;;;;;\r\n",
			},
			map[string]string{
				"patch": `[{"channel":1,"address":"1.1","name":"Lectern, left","type":"Profile 26","purpose":"key","hung_at":{"x":-1.5,"y":-3.2,"z":4.8}},{"channel":3,"address":"1.5","name":"Band back","type":"Fresnel","purpose":"back","hung_at":{"x":0,"y":5.5,"z":5.1}}]`,
				"cues":  `[{"cue":"1","name":"Welcome","segment":"Welcome","in_s":3.5,"out_s":5,"set":[{"channels":"1 - 2","level":70},{"channels":"3","level":40.5}]},{"cue":"2","name":"Song build","segment":"Song","in_s":90,"set":[{"channels":"3","level":"Full"}]},{"cue":"3","name":"Talk ready","segment":"Talk","in_s":2,"set":[{"channels":"1-2","level":0}]}]`,
			},
			nil,
		}, {
			"tabs, a column for each channel, levels in hexadecimal digits",
			map[string]string{
				"looks.tsv": "Memory\tTitle\tFade in\tFade out\t1: Lectern\t2: Lectern R\t3: Back\t4: House\n1\tDoors\t0\t0\t00\t00\t--\t80\n2\tWelcome\t3\t5\tFF\tCC\t40\t00\n",
				"patch.tsv": "Dimmer\tCircuit\tChan\tDescription\tLamp\n1\tA1\t1\tLectern\tProfile\n512\tA2\t2\tLectern R\tPar\n513\tB1\t3\tBack\tPar\n514\tB2\t4\tHouse\tPar\n",
			},
			map[string]string{
				"patch": `[{"channel":1,"address":"1.1","name":"Lectern","type":"Profile","circuit":"A1","known":{"address":"inferred"}},{"channel":2,"address":"1.512","name":"Lectern R","type":"Par","circuit":"A2","known":{"address":"inferred"}},{"channel":3,"address":"2.1","name":"Back","type":"Par","circuit":"B1","known":{"address":"inferred"}},{"channel":4,"address":"2.2","name":"House","type":"Par","circuit":"B2","known":{"address":"inferred"}}]`,
				"cues":  `[{"cue":"1","name":"Doors","in_s":0,"out_s":0,"set":[{"channels":"1","level":0},{"channels":"2","level":0},{"channels":"4","level":50.2}]},{"cue":"2","name":"Welcome","in_s":3,"out_s":5,"set":[{"channels":"1","level":100},{"channels":"2","level":80},{"channels":"3","level":25.1},{"channels":"4","level":0}]}]`,
			},
			nil,
		}, {
			"a row for each cue and channel, empty columns, names with commas in quote marks, words for levels",
			map[string]string{
				"Cues Nov 22.csv": "\"Show: Evening of Song, second run\",,,,,,,\n,,,,,,,\nCue #,,Cue text,Ch,,Lvl,Up,Dn,Auto follow\n1,,\"House, half\",12,,Half,5,,\n2,,Speaker,1,,Full,4,6,\n2,,Speaker,9,,Out,4,6,\n3,,\"Song, verse\",9,,On,2,,1:30\n,,,,,,,,\n",
				"patch.csv":       "Ch,Location,Device,Patch address,Notes\n1,Front truss,Profile 19,U1 / 001,\n9,Rear pipe,Wash,2 / 017,new bulb\n12,House,House dimmer,2.200,\n",
			},
			map[string]string{
				"patch": `[{"channel":1,"address":"1.1","type":"Profile 19","hung_on":"Front truss"},{"channel":9,"address":"2.17","type":"Wash","hung_on":"Rear pipe"},{"channel":12,"address":"2.200","type":"House dimmer","hung_on":"House"}]`,
				"cues":  `[{"cue":"1","name":"House, half","in_s":5,"set":[{"channels":"12","level":50}]},{"cue":"2","name":"Speaker","in_s":4,"out_s":6,"set":[{"channels":"1","level":"Full"},{"channels":"9","level":0}]},{"cue":"3","name":"Song, verse","in_s":2,"follow_s":90,"set":[{"channels":"9","level":100}]}]`,
			},
			nil,
		}, {
			"capitals, percent signs, ranges in words, times with units, a column At with levels in it",
			map[string]string{
				"CUELIST.CSV": "CUE;DESCRIPTION;CHANNELS;AT;TIME IN;TIME OUT;WAIT;ON STAGE\n1;walk in;20 thru 24;60%;0;0;0;\n2;welcome;1 + 2;85%;3s;5s;0.5s;Host\n3;song one;3 > 8;75%;1m30s;4s;0;\"Singer, Keys, Drums\"\n4;message;1,2;80%;6s;6s;0;Host\n",
			},
			map[string]string{
				"cues": `[{"cue":"1","name":"walk in","in_s":0,"out_s":0,"delay_s":0,"set":[{"channels":"20-24","level":60}]},{"cue":"2","name":"welcome","in_s":3,"out_s":5,"delay_s":0.5,"people":["Host"],"set":[{"channels":"1 + 2","level":85}]},{"cue":"3","name":"song one","in_s":90,"out_s":4,"delay_s":0,"people":["Singer","Keys","Drums"],"set":[{"channels":"3-8","level":75}]},{"cue":"4","name":"message","in_s":6,"out_s":6,"delay_s":0,"people":["Host"],"set":[{"channels":"1,2","level":80}]}]`,
			},
			nil,
		}, {
			"ranges of cues, dashes for nothing, FF beside percent",
			map[string]string{
				"tracking.csv": "Cues,Ch 1,Ch 2,Ch 3\n1,Full,100,--\n2-4,50,50,70\n5,,,Full\n",
			},
			map[string]string{
				"cues": `[{"cue":"1","set":[{"channels":"1","level":"Full"},{"channels":"2","level":100}]},` +
					`{"cue":"2","set":[{"channels":"1","level":50},{"channels":"2","level":50},{"channels":"3","level":70}]},{"cue":"3","set":[{"channels":"1","level":50},{"channels":"2","level":50},{"channels":"3","level":70}]},{"cue":"4","set":[{"channels":"1","level":50},{"channels":"2","level":50},{"channels":"3","level":70}]},` +
					`{"cue":"5","set":[{"channels":"3","level":"Full"}]}]`,
			},
			nil,
		}, {
			"a running order of another program, with clock times and minutes, and colours by name",
			map[string]string{
				"Running order.csv": "Plan for Sunday;;;;;\nPos;Element;Start;Length;Who;LX cue\n1;Prelude;18:25;5:00;Keys;1\n2;Song: Quiet Water;18:33;4:30;Singer + Keys;3\n3;Sermon;18:38;25 min;Speaker;5\n4;Interval;;;;\n;Total;;39:00;;\n",
				"cues.csv":          "LX;What;Lamps;Int;Col;Fade [ms]\n1;Prelude;11-14;30%;#0033ff;5000\n3;Verse;1-4;60%;;3500\n;;11-14;70%;blue;\n5;Talk;11-14;out;;800\n",
			},
			map[string]string{
				"order": `[{"name":"Prelude","start_cue":"1","duration_s":300,"people":["Keys"]},{"name":"Song: Quiet Water","start_cue":"3","duration_s":270,"people":["Singer","Keys"]},{"name":"Sermon","start_cue":"5","duration_s":1500,"people":["Speaker"]},{"name":"Interval"}]`,
				"cues":  `[{"cue":"1","name":"Prelude","in_s":5,"set":[{"channels":"11-14","level":30,"hue_deg":228,"saturation_pct":100}]},{"cue":"3","name":"Verse","in_s":3.5,"set":[{"channels":"1-4","level":60},{"channels":"11-14","level":70,"hue_deg":240,"saturation_pct":100}]},{"cue":"5","name":"Talk","in_s":0.8,"set":[{"channels":"11-14","level":0}]}]`,
			},
			[]string{"file/unknown-column", "file/unknown-column"},
		}, {
			"an instrument schedule, and channels with their levels in one cell",
			map[string]string{
				"Instrument schedule.csv": "Instrument Schedule,,,,,,,\nHall,,,,,,,Page 1 of 2\nPosition,Unit#,Instrument Type,Wattage,Purpose,Color,Chan,Dim\n1st Bar,1,Profile 26,190W,Lectern front,L201,(1),1\n1st Bar,2,Profile 26,190W,Lectern front,L201,(2),2\n2nd Bar,1,Fresnel,650W,Back,NC,(11),11\n",
				"cues.csv":                "Cue,Text,Time,Channels\n1,Doors,3,1@50 2@75 5-8@20\n2,Talk,5,\"1@Full, 2@Full, 5-8@0\"\n",
			},
			map[string]string{
				"patch": `[{"channel":1,"address":"1.1","type":"Profile 26","purpose":"key","hung_on":"1st Bar","hung_order":1,"filter":{"name":"L201"},"known":{"address":"inferred"}},{"channel":2,"address":"1.2","type":"Profile 26","purpose":"key","hung_on":"1st Bar","hung_order":2,"filter":{"name":"L201"},"known":{"address":"inferred"}},{"channel":11,"address":"1.11","type":"Fresnel","purpose":"back","hung_on":"2nd Bar","hung_order":1,"known":{"address":"inferred"}}]`,
				"cues":  `[{"cue":"1","name":"Doors","in_s":3,"set":[{"channels":"1","level":50},{"channels":"2","level":75},{"channels":"5-8","level":20}]},{"cue":"2","name":"Talk","in_s":5,"set":[{"channels":"1","level":"Full"},{"channels":"2","level":"Full"},{"channels":"5-8","level":0}]}]`,
			},
			[]string{"file/unknown-column"},
		}, {
			"times of the clock beside lengths in minutes",
			map[string]string{
				"order.csv": "Time,Title,Mins,People,Cue\n10:00,Opening song,4,\"Singer, Keys\",1\n10:04,Welcome,2.5,Host,2\n10:06,Message,25,Speaker,3\nTotal,,31.5,,\n",
			},
			map[string]string{
				"order": `[{"name":"Opening song","duration_s":240,"people":["Singer","Keys"],"start_cue":"1"},{"name":"Welcome","duration_s":150,"people":["Host"],"start_cue":"2"},{"name":"Message","duration_s":1500,"people":["Speaker"],"start_cue":"3"}]`,
			},
			nil,
		}, {
			"levels whose scale the header names, heights in feet, a light meter's list",
			map[string]string{
				"cues.csv":     "Cue,Channels,Level (0-255),Fade (min)\n1,1,51,2\n2,1,102,0.5\n",
				"readings.csv": "Where,Q,Lux,Kelvin,Height (ft)\nLectern,1,640,5600,5\n",
			},
			map[string]string{
				"cues":     `[{"cue":"1","in_s":120,"set":[{"channels":"1","level":20}]},{"cue":"2","in_s":30,"set":[{"channels":"1","level":40}]}]`,
				"readings": `[{"place":"Lectern","cue":"1","lx":640,"white_k":5600,"height_m":1.524}]`,
			},
			nil,
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := load(t, files(t, test.files))
			for section, want := range test.want {
				var values any
				if err := json.Unmarshal([]byte(want), &values); err != nil {
					t.Fatal(err)
				}
				if got, _ := json.Marshal(valuesOf(r, section)); string(got) != string(must(json.Marshal(values))) {
					t.Errorf("%s is\n%s\nwant\n%s", section, got, must(json.Marshal(values)))
				}
			}
			var told []string
			for _, f := range r.Findings {
				if strings.HasPrefix(f.Rule, "file/") && f.Level != "note" && f.Rule != "file/unknown-name" {
					told = append(told, f.Rule)
					if len(told) > len(test.told) {
						t.Errorf("%s: %s", f.Rule, f.Message)
					}
				}
			}
			if len(told) != len(test.told) {
				t.Errorf("told is %v, want %v", told, test.told)
			}
		})
	}
}

func must(data []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return data
}

// The same rows in another order of columns, with another sign between them, with lines
// above and below, empty columns and another end of line say the same.
func TestADialectChangesNothing(t *testing.T) {
	const rows = 12
	for _, section := range []string{"patch", "cues", "order"} {
		text, err := os.ReadFile(filepath.Join(shows, "flawed-csv", section+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.SplitAfter(string(text), "\n")
		reader := csv.NewReader(strings.NewReader(strings.Join(lines[:min(len(lines), rows)], "")))
		reader.Comma = rune(delimiterOf(lines[0]))
		cells, err := reader.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		_, plain, ok := fromTable(section, []byte(strings.Join(lines[:min(len(lines), rows)], "")))
		if !ok {
			t.Fatalf("%s is not read", section)
		}
		want := plain.Any()
		rapid.Check(t, func(t *rapid.T) {
			order := rapid.Permutation(numbersTo(len(cells[0]))).Draw(t, "order")
			empty := rapid.IntRange(-1, len(order)-1).Draw(t, "empty column before")
			comma := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "comma")
			var b strings.Builder
			if rapid.Bool().Draw(t, "mark") {
				b.WriteString("\ufeff")
			}
			w := csv.NewWriter(&b)
			w.Comma, w.UseCRLF = comma, rapid.Bool().Draw(t, "CR LF")
			write := func(row []string) {
				var out []string
				for i, from := range order {
					if i == empty {
						out = append(out, "")
					}
					out = append(out, row[from])
				}
				_ = w.Write(out) // into memory
			}
			blank := make([]string, len(cells[0]))
			if rapid.Bool().Draw(t, "titles") {
				title := slices.Clone(blank)
				title[order[0]] = "A hall and its evening"
				write(title)
				write(blank)
			}
			for _, row := range cells {
				write(row)
			}
			if rapid.Bool().Draw(t, "total") {
				total := slices.Clone(blank)
				total[order[0]] = "Total: 11"
				write(total)
			}
			w.Flush()
			r, root, ok := fromTable(section, []byte(b.String()))
			if !ok {
				t.Fatalf("not read: %v\n%s", r.Findings, b.String())
			}
			if diff := cmp.Diff(want, root.Any(), cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("%s\n(-plain +dialect)\n%s", b.String(), diff)
			}
		})
	}
}

func delimiterOf(header string) byte {
	best := byte(',')
	for _, b := range []byte{',', ';', '\t'} {
		if strings.Count(header, string(b)) > strings.Count(header, string(best)) {
			best = b
		}
	}
	return best
}

func numbersTo(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}
