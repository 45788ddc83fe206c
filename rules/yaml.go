package rules

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/cueproof/cueproof/internal/source"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// parseYAML lays the values of a YAML file on the file's tape, so that a rule is
// checked by a JSON Schema and its mistakes have places like those of a show.
// Anchors, aliases, tags and several documents are refused: a rule needs none,
// and aliases are how a small file becomes a large one.
func parseYAML(file *source.File) *source.Problem {
	tree, err := parser.ParseBytes([]byte(file.Text), 0)
	if err != nil {
		return yamlProblem(file, err)
	}
	if len(tree.Docs) != 1 || tree.Docs[0].Body == nil {
		return &source.Problem{ID: "syntax", Message: "the file holds no YAML document, or more than one", At: source.Place{File: file}}
	}
	y := yamlTape{file: file, build: source.NewBuilder(file), lines: lineStarts(file.Text)}
	y.value(tree.Docs[0].Body, 0)
	return y.problem
}

func yamlProblem(file *source.File, err error) *source.Problem {
	at := source.Place{File: file}
	var place interface{ GetToken() *token.Token }
	message := err.Error()
	if p, ok := err.(interface{ GetMessage() string }); ok {
		message = p.GetMessage()
	}
	if p, ok := err.(interface{ GetToken() *token.Token }); ok {
		place = p
	}
	if place != nil && place.GetToken() != nil {
		y := yamlTape{file: file, lines: lineStarts(file.Text)}
		start := y.offset(place.GetToken())
		at = source.Place{File: file, Start: start, Stop: min(start+1, len(file.Text))}
	}
	return &source.Problem{ID: "syntax", Message: "this is not YAML: " + message, At: at}
}

type yamlTape struct {
	file    *source.File
	build   *source.Builder
	lines   []int
	problem *source.Problem
}

func lineStarts(text string) []int {
	starts := []int{0}
	for i := range len(text) {
		if text[i] == '\n' {
			starts = append(starts, i+1)
		}
	}
	return starts
}

// offset works out the byte a token starts at from its line and column, which
// the YAML library counts in characters from 1.
func (y *yamlTape) offset(t *token.Token) int {
	line := min(max(t.Position.Line-1, 0), len(y.lines)-1)
	offset := y.lines[line]
	for column := t.Position.Column; column > 1 && offset < len(y.file.Text) && y.file.Text[offset] != '\n'; column-- {
		_, size := utf8.DecodeRuneInString(y.file.Text[offset:])
		offset += size
	}
	return offset
}

func (y *yamlTape) span(n ast.Node) (start, stop int) {
	t := n.GetToken()
	start = y.offset(t)
	written := strings.TrimSpace(t.Origin)
	if i := strings.IndexByte(written, '\n'); i >= 0 {
		written = written[:i]
	}
	return start, min(start+len(written), len(y.file.Text))
}

func (y *yamlTape) value(n ast.Node, depth int) {
	start, stop := y.span(n)
	if depth > source.MaxDepth {
		y.refuse(n, fmt.Sprintf("values nest more than %d levels deep", source.MaxDepth))
		return
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 { // its token is the first colon
			start, _ = y.span(n.Values[0].Key)
		}
		y.mapping(n.Values, start, stop, depth)
	case *ast.MappingValueNode:
		start, _ = y.span(n.Key)
		y.mapping([]*ast.MappingValueNode{n}, start, stop, depth)
	case *ast.SequenceNode:
		y.build.Begin(source.Array, start)
		for _, item := range n.Values {
			y.value(item, depth+1)
		}
		y.build.End(stop)
	case *ast.StringNode:
		y.build.Scalar(source.String, n.Value, start, stop)
	case *ast.LiteralNode:
		y.build.Scalar(source.String, n.Value.Value, start, stop)
	case *ast.IntegerNode, *ast.FloatNode:
		y.build.Scalar(source.Number, n.GetToken().Value, start, stop)
	case *ast.BoolNode:
		y.build.Scalar(source.Bool, fmt.Sprint(n.Value), start, stop)
	case *ast.NullNode:
		y.build.Scalar(source.Null, "", start, stop)
	default:
		y.refuse(n, fmt.Sprintf("a rule may not use this part of YAML (%s)", n.Type()))
	}
}

func (y *yamlTape) mapping(members []*ast.MappingValueNode, start, stop, depth int) {
	y.build.Begin(source.Object, start)
	for _, member := range members {
		keyStart, keyStop := y.span(member.Key)
		if _, plain := member.Key.(*ast.StringNode); !plain {
			y.refuse(member.Key, "a rule's names are plain words")
		}
		y.build.Key(member.Key.GetToken().Value, keyStart, keyStop)
		y.value(member.Value, depth+1)
	}
	y.build.End(stop)
}

func (y *yamlTape) refuse(n ast.Node, message string) {
	start, stop := y.span(n)
	if y.problem == nil {
		y.problem = &source.Problem{ID: "syntax", Message: message, At: source.Place{File: y.file, Start: start, Stop: stop}}
	}
	y.build.Scalar(source.Null, "", start, stop)
}
