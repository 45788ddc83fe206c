package main

import (
	"errors"
	"os"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// extra are commands that only builds with a tag have.
var extra []func() *cobra.Command

func newRoot() *cobra.Command {
	asked := new(bool) // for the version
	root := &cobra.Command{
		Use:   "cueproof COMMAND",
		Short: "Proofread a lighting show before doors",
		Long: `cueproof reads an exported lighting show (patch list, cue list, room, running
order), works out what the light will do, holds that against rules that anyone
can read, and says what to change, to which value, and why.

Nothing leaves this machine, and no export is ever changed.`,
		Example: `  cueproof check shows/sunday          a folder with show.json, patch.csv, cues.csv...
  cueproof measure shows/sunday        the light on every person, in numbers
  cueproof explain white/key-mix       what a rule means and what to try
  cueproof schema cues                 the JSON Schema of a section, for editors`,
		SilenceUsage:          true,
		SilenceErrors:         true,
		DisableFlagsInUseLine: true,
		RunE: func(command *cobra.Command, _ []string) error { // a script that forgets the command must not pass as clean
			if *asked {
				return write(command.OutOrStdout(), []byte(version().line()+"\n"))
			}
			return usagef("say what to do: %s", strings.Join(commandNames(newRoot()), ", "))
		},
	}
	root.Flags().BoolVarP(asked, "version", "v", false, "print the version")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpCommand(newHelp())
	root.CompletionOptions.DisableDefaultCmd = true // ours refuses a shell that it does not know
	root.AddCommand(newCheck(), newBooth(), newCompare(), newMeasure(), newPaper(), newPicture(), newConvert(), newExplain(), newAsk(), newRules(), newHouse(), newAccept(), newWaivers(), newSchema(), newStart(), newVerify(), newPractise(), newLicences(), newVersion(), newCompletion())
	for _, command := range extra {
		root.AddCommand(command())
	}
	tellUsage(root)
	return root
}

func commandNames(root *cobra.Command) []string {
	var names []string
	for _, command := range root.Commands() {
		if !command.Hidden {
			names = append(names, command.Name())
		}
	}
	return names
}

// noSuchCommand says what was probably meant by a command that does not exist.
func noSuchCommand(root *cobra.Command, args []string) error {
	if len(args) > 0 && strings.HasPrefix(args[0], "__") {
		return nil // the shells ask for completions so
	}
	root.InitDefaultHelpCmd()
	root.InitDefaultHelpFlag()
	_, rest, err := root.Find(args)
	if err == nil {
		return nil
	}
	word := ""
	for _, arg := range rest {
		if !strings.HasPrefix(arg, "-") {
			word = arg
			break
		}
	}
	if _, err := os.Stat(word); err == nil {
		return usagef("there is no command %q. To check a show of that name: cueproof check %s", word, word)
	}
	return usagef("there is no command %q.%s", word, spelling.Hint(word, commandNames(root)))
}

// flagError adds the option that was probably meant.
func flagError(command *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) {
		return usage{err}
	}
	var known []string
	command.Flags().VisitAll(func(flag *pflag.Flag) { known = append(known, "--"+flag.Name) })
	return usagef("%w.%s", err, spelling.Hint("--"+unknown.GetSpecifiedName(), known))
}

func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND|TOPIC]",
		Short: "Explain a command or a topic: " + strings.Join(topicNames(), ", "),
		ValidArgsFunction: func(command *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
			return append(commandNames(command.Root()), topicNames()...), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(command *cobra.Command, args []string) error {
			if len(args) == 1 {
				if topic, ok := topics[args[0]]; ok {
					return write(command.OutOrStdout(), []byte(fold(topic)))
				}
				if strings.Contains(args[0], "/") {
					return usagef("%q looks like a rule: cueproof explain %s", args[0], args[0])
				}
				if !slices.Contains(commandNames(command.Root()), args[0]) {
					return usagef("there is no command or topic %q.%s The topics are %s.", args[0], spelling.Hint(args[0], append(commandNames(command.Root()), topicNames()...)), spelling.List(topicNames()))
				}
			}
			if err := noSuchCommand(command.Root(), args); err != nil {
				return err
			}
			about, _, err := command.Root().Find(args)
			if err != nil {
				return err
			}
			about.InitDefaultHelpFlag()
			return about.Help()
		},
	}
}

// noArguments and atLeastOne say what a command takes, in a sentence.
func noArguments(command *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s takes options only, not %q", command.CommandPath(), args[0])
	}
	return nil
}

func atLeastOne(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return usagef("name %s", what)
		}
		return nil
	}
}

func exactlyOne(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch len(args) {
		case 0:
			return usagef("name %s", what)
		case 1:
			return nil
		}
		return usagef("one at a time: %q is too many", args[1])
	}
}

// oneOf refuses a word that an option does not know.
func oneOf(option, word string, known []string) error {
	for _, other := range known {
		if other == word {
			return nil
		}
	}
	return usagef("--%s cannot be %q; it is one of %s.%s", option, word, strings.Join(known, ", "), spelling.Hint(word, known))
}

// complete gives the words of an option to the shells.
func complete(command *cobra.Command, flag string, words ...string) {
	err := command.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
	if err != nil {
		panic(err) // the option is declared by the caller
	}
}
