package desk

import (
	"image"
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/measure"
)

// Sizes on the strip, in logical pixels.
const (
	stripWidth  = 128 // at least
	thumbHeight = 84
)

// strip is the stage strip: the images of the case in order of treatment.
type strip struct {
	desk   *Desk
	list   *fyne.Container
	scroll *container.Scroll
	box    fyne.CanvasObject
	cards  []*card
	chosen string // the image that was scrolled to last
	adding *widget.Button
}

func newStrip(d *Desk) *strip {
	s := &strip{desk: d, list: container.NewVBox()}
	s.adding = widget.NewButton(wording.Say("Open images"), d.askForFile)
	s.adding.Importance = widget.HighImportance
	d.parts["open image"] = s.adding
	s.scroll = container.NewVScroll(container.NewPadded(s.list))
	content := container.NewBorder(nil, container.NewPadded(s.adding), nil, nil, s.scroll)
	s.box = container.New(wide{s.width()}, container.NewStack(canvas.NewRectangle(colourPanel), content))
	return s
}

// width is wider than usual where larger letters or longer words need it.
func (s *strip) width() float32 {
	letters := 1 + (sizeText/15-1)/2
	return max(stripWidth*letters, s.adding.MinSize().Width+2*theme.Padding())
}

// update shows the images of the case and which of them is on the bench.
func (s *strip) update() {
	var images []measure.ImageMarks
	if s.desk.session != nil {
		images = inOrder(s.desk.session.marks.Images)
	}
	if len(images) != len(s.cards) {
		s.rebuild(len(images))
	}
	for i, im := range images {
		s.cards[i].set(i+1, im, s.desk.session.image)
	}
	s.showChosen()
}

// showChosen scrolls to the image on the bench when it becomes another.
func (s *strip) showChosen() {
	if s.desk.session == nil || s.desk.session.image == s.chosen {
		return
	}
	s.chosen = s.desk.session.image
	for _, c := range s.cards {
		if top, high := c.Position().Y, c.Size().Height; c.id == s.chosen && high > 0 {
			low := top + high - s.scroll.Size().Height + 2*theme.Padding()
			s.scroll.ScrollToOffset(fyne.NewPos(0, min(max(s.scroll.Offset.Y, low), top)))
		}
	}
}

func (s *strip) rebuild(n int) {
	for len(s.cards) > n {
		s.cards = s.cards[:len(s.cards)-1]
		s.list.Remove(s.list.Objects[len(s.list.Objects)-1])
		delete(s.desk.parts, "image "+strconv.Itoa(len(s.cards)+1))
	}
	for len(s.cards) < n {
		c := newCard(s.desk)
		s.cards = append(s.cards, c)
		s.list.Add(c)
		s.desk.parts["image "+strconv.Itoa(len(s.cards))] = c
		s.desk.parts["more of image "+strconv.Itoa(len(s.cards))] = c.more
		s.desk.parts["stages of image "+strconv.Itoa(len(s.cards))] = c.rail
	}
}

// card is one image on the strip.
type card struct {
	widget.BaseWidget
	desk   *Desk
	id     string
	back   *canvas.Rectangle
	thumb  *canvas.Image
	badge  *canvas.Text // how the image is turned
	plate  *fyne.Container
	title  *canvas.Text
	stage  *canvas.Text
	whole  string // the stage, as long as it is
	rail   *stageRail
	date   *canvas.Text
	more   *widget.Button
	chosen bool
	beside bool        // Ctrl was held at the latest press
	small  image.Image // the thumbnail before it was turned
}

func newCard(d *Desk) *card {
	c := &card{desk: d}
	c.back = canvas.NewRectangle(colourPanel)
	c.back.CornerRadius = 3
	c.thumb = &canvas.Image{FillMode: canvas.ImageFillContain}
	c.thumb.SetMinSize(fyne.NewSize(stripWidth-32, thumbHeight))
	c.badge = text("", inkHoney, sizeCaption, true)
	c.plate = container.NewStack(canvas.NewRectangle(inkPlate), c.badge)
	c.title = text("", colourText, sizeText, true)
	c.stage = text("", colourText, sizeCaption, false)
	c.date = text("", colourMuted, sizeCaption, false)
	c.rail = newStageRail(c)
	c.more = widget.NewButton("⋯", func() { c.menu() })
	c.more.Importance = widget.LowImportance
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer stacks thumbnail and words.
func (c *card) CreateRenderer() fyne.WidgetRenderer {
	picture := container.NewStack(c.thumb, container.NewVBox(container.NewHBox(c.plate)))
	head := container.NewBorder(nil, nil, nil, c.more, container.NewVBox(c.title, c.date))
	words := container.NewVBox(picture, head, c.stage, c.rail)
	return widget.NewSimpleRenderer(container.NewStack(c.back, container.NewPadded(words)))
}

// Resize shortens the stage to the width.
func (c *card) Resize(size fyne.Size) {
	c.BaseWidget.Resize(size)
	c.shorten()
}

func (c *card) shorten() {
	setText(c.stage, fitted(c.whole, c.stage, max(c.Size().Width, stripWidth-4*theme.Padding())-2*theme.Padding()))
}

// MouseDown notes whether Ctrl is held: a tap doesn't tell.
func (c *card) MouseDown(ev *desktop.MouseEvent) {
	c.beside = ev.Modifier&(fyne.KeyModifierControl|fyne.KeyModifierSuper) != 0
}

// MouseUp: see MouseDown.
func (c *card) MouseUp(*desktop.MouseEvent) {}

// Tapped puts the image on the bench, with Ctrl beside the one that is there.
func (c *card) Tapped(*fyne.PointEvent) {
	if c.beside {
		c.desk.comparePair(c.id)
	} else {
		c.desk.choose(c.id)
	}
	c.desk.focusBench()
}

// TappedSecondary shows what can be done with the image.
func (c *card) TappedSecondary(*fyne.PointEvent) { c.menu() }

// menu lists what can be done with the image beside its button.
func (c *card) menu() {
	canvas := c.desk.o.Window.Canvas()
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(c.more)
	widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", c.desk.imageItems(c.id)...), canvas, at.AddXY(0, c.more.Size().Height))
}

// set shows an image on the card. The chosen one has a frame, a lighter ground
// and says so.
func (c *card) set(number int, im measure.ImageMarks, onBench string) {
	chosen := im.ID == onBench
	title := strconv.Itoa(number)
	if chosen {
		title = "› " + title
	}
	stage, date := stageText(im.Stage), dateText(im.Date)
	small, sign := c.desk.gallery.got(im.SHA256), turnSign(&im)
	same := c.id == im.ID && c.title.Text == title && c.whole == stage && c.date.Text == date && c.small == small && c.badge.Text == sign
	if same && c.chosen == chosen {
		return
	}
	c.id, c.chosen, c.small = im.ID, chosen, small
	c.title.Text, c.date.Text, c.badge.Text, c.whole = title, date, sign, stage
	c.shorten()
	c.thumb.Image = turnedThumb(small, turnOf(&im))
	c.plate.Hidden = sign == ""
	c.rail.set(im.Stage)
	c.back.FillColor, c.back.StrokeWidth, c.back.StrokeColor = colourPanel, 0, colourHoney
	if chosen {
		c.back.FillColor, c.back.StrokeWidth = colourChosen, 2
	}
	c.Refresh()
}

// text makes a text of the desk's own sizes and colours.
func text(s string, c color.Color, size float32, bold bool) *canvas.Text {
	t := canvas.NewText(s, c)
	t.TextSize = size
	t.TextStyle = fyne.TextStyle{Bold: bold}
	return t
}

// setText changes a text if it is another.
func setText(t *canvas.Text, s string) {
	if t.Text != s {
		t.Text = s
		t.Refresh()
	}
}

// separator is a thin line between parts of a panel.
func separator() fyne.CanvasObject { return canvas.NewRectangle(theme.Color(theme.ColorNameSeparator)) }
