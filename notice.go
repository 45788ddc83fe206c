// Package cueproof holds what stands at the top of the checkout and travels inside the
// program: the terms of its own and of the work of others that it links, and the show that
// people practise on.
package cueproof

import (
	"embed"
	"io/fs"
)

// Licence is the text of LICENSE.
//
//go:embed LICENSE
var Licence string

// Notices is the text of NOTICE.md, which .ci/tools/notices writes.
//
//go:embed NOTICE.md
var Notices string

//go:embed testdata/shows/mended/*.json
var demo embed.FS

// Demo returns the files of the sound evening.
func Demo() fs.FS {
	sub, err := fs.Sub(demo, "testdata/shows/mended")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return sub
}
