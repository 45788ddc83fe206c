package lint

import (
	"fmt"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/rules"
)

// Setting is the switch, the level or a limit of a rule, with where it comes from.
type Setting struct {
	What    string // "on", "off", "level error", "max_mired: 14 mired"
	From    string // "the rule itself", or the house file with its line and what the rule has
	Changed bool   // the house file says so
}

// Settings returns how a rule, one of All, is set for the show: its switch, its
// level, and its limits in their order.
func (s *Setup) Settings(rule *rules.Rule) []Setting {
	const itself = "the rule itself"
	sw := Setting{What: "on", From: itself}
	level := Setting{What: "level " + string(rule.Level), From: itself}
	limits := make([]Setting, len(rule.Limits))
	for i, limit := range rule.Limits {
		limits[i] = Setting{What: limit.Name + ": " + withUnit(limit.Value, limit.Unit), From: itself}
	}
	if s.House != nil {
		on, by := s.House.Switched(rule.ID)
		if later(s.House, rule) {
			sw.What, sw.From, sw.Changed = "off", fmt.Sprintf("%s (edition %d; it came with %d)", toldName(s.Found.Path), s.House.Edition, rule.Since), true
		}
		if by != nil {
			sw.From, sw.Changed = lineOf(by.At), true
		}
		if !on {
			sw.What = "off"
		}
		for _, l := range s.House.Levels {
			if l.Rule == rule.ID {
				level = Setting{"level " + string(l.Level), fmt.Sprintf("%s (%s in the rule)", lineOf(l.At), rule.Level), true}
			}
		}
		for _, l := range s.House.Limits {
			for i, limit := range rule.Limits {
				if l.Rule == rule.ID && l.Name == limit.Name {
					limits[i] = Setting{
						limit.Name + ": " + withUnit(l.Value, limit.Unit),
						fmt.Sprintf("%s (%s in the rule)", lineOf(l.At), rules.FormatNumber(limit.Value)), true,
					}
				}
			}
		}
	}
	return append([]Setting{sw, level}, limits...)
}

func lineOf(p source.Place) string {
	return fmt.Sprintf("%s, line %d", p.File.Name, p.Span().Start.Line)
}
