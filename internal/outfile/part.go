package outfile

import (
	"crypto/rand"
	"encoding/hex"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"time"
)

// part is a file or folder in the making. It stands beside the place it is meant
// for, under a name that nobody takes for anything, and is gone when the program
// ends, also if somebody ends it. What a killed program leaves behind is cleared
// away by the next that makes a part in the same folder: a part that is still
// being made is held by a lock, which the system lets go of with its program.
type part struct {
	path    string
	file    *os.File // is the part or holds it; nil once that is over
	unnamed bool     // the file has no name yet, so there is nothing to take away

	mu      sync.Mutex
	done    bool
	signals chan os.Signal
}

const partName = ".cueproof-part-"

var partForm = regexp.MustCompile(`^` + regexp.QuoteMeta(partName) + `[0-9a-f]{16}(-gone)?$`)

// newPart makes a part in a folder; make opens what it is called with.
func newPart(folder string, make func(path string) (file *os.File, unnamed bool, err error)) (*part, error) {
	clearParts(folder)
	for {
		var random [8]byte
		if _, err := rand.Read(random[:]); err != nil {
			return nil, err
		}
		p := &part{path: filepath.Join(folder, partName+hex.EncodeToString(random[:])), signals: nil}
		p.watch() // before there is anything, so that nothing is left
		p.mu.Lock()
		file, unnamed, err := make(p.path)
		p.file, p.unnamed = file, unnamed
		p.mu.Unlock()
		if err != nil {
			p.drop()
			return nil, err
		}
		if hold(file, p.path, unnamed) {
			return p, nil
		}
		p.drop() // somebody who was clearing away took it for left over
	}
}

// clearParts takes away what killed programs have left in a folder. It does not
// matter if it cannot.
func clearParts(folder string) {
	entries, _ := os.ReadDir(folder)
	for _, entry := range entries {
		if partForm.MatchString(entry.Name()) {
			clearPart(filepath.Join(folder, entry.Name()))
		}
	}
}

// watch drops the part when the program is told to end, and then ends it in the
// way that it would have ended.
func (p *part) watch() {
	p.signals = make(chan os.Signal, 1)
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
		if !signal.Ignored(s) {
			signal.Notify(p.signals, s)
		}
	}
	go func(signals chan os.Signal) {
		s, told := <-signals
		if !told {
			return
		}
		p.mu.Lock() // and never unlocked: nothing more is to be written
		p.remove()
		endBy(s)
	}(p.signals)
}

// drop takes the part away, unless it has become what it was meant for.
func (p *part) drop() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.done {
		p.remove()
		p.end()
	}
}

// remove needs the lock. A folder first gets another name, so that what is still
// being put into it ends up nowhere.
func (p *part) remove() {
	if p.done {
		return
	}
	p.release()
	if p.unnamed {
		return
	}
	if info, err := os.Lstat(p.path); err == nil && info.IsDir() {
		removeFolder(p.path)
		return
	}
	_ = os.Remove(p.path)
}

func removeFolder(path string) {
	gone := path
	if !strings.HasSuffix(path, "-gone") {
		gone += "-gone"
		if os.Rename(path, gone) != nil {
			return // it is gone, or somebody has a file in it open
		}
	}
	for range 50 {
		if os.RemoveAll(gone) == nil {
			return
		}
		time.Sleep(time.Millisecond) // until nothing is put into it any more
	}
}

func (p *part) release() {
	if p.file != nil {
		p.file.Close() // what was to be kept is on the disk already
		p.file = nil
	}
}

func (p *part) end() {
	p.done = true
	signal.Stop(p.signals)
	close(p.signals)
	p.release()
}

// become gives the part its name.
func (p *part) become(path string, rename func(from, to string) error) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.unnamed {
		if name(p.file, path) == nil { // nothing is there: no step between
			p.end()
			return nil
		}
		if err := name(p.file, p.path); err != nil {
			return err
		}
		p.unnamed = false
	}
	if closesFirst {
		p.release()
	}
	if err := rename(p.path, path); err != nil {
		return err
	}
	p.end()
	return nil
}
