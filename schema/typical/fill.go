package typical

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
	"github.com/cueproof/cueproof/schema"
)

// Fill puts the numbers of built-in types into the types of a show that name one,
// where the show gives none itself, and marks them as assumed, each with its range.
// What the show gives wins, and what cannot stand beside it is left out: a type with
// a photometric file keeps its beam. A name that is not built in is a finding. Types that mix
// colours and do not tell of what get the usual emitters.
func Fill(show *schema.Show) []finding.Finding {
	var found []finding.Finding
	for _, t := range show.Types {
		if t.Typical == "" {
			continue
		}
		entry, ok := Find(t.Typical)
		if !ok {
			found = append(found, unknown(t))
			continue
		}
		fill(t, entry)
	}
	engines(show)
	return found
}

func unknown(t *schema.Type) finding.Finding {
	f := finding.Finding{
		Rule: "file/unknown-typical", Level: finding.Error, Verdict: finding.Fail, Consequence: finding.Dark,
		Subjects: []finding.Subject{{Kind: "type", Name: source.Shorten(t.Name)}},
		Message: fmt.Sprintf("the type %q is said to be typical %q, and no such type is built in.%s",
			source.Shorten(t.Name), source.Shorten(t.Typical), spelling.Hint(source.Shorten(t.Typical), Names())),
		Hint: "cueproof schema --typical lists them; each may have its own angle, watts or emitters",
	}
	if !t.At.IsZero() {
		f.Place = t.At.Place()
		if member, ok := t.At.Get("typical"); ok {
			f.Place = member.Place()
		}
	}
	return f
}

// instead lists the keys that answer what another one would: who gives one of them
// needs no number of ours for the other.
var instead = map[string][]string{
	"flux_lm":       {"peak_cd", "photometry", "emitters"},
	"beam_deg":      {"photometry", "zoom"},
	"field_deg":     {"photometry", "zoom"},
	"zoom":          {"photometry", "beam_deg", "field_deg"},
	"slots":         {"modes", "breaks"},
	"white_k":       {"emitters", "white_range_k"},
	"white_range_k": {"emitters", "white_k"},
	"emitters":      {"white_k", "white_range_k"},
	"watts":         nil,
	"filters":       nil,
}

// colourKeys make sense for the source of light that they were written for.
var colourKeys = []string{"white_k", "white_range_k", "emitters", "filters", "halogen", "machine", "cri"}

func fill(t *schema.Type, entry Entry) {
	given := keysOf(t)
	other := given["source"] && t.Source != entry.Type.Source
	from := reflect.ValueOf(&entry.Type).Elem()
	to := reflect.ValueOf(t).Elem()
	known := maps.Clone(t.Known)
	if known == nil {
		known = schema.Known{}
	}
	for i := range to.NumField() {
		key, _, _ := strings.Cut(to.Type().Field(i).Tag.Get("json"), ",")
		if key == "" || key == "-" || key == "known" || given[key] || from.Field(i).IsZero() {
			continue
		}
		if other && slices.Contains(colourKeys, key) || slices.ContainsFunc(instead[key], func(k string) bool { return given[k] }) {
			continue
		}
		to.Field(i).Set(from.Field(i))
		if how, said := entry.Type.Known[key]; said {
			known[key] = how
		} else {
			known[key] = schema.Knowing{Word: "assumed"}
		}
	}
	t.Known = known
	fitBeam(t, given, entry)
}

// fitBeam keeps beam and field angle in the proportion of the built-in type where the
// show gives only one of them.
func fitBeam(t *schema.Type, given map[string]bool, entry Entry) {
	usual := entry.Type
	if t.BeamDeg == nil || t.FieldDeg == nil || usual.BeamDeg == nil || usual.FieldDeg == nil {
		return
	}
	part := *usual.BeamDeg / *usual.FieldDeg
	switch {
	case given["field_deg"] && !given["beam_deg"]:
		beam := *t.FieldDeg * part
		t.BeamDeg, t.Known["beam_deg"] = &beam, between(beam*0.75, min(beam*1.3, *t.FieldDeg*0.95))
	case given["beam_deg"] && !given["field_deg"]:
		field := min(*t.BeamDeg/part, 175)
		t.FieldDeg, t.Known["field_deg"] = &field, between(max(field*0.75, *t.BeamDeg*1.05), min(field*1.3, 178))
	}
}

// keysOf lists what a type was given.
func keysOf(t *schema.Type) map[string]bool {
	given := map[string]bool{}
	v := reflect.ValueOf(t).Elem()
	for i := range v.NumField() {
		if key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ","); key != "" && key != "-" && !v.Field(i).IsZero() {
			given[key] = true
		}
	}
	return given
}
