package loaders

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/table"
)

// table reads one CSV text as a section of a folder.
func readTable(t testing.TB, section, text string) (Result, []string) {
	t.Helper()
	folder := files(t, map[string]string{section + ".csv": text})
	r := load(t, folder)
	return r, brief(folder, r.Findings)
}

// valuesOf gives a section as plain values.
func valuesOf(r Result, section string) any {
	if ref, ok := r.Show.ReadFrom[section]; ok {
		return ref.Any()
	}
	return nil
}

type (
	list   = []any
	object = map[string]any
)

// A header that is too long is told with all of its columns.
func TestColumnsBeyondTheMostAreCounted(t *testing.T) {
	r, _ := readTable(t, "patch", strings.Repeat("channel,", table.MaxColumns+1)+"\n1\n")
	if want := fmt.Sprintf("the header has %d columns; at most %d are read.", table.MaxColumns+2, table.MaxColumns); !strings.Contains(messages(r.Findings), want) {
		t.Errorf("%q, want %q", messages(r.Findings), want)
	}
}

func TestReadPatch(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       any
		findings   []string
	}{
		{
			name: "every column",
			text: "channel,name,address,type,mode,purpose,hung_on,hung_x,hung_y,hung_z,aimed_at,zoom_deg,shutters,filter,filter_x,filter_y,filter_transmission,filter_shift_mired,filter_hue_deg,circuit,groups,white_k\n" +
				"1,Front left,1.101,par,basic,key,front bar,-3.5,+4,6,lectern,36,\"top 30, left 20/15\",half blue,.3,0.31,0.5,-78,220,C1,front; keys,3200\n",
			want: list{object{
				"channel": 1.0, "name": "Front left", "address": "1.101", "type": "par", "mode": "basic", "purpose": "key", "hung_on": "front bar",
				"hung_at": object{"x": -3.5, "y": 4.0, "z": 6.0}, "aimed_at": "lectern", "zoom_deg": 36.0,
				"shutters": list{object{"side": "top", "depth_pct": 30.0}, object{"side": "left", "depth_pct": 20.0, "angle_deg": 15.0}},
				"filter":   object{"name": "half blue", "x": 0.3, "y": 0.31, "transmission": 0.5, "shift_mired": -78.0, "hue_deg": 220.0},
				"circuit":  "C1", "groups": list{"front", "keys"}, "white_k": 3200.0,
			}},
		},
		{
			name: "names of the trade, a semicolon, decimal commas, units",
			text: "Ch. #;Fixture name;DMX Address;Fixture Type;Use;X (m);Y [m];Z;Focus;Zoom °;CCT (K);Note\r\n" +
				" 1 ; Front ;1.1;par;key;-3,5;4;6,25 m;lectern;36,5°;3200 K;hangs low\r\n",
			want: list{object{
				"channel": 1.0, "name": "Front", "address": "1.1", "type": "par", "purpose": "key", "hung_at": object{"x": -3.5, "y": 4.0, "z": 6.25},
				"aimed_at": "lectern", "zoom_deg": 36.5, "white_k": 3200.0,
			}},
		},
		{
			name: "tabs; a point to aim at; universe and slot",
			text: "channel\tuniverse\tslot\taim_x\taim_y\taim_z\n7\t2\t101\t0\t1\t1.6\n",
			want: list{object{"channel": 7.0, "address": "2.101", "aimed_at": object{"x": 0.0, "y": 1.0, "z": 1.6}}},
		},
		{
			name: "an address beside its universe is a slot",
			text: "channel,universe,address\n7,2,101\n8,,3.1\n",
			want: list{object{"channel": 7.0, "address": "2.101"}, object{"channel": 8.0, "address": "3.1"}},
		},
		{
			name: "universe and slot that do not fit",
			text: "channel,universe,slot,address\n1,,5,\n2,3,,\n3,4,5,1.1\n4,2,,1.1\n5,x,1,\n6,1,1.5,\n",
			want: list{object{"channel": 1.0}, object{"channel": 2.0}, object{"channel": 3.0, "address": "4.5"}, object{"channel": 4.0, "address": "1.1"}, object{"channel": 5.0}, object{"channel": 6.0}},
			findings: []string{
				"patch.csv:2:4 bad-cell error", "patch.csv:3:3 bad-cell error", "patch.csv:4:7 bad-cell error",
				"patch.csv:5:3 bad-cell error", "patch.csv:6:3 bad-cell error", "patch.csv:7:5 bad-cell error",
			},
		},
		{
			name:     "a universe alone",
			text:     "channel,universe\n1,1\n",
			want:     list{object{"channel": 1.0}},
			findings: []string{"patch.csv:1:1 missing-column error", "patch.csv:2:3 bad-cell error"},
		},
		{
			name:     "several channels in one row, and none",
			text:     "channel,address\n1-6,1.1\n\"7,8\",1.7\n,1.9\n9-x,1.9\n10.0,2.1\n1.5,2.2\n",
			want:     list{object{"channel": 10.0, "address": "2.1"}},
			findings: []string{"patch.csv:2:1 bad-cell error", "patch.csv:3:1 bad-cell error", "patch.csv:4:1 bad-cell error", "patch.csv:5:1 bad-cell error", "patch.csv:7:1 bad-cell error"},
		},
		{
			name: "what is no number",
			text: "channel,zoom_deg\n1,NaN\n2,Inf\n3,0x10\n4,1e999\n5,1_000\n6,\"1,234.5\"\n7,\"3,200\"\n8,\"0,200\"\n9,1e1\n10,--5\n11,\"3,25\"\n",
			want: list{
				object{"channel": 1.0}, object{"channel": 2.0}, object{"channel": 3.0}, object{"channel": 4.0}, object{"channel": 5.0}, object{"channel": 6.0}, object{"channel": 7.0},
				object{"channel": 8.0, "zoom_deg": 0.2}, object{"channel": 9.0, "zoom_deg": 10.0}, object{"channel": 10.0}, object{"channel": 11.0, "zoom_deg": 3.25},
			},
			findings: []string{
				"patch.csv:2:3 bad-cell error", "patch.csv:3:3 bad-cell error", "patch.csv:4:3 bad-cell error", "patch.csv:5:3 bad-cell error",
				"patch.csv:6:3 bad-cell error", "patch.csv:7:3 bad-cell error", "patch.csv:8:3 bad-cell error", "patch.csv:11:4 bad-cell error",
			},
		},
		{
			name:     "both decimal marks",
			text:     "channel;zoom_deg\n1;3,5\n2;3.5\n3;1.234,5\n",
			want:     list{object{"channel": 1.0, "zoom_deg": 3.5}, object{"channel": 2.0, "zoom_deg": 3.5}, object{"channel": 3.0}},
			findings: []string{"patch.csv:3:3 mixed-decimals warning", "patch.csv:4:3 bad-cell error"},
		},
		{
			name:     "shutters",
			text:     "channel;shutters\n1;top 30,5 left 20%/-15°|Right\n2;left -\n3;50\n",
			want:     list{object{"channel": 1.0, "shutters": list{object{"side": "top", "depth_pct": 30.5}, object{"side": "left", "depth_pct": 20.0, "angle_deg": -15.0}, object{"side": "Right"}}}, object{"channel": 2.0}, object{"channel": 3.0}},
			findings: []string{"patch.csv:2:26 unknown-word error", "patch.csv:3:3 bad-cell error", "patch.csv:4:3 bad-cell error"},
		},
		{
			name:     "aimed at two things",
			text:     "channel,aimed_at,aim_x\n1,lectern,3\n",
			want:     list{object{"channel": 1.0, "aimed_at": "lectern"}},
			findings: []string{"patch.csv:2:11 bad-cell error"},
		},
		{
			name:     "a point with a part missing stands in its row",
			text:     "channel,hung_x,hung_y,hung_z\n1,1,2,3\n2,1,,3\n",
			want:     list{object{"channel": 1.0, "hung_at": object{"x": 1.0, "y": 2.0, "z": 3.0}}, object{"channel": 2.0, "hung_at": object{"x": 1.0, "z": 3.0}}},
			findings: []string{"patch.csv:3:3 missing-key error"},
		},
		{
			name:     "a header that is nearly one, one that is not, one without a name",
			text:     "channel,adress,wobble,,x_mine,Comment\n1,1.1,x,,p,q\n2,1.2,x,y,p,q\n",
			want:     list{object{"channel": 1.0}, object{"channel": 2.0}},
			findings: []string{"patch.csv:1:9 unknown-column error", "patch.csv:1:16 unknown-column warning", "patch.csv:3:9 unknown-column warning"},
		},
		{
			name:     "one column under two names",
			text:     "channel,Ch,address\n1,2,1.1\n",
			want:     list{object{"channel": 1.0, "address": "1.1"}},
			findings: []string{"patch.csv:1:9 column-twice error"},
		},
		{
			name:     "no channel",
			text:     "\n\nname,address\na,1.1\n",
			findings: []string{"patch.csv:3:1 missing-column error"},
		},
		{name: "empty", text: "", findings: []string{"patch.csv:1:1 syntax error"}},
		{name: "nothing but semicolons", text: "\n \n;\n", findings: []string{"patch.csv:1:1 syntax error"}},
		{name: "only spaces", text: "\n \n  ,\n", findings: []string{"patch.csv:1:1 syntax error"}},
		{name: "only a header", text: "channel,address", want: list{}, findings: []string{"patch.csv:1:1 no-rows warning"}},
		{
			name:     "rows of other lengths",
			text:     "channel,name,zoom_deg\n1,a,3,5\n2,b\n3,c,3,,\n,,\n\n4,d",
			want:     list{object{"channel": 2.0, "name": "b"}, object{"channel": 3.0, "name": "c", "zoom_deg": 3.0}, object{"channel": 4.0, "name": "d"}},
			findings: []string{"patch.csv:2:1 ragged-row error", "patch.csv:3:1 ragged-row warning", "patch.csv:7:1 ragged-row warning"},
		},
		{
			name:     "stray quote marks",
			text:     "channel,name\n1,8\" par\n2,\"a\"b\n3,\"c\n4,d\n",
			want:     list{object{"channel": 1.0, "name": "8\" par"}},
			findings: []string{"patch.csv:2:4 stray-quote warning", "patch.csv:3:3 stray-quote error", "patch.csv:4:3 syntax error"},
		},
		{
			name:     "a stray quote mark in the header",
			text:     "channel,\"a\"b\n1,2\n",
			findings: []string{"patch.csv:1:9 stray-quote error"},
		},
		{
			name: "quote marks keep blanks; without them they go",
			text: "channel,name,hung_on\n1,\" a \", b \u00a0\n2,\"  \",\"\"\n",
			want: list{object{"channel": 1.0, "name": " a ", "hung_on": "b"}, object{"channel": 2.0}},
		},
		{
			name:     "a zero byte",
			text:     "channel\n1\x00\n",
			findings: []string{"patch.csv:1:1 encoding error"},
		},
		{
			name:     "an endless cell",
			text:     "channel,name\n1,\"" + strings.Repeat("x", table.MaxCell+1) + "\"\n2,b\n",
			want:     list{object{"channel": 2.0, "name": "b"}},
			findings: []string{"patch.csv:2:3 bad-cell error"},
		},
		{
			name:     "a header without end",
			text:     strings.Repeat("channel,", table.MaxColumns+1) + "\n1\n",
			findings: []string{"patch.csv:1:1 too-large error"},
		},
		{
			name:     "an endless list in a cell",
			text:     "channel,groups\n1," + strings.Repeat("a;", table.MaxItems+1) + "\n",
			want:     list{object{"channel": 1.0}},
			findings: []string{"patch.csv:2:3 bad-cell error"},
		},
		{
			name:     "what the schema says of a cell",
			text:     "channel,purpose,white_k\n1,kee,900\n",
			want:     list{object{"channel": 1.0, "purpose": "kee", "white_k": 900.0}},
			findings: []string{"patch.csv:2:3 unknown-word error", "patch.csv:2:7 out-of-range error"},
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, got := readTable(t, "patch", tc.text)
			if diff := cmp.Diff(tc.want, valuesOf(r, "patch")); diff != "" {
				t.Errorf("values (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tc.findings, got); diff != "" {
				t.Errorf("findings (-want +got):\n%s\n%s", diff, messages(r.Findings))
			}
		})
	}
}

func TestReadCues(t *testing.T) {
	for _, tc := range []struct {
		name, text string
		want       any
		findings   []string
	}{
		{
			name: "every column",
			text: "cue,part,name,segment,at_s,in_s,out_s,delay_s,follow_s,tracking,note,channels,level,white_k,x,y,mix,hue_deg,saturation_pct,aim,zoom_deg,strobe_hz,pattern,wheel,effect,effect_hz,effect_duty,effect_spread,effect_low,effect_high,screen,drive_pct,palette,people,lead,walks,meant,content,content_pct\n" +
				"12.5,1,Go,Song 1,1:20,3,0:05,0.5,10,restate,bump,\"1-6,9\",70%,4000,.3,.31,red=100 deep blue=20.5,120,80,lectern,20,2,leaves,blue,chase,1.5,50,100,0,90,,,,\"keys, drums\",none,to the front + off,\"black; silhouette: keys, drums\",,\n" +
				",,,,,,,,,,,all,Full,,,,,,,,,,,,,,,,,,LED wall,15,#aabbcc #ddeeff,,,,,dark,7\n",
			want: list{object{
				"cue": "12.5", "part": 1.0, "name": "Go", "segment": "Song 1", "at_s": 80.0, "in_s": 3.0, "out_s": 5.0, "delay_s": 0.5, "follow_s": 10.0, "tracking": "restate", "note": "bump",
				"people": list{"keys", "drums"}, "lead": list{}, "walks": list{"to the front", "off"}, "meant": list{"black", object{"intent": "silhouette", "places": list{"keys", "drums"}}},
				"set": list{
					object{
						"channels": "1-6,9", "level": 70.0, "white_k": 4000.0, "xy": list{0.3, 0.31}, "mix": object{"red": 100.0, "deep blue": 20.5}, "hue_deg": 120.0, "saturation_pct": 80.0,
						"aim": "lectern", "zoom_deg": 20.0, "strobe_hz": 2.0, "pattern": "leaves", "wheel": "blue",
						"effect": object{"kind": "chase", "rate_hz": 1.5, "duty_pct": 50.0, "spread_pct": 100.0, "low_pct": 0.0, "high_pct": 90.0},
					},
					object{"channels": "all", "level": "Full"},
				},
				"screens": list{object{"screen": "LED wall", "drive_pct": 15.0, "palette": list{"#aabbcc", "#ddeeff"}, "content": "dark", "content_pct": 7.0}},
			}},
		},
		{
			name: "names of the trade, semicolons, decimal commas",
			text: "Q;Cue name;Up;Down;Chan;Lvl;Aim X;Aim Y;Aim Z\n1,5;Start;3,5;2;1,3;70,5;1;2;1,5\n1.5;;;;5-7;50;;;\n",
			want: list{object{
				"cue": "1.5", "name": "Start", "in_s": 3.5, "out_s": 2.0,
				"set": list{object{"channels": "1,3", "level": 70.5, "aim": object{"x": 1.0, "y": 2.0, "z": 1.5}}, object{"channels": "5-7", "level": 50.0}},
			}},
		},
		{
			name: "a cue of its own, one that returns, and parts",
			text: "cue,part,in_s,channels,level\n1,,3,,\n2,1,,1,10\n2,2,,2,20\n,,4,3,30\n,3,,4,40\n2,,,5,50\n1,,,6,60\n",
			want: list{
				object{"cue": "1", "in_s": 3.0},
				object{"cue": "2", "part": 1.0, "set": list{object{"channels": "1", "level": 10.0}}},
				object{"cue": "2", "part": 2.0, "in_s": 4.0, "set": list{object{"channels": "2", "level": 20.0}, object{"channels": "3", "level": 30.0}}},
				object{"cue": "2", "part": 3.0, "set": list{object{"channels": "4", "level": 40.0}, object{"channels": "5", "level": 50.0}}},
				object{"cue": "1", "set": list{object{"channels": "6", "level": 60.0}}},
			},
			findings: []string{"cues.csv:3:1 cue-parts note", "cues.csv:8:1 cue-twice error"},
		},
		{
			name:     "rows that differ",
			text:     "cue,name,in_s,channels,level\n1,a,3,1,10\n1,a,0:03,2,10\n1.0,b,4,3,10\n",
			want:     list{object{"cue": "1", "name": "a", "in_s": 3.0, "set": list{object{"channels": "1", "level": 10.0}, object{"channels": "2", "level": 10.0}, object{"channels": "3", "level": 10.0}}}},
			findings: []string{"cues.csv:4:5 cue-row-differs error", "cues.csv:4:7 cue-row-differs error"},
		},
		{
			name:     "rows without a cue",
			text:     "cue,channels,level\n,1,10\n1,2,20\nx,3,30\n,4,40\n2,5,50\n",
			want:     list{object{"cue": "1", "set": list{object{"channels": "2", "level": 20.0}}}, object{"cue": "2", "set": list{object{"channels": "5", "level": 50.0}}}},
			findings: []string{"cues.csv:2:1 bad-cell error", "cues.csv:4:1 bad-cell error", "cues.csv:5:1 bad-cell error"},
		},
		{
			name:     "a row that is left out takes its cue along",
			text:     "cue,channels,level\n1,2,20\n2,3,30,\"x\"\n,4,40\n,5,50,x\n3,,\n,6,60\n",
			want:     list{object{"cue": "1", "set": list{object{"channels": "2", "level": 20.0}}}, object{"cue": "3", "set": list{object{"channels": "6", "level": 60.0}}}},
			findings: []string{"cues.csv:3:1 ragged-row error", "cues.csv:4:1 bad-cell error", "cues.csv:5:1 ragged-row error"},
		},
		{
			name: "times",
			text: "cue,in_s\n1,0:03.5\n2,1:02:03\n3,4s\n4,1:60\n5,1:2:3:4\n6,x\n7,:5\n8,-1\n9,1:0x\n",
			want: list{
				object{"cue": "1", "in_s": 3.5}, object{"cue": "2", "in_s": 3723.0}, object{"cue": "3", "in_s": 4.0}, object{"cue": "4"}, object{"cue": "5"},
				object{"cue": "6"}, object{"cue": "7"}, object{"cue": "8", "in_s": -1.0}, object{"cue": "9"},
			},
			findings: []string{"cues.csv:5:3 bad-cell error", "cues.csv:6:3 bad-cell error", "cues.csv:7:3 bad-cell error", "cues.csv:8:3 bad-cell error", "cues.csv:9:3 out-of-range error", "cues.csv:10:3 bad-cell error"},
		},
		{
			name: "levels and mixes",
			text: "cue;channels;level;mix\n1;1;full;red=33,5, blue=2\n2;1;halb;red 5\n3;1;5;=5\n4;1;120;a=1+b=2|a=3\n5;1;;red=5x\n6;1;;red=1,2,3\n",
			want: list{
				object{"cue": "1", "set": list{object{"channels": "1", "level": "full", "mix": object{"red": 33.5, "blue": 2.0}}}},
				object{"cue": "2", "set": list{object{"channels": "1"}}},
				object{"cue": "3", "set": list{object{"channels": "1", "level": 5.0}}},
				object{"cue": "4", "set": list{object{"channels": "1", "level": 120.0, "mix": object{"a": 1.0, "b": 2.0}}}},
				object{"cue": "5", "set": list{object{"channels": "1"}}},
				object{"cue": "6", "set": list{object{"channels": "1", "mix": object{}}}},
			},
			findings: []string{
				"cues.csv:3:5 bad-cell error", "cues.csv:3:10 bad-cell error", "cues.csv:4:7 bad-cell error",
				"cues.csv:5:5 out-of-range error", "cues.csv:5:17 bad-cell error", "cues.csv:6:6 bad-cell error", "cues.csv:7:10 bad-cell error",
			},
		},
		{
			name: "emitters in columns are parts of a mix, and a mix is the whole",
			text: "cue,channels,level,red,green,blue,mix,mix_part\n1,1,50,100,,20,,\n2,1,50,,,,red=5,\n3,1,50,,,,,blue=7\n4,1,50,,,,,\n",
			want: list{
				object{"cue": "1", "set": list{object{"channels": "1", "level": 50.0, "mix_part": object{"red": 100.0, "blue": 20.0}}}},
				object{"cue": "2", "set": list{object{"channels": "1", "level": 50.0, "mix": object{"red": 5.0}}}},
				object{"cue": "3", "set": list{object{"channels": "1", "level": 50.0, "mix_part": object{"blue": 7.0}}}},
				object{"cue": "4", "set": list{object{"channels": "1", "level": 50.0}}},
			},
		},
		{
			name:     "half a colour, a drive without a screen, a setting without channels",
			text:     "cue,channels,level,x,y,screen,drive_pct\n1,1,,0.3,,,\n2,,50,,,,\n3,,,,,,15\n4,,,,,wall,x\n",
			want:     list{object{"cue": "1", "set": list{object{"channels": "1"}}}, object{"cue": "2", "set": list{object{"level": 50.0}}}, object{"cue": "3", "screens": list{object{"drive_pct": 15.0}}}, object{"cue": "4", "screens": list{object{"screen": "wall"}}}},
			findings: []string{"cues.csv:2:6 bad-cell error", "cues.csv:3:1 missing-key error", "cues.csv:4:8 missing-key error", "cues.csv:5:12 bad-cell error"},
		},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, got := readTable(t, "cues", tc.text)
			if diff := cmp.Diff(tc.want, valuesOf(r, "cues")); diff != "" {
				t.Errorf("values (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tc.findings, got); diff != "" {
				t.Errorf("findings (-want +got):\n%s\n%s", diff, messages(r.Findings))
			}
		})
	}
}

func TestReadOrder(t *testing.T) {
	r, got := readTable(t, "order", "Item,Type,First cue,Length,On stage,Mood,Colours,Reason\n"+
		"Song 1,song,10,4:30,lectern; drums | keys,loud,\"#aabbcc,#ddeeff\",big\n"+
		"Talk,talk,20.5,1:05:00,,,,\nFilm,film,,90,,,,\n,song,,,,,,\nEnd,closing,x,y,,,,\n")
	want := list{
		object{"name": "Song 1", "kind": "song", "start_cue": "10", "duration_s": 270.0, "people": list{"lectern", "drums", "keys"}, "mood": "loud", "palette": list{"#aabbcc", "#ddeeff"}, "note": "big"},
		object{"name": "Talk", "kind": "talk", "start_cue": "20.5", "duration_s": 3900.0},
		object{"name": "Film", "kind": "film", "duration_s": 90.0},
		object{"name": "End", "kind": "closing"},
	}
	if diff := cmp.Diff(want, valuesOf(r, "order")); diff != "" {
		t.Errorf("values (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"order.csv:5:1 bad-cell error", "order.csv:6:13 bad-cell error", "order.csv:6:15 bad-cell error"}, got); diff != "" {
		t.Errorf("findings (-want +got):\n%s\n%s", diff, messages(r.Findings))
	}
}

func toUTF16(text string, big bool) string {
	var b strings.Builder
	for _, unit := range utf16.Encode([]rune("\uFEFF" + text)) {
		high, low := byte(unit>>8), byte(unit)
		if big {
			b.Write([]byte{high, low})
		} else {
			b.Write([]byte{low, high})
		}
	}
	return b.String()
}

func TestCSVEncodings(t *testing.T) {
	const text = "channel;name;zoom_deg\n1;Grün €;3,5\n"
	for _, tc := range []struct {
		name, data, note string
		finding          []string
	}{
		{"UTF-8", text, "patch.csv: a semicolon between columns, decimal commas, UTF-8", nil},
		{"byte order mark", "\xEF\xBB\xBF" + text, "patch.csv: a semicolon between columns, decimal commas, UTF-8 with byte order mark", nil},
		{"UTF-16 LE", toUTF16(text, false), "patch.csv: a semicolon between columns, decimal commas, UTF-16 (little endian)", []string{"patch.csv:1:1 encoding note"}},
		{"UTF-16 BE", toUTF16(text, true), "patch.csv: a semicolon between columns, decimal commas, UTF-16 (big endian)", []string{"patch.csv:1:1 encoding note"}},
		{"Windows-1252", strings.NewReplacer("ü", "\xFC", "€", "\x80").Replace(text), "patch.csv: a semicolon between columns, decimal commas, Windows-1252", []string{"patch.csv:1:1 encoding note"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, got := readTable(t, "patch", tc.data)
			if diff := cmp.Diff(tc.finding, got); diff != "" {
				t.Error(diff)
			}
			if len(r.Notes) != 1 || r.Notes[0] != tc.note {
				t.Errorf("notes %q", r.Notes)
			}
			fixture := r.Show.Patch[0]
			zoom, _ := fixture.At.Find("/zoom_deg")
			if fixture.Name != "Grün €" || *fixture.ZoomDeg != 3.5 || zoom.Span().Start != (source.Position{Line: 2, Column: 10}) {
				t.Errorf("got %+v, zoom at %v", fixture, zoom.Span())
			}
		})
	}
	r, got := readTable(t, "patch", "\xFF\xFEc\x00h")
	if !r.Unreadable || !cmp.Equal(got, []string{"patch.csv:1:1 encoding error"}) {
		t.Errorf("half a character: %v", got)
	}
	_, got = readTable(t, "patch", toUTF16("channel,name\n1,a", false)+"\x00\xD8"+"b\x00")
	if !cmp.Equal(got, []string{"patch.csv:2:4 encoding warning"}) {
		t.Errorf("half a surrogate pair: %v", got)
	}
}

func TestCSVNotes(t *testing.T) {
	for text, want := range map[string]string{
		"channel,name\n1,a\n":              "patch.csv: a comma between columns, UTF-8",
		"channel\tname\n1\ta\n":            "patch.csv: a tab between columns, UTF-8",
		"channel\n1\n":                     "patch.csv: one column, UTF-8",
		"channel,zoom\n1,3.5\n":            "patch.csv: a comma between columns, decimal points, UTF-8",
		"channel,zoom\n1,3.5\n2,\"3,5\"\n": "patch.csv: a comma between columns, decimal commas and decimal points, UTF-8",
		"\"channel\",\"a;b;c;d;e;f\"\n1,x": "patch.csv: a comma between columns, UTF-8",
		"channel;\"name\"\n1;a\n":          "patch.csv: a semicolon between columns, UTF-8",
	} {
		if r, _ := readTable(t, "patch", text); len(r.Notes) != 1 || r.Notes[0] != want {
			t.Errorf("%q: notes %q, want %q", text, r.Notes, want)
		}
	}
}

// Line and column of a cell count characters, whatever stands before it.
func TestCSVPositions(t *testing.T) {
	for _, tc := range []struct {
		name, text, pointer string
		line, column        int
		key                 int // column of the header
	}{
		{"line feeds", "channel,name\n1,a\n2,b\n", "/1/name", 3, 3, 9},
		{"CR LF", "channel,name\r\n1,a\r\n2,b\r\n", "/1/name", 3, 3, 9},
		{"lone CR", "channel,name\r1,a\r2,b\r", "/1/name", 3, 3, 9},
		{"tabs", "channel\tname\n1\ta\n", "/0/name", 2, 3, 9},
		{"blanks are not part of a value", "channel,  name\n1,  a  \n", "/0/name", 2, 5, 11},
		{"multi-byte text", "x_ü€😀,channel,name\nü€😀,1,a\n", "/0/name", 2, 7, 15},
		{"a quoted cell starts at its quote mark", "channel,name\n1,\"a\"\n", "/0/name", 2, 3, 9},
		{"behind a quoted line break", "x_a,channel,name\n\"b\r\nc\",1,a\n", "/0/name", 3, 6, 13},
		{"behind doubled quote marks", "x_a,channel,name\n\"b\"\"c\",1,a\n", "/0/name", 2, 10, 13},
		{"byte order mark", "\xEF\xBB\xBFchannel,name\n1,a\n", "/0/channel", 2, 1, 1},
		{"a word in a list", "channel,groups\n1,a; b\n", "/0/groups/1", 2, 6, 6},
		{"a word in a quoted list", "channel,groups\n1,\"a; b\"\n", "/0/groups/1", 2, 7, 7},
		{"a word in a list with doubled quote marks", "channel,groups\n1,\"a; \"\"b\"\n", "/0/groups/1", 2, 3, 3},
		{"a part of a point", "channel,hung_x,hung_y,hung_z\n1,1,2,3\n", "/0/hung_at/y", 2, 5, 16},
		{"a point", "channel,hung_x,hung_y,hung_z\n1,1,2,3\n", "/0/hung_at", 2, 3, 3},
		{"a row", "x_a,channel\n,1\n", "/0", 2, 1, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, _ := readTable(t, "patch", tc.text)
			ref, ok := r.Show.ReadFrom["patch"].Find(tc.pointer)
			if !ok || ref.Pointer() != tc.pointer {
				t.Fatalf("%s is not there: %v", tc.pointer, ref.Pointer())
			}
			if got := ref.Span().Start; got != (source.Position{Line: tc.line, Column: tc.column}) {
				t.Errorf("value at %v, want %d:%d", got, tc.line, tc.column)
			}
			if got := ref.KeySpan().Start.Column; got != tc.key {
				t.Errorf("key in column %d, want %d", got, tc.key)
			}
		})
	}
}

func TestTooManyRowsAreRefused(t *testing.T) {
	r, got := readTable(t, "patch", "channel\n"+strings.Repeat("x\n", table.MaxRows+1))
	last := got[len(got)-1]
	if !r.Unreadable || !strings.Contains(strings.Join(got, "\n"), "patch.csv:300002:1 too-large error") {
		t.Errorf("the last of %d findings is %s", len(got), last)
	}
}

func TestAliases(t *testing.T) {
	folder := files(t, map[string]string{"patch.csv": "Kreis,Größe,name\n7,36,par\n"})
	r, err := Load(folder, Options{Aliases: map[string][]string{"channel": {"KREIS"}, "zoom_deg": {"grösse", "größe"}, "type": {"Name"}}})
	if err != nil || len(r.Findings) > 0 {
		t.Fatalf("%v\n%s", err, messages(r.Findings))
	}
	want := list{object{"channel": 7.0, "zoom_deg": 36.0, "type": "par"}}
	if diff := cmp.Diff(want, valuesOf(r, "patch")); diff != "" {
		t.Error(diff)
	}
	for message, aliases := range map[string]map[string][]string{
		`no table has such a column. Did you mean "channel"?`: {"chanel": {"x"}},
		`no letter or digit`:                   {"channel": {"--"}},
		`"ab" stands for channel and for name`: {"channel": {"A B"}, "name": {"ab"}},
	} {
		if _, err := Load(folder, Options{Aliases: aliases}); err == nil || !strings.Contains(err.Error(), message) {
			t.Errorf("got %v, want %s", err, message)
		}
	}
	if err := CheckAliases(map[string][]string{"channel": {"Nr"}, "cue": {"Nr"}}); err != nil {
		t.Errorf("one name may stand for columns of two tables: %v", err)
	}
}

// Kinds and moods are read in the words of people, whatever their case; what is none of them stays for the check to tell.
func TestWordsOfARunningOrder(t *testing.T) {
	r, _ := readTable(t, "order", "Item,Type,Mood\nA,HYMN,Soft\nB,Song,medium\nC,sermon,HIGH\nD,prayer,loud\nE,odd,odder\n")
	want := list{
		object{"name": "A", "kind": "song", "mood": "quiet"}, object{"name": "B", "kind": "song", "mood": "middle"}, object{"name": "C", "kind": "talk", "mood": "loud"},
		object{"name": "D", "kind": "prayer", "mood": "loud"}, object{"name": "E", "kind": "odd", "mood": "odder"},
	}
	if diff := cmp.Diff(want, valuesOf(r, "order")); diff != "" {
		t.Errorf("values (-want +got):\n%s", diff)
	}
}
