package source

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// ParseYAML lays the values of a YAML file on the file's tape, so that a rule or
// a house file is checked by a JSON Schema and its mistakes have places like those
// of a show. It returns what is wrong with the text, or nil.
//
// Anchors, aliases, tags and several documents are refused: nobody needs them
// here, and aliases are how a small file becomes a large one. So is a line of nothing
// but marks, which the library would need seconds for.
func ParseYAML(file *File) *Problem {
	if at, most := tooDense(file.Text); most > 0 {
		where, instead := "line", "go on in a new line"
		if most == mostMarksInAll {
			where, instead = "file", "no file of words needs as many"
		}
		message := fmt.Sprintf("the %s has more than %d dashes, brackets, commas, colons and quotes; %s", where, most, instead)
		return &Problem{ID: "syntax", Message: message, At: Place{file, at, at + 1}}
	}
	if at, deep := tooDeep(file.Text); deep {
		return &Problem{ID: "syntax", Message: fmt.Sprintf("values nest more than %d levels deep", MaxDepth), At: Place{file, at, at + 1}}
	}
	// The library counts the end of a line with a carriage return twice behind a remark.
	tree, err := parser.ParseBytes([]byte(strings.ReplaceAll(file.Text, "\r\n", "\n")), 0)
	if err != nil {
		return yamlProblem(file, err)
	}
	if len(tree.Docs) != 1 || tree.Docs[0].Body == nil {
		return &Problem{ID: "syntax", Message: "the file holds no YAML document, or more than one", At: Place{File: file}}
	}
	y := yamlTape{file: file, build: NewBuilder(file), lines: lineStarts(file.Text)}
	y.value(tree.Docs[0].Body, 0)
	return y.problem
}

// mostMarks is how many characters that mean something to YAML a line may have. The
// library works through the tokens of a line in a time that grows with the square
// of their number: 64 KiB of dashes or brackets took it over two seconds in one line,
// and a twentieth of that in lines of this many. A text of a thousand of them fits.
const mostMarks = 1200

// mostMarksInAll is how many of them a file may have: the library takes half a kilobyte for
// each. It is a third of the largest file; a house that says why it lives with what has a sixth.
const mostMarksInAll = 20_000

// tooDense finds the first line with more marks than a line may have, or with which the file
// has too many; most is how many there may be, 0 where there is no such line.
func tooDense(text string) (at, most int) {
	all := 0
	for line := range strings.Lines(text) {
		marks := 0
		for i := range len(line) {
			if strings.IndexByte("-?:,[]{}#&*!|>'\"%@`\t", line[i]) >= 0 {
				marks++
			}
		}
		all += marks
		switch {
		case marks > mostMarks:
			return at, mostMarks
		case all > mostMarksInAll:
			return at, mostMarksInAll
		}
		at += len(line)
	}
	return 0, 0
}

// tooDeep finds the bracket that opens more levels than values may nest in. It
// looks at brackets in texts and remarks too: two hundred that nobody closes are
// no prose, and the YAML library needs seconds for them.
func tooDeep(text string) (at int, deep bool) {
	open := 0
	for i := range len(text) {
		switch text[i] {
		case '[', '{':
			open++
		case ']', '}':
			open = max(0, open-1)
		}
		if open > MaxDepth {
			return i, true
		}
	}
	return 0, false
}

func yamlProblem(file *File, err error) *Problem {
	at := Place{File: file}
	message := err.Error()
	var told interface{ GetMessage() string }
	if errors.As(err, &told) {
		message = told.GetMessage()
	}
	var placed interface{ GetToken() *token.Token }
	if errors.As(err, &placed) && placed.GetToken() != nil {
		y := yamlTape{file: file, lines: lineStarts(file.Text)}
		start := y.offset(placed.GetToken())
		at = Place{File: file, Start: start, Stop: min(start+1, len(file.Text))}
	}
	return &Problem{ID: "syntax", Message: "this is not YAML: " + message, At: at}
}

type yamlTape struct {
	file    *File
	build   *Builder
	lines   []int
	problem *Problem
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
	if depth > MaxDepth {
		y.refuse(n, fmt.Sprintf("values nest more than %d levels deep", MaxDepth))
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
		y.build.Begin(Array, start)
		for _, item := range n.Values {
			y.value(item, depth+1)
		}
		y.build.End(stop)
	case *ast.StringNode:
		y.build.Scalar(String, n.Value, start, stop)
	case *ast.LiteralNode:
		y.build.Scalar(String, n.Value.Value, start, stop)
	case *ast.IntegerNode, *ast.FloatNode:
		y.build.Scalar(Number, n.GetToken().Value, start, stop)
	case *ast.BoolNode:
		y.build.Scalar(Bool, fmt.Sprint(n.Value), start, stop)
	case *ast.NullNode:
		y.build.Scalar(Null, "", start, stop)
	default:
		y.refuse(n, fmt.Sprintf("the file may not use this part of YAML (%s)", n.Type()))
	}
}

func (y *yamlTape) mapping(members []*ast.MappingValueNode, start, stop, depth int) {
	y.build.Begin(Object, start)
	for _, member := range members {
		keyStart, keyStop := y.span(member.Key)
		if _, plain := member.Key.(*ast.StringNode); !plain {
			y.refuse(member.Key, "names are plain words")
		}
		y.build.Key(member.Key.GetToken().Value, keyStart, keyStop)
		y.value(member.Value, depth+1)
	}
	y.build.End(stop)
}

func (y *yamlTape) refuse(n ast.Node, message string) {
	start, stop := y.span(n)
	if y.problem == nil {
		y.problem = &Problem{ID: "syntax", Message: message, At: Place{File: y.file, Start: start, Stop: stop}}
	}
	y.build.Scalar(Null, "", start, stop)
}
