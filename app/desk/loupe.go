package desk

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"rootrule/app/desk/ink"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// loupe shows what lies under a mark, enlarged, with a cross at its sub-pixel
// position. It stands beside the mark and never covers it.
type loupe struct {
	drawer tone.Renderer
	sheet  ink.Sheet
	frame  *image.RGBA
}

// Side and distance of the loupe in logical pixels, and how much more than the
// bench it enlarges: at least thrice, and four device pixels an image pixel.
const (
	lensSide  = 190
	lensAway  = 44
	lensMore  = 3.0
	lensLeast = 4.0
	lensMost  = 24.0
)

// aim returns the image position that the loupe shows, and whether it is on:
// while a mark follows the mouse, and while the next click would make one.
func (d *Desk) aim() (measure.Point, bool) {
	switch {
	case d.hand.holding != nowhere:
		return d.target(), true
	case (d.pairing != nil || d.again != nil) && d.hand.inside:
		return d.hand.at, true
	case d.hand.placing:
		return d.hand.at, true
	case d.task != nil && d.hand.inside && d.hand.over == nowhere:
		return d.hand.at, true
	}
	return measure.Point{}, false
}

// lensArea returns where the loupe stands on the bench, empty when it is off.
func (b *bench) lensArea() image.Rectangle {
	p, on := b.desk.aim()
	if !on || b.picture == nil {
		return image.Rectangle{}
	}
	x, y := b.view.Snapped().ToScreen(p.X, p.Y)
	return besides(image.Pt(int(x), int(y)), int(lensSide*b.ratio), int(lensAway*b.ratio), b.frame.Rect)
}

// besides places a square of the given side beside p, away from it in x and y,
// inside area where it can be: to the upper right, or else on the other side.
func besides(p image.Point, side, away int, area image.Rectangle) image.Rectangle {
	x, y := p.X+away, p.Y-away-side
	if x+side > area.Max.X {
		x = p.X - away - side
	}
	if y < area.Min.Y {
		y = p.Y + away
	}
	return image.Rect(x, y, x+side, y+side)
}

// drawLens draws the loupe into the frame of the bench.
func (b *bench) drawLens(area image.Rectangle, im *measure.ImageMarks) {
	l := &b.lens
	if l.frame == nil || l.frame.Rect.Size() != area.Size() {
		l.frame = image.NewRGBA(image.Rectangle{Max: area.Size()})
	}
	p, _ := b.desk.aim()
	scale := math.Min(math.Max(b.view.Scale*lensMore, lensLeast), math.Max(lensMost, b.view.Scale))
	middle := float64(area.Dx()-1) / 2
	v := b.view.At(p.X, p.Y, middle, middle, scale)
	l.drawer.Draw(l.frame, b.picture, v, b.table, color.RGBA(colourBench))
	l.sheet.On(l.frame)
	s := scribe{&l.sheet, v, b.ratio, weights[b.desk.weight]}
	s.thinLines(im)
	s.cross(middle)
	s.frame(float64(area.Dx()), float64(area.Dy()))
	draw.Draw(b.frame, area, l.frame, image.Point{}, draw.Src)
}

// thinLines draws the measured lines alone, thin, so that they hide nothing.
func (s scribe) thinLines(im *measure.ImageMarks) {
	for _, it := range items(im) {
		c := inkOf(it.kind)
		c.A = 0xb0
		pen := ink.Pen{Width: s.unit, Colour: c}
		s.sheet.Line(pen, s.all(curveOf(im, it))...)
	}
}

// cross marks the middle, with a gap that leaves the spot itself in sight.
func (s scribe) cross(middle float64) {
	m := ink.Point{X: middle, Y: middle}
	pen := s.pen(1.2, inkText)
	gap, end := 5*s.unit, 30*s.unit
	for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		s.sheet.Line(pen, m.Plus(d[0]*gap, d[1]*gap), m.Plus(d[0]*end, d[1]*end))
	}
}

func (s scribe) frame(w, h float64) {
	pen := ink.Pen{Width: 2 * s.unit, Colour: inkHoney}
	s.sheet.Line(pen, ink.Point{}, ink.Point{X: w - 1}, ink.Point{X: w - 1, Y: h - 1}, ink.Point{Y: h - 1}, ink.Point{})
}
