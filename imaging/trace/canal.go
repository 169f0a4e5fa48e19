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

	half []float64 // half-width of the ridge at each point, px
}

// Length returns the length of the line in px.
func (l Line) Length() float64 {
	sum := 0.0
	for i := 1; i < len(l.Points); i++ {
		sum += l.Points[i].Dist(l.Points[i-1])
	}
	return sum
}

// Marks returns few points of the line, from 5 to 24, evenly spaced and far
// enough apart that their errors are nearly independent: what a measurement
// of the line wants, each with its uncertainty.
func (l Line) Marks() []measure.Point {
	last := len(l.Points) - 1
	n := min(max(int(l.Length()/max(l.Spacing, 1)), 4), 23, last)
	out := make([]measure.Point, 0, n+1)
	for k := range n + 1 {
		out = append(out, l.Points[k*last/max(n, 1)])
	}
	return out
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
	line, err := t.between(marks, snap)
	if err != nil {
		return Line{}, err
	}
	if turned {
		slices.Reverse(line.Points)
		slices.Reverse(line.Confidence)
		slices.Reverse(line.half)
	}
	return line, nil
}

// between traces a line through marks: for a dark canal that of a filling in
// it, where that is plainer.
func (t *Map) between(marks []measure.Point, snap bool) (Line, error) {
	rough, err := t.path(marks)
	if err != nil {
		return Line{}, err
	}
	m := t.refine(rough.resampled(1).faired(12*float64(t.factor)), careful)
	lost := m.astray(marks)
	if m.stray > 1 && len(marks) == 2 {
		m, lost = t.another(m, marks, lost)
	}
	if !t.bright {
		if f, ok := t.filled(marks); ok && (lost != nil || f.plain > fillingAbove*m.plain) {
			f.cautions = append([]string{fillingCaution(f)}, f.cautions...)
			return t.finish(f, marks, false, false), nil
		}
	}
	if lost != nil {
		return Line{}, lost
	}
	return t.finish(m, marks, snap && t.bright, snap), nil
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
		for _, cell := range inner(cells) {
			c = append(c, t.place(cell))
		}
		c = append(c, at(marks[i]))
	}
	return c, nil
}

// finish ends a line at the marks: at the bright line's own ends near them
// where these are wanted, else abreast of the marks where they snap, else in
// them.
func (t *Map) finish(m centre, marks []measure.Point, ownEnds, snap bool) Line {
	m = m.extended(EndReach + endWindow)
	from, to := m.line.nearest(at(marks[0])), m.line.nearest(at(marks[len(marks)-1]))
	var ends [2]end
	if ownEnds {
		ends = [2]end{t.findEnd(m, from, 1), t.findEnd(m, to, -1)}
		from, to = from-ends[0].shift(), to+ends[1].shift()
	}
	m = m.cut(from, to)
	cautions := slices.Clone(m.cautions)
	if !snap {
		for i, mark := range marks {
			if off := m.bend(at(mark), mark.StdUnc(), i, len(marks)); off > 3 {
				cautions = append(cautions, fmt.Sprintf("the mark at %.1f, %.1f lies %.1f px beside the ridge", mark.X, mark.Y, off))
			}
		}
	}
	l := Line{Spacing: m.reach, Confidence: m.confidence, Cautions: cautions, half: m.half}
	for i, p := range m.line {
		l.Points = append(l.Points, measure.Point{X: p.x, Y: p.y, U: m.unc[i]})
	}
	if ownEnds {
		l.endAt(0, marks[0], ends[0])
		l.endAt(len(l.Points)-1, marks[len(marks)-1], ends[1])
	}
	if c := weakness(l.Confidence); c != "" {
		l.Cautions = append(l.Cautions, c)
	}
	l.StdUnc = rootMeanSquare(m.unc)
	return l
}

// endAt states how well the end of a bright line is known.
func (l *Line) endAt(i int, mark measure.Point, e end) {
	if e.plain > 0 {
		l.Points[i].U = max(l.Points[i].U, e.unc)
		return
	}
	l.Points[i].U = math.Hypot(l.Points[i].U, mark.StdUnc())
	l.Cautions = append(l.Cautions, fmt.Sprintf("no end of the bright line is seen near %.1f, %.1f: it ends abreast of the mark", mark.X, mark.Y))
}

// weakness warns where a line is hardly seen; "" where it is.
func weakness(confidence []float64) string {
	weak := 0.0
	for _, c := range confidence {
		if c < 0.5 {
			weak += 1 / float64(len(confidence))
		}
	}
	if weak < 0.1 {
		return ""
	}
	return fmt.Sprintf("hardly seen over %.0f %% of its length: compare it with the picture", 100*weak)
}

func rootMeanSquare(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x / float64(len(v))
	}
	return math.Sqrt(sum)
}

// bend moves the line around mark i of n so that it runs through it; the shift
// fades out smoothly over a stretch in proportion to it. It returns how far
// that was; unc is the mark's own standard uncertainty.
func (m centre) bend(mark vec, unc float64, i, n int) float64 {
	k := int(math.Round(m.line.nearest(mark)))
	switch i {
	case 0:
		k = 0
	case n - 1:
		k = len(m.line) - 1
	}
	off := mark.sub(m.line[k])
	reach := max(12, 5*off.norm())
	for j := range m.line {
		d := math.Abs(float64(j-k)) / reach
		if d >= 1 {
			continue
		}
		w := (1 - d) * (1 - d) * (1 + 2*d)
		m.line[j] = m.line[j].add(w, off)
		m.unc[j] = math.Hypot((1-w)*m.unc[j], w*unc)
	}
	m.line[k] = mark // to the last digit
	return off.norm()
}

// extended continues the line straight on at both ends by so many pixels, so
// that a mark before or behind it has its foot there.
func (m centre) extended(by int) centre {
	n := len(m.line)
	k := min(20, n-1)
	head, tail := m.line[0].sub(m.line[k]).unit(), m.line[n-1].sub(m.line[n-1-k]).unit()
	out := centre{reach: m.reach, plain: m.plain, cautions: m.cautions}
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
	out := centre{reach: m.reach, plain: m.plain, cautions: m.cautions}
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
