package desk

import (
	"math"

	"rootrule/measure"
)

// nearestMark returns the mark nearest to p within radius, in image pixels,
// and whether there is one. Marks of the item preferred win over others that
// are nearer, so that the selected of two crossing lines can be held.
func nearestMark(im *measure.ImageMarks, p measure.Point, radius float64, preferred item) (grip, bool) {
	found, best := nowhere, math.Inf(1)
	for _, it := range items(im) {
		for i, m := range marksOf(im, it) {
			d := m.Dist(p)
			if d > radius {
				continue
			}
			if it == preferred {
				d -= radius
			}
			if d < best {
				found, best = grip{it, i}, d
			}
		}
	}
	return found, found != nowhere
}

// nearestLine returns the item whose measured line passes within radius of p.
func nearestLine(im *measure.ImageMarks, p measure.Point, radius float64) (item, bool) {
	found, best := item{}, radius
	for _, it := range items(im) {
		if d := distanceTo(curveOf(im, it), p); d <= best {
			found, best = it, d
		}
	}
	return found, found.kind != nothing
}

// distanceTo returns how far p is from a polyline.
func distanceTo(line []measure.Point, p measure.Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(line); i++ {
		best = math.Min(best, p.Dist(footOn(line[i-1], line[i], p)))
	}
	return best
}

// footOn returns the point of the segment a–b that is nearest to p.
func footOn(a, b, p measure.Point) measure.Point {
	dx, dy := b.X-a.X, b.Y-a.Y
	square := dx*dx + dy*dy
	if square == 0 {
		return a
	}
	t := math.Min(math.Max(((p.X-a.X)*dx+(p.Y-a.Y)*dy)/square, 0), 1)
	return measure.Pt(a.X+t*dx, a.Y+t*dy)
}

// slotAt returns which number a new mark at p gets so that it lies between its
// neighbours on the line of an item.
func slotAt(im *measure.ImageMarks, it item, p measure.Point) int {
	marks := marksOf(im, it)
	line := curveOf(im, it)
	if len(marks) < 2 || len(line) < 2 {
		return len(marks)
	}
	pieces := len(marks) - 1
	if it.kind == lesion {
		pieces = len(marks)
	}
	nearest, best := 0, math.Inf(1)
	for i := 1; i < len(line); i++ {
		if d := p.Dist(footOn(line[i-1], line[i], p)); d < best {
			nearest, best = i-1, d
		}
	}
	return nearest*pieces/(len(line)-1) + 1
}
