package lint

import (
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	earlier "github.com/cueproof/cueproof/internal/compare"
	"github.com/cueproof/cueproof/internal/outcome"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// receipt says what was checked: last, when the verdict is known.
func (c *showCheck) receipt(o Options) {
	r := &outcome.Receipt{Day: o.House.Today, Version: o.Version, Edition: c.setup.edition(), Rules: rulesDigest(c.setup.Rules), Verdict: c.told.Verdict, Files: digests(c.told.Path, c.told.Files)}
	for i := range c.told.Orders {
		r.Orders = append(r.Orders, c.told.Orders[i].Do)
	}
	all := r.Rules
	for _, f := range r.Files {
		all += "\x00" + f.Name + "\x00" + f.SHA256
	}
	sum := sha256.Sum256([]byte(all))
	// The letters of keys: no I, L, O or U, which are mistaken for others.
	r.Number = "R-" + base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").EncodeToString(sum[:])[:5]
	c.told.Receipt = r
}

// edition is that of the rules that look.
func (s *Setup) edition() int {
	if s.House != nil && s.House.Edition > 0 {
		return s.House.Edition
	}
	return newest(s.Rules)
}

// digests lists the files of a show by their names from its folder.
func digests(path string, files []*source.File) []outcome.Digest {
	list := make([]outcome.Digest, 0, len(files))
	for _, f := range files {
		name := strings.TrimPrefix(f.Name, strings.TrimSuffix(filepath.ToSlash(path), "/")+"/")
		if name == f.Name {
			name = filepath.Base(filepath.FromSlash(name)) // the show is one file
		}
		list = append(list, outcome.Digest{Name: name, SHA256: digest(f.Text)})
	}
	slices.SortFunc(list, func(a, b outcome.Digest) int { return strings.Compare(a.Name, b.Name) })
	return list
}

// digest is the SHA-256 of a text, of which no copy is made.
func digest(text string) string {
	sum := sha256.New()
	part := make([]byte, min(len(text), 64<<10))
	for len(text) > 0 {
		n := copy(part, text)
		_, _ = sum.Write(part[:n]) // a hash takes everything
		text = text[n:]
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// rulesDigest tells two sets of rules and limits apart.
func rulesDigest(set *rules.Set) string {
	var words []string
	for _, rule := range set.Rules {
		words = append(words, rule.ID, string(rule.Level), rule.Expect)
		for _, l := range rule.Limits {
			words = append(words, l.Name, rules.FormatNumber(l.Value))
		}
	}
	sum := sha256.Sum256([]byte(strings.Join(words, "\x00")))
	return hex.EncodeToString(sum[:8])
}

// Verification is a show held against a receipt.
type Verification struct {
	Receipt                outcome.Receipt
	Changed, Missing, More []string // files by name
	Unread                 []string // files in the folder that look like a part of a show and are not read, in sentences
	OtherRules             bool     // the rules of now are not those that looked then
}

// Same reports whether the files are those that were checked.
func (v *Verification) Same() bool { return len(v.Changed)+len(v.Missing)+len(v.More) == 0 }

// Verify holds a show against the receipt in a JSON report of an earlier run. The
// error says what is wrong with either.
func Verify(receipt, show string, o Options) (*Verification, error) {
	info, err := os.Stat(receipt)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", receipt, source.Cause(err))
	}
	data, err := reportBytes(receipt, info)
	if err != nil && !errors.Is(err, earlier.ErrNoReport) { // what is none is no JSON either
		return nil, err
	}
	var report struct {
		Schema string
		Shows  []struct {
			Path    string
			Receipt *struct {
				Number, Day, Version, Rules, Verdict string
				Files                                []struct{ Name, SHA256 string }
				Orders                               []string
			}
		}
	}
	if err := json.Unmarshal(data, &report); err != nil || !strings.HasPrefix(report.Schema, "cueproof-findings-") {
		return nil, fmt.Errorf("%s is no JSON report of this program; cueproof check --format json writes one with its receipt", receipt)
	}
	if len(report.Shows) != 1 || report.Shows[0].Receipt == nil {
		return nil, fmt.Errorf("%s has no receipt of one show", receipt)
	}
	setup, err := SetUp(show, o)
	if err != nil {
		return nil, err
	}
	loaded, err := o.load(show, setup)
	if err != nil {
		return nil, err
	}
	if len(loaded.Files) == 0 {
		return nil, fmt.Errorf("%s: nothing of the show could be read", show)
	}
	told := report.Shows[0].Receipt
	var unread []string
	for i := range loaded.Findings {
		if f := &loaded.Findings[i]; f.Rule == "file/unused-file" {
			unread = append(unread, f.Message)
		}
	}
	v := &Verification{Unread: unread, Receipt: outcome.Receipt{
		Number: told.Number, Day: told.Day, Version: told.Version, Rules: told.Rules, Verdict: outcome.Readiness(told.Verdict), Orders: told.Orders,
	}}
	then := map[string]string{}
	for _, f := range told.Files {
		then[f.Name] = f.SHA256
		v.Receipt.Files = append(v.Receipt.Files, outcome.Digest{Name: f.Name, SHA256: f.SHA256})
	}
	for _, f := range digests(show, loaded.Files) {
		switch was, there := then[f.Name]; {
		case !there:
			v.More = append(v.More, f.Name)
		case was != f.SHA256:
			v.Changed = append(v.Changed, f.Name)
		}
		delete(then, f.Name)
	}
	for name := range then {
		v.Missing = append(v.Missing, name)
	}
	slices.Sort(v.Missing)
	v.OtherRules = rulesDigest(setup.Rules) != told.Rules
	return v, nil
}
