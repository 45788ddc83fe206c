package stage

import (
	"slices"
)

// AddMissing adds a phrase for what is missing to a list in which each stands once;
// "" is nothing missing.
func AddMissing(list []string, phrase string) []string {
	if phrase == "" || slices.Contains(list, phrase) {
		return list
	}
	return append(list, phrase)
}
