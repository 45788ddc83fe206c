package lint

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/house"
	"github.com/cueproof/cueproof/internal/waiver"
)

// Waivers is what became of the waivers of a house file in shows that use it.
type Waivers struct {
	Path  string // of the house file
	Named bool   // it was named on the command line
	List  []WaiverUse
}

// WaiverUse is one waiver of a house file with what it does tonight.
type WaiverUse struct {
	waiver.Waiver
	Accepts  []finding.Finding // by key
	Problems []finding.Finding // what is wrong with it
	Stale    bool              // it covers nothing any more, or its day is over
	Today    string            // what it would be written for today, if that is otherwise; else ""
}

// LookAtWaivers checks shows of one house file and says what became of each of its
// waivers. The error is also for shows with several house files or with none.
func LookAtWaivers(paths []string, o Options) (*Waivers, error) {
	base, err := baseOf(paths, o)
	if err != nil {
		return nil, err
	}
	each, errs := make([]showCheck, len(paths)), make([]error, len(paths))
	if err := cores.Jobs(len(paths), func(i int) { each[i], _, _, errs[i] = judge(paths[i], o, base.earlier()) }); err != nil {
		return nil, err
	}
	w := &Waivers{}
	var uses []waiver.Use
	var found []finding.Finding
	for i := range each {
		switch c := &each[i]; {
		case errs[i] != nil:
			return nil, errs[i]
		case c.told.Unreadable:
			return nil, fmt.Errorf("a file of %s cannot be read, so nobody can say what its waivers cover; cueproof check %s says which", paths[i], paths[i])
		case c.setup.House == nil:
			return nil, fmt.Errorf("%s has no house file, so nothing is accepted in it", paths[i])
		case w.Path != "" && w.Path != c.setup.Found.Path:
			return nil, fmt.Errorf("%s and %s have two house files; look at one at a time", paths[0], paths[i])
		case i == 0:
			w.Path, w.Named = c.setup.Found.Path, o.House.File != ""
			for _, one := range c.setup.House.Waivers {
				w.List = append(w.List, WaiverUse{Waiver: one})
			}
		case !w.Same(c.setup.House.Waivers):
			return nil, fmt.Errorf("%s: somebody changed the waivers while they were looked at; look again", w.Path)
		}
		for k, one := range each[i].setup.House.Waivers { // each show has read the file for itself
			for _, f := range each[i].told.Findings {
				if a := f.Accepted; a != nil && a.Place == one.Place {
					w.List[k].Accepts = append(w.List[k].Accepts, f)
				}
			}
		}
		uses = waiver.Join(uses, each[i].uses)
		found = append(found, each[i].told.Findings...)
	}
	problems := waiver.Problems(each[0].setup.House.Waivers, uses, found, o.House.Today)
	for i := range w.List {
		u := &w.List[i]
		for _, f := range problems {
			if f.Place == u.Place || f.Place == u.UntilPlace {
				u.Problems = append(u.Problems, f)
			}
			u.Stale = u.Stale || f.Rule == "file/waiver-expired" && f.Place == u.UntilPlace ||
				f.Rule == "file/waiver-unmatched" && f.Place == u.Place && tellable(u.Rule, each, found)
		}
		if u.Renamed(&uses[i]) != "" {
			u.Today = uses[i].Carried.Subject()
		}
	}
	return w, nil
}

// tellable reports whether a rule looked in all shows and could tell of all it looked
// at: only then is a waiver that covers nothing one that nobody needs.
func tellable(rule string, shows []showCheck, found []finding.Finding) bool {
	if strings.HasPrefix(rule, "file/") {
		return true
	}
	for i := range shows {
		if !slices.ContainsFunc(shows[i].told.Looked, func(t finding.Tally) bool { return t.Rule == rule && t.Subjects > 0 }) {
			return false
		}
	}
	return !slices.ContainsFunc(found, func(f finding.Finding) bool { return f.Rule == rule && f.Verdict == finding.Open })
}

// Change is the text of the house file without its stale waivers, if those are to go,
// and with today's names, if those are to be written.
func (w *Waivers) Change(name string, data []byte, prune, rewrite bool) ([]byte, error) {
	subjects := map[int]string{}
	var stale []int
	for i := range w.List {
		if u := &w.List[i]; rewrite && u.Today != "" && !(prune && u.Stale) {
			subjects[i] = u.Today
		}
		if w.List[i].Stale && prune {
			stale = append(stale, i)
		}
	}
	data, err := house.Rename(name, data, subjects)
	if err != nil {
		return nil, err
	}
	return house.Without(name, data, stale)
}

// Same reports whether these are still the waivers that were looked at.
func (w *Waivers) Same(now []waiver.Waiver) bool {
	return slices.EqualFunc(w.List, now, func(a WaiverUse, b waiver.Waiver) bool { return a.Waiver.Same(b) })
}
