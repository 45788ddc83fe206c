package outfile

import (
	"errors"
	"math/rand/v2"
	"time"
)

// How long somebody else who writes in the same folder is waited for.
const waitForOthers = 30 * time.Second

// errBusy is that somebody holds the lock.
var errBusy = errors.New("somebody else is writing")

// lock keeps other runs from changing files in a folder until it is given back.
// A killed program gives it back too.
func lock(folder string) (unlock func(), err error) {
	for begun := time.Now(); ; {
		unlock, err := tryLock(folder)
		switch {
		case !errors.Is(err, errBusy):
			return unlock, err
		case time.Since(begun) > waitForOthers:
			return nil, errors.New("somebody else has been writing in the same folder for too long; nothing was written")
		}
		time.Sleep(rand.N(10 * time.Millisecond))
	}
}

// lockName is the file that is locked where a folder cannot be.
const lockName = ".cueproof-lock"
