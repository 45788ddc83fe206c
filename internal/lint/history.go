package lint

import (
	"github.com/cueproof/cueproof/internal/history"
)

// History is what earlier runs of a show left behind; [Run] adds its own.
type History = history.History

// OpenHistory reads the history in a file; where there is none, it is empty. An
// error is a file that is something else and must not be written to.
func OpenHistory(name string) (*History, error) { return history.Open(name) }

// remember says what changed since last time and what looks like the wrong file,
// and adds this run to the history. A show that could not be read whole is not
// remembered: next time everything in it would be new.
func (c *checked) remember(h *History, today string) {
	if h == nil {
		return
	}
	told := &c.told
	if told.Unreadable || c.show == nil {
		told.Since = append(told.Since, "This run is not in the history, because the show could not be read whole.")
		return
	}
	now := history.Run{
		Date: today, Show: c.show, Files: told.Files, Findings: pointers(told.Findings), Blind: c.blind(),
	}
	told.Since = append(told.Since, h.Since(now))
	problems := h.Problems(now)
	h.Add(now)
	for i, covered := range c.setup.accept(today, problems) {
		c.covers[i] = c.covers[i] || covered
	}
	told.Findings = append(told.Findings, problems...)
}
