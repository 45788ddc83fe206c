package table

import (
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/schema"
)

var (
	segmentFields = simple(schema.OfSegment)
	segmentLists  = listsOf(schema.OfSegment)
	readingFields = simple(schema.OfReading)
)

// kindsOf are words of people for kinds of segment.
var kindsOf = map[string]string{
	"intro": "opening", "start": "opening", "greeting": "welcome", "hymn": "song", "music": "song", "worship": "song", "lesson": "reading", "scripture": "reading",
	"sermon": "talk", "message": "talk", "speech": "talk", "video": "film", "announcements": "notices", "news": "notices", "blessing": "closing", "outro": "closing", "end": "closing",
}

// asKind reads a kind of segment, whatever its case.
func asKind(_ *sheet, c cell) (value, string) {
	word := strings.ToLower(trim(c.text))
	if kind, known := kindsOf[word]; known {
		return value{source.String, kind}, ""
	}
	if isKind(word) {
		return value{source.String, word}, ""
	}
	return value{source.String, c.text}, ""
}

func asMood(_ *sheet, c cell) (value, string) {
	word := strings.ToLower(trim(c.text))
	switch word {
	case "soft", "calm", "still", "low":
		word = "quiet"
	case "medium", "mid", "normal":
		word = "middle"
	case "big", "high", "strong":
		word = "loud"
	case "quiet", "middle", "loud":
	default:
		word = c.text
	}
	return value{source.String, word}, ""
}

// readOrderRows reads one segment a row.
func readOrderRows(s *sheet) {
	s.eachNamed("name", func() {
		s.put(segmentFields)
		s.putLists(segmentLists)
		s.segmentScreen()
	})
}

// segmentScreen writes what is on one screen during a segment. The palette of the
// row is that of the segment.
func (s *sheet) segmentScreen() {
	for _, f := range driveFields {
		if c, ok := s.get(f.column); ok {
			s.begin("screens", source.Array, c)
			s.build.Begin(source.Object, c.start)
			s.put(driveFields)
			s.build.End(s.line.stop)
			s.build.End(s.line.stop)
			return
		}
	}
}

// readReadingRows reads what a meter showed, one reading a row.
func readReadingRows(s *sheet) {
	s.eachNamed("place", func() { s.put(readingFields) })
}

// eachNamed reads one thing a row; a row without the cell that says which thing it
// is is left out.
func (s *sheet) eachNamed(column string, row func()) {
	for {
		usable, ok := s.nextRow()
		if !ok {
			return
		}
		if !usable {
			continue
		}
		if _, named := s.get(column); !named {
			s.sayAbout("bad-cell", column, s.line.start, s.line.stop, "the row has no "+column+", so it is left out.", finding.Error, finding.Dark)
			continue
		}
		s.build.Begin(source.Object, s.line.start)
		row()
		s.build.End(s.line.stop)
	}
}
