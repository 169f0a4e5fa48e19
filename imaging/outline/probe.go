package outline

import (
	"cmp"
	"math"
	"slices"
)

// The search for a ball in a volume: as in pictures, coarser, because there
// are many more points around a ball than around a circle. By trial.
const (
	probes      = 42  // directions: an icosahedron divided once
	smallBall   = 3.0 // voxels, the smallest radius
	ballFrom    = 5.5 // a radius of so many voxels of a level, to twice that, is looked for there
	ballGap     = 0.3 // between places of the seed within the ball
	probeReach  = 1.3 // voxels on each side over which a slope is taken
	ballFollows = 4   // balls that are followed up
)

// probe is an ellipsoid with the typical slope across its surface.
type probe struct {
	ellipsoid
	score float64
	level int
}

var probeDirs = newMesh(1).dir[:probes]

// searchBlocks looks for the ellipsoids around the seed whose surface is steep
// all around, best first.
func searchBlocks(blocks []block, seed vec3) []probe {
	var at [blockLevels][]probe
	inParallel(len(blocks), func(l int) {
		b := &blocks[l]
		from := ballFrom
		if l == 0 {
			from = smallBall
		}
		for r := from; r < 2*ballFrom; r *= radiusGap {
			at[l] = append(at[l], b.balls(seed, r*b.finest(), l)...)
		}
		at[l] = apart(at[l], 10)
		for i := range at[l] {
			at[l][i] = b.climb(at[l][i], seed)
		}
	})
	return apart(slices.Concat(at[:]...), ballFollows)
}

// balls scores the balls of one radius that hold the seed.
func (b *block) balls(seed vec3, r float64, level int) []probe {
	var out []probe
	const n = 2 // int(offCentre / ballGap)
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			for k := -n; k <= n; k++ {
				off := vec3{float64(i), float64(j), float64(k)}.mul(ballGap)
				if off.norm() > offCentre {
					continue
				}
				e := ellipsoid{seed.sub(off.mul(r)), [3]vec3{{r, 0, 0}, {0, r, 0}, {0, 0, r}}}
				if s := b.score(e); s > 0 {
					out = append(out, probe{e, s, level})
				}
			}
		}
	}
	return out
}

// score is the mean of the middle part of the slopes across an ellipsoid, in
// grey values per voxel of the level; see searcher.score.
func (b *block) score(e ellipsoid) float64 {
	var g [probes]float64
	reach := probeReach * b.finest()
	down := 0
	for i, d := range probeDirs {
		ray := e.ray(d)
		n := e.normal(d)
		p := e.c.add(ray)
		v := b.at(p.add(n.mul(reach))) - b.at(p.sub(n.mul(reach)))
		if v == v {
			g[i] = v / (2 * probeReach)
		}
		if g[i] <= 0 {
			if down++; down > probes/3 {
				return 0
			}
		}
	}
	insertionSort(g[:])
	return mean(g[probes/6 : probes*5/8])
}

// normal is the outward unit normal of the ellipsoid in direction d.
func (e ellipsoid) normal(d vec3) vec3 {
	var n vec3
	for a, axis := range e.axes {
		n = n.add(axis.mul(d[a] / axis.dot(axis)))
	}
	return n.unit()
}

// climb moves and stretches an ellipsoid while its score grows.
func (b *block) climb(p probe, seed vec3) probe {
	size := 0.15
	for range 6 {
		better := false
		for k := range 12 {
			e := p.nudged(k, size)
			if _, rho := e.polar(seed); rho > 0.9 || e.aspect() > maxAspect {
				continue
			}
			if s := b.score(e); s > p.score {
				p.ellipsoid, p.score, better = e, s, true
			}
		}
		if !better {
			size /= 2
		}
	}
	return p
}

func (e ellipsoid) nudged(k int, by float64) ellipsoid {
	if k%2 == 1 {
		by = -by
	}
	a := k / 2 % 3
	if k < 6 {
		e.c = e.c.add(e.axes[a].mul(by))
	} else {
		e.axes[a] = e.axes[a].mul(1 + by)
	}
	return e
}

// apart returns the n best that differ.
func apart(all []probe, n int) []probe {
	slices.SortStableFunc(all, func(a, b probe) int { return cmp.Compare(b.score, a.score) })
	var out []probe
	for _, p := range all {
		same := func(q probe) bool {
			r := math.Min(p.radius(), q.radius())
			return math.Abs(p.radius()-q.radius()) < 0.2*r && p.c.sub(q.c).norm() < 0.3*r
		}
		if len(out) < n && !slices.ContainsFunc(out, same) {
			out = append(out, p)
		}
	}
	return out
}
