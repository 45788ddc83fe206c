package loaders

import (
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/agext/levenshtein"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/loaders/jsonform"
	"github.com/cueproof/cueproof/loaders/table"
	"github.com/cueproof/cueproof/schema"
)

// loadFolder reads a folder as a show; head is the name of its show file if
// that is known.
func (l *loader) loadFolder(folder, head string) error {
	if err := l.enter(folder); err != nil {
		return err
	}
	if err := l.list(); err != nil {
		return err
	}
	l.whole = true
	l.result.Name = filepath.Base(l.real)
	heads := l.matching(showFile)
	if head != "" {
		heads = slices.Insert(slices.DeleteFunc(heads, func(name string) bool { return name == head }), 0, head)
	}
	if len(heads) > 0 {
		for _, other := range heads[1:] {
			l.second("show", heads[0], other, source.Place{})
		}
		if file, data, ok := l.open(heads[0], "the show", source.Place{}); ok {
			l.noteCase(file, heads[0], showFile)
			l.readHead(file, data)
		} else {
			l.readSections(source.Ref{})
		}
		l.readExports()
		l.readHall()
	} else {
		sections := l.readSections(source.Ref{})
		exports := l.readExports()
		if hall := l.readHall(); !sections && !exports && !hall {
			l.noShow()
			return nil
		}
	}
	l.unused()
	return nil
}

// matching returns the names in the folder that are the given one but for case,
// the exact one first.
func (l *loader) matching(name string) []string {
	var names []string
	for _, entry := range l.entries {
		switch {
		case entry == name:
			names = slices.Insert(names, 0, entry)
		case strings.EqualFold(entry, name):
			names = append(names, entry)
		}
	}
	return names
}

// HallFile is what a person told of the hall beside its exports. It may hold parts of
// any section, and whatever is read from another file wins over it.
const HallFile = "hall.json"

// readHall puts what the file of the hall tells to what was read before.
func (l *loader) readHall() (found bool) {
	names := l.matching(HallFile)
	if len(names) == 0 {
		return false
	}
	file, data, ok := l.open(names[0], "the hall", source.Place{})
	if !ok {
		return true
	}
	root, ok := l.readOne(&jsonform.Format, "show", file, data)
	if !ok || root.Kind() != source.Object {
		return true
	}
	l.check("show", root)
	for _, section := range schema.Sections {
		if member, ok := root.Get(section); ok && (member.Kind() == source.Object || member.Kind() == source.Array) {
			l.merge(section, member)
			found = true
		}
	}
	return found
}

// conventional is a file whose name says which section it holds.
type conventional struct{ name, wanted string }

func (l *loader) conventional(section string) []conventional {
	var found []conventional
	for _, end := range endsFor(section) {
		for _, name := range l.matching(section + end) {
			found = append(found, conventional{name, section + end})
		}
	}
	if len(found) == 0 {
		for _, name := range l.tablesOf(section) {
			found = append(found, conventional{name, name})
		}
	}
	return found
}

// tablesOf returns the tables of the folder that look like a section by their columns,
// whatever they are called.
func (l *loader) tablesOf(section string) []string {
	if l.tables == nil {
		l.tables = map[string][]string{}
		for i, name := range l.entries {
			if i == mostLookedInto {
				break
			}
			if _, named := sectionOf(name); named || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || table.Format.Sniff(name, "") == format.No {
				continue
			}
			if real, err := l.resolve(name); err == nil {
				if text, _, err := source.Decode([]byte(headOfFile(real))); err == nil {
					is := table.Section(name, text, l.opts.Aliases)
					l.tables[is] = append(l.tables[is], name)
				}
			}
		}
	}
	return l.tables[section]
}

// readConventional reads the first of the files that hold a section.
func (l *loader) readConventional(section string, files []conventional) {
	first := files[0]
	if file, data, ok := l.open(first.name, section, source.Place{}); ok {
		l.noteCase(file, first.name, first.wanted)
		if _, named := sectionOf(first.name); !named {
			l.note(file, "taken for the "+section+" by its columns")
		}
		l.readSection(section, file, data)
	}
	l.secondTimes(section, first.name, source.Place{}, files[1:])
}

// readNamed reads a section from the file that the show file names.
func (l *loader) readNamed(section string, name source.Ref, files []conventional) {
	relative := path.Clean(strings.ReplaceAll(name.Str(), `\`, "/"))
	at := name.Place()
	if l.folder == "" {
		l.fail("outside-folder", finding.Finding{
			Subjects: []finding.Subject{{Kind: "file", Name: relative}},
			Message:  fmt.Sprintf("the section %s is in a file, %q, but a show on standard input has no folder to find it in.", section, relative),
			Hint:     "give the folder of the show instead",
			Place:    at,
		})
		return
	}
	const longest = 1000
	if len(relative) > longest {
		relative = source.Shorten(relative)
	}
	if f := l.export(relative); f != nil && f.Can(section) {
		if !l.isUsed(relative) { // it may be named for several sections
			l.takeExport(f, relative, at)
		}
		return
	}
	if sniffed(section, relative, "") == nil {
		l.fail("unknown-format", finding.Finding{
			Subjects: []finding.Subject{{Kind: "file", Name: relative}},
			Message:  fmt.Sprintf("the section %s cannot be read from %q: its name should end in %s.", section, relative, strings.Join(endsFor(section), " or ")),
			Place:    at,
		})
		return
	}
	if file, data, ok := l.open(relative, section, at); ok {
		l.readSection(section, file, data)
	}
	real, _ := l.resolve(relative)
	for _, c := range files {
		if other, err := l.resolve(c.name); err == nil && other != real {
			l.notRead(c.name, fmt.Sprintf("%s names %s for the section %s", l.relative(name.File), relative, section))
		}
	}
}

func (l *loader) readSection(section string, file *source.File, data string) {
	if root, ok := l.readOne(sniffed(section, file.Name, headOf(data)), section, file, data); ok {
		l.take(section, root)
	}
}

// secondTimes reports the files that hold a section which was found before.
func (l *loader) secondTimes(section, first string, at source.Place, files []conventional) {
	for _, c := range files {
		l.second(section, first, c.name, at)
	}
}

func (l *loader) second(section, first, name string, at source.Place) {
	f := finding.Finding{
		Level: finding.Error, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "section", Name: section}, {Kind: "file", Name: name}},
		Message:  fmt.Sprintf("the section %s stands twice, %s and in %s; the first is used.", section, in(first), l.named(name)),
		Hint:     "remove the one that is not meant",
		Place:    l.unread(name),
	}
	if at.File != nil {
		f.Related = []finding.Related{{Message: "this one is used", Place: at}}
	}
	l.say("section-twice", f)
}

func in(where string) string {
	if strings.HasPrefix(where, "in ") {
		return where
	}
	return "in " + where
}

// fileTwice reports a file that is named for two sections, or that names itself.
func (l *loader) fileTwice(relative, before, section string, at source.Place) {
	if at.File == nil {
		at = l.unread(relative)
	}
	l.fail("section-twice", finding.Finding{
		Subjects: []finding.Subject{{Kind: "section", Name: section}, {Kind: "file", Name: relative}},
		Message:  fmt.Sprintf("%s is read for %s already and cannot hold the section %s as well.", relative, before, section),
		Place:    at,
	})
}

// noteCase notes a name that is found here only because letters of either case
// are taken as the same.
func (l *loader) noteCase(file *source.File, name, wanted string) {
	if name == wanted {
		return
	}
	l.say("name-case", finding.Finding{
		Level: finding.Note, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "file", Name: name}},
		Message:  fmt.Sprintf("%s is read as %s.", name, wanted),
		Hint:     fmt.Sprintf("rename it to %s: other programs may tell capital and small letters apart", wanted),
		Place:    source.Place{File: file},
	})
}

// noShow says what was looked for in a folder that has nothing of a show.
func (l *loader) noShow() {
	wanted := []string{showFile}
	for _, section := range schema.Sections {
		for _, end := range endsFor(section) {
			wanted = append(wanted, section+end)
		}
	}
	message := fmt.Sprintf("there is no show in %s. Looked for %s.", filepath.ToSlash(l.folder), strings.Join(wanted, ", "))
	const mostLikely = 3
	likely := 0
	for _, name := range l.entries {
		if near := nearName(name); near != "" && likely < mostLikely {
			message += fmt.Sprintf(" Found %q: did you mean %q?", name, near)
			likely++
		} else if section := l.looksLike(name); section != "" && likely < mostLikely {
			message += fmt.Sprintf(" Found %q, which is probably the section %s: did you mean \"%s.json\"?", name, section, section)
			likely++
		}
	}
	const told = 4
	if unknown := l.tablesOf(""); len(unknown) > 0 {
		var names []string
		for _, name := range unknown[:min(len(unknown), told)] {
			names = append(names, fmt.Sprintf("%q", name))
		}
		message += fmt.Sprintf(" The columns of %s bear no names that are known: cueproof schema --columns %s says what they probably are, and how to have them read.",
			strings.Join(names, ", "), strings.Join(names, " "))
	}
	l.fail("no-show", finding.Finding{
		Subjects: []finding.Subject{{Kind: "file", Name: "."}},
		Message:  message,
		Place:    source.Place{File: &source.File{Name: path.Clean(filepath.ToSlash(l.folder))}},
	})
}

// unused warns of files whose names are nearly those of a section.
func (l *loader) unused() {
	_, patch := l.result.Show.ReadFrom["patch"]
	_, cues := l.result.Show.ReadFrom["cues"]
	for _, name := range l.tablesOf("") {
		if !(patch && cues) && !l.told[name] && !l.isUsed(name) && nearName(name) == "" {
			l.notRead(name, "its columns bear no names that are known; cueproof schema --columns with that file says what they probably are, and how to have it read")
		}
	}
	for _, name := range l.entries {
		if l.told[name] || l.isUsed(name) {
			continue
		}
		near, why := nearName(name), "to be read it would have to be called %s"
		if near == "" {
			if section := l.looksLike(name); section != "" {
				near, why = section+".json", "it is probably the section "+section+", by what stands in it; to be read it would have to be called %s, or be named in show.json"
			}
		}
		if near != "" {
			l.notRead(name, fmt.Sprintf(why, near))
			section := strings.TrimSuffix(near, path.Ext(near))
			if _, read := l.result.Show.ReadFrom[section]; !read && slices.Contains(schema.Sections, section) {
				// A whole section is lost by a letter: nothing that follows can be trusted.
				lost := &l.result.Findings[len(l.result.Findings)-1]
				lost.Level, lost.Consequence = finding.Error, finding.Dark
			}
		}
	}
}

// isUsed reports whether a name is one, or another one, of a file that was read.
func (l *loader) isUsed(name string) bool {
	real, err := l.resolve(name)
	_, used := l.used[real]
	return err == nil && used
}

func (l *loader) notRead(name, why string) {
	l.say("unused-file", finding.Finding{
		Level: finding.Warning, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "file", Name: name}},
		Message:  fmt.Sprintf("%s is not read: %s.", name, why),
		Hint:     "rename it if it is meant, or move it out of the folder",
		Place:    l.unread(name),
	})
}

// unread is the place of a file that nothing more will be said about.
func (l *loader) unread(name string) source.Place {
	l.told[name] = true
	return source.Place{File: &source.File{Name: l.named(name)}}
}

// likeness is a hint at the name in the same folder that was probably meant.
func (l *loader) likeness(relative string) string {
	dir, base := path.Split(relative)
	names := l.entries
	if dir != "" {
		names = nil
		real, err := l.resolve(path.Clean(dir))
		if err != nil {
			return l.likenessOfFolder(dir)
		}
		entries, _ := os.ReadDir(real)
		for _, entry := range entries {
			names = append(names, entry.Name())
		}
	}
	if slices.Contains(names, base) {
		return " It is a link that leads nowhere."
	}
	if near := spelling.Nearest(base, names); near != "" {
		return fmt.Sprintf(" Did you mean %q?", dir+near)
	}
	return ""
}

func (l *loader) likenessOfFolder(dir string) string {
	first, _, _ := strings.Cut(dir, "/")
	if near := spelling.Nearest(first, l.entries); near != "" && near != first {
		return fmt.Sprintf(" Did you mean the folder %q?", near)
	}
	return ""
}

// nearName returns the name that a file of a show should have had, or "" if it
// does not look like one: "pach.csv", "Cues (1).csv", "order.xlsx".
func nearName(name string) string {
	const longest = 64
	ext := path.Ext(name)
	if len(name) > longest || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") {
		return ""
	}
	stem := strings.ToLower(strings.TrimSuffix(name, ext))
	exchanged := slices.Concat(ends(func(f *format.Format) bool { return !f.Alone }), saved, []string{".yaml", ".yml"})
	if !slices.ContainsFunc(exchanged, func(known string) bool { return near(strings.ToLower(ext), known) }) {
		return ""
	}
	for _, section := range append([]string{"show"}, schema.Sections...) {
		rest, cut := strings.CutPrefix(stem, section)
		copied := cut && rest != "" && strings.IndexByte(" (-_.0123456789", rest[0]) >= 0
		if !copied && !near(stem, section) {
			continue
		}
		ends := endsFor(section)
		if sniffed(section, name, "") == formats[0] { // spelt wrongly, but with the right ending
			return section + ends[0]
		}
		return section + ends[min(1, len(ends)-1)]
	}
	return ""
}

// near reports whether a word is another one with a letter or two mistyped.
// Names of files that have nothing to do with a show are the rule in a folder,
// so this is stricter than the likeness of words that are known to be wrong.
func near(word, known string) bool {
	if len(word) > 2*len(known) {
		return false
	}
	return levenshtein.Distance(word, known, nil) <= max(1, len(known)/4) || sortedLetters(word) == sortedLetters(known)
}

func sortedLetters(word string) string {
	letters := []byte(word)
	slices.Sort(letters)
	return string(letters)
}
