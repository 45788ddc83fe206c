package main

import (
	"io"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/report/paper"
	"github.com/spf13/cobra"
)

func newPaper() *cobra.Command {
	var o checkOptions
	var size string
	command := &cobra.Command{
		Use:   "paper SHOW...",
		Short: "Write one side of paper to walk with",
		Long: `Paper checks each SHOW and writes one side of paper: what to change in the order
of the way (house, stage, ladder, booth) with boxes to tick, places to go with a
meter and what it should show, what only a person can decide, and what to look
at by eye. What has no room is counted; the worst stays. Print it from any
browser.`,
		Example: `  cueproof paper --out paper.html shows/sunday
  cueproof paper --size letter --out paper.html shows/morning shows/evening

Exit codes: 0 written, 2 misuse, 3 a show cannot be read, 70 a fault of the program.`,
		Args: atLeastOne("the show to write down: a folder, a JSON file, or - for standard input"),
		RunE: func(command *cobra.Command, args []string) error {
			o.formats, o.outs, o.minLevel, o.failLevel, o.colour = []string{"html"}, []string{o.out.path}, "note", "error", "auto"
			if err := oneOf("size", size, paper.Sizes); err != nil {
				return err
			}
			run, err := o.begin(command, args)
			if err != nil {
				return err
			}
			progress := progressOn(command)
			defer progress.done()
			run.MinLevel, run.Pictures, run.Tell, run.Out = finding.Note, true, progress.tell, o.out.guard
			r, err := lint.Run(args, run)
			if err != nil {
				return err
			}
			progress.done()
			if err := o.out.tell(command, "", func(w io.Writer) error { return paper.Write(w, r, paper.Size(size)) }); err != nil {
				return err
			}
			for _, show := range r.Shows {
				if show.Unreadable {
					return exitCode(exitShow)
				}
			}
			return nil
		},
	}
	o.out.add(command)
	command.Flags().StringVar(&size, "size", "a4", "size of the paper: a4 or letter")
	o.readFlags.add(command)
	o.house.addNow(command)
	complete(command, "size", paper.Sizes...)
	return command
}
