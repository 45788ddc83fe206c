// Package booth serves a page to the machine that it runs on, and to nobody else.
//
// In go pages as they are made, out comes a server on loopback that shows the last one,
// for who has the token in the address. It asks nobody for anything, writes no file and
// keeps nothing. A newcomer's mistake would be to trust a request because it comes from
// this machine: a page of anybody in the same browser sends such requests too, so Host,
// Origin and token are all asked for.
package booth

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os/exec"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/cueproof/cueproof/internal/cores"
	"github.com/cueproof/cueproof/internal/follow"
	"github.com/cueproof/cueproof/internal/live"
)

// Booth is a server of one page. All of it may be used by several at once.
type Booth struct {
	// Ask answers a question of the page about one of its shows, by its number from 0, in
	// sentences; nil: no question is taken. The error is a question that is not understood.
	Ask func(show int, question string) ([]string, error)

	token     string
	hosts     []string
	listeners []net.Listener
	server    *http.Server
	ended     []func() error

	mu     sync.Mutex
	page   []byte
	state  int           // counts the pages
	change chan struct{} // is closed when there is a new one
	over   chan struct{} // is closed at the end
}

// patience is how long a page waits for the next before it asks anew.
const patience = 25 * time.Second

// longestQuestion is more letters than any question needs.
const longestQuestion = 200

// Listen takes a port of loopback, in both families where the machine has both; 0 is for
// any that is free. Nothing is answered before Start.
func Listen(port int) (*Booth, error) {
	b := &Booth{token: rand.Text(), change: make(chan struct{}), over: make(chan struct{})}
	const tries = 20 // to find a port that is free in both families
	for range tries {
		four, err := net.Listen("tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
		if err != nil {
			return nil, fmt.Errorf("port %d of this machine cannot be used: %w", port, cause(err))
		}
		b.listeners = []net.Listener{four}
		taken := four.Addr().(*net.TCPAddr).Port
		six, err := net.Listen("tcp6", net.JoinHostPort("::1", strconv.Itoa(taken)))
		if err == nil {
			b.listeners = append(b.listeners, six)
		} else if port == 0 && inUse(err) {
			_ = four.Close() // nobody has come yet
			continue
		}
		for _, host := range []string{"127.0.0.1", "::1", "localhost"} {
			b.hosts = append(b.hosts, net.JoinHostPort(host, strconv.Itoa(taken)))
		}
		return b, nil
	}
	return nil, errors.New("no port of this machine is free")
}

// cause is the reason in an error of the network, without the address.
func cause(err error) error {
	var on *net.OpError
	if errors.As(err, &on) {
		return on.Err
	}
	return err
}

// inUse reports whether somebody else has the port; a machine without the family of
// addresses says something else.
func inUse(err error) bool { return strings.Contains(err.Error(), "in use") }

// Address is where the page is, with the token.
func (b *Booth) Address() string { return "http://" + b.hosts[0] + "/" + b.token + "/" }

// Listens are the addresses that are listened on.
func (b *Booth) Listens() (list []net.Addr) {
	for _, l := range b.listeners {
		list = append(list, l.Addr())
	}
	return list
}

// Start begins to answer; what the server itself complains of goes to complaints.
func (b *Booth) Start(complaints io.Writer) {
	b.server = &http.Server{Handler: b, ReadHeaderTimeout: 5 * time.Second, WriteTimeout: 2 * patience, MaxHeaderBytes: 16 << 10, ErrorLog: log.New(complaints, "cueproof: ", 0)}
	for _, l := range b.listeners {
		b.ended = append(b.ended, cores.Beside(func() { _ = b.server.Serve(l) })) // it ends by Close alone
	}
}

// Close lets nobody wait any longer and ends it. The error is a panic of ours.
func (b *Booth) Close() error {
	close(b.over)
	ctx, stop := context.WithTimeout(context.Background(), time.Second)
	defer stop()
	if err := b.server.Shutdown(ctx); err != nil {
		_ = b.server.Close() // somebody does not take his answer
	}
	var problems []error
	for _, ended := range b.ended {
		problems = append(problems, ended())
	}
	return errors.Join(problems...)
}

// Follow shows how shows stand, and again each time their files change, until the context
// ends; then it ends the server. Ready is called when the first page is there.
func (b *Booth) Follow(ctx context.Context, shows []live.Show, files *follow.Files, complaints io.Writer, ready func() error) (err error) {
	b.Start(complaints)
	defer func() { err = errors.Join(err, b.Close()) }()
	show := func() error {
		page, err := Page(shows, b.state+1, b.Ask != nil) // nobody else shows pages
		if err != nil {
			return err
		}
		if b.Show(page); b.state > 1 {
			return nil
		}
		return ready()
	}
	for changed := files.Names(); ; {
		if err := errors.Join(live.Again(shows, changed, show), show()); err != nil {
			return err
		}
		if changed, err = files.Next(ctx); err != nil {
			return nil // somebody ended it, which is how it ends
		}
	}
}

// Show takes a page; whoever waits for it gets it at once.
func (b *Booth) Show(page []byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.page = page
	b.state++
	close(b.change)
	b.change = make(chan struct{})
}

// ServeHTTP answers who may ask, and nobody else.
func (b *Booth) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	for name, value := range map[string]string{
		"Cache-Control": "no-store", "Content-Security-Policy": "frame-ancestors 'none'", "Cross-Origin-Opener-Policy": "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff",
	} {
		w.Header().Set(name, value)
	}
	token, what, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	known := subtle.ConstantTimeCompare([]byte(token), []byte(b.token)) == 1
	switch {
	case !b.fromHere(r), !known:
		w.WriteHeader(http.StatusForbidden)
	case r.Method != http.MethodGet:
		w.WriteHeader(http.StatusMethodNotAllowed)
	case what == "":
		b.mu.Lock()
		page := b.page
		b.mu.Unlock()
		write(w, page)
	case what == "state":
		b.wait(w, r)
	case what == "ask" && b.Ask != nil:
		b.answer(w, r)
	default:
		w.WriteHeader(http.StatusNotFound)
	}
}

// fromHere reports whether a request is for a name of this machine and comes from a page
// of ours or from none. Sec-Fetch-Site says the same where Origin is not sent; a link on
// somebody's page is refused too.
func (b *Booth) fromHere(r *http.Request) bool {
	if !slices.Contains(b.hosts, r.Host) {
		return false
	}
	if origin := r.Header.Values("Origin"); len(origin) > 0 && (len(origin) > 1 || origin[0] != "http://"+r.Host) {
		return false
	}
	site := r.Header.Get("Sec-Fetch-Site")
	return site == "" || site == "same-origin" || site == "none"
}

// wait answers with the page that comes after the one that the asker has.
func (b *Booth) wait(w http.ResponseWriter, r *http.Request) {
	after, err := strconv.Atoi(r.URL.Query().Get("after"))
	if err != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	enough := time.NewTimer(patience)
	defer enough.Stop()
	for {
		b.mu.Lock()
		page, state, change := b.page, b.state, b.change
		b.mu.Unlock()
		if state != after {
			w.Header().Set("Booth-State", strconv.Itoa(state))
			write(w, page)
			return
		}
		select {
		case <-change:
		case <-enough.C:
			w.WriteHeader(http.StatusNoContent)
			return
		case <-b.over:
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		case <-r.Context().Done():
			return
		}
	}
}

func write(w http.ResponseWriter, page []byte) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(page) // who has gone needs none
}

// answer answers a question in JSON: {"lines": [...]} or {"mistake": "..."}.
func (b *Booth) answer(w http.ResponseWriter, r *http.Request) {
	show, err := strconv.Atoi(r.URL.Query().Get("show"))
	question := r.URL.Query().Get("question")
	if err != nil || len(question) > longestQuestion {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	said := struct {
		Lines   []string `json:"lines,omitempty"`
		Mistake string   `json:"mistake,omitempty"`
	}{}
	if said.Lines, err = b.Ask(show, question); err != nil {
		said.Mistake = err.Error()
	}
	text, err := json.Marshal(said)
	if err != nil {
		w.WriteHeader(http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text) // as above
}

// opener is the command that shows an address in the browser of whoever sits at a system.
func opener(system, address string) []string {
	switch system {
	case "darwin":
		return []string{"open", address}
	case "windows":
		return []string{"rundll32", "url.dll,FileProtocolHandler", address}
	}
	return []string{"xdg-open", address}
}

// Open shows an address in the browser of whoever sits here. It is the one place where
// another program is started.
func Open(address string) error {
	words := opener(runtime.GOOS, address)
	command := exec.Command(words[0], words[1:]...) //nolint:gosec // an address of ours
	if err := command.Start(); err != nil {
		return fmt.Errorf("no browser could be opened: %w", err)
	}
	return command.Process.Release()
}
