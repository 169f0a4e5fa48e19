package trace

import (
	"fmt"
	"slices"

	"rootrule/measure"
)

// Alternative returns the next line between the ends of a traced one that runs
// beside it, from abreast of one end to abreast of the other: the other canal,
// where the traced line is not the one that was meant. There is an error where
// no other stands out. Canals that overlap all along have none: a mark on the
// right one parts them.
func (t *Map) Alternative(l Line) (Line, error) {
	m := centre{half: l.half}
	for _, p := range l.Points {
		m.line = append(m.line, at(p))
	}
	marks := []measure.Point{l.Points[0], l.Points[len(l.Points)-1]}
	other, err := t.aside(m, marks, 1.2)
	if err != nil {
		return Line{}, err
	}
	if other.plain < anotherPlain*leastPlain {
		return Line{}, fmt.Errorf("trace: nothing but this line stands out of the noise between %.0f, %.0f and %.0f, %.0f", marks[0].X, marks[0].Y, marks[1].X, marks[1].Y)
	}
	other.cautions = append(other.cautions, "another line than the plainest: compare it with the picture, and its ends")
	return t.finish(other, marks, false, true), nil
}

// another looks for a line beside one that passes a mark too far off, and
// returns it where it passes the marks nearer and is plain.
func (t *Map) another(m centre, marks []measure.Point, lost error) (centre, error) {
	other, err := t.aside(m, marks, 0.5)
	if err != nil {
		return m, lost
	}
	if err := other.astray(marks); err == nil && other.stray < m.stray/2 && other.plain > anotherPlain*m.plain {
		return other, nil
	}
	return m, lost
}

// aside is the best line that doesn't run within so many half-widths of m.
func (t *Map) aside(m centre, marks []measure.Point, widths float64) (centre, error) {
	aside := *t
	aside.grid.Cost = slices.Clone(t.grid.Cost)
	step := float64(t.factor)
	for i, p := range m.line {
		d := m.line.tangent(i)
		r := max(widths*m.half[i], 2*step)
		for u := -r; u <= r; u += step {
			c := t.cell(measure.Pt(p.x-u*d.y, p.y+u*d.x))
			aside.grid.Cost[t.grid.index(c)] = highestCost
		}
	}
	rough, err := aside.path(marks)
	if err != nil {
		return centre{}, err
	}
	return t.refine(rough.resampled(1).faired(12*step), careful), nil
}
