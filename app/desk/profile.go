package desk

import (
	"math"

	"fyne.io/fyne/v2"

	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// profile is the mode in which the stored grey values along a line are
// plotted. It puts no marks on the image and keeps nothing.
type profile struct {
	desk     *Desk
	on       bool
	from, to measure.Point // in image pixels
	values   []float64     // stored greys, NaN outside the image
	plot     *profilePlot
}

func newProfile(d *Desk) *profile {
	p := &profile{desk: d}
	p.plot = newProfilePlot(p)
	p.plot.Hide()
	return p
}

// toggle begins with a line across the middle of what is seen, or ends.
func (p *profile) toggle() {
	d := p.desk
	if !p.on && (d.session.saved() == nil || !d.session.ready) {
		d.say(wording.Say("First open a radiograph."))
		d.refresh()
		return
	}
	d.endTask()
	d.toneMode = false
	p.on = !p.on
	p.start()
	d.refresh()
}

// end leaves the mode.
func (p *profile) end() {
	p.on = false
	p.start()
}

// start lays the line across the middle of what is seen of the picture.
func (p *profile) start() {
	b := p.desk.bench
	if p.on && b.picture != nil {
		w, h := b.area()
		share := func(x float64) measure.Point { ix, iy := b.view.ToImage(w*x, h/2); return measure.Pt(ix, iy) }
		p.from, p.to = share(0.3), share(0.7)
		p.count()
	}
	if p.on != p.plot.Visible() {
		if p.on {
			p.plot.Show()
		} else {
			p.plot.Hide()
		}
		p.desk.middle.Refresh()
	}
	b.raster.Refresh()
}

// count reads the values along the line.
func (p *profile) count() {
	s := p.desk.session
	p.values = nil
	if im := s.saved(); im != nil && s.ready {
		if m, err := s.reader.Image(im.ID, im.File); err == nil {
			p.values, _ = tone.Profile(m, p.from.X, p.from.Y, p.to.X, p.to.Y)
		}
	}
	p.plot.raster.Refresh()
	p.desk.bench.raster.Refresh()
	p.desk.prober.changed()
}

// press begins a new line, drag moves its end.
func (p *profile) press(at measure.Point) { p.from = at; p.drag(at) }

func (p *profile) drag(at measure.Point) {
	p.to = at
	p.count()
}

// key moves the end of the line, with Shift its beginning, by a screen pixel
// or an image pixel, whichever is more. It reports whether the key was for it.
func (p *profile) key(name fyne.KeyName) bool {
	dx, dy, ok := arrow(name)
	if !p.on || !ok {
		return false
	}
	step := math.Max(1, 1/p.desk.bench.view.Scale)
	dx, dy = p.desk.bench.view.Along(dx, dy)
	end := &p.to
	if p.desk.keys.shift {
		end = &p.from
	}
	*end = measure.Pt(end.X+dx*step, end.Y+dy*step)
	p.count()
	return true
}

// draw draws the line on the bench: a ring where it begins, a tick where it
// ends.
func (p *profile) draw(s scribe) {
	if !p.on {
		return
	}
	a, b := s.at(p.from), s.at(p.to)
	s.sheet.Line(s.pen(1.6, inkText), a, b)
	s.sheet.Ring(s.pen(1.6, inkText), a, 5*s.unit)
	s.across(s.pen(2, inkText), b, a, 7)
}

// length returns the length of the line: in mm where the image has a scale,
// with the scale's share of the uncertainty.
func (p *profile) length() measure.Quantity {
	f, ok := p.desk.session.scale()
	dx, dy := p.to.X-p.from.X, p.to.Y-p.from.Y
	if !ok || !(f.Value > 0) {
		return measure.Quantity{Value: math.Hypot(dx, dy), Unit: measure.Pixel}
	}
	if s := p.desk.session.stated(); s.Stated() {
		dx *= s.ColMM / s.RowMM // the scale is that of rows
	}
	l := math.Hypot(dx, dy) * f.Value
	return measure.Quantity{Value: l, StdUnc: l * f.StdUnc / f.Value, Unit: measure.Millimetre}
}
