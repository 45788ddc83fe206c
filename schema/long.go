package schema

import (
	"fmt"
	"strings"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
)

// mostProblems is how many problems of the text of one list are told one by one.
const mostProblems = 1_000

// ReadLong fills a section of the show from a long list, see [source.ParseJSON],
// and says at the same time what [Validate] would say of it and what is wrong with
// its text. Each item is laid once, and nothing of it is kept but what it means.
func (s *Show) ReadLong(section string, list source.Ref) ([]finding.Finding, []source.Problem) {
	r := longReader{
		validator: &validator{section: section, form: checkers[section].form(), library: checkers[section].library},
		items:     list.LongItems(),
	}
	switch section {
	case "patch":
		s.Patch = make([]*Fixture, 0, len(r.items))
		r.each(func(item source.Ref) {
			if fixture := new(Fixture); decodeBy(r.form.items, item, fixture) {
				s.Patch = append(s.Patch, fixture)
			}
		})
	case "cues":
		s.Cues = make([]*Cue, 0, len(r.items))
		r.head.Skip = "set"
		r.settings = &settingReader{form: r.form.items.referred().member("set").items, known: map[string]*Told{}}
		r.each(func(item source.Ref) {
			cue := new(Cue)
			if !decodeBy(r.form.items, item, cue) {
				return
			}
			cue.unnumbered = !hasNumber(item)
			if len(r.settings.found) > 0 {
				cue.Set = r.settings.take()
			}
			s.Cues = append(s.Cues, cue)
		})
	default:
		panic("schema: no long section " + section)
	}
	s.readFrom(section, list)
	if r.untold > 0 {
		r.problems[mostProblems-1].Message += fmt.Sprintf("; %d more things of this kind are wrong behind it", r.untold)
	}
	for i := 1; i < stretches; i++ {
		r.found[0].append(&r.found[i])
	}
	return r.found[0].findings(section, list), r.problems
}

type longReader struct {
	*validator
	items    []source.Item
	head     source.Opener // of items, without what is skipped
	whole    source.Opener // of items that need all
	settings *settingReader
	found    [stretches]alike // as Validate counts, stretch by stretch
	problems []source.Problem
	untold   int
}

// each hands over every item: without its settings, which the reader of settings
// holds, if all of it is certainly right, and else all of it.
func (r *longReader) each(take func(item source.Ref)) {
	stretch := 0
	for i, item := range r.items {
		for i >= (stretch+1)*len(r.items)/stretches {
			stretch++
		}
		head, problems := r.head.Open(item)
		certain := len(problems) == 0 && r.form.items.accepts(head)
		if r.settings != nil {
			r.settings.found = r.settings.found[:0]
			certain = certain && r.settings.read(r.head.Skipped)
		}
		if certain {
			take(head)
			continue
		}
		if r.settings != nil {
			r.settings.found = r.settings.found[:0]
		}
		all, problems := r.whole.Open(item)
		r.tell(problems)
		r.check(all, i, &r.found[stretch])
		take(all)
	}
}

func (r *longReader) tell(problems []source.Problem) {
	for _, p := range problems {
		if len(r.problems) == mostProblems {
			r.untold++
			continue
		}
		r.problems = append(r.problems, p)
	}
}

// settingReader reads the settings of cues. The same words mean the same, and most
// settings of a long list are some of a few hundred: what stands behind the
// channels of a setting is read once, and whatever else has the same words there
// shares what it means.
type settingReader struct {
	form  *form
	known map[string]*Told // by the text behind the channels, if it is certainly right
	open  source.Opener
	found []Setting
}

// take returns the settings that were found, side by side in memory.
func (r *settingReader) take() []*Setting {
	settings := append(make([]Setting, 0, len(r.found)), r.found...)
	list := make([]*Setting, len(settings))
	for i := range settings {
		list[i] = &settings[i]
	}
	return list
}

// read takes settings; it returns false at the first that is not certainly right.
func (r *settingReader) read(items []source.Item) bool {
	for _, item := range items {
		channels, rest, simple := cutChannels(item.Text())
		if told := r.known[rest]; simple && told != nil {
			r.found = append(r.found, Setting{At: item.Ref(), Channels: channels, Told: told})
			continue
		}
		ref, problems := r.open.Open(item)
		var setting Setting
		if len(problems) > 0 || !r.form.accepts(ref) || !decodeBy(r.form, ref, &setting) {
			return false
		}
		if simple {
			r.known[rest] = setting.Told
		}
		r.found = append(r.found, setting)
	}
	return true
}

// cutChannels cuts a setting behind its channels: simple is false unless they come
// first and stand letter by letter in the text.
func cutChannels(text string) (channels, rest string, simple bool) {
	rest, first := strings.CutPrefix(trimLeft(text[1:]), `"channels"`)
	rest, isText := strings.CutPrefix(trimLeft(strings.TrimPrefix(trimLeft(rest), ":")), `"`)
	if !first || !isText {
		return "", "", false
	}
	channels, rest, _ = strings.Cut(rest, `"`)
	return channels, rest, channels != "" && strings.IndexByte(channels, '\\') < 0
}

func trimLeft(text string) string {
	for text != "" && (text[0] == ' ' || text[0] == '\n' || text[0] == '\t' || text[0] == '\r') {
		text = text[1:]
	}
	return text
}
