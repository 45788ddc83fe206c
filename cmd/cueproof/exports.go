package main

import (
	"math"
	"strconv"
	"strings"

	"github.com/cueproof/cueproof/internal/lint"
	"github.com/spf13/cobra"
)

// exportFlags are the options of every command that reads exports, for what those
// leave open.
type exportFlags struct {
	unlisted, origin, turn string
}

func (e *exportFlags) add(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&e.unlisted, "unlisted", "", "what channels do that a cue of console data as ASCII text does not list: off or keep")
	flags.StringVar(&e.origin, "origin", "", "where the origin of a plan (MVR) lies, as X,Y,Z in metres from the middle of the downstage edge")
	flags.StringVar(&e.turn, "turn", "", "how far a plan (MVR) is turned, in degrees counter-clockwise as seen from above")
	complete(command, "unlisted", "off", "keep")
}

func (e *exportFlags) options() (lint.Exports, error) {
	var x lint.Exports
	if e.unlisted != "" {
		if err := oneOf("unlisted", e.unlisted, []string{"off", "keep"}); err != nil {
			return x, err
		}
		x.Unlisted = e.unlisted
	}
	if e.origin != "" {
		parts := strings.Split(e.origin, ",")
		var at [3]float64
		for i, part := range parts {
			value, ok := plainNumber(part)
			if len(parts) != len(at) || !ok || math.Abs(value) > 1000 {
				return x, usagef("--origin cannot be %q; wanted are three numbers of metres, such as -8,10,0", e.origin)
			}
			at[i] = value
		}
		x.Origin = &at
	}
	if e.turn != "" {
		value, ok := plainNumber(e.turn)
		if !ok || math.Abs(value) > 360 {
			return x, usagef("--turn cannot be %q; wanted are degrees from -360 to 360", e.turn)
		}
		x.TurnDeg = &value
	}
	return x, nil
}

// runOptions are what every run on shows begins with: the rules, the house, and what its
// exports leave open.
func runOptions(ruleFolder string, house houseFlags, exports *exportFlags) (lint.Options, error) {
	run := lint.Options{Version: version().Version}
	var err error
	if run.House, err = house.options(); err != nil {
		return run, err
	}
	if run.Exports, err = exports.options(); err != nil {
		return run, err
	}
	run.Rules, err = loadRules(ruleFolder)
	return run, err
}

// readFlags are what commands have in common that read shows as check does.
type readFlags struct {
	stdinName, ruleFolder string
	house                 houseFlags
	exports               exportFlags
}

func (f *readFlags) add(command *cobra.Command) {
	command.Flags().StringVar(&f.stdinName, "stdin-name", "standard input", "what to call the show that is read from -")
	rulesFlag(command, &f.ruleFolder)
	f.house.add(command)
	f.exports.add(command)
}

func (f *readFlags) options(command *cobra.Command) (lint.Options, error) {
	run, err := runOptions(f.ruleFolder, f.house, &f.exports)
	run.Stdin, run.StdinName = command.InOrStdin(), f.stdinName
	return run, err
}

// plainNumber reads a number as people write it.
func plainNumber(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	value, err := strconv.ParseFloat(text, 64)
	return value, err == nil && strings.Trim(text, "0123456789.+-") == ""
}
