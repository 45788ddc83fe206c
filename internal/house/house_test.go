package house

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	_ "github.com/cueproof/cueproof/internal/draws" // the same draws in every run

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/loaders"
)

// known is what the house files of these tests may name.
func known() Known {
	return Known{
		Rules: []finding.Rule{
			{ID: "white/key-mix", Limits: []finding.Limit{{Name: "max_mired", Value: 10, Unit: "mired"}}},
			{ID: "white/key-source"}, {ID: "people/no-key"},
		},
		FileProblems: []string{"file/unused-file", "file/syntax"},
		Binding:      []string{"file/syntax"},
		Columns:      loaders.CheckAliases,
	}
}

// read reads and checks a house file; of a mistake it returns the first.
func read(text string) (*House, *finding.Finding) {
	h, err := Read("house.yaml", []byte(text))
	if err == nil {
		err = h.Check(known())
	}
	if err != nil {
		var mistakes Mistakes
		if !errors.As(err, &mistakes) {
			panic(err) // nothing else is promised
		}
		return nil, &mistakes[0]
	}
	return h, nil
}

const whole = `# Tallow Lane Hall
version: 1
topmost: true
limits:
  white/key-mix: {max_mired: 12}
rules:
  white: off            # the whole pack
  white/key-mix: on
levels:
  people/no-key: warning
rule_folders: [own-rules]
columns:
  channel: [Kreis, Lampe]
waivers:
  # the old lamp
  - rule: people/no-key
    subject: place pulpit
    reason: The lamp is on order.
    by: technical lead
    until: 2026-12-31
  - rule: file/unused-file
    subject: file notes.csv
    verdict: open
    reason: "Remarks: for us"
    by: technical lead
`

func TestRead(t *testing.T) {
	h, m := read(whole)
	if m != nil {
		t.Fatal(m.Message)
	}
	want := &House{
		Root:     true,
		Limits:   []Limit{{Rule: "white/key-mix", Name: "max_mired", Value: 12, first: true}},
		Switches: []Switch{{Of: "white"}, {Of: "white/key-mix", On: true}},
		Levels:   []Level{{Rule: "people/no-key", Level: finding.Warning}},
		Folders:  []Folder{{Path: "own-rules"}},
		Columns:  []Column{{Name: "channel", Names: []string{"Kreis", "Lampe"}}},
		Waivers: []waiver.Waiver{
			{Rule: "people/no-key", Subject: "place pulpit", Verdict: finding.Fail, Reason: "The lamp is on order.", By: "technical lead", Until: "2026-12-31"},
			{Rule: "file/unused-file", Subject: "file notes.csv", Verdict: finding.Open, Reason: "Remarks: for us", By: "technical lead"},
		},
	}
	if diff := cmp.Diff(want, h, cmp.AllowUnexported(House{}, Limit{}), cmpopts.IgnoreTypes(source.Place{}), cmpopts.IgnoreFields(House{}, "File")); diff != "" {
		t.Error(diff)
	}
	for id, on := range map[string]bool{"white/key-mix": true, "white/key-source": false, "people/no-key": true} {
		if got, _ := h.Switched(id); got != on {
			t.Errorf("%s is on: %v", id, got)
		}
	}
	if at := h.Waivers[0].UntilPlace.Span().Start; at != (source.Position{Line: 20, Column: 12}) {
		t.Errorf("the day of the waiver is at %v", at)
	}
}

// TestExports reads what a house says of exports: "off" is a word there and no truth.
func TestExports(t *testing.T) {
	h, m := read("unlisted: off\norigin: [-6, 4.5, 0]\nturn_deg: -90\n")
	if m != nil {
		t.Fatal(m)
	}
	if h.Unlisted != "off" || *h.Origin != [3]float64{-6, 4.5, 0} || *h.TurnDeg != -90 {
		t.Errorf("%q %v %v", h.Unlisted, h.Origin, h.TurnDeg)
	}
	if h, _ := read("unlisted: keep\n"); h.Unlisted != "keep" || h.Origin != nil || h.TurnDeg != nil {
		t.Errorf("%q %v %v", h.Unlisted, h.Origin, h.TurnDeg)
	}
}

// TestTheRestOfAHouseFile: how tables write levels, names of columns of one table, how long waivers hold and since when,
// and numbers in ways that YAML alone has.
func TestTheRestOfAHouseFile(t *testing.T) {
	h, m := read("rule_folders: [ours]\nwaiver_days: 30\nlevels: {tables: byte, people/no-key: note}\ncolumns: {patch: {channel: [Kreis]}, cue: [Bild]}\n" +
		"waivers:\n- {rule: people/no-key, subject: place a, value: 12.5, since: 2026-03-01}\n- {rule: people/no-key, subject: place b, until: never}\n- {rule: people/no-key, subject: place c, since: 2026-03-01, until: 2026-03-02}\n")
	if m != nil {
		t.Fatal(m.Message)
	}
	if h.WaiverDays != 30 || h.Scale != "byte" || len(h.Levels) != 1 || h.Levels[0].Level != finding.Note {
		t.Errorf("%d days, levels in tables %q, %+v", h.WaiverDays, h.Scale, h.Levels)
	}
	if diff := cmp.Diff(map[string][]string{"patch/channel": {"Kreis"}, "cue": {"Bild"}}, h.Aliases()); diff != "" {
		t.Error(diff)
	}
	if w := h.Waivers[0]; w.Value == nil || *w.Value != 12.5 || w.Until != "2026-03-31" {
		t.Errorf("what is accepted for 30 days from the first of March: %+v", w)
	}
	if a, b := h.Waivers[1], h.Waivers[2]; a.Until != waiver.Never || a.Value != nil || b.Until != "2026-03-02" {
		t.Errorf("what is accepted for good, and for two days: %+v, %+v", a, b)
	}
	var none *House
	if none.Aliases() != nil || (&House{}).Aliases() != nil {
		t.Error("where nobody names columns there are no names")
	}
	if err := h.WrongFolder(h.Folders[0], "no rule is there"); !strings.Contains(err.Error(), `the folder "ours": no rule is there`) {
		t.Error(err)
	}
}

// TestAHouseFileThatIsNamed reads rules from its repository, or else from its own folder.
func TestAHouseFileThatIsNamed(t *testing.T) {
	folder := t.TempDir()
	write(t, folder, map[string]string{"with/.git/": "", "with/a/b/house.yaml": "", "without/a/house.yaml": ""})
	for path, want := range map[string]string{"with/a/b/house.yaml": "with", "with/house.yaml": "with", "without/a/house.yaml": "without/a"} {
		found, err := Named(filepath.Join(folder, path))
		if err != nil || found.Path != filepath.Join(folder, path) || found.Root != filepath.Join(folder, want) {
			t.Errorf("%s: %+v, %v; want %s", path, found, err, want)
		}
		words := map[string]string{"with": "the repository", "without/a": "the folder of the house file"}[want]
		if got := rootWords(found); got != words {
			t.Errorf("%s: %s", path, got)
		}
	}
}

func TestNothingChangesNothing(t *testing.T) {
	for _, text := range []string{"", "\n", "# nothing yet\n\n", "waivers:\n", "limits:\nrules: # none\n", "\xEF\xBB\xBF"} {
		h, m := read(text)
		if m != nil {
			t.Errorf("%q: %s", text, m.Message)
		} else if len(h.Limits)+len(h.Switches)+len(h.Levels)+len(h.Waivers) > 0 {
			t.Errorf("%q: %+v", text, h)
		}
	}
}

// TestMistakes holds every mistake to its character, marked with ▸.
func TestMistakes(t *testing.T) {
	for _, c := range []struct{ what, text, want string }{
		{"unknown key", "▸limit:\n  white/key-mix: {max_mired: 1}\n", `Did you mean "limits"?`},
		{"unknown rule", "limits:\n  ▸white/key-mixx: {max_mired: 1}\n", `there is no rule "white/key-mixx". Did you mean "white/key-mix"?`},
		{"unknown limit", "limits:\n  white/key-mix:\n    ▸max_mird: 1\n", `the rule white/key-mix has no limit "max_mird". Did you mean "max_mired"? It has max_mired`},
		{"a rule without limits", "limits:\n  people/no-key: {▸max: 1}\n", "It has none"},
		{"no limit of a rule", "limits:\n  ▸white/key-mix: {}\n", "no limit of white/key-mix is named here"},
		{"a limit as text", "limits:\n  white/key-mix: {max_mired: ▸\"12\"}\n", "wanted is a number"},
		{"a limit that only YAML understands", "limits:\n  white/key-mix: {max_mired: ▸0x10}\n", "plain digits"},
		{"a limit beyond all numbers", "limits:\n  white/key-mix: {max_mired: ▸1e999}\n", "wanted is a number"},
		{"no number", "limits:\n  white/key-mix: {max_mired: ▸.nan}\n", "may not use this part of YAML"},
		{"unknown pack", "rules:\n  ▸peopel: off\n", `there is no rule or pack "peopel". Did you mean "people"?`},
		{"a switch that is neither", "rules:\n  people: ▸of\n", `Did you mean "off"?`},
		{"a switch that is a truth", "rules:\n  people: ▸false\n", "off, on"},
		{"a problem of a file switched off", "rules:\n  ▸file/unused-file: off\n", "accept it with a waiver"},
		{"unknown level", "levels:\n  people/no-key: ▸eror\n", `Did you mean "error"?`},
		{"a level of a pack", "levels:\n  ▸people: note\n", `there is no rule "people".`},
		{"another version", "version: ▸2\n", "wanted is"},
		{"unknown column", "columns:\n  ▸chanel: [a]\n", `Did you mean "channel"?`},
		{"one name for two columns", "▸columns:\n  channel: [Nr]\n  address: [nr]\n", "stands for"},
		{"a day that is none", "waivers:\n- rule: people/no-key\n  subject: place a\n  until: ▸2026-02-30\n", "there is no day 2026-02-30"},
		{"a leap day in another year", "waivers:\n- rule: people/no-key\n  subject: place a\n  until: ▸2027-02-29\n", "there is no day 2027-02-29"},
		{"a day in words", "waivers:\n- rule: people/no-key\n  subject: place a\n  until: ▸easter\n", "a day, such as 2026-12-31"},
		{"a waiver of no rule", "waivers:\n- rule: ▸people/no-keys\n  subject: place a\n", `Did you mean "people/no-key"?`},
		{"a waiver without a subject", "waivers:\n- ▸rule: people/no-key\n", `has no "subject"`},
		{"a waiver with a misspelt key", "waivers:\n- rule: people/no-key\n  subject: a\n  ▸reson: x\n", `Did you mean "reason"?`},
		{"a waiver of nothing", "waivers:\n- ▸\n", "is null"},
		{"a waiver with an empty key", "waivers:\n- rule: people/no-key\n  subject: ▸null\n", "is null"},
		{"a level of nothing", "levels:\n  people/no-key: ▸null\n", "is null"},
		{"neither off nor kept", "unlisted: ▸of\n", `Did you mean "off"?`},
		{"an origin with two numbers", "▸origin: [1, 2]\n", "wanted are exactly 3"},
		{"an origin that only YAML understands", "origin: [1, ▸0x10, 3]\n", "plain digits"},
		{"a plan turned by more than a turn", "turn_deg: ▸361\n", "wanted is"},
		{"an anchor", "limits: ▸&a {}\n", "may not use this part of YAML"},
		{"an alias", "limits:\n  white/key-mix: ▸*a\n", "may not use this part of YAML"},
		{"two documents", "▸version: 1\n---\nversion: 1\n", "more than one"},
		{"not YAML", "version: ▸\"1\ntopmost: true\n", "this is not YAML"},
		{"a list", "▸- version: 1\n", "wanted is"},
		{"no text", "▸\xff\xfe\x00\x00\x00", "not UTF-8"},
		{"too large", "▸" + strings.Repeat("#", MaxBytes+1), "at most 65536"},
	} {
		t.Run(c.what, func(t *testing.T) {
			before, after, found := strings.Cut(c.text, "▸")
			if !found {
				t.Fatal("no place is marked")
			}
			_, m := read(before + after)
			if m == nil {
				t.Fatal("no mistake")
			}
			if !strings.Contains(m.Message, c.want) {
				t.Errorf("message is %q, want %q in it", m.Message, c.want)
			}
			want := source.Position{
				Line:   strings.Count(before, "\n") + 1,
				Column: utf8.RuneCountInString(before[strings.LastIndexByte(before, '\n')+1:]) + 1,
			}
			if at := m.Place.Span().Start; at != want && m.Place.File.Text != "" {
				t.Errorf("it is at %v, want %v: %s", at, want, m.Message)
			}
		})
	}
}

func TestAllMistakesAreTold(t *testing.T) {
	h, err := Read("house.yaml", []byte("limits:\n  white/key-mx: {a: 1, b: 2}\nrules:\n  x/y: off\nlevels:\n  z: note\n"+
		"waivers:\n  - {rule: file/syntax, subject: file a.csv, verdict: fail, reason: Later., by: us}\n  - {rule: people/no-kex, subject: place pulpit, verdict: fail, reason: Later., by: us}\n"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(h.Check(known()).Error(), "\n")
	want := []string{
		"the house file cannot be used:",
		`  house.yaml, line 2, column 3: there is no rule "white/key-mx". Did you mean "white/key-mix"?`,
		`  house.yaml, line 4, column 3: there is no rule or pack "x/y".`,
		`  house.yaml, line 6, column 3: there is no rule "z".`,
		`  house.yaml, line 8, column 12: file/syntax cannot be accepted: it is told as long as it is so`,
		`  house.yaml, line 9, column 12: there is no rule "people/no-kex". Did you mean "people/no-key"?`,
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Error(diff)
	}
}

// write puts files into a folder; a name that ends in a slash is a folder.
func write(t *testing.T, folder string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		full := filepath.Join(folder, filepath.FromSlash(name))
		if strings.HasSuffix(name, "/") {
			if err := os.MkdirAll(full, 0o755); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestFind(t *testing.T) {
	for _, c := range []struct {
		what   string
		files  map[string]string
		show   string
		want   string
		root   string
		passed []string
	}{
		{"none", map[string]string{"a/show/": ""}, "a/show", "", "", nil},
		{"beside the show", map[string]string{"a/show/house.yaml": ""}, "a/show", "a/show/house.yaml", "a/show", nil},
		{"of a file", map[string]string{"a/show/house.yaml": "", "a/show/x.json": ""}, "a/show/x.json", "a/show/house.yaml", "a/show", nil},
		{"of what is not there", map[string]string{"a/house.yaml": ""}, "a/show", "a/house.yaml", "a", nil},
		{"the nearest of a repository", map[string]string{".git/": "", "house.yaml": "", "a/house.yaml": "", "a/b/show/": ""}, "a/b/show", "a/house.yaml", ".", nil},
		{"at the top of a repository", map[string]string{".git/": "", "house.yaml": "", "a/b/show/": ""}, "a/b/show", "house.yaml", ".", nil},
		{"not beyond the repository", map[string]string{"house.yaml": "topmost: true", "a/.git": "gitdir: elsewhere", "a/b/show/": ""}, "a/b/show", "", "", nil},
		{"above without a repository", map[string]string{"house.yaml": "", "a/show/": ""}, "a/show", "", "", []string{"house.yaml"}},
		{"above, and it says topmost", map[string]string{"house.yaml": "topmost: true", "a/house.yaml": "version: 1", "a/b/show/": ""}, "a/b/show", "house.yaml", ".", []string{"a/house.yaml"}},
		{"somebody else's file above", map[string]string{"house.yaml": "walls: {colour: red", "a/show/": ""}, "a/show", "", "", []string{"house.yaml"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			folder := t.TempDir()
			write(t, folder, c.files)
			found, err := Find(filepath.Join(folder, filepath.FromSlash(c.show)))
			if err != nil {
				t.Fatal(err)
			}
			full := func(name string) string {
				if name == "" {
					return ""
				}
				return filepath.Join(folder, filepath.FromSlash(name))
			}
			// Whatever stands above the temporary folder is not ours.
			found.Passed = slices.DeleteFunc(found.Passed, func(name string) bool { return !strings.HasPrefix(name, folder) })
			for i := range c.passed {
				c.passed[i] = full(c.passed[i])
			}
			want := Found{Path: full(c.want), Root: full(c.root), Passed: c.passed}
			if diff := cmp.Diff(want, found, cmpopts.EquateEmpty()); diff != "" {
				t.Error(diff)
			}
		})
	}
	t.Run("told as the show was", func(t *testing.T) {
		folder := t.TempDir()
		write(t, folder, map[string]string{".git/": "", "house.yaml": "", "a/show/": ""})
		t.Chdir(filepath.Join(folder, "a"))
		found, err := Find("show")
		if want := filepath.Join("..", "house.yaml"); err != nil || found.Path != want {
			t.Errorf("it is %q (%v), want %q", found.Path, err, want)
		}
	})
}

func TestLoad(t *testing.T) {
	folder := t.TempDir()
	write(t, folder, map[string]string{"folder/house.yaml/": "", "big/house.yaml": strings.Repeat("#", MaxBytes+1), "most/house.yaml": strings.Repeat("#", MaxBytes), "secret": "topmost: true\n", "link/": "", "near/real.yaml": "topmost: true\n"})
	links := os.Symlink(filepath.Join("..", "secret"), filepath.Join(folder, "link", "house.yaml")) == nil &&
		os.Symlink("real.yaml", filepath.Join(folder, "near", "house.yaml")) == nil
	for _, c := range []struct {
		name, want string
		named      bool
		link       bool
	}{
		{"folder", "is a folder", false, false}, {"big", "at most 65536", false, false}, {"most", "", false, false}, {"none", "read the house file", false, false},
		{"link", "leads out of its folder", false, true}, {"link", "", true, true}, {"near", "", false, true},
	} {
		if c.link && !links {
			continue
		}
		_, err := Load(filepath.Join(folder, c.name, "house.yaml"), c.named)
		if (c.want == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error is %v, want %q", c.name, err, c.want)
		}
	}
}

func TestFoldersStayInside(t *testing.T) {
	outside := t.TempDir()
	folder := t.TempDir()
	write(t, folder, map[string]string{".git/": "", "rules/pack/": "", "shows/house.yaml": "", "shows/file": "x"})
	write(t, outside, map[string]string{"pack/": ""})
	if err := os.Symlink(outside, filepath.Join(folder, "away")); err != nil {
		t.Skip(err)
	}
	found, err := Find(filepath.Join(folder, "shows"))
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"../rules": "", "../rules/pack": "", ".": "",
		"../away": "leads out of the repository", "../../x": "outside of the repository", outside: "outside of the repository",
		"rules": "there is no folder", "file": "is no folder", "../..": "outside of the repository",
	} {
		h, err := Read("house.yaml", []byte(fmt.Sprintf("rule_folders: [%q]\n", path)))
		if err != nil {
			t.Fatal(err)
		}
		root, err := h.OpenFolder(h.Folders[0], found)
		if err == nil {
			root.Close()
		}
		if (want == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error is %v, want %q", path, err, want)
		}
	}
}

var one = []waiver.Waiver{{Rule: "people/no-key", Subject: "place \"left: #1\"", Verdict: finding.Open, Reason: "The lamp is on order.", By: "technical lead", Until: "2026-12-31"}}

const oneWritten = `- rule: people/no-key
  subject: "place \"left: #1\""
  verdict: open
  reason: The lamp is on order.
  by: technical lead
  until: 2026-12-31
`

// indented is oneWritten with its dash behind two blanks.
var indented = "  " + strings.ReplaceAll(strings.TrimSuffix(oneWritten, "\n"), "\n", "\n  ") + "\n"

func TestAppend(t *testing.T) {
	for _, c := range []struct{ what, before, after string }{
		{"no file", "", "waivers:\n" + indented},
		{"remarks alone", "# ours\n", "# ours\nwaivers:\n" + indented},
		{"no list", "version: 1 # yes", "version: 1 # yes\nwaivers:\n" + indented},
		{"an empty list", "version: 1\nwaivers: []   # none\ntopmost: true\n", "version: 1\nwaivers:   # none\n" + indented + "topmost: true\n"},
		{"a list of nothing", "waivers:   # none\n# end\n", "waivers:   # none\n" + indented + "# end\n"},
		{"a list in the middle", "waivers:\n  # old\n  - rule: people/no-key\n    subject: a # still\n    # belongs to it\n\n# about limits\nlimits: {}\n",
			"waivers:\n  # old\n  - rule: people/no-key\n    subject: a # still\n    # belongs to it\n" + indented + "\n# about limits\nlimits: {}\n"},
		{"dashes at the edge", "waivers:\n- rule: people/no-key\n  subject: a\n-\n  rule: people/no-key\n  subject: b\ntopmost: true\n",
			"waivers:\n- rule: people/no-key\n  subject: a\n-\n  rule: people/no-key\n  subject: b\n" + oneWritten + "topmost: true\n"},
		{"a long text", "waivers:\n- rule: people/no-key\n  subject: a\n  reason: |\n    # no remark\n\n    - no dash\n\n\ntopmost: true\n",
			"waivers:\n- rule: people/no-key\n  subject: a\n  reason: |\n    # no remark\n\n    - no dash\n" + oneWritten + "\n\ntopmost: true\n"},
		{"other line ends", "version: 1\r\nwaivers:\r\n- {rule: people/no-key, subject: a}\r\n",
			"version: 1\r\nwaivers:\r\n- {rule: people/no-key, subject: a}\r\n" + strings.ReplaceAll(oneWritten, "\n", "\r\n")},
		{"no line end", "waivers:\n- {rule: people/no-key, subject: a}", "waivers:\n- {rule: people/no-key, subject: a}\n" + oneWritten},
		{"a byte order mark", "\xEF\xBB\xBFtopmost: true\n", "\xEF\xBB\xBFtopmost: true\nwaivers:\n" + indented},
		{"quoted keys", "\"waivers\":\n    - \"rule\": people/no-key\n      subject: a\n", "\"waivers\":\n    - \"rule\": people/no-key\n      subject: a\n    " + strings.ReplaceAll(strings.TrimSuffix(oneWritten, "\n"), "\n", "\n    ") + "\n"},
	} {
		t.Run(c.what, func(t *testing.T) {
			after, err := Append("house.yaml", []byte(c.before), one)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.after, string(after)); diff != "" {
				t.Error(diff)
			}
		})
	}
	for what, text := range map[string]string{
		"curly brackets":           "{version: 1}\n",
		"square brackets":          "waivers: [{rule: people/no-key, subject: a}]\n",
		"an explicit nothing":      "waivers: null\ntopmost: true\n",
		"the end of the document":  "version: 1\n...\n",
		"a file that is no use":    "version: 3\n",
		"no room for another":      "#" + strings.Repeat("x", MaxBytes-20) + "\n",
		"a list in one odd bundle": "waivers:\n  [\n  {rule: people/no-key, subject: a}\n  ]\n",
	} {
		if after, err := Append("house.yaml", []byte(text), one); err == nil {
			t.Errorf("%s: no error but %q", what, after)
		}
	}
}

// anyText is text as it may stand in a show, with all that means something in YAML.
func TestWithout(t *testing.T) {
	const file = "# ours\nrules:\n  colour: off # one wash\n\nwaivers:\n  # spares\n  - rule: a/b\n    subject: channel 40\n    # until the ladder is back\n\n  # lamps\n  - subject: \"cue 5\" # the quiet one\n    rule: a/b\n\n# and the limits\nlimits:\n  white/key-mix: {max_mired: 12}\n"
	for _, c := range []struct {
		which []int
		want  string
	}{
		{nil, file},
		{[]int{0}, "# ours\nrules:\n  colour: off # one wash\n\nwaivers:\n  # spares\n\n  # lamps\n  - subject: \"cue 5\" # the quiet one\n    rule: a/b\n\n# and the limits\nlimits:\n  white/key-mix: {max_mired: 12}\n"},
		{[]int{1, 0}, "# ours\nrules:\n  colour: off # one wash\n\nwaivers:\n  # spares\n\n  # lamps\n\n# and the limits\nlimits:\n  white/key-mix: {max_mired: 12}\n"},
	} {
		for _, end := range []string{"\n", "\r\n"} {
			given, want := strings.ReplaceAll(file, "\n", end), strings.ReplaceAll(c.want, "\n", end)
			got, err := Without("house.yaml", []byte("\ufeff"+given), c.which)
			if err != nil || string(got) != "\ufeff"+want {
				t.Errorf("without %v: %v\n%s", c.which, err, cmp.Diff(want, string(got)))
			}
		}
	}
	got, err := Rename("house.yaml", []byte(file), map[int]string{1: "cue 50 in segment \"Talk\""})
	if want := strings.Replace(file, "\"cue 5\"", "\"cue 50 in segment \\\"Talk\\\"\"", 1); err != nil || string(got) != want {
		t.Errorf("%v\n%s", err, cmp.Diff(want, string(got)))
	}
	for _, file := range []string{"waivers: [{rule: a/b, subject: channel 9}]\n", "{waivers: [{rule: a/b, subject: channel 9}]}\n"} {
		if got, err := Without("house.yaml", []byte(file), []int{0}); err == nil {
			t.Errorf("%q was changed to %q", file, got)
		}
	}
	if _, err := Without("house.yaml", []byte(file), []int{2}); err == nil {
		t.Error("there is no third")
	}
	if got, err := Without("house.yaml", []byte("waivers: [\n"), []int{0}); err == nil {
		t.Errorf("what is no house file was changed to %q", got)
	}
}

// TestAppendAndWithout: what was appended can be taken out again, and then the file
// says what it said.
func TestAppendAndWithout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "waivers")
		var list []waiver.Waiver
		for range n {
			list = append(list, waiver.Waiver{
				Rule: "a/b", Subject: rapid.StringMatching("[a-z#: 'é-]{1,12}x").Draw(t, "subject"), Verdict: finding.Fail,
				Reason: strings.TrimSpace(anyText().Draw(t, "reason")), By: "lead",
			})
		}
		for i := range list {
			list[i].Subject = strings.TrimSpace(list[i].Subject)
		}
		head := rapid.SampledFrom([]string{"", "# ours\n", "rules:\n  colour: off\n", "waivers:\n- rule: c/d\n  subject: show\n"}).Draw(t, "file")
		with, err := Append("house.yaml", []byte(head), list)
		if err != nil {
			t.Skip(err)
		}
		before, _ := Read("house.yaml", with)
		out := rapid.SliceOfNDistinct(rapid.IntRange(0, len(before.Waivers)-1), 0, len(before.Waivers), rapid.ID).Draw(t, "out")
		less, err := Without("house.yaml", with, out)
		if err != nil {
			t.Fatalf("%v\n%s", err, with)
		}
		if now, err := Read("house.yaml", less); err != nil || len(now.Waivers) != len(before.Waivers)-len(out) {
			t.Fatalf("%v\n%s", err, less)
		}
		for line := range strings.Lines(string(less)) { // nothing is written that was not there
			if !strings.Contains(string(with), line) {
				t.Fatalf("%q is new", line)
			}
		}
	})
}

func anyText() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		parts := rapid.SliceOfN(rapid.OneOf(
			rapid.SampledFrom([]string{"cue 4", ": ", " #", "- ", "'", `"`, `\`, "|", ">", "&", "*", "!", "%", "@", "`", "{", "}", "[", "]", ",", "?", "yes", "null", "~", "1", "2026-02-30", "\u2028", "\u0085", "\x1b", "\ufeff", "ä", "😀", "\u00a0"}),
			rapid.StringN(1, 8, -1),
		), 1, 5).Draw(t, "parts")
		text := strings.Join(strings.Fields(strings.Join(parts, "")), " ")
		if text == "" {
			return "x"
		}
		return text
	})
}

// TestAppendRoundTrip writes waivers with any texts behind files of several
// notations. What was there stays, and what is read again is what was written.
func TestAppendRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before := rapid.SampledFrom([]string{"", whole, "waivers: []\n", "waivers:\n- {rule: a, subject: b} # c\n# d\nlimits: {}\n", "rules: {a: off}\r\n"}).Draw(t, "before")
		var list []waiver.Waiver
		for range rapid.IntRange(1, 4).Draw(t, "count") {
			list = append(list, waiver.Waiver{
				Rule: anyText().Draw(t, "rule"), Subject: anyText().Draw(t, "subject"), Detail: rapid.OneOf(rapid.Just(""), anyText()).Draw(t, "detail"),
				Verdict: rapid.SampledFrom([]finding.Verdict{finding.Fail, finding.Open}).Draw(t, "verdict"),
				Reason:  anyText().Draw(t, "reason"), By: anyText().Draw(t, "by"), Until: rapid.SampledFrom([]string{"", "2026-12-31"}).Draw(t, "until"),
			})
		}
		after, err := Append("house.yaml", []byte(before), list)
		if err != nil {
			t.Fatal(err)
		}
		h, err := Read("house.yaml", after)
		if err != nil {
			t.Fatal(err)
		}
		old, _ := Read("house.yaml", []byte(before))
		if diff := cmp.Diff(append(bare(old.Waivers), list...), bare(h.Waivers)); diff != "" {
			t.Error(diff)
		}
		for line := range strings.Lines(strings.Replace(before, "waivers: []", "waivers:", 1)) {
			if !strings.Contains(string(after), line) {
				t.Errorf("the line %q is gone", line)
			}
		}
	})
}

func TestCheckDay(t *testing.T) {
	for day, want := range map[string]bool{
		"2026-12-31": true, "2028-02-29": true, "2026-02-29": false, "2026-13-01": false, "2026-00-10": false, "2026-1-1": false,
		"": false, "31.12.2026": false, "2026-12-31T00:00:00Z": false, "２０２６-12": false,
	} {
		if err := CheckDay(day); (err == nil) != want {
			t.Errorf("%q: %v", day, err)
		}
	}
}

// FuzzRead: no bytes make the reader panic, and a file that it takes can be
// continued or is refused with nothing lost.
func FuzzRead(f *testing.F) {
	for _, text := range []string{whole, "", "version: 1", "waivers: []", "waivers:\n- {rule: a, subject: b}\n", "limits: &a {b: *a}", "{a: b}", "- x", "a: |\n  b\n", "? a\n: b\n", "waivers:\n  - rule: a\n    subject: >-\n      b\n      c\n    until: 2026-02-30\n"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		h, err := Read("house.yaml", data)
		if err != nil {
			if ours := (Mistakes{}); !errors.As(err, &ours) || err.Error() == "" {
				t.Fatalf("error is %v", err)
			}
			return
		}
		if err := h.Check(known()); err != nil && err.Error() == "" {
			t.Fatal("an error that says nothing")
		}
		after, err := Append("house.yaml", data, one)
		if err != nil {
			return
		}
		now, err := Read("house.yaml", after)
		if err != nil || !continues(h, now, one) {
			t.Fatalf("%q became %q (%v)", data, after, err)
		}
	})
}
