package trace

import (
	"fmt"
	"math"
	"slices"

	"rootrule/measure"
)

// By trial on phantoms of one and of two canals.
const (
	pairEvery = 8   // blocks
	pairSure  = 8.0 // gain of two canals over one, summed over neighbours, at which a pair is as likely as not
	pairSlope = 1.5
	// blended is the standard uncertainty of a line where two canals are known
	// to overlap but too closely to be told apart, over the half-width of what
	// is seen: they lie within 0.7 half-widths of each other, or each would show.
	blended = 0.3
	// drawn is the standard uncertainty of a line beside another canal that is
	// seen clear of it, likewise: its border tilts the background.
	drawn = 0.06
)

// doubts widens the uncertainty of a line where its ridge is that of two canals
// that overlap, or the border of something bright, and lowers the confidence
// there.
func (f *follower) doubts(m *centre) {
	if f.templates == nil || f.blocks.n < 2*pairEvery {
		return
	}
	f.doubtPairs(m)
	if !f.t.bright {
		f.doubtBorders(m)
	}
}

func (f *follower) doubtPairs(m *centre) {
	likely, apart := weighed(f.pairs(pairEvery))
	most := slices.Max(likely)
	rivals := f.rivals()
	perPlace := 1 / f.blocks.length() / pairEvery
	sure := make([]bool, len(m.unc))
	for i := range m.unc {
		x := (float64(i)+0.5)*perPlace - 0.5/pairEvery
		p, d := linear(likely, x), linear(apart, x)
		sd := p * d / 2
		switch beside := f.parted(rivals, f.blocks.holding(i)); {
		case beside:
			sd = max(sd, drawn*m.half[i])
		case most > 0.5:
			sd = max(sd, most*blended*m.half[i])
		}
		m.widen(i, sd, p)
		sure[i] = p > 0.5
	}
	m.note(sure, func(from, to int) string {
		d := linear(apart, float64(from+to)/2*perPlace)
		return fmt.Sprintf("two canals seem to overlap between %s and %s, some %.0f px apart: the line may run on either or between them; click a point on the right one", m.name(from), m.name(to), d)
	})
}

// weighed returns how likely there are two canals, and how far apart, with what
// the neighbours say.
func weighed(found []pair) (likely, apart []float64) {
	likely, apart = make([]float64, len(found)), make([]float64, len(found))
	for k, p := range found {
		gain, sum := p.gain, p.gain*p.apart
		for _, j := range []int{k - 1, k + 1} {
			if j >= 0 && j < len(found) {
				gain += 0.6 * found[j].gain
				sum += 0.6 * found[j].gain * found[j].apart
			}
		}
		apart[k] = max(sum/max(gain, 1e-9), p.apart)
		likely[k] = 1 / (1 + math.Exp((pairSure-gain)/pairSlope))
	}
	return likely, apart
}

// linear returns the value between evenly spaced ones; beyond the ends, the end.
func linear(v []float64, x float64) float64 {
	x = min(max(x, 0), float64(len(v)-1))
	i := min(int(x), max(len(v)-2, 0))
	return v[i] + (x-float64(i))*(v[min(i+1, len(v)-1)]-v[i])
}

// doubtBorders looks for something bright beside a dark line: a file or a
// filling in another canal hides a part of this one, and draws the line off.
func (f *follower) doubtBorders(m *centre) {
	fill := f.t.asFilling()
	step := float64(f.t.factor)
	near := make([]float64, f.blocks.n)
	for b := range near {
		first, last := f.blocks.rows(b)
		i := (first + last) / 2
		for u := step; u <= borderReach*m.half[i]+step; u += step {
			if min(fill.costAt(m.line[i].add(u, f.normal[i])), fill.costAt(m.line[i].add(-u, f.normal[i]))) < fillingStark {
				near[b] = 1
			}
		}
		if on, l, r := f.t.across(*m, float64(i)); math.Abs(l-r) < on-(l+r)/2 {
			near[b] = 0 // the dentine to both sides, not more
		}
	}
	near = averaged(near, 2)
	sure := make([]bool, len(m.unc))
	for i := range m.unc {
		p := near[f.blocks.holding(i)]
		m.widen(i, p*hidden*m.half[i], p)
		sure[i] = p > 0.5
	}
	m.note(sure, func(from, to int) string {
		return fmt.Sprintf("something bright runs beside the line between %s and %s and may hide part of the canal: compare the line with the picture there", m.name(from), m.name(to))
	})
}

// By trial on phantoms with a file in the neighbouring canal.
const (
	borderReach = 2.0 // half-widths
	hidden      = 0.4 // half-widths a line is off where part of its canal is hidden, standard uncertainty
)

// widen adds to the uncertainty at place i and takes off its confidence.
func (m *centre) widen(i int, sd, likely float64) {
	m.unc[i] = math.Hypot(m.unc[i], sd)
	m.confidence[i] *= 1 - 0.6*likely
}

// note adds a caution for each long stretch that is marked.
func (m *centre) note(marked []bool, say func(from, to int) string) {
	from := -1
	for i, on := range append(slices.Clone(marked), false) {
		switch {
		case on && from < 0:
			from = i
		case !on && from >= 0:
			if i-from >= 2*blockLength {
				m.cautions = append(m.cautions, say(from, i-1))
			}
			from = -1
		}
	}
}

// name says where a place is.
func (m *centre) name(i int) string { return fmt.Sprintf("(%.0f, %.0f)", m.line[i].x, m.line[i].y) }

// parted reports whether a rival is seen clear of the line at block b.
func (f *follower) parted(all []rival, b int) bool {
	return slices.ContainsFunc(all, func(r rival) bool {
		return b >= r.first && b <= r.last() && math.Abs(r.off[b-r.first]) < 4*f.seen.half[b] && r.share[b-r.first] > 0.5
	})
}

// astray compares the ridge followed with the marks. Two clicks lie on the
// canal but for a few pixels: a ridge that passes both far off is another one,
// mostly the space or the bone around the root, and that is an error; where it
// passes one far off, the line is less sure towards it.
func (m *centre) astray(marks []measure.Point) error {
	long := m.extended(EndReach + endWindow)
	if m.plain < leastPlain {
		return fmt.Errorf("trace: no line stands out of the noise between %.0f, %.0f and %.0f, %.0f: put marks along it by hand", marks[0].X, marks[0].Y, marks[len(marks)-1].X, marks[len(marks)-1].Y)
	}
	var off, over [2]float64
	ends := [2]measure.Point{marks[0], marks[len(marks)-1]}
	for k, p := range ends {
		s := long.line.nearest(at(p))
		off[k] = at(p).sub(long.line.at(s)).norm()
		over[k] = off[k] / max(strayLeast, strayShare*long.half[int(s)])
		m.stray = max(m.stray, over[k])
	}
	if len(marks) == 2 && min(over[0], over[1]) > 1 && max(over[0], over[1]) > 2 {
		return fmt.Errorf("trace: no canal is seen between the marks: the plainest line passes %.0f px beside %.0f, %.0f and %.0f px beside %.0f, %.0f, as the root's edge or another canal does: put marks along the canal by hand, or follow a bright filling as such",
			off[0], ends[0].X, ends[0].Y, off[1], ends[1].X, ends[1].Y)
	}
	for k, o := range off {
		if over[k] > 1 {
			m.doubtEnd(k, o)
			m.cautions = append(m.cautions, fmt.Sprintf("the line passes %.0f px beside the mark at %.0f, %.0f: it may be another canal's or the root's edge; click a point between", o, ends[k].X, ends[k].Y))
		}
	}
	return nil
}

const (
	// anotherPlain is the least share of the plainness of a line that passes a
	// mark too far off that another one has (ours).
	anotherPlain = 0.3
	leastPlain   = 0.8 // mean strength of a ridge in units of the background of a block (by trial on noise alone)
	strayLeast   = 6.0 // px a click lies off at most: twice the 3 px of a hasty one
	strayShare   = 0.7 // the same in half-widths of a broad ridge (ours)
)

// doubtEnd widens the uncertainty towards end k by how far it is off.
func (m *centre) doubtEnd(k int, off float64) {
	n := len(m.unc)
	for i := range m.unc {
		d := float64(i)
		if k == 1 {
			d = float64(n - 1 - i)
		}
		if w := 1 - d/(0.6*float64(n)); w > 0 {
			m.widen(i, w*off, w)
		}
	}
}
