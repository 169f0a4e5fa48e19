package trace

import "math/bits"

// full is the budget at the start of a search, in counts.
const full = 1<<32 - 1

// search is a tree of least-cost paths from one cell, grown as far as it is
// asked to: Dijkstra's algorithm over a bucket queue.
type search struct {
	grid  *Grid
	from  Cell
	moves []move
	// left is what is left of the budget, in counts, on arrival at each sample:
	// 0 where the search has not come yet, so that fresh memory needs no
	// filling; closed where there is no way.
	left   []uint32
	queue  queue
	bucket uint32 // being emptied
	shift  uint   // counts per bucket, as a power of 2
	cut    bool   // the budget has kept the search from going on somewhere
	width  divisor
	height divisor
}

// move is a way to a neighbour.
type move struct {
	x, y, z int
	by      int     // in samples
	half    float64 // half the length, in counts per unit of cost
}

// closed marks blocked samples: more than any path has left. One count is given
// up for it.
const closed = full

func newSearch(g Grid, from Cell, budget float64) *search {
	s := &search{grid: &g, from: from, left: make([]uint32, g.samples()), width: newDivisor(g.X), height: newDivisor(g.Y)}
	s.makeMoves(full / budget)
	sum, open := 0.0, 0
	for i, c := range g.Cost {
		if !passable(c) {
			s.left[i] = closed
			continue
		}
		sum += float64(c)
		open++
	}
	s.shift = bucketShift(sum / float64(open) * g.step(1, 0, 0) * full / budget)
	s.queue = newQueue(full>>s.shift + 1)
	s.visit(uint32(g.index(from)), closed-1)
	return s
}

// bucketShift returns the width of a bucket for steps of a mean size in counts:
// an eighth of it, but 2¹² to 2²⁰ buckets in all (by trial).
func bucketShift(step float64) uint {
	shift := bits.Len64(uint64(min(step/8, full))) - 1
	return uint(min(max(shift, 12), 20))
}

// makeMoves lists the neighbours.
func (s *search) makeMoves(perCost float64) {
	for dz := 1; dz >= -1; dz-- {
		for dy := 1; dy >= -1; dy-- {
			for dx := 1; dx >= -1; dx-- {
				if dx == 0 && dy == 0 && dz == 0 || dz != 0 && s.grid.flat() {
					continue
				}
				s.moves = append(s.moves, move{dx, dy, dz, (dz*s.grid.Y+dy)*s.grid.X + dx, s.grid.step(dx, dy, dz) / 2 * perCost})
			}
		}
	}
}

// visit records that a sample is reached with so much left.
func (s *search) visit(sample, left uint32) {
	s.left[sample] = left
	s.queue.push((closed-1-left)>>s.shift, item{sample, left})
}

// reach grows the tree until the best way to a cell is settled; false when
// there is none within the budget.
func (s *search) reach(to Cell) bool {
	t := s.grid.index(to)
	for !s.settled(t) {
		if !s.grow() {
			return false
		}
	}
	return true
}

// grow empties the next bucket; false when there is none left.
func (s *search) grow() bool {
	if s.bucket > full>>s.shift {
		return false
	}
	s.empty(s.bucket)
	s.bucket++
	return true
}

// settled reports whether no better way to sample t can be found any more.
func (s *search) settled(t int) bool {
	left := s.left[t]
	return left != 0 && left != closed && (closed-1-left)>>s.shift < s.bucket
}

// empty goes on from all samples of a bucket.
func (s *search) empty(bucket uint32) {
	var c chunk
	for {
		items := s.queue.take(bucket, &c)
		if items == nil {
			return
		}
		for _, it := range items {
			if s.left[it.sample] != it.left {
				continue // a better way was found since
			}
			if s.inside(it.sample) {
				s.spread(it)
			} else {
				s.spreadAtBorder(it)
			}
		}
	}
}

// inside reports whether a sample has all its neighbours.
func (s *search) inside(i uint32) bool {
	row := s.width.quotient(i)
	x := i - row*uint32(s.grid.X)
	if x-1 >= uint32(s.grid.X-2) {
		return false
	}
	plane := s.height.quotient(row)
	y := row - plane*uint32(s.grid.Y)
	if y-1 >= uint32(s.grid.Y-2) {
		return false
	}
	return s.grid.flat() || plane-1 < uint32(s.grid.Z-2)
}

// spread goes on from a sample to its neighbours.
func (s *search) spread(it item) {
	cost, left := s.grid.Cost, s.left
	here := float64(cost[it.sample])
	for i := range s.moves {
		m := &s.moves[i]
		to := int(it.sample) + m.by
		if known := left[to]; known < it.left {
			s.step(uint32(to), it.left, known, (here+float64(cost[to]))*m.half)
		}
	}
}

// step takes a step of so many counts to a sample.
func (s *search) step(to, left, known uint32, counts float64) {
	if counts >= float64(left-1) {
		s.cut = true
		return
	}
	if now := left - 1 - uint32(counts); now > known { // at least 1 a step, so that a path can be followed back
		s.visit(to, now)
	}
}

func (s *search) spreadAtBorder(it item) {
	c := s.grid.cell(int(it.sample))
	here := float64(s.grid.Cost[it.sample])
	for i := range s.moves {
		m := &s.moves[i]
		if !s.grid.holds(Cell{c.X + m.x, c.Y + m.y, c.Z + m.z}) {
			continue
		}
		to := uint32(int(it.sample) + m.by)
		if known := s.left[to]; known < it.left {
			s.step(to, it.left, known, (here+float64(s.grid.Cost[to]))*m.half)
		}
	}
}

func (g *Grid) holds(c Cell) bool {
	return c.X >= 0 && c.Y >= 0 && c.Z >= 0 && c.X < g.X && c.Y < g.Y && c.Z < max(g.Z, 1)
}

// path returns the cells from the start to a settled cell.
func (s *search) path(to Cell) []Cell {
	path := []Cell{to}
	for c := to; c != s.from; {
		c = s.before(c)
		path = append(path, c)
	}
	for i, j := 0, len(path)-1; i < j; i, j = i+1, j-1 {
		path[i], path[j] = path[j], path[i]
	}
	return path
}

// before returns the cell from which the best way comes to c: the one whose
// step there uses up exactly the difference.
func (s *search) before(c Cell) Cell {
	i := s.grid.index(c)
	here, left := float64(s.grid.Cost[i]), s.left[i]
	for k := range s.moves {
		m := &s.moves[k]
		n := Cell{c.X + m.x, c.Y + m.y, c.Z + m.z}
		if !s.grid.holds(n) {
			continue
		}
		from := i + m.by
		there := s.left[from]
		if there <= left || there == closed {
			continue
		}
		counts := (float64(s.grid.Cost[from]) + here) * m.half
		if counts < full && there-1-uint32(counts) == left {
			return n
		}
	}
	panic("trace: a path that leads nowhere") // each visit came from a neighbour
}

// divisor divides 32-bit numbers by a fixed one, by multiplication (Lemire,
// Kaser & Kurz 2019, Softw Pract Exp 49:953–970, for divisors above 1).
type divisor struct {
	inverse uint64
	one     bool
}

func newDivisor(d int) divisor { return divisor{^uint64(0)/uint64(d) + 1, d == 1} }

func (d divisor) quotient(n uint32) uint32 {
	if d.one {
		return n
	}
	hi, _ := bits.Mul64(d.inverse, uint64(n))
	return uint32(hi)
}
