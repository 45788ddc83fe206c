package gdtf

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/archive"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/loaders/format"
)

// Format is the row of this format. Nothing is ever written into an export.
var Format = format.Format{Name: "GDTF", Ends: []string{".gdtf"}, Holds: []string{"types"}, Archive: true, Alone: true, Sniff: format.SniffArchive(".gdtf", description), Read: Read}

// description is the entry that holds the description.
const description = "description.xml"

// Read reads a file into the section types.
func Read(in *format.Input, _ string, file *source.File, data string) (format.Part, bool) {
	bytes, size := in.Bytes(data)
	a, err := archive.Open(bytes, size, archive.Usual)
	if err != nil {
		in.Fail("bad-archive", finding.Finding{
			Subjects: []finding.Subject{in.Subject(file)}, Place: source.Place{File: file},
			Message: fmt.Sprintf("%s %s.", file.Name, err),
		})
		return format.Part{}, false
	}
	Refused(in, file, a)
	typ, entry, ok := Open(in, file, "", a)
	if !ok {
		in.Fail("bad-archive", finding.Finding{
			Subjects: []finding.Subject{in.Subject(file)}, Place: source.Place{File: file},
			Message: fmt.Sprintf("%s describes no type that can be read.", file.Name),
		})
		return format.Part{}, false
	}
	root, losses := Lay(entry, typ, cmp.Or(typ.Name.Words, strings.TrimSuffix(path.Base(file.Name), path.Ext(file.Name))))
	return format.Part{Sections: []format.Section{{Name: "types", Root: root}}, Losses: losses}, true
}

// Refused tells which entries of an archive are not read because of their names.
func Refused(in *format.Input, file *source.File, a *archive.Archive) {
	list := a.Refused()
	if len(list) == 0 {
		return
	}
	message := fmt.Sprintf("%s holds an entry that %s.", file.Name, list[0].Reason)
	if len(list) > 1 {
		message += fmt.Sprintf(" %d more entries are left out for their names.", len(list)-1)
	}
	in.Say("archive-names", finding.Finding{
		Level: finding.Warning, Consequence: finding.Later, Subjects: []finding.Subject{in.Subject(file)}, Detail: "names",
		Message: message, Place: source.Place{File: file},
		Hint: "whoever made the archive should see to the names; nothing was written to disk",
	})
}

// Open reads the description in an archive; prefix is what its entries are called
// by in front, where the archive is an entry itself. What is wrong is said.
func Open(in *format.Input, file *source.File, prefix string, a *archive.Archive) (*Type, *source.File, bool) {
	name, exact := a.Lookup(description)
	about := []finding.Subject{in.Subject(file)}
	fails := func(at source.Place, message string) (*Type, *source.File, bool) {
		in.Say("type-file", finding.Finding{Level: finding.Warning, Consequence: finding.Later, Subjects: about, Detail: prefix, Message: message, Place: at})
		return nil, nil, false
	}
	called := strings.TrimSuffix(path.Join(file.Name, prefix), "/")
	if name == "" {
		return fails(source.Place{File: file}, fmt.Sprintf("%s holds no %s, so it describes no type.", called, description))
	}
	if !exact {
		in.Say("type-file", finding.Finding{
			Level: finding.Warning, Consequence: finding.Later, Subjects: about, Detail: prefix + " name", Place: source.Place{File: file},
			Message: fmt.Sprintf("%s calls its description %q, where %q is usual; it is read.", called, name, description),
		})
	}
	data, err := a.Read(name)
	if err != nil {
		return fails(source.Place{File: file}, fmt.Sprintf("%s cannot be used: %s.", called, err))
	}
	entry := in.Entry(file, path.Join(prefix, name))
	text, encoding, err := source.Decode(data)
	if err != nil {
		return fails(source.Place{File: entry}, fmt.Sprintf("%s cannot be read: %s.", entry.Name, err))
	}
	entry.Text, entry.Encoding = text, encoding
	typ, err := Parse(text)
	if err != nil {
		at := source.Place{File: entry}
		var wrong *archive.SyntaxError
		if errors.As(err, &wrong) {
			at.Start, at.Stop = wrong.Offset, wrong.Offset
		}
		return fails(at, fmt.Sprintf("%s %s.", entry.Name, err))
	}
	tell(in, entry, typ)
	return typ, entry, true
}

// told lists the problems that change what a show means; the others are counted.
var told = []string{
	"geometry-missing", "duplicate-slot", "bad-offset", "break-too-long", "break-missing", "reference-loop", "too-many-slots", "no-mode",
	"bad-number", "bad-colour", "colourless-emitter", "field-less-than-beam", "unsupported-version", "emitter-missing", "filter-missing", "wheel-missing",
}

func tell(in *format.Input, entry *source.File, typ *Type) {
	about := []finding.Subject{{Kind: "type", Name: typ.Name.Words}, in.Subject(entry)}
	var others []format.Problem
	for _, p := range typ.Problems {
		if !slices.Contains(told, p.Code) {
			others = append(others, p)
			continue
		}
		f := finding.Finding{
			Level: finding.Note, Consequence: finding.Later, Subjects: about, Detail: p.Code,
			Message: sentence(p.Message), Place: source.Place{File: entry, Start: p.At.Start, Stop: p.At.Stop},
		}
		if p.Severity > format.Note { // no mistake of a maker keeps a service from running; what comes of it is for rules to tell
			f.Level = finding.Warning
		}
		in.Say("type-file", f)
	}
	if len(others) == 0 {
		return
	}
	first := others[0]
	message := fmt.Sprintf("The description of %q has an oddity that changes nothing here: %s.", typ.Name.Words, first.Message)
	if n := len(others); n > 1 {
		message = fmt.Sprintf("The description of %q has %d oddities that change nothing here. The first: %s.", typ.Name.Words, n, first.Message)
	}
	in.Say("type-file", finding.Finding{
		Level: finding.Note, Consequence: finding.Later, Subjects: about, Detail: "oddities",
		Message: message, Place: source.Place{File: entry, Start: first.At.Start, Stop: first.At.Stop},
	})
}

func sentence(message string) string { return spelling.Capital(message) + "." }

// writer lays a type on a tree.
type writer struct {
	*Type
	entry  *source.File
	build  *source.Builder
	losses []format.Loss
	known  []mark
	light  light
}

// mark is how a key is known, where it is not simply read.
type mark struct{ key, how string }

// Lay lays a type on the tree of its entry, as a list of one, under the given name.
func Lay(entry *source.File, typ *Type, name string) (root source.Ref, losses []format.Loss) {
	w := &writer{Type: typ, entry: entry, build: source.NewBuilder(entry), light: typ.shine()}
	w.build.Begin(source.Array, typ.At.Start)
	w.build.Begin(source.Object, typ.At.Start)
	w.text("name", name, typ.Name.At)
	w.source()
	w.modes()
	w.power()
	w.whites()
	w.colours()
	w.beam()
	w.abilities()
	w.marks()
	w.build.End(typ.At.Stop)
	root = w.build.End(typ.At.Stop)
	for _, what := range slices.Sorted(maps.Keys(typ.Left)) {
		w.loss(format.Dropped, what, typ.Left[what], typ.At)
	}
	return root, w.losses
}

func (w *writer) loss(kind format.LossKind, what string, count int, at format.Span) {
	if count > 0 {
		w.losses = append(w.losses, format.Loss{Kind: kind, What: what, Count: count, Place: source.Place{File: w.entry, Start: at.Start, Stop: at.Stop}})
	}
}

func (w *writer) mark(key, how string) { w.known = append(w.known, mark{key, how}) }

func (w *writer) text(key, text string, at format.Span) {
	w.build.Key(key, at.Start, at.Stop)
	w.build.Scalar(source.String, text, at.Start, at.Stop)
}

func (w *writer) number(key string, value float64, at format.Span) {
	w.build.Key(key, at.Start, at.Stop)
	w.build.Scalar(source.Number, decimal(value), at.Start, at.Stop)
}

// decimal writes nine digits: what is computed has no more.
func decimal(value float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(value, 'g', 9, 64), 64)
	if err != nil {
		rounded = value
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// within lays a number that can be true; what cannot is left out and counted. It
// reports whether it was laid.
func (w *writer) within(key string, n *Number, low, high float64) bool {
	if n == nil {
		return false
	}
	if !(n.Value >= low && n.Value <= high) {
		w.loss(format.Dropped, "numbers that cannot be true", 1, n.At)
		return false
	}
	w.number(key, n.Value, n.At)
	if w.light.filled[n.At] {
		w.mark(key, "assumed")
	}
	return true
}
