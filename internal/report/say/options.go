// Package say is the one place where reports round numbers, clean text of a show
// and put things into words.
//
// In go values of the outcome, out come short texts that any format may print. A
// newcomer's mistake would be to print a name from a show without [Clean], or a
// number without rounding it here.
package say

// Options are how a report is told.
type Options struct {
	Colour bool   // escape sequences of a terminal may be used
	Width  int    // of a line of text in characters
	All    bool   // everything, where the text would otherwise keep to one screen
	Root   string // the folder that places are told from, such as that of a repository; "" is where the program was started
	Exit   int    // the exit code that the run will have
}
