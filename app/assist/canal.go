package assist

import (
	"fmt"
	"math"
	"slices"

	"rootrule/imaging/trace"
	"rootrule/measure"
)

// Clicks are what a reader clicks for one canal.
type Clicks struct {
	Orifice, Apex measure.Point
	Via           []measure.Point // on the way, from the orifice on
	Beside        bool            // the line beside the plainest is meant
}

// Canal traces a canal between its orifice and its apex; a coronal reference
// point above the orifice is the reader's own. Both are moved onto
// the canal where it is plainly seen there; clicks on the way hold exactly.
func (a *Assistant) Canal(image string, c Clicks) (Line, error) {
	if err := checkEnds(c.Orifice, c.Apex); err != nil {
		return Line{}, err
	}
	grid, err := a.grid(image, false)
	if err != nil {
		return Line{}, err
	}
	l, err := grid.Canal(c.Orifice, c.Apex, c.Via, len(c.Via) == 0)
	if err == nil && c.Beside {
		l, err = grid.Alternative(l)
	}
	if err != nil {
		return Line{}, err
	}
	out := Line{Cautions: l.Cautions}
	last := len(l.Points) - 1
	stops := []int{0}
	for _, v := range c.Via {
		stops = append(stops, nearest(l.Points, v))
	}
	stops = append(stops, last)
	slices.Sort(stops)
	out.Marks = append(out.Marks, end(l, 0, c.Orifice))
	for i := 1; i < len(stops); i++ {
		out.Marks = append(out.Marks, between(l, stops[i-1], stops[i], leastBetween(len(c.Via)))...)
		if stops[i] == last {
			out.Marks = append(out.Marks, end(l, last, c.Apex))
		} else {
			out.Marks = append(out.Marks, byHand(l.Points[stops[i]]))
		}
	}
	out.Marks = apart(out.Marks)
	return out, nil
}

// byHand is a mark with the hand's uncertainty.
func byHand(p measure.Point) measure.Point { return measure.Pt(p.X, p.Y) }

// end returns the mark at an end of a line: how far along the canal it lies
// the reader has said, so that it has the hand's uncertainty. Where the canal
// is not seen there it stays where it was clicked.
func end(l trace.Line, i int, click measure.Point) measure.Point {
	if l.Confidence[i] < weakEnd {
		return byHand(click)
	}
	return byHand(l.Points[i])
}

// nearest returns the index of the point nearest to p.
func nearest(points []measure.Point, p measure.Point) int {
	best, at := math.Inf(1), 0
	for i, q := range points {
		if d := q.Dist(p); d < best {
			best, at = d, i
		}
	}
	return at
}

// leastBetween is the number of marks that a stretch between clicks gets at
// least: a curve needs four marks in all (package measure).
func leastBetween(vias int) int {
	if vias == 0 {
		return 3
	}
	return 1
}

// most is the number of marks that a stretch gets at most: as many as a line
// without clicks on the way.
const most = 22

// between returns marks of a line between two of its points, evenly spaced and
// far enough apart that their errors are nearly independent.
func between(l trace.Line, from, to, least int) []measure.Point {
	length := 0.0
	for i := from + 1; i <= to; i++ {
		length += l.Points[i].Dist(l.Points[i-1])
	}
	n := min(max(int(length/max(l.Spacing, 1))-1, least), most, max(to-from-1, 0))
	var out []measure.Point
	for k := 1; k <= n; k++ {
		out = append(out, l.Points[from+k*(to-from)/(n+1)])
	}
	return out
}

// apart leaves out marks that lie where the one before them does.
func apart(marks []measure.Point) []measure.Point {
	return slices.CompactFunc(marks, func(a, b measure.Point) bool { return a.Dist(b) < 0.5 })
}

// Pull is a canal whose mark is dragged: the line beside it is traced anew.
type Pull struct {
	grid          *trace.Map
	canal         measure.Canal
	mark          int
	before, after int // marks that hold the line on both sides; negative: none
	live          *trace.Live
}

// Holds reports whether a mark holds the line of an assisted canal in place:
// its ends, its orifice, and what a hand has put.
func Holds(c measure.Canal, i int) bool {
	return i == 0 || i == len(c.Marks)-1 || i == c.Orifice || c.Marks[i].U == 0
}

// Pull makes ready for dragging a mark of a canal that was traced here.
func (a *Assistant) Pull(image string, c measure.Canal, mark int) (*Pull, error) {
	if mark < 0 || mark >= len(c.Marks) {
		return nil, fmt.Errorf("pull a canal: it has no mark %d", mark)
	}
	grid, err := a.grid(image, false)
	if err != nil {
		return nil, err
	}
	p := &Pull{grid: grid, canal: c, mark: mark, before: -1, after: -1}
	for i := mark - 1; i >= c.Orifice && p.before < 0; i-- {
		if Holds(c, i) {
			p.before = i
		}
	}
	for i := mark + 1; mark >= c.Orifice && i < len(c.Marks) && p.after < 0; i++ {
		if Holds(c, i) {
			p.after = i
		}
	}
	if p.before < 0 && p.after < 0 {
		return p, nil // above the orifice: the line is straight there
	}
	p.live, err = grid.Live(p.at(p.before), p.at(p.after))
	return p, err
}

// tooClose reports whether the dragged mark is too close to a mark that holds
// the line for a line between them to be found.
func (p *Pull) tooClose(to measure.Point) bool {
	for _, i := range []int{p.before, p.after} {
		if m := p.at(i); m != nil && checkEnds(*m, to) != nil {
			return true
		}
	}
	return false
}

// at returns a mark, nil for a negative index.
func (p *Pull) at(i int) *measure.Point {
	if i < 0 {
		return nil
	}
	return &p.canal.Marks[i]
}

// To returns the canal with the dragged mark at a point, quickly: good to a
// pixel or so. When the mark is dropped, call Drop.
func (p *Pull) To(to measure.Point) (measure.Canal, error) {
	if p.live == nil || p.tooClose(to) {
		return p.moved(to), nil
	}
	l, err := p.live.To(to)
	if err != nil {
		return measure.Canal{}, err
	}
	return p.with(l, to), nil
}

// Drop returns the canal with the dragged mark left at a point.
func (p *Pull) Drop(to measure.Point) (measure.Canal, []string, error) {
	if p.live == nil || p.tooClose(to) {
		return p.moved(to), nil, nil
	}
	ends := []measure.Point{to}
	if b := p.at(p.before); b != nil {
		ends = append([]measure.Point{*b}, ends...)
	}
	if b := p.at(p.after); b != nil {
		ends = append(ends, *b)
	}
	last := len(ends) - 1
	l, err := p.grid.Canal(ends[0], ends[last], ends[1:last], false)
	if err != nil {
		return measure.Canal{}, nil, err
	}
	return p.with(l, to), l.Cautions, nil
}

// moved is the canal with nothing but the mark itself at another place.
func (p *Pull) moved(to measure.Point) measure.Canal {
	c := p.canal
	c.Marks = slices.Clone(c.Marks)
	c.Marks[p.mark] = byHand(to)
	return c
}

// with puts a newly traced stretch, through the dragged mark, into the canal.
func (p *Pull) with(l trace.Line, to measure.Point) measure.Canal {
	c := p.canal
	old, last := c.Marks, len(l.Points)-1
	at, first, rest := 0, p.mark, p.mark+1
	c.Marks = nil
	if p.before >= 0 {
		at, first = last, p.before+1
		if p.after >= 0 {
			at = nearest(l.Points, to)
		}
	}
	c.Marks = append(c.Marks, old[:first]...)
	if p.before >= 0 {
		c.Marks = append(c.Marks, between(l, 0, at, 1)...)
	}
	mark := len(c.Marks)
	c.Marks = append(c.Marks, byHand(to))
	if p.after >= 0 {
		c.Marks = append(c.Marks, between(l, at, last, 1)...)
		rest = p.after
	}
	c.Marks = append(c.Marks, old[rest:]...)
	c.CurveStart = shifted(c.CurveStart, first, rest, len(c.Marks)-len(old), p.mark, mark)
	return c
}

// shifted keeps the mark where the curve starts after the marks from first on
// up to rest were replaced, which made them so many more; the dragged mark
// itself went from mark to moved.
func shifted(start *int, first, rest, more, mark, moved int) *int {
	if start == nil {
		return nil
	}
	s := *start
	switch {
	case s == mark:
		s = moved
	case s >= rest:
		s += more
	case s >= first:
		return nil // the mark is gone
	}
	return &s
}

// From makes ready for a line that follows the mouse from an orifice: the
// dragged mark is the apex.
func (a *Assistant) From(image string, orifice measure.Point) (*Pull, error) {
	return a.Pull(image, measure.Canal{Marks: []measure.Point{byHand(orifice), byHand(orifice)}}, 1)
}
