package desk

import (
	"image"
	"image/color"
	"slices"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// onTop reports whether the bench shows more than its own image.
func (p *pair) onTop() bool {
	return p != nil && p.picture != nil && p.desk.bench.picture != nil && (p.how != sideBySide || p.blink.held)
}

// drawPictures draws the pictures of the pair into the frame of the bench.
func (p *pair) drawPictures(b *bench, v tone.View) {
	whole := b.frame.Rect
	back := color.RGBA(colourBench)
	own := func(area image.Rectangle) {
		p.seen[0].Draw(b.frame, area, p.desk.eye.picture(b.picture), v, tone.Same, b.table, back)
	}
	second := func(area image.Rectangle) {
		p.seen[1].Draw(b.frame, area, p.picture, v, tone.Map(p.back()), p.table, back)
	}
	switch {
	case p.how == splitLine && !p.blink.held:
		left, right := p.halves(whole)
		if !p.benchFirst() {
			left, right = right, left
		}
		own(left)
		second(right)
	case p.blink.second:
		second(whole)
	case p.how == difference && p.joining.diff != nil:
		p.drawDifference(b, v)
	default:
		own(whole)
	}
}

// halves are the parts of the bench left and right of the line.
func (p *pair) halves(whole image.Rectangle) (left, right image.Rectangle) {
	x := p.splitAt(whole.Dx())
	left, right = whole, whole
	left.Max.X, right.Min.X = x, x
	return left, right
}

// splitAt is the column of the line on a bench of w device pixels.
func (p *pair) splitAt(w int) int { return int(p.split*float64(w) + 0.5) }

// drawOver draws what belongs over the pictures: the line, the outlines of the
// second image, the mouse of the other half, and which image is where.
func (p *pair) drawOver(b *bench, v tone.View) {
	s := scribe{&b.sheet, v, b.ratio, weights[p.desk.weight]}
	if p.onTop() {
		p.drawOutlines(s, p.other, p.link())
	}
	if p.hidesMarks() {
		p.drawOutlines(s, p.desk.session.image, measure.Alignment(tone.Same))
	}
	if p.how == splitLine && p.onTop() && !p.blink.held {
		p.drawSplit(s, b.frame.Rect)
	}
	if p.ghost.on == onSide {
		s.ghost(p.ghost.at)
	}
	if d := p.desk; d.pairing != nil {
		s.drawPairs(b, p.marksOfPairs(d.session.image), p.badPairs())
		s.drawWaiting(d.pairing, true, func(m measure.Point) measure.Point { return m })
	}
	p.drawCaptions(b)
}

// drawOutlines draws the lesions of an image through the map to the bench:
// dashed those of the second image, dotted those of the one on the bench.
func (p *pair) drawOutlines(s scribe, id string, link measure.Alignment) {
	im := imageIn(&p.desk.session.marks, id)
	for i := range im.Lesions {
		line := slices.Clone(curveOf(im, item{lesion, i}))
		for j := range line {
			line[j] = link.Map(line[j])
		}
		if id == p.other {
			s.sheet.Dashes(s.pen(2, inkSecond), 9*s.unit, 6*s.unit, s.all(line)...)
		} else {
			s.sheet.Dots(s.pen(2.6, inkLesion), 7*s.unit, s.all(line)...)
		}
	}
}

// hidesMarks reports whether the marks of the image on the bench are not shown
// and can't be taken hold of: another image is.
func (p *pair) hidesMarks() bool {
	return p.onTop() && (p.blink.second || p.how == difference && p.joining.diff != nil)
}

// The colours of the second image's outlines, and of pairs that don't fit.
var (
	inkSecond = color.NRGBA{0x9a, 0xe3, 0xd2, 0xff}
	inkBad    = color.NRGBA{0xff, 0x8f, 0x7a, 0xff}
)

// drawSplit draws the line and a handle in its middle.
func (p *pair) drawSplit(s scribe, whole image.Rectangle) {
	x, h := float64(p.splitAt(whole.Dx())), float64(whole.Dy())
	pen := s.pen(1.6, inkHoney)
	s.sheet.Line(pen, ink.Point{X: x}, ink.Point{X: x, Y: h})
	m, r := ink.Point{X: x, Y: h / 2}, 9*s.unit
	for _, side := range []float64{-1, 1} {
		at := m.Plus(side*8*s.unit, 0)
		s.sheet.Line(pen, at.Plus(0, -r), at.Plus(side*r, 0), at.Plus(0, r), at.Plus(0, -r))
	}
}

// ghost marks where the mouse of the other image is on this one: an open cross.
func (s scribe) ghost(at measure.Point) {
	m := s.at(at)
	pen := s.pen(1.4, inkText)
	for _, d := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		s.sheet.Line(pen, m.Plus(d[0]*5*s.unit, d[1]*5*s.unit), m.Plus(d[0]*16*s.unit, d[1]*16*s.unit))
	}
	s.sheet.Ring(s.pen(1, inkText), m, 5*s.unit)
}

// drawCaptions says which image is shown, and where.
func (p *pair) drawCaptions(b *bench) {
	here := p.desk.session.nameOfImage(p.desk.session.image)
	there := p.desk.session.nameOfImage(p.other)
	w := float64(b.frame.Rect.Dx())
	switch {
	case !p.onTop():
		b.caption(&b.sheet, b.frame.Rect, here, 0)
	case p.how == splitLine && !p.blink.held:
		if !p.benchFirst() {
			here, there = there, here
		}
		x := p.split * w
		b.caption(&b.sheet, image.Rect(0, 0, int(x), b.frame.Rect.Dy()), here, 1)
		b.caption(&b.sheet, image.Rect(int(x), 0, int(w), b.frame.Rect.Dy()), there, 0)
	case p.blink.second:
		b.caption(&b.sheet, b.frame.Rect, there, 0)
	case p.how == difference && p.joining.diff != nil:
		before, after := p.earlier()
		name := p.desk.session.nameOfImage
		b.caption(&b.sheet, b.frame.Rect, wording.Say("%s less %s", name(after), name(before)), 0)
	default:
		b.caption(&b.sheet, b.frame.Rect, here, 0)
	}
}

// captions is where the captions of two images stand, empty with one image:
// labels keep off it.
func (b *bench) captions() image.Rectangle {
	if b.desk.pair == nil {
		return image.Rectangle{}
	}
	return image.Rect(0, 0, b.frame.Rect.Dx(), int(36*b.ratio))
}

// caption writes a text on a plate into the upper left (side 0) or right (1)
// corner of an area.
func (b *bench) caption(sheet *ink.Sheet, area image.Rectangle, text string, side int) {
	words := b.letters()
	if words == nil || text == "" {
		return
	}
	w, h := words.Size(text)
	pad, edge := int(6*b.ratio), int(8*b.ratio)
	plate := image.Rect(0, 0, w+2*pad, h+pad).Add(area.Min).Add(image.Pt(edge, edge))
	if side == 1 {
		plate = plate.Add(image.Pt(area.Dx()-plate.Dx()-2*edge, 0))
	}
	if plate.Dx() > area.Dx() {
		return
	}
	sheet.Plate(plate, inkPlate)
	sheet.Write(words, ink.Point{X: float64(plate.Min.X + pad), Y: float64(plate.Min.Y + pad/2)}, text, inkText)
}
