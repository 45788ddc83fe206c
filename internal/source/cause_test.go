package source

import (
	"errors"
	"os"
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
