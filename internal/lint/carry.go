package lint

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/history"
	"github.com/cueproof/cueproof/internal/match"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/tracking"
	"github.com/cueproof/cueproof/internal/waiver"
	"github.com/cueproof/cueproof/schema"
)

// carry says of the waivers of the house what they are about by the names that the
// show has today: what the history knows of each, or else what it covered in the
// earlier state. A waiver that neither knows was written in the names of today.
func (s *Setup) carry(path string, show *schema.Show, files []*source.File, h *History, then *showCheck) {
	if s.House == nil || len(s.House.Waivers) == 0 || h == nil && then == nil || show == nil {
		return
	}
	things := match.Of(show, tracking.Resolve(show))
	known := map[string]waiver.Target{}
	if then != nil && then.setup.House != nil {
		pairs := match.Pair(match.Of(then.show, tracking.Resolve(then.show)), things)
		for i, use := range then.uses {
			if use.Carried.Known {
				known[then.setup.House.Waivers[i].ID()] = waiver.Target{Known: true, Whole: use.Carried.Whole, About: namesNow(pairs, use.Carried.About)}
			}
		}
	}
	if h != nil {
		for id, c := range h.Waivers(history.Run{Path: path, Show: show, Files: files, Things: things}) {
			known[id] = c
		}
	}
	s.carried = make([]waiver.Target, len(s.House.Waivers))
	for i := range s.House.Waivers {
		s.carried[i] = known[s.House.Waivers[i].ID()]
	}
}

// namesNow gives things of then their names of now; nil if one of them is no more.
func namesNow(pairs *match.Pairs, about []finding.Subject) (now []finding.Subject) {
	for _, one := range about {
		link, ok := pairs.Now(one.Kind, one.Name)
		if !ok {
			return nil
		}
		now = append(now, finding.Subject{Kind: one.Kind, Name: link.Name})
	}
	return now
}
