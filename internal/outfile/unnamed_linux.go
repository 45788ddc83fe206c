package outfile

import (
	"fmt"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// openUnnamed opens a file in a folder that has no name there, so that nothing is
// left of it if the program is killed before it gets one. Not every file system can.
func openUnnamed(folder string, mode fs.FileMode) (*os.File, error) {
	file, err := os.OpenFile(folder, unix.O_TMPFILE|os.O_RDWR, mode)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(handleOf(file)); err != nil { // by which it would get its name
		file.Close()
		return nil, err
	}
	return file, nil
}

func handleOf(file *os.File) string { return fmt.Sprintf("/proc/self/fd/%d", file.Fd()) }

// name gives such a file a name that nothing else has.
func name(file *os.File, path string) error {
	return unix.Linkat(unix.AT_FDCWD, handleOf(file), unix.AT_FDCWD, path, unix.AT_SYMLINK_FOLLOW)
}
