// Package history is the small file beside a show that remembers from one run to
// the next what was found and how big the show was.
//
// In go the bytes of such a file and what a run found; out come sentences
// ("since last time: 5 fixed, 2 new"), findings if the show looks like the wrong
// file, and the bytes to write. It holds rules, counts, days, digests of what cues do
// and hashes of names: no name from the show and nobody's words. A newcomer's mistake would be to write
// here: whoever asked for the file by name writes it, and only when all was well.
package history

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"regexp"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/schema"
)

// shape names the shape of the file. A file of another shape is never written to.
const shape = "cueproof-history-2"

// How long the file can get.
const (
	mostRuns     = 120    // more than a year of two services a week
	mostFindings = 20_000 // of a service, of which those that are gone go first
	mostFiles    = 200    // of one show
	mostServices = 8      // such as morning and evening
	largest      = 16 << 20
)

// History is what earlier runs left behind, and what was added to it.
type History struct {
	kept  kept
	added []Run
}

// guard is what the file says of its own secrets.
const guard = "Names are kept as hashes with the salt below. That guards against a glance and no more: whoever has the names can find them here."

type kept struct {
	Schema   string    `json:"schema"`
	Guard    string    `json:"guard"`
	Salt     string    `json:"salt"`
	Runs     []run     `json:"runs"`     // oldest first
	Services []service `json:"services"` // one for each kind of service, the one that ran last at the end
}

// run is what a later run wants to know of a show.
type run struct {
	Date     string     `json:"date"`     // the day of the run
	Show     string     `json:"show"`     // hash of the text of all its files
	Fixtures int        `json:"fixtures"` // lines of the patch
	Files    []fileKept `json:"files"`
}

type fileKept struct {
	Name  string `json:"name"`  // hash of it
	Bytes int    `json:"bytes"` // of its text in UTF-8
	Ended bool   `json:"ended"` // whether it ends with a line end
}

// service is a service as it was when it ran last: morning and evening are two.
type service struct {
	Starts   string             `json:"starts"` // hash of the clock time, or ""
	Path     string             `json:"path"`   // hash of the last part of its path, without digits
	Date     string             `json:"date"`   // of its last run
	Things   map[string][]thing `json:"things"` // by kind
	Findings []findingThen      `json:"findings"`
	Orders   [][]string         `json:"orders"` // what each order of the last run would have cleared, by fingerprint
	Waivers  []waiverThen       `json:"waivers,omitempty"`
}

// waiverThen is a waiver with what it is about, by the names of the last run.
type waiverThen struct {
	ID    string      `json:"id"`
	About [][2]string `json:"about"` // kind and name; empty if it is no more
	Whole bool        `json:"whole"`
}

// thing is what a cue, a segment, a place or a fixture can be recognised by.
type thing struct {
	Name   string `json:"name"` // hashes
	Title  string `json:"title,omitempty"`
	In     string `json:"in,omitempty"`
	Exact  uint64 `json:"exact,omitempty,string"` // digests of content
	Core   uint64 `json:"core,omitempty,string"`
	Levels []byte `json:"levels,omitempty"` // a sketch of the vector of levels
}

// findingThen is one finding over time, with hashes for names.
type findingThen struct {
	Rule   string      `json:"rule"`
	About  [][2]string `json:"about"` // kind and name
	With   [][2]string `json:"with,omitempty"`
	Detail string      `json:"detail,omitempty"`
	Cues   []string    `json:"cues,omitempty"`
	Amount *amount     `json:"amount,omitempty"`
	Keys   []string    `json:"keys"` // by which it was known, the newest last
	Times  int         `json:"times"`
	Here   bool        `json:"here"` // in the last run
	Last   string      `json:"last"` // the last day on which it was found
}

type amount struct {
	Fact   string  `json:"fact"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Worse  int     `json:"worse"`
	Margin float64 `json:"margin"`
}

// Run is what there is to know about the run of now.
type Run struct {
	Date     string // 2026-12-31
	Path     string // as the show was named
	Show     *schema.Show
	Things   match.Things
	Files    []*source.File
	Findings []*finding.Finding       // all, whatever their level
	Orders   [][]string               // the keys that each order clears
	Blind    map[string]bool          // rules that had nothing to look at
	Off      map[string]bool          // rules that do not look
	Waivers  map[string]waiver.Target // what waivers are about, by their ID
}

// Open reads the file; where there is none, the history is empty. An error is a
// file that cannot be read or is not one of these: it must not be written to.
func Open(name string) (*History, error) {
	info, err := os.Stat(name) // before it is opened: a pipe waits for a writer
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &History{kept: fresh()}, nil
	case err != nil:
		return nil, fmt.Errorf("%s cannot be opened: %w", name, source.Cause(err))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no ordinary file; a history is one file", name)
	}
	data, err := source.ReadFirst(name, largest)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, source.Cause(err))
	}
	h, err := Read(data)
	if err != nil {
		return nil, fmt.Errorf("%s is no history that this program wrote, so it is left as it is: %w", name, err)
	}
	return h, nil
}

// Read reads what [History.Bytes] wrote. It refuses everything else.
func Read(data []byte) (*History, error) {
	if len(data) > largest {
		return nil, fmt.Errorf("it has more than %d MiB", largest>>20)
	}
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, errors.New("it is no JSON object")
	}
	switch {
	case head.Schema == shape:
	case strings.HasPrefix(head.Schema, "cueproof-history-"):
		return nil, fmt.Errorf("it has the shape %.40q, and this program knows %s", head.Schema, shape)
	default:
		return nil, fmt.Errorf("it does not say %q: %q", "schema", shape)
	}
	var h History
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields() // they would be lost when it is written again
	if err := decoder.Decode(&h.kept); err != nil {
		return nil, fmt.Errorf("it is broken: %w", err)
	}
	return &h, h.kept.check()
}

var (
	hashForm = regexp.MustCompile(`^[0-9a-f]{64}$`)
	saltForm = regexp.MustCompile(`^[0-9a-f]{32}$`)
)

func isDay(text string) bool {
	_, err := time.Parse(time.DateOnly, text)
	return err == nil
}

// isCount reports whether a number can be a count of ours, a hundred times which is
// still a number.
func isCount(n int) bool { return 0 <= n && n <= math.MaxInt/100 }

// check refuses what no run of ours has written.
func (k *kept) check() error {
	for _, r := range k.Runs {
		if !isDay(r.Date) || !hashForm.MatchString(r.Show) || !isCount(r.Fixtures) {
			return fmt.Errorf("the run of %.20q is broken", r.Date)
		}
		for _, f := range r.Files {
			if !hashForm.MatchString(f.Name) || !isCount(f.Bytes) {
				return fmt.Errorf("a file of the run of %s is broken", r.Date)
			}
		}
	}
	for i := range k.Services {
		if err := k.Services[i].check(); err != nil {
			return err
		}
	}
	if len(k.Services) > 0 && !saltForm.MatchString(k.Salt) {
		return fmt.Errorf("its salt is broken")
	}
	return nil
}

func (s *service) check() error {
	if !isDay(s.Date) {
		return fmt.Errorf("the service of %.20q is broken", s.Date)
	}
	for kind, list := range s.Things {
		for i := range list {
			if len(list[i].Levels)%2 != 0 {
				return fmt.Errorf("a %.20q of the service of %s is broken", kind, s.Date)
			}
		}
	}
	for i := range s.Findings {
		f := &s.Findings[i]
		if f.Rule == "" || f.Times < 1 || !isCount(f.Times) || !isDay(f.Last) || len(f.Keys) == 0 || f.Amount != nil && f.Amount.Worse*f.Amount.Worse != 1 {
			return fmt.Errorf("the finding %.40q of the service of %s is broken", f.Rule, s.Date)
		}
	}
	return nil
}

func fresh() kept { return kept{Schema: shape, Guard: guard, Runs: []run{}, Services: []service{}} }

// last is the run before this one; ok is false if there is none.
func (h *History) last() (r run, ok bool) {
	if len(h.kept.Runs) == 0 {
		return run{}, false
	}
	return h.kept.Runs[len(h.kept.Runs)-1], true
}

func runOf(now Run) run {
	r := run{Date: now.Date, Show: showHash(now.Files), Fixtures: len(now.Show.Patch), Files: []fileKept{}}
	for _, file := range now.Files[:min(len(now.Files), mostFiles)] {
		r.Files = append(r.Files, fileOf(file))
	}
	return r
}

func fileOf(file *source.File) fileKept {
	return fileKept{hash(baseName(file.Name)), len(file.Text), strings.HasSuffix(file.Text, "\n") || strings.HasSuffix(file.Text, "\r")}
}

// baseName is the last part of a name, so that a show can be moved.
func baseName(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// showHash tells two shows apart by all their text.
func showHash(files []*source.File) string {
	var all strings.Builder
	for _, file := range files {
		fmt.Fprintf(&all, "%d %s %d %s\n", len(baseName(file.Name)), baseName(file.Name), len(file.Text), file.Text)
	}
	return hash(all.String())
}

func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

// Bytes is the file as it is to be written: the same history gives the same bytes.
// If it would be too long to be read again, the service that ran longest ago goes.
func (h *History) Bytes() ([]byte, error) {
	for {
		data, err := json.MarshalIndent(h.kept, "", " ")
		if err != nil {
			return nil, fmt.Errorf("write the history: %w", err)
		}
		if len(data) < largest {
			return append(data, '\n'), nil
		}
		if len(h.kept.Services) == 0 {
			return nil, fmt.Errorf("the history would have %d bytes, and %d are the most", len(data), largest)
		}
		h.kept.Services = h.kept.Services[1:]
	}
}

// Onto is the file as it is to be written if it holds other bytes by now than
// when it was opened: another run has added to it, and what this one adds comes
// after that. Without any bytes there is nothing before it.
func (h *History) Onto(data []byte) ([]byte, error) {
	now := &History{kept: fresh()}
	if data != nil {
		var err error
		if now, err = Read(data); err != nil {
			return nil, fmt.Errorf("it was replaced meanwhile by what is no history, so it is left as it is: %w", err)
		}
	}
	for _, run := range h.added {
		now.Add(run)
	}
	return now.Bytes()
}
