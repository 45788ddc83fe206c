package outfile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// closesFirst is whether a file has to be closed before it can get another name.
const closesFirst = true

// What package syscall has no name for.
const (
	accessDelete     = 0x00010000        // DELETE
	deleteOnClose    = 0x04000000        // FILE_FLAG_DELETE_ON_CLOSE
	sharingViolation = syscall.Errno(32) // ERROR_SHARING_VIOLATION
	notShared        = 0
)

// openAlone opens a file that nobody else can open or take away meanwhile.
func openAlone(path string, access, how, flags uint32) (*os.File, error) {
	text, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: path, Err: err}
	}
	handle, err := syscall.CreateFile(text, access, notShared, nil, how, syscall.FILE_ATTRIBUTE_NORMAL|flags, 0)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: path, Err: err}
	}
	return os.NewFile(uintptr(handle), path), nil
}

// tryLock makes a file that the system takes away when it is closed, also by the
// end of a killed program.
func tryLock(folder string) (unlock func(), err error) {
	file, err := openAlone(filepath.Join(folder, lockName), syscall.GENERIC_WRITE|accessDelete, syscall.OPEN_ALWAYS, deleteOnClose)
	switch {
	case err == nil:
		return func() { file.Close() }, nil
	case errors.Is(err, sharingViolation), errors.Is(err, syscall.ERROR_ACCESS_DENIED): // the second while it is being taken away
		return nil, errBusy
	}
	return nil, err
}

// hold has nothing to do: what is open cannot be taken away here.
func hold(*os.File, string, bool) bool { return true }

// clearPart takes away what nobody has open. Between closing a part and giving it
// its name nobody has, so what is fresh stays.
func clearPart(path string) {
	info, err := os.Lstat(path)
	switch {
	case err != nil || time.Since(info.ModTime()) < time.Minute:
	case info.IsDir():
		removeFolder(path)
	default:
		_ = os.Remove(path)
	}
}

func createFile(path string, _ fs.FileMode) (*os.File, error) {
	return openAlone(path, syscall.GENERIC_READ|syscall.GENERIC_WRITE, syscall.CREATE_NEW, 0)
}

// makeFolder makes a folder that cannot get another name while a file in it is open.
func makeFolder(path string) (*os.File, bool, error) {
	if err := os.Mkdir(path, 0o755); err != nil {
		return nil, false, err
	}
	file, err := openAlone(filepath.Join(path, lockName), syscall.GENERIC_WRITE|accessDelete, syscall.CREATE_NEW, deleteOnClose)
	return file, false, err
}

// renameFolder also takes the place of an empty folder.
func renameFolder(from, to string) error {
	_ = os.Remove(to)
	return os.Rename(from, to)
}

// endBy ends the program; nothing here can be ended by a signal.
func endBy(os.Signal) { os.Exit(130) }
