package lint

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
	"github.com/cueproof/cueproof/schema"
)

// otherReading is what the rules say of a show whose cues are read in the other of
// two ways: an export may not say whether channels that a cue does not list go off or
// keep their level. What both readings have is sure whichever is right; the rest is
// not, and is told as open.
type otherReading struct {
	fails map[string]finding.Finding // by identity
	goes  string                     // what unlisted channels do in the reading that is shown: "go off", "keep their level"
}

// missing is what would settle it, as a phrase that fits behind "give".
const missing = `whether channels that a cue does not list go off or keep their level (unlisted: off or keep in the house file, or --unlisted)`

// readOtherwise judges a show in the other reading; nil if nobody had to guess.
func readOtherwise(show *schema.Show, set *rules.Set) (*otherReading, error) {
	if show == nil {
		return nil, nil
	}
	o := &otherReading{fails: map[string]finding.Finding{}}
	var edits []source.Edit
	for _, cue := range show.Cues {
		if cue.Known.Of("tracking").Word != "inferred" {
			continue
		}
		other := "release"
		o.goes = "keep their level"
		if cue.Tracking == "release" {
			o.goes, other = "go off", "carry"
		}
		edits = append(edits, source.Edit{At: cue.At, Field: "tracking", Value: other})
	}
	if len(edits) == 0 {
		return nil, nil
	}
	changed, err := schema.Apply(show, edits)
	if err != nil {
		return nil, fmt.Errorf("read the cues in the other way: %w", err)
	}
	for _, f := range proof.Check(changed, set).Found {
		if f.Verdict == finding.Fail {
			o.fails[f.Identity()] = f
		}
	}
	return o, nil
}

// hold makes open what only the shown reading has.
func (o *otherReading) hold(found []finding.Finding) {
	if o == nil {
		return
	}
	for i := range found {
		f := &found[i]
		if f.Verdict != finding.Fail {
			continue
		}
		if _, both := o.fails[f.Identity()]; !both {
			*f = unsure(*f, o.goes)
		}
	}
}

// more returns what only the other reading has, as open. It is to be asked before hold.
func (o *otherReading) more(found []finding.Finding) []finding.Finding {
	if o == nil {
		return nil
	}
	left := map[string]bool{}
	for identity := range o.fails {
		left[identity] = true
	}
	for i := range found {
		delete(left, found[i].Identity())
		open := found[i]
		open.Verdict = finding.Fail
		delete(left, open.Identity()) // told as open anyway
	}
	otherwise := map[string]string{"go off": "keep their level", "keep their level": "go off"}[o.goes]
	var list []finding.Finding
	for identity := range left {
		list = append(list, unsure(o.fails[identity], otherwise))
	}
	finding.Sort(list)
	return list
}

// unsure is a finding that only one reading has.
func unsure(f finding.Finding, goes string) finding.Finding {
	f.Verdict = finding.Open
	f.Message = fmt.Sprintf("Could not tell. If channels that a cue does not list %s: %s", goes, f.Message)
	f.Missing = append(f.Missing, missing)
	f.Remedies = nil
	return f
}
