package schema

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// both reads a section whole, through the tree and the validator, and as a long
// list, and returns all that either has to say.
func both(t *testing.T, section, text string) (whole, long string, shows [2]*Show) {
	t.Helper()
	for i := range 2 {
		file := &source.File{Name: section + ".json", Text: text}
		var lists []string
		if i == 1 {
			lists = []string{""}
		}
		problems, ok := source.ParseJSON(file, lists...)
		shows[i] = &Show{}
		var found []finding.Finding
		switch {
		case !ok:
		case file.Root().IsLong():
			var more []source.Problem
			found, more = shows[i].ReadLong(section, file.Root())
			problems = append(problems, more...)
		default:
			found = Validate(section, file.Root())
			shows[i].Read(section, file.Root())
		}
		found = append(found, shows[i].Check()...)
		var b strings.Builder
		for _, p := range problems {
			fmt.Fprintf(&b, "%s %d-%d %s\n", p.ID, p.At.Start, p.At.Stop, p.Message)
		}
		for _, f := range found {
			fmt.Fprintf(&b, "%s %s %v %s %d-%d %s | %s\n", f.Rule, f.Level, f.Subjects, f.Detail, f.Place.Start, f.Place.Stop, f.Message, f.Hint)
			for _, r := range f.Related {
				fmt.Fprintf(&b, "  %s %d-%d\n", r.Message, r.Place.Start, r.Place.Stop)
			}
		}
		for _, cue := range shows[i].Cues {
			fmt.Fprintf(&b, "%s at %s %v\n", cue.Number, cue.At.Pointer(), cue.Numbered())
			for _, s := range cue.Set {
				start, stop := s.At.Bytes()
				fmt.Fprintf(&b, "  %q at %s %d-%d\n", s.Channels, s.At.Pointer(), start, stop)
			}
		}
		for _, f := range shows[i].Patch {
			fmt.Fprintf(&b, "%d at %s\n", f.Channel, f.At.Pointer())
		}
		if i == 0 {
			whole = b.String()
		} else {
			long = b.String()
		}
	}
	return whole, long, shows
}

var sameContent = cmp.Options{
	cmpopts.IgnoreTypes(source.Ref{}, map[string]source.Ref{}), cmpopts.IgnoreUnexported(Show{}, Cue{}, Setting{}), cmpopts.EquateNaNs(),
}

func sameBothWays(t *testing.T, section, text string) {
	t.Helper()
	whole, long, shows := both(t, section, text)
	if diff := cmp.Diff(whole, long); diff != "" {
		t.Errorf("%s (-whole +long):\n%s\n%.400s", section, diff, text)
	}
	if diff := cmp.Diff(shows[0], shows[1], sameContent); diff != "" {
		t.Errorf("%s (-whole +long):\n%s\n%.400s", section, diff, text)
	}
}

// mutations of a text: what people and programs do to files.
var mutations = []struct{ name, old, new string }{
	{"a key spelt wrongly", `"level"`, `"levle"`}, {"another key", `"channels"`, `"chanels"`}, {"no name of a key", `"in_s"`, `""`},
	{"a number as text", `: 1`, `: "1"`}, {"text for a number", `: 5`, `: "loud"`}, {"null", `: 2`, `: null`}, {"truth", `: 3`, `: true`},
	{"out of range", `: 6`, `: -6`}, {"far out of range", `: 4`, `: 1e300`}, {"beyond all numbers", `: 7`, `: 1e999`}, {"an exponent", `: 60`, `: 6e1`},
	{"a list for a value", `: 8`, `: [8]`}, {"an object for a value", `: 9`, `: {"x": 9}`}, {"a key twice", `"channels"`, `"channels": "1", "channels"`},
	{"a further key twice", `"level"`, `"level": 5, "level"`}, {"an empty text", `"key"`, `""`}, {"a wrong word", `"key"`, `"kee"`},
	{"an escape", `"channels": "`, `"channels": "\u0031,`}, {"an escaped key", `"channels"`, `"ch\u0061nnels"`}, {"blanks", `"channels": `, "\"channels\"\n\t :\r "},
	{"channels last", `"channels": "`, `"x_a": 1, "channels": "`}, {"no channels", `"channels"`, `"x_channels"`}, {"empty channels", `"channels": "`, `"channels": "", "x_b": "`},
	{"a list for an object", `{ "channels"`, `[], { "channels"`}, {"a number for an object", `{ "channels"`, `5, { "channels"`}, {"two sets", `"set"`, `"set": [], "set"`},
	{"set is an object", `"set": [`, `"set": {}, "x_set": [`}, {"no number", `"cue"`, `"x_cue"`}, {"a number that is none", `"cue": `, `"cue": "x", "x_n": `},
	{"too fine a number", `"cue": 1`, `"cue": 1.23456`}, {"a nameless member", `"mix": {`, `"mix": {"": 5, `}, {"a word for Full", `"level":`, `"level": "Full", "x_l":`},
	{"a remark", `"name"`, `"note": "x", "name"`}, {"deep", `"name"`, `"x_deep": [[[[{"a": [1]}]]]], "name"`}, {"an item that is no object", `[`, `["x", `},
	{"intents", `"in_s"`, `"meant": ["black", "blakc", {"intent": "sweep", "places": ["x", 5]}, 7], "in_s"`}, {"how it is known", `"channel"`, `"known": {"zoom": "x", "purpose": [1, 2]}, "channel"`},
	{"a stray comma", `{ "channels"`, `,{ "channels"`}, {"cut off", `"set"`, ``}, {"another bracket", `]`, `}`},
}

// The quick reading of long lists and the validator agree on everything: findings,
// places and values, over mutations of the demo shows.
func TestLongListsAreReadAlike(t *testing.T) {
	count, places := 0, 1
	if os.Getenv("CUEPROOF_LONG") != "" {
		places = 3 // of each kind in each file: CI does
	}
	random := rand.New(rand.NewPCG(11, 3))
	for _, show := range []string{"mended", "flawed"} {
		for _, section := range []string{"patch", "cues"} {
			data, err := os.ReadFile(filepath.Join("../testdata/shows", show, section+".json"))
			if err != nil {
				t.Fatal(err)
			}
			text := string(data)
			sameBothWays(t, section, text)
			for _, m := range mutations {
				there := strings.Count(text, m.old)
				for range min(there, places) {
					n, at := random.IntN(there), 0
					for range n {
						at += strings.Index(text[at:], m.old) + len(m.old)
					}
					at += strings.Index(text[at:], m.old)
					t.Run(fmt.Sprintf("%s %s %s at %d", show, section, m.name, at), func(t *testing.T) {
						sameBothWays(t, section, text[:at]+m.new+text[at+len(m.old):])
					})
					count++
				}
			}
		}
	}
	if count < 80*places {
		t.Errorf("only %d mutations", count)
	}
	for _, text := range []string{`[]`, `{}`, `5`, `[[]]`, `[{}]`, `[{"cue": 1, "set": [{}]}]`, `[{"cue": 1, "set": []}]`, `[{"cue": 1, "set": [{"channels": "1"}, {"channels": "2"}]}]`,
		`[{"cue": 1, "set": [{"level": 5, "channels": "1"}, {"level": 6, "channels": "2"}, {"note": "", "channels": "3"}]}]`, `[{"cue": 1, "set": [{"channels": 1, "level": 5}, {"channels": 2, "level": 5}]}]`,
		`[{"cue": 1, "set": [{"channels":"","level": 5}, {"channels": "", "level": 5}, {"channels" : "1", "level": 5}, {"channels" :"2", "level": 5}]}]`} {
		sameBothWays(t, "cues", text)
		sameBothWays(t, "patch", text)
	}
}

// What follows the channels is read once where they come first, word by word; the text behind them then says what a setting tells.
func TestCutChannels(t *testing.T) {
	for _, c := range []struct {
		text, channels, rest string
		simple               bool
	}{
		{`{"channels":"1-6","level":5}`, "1-6", `,"level":5}`, true}, {"{ \"channels\"\t:\r\n \"1\" }", "1", " }", true},
		{`{"level":5,"channels":"1"}`, "", "", false}, {`{"channels":1,"level":5}`, "", "", false}, {`{"channels":["1"]}`, "", "", false}, {`{}`, "", "", false},
		{`{"channels":"","level":5}`, "", `,"level":5}`, false}, {`{"channels":"\u0031","level":5}`, `\u0031`, `,"level":5}`, false},
	} {
		channels, rest, simple := cutChannels(c.text)
		if simple != c.simple || channels != c.channels || rest != c.rest {
			t.Errorf("%s: %q, %q, %v", c.text, channels, rest, simple)
		}
	}
}

// What many settings share is not changed with one of them.
func TestSharedSettingsAreNotChangedTogether(t *testing.T) {
	file := &source.File{Name: "cues.json", Text: `[{"cue": 1, "set": [{"channels": "1", "level": 50}, {"channels": "2", "level": 50}]}, {"cue": 2, "set": [{"channels": "1", "level": 50}]}]`}
	if _, ok := source.ParseJSON(file, ""); !ok {
		t.Fatal("not read")
	}
	for _, read := range []func(*Show){
		func(s *Show) { s.ReadLong("cues", file.Root()) },
		func(s *Show) { s.Read("cues", file.Root()) }, // as a table is read
	} {
		s := &Show{}
		read(s)
		sharedSettings(t, s)
	}
}

func sharedSettings(t *testing.T, s *Show) {
	t.Helper()
	if s.Cues[0].Set[0].Told != s.Cues[1].Set[0].Told {
		t.Error("the same words do not share what they mean")
	}
	changed, err := Apply(s, []source.Edit{{At: s.Cues[0].Set[1].At, Field: "level", Value: 20.0}})
	if err != nil {
		t.Fatal(err)
	}
	var got []float64
	for _, show := range []*Show{s, changed} {
		for _, cue := range show.Cues {
			for _, set := range cue.Set {
				got = append(got, float64(*set.Level))
			}
		}
	}
	if diff := cmp.Diff([]float64{50, 50, 50, 50, 20, 50}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func FuzzLongLists(f *testing.F) {
	f.Add(`[{"cue": 1, "set": [{"channels": "1", "level": 5, "mix": {"red": 3}}, {"channels":"2","level":"Full"}]}, {"cue": "2.5", "cue": 3}]`, true)
	f.Add(`[{"channel": 1, "address": "1.1", "hung_at": {"x": 1, "y": 2, "z": 3}, "known": {"x": "read"}}]`, false)
	f.Fuzz(func(t *testing.T, text string, cues bool) {
		section := map[bool]string{true: "cues", false: "patch"}[cues]
		sameBothWays(t, section, text)
	})
}
