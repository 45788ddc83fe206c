package main

import (
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// roomAtFirst is how much memory is filled at least before it is looked through for what
// is not needed any more: a show in which nothing is wrong mostly ends before that. Then it
// is one and a quarter of what is in use, from leastRoom to mostRoom, since looking through
// little again and again is a tenth of the work. perByteAtFirst and perByte are how much it is
// at least for each byte of input. A process may take 40 MiB and 30 times its input: what the program and
// its books leave of that is promised, and as long as the promise can be kept with tightRoom
// to fill, it is.
const (
	roomAtFirst     = 12 << 20
	leastRoom       = 8 << 20
	mostRoom        = 16 << 20
	perByteAtFirst  = 7
	perByte         = 3
	promised        = 16 << 20
	promisedPerByte = 30
	tightRoom       = 7 << 20
)

// easeCollection lets the garbage collector wait for that room, or for half as much as is
// in use where that is more: of a long list a sixth less memory for a thirtieth more work.
// Not where somebody has told it when to work.
func easeCollection(args []string) {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	const least = 50 // percent of what is in use
	input := uint64(sizeOf(args))
	size, limit := perByte*input, promised+promisedPerByte*input
	percent := func(live, room uint64) int { return int(100 * room / max(live, 4<<20)) } // what is in use counts as 4 MiB at least
	debug.SetGCPercent(percent(0, max(roomAtFirst, perByteAtFirst*input)))
	type mark struct{ of *int }
	var again func(*mark)
	again = func(*mark) { // a collection has just ended
		live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		metrics.Read(live)
		if live[0].Value.Kind() != metrics.KindUint64 {
			debug.SetGCPercent(least)
			return
		}
		inUse := live[0].Value.Uint64()
		room := max(min(max(inUse+inUse/4, leastRoom), mostRoom), size, inUse*least/100)
		if inUse+tightRoom > limit {
			limit = 0 // more than is promised is in use: looking more often would be in vain
		} else {
			room = min(room, limit-inUse)
		}
		debug.SetGCPercent(percent(inUse, room))
		runtime.SetFinalizer(&mark{new(int)}, again)
	}
	runtime.SetFinalizer(&mark{new(int)}, again)
}

// sizeOf adds up the files, and those in the folders, that a command line names.
func sizeOf(args []string) (bytes int64) {
	const most = 64 << 20 // of one file; see loaders.maxFile
	add := func(info os.FileInfo) {
		if info.Mode().IsRegular() {
			bytes += min(info.Size(), most)
		}
	}
	for _, arg := range args {
		info, err := os.Stat(filepath.Clean(arg))
		switch {
		case err != nil:
		case info.IsDir():
			entries, _ := os.ReadDir(arg)
			for _, entry := range entries {
				if info, err := entry.Info(); err == nil {
					add(info)
				}
			}
		default:
			add(info)
		}
	}
	return bytes
}
