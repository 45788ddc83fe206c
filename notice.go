// Package cueproof holds what stands at the top of the checkout and travels inside the
// program: the terms of its own and of the work of others that it links.
package cueproof

import _ "embed"

// Licence is the text of LICENSE.
//
//go:embed LICENSE
var Licence string

// Notices is the text of NOTICE.md, which .ci/tools/notices writes.
//
//go:embed NOTICE.md
var Notices string
