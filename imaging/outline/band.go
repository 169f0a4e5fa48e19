package outline

import "math"

// ring is the strip around a contour in which the closed path is sought:
// places from lo to hi times the contour's ellipse.
type ring struct{ lo, hi float64 }

const (
	places = 45  // along each ray
	reachN = 3   // places that a path may move between neighbouring rays
	stiff  = 0.6 // cost of one step of 1/20 of the radius, against the reward 1 of a typical edge. By trial
)

// path finds the closed path of least cost through the slopes around c:
// dynamic programming around two laps, of which the middle is kept (so that it
// closes). Slopes beyond what is typical for the contour earn no more, because
// a root's own edge is often the strongest thing in sight.
func (s *slopes) path(c contour, r ring, typical float64) [rays]float64 {
	normals := c.normals()
	gap := (r.hi - r.lo) / (places - 1)
	var cost [rays][places]float64
	for k := range rays {
		ray, n := c.ray(k), normals[k]
		for i := range places {
			p := c.frame.c.add(ray.mul(c.rho[k] * (r.lo + gap*float64(i))))
			cost[k][i] = -math.Max(-0.3, math.Min(1.2, s.along(p.x, p.y, n.x, n.y)/typical))
		}
	}
	step := gap * 20 * rays / (2 * math.Pi) / 16 // a slope of the path, not a distance
	var from [2 * rays][places]int8
	var sum, next [places]float64
	for lap := range 2 * rays {
		k := lap % rays
		for i := range places {
			best, at := math.Inf(1), 0
			for d := -reachN; d <= reachN; d++ {
				if j := i + d; j >= 0 && j < places {
					x := float64(d) * step
					if v := sum[j] + stiff*x*x; v < best {
						best, at = v, d
					}
				}
			}
			next[i] = best + cost[k][i]
			from[lap][i] = int8(at)
		}
		sum = next
	}
	i := 0
	for j := range sum {
		if sum[j] < sum[i] {
			i = j
		}
	}
	var rho [rays]float64
	for lap := 2*rays - 1; lap >= rays/2; lap-- {
		if lap < rays*3/2 {
			k := lap % rays
			rho[k] = c.rho[k] * (r.lo + gap*float64(i))
		}
		i += int(from[lap][i])
	}
	return rho
}
