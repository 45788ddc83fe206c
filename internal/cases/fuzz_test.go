package cases

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"testing"
	"testing/fstest"

	"golang.org/x/tools/txtar"
)

// FuzzRun reads what somebody wrote as the cases of a rule: whatever it is, it is run or
// refused, and what comes back for a rewrite says of each show what was said of it.
func FuzzRun(f *testing.F) {
	const name = "patch/channel-twice/cases.txtar"
	own, err := fs.ReadFile(packsOnDisk, name)
	if err != nil {
		f.Fatal(err)
	}
	for _, seed := range []string{
		string(own), "", "-- one.json --\n{}\n", "-- base.json --\n{\"patch\":[{\"channel\":1}]}\n-- one.json --\n{\"patch\":[{\"channel\":1,\"+\":true}]}\n-- one.want --\nsilent\n",
		"-- one.json --\n{\"patch\":[{\"channel\":1e999}]}\n", "-- one.want --\nx\n", "-- base.json --\n[\n-- one.json --\n{}\n", "-- one.txt --\nx\n",
		"-- one --\n{}\nsilent\n-- two --\n{} {}\n-- one --\n[\n", "-- --", "-- --\nx", "-- one --\n1 silent\n-- one.want --\nfail\n-- base.json --\n{}\n",
	} {
		f.Add(seed)
	}
	set := builtIn(f)
	rule, _ := set.Find("patch/channel-twice")
	f.Fuzz(func(t *testing.T, text string) {
		const most = 600 // bytes: a base and two shows; more only takes time from trying others
		text = text[:min(len(text), most)]
		cases, archive, err := Run(fstest.MapFS{name: {Data: []byte(text)}}, rule)
		if err != nil {
			if err.Error() == "" || len(cases) > 0 {
				t.Fatalf("%d cases, and refused with %q", len(cases), err)
			}
			return
		}
		again, rewritten, err := Run(fstest.MapFS{name: {Data: txtar.Format(archive)}}, rule)
		if err != nil || !bytes.Equal(txtar.Format(rewritten), txtar.Format(archive)) {
			t.Fatalf("rewritten, it is read as something else: %v\n%s", err, txtar.Format(rewritten))
		}
		for _, c := range again {
			if c.Want != c.Got {
				t.Fatalf("%s: wants %q and gets %q after a rewrite", c.Name, c.Want, c.Got)
			}
		}
	})
}

// FuzzMerge: a patch of nothing changes nothing, what is no JSON is refused, and what comes
// out is JSON. Of objects alone, merging twice is merging once (RFC 7396).
func FuzzMerge(f *testing.F) {
	for _, seed := range [][2]string{
		{`{"a":1}`, `{"a":null}`}, {`{"patch":[{"channel":1},{"channel":2}]}`, `{"patch":[{"channel":2,"*":null},{"*":null},{"channel":2,"+":true}]}`},
		{`{"a":{"b":1}}`, `{"a":{"c":{"d":null}}}`}, {`[]`, `{}`}, {`{`, `{}`}, {`1 2`, `{}`}, {`{"a":[{"name":null}]}`, `{"a":[{"name":[1]}]}`},
	} {
		f.Add(seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, base, patch string) {
		merged, err := Merge([]byte(base), []byte(patch))
		if err != nil {
			return
		}
		if !json.Valid(merged) {
			t.Fatalf("%q is no JSON", merged)
		}
		if same, err := Merge(merged, []byte(`{}`)); merged[0] == '{' && (err != nil || !bytes.Equal(same, merged)) {
			t.Fatalf("a patch of nothing makes %s of %s (%v)", same, merged, err)
		}
		if bytes.ContainsAny([]byte(base+patch), "[]") {
			return // a list may be told to take an entry once more
		}
		if twice, err := Merge(merged, []byte(patch)); err != nil || !bytes.Equal(twice, merged) {
			t.Fatalf("merged twice: %s, once: %s (%v)", twice, merged, err)
		}
	})
}
