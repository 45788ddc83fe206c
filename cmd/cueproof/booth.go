package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/booth"
	"github.com/cueproof/cueproof/internal/follow"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/report/say"
)

func newBooth() *cobra.Command {
	var port int
	var browse bool
	var ruleFolder string
	var house houseFlags
	var exports exportFlags
	command := &cobra.Command{
		Use:   "booth SHOW...",
		Short: "Show the report in a browser on this machine, and follow the files",
		Long: `Booth serves the report of check to a browser on this machine, as long as it runs,
and shows the new state each time the files are saved: what is done, new or worse.
While the files cannot be read the last state that could be stays, with the reason
above it. One key (D) shows one order at a time, dim and large, for the dark.

Only this machine can ask for the page, and only with the address that is printed.
Nothing is written, and no connection is opened to anywhere.`,
		Example: `  cueproof booth shows/sunday
  cueproof booth --open shows/morning shows/evening
  cueproof booth --port 8080 shows/sunday

Exit codes: 0 ended by Ctrl-C, 2 misuse, or a bad house file or rule, 70 a fault of the program.`,
		Args: atLeastOne("the show to follow: a folder or a file"),
		RunE: func(command *cobra.Command, args []string) error {
			if port < 0 || port > 65535 {
				return usagef("--port cannot be %d; it is from 1 to 65535, or 0 for any that is free", port)
			}
			for _, arg := range args {
				if arg == "-" {
					return usagef("booth follows files, and standard input is none")
				}
				if err := noSuchShow(arg); err != nil {
					return err
				}
			}
			run, err := runOptions(ruleFolder, house, &exports)
			if err != nil {
				return err
			}
			run.Pictures = true
			ctx, stop := untilEnded(command)
			defer stop()
			shows := followedShows(args, func(path string, early func(*outcome.Report)) (*outcome.Report, error) {
				run := run
				run.Early = early
				return lint.Run([]string{path}, run)
			})
			files := follow.New(false, followed(shows, house, ruleFolder)...)
			defer files.Close()
			b, err := booth.Listen(port)
			if err != nil {
				return err
			}
			b.Ask = func(show int, question string) ([]string, error) {
				if show < 0 || show >= len(args) {
					return nil, fmt.Errorf("there is no show %d", show)
				}
				answer, err := lint.WhatIf(args[show], question, run)
				if err != nil {
					return nil, err
				}
				return say.WhatIf(answer), nil
			}
			return b.Follow(ctx, shows, files, command.ErrOrStderr(), func() error { return greet(command, b, browse) })
		},
	}
	flags := command.Flags()
	flags.IntVar(&port, "port", 0, "port of this machine to listen on; without it any that is free")
	flags.BoolVar(&browse, "open", false, "open the page in the browser of this machine")
	rulesFlag(command, &ruleFolder)
	house.add(command)
	house.addNow(command)
	exports.add(command)
	return command
}

// greet says where the page is.
func greet(command *cobra.Command, b *booth.Booth, browse bool) error {
	text := fmt.Sprintf("%s\nOpen this address in a browser on this machine; Ctrl-C ends it.\n", b.Address())
	if err := write(command.OutOrStdout(), []byte(text)); err != nil {
		return err
	}
	if browse {
		if err := booth.Open(b.Address()); err != nil {
			complain(command.ErrOrStderr(), err.Error())
		}
	}
	return nil
}
