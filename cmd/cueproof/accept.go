package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/spf13/cobra"
)

type acceptOptions struct {
	house             houseFlags
	history           string
	ruleFolder        string
	rule              string
	keys              []string
	reason, by, until string
}

func newAccept() *cobra.Command {
	var o acceptOptions
	command := &cobra.Command{
		Use:   "accept SHOW",
		Short: "Write findings of a show into the house file as accepted",
		Long: `Accept checks SHOW and writes what fails into ` + house.FileName + ` as waivers: each says
which finding, up to which value, why it is accepted, by whom and until when: without
--until for as many days as waiver_days of the house says, or 90. Accepted findings are
still told, and do not count. Without --rule and --key it takes all failures but
those about what can hurt somebody: these have to be named. Remarks and order of
the file stay, and it is made beside the show if there is none.`,
		Example: `  cueproof accept --key F-7Q2KM --reason "the lamp is on order" --by "technical lead" --until 2026-12-31 shows/sunday
  cueproof accept --rule patch/patched-never-used --reason "spares" --by "technical lead" shows/sunday

Exit codes:
  0   written, or there is nothing to accept
  2   the command was misused, or a house file or rule is no use
  3   the show cannot be read
  70  a fault of the program`,
		Args: exactlyOne("the show whose findings are to be accepted"),
		RunE: func(command *cobra.Command, args []string) error { return accept(command, args[0], o) },
	}
	flags := command.Flags()
	flags.StringVar(&o.rule, "rule", "", "accept what this rule found")
	flags.StringSliceVar(&o.keys, "key", nil, "accept the findings with these keys, such as F-7Q2KM")
	flags.StringVar(&o.reason, "reason", "", "why it is accepted, in a sentence")
	flags.StringVar(&o.by, "by", "", "the role or name of whoever decided it")
	flags.StringVar(&o.until, "until", "", "last day on which it holds, such as 2026-12-31, or never (without it: waiver_days of the house, or 90 days)")
	historyFlag(command, &o.history)
	o.house.add(command)
	o.house.addNow(command)
	rulesFlag(command, &o.ruleFolder)
	return command
}

// validate refuses what would make a waiver that accepts nothing.
func (o *acceptOptions) validate(show, today string) error {
	if show == "-" {
		return usagef("name the folder of the show: one on standard input has no place for a house file")
	}
	if o.house.none {
		return usagef("--no-house leaves nowhere to write to")
	}
	if strings.TrimSpace(o.reason) == "" {
		return usagef("say why with --reason: in half a year somebody will ask")
	}
	if strings.TrimSpace(o.by) == "" {
		return usagef("say with --by who decided it: a role or a name")
	}
	if o.until != "" && o.until != waiver.Never {
		if err := house.CheckDay(o.until); err != nil {
			return usagef("--until: %w", err)
		}
		if o.until < today {
			return usagef("--until %s is over already", o.until)
		}
	}
	return noSuchShow(show)
}

func accept(command *cobra.Command, show string, o acceptOptions) error {
	today, err := today(o.house.now)
	if err != nil {
		return err
	}
	if err := o.validate(show, today); err != nil {
		return err
	}
	options := lint.HouseOptions{File: o.house.file, Today: today}
	if _, err := os.Stat(o.house.file); o.house.file != "" && errors.Is(err, fs.ErrNotExist) {
		options = lint.HouseOptions{None: true, Today: today} // it will be made
	}
	set, err := loadRules(o.ruleFolder)
	if err != nil {
		return err
	}
	past, err := pastOf(o.history, show)
	if err != nil {
		return err
	}
	run := lint.Options{Rules: set, Version: version().Version, House: options, History: past, Asks: true}
	setup, err := lint.SetUp(show, run)
	if err != nil {
		return err
	}
	if err := o.ends(setup, today); err != nil {
		return err
	}
	r, err := lint.Run([]string{show}, run)
	if err != nil {
		return err
	}
	told := r.Shows[0]
	if told.Unreadable {
		complain(command.ErrOrStderr(), "a file of the show cannot be read, so not all is found; nothing was written")
		return exitCode(exitShow)
	}
	for i, key := range o.keys {
		o.keys[i] = lint.KeyNow(r, strings.ToUpper(key))
	}
	chosen, unnamed, err := o.choose(told.Findings, r.Rules)
	if err != nil {
		return err
	}
	if err := o.notAllAtOnce(chosen); err != nil {
		return err
	}
	path := o.house.file
	if path == "" {
		path = setup.Found.Path
	}
	if path == "" {
		path = besideShow(show)
	}
	guard := outfile.Guard{TakenFor: lint.TakenFor}
	for _, file := range told.Files {
		guard.Read(file.Name)
	}
	if err := o.writeWaivers(&guard, path, today, chosen); err != nil {
		return err
	}
	return write(command.OutOrStdout(), acceptText(path, chosen, unnamed))
}

// ends gives what has no last day one, and refuses one that is further than the house allows.
func (o *acceptOptions) ends(setup *lint.Setup, today string) error {
	days, most := waiver.UsualDays, 0
	if setup.House != nil && setup.House.WaiverDays > 0 {
		days, most = setup.House.WaiverDays, setup.House.WaiverDays
	}
	last, err := waiver.Ends(today, days)
	if err != nil {
		return usagef("%w", err)
	}
	switch {
	case o.until == "":
		o.until = last
	case most > 0 && (o.until == waiver.Never || o.until > last):
		return usagef("--until %s: in this house something is accepted for %s at most, until %s (waiver_days in %s)", o.until, say.Count(most, "day"), last, filepath.ToSlash(setup.Found.Path))
	}
	return nil
}

// choose picks the findings that were asked for. unnamed are those that were left
// out because they can hurt somebody and nobody named them.
func (o *acceptOptions) choose(found []finding.Finding, cards []finding.Rule) (chosen, unnamed []finding.Finding, err error) {
	var ids, binding []string
	for _, card := range cards {
		ids = append(ids, card.ID)
		if card.Binding {
			binding = append(binding, card.ID)
		}
	}
	if slices.Contains(binding, o.rule) {
		return nil, nil, usagef("what %s finds cannot be accepted: it is told as long as it is so", o.rule)
	}
	if o.rule != "" && !slices.Contains(ids, o.rule) {
		return nil, nil, usagef("no rule %q looked at this show.%s", o.rule, spelling.Hint(o.rule, ids))
	}
	byKey := map[string][]*finding.Finding{}
	var known []string
	for i := range found {
		f := &found[i]
		if strings.HasPrefix(f.Rule, "file/waiver-") {
			continue // a waiver for what is wrong with a waiver would be a riddle
		}
		key := f.Key()
		if slices.Contains(binding, f.Rule) {
			if slices.Contains(o.keys, key) {
				return nil, nil, usagef("%s is of %s and cannot be accepted: it is told as long as it is so", key, f.Rule)
			}
			continue
		}
		if byKey[key] == nil {
			known = append(known, key)
		}
		byKey[key] = append(byKey[key], f)
		named := o.rule == "" && len(o.keys) == 0 && f.Consequence != finding.Hurt || o.rule == f.Rule
		switch {
		case f.Accepted != nil || f.Verdict != finding.Fail || slices.Contains(o.keys, key):
		case named:
			chosen = append(chosen, *f)
		case o.rule == "" && len(o.keys) == 0:
			unnamed = append(unnamed, *f)
		}
	}
	for i, key := range o.keys {
		switch with := byKey[key]; {
		case len(with) == 0:
			return nil, nil, usagef("no finding of this show has the key %s.%s", key, spelling.Hint(key, known))
		case len(with) > 1 && with[0].Identity() != with[1].Identity():
			return nil, nil, usagef("two findings happen to have the key %s; use --rule %s or --rule %s", key, with[0].Rule, with[1].Rule)
		case with[0].Accepted == nil && !slices.Contains(o.keys[:i], key):
			chosen = append(chosen, *with[0])
		}
	}
	return chosen, unnamed, nil
}

// mostAtOnce is how many findings of several rules one reason may be given for: what
// holds for more than that has been read by nobody (common practice, no source).
const mostAtOnce = 10

// notAllAtOnce refuses one reason for many findings of several rules.
func (o *acceptOptions) notAllAtOnce(chosen []finding.Finding) error {
	of := map[string]int{}
	for i := range chosen {
		of[chosen[i].Rule]++
	}
	if o.rule != "" || len(o.keys) > 0 || len(of) < 2 || len(chosen) <= mostAtOnce {
		return nil
	}
	var words []string
	for _, rule := range slices.Sorted(maps.Keys(of)) {
		words = append(words, fmt.Sprintf("%s (%d)", rule, of[rule]))
	}
	return usagef("one reason for %d findings of %d rules is none; accept them rule by rule with --rule: %s", len(chosen), len(of), strings.Join(words, ", "))
}

// besideShow is where a house file is made.
func besideShow(show string) string {
	if info, err := os.Stat(show); err == nil && !info.IsDir() {
		show = filepath.Dir(show)
	}
	return filepath.Join(show, house.FileName)
}

// writeWaivers puts the findings into the house file, which is replaced as a
// whole or not at all, behind what others have put there meanwhile.
func (o *acceptOptions) writeWaivers(guard *outfile.Guard, path, today string, chosen []finding.Finding) error {
	if len(chosen) == 0 {
		return nil
	}
	err := guard.Merge(path, "a house file", func(there []byte) ([]byte, error) {
		if there != nil { // read in its own way, which knows what a house file may not be
			var err error
			if there, err = house.Load(path, o.house.file != ""); err != nil {
				return nil, err
			}
		}
		before, err := house.Read(filepath.ToSlash(path), there)
		if err != nil {
			return nil, err
		}
		var list []waiver.Waiver
		for i := range chosen {
			w := waiver.Of(&chosen[i], strings.TrimSpace(o.reason), strings.TrimSpace(o.by), o.until)
			w.Since = today
			if !slices.ContainsFunc(append(before.Waivers, list...), w.Same) {
				list = append(list, w)
			}
		}
		after, err := house.Append(filepath.ToSlash(path), there, list)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", errNothing, err)
		}
		return after, nil
	})
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.ToSlash(path), err)
	}
	return nil
}

func acceptText(path string, chosen, unnamed []finding.Finding) []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) {
		fmt.Fprintln(&b, say.Clean(strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", " ")))
	}
	if len(chosen) == 0 {
		line("There is nothing to accept.")
	} else {
		line("Accepted in %s:", filepath.ToSlash(path))
	}
	for i := range chosen {
		f := &chosen[i]
		line("  %s  %s: %s", f.Key(), f.Rule, waiver.Subject(f.Subjects))
	}
	if len(unnamed) > 0 {
		line("Not accepted, because somebody could be hurt; name these with --key if you have to:")
	}
	for i := range unnamed {
		f := &unnamed[i]
		line("  %s  %s: %s", f.Key(), f.Rule, waiver.Subject(f.Subjects))
	}
	return b.Bytes()
}
