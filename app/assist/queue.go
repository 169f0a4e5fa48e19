package assist

import "sync"

// Queue runs work beside its caller, one piece after another. A piece that
// waits is dropped when a newer one comes: a drag asks for more lines than can
// be found, and only the newest matters.
type Queue struct {
	beside func(work func())

	mu   sync.Mutex
	busy bool
	next func()
}

// NewQueue returns a Queue that starts its work with beside, such as a go
// statement.
func NewQueue(beside func(work func())) *Queue { return &Queue{beside: beside} }

// Do runs work as soon as the piece under way is done, unless newer work comes
// first.
func (q *Queue) Do(work func()) {
	q.mu.Lock()
	q.next = work
	idle := !q.busy
	q.busy = true
	q.mu.Unlock()
	if idle {
		q.beside(q.run)
	}
}

func (q *Queue) run() {
	for {
		q.mu.Lock()
		work := q.next
		q.next, q.busy = nil, work != nil
		q.mu.Unlock()
		if work == nil {
			return
		}
		work()
	}
}
