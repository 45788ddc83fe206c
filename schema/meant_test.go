package schema

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestIntentsAreReadAsWordsAndWithPlaces(t *testing.T) {
	var s Show
	s.Read("cues", parse(t, `[{"cue": 1, "meant": ["black", {"intent": "silhouette", "places": ["keys"]}, 5]}]`))
	var got []string
	for _, place := range []string{"", "keys", "drums"} {
		for i := range s.Cues[0].Meant {
			if intent := &s.Cues[0].Meant[i]; intent.For(place) {
				got = append(got, place+" "+intent.Intent)
			}
		}
	}
	want := []string{" black", "keys black", "keys silhouette", "drums black"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("meant (-want +got):\n%s", diff)
	}
}

// A word that is none is no error: it answers nothing, and the rules say what it was for.
func TestMisspeltIntents(t *testing.T) {
	s := show(t, `{"cues": [{"cue": 1, "meant": ["silhouete", "black"]}, {"cue": 2, "meant": [{"intent": "swep", "places": ["a"]}, "xyzzy"]}],
		"order": [{"name": "Talk", "start_cue": 1, "meant": ["faces-drk"]}], "room": {"places": [{"name": "a", "meant": ["sidelight"]}]}}`)
	var got []string
	for _, f := range s.Check() {
		said := fmt.Sprint(f.Rule, " ", f.Level, " ", f.Consequence, " ", f.Hint)
		for _, r := range f.Remedies {
			said += fmt.Sprint(": ", r.Edits[0].Value)
		}
		got = append(got, said)
	}
	want := []string{
		`file/unknown-word warning later write "silhouette", if that is what is meant: silhouette + black`,
		`file/unknown-word warning later write "sweep", if that is what is meant`,
		`file/unknown-word warning later write it as it is listed, letter for letter`,
		`file/unknown-word warning later write "faces-dark", if that is what is meant: faces-dark`,
		`file/unknown-word warning later write "side-light", if that is what is meant: side-light`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	found := Validate("cues", parse(t, `[{"cue": 1, "meant": ["silhouete", {"intent": "swep"}], "purpose": "a bump"}]`))
	if len(found) != 1 || found[0].Hint != `write it as "note" for people, and what is done on purpose as a word under "meant"` {
		t.Errorf("the schema says %v", briefs(found))
	}
}

func TestHowValuesAreKnown(t *testing.T) {
	var s Show
	s.Read("types", parse(t, `[{"name": "spot", "flux_lm": 9000, "white_k": 5600, "beam_deg": 20, "known": {"flux_lm": [6000, 12000], "beam_deg": [30, 15], "white_k": "inferred"}}]`))
	known := s.Types[0].Known
	for key, want := range map[string]Knowing{
		"flux_lm": {"assumed", 6000, 12000}, "beam_deg": {"assumed", 15, 30}, "white_k": {Word: "inferred"}, "name": {Word: "read"},
	} {
		if got := known.Of(key); got != want {
			t.Errorf("%s is known as %+v, want %+v", key, got, want)
		}
	}
	for text, rule := range map[string]string{
		`[{"name": "spot", "known": {"flux_lm": "guessed"}}]`: "file/bad-form",
		`[{"name": "spot", "known": {"flux_lm": [1]}}]`:       "file/wrong-length",
		`[{"name": "spot", "known": {"flux_lm": 5}}]`:         "file/wrong-type",
	} {
		if found := Validate("types", parse(t, text)); len(found) != 1 || found[0].Rule != rule {
			t.Errorf("%s: %v, want %s", text, briefs(found), rule)
		}
	}
}
