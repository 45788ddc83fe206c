package lint

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/cases"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/rules"
	"github.com/google/go-cmp/cmp"
)

// mendPurpose offers other purposes, one after the other.
func mendPurpose(purposes ...string) string {
	text := "remedies:\n"
	for _, purpose := range purposes {
		text += `  - change: [{on: fixture, set: purpose, to: '"` + purpose + `"'}]` + "\n    effect: It is a " + purpose + " light.\n"
	}
	return text
}

func doing(told outcome.Show) []string {
	var list []string
	for _, a := range told.Orders {
		text := fmt.Sprintf("%s clears %d", a.Do, len(a.Cures))
		for _, price := range a.Worse {
			text += " for " + price.Rule
		}
		list = append(list, text)
	}
	return list
}

func TestActions(t *testing.T) {
	for _, test := range []struct {
		name     string
		rules    map[string]string
		purposes []string
		do       []string
		person   int // findings left for a person
	}{
		{
			"a change that clears a finding is offered",
			map[string]string{"t/fill": onPurpose("fill", "error", "dark", mendPurpose("key"))},
			[]string{"fill"},
			[]string{`Write the purpose of channel 1 as "key". clears 1`}, 0,
		}, {
			"the same change for several things is one action",
			map[string]string{"t/fill": onPurpose("fill", "error", "dark", mendPurpose("key"))},
			[]string{"fill", "key", "fill"},
			[]string{`Write the purpose of channels 1, 3 as "key". clears 2`}, 0,
		}, {
			"a change that causes a finding as grave is not offered",
			map[string]string{
				"t/fill": onPurpose("fill", "error", "dark", mendPurpose("side")),
				"t/side": onPurpose("side", "error", "later", ""),
			},
			[]string{"fill"}, nil, 1,
		}, {
			"a note does not veto the cure of an error: it is its price",
			map[string]string{
				"t/fill": onPurpose("fill", "error", "dark", mendPurpose("side")),
				"t/side": onPurpose("side", "note", "later", ""),
			},
			[]string{"fill"},
			[]string{`Write the purpose of channel 1 as "side". clears 1 for t/side`}, 0,
		}, {
			"the next one is tried instead",
			map[string]string{
				"t/fill": onPurpose("fill", "error", "dark", mendPurpose("side", "key")),
				"t/side": onPurpose("side", "note", "later", ""),
			},
			[]string{"fill"},
			[]string{`Write the purpose of channel 1 as "key". clears 1`}, 0,
		}, {
			"a change that clears nothing is not offered",
			map[string]string{"t/fill": onPurpose("fill", "error", "dark", mendPurpose("fill"))},
			[]string{"fill"}, nil, 1,
		}, {
			"a change after which nobody can tell is not offered",
			map[string]string{"t/fill": onPurpose("fill", "error", "dark", `
remedies:
  - change: [{on: fixture, set: purpose, to: '"key"'}, {on: fixture, set: type}]
    effect: It is a key light of no type.
`), "t/slots": slotsKnown + "error"},
			[]string{"fill"}, nil, 1,
		}, {
			"a field that is not there is no change",
			map[string]string{"t/fill": onPurpose("fill", "error", "dark", `
remedies:
  - change: [{on: fixture, set: brightness, to: "5"}]
    effect: It is bright.
`)},
			[]string{"fill"}, nil, 1,
		}, {
			"two rules that pull in two directions end",
			map[string]string{
				"t/fill": onPurpose("fill", "error", "dark", mendPurpose("side")),
				"t/side": onPurpose("side", "error", "dark", mendPurpose("fill")),
			},
			[]string{"fill", "side"}, nil, 2,
		}, {
			"the gravest consequence comes first, then the worst level",
			map[string]string{
				"t/a": onPurpose("top", "error", "later", mendPurpose("key")),
				"t/b": onPurpose("side", "note", "hurt", mendPurpose("key")),
				"t/c": onPurpose("fill", "error", "camera", mendPurpose("key")),
				"t/d": onPurpose("wash", "warning", "camera", mendPurpose("key")),
			},
			[]string{"top", "wash", "fill", "side"},
			[]string{
				`Write the purpose of channel 4 as "key". clears 1`, `Write the purpose of channels 2, 3 as "key". clears 2`,
				`Write the purpose of channel 1 as "key". clears 1`,
			}, 0,
		}, {
			"what clears the findings of several rules counts each once",
			map[string]string{
				"t/a": onPurpose("fill", "error", "dark", mendPurpose("key")),
				"t/b": onPurpose("fill", "warning", "room", mendPurpose("key")),
			},
			[]string{"fill", "fill"},
			[]string{`Write the purpose of channels 1, 2 as "key". clears 4`}, 0,
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			told := run(t, folder(t, map[string]string{"show.json": "{" + purposes(test.purposes...) + "}"}), Options{Rules: made(t, test.rules)})
			if diff := cmp.Diff(test.do, doing(told)); diff != "" {
				t.Errorf("actions (-want +got):\n%s", diff)
			}
			if len(told.NeedPerson) != test.person {
				t.Errorf("%d findings are left for a person, want %d", len(told.NeedPerson), test.person)
			}
			addsUp(t, told)
		})
	}
}

// Beside an order stands the next way of its rule, if that clears as much and causes nothing.
func TestAnotherWay(t *testing.T) {
	for _, test := range []struct {
		ways       []string
		others, or string
	}{
		{[]string{"key", "back"}, "", `Write the purpose of channel 1 as "back".`},
		{[]string{"key"}, "", ""},
		{[]string{"key", "fill"}, "", ""},      // clears nothing
		{[]string{"key", "side"}, "error", ""}, // causes as much
	} {
		list := map[string]string{"t/fill": onPurpose("fill", "error", "dark", mendPurpose(test.ways...))}
		if test.others != "" {
			list["t/side"] = onPurpose("side", test.others, "dark", "")
		}
		told := run(t, folder(t, map[string]string{"show.json": "{" + purposes("fill") + "}"}), Options{Rules: made(t, list)})
		if len(told.Orders) != 1 || told.Orders[0].Or != test.or {
			t.Errorf("%v: %+v", test.ways, told.Orders)
		}
	}
}

// addsUp holds a report to its sums: every failure is cleared by one action, or
// left to a person.
func addsUp(t *testing.T, told outcome.Show) {
	t.Helper()
	fails := map[string]int{}
	count := 0
	for i := range told.Findings {
		if f := &told.Findings[i]; f.Verdict == finding.Fail {
			fails[f.Key()]++
			count++
		}
	}
	settled := map[string]int{}
	sum := 0
	for _, a := range told.Orders {
		if a.Causes > len(a.Worse) || len(a.Cures) == 0 {
			t.Errorf("%s causes %d and cures %d", a.Do, a.Causes, len(a.Cures))
		}
		for _, key := range a.Cures {
			settled[key]++
			sum++
		}
	}
	for i := range told.NeedPerson {
		settled[told.NeedPerson[i].Key()]++
		sum++
	}
	if diff := cmp.Diff(fails, settled); diff != "" || sum != count {
		t.Errorf("%d failures, of which %d are settled (-failures +settled):\n%s", count, sum, diff)
	}
}

// Haze that hangs in a talk, in an evening without a beam.
func TestHazeWithoutBeamsIsTakenOut(t *testing.T) {
	told := run(t, folder(t, map[string]string{"show.json": `{
		"room": {"air": {"volume_m3": 2000, "air_changes_per_h": 2, "settling_per_h": 0.5, "start": "none"}},
		"types": [{"name": "hazer", "source": "none", "machine": {"kind": "hazer", "fluid": "glycol", "output_mg_h": 60000}}],
		"patch": [{"channel": 61, "type": "hazer", "purpose": "haze"}],
		"order": [
			{"name": "Welcome", "kind": "welcome", "start_cue": 1, "duration_s": 1200},
			{"name": "Notices", "kind": "notices", "start_cue": 2, "duration_s": 1200},
			{"name": "Talk", "kind": "talk", "start_cue": 3, "duration_s": 1500}
		],
		"cues": [
			{"cue": 1, "segment": "Welcome", "set": [{"channels": "61", "level": 50}]},
			{"cue": 2, "segment": "Notices", "set": []},
			{"cue": 3, "segment": "Talk", "set": []}
		]
	}`}), Options{Rules: rules.Own()})
	if list := doing(told); !slices.ContainsFunc(list, func(do string) bool { return strings.HasPrefix(do, "Bring channel 61 in cue 1 to 0 %") }) {
		t.Errorf("no order takes the haze out: %q", list)
	}
}

// Three fixtures on one address: each is given an address of its own, and with
// the changes made the rule has nothing left to say.
func TestTwoFixturesAreNeverGivenTheSameAddress(t *testing.T) {
	set := everyRule(t)
	overlap, ok := set.Find("patch/address-overlap")
	if !ok {
		t.Fatal("there is no rule about overlapping addresses")
	}
	only := &rules.Set{Rules: []*rules.Rule{overlap}}
	address := regexp.MustCompile(`^Set channels? ([0-9, -]+) to address ([0-9.]+)\.$`)
	for _, patch := range [][]string{
		{"1.1", "1.1", "1.1"}, {"1.1", "1.2", "1.3", "1.4"}, {"1.1", "1.1", "2.1", "2.1"}, {"1.509", "1.509", "1.1", "1.1", "1.5"},
	} {
		t.Run(strings.Join(patch, " "), func(t *testing.T) {
			lines := make([]map[string]any, len(patch))
			for i, address := range patch {
				lines[i] = map[string]any{"channel": i + 1, "address": address, "type": "lamp"}
			}
			text := func() string {
				data, err := json.Marshal(map[string]any{
					"types": []any{map[string]any{"name": "lamp", "slots": 4}}, "patch": lines, "cues": []any{map[string]any{"cue": 1}},
				})
				if err != nil {
					t.Fatal(err)
				}
				return string(data)
			}
			told := run(t, folder(t, map[string]string{"show.json": text()}), Options{Rules: only})
			addsUp(t, told)
			if len(told.Orders) == 0 || len(told.NeedPerson) > 0 {
				t.Fatalf("actions %q, and %d findings for a person", doing(told), len(told.NeedPerson))
			}
			given := map[string]bool{}
			for _, a := range told.Orders {
				match := address.FindStringSubmatch(a.Do)
				if match == nil || strings.ContainsAny(match[1], ",-") || given[match[2]] {
					t.Fatalf("the orders are %q", doing(told))
				}
				given[match[2]] = true
				var channel int
				if _, err := fmt.Sscan(match[1], &channel); err != nil {
					t.Fatal(err)
				}
				lines[channel-1]["address"] = match[2]
			}
			if after := run(t, folder(t, map[string]string{"show.json": text()}), Options{Rules: only}); len(after.Findings) > 0 {
				t.Errorf("done as ordered, %d findings are left: %s", len(after.Findings), after.Findings[0].Message)
			}
		})
	}
}

// A number that two lamps bear and one that a cue calls and no lamp has are one slip where
// the second lamp stands in the row of the number that is called, and two where it does not.
func TestADoubledNumberThatACueCallsIsOneSlip(t *testing.T) {
	set := everyRule(t)
	var only []*rules.Rule
	for _, id := range []string{"patch/cue-channel-unpatched", "patch/channel-twice"} {
		rule, _ := set.Find(id)
		only = append(only, rule)
	}
	const one = "Give third (address 1.25) channel 3 instead of 1, which another lamp has too."
	for _, test := range []struct {
		address, kind, called string
		orders                []string
	}{
		{"1.25", "lamp", "1-3", []string{one}},
		{"1.25", "lamp", "1-4", []string{one + ` Take channel 4 out of cue 1.`}},
		{"1.25", "lamp", "1, 2, 6", []string{"Take channel 6 out of cue 1.", "Give third (address 1.25) channel 3 instead of 1, which another lamp has too."}},
		{"1.40", "lamp", "1-3", []string{"Take channel 3 out of cue 1."}},
		{"1.25", "other", "1-3", []string{"Take channel 3 out of cue 1."}},
	} {
		text := fmt.Sprintf(`{"types": [{"name": "lamp", "slots": 4}, {"name": "other", "slots": 4}], "patch": [
			{"channel": 1, "name": "first", "address": "1.5", "type": "lamp"},
			{"channel": 1, "name": "third", "address": %q, "type": %q},
			{"channel": 2, "name": "second", "address": "1.15", "type": "lamp"}
		], "cues": [{"cue": 1, "set": [{"channels": %q, "level": 50}]}]}`, test.address, test.kind, test.called)
		told := run(t, folder(t, map[string]string{"show.json": text}), Options{Rules: &rules.Set{Rules: only}})
		var orders []string
		for _, o := range told.Orders {
			orders = append(orders, o.Do)
		}
		if diff := cmp.Diff(test.orders, orders[:min(len(orders), len(test.orders))]); diff != "" {
			t.Errorf("%+v (-want +got):\n%s", test, diff)
		}
	}
}

// What there was no room to try is counted, never passed over.
func TestTooManyChangesToTry(t *testing.T) {
	const many = 2_000
	var lines []string
	for i := range many {
		lines = append(lines, fmt.Sprintf(`{"channel": %d, "name": "lamp %d", "purpose": "fill"}`, i+1, i+1))
	}
	text := `{"patch": [` + strings.Join(lines, ",") + `], "cues": [{"cue": 1}]}`
	set := made(t, map[string]string{
		"t/fill": onPurpose("fill", "error", "dark", `
remedies:
  - change: [{on: fixture, set: type, to: fixture.name}]
    effect: It has a type.
`),
	})
	told := run(t, folder(t, map[string]string{"show.json": text}), Options{Rules: set})
	// Each finding has a change of its own that clears nothing; of one rule a dozen in
	// a row are refused, and no more are tried.
	if len(told.Orders) != 0 || len(told.NeedPerson) != many || told.Untried < many-20 || told.Untried >= many {
		t.Errorf("%d untried, %d actions, %d for a person", told.Untried, len(told.Orders), len(told.NeedPerson))
	}
	addsUp(t, told)
}

// wholeShows are the shows of the repository; the rules that come with the program
// say all kinds of things of them.
func wholeShows() []string {
	var paths []string
	for _, name := range []string{"flawed", "mended", "flawed-csv", "mended-csv"} {
		paths = append(paths, filepath.Join("..", "..", "testdata", "shows", name))
	}
	return paths
}

// oneFault is a small evening with orders: a quiet song that is the brightest.
func oneFault(t testing.TB) string {
	t.Helper()
	text, err := cases.Merge([]byte(granary), json.RawMessage(quietIsBrightest))
	if err != nil {
		t.Fatal(err)
	}
	return folder(t, map[string]string{"show.json": string(text)})
}

// asTold is the report of one of them where there is no house. It is made once, for all that only read it.
func asTold(t testing.TB, path string) *outcome.Report {
	t.Helper()
	path = filepath.Clean(path)
	if reports[path] == nil {
		r, err := Run([]string{path}, Options{Rules: everyRule(t), House: HouseOptions{None: true, Today: day}})
		if err != nil {
			t.Fatal(err)
		}
		reports[path] = r
	}
	return reports[path]
}

var reports = map[string]*outcome.Report{}

func TestActionsOfWholeShowsAddUp(t *testing.T) {
	shows := wholeShows()
	if os.Getenv("CUEPROOF_LONG") == "" {
		shows = shows[:2] // tables say the same as JSON, which another test holds; CI does all
	}
	for _, path := range shows {
		told := asTold(t, path).Shows[0]
		t.Run(filepath.Base(told.Path), func(t *testing.T) {
			addsUp(t, told)
			if !slices.IsSortedFunc(told.NeedPerson, func(a, b *finding.Finding) int { return int(a.Consequence) - int(b.Consequence) }) {
				t.Error("the gravest for a person do not come first")
			}
			for _, a := range told.Orders {
				if a.Do == "" || a.Why == "" || a.Effect == "" || a.Undo == "" || a.Place.File == nil {
					t.Errorf("an action lacks something: %+v", a)
				}
			}
			for _, look := range told.Looked {
				if look.Fails+look.Open > look.Subjects {
					t.Errorf("%s looked at %d and says something of %d", look.Rule, look.Subjects, look.Fails+look.Open)
				}
			}
		})
	}
	if len(asTold(t, shows[0]).Shows[0].Orders) == 0 {
		t.Error("nothing is offered for the flawed show: the sums above are empty")
	}
}

// spelled is a report in every format, as bytes.
func spelled(t testing.TB, r *outcome.Report) string {
	t.Helper()
	var b bytes.Buffer
	var names []string
	for name := range report.Formats {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Fprintf(&b, "== %s\n", name)
		if err := report.Formats[name](&b, r, say.Options{Width: 80}); err != nil {
			t.Fatal(err)
		}
	}
	// What no format may print, but everything depends on.
	for _, show := range r.Shows {
		for i := range show.Findings {
			f := &show.Findings[i]
			fmt.Fprintln(&b, f.Fingerprint(), f.Level, f.Message, f.Cues, f.Missing, f.Place.Start)
		}
		fmt.Fprintln(&b, show.Verdict, show.Because, doing(show), show.Gaps, show.Looked, show.LeftOut, show.Untried, show.Notes)
	}
	return b.String()
}

func TestShowsTogetherAreToldAsEachAlone(t *testing.T) {
	set := everyRule(t)
	paths := []string{oneFault(t), wholeShows()[1]} // one with orders and one without
	if os.Getenv("CUEPROOF_LONG") != "" {
		paths = wholeShows()
	}
	together, err := Run(append(paths, paths...), Options{Rules: set}) // each twice at the same time
	if err != nil {
		t.Fatal(err)
	}
	for i, path := range paths {
		alone, err := Run([]string{path}, Options{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		told := spelled(t, alone)
		for _, at := range []int{i, i + len(paths)} {
			one := &outcome.Report{Version: together.Version, Rules: alone.Rules, Shows: together.Shows[at : at+1]}
			if diff := cmp.Diff(told, spelled(t, one)); diff != "" {
				t.Errorf("%s (-alone +together):\n%s", path, diff)
			}
		}
	}
}

func TestTheNumberOfCoresDoesNotShow(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	set := everyRule(t)
	shows := wholeShows()
	if os.Getenv("CUEPROOF_LONG") == "" {
		shows = []string{oneFault(t), shows[1]} // CI does all
	}
	told := map[int]string{}
	for _, cores := range []int{1, 2} {
		runtime.GOMAXPROCS(cores)
		r, err := Run(shows, Options{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		told[cores] = spelled(t, r)
	}
	if diff := cmp.Diff(told[1], told[2]); diff != "" {
		t.Errorf("(-one core +two cores):\n%s", diff)
	}
	if len(told[1]) < 10_000 {
		t.Errorf("only %d bytes were compared", len(told[1]))
	}
}

// slow is for whoever suspects that something is taken over from the show before a change
// that is another behind it: all tests here can be run without that.
var slow = flag.Bool("slow", false, "prove every change by measuring and judging the whole changed show from the beginning")

func TestMain(m *testing.M) {
	flag.Parse()
	proof.Slowly(*slow)
	debug.SetGCPercent(300) // as internal/draws has it
	os.Exit(m.Run())
}

func TestTheSlowWaySaysTheSame(t *testing.T) {
	if *slow {
		t.Skip("there is no other way to hold it against")
	}
	set := everyRule(t)
	shows := wholeShows()
	if os.Getenv("CUEPROOF_LONG") == "" {
		shows = []string{oneFault(t)} // CI does all
	}
	told := map[bool]string{}
	for _, slowly := range []bool{false, true} {
		proof.Slowly(slowly)
		r, err := Run(shows, Options{Rules: set})
		proof.Slowly(false)
		if err != nil {
			t.Fatal(err)
		}
		told[slowly] = spelled(t, r)
	}
	if diff := cmp.Diff(told[true], told[false]); diff != "" {
		t.Errorf("(-from the beginning +what was taken over):\n%s", diff)
	}
}
