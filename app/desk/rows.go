package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// ground is what rows and blocks have in common: a ground that shows whether
// they are about what is selected.
type ground struct {
	widget.BaseWidget
	desk *Desk
	back *canvas.Rectangle
}

func (g *ground) build(d *Desk) {
	g.desk = d
	g.back = canvas.NewRectangle(colourRaised)
	g.back.CornerRadius = 3
	g.back.StrokeColor = colourHoney
}

// choose shows a frame and a lighter ground, or takes them away.
func (g *ground) choose(on bool) {
	fill, stroke := colourRaised, float32(0)
	if on {
		fill, stroke = colourChosen, 2
	}
	if g.back.FillColor != fill || g.back.StrokeWidth != stroke {
		g.back.FillColor, g.back.StrokeWidth = fill, stroke
		g.back.Refresh()
	}
}

// scaleRow shows one calibration.
type scaleRow struct {
	ground
	item        item
	name, known *canvas.Text
}

func newScaleRow(d *Desk, it item) *scaleRow {
	r := &scaleRow{item: it, name: text("", colourText, sizeText, true), known: text("", colourText, sizeText, false)}
	r.build(d)
	d.parts["row calibration "+plain(float64(it.index+1))] = r
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer shows the ground and the words.
func (r *scaleRow) CreateRenderer() fyne.WidgetRenderer {
	words := container.NewHBox(r.name, gap(8), r.known)
	inner := container.New(layout.NewCustomPaddedLayout(3, 3, theme.Padding(), theme.Padding()), words)
	return widget.NewSimpleRenderer(container.NewStack(r.back, inner))
}

// Tapped selects the calibration.
func (r *scaleRow) Tapped(*fyne.PointEvent) {
	if r.desk.task == nil {
		r.desk.selected = grip{r.item, -1}
		r.desk.say("")
	}
	r.desk.focusBench()
	r.desk.refresh()
}

func (r *scaleRow) update(im *measure.ImageMarks) {
	if r.item.index >= len(im.Calibration) {
		return
	}
	c := im.Calibration[r.item.index]
	setText(r.name, ways[c.Kind].name)
	if stated := r.desk.session.stated(); c.Kind == measure.CalibrationStated {
		setText(r.known, wording.Say("%[1]s, %[2]s", wording.Spacing(stated), wording.Tell(wording.SpacingTrust(stated.Kind))))
	} else {
		setText(r.known, wording.Quantity(known(c)))
	}
	r.choose(r.desk.subject() == r.item)
}

// known is the known length of a calibration as a quantity.
func known(c measure.Calibration) measure.Quantity {
	q := measure.Quantity{Value: c.LengthMM, StdUnc: ways[c.Kind].u, Unit: measure.Millimetre}
	if c.UMM != nil {
		q.StdUnc = *c.UMM
	}
	return q
}
