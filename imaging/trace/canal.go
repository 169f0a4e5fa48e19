package trace

import (
	"fmt"
	"math"
	"slices"

	"rootrule/imaging"
	"rootrule/measure"
)

// Options say what kind of line is followed.
type Options struct {
	// Bright follows a bright file or filling instead of a dark canal.
	Bright bool
	// Snap moves the marks: across the line onto the ridge, and for a bright
	// line along it to the tip and the stop where these lie within [EndReach].
	// Without it the line runs exactly through all of them.
	Snap bool
}

// Line is a traced line from the first mark to the last.
type Line struct {
	// Points lie about a pixel apart; each has its standard uncertainty across
	// the line. The first and the last are the marks (after snapping).
	Points []measure.Point
	// Confidence says for each point, from 0 to 1, how plainly a ridge is seen
	// there; ½ where it stands out of its noise by three standard errors.
	Confidence []float64
	// StdUnc is the root mean square of the standard uncertainties across the
	// line, in px.
	StdUnc float64
	// Spacing is the distance in px beyond which the errors of two points are
	// nearly independent.
	Spacing  float64
	Cautions []string
}

// Length returns the length of the line in px.
func (l Line) Length() float64 {
	sum := 0.0
	for i := 1; i < len(l.Points); i++ {
		sum += l.Points[i].Dist(l.Points[i-1])
	}
	return sum
}

// Canal traces a line on a picture between two marks, through the marks in
// between. It makes a [Map] for this line alone.
func Canal(m *imaging.Image, from, to measure.Point, via []measure.Point, o Options) (Line, error) {
	marks := append(append([]measure.Point{from}, via...), to)
	if err := checkMarks(m, marks); err != nil {
		return Line{}, err
	}
	return NewMap(m, o.Bright).Canal(from, to, via, o.Snap)
}

// Canal traces a line between two marks, through the marks in between. With
// snap the marks move onto the ridge, see [Options].
func (t *Map) Canal(from, to measure.Point, via []measure.Point, snap bool) (Line, error) {
	marks := append(append([]measure.Point{from}, via...), to)
	if err := checkMarks(t.img, marks); err != nil {
		return Line{}, err
	}
	turned := before(to, from)
	if turned { // the line doesn't depend on which end is clicked first
		slices.Reverse(marks)
	}
	rough, err := t.path(marks)
	if err != nil {
		return Line{}, err
	}
	line := t.finish(rough, marks, snap)
	if turned {
		slices.Reverse(line.Points)
		slices.Reverse(line.Confidence)
	}
	return line, nil
}

// before orders marks by column, then by row.
func before(a, b measure.Point) bool { return a.X < b.X || a.X == b.X && a.Y < b.Y }

// checkMarks refuses marks outside the picture and neighbours that coincide.
func checkMarks(m *imaging.Image, marks []measure.Point) error {
	for i, p := range marks {
		inside := p.X > -0.5 && p.Y > -0.5 && p.X < float64(m.Width)-0.5 && p.Y < float64(m.Height)-0.5
		if !inside {
			return fmt.Errorf("trace: the mark at %.6g, %.6g lies outside the picture of %d × %d px: put it inside", p.X, p.Y, m.Width, m.Height)
		}
		if i > 0 && p.Dist(marks[i-1]) < shortest {
			return fmt.Errorf("trace: the marks at %.6g, %.6g and %.6g, %.6g are less than %g px apart: put them on the two ends", marks[i-1].X, marks[i-1].Y, p.X, p.Y, shortest)
		}
	}
	return nil
}

// shortest is the least distance of neighbouring marks in px: below it a line
// has no direction.
const shortest = 4.0

// path returns the least-cost path through the marks, in pixels.
func (t *Map) path(marks []measure.Point) (curve, error) {
	c := curve{at(marks[0])}
	for i := 1; i < len(marks); i++ {
		cells, _, err := LeastCost(t.grid, t.cell(marks[i-1]), t.cell(marks[i]))
		if err != nil {
			return nil, err
		}
		for _, cell := range cells[1 : len(cells)-min(1, len(cells)-1)] {
			c = append(c, t.place(cell))
		}
		c = append(c, at(marks[i]))
	}
	return c, nil
}

// finish makes the smooth line of a rough one.
func (t *Map) finish(rough curve, marks []measure.Point, snap bool) Line {
	c := rough.resampled(1).faired(12 * float64(t.factor))
	m := t.refine(c)
	l := m.between(marks, snap)
	return l
}

// between cuts the line to the marks and, unless they snap, bends it to run
// through them.
func (m centre) between(marks []measure.Point, snap bool) Line {
	m = m.extended(12)
	from, to := m.line.nearest(at(marks[0])), m.line.nearest(at(marks[len(marks)-1]))
	m = m.cut(from, to)
	l := Line{Spacing: m.reach, Confidence: m.confidence}
	for i, p := range m.line {
		l.Points = append(l.Points, measure.Point{X: p.x, Y: p.y, U: m.unc[i]})
	}
	if !snap {
		for i, mark := range marks {
			l.bend(mark, m.line.nearest(at(mark)), i == 0, i == len(marks)-1)
		}
	}
	sum := 0.0
	for _, p := range l.Points {
		sum += p.U * p.U
	}
	l.StdUnc = math.Sqrt(sum / float64(len(l.Points)))
	return l
}

// bend moves the line around position s so that it runs through the mark. The
// shift fades out smoothly over a stretch in proportion to it.
func (l *Line) bend(mark measure.Point, s float64, first, last bool) {
	if first {
		s = 0
	}
	if last {
		s = float64(len(l.Points) - 1)
	}
	i := int(math.Round(s))
	off := at(mark).sub(at(l.Points[i]))
	reach := max(12, 5*off.norm())
	for k := range l.Points {
		d := math.Abs(float64(k-i)) / reach
		if d >= 1 {
			continue
		}
		w := (1 - d) * (1 - d) * (1 + 2*d)
		p := &l.Points[k]
		p.X += w * off.x
		p.Y += w * off.y
		p.U = math.Hypot((1-w)*p.U, w*mark.StdUnc())
	}
	if k := math.Hypot(l.Points[i].U, mark.StdUnc()); off.norm() > 3*k {
		l.Cautions = append(l.Cautions, fmt.Sprintf("the mark at %.1f, %.1f lies %.1f px beside the ridge", mark.X, mark.Y, off.norm()))
	}
}

// extended continues the line straight on at both ends by so many pixels, so
// that a mark before or behind it has its foot there.
func (m centre) extended(by int) centre {
	n := len(m.line)
	k := min(20, n-1)
	head, tail := m.line[0].sub(m.line[k]).unit(), m.line[n-1].sub(m.line[n-1-k]).unit()
	out := centre{reach: m.reach}
	put := func(p vec, i int) {
		out.line = append(out.line, p)
		out.unc = append(out.unc, m.unc[i])
		out.confidence = append(out.confidence, m.confidence[i])
		out.half = append(out.half, m.half[i])
	}
	for i := by; i > 0; i-- {
		put(m.line[0].add(float64(i), head), 0)
	}
	for i, p := range m.line {
		put(p, i)
	}
	for i := 1; i <= by; i++ {
		put(m.line[n-1].add(float64(i), tail), n-1)
	}
	return out
}

// cut returns the part between two positions along the line.
func (m centre) cut(from, to float64) centre {
	out := centre{reach: m.reach}
	put := func(p vec, i int) {
		out.line = append(out.line, p)
		out.unc = append(out.unc, m.unc[i])
		out.confidence = append(out.confidence, m.confidence[i])
		out.half = append(out.half, m.half[i])
	}
	last := min(int(math.Round(to)), len(m.line)-1)
	put(m.line.at(from), min(int(math.Round(from)), len(m.line)-1))
	for i := int(from) + 1; i < len(m.line) && float64(i) < to; i++ {
		if float64(i)-from > 0.3 && to-float64(i) > 0.3 {
			put(m.line[i], i)
		}
	}
	put(m.line.at(to), last)
	return out
}
