// Package history is the small file beside a show that remembers from one run to
// the next what was found and how big the show was.
//
// In go the bytes of such a file and what a run found; out come a sentence
// ("since last time: 5 fixed, 2 new"), findings if the show looks like the wrong
// file, and the bytes to write. It holds fingerprints, rules, counts and days: no
// name from the show and nobody's words. A newcomer's mistake would be to write
// here: whoever asked for the file by name writes it, and only when all was well.
package history

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

// shape names the shape of the file. A file of another shape is never written to.
const shape = "cueproof-history-1"

// How long the file can get.
const (
	mostRuns     = 60     // more than a year of weekly services
	mostFindings = 20_000 // of which those that are gone go first
	mostFiles    = 200    // of one show
	largest      = 16 << 20
)

// History is what earlier runs left behind, and what was added to it.
type History struct {
	kept  kept
	added []Run
}

type kept struct {
	Schema   string           `json:"schema"`
	Runs     []run            `json:"runs"`     // oldest first
	Findings map[string]*seen `json:"findings"` // by fingerprint
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

// seen is one finding over time.
type seen struct {
	Rule  string `json:"rule"`
	Times int    `json:"times"` // how often it came
	Here  bool   `json:"here"`  // in the last run
	Last  string `json:"last"`  // the last day on which it was found
}

// Run is what there is to know about the run of now.
type Run struct {
	Date     string // 2026-12-31
	Show     *schema.Show
	Files    []*source.File
	Findings []*finding.Finding // all, whatever their level
	Blind    map[string]bool    // rules that had nothing to look at
}

// Open reads the file; where there is none, the history is empty. An error is a
// file that cannot be read or is not one of these: it must not be written to.
func Open(name string) (*History, error) {
	file, err := os.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return &History{kept: kept{Schema: shape, Findings: map[string]*seen{}}}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be opened: %w", name, cause(err))
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, fmt.Errorf("%s cannot be opened: %w", name, cause(err))
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no ordinary file; a history is one file", name)
	}
	data, err := io.ReadAll(io.LimitReader(file, largest+1))
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, cause(err))
	}
	h, err := Read(data)
	if err != nil {
		return nil, fmt.Errorf("%s is no history that this program wrote, so it is left as it is: %w", name, err)
	}
	return h, nil
}

func cause(err error) error {
	var onPath *fs.PathError
	if errors.As(err, &onPath) {
		return onPath.Err
	}
	return err
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
	if h.kept.Findings == nil {
		h.kept.Findings = map[string]*seen{}
	}
	return &h, h.kept.check()
}

var (
	hashForm        = regexp.MustCompile(`^[0-9a-f]{64}$`)
	fingerprintForm = regexp.MustCompile(`^[0-9a-f]{32}$`)
)

func isDay(text string) bool {
	_, err := time.Parse(time.DateOnly, text)
	return err == nil
}

// isCount reports whether a number can be a count of ours, a hundred times which is
// still a number.
func isCount(n int) bool { return 0 <= n && n <= 1<<50 }

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
	for fingerprint, s := range k.Findings {
		if !fingerprintForm.MatchString(fingerprint) || s == nil || s.Times < 1 || !isDay(s.Last) || s.Rule == "" {
			return fmt.Errorf("the finding %.40q is broken", fingerprint)
		}
	}
	return nil
}

// last is the run before this one; ok is false if there is none.
func (h *History) last() (r run, ok bool) {
	if len(h.kept.Runs) == 0 {
		return run{}, false
	}
	return h.kept.Runs[len(h.kept.Runs)-1], true
}

// Since says how the run of now differs from the last, in a sentence.
func (h *History) Since(now Run) string {
	last, ok := h.last()
	if !ok {
		return "This is the first run that the history remembers."
	}
	failing, open := fingerprints(now)
	fixed, untold, fresh := 0, 0, 0
	back := map[int]int{}
	for fingerprint := range failing {
		switch s := h.kept.Findings[fingerprint]; {
		case s == nil:
			fresh++
		case !s.Here:
			back[s.Times+1]++
		}
	}
	for fingerprint, s := range h.kept.Findings {
		switch {
		case !s.Here || failing[fingerprint] != "":
		case open[fingerprint] || now.Blind[s.Rule]:
			untold++
		default:
			fixed++
		}
	}
	words := []string{fmt.Sprintf("%d fixed", fixed), fmt.Sprintf("%d new", fresh)}
	for _, times := range slices.Sorted(maps.Keys(back)) {
		words = append(words, fmt.Sprintf("%d back for the %s time", back[times], ordinal(times)))
	}
	if untold > 0 {
		words = append(words, fmt.Sprintf("%d of which nobody can tell any more", untold))
	}
	return fmt.Sprintf("Since last time (%s): %s.", last.Date, strings.Join(words, ", "))
}

func ordinal(n int) string {
	words := []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}
	switch {
	case n < len(words):
		return words[n]
	case n%100 >= 11 && n%100 <= 13:
		return fmt.Sprintf("%dth", n)
	}
	return fmt.Sprintf("%d%s", n, []string{"th", "st", "nd", "rd", "th", "th", "th", "th", "th", "th"}[n%10])
}

// fingerprints lists what fails by fingerprint, with its rule, and what would be
// among it if anybody could tell.
func fingerprints(now Run) (failing map[string]string, open map[string]bool) {
	failing, open = map[string]string{}, map[string]bool{}
	for _, f := range now.Findings {
		if f.Verdict == finding.Fail {
			failing[f.Fingerprint()] = f.Rule
		} else {
			open[compare.AsFailure(f)] = true
		}
	}
	return failing, open
}

// Add remembers the run of now. The same show on the same day is one run.
func (h *History) Add(now Run) {
	h.added = append(h.added, now)
	failing, open := fingerprints(now)
	for fingerprint, rule := range failing {
		s := h.kept.Findings[fingerprint]
		if s == nil {
			s = &seen{Rule: rule}
			h.kept.Findings[fingerprint] = s
		}
		if !s.Here {
			s.Times++
		}
		s.Here, s.Last = true, now.Date
	}
	for fingerprint, s := range h.kept.Findings {
		if failing[fingerprint] == "" && !open[fingerprint] && !now.Blind[s.Rule] {
			s.Here = false
		}
	}
	next := runOf(now)
	if last, ok := h.last(); ok && last.Date == next.Date && last.Show == next.Show {
		h.kept.Runs = h.kept.Runs[:len(h.kept.Runs)-1]
	}
	h.kept.Runs = append(h.kept.Runs, next)
	if more := len(h.kept.Runs) - mostRuns; more > 0 {
		h.kept.Runs = slices.Clone(h.kept.Runs[more:])
	}
	h.forget()
}

// forget drops what is gone and was last found before the oldest run, and of the
// rest what is too much: first what is gone, the longest ago first.
func (h *History) forget() {
	oldest := h.kept.Runs[0].Date
	var gone, here []string
	for _, fingerprint := range slices.Sorted(maps.Keys(h.kept.Findings)) {
		switch s := h.kept.Findings[fingerprint]; {
		case s.Here:
			here = append(here, fingerprint)
		case s.Last < oldest:
			delete(h.kept.Findings, fingerprint)
		default:
			gone = append(gone, fingerprint)
		}
	}
	slices.SortStableFunc(gone, func(a, b string) int {
		return strings.Compare(h.kept.Findings[a].Last, h.kept.Findings[b].Last)
	})
	order := append(gone, here...)
	for _, fingerprint := range order[:max(0, len(order)-mostFindings)] {
		delete(h.kept.Findings, fingerprint)
	}
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
func (h *History) Bytes() ([]byte, error) {
	data, err := json.MarshalIndent(h.kept, "", " ")
	if err != nil {
		return nil, fmt.Errorf("write the history: %w", err)
	}
	return append(data, '\n'), nil
}

// Onto is the file as it is to be written if it holds other bytes by now than
// when it was opened: another run has added to it, and what this one adds comes
// after that. Without any bytes there is nothing before it.
func (h *History) Onto(data []byte) ([]byte, error) {
	now := &History{kept: kept{Schema: shape, Findings: map[string]*seen{}}}
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
