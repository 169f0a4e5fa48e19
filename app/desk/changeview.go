package desk

import (
	"image/color"
	"math"

	"rootrule/app/compare"
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
