package lint

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/plan"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/report/sarif"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/loaders"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
)

// sarifLog is what an independent reader of a log needs to know to apply its fixes.
type sarifLog struct {
	Runs []struct {
		Results []struct {
			Fixes []sarifFix
		}
	}
}

type sarifFix struct {
	Description     struct{ Text string }
	ArtifactChanges []struct {
		ArtifactLocation struct{ URI string }
		Replacements     []replacement
	}
}

type replacement struct {
	DeletedRegion   struct{ StartLine, StartColumn, EndLine, EndColumn int }
	InsertedContent struct{ Text string }
}

// apply is a small program of its own: it knows lines and columns of characters
// and nothing of this program.
func apply(t *testing.T, text string, list []replacement) string {
	t.Helper()
	characters := []rune(text)
	var starts []int // of lines, in characters
	for i := 0; i <= len(characters); i++ {
		if i == 0 || characters[i-1] == '\n' {
			starts = append(starts, i)
		}
	}
	offset := func(line, column int) int { return starts[line-1] + column - 1 }
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b replacement) int { // from the end, so that no place moves
		return offset(b.DeletedRegion.StartLine, b.DeletedRegion.StartColumn) - offset(a.DeletedRegion.StartLine, a.DeletedRegion.StartColumn)
	})
	for _, r := range list {
		from := offset(r.DeletedRegion.StartLine, r.DeletedRegion.StartColumn)
		to := offset(r.DeletedRegion.EndLine, r.DeletedRegion.EndColumn)
		characters = slices.Concat(characters[:from], []rune(r.InsertedContent.Text), characters[to:])
	}
	return string(characters)
}

// The replacements of a SARIF log, made by another program in the files as they
// are, give the files of the corrected copy.
func TestFixesGiveTheCorrectedCopy(t *testing.T) {
	const schemaFile = "../../testdata/reference/sarif-schema-2.1.0.json"
	set := everyRule(t)
	names := []string{"flawed-csv", "flawed"}
	if os.Getenv("CUEPROOF_LONG") == "" {
		names = names[:1] // tables have more ways to go wrong; CI does both
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			show := filepath.Join("..", "..", "testdata", "shows", name)
			to := filepath.Join(t.TempDir(), "corrected")
			r, err := Run([]string{show}, Options{Rules: set, Fixes: true, Try: to, House: HouseOptions{None: true}})
			if err != nil {
				t.Fatal(err)
			}
			var log bytes.Buffer
			if err := sarif.Write(&log, r, say.Options{}); err != nil {
				t.Fatal(err)
			}
			validate(t, schemaFile, log.Bytes())
			var read sarifLog
			if err := json.Unmarshal(log.Bytes(), &read); err != nil {
				t.Fatal(err)
			}
			changes := map[string][]replacement{}
			fixed := map[string]bool{}
			var fixes []sarifFix
			for _, result := range read.Runs[0].Results {
				for _, fix := range result.Fixes {
					text, _ := json.Marshal(fix)
					if fixed[string(text)] {
						continue // one change clears several findings
					}
					fixed[string(text)] = true
					fixes = append(fixes, fix)
				}
			}
			order := func(fix sarifFix) int { // those of two orders at one place stand there in the order of the orders
				return slices.IndexFunc(r.Shows[0].Orders, func(o outcome.Order) bool { return strings.Contains(fix.Description.Text, o.Do) })
			}
			slices.SortStableFunc(fixes, func(a, b sarifFix) int { return order(a) - order(b) })
			for _, fix := range fixes {
				for _, change := range fix.ArtifactChanges {
					name := filepath.Base(change.ArtifactLocation.URI)
					// One fix may bring another along, which belongs to the order that it came with.
					var own []replacement
					for _, r := range change.Replacements {
						if slices.Contains(changes[name], r) {
							continue
						}
						for _, before := range changes[name] {
							if before.DeletedRegion == r.DeletedRegion { // two orders put something at one place
								text, there := before.InsertedContent.Text, r.InsertedContent.Text
								if strings.Contains(text, there) {
									r.InsertedContent.Text = "" // the other brought it along
									continue
								}
								r.InsertedContent.Text = strings.Replace(there, text, "", 1)
							}
						}
						own = append(own, r)
					}
					changes[name] = append(own, changes[name]...) // the last at a place is put there first
				}
			}
			if len(fixed) != len(r.Shows[0].Orders)-len(r.Shows[0].Tried.LeftOut) || len(fixed) < 10 {
				t.Errorf("%d fixes for %d changes", len(fixed), len(r.Shows[0].Orders))
			}
			entries, err := os.ReadDir(to)
			if err != nil || len(entries) < 6 {
				t.Fatalf("the copy has %d files: %v", len(entries), err)
			}
			different := 0
			for _, entry := range entries {
				before, err := os.ReadFile(filepath.Join(show, entry.Name()))
				if err != nil {
					t.Fatal(err)
				}
				after, err := os.ReadFile(filepath.Join(to, entry.Name()))
				if err != nil {
					t.Fatal(err)
				}
				text, mark := strings.CutPrefix(string(before), "\uFEFF")
				want := apply(t, text, changes[entry.Name()])
				if mark {
					want = "\uFEFF" + want
				}
				if diff := cmp.Diff(strings.Split(want, "\n"), strings.Split(string(after), "\n")); diff != "" {
					t.Errorf("%s: the fixes give another file than the copy:\n%s", entry.Name(), diff)
				}
				if !bytes.Equal(before, after) {
					different++
				}
			}
			if different < 3 {
				t.Errorf("%d files of the copy are different", different)
			}
		})
	}
}

func validate(t *testing.T, schemaFile string, log []byte) {
	t.Helper()
	compiler := jsonschema.NewCompiler()
	data, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	if err := compiler.AddResource("https://example.test/sarif", bytes.NewReader(data)); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile("https://example.test/sarif")
	if err != nil {
		t.Fatal(err)
	}
	var value any
	if err := json.Unmarshal(log, &value); err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(value); err != nil {
		t.Errorf("the log is not SARIF: %#v", err)
	}
}

// What a check of the copy says is what was promised: the findings are gone.
func TestTheCopyIsWhatWasPromised(t *testing.T) {
	set := everyRule(t)
	to := filepath.Join(t.TempDir(), "corrected")
	show := filepath.Join("..", "..", "testdata", "shows", "flawed")
	first, err := Run([]string{show}, Options{Rules: set, Try: to, House: HouseOptions{None: true}})
	if err != nil {
		t.Fatal(err)
	}
	second, err := Run([]string{to}, Options{Rules: set, House: HouseOptions{None: true}})
	if err != nil {
		t.Fatal(err)
	}
	before, after := first.Shows[0], second.Shows[0]
	holds(t, before, after)
	fails := func(s outcome.Show) int {
		return len(slices.DeleteFunc(slices.Clone(s.Findings), func(f finding.Finding) bool { return f.Verdict != finding.Fail }))
	}
	priced := 0 // what the orders say that they cost
	for _, a := range before.Orders {
		priced += a.Causes
	}
	// What one order costs another may clear, so there may be fewer.
	if got, most := fails(after), fails(before)-before.Tried.Cleared+priced; got > most {
		t.Errorf("the copy has %d findings, promised were at most %d", got, most)
	}
	if len(after.Orders) != 0 && before.Untried == 0 {
		t.Errorf("the copy still has changes to make: %v", doing(after))
	}
}

func TestMinutesChooseByHarm(t *testing.T) {
	set := everyRule(t)
	show := filepath.Join("..", "..", "testdata", "shows", "flawed")
	all := asTold(t, show).Shows[0]
	chosen := []float64{45, 1}
	if os.Getenv("CUEPROOF_LONG") == "" {
		chosen = chosen[:1]
	}
	for _, minutes := range chosen {
		told := run(t, show, Options{Rules: set, Minutes: minutes, House: HouseOptions{None: true}})
		sum := 0.0
		for _, a := range told.Orders {
			sum += a.Minutes.Most
		}
		if sum > minutes {
			t.Errorf("in %v minutes: changes of %v", minutes, sum)
		}
		if len(told.Orders)+len(told.Undone) != len(all.Orders) {
			t.Errorf("in %v minutes: %d changes and %d undone, of %d", minutes, len(told.Orders), len(told.Undone), len(all.Orders))
		}
		if len(told.NeedPerson) != len(all.NeedPerson) {
			t.Errorf("in %v minutes %d findings need a person, not %d", minutes, len(told.NeedPerson), len(all.NeedPerson))
		}
		for _, undone := range told.Undone { // nothing graver was left out though it would have fitted
			if undone.Minutes.Most <= minutes-sum {
				t.Errorf("in %v minutes %q stays undone with %v left", minutes, undone.Do, minutes-sum)
			}
		}
	}
}

// Near doors nobody is sent to a plug, however grave the fault, nor up a ladder for what only
// looks wrong.
func TestNearDoorsHandsStayOff(t *testing.T) {
	for _, near := range []bool{false, true} {
		show := filepath.Join(showsFolder, "flawed")
		told := asTold(t, show).Shows[0]
		if near {
			told = run(t, show, Options{Rules: everyRule(t), Minutes: 500, Near: true})
		}
		plugs, climbs := 0, 0
		for _, o := range told.Orders {
			if slices.ContainsFunc(o.Edits, func(e outcome.Edit) bool { return e.Key == "circuit" }) {
				plugs++
			}
			if o.Where == outcome.Ladder && o.Consequence > finding.Dark {
				climbs++
			}
		}
		if (plugs > 0) == near || (climbs > 0) == near {
			t.Errorf("near doors is %v, and %d orders are about plugs, %d up a ladder", near, plugs, climbs)
		}
	}
}

func TestATryThatCannotBe(t *testing.T) {
	show := folder(t, map[string]string{"show.json": "{" + purposes("fill") + "}"})
	full := folder(t, map[string]string{"mine.txt": "mine"})
	file := filepath.Join(full, "mine.txt")
	for name, test := range map[string]struct{ show, to, want string }{
		"standard input":       {"-", "x", "standard input"},
		"a folder with things": {show, full, "not empty"},
		"a file":               {show, file, "something of that name"},
		"in the show":          {show, filepath.Join(show, "new"), "inside the folder of the show"},
		"nowhere":              {show, filepath.Join(full, "a", "b"), "above it is not there"},
		"no name":              {show, "", "name of a new folder"},
	} {
		if err := CheckTry(test.show, test.to); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if err := CheckTry(show, t.TempDir()); err != nil {
		t.Errorf("an empty folder: %v", err)
	}
}

// A table that has no column for a change keeps it out of the copy, and says so.
func TestWhatATableHasNoColumnForIsLeftOut(t *testing.T) {
	set := made(t, map[string]string{
		"t/fill": onPurpose("fill", "error", "dark", mendPurpose("key")),
		"t/name": `
title: A lamp has a circuit.
over: fixture
expect: fixture.name != "b"
say: Channel {fixture.channel} has none.
level: error
consequence: dark
remedies:
  - change: [{on: fixture, set: circuit, to: '"front"'}]
    effect: It has one.
`,
	})
	show := folder(t, map[string]string{
		"types.json": `[{"name": "a", "slots": 1}]`, "cues.json": `[{"cue": 1}]`,
		"patch.csv": "Channel;Name;Purpose\n1;a;fill\n2;b;key\n",
	})
	to := filepath.Join(t.TempDir(), "new")
	told := run(t, show, Options{Rules: set, Try: to})
	if told.Tried == nil || told.Tried.Changes != 1 {
		t.Fatalf("tried: %+v, actions %v", told.Tried, doing(told))
	}
	data, err := os.ReadFile(filepath.Join(to, "patch.csv"))
	if err != nil || string(data) != "Channel;Name;Purpose\n1;a;key\n2;b;key\n" {
		t.Errorf("got %q, %v", data, err)
	}
}

// Nothing is left behind by a copy that is not what was proved.
func TestAFailedProofLeavesNothing(t *testing.T) {
	above := t.TempDir()
	show := folder(t, map[string]string{"show.json": "{" + purposes("fill", "fill") + "}"})
	set := made(t, map[string]string{"t/fill": onPurpose("fill", "error", "dark", mendPurpose("key"))})
	setup := &Setup{All: set, Rules: set}
	loaded, err := loaders.Load(show, loaders.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.Make(proof.Check(loaded.Show, set), plan.Options{Rules: set, Least: finding.Note})
	if err != nil || len(p.Steps) != 1 || len(p.Steps[0].Edits()) != 2 {
		t.Fatal("not the plan that was expected", err)
	}
	// As if something went wrong behind the proof: what was mended is wrong after all.
	setup.Rules = made(t, map[string]string{"t/fill": onPurpose("key", "error", "dark", "")})
	try := trial{path: show, loaded: loaded, setup: setup, plan: p, steps: p.Steps, hold: func([]finding.Finding) {}}
	_, err = try.try(filepath.Join(above, "corrected"))
	var failed *ProofFailed
	if !errors.As(err, &failed) || !strings.Contains(err.Error(), "still there") {
		t.Errorf("got %v", err)
	}
	if left, err := os.ReadDir(above); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
