// Package loaders turns the files of a show into a [schema.Show].
//
// In goes the path of a folder or a file; out come the show, the files it was
// read from with the place of every value, and a finding for everything that is
// wrong with them. Whatever the format, a file first becomes the value tree of
// package source, so one check and one decoder serve them all. A newcomer's
// mistake would be to return an error for a bad show: an error here means that
// the path itself is no use, and all else is a finding, with its place.
package loaders

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/jsonform"
	"github.com/cueproof/cueproof/schema"
	"github.com/cueproof/cueproof/schema/typical"
)

// Options says how a show is read. The zero value reads files and no standard input.
type Options struct {
	Stdin     io.Reader           // what the path "-" reads
	StdinName string              // what findings call it; "standard input" if empty
	Aliases   map[string][]string // further CSV header names: column -> names, see [CheckAliases]
	Levels    string              // how tables write levels: "percent", "byte", "hex", or "" to see by the column

	// What exports leave open, see [format.Options].
	Unlisted string
	Origin   [3]float64
	TurnDeg  *float64
}

// Result is what was read.
type Result struct {
	Name       string         // the show's own name, or that of its folder or file
	Show       *schema.Show   // never nil; a section that could not be read is left out
	Files      []*source.File // all that belong to the show, by name
	Findings   []finding.Finding
	Notes      []string      // how files were understood where more than one way was possible, a phrase each
	Losses     []format.Loss // what exports say and a show has no word for, or leave to be made up
	Unreadable bool          // something was there that could not be read
}

// showFile is the file that may hold or name all sections.
const showFile = "show.json"

// loader is one run of Load.
type loader struct {
	opts    Options
	folder  string                // of the show, as the user named it; "" for standard input
	real    string                // the same without symbolic links
	whole   bool                  // the folder is the show, not just one file in it
	entries []string              // names in the folder, sorted
	used    map[string]string     // file without symbolic links -> the section read from it
	tables  map[string][]string   // section -> tables that look like it by their columns; nil until somebody asks
	told    map[string]bool       // names in the folder about which it was said that they are not read
	lit     map[*schema.Type]bool // whose photometric file was looked for
	others  []other               // names of types and modes that a later file has in other words
	result  Result
	counts  map[countKey]*count
}

// Load reads the show at the path: a folder, a JSON file that holds a whole
// show, or "-" for a JSON show on standard input. Of a file named show.json its
// folder is read. The error is for a path that does not exist or is no show at
// all, and for bad aliases; what is wrong with the show itself is in Findings.
func Load(name string, opts Options) (Result, error) {
	if err := CheckAliases(opts.Aliases); err != nil {
		return Result{}, err
	}
	l := newLoader(opts)
	if err := l.load(name); err != nil {
		return Result{}, err
	}
	l.readPhotometry()
	return l.finish(), nil
}

func newLoader(opts Options) *loader {
	return &loader{
		opts:   opts,
		used:   map[string]string{},
		told:   map[string]bool{},
		lit:    map[*schema.Type]bool{},
		result: Result{Show: &schema.Show{}},
		counts: map[countKey]*count{},
	}
}

func (l *loader) load(name string) error {
	switch name {
	case "":
		return errors.New("no show is named")
	case "-":
		return l.loadStdin()
	}
	info, err := os.Stat(name)
	if err != nil {
		return fmt.Errorf("open the show: %w", err)
	}
	if err := CheckName(name, info); err != nil {
		return err
	}
	switch {
	case info.IsDir():
		return l.loadFolder(name, "")
	case strings.EqualFold(filepath.Base(name), showFile):
		return l.loadFolder(filepath.Dir(name), filepath.Base(name))
	}
	if f := exported(filepath.Base(name), headOfFile(name)); f != nil {
		if err := l.enter(filepath.Dir(name)); err != nil {
			return err
		}
		return l.loadExport(f, name)
	}
	return l.loadFile(name)
}

// CheckName says why what bears a name can be no whole show, whatever stands in it.
func CheckName(name string, info fs.FileInfo) error {
	switch {
	case info.IsDir():
		return nil
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is neither a file nor a folder; to read standard input, give -", name)
	case partOnly(name) && exported(filepath.Base(name), headOfFile(name)) == nil:
		return fmt.Errorf("%s can be one section of a show but not a whole one; give the folder it is in", name)
	}
	return nil
}

func (l *loader) loadStdin() error {
	if l.opts.Stdin == nil {
		return errors.New("standard input is named as the show, but there is none")
	}
	name := cmp.Or(l.opts.StdinName, "standard input")
	l.result.Name = name
	file := l.addFile(name)
	data, err := readLimited(l.opts.Stdin, 0)
	if err != nil {
		l.cannotRead(err, name, source.Place{File: file}, name)
		return nil
	}
	l.readHead(file, data)
	return nil
}

// loadFile reads one JSON file that is a whole show. Its sections may still
// name other files beside it. A link to it may lead anywhere, since the user
// named it, unlike those that a show names.
func (l *loader) loadFile(name string) error {
	if err := l.enter(filepath.Dir(name)); err != nil {
		return err
	}
	_ = l.list() // only for hints at names
	base := filepath.Base(name)
	l.result.Name = strings.TrimSuffix(base, filepath.Ext(base))
	file := l.addFile(l.named(base))
	real, err := filepath.EvalSymlinks(name)
	if err == nil {
		real, err = filepath.Abs(real)
	}
	if err != nil {
		return fmt.Errorf("open the show: %w", err)
	}
	l.used[real] = "the show"
	data, err := read(filepath.Dir(real), real)
	if err != nil {
		l.cannotRead(err, base, source.Place{File: file}, file.Name)
		return nil
	}
	l.readHead(file, data)
	return nil
}

// readHead reads the file that is the show, and the sections in it or named by it.
func (l *loader) readHead(file *source.File, data string) {
	root, ok := l.readOne(&jsonform.Format, "show", file, data)
	if !ok {
		l.readSections(source.Ref{})
		return
	}
	if root.Kind() != source.Object {
		l.fail("no-show", finding.Finding{
			Subjects: []finding.Subject{l.fileSubject(file)},
			Message:  fmt.Sprintf("%s holds %s where a show is an object with any of %s.", file.Name, root.Kind(), strings.Join(schema.Sections, ", ")),
			Hint:     "if this is one section of a show, give the folder it is in",
			Place:    root.Place(),
		})
		l.readSections(source.Ref{})
		return
	}
	if l.result.Show.At.IsZero() { // of several the first
		l.result.Show.ReadHead(root)
	}
	l.check("show", root)
	found := l.readSections(root)
	if !found {
		l.say("no-show", finding.Finding{
			Level: finding.Error, Consequence: finding.Dark,
			Subjects: []finding.Subject{l.fileSubject(file)},
			Message:  fmt.Sprintf("%s holds none of the sections of a show: %s.", file.Name, strings.Join(schema.Sections, ", ")),
			Place:    root.Place(),
		})
	}
}

// readSections reads every section that stands in the show file, is named by
// it, or, if the folder is the show, has a file of its own there.
func (l *loader) readSections(head source.Ref) (found bool) {
	for _, section := range schema.Sections {
		var inline source.Ref
		if !head.IsZero() {
			inline, _ = head.Get(section)
		}
		var here []conventional
		if l.whole {
			here = l.conventional(section)
		}
		switch {
		case inline.IsZero() && len(here) == 0:
			continue
		case inline.IsZero():
			l.readConventional(section, here)
		case inline.Kind() == source.String:
			l.readNamed(section, inline, here)
		default:
			if k := inline.Kind(); k == source.Object || k == source.Array {
				l.take(section, inline)
			} // else the check of the head has said what is wrong
			l.secondTimes(section, "in "+l.relative(inline.File), inline.KeyPlace(), here)
		}
		found = true
	}
	return found
}

// readOne reads a file that holds one section, or the object of show.json.
func (l *loader) readOne(f *format.Format, section string, file *source.File, data string) (root source.Ref, ok bool) {
	file.Format = f.Name
	part, ok := f.Read(l.input(), section, file, data)
	if !ok {
		return source.Ref{}, false
	}
	return part.Sections[0].Root, true
}

// input is what a reader reports to.
func (l *loader) input() *format.Input {
	return &format.Input{
		Options: format.Options{Aliases: l.opts.Aliases, Levels: l.opts.Levels, Unlisted: l.opts.Unlisted, Origin: l.opts.Origin, TurnDeg: l.opts.TurnDeg},
		Say:     l.say, Fail: l.fail, Lost: func() { l.result.Unreadable = true },
		Note: l.note, Subject: l.fileSubject,
		Entry: func(of *source.File, name string) *source.File { return l.addFile(of.Name + "/" + name) },
	}
}

// note records how a file was understood.
func (l *loader) note(file *source.File, parts ...string) {
	l.result.Notes = append(l.result.Notes, l.relative(file)+": "+strings.Join(parts, ", "))
}

// take checks a section and puts it into the show. One that was given before, by the
// first of several paths, is met.
func (l *loader) take(section string, root source.Ref) {
	if _, given := l.result.Show.ReadFrom[section]; given {
		l.merge(section, root)
		return
	}
	l.readInto(l.result.Show, section, root)
}

// readInto checks a section and reads it. Of a long list both are done in one go.
func (l *loader) readInto(show *schema.Show, section string, root source.Ref) {
	if !root.IsLong() {
		l.check(section, root)
		show.Read(section, root)
		return
	}
	found, problems := show.ReadLong(section, root)
	l.add(section, found)
	jsonform.Tell(l.input(), root.File, problems)
	for _, p := range problems {
		l.result.Unreadable = l.result.Unreadable || p.ID == "syntax"
	}
}

// finish does what can only be done when all is read.
func (l *loader) finish() Result {
	r := &l.result
	if r.Show.Name != "" {
		r.Name = r.Show.Name
	}
	l.settle()
	l.boundWork()
	// What one section says of another can only be judged when nothing is missing
	// because it could not be read.
	if !r.Unreadable {
		r.Findings = append(r.Findings, r.Show.Check()...)
	}
	// What stands in for numbers that are not given comes after the check of those that are.
	r.Findings = append(r.Findings, typical.Fill(r.Show)...)
	r.Findings = append(r.Findings, contradictions(r.Show)...)
	r.Findings = append(r.Findings, r.Show.Hang()...)
	l.sayCounts()
	finding.Sort(r.Findings)
	slices.SortFunc(r.Files, func(a, b *source.File) int { return cmp.Compare(a.Name, b.Name) })
	slices.Sort(r.Notes)
	return *r
}

// mostStates is how many fixtures times cues a show may have: five times what the
// largest show that we know of has. Every look knows what every fixture does, so
// this is what the memory of a check grows with.
const mostStates = 20_000_000

// boundWork refuses a show whose looks would not fit into any memory.
func (l *loader) boundWork() {
	show := l.result.Show
	if len(show.Patch) == 0 || len(show.Cues) <= mostStates/len(show.Patch) {
		return
	}
	l.fail("too-large", finding.Finding{
		Subjects: []finding.Subject{{Kind: "section", Name: "cues"}},
		Message:  fmt.Sprintf("%d fixtures in %d cues are more than can be worked out: their product may be %d.", len(show.Patch), len(show.Cues), mostStates),
		Place:    show.ReadFrom["cues"].Place(),
	})
	show.Cues = nil
	delete(show.ReadFrom, "cues")
}

// addFile makes the file that belongs to the show under the name people know it by.
func (l *loader) addFile(name string) *source.File {
	file := &source.File{Name: name}
	l.result.Files = append(l.result.Files, file)
	return file
}

// named returns what the user would call a file of the show's folder.
func (l *loader) named(relative string) string {
	return path.Join(filepath.ToSlash(l.folder), relative)
}

// relative returns the name of a file as seen from the show's folder.
func (l *loader) relative(file *source.File) string {
	if l.folder == "" {
		return file.Name
	}
	short, err := filepath.Rel(l.folder, filepath.FromSlash(file.Name))
	if err != nil {
		return file.Name
	}
	return filepath.ToSlash(short)
}

func (l *loader) fileSubject(file *source.File) finding.Subject {
	return finding.Subject{Kind: "file", Name: l.relative(file)}
}
