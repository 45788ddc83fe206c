// Package cores spreads work over the cores of the processor.
//
// In goes how many jobs there are and what each does, out comes an error if one of
// them panicked. What the jobs leave behind must not depend on which of them was
// done first: the same show gives the same report on any number of cores. A
// newcomer's mistake would be to start a goroutine elsewhere: a panic in it ends
// the program before anybody can say whose fault it was.
package cores

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
)

// Panic is a fault of the program that happened in a job.
type Panic struct {
	Value any
	Stack []byte
}

func (p *Panic) Error() string {
	return fmt.Sprintf("this is our own fault, not the show's: %v\n%s", p.Value, p.Stack)
}

// Jobs does the jobs 0 to n-1, as many at a time as there are cores. The error is
// the [Panic] of the first job by number that had one.
func Jobs(n int, job func(i int)) error {
	panics := make([]error, n)
	guarded := func(i int) {
		defer func() {
			if value := recover(); value != nil {
				if within, ok := value.(*Panic); ok { // of jobs that the job started
					panics[i] = within
					return
				}
				panics[i] = &Panic{value, debug.Stack()}
			}
		}()
		job(i)
	}
	if n == 1 {
		guarded(0)
		return panics[0]
	}
	var wait sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		wait.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			guarded(i)
		})
	}
	wait.Wait()
	for _, err := range panics {
		if err != nil {
			return err
		}
	}
	return nil
}

// Each does the jobs 0 to n-1 as [Jobs] does, for those who are called by somebody who
// catches panics: it panics with the [Panic] of a job.
func Each(n int, job func(i int)) {
	if err := Jobs(n, job); err != nil {
		panic(err)
	}
}

// Stretches does a work on stretches of a list side by side: as many as there are
// cores, if the list is long enough for that to pay. It panics like [Each].
func Stretches(length int, work func(from, to int)) {
	const least = 64
	stretches := max(1, min(runtime.GOMAXPROCS(0), length/least))
	if stretches == 1 {
		work(0, length)
		return
	}
	Each(stretches, func(i int) { work(i*length/stretches, (i+1)*length/stretches) })
}

// Beside does a job beside its caller. Who calls what comes back waits for the end of the
// job and is told of its [Panic].
func Beside(job func()) (ended func() error) {
	done := make(chan error, 1)
	go func() { done <- Jobs(1, func(int) { job() }) }()
	return func() error { return <-done }
}
