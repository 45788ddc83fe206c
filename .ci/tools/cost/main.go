//go:build ignore

// Command cost measures what the program costs, as whole processes, and says where that
// is more than was promised. From the top of the checkout, on Linux:
//
//	go run .ci/tools/cost/main.go [-only WORDS] [-runs N] [-limit SECONDS]
//
// Every row is compared with a base that runs in turn with it, so that a busy machine
// hits both alike: the big show with a bare pass over the tokens of the same bytes, the
// demo shows with each other, and an input that repeats something with one that has half
// as much of it, twice over. What counts is the least time of processor of several runs, and the
// largest memory of any. It belongs to no test: how fast a machine is says nothing of
// what is right. -limit ends a run that takes longer on a processor; its row says so.
package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"text/tabwriter"

	"github.com/cueproof/cueproof/internal/bigshow"
	"github.com/go-json-experiment/json/jsontext"
)

func main() {
	if len(os.Args) == 3 && os.Args[1] == "pass" { // this very program is the base of the big show
		if err := tokens(os.Args[2]); err != nil {
			fail(err)
		}
		return
	}
	if err := run(); err != nil {
		fail(err)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "cost:", err)
	os.Exit(1)
}

// tokens is the least that somebody could do who reads a file of JSON.
func tokens(name string) error {
	data, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	d := jsontext.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := d.ReadToken(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// A row is a command with what it may cost.
type row struct {
	name  string
	input string // of how many bytes it is, "" if that says nothing
	args  []string
	base  string  // the row that it is a multiple of
	times float64 // at most; 0: nothing is promised
	mib   float64 // at most, of memory; 0: nothing is promised
}

// growth is the most that twice the input costs; room and perByte are the memory that an
// input may take, in MiB and times itself.
const (
	growth  = 2.3
	room    = 40
	perByte = 30
)

type costs struct {
	seconds float64 // the least
	mib     float64 // the most
	ended   bool    // the limit ended it
}

type bench struct {
	folder, program, self string
	limit                 int
	rows                  []row
}

func run() error {
	only := flag.String("only", "", "rows whose name has this (a regular expression), with their bases")
	runs := flag.Int("runs", 3, "how often each command is run, after one that does not count")
	limit := flag.Int("limit", 60, "seconds of processor after which a run is ended")
	flag.Parse()
	chosen, err := regexp.Compile(*only)
	if err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "cost")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	b := &bench{folder: folder, program: filepath.Join(folder, "cueproof"), limit: *limit}
	if b.self, err = os.Executable(); err != nil {
		return err
	}
	build := exec.Command("go", "build", "-trimpath", "-o", b.program, "./cmd/cueproof")
	build.Env, build.Stderr = append(os.Environ(), "CGO_ENABLED=0"), os.Stderr
	if err := build.Run(); err != nil {
		return err
	}
	if err := b.list(chosen); err != nil {
		return err
	}
	measured := map[string]costs{}
	for round := range *runs + 1 {
		for _, r := range b.rows {
			if measured[r.name].ended {
				continue
			}
			c, err := b.once(r.args)
			if err != nil {
				return err
			}
			if was, ran := measured[r.name]; ran && round > 1 { // the first round warms up
				c.seconds, c.mib = min(c.seconds, was.seconds), max(c.mib, was.mib)
			}
			measured[r.name] = c
		}
	}
	return b.print(measured)
}

// once runs a command and says what it took.
func (b *bench) once(args []string) (costs, error) {
	limited := append([]string{"-c", fmt.Sprintf(`ulimit -t %d; exec "$@"`, b.limit), "sh"}, args...)
	command := exec.Command("sh", limited...)
	err := command.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		return costs{}, err
	}
	used, ok := command.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return costs{}, errors.New("this system does not say what a process took")
	}
	c := costs{seconds: (command.ProcessState.UserTime() + command.ProcessState.SystemTime()).Seconds(), mib: float64(used.Maxrss) / 1024}
	switch code := command.ProcessState.ExitCode(); code {
	case 0, 1, 2, 3, 4: // what the program may say of a show
	case -1:
		c.ended = true
	default:
		return costs{}, fmt.Errorf("%s: exit code %d", strings.Join(args, " "), code)
	}
	return c, nil
}

func (b *bench) print(measured map[string]costs) error {
	table := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "what\tseconds\ttimes\tat most\tMiB\tat most\t")
	missed := 0
	for _, r := range b.rows {
		c := measured[r.name]
		if c.ended {
			missed++
			fmt.Fprintf(table, "%s\t> %d\t\t\t\t\tMISSED\n", r.name, b.limit)
			continue
		}
		times, most, mib, verdict := "", "", "", ""
		if base := measured[r.base]; base.seconds > 0 {
			ratio := c.seconds / base.seconds
			times = fmt.Sprintf("%.1f %s", ratio, r.base)
			if r.times > 0 {
				most = fmt.Sprintf("%.1f", r.times)
				if ratio > r.times {
					verdict = "MISSED"
				}
			}
		}
		if r.mib > 0 {
			mib = fmt.Sprintf("%.0f", r.mib)
			if c.mib > r.mib {
				verdict = "MISSED"
			}
		}
		if verdict != "" {
			missed++
		}
		fmt.Fprintf(table, "%s\t%.3f\t%s\t%s\t%.0f\t%s\t%s\n", r.name, c.seconds, times, most, c.mib, mib, verdict)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Printf("%d of %d rows miss what they may cost\n", missed, len(b.rows))
	return nil
}

func (b *bench) check(path string, more ...string) []string {
	return append([]string{b.program, "check", "--no-house", "--out", filepath.Join(b.folder, "out"), path}, more...)
}

// list makes the inputs of the rows that are chosen.
func (b *bench) list(chosen *regexp.Regexp) error {
	for _, make := range []func(*regexp.Regexp) error{b.big, b.demo, b.unpatched, b.growing} {
		if err := make(chosen); err != nil {
			return err
		}
	}
	return nil
}

func (b *bench) big(chosen *regexp.Regexp) error {
	if !chosen.MatchString("big show, sound") && !chosen.MatchString("big show, five faults") {
		return nil
	}
	sound, err := b.show("big.json", bigshow.Big)
	if err != nil {
		return err
	}
	faults := []string{ // of a line of the patch, and of the first setting
		`"channel": 6, "address": "1.31"`, `"channel": 6, "address": "1.25"`,
		`"channel": 10, "address": "1.55"`, `"channel": 10, "address": "70000.1"`,
		`"channel": 12, "address"`, `"channel": 11, "address"`,
		`"channel": 21, "address": "1.121"`, `"channel": 21, "address": "1.600"`,
		`"level": 40, "white_k": 5600}`, `"level": 140, "white_k": 5600}`,
	}
	bad := filepath.Join(b.folder, "bad.json")
	if err := writeFile(bad, func(w io.Writer) error { return spoil(w, sound, faults) }); err != nil {
		return err
	}
	b.rows = append(b.rows,
		row{name: "pass", args: []string{b.self, "pass", sound}},
		row{name: "big show, sound", args: b.check(sound), base: "pass", times: 10, mib: 160},
		row{name: "big show, five faults", args: b.check(bad), base: "pass", times: 15, mib: 200})
	return nil
}

// spoil copies a show line by line, each old text being replaced by the new one behind it
// where it stands first. What this process has in memory counts as that of the commands
// that it starts, so it never has the whole of a big show.
func spoil(w io.Writer, name string, faults []string) error {
	file, err := os.Open(name)
	if err != nil {
		return err
	}
	defer file.Close()
	lines := bufio.NewReader(file)
	for {
		line, err := lines.ReadString('\n')
		for i := 0; i < len(faults); i += 2 {
			if strings.Contains(line, faults[i]) {
				line, faults = strings.Replace(line, faults[i], faults[i+1], 1), append(faults[:i:i], faults[i+2:]...)
				i -= 2
			}
		}
		if _, err := io.WriteString(w, line); err != nil {
			return err
		}
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return err
		}
	}
	if len(faults) > 0 {
		return fmt.Errorf("the show has no %s", faults[0])
	}
	return nil
}

func (b *bench) demo(chosen *regexp.Regexp) error {
	if chosen.MatchString("mended") || chosen.MatchString("flawed") {
		b.rows = append(b.rows,
			row{name: "version", args: []string{b.program, "version"}},
			row{name: "mended", args: b.check("testdata/shows/mended"), base: "version", times: 4},
			row{name: "flawed", args: b.check("testdata/shows/flawed"), base: "mended", times: 2.5})
	}
	return nil
}

// unpatched adds settings of channels that no fixture has.
func (b *bench) unpatched(chosen *regexp.Regexp) error {
	const name, settings = "100,000 settings of no fixture", 100
	if !chosen.MatchString(name) {
		return nil
	}
	without, err := b.show("without.json", bigshow.Size{Fixtures: 100, Cues: 1000})
	if err != nil {
		return err
	}
	data, err := os.ReadFile(without)
	if err != nil {
		return err
	}
	number := 0
	data = regexp.MustCompile(`"set": \[`).ReplaceAllFunc(data, func(found []byte) []byte {
		found = bytes.Clone(found)
		for range settings {
			number++
			found = fmt.Appendf(found, `{"channels": "%d", "level": %d}, `, 10_000+number%50_000, number%100)
		}
		return found
	})
	with := filepath.Join(b.folder, "with.json")
	if err := os.WriteFile(with, data, 0o600); err != nil {
		return err
	}
	b.rows = append(b.rows,
		row{name: "the same without", args: b.check(without)},
		row{name: name, args: b.check(with), base: "the same without", times: 3})
	return nil
}

const (
	par = `{"name": "par", "source": "white-led", "white_k": 5600, "slots": 4}`
	one = `"types": [` + par + `], "patch": [{"channel": 1, "type": "par", "address": "1.1"}]`
)

// An input that can be made of any size.
type input struct {
	name string
	n    int
	file string // what it is called in its folder
	make func(w io.Writer, n int) error
}

// patched is a show of n lines of the patch that one cue sets.
func patched(w io.Writer, n int, line func(i int) string) error {
	_, err := fmt.Fprintf(w, `{"types": [%s], "patch": [%s], "cues": [{"cue": 1, "set": [{"channels": "1-%d", "level": 50}]}]}`, par, list(n, line), n)
	return err
}

func list(n int, item func(i int) string) string {
	items := make([]string, n)
	for i := range items {
		items[i] = item(i)
	}
	return strings.Join(items, ",\n")
}

func text(w io.Writer, format string, args ...any) error {
	_, err := fmt.Fprintf(w, format, args...)
	return err
}

var inputs = []input{
	{"fixtures of a sound evening", 1000, "show.json", func(w io.Writer, n int) error {
		return bigshow.Write(w, bigshow.Size{Fixtures: n, Cues: 100})
	}},
	{"cues of a sound evening", 25_000, "show.json", func(w io.Writer, n int) error {
		return bigshow.Write(w, bigshow.Size{Fixtures: 50, Cues: n})
	}},
	{"cues of one person", 5000, "show.json", func(w io.Writer, n int) error {
		return text(w, `{%s, "room": {"places": [{"name": "p"}]}, "order": [{"name": "song", "kind": "song", "start_cue": 1, "duration_s": 3000, "people": ["p"]}], "cues": [%s]}`, one,
			list(n, func(i int) string {
				return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": %d}]}`, i+1, 10+i%80)
			}))
	}},
	{"fixtures of one channel", 2000, "show.json", func(w io.Writer, n int) error {
		return patched(w, n, func(i int) string {
			return fmt.Sprintf(`{"channel": 1, "type": "par", "address": "%d.%d"}`, 1+i/100, 1+5*(i%100))
		})
	}},
	{"fixtures at one address", 500, "show.json", func(w io.Writer, n int) error {
		return patched(w, n, func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "1.1"}`, i+1)
		})
	}},
	{"fixtures on impossible universes", 500, "show.json", func(w io.Writer, n int) error {
		return patched(w, n, func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "par", "address": "%d.1"}`, i+1, 70_000+i)
		})
	}},
	{"fixtures of no type", 2000, "show.json", func(w io.Writer, n int) error {
		return patched(w, n, func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "address": "%d.%d"}`, i+1, 1+i/100, 1+5*(i%100))
		})
	}},
	{"fixtures of types that nobody described", 2000, "show.json", func(w io.Writer, n int) error {
		return patched(w, n, func(i int) string {
			return fmt.Sprintf(`{"channel": %d, "type": "wash %d", "address": "%d.%d"}`, i+1, i, 1+i/100, 1+5*(i%100))
		})
	}},
	{"rows of twin channels", 5000, "patch.csv", func(w io.Writer, n int) error {
		return text(w, "channel,address,type,purpose\n%s", list(n, func(i int) string {
			return fmt.Sprintf("%d,%d.%d,par,wash", 1+i/2, 1+i/100, 1+5*(i%100))
		}))
	}},
	{"cues of 1-99999", 500, "show.json", func(w io.Writer, n int) error {
		return text(w, `{%s, "cues": [%s]}`, one, list(n, func(i int) string {
			return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1-99999", "level": 50}]}`, i+1)
		}))
	}},
	{"groups of 1-99999", 250, "show.json", func(w io.Writer, n int) error {
		return text(w, `{%s, "groups": {%s}, "cues": [{"cue": 1, "set": [{"channels": "g1", "level": 50}]}]}`, one,
			list(n, func(i int) string { return fmt.Sprintf(`"g%d": "1-99999"`, i) }))
	}},
	{"ranges that overlap", 10_000, "show.json", func(w io.Writer, n int) error {
		return text(w, `{%s, "cues": [{"cue": 1, "set": [{"channels": "%s", "level": 50}]}]}`, one,
			strings.ReplaceAll(list(n, func(i int) string { return fmt.Sprintf("%d-60000", i+1) }), "\n", ""))
	}},
	{"rows with a stray quotation mark", 25_000, "cues.csv", func(w io.Writer, n int) error {
		return text(w, "cue,name,channels,level\n%s", list(n, func(i int) string { return fmt.Sprintf("%d,a\"b,1,50", i+1) }))
	}},
	{"unknown keys", 40_000, "show.json", func(w io.Writer, n int) error {
		return text(w, `{%s, "cues": [{"cue": 1, %s, "set": [{"channels": "1", "level": 50}]}]}`, one,
			list(n, func(i int) string { return fmt.Sprintf(`"key%d": 1`, i) }))
	}},
	{"places, screens and cues", 15, "show.json", func(w io.Writer, n int) error {
		return text(w, `{"types": [%s], "patch": [{"channel": 1, "type": "par", "address": "1.1"}], "room": {"places": [%s], "surfaces": [%s]}, "order": [{"name": "song", "kind": "song", "start_cue": 1, "duration_s": 200, "people": [%s]}], "cues": [%s]}`, par,
			list(n, func(i int) string { return fmt.Sprintf(`{"name": "p%d"}`, i) }),
			list(n, func(i int) string { return fmt.Sprintf(`{"name": "s%d", "kind": "emissive"}`, i) }),
			list(n, func(i int) string { return fmt.Sprintf(`"p%d"`, i) }),
			list(n, func(i int) string {
				return fmt.Sprintf(`{"cue": %d, "set": [{"channels": "1", "level": %d}]}`, i+1, 10+i)
			}))
	}},
	{"times the patch of the flawed demo show", 2, "flawed", flawed},
}

// growing doubles each of the inputs, twice; of some it asks for all reports, and those of a
// house file stand beside a sound show.
func (b *bench) growing(chosen *regexp.Regexp) error {
	for _, in := range inputs {
		if !chosen.MatchString(in.name) {
			continue
		}
		base := ""
		for _, n := range []int{in.n, 2 * in.n, 4 * in.n} {
			name := fmt.Sprintf("%d %s", n, in.name)
			path, size, err := b.write(in, n)
			if err != nil {
				return err
			}
			r := row{name: name, args: b.check(path), mib: room + perByte*float64(size)/(1<<20)}
			if base != "" {
				r.base, r.times = base, growth
			}
			base = name
			b.rows = append(b.rows, r)
			if in.name == "places, screens and cues" {
				b.rows = append(b.rows, row{name: name + " as SARIF", args: b.check(path, "--format", "sarif"), base: name})
			}
		}
	}
	for _, piece := range []string{"- - -\n", "[]{}"} {
		name := fmt.Sprintf("a house file of %q", piece)
		if !chosen.MatchString(name) {
			continue
		}
		path := filepath.Join(b.folder, fmt.Sprintf("house%d.yaml", len(piece)))
		if err := os.WriteFile(path, []byte(strings.Repeat(piece, 64<<10/len(piece))), 0o600); err != nil {
			return err
		}
		b.rows = append(b.rows, row{name: name, args: []string{b.program, "check", "--house", path, "testdata/shows/mended"}, mib: room + perByte*64.0/1024})
	}
	return nil
}

// flawed is the flawed demo show as one file, with its patch n times over.
func flawed(w io.Writer, n int) error {
	show := map[string]json.RawMessage{}
	for _, name := range []string{"show", "room", "types", "order", "cues"} {
		data, err := os.ReadFile(filepath.Join("testdata", "shows", "flawed", name+".json"))
		if err != nil {
			return err
		}
		if name != "show" {
			show[name] = data
			continue
		}
		if err := json.Unmarshal(data, &show); err != nil {
			return err
		}
	}
	data, err := os.ReadFile(filepath.Join("testdata", "shows", "flawed", "patch.json"))
	if err != nil {
		return err
	}
	var patch, all []json.RawMessage
	if err := json.Unmarshal(data, &patch); err != nil {
		return err
	}
	for range n {
		all = append(all, patch...)
	}
	if show["patch"], err = json.Marshal(all); err != nil {
		return err
	}
	return json.NewEncoder(w).Encode(show)
}

// write makes an input in a folder of its own and returns what is to be checked, and its bytes.
func (b *bench) write(in input, n int) (path string, size int64, err error) {
	folder, err := os.MkdirTemp(b.folder, "input")
	if err != nil {
		return "", 0, err
	}
	path = filepath.Join(folder, in.file)
	if filepath.Ext(path) == "" {
		path += ".json"
	}
	if err := writeFile(path, func(w io.Writer) error { return in.make(w, n) }); err != nil {
		return "", 0, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return "", 0, err
	}
	if filepath.Ext(path) == ".csv" {
		path = folder // a table is a part of a show
	}
	return path, info.Size(), nil
}

func (b *bench) show(name string, size bigshow.Size) (string, error) {
	path := filepath.Join(b.folder, name)
	return path, writeFile(path, func(w io.Writer) error { return bigshow.Write(w, size) })
}

func writeFile(path string, fill func(io.Writer) error) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(file)
	return errors.Join(fill(w), w.Flush(), file.Close())
}
