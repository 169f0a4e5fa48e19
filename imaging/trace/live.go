package trace

import (
	"fmt"
	"math"

	"rootrule/measure"
)

// Live redraws a line while one of its marks is dragged. It is for one
// goroutine at a time.
type Live struct {
	t      *Map
	before *measure.Point
	after  *measure.Point
	trees  [2]*search // of least-cost paths from before and after
}

// Live prepares for dragging a mark between its neighbours along the line; nil
// where it has none on that side. All paths from the neighbours are found at
// once, so that following the mark is cheap.
func (t *Map) Live(before, after *measure.Point) (*Live, error) {
	if before == nil && after == nil {
		return nil, fmt.Errorf("trace: nothing to follow: give a neighbour of the mark that is dragged")
	}
	l := &Live{t: t, before: before, after: after}
	neighbours := [2]*measure.Point{before, after}
	for _, p := range neighbours {
		if p != nil {
			if err := checkMarks(t.img, []measure.Point{*p}); err != nil {
				return nil, err
			}
		}
	}
	inBands(2, 1, func(from, to int) {
		for k := from; k < to; k++ {
			if p := neighbours[k]; p != nil {
				l.trees[k] = t.tree(*p)
			}
		}
	})
	return l, nil
}

// tree grows least-cost paths from a mark over the whole picture.
func (t *Map) tree(p measure.Point) *search {
	farthest := math.Hypot(float64(t.grid.X), float64(t.grid.Y)) * 1.1 // over 8 neighbours a way is at most 8 % longer
	s := newSearch(t.grid, t.cell(p), farthest*highestCost)
	for s.grow() {
	}
	return s
}

// To returns the line with the dragged mark at p, through the marks' own
// positions: that of [Map.Canal] without snapping but for a pixel or two where
// the ridge is weak, for fewer steps are taken. It looks for no doubts. When the
// mark is dropped, trace anew: that may find that nothing is credible.
func (l *Live) To(p measure.Point) (Line, error) {
	var marks []measure.Point
	var c curve
	if l.before != nil {
		marks = append(marks, *l.before)
	}
	marks = append(marks, p)
	if l.after != nil {
		marks = append(marks, *l.after)
	}
	if err := checkMarks(l.t.img, marks); err != nil {
		return Line{}, err
	}
	if l.before != nil {
		c = l.leg(*l.before, l.trees[0], p)
	}
	if l.after != nil {
		back := l.leg(*l.after, l.trees[1], p)
		for i := len(back) - 1; i >= 0; i-- {
			c = append(c, back[i])
		}
	}
	m := l.t.refine(c.resampled(1).faired(12*float64(l.t.factor)), quick)
	return l.t.finish(m, marks, false, false), nil
}

// leg returns the path from a fixed mark to the dragged one.
func (l *Live) leg(from measure.Point, tree *search, to measure.Point) curve {
	c := curve{at(from)}
	for _, cell := range inner(tree.path(l.t.cell(to))) {
		c = append(c, l.t.place(cell))
	}
	return append(c, at(to))
}

// inner returns a path without its ends.
func inner(path []Cell) []Cell {
	if len(path) <= 2 {
		return nil
	}
	return path[1 : len(path)-1]
}
