package lint

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/outcome"
)

// granary is a small evening with nothing to be said that matters here: a teller on a stool, two
// singers at a bench beside him, a wall that is washed, and two cameras.
const granary = `{
	"name": "Granary evening",
	"room": {
		"name": "Old granary", "ambient": [{"face_lx": 6, "white_k": 3200}],
		"places": [
			{"name": "stool", "x": -2, "y": 1, "z": 0, "head_m": 1.6, "facing_deg": 0, "clothing": "mid", "background": "boards"},
			{"name": "bench left", "x": 1.4, "y": 1.4, "z": 0, "head_m": 1.6, "facing_deg": 0, "clothing": "mid", "background": "boards"},
			{"name": "bench right", "x": 2.6, "y": 1.4, "z": 0, "head_m": 1.6, "facing_deg": 0, "clothing": "mid", "background": "boards"},
			{"name": "hatch", "x": -5, "y": 2, "z": 0, "head_m": 1.6}
		],
		"paths": [{"name": "hatch to stool", "from": "hatch", "to": "stool"}],
		"cameras": [
			{"name": "gallery", "role": "main", "x": 0, "y": -9, "z": 2, "aimed_at": {"x": 0, "y": 1, "z": 1.5}, "view_deg": 40, "white_k": 3200, "auto_white": false, "auto_exposure": false, "aperture_f": 2.8, "sensitivity_iso": 800, "shutter_s": 0.02, "frame_rate_hz": 25}
		],
		"surfaces": [{"name": "boards", "kind": "wall", "centre": {"x": 0, "y": 5, "z": 2}, "width_m": 12, "height_m": 4, "reflectance": 0.25, "colour": "#a08060"}]
	},
	"types": [
		{"name": "spot", "source": "white-led", "white_k": 3200, "peak_cd": 15000, "beam_deg": 20, "field_deg": 32, "dimmer_curve": "linear", "can": ["dim"]},
		{"name": "flood", "source": "colour-led", "peak_cd": 4000, "beam_deg": 60, "field_deg": 90, "dimmer_curve": "linear", "can": ["dim", "mix"],
			"emitters": [{"name": "red", "wavelength_nm": 628, "flux_lm": 800}, {"name": "green", "wavelength_nm": 524, "flux_lm": 1300}, {"name": "blue", "wavelength_nm": 458, "flux_lm": 400}]}
	],
	"patch": [
		{"channel": 1, "name": "stool key", "type": "spot", "address": "1.1", "purpose": "key", "aimed_at": "stool", "hung_at": {"x": -4, "y": -2, "z": 4.5}, "mount": "hangs"},
		{"channel": 2, "name": "stool fill", "type": "spot", "address": "1.2", "purpose": "fill", "aimed_at": "stool", "hung_at": {"x": 0, "y": -2, "z": 4.5}, "mount": "hangs"},
		{"channel": 3, "name": "stool back", "type": "spot", "address": "1.3", "purpose": "back", "aimed_at": "stool", "hung_at": {"x": -2, "y": 4, "z": 4.5}, "mount": "hangs"},
		{"channel": 4, "name": "bench key", "type": "spot", "address": "1.4", "purpose": "key", "aimed_at": {"x": 2, "y": 1.4, "z": 1.6}, "hung_at": {"x": 4.5, "y": -2, "z": 4.5}, "mount": "hangs"},
		{"channel": 5, "name": "bench fill", "type": "spot", "address": "1.5", "purpose": "fill", "aimed_at": {"x": 2, "y": 1.4, "z": 1.6}, "hung_at": {"x": -0.5, "y": -2, "z": 4.5}, "mount": "hangs"},
		{"channel": 6, "name": "bench back", "type": "spot", "address": "1.6", "purpose": "back", "aimed_at": {"x": 2, "y": 1.4, "z": 1.6}, "hung_at": {"x": 2, "y": 4.5, "z": 4.5}, "mount": "hangs"},
		{"channel": 11, "name": "boards left", "type": "flood", "address": "1.11", "purpose": "wash", "aimed_at": {"x": -3, "y": 5, "z": 2}, "hung_at": {"x": -3, "y": 4.2, "z": 0.2}, "mount": "stands"},
		{"channel": 12, "name": "boards right", "type": "flood", "address": "1.21", "purpose": "wash", "aimed_at": {"x": 3, "y": 5, "z": 2}, "hung_at": {"x": 3, "y": 4.2, "z": 0.2}, "mount": "stands"}
	],
	"groups": {"boards": "11-12"},
	"order": [
		{"name": "Tale", "kind": "talk", "mood": "middle", "people": ["stool"], "start_cue": 1, "duration_s": 300},
		{"name": "Ballad", "kind": "song", "mood": "quiet", "people": ["bench left", "bench right"], "start_cue": 2, "duration_s": 200},
		{"name": "Second tale", "kind": "talk", "mood": "middle", "people": ["stool"], "start_cue": 3, "duration_s": 300},
		{"name": "Reel", "kind": "song", "mood": "loud", "people": ["bench left", "bench right"], "start_cue": 4, "duration_s": 200}
	],
	"cues": [
		{"cue": 1, "name": "Tale", "in_s": 4, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 16}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20, "mix": {"red": 20, "green": 30, "blue": 100}}]},
		{"cue": 2, "name": "Ballad", "in_s": 6, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 30}, {"channels": "5", "level": 16}, {"channels": "6", "level": 20}, {"channels": "boards", "level": 12}]},
		{"cue": 3, "name": "Tale again", "in_s": 4, "set": [{"channels": "4-6", "level": 0}, {"channels": "1", "level": 30}, {"channels": "2", "level": 16}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20}]},
		{"cue": 4, "name": "Reel", "in_s": 3, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 38}, {"channels": "5", "level": 20}, {"channels": "6", "level": 36}, {"channels": "boards", "level": 80, "mix": {"red": 100, "green": 40, "blue": 0}}]}
	]
}`

// quietIsBrightest makes the ballad brighter than the reel.
const quietIsBrightest = `{"cues": [
	{"cue": 2, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 38}, {"channels": "5", "level": 20}, {"channels": "6", "level": 40}, {"channels": "boards", "level": 100}]},
	{"cue": 4, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 30}, {"channels": "5", "level": 16}, {"channels": "6", "level": 30}, {"channels": "boards", "level": 80}]}]}`

// sixSystems gives the evening side lights, top lights and beams, and brings them and the wash to
// a level in its last song.
func sixSystems(level int) string {
	return fmt.Sprintf(`{"patch": [
			{"channel": 31, "name": "side left", "type": "flood", "address": "1.51", "purpose": "side", "aimed_at": {"x": 2, "y": 1.4, "z": 0}, "hung_at": {"x": -6, "y": 1.4, "z": 4}, "mount": "hangs"},
			{"channel": 32, "name": "top", "type": "flood", "address": "1.61", "purpose": "top", "aimed_at": {"x": 2, "y": 2, "z": 0}, "hung_at": {"x": 2, "y": 2, "z": 5}, "mount": "hangs"},
			{"channel": 33, "name": "beam", "type": "flood", "address": "1.71", "purpose": "beam", "aimed_at": {"x": 0, "y": 4, "z": 6}, "hung_at": {"x": -2, "y": 4, "z": 0.3}, "mount": "stands"}],
		"order": [{"name": "Reel", "people": ["stool", "bench left", "bench right"]}], "room": {"cameras": [{"name": "gallery", "sensitivity_iso": 320}]},
		"cues": [{"cue": 4, "set": [{"channels": "1-2,4-5", "level": 50}, {"channels": "3,6", "level": 60},
			{"channels": "31-33", "level": %[1]d, "mix": {"red": 100, "green": 40, "blue": 0}}, {"channels": "boards", "level": %[1]d, "mix": {"red": 100, "green": 40, "blue": 0}}]}]}`, level)
}

// Kinds of faults get the order that they need, whatever the show.
func TestKindsOfFaultsGetTheirOrder(t *testing.T) {
	const plain = "without a room" // the evening, with no room at all
	const filamentBeside = `{"room": {"cameras": null}, "types": [{"name": "spot", "can": ["dim", "white"], "white_k": 5600, "white_range_k": [2700, 6500]}, {"name": "lantern", "+": true, "source": "tungsten", "white_k": 2900, "peak_cd": 15000, "beam_deg": 20, "field_deg": 32, "dimmer_curve": "linear", "can": ["dim"]}], "patch": [{"channel": 2, "type": "lantern"}], "cues": [
				{"cue": 1, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 65}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20, "mix": {"red": 20, "green": 30, "blue": 100}}]},
				{"cue": 3, "set": [{"channels": "4-6", "level": 0}, {"channels": "1", "level": 30}, {"channels": "2", "level": 65}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20}]}]}`
	for _, tc := range []struct{ name, patch, want string }{
		{"nothing is wrong", `{}`, ""},
		{"the way of the tale has another name", `{"order": [{"name": "Tale", "walks": ["steps"]}]}`, `Write "hatch to stool" instead of "steps" under walks of the segment "Tale".`},
		{"so has that of the second", `{"order": [{"name": "Second tale", "walks": ["from the hatch"]}]}`, `Write "hatch to stool" instead of "from the hatch" under walks of the segment "Second tale".`},
		{"nobody at the bench comes from the hatch", `{"order": [{"name": "Reel", "walks": ["steps"]}]}`, ""},
		{"the teller sits at a place that is none", `{"order": [{"name": "Tale", "people": ["chair"], "lead": ["chair"]}]}`, `Write "stool" instead of "chair" under people of the segment "Tale". Write "stool" instead of "chair" under lead of the segment "Tale".`},
		{"one of two singers does, and both are lit by one lamp", `{"order": [{"name": "Reel", "people": ["bench left", "bank"]}]}`, ""},
		{"the tale is told in the dark, by a word that is none", `{"order": [{"name": "Tale", "meant": ["faces-drk"]}], "cues": [{"cue": 1, "set": [{"channels": "3", "level": 20}, {"channels": "boards", "level": 20, "mix": {"red": 20, "green": 30, "blue": 100}}]}]}`, `Write "faces-dark" instead of "faces-drk" under meant of the segment "Tale".`},
		{"the aim of a key has the sign of the other side, where somebody else sits", `{"patch": [{"channel": 4, "aimed_at": {"x": -2}}]}`, `Aim bench key (channel 4) at a point 2 m right of the middle (seen from the house), 1.4 m behind the edge of the stage, 1.6 m above its floor, or only write its x as 2 if it points there already.`},
		{"that of another has, and nobody is there", `{"patch": [{"channel": 1, "name": "front", "aimed_at": {"x": -2, "y": -1, "z": 1.6}}]}`, `Aim front (channel 1) at stool, or only write its y as 1 if it points there already.`},
		{"a key was knocked round to the neighbours, who have one", `{"patch": [{"channel": 1, "name": "front", "aimed_at": {"x": 0.2, "y": 1.4, "z": 1.6}}]}`, `Aim front (channel 1) at stool.`},
		{"one looks into the lens", `{"order": [{"name": "Reel", "people": ["stool", "bench left"]}], "cues": [{"cue": 4, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 16}, {"channels": "3", "level": 20}, {"channels": "4", "level": 38}, {"channels": "5", "level": 20}, {"channels": "6", "level": 36}, {"channels": "boards", "level": 80, "mix": {"red": 100, "green": 40, "blue": 0}}]}], "patch": [{"channel": 3, "name": "rear", "aimed_at": {"x": 0, "y": -9, "z": 2}}]}`, `Aim rear (channel 3) at stool.`},
		{"the teller was entered the wrong way round", `{"room": {"places": [{"name": "stool", "facing_deg": 170}, {"name": "bench right", "facing_deg": 10}]}}`, `See that whoever is at the place "stool" looks straight to the house, and write 0 degrees as the facing there.`},
		{"so was one of those who sing to the side", `{
			"room": {"places": [{"name": "bench right", "facing_deg": -120}, {"name": "stool", "facing_deg": -10}, {"name": "bench left", "facing_deg": 10}]},
			"patch": [{"channel": 4, "aimed_at": "bench right", "hung_at": {"x": 5, "y": -2, "z": 4.5}}, {"channel": 5, "aimed_at": "bench right", "hung_at": {"x": 3, "y": -2.6, "z": 4.5}}]}`, `See that whoever is at the place "bench right" looks to the house and to the right, seen from it, and write 15 degrees as the facing there.`},
		{plain + " the bench stays lit in the tale", `{"room": null, "cues": [{"cue": 3, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 16}, {"channels": "3", "level": 20}]}],
			"patch": [{"channel": 4, "aimed_at": "bench left"}, {"channel": 5, "aimed_at": "bench left"}, {"channel": 6, "aimed_at": "bench left"}], "order": [{"name": "Ballad", "people": ["bench left"]}, {"name": "Reel", "people": ["bench left"]}]}`,
			`Bring bench key and 2 more (channels 4-6) in "Tale again" (cue 3) to 0 %.`},
		{plain + " the second tale is black", `{"room": null, "cues": [{"cue": 3, "set": [{"channels": "all", "level": 0}]}]}`, `In "Tale again" (cue 3), bring stool key (channel 1) to 30 %, stool fill (channel 2) to 16 % and stool back (channel 3) to 20 %.`},
		{"a cue tells what stands there", `{"cues": [{"cue": 3.5, "segment": "Second tale", "at_s": 90, "set": [{"channels": "1", "level": 30}]}]}`, `Ask what cue 3.5 should change.`},
		{"a meter shows half at the stool", `{"readings": [{"place": "stool", "cue": 1, "lx": 40, "accuracy_pct": 5}]}`, `Look at stool key and stool fill (channels 1, 2) before you trust the numbers`},
		{"and between two lamps that are aimed past it", `{"room": {"places": [{"name": "bench left", "x": 0.6}]}, "readings": [{"place": "bench left", "cue": 4, "lx": 20, "accuracy_pct": 5}]}`, `Look at bench key and bench fill (channels 4, 5) before you trust the numbers`},
		{"the quiet song is the brightest", quietIsBrightest,
			`In "Ballad" (cue 2), bring bench key and bench back (channels 4, 6) to 30 %, bench fill (channel 5) to 16 % and boards left and boards right (channels 11, 12) to 20 %.`},
		{"a quiet tale has the light of a loud one", `{"order": [{"name": "Tale", "mood": "quiet"}, {"name": "Second tale", "mood": "loud"}], "cues": [{"cue": 1, "set": [{"channels": "1", "level": 32}, {"channels": "2", "level": 17}, {"channels": "3", "level": 22}, {"channels": "boards", "level": 90, "mix": {"red": 20, "green": 30, "blue": 100}}]}, {"cue": 3, "set": [{"channels": "4-6", "level": 0}, {"channels": "1", "level": 24}, {"channels": "2", "level": 13}, {"channels": "3", "level": 16}, {"channels": "boards", "level": 45}]}]}`,
			`In "Tale" (cue 1), bring stool key (channel 1) to 24 %, stool fill (channel 2) to 13 %, stool back (channel 3) to 16 % and boards left and boards right (channels 11, 12) to 12 %.`},
		{"the stage is cleared a minute before the tale ends", `{"cues": [{"cue": 1.5, "segment": "Tale", "at_s": 235, "in_s": 3, "set": [{"channels": "all", "level": 0}]}]}`, `Call cue 1.5 300 seconds into its segment.`},
		{"the light of the song is called late, and waits a little", `{"cues": [{"cue": 2, "at_s": 40, "delay_s": 5}]}`, `Let "Ballad" (cue 2) come with the start of its part (at_s 0).`},
		{"it is called a little late, and waits long", `{"cues": [{"cue": 2, "at_s": 5, "delay_s": 40}]}`, `Let the light of "Ballad" (cue 2) begin as soon as it is called (delay_s 0).`},
		{"so is that of the song", `{"cues": [{"cue": 2.5, "segment": "Ballad", "at_s": 120, "in_s": 3, "set": [{"channels": "all", "level": 0}]}, {"cue": 3, "set": [{"channels": "1", "level": 30}, {"channels": "2", "level": 16}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20}]}]}`, `Call cue 2.5 200 seconds into its segment.`},
		{"the fill was forgotten all evening, and the key brought up for it", `{"cues": [{"cue": 1, "set": [{"channels": "1", "level": 44}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20, "mix": {"red": 20, "green": 30, "blue": 100}}]}, {"cue": 3, "set": [{"channels": "4-6", "level": 0}, {"channels": "1", "level": 44}, {"channels": "3", "level": 20}, {"channels": "boards", "level": 20}]}]}`, `In cues 1, 3, bring stool key (channel 1) to 29 % and stool fill (channel 2) to 15 %.`},
		{"a filament stands beside a key of daylight", filamentBeside, `Ask for a filter in stool fill (channel 2)`},
		{"and is not brought up", filamentBeside, `never Bring stool fill`},
		{"the camera was left on daylight", `{"room": {"cameras": [{"name": "gallery", "white_k": 5600}]}}`, `Set the white balance of the camera "gallery" to 3200 K.`},
		{"one of two was, and the other sees somebody by the window", `{
			"room": {"cameras": [{"name": "gallery", "white_k": 5600, "aimed_at": {"x": 2, "y": 1.4, "z": 1.5}, "view_deg": 14}, {"name": "window", "+": true, "role": "second", "x": -4, "y": -5, "z": 1.6, "aimed_at": "stool", "view_deg": 12, "white_k": 5600, "auto_white": false, "auto_exposure": false, "aperture_f": 2.8, "sensitivity_iso": 800, "shutter_s": 0.02, "frame_rate_hz": 25}]},
			"types": [{"name": "day spot", "source": "white-led", "white_k": 5600, "peak_cd": 15000, "beam_deg": 20, "field_deg": 32, "dimmer_curve": "linear", "can": ["dim"]}],
			"patch": [{"channel": 1, "type": "day spot"}, {"channel": 2, "type": "day spot"}, {"channel": 3, "type": "day spot"}]}`, `Set the white balance of the camera "gallery" to 3200 K.`},
		{"the camera is open for a dark hall", `{"room": {"cameras": [{"name": "gallery", "sensitivity_iso": 3200}]}}`, `Set the sensitivity of the camera "gallery" to ISO `},
		{"the lens is closed for the sun", `{"room": {"cameras": [{"name": "gallery", "aperture_f": 11}]}}`, `Set the aperture of the camera "gallery" to f/`},
		{"the keys of the reel are a tenth, and its back light is not", `{"cues": [{"cue": 4, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 8}, {"channels": "5", "level": 4}, {"channels": "6", "level": 36}, {"channels": "boards", "level": 80, "mix": {"red": 100, "green": 40, "blue": 0}}]}]}`,
			`In "Reel" (cue 4), bring bench key (channel 4) to 30 % and bench fill (channel 5) to 16 %`},
		{"the reel is lower than the ballad, before a pale wall", `{"room": {"surfaces": [{"name": "boards", "reflectance": 0.5}]}, "order": [{"name": "Tale", "kind": "song", "mood": "loud", "people": ["bench left", "bench right"]}], "cues": [{"cue": 1, "set": [{"channels": "4", "level": 38}, {"channels": "5", "level": 20}, {"channels": "6", "level": 36}, {"channels": "boards", "level": 60, "mix": {"red": 20, "green": 30, "blue": 100}}]}, {"cue": 2, "set": [{"channels": "4", "level": 30}, {"channels": "5", "level": 16}, {"channels": "6", "level": 20}, {"channels": "boards", "level": 25}]}, {"cue": 4, "set": [{"channels": "1-3", "level": 0}, {"channels": "4", "level": 20}, {"channels": "5", "level": 11}, {"channels": "6", "level": 12}, {"channels": "boards", "level": 5}]}]}`,
			`Give bench key and 4 more (channels 4-6, 11, 12) in "Reel" (cue 4) the levels that they have in cue 1.`},
		{"a lamp of a pair points at the camera", `{"patch": [{"channel": 21, "name": "top left", "type": "spot", "address": "1.41", "purpose": "top", "aimed_at": {"x": 0, "y": -9, "z": 2}, "hung_at": {"x": -3, "y": 3, "z": 5}, "mount": "hangs"}, {"channel": 22, "name": "top right", "type": "spot", "address": "1.42", "purpose": "top", "aimed_at": {"x": 2, "y": 2, "z": 0}, "hung_at": {"x": 3, "y": 3, "z": 5}, "mount": "hangs"}], "order": [{"name": "Shadows", "kind": "changeover", "people": [], "start_cue": 5, "duration_s": 60}], "cues": [{"cue": 5, "set": [{"channels": "all", "level": 0}, {"channels": "21", "level": 40}]}]}`,
			`Aim top left (channel 21) at a point 2 m left of the middle (seen from the house), 2 m behind the edge of the stage, on its floor.`},
		{"a big reel has all of six systems up", sixSystems(80), `never In "Reel" (cue 4), bring boards`},
		{"somebody pushed up all that is no key", sixSystems(100), `In "Reel" (cue 4), bring boards left and boards right (channels 11, 12) to 20 % and top and beam (channels 32, 33) to 0 %.`},
		{"a wash of a pair does", `{"patch": [{"channel": 21, "name": "far wash left", "type": "flood", "address": "1.41", "purpose": "wash", "aimed_at": {"x": -2, "y": 1, "z": 0}, "hung_at": {"x": -5, "y": 3.2, "z": 5}, "mount": "hangs"}, {"channel": 22, "name": "far wash right", "type": "flood", "address": "1.51", "purpose": "wash", "aimed_at": {"x": 0, "y": -9, "z": 2}, "hung_at": {"x": 5, "y": 3, "z": 5}, "mount": "hangs"}], "order": [{"name": "Shadows", "kind": "changeover", "people": [], "start_cue": 5, "duration_s": 60}], "cues": [{"cue": 5, "set": [{"channels": "all", "level": 0}, {"channels": "22", "level": 40, "mix": {"red": 100, "green": 40, "blue": 0}}]}]}`,
			`Aim far wash right (channel 22) at a point 2 m right of the middle (seen from the house), 1 m behind the edge of the stage, on its floor.`},
	} {
		told, _ := ordersOf(t, practice{Name: tc.name, base: []byte(granary), Patch: json.RawMessage(tc.patch)}, everyRule(t))
		list := slices.Concat(told.Orders, told.Tasks)
		if tc.want == "" {
			for i := range told.Orders {
				t.Errorf("%s: %s", tc.name, told.Orders[i].Do)
			}
			continue
		}
		want, never := strings.CutPrefix(tc.want, "never ")
		if never == slices.ContainsFunc(list, func(o outcome.Order) bool { return strings.HasPrefix(o.Do, want) }) {
			t.Errorf("%s: somebody has to say %s", tc.name, tc.want)
			for i := range list {
				t.Log(list[i].Do, list[i].Rules)
			}
			for _, f := range told.NeedPerson {
				t.Log("left", f.Rule, f.Message)
			}
		}
	}
}
