package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// bruteForce returns the least cost from one cell to another: Dijkstra with a
// search through all cells, in 64-bit floats; +Inf where there is no way.
func bruteForce(g Grid, from, to Cell) float64 {
	n := g.samples()
	cost := make([]float64, n)
	done := make([]bool, n)
	for i := range cost {
		cost[i] = math.Inf(1)
	}
	cost[g.index(from)] = 0
	for {
		best := -1
		for i := range cost {
			if !done[i] && !math.IsInf(cost[i], 1) && (best < 0 || cost[i] < cost[best]) {
				best = i
			}
		}
		if best < 0 || best == g.index(to) {
			return cost[g.index(to)]
		}
		done[best] = true
		for i := range cost {
			a, b := g.cell(best), g.cell(i)
			dx, dy, dz := b.X-a.X, b.Y-a.Y, b.Z-a.Z
			if i == best || max(abs(dx), abs(dy), abs(dz)) > 1 || !passable(g.Cost[i]) {
				continue
			}
			step := (float64(g.Cost[best]) + float64(g.Cost[i])) / 2 * g.step(dx, dy, dz)
			cost[i] = math.Min(cost[i], cost[best]+step)
		}
	}
}

func randomGrid(r *rapid.T) Grid {
	size := Size{rapid.IntRange(1, 9).Draw(r, "x"), rapid.IntRange(1, 9).Draw(r, "y"), rapid.IntRange(1, 4).Draw(r, "z")}
	g := Grid{Size: size, Cost: make([]float32, size.samples())}
	if rapid.Bool().Draw(r, "anisotropic") {
		g.Step = [3]float64{0.3, 0.25, 0.4}
	}
	random := rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "seed"), 0))
	spread := rapid.Float64Range(0, 6).Draw(r, "spread")
	walls := rapid.Float64Range(0, 0.3).Draw(r, "walls")
	for i := range g.Cost {
		g.Cost[i] = float32(math.Exp(spread * random.NormFloat64()))
		switch {
		case random.Float64() < walls:
			g.Cost[i] = []float32{-1, float32(math.NaN()), float32(math.Inf(1))}[random.IntN(3)]
		case random.Float64() < 0.05:
			g.Cost[i] = 0
		}
	}
	return g
}

func randomCell(r *rapid.T, g Grid, name string) Cell {
	return g.cell(rapid.IntRange(0, g.samples()-1).Draw(r, name))
}

func TestLeastCostMatchesBruteForce(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		g := randomGrid(r)
		from, to := randomCell(r, g, "from"), randomCell(r, g, "to")
		if !g.open(from) || !g.open(to) {
			if _, _, err := LeastCost(g, from, to); err == nil {
				r.Fatal("a blocked end gives no error")
			}
			return
		}
		want := bruteForce(g, from, to)
		path, cost, err := LeastCost(g, from, to)
		if math.IsInf(want, 1) {
			if err == nil {
				r.Fatalf("there is no way, but a path of %d cells came back", len(path))
			}
			return
		}
		if err != nil {
			r.Fatal(err)
		}
		straight := g.straight(from, to) // the unit of the counts
		if math.Abs(cost-want) > 1e-9*math.Max(want, straight) {
			r.Fatalf("cost %.12g, want %.12g", cost, want)
		}
		checkPath(r, g, path, from, to)
		back, _, err := LeastCost(g, to, from)
		if err != nil || math.Abs(g.along(back)-want) > 1e-9*math.Max(want, straight) {
			r.Fatalf("the way back costs %.12g (%v), want %.12g", g.along(back), err, want)
		}
	})
}

func checkPath(r *rapid.T, g Grid, path []Cell, from, to Cell) {
	if path[0] != from || path[len(path)-1] != to {
		r.Fatalf("path from %v to %v, want %v to %v", path[0], path[len(path)-1], from, to)
	}
	for i, c := range path {
		if !g.open(c) {
			r.Fatalf("the path leads through %v, which is blocked", c)
		}
		if i > 0 {
			p := path[i-1]
			if max(abs(c.X-p.X), abs(c.Y-p.Y), abs(c.Z-p.Z)) != 1 {
				r.Fatalf("%v and %v are no neighbours", p, c)
			}
		}
	}
}

// On even ground the cheapest way over 8 neighbours has min(dx, dy) diagonal
// steps; over 26, the octile distance of three axes.
func TestLeastCostOnEvenGround(t *testing.T) {
	flat := Grid{Size: Size{300, 200, 1}, Cost: make([]float32, 300*200)}
	deep := Grid{Size: Size{40, 30, 20}, Cost: make([]float32, 40*30*20), Step: [3]float64{0.2, 0.2, 0.2}}
	for _, g := range []Grid{flat, deep} {
		for i := range g.Cost {
			g.Cost[i] = 2.5
		}
	}
	cases := []struct {
		name     string
		g        Grid
		from, to Cell
		want     float64
	}{
		{"along x", flat, Cell{0, 0, 0}, Cell{299, 0, 0}, 2.5 * 299},
		{"oblique", flat, Cell{10, 20, 0}, Cell{150, 100, 0}, 2.5 * (60 + 80*math.Sqrt2)},
		{"to itself", flat, Cell{7, 7, 0}, Cell{7, 7, 0}, 0},
		{"in a volume", deep, Cell{1, 2, 3}, Cell{31, 22, 13}, 2.5 * 0.2 * (10 + 10*math.Sqrt2 + 10*math.Sqrt(3))},
	}
	for _, c := range cases {
		if _, cost, err := LeastCost(c.g, c.from, c.to); err != nil || math.Abs(cost-c.want) > 1e-9*(1+c.want) {
			t.Errorf("%s: cost %.12g (%v), want %.12g", c.name, cost, err, c.want)
		}
	}
}

// A wall with one gap far to the side: the way costs much more than the
// straight path over the wall would, so the search must widen its budget.
func TestLeastCostAroundAWall(t *testing.T) {
	g := Grid{Size: Size{101, 101, 1}, Cost: make([]float32, 101*101)}
	for i := range g.Cost {
		g.Cost[i] = 1
		if y := i / 101; i%101 == 50 {
			g.Cost[i] = -1
			if y == 100 {
				g.Cost[i] = 1
			}
		} else if y > 1 {
			g.Cost[i] = 1000
		}
	}
	from, to := Cell{49, 0, 0}, Cell{51, 0, 0}
	_, cost, err := LeastCost(g, from, to)
	if want := bruteForce(g, from, to); err != nil || math.Abs(cost-want) > 1e-9*want {
		t.Errorf("cost %.12g (%v), want %.12g", cost, err, want)
	}
	g.Cost[100*101+50] = -1
	if _, _, err := LeastCost(g, from, to); err == nil {
		t.Error("no error where the gap is closed")
	}
}

func TestLeastCostRefusals(t *testing.T) {
	g := Grid{Size: Size{4, 4, 1}, Cost: make([]float32, 16)}
	if _, _, err := LeastCost(g, Cell{0, 0, 0}, Cell{4, 0, 0}); err == nil {
		t.Error("an end outside gives no error")
	}
	g.Cost = g.Cost[:15]
	if _, _, err := LeastCost(g, Cell{0, 0, 0}, Cell{3, 0, 0}); err == nil {
		t.Error("a missing cost gives no error")
	}
}

func TestDivisor(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := rapid.IntRange(1, math.MaxInt32).Draw(r, "d")
		n := rapid.Uint32().Draw(r, "n")
		if got := newDivisor(d).quotient(n); got != n/uint32(d) {
			r.Fatalf("%d/%d = %d, want %d", n, d, got, n/uint32(d))
		}
	})
}
