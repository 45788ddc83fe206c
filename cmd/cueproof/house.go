package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/say"
)

// houseFlags are the options of every command that uses a house file.
type houseFlags struct {
	file string
	none bool
	now  string
}

func (h *houseFlags) add(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&h.file, "house", "", "house file to use, whatever "+house.FileName+" lies beside the show or above it")
	flags.BoolVar(&h.none, "no-house", false, "use no house file")
	if err := command.MarkFlagFilename("house", "yaml", "yml"); err != nil {
		panic(err) // the option is declared above
	}
}

// addNow adds the option of commands that look at the days of waivers.
func (h *houseFlags) addNow(command *cobra.Command) {
	command.Flags().StringVar(&h.now, "now", "", "day that counts as today, such as 2026-12-31 (without it: SOURCE_DATE_EPOCH, or today)")
}

// options refuses what cannot be meant. It is the one place where the clock is
// looked at.
func (h *houseFlags) options() (lint.HouseOptions, error) {
	if h.none && h.file != "" {
		return lint.HouseOptions{}, usagef("--house and --no-house are two answers to one question")
	}
	today, err := today(h.now)
	return lint.HouseOptions{File: h.file, None: h.none, Today: today}, err
}

// today is the day as 2026-12-31: the one that was asked for, that of
// SOURCE_DATE_EPOCH (reproducible-builds.org: seconds since 1970, in UTC), or that
// of the clock on the wall.
func today(wanted string) (string, error) {
	if wanted != "" {
		if err := house.CheckDay(wanted); err != nil {
			return "", usagef("--now: %w", err)
		}
		return wanted, nil
	}
	if epoch := os.Getenv("SOURCE_DATE_EPOCH"); epoch != "" {
		const lastDay = 253402300799 // of the year 9999
		seconds, err := strconv.ParseInt(epoch, 10, 64)
		if err != nil || seconds < 0 || seconds > lastDay {
			return "", usagef("SOURCE_DATE_EPOCH is %q; wanted are seconds since 1970", epoch)
		}
		return time.Unix(seconds, 0).UTC().Format(time.DateOnly), nil
	}
	return time.Now().Format(time.DateOnly), nil
}

func newHouse() *cobra.Command {
	var flags houseFlags
	var folder, stdinName string
	var changed bool
	command := &cobra.Command{
		Use:   "house SHOW",
		Short: "Show which file gives each limit, switch and level for a show",
		Long: `House prints for every rule whether it looks at this show, at which level, and
with which limits, a line each with the file that says so. A house file is
` + house.FileName + ` beside the show or in a folder above, up to the repository's; outside
of a repository one above counts if it says topmost: true. The nearest one is used.`,
		Example: `  cueproof house shows/sunday
  cueproof house --changed shows/sunday
  cueproof schema house > house.schema.json

Exit codes: 0 printed, 2 misuse or a bad house file or rule, 70 a fault of the program.`,
		Args: exactlyOne("the show whose house file is asked for"),
		RunE: func(command *cobra.Command, args []string) error {
			options, err := flags.options()
			if err != nil {
				return err
			}
			if args[0] != "-" {
				if err := noSuchShow(args[0]); err != nil {
					return err
				}
			}
			set, err := loadRules(folder)
			if err != nil {
				return err
			}
			setup, err := lint.SetUp(args[0], lint.Options{Rules: set, StdinName: stdinName, House: options})
			if err != nil {
				return err
			}
			return write(command.OutOrStdout(), houseText(setup, changed))
		},
	}
	flags.add(command)
	rulesFlag(command, &folder)
	command.Flags().StringVar(&stdinName, "stdin-name", "", "what to call the show that is read from -")
	command.Flags().BoolVar(&changed, "changed", false, "print only what a house file changes")
	return command
}

// houseText is what the house file of a show does, a line for each rule's switch,
// level and limits.
func houseText(s *lint.Setup, onlyChanged bool) []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) {
		text := strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", " ")
		fmt.Fprintln(&b, strings.TrimRight(say.Clean(text), " "))
	}
	for _, note := range s.Notes {
		if s.House == nil {
			line("%s", note)
		}
	}
	if s.House == nil {
		line("no house file: every rule looks, with its own limits")
	} else {
		line("%s: %s, %s, %s, %s, %s, %s", s.House.File.Name,
			say.Count(len(s.House.Limits), "limit"), say.Count(len(s.House.Switches), "switch"), say.Count(len(s.House.Levels), "level"),
			say.Count(len(s.House.Folders), "rule folder"), say.Count(len(s.House.Columns), "column"), say.Count(len(s.House.Waivers), "waiver"))
	}
	row := func(id, what, from string, changed bool) {
		if changed || !onlyChanged {
			line("%-30s %-34s %s", id, what, from)
		}
	}
	for _, setting := range s.Said() {
		row("exports", setting.What, setting.From, setting.Changed)
	}
	for _, rule := range s.All.Rules {
		for _, setting := range s.Settings(rule) {
			row(rule.ID, setting.What, setting.From, setting.Changed)
		}
	}
	return b.Bytes()
}

var errNothing = errors.New("nothing was written")
