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

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/measure"
)

// worksheet is the panel at the right: the table of the whole case with a
// column for each image, and what is known of the image on the bench: stage,
// date, calibration, and the cautions that belong to the image as a whole.
type worksheet struct {
	desk     *Desk
	grid     *grid
	tally    *tally
	turning  *fyne.Container // the columns, where there are more than fit
	which    *canvas.Text    // of the columns are shown
	before   *widget.Button
	after    *widget.Button
	more     *widget.Button
	scale    *canvas.Text
	stated   *widget.Label // the spacing that is not used yet
	unused   *fyne.Container
	scaleRow *fyne.Container
	stage    *widget.Select
	date     *field
	describe *widget.Button
	rows     []*scaleRow
	shape    string // what the rows were built for
	caution  *widget.Label
	notes    []string // what the file itself asks to be said
	content  *fyne.Container
	scroll   *container.Scroll
	height   float32 // of the content when it was laid out
	width    float32 // that the user has chosen, 0 for none
	box      *fyne.Container
}

func newWorksheet(d *Desk) *worksheet {
	w := &worksheet{desk: d, grid: newGrid(d)}
	w.tally = w.grid.tally
	w.scale = text("", colourText, sizeText, true)
	w.stated = wrapped()
	w.unused = flush(w.stated)
	w.scaleRow = container.NewVBox()
	w.caution = wrapped()
	d.parts["worksheet"] = w.grid.ring
	w.content = container.NewVBox(w.grid.box, w.newMore(),
		container.NewBorder(nil, nil, nil, w.newDescribe(), title(wording.Say("Image on the bench"))), w.newAbout(),
		title(wording.Say("Calibration")), w.scaleRow, w.scale, w.unused, flush(w.caution))
	w.scroll = container.NewVScroll(container.New(layout.NewCustomPaddedLayout(0, 8, 6, 12), w.content))
	heads := container.New(layout.NewCustomPaddedLayout(4, 4, 6, 12), w.newTurning())
	foot := container.New(layout.NewCustomPaddedLayout(4, 6, 6, 12), d.details.box)
	panel := container.NewStack(canvas.NewRectangle(colourPanel), container.NewBorder(heads, foot, nil, nil, w.scroll))
	w.box = container.New(panelWidth{w}, container.NewBorder(nil, nil, newDivider(w), nil, panel))
	return w
}

// newTurning makes the heads of the columns, with what turns them.
func (w *worksheet) newTurning() fyne.CanvasObject {
	d := w.desk
	w.which = text("", colourMuted, sizeCaption-1, false)
	w.before = d.button("columns before", "‹", func() { w.grid.turn(-1) })
	w.after = d.button("columns after", "›", func() { w.grid.turn(1) })
	w.turning = container.NewVBox(w.which, container.NewGridWithColumns(2, w.before, w.after))
	w.grid.heads.Objects = []fyne.CanvasObject{w.turning}
	return w.grid.heads
}

func (w *worksheet) newMore() fyne.CanvasObject {
	w.more = w.desk.button("all lines", "", func() {
		w.grid.all = !w.grid.all
		w.desk.refresh()
	})
	w.more.Importance = widget.LowImportance
	return container.NewHBox(w.more)
}

func (w *worksheet) newDescribe() fyne.CanvasObject {
	w.describe = w.desk.button("about image", wording.Say("About this image"), w.desk.showDescription)
	w.describe.Importance = widget.LowImportance
	return w.describe
}

// newAbout makes stage and date of the image on the bench.
func (w *worksheet) newAbout() fyne.CanvasObject {
	d := w.desk
	w.stage = widget.NewSelect(stageTexts(), func(string) { w.restage(w.stage.SelectedIndex()) })
	w.stage.PlaceHolder = wording.Say("not said")
	d.parts["stage"] = w.stage
	w.date = newField(d, "date", d.setDate)
	w.date.SetPlaceHolder(wording.Say("YYYY-MM-DD"))
	w.date.label = wording.Say("Date")
	return container.NewBorder(nil, nil, nil,
		container.NewHBox(container.NewCenter(text(wording.Say("Date"), colourMuted, sizeCaption, false)), container.New(wide{116 * sizeText / 15}, w.date)),
		container.NewBorder(nil, nil, container.NewCenter(text(wording.Say("Stage"), colourMuted, sizeCaption, false)), nil, w.stage))
}

// wrapped is an empty text of as many lines as it needs.
func wrapped() *widget.Label {
	l := widget.NewLabel("")
	l.Wrapping = fyne.TextWrapWord
	return l
}

// title heads a part of the worksheet.
func title(s string) fyne.CanvasObject {
	return container.NewVBox(layout.NewSpacer(), separator(), text(s, colourHoney, sizeCaption+1, true))
}

func (w *worksheet) restage(index int) {
	d := w.desk
	if im := d.session.saved(); im != nil && index >= 0 && im.Stage != casebook.Stages[index] {
		d.saved(d.setStage(casebook.Stages[index]))
		d.refresh()
	}
}

// note keeps what belongs beside the picture, such as that it was in colour.
func (w *worksheet) note(cautions []string) { w.notes = cautions }

// update shows the findings of the case and what is known of the image.
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
	if i := slices.Index(casebook.Stages, im.Stage); i != w.stage.SelectedIndex() {
		w.stage.Selected = ""
		if i >= 0 {
			w.stage.Selected = w.stage.Options[i]
		}
		w.stage.Refresh()
	}
	w.date.set(im.Date)
	w.updateScale(im)
	w.grid.update()
	w.updateTurning()
	w.updateCautions()
	w.settle()
}

// settle lays the worksheet out again when its parts have become taller or
// lower.
func (w *worksheet) settle() {
	if h := w.content.MinSize().Height + float32(len(w.grid.shape)); h != w.height {
		w.height = h
		w.grid.heads.Refresh()
		w.grid.box.Refresh()
		w.content.Refresh()
		w.scroll.Refresh()
	}
}

// updateTurning says which columns are shown, where not all are.
func (w *worksheet) updateTurning() {
	g := w.grid
	all, n := len(g.images), len(g.shown())
	which := ""
	if n < all {
		which = wording.Say("%[1]d–%[2]d of %[3]d", g.first+1, g.first+n, all)
	}
	setText(w.which, which)
	w.turning.Hidden = n >= all
	able(w.before, g.first > 0)
	able(w.after, g.first+n < all)
	label := wording.Say("All lines")
	if g.all {
		label = wording.Say("Fewer lines")
	}
	if w.more.Text != label {
		w.more.SetText(label)
	}
}

// updateScale shows the calibrations of the image and its scale.
func (w *worksheet) updateScale(im *measure.ImageMarks) {
	if shape := im.ID + strings.Repeat("|", len(im.Calibration)); shape != w.shape {
		w.shape, w.rows = shape, nil
		w.scaleRow.RemoveAll()
		for _, it := range listed(im) {
			if it.kind == calibration {
				r := newScaleRow(w.desk, it)
				w.rows = append(w.rows, r)
				w.scaleRow.Add(r)
			}
		}
	}
	for _, r := range w.rows {
		r.update(im)
	}
	f, ok := w.desk.session.scale()
	switch {
	case ok:
		setText(w.scale, wording.Say("Scale  %s", wording.Quantity(f.Quantity)))
	case im.ID == "":
		setText(w.scale, "–")
	default:
		setText(w.scale, wording.Say("Not calibrated: lengths are in px."))
	}
	w.updateStated(!ok)
}

// updateStated tells of a spacing that could be used.
func (w *worksheet) updateStated(wanted bool) {
	s := w.desk.session.stated()
	w.unused.Hidden = !wanted || !s.Stated()
	text := wording.Say("The image file states %[1]s (%[2]s), not used yet.", wording.Spacing(s), wording.Tell(wording.SpacingTrust(s.Kind)))
	if !w.unused.Hidden && w.stated.Text != text {
		w.stated.SetText(text)
	}
}

// updateCautions lists what must be known before any number of the image on
// the bench is trusted. What concerns one canal or lesion stands beside it.
func (w *worksheet) updateCautions() {
	var out []string
	for _, n := range append(slices.Clone(w.notes), w.desk.session.cautions()...) {
		if line := "!  " + wording.Sentence(wording.Tell(n)); !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	s := strings.Join(out, "\n")
	if w.caution.Text != s {
		w.caution.SetText(s)
	}
	w.caution.Hidden = s == ""
}

// cautions collects the cautions of the image as a whole, and of what compares
// its items, such as the distance of two canals. What has no value cautions
// against nothing there.
func (s *session) cautions() []string {
	if s == nil {
		return nil
	}
	items := blocks([]measure.ImageMarks{*s.orNone()})
	var out []string
	for _, f := range s.findings {
		if f.Of == measure.ImageSubject {
			out = append(out, f.Cautions...)
			continue
		}
		if f.Defined() && !slices.ContainsFunc(items, func(b block) bool { return b.of == f.Of }) {
			for _, c := range ownCautions(s.findings, f) {
				out = append(out, f.Of+": "+c)
			}
		}
	}
	return out
}

// orNone returns the marks as shown, empty ones where there are none.
func (s *session) orNone() *measure.ImageMarks {
	if im := s.shown(); im != nil {
		return im
	}
	return &measure.ImageMarks{}
}

// reveal scrolls so that an object is in sight.
func (w *worksheet) reveal(o fyne.CanvasObject) {
	driver := fyne.CurrentApp().Driver()
	y := driver.AbsolutePositionForObject(o).Y - driver.AbsolutePositionForObject(w.scroll.Content).Y
	top, bottom := w.scroll.Offset.Y, w.scroll.Offset.Y+w.scroll.Size().Height
	switch {
	case y < top:
		w.scroll.Offset.Y = max(0, y-theme.Padding())
	case y+o.Size().Height > bottom:
		w.scroll.Offset.Y = y + o.Size().Height + theme.Padding() - w.scroll.Size().Height
	default:
		return
	}
	w.scroll.Refresh()
}

// toggle shows the worksheet, or gives its room to the bench.
func (w *worksheet) toggle() {
	if w.box.Visible() {
		w.box.Hide()
		w.desk.focusBench()
	} else {
		w.box.Show()
	}
	w.desk.frame.Refresh()
	w.desk.refresh()
}
