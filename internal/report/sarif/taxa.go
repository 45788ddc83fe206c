package sarif

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
)

// sarifTaxonomy is a published standard that rules hold shows against.
type sarifTaxonomy struct {
	Name             string       `json:"name"`
	Version          string       `json:"version"`
	Organization     string       `json:"organization"`
	ShortDescription *sarifText   `json:"shortDescription"`
	InformationURI   string       `json:"informationUri"`
	Taxa             []sarifTaxon `json:"taxa"`
}

type sarifTaxon struct {
	ID               string     `json:"id"`
	Name             string     `json:"name"`
	ShortDescription *sarifText `json:"shortDescription"`
}

type sarifRelation struct {
	Target sarifTarget `json:"target"`
	Kinds  []string    `json:"kinds"`
}

type sarifTarget struct {
	ID        string         `json:"id"`
	Index     int            `json:"index"`
	Component sarifComponent `json:"toolComponent"`
}

type sarifComponent struct {
	Name  string `json:"name"`
	Index int    `json:"index"`
}

// standards are the published limits that the sources of rules name, with the part of
// each that is meant.
var standards = []struct {
	in       string // how a source names it
	taxonomy sarifTaxonomy
}{
	{"WCAG 2.2", sarifTaxonomy{
		Name: "WCAG", Version: "2.2", Organization: "World Wide Web Consortium", InformationURI: "https://www.w3.org/TR/WCAG22/",
		ShortDescription: &sarifText{Text: "Web Content Accessibility Guidelines."},
		Taxa:             []sarifTaxon{{"2.3.1", "ThreeFlashesOrBelowThreshold", &sarifText{Text: "Three flashes or below threshold."}}},
	}},
	{"BT.1702", sarifTaxonomy{
		Name: "ITU-R BT.1702", Version: "3", Organization: "International Telecommunication Union", InformationURI: "https://www.itu.int/rec/R-REC-BT.1702",
		ShortDescription: &sarifText{Text: "Guidance for the reduction of photosensitive epileptic seizures caused by television."},
		Taxa:             []sarifTaxon{{"flashes", "Flashes", &sarifText{Text: "Flashes of luminance and of saturated red."}}},
	}},
}

// relations says which published limits a rule holds shows against, and lists the
// standards that they are from.
func (s *sarifWriter) relations(r *finding.Rule) (list []sarifRelation) {
	for i := range standards {
		known := &standards[i]
		if !slices.ContainsFunc(r.Limits, func(l finding.Limit) bool { return l.Published != "" && strings.Contains(l.Source, known.in) }) {
			continue
		}
		index := slices.IndexFunc(s.taxonomies, func(t sarifTaxonomy) bool { return t.Name == known.taxonomy.Name })
		if index < 0 {
			index = len(s.taxonomies)
			s.taxonomies = append(s.taxonomies, known.taxonomy)
		}
		list = append(list, sarifRelation{
			Target: sarifTarget{ID: known.taxonomy.Taxa[0].ID, Component: sarifComponent{known.taxonomy.Name, index}}, Kinds: []string{"relevant"},
		})
	}
	return list
}
