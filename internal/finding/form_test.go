package finding

import (
	"regexp"
	"testing"

	"pgregory.net/rapid"
)

func TestTheFormOfAPhrase(t *testing.T) {
	for phrase, want := range map[string]Form{
		"":              {},
		"the cue list":  {Words: "the cue list"},
		"channel x":     {Words: "channel x"},
		`half a "quote`: {Words: `half a "quote`},
		"the purpose of the fixture on channel 12":          {"the purpose of the fixture on " + FormChannel, "12"},
		`the type "par", with its modes`:                    {"the type " + FormName + ", with its modes", `"par"`},
		`the type "channel 3"`:                              {"the type " + FormName, `"channel 3"`},
		`the type ""`:                                       {"the type " + FormName, `""`},
		`the cameras "a" and "b"`:                           {Words: `the cameras "a" and "b"`},
		`where on "bar" the fixture on channel 2 hangs`:     {Words: `where on "bar" the fixture on channel 2 hangs`},
		"channel 1 and channel 2":                           {Words: "channel 1 and channel 2"},
		`a position of channel 12 that is not on a "person`: {`a position of ` + FormChannel + ` that is not on a "person`, "12"},
	} {
		if got := FormOf(phrase); got != want {
			t.Errorf("%q has the form %q, want %q", phrase, got, want)
		}
	}
}

// TestFormsAreThoseOfAPattern holds the form against what a regular expression finds.
func TestFormsAreThoseOfAPattern(t *testing.T) {
	varies := regexp.MustCompile(`channel (\d+)|("[^"]*")`)
	rapid.Check(t, func(t *rapid.T) {
		phrase := ""
		for _, piece := range rapid.SliceOfN(rapid.SampledFrom([]string{"channel ", "channel", " ", "1", "23", `"`, "a", "ü", ", "}), 0, 9).Draw(t, "pieces") {
			phrase += piece
		}
		want := Form{Words: phrase}
		if found := varies.FindAllStringSubmatchIndex(phrase, -1); len(found) == 1 {
			at := found[0]
			if at[2] >= 0 {
				want = Form{phrase[:at[0]] + FormChannel + phrase[at[1]:], phrase[at[2]:at[3]]}
			} else {
				want = Form{phrase[:at[0]] + FormName + phrase[at[1]:], phrase[at[4]:at[5]]}
			}
		}
		if got := FormOf(phrase); got != want {
			t.Errorf("%q has the form %q, want %q", phrase, got, want)
		}
	})
}
