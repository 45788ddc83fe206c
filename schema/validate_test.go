package schema

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/cueproof/cueproof/internal/finding"
)

// brief writes a finding as column, id, level, identity and message.
func brief(f finding.Finding) string {
	at := "nowhere"
	if f.Place.File != nil {
		at = fmt.Sprint(f.Place.Span().Start.Column)
	}
	var subjects []string
	for _, s := range f.Subjects {
		subjects = append(subjects, s.String())
	}
	return fmt.Sprintf("%s %s %s [%s] %s: %s", at, strings.TrimPrefix(f.Rule, "file/"), f.Level, strings.Join(subjects, ", "), f.Detail, f.Message)
}

func briefs(list []finding.Finding) []string {
	var lines []string
	for _, f := range list {
		lines = append(lines, brief(f))
	}
	return lines
}

func TestValidate(t *testing.T) {
	for _, tc := range []struct {
		name, section, text string
		want                []string
	}{
		{"a sound fixture", "patch", `[{"channel":12,"address":"1.101","purpose":"key","aimed_at":"pulpit","hung_at":{"x":1,"y":-2,"z":5},"x_colour":[{}],"note":5,"$schema":"a"}]`, nil},
		{"a sound cue", "cues", `[{"cue":"1.10","set":[{"channels":"front","level":"70 %","mix":{"red":100,"note":3},"aim":{"x":0,"y":1,"z":1.7},"effect":{"kind":"none"}}]}]`, nil},
		{"a sound head", "show", `{"name":"a","date":"2026-03-29","room":"room.json","patch":[5],"cues":{"a":1},"types":[]}`, nil},
		{"nothing in it", "cues", `[]`, nil},
		{"a misspelt key", "patch", `[{"channel":12,"adress":"1.1"}]`, []string{
			`16 unknown-key warning [channel 12] adress: the fixture on channel 12 has the key "adress", which is not known here: it is not read. Did you mean "address"?`,
		}},
		{"a misspelt section", "show", `{"cuse":[1]}`, []string{
			`2 unknown-key error [section show] cuse: the show has the key "cuse", which is not known here: nothing under it is read, which may be a whole section. Did you mean "cues"?`,
		}},
		{"a section that is no part", "show", `{"room":5,"cues":true}`, []string{
			`9 wrong-type error [section show] room: room of the show is a number (5); wanted is an object, or the path of its file in quotes.`,
			`18 wrong-type error [section show] cues: cues of the show is true or false; wanted is a list, or the path of its file in quotes.`,
		}},
		{"an address that lost its quotes", "patch", `[{"channel":1,"address":1.10}]`, []string{
			`25 wrong-type error [channel 1] address: address of the fixture on channel 1 is a number (1.10); wanted is universe.slot in whole numbers, such as "1.101".`,
		}},
		{"a number with a comma in quotes", "types", `[{"name":"Wash","zoom":{"narrow":{"beam_deg":"5,5"},"wide":{}}}]`, []string{
			`46 wrong-type error [type Wash] zoom/narrow/beam_deg: beam_deg of narrow of zoom of type "Wash" is text (5,5); wanted is a number above 0 and up to 180.`,
		}},
		{"null is not given", "room", `{"places":[{"name":"pulpit","x":null}],"air":null}`, []string{
			`33 wrong-type warning [place pulpit] x: x of place "pulpit" is null, which is read as not given.`,
			`46 wrong-type warning [section room] air: air of the section room is null, which is read as not given.`,
		}},
		{"centimetres", "room", `{"places":[{"name":"pulpit","head_m":170}]}`, []string{
			`38 out-of-range error [place pulpit] head_m: head_m of place "pulpit" is 170; wanted is a number from 0 to 3.`,
		}},
		{"the bound itself is outside", "room", `{"air":{"volume_m3":0}}`, []string{
			`21 out-of-range error [section room] air/volume_m3: volume_m3 of air of the section room is 0; wanted is a number above 0 and up to 10000000.`,
		}},
		{"a word in capitals", "patch", `[{"channel":1,"purpose":"Key"},{"channel":2,"purpose":7}]`, []string{
			`25 unknown-word error [channel 1] purpose: purpose of the fixture on channel 1 is "Key", which is not a word known here. Did you mean "key"? Known are key, fill, back, side, top, wash, beam, effect, house, practical, haze.`,
			`55 wrong-type error [channel 2] purpose: purpose of the fixture on channel 2 is a number; wanted is one of these words: key, fill, back, side, top, wash, beam, effect, house, practical, haze.`,
		}},
		{"no name to call it by", "patch", `[{"channel":1},{"name":"left","shutters":[{}]},5]`, []string{
			`16 missing-key error [fixture 2nd of the list] channel: the 2nd fixture of the list has no "channel", without which it cannot be used.`,
			`43 missing-key error [shutter 1st of the list, fixture 2nd of the list] side: the 1st shutter of the list of the 2nd fixture of the list has no "side", without which it cannot be used.`,
			`48 wrong-type error [fixture 3rd of the list] : the 3rd fixture of the list is a number (5); wanted is an object.`,
		}},
		{"half a point", "cues", `[{"cue":4,"part":2,"set":[{"channels":"1-6","aim":{"x":1}}]}]`, []string{
			`45 missing-key error [channels 1-6, part 2, cue 4] aim/y: aim of channels 1-6 of part 2 of cue 4 has no "y", without which it cannot be used.`,
			`45 missing-key error [channels 1-6, part 2, cue 4] aim/z: aim of channels 1-6 of part 2 of cue 4 has no "z", without which it cannot be used.`,
		}},
		{"a part of what has none", "patch", `[{"channel":4,"part":2}]`, []string{
			`15 unknown-key warning [channel 4] part: the fixture on channel 4 has the key "part", which is not known here: it is not read.`,
		}},
		{"the right setting among others", "cues", `[{"cue":4,"set":[{"channels":"1"},{"channels":"2"},{"channels":"3","level":"x"},{"channels":"4"}]}]`, []string{
			`76 bad-form error [channels 3, cue 4] level: level of channels 3 of cue 4 is "x"; wanted is a level from 0 to 100, such as 70 or "70%", or "Full".`,
		}},
		{"lengths", "types", `[{"name":"","white_range_k":[3200]}]`, []string{
			`10 wrong-length error [type 1st of the list] name: name of the 1st type of the list is empty.`,
			`13 wrong-length error [type 1st of the list] white_range_k: white_range_k of the 1st type of the list has 1 item; wanted are exactly 2.`,
		}},
		{"odd names of emitters", "cues", `[{"cue":1,"set":[{"channels":"1","mix":{"":"x","a/b ~%":101}}]}]`, []string{
			`44 wrong-type error [channels 1, cue 1] mix/"": "" of mix of channels 1 of cue 1 is text (x); wanted is a number from 0 to 100.`,
			`57 out-of-range error [channels 1, cue 1] mix/a/b ~%: a/b ~% of mix of channels 1 of cue 1 is 101; wanted is a number from 0 to 100.`,
		}},
		{"groups", "groups", `{"front":5,"":"1","x_a":4}`, []string{
			`10 wrong-type error [section groups] front: front of the section groups is a number (5); wanted is channels in quotes, such as "1-6,9".`,
		}},
		{"a colour by name", "order", `[{"name":"song","palette":["#102030","red"],"kind":"sing"}]`, []string{
			`38 bad-form error [segment song] palette/item 2: item 2 of palette of segment "song" is "red"; wanted is a colour as "#rrggbb", such as "#20407f".`,
			`52 unknown-word error [segment song] kind: kind of segment "song" is "sing", which is not a word known here. Did you mean "song"? Known are opening, welcome, song, reading, prayer, talk, film, interview, communion, notices, closing, changeover.`,
		}},
		{"the whole section", "notices", `"none"`, []string{
			`1 wrong-type error [section notices] : the section notices is text (none); wanted is an object.`,
		}},
		{"an object for a list", "cues", `{"a":[]}`, []string{
			`1 wrong-type error [section cues] : the section cues is an object; wanted is a list.`,
		}},
		{"a rule file", "rule", `{"title":"` + strings.Repeat("é", 201) + `","over":"show","expect":"true","say":"x","level":"nite","consequence":"later","x_a":1}`, []string{
			`10 wrong-length error [section rule] title: title of the rule has 201 characters; wanted are at most 200.`,
			`262 unknown-word error [section rule] level: level of the rule is "nite", which is not a word known here. Did you mean "note"? Known are error, warning, note.`,
			`291 unknown-key warning [section rule] x_a: the rule has the key "x_a", which is not known here: it is not read.`,
		}},
		{"no number at all", "room", `{"ambient_lx":-1e999}`, nil}, // the reader says so
	} {
		t.Run(tc.name, func(t *testing.T) {
			if diff := cmp.Diff(tc.want, briefs(Validate(tc.section, parse(t, tc.text)))); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

func TestHints(t *testing.T) {
	for text, want := range map[string]string{
		`[{"channel":"12"}]`:                           "write 12 without quotes",
		`[{"channel":1,"white_k":"3200,5"}]`:           "write 3200.5 with a point and without quotes",
		`[{"channel":1,"type":5}]`:                     `put it in quotes: "5"`,
		`[{"channel":1,"as_one":"yes"}]`:               "write true or false without quotes",
		`[{"channel":1,"as_one":1}]`:                   "write true or false",
		`[{"channel":1,"shutters":"top"}]`:             "put it in square brackets, even if there is only one",
		`[{"channel":1,"filter":"blue"}]`:              "put it in curly brackets, with the name of each value before it",
		`[{"channel":1,"purpose":"kee"}]`:              `write "key", if that is what is meant`,
		`[{"channel":1,"purpose":"illumination"}]`:     "choose one of the known words, or leave the key out",
		`[{"channel":1,"zoom":5}]`:                     `rename it to "zoom_deg", if that is what is meant`,
		`[{"channel":1,"hung_at":{"x":1,"y":1}}]`:      `add the key "z"`,
		`[{"channel":1,"hung_on":""}]`:                 "write something between the quotes, or leave the key out",
		`[{"channel":1,"white_k":"warm"}]`:             "write a number from 1000 to 25000",
		`[{"channel":1,"address":"first"}]`:            "write it in that form",
		`[{"channel":1,"qqqqqqqqqqqqqqqqqq":"first"}]`: "take it out, or rename it to start with x_ if it is for you alone; known are address, aimed_at, as_one, channel, circuit, filter, groups, hung_at, hung_at_m, hung_on, hung_order, known, mode, more_addresses, mount, name, purpose, shutters, type, white_k, zoom_deg",
	} {
		found := Validate("patch", parse(t, text))
		if len(found) != 1 || found[0].Hint != want {
			t.Errorf("%s: %v, hint %q; want %q", text, briefs(found), found[0].Hint, want)
		}
	}
}

func TestFindingsCarryWhatReportsNeed(t *testing.T) {
	f := Validate("room", parse(t, `{"places":[{"name":"pulpit","head_m":170}]}`))[0]
	if len(f.Measured) != 1 || *f.Measured[0].Num != 170 || f.Measured[0].Name != "head_m" || len(f.Limits) != 2 || *f.Limits[1].Num != 3 || f.Limits[1].Value != "3" {
		t.Errorf("measured %+v, limits %+v", f.Measured, f.Limits)
	}
	if f.Verdict != finding.Fail || f.Consequence != finding.Later {
		t.Errorf("verdict %s, consequence %s", f.Verdict, f.Consequence)
	}
	if f := Validate("cues", parse(t, `[{}]`))[0]; f.Consequence != finding.Dark {
		t.Errorf("a cue without a number: %s", f.Consequence)
	}
	if f := Validate("cues", parse(t, `[{"cue":1,"nme":"a"}]`))[0]; f.Consequence != finding.Later || f.Level != finding.Warning {
		t.Errorf("a misspelt key: %s, %s", f.Level, f.Consequence)
	}
}

// A finding is the same one after the file was laid out anew and after other
// things were put before what it is about.
func TestIdentitiesDoNotDependOnPlaces(t *testing.T) {
	identities := func(text string) []string {
		var list []string
		for _, f := range Validate("cues", parse(t, text)) {
			list = append(list, f.Identity())
		}
		slices.Sort(list)
		return list
	}
	one := identities(`[{"cue":4,"set":[{"channels":"1-6","level":"x","white_k":1}],"nme":"a"}]`)
	two := identities("[{\"cue\":1},\n{\"nme\":\"a\",\n\"set\":[{\"channels\":\"9\"},{\"white_k\":1,\"level\":\"x\",\"channels\":\"1-6\"}],\"cue\":\"4.0\"}]")
	if len(one) != 3 || !slices.Equal(one, two) {
		t.Errorf("%q\n%q", one, two)
	}
}

func TestMessagesAreOurs(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.SampledFrom(ofShow()).Draw(rt, "document")
		m := maker{rt, readKeywords(name)}
		text := string(m.json(m.document))
		ref := parse(t, text)
		for _, f := range Validate(name, ref) {
			for _, word := range []string{"jsonschema", "schema.invalid", "http", "$defs", "doesn't validate", "properties", "anyOf", "%!", "additional"} {
				if strings.Contains(f.Message+f.Hint, word) {
					rt.Fatalf("%q in: %s (%s)", word, f.Message, f.Hint)
				}
			}
			if !strings.HasSuffix(f.Message, ".") && !strings.HasSuffix(f.Message, "?") || f.Hint == "" || len(f.Subjects) == 0 || f.Place.File == nil {
				rt.Fatalf("not whole: %s in %s", brief(f), text)
			}
			if _, ok := Problem(strings.TrimPrefix(f.Rule, "file/")); !ok {
				rt.Fatalf("%s is not explained", f.Rule)
			}
		}
	})
}

func TestManyAlikeAreCounted(t *testing.T) {
	var b strings.Builder
	b.WriteString("[")
	const cues = 3000
	for i := range cues {
		fmt.Fprintf(&b, `{"cue":%d,"nme":"a"},`, i+1)
	}
	b.WriteString(`{"cue":"last","nme":"b"}]`)
	found := Validate("cues", parse(t, b.String()))
	if len(found) != mostAlike+2 {
		t.Fatalf("%d findings", len(found))
	}
	var more, form []finding.Finding
	for _, f := range found {
		switch {
		case strings.HasPrefix(f.Detail, "more of "):
			more = append(more, f)
		case f.Rule == "file/bad-form":
			form = append(form, f)
		}
	}
	if len(more) != 1 || !strings.Contains(more[0].Message, fmt.Sprintf("%d more times", cues+1-mostAlike)) {
		t.Errorf("the rest is not counted: %v", briefs(more))
	}
	if len(form) != 1 {
		t.Errorf("what is wrong once was lost among the many: %v", briefs(form))
	}
}

func TestGarbageIsCounted(t *testing.T) {
	const items = 100_000
	text := "[" + strings.Repeat("1,", items-1) + "1]"
	found := Validate("cues", parse(t, text))
	if len(found) != mostAlike+2 || found[0].Rule != "file/too-many" && found[1].Rule != "file/too-many" {
		t.Fatalf("%d findings, the first %v", len(found), briefs(found[:2]))
	}
	counted := fmt.Sprintf("%d more items", items-stretches*mostLooked)
	if !slices.ContainsFunc(found, func(f finding.Finding) bool { return strings.Contains(f.Message, counted) }) {
		t.Errorf("%s are not counted", counted)
	}
	// Settings in one cue are counted the same.
	text = `[{"cue":1,"set":[` + strings.Repeat(`1,`, 9_999) + `1]}]`
	found = Validate("cues", parse(t, text))
	counted = fmt.Sprintf("%d more items", 10_000-mostLooked+1)
	if !slices.ContainsFunc(found, func(f finding.Finding) bool { return strings.Contains(f.Message, counted) }) {
		t.Errorf("%s are not counted in one cue: %v", counted, briefs(found[:2]))
	}
}

func TestAnswersDoNotDependOnCores(t *testing.T) {
	var b strings.Builder
	b.WriteString("[")
	for i := range 8_000 {
		fmt.Fprintf(&b, `{"cue":%d,%q:1,"in_s":%d},`, i%900, []string{"name", "nme", "part", "out_s"}[i%4], i%3-1)
	}
	b.WriteString("{}]")
	ref := parse(t, b.String())
	var want []string
	for _, cores := range []int{1, 2, 7} {
		before := runtime.GOMAXPROCS(cores)
		got := briefs(Validate("cues", ref))
		runtime.GOMAXPROCS(before)
		if want == nil {
			want = got
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("on %d cores:\n%s", cores, diff)
		}
	}
}

func TestUnknownSectionsPanic(t *testing.T) {
	for _, section := range []string{"", "rules", "cue"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%q is validated", section)
				}
			}()
			Validate(section, parse(t, `{}`))
		}()
	}
}

// bigList is a cue list of about 20 MB: 2,000 cues with 200 settings each.
func bigList(setting string) string {
	var b strings.Builder
	b.WriteString("[")
	for i := range 2000 {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"cue":%d,"set":[%s%s]}`, i+1, strings.Repeat(setting+",", 199), setting)
	}
	b.WriteString("]")
	return b.String()
}

// BenchmarkValidate compares ways to check one big cue list: as it is done, and
// with the library alone, which is what the form saves.
func BenchmarkValidate(b *testing.B) {
	sound := parse(b, bigList(`{"channels":"12","level":70,"white_k":3200}`))
	misspelt := parse(b, bigList(`{"channels":"12","level":70,"white_kk":3200}`))
	library := checkers["cues"].library().whole.Items2020
	b.Run("sound", func(b *testing.B) {
		for b.Loop() {
			Validate("cues", sound)
		}
	})
	b.Run("every setting wrong", func(b *testing.B) {
		for b.Loop() {
			Validate("cues", misspelt)
		}
	})
	b.Run("library alone", func(b *testing.B) {
		for b.Loop() {
			for item := range sound.Items() {
				if err := library.Validate(item.Any()); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}
