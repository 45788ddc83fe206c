package cases

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"golang.org/x/tools/txtar"

	"github.com/cueproof/cueproof/rules"
)

// TestCasesAreTakenApart: a show with its answer below it, or in a section of its own where nothing stands below.
func TestCasesAreTakenApart(t *testing.T) {
	for _, c := range []struct{ about, text, want string }{
		{"below", "-- a --\n{\"x\": 1}\nsilent\n-- b --\n[2]\n", `a {"x": 1} "silent"; b [2] ""`},
		{"apart", "-- a.json --\n{}\n-- a.want --\none\ntwo\n-- b.json --\n[]\n", `a {} "one\ntwo"; b [] ""`},
		{"below and apart", "-- a --\n{}\nbelow\n-- a.want --\napart\n", `a {} "below"`},
		{"apart, and first", "-- a.want --\none\n-- a --\n{}\n", `a {} "one"`},
		{"a base", "-- base.json --\n{\"x\": 2}\n-- a --\n{}\nsilent\n", `base {"x": 2}; a {} "silent"`},
		{"no JSON", "-- a --\nwords\n", `a words ""`},
		{"an answer to nothing", "-- a --\n{}\n-- b.want --\none\n", `"b.want" belongs to no show`},
	} {
		list, base, err := split(txtar.Parse([]byte(c.text)))
		var words []string
		if base != nil {
			words = append(words, "base "+strings.TrimSpace(string(base)))
		}
		for _, one := range list {
			words = append(words, fmt.Sprintf("%s %s %q", one.Name, one.Show, one.Want))
		}
		got := strings.Join(words, "; ")
		if err != nil {
			got = err.Error()
		}
		if got != c.want && (err == nil || !strings.HasPrefix(got, c.want)) {
			t.Errorf("%s: %s, not %s", c.about, got, c.want)
		}
	}
}

// TestCasesThatCannotBeRun say what is wrong with them.
func TestCasesThatCannotBeRun(t *testing.T) {
	rule := &rules.Rule{}
	rule.ID = "a/b"
	long := strings.Repeat("#", maxCases)
	for about, c := range map[string]struct {
		files fstest.MapFS
		want  string
	}{
		"none":              {fstest.MapFS{}, "the rule a/b has no cases"},
		"a folder":          {fstest.MapFS{"a/b/cases.txtar/x": {}}, "a/b/cases.txtar is no file"},
		"too long":          {fstest.MapFS{"a/b/cases.txtar": {Data: []byte(long + "#")}}, fmt.Sprintf("has %d bytes", maxCases+1)},
		"as long as it may": {fstest.MapFS{"a/b/cases.txtar": {Data: []byte(long)}}, "holds no case"},
		"an answer alone":   {fstest.MapFS{"a/b/cases.txtar": {Data: []byte("-- a.want --\nsilent\n")}}, "belongs to no show"},
		"no show":           {fstest.MapFS{"a/b/cases.txtar": {Data: []byte("-- a --\n{\"patch\": [{\"channel\": \"x\"}]}\nsilent\n")}}, "a/b/cases.txtar: a: the show itself is wrong"},
		"a base of none":    {fstest.MapFS{"a/b/cases.txtar": {Data: []byte("-- base.json --\n{\n-- a --\n{}\nsilent\n")}}, "a/b/cases.txtar: a: "},
	} {
		if _, _, err := Run(c.files, rule); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, not %q", about, err, c.want)
		}
	}
}

// TestTheGoodExampleBesideABadOne is the one called silent, or the one in which the fewest values are others, more or fewer.
func TestTheGoodExampleBesideABadOne(t *testing.T) {
	of := func(name, show, got string) Case { return Case{Name: name, Show: []byte(show), Got: got} }
	bad := of("bad", `{"a": 1, "b": [1, 2], "c": {"d": 3}}`, "wrong")
	for want, list := range map[string][]Case{
		"":       {bad, of("meant", `{"a": 1, "b": [1, 2], "meant": []}`, silent)},
		"silent": {of("near", `{"a": 2, "b": [1, 2], "c": {"d": 3}}`, silent), of("silent", `{}`, silent)},
		"near":   {of("far", `{"a": 2, "b": [1, 3], "c": {"d": 3}}`, silent), of("near", `{"a": 1, "b": [1, 2], "c": {"d": 4}}`, silent), of("as near", `{"a": 1, "b": [1, 2], "c": {}}`, silent)},
		"more":   {of("less", `{"b": [1, 2]}`, silent), of("more", `{"a": 1, "b": [1, 2, 3], "c": {"d": 3}}`, silent)},
		"less":   {of("more", `{"a": 1, "b": [1, 2, 3, 4], "c": {"d": 3}}`, silent), of("less", `{"a": 1, "b": [1], "c": {"d": 3}}`, silent)},
	} {
		good, ok := Beside(list, bad)
		if good.Name != want || ok != (want != "") {
			t.Errorf("beside it stands %q, %t; want %q", good.Name, ok, want)
		}
	}
}
