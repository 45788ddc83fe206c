package schema

import (
	"embed"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

//go:embed *.schema.json
var documents embed.FS

// Documents lists the names of the JSON Schemas: "show", then every section that
// [Sections] lists, then "rule" for the rule files, which package rules reads,
// "house" for house.yaml, "findings" for the JSON report and "comparison" for that of
// two states of a show.
func Documents() []string { return append(ofShow(), "rule", "house", "findings", "comparison") }

// ofShow lists the documents that a show is made of.
func ofShow() []string { return append([]string{"show"}, Sections...) }

// Document returns the JSON Schema (2020-12) of a document by its name in
// [Documents]; ok is false for any other name. The schema of the show refers to
// the others by their file names: ROOM is room.schema.json.
func Document(name string) (text []byte, ok bool) {
	if !slices.Contains(Documents(), name) {
		return nil, false
	}
	text, err := documents.ReadFile(name + ".schema.json")
	return text, err == nil
}

// base is where the schemas say that they stand, in their $id. Nothing is fetched from
// there: all of them are in the program.
const base = "https://github.com/cueproof/cueproof/raw/main/schema/"

// fullSchema is a schema as the jsonschema library checks with it.
type fullSchema struct {
	whole *jsonschema.Schema
	at    map[string]*jsonschema.Schema // every part of the schema by its location
}

// checker is what a document is checked with, each made when it is first needed.
type checker struct {
	form    func() *form
	library func() *fullSchema
}

var checkers = func() map[string]checker {
	all := map[string]checker{}
	for _, name := range ofShow() {
		all[name] = checker{
			form:    sync.OnceValue(func() *form { return formOf(name) }),
			library: sync.OnceValue(func() *fullSchema { return compile(name) }),
		}
	}
	// Rules and house files are few and small: the library checks them without a quick look first.
	for _, name := range []string{"rule", "house"} {
		all[name] = checker{
			form:    func() *form { return nil },
			library: sync.OnceValue(func() *fullSchema { return compile(name) }),
		}
	}
	return all
}()

// compile panics when a schema of ours is wrong, which a test would have said.
func compile(name string) *fullSchema {
	compiler := jsonschema.NewCompiler()
	compiler.ExtractAnnotations = true
	compiler.LoadURL = func(url string) (io.ReadCloser, error) {
		return documents.Open(strings.TrimPrefix(url, base))
	}
	c := &fullSchema{whole: compiler.MustCompile(base + name + ".schema.json"), at: map[string]*jsonschema.Schema{}}
	c.index(c.whole)
	return c
}

func (c *fullSchema) index(s *jsonschema.Schema) {
	if s == nil || c.at[s.Location] != nil {
		return
	}
	c.at[s.Location] = s
	for _, part := range []*jsonschema.Schema{s.Ref, s.Items2020, s.If, s.Then, s.Else} {
		c.index(part)
	}
	for _, part := range s.Properties {
		c.index(part)
	}
	for _, part := range s.PatternProperties {
		c.index(part)
	}
	if part, ok := s.AdditionalProperties.(*jsonschema.Schema); ok {
		c.index(part)
	}
}
