// Package draws makes the random draws of the properties the same in every run, so
// that a test says today what it said before a change was taken in. A test of a
// property imports it for its effect alone. New draws are had with
//
//	go test ./schema -rapid.seed=$RANDOM -rapid.checks=1000
//
// Plain go test makes a quarter of the draws; CI sets CUEPROOF_LONG and makes all of them.
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
const few = "25"

func init() {
	preset("rapid.seed", "0", "1")
	if os.Getenv("CUEPROOF_LONG") == "" && !slices.Contains(os.Args, "-test.short=true") { // options are not read yet
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
