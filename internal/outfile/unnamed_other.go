//go:build !linux

package outfile

import (
	"errors"
	"io/fs"
	"os"
)

func openUnnamed(string, fs.FileMode) (*os.File, error) { return nil, errors.ErrUnsupported }

func name(*os.File, string) error { return errors.ErrUnsupported }
