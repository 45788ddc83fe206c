package loaders

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/loaders/format"
	"github.com/cueproof/cueproof/schema"
)

// ours are the endings of our own reports.
var ours = []string{".json", ".csv", ".txt"}

// TakenFor says what a file of that name would be taken for in the folder of a
// show, or "". With exactly, the name is that of a part of a show in any folder;
// otherwise it is nearly one, or ends like an export.
func TakenFor(name string) (what string, exactly bool) {
	lower := strings.ToLower(name)
	if lower == showFile {
		return "the file of a show", true
	}
	if section, ok := sectionOf(lower); ok {
		return "the section " + section + " of a show", true
	}
	if near := nearName(name); near != "" {
		return fmt.Sprintf("a misspelt %s", near), false
	}
	exports := slices.Concat(ends(func(*format.Format) bool { return true }), photometric, saved)
	if endsIn(name, exports) && !endsIn(name, ours) {
		return "an export", false
	}
	return "", false
}

// exportHeads are what exports begin with in open standards, but for letters of
// either case: an archive (ZIP), a photometric file (ANSI/IES LM-63), XML, and
// console data as ASCII text.
var exportHeads = []string{"pk\x03\x04", "iesna", "<?xml", "ident "}

// IsExport reports whether a file begins like an export: as one of the formats
// that are read does, or as one in an open standard.
func IsExport(name string) bool {
	head := headOfFile(name)
	start := strings.ToLower(strings.TrimLeft(strings.TrimPrefix(head, "\ufeff"), " \t\r\n"))
	return exported(name, head) != nil || slices.ContainsFunc(exportHeads, func(known string) bool { return strings.HasPrefix(start, known) })
}

// IsShow reports whether the members of a JSON object make it a show.
func IsShow(members []string) bool {
	return slices.ContainsFunc(members, func(key string) bool { return slices.Contains(schema.Sections, key) })
}
