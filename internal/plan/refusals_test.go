package plan

import (
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
)

// What was refused is not tried again as long as all that stood against it is as it was.
func TestARefusalStands(t *testing.T) {
	state := func(banding, dark float64) *proof.State {
		of := func(rule string, value float64) finding.Finding {
			return finding.Finding{Rule: rule, Subjects: []finding.Subject{{Kind: "channel", Name: "1"}}, Amount: &finding.Amount{Value: value}}
		}
		return &proof.State{Found: []finding.Finding{of("camera/banding", banding), of("people/key-low", dark)}}
	}
	was := refusalBy(state(11, 3), "dynamics/quiet-too-bright", "camera/banding")
	if !was.stands(state(11, 3)) || !was.stands(state(11, 5)) {
		t.Error("it is tried again though nothing that stood against it has changed")
	}
	if was.stands(state(9, 3)) || was.stands(&proof.State{}) {
		t.Error("it is not tried again though what it made worse is another")
	}
	list := refusals{"a": was, "b": {}}
	if list.reconsider(state(11, 5)); len(list) != 1 {
		t.Errorf("%d refusals are left, not the one that says what stood against it", len(list))
	}
}
