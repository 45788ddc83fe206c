package main

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/spf13/cobra"
)

type waiversOptions struct {
	house          houseFlags
	exports        exportFlags
	ruleFolder     string
	history, base  string
	prune, rewrite bool
}

func newWaivers() *cobra.Command {
	var o waiversOptions
	command := &cobra.Command{
		Use:   "waivers SHOW...",
		Short: "Say what each waiver covers, take out what is stale, write today's names",
		Long: `Waivers lists what the house file of the shows accepts, what of it is found tonight,
and what is wrong with it. With --prune it takes out what is stale: what is past its
day, and what covers nothing though its rule could tell. With --rewrite it writes
today's names where a history or an earlier state of the show tells that a cue, a
segment or a place is called otherwise by now. Everything else in the file stays
byte for byte. Name all shows that use the file: what one of them needs is not stale.`,
		Example: `  cueproof waivers shows/sunday
  cueproof waivers --prune shows/morning shows/evening
  cueproof waivers --rewrite --base ../before/shows/sunday shows/sunday

Exit codes:
  0   listed or written
  2   the command was misused, a show cannot be read, or a house file or rule is no use
  70  a fault of the program`,
		Args: atLeastOne("the shows that use the house file"),
		RunE: func(command *cobra.Command, args []string) error { return waivers(command, args, o) },
	}
	flags := command.Flags()
	flags.BoolVar(&o.prune, "prune", false, "take out what is stale")
	flags.BoolVar(&o.rewrite, "rewrite", false, "write today's names into waivers of what is called otherwise by now")
	flags.StringVar(&o.base, "base", "", "earlier state of the one show, for what is called otherwise by now")
	historyFlag(command, &o.history)
	o.house.add(command)
	o.house.addNow(command)
	o.exports.add(command)
	rulesFlag(command, &o.ruleFolder)
	return command
}

func waivers(command *cobra.Command, args []string, o waiversOptions) error {
	var problems []error
	for _, arg := range args {
		if arg == "-" {
			return usagef("name the folder of the show: one on standard input has no house file of its own")
		}
		problems = append(problems, noSuchShow(arg))
	}
	if err := errors.Join(problems...); err != nil {
		return err
	}
	if o.house.none {
		return usagef("--no-house leaves nothing to look at")
	}
	if len(args) > 1 && (o.history != "" || o.base != "") {
		return usagef("--history and --base are about one show; name one")
	}
	run, err := runOptions(o.ruleFolder, o.house, &o.exports)
	if err != nil {
		return err
	}
	var past *lint.History
	if len(args) == 1 {
		if past, err = pastOf(o.history, args[0]); err != nil {
			return err
		}
	}
	guard := outfile.Guard{TakenFor: lint.TakenFor}
	run.Base, run.History, run.Asks = o.base, past, true
	w, err := lint.LookAtWaivers(args, run)
	if err != nil {
		return err
	}
	if o.prune || o.rewrite {
		name := filepath.ToSlash(w.Path)
		err := guard.Merge(w.Path, "a house file", func([]byte) ([]byte, error) {
			there, err := house.Load(w.Path, w.Named) // read in its own way, which knows what a house file may not be
			if err != nil {
				return nil, err
			}
			now, err := house.Read(name, there)
			if err != nil {
				return nil, err
			}
			if !w.Same(now.Waivers) {
				return nil, fmt.Errorf("somebody else changed the waivers meanwhile: %w", errNothing)
			}
			after, err := w.Change(name, there, o.prune, o.rewrite)
			if err != nil {
				return nil, fmt.Errorf("%w: %w", errNothing, err)
			}
			return after, nil
		})
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return write(command.OutOrStdout(), waiversText(w, o))
}

// waiversText lists the waivers, with what became of each.
func waiversText(w *lint.Waivers, o waiversOptions) []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) {
		fmt.Fprintln(&b, say.Clean(strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", " ")))
	}
	stale, renamed := 0, 0
	line("%s: %s", filepath.ToSlash(w.Path), say.Count(len(w.List), "waiver"))
	for i := range w.List {
		u := &w.List[i]
		done := ""
		switch {
		case u.Stale && o.prune:
			done = " (taken out)"
		case u.Today != "" && o.rewrite:
			done = " (written for " + u.Today + " now)"
		case u.Today != "":
			done = ", which is " + u.Today + " by now"
		}
		line("")
		line("%s: %s%s", u.Rule, u.Subject, done)
		said := "  by " + u.By
		switch u.Until {
		case "":
		case waiver.Never:
			said += ", without an end"
		default:
			said += ", until " + u.Until
		}
		line("%s: %s", said, u.Reason)
		for j := range u.Accepts {
			line("  accepts %s  %s", u.Accepts[j].Key(), say.Period(u.Accepts[j].Message))
		}
		for j := range u.Problems {
			line("  %s: %s", u.Problems[j].Rule, u.Problems[j].Message)
		}
		if u.Stale {
			stale++
		}
		if u.Today != "" {
			renamed++
		}
	}
	if stale > 0 && !o.prune {
		line("")
		line("%s stale: --prune takes out what is.", say.Count(stale, "waiver"))
	}
	if renamed > 0 && !o.rewrite {
		line("")
		line("%s written for what has another name by now: --rewrite writes today's.", say.Count(renamed, "waiver"))
	}
	return b.Bytes()
}
