package phantom

import "math"

// lattice is smooth noise with a random gradient at each integer point (after
// Perlin 1985, with the fifth-degree blend of Perlin 2002): zero at the lattice
// points, about ±0.7 between them, no feature much finer than a cell.
type lattice struct {
	order [512]uint8
	slope [256]MM
}

func newLattice(r *random) *lattice {
	var l lattice
	for i := range 256 {
		l.order[i] = uint8(i)
		sin, cos := math.Sincos(2 * math.Pi * r.uniform())
		l.slope[i] = MM{cos, sin}
	}
	for i := 255; i > 0; i-- {
		j := int(r.uniform() * float64(i+1))
		l.order[i], l.order[j] = l.order[j], l.order[i]
	}
	copy(l.order[256:], l.order[:256])
	return &l
}

func (l *lattice) at(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	i, j := int(fx)&255, int(fy)&255
	x, y = x-fx, y-fy
	a, b := int(l.order[i]), int(l.order[i+1])
	corner := func(k int, u, v float64) float64 {
		g := &l.slope[l.order[k]]
		return g.X*u + g.Y*v
	}
	n00, n10 := corner(a+j, x, y), corner(b+j, x-1, y)
	n01, n11 := corner(a+j+1, x, y-1), corner(b+j+1, x-1, y-1)
	u, v := blend(x), blend(y)
	n0, n1 := n00+u*(n10-n00), n01+u*(n11-n01)
	return n0 + v*(n1-n0)
}

func blend(t float64) float64 { return t * t * t * (t*(6*t-15) + 10) }

// trabeculae is the network of cancellous bone as a radiograph shows it: bright
// struts and plates, some tenths of a millimetre wide, around marrow spaces of
// about 0.5 to 1.5 mm, in several sheets that lie over one another.
type trabeculae struct {
	bend   *lattice
	sheets []sheet
}

type sheet struct {
	*lattice
	cellX, cellY  float64 // mm
	sin, cos      float64 // of the direction that the struts prefer
	weight, sharp float64
}

func newTrabeculae(seed uint64) *trabeculae {
	r := newRandom(seed, 1<<32)
	t := &trabeculae{bend: newLattice(r)}
	for _, c := range []struct{ cell, stretch, deg, weight, sharp float64 }{
		{1.35, 1.5, 8, 1.0, 3.2}, // spaces of about 1 mm, struts lying rather flat as in the molar region
		{0.95, 1.4, -14, 0.9, 3.0},
		{0.80, 0.8, 62, 0.6, 2.8},
		{0.50, 1.2, 20, 0.5, 2.4},
	} {
		sin, cos := math.Sincos(c.deg * math.Pi / 180)
		t.sheets = append(t.sheets, sheet{newLattice(r), c.cell * c.stretch, c.cell, sin, cos, c.weight, c.sharp})
	}
	return t
}

// at is the local excess of bone: mean about 0, standard deviation about 1.
func (t *trabeculae) at(p MM) float64 {
	bx := 0.35 * t.bend.at(p.X/1.9, p.Y/1.9)
	by := 0.35 * t.bend.at(p.X/1.9+37.2, p.Y/1.9+11.7)
	x, y := p.X+bx, p.Y+by
	sum := 0.0
	for i := range t.sheets {
		s := &t.sheets[i]
		n := s.lattice.at((x*s.cos+y*s.sin)/s.cellX, (y*s.cos-x*s.sin)/s.cellY)
		q := s.sharp * n
		sum += s.weight * (1/(1+q*q) - 0.78)
	}
	return sum / 0.33
}
