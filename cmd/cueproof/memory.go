package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// roomToWork is how much memory is filled at least before it is looked through for what
// is not needed any more. Most runs end before that, and looking through little again
// and again is a tenth of their work.
const roomToWork = 16 << 20

// easeCollection lets the garbage collector wait for roomToWork, or for half as much as is
// in use where that is more: of a long list a sixth less memory for a thirtieth more work.
// Not where somebody has told it when to work.
func easeCollection() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	const least = 50                                 // percent of what is in use
	debug.SetGCPercent(100 * roomToWork / (4 << 20)) // what is in use counts as 4 MiB at least
	type mark struct{ of *int }
	var again func(*mark)
	again = func(*mark) { // a collection has just ended
		live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		metrics.Read(live)
		if live[0].Value.Kind() != metrics.KindUint64 {
			debug.SetGCPercent(least)
			return
		}
		debug.SetGCPercent(int(max(least, 100*roomToWork/max(live[0].Value.Uint64(), 4<<20))))
		runtime.SetFinalizer(&mark{new(int)}, again)
	}
	runtime.SetFinalizer(&mark{new(int)}, again)
}
