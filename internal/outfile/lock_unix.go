//go:build darwin || linux || dragonfly || freebsd || netbsd || openbsd

package outfile

import (
	"errors"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
)

// closesFirst is whether a file has to be closed before it can get another name.
const closesFirst = false

// flock takes the lock on an open file or folder, or says who cannot.
func flock(file *os.File) error {
	for {
		err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == nil:
			return nil
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errBusy
		default:
			return err
		}
	}
}

// tryLock locks the folder itself, which leaves nothing behind. Where a file
// system cannot do that, a file in it stands for it, and is taken away with the lock.
func tryLock(folder string) (unlock func(), err error) {
	if file, err := os.Open(folder); err == nil {
		switch err := flock(file); {
		case err == nil:
			return func() { file.Close() }, nil
		case errors.Is(err, errBusy):
			file.Close()
			return nil, errBusy
		}
		file.Close()
	}
	return tryLockFile(filepath.Join(folder, lockName))
}

func tryLockFile(path string) (unlock func(), err error) {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, 0o666)
	if err != nil {
		return nil, err
	}
	if err := flock(file); err != nil {
		file.Close()
		return nil, err
	}
	if !isAt(file, path) { // whoever had the lock has taken the file away with it
		file.Close()
		return nil, errBusy
	}
	return func() {
		_ = os.Remove(path)
		file.Close()
	}, nil
}

// isAt reports whether an open file is the one that has a name now.
func isAt(file *os.File, path string) bool {
	here, err1 := file.Stat()
	there, err2 := os.Lstat(path)
	return err1 == nil && err2 == nil && os.SameFile(here, there)
}

// hold says of a part that it is still being made, and reports whether it is
// there. On a file system without locks nobody clears away either.
func hold(file *os.File, path string, unnamed bool) bool {
	return !errors.Is(flock(file), errBusy) && (unnamed || isAt(file, path))
}

func clearPart(path string) {
	file, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NOFOLLOW|syscall.O_NONBLOCK, 0)
	if err != nil {
		return
	}
	defer file.Close()
	if flock(file) != nil {
		return
	}
	if info, err := file.Stat(); err == nil && info.IsDir() {
		removeFolder(path)
		return
	}
	_ = os.Remove(path)
}

func createFile(path string, mode fs.FileMode) (*os.File, error) {
	return os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
}

func makeFolder(path string) (*os.File, bool, error) {
	if err := os.Mkdir(path, 0o755); err != nil {
		return nil, false, err
	}
	file, err := os.Open(path)
	return file, false, err
}

// renameFolder also takes the place of an empty folder, in one step.
func renameFolder(from, to string) error { return syscall.Rename(from, to) }

// endBy ends the program as the signal would have.
func endBy(s os.Signal) {
	signal.Reset(s)
	if number, ok := s.(syscall.Signal); ok {
		_ = syscall.Kill(syscall.Getpid(), number)
	}
	select {}
}
