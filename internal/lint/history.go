package lint

import (
	"cmp"

	"github.com/cueproof/cueproof/internal/history"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/internal/waiver"
)

// History is what earlier runs of a show left behind; [Run] adds its own.
type History = history.History

// OpenHistory reads the history in a file; where there is none, it is empty. An
// error is a file that is something else and must not be written to.
func OpenHistory(name string) (*History, error) { return history.Open(name) }

// remember says what changed since last time and what looks like the wrong file,
// and adds this run to the history. A show that could not be read whole is not
// remembered: next time everything in it would be new.
// A history that is only asked says how the keys of earlier runs go on.
func (c *showCheck) remember(h *History, today string, asks bool) {
	if h == nil {
		return
	}
	told := &c.told
	if (told.Unreadable || c.show == nil) && asks {
		return
	}
	if told.Unreadable || c.show == nil {
		told.Since = append(told.Since, "This run is not in the history, because the show could not be read whole.")
		return
	}
	now := c.run(today)
	told.Keys = h.Keys(now)
	if asks {
		return
	}
	lost := h.Lost(now)
	told.Since = append(told.Since, h.Since(now)...)
	problems := h.Problems(now)
	c.uses = waiver.Join(c.uses, c.setup.accept(today, problems))
	told.Findings = append(told.Findings, problems...)
	if lost != "" {
		told.Since = append([]string{lost + " It is not remembered, so the next run is held against the one before."}, told.Since...)
		return
	}
	h.Add(now)
}

// run is what a history is told of a show.
func (c *showCheck) run(today string) history.Run {
	now := history.Run{
		Date: today, Path: c.told.Path, Show: c.show, Things: match.Of(c.show, tracking.Resolve(c.show)), Files: c.told.Files,
		Findings: pointers(c.told.Findings), Blind: c.blind(), Off: map[string]bool{},
	}
	for i := range c.told.Orders {
		now.Orders = append(now.Orders, c.told.Orders[i].Cures)
	}
	for _, rule := range c.setup.All.Rules {
		if _, runs := c.setup.Rules.Find(rule.ID); !runs {
			now.Off[rule.ID] = true
		}
	}
	for i, use := range c.uses {
		if use.Carried.Known {
			if now.Waivers == nil {
				now.Waivers = map[string]waiver.Target{}
			}
			now.Waivers[c.setup.House.Waivers[i].ID()] = use.Carried
		}
	}
	return now
}

// KeyNow answers a key of an earlier run with that of today, as far as a history or a
// base knows it; every other key is what it is.
func KeyNow(r *outcome.Report, key string) string {
	was := ""
	for i := range r.Shows {
		show := &r.Shows[i]
		for j := range show.Findings {
			f := &show.Findings[j]
			if f.Key() == key {
				return key
			}
			if f.Before != nil && f.Before.Key == key {
				was = f.Key()
			}
		}
		was = cmp.Or(was, show.Keys[key])
	}
	return cmp.Or(was, key)
}
