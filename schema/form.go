package schema

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/source"
)

// form is a schema laid out for one question: is this value certainly valid? It
// reads the tape of a file as it stands, so a cue list of 400,000 settings needs
// no second copy in memory, and it is made from the schema's document without the
// jsonschema library, whose compiler alone takes longer than a small show may
// take as a whole. What a form does not affirm goes to the library, which alone
// decides that something is wrong, and what; a test holds the two against each other.
type form struct {
	always bool // true as a schema: anything goes

	kinds   [source.Object + 1]bool
	integer bool // of numbers only whole ones

	low, high         float64
	lowOpen, highOpen bool // the bound itself is outside

	words    []string // of an enum; nil without one
	minChars int
	pattern  *regexp.Regexp

	members    map[string]*member
	patterns   []patternForm // in a fixed order
	additional *form         // of members that nothing else names; nil refuses them
	required   uint64        // bits of the members that must be there

	items              *form // nil takes any
	minItems, maxItems int   // maxItems -1 without one

	also               *form // what $ref points at
	when, then, except *form // if, then, else
}

type member struct {
	bit   uint64  // of a required member
	forms []*form // all that its value has to satisfy
}

type patternForm struct {
	name *regexp.Regexp
	form *form
}

var anything = &form{always: true}

// keywords is a schema document with every keyword that our schemas use; any
// other is an error when it is read, so a form never overlooks one.
type keywords struct {
	Always *bool // of a schema that is just true or false

	Schema, ID, Title, Description string

	Defs           map[string]*keywords
	Ref            string
	If, Then, Else *keywords

	Type                          []string // a list that is written without brackets when it has one item
	Enum                          []string
	Minimum, ExclusiveMinimum     *float64
	Maximum, ExclusiveMaximum     *float64
	MinLength                     int
	Pattern                       string
	Properties, PatternProperties map[string]*keywords
	AdditionalProperties          *keywords
	Required                      []string
	Items                         *keywords
	MinItems                      int
	MaxItems                      *int
}

// readKeywords reads a schema of ours; it panics when the schema is wrong, which
// a test would have said. It is read off a tape, in one pass: a small show is checked
// by six of them.
func readKeywords(name string) *keywords {
	text, _ := Document(name)
	k, err := parseKeywords(string(text))
	if err != nil {
		panic("schema: " + name + ": " + err.Error())
	}
	return k
}

func parseKeywords(text string) (*keywords, error) {
	file := &source.File{Text: text}
	if problems, _ := source.ParseJSON(file); len(problems) > 0 {
		return nil, fmt.Errorf("%v", problems)
	}
	var r keywordReader
	k := r.schema(file.Root())
	return k, r.wrong
}

// keywordReader keeps the first mistake.
type keywordReader struct{ wrong error }

func (r *keywordReader) mistake(format string, args ...any) {
	if r.wrong == nil {
		r.wrong = fmt.Errorf(format, args...)
	}
}

func (r *keywordReader) number(ref source.Ref) *float64 {
	value, ok := ref.Float()
	if !ok {
		r.mistake("%s is no number", ref.Key())
	}
	return &value
}

func (r *keywordReader) whole(ref source.Ref) int { return int(*r.number(ref)) }

func (r *keywordReader) parts(ref source.Ref) map[string]*keywords {
	list := map[string]*keywords{}
	for part := range ref.Items() {
		list[part.Key()] = r.schema(part)
	}
	return list
}

func (r *keywordReader) schema(ref source.Ref) *keywords {
	k := &keywords{}
	if ref.Kind() == source.Bool {
		always, _ := ref.Truth()
		k.Always = &always
		return k
	}
	for member := range ref.Items() {
		switch member.Key() {
		case "$schema":
			k.Schema = member.Str()
		case "$id":
			k.ID = member.Str()
		case "title":
			k.Title = member.Str()
		case "description":
			k.Description = member.Str()
		case "$defs":
			k.Defs = r.parts(member)
		case "$ref":
			k.Ref = member.Str()
		case "if":
			k.If = r.schema(member)
		case "then":
			k.Then = r.schema(member)
		case "else":
			k.Else = r.schema(member)
		case "type":
			k.Type = wordsOf(member)
		case "enum":
			k.Enum = wordsOf(member)
		case "minimum":
			k.Minimum = r.number(member)
		case "exclusiveMinimum":
			k.ExclusiveMinimum = r.number(member)
		case "maximum":
			k.Maximum = r.number(member)
		case "exclusiveMaximum":
			k.ExclusiveMaximum = r.number(member)
		case "minLength":
			k.MinLength = r.whole(member)
		case "pattern":
			k.Pattern = member.Str()
		case "properties":
			k.Properties = r.parts(member)
		case "patternProperties":
			k.PatternProperties = r.parts(member)
		case "additionalProperties":
			k.AdditionalProperties = r.schema(member)
		case "required":
			k.Required = wordsOf(member)
		case "items":
			k.Items = r.schema(member)
		case "minItems":
			k.MinItems = r.whole(member)
		case "maxItems":
			k.MaxItems = new(r.whole(member))
		default:
			r.mistake("a form does not know the keyword %q", member.Key())
		}
	}
	return k
}

// wordsOf are the texts of a list, or the one text that stands for it.
func wordsOf(ref source.Ref) []string {
	if ref.Kind() == source.String {
		return []string{ref.Str()}
	}
	list := []string{}
	for item := range ref.Items() {
		list = append(list, item.Str())
	}
	return list
}

// former lays out the schemas of one document.
type former struct {
	document *keywords
	done     map[*keywords]*form // also those in the making: schemas may contain themselves
	patterns map[string]*regexp.Regexp
}

func formOf(name string) *form {
	f := former{document: readKeywords(name), done: map[*keywords]*form{}, patterns: map[string]*regexp.Regexp{}}
	return f.form(f.document)
}

func (b *former) form(k *keywords) *form {
	switch {
	case k == nil:
		return nil
	case b.done[k] != nil:
		return b.done[k]
	case k.Always != nil && *k.Always:
		return anything
	case k.Always != nil:
		return &form{} // no kind of value is right
	}
	f := &form{words: k.Enum, minChars: k.MinLength, pattern: b.pattern(k.Pattern), minItems: k.MinItems, maxItems: -1}
	b.done[k] = f
	f.takeKinds(k.Type)
	f.takeBounds(k)
	b.takeMembers(f, k)
	f.items = b.form(k.Items)
	if k.MaxItems != nil {
		f.maxItems = *k.MaxItems
	}
	f.also = b.refers(k.Ref)
	f.when, f.then, f.except = b.form(k.If), b.form(k.Then), b.form(k.Else)
	return f
}

// refers lays out what a $ref points at. Only the schema of the show points at
// others, those of the sections; a section that stands in the show is checked by
// itself, so here it only has to have parts.
func (b *former) refers(ref string) *form {
	if ref == "" {
		return nil
	}
	if name, local := strings.CutPrefix(ref, "#/$defs/"); local {
		return b.form(b.document.Defs[name])
	}
	f := &form{additional: anything, maxItems: -1}
	f.takeKinds([]string{"array", "object"})
	return f
}

func (b *former) pattern(text string) *regexp.Regexp {
	if text == "" {
		return nil
	}
	if b.patterns[text] == nil {
		b.patterns[text] = regexp.MustCompile(text)
	}
	return b.patterns[text]
}

var kindsOfType = map[string]source.Kind{
	"null": source.Null, "boolean": source.Bool, "number": source.Number, "integer": source.Number,
	"string": source.String, "array": source.Array, "object": source.Object,
}

func (f *form) takeKinds(names []string) {
	for kind := range f.kinds {
		f.kinds[kind] = len(names) == 0
	}
	for _, name := range names {
		f.kinds[kindsOfType[name]] = true
	}
	f.integer = slices.Contains(names, "integer") && !slices.Contains(names, "number")
}

// takeBounds takes the float64 nearest to each bound. That loses nothing: the
// library compares the shortest decimal of a number with the bound as written,
// and those stand in the order of their float64s.
func (f *form) takeBounds(k *keywords) {
	f.low, f.high = math.Inf(-1), math.Inf(1)
	if k.Minimum != nil {
		f.low = *k.Minimum
	}
	if k.ExclusiveMinimum != nil && *k.ExclusiveMinimum >= f.low {
		f.low, f.lowOpen = *k.ExclusiveMinimum, true
	}
	if k.Maximum != nil {
		f.high = *k.Maximum
	}
	if k.ExclusiveMaximum != nil && *k.ExclusiveMaximum <= f.high {
		f.high, f.highOpen = *k.ExclusiveMaximum, true
	}
}

func (b *former) takeMembers(f *form, k *keywords) {
	for name, part := range k.PatternProperties {
		f.patterns = append(f.patterns, patternForm{b.pattern(name), b.form(part)})
	}
	sort.Slice(f.patterns, func(i, j int) bool { return f.patterns[i].name.String() < f.patterns[j].name.String() })
	f.members = map[string]*member{}
	for name, part := range k.Properties {
		m := &member{forms: []*form{b.form(part)}}
		for _, p := range f.patterns {
			if p.name.MatchString(name) {
				m.forms = append(m.forms, p.form)
			}
		}
		f.members[name] = m
	}
	for i, name := range k.Required { // a test sees that they are all described, and fewer than 64
		f.members[name].bit = 1 << i
		f.required |= f.members[name].bit
	}
	switch {
	case k.AdditionalProperties == nil:
		f.additional = anything
	case k.AdditionalProperties.Always == nil || *k.AdditionalProperties.Always:
		f.additional = b.form(k.AdditionalProperties)
	}
}

// accepts reports whether the value is certainly valid. Of two members with one
// name the library sees the last; here both have to be right.
func (f *form) accepts(ref source.Ref) bool {
	if f.always {
		return true
	}
	kind := ref.Kind()
	if !f.kinds[kind] || f.words != nil && (kind != source.String || !slices.Contains(f.words, ref.Str())) {
		return false
	}
	if f.also != nil && !f.also.accepts(ref) {
		return false
	}
	if f.when != nil && !f.acceptsBranch(ref) {
		return false
	}
	switch kind {
	case source.Number:
		return f.acceptsNumber(ref)
	case source.String:
		return f.acceptsText(ref.Str())
	case source.Array:
		return f.acceptsList(ref)
	case source.Object:
		return f.acceptsObject(ref)
	}
	return true
}

// acceptsBranch follows if, then and else. The ifs of our schemas ask for a kind
// of value and no more, so that what is not accepted is certainly refused.
func (f *form) acceptsBranch(ref source.Ref) bool {
	if f.when.accepts(ref) {
		return f.then == nil || f.then.accepts(ref)
	}
	return f.except == nil || f.except.accepts(ref)
}

func (f *form) acceptsNumber(ref source.Ref) bool {
	v, ok := ref.Float()
	return ok && f.takesNumber(v)
}

func (f *form) takesNumber(v float64) bool {
	return (v > f.low || v == f.low && !f.lowOpen) &&
		(v < f.high || v == f.high && !f.highOpen) &&
		(!f.integer || v == math.Trunc(v))
}

func (f *form) acceptsText(text string) bool {
	if utf8.RuneCountInString(text) < f.minChars {
		return false
	}
	return f.pattern == nil || f.pattern.MatchString(text)
}

func (f *form) acceptsList(ref source.Ref) bool {
	count := 0
	for item := range ref.Items() {
		if f.items != nil && !f.items.accepts(item) {
			return false
		}
		count++
	}
	return count >= f.minItems && (f.maxItems < 0 || count <= f.maxItems)
}

func (f *form) acceptsObject(ref source.Ref) bool {
	missing := f.required
	for item := range ref.Items() {
		if m := f.members[item.Key()]; m != nil {
			missing &^= m.bit
			for _, part := range m.forms {
				if !part.accepts(item) {
					return false
				}
			}
			continue
		}
		if !f.acceptsOther(item) {
			return false
		}
	}
	return missing == 0
}

// acceptsOther checks a member that is not described by its name.
func (f *form) acceptsOther(item source.Ref) bool {
	matched := false
	for _, p := range f.patterns {
		if p.name.MatchString(item.Key()) {
			matched = true
			if !p.form.accepts(item) {
				return false
			}
		}
	}
	return matched || f.additional != nil && f.additional.accepts(item)
}

// excerpt is the part of a value tree that the library has to look at: items of
// lists that are certainly valid are left out, so that one wrong setting in a cue
// of thousands costs the check of one. Of the others those are left out that
// look refuses.
type excerpt struct {
	look func() bool
	kept map[source.Ref][]kept // by list, what its items in the excerpt are
}

func newExcerpt(look func() bool) excerpt {
	return excerpt{look, map[source.Ref][]kept{}}
}

type kept struct {
	ref   source.Ref
	index int // in the file
}

// take returns the value as the library wants it. f may be nil: then nothing is
// known about the value and all of it is given.
func (e *excerpt) take(ref source.Ref, f *form) any {
	for f != nil && f.also != nil && f.when == nil && f.items == nil && f.minItems <= 0 && f.maxItems < 0 && len(f.members) == 0 {
		f = f.also
	}
	if f != nil && f.always {
		return nil
	}
	switch ref.Kind() {
	case source.Array:
		return e.takeList(ref, f)
	case source.Object:
		return e.takeObject(ref, f)
	default:
		return ref.Any()
	}
}

func (e *excerpt) takeList(ref source.Ref, f *form) any {
	// Items can be left out only where nothing counts or compares them.
	all := f == nil || f.also != nil || f.when != nil || f.items == nil || f.minItems > 0 || f.maxItems >= 0
	list := []any{}
	var items []kept
	index := 0
	for item := range ref.Items() {
		switch {
		case all:
			var part *form
			if f != nil {
				part = f.items
			}
			list = append(list, e.take(item, part))
			items = append(items, kept{item, index})
		case !f.items.accepts(item) && e.look():
			list = append(list, e.take(item, f.items))
			items = append(items, kept{item, index})
		}
		index++
	}
	e.kept[ref] = items
	return list
}

// patterned reports whether a pattern names a key.
func (f *form) patterned(key string) bool {
	return slices.ContainsFunc(f.patterns, func(p patternForm) bool { return p.name.MatchString(key) })
}

func (e *excerpt) takeObject(ref source.Ref, f *form) any {
	onlyNames := f != nil && f.also == nil && f.when == nil && f.additional == nil &&
		!slices.ContainsFunc(f.patterns, func(p patternForm) bool { return !p.form.always })
	members := map[string]any{}
	unknown := false
	for item := range ref.Items() {
		var described *member
		if f != nil {
			described = f.members[item.Key()]
		}
		switch {
		case described != nil && len(described.forms) == 1:
			members[item.Key()] = e.take(item, described.forms[0])
		case described == nil && onlyNames:
			if !f.patterned(item.Key()) { // of those that nothing names one is enough to be told of all
				if unknown {
					continue
				}
				unknown = true
			}
			members[item.Key()] = nil
		default:
			members[item.Key()] = e.take(item, nil)
		}
	}
	return members
}

// referred follows references to the form that says something; nil has none.
func (f *form) referred() *form {
	for f != nil && f.also != nil && len(f.members) == 0 {
		f = f.also
	}
	return f
}

// member returns what is said of a member that is described by its name; nil where nothing is.
func (f *form) member(name string) *form {
	if f == nil || f.members[name] == nil {
		return nil
	}
	return f.members[name].forms[0]
}
