package desk

import (
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"rootrule/app/wording"
	"rootrule/measure"
)

// Widths of the columns, in logical pixels.
var (
	canalColumns  = columns{widths: []float32{64, 98, 108, 68, 72}}
	lesionColumns = columns{widths: []float32{64, 124, 106, 106}}
	scaleColumns  = columns{widths: []float32{150, 244}}
)

// canalRow shows one canal.
type canalRow struct {
	line
	length, working, angle *cell
	eal                    *field
	reconcile              *canvas.Text
}

func newCanalRow(d *Desk, it item) *canalRow {
	r := &canalRow{length: newCell(), working: newCell(), angle: newCell()}
	r.build(d, it)
	of := nameOf(d.session.shown(), it)
	d.parts["row "+of] = r
	r.eal = newField(d, "EAL "+of, func(s string) error { return d.setEAL(it.index, s) })
	r.eal.SetPlaceHolder("–")
	r.reconcile = text("", colourText, sizeCaption, false)
	cells := container.New(canalColumns, r.name, r.length.box, r.working.box, r.angle.box, r.eal)
	r.content = container.New(tight{2}, cells, r.reconcile)
	r.ExtendBaseWidget(r)
	return r
}

func (r *canalRow) update(im *measure.ImageMarks) {
	if r.item.index >= len(im.Canals) {
		return
	}
	c := im.Canals[r.item.index]
	of, s := nameOf(im, r.item), r.desk.session
	setText(r.name, join(c.Tooth, c.Name))
	f, _ := s.finding(of, measure.WhatLength)
	r.length.quantity(f.Quantity)
	f, _ = s.finding(of, measure.WhatWorkingLength)
	if f.Defined() {
		r.working.set(wording.Clinical(f.Quantity), wording.Quantity(f.Quantity))
	} else {
		r.working.set(wording.Undefined, "")
	}
	f, _ = s.finding(of, measure.WhatSchneiderAngle)
	r.angle.quantity(f.Quantity)
	r.eal.set(typed(c.EALMM))
	r.reconciled(of)
	r.mark()
}

// reconciled tells how the apex locator's reading and the radiograph agree.
func (r *canalRow) reconciled(of string) {
	f, ok := r.desk.session.finding(of, measure.WhatEALDifference)
	if !ok || !f.Defined() {
		r.reconcile.Hide()
		return
	}
	s := capital(wording.Label(measure.WhatEALDifference)) + ": " + wording.Quantity(f.Quantity)
	setText(r.reconcile, s)
	r.reconcile.Show()
}

// typed shows a typed reading as it was typed, without digits it hadn't.
func typed(mm *float64) string {
	if mm == nil {
		return ""
	}
	return plain(*mm)
}

// lesionRow shows one lesion.
type lesionRow struct {
	line
	area, longest, across *cell
}

func newLesionRow(d *Desk, it item) *lesionRow {
	r := &lesionRow{area: newCell(), longest: newCell(), across: newCell()}
	r.build(d, it)
	d.parts["row "+nameOf(d.session.shown(), it)] = r
	r.content = container.New(lesionColumns, r.name, r.area.box, r.longest.box, r.across.box)
	r.ExtendBaseWidget(r)
	return r
}

func (r *lesionRow) update(im *measure.ImageMarks) {
	if r.item.index >= len(im.Lesions) {
		return
	}
	l := im.Lesions[r.item.index]
	of, s := nameOf(im, r.item), r.desk.session
	setText(r.name, join(l.Tooth, l.Name))
	for what, c := range map[string]*cell{measure.WhatArea: r.area, measure.WhatLongestDiameter: r.longest, measure.WhatPerpendicularDiameter: r.across} {
		f, _ := s.finding(of, what)
		c.quantity(f.Quantity)
	}
	r.mark()
}

// scaleRow shows one calibration.
type scaleRow struct {
	line
	known *canvas.Text
}

func newScaleRow(d *Desk, it item) *scaleRow {
	r := &scaleRow{known: text("", colourText, sizeText, false)}
	r.build(d, it)
	d.parts["row calibration "+plain(float64(it.index+1))] = r
	r.content = container.New(scaleColumns, r.name, r.known)
	r.ExtendBaseWidget(r)
	return r
}

func (r *scaleRow) update(im *measure.ImageMarks) {
	if r.item.index >= len(im.Calibration) {
		return
	}
	c := im.Calibration[r.item.index]
	setText(r.name, ways[c.Kind].name)
	if stated := r.desk.session.stated(); c.Kind == measure.CalibrationStated {
		setText(r.known, wording.Spacing(stated)+", "+string(stated.Kind))
	} else {
		setText(r.known, wording.Quantity(known(c)))
	}
	r.mark()
}

// known is the known length of a calibration as a quantity.
func known(c measure.Calibration) measure.Quantity {
	q := measure.Quantity{Value: c.LengthMM, StdUnc: ways[c.Kind].u, Unit: measure.Millimetre}
	if c.UMM != nil {
		q.StdUnc = *c.UMM
	}
	return q
}
