package schema

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/cueproof/cueproof/internal/source"
)

// parse lays a JSON text on a tape.
func parse(t testing.TB, text string) source.Ref {
	t.Helper()
	file := &source.File{Name: "test.json", Text: text}
	if problems, ok := source.ParseJSON(file); !ok {
		t.Fatalf("%s: %v", text, problems)
	}
	return file.Root()
}

func TestDocumentsHoldAgainstTheMetaschema(t *testing.T) {
	// The library carries the metaschema, https://json-schema.org/draft/2020-12/schema.
	meta := jsonschema.MustCompile("https://json-schema.org/draft/2020-12/schema")
	for _, name := range Documents() {
		text, ok := Document(name)
		if !ok {
			t.Fatalf("no document %s", name)
		}
		var document map[string]any
		if err := json.Unmarshal(text, &document); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := meta.Validate(document); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if document["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("%s names another draft: %v", name, document["$schema"])
		}
	}
	for _, name := range []string{"", "shows", "show.schema.json", "../schema/show"} {
		if _, ok := Document(name); ok {
			t.Errorf("there is a document %q", name)
		}
	}
}

// goTypes says which Go type each document describes.
var goTypes = map[string]reflect.Type{
	"show": reflect.TypeFor[Show](), "room": reflect.TypeFor[*Room](), "types": reflect.TypeFor[[]*Type](),
	"patch": reflect.TypeFor[[]*Fixture](), "groups": reflect.TypeFor[map[string]string](),
	"cues": reflect.TypeFor[[]*Cue](), "order": reflect.TypeFor[[]*Segment](), "notices": reflect.TypeFor[*Notices](),
	"readings": reflect.TypeFor[[]*Reading](),
}

// walker goes through a Go type and its schema side by side: they are one
// statement made twice.
type walker struct {
	t        *testing.T
	document *keywords
}

func TestTypesAndDocumentsSayTheSame(t *testing.T) {
	for _, name := range ofShow() {
		w := walker{t, readKeywords(name)}
		w.walk(name, goTypes[name], w.document)
	}
}

func (w walker) walk(path string, goType reflect.Type, k *keywords) {
	for k.Ref != "" {
		name, local := strings.CutPrefix(k.Ref, "#/$defs/")
		if !local || w.document.Defs[name] == nil {
			w.t.Fatalf("%s points at %s", path, k.Ref)
		}
		k = w.document.Defs[name]
	}
	switch goType {
	case reflect.TypeFor[Level](), reflect.TypeFor[CueNumber]():
		w.wants(path, k, "number", "string")
		return
	case reflect.TypeFor[*Aim](), reflect.TypeFor[Aim]():
		w.wants(path, k, "string", "object")
		w.walkMembers(path, reflect.TypeFor[Point](), k)
		return
	case reflect.TypeFor[Knowing]():
		w.wants(path, k, "string", "array")
		return
	case reflect.TypeFor[Intent](): // the word alone, or an object
		if k.Then == nil || !slices.Equal(w.document.Defs["intent"].Enum, meaningWords()) {
			w.t.Errorf("%s lists other words than Meanings", path)
		}
		w.walkMembers(path, goType, w.document.Defs["meaning"])
		return
	}
	switch goType.Kind() {
	case reflect.Pointer:
		w.walk(path, goType.Elem(), k)
	case reflect.Struct:
		w.wants(path, k, "object")
		w.walkMembers(path, goType, k)
	case reflect.Slice:
		w.wants(path, k, "array")
		if k.Items == nil {
			w.t.Fatalf("%s has no items", path)
		}
		w.walk(path+"[]", goType.Elem(), k.Items)
	case reflect.Map:
		w.wants(path, k, "object")
		w.walk(path+"{}", goType.Elem(), k.AdditionalProperties)
	case reflect.String:
		if k.Enum == nil {
			w.wants(path, k, "string")
		}
	case reflect.Float64:
		w.wants(path, k, "number")
	case reflect.Int:
		w.wants(path, k, "integer")
	case reflect.Bool:
		w.wants(path, k, "boolean")
	default:
		w.t.Fatalf("%s: no schema for %s", path, goType)
	}
}

func meaningWords() []string {
	var words []string
	for _, m := range Meanings {
		words = append(words, m.Word)
	}
	return words
}

func (w walker) wants(path string, k *keywords, types ...string) {
	if !slices.Equal(types, k.Type) {
		w.t.Errorf("%s: the Go type holds %v, the schema %v", path, types, k.Type)
	}
}

func (w walker) walkMembers(path string, goType reflect.Type, k *keywords) {
	var inGo, inSchema []string
	for _, field := range reflect.VisibleFields(goType) { // those of embedded structs too
		name := field.Tag.Get("json")
		if name == "-" || name == "" {
			continue
		}
		inGo = append(inGo, name)
		part := k.Properties[name]
		if part == nil {
			continue // the comparison below says so
		}
		if part.Description == "" || !strings.HasSuffix(part.Description, ".") {
			w.t.Errorf("%s.%s has no sentence to describe it: %q", path, name, part.Description)
		}
		if goType == reflect.TypeFor[Show]() && slices.Contains(Sections, name) {
			if part.If == nil || part.Else.Ref != name+".schema.json" {
				w.t.Errorf("%s is not the section or its path", name)
			}
			continue
		}
		w.walk(path+"."+name, field.Type, part)
	}
	for name := range k.Properties {
		inSchema = append(inSchema, name)
	}
	slices.Sort(inGo)
	slices.Sort(inSchema)
	if diff := cmp.Diff(inGo, inSchema); diff != "" {
		w.t.Errorf("%s: only in Go (-), only in the schema (+):\n%s", path, diff)
	}
	for _, name := range k.Required {
		if k.Properties[name] == nil {
			w.t.Errorf("%s requires %s, which it does not describe", path, name)
		}
	}
	if len(k.Required) > 64 {
		w.t.Errorf("%s requires more keys than a form can count", path)
	}
}

// everyPart calls see with every schema in a document.
func everyPart(k *keywords, path string, see func(path string, k *keywords)) {
	if k == nil || k.Always != nil {
		return
	}
	see(path, k)
	for name, part := range map[string]*keywords{"items": k.Items, "additionalProperties": k.AdditionalProperties, "if": k.If, "then": k.Then, "else": k.Else} {
		everyPart(part, path+"/"+name, see)
	}
	for _, parts := range []map[string]*keywords{k.Properties, k.PatternProperties, k.Defs} {
		for name, part := range parts {
			everyPart(part, path+"/"+name, see)
		}
	}
}

func TestDocumentsKeepTheirHabits(t *testing.T) {
	shared := map[string]*keywords{}
	for _, name := range ofShow() {
		document := readKeywords(name)
		for def, part := range document.Defs {
			if other := shared[def]; other != nil && !cmp.Equal(other, part) {
				t.Errorf("$defs/%s of %s differs from that of another document:\n%s", def, name, cmp.Diff(other, part))
			}
			shared[def] = part
		}
		everyPart(document, name, func(path string, k *keywords) {
			if k.Pattern != "" && k.Title == "" {
				t.Errorf("%s has a pattern and no title to say in words what it asks for", path)
			}
			if k.If != nil && !cmp.Equal(k.If, &keywords{Type: k.If.Type}) {
				t.Errorf("%s asks for more than a kind of value in its if", path)
			}
			refusesUnknown := k.AdditionalProperties != nil && k.AdditionalProperties.Always != nil && !*k.AdditionalProperties.Always
			switch {
			case !slices.Contains(k.Type, "object"):
			case strings.HasSuffix(path, "/mix"), strings.HasSuffix(path, "/mix_part"), strings.HasSuffix(path, "/known"): // every key is the name of an emitter, or of another key
			case len(k.PatternProperties) != 1 || k.PatternProperties[`^(x_|note$|\$schema$)`] == nil:
				t.Errorf("%s does not leave x_, note and $schema to people and editors", path)
			case !refusesUnknown && name != "groups":
				t.Errorf("%s takes unknown keys", path)
			}
		})
	}
	for _, key := range []string{"x_", "x_a", "note", "$schema"} {
		if !isRemark(key) {
			t.Errorf("%s is for people", key)
		}
	}
	for _, key := range []string{"", "x", "notes", "schema", "ax_", "$schemas"} {
		if isRemark(key) {
			t.Errorf("%s is not for people", key)
		}
	}
	for _, section := range Sections {
		if isList(section) != slices.Contains(readKeywords(section).Type, "array") {
			t.Errorf("%s: what isList says is not what the schema says", section)
		}
	}
}

func TestUnknownKeywordIsSeen(t *testing.T) {
	// A keyword that forms do not know would make them affirm what is wrong.
	for _, text := range []string{`{"multipleOf": 2}`, `{"items": {"uniqueItems": true}}`, `{"properties": {"a": {"const": 1}}}`} {
		if _, err := parseKeywords(text); err == nil {
			t.Errorf("%s was read without a word", text)
		}
	}
}

// Every keyword of the documents has its own sentence; only a pattern, which is
// described by its title, has the general one.
func TestEveryKeywordIsTranslated(t *testing.T) {
	quiet := []string{"$schema", "$id", "$defs", "$ref", "title", "description", "items", "properties", "patternProperties", "if", "then", "else"}
	said := []string{"type", "enum", "minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum", "minLength", "maxLength", "pattern", "required", "additionalProperties", "minItems", "maxItems"}
	var walk func(name string, schema any)
	walk = func(name string, schema any) {
		object, _ := schema.(map[string]any)
		for keyword, value := range object {
			if !slices.Contains(quiet, keyword) && !slices.Contains(said, keyword) {
				t.Errorf("%s: nothing is said when %s refuses a value", name, keyword)
			}
			switch keyword {
			case "properties", "patternProperties", "$defs":
				for member, part := range value.(map[string]any) {
					walk(name+"/"+member, part)
				}
			case "items", "additionalProperties", "if", "then", "else":
				walk(name+"/"+keyword, value)
			}
		}
	}
	for _, name := range append(ofShow(), "rule", "house") {
		text, _ := Document(name)
		var document any
		if err := json.Unmarshal(text, &document); err != nil {
			t.Fatal(err)
		}
		walk(name, document)
	}
}
