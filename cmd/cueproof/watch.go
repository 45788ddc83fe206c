package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/follow"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/live"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report"
	"github.com/cueproof/cueproof/internal/report/say"
)

// onlySays refuses what would write where --watch and --what-if only say something.
func (o checkOptions) onlySays(command *cobra.Command, args []string) error {
	option := "--watch"
	if command.Flags().Changed("what-if") {
		option = "--what-if"
		if o.watch {
			return usagef("--watch and --what-if do not go together; the page of cueproof booth does both")
		}
	}
	for _, name := range []string{"out", "history", "try", "replace"} {
		if command.Flags().Changed(name) {
			return usagef("%s writes nothing, so it takes no --%s", option, name)
		}
	}
	if len(o.formats) != 1 || o.formats[0] != "text" {
		return usagef("%s prints text; for a page that follows the files: cueproof booth %s", option, strings.Join(args, " "))
	}
	if o.watch && slices.Contains(args, "-") {
		return usagef("--watch follows files, and standard input is none")
	}
	return nil
}

// whatIf answers a question about each show.
func whatIf(command *cobra.Command, args []string, o checkOptions, run lint.Options) error {
	var page bytes.Buffer
	for _, path := range args {
		answer, err := lint.WhatIf(path, o.whatIf, run)
		if err != nil {
			return fmt.Errorf("--what-if: %w", err)
		}
		if len(args) > 1 {
			fmt.Fprintf(&page, "%s\n", say.OneLine(path))
		}
		for _, line := range say.WhatIf(answer) {
			for i, row := range say.Wrap(say.Clean(line), 78) {
				if i > 0 {
					row = "  " + row
				}
				fmt.Fprintln(&page, row)
			}
		}
	}
	return write(command.OutOrStdout(), page.Bytes())
}

// watch checks the shows each time their files have changed, until somebody ends it.
func watch(command *cobra.Command, o checkOptions, shows []live.Show) error {
	ctx, stop := untilEnded(command)
	defer stop()
	files := follow.New(false, followed(shows, o.house, o.ruleFolder)...)
	defer files.Close()
	changed := files.Names()
	for {
		if err := o.sayAgain(command, shows, changed); err != nil {
			return err
		}
		var err error
		if changed, err = files.Next(ctx); err != nil {
			return nil // somebody ended it, which is how it ends
		}
	}
}

// sayAgain checks those shows whose files changed and says how all stand.
func (o checkOptions) sayAgain(command *cobra.Command, shows []live.Show, changed []string) error {
	if err := live.Again(shows, changed, nil); err != nil {
		return fault{err}
	}
	stdout := command.OutOrStdout()
	options := say.Options{Width: 80, All: o.all, Root: o.root, Colour: wantColour(o.colour, stdout)}
	var page bytes.Buffer
	if file, ok := stdout.(*os.File); ok && isatty.IsTerminal(file.Fd()) && os.Getenv("TERM") != "dumb" {
		page.WriteString("\x1b[H\x1b[2J\x1b[3J") // a clean screen (ECMA-48: CUP, ED)
	}
	for i := range shows {
		s := &shows[i]
		lines := slices.Clone(s.Wrong)
		if s.Wrong != nil && s.Good != nil {
			lines = append([]string{"The files cannot be used as they are now. Below is the last state that could be."}, lines...)
		} else {
			lines = append(lines, s.Change.Lines(5)...)
		}
		for _, line := range lines {
			for _, row := range say.Wrap(say.Clean(line), options.Width) {
				fmt.Fprintln(&page, row)
			}
		}
		if len(lines) > 0 {
			fmt.Fprintln(&page)
		}
		if s.Good != nil {
			if err := report.Formats["text"](&page, s.Good, options); err != nil {
				return fault{err}
			}
		}
	}
	page.WriteString("\nFollowing the files; Ctrl-C ends it.\n")
	return write(stdout, page.Bytes())
}

// untilEnded is done when somebody ends the program.
func untilEnded(command *cobra.Command) (context.Context, context.CancelFunc) {
	ctx := command.Context()
	if ctx == nil {
		ctx = context.Background()
	}
	return signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
}

// followed are the names that a run on shows reads: the shows first, in their order.
func followed(shows []live.Show, flags houseFlags, ruleFolder string) (names []string) {
	for i := range shows {
		names = append(names, shows[i].Path)
	}
	for i := range shows {
		if flags.none || flags.file != "" {
			break
		}
		folder, err := filepath.Abs(shows[i].Path)
		for err == nil && filepath.Dir(folder) != folder { // where the house is looked for, it may come to be
			folder = filepath.Dir(folder)
			names = append(names, filepath.Join(folder, house.FileName))
		}
	}
	for _, name := range []string{flags.file, ruleFolder} {
		if name != "" {
			names = append(names, name)
		}
	}
	return names
}

// followedShows are shows that are checked by a function, each alone.
func followedShows(paths []string, check func(path string, early func(*outcome.Report)) (*outcome.Report, error)) []live.Show {
	shows := make([]live.Show, len(paths))
	for i, path := range paths {
		shows[i] = live.Show{Path: path, Check: check}
	}
	return shows
}
