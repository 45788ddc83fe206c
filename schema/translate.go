package schema

import (
	"fmt"
	"math/big"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/cueproof/cueproof/internal/finding"
	"github.com/cueproof/cueproof/internal/source"
	"github.com/cueproof/cueproof/internal/spelling"
)

// translator turns what the jsonschema library found in one value into findings
// that a volunteer can read. Of the library's words none are used, only where in
// the value and where in the schema a thing is wrong.
type translator struct {
	*validator
	at      map[string]*jsonschema.Schema
	excerpt excerpt
	ref     source.Ref // the value that was checked
	index   int        // its place in the section's list, or -1
}

func (t *translator) translate(invalid *jsonschema.ValidationError, found *alike) {
	for _, cause := range invalid.Causes {
		t.translate(cause, found)
	}
	part := invalid.AbsoluteKeywordLocation
	if len(invalid.Causes) > 0 || !found.room(strings.TrimPrefix(part, base)) {
		return
	}
	slash := strings.LastIndexByte(part, '/')
	w := &wrong{keyword: part[slash+1:], schema: t.at[part[:slash]], spot: t.find(invalid)}
	w.room = func() bool { return found.room(strings.TrimPrefix(part, base)) }
	for _, f := range t.say(w) {
		found.list = append(found.list, partFinding{f, strings.TrimPrefix(part, base), t.section})
	}
}

// wrong is one value that a keyword of the schema refuses.
type wrong struct {
	keyword string
	schema  *jsonschema.Schema
	spot    spot
	room    func() bool // counts one more of the kind, and whether it is still told by itself
}

func (t *translator) say(w *wrong) []finding.Finding {
	switch w.keyword {
	case "type", "enum":
		if w.spot.ref.Kind() == source.Null {
			return t.nothing(w)
		}
	}
	switch w.keyword {
	case "type":
		return t.wrongType(w)
	case "minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum":
		return t.outOfRange(w)
	case "enum":
		return t.unknownWord(w)
	case "required":
		return t.missingKeys(w)
	case "additionalProperties":
		return t.unknownKeys(w)
	case "minItems", "maxItems", "minLength", "maxLength":
		return t.wrongLength(w)
	default: // pattern
		return t.badForm(w)
	}
}

// find goes the way that the library names, from the value that was checked.
func (t *translator) find(invalid *jsonschema.ValidationError) spot {
	spot := t.start(t.ref, t.index)
	for _, step := range strings.Split(invalid.InstanceLocation, "/")[1:] {
		step, _ = url.PathUnescape(step)
		step = strings.NewReplacer("~1", "/", "~0", "~").Replace(step)
		if inner, nameless := spot.ref.Get(""); nameless { // which the library leaves out of the way
			if _, named := spot.ref.Get(step); !named {
				spot.enter(inner, -1)
			}
		}
		if items, isList := t.excerpt.kept[spot.ref]; isList {
			n, _ := strconv.Atoi(step)
			spot.enter(items[n].ref, items[n].index)
			continue
		}
		member, _ := spot.ref.Get(step)
		spot.enter(member, -1)
	}
	// The library gives a member without a name the place of its object.
	nameless := strings.HasSuffix(invalid.KeywordLocation, "/additionalProperties/$ref/"+lastStep(invalid.KeywordLocation)) ||
		strings.HasSuffix(invalid.KeywordLocation, "/additionalProperties/"+lastStep(invalid.KeywordLocation))
	if member, ok := spot.ref.Get(""); ok && nameless {
		spot.enter(member, -1)
	}
	return spot
}

func lastStep(path string) string { return path[strings.LastIndexByte(path, '/')+1:] }

func (t *translator) wrongType(w *wrong) []finding.Finding {
	wanted := describe(w.schema)
	if t.section == "show" && slices.Contains(Sections, w.spot.ref.Key()) {
		wanted += ", or the path of its file in quotes"
	}
	is := w.spot.ref.Kind().String()
	if text := w.spot.ref.Str(); text != "" {
		is += " (" + source.Shorten(text) + ")"
	}
	f := t.finding(w, "wrong-type", finding.Error)
	f.Message = fmt.Sprintf("%s is %s; wanted is %s.", w.spot.subject(), is, wanted)
	f.Hint = typeHint(w.spot.ref, w.schema)
	return []finding.Finding{f}
}

// nothing is for null, which loses nothing: it is read as not given.
func (t *translator) nothing(w *wrong) []finding.Finding {
	f := t.finding(w, "wrong-type", finding.Warning)
	f.Message = fmt.Sprintf("%s is null, which is read as not given.", w.spot.subject())
	f.Hint = "leave the key out, or give it a value"
	return []finding.Finding{f}
}

// typeHint says how to write a number that stands as text, and the other way round.
func typeHint(ref source.Ref, s *jsonschema.Schema) string {
	takesNumber := slices.Contains(s.Types, "number") || slices.Contains(s.Types, "integer")
	text := strings.TrimSpace(ref.Str())
	point := strings.Replace(text, ",", ".", 1)
	_, err := strconv.ParseFloat(point, 64)
	isNumber := err == nil && strings.Trim(point, "0123456789.-") == ""
	switch {
	case ref.Kind() == source.String && takesNumber && isNumber && point != text:
		return fmt.Sprintf("write %s with a point and without quotes", source.Shorten(point))
	case ref.Kind() == source.String && takesNumber && isNumber:
		return fmt.Sprintf("write %s without quotes", source.Shorten(text))
	case ref.Kind() == source.Number && slices.Contains(s.Types, "string"):
		return fmt.Sprintf("put it in quotes: \"%s\"", source.Shorten(text))
	case ref.Kind() == source.String && slices.Contains(s.Types, "boolean"):
		return "write true or false without quotes"
	case slices.Contains(s.Types, "array"):
		return "put it in square brackets, even if there is only one"
	case slices.Contains(s.Types, "object"):
		return "put it in curly brackets, with the name of each value before it"
	}
	return "write " + describe(s)
}

func (t *translator) outOfRange(w *wrong) []finding.Finding {
	value, ok := w.spot.ref.Float()
	if !ok {
		return nil // the reader says that it is beyond all numbers
	}
	f := t.finding(w, "out-of-range", finding.Error)
	f.Message = fmt.Sprintf("%s is %s; wanted is %s.", w.spot.subject(), source.Shorten(w.spot.ref.Str()), describe(w.schema))
	f.Hint = "check the number and its unit"
	f.Measured = []finding.Evidence{{Name: lastKey(w.spot.path), Value: source.Shorten(w.spot.ref.Str()), Num: &value}}
	for _, bound := range []struct {
		name string
		rat  *big.Rat
	}{{"least", w.schema.Minimum}, {"more than", w.schema.ExclusiveMinimum}, {"most", w.schema.Maximum}, {"less than", w.schema.ExclusiveMaximum}} {
		if bound.rat != nil {
			limit, _ := bound.rat.Float64()
			f.Limits = append(f.Limits, finding.Evidence{Name: bound.name, Value: decimal(bound.rat), Num: &limit})
		}
	}
	return []finding.Finding{f}
}

func (t *translator) unknownWord(w *wrong) []finding.Finding {
	var words []string
	for _, word := range w.schema.Enum {
		words = append(words, fmt.Sprint(word))
	}
	f := t.finding(w, "unknown-word", finding.Error)
	if w.spot.ref.Kind() != source.String {
		f.Rule = "file/wrong-type"
		f.Message = fmt.Sprintf("%s is %s; wanted is one of these words: %s.", w.spot.subject(), w.spot.ref.Kind(), strings.Join(words, ", "))
		f.Hint = "write one of the words in quotes"
		return []finding.Finding{f}
	}
	if slices.Contains(w.spot.path, "meant") {
		return nil // the words of a person, which stop nobody: they are looked up with the names
	}
	text := w.spot.ref.Str()
	f.Message = fmt.Sprintf("%s is %q, which is not a word known here.%s Known are %s.", w.spot.subject(), source.Shorten(text), nearest(text, words), strings.Join(words, ", "))
	f.Hint = "choose one of the known words, or leave the key out"
	if near := near(text, words); near != "" {
		f.Hint = fmt.Sprintf("write %q, if that is what is meant", near)
	}
	return []finding.Finding{f}
}

func (t *translator) missingKeys(w *wrong) []finding.Finding {
	var list []finding.Finding
	for _, key := range w.schema.Required {
		if _, given := w.spot.ref.Get(key); given {
			continue
		}
		f := t.finding(w, "missing-key", finding.Error)
		f.Detail = strings.TrimPrefix(f.Detail+"/"+key, "/")
		f.Message = fmt.Sprintf("%s has no %q, without which it cannot be used.", w.spot.subject(), key)
		f.Hint = fmt.Sprintf("add the key %q", key)
		list = append(list, f)
	}
	return list
}

func (t *translator) unknownKeys(w *wrong) []finding.Finding {
	var known []string
	for name := range w.schema.Properties {
		known = append(known, name)
	}
	slices.Sort(known)
	said := map[string]bool{}
	var list []finding.Finding
	for member := range w.spot.ref.Items() {
		key := member.Key()
		if said[key] || slices.Contains(known, key) || matches(w.schema.PatternProperties, key) {
			continue
		}
		said[key] = true
		if len(said) > 1 && !w.room() { // the first was counted
			continue
		}
		f := t.finding(w, "unknown-key", finding.Warning)
		f.Detail = strings.TrimPrefix(f.Detail+"/"+key, "/")
		lost := "it is not read"
		if t.section == "show" {
			f.Level, f.Consequence = finding.Error, finding.Dark
			lost = "nothing under it is read, which may be a whole section"
		}
		f.Message = fmt.Sprintf("%s has the key %q, which is not known here: %s.", w.spot.subject(), source.Shorten(key), lost)
		f.Hint = "take it out; known are " + strings.Join(known, ", ")
		if matches(w.schema.PatternProperties, "x_"+key) {
			f.Hint = "take it out, or rename it to start with x_ if it is for you alone; known are " + strings.Join(known, ", ")
		}
		if near := nearKey(key, known); near != "" {
			f.Message += fmt.Sprintf(" Did you mean %q?", near)
			f.Hint = fmt.Sprintf("rename it to %q, if that is what is meant", near)
		}
		if key == "purpose" && slices.Contains(known, "meant") { // as fixtures have one, people look for it here too
			f.Hint = "write it as \"note\" for people, and what is done on purpose as a word under \"meant\""
		}
		f.Place = member.KeyPlace()
		list = append(list, f)
	}
	return list
}

func matches(patterns map[*regexp.Regexp]*jsonschema.Schema, key string) bool {
	for pattern := range patterns {
		if pattern.MatchString(key) {
			return true
		}
	}
	return false
}

func (t *translator) wrongLength(w *wrong) []finding.Finding {
	f := t.finding(w, "wrong-length", finding.Error)
	if text := w.spot.ref.Str(); w.keyword == "maxLength" {
		f.Message = fmt.Sprintf("%s has %d characters; wanted are at most %d.", w.spot.subject(), utf8.RuneCountInString(text), w.schema.MaxLength)
		f.Hint = "say it in fewer words"
		return []finding.Finding{f}
	}
	if w.spot.ref.Kind() == source.String {
		f.Message = fmt.Sprintf("%s is empty.", w.spot.subject())
		f.Hint = "write something between the quotes, or leave the key out"
		return []finding.Finding{f}
	}
	wanted := fmt.Sprintf("at least %d", w.schema.MinItems)
	switch {
	case w.schema.MinItems == w.schema.MaxItems:
		wanted = fmt.Sprintf("exactly %d", w.schema.MinItems)
	case w.keyword == "maxItems":
		wanted = fmt.Sprintf("at most %d", w.schema.MaxItems)
	}
	f.Message = fmt.Sprintf("%s has %s; wanted are %s.", w.spot.subject(), spelling.Count(w.spot.ref.Len(), "item"), wanted)
	f.Hint = "complete the list, or leave the key out"
	return []finding.Finding{f}
}

func (t *translator) badForm(w *wrong) []finding.Finding {
	f := t.finding(w, "bad-form", finding.Error)
	f.Message = fmt.Sprintf("%s is %q; wanted is %s.", w.spot.subject(), source.Shorten(w.spot.ref.Str()), describe(w.schema))
	f.Hint = "write it in that form"
	return []finding.Finding{f}
}

// finding starts a finding about a spot.
func (t *translator) finding(w *wrong, id string, level finding.Level) finding.Finding {
	by := w.spot.subjects
	if len(by) == 0 {
		by = []finding.Subject{{Kind: "section", Name: t.section}}
	}
	return finding.Finding{
		Rule: "file/" + id, Level: level, Verdict: finding.Fail, Consequence: consequence(level, t.section),
		Subjects: by, Detail: strings.Join(w.spot.path, "/"), Place: w.spot.ref.Place(),
	}
}

// consequence says what an error in a section does. What cues, patch, running
// order or the head of the show lose, nobody can check tonight, and it may be what
// part of the service runs on; a wrong number in the description of the room or of
// a type makes measurements wrong or missing, which shows later. A warning is
// always for later.
func consequence(level finding.Level, section string) finding.Consequence {
	if level == finding.Error && slices.Contains([]string{"show", "patch", "cues", "order"}, section) {
		return finding.Dark
	}
	return finding.Later
}

// describe says in words what a schema wants.
func describe(s *jsonschema.Schema) string {
	if s.Title != "" && (s.Pattern != nil || len(s.Types) > 1 || slices.Contains(s.Types, "string")) {
		return s.Title
	}
	var words []string
	for _, name := range s.Types {
		switch name {
		case "number", "integer":
			words = append(words, describeNumber(s, name))
		case "string":
			words = append(words, "text in quotes")
		case "boolean":
			words = append(words, "true or false")
		default:
			words = append(words, kindsOfType[name].String())
		}
	}
	return strings.Join(words, " or ")
}

func describeNumber(s *jsonschema.Schema, name string) string {
	number := "a number"
	if name == "integer" {
		number = "a whole number"
	}
	low := ""
	switch {
	case s.Minimum != nil:
		low = decimal(s.Minimum)
	case s.ExclusiveMinimum != nil:
		low = decimal(s.ExclusiveMinimum)
	}
	switch {
	case s.Maximum == nil && low == "":
		return number
	case s.Maximum == nil && s.Minimum != nil:
		return number + " of at least " + low
	case s.Maximum == nil:
		return number + " above " + low
	case s.Minimum != nil:
		return number + " from " + low + " to " + decimal(s.Maximum)
	case low != "":
		return number + " above " + low + " and up to " + decimal(s.Maximum)
	default:
		return number + " of at most " + decimal(s.Maximum)
	}
}

func decimal(r *big.Rat) string {
	f, _ := r.Float64()
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// longestWord is how long a word may be to be looked for among known ones: a
// misspelt word is not a page long, and the search would take as long as the page.
const longestWord = 64

// near is the known word that was probably meant, or "".
func near(word string, known []string) string {
	if len(word) > longestWord {
		return ""
	}
	return spelling.Nearest(word, known)
}

// nearKey is the known key that was probably meant, or "": one that has only the
// unit more, or one spelt nearly so.
func nearKey(key string, known []string) string {
	for _, candidate := range known {
		if key != "" && strings.HasPrefix(candidate, key+"_") {
			return candidate
		}
	}
	return near(key, known)
}

// nearest asks for it: ` Did you mean "x"?`, or "".
func nearest(word string, known []string) string {
	if len(word) > longestWord {
		return ""
	}
	return spelling.Hint(word, known)
}
