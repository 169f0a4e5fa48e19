package desk

import (
	"image"
	"image/color"
	"math"

	"rootrule/app/compare"
	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// changeView is how the difference of a pair is shown.
type changeView struct {
	reach  float64 // noise units that are shown as black and white
	tinted bool    // the map of change lies over it
	table  *tone.Table
	of     *compare.Difference // that the table is for
	drawer tone.Through
	tints  tone.Through
}

// The noise units from mid-grey to white: what a difference opens with, and
// the limits of the keys. Common practice, no source.
const (
	usualReach = 12
	leastReach = 3
	mostReach  = 100
)

// The map of change: denser than before is a plain tint, less dense a striped
// one, so that the colour tells nothing alone.
var (
	tintMore = color.NRGBA{0x35, 0xa7, 0xff, 0x78}
	tintLess = color.NRGBA{0xff, 0x8a, 0x1f, 0xa8}
)

// drawDifference draws the difference and the map of change.
func (p *pair) drawDifference(b *bench, v tone.View) {
	d, c := p.joining.diff, &p.change
	if c.of != d || c.table == nil {
		c.of, c.table = d, d.Window(c.reach).Table()
	}
	by := tone.Map(d.Frame.After(p.toBefore()))
	c.drawer.Draw(b.frame, b.frame.Rect, d.Picture, v, by, c.table, color.RGBA(colourBench))
	if c.tinted {
		low, high := compare.Greys(compare.Limit)
		c.tints.Tint(b.frame, b.frame.Rect, d.Change, v, by, tone.Tints{Low: low, High: high, Less: tintLess, More: tintMore})
	}
}

// toBefore takes pixels of the image on the bench to those of the earlier one.
func (p *pair) toBefore() measure.Alignment {
	if p.benchFirst() {
		return measure.Alignment(tone.Same)
	}
	return p.inverse
}

// adjusts changes the contrast of the difference where that is shown.
func (p *pair) adjusts(contrast float64) bool {
	if p == nil || p.how != difference || p.joining.diff == nil {
		return false
	}
	p.change.reach = math.Min(math.Max(p.change.reach*math.Exp2(-contrast), leastReach), mostReach)
	p.change.table = nil
	p.desk.bench.raster.Refresh()
	return true
}

// toggleTint shows or hides the map of change.
func (d *Desk) toggleTint() {
	if d.pair != nil {
		d.pair.change.tinted = !d.pair.change.tinted
		d.refresh()
	}
}

// drawLegend says what the tints and the two outlines mean.
func (p *pair) drawLegend(b *bench) {
	words := b.letters()
	if words == nil {
		return
	}
	here, there := wording.Say("earlier outline"), wording.Say("later outline")
	if !p.benchFirst() {
		here, there = there, here
	}
	pen := func(width float64, c color.NRGBA) ink.Pen {
		return ink.Pen{Width: width * b.ratio, Casing: 1.3 * b.ratio, Colour: c, Dark: inkCasing}
	}
	lines := []legendLine{
		{here, func(r image.Rectangle) { b.sheet.Dots(pen(2.6, inkLesion), 7*b.ratio, acrossOf(r)...) }},
		{there, func(r image.Rectangle) {
			b.sheet.Dashes(pen(2, inkSecond), 9*b.ratio, 6*b.ratio, acrossOf(r)...)
		}},
	}
	if p.change.tinted {
		limit := wording.Number(compare.Limit, 0)
		lines = append(lines,
			legendLine{wording.Say("denser than before by more than %s noise units", limit), func(r image.Rectangle) { b.sheet.Plate(r, tintMore) }},
			legendLine{wording.Say("less dense by more than %s noise units (striped)", limit), func(r image.Rectangle) { b.stripes(r) }})
	}
	p.legend(b, words, lines)
}

// legendLine is a text and a sample of what it names.
type legendLine struct {
	text   string
	sample func(image.Rectangle)
}

// clearOf is where a plate of the given size stands: in the corner of the
// bench in which it covers least of the outlines.
func (p *pair) clearOf(b *bench, size image.Point, pad int) image.Rectangle {
	w, h := b.frame.Rect.Dx(), b.frame.Rect.Dy()
	top := pad + int(28*b.ratio) // below the caption
	best, least := image.Rectangle{}, math.MaxInt
	for _, at := range []image.Point{{pad, h - size.Y - pad}, {w - size.X - pad, h - size.Y - pad}, {pad, top}, {w - size.X - pad, top}} {
		r := image.Rectangle{at, at.Add(size)}
		if n := p.outlinesIn(b, r); n < least {
			best, least = r, n
		}
	}
	return best
}

// outlinesIn counts the points of the lesions' outlines in a rectangle of the
// bench.
func (p *pair) outlinesIn(b *bench, r image.Rectangle) (n int) {
	v := b.view.Snapped()
	for id, link := range map[string]measure.Alignment{p.other: p.link(), p.desk.session.image: measure.Alignment(tone.Same)} {
		im := imageIn(&p.desk.session.marks, id)
		for i := range im.Lesions {
			for _, q := range curveOf(im, item{kind: lesion, index: i}) {
				q = link.Map(q)
				if x, y := v.ToScreen(q.X, q.Y); image.Pt(int(x), int(y)).In(r) {
					n++
				}
			}
		}
	}
	return n
}

// legend draws the lines on a plate in a corner.
func (p *pair) legend(b *bench, words *ink.Words, lines []legendLine) {
	pad, swatch, width, row := int(8*b.ratio), int(34*b.ratio), 0, 0
	for _, l := range lines {
		w, h := words.Size(l.text)
		width, row = max(width, w), max(row, h)
	}
	row += pad / 2
	plate := p.clearOf(b, image.Pt(pad*3+swatch+width, pad*2+row*len(lines)), pad)
	b.sheet.Plate(plate, inkPlate)
	for i, l := range lines {
		y := plate.Min.Y + pad + i*row
		l.sample(image.Rect(plate.Min.X+pad, y+row/6, plate.Min.X+pad+swatch, y+row*5/6))
		b.sheet.Write(words, ink.Point{X: float64(plate.Min.X + 2*pad + swatch), Y: float64(y)}, l.text, inkText)
	}
}

// stripes is a sample of the tint for what is less dense.
func (b *bench) stripes(r image.Rectangle) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if tone.Striped(x, y) {
				b.sheet.Plate(image.Rect(x, y, x+1, y+1), tintLess)
			}
		}
	}
}

// acrossOf is a line across the middle of a rectangle.
func acrossOf(r image.Rectangle) []ink.Point {
	y := float64(r.Min.Y+r.Max.Y) / 2
	return []ink.Point{{X: float64(r.Min.X), Y: y}, {X: float64(r.Max.X), Y: y}}
}
