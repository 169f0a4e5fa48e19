package align

import (
	"fmt"
	"math"

	"rootrule/measure"
)

// leastPairs is the number of pairs from which on they fix a map on their own
// and leave something to check it.
const leastPairs = 4

// pairMap is the map from before to after that marked pairs ask for, and the
// pairs, counted from 0, that it does without.
type pairMap struct {
	h     homography
	model string
	bad   []int
}

// mirroredPairs gives the pairs as they lie in the mirrored later picture.
func mirroredPairs(pairs [][2]measure.Point, width int) [][2]measure.Point {
	out := make([][2]measure.Point, len(pairs))
	for i, p := range pairs {
		p[1].X = float64(width-1) - p[1].X
		out[i] = p
	}
	return out
}

// simpler is the model that n pairs can carry, at most the wanted one.
func simpler(n int, wanted string) string {
	m := measure.BestModel(n)
	if freedom[m] > freedom[wanted] {
		return wanted
	}
	return m
}

// fitPairs fits a map to pairs, doing without one that contradicts the others.
func fitPairs(pairs [][2]measure.Point, wanted string) (pairMap, error) {
	m := pairMap{model: simpler(len(pairs), wanted)}
	if i, found := worstPair(pairs); found {
		m.bad = []int{i}
		pairs = without(pairs, i)
		m.model = simpler(len(pairs), wanted)
	}
	a, err := measure.Align(pairs, m.model)
	if err != nil {
		return m, refuse(ErrPairs, err.Error())
	}
	m.h = homography(a).inverse()
	return m, nil
}

func without[T any](s []T, i int) []T {
	return append(append([]T{}, s[:i]...), s[i+1:]...)
}

// worstPair finds the pair that the others contradict: left out, what remains
// fits at least four times as well and the pair misses by more than its marks
// can. Four is what measure uses for the same; common practice, no source.
func worstPair(pairs [][2]measure.Point) (worst int, found bool) {
	n := len(pairs)
	if n < leastPairs {
		return 0, false
	}
	model := measure.BestModel(n - 2) // leaves equations over when one pair is out
	all := pairSpread(pairs, model)
	least := math.Inf(1)
	for i := range pairs {
		if s := pairSpread(without(pairs, i), model); s < least {
			worst, least = i, s
		}
	}
	a, err := measure.Align(without(pairs, worst), model)
	if err != nil {
		return 0, false
	}
	off := a.Map(pairs[worst][1]).Dist(pairs[worst][0])
	return worst, all > 2*least && off > 8*markUncertainty(pairs[worst]) && off > 4*least
}

// pairSpread is the root mean square distance of pairs from the map through
// them, for as many degrees of freedom as are left.
func pairSpread(pairs [][2]measure.Point, model string) float64 {
	left := 2*len(pairs) - freedom[model]
	a, err := measure.Align(pairs, model)
	if err != nil || left <= 0 {
		return math.Inf(1)
	}
	sum := 0.0
	for _, p := range pairs {
		d := a.Map(p[1]).Dist(p[0])
		sum += d * d
	}
	return math.Sqrt(2 * sum / float64(left))
}

func markUncertainty(p [2]measure.Point) float64 { return math.Hypot(p[0].StdUnc(), p[1].StdUnc()) }

// mirrored reports whether pairs ask for a mirrored picture: the map turns
// left into right and fits better than any that does not.
func mirrored(pairs [][2]measure.Point, width int) bool {
	if len(pairs) < leastPairs {
		return false
	}
	as, flipped := pairSpread(pairs, measure.ModelSimilarity), pairSpread(mirroredPairs(pairs, width), measure.ModelSimilarity)
	return flipped < as/4
}

// badPairs are the pairs that miss the map by more than six standard
// uncertainties of their marks. Six, since a structure seen twice is marked
// less well than a point; chosen, no source.
func badPairs(pairs [][2]measure.Point, h homography) (bad []int) {
	for i, p := range pairs {
		if !(h.point(p[1]).Dist(p[0]) <= 6*markUncertainty(p)) {
			bad = append(bad, i)
		}
	}
	return bad
}

// mostPairSpread is the largest spread, in px, of pairs that are believed
// without the pictures' consent: about six clicks' uncertainty. Chosen.
const mostPairSpread = 6.0

// fromPairs is the map of pairs alone, where the pictures themselves do not
// say enough.
func fromPairs(before *template, pairs [][2]measure.Point, wanted string) (refined, []int, error) {
	m, err := fitPairs(pairs, wanted)
	if err != nil {
		return refined{}, nil, err
	}
	used := pairs
	for _, i := range m.bad {
		used = without(used, i)
	}
	if s := pairSpread(used, m.model); !(s < mostPairSpread) {
		return refined{}, nil, refuse(ErrUnrelated, fmt.Sprintf("the images do not look like the same tooth, and the pairs miss each other by %.0f px: check the marks and the images", s))
	}
	r := refined{h: m.h.scaled(before.step), fit: newConsensus(before, m.model)}
	back := m.h.inverse()
	spread := pairSpread(used, m.model)
	for _, p := range used {
		u := math.Max(markUncertainty(p), spread/math.Sqrt2) / before.step
		q := back.point(p[1])
		r.moves = append(r.moves, move{
			x: p[0].X / before.step, y: p[0].Y / before.step, dx: (q.X - p[0].X) / before.step, dy: (q.Y - p[0].Y) / before.step,
			cos: 1, info: [2]float64{neighbours / (u * u), neighbours / (u * u)}, weight: 1, prior: 1, gain: 1,
		})
	}
	if !r.fit.solve(r.moves, freedom[m.model]) {
		return refined{}, nil, refuse(ErrPairs, "the pairs lie in one line or in one place: mark structures spread over the image")
	}
	return r, m.bad, nil
}
