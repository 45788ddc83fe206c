package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"
)

// patience is how long something takes before it says what it does.
const patience = 500 * time.Millisecond

// progress says on a terminal what a run does and how far it is, once it takes longer
// than patience, in one line that goes away.
type progress struct {
	mu    sync.Mutex
	out   io.Writer // nil: nobody looks
	since time.Time
	wide  int // of the line that stands there
}

// progressOn looks at standard error of a command: where that is no terminal, nothing is
// ever said.
func progressOn(command *cobra.Command) *progress {
	p := &progress{since: time.Now()}
	if file, ok := command.ErrOrStderr().(*os.File); ok && isatty.IsTerminal(file.Fd()) && os.Getenv("TERM") != "dumb" {
		p.out = file
	}
	return p
}

// tell says what is being done; of is 0 where nobody knows how much there is.
func (p *progress) tell(what string, done, of int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.out == nil || time.Since(p.since) < patience {
		return
	}
	text := what
	if of > 0 {
		text = fmt.Sprintf("%s, %d of %d", what, min(done+1, of), of)
	}
	_, _ = fmt.Fprintf(p.out, "\r%-*s", p.wide, text) // who cannot be told waits in silence
	p.wide = len(text)
}

// done takes the line away, before anything else is said.
func (p *progress) done() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.out != nil && p.wide > 0 {
		_, _ = fmt.Fprintf(p.out, "\r%*s\r", p.wide, "")
		p.wide = 0
	}
	p.out = nil
}
