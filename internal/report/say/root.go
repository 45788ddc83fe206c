package say

import (
	"path/filepath"
	"strings"
)

// UnderRoot names a file from a folder, such as that of a repository, wherever the
// program was started: with forward slashes, and as it is where it lies outside of
// the folder or there is none.
func UnderRoot(root, name string) string {
	if root == "" || name == "" {
		return name
	}
	folder, err := filepath.Abs(root)
	if err != nil {
		return name
	}
	file, err := filepath.Abs(filepath.FromSlash(name))
	if err != nil {
		return name
	}
	inside, err := filepath.Rel(folder, file)
	if err != nil || inside == ".." || strings.HasPrefix(inside, ".."+string(filepath.Separator)) {
		return name
	}
	return filepath.ToSlash(inside)
}
