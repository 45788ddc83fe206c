package sarif

import (
	"strings"

	"github.com/cueproof/cueproof/internal/outcome"
)

// ---- SARIF

// A fix of SARIF 2.1.0, sections 3.55 to 3.57 (from memory; the schema is held
// against it in the tests): what is deleted is told in lines and columns of the
// file as it is, and what stands there instead as text.
type sarifFix struct {
	Description     sarifText             `json:"description"`
	ArtifactChanges []sarifArtifactChange `json:"artifactChanges"`
}

type sarifArtifactChange struct {
	ArtifactLocation sarifArtifactLocation `json:"artifactLocation"`
	Replacements     []sarifReplacement    `json:"replacements"`
}

type sarifReplacement struct {
	DeletedRegion   sarifRegion  `json:"deletedRegion"`
	InsertedContent sarifContent `json:"insertedContent"`
}

type sarifContent struct {
	Text string `json:"text"`
}

// fixes returns the change of an action as exact replacements. Text within them is
// that of the file: it is not cleaned, or it would be another text.
func (s *sarifWriter) fixes(action *outcome.Order) []sarifFix {
	if action == nil || len(action.Fix) == 0 {
		return nil
	}
	text := action.Do
	if len(action.FixBrings) > 0 {
		text += " This needs to be done with it: " + strings.Join(action.FixBrings, " ")
	}
	fix := sarifFix{Description: sarifText{Text: s.prose(text)}}
	for _, r := range action.Fix {
		region, ok := regionOf(r.Place)
		if !ok {
			return nil
		}
		at := s.artifact(r.Place.File, "")
		last := len(fix.ArtifactChanges) - 1
		if last < 0 || fix.ArtifactChanges[last].ArtifactLocation.URI != at.URI {
			fix.ArtifactChanges = append(fix.ArtifactChanges, sarifArtifactChange{ArtifactLocation: at})
			last++
		}
		fix.ArtifactChanges[last].Replacements = append(fix.ArtifactChanges[last].Replacements, sarifReplacement{region, sarifContent{r.Text}})
	}
	return []sarifFix{fix}
}
