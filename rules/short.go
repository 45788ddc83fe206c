package rules

import (
	_ "embed"
	"hash/crc32"
	"strconv"
	"sync"

	"github.com/cueproof/cueproof/internal/source"
)

// What the rule files of the program hold, one rule to a line, as JSON: reading that
// takes a tenth of the time that reading YAML takes. A line counts only as long as it
// was made from the very bytes of its rule file, so a rule is never another one than its
// file says. CUEPROOF_UPDATE=1 go test ./rules writes the lines anew.
//
//go:embed short.json
var shortText string

// shortFile is where the lines stand, for whoever asks for a place in them.
const shortFile = "rules/short.json"

// short is a rule file in short: what it was made from, and what it says.
type short struct {
	sum  string
	rule source.Ref
}

// shorts are the rule files in short, by the id of the rule. What cannot be read is
// passed over, as what is out of date is.
var shorts = sync.OnceValue(func() map[string]short {
	file := &source.File{Name: shortFile, Text: shortText}
	if _, ok := source.ParseJSON(file); !ok {
		return nil
	}
	known := map[string]short{}
	for line := range file.Root().Items() {
		rule, ok := line.Get("rule")
		if ok {
			known[text(line, "id")] = short{text(line, "sum"), rule}
		}
	}
	return known
})

// sumOf tells whether a line was made from a rule file.
func sumOf(data []byte) string { return strconv.FormatUint(uint64(crc32.ChecksumIEEE(data)), 16) }
