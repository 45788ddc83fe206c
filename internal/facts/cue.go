package facts

import (
	"slices"
	"strings"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/stage"
	"github.com/cueproof/cueproof/schema"
)

// Cue is one cue as it is written, before tracking.
type Cue struct {
	unknowns
	cue *schema.Cue

	Number  string `expr:"number"` // its number
	CueName string `expr:"name"`   // its name, or ""
	*notPatched
}

// notPatched are the channels that a cue sets and no fixture has. Cues that set none such have it
// together, and it is not written.
type notPatched struct {
	Unpatched  []int         `expr:"unpatched"`          // the first hundred channels it sets that no fixture has
	Count      *int          `expr:"unpatched_count"`    // how many channels it sets that no fixture has
	Settings   []*CueSetting `expr:"unpatched_settings"` // the settings that mention them
	ChannelTxt string        `expr:"unpatched_text"`     // the same channels, as "41, 43-45"
}

// CueSetting is one setting of a cue that mentions channels that no fixture has.
type CueSetting struct {
	setting *schema.Setting
	cue     string
	// The channels of the setting that are patched, as "1-6, 9"; nil if there are none.
	Remaining *string `expr:"patched_channels"`
}

// Names returns the cue.
func (c *Cue) Names() []Name { return []Name{{"cue", c.Number}} }

// Cue returns the number of the cue.
func (c *Cue) Cue() string { return c.Number }

// Ref returns where the cue stands.
func (c *Cue) Ref() source.Ref { return c.cue.At }

// Label names the cue for an order to a person.
func (c *Cue) Label() string { return "cue " + c.Number }

// Edits changes a field of the cue.
func (c *Cue) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: c.cue.At, Field: field, Value: value}}
}

// Others returns the settings that mention unpatched channels.
func (c *Cue) Others(string) []source.Ref {
	var refs []source.Ref
	for _, s := range c.Settings {
		refs = append(refs, s.setting.At)
	}
	return refs
}

// Label names the setting for an order to a person.
func (s *CueSetting) Label() string { return "cue " + s.cue }

// Edits changes a field of the setting; taking the channels away removes it.
func (s *CueSetting) Edits(field string, value any) []source.Edit {
	return []source.Edit{{At: s.setting.At, Field: field, Value: value}}
}

// measureCues tells of the cues. before are those of a show with the same patch, to be taken
// over where they stand as they stood.
func measureCues(r *stage.Rig, before []*Cue) []*Cue {
	cues, selected := make([]*Cue, 0, len(r.Show.Cues)), r.Show.Selections()
	var near neighbours
	var last schema.Ranges // and of the cue that has it
	var lacking *notPatched
	none := &notPatched{}
	for i, raw := range r.Show.Cues {
		if i < len(before) && before[i].cue == raw {
			cues = append(cues, before[i])
			continue
		}
		c := &Cue{cue: raw, Number: raw.Number.String(), CueName: raw.Name, notPatched: none}
		if r.Show.Patch == nil {
			c.lacks("unpatched_count", "the patch: which channel is which fixture")
			near.share(&c.unknowns)
			cues = append(cues, c)
			continue
		}
		var lists []schema.Ranges
		var settings []*CueSetting
		for _, setting := range raw.Set {
			patched, unpatched, _ := selected(setting.Channels)
			if list, s := c.measureSetting(setting, patched, unpatched); len(list) > 0 {
				lists, settings = append(lists, list), append(settings, s)
			}
		}
		unpatched := schema.Joined(lists...)
		if lacking == nil || !slices.Equal(unpatched, last) {
			last, lacking = unpatched, &notPatched{Count: new(unpatched.Count()), Unpatched: unpatched.First(mostUnpatched), ChannelTxt: source.Shorten(unpatched.String())}
		}
		if c.notPatched = lacking; len(settings) > 0 {
			c.notPatched = new(*lacking)
			c.Settings = settings
		}
		cues = append(cues, c)
	}
	return cues
}

// measureSetting returns the channels that the setting gives and no fixture has, with the setting; none where
// it only takes light away, because what is not there is dark.
func (c *Cue) measureSetting(setting *schema.Setting, patched []int, unpatched schema.Ranges) (schema.Ranges, *CueSetting) {
	if len(unpatched) == 0 || setting.Level != nil && *setting.Level == 0 {
		return nil, nil
	}
	s := &CueSetting{setting: setting, cue: c.Number}
	if len(patched) > 0 {
		s.Remaining = new(strings.ReplaceAll(schema.FormatChannels(patched), " ", ""))
	}
	return unpatched, s
}
