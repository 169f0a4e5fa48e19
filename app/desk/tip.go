package desk

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"
)

// tip is a note that tells about what is pointed at. It lies over the desk
// beside it and takes no clicks.
type tip struct {
	desk  *Desk
	words *widget.Label
	card  *fyne.Container
	layer *fyne.Container
}

// tipWidth is the width of the note at usual letters, in logical pixels.
const tipWidth = 360

func newTip(d *Desk) *tip {
	t := &tip{desk: d, words: wrapped()}
	back := canvas.NewRectangle(colourChosen)
	back.StrokeColor, back.StrokeWidth, back.CornerRadius = colourHoney, 1, 4
	t.card = container.NewStack(back, t.words)
	t.card.Hide()
	t.layer = container.NewWithoutLayout(t.card)
	return t
}

// show tells lines about an object, to the left of it where there is room.
func (t *tip) show(about fyne.CanvasObject, lines []string) {
	driver := fyne.CurrentApp().Driver()
	room := t.layer.Size()
	at := driver.AbsolutePositionForObject(about).Subtract(driver.AbsolutePositionForObject(t.layer))
	width := min(tipWidth*sizeText/15, room.Width)
	t.words.Resize(fyne.NewSize(width, 0)) // its height follows its width
	t.words.SetText(strings.Join(lines, "\n"))
	height := min(t.words.MinSize().Height, room.Height)
	x := at.X - width - 8
	if x < 0 {
		x = min(at.X+about.Size().Width+8, room.Width-width)
	}
	t.card.Resize(fyne.NewSize(width, height))
	t.card.Move(fyne.NewPos(x, min(max(at.Y-4, 0), room.Height-height)))
	t.card.Show()
	t.desk.prober.changed()
}

// hide takes the note away.
func (t *tip) hide() {
	if t.card.Visible() {
		t.card.Hide()
		t.desk.prober.changed()
	}
}

// text returns what the note says, empty while there is none.
func (t *tip) text() string {
	if !t.card.Visible() {
		return ""
	}
	return t.words.Text
}
