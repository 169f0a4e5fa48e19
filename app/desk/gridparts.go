package desk

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// band is the ground of a block. Pressed, it selects what the block is about.
type band struct {
	ground
	block block
	frame *canvas.Rectangle // round its numbers of the image on the bench
}

func newBand(d *Desk, b block) *band {
	n := &band{block: b, frame: canvas.NewRectangle(through(colourHoney, 0x14))}
	n.frame.StrokeColor, n.frame.StrokeWidth, n.frame.CornerRadius = through(colourHoney, 0x70), 1, 3
	n.build(d)
	n.ExtendBaseWidget(n)
	return n
}

// CreateRenderer shows the ground.
func (b *band) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(b.back) }

// Tapped selects the item on the image on the bench, or on the first image
// that shows it.
func (b *band) Tapped(*fyne.PointEvent) {
	d := b.desk
	images := d.sheet.grid.images
	shows := func(im measure.ImageMarks) bool { return b.block.index(&im) >= 0 }
	at := slices.IndexFunc(images, func(im measure.ImageMarks) bool { return im.ID == d.session.image && shows(im) })
	if at < 0 {
		at = slices.IndexFunc(images, shows)
	}
	if at >= 0 {
		d.showSource(images[at].ID, b.block.of)
	}
	d.focusBench()
}

// mark shows whether the block is about the selected item.
func (b *band) mark() {
	d := b.desk
	b.choose(subjectOf(d.session.saved(), d.subject()) == b.block.of)
}

// columnHead is the head of a column: which image it is, and its scale.
type columnHead struct {
	widget.BaseWidget
	desk               *Desk
	image              string
	back               *canvas.Rectangle
	stage, date, scale *canvas.Text
	whole              string // the stage, as long as it is
	content            *fyne.Container
}

func newColumnHead(d *Desk, image string) *columnHead {
	c := &columnHead{desk: d, image: image, back: canvas.NewRectangle(colourPanel)}
	c.back.CornerRadius = 3
	c.stage = text("", colourText, sizeCaption-1, true)
	c.date = text("", colourMuted, sizeCaption-1, false)
	c.scale = text("", colourMuted, sizeCaption-1, false)
	c.content = container.New(tight{1}, c.stage, c.date, c.scale)
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer stacks the words on their ground.
func (c *columnHead) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(c.back, container.New(layout.NewCustomPaddedLayout(3, 3, 4, 2), c.content)))
}

// Resize shortens the stage to the width.
func (c *columnHead) Resize(s fyne.Size) {
	c.BaseWidget.Resize(s)
	setText(c.stage, fitted(c.whole, c.stage, s.Width-6))
}

// MinSize doesn't depend on how long the stage is.
func (c *columnHead) MinSize() fyne.Size {
	return fyne.NewSize(narrowest(), c.content.MinSize().Height+6)
}

// Tapped puts the image on the bench.
func (c *columnHead) Tapped(*fyne.PointEvent) { c.desk.choose(c.image); c.desk.focusBench() }

// MouseIn tells what the head has no room for.
func (c *columnHead) MouseIn(*desktop.MouseEvent) { c.desk.tip.show(c, c.lines()) }

// MouseMoved: see MouseIn.
func (c *columnHead) MouseMoved(*desktop.MouseEvent) {}

// MouseOut ends it.
func (c *columnHead) MouseOut() { c.desk.tip.hide() }

// Cursor shows that the head can be pressed.
func (c *columnHead) Cursor() desktop.Cursor { return desktop.PointerCursor }

func (c *columnHead) marks() (measure.ImageMarks, int) {
	g := c.desk.sheet.grid
	if i := g.columnOf(c.image); i >= 0 {
		return g.images[i], i
	}
	return measure.ImageMarks{}, -1
}

// update shows stage, date and scale of the image.
func (c *columnHead) update() {
	im, i := c.marks()
	stage, date, scale, colour := plain(float64(i+1))+"  "+stageText(im.Stage), dateText(im.Date), "", colourMuted
	findings, known := c.desk.sheet.grid.tally.on(c.image)
	f, _ := findingIn(findings, measure.ImageSubject, measure.WhatScale)
	switch {
	case f.Defined():
		scale = wording.Value(f.Quantity)
		if len(f.Cautions) > 0 {
			scale += "  !"
		}
	case known:
		scale, colour = "!  "+wording.Say("no calibration"), colourAlarm
	}
	fill := colourPanel
	if c.image == c.desk.session.imageID() {
		fill = colourChosen
	}
	if c.whole == stage && c.date.Text == date && c.scale.Text == scale && c.back.FillColor == fill {
		return
	}
	c.whole, c.date.Text, c.scale.Text, c.scale.Color, c.back.FillColor = stage, date, scale, colour, fill
	c.stage.Text = fitted(stage, c.stage, max(c.Size().Width, narrowest())-6)
	c.Refresh()
}

// fitted shortens words to a width, with an ellipsis.
func fitted(s string, like *canvas.Text, width float32) string {
	fits := func(s string) bool { return fyne.MeasureText(s, like.TextSize, like.TextStyle).Width <= width }
	if fits(s) {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && !fits(string(r)+"…") {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

func (c *columnHead) lines() []string {
	im, i := c.marks()
	lines := []string{wording.Say("Image %[1]d: %[2]s, %[3]s", i+1, stageText(im.Stage), dateText(im.Date))}
	findings, _ := c.desk.sheet.grid.tally.on(c.image)
	f, ok := findingIn(findings, measure.ImageSubject, measure.WhatScale)
	switch {
	case f.Defined():
		lines = append(lines, wording.Say("Scale: %[1]s, %[2]s.", wording.Quantity(f.Quantity), wording.Tell(f.Method)))
	case ok:
		lines = append(lines, wording.Say("This image is not calibrated: lengths are in px."))
	}
	for _, caution := range f.Cautions {
		lines = append(lines, wording.Say("Caution: %s.", wording.Tell(caution)))
	}
	return lines
}

// AccessibilityLabel names the image for assistive technology.
func (c *columnHead) AccessibilityLabel() string { return c.whole }

// AccessibilityRole: it can be pressed.
func (c *columnHead) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }

// readingCell is a typed reading on one image.
type readingCell struct {
	widget.BaseWidget
	field *field
	image string
	block block
	entry *entry
	small fyne.CanvasObject
}

func newReadingCell(g *grid, image string, b block, r *entry) *readingCell {
	c := &readingCell{image: image, block: b, entry: r}
	c.field = newField(g.desk, "", func(s string) error { return g.desk.setReading(c.image, c.block, c.entry, s) })
	c.field.name = func() string { return wording.Say("%[1]s, %[2]s", wording.Subject(c.block.of), c.entry.name) }
	c.field.next = func(back bool) { g.focusAfter(c, back) }
	c.small = container.NewThemeOverride(c.field, lowTheme{})
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer shows the field.
func (c *readingCell) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(c.small) }

func (c *readingCell) update(images []measure.ImageMarks) {
	for i := range images {
		if at := c.block.index(&images[i]); images[i].ID == c.image && at >= 0 {
			c.field.set(c.entry.show(&images[i], at))
		}
	}
}

// lowTheme makes a field as low as a line of the table.
type lowTheme struct{ Theme }

// Size returns the size of a part of a widget.
func (l lowTheme) Size(name fyne.ThemeSizeName) float32 {
	if name == theme.SizeNameInnerPadding {
		return 2
	}
	return l.Theme.Size(name)
}

// focusAfter goes from one field to the next: down the column, then to the top
// of the next column. Past the last one the bench has the keys.
func (g *grid) focusAfter(c *readingCell, back bool) {
	all := g.inOrderOfTyping()
	i := slices.Index(all, c) + 1
	if back {
		i -= 2
	}
	if i < 0 || i >= len(all) {
		g.desk.focusBench()
		return
	}
	g.desk.sheet.reveal(all[i])
	g.desk.o.Window.Canvas().Focus(all[i].field)
}

func (g *grid) inOrderOfTyping() []*readingCell {
	var out []*readingCell
	for column := range g.shown() {
		for _, r := range g.rows {
			if r.wide == nil {
				if c, ok := r.cells[column].(*readingCell); ok {
					out = append(out, c)
				}
			}
		}
	}
	return out
}
