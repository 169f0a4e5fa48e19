package desk

import (
	"image"
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/imaging/tone"
	"rootrule/measure"
)

// Sizes on the strip, in logical pixels.
const (
	stripWidth  = 140
	thumbHeight = 92
)

// strip is the stage strip: the images of the case in order of treatment.
type strip struct {
	desk   *Desk
	list   *fyne.Container
	box    fyne.CanvasObject
	cards  []*card
	thumbs map[string]image.Image // by image id, of the case on the desk
	of     *session               // whose thumbs they are
	adding *widget.Button
}

func newStrip(d *Desk) *strip {
	s := &strip{desk: d, list: container.NewVBox()}
	s.adding = widget.NewButton("Open image", d.askForFile)
	s.adding.Importance = widget.HighImportance
	d.parts["open image"] = s.adding
	back := canvas.NewRectangle(colourPanel)
	content := container.NewBorder(nil, container.NewPadded(s.adding), nil, nil, container.NewVScroll(container.NewPadded(s.list)))
	s.box = container.New(wide{stripWidth}, container.NewStack(back, content))
	return s
}

// update shows the images of the case and which of them is on the bench.
func (s *strip) update() {
	if s.of != s.desk.session {
		s.of, s.thumbs = s.desk.session, map[string]image.Image{}
	}
	var images []measure.ImageMarks
	if s.of != nil {
		images = inOrder(s.of.marks.Images)
	}
	if len(images) != len(s.cards) {
		s.rebuild(len(images))
	}
	for i, im := range images {
		s.cards[i].set(i+1, im, s.thumbs[im.ID], im.ID == s.of.image)
	}
}

func (s *strip) rebuild(n int) {
	s.cards = nil
	s.list.RemoveAll()
	for i := range n {
		c := newCard(s.desk)
		s.cards = append(s.cards, c)
		s.list.Add(c)
		s.desk.parts["image "+strconv.Itoa(i+1)] = c
	}
}

// picture makes the thumbnail of an image that was decoded.
func (s *strip) picture(id string, p *tone.Picture, table *tone.Table) {
	s.update()
	if s.thumbs[id] == nil {
		s.thumb(id, thumbnail(p, table))
	}
}

// thumb shows a thumbnail on the card of its image.
func (s *strip) thumb(id string, thumb image.Image) {
	if s.thumbs[id] == nil {
		s.thumbs[id] = thumb
		s.update()
	}
}

// thumbnail draws a small picture.
func thumbnail(p *tone.Picture, table *tone.Table) image.Image {
	const finer = 2 // device pixels in a logical one at the most
	w, h := (stripWidth-24)*finer, thumbHeight*finer
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	v := tone.Fit(p.Width, p.Height, float64(w), float64(h), 0).Snapped()
	new(tone.Renderer).Draw(dst, p, v, table, color.RGBA(colourBench))
	return dst
}

// card is one image on the strip.
type card struct {
	widget.BaseWidget
	desk   *Desk
	id     string
	back   *canvas.Rectangle
	thumb  *canvas.Image
	title  *canvas.Text
	stage  *canvas.Text
	date   *canvas.Text
	chosen bool
}

func newCard(d *Desk) *card {
	c := &card{desk: d}
	c.back = canvas.NewRectangle(colourPanel)
	c.back.CornerRadius = 3
	c.thumb = &canvas.Image{FillMode: canvas.ImageFillContain}
	c.thumb.SetMinSize(fyne.NewSize(stripWidth-32, thumbHeight))
	c.title = text("", colourText, sizeText, true)
	c.stage = text("", colourText, sizeCaption, false)
	c.date = text("", colourMuted, sizeCaption, false)
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer stacks thumbnail and words.
func (c *card) CreateRenderer() fyne.WidgetRenderer {
	words := container.NewVBox(c.thumb, c.title, c.stage, c.date)
	return widget.NewSimpleRenderer(container.NewStack(c.back, container.NewPadded(words)))
}

// Tapped puts the image on the bench.
func (c *card) Tapped(*fyne.PointEvent) { c.desk.choose(c.id); c.desk.focusBench() }

// set shows an image on the card. The chosen one has a frame, a lighter ground
// and says so.
func (c *card) set(number int, im measure.ImageMarks, thumb image.Image, chosen bool) {
	title := strconv.Itoa(number)
	if chosen {
		title += "  on the bench"
	}
	stage, date := im.Stage, im.Date
	if stage == "" {
		stage = "no stage yet"
	}
	if date == "" {
		date = "no date"
	}
	same := c.id == im.ID && c.title.Text == title && c.stage.Text == stage && c.date.Text == date && c.thumb.Image == thumb
	if same && c.chosen == chosen {
		return
	}
	c.id, c.chosen = im.ID, chosen
	c.title.Text, c.stage.Text, c.date.Text, c.thumb.Image = title, stage, date, thumb
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
