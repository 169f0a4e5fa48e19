package trace

import (
	"fmt"
	"math"
)

// Grid is what it costs to pass through each sample of a picture or volume.
type Grid struct {
	Size
	// Cost has X·Y·Z values, 0 or more; through samples whose cost is negative,
	// infinite or not a number there is no way.
	Cost []float32
	// Step is the distance of neighbours along x, y and z; zero: 1 each.
	Step [3]float64
}

// Cell is a sample by its indices.
type Cell struct{ X, Y, Z int }

// LeastCost returns the path of least cost from one cell to another over all 8
// (picture) or 26 (volume) neighbours, both ends included, and its cost: the
// sum over the steps of their length times the mean of the costs of both cells.
// Where several paths cost the same, one of them.
//
// The search is Dijkstra's (1959, Numer Math 1:269–271). Distances are counted
// in 2³² parts of the cost of the straight path, so that the path found costs
// at most some 10⁻⁹ of that more than the best; the cost returned is summed up
// again along it in 64-bit floats. Working space: 4 bytes for each sample that
// the search comes to, and a few per cent.
//
// There is an error when an end lies outside or is blocked, or when no path
// joins them.
func LeastCost(g Grid, from, to Cell) ([]Cell, float64, error) {
	const doing = "least-cost path"
	if err := g.check(doing, len(g.Cost)); err != nil {
		return nil, 0, err
	}
	for _, c := range [2]Cell{from, to} {
		if !g.open(c) {
			return nil, 0, fmt.Errorf("%s: the end at %d, %d, %d lies outside or is blocked: put it on an open place", doing, c.X, c.Y, c.Z)
		}
	}
	for budget := g.straight(from, to); ; budget *= 64 {
		s := newSearch(g, from, budget)
		if s.reach(to) {
			path := s.path(to)
			return path, g.along(path), nil
		}
		if !s.cut {
			return nil, 0, fmt.Errorf("%s: no way from %v to %v: blocked samples part them", doing, from, to)
		}
	}
}

// open reports whether a cell lies inside and is not blocked.
func (g *Grid) open(c Cell) bool {
	return c.X >= 0 && c.Y >= 0 && c.Z >= 0 && c.X < g.X && c.Y < g.Y && c.Z < max(g.Z, 1) && passable(g.Cost[g.index(c)])
}

func passable(cost float32) bool { return cost >= 0 && cost <= math.MaxFloat32 }

func (g *Grid) index(c Cell) int { return (c.Z*g.Y+c.Y)*g.X + c.X }

func (g *Grid) cell(i int) Cell {
	row := i / g.X
	return Cell{i % g.X, row % g.Y, row / g.Y}
}

// step returns the length of the way between neighbours.
func (g *Grid) step(dx, dy, dz int) float64 {
	s := g.Step
	if s == [3]float64{} {
		s = [3]float64{1, 1, 1}
	}
	x, y, z := float64(dx)*s[0], float64(dy)*s[1], float64(dz)*s[2]
	return math.Sqrt(x*x + y*y + z*z)
}

// along returns the cost of a path of neighbours.
func (g *Grid) along(path []Cell) float64 {
	sum := 0.0
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		mean := (float64(g.Cost[g.index(a)]) + float64(g.Cost[g.index(b)])) / 2
		sum += mean * g.step(b.X-a.X, b.Y-a.Y, b.Z-a.Z)
	}
	return sum
}

// straight returns the cost of the straight path between two cells, blocked
// cells left out: no best path costs more unless it has to go around some. It
// is a little more than 0 even where all costs are 0.
func (g *Grid) straight(from, to Cell) float64 {
	n := max(abs(to.X-from.X), abs(to.Y-from.Y), abs(to.Z-from.Z))
	sum, largest := 0.0, float32(0)
	last := from
	for i := 1; i <= n; i++ {
		part := func(a, b int) int { return a + int(math.Round(float64((b-a)*i)/float64(n))) }
		c := Cell{part(from.X, to.X), part(from.Y, to.Y), part(from.Z, to.Z)}
		a, b := g.Cost[g.index(last)], g.Cost[g.index(c)]
		if passable(a) && passable(b) {
			sum += (float64(a) + float64(b)) / 2 * g.step(c.X-last.X, c.Y-last.Y, c.Z-last.Z)
			largest = max(largest, a, b)
		}
		last = c
	}
	return sum*(1+1e-6) + float64(largest)*1e-6 + math.SmallestNonzeroFloat32
}

func abs(i int) int { return max(i, -i) }
