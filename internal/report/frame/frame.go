// Package frame is the head of every page of ours: the policy that forbids all requests,
// the mark by which we know the page again, and the style.
//
// In go texts of the program, out comes what stands between <head> and the title. A
// newcomer's mistake would be to put style into an attribute: the policy names one style
// and one script by their hashes, and nothing else is obeyed.
package frame

import (
	"crypto/sha256"
	"encoding/base64"
	"html/template"

	"github.com/cueproof/cueproof/internal/outfile"
)

// Head is the head of a page with a style, and with a script that may stand in it, or
// none. connect lets the script ask the place that the page came from.
func Head(style, script string, connect bool) template.HTML {
	policy := "default-src 'none'; base-uri 'none'; form-action 'none'; style-src " + hash(style)
	if script != "" {
		policy += "; script-src " + hash(script)
	}
	if connect {
		policy += "; connect-src 'self'"
	}
	return template.HTML("<meta charset=\"utf-8\">\n" + outfile.MetaMark + //nolint:gosec // texts of the program alone
		"\n<meta http-equiv=\"Content-Security-Policy\" content=\"" + policy +
		"\">\n<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" content=\"no-referrer\">\n<style>" + style + "</style>")
}

// hash is how a policy names a text that may stand in the page.
func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
