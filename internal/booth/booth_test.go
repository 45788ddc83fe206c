package booth_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/cueproof/cueproof/internal/booth"
)

func started(t *testing.T) *booth.Booth {
	t.Helper()
	b, err := booth.Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	b.Show([]byte("first page"))
	b.Ask = func(show int, question string) ([]string, error) { return []string{question}, nil }
	b.Start(io.Discard)
	t.Cleanup(func() {
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// asked is what the booth answers to a request with changed headers.
func asked(t *testing.T, method, address string, change func(*http.Request)) (code int, body string) {
	t.Helper()
	r, err := http.NewRequest(method, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	client := http.Client{Timeout: time.Minute}
	defer client.CloseIdleConnections()
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(text)
}

// six reports whether this machine has the newer family of addresses.
func six() bool {
	l, err := net.Listen("tcp6", "[::1]:0")
	if err == nil {
		_ = l.Close()
	}
	return err == nil
}

// TestWhoMayAsk: only who has the token, from a page of ours or none, for a name of this
// machine, whichever family of addresses it comes by. All others get nothing.
func TestWhoMayAsk(t *testing.T) {
	b := started(t)
	u, err := url.Parse(b.Address())
	if err != nil {
		t.Fatal(err)
	}
	header := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	host := func(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }
	port := ":" + u.Port()
	want := 1
	if six() {
		want = 2
	}
	if len(b.Listens()) != want {
		t.Errorf("it listens on %v", b.Listens())
	}
	for _, test := range []struct {
		method, path string
		change       func(*http.Request)
		code         int
	}{
		{"GET", u.Path, nil, 200},
		{"GET", u.Path, host("localhost" + port), 200},
		{"GET", u.Path, host("[::1]" + port), 200},
		{"GET", u.Path, header("Origin", "http://"+u.Host), 200},
		{"GET", u.Path, header("Sec-Fetch-Site", "none"), 200},
		{"GET", u.Path + "state?after=0", nil, 200},
		{"GET", u.Path + "ask?show=0&question=x", nil, 200},

		{"GET", "/", nil, 403},
		{"GET", "/favicon.ico", nil, 403},
		{"GET", "/" + strings.Repeat("A", len(u.Path)-2) + "/", nil, 403},
		{"GET", u.Path[:len(u.Path)-2] + "/", nil, 403},
		{"GET", "/state?after=0", nil, 403},
		{"GET", "/ask?show=0&question=x", nil, 403},
		{"GET", u.Path, host("example.org"), 403},
		{"GET", u.Path, host("example.org" + port), 403},
		{"GET", u.Path, host("127.0.0.1"), 403},
		{"GET", u.Path, host("127.0.0.1.example.org" + port), 403},
		{"GET", u.Path, header("Origin", "http://example.org"), 403},
		{"GET", u.Path, header("Origin", "null"), 403},
		{"GET", u.Path, header("Origin", "https://"+u.Host), 403},
		{"GET", u.Path + "state?after=0", header("Origin", "http://127.0.0.1:1"), 403},
		{"GET", u.Path, header("Sec-Fetch-Site", "cross-site"), 403},
		{"GET", u.Path, header("Sec-Fetch-Site", "same-site"), 403}, // another port of this machine

		{"POST", u.Path, nil, 405},
		{"GET", u.Path + "other", nil, 404},
		{"GET", u.Path + "state?after=x", nil, 400},
		{"GET", u.Path + "ask?show=0&question=" + strings.Repeat("x", 201), nil, 400},
	} {
		for _, at := range b.Listens() {
			change := test.change
			code, body := asked(t, test.method, "http://"+at.String()+test.path, func(r *http.Request) {
				if r.Host = at.String(); change != nil {
					change(r)
				}
				if r.Header.Get("Origin") == "http://"+u.Host { // its own origin is that of the family
					r.Header.Set("Origin", "http://"+r.Host)
				}
			})
			if code != test.code || (code == 200) != (body != "") {
				t.Errorf("%v: %s %s: %d with %q, want %d", at, test.method, test.path, code, body, test.code)
			}
		}
	}
}

// TestTheNextPageComesToWhoWaits, and the end as well.
func TestTheNextPageComesToWhoWaits(t *testing.T) {
	b := started(t)
	got := make(chan string, 1)
	go func() {
		_, body := asked(t, "GET", b.Address()+"state?after=1", nil)
		got <- body
	}()
	b.Show([]byte("second page"))
	if body := <-got; body != "second page" {
		t.Errorf("who waits gets %q", body)
	}
	if _, body := asked(t, "GET", b.Address()+"state?after=1", nil); body != "second page" {
		t.Errorf("who comes late gets %q", body)
	}
}

// TestOnlyLoopbackIsListenedOn asks the system for all that listens on the port.
func TestOnlyLoopbackIsListenedOn(t *testing.T) {
	b := started(t)
	list := b.Listens()
	if len(list) == 0 {
		t.Fatal("nothing listens")
	}
	for _, at := range list {
		if tcp, ok := at.(*net.TCPAddr); !ok || !tcp.IP.IsLoopback() {
			t.Errorf("it listens on %v", at)
		}
	}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		t.Skip(err)
	}
	for _, a := range addresses {
		of, ok := a.(*net.IPNet)
		if !ok || of.IP.IsLoopback() || of.IP.To4() == nil {
			continue
		}
		to := &net.TCPAddr{IP: of.IP, Port: list[0].(*net.TCPAddr).Port}
		if c, err := net.DialTCP("tcp", nil, to); err == nil {
			_ = c.Close()
			t.Errorf("somebody answers at %v", to)
		}
	}
}

// TestNothingIsDialled: no function that opens a connection is called in this package.
func TestNothingIsDialled(t *testing.T) {
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	files, seen := token.NewFileSet(), 0
	for _, entry := range entries {
		if !strings.HasSuffix(entry.Name(), ".go") || strings.HasSuffix(entry.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(files, entry.Name(), nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			of, ok := s.X.(*ast.Ident)
			if !ok || of.Name != "net" && of.Name != "http" {
				return true
			}
			seen++
			for _, word := range []string{"Dial", "Lookup", "Resolve", "Client", "Transport", "Get", "Post", "Head"} {
				if strings.HasPrefix(s.Sel.Name, word) || strings.HasPrefix(s.Sel.Name, "Default") {
					t.Errorf("%s: %s.%s", files.Position(s.Pos()), of.Name, s.Sel.Name)
					break
				}
			}
			return true
		})
	}
	if seen == 0 {
		t.Error("no use of the network was found at all")
	}
}

func TestAPortThatIsTakenIsSaid(t *testing.T) {
	b := started(t)
	if _, err := booth.Listen(b.Listens()[0].(*net.TCPAddr).Port); err == nil || !strings.Contains(err.Error(), "cannot be used") {
		t.Errorf("the same port again: %v", err)
	}
}
