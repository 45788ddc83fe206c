package lint

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
)

// Panic is a fault of the program that happened while a show was checked. It
// comes back as an error, because a panic in a goroutine ends the program before
// anybody can say whose fault it was.
type Panic struct {
	Value any
	Stack []byte
}

func (p *Panic) Error() string {
	return fmt.Sprintf("this is our own fault, not the show's: %v\n%s", p.Value, p.Stack)
}

// inParallel does the jobs 0 to n-1, as many at a time as there are cores. The
// error is the [Panic] of the first job by number that had one.
func inParallel(n int, job func(i int)) error {
	panics := make([]error, n)
	guarded := func(i int) {
		defer func() {
			if value := recover(); value != nil {
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
