package plan

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/proof"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// The lamp that left the row goes back to where the row has room for it, and not to the first
// slot that is free somewhere.
func TestAddressesGoBackToTheirRow(t *testing.T) {
	for _, tc := range []struct{ lamps, about, want string }{
		{"1 1.1 a|2 1.2 a|3 1.4 a|4 1.4 a", "4", "3 address 1.3"},                                // the other of two left it
		{"15 1.25 a|16 1.42 a|17 1.27 a|21 1.41 c|22 1.45 c|23 1.49 c", "21", "16 address 1.26"}, // and it lies within this one
		{"15 1.25 a|16 1.42 a|17 1.43 a|21 1.41 c|22 1.45 c|23 1.49 c", "21", ""},                // nobody knows which of three
		{"1 1.1 a|2 1.6 b|3 1.11 a|4 1.1 a|5 1.21 b", "4", "4 address 1.16"},                     // number and address go together, whatever the types are
		{"1 1.1 a|2 1.2 a|3 1.3 a|4 1.4 a|5 1.11 c|6 1.13 c", "6", "6 address 1.15"},
		{"11 1.21 c|12 1.26 d|13 1.31 c|14 1.36 c", "13", ""}, // nobody knows of another mode
		{"1 1.1 a|2 1.9 a|3 1.9 b", "3", "2 address 1.2"},     // behind its twin
		{"1 1.1 a|2 1.9 b|3 1.9 c", "3", ""},
		{"1 1.1 a|2 1.99 a|3 1.11 a", "2", "2 address 1.6"},  // between the first and the third
		{"1 1.1 a|2 1.6 a|3 1.99 a", "3", "3 address 1.11"},  // behind the first two
		{"1 1.99 a|2 1.11 a|3 1.16 a", "1", "1 address 1.6"}, // before two others
		{"1 1.99 a|2 1.6 a|3 1.11 a", "1", "1 address 1.1"},  // the first slot of a universe
		{"1 1.99 a|2 1.5 a|3 1.10 a", "1", ""},
		{"1 1.502 a|2 1.507 a|3 1.99 a", "3", "3 address 1.512"}, // and the last
		{"1 1.503 a|2 1.508 a|3 1.99 a", "3", "3 address 1.509"}, // where the row has no room, behind its twin
	} {
		var patch []string
		for lamp := range strings.SplitSeq(tc.lamps, "|") {
			f := strings.Fields(lamp)
			patch = append(patch, fmt.Sprintf(`{"channel": %s, "address": %q, "type": %q}`, f[0], f[1], f[2]))
		}
		show := read(t, `{"types": [{"name": "a", "slots": 1}, {"name": "b", "slots": 2}, {"name": "c", "slots": 4}, {"name": "d", "slots": 9}], "patch": [`+strings.Join(patch, ",")+`]}`)
		o := (&prover{Options: Options{Rules: rules.Own()}, start: &proof.State{Show: show}}).offers(&proof.State{Show: show})
		got := ""
		o.outOfRow(&finding.Finding{Rule: "patch/address-overlap", Subjects: []finding.Subject{{Kind: "channel", Name: tc.about}}}, func(_ string, edits ...source.Edit) {
			if got == "" {
				got = fmt.Sprint(o.words.fixture(edits[0].At).Channel, " ", edits[0].Field, " ", edits[0].Value)
			}
		})
		if got != tc.want {
			t.Errorf("%s, about %s: %q, not %q", tc.lamps, tc.about, got, tc.want)
		}
	}
}

// A lamp that was set to a longer mode than its twins is set back before others move.
func TestALongerModeGoesBack(t *testing.T) {
	show := read(t, `{"types": [{"name": "wash", "modes": [{"name": "short", "slots": 5}, {"name": "long", "slots": 9}]}], "patch": [
		{"channel": 1, "address": "1.1", "type": "wash", "mode": "short"}, {"channel": 2, "address": "1.6", "type": "wash", "mode": "long"},
		{"channel": 3, "address": "1.11", "type": "wash", "mode": "short"}, {"channel": 4, "address": "1.16", "type": "wash", "mode": "short"}]}`)
	o := (&prover{Options: Options{Rules: rules.Own()}, start: &proof.State{Show: show}}).offers(&proof.State{Show: show})
	var said []string
	o.outOfRow(&finding.Finding{Rule: "patch/address-overlap", Subjects: []finding.Subject{{Kind: "channel", Name: "3"}}}, func(_ string, edits ...source.Edit) {
		said = append(said, o.words.do(edits))
	})
	if len(said) == 0 || !strings.Contains(said[0], `channel 2) to the mode "short"`) && !strings.Contains(said[0], `channel 2 to the mode "short"`) {
		t.Errorf("it is not said first: %q", said)
	}
}
