package trace

import (
	"math"

	"rootrule/measure"
)

// vec is a place or a direction; on pictures z is 0.
type vec struct{ x, y, z float64 }

func (a vec) add(k float64, b vec) vec { return vec{a.x + k*b.x, a.y + k*b.y, a.z + k*b.z} }
func (a vec) sub(b vec) vec            { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) dot(b vec) float64        { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) norm() float64            { return math.Sqrt(a.dot(a)) }

func (a vec) unit() vec {
	if n := a.norm(); n > 0 {
		return vec{a.x / n, a.y / n, a.z / n}
	}
	return a
}

func (a vec) cross(b vec) vec {
	return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

func at(p measure.Point) vec { return vec{p.X, p.Y, 0} }

// curve is a line as places along it, close together.
type curve []vec

func (c curve) length() float64 {
	sum := 0.0
	for i := 1; i < len(c); i++ {
		sum += c[i].sub(c[i-1]).norm()
	}
	return sum
}

// resampled returns places evenly spaced along c, about step apart, its ends
// included; at least two.
func (c curve) resampled(step float64) curve {
	length := c.length()
	n := max(int(math.Round(length/step)), 1)
	out := make(curve, 0, n+1)
	out = append(out, c[0])
	walked, i := 0.0, 1
	for k := 1; k < n; k++ {
		s := length * float64(k) / float64(n)
		for i < len(c)-1 && walked+c[i].sub(c[i-1]).norm() < s {
			walked += c[i].sub(c[i-1]).norm()
			i++
		}
		d := c[i].sub(c[i-1])
		out = append(out, c[i-1].add((s-walked)/max(d.norm(), 1e-12), d))
	}
	return append(out, c[len(c)-1])
}

// tangent returns the direction at place i.
func (c curve) tangent(i int) vec {
	return c[min(i+1, len(c)-1)].sub(c[max(i-1, 0)]).unit()
}

// faired returns c smoothed by a spline that averages over about reach places,
// coordinate by coordinate.
func (c curve) faired(reach float64) curve {
	if len(c) <= order+2 {
		return c
	}
	w := make([]float64, len(c))
	var xyz [3][]float64
	for k := range xyz {
		xyz[k] = make([]float64, len(c))
	}
	for i, p := range c {
		w[i] = 1
		xyz[0][i], xyz[1][i], xyz[2][i] = p.x, p.y, p.z
	}
	for k := range xyz {
		xyz[k], _, _, _ = smoothAt(xyz[k], w, stiffness(reach, 1))
	}
	out := make(curve, len(c))
	for i := range out {
		out[i] = vec{xyz[0][i], xyz[1][i], xyz[2][i]}
	}
	return out
}

// reference returns a line much smoother than any canal beside c, its places a
// pixel apart: c in coarse steps, faired, with cubics between.
func (c curve) reference() curve {
	const coarse, reach = 8.0, 250.0 // px
	r := c.resampled(coarse).faired(reach / coarse)
	n := max(int(math.Round(r.length())), 1)
	out := make(curve, n+1)
	for k := range 3 {
		v := make([]float64, len(r))
		for i, p := range r {
			v[i] = [3]float64{p.x, p.y, p.z}[k]
		}
		for i := range out {
			x := cubic(v, float64(i)*float64(len(r)-1)/float64(n))
			switch k {
			case 0:
				out[i].x = x
			case 1:
				out[i].y = x
			default:
				out[i].z = x
			}
		}
	}
	return out
}

// nearest returns the position of the place of c closest to p, as an index with
// a fraction; beyond an end, the end.
func (c curve) nearest(p vec) float64 { return c.nearestIn(p, 1, len(c)) }

// nearestAfter is nearest for places one after the other along c, about as far
// apart as its own: not far from where the place before was.
func (c curve) nearestAfter(p vec, before float64) float64 {
	const around = 30
	return c.nearestIn(p, max(int(before)-around, 1), min(int(before)+around, len(c)))
}

// nearestIn is nearest among the stretches that end at places from … to−1.
func (c curve) nearestIn(p vec, from, to int) float64 {
	best, at := math.Inf(1), float64(from-1)
	for i := from; i < to; i++ {
		d := c[i].sub(c[i-1])
		t := min(max(p.sub(c[i-1]).dot(d)/max(d.dot(d), 1e-24), 0), 1)
		if r := p.sub(c[i-1].add(t, d)).norm(); r < best {
			best, at = r, float64(i-1)+t
		}
	}
	return at
}

// at returns the place at an index with a fraction.
func (c curve) at(s float64) vec {
	i := min(max(int(s), 0), len(c)-1)
	if i == len(c)-1 {
		return c[i]
	}
	return c[i].add(s-float64(i), c[i+1].sub(c[i]))
}
