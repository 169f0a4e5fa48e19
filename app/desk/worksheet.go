package desk

import (
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// sheetWidth is the width of the worksheet in logical pixels.
const sheetWidth = 436

// worksheet is the table of the image on the bench: a row for each canal and
// lesion, its calibration, and the cautions that belong to the numbers.
type worksheet struct {
	desk     *Desk
	scale    *canvas.Text
	stated   *widget.Label // the spacing that is not used yet
	unused   *fyne.Container
	scaleRow *fyne.Container
	stage    *widget.Select
	date     *field
	about    *fyne.Container // stage and date of the image
	describe *widget.Button
	canals   *fyne.Container
	lesions  *fyne.Container
	rows     []row
	shape    string // what the rows were built for
	caution  *widget.Label
	notes    []string // what the file itself asks to be said
	content  *fyne.Container
	scroll   *container.Scroll
	height   float32 // of the content when it was laid out
	box      fyne.CanvasObject
}

// row is one line of the worksheet.
type row interface {
	update(im *measure.ImageMarks)
}

func newWorksheet(d *Desk) *worksheet {
	w := &worksheet{desk: d, canals: container.NewVBox(), lesions: container.NewVBox()}
	w.scale = text("", colourText, sizeText, true)
	w.stated = wrapped()
	w.unused = flush(w.stated)
	w.scaleRow = container.NewVBox()
	w.stage = widget.NewSelect(stages, func(s string) { w.restage(s) })
	w.stage.PlaceHolder = "not said"
	d.parts["stage"] = w.stage
	w.date = newField(d, "date", d.setDate)
	w.date.SetPlaceHolder("YYYY-MM-DD")
	w.about = container.New(columns{widths: []float32{60, 190, 46, 116}}, text("Stage", colourMuted, sizeCaption, false), w.stage,
		container.NewCenter(text("Date", colourMuted, sizeCaption, false)), w.date)
	w.caution = wrapped()
	w.describe = d.button("about image", "About this image", d.showDescription)
	w.content = container.NewVBox(container.NewBorder(nil, nil, nil, w.describe, title("Image")), w.about,
		title("Calibration"), w.scaleRow, w.scale, w.unused,
		title("Canals"), w.canals, title("Lesions"), w.lesions, title("Cautions"), w.caution)
	inner := container.New(layout.NewCustomPaddedLayout(4, 8, 10, 14), w.content)
	w.scroll = container.NewVScroll(inner)
	w.box = container.New(wide{sheetWidth}, container.NewStack(canvas.NewRectangle(colourPanel),
		container.NewBorder(nil, container.New(layout.NewCustomPaddedLayout(4, 6, 10, 14), d.details.box), nil, nil, w.scroll)))
	return w
}

// wrapped is an empty text of as many lines as it needs.
func wrapped() *widget.Label {
	l := widget.NewLabel("")
	l.Wrapping = fyne.TextWrapWord
	return l
}

// title heads a part of the worksheet.
func title(s string) fyne.CanvasObject {
	line := separator()
	return container.NewVBox(layout.NewSpacer(), container.NewStack(line), text(s, colourHoney, sizeCaption+1, true))
}

func (w *worksheet) restage(stage string) {
	d := w.desk
	if im := d.session.saved(); im != nil && im.Stage != stage {
		d.saved(d.setStage(stage))
		d.refresh()
	}
}

// note keeps what belongs beside the picture, such as that it was in colour.
func (w *worksheet) note(cautions []string) { w.notes = cautions }

// update shows the findings of the image as shown.
func (w *worksheet) update() {
	d := w.desk
	d.details.update()
	im := d.session.shown()
	able(w.date, im != nil)
	able(w.stage, im != nil)
	able(w.describe, im != nil)
	if im == nil {
		im = &measure.ImageMarks{}
		w.notes = nil
	}
	if w.stage.Selected != im.Stage {
		w.stage.Selected = im.Stage
		w.stage.Refresh()
	}
	w.date.set(im.Date)
	if shape := shapeOf(im); shape != w.shape || len(w.canals.Objects) == 0 {
		w.shape = shape
		w.rebuild(im)
	}
	for _, r := range w.rows {
		r.update(im)
	}
	w.updateScale(im)
	w.updateCautions()
	w.settle()
}

// settle lays the worksheet out again when its parts have become taller or
// lower.
func (w *worksheet) settle() {
	if h := w.content.MinSize().Height; h != w.height {
		w.height = h
		w.content.Refresh()
		w.scroll.Refresh()
	}
}

// shapeOf tells which rows an image needs.
func shapeOf(im *measure.ImageMarks) string {
	var b strings.Builder
	for _, it := range listed(im) {
		b.WriteString(nameOf(im, it) + "\n")
	}
	return b.String()
}

func (w *worksheet) rebuild(im *measure.ImageMarks) {
	w.rows = nil
	w.canals.RemoveAll()
	w.lesions.RemoveAll()
	w.scaleRow.RemoveAll()
	for name := range w.desk.parts {
		if strings.HasPrefix(name, "row ") || strings.HasPrefix(name, "EAL ") {
			delete(w.desk.parts, name)
		}
	}
	if len(im.Canals) > 0 {
		w.canals.Add(heads(canalColumns, "", "length", "est. working", "Schneider", "EAL, mm"))
	}
	if len(im.Lesions) > 0 {
		w.lesions.Add(heads(lesionColumns, "", "area", "longest", "across it"))
	}
	for _, it := range listed(im) {
		switch it.kind {
		case canal:
			w.addRow(w.canals, newCanalRow(w.desk, it))
		case lesion:
			w.addRow(w.lesions, newLesionRow(w.desk, it))
		case calibration:
			w.addRow(w.scaleRow, newScaleRow(w.desk, it))
		}
	}
	none(w.canals, "None traced yet.")
	none(w.lesions, "None outlined yet.")
}

func (w *worksheet) addRow(to *fyne.Container, r interface {
	row
	fyne.CanvasObject
}) {
	w.rows = append(w.rows, r)
	to.Add(r)
}

// none says that a part is empty.
func none(c *fyne.Container, s string) {
	if len(c.Objects) == 0 {
		c.Add(text(s, colourMuted, sizeText, false))
	}
}

// heads is the line of column names.
func heads(c columns, names ...string) fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, n := range names {
		out = append(out, text(n, colourMuted, sizeCaption, false))
	}
	return container.New(c, out...)
}

func (w *worksheet) updateScale(im *measure.ImageMarks) {
	f, ok := w.desk.session.scale()
	switch {
	case ok:
		setText(w.scale, "Scale  "+wording.Quantity(f.Quantity))
	case im.ID == "":
		setText(w.scale, "–")
	default:
		setText(w.scale, "Not calibrated: lengths are in px.")
	}
	w.updateStated(!ok)
}

// updateStated tells of a spacing that could be used.
func (w *worksheet) updateStated(wanted bool) {
	s := w.desk.session.stated()
	w.unused.Hidden = !wanted || !s.Stated()
	if text := "The image file states " + wording.Spacing(s) + " (" + string(s.Kind) + "), not used yet."; !w.unused.Hidden && w.stated.Text != text {
		w.stated.SetText(text)
	}
}

// updateCautions lists what must be known before a number is trusted, each
// sentence once, with whom it concerns where not all.
func (w *worksheet) updateCautions() {
	var out []string
	for _, n := range append(slices.Clone(w.notes), cautionLines(w.desk.session)...) {
		if line := wording.Sentence(n); !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	s := "None."
	if len(out) > 0 {
		s = strings.Join(out, "\n")
	}
	if w.caution.Text != s {
		w.caution.SetText(s)
	}
}

// hasPlace reports whether a finding has its place on the worksheet even when it
// is undefined: its cautions then say why.
func hasPlace(f measure.Finding) bool {
	switch f.What {
	case measure.WhatScale, measure.WhatLength, measure.WhatWorkingLength, measure.WhatSchneiderAngle,
		measure.WhatArea, measure.WhatLongestDiameter, measure.WhatPerpendicularDiameter:
		return true
	}
	return f.Of == measure.ImageSubject
}

// cautionLines joins equal cautions of several findings into one line. What has
// no value and no place on the worksheet, such as the confluence of canals that
// don't join, cautions against nothing.
func cautionLines(s *session) []string {
	if s == nil {
		return nil
	}
	var order []string
	about := map[string][]string{}
	for _, f := range s.findings {
		if !f.Defined() && !hasPlace(f) {
			continue
		}
		for _, c := range f.Cautions {
			if _, ok := about[c]; !ok {
				order = append(order, c)
			}
			if n := len(about[c]); n == 0 || about[c][n-1] != f.Of {
				about[c] = append(about[c], f.Of)
			}
		}
	}
	var out []string
	for _, c := range order {
		who := strings.Join(about[c], ", ")
		if len(about[c]) > 2 {
			who = "several"
		}
		out = append(out, who+": "+c)
	}
	return out
}

// cell shows a number large and its ± small under it.
type cell struct {
	box   fyne.CanvasObject
	value *canvas.Text
	under *canvas.Text
}

func newCell() *cell {
	c := &cell{value: text("", colourText, sizeValue, true), under: text("", colourMuted, sizeText-1, false)}
	c.box = container.New(tight{5}, c.value, c.under)
	return c
}

func (c *cell) set(value, under string) {
	setText(c.value, value)
	setText(c.under, under)
}

func (c *cell) quantity(q measure.Quantity) { c.set(wording.Value(q), wording.PlusMinus(q)) }

// line is what the rows have in common: a ground that shows the selection and
// can be pressed.
type line struct {
	widget.BaseWidget
	desk    *Desk
	item    item
	back    *canvas.Rectangle
	name    *canvas.Text
	content fyne.CanvasObject
}

func (l *line) build(d *Desk, it item) {
	l.desk, l.item = d, it
	l.back = canvas.NewRectangle(colourRaised)
	l.back.CornerRadius = 3
	l.name = text("", colourText, sizeText+2, true)
}

// CreateRenderer shows ground and content.
func (l *line) CreateRenderer() fyne.WidgetRenderer {
	inner := container.New(layout.NewCustomPaddedLayout(3, 3, theme.Padding(), theme.Padding()), l.content)
	return widget.NewSimpleRenderer(container.NewStack(l.back, inner))
}

// Tapped selects the item.
func (l *line) Tapped(*fyne.PointEvent) {
	if l.desk.task == nil {
		l.desk.selected = grip{l.item, -1}
		l.desk.say("")
	}
	l.desk.focusBench()
	l.desk.refresh()
}

// mark shows whether the item is the selected one: a frame and a lighter
// ground.
func (l *line) mark() {
	fill, stroke := colourRaised, float32(0)
	if l.desk.subject() == l.item {
		fill, stroke = colourChosen, 2
	}
	if l.back.FillColor != fill || l.back.StrokeWidth != stroke {
		l.back.FillColor, l.back.StrokeWidth, l.back.StrokeColor = fill, stroke, colourHoney
		l.back.Refresh()
	}
}
