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
func pour(path string, data []byte) error {
	file, err := openPipe(path)
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
func openPipe(path string) (*os.File, error) {
	for begun := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		file, err := os.OpenFile(path, os.O_WRONLY|syscall.O_NONBLOCK, 0)
		switch {
		case err == nil:
			return file, nil
		case !errors.Is(err, syscall.ENXIO):
			return nil, cannot(err)
		case time.Since(begun) > waitForReader:
			return nil, errors.New("cannot be written: nobody reads from this pipe")
		}
	}
}

// replaceWhole puts a file where another one is or nothing: it is written beside
// it, and only when all of it is on the disk does it take the name.
func replaceWhole(path string, data []byte, mode fs.FileMode) (err error) {
	file, err := os.CreateTemp(filepath.Dir(path), ".cueproof-*.part")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			file.Close()
			_ = os.Remove(file.Name()) // the write has failed already
		}
	}()
	if err := file.Chmod(mode); err != nil {
		return err
	}
	if _, err := file.Write(data); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	if err := file.Close(); err != nil {
		return err
	}
	return os.Rename(file.Name(), path)
}
