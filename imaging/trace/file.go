package trace

import (
	"fmt"

	"rootrule/imaging"
	"rootrule/measure"
)

// File finds a known file between two clicks near its tip and its stop, or a
// filling or a separated instrument between clicks near its ends: the centre
// line from end to end. The first and the last point are the ends, to a part of
// a pixel by an edge model, their U the standard uncertainty along the line;
// where an end isn't seen within [EndReach] of its click there is a caution and
// the line ends abreast of the click.
func File(m *imaging.Image, from, to measure.Point) (Line, error) {
	return Canal(m, from, to, nil, Options{Bright: true, Snap: true})
}

// Tip finds the end of a filling, of an instrument or of a post near a click;
// inward is another click on it, 4 px or more away from the end. U is the
// standard uncertainty along the line. There is an error where no end is seen
// within [EndReach] of the click.
func Tip(m *imaging.Image, near, inward measure.Point) (measure.Point, error) {
	marks := []measure.Point{near, inward}
	if err := checkMarks(m, marks); err != nil {
		return measure.Point{}, err
	}
	return NewMap(m, true).Tip(near, inward)
}

// Tip is like the function Tip, on a map for bright lines.
func (t *Map) Tip(near, inward measure.Point) (measure.Point, error) {
	marks := []measure.Point{near, inward}
	if err := checkMarks(t.img, marks); err != nil {
		return measure.Point{}, err
	}
	if !t.bright {
		t = t.asFilling()
	}
	rough, err := t.path(marks)
	if err != nil {
		return measure.Point{}, err
	}
	m := t.refine(rough.resampled(1).faired(12*float64(t.factor)), careful).extended(EndReach + endWindow)
	foot := m.line.nearest(at(near))
	e := t.findEnd(m, foot, 1)
	if e.plain == 0 {
		return measure.Point{}, fmt.Errorf("trace: no end of something bright is seen within %d px of %.0f, %.0f: click nearer to it, or mark it by hand", EndReach, near.X, near.Y)
	}
	p := m.line.at(foot - e.at)
	return measure.Point{X: p.x, Y: p.y, U: e.unc}, nil
}
