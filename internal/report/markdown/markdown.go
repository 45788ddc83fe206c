// Package markdown turns the Markdown of explanations into HTML that asks nothing of
// anybody: no raw HTML, no pictures, and links only within the page.
//
// In go texts of rules, which a house may have written, out comes HTML that can stand in
// any page. A newcomer's mistake would be to hand it text from a show: that is no
// Markdown, and is escaped like all other text.
package markdown

import (
	"bytes"
	"fmt"
	"sync"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// maker is made when the first text is read.
var maker = sync.OnceValue(func() goldmark.Markdown {
	return goldmark.New(
		goldmark.WithParserOptions(parser.WithASTTransformers(util.Prioritized(quiet{}, 100))),
		goldmark.WithRendererOptions(html.WithXHTML(), renderer.WithNodeRenderers(util.Prioritized(asText{}, 100))),
	)
})

// HTML turns a text into HTML. Its headings begin at a level, from 2 to 6.
func HTML(markdown string, level int) (string, error) {
	var out bytes.Buffer
	m := maker()
	source := []byte(markdown)
	tree := m.Parser().Parse(text.NewReader(source))
	least := 6
	headings(tree, func(h *ast.Heading) { least = min(least, h.Level) })
	headings(tree, func(h *ast.Heading) { h.Level = min(6, h.Level-least+level) })
	if err := m.Renderer().Render(&out, source, tree); err != nil {
		return "", fmt.Errorf("write Markdown as HTML: %w", err)
	}
	return out.String(), nil
}

func headings(tree ast.Node, each func(*ast.Heading)) {
	_ = ast.Walk(tree, func(n ast.Node, entering bool) (ast.WalkStatus, error) { // it fails only if we do
		if h, ok := n.(*ast.Heading); ok && entering {
			each(h)
		}
		return ast.WalkContinue, nil
	})
}

// asText shows raw HTML as what it is: letters.
type asText struct{}

// RegisterFuncs implements [renderer.NodeRenderer].
func (asText) RegisterFuncs(r renderer.NodeRendererFuncRegisterer) {
	r.Register(ast.KindRawHTML, func(w util.BufWriter, source []byte, node ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			escape(w, node.(*ast.RawHTML).Segments, source)
		}
		return ast.WalkSkipChildren, nil
	})
	r.Register(ast.KindHTMLBlock, func(w util.BufWriter, source []byte, node ast.Node, entering bool) (ast.WalkStatus, error) {
		block := node.(*ast.HTMLBlock)
		if entering {
			_, _ = w.WriteString("<pre><code>")
			escape(w, block.Lines(), source)
			if block.HasClosure() {
				_, _ = w.Write(util.EscapeHTML(block.ClosureLine.Value(source)))
			}
			_, _ = w.WriteString("</code></pre>\n")
		}
		return ast.WalkSkipChildren, nil
	})
}

// escape writes pieces of a text; the writer keeps its first error.
func escape(w util.BufWriter, pieces *text.Segments, source []byte) {
	for i := range pieces.Len() {
		piece := pieces.At(i)
		_, _ = w.Write(util.EscapeHTML(piece.Value(source)))
	}
}

// quiet takes out what would ask another place for something: pictures become their
// words, and so do links that lead out of the page.
type quiet struct{}

func (quiet) Transform(tree *ast.Document, in text.Reader, _ parser.Context) {
	var out []ast.Node
	_ = ast.Walk(tree, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Image, *ast.AutoLink:
			out = append(out, n)
		case *ast.Link:
			if !bytes.HasPrefix(n.Destination, []byte("#")) {
				out = append(out, n)
			}
		}
		return ast.WalkContinue, nil
	})
	for _, n := range out {
		parent := n.Parent()
		if parent == nil {
			continue
		}
		if link, ok := n.(*ast.AutoLink); ok {
			parent.InsertBefore(parent, n, ast.NewString(link.Label(in.Source())))
		}
		for child := n.FirstChild(); child != nil; child = n.FirstChild() {
			n.RemoveChild(n, child)
			parent.InsertBefore(parent, n, child)
		}
		parent.RemoveChild(parent, n)
	}
}
