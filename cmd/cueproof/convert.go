package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/cueproof/cueproof/internal/convert"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/lint"
	"github.com/cueproof/cueproof/internal/outfile"
	"github.com/cueproof/cueproof/internal/report/say"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/spf13/cobra"
)

type convertOptions struct {
	into    string
	house   houseFlags
	exports exportFlags
}

func newConvert() *cobra.Command {
	var o convertOptions
	command := &cobra.Command{
		Use:   "convert IN... --into FOLDER",
		Short: "Write exports down once as JSON, for teams that keep a show in git",
		Long: `Convert reads all IN as one show and writes it as JSON into a new folder. IN is a
folder, an export (console data as ASCII text, MVR, GDTF), a table or a JSON file.
Where two tell of one channel, the one that is named first wins. Each value keeps
where it came from (x_from). What does not come along, is guessed or is filled in
is counted on the screen and listed in losses.json. Nothing is ever written over,
and the exports stay as they are.`,
		Example: `  cueproof convert hall.mvr desk.asc room.json --into shows/sunday
  cueproof convert exports --unlisted keep --origin -8,10,0 --turn 90 --into shows/sunday

Exit codes:
  0   the folder is written, and what was lost is told
  2   the command was misused, a house file is broken, or the folder is there
  3   something cannot be read, and nothing is written
  70  a fault of the program`,
		Args: atLeastOne("what to convert: folders, exports, tables or JSON files"),
		RunE: func(command *cobra.Command, args []string) error { return convertAll(command, args, o) },
	}
	command.Flags().StringVar(&o.into, "into", "", "the new folder to write; it is made, whole or not at all")
	if err := command.MarkFlagDirname("into"); err != nil {
		panic(err) // the option is declared above
	}
	o.house.add(command)
	o.exports.add(command)
	return command
}

func convertAll(command *cobra.Command, args []string, o convertOptions) error {
	if o.into == "" {
		return usagef("--into needs the name of the new folder")
	}
	house, err := o.house.options()
	if err != nil {
		return err
	}
	exports, err := o.exports.options()
	if err != nil {
		return err
	}
	for _, name := range args {
		if err := notThere(name); err != nil {
			return err
		}
		if name == "-" {
			return usagef("convert reads no standard input; name files and folders")
		}
	}
	if entries, err := os.ReadDir(o.into); len(entries) > 0 || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return usagef("--into %s: something is there already; name a new folder", o.into)
	}
	guard := &outfile.Guard{TakenFor: lint.TakenFor, Holds: lint.Holds}
	guard.Read(append(args, o.house.file)...)
	read, err := lint.ReadAll(args, lint.Options{House: house, Exports: exports, Out: guard})
	if err != nil {
		return err
	}
	if read.Unreadable || len(read.Show.ReadFrom) == 0 {
		tellMistakes(command.ErrOrStderr(), read.Findings)
		complain(command.ErrOrStderr(), "something cannot be read, so nothing is written")
		return exitCode(exitShow)
	}
	folder, err := convert.Make(read, args)
	if err != nil {
		return fault{err}
	}
	if err := guard.Folder(o.into, func(root *os.Root) error { return put(root, folder) }); err != nil {
		return usagef("--into %s: %w", o.into, err)
	}
	return tell(command, func(w io.Writer) error { return sayConverted(w, folder, read.Findings, o.into) })
}

func put(root *os.Root, folder *convert.Folder) error {
	for _, file := range folder.Files {
		if err := root.WriteFile(file.Name, file.Data, 0o644); err != nil {
			return source.Cause(err)
		}
	}
	return nil
}

// tellMistakes lists what is wrong with the files.
func tellMistakes(stderr io.Writer, found []finding.Finding) {
	for _, f := range found {
		if f.Level == finding.Error {
			at := f.Place.Span().Start
			complain(stderr, fmt.Sprintf("%s, line %d, column %d: %s", f.Place.File.Name, at.Line, at.Column, f.Message))
		}
	}
}

func sayConverted(w io.Writer, folder *convert.Folder, found []finding.Finding, into string) error {
	var holds []string
	for _, what := range []string{"fixture", "type", "group", "cue", "segment"} {
		if n := folder.Holds[what]; n > 0 {
			holds = append(holds, say.Count(n, what))
		}
	}
	text := fmt.Sprintf("%s is written: %s in %s.\n", into, strings.Join(holds, ", "), say.Count(len(folder.Files), "file"))
	for _, kind := range convert.Kinds {
		if convert.Count(folder.Losses, kind) == 0 {
			continue
		}
		text += "\n" + convert.Words[kind] + "\n"
		for _, l := range folder.Losses {
			if l.Kind == kind {
				text += fmt.Sprintf("  %5d  %s%s\n", l.Count, l.What, firstAt(l.First))
			}
		}
	}
	if len(folder.Losses) > 0 {
		text += fmt.Sprintf("\nAll of it is listed in %s/%s.\n", strings.TrimRight(into, "/"), convert.LossFile)
	} else {
		text += "Nothing was dropped, guessed or filled in.\n"
	}
	wrong := 0
	for _, f := range found {
		if f.Level == finding.Error {
			wrong++
		}
	}
	if wrong > 0 {
		text += fmt.Sprintf("What was read has %s; cueproof check tells them.\n", say.Count(wrong, "mistake"))
	}
	_, err := io.WriteString(w, say.Clean(text))
	return err
}

func firstAt(place string) string {
	if place == "" {
		return ""
	}
	return " (the first: " + place + ")"
}
