package measure

import "math"

// sight is how an image sees space: a point p has the place (x·p, y·p) on it.
// A group with sights fits a line in space to marks on images, each mark by
// its distance from the line as its own image shows it.
type sight struct{ x, y vec }

func (s sight) of(p vec) vec { return vec{s.x.dot(p), s.y.dot(p), 0} }

// space is the number of dimensions of the line that the marks belong to.
func (g group) space() int {
	if g.sights != nil {
		return 3
	}
	return g.dims
}

// across is the number of directions in which a mark can lie beside the line.
func (g group) across() int { return g.dims - 1 }

// observation is one mark and the point of the ideal canal closest to it.
type observation struct {
	foot piece   // the canal from the closest point on
	lift float64 // how far it moves across the piece per unit of curvature
	at   int     // the index of the piece
	n    int     // number of directions, 1 or 2
	dir  [2]vec  // the directions in space
	flat [2]vec  // the same directions where the mark is
	r    [2]float64
	w    [2]float64 // 1 / standard uncertainty of the mark in that direction
}

// observe finds the point of the pieces closest to mark i.
func (b *bend) observe(i int) observation {
	if b.marks.sights != nil {
		return b.sighted(i)
	}
	q := b.marks.p[i]
	o := observation{n: b.marks.across(), at: b.arcs.pieceAt(q)}
	o.foot, o.r, o.lift = b.arcs[o.at].closest(q)
	o.dir = [2]vec{o.foot.f2, o.foot.f3}
	o.flat = o.dir
	o.w = [2]float64{1 / b.marks.sd(i, o.foot.f2), 1 / b.marks.sd(i, o.foot.f3)}
	return o
}

// sighted finds the point of the pieces that the image of mark i shows closest
// to it.
func (b *bend) sighted(i int) observation {
	view, q := b.marks.sights[i], b.marks.p[i]
	s, at, foot := view.footing(b.arcs, q)
	t := view.of(foot.t)
	n := t.left().unit()
	o := observation{foot: foot, lift: lift(foot.curvature(), s), at: at, n: 1}
	o.flat[0] = n
	o.dir[0] = view.x.mul(n.x).add(view.y.mul(n.y))
	o.r[0] = q.sub(view.of(foot.p)).dot(n)
	o.w[0] = 1 / b.marks.u[i]
	return o
}

// footing returns the point of the pieces that the image shows closest to q:
// its length along its piece, the index of that, and the piece from there on.
func (v sight) footing(a arcs, q vec) (s float64, at int, foot piece) {
	for at = range a {
		s, foot = v.foot(a[at], q)
		if s <= a[at].length {
			break
		}
	}
	return s, at, foot
}

// lift is (1 − cos ks) / k²: how far an arc of curvature k moves across itself
// at the length s when its curvature grows by one.
func lift(k, s float64) float64 {
	if math.Abs(k*s) < 1e-4 {
		return s * s / 2
	}
	h := math.Sin(k * s / 2)
	return 2 * h * h / (k * k)
}

// foot returns the length along the piece to the point that the image shows
// closest to q, by Gauss–Newton steps along the piece.
func (v sight) foot(c piece, q vec) (float64, piece) {
	s, at := 0.0, c
	for range 30 {
		t := v.of(at.t)
		step := q.sub(v.of(at.p)).dot(t) / t.dot(t)
		if k := c.curvature(); k > 0 {
			step = math.Max(-1/k, math.Min(1/k, step))
		}
		s += step
		at = c.at(s)
		if math.Abs(step) < 1e-13*(1+math.Abs(s)) {
			break
		}
	}
	return s, at
}

// alongLine is the length along the piece c to the foot of mark i.
func (g group) alongLine(c piece, i int) float64 {
	if g.sights != nil {
		s, _ := g.sights[i].foot(c, g.p[i])
		return s
	}
	return g.p[i].sub(c.p).dot(c.t)
}

// along is the length along the pieces a to the foot of mark i.
func (g group) along(a arcs, i int) float64 {
	if g.sights == nil {
		return a.along(g.p[i])
	}
	s, at, _ := g.sights[i].footing(a, g.p[i])
	for _, c := range a[:at] {
		s += c.length
	}
	return s
}

// last is the index of the mark at the apex.
func (g group) last() int {
	if g.sights == nil {
		return len(g.p) - 1
	}
	n := 1
	for n < len(g.p) && g.sights[n] == g.sights[0] {
		n++
	}
	return n - 1
}
