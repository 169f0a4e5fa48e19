package desk

import (
	"fyne.io/fyne/v2"

	"rootrule/app/reading"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// reread is a second reading of a canal, a calibration or another item: its
// places are marked again while the first marks are hidden. Nothing of it
// enters the case; it tells how exactly the reader marks.
type reread struct {
	item   item
	of     string          // as shown
	places []measure.Point // first marks of the places that are marked again
	names  []string        // of the places
	points []measure.Point // second marks so far
}

// outlined reports whether a closed outline is read again, as a whole.
func (r *reread) outlined() bool { return r.item.kind == lesion }

// readAgain begins a second reading of what is selected, or ends the one under
// way.
func (d *Desk) readAgain() {
	if d.again != nil {
		d.again = nil
		d.refresh()
		return
	}
	im := d.session.saved()
	it := d.selected.item
	if im == nil || !d.session.ready || len(marksOf(im, it)) < 2 {
		d.say(wording.Say("Select what you want to read a second time: a canal, a calibration, a lesion."))
		d.refresh()
		return
	}
	d.endTask()
	r := &reread{item: it, of: nameOf(im, it)}
	for _, i := range placesOf(im, it) {
		r.places = append(r.places, marksOf(im, it)[i])
		r.names = append(r.names, markName(im, grip{it, i}))
	}
	d.again, d.selected = r, nowhere
	d.say("")
	d.refresh()
	d.focusBench()
}

// placesOf are the marks of an item that a reader means to put on one exact
// place: both ends, and the orifice of a canal.
func placesOf(im *measure.ImageMarks, it item) []int {
	last := len(marksOf(im, it)) - 1
	if it.kind == lesion {
		return nil
	}
	if it.kind == canal {
		if o := im.Canals[it.index].Orifice; o > 0 && o < last {
			return []int{0, o, last}
		}
	}
	return []int{0, last}
}

// nextAgain says what the next click of a second reading is for.
func (d *Desk) nextAgain() string {
	r := d.again
	switch {
	case r.outlined() && len(r.points) < least[lesion]:
		return wording.Say("Second reading of %s, the first is hidden: click round its edge.", r.of)
	case r.outlined():
		return wording.Say("Click on round the edge; Enter closes the outline. Nothing of it enters the case.")
	}
	return wording.Say("Second reading, the first marks are hidden: click %s.", r.names[len(r.points)])
}

// pressAgain takes a mark of the second reading.
func (d *Desk) pressAgain(at measure.Point) {
	r := d.again
	r.points = append(r.points, at)
	if !r.outlined() && len(r.points) == len(r.places) {
		d.closeReading()
	}
	d.refresh()
}

// againKey does what keys mean during a second reading.
func (d *Desk) againKey(name fyne.KeyName) bool {
	r := d.again
	if r == nil {
		return false
	}
	switch name {
	case fyne.KeyBackspace:
		r.points = r.points[:max(len(r.points)-1, 0)]
	case fyne.KeyEscape:
		d.again = nil
	case fyne.KeyReturn, fyne.KeyEnter:
		if r.outlined() && len(r.points) >= least[lesion] {
			d.closeReading()
		}
	default:
		return false
	}
	d.refresh()
	return true
}

// closeReading compares both readings.
func (d *Desk) closeReading() {
	r := d.again
	d.again = nil
	d.selected = grip{r.item, -1}
	if r.outlined() {
		d.compareAreas(r)
		return
	}
	var repeats [][]measure.Point
	for i, p := range r.places {
		repeats = append(repeats, []measure.Point{measure.Pt(p.X, p.Y), measure.Pt(r.points[i].X, r.points[i].Y)})
	}
	c, err := d.ownClicks().With(repeats)
	if err != nil {
		d.fail(err)
		return
	}
	d.storeClicks(c)
	d.say(clicksSaid(c))
}

// clicksSaid tells how exactly the reader marks.
func clicksSaid(c reading.Click) string {
	u, enough := c.StdUnc()
	if !enough {
		return wording.Say("Your clicks: %s px (n = %d); from %d places on they can be used.", wording.Number(u, 1), c.Places, reading.LeastPlaces)
	}
	return wording.Say("Your clicks: %s px (n = %d). Press F9 to use this in the case.", wording.Number(u, 1), c.Places)
}

// compareAreas tells the area of both outlines of a lesion.
func (d *Desk) compareAreas(r *reread) {
	im := d.session.saved()
	second := copyOf(*im)
	second.Lesions[r.item.index].Outline = r.points
	of := measure.LesionSubject(im.Lesions[r.item.index])
	first, _ := d.session.finding(of, measure.WhatArea)
	for _, f := range d.session.reader.Findings(measure.Marks{Version: measure.MarksVersion, Images: []measure.ImageMarks{second}}) {
		if f.Of == of && f.What == measure.WhatArea {
			d.say(wording.Say("First reading %s, second reading %s.", wording.Quantity(first.Quantity), wording.Value(f.Quantity)))
		}
	}
}

// The reader's clicks are kept with the program, not with a case: they are
// about the reader.
const (
	keptSquares = "reader click squares"
	keptPlaces  = "reader click places"
)

func (d *Desk) ownClicks() reading.Click {
	p := fyne.CurrentApp().Preferences()
	return reading.Click{Squares: p.Float(keptSquares), Places: p.Int(keptPlaces)}
}

func (d *Desk) storeClicks(c reading.Click) {
	p := fyne.CurrentApp().Preferences()
	p.SetFloat(keptSquares, c.Squares)
	p.SetInt(keptPlaces, c.Places)
}

// useClicks makes the case count with the reader's own uncertainty, as a step.
func (d *Desk) useClicks() {
	c := d.ownClicks()
	u, enough := c.StdUnc()
	switch {
	case d.session == nil:
	case !enough:
		d.say(clicksSaid(c))
	case d.saved(d.session.editCase(wording.Say("use the reader's own clicks"), func(m *measure.Marks) error { m.ClickPX = &u; return nil })):
		d.say(wording.Say("This case counts with your own clicks: %s px (n = %d).", wording.Number(u, 1), c.Places))
	}
	d.refresh()
}

// drawAgain draws the marks of the second reading, and the loupe without the
// first marks.
func (b *bench) drawAgain(v tone.View) {
	d := b.desk
	s := scribe{&b.sheet, v, b.ratio, weights[d.weight]}
	points := s.all(d.again.points)
	for _, p := range points {
		s.sheet.Ring(s.pen(1.8, inkText), p, 5*s.unit)
	}
	if d.again.outlined() {
		if d.hand.inside {
			points = append(points, s.at(d.hand.at))
		}
		s.sheet.Dashes(s.pen(1.4, inkText), 4*s.unit, 5*s.unit, points...)
	}
	if lens := b.lensArea(); !lens.Empty() {
		b.drawLens(lens, &measure.ImageMarks{})
	}
}

// readingDeeds are the keys of second readings.
func readingDeeds() []deed {
	return []deed{
		toDo("Q", wording.Say("Read what is selected a second time, the first marks hidden"), (*Desk).readAgain, fyne.KeyQ),
		toDo("F9", wording.Say("Use the uncertainty of your own clicks in this case"), (*Desk).useClicks, fyne.KeyF9),
	}
}
