package archive

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"testing"
)

// entry is one entry of an archive that a test makes.
type entry struct {
	name, text string
	method     uint16
}

func pack(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		f, err := w.CreateHeader(&zip.FileHeader{Name: e.name, Method: e.method})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(e.text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func openBytes(data []byte, limits Limits) (*Archive, error) {
	return Open(bytes.NewReader(data), int64(len(data)), limits)
}

func mustOpen(t *testing.T, data []byte, limits Limits) *Archive {
	t.Helper()
	a, err := openBytes(data, limits)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestRead(t *testing.T) {
	a := mustOpen(t, pack(t,
		entry{name: "wheels/star.png", text: "star"},
		entry{name: "description.xml", text: "<GDTF/>", method: zip.Deflate},
		entry{name: "empty", method: zip.Deflate},
	), Usual)
	if got := fmt.Sprint(a.Names()); got != "[description.xml empty wheels/star.png]" {
		t.Error(got)
	}
	for name, want := range map[string]string{"wheels/star.png": "star", "description.xml": "<GDTF/>", "empty": ""} {
		if got, err := a.Read(name); err != nil || string(got) != want {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
	if _, err := a.Read("Description.xml"); err == nil || err.Error() != `"Description.xml" in it is not there` {
		t.Error(err)
	}
	if entry, exact := a.Lookup("Description.XML"); entry != "description.xml" || exact {
		t.Error(entry, exact)
	}
	if entry, exact := a.Lookup("empty"); entry != "empty" || !exact {
		t.Error(entry, exact)
	}
}

func TestLookupOfTwoThatDifferInCase(t *testing.T) {
	a := mustOpen(t, pack(t, entry{name: "a"}, entry{name: "A"}), Usual)
	if entry, exact := a.Lookup("a"); entry != "a" || !exact {
		t.Error(entry, exact)
	}
	a = mustOpen(t, pack(t, entry{name: "ab"}, entry{name: "Ab"}), Usual)
	if entry, _ := a.Lookup("AB"); entry != "" {
		t.Error(entry)
	}
}

func TestNamesThatAreRefused(t *testing.T) {
	for _, name := range []string{"../up.xml", "a/../../b", "/etc/passwd", `C:\x`, "c:/x", `wheels\star.png`, "a\x1b[2Jb", "a\xffb", ".."} {
		a := mustOpen(t, pack(t, entry{name: name, text: "x"}, entry{name: "good", text: "y"}), Usual)
		if got := fmt.Sprint(a.Names()); got != "[good]" {
			t.Errorf("%q: %s", name, got)
		}
		if len(a.Refused()) != 1 || a.Refused()[0].Entry != name {
			t.Errorf("%q: %v", name, a.Refused())
		}
		if _, err := a.Read(name); err == nil {
			t.Errorf("%q is read", name)
		}
	}
	// Two dots inside a name lead nowhere.
	if a := mustOpen(t, pack(t, entry{name: "a..b"}), Usual); len(a.Refused()) != 0 {
		t.Error(a.Refused())
	}
}

func TestTwice(t *testing.T) {
	a := mustOpen(t, pack(t, entry{name: "a", text: "1"}, entry{name: "a", text: "2"}, entry{name: "a", text: "3"}), Usual)
	if _, err := a.Read("a"); err == nil || !strings.Contains(err.Error(), "twice") {
		t.Error(err)
	}
	if len(a.Refused()) != 1 {
		t.Error(a.Refused())
	}
}

func TestLimits(t *testing.T) {
	blanks := strings.Repeat(" ", 4<<20)
	noise := make([]byte, 3<<20)
	state := uint32(1)
	for i := range noise {
		state = state*1664525 + 1013904223
		noise[i] = byte(state >> 24)
	}
	tests := map[string]struct {
		entries []entry
		limits  func(*Limits)
		read    []string
		says    string // of the last; "" if all can be read
	}{
		"ratio":                 {[]entry{{name: "a", text: blanks, method: zip.Deflate}}, nil, []string{"a"}, "more than 250 times its size"},
		"ratio of a short text": {[]entry{{name: "a", text: blanks[:1<<20], method: zip.Deflate}}, nil, []string{"a"}, ""},
		"a byte more than that": {[]entry{{name: "a", text: blanks[:1<<20+1], method: zip.Deflate}}, nil, []string{"a"}, "more than 250 times its size"},
		"no ratio when stored":  {[]entry{{name: "a", text: blanks}}, nil, []string{"a"}, ""},
		"entry":                 {[]entry{{name: "a", text: string(noise)}}, func(l *Limits) { l.Entry = 2 << 20 }, []string{"a"}, "more than 2 MiB"},
		"entry at the limit":    {[]entry{{name: "a", text: string(noise)}}, func(l *Limits) { l.Entry = 3 << 20 }, []string{"a"}, ""},
		"total":                 {[]entry{{name: "a", text: string(noise)}, {name: "b", text: string(noise)}}, func(l *Limits) { l.Total = 5 << 20 }, []string{"a", "b"}, "more than 5 MiB"},
		"total at the limit":    {[]entry{{name: "a", text: string(noise)}, {name: "b", text: string(noise)}}, func(l *Limits) { l.Total = 6 << 20 }, []string{"a", "b"}, ""},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			limits := Usual
			if test.limits != nil {
				test.limits(&limits)
			}
			a := mustOpen(t, pack(t, test.entries...), limits)
			var err error
			for _, entry := range test.read {
				_, err = a.Read(entry)
			}
			switch {
			case test.says == "" && err != nil:
				t.Error(err)
			case test.says != "" && (err == nil || !strings.Contains(err.Error(), test.says)):
				t.Errorf("%v, want %q", err, test.says)
			}
		})
	}
}

func TestTooManyEntries(t *testing.T) {
	var entries []entry
	for i := range 11 {
		entries = append(entries, entry{name: fmt.Sprint(i)})
	}
	limits := Usual
	limits.Entries = 10
	if _, err := openBytes(pack(t, entries...), limits); err == nil || err.Error() != "holds more than 10 entries, which is the limit" {
		t.Error(err)
	}
	limits.Entries = 2 // beyond what is counted before the library looks
	if _, err := openBytes(pack(t, entries...), limits); err == nil || err.Error() != "holds more than 2 entries, which is the limit" {
		t.Error(err)
	}
	limits.Entries = 11
	mustOpen(t, pack(t, entries...), limits)
}

func TestNested(t *testing.T) {
	inner := pack(t, entry{name: "x.zip", text: string(pack(t))}, entry{name: "b", text: strings.Repeat("x", 700)})
	limits := Usual
	limits.Total = int64(2*len(inner) + 700) // the inner one is unpacked once, what is in it counts on
	a := mustOpen(t, pack(t, entry{name: "in.gdtf", text: string(inner)}, entry{name: "no.gdtf", text: "PK, but no more"}), limits)
	nested, err := a.Nested("in.gdtf")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := nested.Read("b"); err != nil {
		t.Error(err)
	}
	if _, err := nested.Nested("x.zip"); err == nil || !strings.Contains(err.Error(), "inside an archive") {
		t.Error(err)
	}
	if _, err := a.Nested("no.gdtf"); err == nil || err.Error() != `"no.gdtf" in it is no ZIP archive that can be read: not a valid zip file` {
		t.Error(err)
	}
	if _, err := nested.Read("b"); err != nil {
		t.Error(err)
	}
	if _, err := nested.Read("b"); err == nil {
		t.Error("the budget of the outer archive does not hold inside")
	}
}

// TestLies changes what the directory claims: nothing of it is believed.
func TestLies(t *testing.T) {
	good := pack(t, entry{name: "a", text: strings.Repeat("text ", 50), method: zip.Deflate})
	directory := bytes.Index(good, []byte("PK\x01\x02"))
	change := func(offset int, value uint32) []byte {
		data := bytes.Clone(good)
		binary.LittleEndian.PutUint32(data[directory+offset:], value)
		return data
	}
	tests := map[string][]byte{
		"checksum":      change(16, 7),
		"packed size":   change(20, 3),
		"unpacked size": change(24, 3),
		"offset":        change(42, 1<<30),
		"method":        func() []byte { d := bytes.Clone(good); d[directory+10] = 99; return d }(),
		"encrypted":     func() []byte { d := bytes.Clone(good); d[directory+8] |= 1; return d }(),
	}
	for name, data := range tests {
		a, err := openBytes(data, Usual)
		if err != nil {
			continue // refused as a whole, which is as well
		}
		_, err = a.Read("a")
		var told *Error
		if !errors.As(err, &told) || told.Entry != "a" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestNoArchive(t *testing.T) {
	whole := pack(t, entry{name: "a", text: "text"})
	for _, data := range []string{"", "PK", "<xml/>", string(whole[:len(whole)/2])} {
		if _, err := openBytes([]byte(data), Usual); err == nil {
			t.Errorf("%q is an archive", data)
		}
	}
	// What stands before an archive does not harm it.
	if a, err := openBytes(append([]byte("#!/bin/sh\n"), whole...), Usual); err != nil {
		t.Error(err)
	} else if _, err := a.Read("a"); err != nil {
		t.Error(err)
	}
}

func FuzzArchive(f *testing.F) {
	inner := pack(f, entry{name: "description.xml", text: "<GDTF/>", method: zip.Deflate})
	f.Add(pack(f, entry{name: "GeneralSceneDescription.xml", text: "<a/>"}, entry{name: "x.gdtf", text: string(inner)}))
	f.Add(pack(f, entry{name: "../a", text: "x"}, entry{name: "a", text: "y"}, entry{name: "a", text: "z"}))
	f.Add(inner)
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	limits := Limits{Entries: 50, Entry: 1 << 16, Total: 1 << 17, Ratio: 50, Nested: 1}
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := openBytes(data, limits)
		if err != nil {
			return
		}
		out := int64(0)
		for _, name := range a.Names() {
			text, err := a.Read(name)
			if out += int64(len(text)); out > limits.Total {
				t.Fatal("more came out than may")
			}
			if nested, err := a.Nested(name); err == nil {
				for _, name := range nested.Names() {
					text, _ := nested.Read(name)
					out += int64(len(text))
				}
			}
			if err != nil && text != nil {
				t.Fatal("text and an error")
			}
		}
	})
}
