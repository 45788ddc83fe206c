// Package draws makes the random draws of the properties the same in every run, so
// that a test says today what it said before a change was taken in. A test of a
// property imports it for its effect alone. New draws are had with
//
//	go test ./schema -rapid.seed=$RANDOM -rapid.checks=1000
//
// Plain go test makes a tenth of the draws; CI sets CUEPROOF_LONG and makes all of them.
//
// Of a long list of cases it says how many a test takes ([Step]).
package draws

import (
	"flag"
	"os"
	"runtime/debug"
	"slices"

	_ "pgregory.net/rapid" // registers the options that init sets
)

// few is how often a property is tried in plain go test, where the library would try it 100
// times, and 20 times with -short.
const few = "10"

// Step is how far it is, in a long list of cases, from one that a test takes to the next: as far as
// said in plain go test, a quarter of that where places of the program are changed to see whether a
// test notices, and 1, which is all of them, with CUEPROOF_LONG or where a golden file is written.
func Step(plain int) int {
	switch {
	case os.Getenv("CUEPROOF_LONG") != "" || os.Getenv("CUEPROOF_UPDATE") != "":
		return 1
	case os.Getenv("CUEPROOF_MUTANT") != "":
		return max(1, plain/4)
	}
	return plain
}

func init() {
	preset("rapid.seed", "0", "1")
	short := func(arg string) bool { return arg == "-test.short" || arg == "-test.short=true" }
	if os.Getenv("CUEPROOF_LONG") == "" && !slices.ContainsFunc(os.Args, short) { // options are not read yet
		preset("rapid.checks", "100", few)
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(300) // a run of tests ends before its memory is short: a fifth less work
	}
}

// preset gives an option of the library another value where nobody has said one.
func preset(name, usual, value string) {
	if option := flag.Lookup(name); option != nil && option.Value.String() == usual {
		if err := flag.Set(name, value); err != nil {
			panic(err)
		}
	}
}
