package lint

import "github.com/cueproof/cueproof/internal/finding"

// Found is all that is found in a show, files included, without looking for orders: for
// those who check one show many times.
func Found(path string, o Options) ([]finding.Finding, error) {
	c, _, _, err := judge(path, o, nil)
	return c.told.Findings, err
}
