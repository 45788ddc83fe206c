// Package house is what a hall and its team want different: the file house.yaml.
//
// In go the bytes of the file and the rules there are; out come settings with
// their places, or every mistake in the file with its line and a likely
// correction. [Append] adds waivers to its text and leaves the rest as it is. A
// newcomer's mistake would be to pass over what is not understood: a limit that is
// misspelt and ignored is one that somebody relies on, so any mistake stops the run.
package house

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/schema"
)

// FileName is what a house file is called.
const FileName = "house.yaml"

// MaxBytes is how large a house file may be: some five hundred waivers, and far
// less than could hurt.
const MaxBytes = 64 << 10

// House is what one house file says. All places are in File.
type House struct {
	File     *source.File
	Edition  int  // of the rules that it holds to; 0 for the newest
	Root     bool // shows in folders below may use it where there is no repository
	Limits   []Limit
	Switches []Switch
	Levels   []Level
	Folders  []Folder
	Columns  []Column
	Waivers  []waiver.Waiver

	WaiverDays int // for how many days something may be accepted; 0 if the house does not say

	// What exports leave open; "" and nil where the house does not say.
	Scale    string      // how tables write levels: "percent", "byte" or "hex"
	Unlisted string      // what channels do that a cue does not list: "off" or "keep"
	Origin   *[3]float64 // where the origin of a plan lies, in metres of the show
	TurnDeg  *float64    // how far a plan is turned

	columnsAt, editionAt source.Place
}

// Limit is a number in the place of a rule's own.
type Limit struct {
	Rule, Name string
	Value      float64
	RuleAt, At source.Place // of the rule's name, of the limit's name
	first      bool         // so that an unknown rule is told once
	empty      bool         // the rule is named and no limit of it
}

// Switch says whether a rule or a pack is to look.
type Switch struct {
	Of string // "white/key-mix", or "white" for the whole pack
	On bool
	At source.Place
}

// Level is how bad a finding of a rule is here.
type Level struct {
	Rule  string
	Level finding.Level
	At    source.Place
}

// Folder holds further rules.
type Folder struct {
	Path string // as written, seen from the folder of the house file
	At   source.Place
}

// Column gives a column of CSV files further names.
type Column struct {
	Name  string // "level" for every table that has it, "cues/level" for one
	Names []string
	At    source.Place
}

// Mistakes is a house file that is of no use, as an error; each finding is a
// mistake with its place.
type Mistakes []finding.Finding

// Error lists the mistakes, a line for each, with file, line and column.
func (m Mistakes) Error() string {
	var lines []string
	for _, f := range m {
		at := f.Place.Span().Start
		lines = append(lines, fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, f.Message))
	}
	return "the house file cannot be used:\n  " + strings.Join(lines, "\n  ")
}

// Read reads a house file; name is what people call it. The error is [Mistakes].
// What depends on the rules there are is looked at by [House.Check]. An empty
// file, or one of remarks alone, changes nothing.
func Read(name string, data []byte) (*House, error) {
	h := &House{File: &source.File{Name: name}}
	if len(data) > MaxBytes {
		return nil, Mistakes{h.mistake(source.Place{File: h.File}, "the file has %d bytes; a house file has at most %d", len(data), MaxBytes)}
	}
	text, encoding, err := source.Decode(data)
	if err != nil || !strings.HasPrefix(encoding, "UTF-8") {
		return nil, Mistakes{h.mistake(source.Place{File: h.File}, "the file is not UTF-8 text")}
	}
	h.File.Text, h.File.Encoding = text, encoding
	if blank(text) {
		return h, nil
	}
	if problem := source.ParseYAML(h.File); problem != nil {
		return nil, Mistakes{h.mistake(problem.At, "%s", problem.Message)}
	}
	root := h.File.Root()
	found := slices.DeleteFunc(schema.Validate("house", root), isEmptySetting)
	for i := range found {
		found[i].Level, found[i].Consequence = finding.Error, finding.Later
	}
	if len(found) > 0 {
		return nil, Mistakes(found)
	}
	if found = h.read(root); len(found) > 0 {
		return nil, Mistakes(found)
	}
	return h, nil
}

// isEmptySetting reports whether a finding is about a setting of the file itself
// that has nothing behind it, as a list of which every line was made a remark.
func isEmptySetting(f finding.Finding) bool {
	ofFile := len(f.Subjects) == 1 && f.Subjects[0].Kind == "section"
	return f.Rule == "file/wrong-type" && f.Level == finding.Warning && ofFile && f.Detail != "" && !strings.Contains(f.Detail, "/")
}

// blank reports whether a text holds nothing but remarks.
func blank(text string) bool {
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			return false
		}
	}
	return true
}

// mistake is something wrong with the file.
func (h *House) mistake(at source.Place, format string, args ...any) finding.Finding {
	message := fmt.Sprintf(format, args...)
	return finding.Finding{
		Rule: "house/mistake", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Later,
		Subjects: []finding.Subject{{Kind: "house file"}}, Detail: message, Message: message, Place: at,
	}
}

// read takes the values off a file whose form is right, and says what the schema
// cannot.
func (h *House) read(root source.Ref) (found []finding.Finding) {
	member := func(name string) source.Ref {
		ref, _ := root.Get(name)
		return ref
	}
	h.Root, _ = member("topmost").Truth()
	for rule := range member("limits").Items() {
		if rule.Len() == 0 {
			h.Limits = append(h.Limits, Limit{Rule: rule.Key(), RuleAt: rule.KeyPlace(), first: true, empty: true})
		}
		isFirst := true
		for limit := range rule.Items() {
			value, ok := limit.Float()
			if !ok { // YAML has ways to write a number that nobody else has
				found = append(found, h.mistake(limit.Place(), "write the limit %q in plain digits, such as 12.5: %s is not understood", limit.Key(), source.Shorten(limit.Str())))
			}
			h.Limits = append(h.Limits, Limit{Rule: rule.Key(), Name: limit.Key(), Value: value, RuleAt: rule.KeyPlace(), At: limit.KeyPlace(), first: isFirst})
			isFirst = false
		}
	}
	for item := range member("rules").Items() {
		h.Switches = append(h.Switches, Switch{Of: item.Key(), On: item.Str() == "on", At: item.KeyPlace()})
	}
	h.Scale = member("levels").Str()
	for item := range member("levels").Items() {
		if item.Key() == "tables" {
			h.Scale = item.Str()
			continue
		}
		h.Levels = append(h.Levels, Level{Rule: item.Key(), Level: finding.Level(item.Str()), At: item.KeyPlace()})
	}
	for item := range member("rule_folders").Items() {
		h.Folders = append(h.Folders, Folder{Path: item.Str(), At: item.Place()})
	}
	if columns := member("columns"); !columns.IsZero() {
		h.columnsAt = columns.KeyPlace()
		for item := range columns.Items() {
			if item.Kind() == source.Object { // the columns of one table
				for inner := range item.Items() {
					h.Columns = append(h.Columns, columnOf(item.Key()+"/"+inner.Key(), inner))
				}
				continue
			}
			h.Columns = append(h.Columns, columnOf(item.Key(), item))
		}
	}
	found = append(found, h.readExports(member)...)
	if edition := member("edition"); !edition.IsZero() {
		number, _ := edition.Float()
		h.Edition, h.editionAt = int(number), edition.Place()
	}
	if days, ok := member("waiver_days").Float(); ok {
		h.WaiverDays = int(days)
	}
	for item := range member("waivers").Items() {
		w, wrong := h.waiver(item)
		if w.Until == "" && w.Since != "" {
			w.Until, _ = waiver.Ends(w.Since, cmp.Or(h.WaiverDays, waiver.UsualDays)) // what is no day has been told
		}
		h.Waivers = append(h.Waivers, w)
		found = append(found, wrong...)
	}
	return found
}

func columnOf(name string, ref source.Ref) Column {
	column := Column{Name: name, At: ref.KeyPlace()}
	for item := range ref.Items() {
		column.Names = append(column.Names, item.Str())
	}
	return column
}

// readExports takes what the house says of exports that leave something open.
func (h *House) readExports(member func(name string) source.Ref) (found []finding.Finding) {
	number := func(ref source.Ref) float64 {
		value, ok := ref.Float()
		if !ok { // YAML has ways to write a number that nobody else has
			found = append(found, h.mistake(ref.Place(), "write %q in plain digits, such as 12.5: %s is not understood", ref.Key(), source.Shorten(ref.Str())))
		}
		return value
	}
	h.Unlisted = member("unlisted").Str()
	if origin := member("origin"); !origin.IsZero() {
		h.Origin = new([3]float64)
		i := 0
		for item := range origin.Items() {
			h.Origin[i] = number(item)
			i++
		}
	}
	if turn := member("turn_deg"); !turn.IsZero() {
		value := number(turn)
		h.TurnDeg = &value
	}
	return found
}

func (h *House) waiver(item source.Ref) (w waiver.Waiver, found []finding.Finding) {
	text := func(name string) string {
		ref, _ := item.Get(name)
		return strings.TrimSpace(ref.Str())
	}
	rule, _ := item.Get("rule")
	w = waiver.Waiver{
		Rule: text("rule"), Subject: text("subject"), Detail: text("detail"), Verdict: finding.Fail,
		Reason: text("reason"), By: text("by"), Since: text("since"), Until: text("until"), Place: rule.Place(),
	}
	if verdict := text("verdict"); verdict != "" {
		w.Verdict = finding.Verdict(verdict)
	}
	if value, ok := item.Get("value"); ok {
		number, ok := value.Float()
		if !ok { // YAML has ways to write a number that nobody else has
			found = append(found, h.mistake(value.Place(), "write the value in plain digits, such as 12.5: %s is not understood", source.Shorten(value.Str())))
		}
		w.Value = &number
	}
	w.UntilPlace = w.Place
	if since, ok := item.Get("since"); ok {
		if err := CheckDay(w.Since); err != nil {
			found = append(found, h.mistake(since.Place(), "%v", err))
		}
	}
	if until, ok := item.Get("until"); ok {
		w.UntilPlace = until.Place()
		if err := CheckDay(w.Until); err != nil && w.Until != waiver.Never {
			found = append(found, h.mistake(until.Place(), "%v", err))
		}
	}
	return w, found
}

// CheckDay says what is wrong with a day that should be written as 2026-12-31.
func CheckDay(day string) error {
	if len(day) == len(time.DateOnly) {
		if _, err := time.Parse(time.DateOnly, day); err == nil {
			return nil
		}
		digits := strings.Trim(strings.ReplaceAll(day, "-", ""), "0123456789") == ""
		if digits && day[4] == '-' && day[7] == '-' {
			return fmt.Errorf("there is no day %s", day)
		}
	}
	return fmt.Errorf("%q is not a day written as 2026-12-31", source.Shorten(day))
}

// Aliases returns the further names of columns as package loaders takes them.
func (h *House) Aliases() map[string][]string {
	if h == nil || len(h.Columns) == 0 {
		return nil
	}
	aliases := map[string][]string{}
	for _, column := range h.Columns {
		aliases[column.Name] = column.Names
	}
	return aliases
}
