package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/start"
	"github.com/spf13/cobra"
)

type startOptions struct {
	answers string
	ask     bool
	house   houseFlags
	exports exportFlags
}

func newStart() *cobra.Command {
	var o startOptions
	command := &cobra.Command{
		Use:   "start FOLDER",
		Short: "Tell of a hall in ten answers, beside the exports that are there",
		Long: `Start looks at the exports in FOLDER (tables, console data as ASCII text, MVR, GDTF,
JSON), concludes what it can, asks the rest in plain words, what unlocks most checks
first, and writes it into ` + start.FileName + ` in the same folder. No export is ever changed,
and what is read from one wins over what was answered. What was concluded or assumed
is marked in the file under known; findings that turn with it are told as likely.
Run again it asks only what is missing. An empty answer takes what is usual where
there is such a thing, and - leaves a question open.`,
		Example: `  cueproof start shows/sunday
  cueproof start --answers answers.yaml shows/sunday
  cueproof start --ask shows/sunday          only print the questions, as a file to fill in

Exit codes:
  0   the file is written, or there is nothing to ask
  2   the command was misused, or an answer is not understood
  3   something in the folder cannot be read
  70  a fault of the program`,
		Args: exactlyOne("the folder with the exports"),
		RunE: func(command *cobra.Command, args []string) error { return startHall(command, args[0], o) },
	}
	command.Flags().StringVar(&o.answers, "answers", "", "a file with a line for each answer, such as \"camera: 12, 1.5, f/4, 1/50, ISO 800, 5600 K\"")
	command.Flags().BoolVar(&o.ask, "ask", false, "print the questions as a file of answers to fill in, and write nothing")
	o.house.add(command)
	o.exports.add(command)
	return command
}

func startHall(command *cobra.Command, folder string, o startOptions) error {
	info, err := os.Stat(folder)
	switch {
	case err != nil:
		return noSuchShow(folder)
	case !info.IsDir():
		return usagef("%s is a file; name the folder that it is in", folder)
	}
	house, err := o.house.options()
	if err != nil {
		return err
	}
	exports, err := o.exports.options()
	if err != nil {
		return err
	}
	read, err := lint.ReadAll([]string{folder}, lint.Options{House: house, Exports: exports})
	if err != nil {
		return err
	}
	if read.Unreadable && !onlyEmpty(read.Findings) {
		tellMistakes(command.ErrOrStderr(), read.Findings)
		complain(command.ErrOrStderr(), "something cannot be read, so there is no telling what is missing; nothing was written")
		return exitCode(exitShow)
	}
	path := filepath.Join(folder, start.FileName)
	before, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("read %s: %w", path, source.Cause(err))
	}
	hall, err := start.New(read.Show, before)
	if err != nil {
		return usagef("%s: %w", path, err)
	}
	if o.ask {
		return write(command.OutOrStdout(), start.Sheet(hall.Questions()))
	}
	talk, err := talkOf(command, o)
	if err != nil {
		return err
	}
	open, err := talk.answer(hall)
	if err != nil {
		return err
	}
	text, err := hall.Text()
	if err != nil {
		return fault{err}
	}
	if !bytes.Equal(text, before) && !hall.Empty() {
		guard := &outfile.Guard{TakenFor: lint.TakenFor, Holds: lint.Holds}
		guard.Read(o.answers)
		if err := guard.Merge(path, "a hall", func(there []byte) ([]byte, error) {
			if !bytes.Equal(there, before) {
				return nil, errors.New("somebody else wrote into it meanwhile; start again")
			}
			return text, nil
		}); err != nil {
			return usagef("%s: %w", path, err)
		}
	}
	return write(command.OutOrStdout(), started(hall, path, folder, open))
}

// onlyEmpty reports whether nothing is wrong but that there is no show yet.
func onlyEmpty(found []finding.Finding) bool {
	for _, f := range found {
		if f.Level == finding.Error && f.Rule != "file/no-show" {
			return false
		}
	}
	return true
}

// talk is where answers come from.
type talk struct {
	file    map[string]string // nil: they are asked
	in      *bufio.Scanner
	out     io.Writer
	maximum int
}

func talkOf(command *cobra.Command, o startOptions) (*talk, error) {
	t := &talk{in: bufio.NewScanner(command.InOrStdin()), out: command.ErrOrStderr(), maximum: 30}
	if o.answers == "" {
		return t, nil
	}
	const most = 64 << 10
	data, err := source.ReadFirst(o.answers, most)
	if err != nil {
		return nil, usagef("--answers %s: %w", o.answers, source.Cause(err))
	}
	if len(data) > most {
		return nil, usagef("--answers %s has more than %d bytes; ten answers have some hundred", o.answers, most)
	}
	if t.file, err = start.ReadAnswers(string(data)); err != nil {
		return nil, usagef("--answers %s: %w", o.answers, err)
	}
	return t, nil
}

// answer goes through the questions until there is none left that was not asked. It
// returns those that stay open.
func (t *talk) answer(hall *start.Start) (open []start.Question, err error) {
	asked := map[string]bool{}
	for range t.maximum {
		next, ok := unasked(hall.Questions(), asked)
		if !ok {
			break
		}
		asked[next.ID] = true
		taken := false
		if t.file != nil {
			text, given := t.file[next.ID]
			if given {
				if taken, err = hall.Answer(next, text); err != nil {
					return nil, usagef("the answer %q: %w", next.ID, err)
				}
			}
		} else if taken, err = t.ask(hall, next); err != nil {
			return nil, err
		}
		if !taken {
			open = append(open, next)
		}
	}
	for id := range t.file {
		if !asked[id] && !start.IsQuestion(id) {
			return nil, usagef("there is no question %q; they are %s", id, strings.Join(start.IDs, ", "))
		}
	}
	return open, nil
}

func unasked(list []start.Question, asked map[string]bool) (start.Question, bool) {
	for _, q := range list {
		if !asked[q.ID] {
			return q, true
		}
	}
	return start.Question{}, false
}

// ask asks one question until its answer is understood.
func (t *talk) ask(hall *start.Start, q start.Question) (taken bool, err error) {
	usual := "Enter alone leaves it open."
	if q.Default != "" {
		usual = "Enter alone takes: " + q.Default + ". - leaves it open."
	}
	_, _ = fmt.Fprintln(t.out) // a terminal that is gone takes no answer either, and Scan says so
	for _, text := range []string{say.Clean(q.Ask), "Why: " + q.Why + ".", say.Clean(usual)} {
		_, _ = fmt.Fprintln(t.out, strings.Join(say.Wrap(text, 80), "\n"))
	}
	const tries = 3
	for range tries {
		_, _ = fmt.Fprint(t.out, q.ID+"> ")
		if !t.in.Scan() {
			_, _ = fmt.Fprintln(t.out)
			return false, nil
		}
		if taken, err = hall.Answer(q, t.in.Text()); err == nil {
			return taken, nil
		}
		_, _ = fmt.Fprintf(t.out, "That is not understood: %v.\n", err)
	}
	return false, nil
}

// started says what was written, what was concluded, and what to do next.
func started(hall *start.Start, path, folder string, open []start.Question) []byte {
	var text strings.Builder
	if hall.Empty() {
		text.WriteString("Nothing was written: nothing was answered, and nothing could be concluded.\n")
	} else {
		fmt.Fprintf(&text, "%s tells the hall now: %s from answers.\n", filepath.ToSlash(path), say.Count(hall.Told, "value"))
	}
	if len(hall.Notes) > 0 {
		text.WriteString("\nConcluded, and marked so under known; look through these in the file:\n")
		for _, note := range hall.Notes {
			fmt.Fprintf(&text, "  %s\n", note)
		}
	}
	if len(open) > 0 {
		text.WriteString("\nLeft open; start asks for it again:\n")
		for _, q := range open {
			fmt.Fprintf(&text, "  %s: %s\n", q.ID, q.Why)
		}
	}
	fmt.Fprintf(&text, "\nNext: cueproof check %s\n", filepath.ToSlash(folder))
	return []byte(text.String())
}
