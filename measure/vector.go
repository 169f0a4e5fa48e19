package measure

import "math"

// vec is a point or a direction. Marks on an image have z = 0, so that lines
// on images and lines in volumes are the same code.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec             { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec             { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) mul(k float64) vec         { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64         { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) norm() float64             { return math.Sqrt(a.dot(a)) }
func (a vec) dist(b vec) float64        { return a.sub(b).norm() }
func (a vec) lerp(b vec, t float64) vec { return a.add(b.sub(a).mul(t)) }

func (a vec) cross(b vec) vec {
	return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

// unit returns a / |a|, and the zero vector for a zero vector.
func (a vec) unit() vec {
	n := a.norm()
	if n == 0 {
		return vec{}
	}
	return a.mul(1 / n)
}

// finite reports whether every component is a number.
func (a vec) finite() bool { return !math.IsNaN(a.x+a.y+a.z) && !math.IsInf(a.x+a.y+a.z, 0) }

// left returns the direction a quarter turn from a within the image plane.
func (a vec) left() vec { return vec{-a.y, a.x, 0} }

// angleTo returns the angle between two directions in radians, 0 to π, exact
// for small angles as well.
func (a vec) angleTo(b vec) float64 { return math.Atan2(a.cross(b).norm(), a.dot(b)) }

// signedAngle returns the angle from a to b within the image plane in
// radians, −π to π.
func signedAngle(a, b vec) float64 { return math.Atan2(a.cross(b).z, a.dot(b)) }

const degrees = 180 / math.Pi

// vecs turns marks into vectors.
func vecs(marks []Point) []vec {
	v := make([]vec, len(marks))
	for i, m := range marks {
		v[i] = vec{m.X, m.Y, 0}
	}
	return v
}
