package outline

import "math"

// degree is the highest degree of a surface's spherical harmonics, terms their
// number.
const (
	degree = 6
	terms  = (degree + 1) * (degree + 1)
)

// mesh is an icosahedron whose faces were divided three times: 642 directions
// about evenly spread, and the triangles between them, outward anticlockwise.
type mesh struct {
	dir    []vec3
	faces  [][3]int
	next   [][]int     // neighbours of each direction
	weight []float64   // solid angle of each direction; 4π together
	waves  [][]float64 // spherical harmonics at each direction
}

var ball = newMesh(3)

func newMesh(divide int) *mesh {
	m := &mesh{}
	m.dir, m.faces = icosahedron()
	for range divide {
		m.subdivide()
	}
	m.next = make([][]int, len(m.dir))
	m.weight = make([]float64, len(m.dir))
	for _, f := range m.faces {
		angle := solidAngle(m.dir[f[0]], m.dir[f[1]], m.dir[f[2]])
		for i := range 3 {
			m.weight[f[i]] += angle / 3
			m.next[f[i]] = append(m.next[f[i]], f[(i+1)%3]) // each neighbour once: the faces turn one way
		}
	}
	for _, d := range m.dir {
		m.waves = append(m.waves, harmonics(d))
	}
	return m
}

func icosahedron() ([]vec3, [][3]int) {
	g := (1 + math.Sqrt(5)) / 2
	p := []vec3{{-1, g, 0}, {1, g, 0}, {-1, -g, 0}, {1, -g, 0}, {0, -1, g}, {0, 1, g}, {0, -1, -g}, {0, 1, -g}, {g, 0, -1}, {g, 0, 1}, {-g, 0, -1}, {-g, 0, 1}}
	for i := range p {
		p[i] = p[i].unit()
	}
	return p, [][3]int{{0, 11, 5}, {0, 5, 1}, {0, 1, 7}, {0, 7, 10}, {0, 10, 11}, {1, 5, 9}, {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
		{3, 9, 4}, {3, 4, 2}, {3, 2, 6}, {3, 6, 8}, {3, 8, 9}, {4, 9, 5}, {2, 4, 11}, {6, 2, 10}, {8, 6, 7}, {9, 8, 1}}
}

// subdivide puts a direction on the middle of each edge.
func (m *mesh) subdivide() {
	middle := map[[2]int]int{}
	mid := func(a, b int) int {
		key := [2]int{min(a, b), max(a, b)}
		i, ok := middle[key]
		if !ok {
			i = len(m.dir)
			m.dir = append(m.dir, m.dir[a].add(m.dir[b]).unit())
			middle[key] = i
		}
		return i
	}
	var faces [][3]int
	for _, f := range m.faces {
		a, b, c := mid(f[0], f[1]), mid(f[1], f[2]), mid(f[2], f[0])
		faces = append(faces, [3]int{f[0], a, c}, [3]int{f[1], b, a}, [3]int{f[2], c, b}, [3]int{a, b, c})
	}
	m.faces = faces
}

// solidAngle of a triangle of unit vectors (Van Oosterom & Strackee 1983, IEEE
// Trans Biomed Eng 30:125–126, eq. 8).
func solidAngle(a, b, c vec3) float64 {
	return 2 * math.Atan2(math.Abs(a.dot(b.cross(c))), 1+a.dot(b)+b.dot(c)+c.dot(a))
}

// harmonics returns the real spherical harmonics up to degree at a direction,
// scaled so that each has the mean square 1 over the sphere; those of degree l
// stand from l² on. Legendre functions by their recurrences (Abramowitz &
// Stegun 8.5.3), without the Condon–Shortley phase.
func harmonics(d vec3) []float64 {
	out := make([]float64, terms)
	var p [degree + 1][degree + 1]float64 // P_l^m / sin^m
	p[0][0] = 1
	for m := 0; m <= degree; m++ {
		if m > 0 {
			p[m][m] = float64(2*m-1) * p[m-1][m-1]
		}
		for l := m + 1; l <= degree; l++ {
			p[l][m] = float64(2*l-1) * d[2] * p[l-1][m]
			if l > m+1 {
				p[l][m] -= float64(l+m-1) * p[l-2][m]
			}
			p[l][m] /= float64(l - m)
		}
	}
	cos, sin := 1.0, 0.0 // sin^m θ times cos mφ, sin mφ
	for m := 0; m <= degree; m++ {
		for l := m; l <= degree; l++ {
			norm := float64(2*l + 1)
			for i := l - m + 1; i <= l+m; i++ {
				norm /= float64(i)
			}
			if m == 0 {
				out[l*l+l] = math.Sqrt(norm) * p[l][0]
			} else {
				k := math.Sqrt(2*norm) * p[l][m]
				out[l*l+l+m], out[l*l+l-m] = k*cos, k*sin
			}
		}
		cos, sin = cos*d[0]-sin*d[1], sin*d[0]+cos*d[1]
	}
	return out
}

// degreeOf is the degree of a harmonic by its place.
func degreeOf(i int) int { return int(math.Sqrt(float64(i))) }
