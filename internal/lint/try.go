package lint

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/calibrate"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/plan"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders"
	"github.com/cueproof/cueproof/schema"
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
	plan    *plan.Plan
	steps   []plan.Step // of the plan, those that can be written
	out     outcome.Trial
	folder  string // of the show's files
	whole   bool   // the show is its folder
	content map[*source.File][]byte
	writer  *outfile.Guard // nil: one that knows nothing
	reading loaders.Options
	hold    func([]finding.Finding) // makes open what is open of the show
}

// try writes a corrected copy of a show as a new folder, reads it again and holds
// all rules against it. Changes that the files have no room for are left out and
// listed, and what is left is proved anew. The folder must not be there, or be
// empty; it is made beside itself under another name and then renamed, so it is
// there as a whole or not at all. The files of the show are only read.
func (t *trial) try(to string) (*outcome.Trial, error) {
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
	if replacements, err = t.takeOutStale(edits, replacements); err != nil {
		return nil, err
	}
	write := cmp.Or(t.writer, &outfile.Guard{})
	err = write.Folder(to, func(folder *os.Root) error {
		if err := t.copyTo(folder, replacements); err != nil {
			return fmt.Errorf("cannot be written: %w", source.Cause(err))
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
	t.out.Cleared = len(plan.CuredBy(t.steps))
	return &t.out, nil
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
		return fmt.Errorf("open the show: %w", source.Cause(err))
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
		return fmt.Errorf("--try %s: %w", to, source.Cause(err))
	case !there.IsDir():
		return fmt.Errorf("--try %s: something of that name is there; name a new folder", to)
	default:
		entries, err := os.ReadDir(to)
		if err != nil {
			return fmt.Errorf("--try %s: %w", to, source.Cause(err))
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
func (t *trial) writable() ([]source.Edit, []source.Replacement, error) {
	if err := t.read(); err != nil {
		return nil, nil, err
	}
	for {
		var kept []plan.Step
		var edits []source.Edit
		var replacements []source.Replacement
		for _, s := range t.steps {
			with := slices.Concat(edits, s.Edits())
			list, err := t.write(with)
			var no *loaders.Unwritable
			switch {
			case errors.As(err, &no):
				t.leaveOut(s, no.Error())
				continue
			case err != nil:
				return nil, nil, &ProofFailed{err.Error()}
			}
			kept, edits, replacements = append(kept, s), with, list
		}
		again, failed, err := t.plan.Replay(kept)
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

// takeOutStale lets the copy have no readings of a light that its changes made another, and
// returns what is then to be written.
func (t *trial) takeOutStale(edits []source.Edit, list []source.Replacement) ([]source.Replacement, error) {
	old := staleBy(t.plan.Start.Show, t.steps)
	if len(old) == 0 {
		return list, nil
	}
	for _, r := range old {
		edits = append(edits, source.Edit{At: r.At, Field: "place"})
	}
	without, err := t.write(edits)
	var no *loaders.Unwritable
	switch {
	case errors.As(err, &no):
		t.out.LeftOut = append(t.out.LeftOut, fmt.Sprintf("Take out the readings of before, %s (%s)", spelling.List(wheres(old)), no.Error()))
		return list, nil
	case err != nil:
		return nil, &ProofFailed{err.Error()}
	}
	t.out.Stale = wheres(old)
	return without, nil
}

func (t *trial) leaveOut(s plan.Step, why string) {
	t.out.LeftOut = append(t.out.LeftOut, fmt.Sprintf("%s (%s)", strings.TrimSuffix(s.Do(), "."), why))
}

// write works out what has to be written, and that it can be in each file.
func (t *trial) write(edits []source.Edit) ([]source.Replacement, error) {
	list, err := loaders.Replacements(t.plan.Start.Show, edits, loaders.Options{Aliases: t.setup.Aliases, Levels: t.setup.Scale})
	if err != nil {
		return nil, err
	}
	for file := range byFile(list) {
		if _, err := loaders.File(file, t.content[file], byFile(list)[file]); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func byFile(list []source.Replacement) map[*source.File][]source.Replacement {
	files := map[*source.File][]source.Replacement{}
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
			return fmt.Errorf("read %s again: %w", file.Name, source.Cause(err))
		}
		t.content[file] = data
	}
	return nil
}

// copyTo writes the files of the show into a folder, those with changes changed.
func (t *trial) copyTo(folder *os.Root, list []source.Replacement) error {
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
		data, err := loaders.File(file, data, changes[file])
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
	return loaders.Writable(name)
}

// prove reads the copy and holds all rules against it: what was to be cleared must
// be gone, and nothing new may be there.
func (t *trial) prove(folder string) error {
	show := folder
	if !t.whole {
		show = filepath.Join(folder, filepath.Base(t.path))
	}
	again, err := loaders.Load(show, t.reading)
	if err != nil {
		return &ProofFailed{err.Error()}
	}
	measured := calibrate.Run(again.Show)
	if len(t.out.Stale) > 0 { // what they have told of lamps is true all the same
		measured.Show = withOutputs(again.Show, t.plan.Start.Show)
	}
	// What a meter showed was read in the light of before; in a cue that is changed it is read anew.
	measured.Findings = slices.DeleteFunc(measured.Findings, func(f finding.Finding) bool { return f.Rule == "file/reading-differs" })
	after := slices.Concat(again.Findings, measured.Findings, proof.Check(measured.Show, t.setup.Rules).Found)
	t.hold(after)
	promised := t.plan.Start
	if len(t.steps) > 0 {
		promised = t.steps[len(t.steps)-1].After
		promised.Wake(t.setup.Rules)
	}
	left := plan.Identities(after)
	for identity := range plan.CuredBy(t.steps) {
		if left[identity] {
			return &ProofFailed{"a finding is still there: " + strings.ReplaceAll(identity, "\x00", " ")}
		}
	}
	if again.Unreadable {
		return &ProofFailed{"it cannot be read"}
	}
	was := plan.Identities(t.loaded.Findings, promised.Found)
	for i := range after {
		if !was[after[i].Identity()] {
			return &ProofFailed{fmt.Sprintf("a finding is new: %s (%s)", after[i].Message, after[i].Rule)}
		}
	}
	return nil
}

// withOutputs is a show whose lamps give the light that those of another were measured to give,
// in a room with the light of that other one.
func withOutputs(show, as *schema.Show) *schema.Show {
	copied := *show
	copied.Patch = slices.Clone(show.Patch)
	for i, f := range copied.Patch {
		if i < len(as.Patch) && as.Patch[i].Output != f.Output {
			lamp := *f
			lamp.Output = as.Patch[i].Output
			copied.Patch[i] = &lamp
		}
	}
	if show.Room != nil && as.Room != nil {
		room := *show.Room
		room.AmbientLx, room.Known = as.Room.AmbientLx, as.Room.Known
		copied.Room = &room
	}
	return &copied
}

// fixes gives each order the exact replacements of its change, with what it needs
// beside it. A change that the files have no room for has no fix, and none brings it along.
func fixes(orders []outcome.Order, p *plan.Plan, setup *Setup) error {
	alone, err := p.Alone()
	if err != nil {
		return err
	}
	replacements := func(edits []source.Edit) ([]source.Replacement, error) {
		return loaders.Replacements(p.Start.Show, edits, loaders.Options{Aliases: setup.Aliases, Levels: setup.Scale})
	}
	noRoom := make([]bool, len(orders))
	for i := range orders {
		_, err := replacements(p.Steps[i].Edits())
		noRoom[i] = err != nil
	}
	for i := range orders {
		var edits []source.Edit
		var brings []string
		for _, j := range alone[i] {
			if j != i && noRoom[j] {
				continue
			}
			edits = slices.Concat(edits, p.Steps[j].Edits())
			if j != i {
				brings = append(brings, orders[j].Do)
			}
		}
		list, err := replacements(edits)
		if err != nil {
			continue
		}
		orders[i].FixBrings = brings
		orders[i].Fix = list
	}
	return nil
}
