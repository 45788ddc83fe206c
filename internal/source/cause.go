package source

import (
	"errors"
	"io/fs"
	"os"
	"strings"
)

// Cause is the reason in an error of the file system, without the path: it may hold
// names that the user did not give, and differs between machines.
func Cause(err error) error {
	var onPath *fs.PathError
	var onLink *os.LinkError
	switch {
	case errors.As(err, &onPath):
		return onPath.Err
	case errors.As(err, &onLink):
		return onLink.Err
	}
	if text, ok := strings.CutPrefix(err.Error(), "EvalSymlinks: "); ok {
		return errors.New(text)
	}
	return err
}
