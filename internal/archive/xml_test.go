package archive

import (
	"errors"
	"strings"
	"testing"
)

func parse(t *testing.T, text string) *Element {
	t.Helper()
	root, err := ParseXML(text, UsualXML)
	if err != nil {
		t.Fatal(err)
	}
	return root
}

func TestParseXML(t *testing.T) {
	text := `<?xml version="1.0" encoding="ISO-8859-1"?>
<!DOCTYPE GDTF>
<!-- a remark -->
<g:GDTF xmlns:g="urn:x" DataVersion = '1.2'>
  <Name
     a="x &amp; y"/>
  <Text>  one <b/> &#233;two
  </Text>
  <Text><![CDATA[ <raw> ]]></Text>
</g:GDTF>
`
	root := parse(t, text)
	if root.Name != "GDTF" || root.Value("dataversion") != "1.2" || len(root.Attrs) != 1 {
		t.Errorf("%+v", root)
	}
	a, _ := root.First("Name").Attr("a")
	if a.Value != "x & y" || text[a.Start:a.Stop] != "x &amp; y" {
		t.Errorf("%+v", a)
	}
	texts := root.All("text")
	if got := texts[0].Text; got != "one  \u00e9two" {
		t.Errorf("%q", got)
	}
	if got := text[texts[0].TextStart:texts[0].TextStop]; got != "one <b/> &#233;two" {
		t.Errorf("%q", got)
	}
	if got := texts[1].Text; got != "<raw>" {
		t.Errorf("%q", got)
	}
	if !strings.HasPrefix(text[texts[1].Start:], "<Text><![CDATA") || text[texts[1].Start:texts[1].Stop] != "<Text>" {
		t.Error("the place of an element is not its start tag")
	}
	if root.Find("Text", "b") == nil || root.Find("no", "b") != nil || root.Find("Text", "c", "d") != nil {
		t.Error("Find")
	}
}

func TestTextInPieces(t *testing.T) {
	text := "<a>x <b/> y</a>"
	if e := parse(t, text); e.Text != "x  y" || text[e.TextStart:e.TextStop] != "x <b/> y" {
		t.Errorf("%+v", e)
	}
}

func TestEmptyText(t *testing.T) {
	e := parse(t, "<a>  \n </a>")
	if e.Text != "" || e.TextStart != e.Stop || e.TextStop != e.TextStart {
		t.Errorf("%+v", e)
	}
}

func TestBadXML(t *testing.T) {
	tests := map[string]struct {
		text, says string
		offset     int
	}{
		"nothing":         {"", "holds no XML element", 0},
		"a remark alone":  {"<!-- x -->", "holds no XML element", 10},
		"cut off":         {"<a><b></b>", "is no XML that can be read: it ends in the middle, so it is cut off", 10},
		"crossed":         {"<a><b></a></b>", "is no XML that can be read: element <b> closed by </a>", 10},
		"two roots":       {"<a/><b/>", "goes on behind its last element", 4},
		"twice":           {`<a x="1"  x="2"/>`, `gives the attribute "x" twice in one element`, 10},
		"an entity":       {"<a>&lol;</a>", "is no XML that can be read: invalid character entity &lol;", 8},
		"its own entity":  {`<!DOCTYPE a [<!ENTITY lol "lol">]><a>&lol;</a>`, "declares entities or a document type of its own, which is not read", 0},
		"external entity": {`<!DOCTYPE a SYSTEM "x" [<!ENTITY e SYSTEM "file:///etc/passwd">]><a/>`, "declares entities or a document type of its own, which is not read", 0},
		"no quotes":       {"<a x=1/>", "is no XML that can be read: unquoted or missing attribute value in element", 6},
		"a zero byte":     {"<a>\x00</a>", "is no XML that can be read: illegal character code U+0000", 4},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := ParseXML(test.text, UsualXML)
			var told *SyntaxError
			if !errors.As(err, &told) {
				t.Fatal(err)
			}
			if told.Reason != test.says {
				t.Errorf("%s", told.Reason)
			}
			if told.Offset != test.offset {
				t.Errorf("at %d, want %d", told.Offset, test.offset)
			}
		})
	}
}

func TestXMLLimits(t *testing.T) {
	limits := XMLLimits{Depth: 3, Elements: 6}
	for text, says := range map[string]string{
		"<a><b><c/></b></a>":                   "",
		"<a><b><c><d/></c></b></a>":            "deeper than 3",
		`<a p="1" q="2"><b/><b/><b/></a>`:      "",
		`<a p="1" q="2"><b/><b/><b r=""/></a>`: "more than 6 elements",
	} {
		_, err := ParseXML(text, limits)
		if (err == nil) != (says == "") || err != nil && !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for depth, fits := range map[int]bool{256: true, 257: false} { // of the usual limits
		if _, err := ParseXML(strings.Repeat("<a>", depth)+strings.Repeat("</a>", depth), UsualXML); (err == nil) != fits {
			t.Errorf("%d deep: %v", depth, err)
		}
	}
}

func FuzzXML(f *testing.F) {
	for _, seed := range []string{
		`<a b="c">d<e/>f</a>`, `<?xml version="1.0"?><!DOCTYPE x><g:a xmlns:g="u" g:b='&lt;'><![CDATA[x]]></g:a>`, "<a", `<a x="1" x="2"/>`,
		`<GDTF DataVersion="1.2"><FixtureType Name="x" /></GDTF>`, "<a>\r\n&#x41; <!-- - --> b</a>",
	} {
		f.Add(seed)
	}
	limits := XMLLimits{Depth: 20, Elements: 1000}
	f.Fuzz(func(t *testing.T, text string) {
		root, err := ParseXML(text, limits)
		if err != nil {
			var told *SyntaxError
			if !errors.As(err, &told) || told.Offset < 0 || told.Offset > len(text) || told.Reason == "" {
				t.Fatalf("%#v", err)
			}
			return
		}
		var walk func(e *Element, depth int)
		walk = func(e *Element, depth int) {
			if depth > limits.Depth || text[e.Start] != '<' || text[e.Stop-1] != '>' || e.TextStart < e.Stop || e.TextStop < e.TextStart || e.TextStop > len(text) {
				t.Fatalf("%+v", e)
			}
			for _, a := range e.Attrs {
				if a.Start < e.Start || a.Stop < a.Start || a.Stop >= e.Stop || text[a.Start-1] != text[a.Stop] {
					t.Fatalf("%+v", a)
				}
				if !strings.ContainsAny(a.Value+text[a.Start:a.Stop], "&\r") && a.Value != text[a.Start:a.Stop] {
					t.Fatalf("%+v at %q", a, text[a.Start:a.Stop])
				}
			}
			for _, c := range e.Children {
				walk(c, depth+1)
			}
		}
		walk(root, 1)
	})
}
