package lint

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/patcher"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders"
)

// ProofFailed is that a corrected copy, read again, is not what was proved. It
// is a fault of the program; nothing is left behind.
type ProofFailed struct{ Why string }

func (p *ProofFailed) Error() string {
	return "this is our own fault, not the show's: the corrected show was written, read again and is not what was proved, so it was taken away: " + p.Why
}

// trial is a corrected copy of a show in the making.
type trial struct {
	path    string // of the show
	loaded  loaders.Result
	setup   *Setup
	prover  *prover
	start   *state
	steps   []step
	out     outcome.Tried
	folder  string // of the show's files
	whole   bool   // the show is its folder
	content map[*source.File][]byte
	writer  *outfile.Guard // nil: one that knows nothing
}

// try writes a corrected copy of a show as a new folder, reads it again and holds
// all rules against it. Changes that the files have no room for are left out and
// listed, and what is left is proved anew. The folder must not be there, or be
// empty; it is made beside itself under another name and then renamed, so it is
// there as a whole or not at all. The files of the show are only read.
func (t *trial) try(to string) (*outcome.Tried, error) {
	t.out.Folder = to
	if t.loaded.Unreadable {
		return nil, nil // the report says so, and there is no show to correct
	}
	if err := t.checkTarget(to); err != nil {
		return nil, err
	}
	edits, replacements, err := t.writable()
	if err != nil {
		return nil, err
	}
	if len(edits) == 0 {
		return &t.out, nil
	}
	write := cmp.Or(t.writer, &outfile.Guard{})
	err = write.Folder(to, func(folder *os.Root) error {
		if err := t.copyTo(folder, replacements); err != nil {
			return fmt.Errorf("cannot be written: %w", reasonOf(err))
		}
		return t.prove(folder.Name())
	})
	var unproved *ProofFailed
	switch {
	case errors.As(err, &unproved):
		return nil, unproved
	case err != nil:
		return nil, fmt.Errorf("--try %s: %w", to, err)
	}
	t.out.Changes = len(t.steps)
	t.out.Cleared = len(curedBy(t.steps))
	return &t.out, nil
}

// reasonOf is the reason in an error of the file system, without names that the
// user did not give.
func reasonOf(err error) error {
	var onPath *fs.PathError
	var onLink *os.LinkError
	switch {
	case errors.As(err, &onPath):
		return onPath.Err
	case errors.As(err, &onLink):
		return onLink.Err
	}
	return err
}

// CheckTry says what is wrong with a folder to write a corrected show to, before
// anything is worked out.
func CheckTry(show, to string) error {
	t := trial{path: show}
	return t.checkTarget(to)
}

func (t *trial) checkTarget(to string) error {
	if t.path == "-" {
		return errors.New("--try needs a show in a folder or a file; one on standard input has no files to copy")
	}
	info, err := os.Stat(t.path)
	if err != nil {
		return fmt.Errorf("open the show: %w", reasonOf(err))
	}
	t.whole = info.IsDir() || strings.EqualFold(filepath.Base(t.path), "show.json")
	t.folder = t.path
	if !info.IsDir() {
		t.folder = filepath.Dir(t.path)
	}
	switch there, err := os.Lstat(to); {
	case to == "":
		return errors.New("--try needs the name of a new folder")
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("--try %s: %w", to, reasonOf(err))
	case !there.IsDir():
		return fmt.Errorf("--try %s: something of that name is there; name a new folder", to)
	default:
		entries, err := os.ReadDir(to)
		if err != nil {
			return fmt.Errorf("--try %s: %w", to, reasonOf(err))
		}
		if len(entries) > 0 {
			return fmt.Errorf("--try %s: the folder is not empty; name a new one", to)
		}
	}
	above, err := filepath.EvalSymlinks(filepath.Dir(filepath.Clean(to)))
	if err != nil {
		return fmt.Errorf("--try %s: the folder above it is not there", to)
	}
	if own, err := filepath.EvalSymlinks(t.folder); err == nil && t.whole && within(own, above) {
		return fmt.Errorf("--try %s: this is inside the folder of the show, and nothing is ever written there", to)
	}
	return nil
}

// within reports whether a folder is another one or in it.
func within(outer, inner string) bool {
	outer, err1 := filepath.Abs(outer)
	inner, err2 := filepath.Abs(inner)
	relative, err := filepath.Rel(outer, inner)
	return err1 == nil && err2 == nil && err == nil && filepath.IsLocal(relative)
}

// writable finds the steps that can be written, proves them without the others if
// there are others, and returns what is to be written for them.
func (t *trial) writable() ([]source.Edit, []patcher.Replacement, error) {
	if err := t.read(); err != nil {
		return nil, nil, err
	}
	for {
		var kept []step
		var edits []source.Edit
		var replacements []patcher.Replacement
		for _, s := range t.steps {
			with := slices.Concat(edits, s.cure.edits)
			list, err := t.write(with)
			var no *patcher.Unwritable
			switch {
			case errors.As(err, &no):
				t.leaveOut(s, no.Error())
				continue
			case err != nil:
				return nil, nil, &ProofFailed{err.Error()}
			}
			kept, edits, replacements = append(kept, s), with, list
		}
		again, failed, err := t.prover.replay(t.start, kept)
		if err != nil {
			return nil, nil, err
		}
		if failed < 0 {
			t.steps = again
			return edits, replacements, nil
		}
		t.leaveOut(kept[failed], "without the others that are left out it does not hold")
		t.steps = slices.Delete(kept, failed, failed+1)
	}
}

func (t *trial) leaveOut(s step, why string) {
	words := &words{show: s.before.show}
	words.findCues(s.cure.edits)
	t.out.LeftOut = append(t.out.LeftOut, fmt.Sprintf("%s (%s)", strings.TrimSuffix(words.do(s.cure.edits), "."), why))
}

// write works out what has to be written, and that it can be in each file.
func (t *trial) write(edits []source.Edit) ([]patcher.Replacement, error) {
	list, err := patcher.Replacements(t.start.show, edits, t.setup.Aliases)
	if err != nil {
		return nil, err
	}
	for file := range byFile(list) {
		if _, err := patcher.File(file, t.content[file], byFile(list)[file]); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func byFile(list []patcher.Replacement) map[*source.File][]patcher.Replacement {
	files := map[*source.File][]patcher.Replacement{}
	for _, r := range list {
		files[r.File] = append(files[r.File], r)
	}
	return files
}

// read reads the bytes of the show's files; one that is named and not there is
// not there in the copy either.
func (t *trial) read() error {
	t.content = map[*source.File][]byte{}
	for _, file := range t.loaded.Files {
		data, err := os.ReadFile(filepath.FromSlash(file.Name))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			continue
		case err != nil:
			return fmt.Errorf("read %s again: %w", file.Name, reasonOf(err))
		}
		t.content[file] = data
	}
	return nil
}

// copyTo writes the files of the show into a folder, those with changes changed.
func (t *trial) copyTo(folder *os.Root, list []patcher.Replacement) error {
	changes := byFile(list)
	done := map[string]bool{}
	put := func(relative string, data []byte) error {
		if !filepath.IsLocal(relative) {
			return fmt.Errorf("%s is outside the folder of the show", relative)
		}
		done[filepath.Clean(relative)] = true
		if above := filepath.Dir(relative); above != "." {
			if err := folder.MkdirAll(above, 0o755); err != nil {
				return err
			}
		}
		return folder.WriteFile(relative, data, 0o644)
	}
	for _, file := range t.loaded.Files {
		data, ok := t.content[file]
		if !ok {
			continue
		}
		data, err := patcher.File(file, data, changes[file])
		if err != nil {
			return err
		}
		relative, err := filepath.Rel(t.folder, filepath.FromSlash(file.Name))
		if err != nil {
			return err
		}
		if err := put(relative, data); err != nil {
			return err
		}
	}
	if !t.whole {
		return nil
	}
	entries, err := os.ReadDir(t.folder)
	if err != nil {
		return err
	}
	for _, entry := range entries {
		if done[entry.Name()] || !entry.Type().IsRegular() || !t.belongs(entry.Name()) {
			continue
		}
		data, err := os.ReadFile(filepath.Join(t.folder, entry.Name()))
		if err != nil {
			return err
		}
		if err := put(entry.Name(), data); err != nil {
			return err
		}
	}
	return nil
}

// belongs reports whether a file that was not read belongs to the copy all the
// same: a section that is not used, of which a check speaks, and the house file,
// unless it names folders that are not copied.
func (t *trial) belongs(name string) bool {
	if name == house.FileName {
		return t.setup.House == nil || len(t.setup.House.Folders) == 0
	}
	switch strings.ToLower(path.Ext(name)) {
	case ".json", ".csv":
		return true
	}
	return false
}

// prove reads the copy and holds all rules against it: what was to be cleared must
// be gone, and nothing new may be there.
func (t *trial) prove(folder string) error {
	show := folder
	if !t.whole {
		show = filepath.Join(folder, filepath.Base(t.path))
	}
	again, err := loaders.Load(show, loaders.Options{Aliases: t.setup.Aliases})
	if err != nil {
		return &ProofFailed{err.Error()}
	}
	after := append(again.Findings, judge(again.Show, t.setup.Rules).found...)
	_, caused := compare(append(slices.Clone(t.loaded.Findings), t.start.found...), after)
	if again.Unreadable || caused > 0 {
		return &ProofFailed{fmt.Sprintf("%d findings are new", caused)}
	}
	left := identities(after)
	for identity := range curedBy(t.steps) {
		if left[identity] {
			return &ProofFailed{"a finding is still there: " + strings.ReplaceAll(identity, "\x00", " ")}
		}
	}
	return nil
}

// maxPairs bounds the proofs of changes together with one before them.
const maxPairs = 40

// fixes gives each action the exact replacements of its change. Whoever takes one
// fix out of a list takes it alone, so a change that does not hold without those
// before it in the plan brings one of them along, or, if one is not enough, all:
// with those it was proved. A change that the files have no room for has no fix.
func fixes(actions []outcome.Order, plan plan, aliases map[string][]string) error {
	along := make([][]int, len(plan.steps)) // the steps of each fix
	var pairs [][]int
	for i, s := range plan.steps {
		if s.before == plan.start {
			along[i] = []int{i}
			continue
		}
		pairs = append(pairs, []int{i})
	}
	if err := plan.settle(pairs, along); err != nil {
		return err
	}
	pairs = nil
	for i := range along {
		for j := i - 1; along[i] == nil && j >= 0 && len(pairs) < maxPairs; j-- {
			pairs = append(pairs, []int{j, i})
		}
	}
	if err := plan.settle(pairs, along); err != nil {
		return err
	}
	for i := range actions {
		if along[i] == nil {
			for j := range i + 1 {
				along[i] = append(along[i], j)
			}
		}
		var edits []source.Edit
		for _, j := range along[i] {
			edits = slices.Concat(edits, plan.steps[j].cure.edits)
			if j != i {
				actions[i].FixBrings = append(actions[i].FixBrings, actions[j].Do)
			}
		}
		list, err := patcher.Replacements(plan.start.show, edits, aliases)
		if err != nil {
			actions[i].FixBrings = nil
			continue
		}
		for _, r := range list {
			actions[i].Fix = append(actions[i].Fix, outcome.Replacement{
				Place: source.Place{File: r.File, Start: r.Start, Stop: r.Stop}, Text: r.Text,
			})
		}
	}
	return nil
}

// settle proves sets of steps on the show as it is, without the rest. The first
// that holds becomes what its last step brings along, unless that is settled.
func (p *plan) settle(sets [][]int, along [][]int) error {
	holds := make([]bool, len(sets))
	err := cores.Jobs(len(sets), func(n int) {
		var c cure
		missing := map[string]bool{}
		for _, i := range sets[n] {
			c.edits = slices.Concat(c.edits, p.steps[i].cure.edits)
			for identity := range identities(p.steps[i].cleared) {
				missing[identity] = true
			}
		}
		proved, ok := p.prover.prove(p.start, c)
		for j := range proved.cleared {
			delete(missing, proved.cleared[j].Identity())
		}
		holds[n] = ok && len(missing) == 0
	})
	for n, set := range sets {
		if last := set[len(set)-1]; holds[n] && along[last] == nil {
			along[last] = set
		}
	}
	return err
}
