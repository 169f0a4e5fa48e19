package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// way is a kind of calibration: its name as shown, and the known length in mm
// that it starts with, with its standard uncertainty.
type way struct {
	name      string
	length, u float64
}

// ways are the kinds of calibration. The length of a file is the one in the
// settings; a marker ball of 5 mm is common practice, no source.
var ways = map[string]way{
	measure.CalibrationFile:     {wording.ToSay("Known file"), usualFile, measure.DefaultKnownLength},
	measure.CalibrationDistance: {wording.ToSay("Known distance"), 5, measure.DefaultKnownDistance},
	measure.CalibrationVolume:   {wording.ToSay("Length in the volume"), 0, measure.DefaultVolumeLength},
	measure.CalibrationStated:   {wording.ToSay("Stated spacing"), 0, 0},
}

// setWay makes the calibration at hand one of another kind. A length that is
// marked already stays; before that the usual one of the kind is proposed.
func (d *Desk) setWay(to string) {
	if to == d.wayOf(d.subject()) {
		return
	}
	length, u := usual(d.session.saved(), to)
	err := d.change("kind", func(t *task) {
		t.way, t.u = to, u
		t.assisted = d.canAssist(t) && (t.assisted || len(t.points) == 0)
		d.prepare(t)
		if !t.enough() {
			t.known = length
		}
	}, func(im *measure.ImageMarks, i int) { im.Calibration[i].Kind, im.Calibration[i].UMM = to, &u })
	if d.saved(err) {
		d.say("")
		d.finishIfFull()
	}
	d.refresh()
}

// usual is the known length that a new calibration starts with: that of the
// image's latest one of the kind, since a second is usually along the same
// kind of file, else the kind's own.
func usual(im *measure.ImageMarks, kind string) (length, u float64) {
	length, u = ways[kind].length, ways[kind].u
	for _, c := range im.Calibration {
		if c.Kind == kind {
			q := known(c)
			length, u = q.Value, q.StdUnc
		}
	}
	return length, u
}

// finishIfFull ends a task that has all the marks it can have.
func (d *Desk) finishIfFull() {
	if t := d.task; t != nil && t.complete() {
		d.finish()
	}
}

// full reports whether the line of an item can have no more marks: a distance
// has two.
func full(im *measure.ImageMarks, it item) bool {
	return lineOf(im, it) == nil || it.kind == calibration &&
		im.Calibration[it.index].Kind == measure.CalibrationDistance && len(marksOf(im, it)) == 2
}

// isStated reports whether an item is the spacing that the image file states.
func isStated(im *measure.ImageMarks, it item) bool {
	return it.kind == calibration && exists(im, it) && im.Calibration[it.index].Kind == measure.CalibrationStated
}

// useStated makes the spacing that the image file states a calibration. What
// the task has marked so far is kept if it is enough.
func (d *Desk) useStated() {
	d.settle()
	if d.task != nil && d.task.enough() {
		d.finish()
	}
	d.task = nil
	ok := d.edit(wording.Say("use the stated spacing"), func(im *measure.ImageMarks) error {
		im.Calibration = append(im.Calibration, measure.Calibration{Kind: measure.CalibrationStated})
		return nil
	})
	if ok {
		d.selected = grip{item{calibration, count(d.session.saved(), calibration) - 1}, -1}
		d.say(wording.Say("The stated spacing is kept as a calibration."))
	}
	d.refresh()
}

// stated returns the spacing that the file of the image states.
func (s *session) stated() measure.Spacing {
	im := s.saved()
	if im == nil || !s.ready {
		return measure.Spacing{}
	}
	m, err := s.reader.Image(im.ID, im.File)
	if err != nil || m.Spacing.Kind == measure.SpacingNone {
		return measure.Spacing{}
	}
	return m.Spacing
}

// statedScale returns the scale that the stated spacing gives by itself.
func (s *session) statedScale() measure.Quantity {
	alone := measure.ImageMarks{ID: s.image, File: s.saved().File, Calibration: []measure.Calibration{{Kind: measure.CalibrationStated}}}
	for _, f := range s.reader.Findings(measure.Marks{Version: measure.MarksVersion, Images: []measure.ImageMarks{alone}}) {
		if f.What == measure.WhatScale {
			return f.Quantity
		}
	}
	return measure.Undefined(measure.MillimetrePerPx)
}

// choice is the part of the card where the kind of a calibration is chosen.
type choice struct {
	desk    *Desk
	buttons map[string]*widget.Button
	says    *widget.Label // what the image file states
	below   *fyne.Container
	row     *fyne.Container
	box     *fyne.Container
}

func newChoice(d *Desk) *choice {
	c := &choice{desk: d, says: wrapped(), buttons: map[string]*widget.Button{}}
	c.says.SizeName = theme.SizeNameCaptionText
	c.row = container.NewHBox()
	for _, kind := range []string{measure.CalibrationFile, measure.CalibrationDistance, measure.CalibrationStated} {
		do := func() { d.setWay(kind) }
		if kind == measure.CalibrationStated {
			do = d.useStated
		}
		c.buttons[kind] = d.button("by "+kind, wording.Say(ways[kind].name), do)
		c.row.Add(c.buttons[kind])
	}
	c.below = flush(c.says)
	c.box = container.NewVBox(c.row, c.below)
	return c
}

// update shows which kind is chosen and which can be. The stated spacing can
// be chosen instead of marks, not for marks that are there.
func (c *choice) update(it item) {
	d := c.desk
	im, stated, task := d.session.saved(), d.session.stated(), d.task != nil
	now := d.wayOf(it)
	for kind, b := range c.buttons {
		lit(b, kind == now)
	}
	c.row.Hidden = now == measure.CalibrationStated
	c.buttons[measure.CalibrationStated].Hidden = !task
	c.below.Hidden = !task && now != measure.CalibrationStated
	able(c.buttons[measure.CalibrationStated], stated.Stated() && !usesStated(im))
	able(c.buttons[measure.CalibrationDistance], now == measure.CalibrationDistance || len(marksOf(im, it)) <= 2)
	if s := c.sentence(now, stated, im); !c.below.Hidden && c.says.Text != s {
		c.says.SetText(s)
	}
}

func (c *choice) sentence(now string, stated measure.Spacing, im *measure.ImageMarks) string {
	switch {
	case !stated.Stated():
		return wording.Say("The image file states no spacing.")
	case now == measure.CalibrationStated:
		return capital(statedWords(stated)) + ".\n" + wording.Say("Scale by it: %s.", wording.Quantity(c.desk.session.statedScale()))
	case usesStated(im):
		return wording.Say("What the image file states is a calibration already.")
	}
	return wording.Say("The image file states %s.", statedWords(stated))
}

// statedWords gives the figure with where it holds and how far that goes.
func statedWords(s measure.Spacing) string {
	return wording.Spacing(s) + ", " + wording.Tell(wording.SpacingTrust(s.Kind))
}

func usesStated(im *measure.ImageMarks) bool {
	for _, c := range im.Calibration {
		if c.Kind == measure.CalibrationStated {
			return true
		}
	}
	return false
}

// wayOf returns the kind of the calibration at hand.
func (d *Desk) wayOf(it item) string {
	if d.task != nil {
		return d.task.way
	}
	return d.session.saved().Calibration[it.index].Kind
}
