package trace

import (
	"fmt"
	"math"

	"rootrule/measure"
)

// A picture after treatment shows no dark canal but the filling in it, or a
// file. A line looked for as dark would run along the root's edge instead.
const (
	fillingPlain = 0.15 // cost of a step along a plain filling at most (of 0.02 … 1.02, by trial)
	fillingStark = 0.05 // the same along one that hides what lies beside it (by trial)
	fillingAbove = 1.3  // times plainer than a dark line a filling is (by trial)
	fillingShare = 0.6  // of the line between the marks that is filled at least (ours)
	fillingOff   = 6.0  // px from a mark to the filling's axis at most: two clicks of 3 px, and the tip
)

// asFilling is the map of the same picture for bright lines.
func (t *Map) asFilling() *Map {
	f := *t
	f.bright, f.sign, f.grid, f.filling = true, -t.sign, t.filling, Grid{}
	return &f
}

// filled returns the line of a bright filling or file that takes up most of
// the way between the marks; false where there is none.
func (t *Map) filled(marks []measure.Point) (centre, bool) {
	first, last := marks[0], marks[len(marks)-1]
	f := t.asFilling()
	if !f.plainNear(first) && !f.plainNear(last) {
		return centre{}, false
	}
	rough, err := f.path(marks)
	if err != nil || f.plainShare(rough) < fillingShare {
		return centre{}, false
	}
	m := f.refine(rough.resampled(1).faired(12*float64(t.factor)), careful)
	long := m.extended(EndReach + endWindow).line
	off := func(p measure.Point) float64 { return at(p).sub(long.at(long.nearest(at(p)))).norm() }
	near, far := off(first)/max(fillingOff, 0.7*m.half[0]), off(last)/max(fillingOff, 0.7*m.half[len(m.half)-1])
	if far < near {
		near, far = far, near
	}
	if near > 1 || far > 2.5 || f.plainShare(m.line) < fillingShare {
		return centre{}, false
	}
	f.joinMarks(&m, first, last)
	return m, true
}

// plainNear reports whether a plain bright line passes by a mark.
func (t *Map) plainNear(p measure.Point) bool {
	for dy := -4.0; dy <= 4; dy += 2 {
		for dx := -4.0; dx <= 4; dx += 2 {
			if t.plainAt(vec{p.X + dx, p.Y + dy, 0}) {
				return true
			}
		}
	}
	return false
}

// plainShare is the share of a line that runs along plain ridges.
func (t *Map) plainShare(c curve) float64 {
	n := 0.0
	for _, p := range c {
		if t.plainAt(p) {
			n++
		}
	}
	return n / float64(len(c))
}

// fillingCaution says what a line follows that was asked for as dark.
func fillingCaution(m centre) string {
	return fmt.Sprintf("a bright filling or file lies in the canal around %.0f, %.0f: the line follows its middle; beyond its tip it goes straight on to the mark", m.line[len(m.line)/2].x, m.line[len(m.line)/2].y)
}

// joinMarks leads a filling's line on from its plain ends to the marks, which
// are all that is known beyond them.
func (t *Map) joinMarks(m *centre, first, last measure.Point) {
	*m = m.extended(EndReach + endWindow)
	*m = m.cut(m.line.nearest(at(first)), m.line.nearest(at(last)))
	n := len(m.line)
	for k, mark := range []measure.Point{first, last} {
		from := func(d int) int { // place at a distance from the end
			if k == 0 {
				return d
			}
			return n - 1 - d
		}
		gap := 0
		for gap < n/2 && !t.plainAt(m.line[from(gap)]) {
			gap++
		}
		reach := float64(gap + 3*blockLength)
		off := at(mark).sub(m.line[from(0)])
		sag := reach * reach / (8 * tightest * float64(t.factor))
		for d := 0; d < int(reach) && d < n; d++ {
			x := 1 - float64(d)/reach
			w := x * x * (3 - 2*x)
			i := from(d)
			m.line[i] = m.line[i].add(w, off)
			m.unc[i] = math.Hypot(math.Hypot((1-w)*m.unc[i], w*max(mark.StdUnc(), clickScatter)), 4*x*(1-x)*sag)
		}
	}
}

const (
	// tightest is the radius in cells of the map, 0.03–0.05 mm each, that the end
	// of a canal bends with: 5–8 mm, of the order of tables of curved canals.
	tightest = 160.0
	// clickScatter is the standard uncertainty in px across the line of a click up
	// to 3 px off (uniform: 1.7) and of the way to it.
	clickScatter = 2.0
)

func (t *Map) plainAt(p vec) bool { return t.costAt(p) < fillingPlain }

// costAt is the cost of a step around a place.
func (t *Map) costAt(p vec) float32 { return t.grid.Cost[t.grid.index(t.cell(measure.Pt(p.x, p.y)))] }
