package outfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// How long a pipe is waited for: first for somebody who reads from it, then for
// each piece to be taken.
const (
	waitForReader = 5 * time.Second
	waitForTaking = 30 * time.Second
)

// pour writes into a pipe or a device, which cannot be replaced. It never waits
// for ever.
func pour(t target, data []byte) error {
	file, err := openPipe(t)
	if err != nil {
		return err
	}
	const piece = 64 << 10
	for len(data) > 0 {
		_ = file.SetWriteDeadline(time.Now().Add(waitForTaking)) // a device has none, and takes what it gets
		n, err := file.Write(data[:min(len(data), piece)])
		data = data[n:]
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded):
			file.Close()
			return fmt.Errorf("cannot be written: whoever reads from it has taken nothing for %v", waitForTaking)
		case err != nil:
			file.Close()
			return cannot(err)
		}
	}
	return cannot(file.Close())
}

// openPipe opens without waiting, because a pipe that nobody reads from would
// wait for ever, and gives a reader that was started at the same time a while.
func openPipe(t target) (*os.File, error) {
	for begun := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		file, err := os.OpenFile(t.path, os.O_WRONLY|syscall.O_NONBLOCK, 0)
		switch {
		case err == nil:
			return file, nil
		case !errors.Is(err, syscall.ENXIO) || t.info.Mode()&fs.ModeNamedPipe == 0:
			return nil, cannot(err)
		case time.Since(begun) > waitForReader:
			return nil, errors.New("cannot be written: nobody reads from this pipe")
		}
	}
}

// replaceWhole puts a file where another one is or nothing. It is written beside
// it, and only when all of it is on the disk does it take the name. Ready, if
// there is one, is asked last of all. An old file keeps its permissions; a new one
// has those that the system gives.
func replaceWhole(t target, data []byte, ready func() error) error {
	mode := fs.FileMode(0o644)
	if t.info != nil {
		mode = t.info.Mode().Perm()
	}
	part, err := newPart(filepath.Dir(t.path), func(path string) (*os.File, bool, error) {
		if file, err := openUnnamed(filepath.Dir(path), mode); err == nil {
			return file, true, nil
		}
		file, err := createFile(path, mode)
		return file, false, err
	})
	if err != nil {
		return err
	}
	defer part.drop()
	if t.info != nil {
		_ = part.file.Chmod(mode) // where that is not possible, the file has no more permissions than the old one
	}
	if _, err := part.file.Write(data); err != nil {
		return err
	}
	if err := part.file.Sync(); err != nil {
		return err
	}
	if ready != nil {
		if err := ready(); err != nil {
			return err
		}
	}
	return part.become(t.path, os.Rename)
}
