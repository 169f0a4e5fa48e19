package desk

import (
	"math"

	"rootrule/measure"
)

// itemNamed finds what findings call of on an image.
func itemNamed(im *measure.ImageMarks, of string) (item, bool) {
	for _, it := range listed(im) {
		if nameOf(im, it) == of {
			return it, true
		}
	}
	return item{}, false
}

// showSource puts the image on the bench that a number comes from, and selects
// the marks it was made of.
func (d *Desk) showSource(image, of string) {
	if d.session == nil {
		return
	}
	d.endTask()
	d.choose(image)
	if it, ok := itemNamed(d.session.saved(), of); ok {
		d.selected = grip{it, -1}
		d.bench.sought = it
		d.bench.seek()
	}
	d.say("")
	d.refresh()
}

// seek brings the marks that are sought into sight, once their picture is on
// the bench.
func (b *bench) seek() {
	im := b.desk.session.saved()
	line := curveOf(im, b.sought)
	if b.picture == nil || len(line) == 0 {
		return
	}
	b.sought = item{}
	w, h := b.area()
	low, high := measure.Pt(math.Inf(1), math.Inf(1)), measure.Pt(math.Inf(-1), math.Inf(-1))
	for _, p := range line {
		x, y := b.view.ToScreen(p.X, p.Y)
		low = measure.Pt(math.Min(low.X, x), math.Min(low.Y, y))
		high = measure.Pt(math.Max(high.X, x), math.Max(high.Y, y))
	}
	switch {
	case low.X >= 0 && low.Y >= 0 && high.X < w && high.Y < h: // in sight
	case high.X-low.X < w && high.Y-low.Y < h:
		b.pan(w/2-(low.X+high.X)/2, h/2-(low.Y+high.Y)/2)
	default:
		b.fit()
	}
}
