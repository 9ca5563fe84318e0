package spread

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// labour asks a function at many points, on all cores.
type labour struct {
	ctx      context.Context
	f        func(x, y []float64) error
	outputs  int
	progress func(done, all int)

	mutex     sync.Mutex
	done, all int
}

// notch is after how many evaluations progress is told.
const notch = 64

// do fills y, point by point, with what the function gives at n points, whose inputs at
// makes. An error is that of the first point that has one.
func (l *labour) do(y []float64, inputs, n int, at func(x []float64, i int)) error {
	var next, failed atomic.Int64 // failed is the first point so far that has an error
	failed.Store(int64(n))
	var first, ended error
	work := func() {
		x := make([]float64, inputs)
		made := 0
		defer func() { l.tell(made) }()
		for {
			i := next.Add(1) - 1
			if i >= failed.Load() {
				return
			}
			err := l.ctx.Err()
			if err != nil { // nobody needs to look again
				l.mutex.Lock()
				ended = err
				failed.Store(-1)
				l.mutex.Unlock()
				return
			}
			at(x, int(i))
			from, to := int(i)*l.outputs, int(i+1)*l.outputs
			if err := l.f(x, y[from:to:to]); err != nil {
				l.mutex.Lock()
				if i < failed.Load() {
					failed.Store(i)
					first = err
				}
				l.mutex.Unlock()
			}
			if made++; made == notch {
				l.tell(made)
				made = 0
			}
		}
	}
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(work)
	}
	group.Wait()
	if ended != nil {
		return ended
	}
	return first
}

// tell counts evaluations.
func (l *labour) tell(made int) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	l.done += made
	if l.progress != nil {
		l.progress(l.done, l.all)
	}
}
