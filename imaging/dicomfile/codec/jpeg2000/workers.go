package jpeg2000

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// A crew shares work between processors. Each worker has its own block
// decoder.
type crew struct {
	size     int
	decoders []*blockDecoder
}

func newCrew() *crew {
	n := runtime.GOMAXPROCS(0)
	return &crew{size: n, decoders: make([]*blockDecoder, n)}
}

// run calls job for 0 to n-1 on all workers and waits. After an error no new
// job is begun, and one of the errors is returned.
func (c *crew) run(n int, job func(worker, i int) error) error {
	return c.runOn(c.size, n, job)
}

// runOn is run on at most so many workers. A panic in one of them is passed on
// to the caller's goroutine, where it can be recovered.
func (c *crew) runOn(workers, n int, job func(worker, i int) error) error {
	if workers == 1 || n <= 1 {
		for i := range n {
			if err := job(0, i); err != nil {
				return err
			}
		}
		return nil
	}
	var (
		next  atomic.Int64
		group sync.WaitGroup
		once  sync.Once
		first error
		fatal any
	)
	stop := func(err error, p any) {
		once.Do(func() { first, fatal = err, p })
		next.Store(int64(n))
	}
	for worker := range min(workers, c.size, n) {
		group.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					stop(nil, p)
				}
			}()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				if err := job(worker, i); err != nil {
					stop(err, nil)
					return
				}
			}
		})
	}
	group.Wait()
	if fatal != nil {
		panic(fatal)
	}
	return first
}

// decoder returns a worker's block decoder.
func (c *crew) decoder(worker int) *blockDecoder {
	if c.decoders[worker] == nil {
		c.decoders[worker] = new(blockDecoder)
	}
	return c.decoders[worker]
}
