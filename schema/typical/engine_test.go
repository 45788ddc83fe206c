package typical

import (
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// A type that mixes colours, and says what it gives, has the emitters that cues name, in the order of the table, or else four; what
// they give is assumed. Who tells nothing of the light, or is mixed by a name that is none, stays as it was.
func TestUsualEmitters(t *testing.T) {
	for name, c := range map[string]struct{ of, set, want string }{
		"by hue":               {`"flux_lm": 3000`, `"hue_deg": 200`, "red green blue white"},
		"not at all":           {`"peak_cd": 9000`, ``, "red green blue white"},
		"by name":              {`"flux_lm": 3000`, `"mix": {"amber": 40, "blue": 10}`, "red amber green blue"},
		"by a part of a mix":   {`"flux_lm": 3000`, `"mix_part": {"warm": 40}`, "red green blue warm"},
		"by another name":      {`"flux_lm": 3000`, `"mix": {"rose": 40}`, ""},
		"no light told":        {`"watts": 90`, `"hue_deg": 200`, ""},
		"emitters of its own":  {`"flux_lm": 3000, "emitters": [{"name": "teal", "x": 0.2, "y": 0.4, "flux_lm": 100}]`, `"hue_deg": 200`, "teal"},
		"filters of its own":   {`"flux_lm": 3000, "filters": [{"name": "rose", "x": 0.4, "y": 0.3, "transmission": 0.4}]`, `"hue_deg": 200`, ""},
		"a white that changes": {`"flux_lm": 3000, "source": "tunable-led"`, `"white_k": 3000`, ""},
	} {
		sourced := `"source": "colour-led", `
		if strings.Contains(c.of, "source") {
			sourced = ""
		}
		set := ""
		if c.set != "" {
			set = ", " + c.set
		}
		show := &schema.Show{}
		for section, text := range map[string]string{
			"types": `[{"name": "par", ` + sourced + c.of + `}]`,
			"patch": `[{"channel": 1, "type": "par"}, {"channel": 2, "type": "other"}]`,
			"cues":  `[{"cue": 1, "set": [{"channels": "1", "level": 50` + set + `}, {"channels": "2", "level": 50, "mix": {"rose": 1}}]}]`,
		} {
			file := &source.File{Name: section + ".json", Text: text}
			if problems, ok := source.ParseJSON(file); !ok {
				t.Fatal(problems)
			}
			show.Read(section, file.Root())
		}
		show.Check()
		Fill(show)
		var got []string
		for _, e := range show.Types[0].Emitters {
			got = append(got, e.Name)
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s: emitters %q, want %q", name, text, c.want)
		}
		if assumed := show.Types[0].Known.Of("emitters").Word == "assumed"; assumed != (c.want != "" && c.want != "teal") {
			t.Errorf("%s: assumed is %v", name, assumed)
		}
	}
}
