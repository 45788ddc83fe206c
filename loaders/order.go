package loaders

import (
	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

var segmentFields = []field{
	{"name", "name", asText},
	{"kind", "kind", asText},
	{"start_cue", "start_cue", asCue},
	{"duration_s", "duration_s", asSeconds},
	{"mood", "mood", asText},
	{"purpose", "purpose", asText},
}

// readOrderRows reads one segment a row.
func readOrderRows(s *sheet) {
	for {
		usable, ok := s.nextRow()
		if !ok {
			return
		}
		if !usable {
			continue
		}
		if _, named := s.get("name"); !named {
			s.sayAbout("bad-cell", "name", s.line.start, s.line.stop, "the row has no name, so it is left out.", finding.Error, finding.Dark)
			continue
		}
		s.build.Begin(source.Object, s.line.start)
		s.put(segmentFields)
		s.putList("people", "people", betweenNames)
		s.putList("palette", "palette", betweenColours)
		s.build.End(s.line.stop)
	}
}
