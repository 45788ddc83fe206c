// Package archive opens ZIP archives and XML texts that anyone may have made.
//
// In goes a file; out come the bytes of its entries, or an XML text as a tree of
// elements that know where they stand. Everything is limited by what really
// comes out, never by what a header claims: entries, bytes of one and of all,
// bytes for each packed byte, depth and number of elements. Nothing is ever
// written to disk. A newcomer's mistake would be to open an archive inside an
// archive afresh: [Archive.Nested] goes on counting where the outer one stopped.
package archive

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// Limits bounds what is taken out of an archive. Zero means that nothing is.
type Limits struct {
	Entries int   // entries of one archive
	Entry   int64 // bytes of one entry, unpacked
	Total   int64 // bytes of all entries that are read, unpacked, with those of archives inside
	Ratio   int64 // unpacked bytes for a packed one; the first freeRatio bytes are not asked
	Nested  int   // archives inside archives
}

// Usual bounds what exports of a lighting plan may hold: ten times the largest
// that we know how to think of. Deflate reaches a ratio of 1032; a plan with
// thousands of like fixtures reaches 50.
var Usual = Limits{Entries: 20_000, Entry: 64 << 20, Total: 256 << 20, Ratio: 250, Nested: 1}

// freeRatio is how many bytes may come out whatever the ratio: a short text of
// blanks harms nobody.
const freeRatio = 1 << 20

// Error says what is wrong with an archive or with one entry of it, as the end of
// a sentence that begins with its name.
type Error struct {
	Entry  string // "" for the archive as a whole
	Reason string
}

func (e *Error) Error() string {
	if e.Entry == "" {
		return e.Reason
	}
	return fmt.Sprintf("%q in it %s", e.Entry, e.Reason)
}

// Archive is an open archive. It is not for several goroutines at once.
type Archive struct {
	limits  Limits
	spent   *int64 // bytes that came out so far, shared with archives inside
	depth   int
	files   map[string]*zip.File
	twice   map[string]bool
	names   []string
	refused []Error
	packed  int64 // bytes that went into the entry that is being read
}

// Open reads the directory of an archive. What is wrong with single entries is
// told by [Archive.Refused] and by reading them.
func Open(r io.ReaderAt, size int64, limits Limits) (*Archive, error) {
	return open(r, size, limits, new(int64), 0)
}

func open(r io.ReaderAt, size int64, limits Limits, spent *int64, depth int) (*Archive, error) {
	tooMany := &Error{Reason: fmt.Sprintf("holds more than %d entries, which is the limit", limits.Entries)}
	// The library keeps every entry in memory before anybody can ask how many there
	// are. Archives that stand unpacked in this one show their entries too.
	switch n, err := headers(r, size); {
	case err != nil:
		return nil, &Error{Reason: "cannot be read: " + err.Error()}
	case n > 4*limits.Entries:
		return nil, tooMany
	}
	z, err := zip.NewReader(r, size)
	switch {
	case err != nil && !errors.Is(err, zip.ErrInsecurePath):
		return nil, &Error{Reason: "is no ZIP archive that can be read: " + plain(err)}
	case len(z.File) > limits.Entries:
		return nil, tooMany
	}
	a := &Archive{limits: limits, spent: spent, depth: depth, files: map[string]*zip.File{}, twice: map[string]bool{}}
	z.RegisterDecompressor(zip.Deflate, func(r io.Reader) io.ReadCloser {
		return flate.NewReader(&countingReader{r, &a.packed})
	})
	z.RegisterDecompressor(zip.Store, func(r io.Reader) io.ReadCloser {
		return io.NopCloser(&countingReader{r, &a.packed})
	})
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		if reason := badName(f.Name); reason != "" {
			a.refused = append(a.refused, Error{f.Name, reason})
			continue
		}
		if a.files[f.Name] != nil {
			if !a.twice[f.Name] {
				a.refused = append(a.refused, Error{f.Name, "stands in it twice, so nobody knows which one is meant"})
			}
			a.twice[f.Name] = true
			continue
		}
		a.files[f.Name] = f
		a.names = append(a.names, f.Name)
	}
	slices.Sort(a.names)
	return a, nil
}

// headers counts what looks like an entry of a directory.
func headers(r io.ReaderAt, size int64) (int, error) {
	const block = 1 << 16
	mark := []byte("PK\x01\x02")
	buffer := make([]byte, block+len(mark)-1)
	n := 0
	for at := int64(0); at < size; at += block {
		part := buffer[:min(int64(len(buffer)), size-at)]
		if read, err := r.ReadAt(part, at); err != nil && !(errors.Is(err, io.EOF) && read == len(part)) {
			return 0, err
		}
		n += bytes.Count(part, mark)
	}
	return n, nil
}

// badName says why an entry of that name is not read, or "".
func badName(name string) string {
	switch {
	case strings.ContainsRune(name, '\\'):
		return `has a name with a "\" in it and is not read`
	case strings.HasPrefix(name, "/") || len(name) > 1 && name[1] == ':':
		return "has an absolute name and is not read"
	case slices.Contains(strings.Split(name, "/"), ".."):
		return `has a name that leads out of the archive ("..") and is not read`
	case !utf8.ValidString(name):
		return "has a name that is not UTF-8 and is not read"
	case name == "" || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7F }):
		return "has a name with control characters, or none, and is not read"
	}
	return ""
}

// Names returns the names of the entries, sorted, without folders and those refused.
func (a *Archive) Names() []string { return a.names }

// Refused returns the entries that are not read because of their names.
func (a *Archive) Refused() []Error { return a.refused }

// Lookup returns the entry of that name. If there is none, exact is false and
// the entry is the only one that differs in nothing but case, or "".
func (a *Archive) Lookup(name string) (entry string, exact bool) {
	if a.files[name] != nil {
		return name, true
	}
	for _, other := range a.names {
		if strings.EqualFold(other, name) {
			if entry != "" {
				return "", false
			}
			entry = other
		}
	}
	return entry, false
}

// Read unpacks an entry. All errors are of type [*Error].
func (a *Archive) Read(name string) ([]byte, error) {
	f := a.files[name]
	refuse := func(reason string) ([]byte, error) { return nil, &Error{name, reason} }
	switch {
	case f == nil:
		return refuse("is not there")
	case a.twice[name]:
		return refuse("stands in it twice, so nobody knows which one is meant")
	case f.Flags&1 != 0:
		return refuse("is encrypted")
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return refuse(fmt.Sprintf("is packed in a way that is not read (method %d)", f.Method))
	}
	r, err := f.Open()
	if err != nil {
		return refuse("cannot be unpacked: " + plain(err))
	}
	defer r.Close()
	a.packed = 0
	var out bytes.Buffer
	block := make([]byte, 1<<15)
	for {
		n, err := r.Read(block)
		out.Write(block[:n])
		*a.spent += int64(n)
		switch size := int64(out.Len()); {
		case size > a.limits.Entry:
			return refuse(fmt.Sprintf("unpacks to more than %d MiB, which is the limit", a.limits.Entry>>20))
		case *a.spent > a.limits.Total:
			return refuse(fmt.Sprintf("cannot be unpacked: all that was unpacked before and this are more than %d MiB, which is the limit", a.limits.Total>>20))
		case size > freeRatio && size > a.limits.Ratio*a.packed:
			return refuse(fmt.Sprintf("unpacks to more than %d times its size, which is the limit; it looks made to fill memory", a.limits.Ratio))
		}
		if err == io.EOF {
			return out.Bytes(), nil
		}
		if err != nil {
			return refuse("cannot be unpacked: " + plain(err))
		}
	}
}

// Nested opens an archive that is an entry of this one.
func (a *Archive) Nested(name string) (*Archive, error) {
	if a.depth >= a.limits.Nested {
		return nil, &Error{name, "is an archive inside an archive, which is not opened"}
	}
	data, err := a.Read(name)
	if err != nil {
		return nil, err
	}
	inner, err := open(bytes.NewReader(data), int64(len(data)), a.limits, a.spent, a.depth+1)
	if err != nil {
		return nil, &Error{name, err.Error()}
	}
	return inner, nil
}

// plain is an error of the library without the names of its packages.
func plain(err error) string {
	text := err.Error()
	for _, prefix := range []string{"zip: ", "flate: "} {
		text = strings.TrimPrefix(text, prefix)
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return "it is cut off"
	}
	return text
}

// countingReader counts the bytes that are read.
type countingReader struct {
	r io.Reader
	n *int64
}

func (c *countingReader) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	*c.n += int64(n)
	return n, err
}
