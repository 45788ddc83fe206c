package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"github.com/cueproof/cueproof/internal/report/say"
)

// Help is read in a terminal of 80 columns, that of commands and of topics.
func TestHelpFitsATerminal(t *testing.T) {
	fits := func(name, text string) {
		for line := range strings.Lines(text) {
			if line = strings.TrimSuffix(line, "\n"); say.Columns(line) > helpWidth {
				t.Errorf("help %s has %d columns: %s", name, say.Columns(line), line)
			}
		}
	}
	count := 0
	var each func(*cobra.Command)
	each = func(command *cobra.Command) {
		var text bytes.Buffer
		command.SetOut(&text)
		if err := command.Help(); err != nil || text.Len() == 0 {
			t.Errorf("help %s: %v", command.Name(), err)
		}
		fits(command.Name(), text.String())
		count++
		for _, below := range command.Commands() {
			each(below)
		}
	}
	each(newRoot())
	for name, text := range topics {
		fits(name, fold(text))
	}
	if count < 15 {
		t.Errorf("only %d commands", count)
	}
}

func TestFold(t *testing.T) {
	word := strings.Repeat("x", 30)
	for _, tc := range []struct{ name, text, want string }{
		{"short lines stay as they are", "one\ntwo\n\n  three", "one\ntwo\n\n  three"},
		{"a long line breaks its paragraph anew", word + "\n" + word + " " + word + " " + word, word + " " + word + "\n" + word + " " + word},
		{"what is behind a gap goes below itself", "  cmd   " + word + " " + word + " " + word, "  cmd   " + word + " " + word + "\n        " + word},
		{"or on the next line where there is no room", "  " + word + word + "   " + word, "  " + word + word + "\n        " + word},
		{"a command breaks before an option", "  cmd --one " + word + " --two " + word + " " + word, "  cmd --one " + word + " \\\n        --two " + word + " " + word},
		{"one without options stays", "  " + word + word + word, "  " + word + word + word},
	} {
		if got := fold(tc.text); got != tc.want {
			t.Errorf("%s:\n%s\nwant:\n%s", tc.name, got, tc.want)
		}
	}
}
