package outfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"regexp"
	"strings"
)

// What a report of ours is known by in each kind of file. A report can be made
// again, so it may be replaced by the next one. What cannot be made again (a
// history, a house file) has none of these.
const (
	// TextMark is the first line of text.
	TextMark = "Written by cueproof; whoever writes a report to this name again replaces it.\n"
	// CommentMark is the first line of Markdown.
	CommentMark = "<!-- Written by cueproof; whoever writes to this name again replaces it. -->\n"
	// MetaMark stands in the head of HTML.
	MetaMark = `<meta name="generator" content="cueproof">`
	// xmlLine begins a picture; CommentMark is its second line.
	xmlLine = `<?xml version="1.0" encoding="UTF-8"?>`
	// PropertyMark is the value of the property "writtenBy" of a SARIF log.
	PropertyMark = "cueproof"
)

// jsonMark is the member "schema" of JSON.
var jsonMark = regexp.MustCompile(`^cueproof-(findings|comparison|facts)-[0-9]+$`)

// markWithin is in how many of its first bytes a file has its mark.
const markWithin = 4096

func headOf(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	head := make([]byte, markWithin)
	n, err := io.ReadFull(file, head)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return head[:n], err
}

// Marked reports whether a file that starts so is a report of ours.
func Marked(head []byte) bool {
	first, rest, _ := bytes.Cut(head, []byte("\n"))
	line := strings.TrimRight(string(first), "\r")
	switch {
	case line == strings.TrimSpace(TextMark), line == strings.TrimSpace(CommentMark):
		return true
	case line == xmlLine:
		return bytes.HasPrefix(rest, []byte(CommentMark))
	case strings.EqualFold(line, "<!doctype html>"):
		return bytes.Contains(head, []byte("\n"+MetaMark+"\n"))
	}
	return markedJSON(head)
}

// markedJSON reads the first members of an object, as far as they go.
func markedJSON(head []byte) bool {
	in := json.NewDecoder(bytes.NewReader(head))
	if open, err := in.Token(); err != nil || open != json.Delim('{') {
		return false
	}
	for in.More() {
		key, err := in.Token()
		if err != nil {
			return false
		}
		var value any
		if err := in.Decode(&value); err != nil {
			return false
		}
		switch value := value.(type) {
		case string:
			if key == "schema" {
				return jsonMark.MatchString(value)
			}
		case map[string]any:
			if key == "properties" {
				return value["writtenBy"] == PropertyMark
			}
		}
	}
	return false
}
