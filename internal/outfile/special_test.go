package outfile

import (
	"io/fs"
	"testing"
)

// TestWhatCanBeWrittenTo: a pipe and a terminal take a report; a socket and a disk do not.
func TestWhatCanBeWrittenTo(t *testing.T) {
	for mode, takes := range map[fs.FileMode]bool{
		fs.ModeNamedPipe: true, fs.ModeDevice | fs.ModeCharDevice: true, fs.ModeDevice: false, fs.ModeSocket: false, fs.ModeIrregular: false,
	} {
		if err := special(mode); (err == nil) != takes {
			t.Errorf("%v: %v", mode, err)
		}
	}
}
