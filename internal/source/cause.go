package source

import (
	"errors"
	"io"
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

// ReadFirst reads a file of at most so many bytes, and of a longer one a byte more than
// that: it may grow while it is read, and what never ends is not read to its end.
func ReadFirst(name string, most int64) ([]byte, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, most+1))
}
