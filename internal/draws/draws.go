// Package draws makes the random draws of the properties the same in every run, so
// that a test says today what it said before a change was taken in. A test of a
// property imports it for its effect alone. New draws are had with
//
//	go test ./schema -rapid.seed=$RANDOM -rapid.checks=1000
package draws

import (
	"flag"

	_ "pgregory.net/rapid" // registers the options that init sets
)

func init() {
	if seed := flag.Lookup("rapid.seed"); seed != nil && seed.Value.String() == "0" {
		if err := flag.Set("rapid.seed", "1"); err != nil {
			panic(err)
		}
	}
}
