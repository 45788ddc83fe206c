package source

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestCauseHasNoPath(t *testing.T) {
	plain := errors.New("no more room")
	for _, c := range []struct {
		err  error
		want string
	}{
		{&os.PathError{Op: "open", Path: "/secret/place", Err: os.ErrPermission}, "permission denied"},
		{&os.LinkError{Op: "rename", Old: "/secret/a", New: "/secret/b", Err: os.ErrExist}, "file already exists"},
		{errors.New("EvalSymlinks: too many links"), "too many links"},
		{plain, "no more room"},
	} {
		if got := Cause(c.err).Error(); got != c.want {
			t.Errorf("%v: %q, want %q", c.err, got, c.want)
		}
	}
}

// TestTheFirstBytesOfAFile are all of one that is as long as is allowed, and one more of any that is longer.
func TestTheFirstBytesOfAFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "file")
	for text, want := range map[string]string{"": "", "abc": "abc", "abcd": "abcd", "abcde": "abcde", "abcdef": "abcde", "abcdefghi": "abcde"} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if got, err := ReadFirst(name, 4); err != nil || string(got) != want {
			t.Errorf("of %q four and one are %q, %v", text, got, err)
		}
	}
	if got, err := ReadFirst(name+"s", 4); got != nil || !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %q, %v", got, err)
	}
}
