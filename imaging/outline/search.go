package outline

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// The grid of ellipses that the search looks at. Ours, by trial: finer grids
// find the same lesions.
const (
	smallest  = 5.0  // px, radius of the circle of the same area
	largest   = 400  // px
	radiusGap = 1.19 // between radii: four to the octave
	levelFrom = 11.0 // a radius of so many pixels of a level, to twice that, is looked for there
	offCentre = 0.8  // the seed lies within this part of the ellipse
	discGap   = 0.22 // between places of the seed within the ellipse
	rim       = 24   // points of an ellipse at which the slope is read
)

// stretches are the aspect ratios searched, with the number of directions.
var stretches = []struct {
	aspect float64
	turns  int
}{{1, 1}, {1.4, 6}, {1.9, 8}, {2.7, 9}}

// found is an ellipse with its score: the typical slope across its edge in
// grey values per pixel of the level.
type found struct {
	ellipse
	score float64
	level int
}

// search looks for the ellipses around the seed whose edge is steep all
// around: the best ones that differ, best first.
func (p *pyramid) search(seed vec) []found {
	var at [levels][]found
	inParallel(levels, func(l int) { at[l] = p.searchLevel(seed, l) })
	all := slices.Concat(at[:]...)
	sortByScore(all)
	return pick(all, keep)
}

// searchLevel looks for the ellipses whose size suits a level.
func (p *pyramid) searchLevel(seed vec, level int) []found {
	s := searcher{seed: seed, seeds: discGrid(), level: level, slopes: newSlopes(p.planes[level].around(seed.x, seed.y, view))}
	for k := range 4 {
		s.radius(levelFrom * math.Pow(radiusGap, float64(k)) * s.slopes.step)
	}
	if level == 0 {
		for r := smallest; r < levelFrom*0.95; r *= radiusGap {
			s.radius(r)
		}
	}
	sortByScore(s.all)
	best := pick(s.all, climbers)
	for i := range best {
		best[i] = s.climb(best[i])
	}
	return best
}

func sortByScore(f []found) {
	slices.SortStableFunc(f, func(a, b found) int { return cmp.Compare(b.score, a.score) })
}

// inParallel calls do for 0 to n−1 on all processors.
func inParallel(n int, do func(i int)) {
	var wait sync.WaitGroup
	for i := range n {
		wait.Go(func() { do(i) })
	}
	wait.Wait()
}

// Numbers of candidates: those of a level that climb from their grid point, and
// those of all levels that are followed up.
const (
	climbers = 20
	keep     = 6
)

type searcher struct {
	*slopes
	seed  vec
	seeds []vec
	level int
	all   []found
}

// discGrid returns places of the seed in the unit disc.
func discGrid() []vec {
	var out []vec
	const n = 3 // int(offCentre / discGap)
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			if p := (vec{float64(i) * discGap, float64(j) * discGap}); p.norm() <= offCentre {
				out = append(out, p)
			}
		}
	}
	return out
}

// radius scores all ellipses of one size.
func (s *searcher) radius(r float64) {
	if r > largest*1.05 {
		return
	}
	for _, k := range stretches {
		q := math.Sqrt(k.aspect)
		for i := range k.turns {
			e := newEllipse(vec{}, r*q, r/q, math.Pi*float64(i)/float64(k.turns))
			rim := newRimOf(e)
			for _, at := range s.seeds {
				e.c = s.seed.sub(e.a.mul(at.x)).sub(e.b.mul(at.y))
				if score := s.score(e.c, &rim); score > 0 {
					s.all = append(s.all, found{e, score, s.level})
				}
			}
		}
	}
}

// rimOf holds points on an ellipse about the origin with outward normals.
type rimOf struct{ p, n [rim]vec }

var rimAngles = func() (a [rim][2]float64) {
	for i := range a {
		a[i][0], a[i][1] = math.Sincos(2 * math.Pi * (float64(i) + 0.5) / rim)
	}
	return a
}()

func newRimOf(e ellipse) (r rimOf) {
	e.c = vec{}
	aa, bb := e.a.dot(e.a), e.b.dot(e.b)
	for i, t := range rimAngles {
		r.p[i] = e.at(t[0], t[1])
		r.n[i] = e.a.mul(t[1] / aa).add(e.b.mul(t[0] / bb)).unit()
	}
	return r
}

// score returns the mean of the middle part of the slopes around an ellipse,
// sorted: the weakest stretches may be hidden, the strongest are often a
// root's and not the lesion's.
func (s *searcher) score(c vec, r *rimOf) float64 {
	var g [rim]float64
	down := 0
	for first := range 3 { // a third of the points tells most cases
		for i := first; i < rim; i += 3 {
			p := r.p[i]
			g[i] = s.along(c.x+p.x, c.y+p.y, r.n[i].x, r.n[i].y)
			if g[i] <= 0 {
				down++
			}
		}
		if down > (first+1)*2+1 {
			return 0
		}
	}
	insertionSort(g[:])
	const from, to = rim * 1 / 6, rim * 5 / 8
	sum := 0.0
	for _, v := range g[from:to] {
		sum += v
	}
	return sum / (to - from)
}

func insertionSort(v []float64) {
	for i := 1; i < len(v); i++ {
		x, j := v[i], i
		for j > 0 && v[j-1] > x {
			v[j] = v[j-1]
			j--
		}
		v[j] = x
	}
}

// climb moves, stretches and turns an ellipse while its score grows.
func (s *searcher) climb(f found) found {
	size := 0.15
	for range 4 {
		better := false
		for k := range 10 {
			e := f.nudged(k, size)
			if e.inside(s.seed) > 0.9 || e.aspect() > maxAspect {
				continue
			}
			rim := newRimOf(e)
			if score := s.score(e.c, &rim); score > f.score {
				f.ellipse, f.score, better = e, score, true
			}
		}
		if !better {
			size /= 2
		}
	}
	return f
}

// nudged returns one of ten neighbours of an ellipse.
func (e ellipse) nudged(k int, by float64) ellipse {
	if k%2 == 1 {
		by = -by
	}
	switch k / 2 {
	case 0:
		e.c = e.c.add(e.a.mul(by))
	case 1:
		e.c = e.c.add(e.b.mul(by))
	case 2:
		e.a = e.a.mul(1 + by)
	case 3:
		e.b = e.b.mul(1 + by)
	case 4:
		sin, cos := math.Sincos(by * 1.5)
		turn := func(v vec) vec { return vec{v.x*cos - v.y*sin, v.x*sin + v.y*cos} }
		e.a, e.b = turn(e.a), turn(e.b)
	}
	return e
}

// pick returns the first n that differ.
func pick(sorted []found, n int) []found {
	var out []found
	for _, f := range sorted {
		if len(out) == n {
			break
		}
		if !slices.ContainsFunc(out, func(g found) bool { return alike(f.ellipse, g.ellipse) }) {
			out = append(out, f)
		}
	}
	return out
}

// alike reports whether two ellipses are so close that following both up
// would give the same outline.
func alike(a, b ellipse) bool {
	ra, rb := a.radius(), b.radius()
	near := math.Max(math.Min(ra, rb)*0.3, 1)
	return math.Abs(ra-rb) < near*0.6 && a.c.sub(b.c).norm() < near
}
