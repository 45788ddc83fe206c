// Package sarif writes reports in the Static Analysis Results Interchange Format,
// which hosts of code show beside the lines of a change.
package sarif

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// What stands in every log. The schema's address is the id that it gives itself.
const (
	sarifSchema      = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
	sarifProject     = "https://github.com/cueproof/cueproof"
	sarifFingerprint = "cueproofFinding/v1"
	sarifRoot        = "SRCROOT"
)

// Limits of a large code host (docs.github.com, "SARIF support for code
// scanning", read in one version; such limits change). What is beyond them is
// cut here, worst first, and counted, so that nobody else cuts in silence.
const (
	mostResults  = 25_000     // "Results per run"
	mostBytes    = 10_000_000 // of a log when it is packed with gzip: 10 MB, taken as decimal to be on the safe side
	mostRelated  = 100        // "Locations per result": at most 1,000, of which 100 are kept
	mostRuleText = 1024       // characters of a rule's short and full description
	mostRuleName = 255
)

type sarifLog struct {
	Schema     string       `json:"$schema"`
	Version    string       `json:"version"`
	Properties sarifWritten `json:"properties"`
	Runs       []sarifRun   `json:"runs"`
}

// sarifWritten is what a log is known by as one of ours before all of it is read.
type sarifWritten struct {
	By string `json:"writtenBy"`
}

type sarifRun struct {
	Tool              sarifTool            `json:"tool"`
	Taxonomies        []sarifTaxonomy      `json:"taxonomies,omitempty"`
	AutomationDetails sarifAutomation      `json:"automationDetails"`
	Invocations       []sarifInvocation    `json:"invocations"`
	Bases             map[string]sarifBase `json:"originalUriBaseIds"`
	NewlineSequences  []string             `json:"newlineSequences"`
	ColumnKind        string               `json:"columnKind"`
	Artifacts         []sarifArtifact      `json:"artifacts"`
	Results           []sarifResult        `json:"results"`
}

type sarifTool struct {
	Driver sarifDriver `json:"driver"`
}

type sarifDriver struct {
	Name            string            `json:"name"`
	Version         string            `json:"version,omitempty"`
	SemanticVersion string            `json:"semanticVersion,omitempty"`
	InformationURI  string            `json:"informationUri"`
	Rules           []sarifDescriptor `json:"rules"`
	Notifications   []sarifDescriptor `json:"notifications"`
}

type sarifDescriptor struct {
	ID               string          `json:"id"`
	Name             string          `json:"name,omitempty"`
	ShortDescription *sarifText      `json:"shortDescription,omitempty"`
	FullDescription  *sarifText      `json:"fullDescription,omitempty"`
	Help             *sarifText      `json:"help,omitempty"`
	HelpURI          string          `json:"helpUri,omitempty"`
	Default          *sarifDefault   `json:"defaultConfiguration,omitempty"`
	Relationships    []sarifRelation `json:"relationships,omitempty"`
	Properties       *sarifRuleExtra `json:"properties,omitempty"`
}

type sarifDefault struct {
	Level string `json:"level"`
}

type sarifRuleExtra struct {
	Tags            []string `json:"tags"`
	Precision       string   `json:"precision"`
	ProblemSeverity string   `json:"problem.severity"`
}

type sarifText struct {
	Text     string `json:"text"`
	Markdown string `json:"markdown,omitempty"`
}

type sarifAutomation struct {
	ID string `json:"id"`
}

type sarifInvocation struct {
	ExecutionSuccessful bool                `json:"executionSuccessful"`
	ExitCode            int                 `json:"exitCode"`
	ExitCodeDescription string              `json:"exitCodeDescription,omitempty"`
	Notifications       []sarifNotification `json:"toolExecutionNotifications"`
}

type sarifNotification struct {
	Descriptor     sarifReference  `json:"descriptor"`
	AssociatedRule *sarifReference `json:"associatedRule,omitempty"`
	Level          string          `json:"level"`
	Message        sarifText       `json:"message"`
	Properties     *sarifGapExtra  `json:"properties,omitempty"`
}

type sarifGapExtra struct {
	Missing     string   `json:"missing"`
	Rules       []string `json:"rules"`
	Subjects    int      `json:"subjects"`
	Consequence string   `json:"consequence"`
}

type sarifReference struct {
	ID    string `json:"id"`
	Index int    `json:"index"`
}

type sarifBase struct {
	Description sarifText `json:"description"`
}

type sarifArtifact struct {
	Location sarifArtifactLocation `json:"location"`
	Roles    []string              `json:"roles,omitempty"`
	Encoding string                `json:"encoding,omitempty"`
	Hashes   map[string]string     `json:"hashes,omitempty"`
}

type sarifArtifactLocation struct {
	URI       string `json:"uri"`
	URIBaseID string `json:"uriBaseId,omitempty"`
	Index     *int   `json:"index,omitempty"`
}

type sarifResult struct {
	RuleID              string            `json:"ruleId"`
	RuleIndex           int               `json:"ruleIndex"`
	Kind                string            `json:"kind"`
	Level               string            `json:"level"`
	Rank                float64           `json:"rank"`
	BaselineState       string            `json:"baselineState,omitempty"`
	Message             sarifText         `json:"message"`
	Locations           []sarifLocation   `json:"locations"`
	RelatedLocations    []sarifLocation   `json:"relatedLocations,omitempty"`
	PartialFingerprints map[string]string `json:"partialFingerprints"`
	Suppressions        *sarifSuppressed  `json:"suppressions,omitempty"`
	Fixes               []sarifFix        `json:"fixes,omitempty"`
	Properties          sarifResultExtra  `json:"properties"`
}

// sarifSuppressed is a list that stands on every result of a log or on none: it
// says of a result without one that nobody suppressed it.
type sarifSuppressed []sarifSuppression

type sarifSuppression struct {
	Kind          string         `json:"kind"`
	Status        string         `json:"status"`
	Justification string         `json:"justification"`
	Location      *sarifLocation `json:"location,omitempty"`
}

type sarifResultExtra struct {
	Key         string         `json:"key"`
	Consequence string         `json:"consequence"`
	Cues        []string       `json:"cues"`
	Measured    []say.Evidence `json:"measured"`
	Limits      []say.Evidence `json:"limits"`
	Missing     []string       `json:"missing"`
	Known       string         `json:"known,omitempty"`
	Likely      bool           `json:"likely,omitempty"`
	Amount      *say.Amount    `json:"amount,omitempty"`
}

type sarifLocation struct {
	ID               *int           `json:"id,omitempty"`
	PhysicalLocation sarifPhysical  `json:"physicalLocation"`
	LogicalLocations []sarifLogical `json:"logicalLocations,omitempty"`
	Message          *sarifText     `json:"message,omitempty"`
}

type sarifPhysical struct {
	ArtifactLocation sarifArtifactLocation `json:"artifactLocation"`
	Region           sarifRegion           `json:"region"`
}

type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine"`
	EndColumn   int `json:"endColumn"`
}

type sarifLogical struct {
	Name               string `json:"name"`
	FullyQualifiedName string `json:"fullyQualifiedName"`
	Kind               string `json:"kind,omitempty"`
}

// Write writes the report in the Static Analysis Results Interchange Format
// (OASIS SARIF 2.1.0 with errata 01): one run for all shows, results worst
// first, and a notification for everything that was not checked. It holds no
// time and no folder of the machine, so the same shows give the same bytes. The
// error is the writer's.
func Write(w io.Writer, r *outcome.Report, o say.Options) error {
	for most := mostResults; ; {
		var log bytes.Buffer
		results, err := write(&log, r, o, most)
		if err != nil {
			return err
		}
		size, err := packed(log.Bytes())
		if err != nil {
			return err
		}
		if size <= mostBytes || results == 0 {
			_, err := w.Write(log.Bytes())
			return err
		}
		most = fewer(results, size)
	}
}

// fewer is how many of so many results are tried next where a log with all of them has more bytes than may be.
func fewer(results, size int) int {
	const spare = 0.9 // what is cut away is said in a notification, and results differ in length
	return int(spare * float64(results) * mostBytes / float64(size))
}

// rootText says what the places of a log are told from.
func rootText(o say.Options) string {
	if o.Root != "" {
		return "The root of the repository."
	}
	return "The folder that the program was started in."
}

// packed is how long a text is when it is packed with gzip. What is short enough
// as it is is not packed to find out.
func packed(text []byte) (int, error) {
	if len(text) <= mostBytes {
		return len(text), nil
	}
	var out bytes.Buffer
	pack := gzip.NewWriter(&out)
	if _, err := pack.Write(text); err != nil {
		return 0, fmt.Errorf("pack the report: %w", err)
	}
	if err := pack.Close(); err != nil {
		return 0, fmt.Errorf("pack the report: %w", err)
	}
	return out.Len(), nil
}

// write writes a log with at most so many results, and says how many it has.
func write(w io.Writer, r *outcome.Report, o say.Options, most int) (results int, err error) {
	s := newSARIF(r)
	s.most, s.options = most, o
	if o.Root != "" { // all that is inside of it is told from there
		s.homes = slices.DeleteFunc(s.homes, func(h sarifHome) bool { return say.UnderRoot(o.Root, h.folder) != h.folder })
	}
	s.addRules()
	for i := range r.Shows {
		for _, file := range r.Shows[i].Files {
			s.artifact(file, "analysisTarget")
		}
	}
	s.addResults()
	run := sarifRun{
		Tool:              sarifTool{s.driver},
		Taxonomies:        s.taxonomies,
		AutomationDetails: sarifAutomation{"cueproof/"},
		Invocations:       []sarifInvocation{s.invocation()},
		Bases:             map[string]sarifBase{sarifRoot: {sarifText{Text: rootText(o)}}},
		NewlineSequences:  []string{"\r\n", "\n", "\r"}, // as package source counts lines
		ColumnKind:        "unicodeCodePoints",
		Artifacts:         s.artifacts,
		Results:           s.results,
	}
	for _, home := range s.homes {
		run.Bases[home.id] = sarifBase{sarifText{Text: "The folder of a show that was named by its absolute path."}}
	}
	return len(s.results), say.JSON(w, sarifLog{Schema: sarifSchema, Version: "2.1.0", Properties: sarifWritten{"cueproof"}, Runs: []sarifRun{run}})
}

// sarifWriter collects the parts of the one run.
type sarifWriter struct {
	report     *outcome.Report
	options    say.Options
	driver     sarifDriver
	taxonomies []sarifTaxonomy
	rules      map[string]int           // rule id -> index in driver.Rules
	cards      map[string]*finding.Rule // rule id -> its card, if the run gave one
	homes      []sarifHome
	files      map[sarifArtifactLocation]int // location without index -> index in artifacts
	artifacts  []sarifArtifact
	results    []sarifResult
	most       int // results
	leftOut    int
	fixed      map[*outcome.Order]string // the key of the result that has its fix
	accepts    bool                      // somebody accepted one of the findings
}

// sarifHome is the folder of a show that was named by its absolute path. The
// URIs of its files are relative to it, so that the path stays on the machine.
type sarifHome struct {
	id     string
	folder string
}

func newSARIF(r *outcome.Report) *sarifWriter {
	s := &sarifWriter{
		report: r,
		driver: sarifDriver{
			Name: "cueproof", InformationURI: sarifProject,
			Rules: []sarifDescriptor{}, Notifications: sarifNotices,
		},
		rules:     map[string]int{},
		cards:     map[string]*finding.Rule{},
		files:     map[sarifArtifactLocation]int{},
		fixed:     map[*outcome.Order]string{},
		artifacts: []sarifArtifact{},
		results:   []sarifResult{},
	}
	if version := strings.TrimPrefix(r.Version, "v"); semanticVersion.MatchString(version) {
		s.driver.SemanticVersion = version
	} else {
		s.driver.Version = r.Version
	}
	for i := range r.Shows {
		if home, ok := homeOf(&r.Shows[i], fmt.Sprintf("SHOW%d", i+1)); ok {
			s.homes = append(s.homes, home)
		}
	}
	return s
}

// semanticVersion is the grammar of Semantic Versioning 2.0.0, as its authors
// give it for checking (semver.org, FAQ, second expression without the groups).
var semanticVersion = regexp.MustCompile(`^(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)` +
	`(-(0|[1-9]\d*|\d*[a-zA-Z-][0-9a-zA-Z-]*)(\.(0|[1-9]\d*|\d*[a-zA-Z-][0-9a-zA-Z-]*))*)?` +
	`(\+[0-9a-zA-Z-]+(\.[0-9a-zA-Z-]+)*)?$`)

// ---- Rules

// addRules describes the rules that ran and, in a few words, those that only
// findings name: a log with a rule that is not described is of no use to anyone.
func (s *sarifWriter) addRules() {
	for i := range s.report.Rules {
		card := &s.report.Rules[i]
		if id := ruleID(card.ID); s.cards[id] == nil {
			s.cards[id] = card
		}
	}
	described := make(map[string]*finding.Rule, len(s.cards))
	for id, card := range s.cards {
		described[id] = card
	}
	for i := range s.report.Shows {
		for _, f := range s.report.Shows[i].Findings {
			if id := ruleID(f.Rule); described[id] == nil {
				described[id] = &finding.Rule{ID: f.Rule, Level: f.Level, Consequence: f.Consequence}
			}
		}
	}
	if s.report.Base != nil {
		for _, past := range s.report.Base.Gone {
			if id := ruleID(past.Rule); described[id] == nil {
				described[id] = &finding.Rule{ID: past.Rule, Level: past.Level, Consequence: past.Consequence}
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(described)) {
		s.driver.Rules = append(s.driver.Rules, s.describe(id, described[id]))
	}
	for i := range s.driver.Rules {
		s.rules[s.driver.Rules[i].ID] = i
	}
}

// ruleID returns an id as JSON can hold it: two ids that only differ in bytes
// that are no text are one.
func ruleID(id string) string { return strings.ToValidUTF8(id, "\ufffd") }

func (s *sarifWriter) describe(id string, r *finding.Rule) sarifDescriptor {
	pack, word, _ := strings.Cut(id, "/")
	helpURI := sarifProject + "/blob/main/rules/packs/" + escapePath(id) + "/explain.md"
	if pack == "file" {
		helpURI = sarifProject + "/blob/main/schema/problems/" + escapePath(word) + ".md"
	}
	tags := []string{say.Clean(pack)}
	if word := r.Consequence.String(); word != pack {
		tags = append(tags, word)
	}
	level := say.LevelOf(r.Level)
	severity := level
	if r.Level == finding.Note {
		severity = "recommendation"
	}
	title := cut(cmp.Or(s.prose(r.Title), s.prose(id)+" has no description in this run."), mostRuleText)
	return sarifDescriptor{
		ID:               id,
		Name:             cut(pascalCase(id), mostRuleName),
		ShortDescription: &sarifText{Text: title},
		FullDescription:  &sarifText{Text: cut(cmp.Or(s.prose(say.FirstParagraph(r.Explain)), title), mostRuleText)},
		Help:             &sarifText{Text: helpText(r, title), Markdown: helpMarkdown(r, title)},
		HelpURI:          helpURI,
		Default:          &sarifDefault{level},
		Relationships:    s.relations(r),
		Properties:       &sarifRuleExtra{tags, precision(r), severity},
	}
}

// precision says how far a finding can be relied on, in the words of the code
// host named above. What is written in a file is read exactly; how bright or
// what colour something is comes out of a model of the lamps.
func precision(r *finding.Rule) string {
	switch {
	case strings.HasPrefix(r.ID, "file/"):
		return "very-high"
	case r.Over == "look", r.Over == "person":
		return "medium"
	default:
		return "high"
	}
}

// pascalCase makes "white/key-mix" WhiteKeyMix.
func pascalCase(id string) string {
	var b strings.Builder
	start := true
	for _, r := range id {
		switch {
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			start = true
		case start:
			b.WriteRune(unicode.ToUpper(r))
			start = false
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func helpText(r *finding.Rule, title string) string {
	var parts []string
	if r.Caution != "" {
		parts = append(parts, "Caution: "+r.Caution)
	}
	parts = append(parts, cmp.Or(strings.TrimSpace(say.Plain(r.Explain)), title))
	if len(r.Limits) > 0 {
		parts = append(parts, "Limits:\n"+strings.Join(say.Each(r.Limits, func(l *finding.Limit) string {
			return fmt.Sprintf("- %s: %s (%s)", l.Name, say.LimitValue(l), l.Source)
		}), "\n"))
	}
	return escapeLinks(say.CleanLines(strings.Join(parts, "\n\n")))
}

func helpMarkdown(r *finding.Rule, title string) string {
	var parts []string
	if r.Caution != "" {
		parts = append(parts, "**Caution:** "+r.Caution)
	}
	parts = append(parts, cmp.Or(strings.TrimSpace(r.Explain), title))
	if len(r.Limits) > 0 {
		parts = append(parts, "**Limits**\n\n"+strings.Join(say.Each(r.Limits, func(l *finding.Limit) string {
			return fmt.Sprintf("- `%s`: %s (%s)", l.Name, say.LimitValue(l), l.Source)
		}), "\n"))
	}
	return say.CleanLines(strings.Join(parts, "\n\n"))
}

// ---- Results

// addResults makes a result of every finding, worst first: what fails by level,
// then what nobody could tell, then what is accepted, each by consequence; what is equal in that stays
// in the order in which it came.
func (s *sarifWriter) addResults() {
	type entry struct {
		show        *outcome.Show
		finding     *finding.Finding
		fingerprint string
	}
	var list []entry
	seen := map[string]int{}
	type cure struct {
		show *outcome.Show
		key  string
	}
	cures := map[cure]*outcome.Order{}
	for i := range s.report.Shows {
		show := &s.report.Shows[i]
		for j := range show.Findings {
			f := &show.Findings[j]
			s.accepts = s.accepts || f.Accepted != nil
			fingerprint := f.Fingerprint()
			seen[fingerprint]++
			list = append(list, entry{show: show, finding: f, fingerprint: fmt.Sprintf("%s:%d", fingerprint, seen[fingerprint])})
		}
		for j := range show.Orders {
			for _, key := range show.Orders[j].Cures {
				if cures[cure{show: show, key: key}] == nil {
					cures[cure{show: show, key: key}] = &show.Orders[j]
				}
			}
		}
	}
	if s.report.Base != nil {
		for i := range s.report.Base.Gone {
			s.accepts = s.accepts || s.report.Base.Gone[i].Accepted
		}
	}
	slices.SortStableFunc(list, func(a, b entry) int {
		return cmp.Or(
			cmp.Compare(say.Badness(a.finding), say.Badness(b.finding)),
			cmp.Compare(a.finding.Consequence, b.finding.Consequence),
		)
	})
	s.leftOut = max(0, len(list)-s.most)
	for _, e := range list[:len(list)-s.leftOut] {
		action := cures[cure{show: e.show, key: e.finding.Key()}]
		if action != nil && !slices.Contains(action.Rules, e.finding.Rule) {
			action = nil // two findings share a key by bad luck
		}
		s.results = append(s.results, s.result(e.show, e.finding, action, e.fingerprint))
	}
	if s.report.Base == nil {
		return
	}
	for i := range s.report.Base.Gone {
		past := &s.report.Base.Gone[i]
		if len(s.results) >= s.most {
			s.leftOut += len(s.report.Base.Gone) - i
			return
		}
		seen[past.Fingerprint]++
		s.results = append(s.results, s.absent(past, fmt.Sprintf("%s:%d", past.Fingerprint, seen[past.Fingerprint])))
	}
}

func (s *sarifWriter) result(show *outcome.Show, f *finding.Finding, action *outcome.Order, fingerprint string) sarifResult {
	result := sarifResult{
		RuleID:              ruleID(f.Rule),
		RuleIndex:           s.rules[ruleID(f.Rule)],
		Kind:                "fail",
		Level:               say.LevelOf(f.Level),
		Rank:                rank(f),
		BaselineState:       s.baselineState(f),
		PartialFingerprints: map[string]string{sarifFingerprint: fingerprint},
		Properties: sarifResultExtra{
			Key:         f.Key(),
			Consequence: f.Consequence.String(),
			Cues:        say.Filled(f.Cues),
			Measured:    say.EvidenceOf(f.Measured),
			Limits:      say.EvidenceOf(f.Limits),
			Missing:     say.Each(f.Missing, func(phrase *string) string { return s.oneLine(*phrase) }),
			Known:       say.Known(f),
			Likely:      f.Likely,
			Amount:      say.AmountOf(f.Amount),
		},
	}
	if f.Verdict == finding.Open {
		result.Kind, result.Level = "open", "none"
	}
	related, links := s.related(f)
	result.RelatedLocations = related
	if action != nil && s.fixed[action] == "" { // a change that clears several findings stands once
		if result.Fixes = s.fixes(action); result.Fixes != nil {
			s.fixed[action] = f.Key()
		}
	}
	result.Message.Text = s.message(f, action, links)
	result.Locations = []sarifLocation{{
		PhysicalLocation: s.physical(show, valueOf(f)),
		LogicalLocations: s.logical(f.Subjects),
	}}
	if s.accepts {
		result.Suppressions = s.suppressions(f)
	}
	return result
}

// valueOf is what the region of a result covers: a value, and not only the bracket
// with which its thing begins.
func valueOf(f *finding.Finding) source.Place {
	if value := f.Value(); value.File != nil {
		return value
	}
	return f.Place
}

// rank puts results in order from 100 down to 0, as SARIF 2.1.0, 3.27.25, has it:
// by what happens if nothing is done, and what is only likely after all that is sure.
func rank(f *finding.Finding) float64 {
	const sure = 50
	grave := float64(len(finding.Consequences)-int(f.Consequence)) / float64(len(finding.Consequences))
	if f.Likely {
		return sure * grave
	}
	return sure + sure*grave
}

// suppressions says who accepted a finding (SARIF 2.1.0, section 3.35, from
// memory): external, because the decision stands in a file of its own.
func (s *sarifWriter) suppressions(f *finding.Finding) *sarifSuppressed {
	a := f.Accepted
	if a == nil {
		return &sarifSuppressed{}
	}
	until := ""
	if a.Until != "" && a.Until != "never" {
		until = " until " + a.Until
	}
	one := sarifSuppression{
		Kind: "external", Status: "accepted",
		Justification: s.oneLine(fmt.Sprintf("%s (accepted by %s%s)", say.Period(a.Reason), a.By, until)),
	}
	if region, ok := regionOf(a.Place); ok {
		one.Location = &sarifLocation{PhysicalLocation: sarifPhysical{s.artifact(a.Place.File, ""), region}}
	}
	return &sarifSuppressed{one}
}

// message says everything in sentences. The first says what is: hosts use it
// as the title.
func (s *sarifWriter) message(f *finding.Finding, action *outcome.Order, links []string) string {
	lines := []string{say.Period(s.prose(cmp.Or(f.Message, f.Rule)))}
	add := func(label, text string) {
		if text = s.prose(text); text != "" {
			lines = append(lines, say.Period(label+text))
		}
	}
	if f.Verdict == finding.Open {
		add("Missing: ", strings.Join(f.Missing, "; "))
	}
	if len(f.Cues) > 0 {
		add("Shows in ", spelling.Cues(f.Cues, 12))
	}
	caution := ""
	if action != nil {
		add("Do: ", action.Do)
		add("Then: ", action.Effect)
		add("Undo: ", action.Undo)
		add("Proof: ", fmt.Sprintf("tried on a copy of the show, this cures %s and causes %d", say.Count(len(action.Cures), "finding"), action.Causes))
		if key := s.fixed[action]; key != "" && key != f.Key() {
			add("", "The exact change stands with "+key)
		}
		caution = action.Caution
	} else {
		add("Try: ", f.Hint)
	}
	if card := s.cards[ruleID(f.Rule)]; caution == "" && card != nil {
		caution = card.Caution
	}
	add("Caution: ", caution)
	if len(links) > 0 {
		lines = append(lines, "See also: "+strings.Join(links, ", ")+".")
	}
	return strings.Join(append(lines, "Key: "+f.Key()+"."), "\n")
}

// related returns the other places of a finding and links to them for its message.
func (s *sarifWriter) related(f *finding.Finding) (places []sarifLocation, links []string) {
	for i, other := range f.Related {
		if len(places) == mostRelated {
			links = append(links, fmt.Sprintf("%d more", len(f.Related)-i))
			break
		}
		text := cmp.Or(s.prose(other.Message), "another place")
		region, ok := regionOf(other.Place)
		if !ok {
			links = append(links, text)
			continue
		}
		id := len(places) + 1
		places = append(places, sarifLocation{
			ID:               &id,
			PhysicalLocation: sarifPhysical{s.artifact(other.Place.File, ""), region},
			Message:          &sarifText{Text: text},
		})
		links = append(links, fmt.Sprintf("[%s](%d)", text, id))
	}
	return places, links
}

// physical returns where a finding is to be mended. One without a place is
// about the show and stands at the start of its first file, because hosts show
// nothing that stands nowhere.
func (s *sarifWriter) physical(show *outcome.Show, p source.Place) sarifPhysical {
	if region, ok := regionOf(p); ok {
		return sarifPhysical{s.artifact(p.File, ""), region}
	}
	file := &source.File{Name: filepath.ToSlash(show.Path)}
	if len(show.Files) > 0 {
		file = show.Files[0]
	}
	return sarifPhysical{s.artifact(file, ""), sarifRegion{1, 1, 1, 1}}
}

func regionOf(p source.Place) (sarifRegion, bool) {
	span, ok := say.Span(p)
	return sarifRegion{span.Start.Line, span.Start.Column, span.End.Line, span.End.Column}, ok
}

// logical returns what a finding is about, narrowest first as it is said; the
// full name of each runs from the widest down to it.
func (s *sarifWriter) logical(subjects []finding.Subject) []sarifLogical {
	var list []sarifLogical
	full := ""
	for _, subject := range slices.Backward(subjects) {
		name := subject.String()
		if name == "" {
			continue
		}
		if full != "" {
			full += "/"
		}
		full += strings.ReplaceAll(s.oneLine(name), "/", "~1") // as in JSON pointers
		list = append(list, sarifLogical{
			Name:               s.oneLine(cmp.Or(subject.Name, subject.Kind)),
			FullyQualifiedName: full,
			Kind:               subject.Kind,
		})
	}
	slices.Reverse(list)
	return list
}

// ---- Notifications

// The kinds of notification, as indexes of sarifNotices.
const (
	noticeUnreadable = iota
	noticeNotChecked
	noticeNothing
	noticeLeftOut
	noticeUntried
	noticeByEye
	noticeRead
	noticeSince
	noticeDark
	noticeReview
	noticeReceipt
)

var sarifNotices = []sarifDescriptor{
	notice("unreadable", "Something that was there could not be read.", "A file of the show is broken, too large or no text, so what was found is not the whole truth.", "Look at the results of the rules that begin with file/, and export the file again."),
	notice("not-checked", "Something could not be checked because a piece of knowledge is missing.", "A rule looks at a thing of which the show does not say enough. Nothing is taken for granted in its place.", "Write what is missing into the file of the show, or leave it: the rule then stays open."),
	notice("nothing-to-look-at", "A rule had nothing to look at.", "The show has none of the things that the rule is about, or gives none of them.", "Give what the notification names if the show has it."),
	notice("left-out", "Findings are left out of this log.", "They are below the level that was asked for, or beyond what hosts take.", "Ask for another level, or put right what is listed."),
	notice("untried", "Changes were not tried in this run.", "Every change is made on a copy of the show and proved there. Their number is bounded, and none gives anew what another one gave.", "Put right what is listed and check again."),
	notice("by-eye", "Something that no program can see.", "These are things for a person in the room.", "Look at them before doors."),
	notice("how-read", "How a file was understood.", "The text of tables and exports leaves things open; this says how they were taken.", "Name the columns in the house file if they were taken wrongly."),
	notice("since", "What changed since an earlier run.", "The show is held against an earlier state of it.", "Look at what is new, worse or no longer tellable."),
	notice("went-dark", "A check could be made before and cannot be made now.", "Something that the show gave is gone: a file, a list, a column or a key. What it kept from going wrong is no longer seen.", "Put it back, or accept a base without it."),
	notice("review", "What is judged, or how, has changed.", "A rule was switched off, or a limit, a waiver or an intent changed. No rule can call that right or wrong.", "Have somebody look at it who may decide it."),
	notice("receipt", "What was checked.", "The day, the verdict, the rules and how many files; the digest of each file stands with it.", "Hold a show against the receipt in a JSON report with cueproof verify."),
}

// notice describes a kind of notification as fully as hosts ask for.
func notice(id, title, what, help string) sarifDescriptor {
	return sarifDescriptor{
		ID: id, Name: pascalCase(id), ShortDescription: &sarifText{Text: title}, FullDescription: &sarifText{Text: what},
		Help: &sarifText{Text: help, Markdown: help}, HelpURI: sarifProject + "#readme",
	}
}

// invocation says how the run went and what it did not do.
func (s *sarifWriter) invocation() sarifInvocation {
	run := sarifInvocation{ExecutionSuccessful: true, ExitCode: s.options.Exit, Notifications: []sarifNotification{}}
	var outcomes []string
	for i := range s.report.Shows {
		show := &s.report.Shows[i]
		name := cmp.Or(show.Name, path.Base(filepath.ToSlash(show.Path)))
		outcomes = append(outcomes, say.Period(s.oneLine(fmt.Sprintf("%s: %s. %s", name, show.Verdict, show.Because))))
		prefix := ""
		if len(s.report.Shows) > 1 {
			prefix = name + ": "
		}
		if show.Unreadable {
			run.ExecutionSuccessful = false
		}
		run.Notifications = append(run.Notifications, s.notices(show, prefix)...)
	}
	if base := s.report.Base; base != nil {
		for _, text := range append([]string{fmt.Sprintf("Against %s: %s", path.Base(filepath.ToSlash(base.Name)), say.Counts(base.Counts))}, base.Notes...) {
			run.Notifications = append(run.Notifications, s.notice(noticeSince, "note", text))
		}
	}
	if base := s.report.Base; base != nil {
		for _, text := range append(slices.Clone(base.Lost), say.Dark(base.Dark)...) {
			run.Notifications = append(run.Notifications, s.notice(noticeDark, "warning", text))
		}
		for i := range base.Review {
			run.Notifications = append(run.Notifications, s.notice(noticeReview, "note", base.Review[i].Text))
		}
	}
	if s.leftOut > 0 {
		run.Notifications = append(run.Notifications, s.notice(noticeLeftOut, "warning",
			fmt.Sprintf("Left out: %s. Only the %d worst are listed", say.Count(s.leftOut, "finding"), len(s.results))))
	}
	run.ExitCodeDescription = strings.Join(outcomes, " ")
	return run
}

func (s *sarifWriter) notices(show *outcome.Show, prefix string) []sarifNotification {
	var list []sarifNotification
	add := func(kind int, level, text string) *sarifNotification {
		list = append(list, s.notice(kind, level, prefix+text))
		return &list[len(list)-1]
	}
	if show.Unreadable {
		add(noticeUnreadable, "error", "Something that was there could not be read, so this is not the whole truth; the results with file/ rules say what")
	}
	for i := range show.Gaps {
		gap := &show.Gaps[i]
		about := ""
		if gap.Subjects > 0 {
			about = " about " + say.Count(gap.Subjects, "thing")
		}
		n := add(noticeNotChecked, "warning", fmt.Sprintf("Not checked%s, for want of %s. The rules that could not tell: %s", about, gap.Missing, strings.Join(gap.Rules, ", ")))
		n.Properties = &sarifGapExtra{s.oneLine(gap.Missing), say.Filled(gap.Rules), gap.Subjects, gap.Consequence.String()}
		if len(gap.Rules) == 1 {
			n.AssociatedRule = s.reference(gap.Rules[0])
		}
	}
	for _, look := range show.Looked {
		if look.Subjects > 0 {
			continue
		}
		text := look.Rule + " had nothing to look at"
		if len(look.None) > 0 {
			text += "; the show would have to give " + strings.Join(look.None, "; ")
		}
		add(noticeNothing, "note", text).AssociatedRule = s.reference(look.Rule)
	}
	if show.LeftOut > 0 {
		add(noticeLeftOut, "note", "Left out: "+say.Count(show.LeftOut, "finding")+" below the level that was asked for")
	}
	if show.Untried > 0 {
		add(noticeUntried, "note", "For "+say.Count(show.Untried, "finding")+" a change was not tried in this run")
	}
	for _, text := range show.ByEye {
		add(noticeByEye, "note", "Look at this yourself: "+text)
	}
	for _, text := range show.Since {
		add(noticeSince, "note", text)
	}
	for _, text := range show.Notes {
		add(noticeRead, "note", text)
	}
	if receipt := say.Receipt(show); receipt != "" {
		add(noticeReceipt, "note", receipt)
	}
	return list
}

func (s *sarifWriter) notice(kind int, level, text string) sarifNotification {
	return sarifNotification{
		Descriptor: sarifReference{sarifNotices[kind].ID, kind},
		Level:      level,
		Message:    sarifText{Text: say.Period(s.prose(text))},
	}
}

// reference names a rule; nil for one that is not described.
func (s *sarifWriter) reference(rule string) *sarifReference {
	id := ruleID(rule)
	index, ok := s.rules[id]
	if !ok {
		return nil
	}
	return &sarifReference{id, index}
}

// oneLine makes text from a show fit for a string of SARIF: one line, nothing
// that a screen obeys, no folder of this machine.
func (s *sarifWriter) oneLine(text string) string {
	return say.Clean(strings.Join(strings.Fields(s.leaveHomes(text)), " "))
}

// prose is oneLine for messages, where brackets make links.
func (s *sarifWriter) prose(text string) string { return escapeLinks(s.oneLine(text)) }

// escapeLinks escapes what would start or end a link (SARIF 2.1.0, "Messages
// with embedded links"; section 3.11.6, its number from memory).
func escapeLinks(text string) string { return linkEscape.Replace(text) }

var linkEscape = strings.NewReplacer(`\`, `\\`, `[`, `\[`, `]`, `\]`)

// cut shortens text to so many characters.
func cut(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	end := most - 1
	for end > 0 && runes[end-1] == '\\' { // a backslash escapes what follows it
		end--
	}
	return string(runes[:end]) + "…"
}

// ---- Files

// artifact returns the location of a file and lists the file if it is new.
func (s *sarifWriter) artifact(file *source.File, role string) sarifArtifactLocation {
	location := s.locate(file.Name)
	index, known := s.files[location]
	if !known {
		index = len(s.artifacts)
		s.files[location] = index
		entry := sarifArtifact{Location: location, Encoding: sarifEncodings[file.Encoding]}
		if role != "" {
			entry.Roles = []string{role}
		}
		if role != "" && file.Encoding == "UTF-8" { // of the bytes of the file, which its text is only then
			sum := sha256.Sum256([]byte(file.Text))
			entry.Hashes = map[string]string{"sha-256": hex.EncodeToString(sum[:])}
		}
		s.artifacts = append(s.artifacts, entry)
	}
	location.Index = &index
	return location
}

// sarifEncodings gives the names of package source their names in the IANA
// register of character sets, which SARIF wants for artifact.encoding (from memory).
var sarifEncodings = map[string]string{
	"UTF-8":                      "UTF-8",
	"UTF-8 with byte order mark": "UTF-8",
	"UTF-16 (little endian)":     "UTF-16LE",
	"UTF-16 (big endian)":        "UTF-16BE",
	"Windows-1252":               "windows-1252",
}

// locate returns the URI of a file. A file of a show that was named by its
// absolute path is told from the folder of the show, and one in a folder above
// (a house file) from there with "..". Only an absolute path that has nothing
// to do with a show is told as it is, because there is no other way to name it.
func (s *sarifWriter) locate(name string) sarifArtifactLocation {
	name = path.Clean(say.UnderRoot(s.options.Root, name))
	if !absolute(name) {
		return sarifArtifactLocation{URI: escapePath(name), URIBaseID: sarifRoot}
	}
	for _, home := range s.homes {
		if name == home.folder {
			return sarifArtifactLocation{URI: ".", URIBaseID: home.id}
		}
		if inside, ok := strings.CutPrefix(name, under(home.folder)); ok {
			return sarifArtifactLocation{URI: escapePath(inside), URIBaseID: home.id}
		}
	}
	for _, home := range s.homes {
		steps := ""
		for folder := home.folder; folder != path.Dir(folder); folder = path.Dir(folder) {
			if path.Dir(folder) == path.Dir(name) {
				return sarifArtifactLocation{URI: steps + "../" + escapePath(path.Base(name)), URIBaseID: home.id}
			}
			steps += "../"
		}
	}
	return sarifArtifactLocation{URI: fileURI(name)}
}

// homeOf returns the folder of a show that was named by its absolute path; ok
// is false for any other show.
func homeOf(show *outcome.Show, id string) (home sarifHome, ok bool) {
	folder := path.Clean(filepath.ToSlash(show.Path))
	if !absolute(folder) {
		return sarifHome{}, false
	}
	for _, file := range show.Files {
		if path.Clean(file.Name) == folder {
			folder = path.Dir(folder) // the show is one file
			break
		}
	}
	return sarifHome{id, folder}, true
}

// leaveHomes takes the folders of absolute shows out of a text.
func (s *sarifWriter) leaveHomes(text string) string {
	for _, home := range s.homes {
		text = home.leave(text)
	}
	return text
}

// leave takes the folder out of a text: of a file's name the part inside the
// show is left, of the folder its last name.
func (h sarifHome) leave(text string) string {
	if h.folder == path.Dir(h.folder) {
		return text // the root of the file system tells nothing
	}
	var b strings.Builder
	for {
		start := strings.Index(text, h.folder)
		if start < 0 {
			b.WriteString(text)
			return b.String()
		}
		b.WriteString(text[:start])
		before, _ := utf8.DecodeLastRuneInString(b.String())
		text = text[start+len(h.folder):]
		after, _ := utf8.DecodeRuneInString(strings.TrimLeft(text, ".")) // a sentence may end here
		switch {
		case partOfName(before): // the end of another path
			b.WriteString(h.folder)
		case strings.HasPrefix(text, "/"):
			text = text[1:]
		case partOfName(after): // a folder of a similar name
			b.WriteString(h.folder)
		default:
			b.WriteString(path.Base(h.folder))
		}
	}
}

func partOfName(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("/._-", r)
}

// absolute reports whether a name with forward slashes is absolute on any
// system: /x, //server/x or C:/x.
func absolute(name string) bool { return strings.HasPrefix(name, "/") || drive.MatchString(name) }

var drive = regexp.MustCompile(`^[A-Za-z]:(/|$)`)

func under(folder string) string { return strings.TrimSuffix(folder, "/") + "/" }

// fileURI returns the URI of an absolute name (RFC 8089, with drive letters as
// in its appendix E.2).
func fileURI(name string) string {
	if drive.MatchString(name) {
		return "file:///" + name[:2] + escapePath(name[2:])
	}
	return "file://" + escapePath(name)
}

// escapePath percent-encodes every byte but slashes and the unreserved
// characters of RFC 3986, section 2.3. That is more than must be and right
// everywhere, also for a colon in the first part of a relative name.
func escapePath(name string) string {
	var b strings.Builder
	for i := range len(name) {
		c := name[i]
		if 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || strings.IndexByte("/-._~", c) >= 0 {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, "%%%02X", c)
		}
	}
	return b.String()
}
