package desk

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
)

// recentRow shows the images that were looked at last, each as the way back
// to its case.
type recentRow struct {
	home  *home
	cards []*recentCard
	lane  *fyne.Container
	box   *fyne.Container
}

// mostRecent is how many recent images are shown at the most.
const mostRecent = 8

// recentWidth is the width of a recent image, in logical pixels.
const recentWidth = 150

func newRecentRow(h *home) *recentRow {
	r := &recentRow{home: h, lane: container.New(lane{recentWidth})}
	for range mostRecent {
		c := newRecentCard(h)
		r.cards = append(r.cards, c)
		r.lane.Add(c)
	}
	r.box = container.NewVBox(text(wording.Say("Looked at last"), colourHoney, sizeCaption+1, true), r.lane)
	return r
}

// update shows the pictures of the cases open last.
func (r *recentRow) update(all []casebook.Summary) {
	recent := slices.DeleteFunc(slices.Clone(all), func(c casebook.Summary) bool { return c.Archived || c.Picture == "" })
	slices.SortFunc(recent, func(a, b casebook.Summary) int { return cmp.Compare(b.Opened, a.Opened) })
	recent = recent[:min(len(recent), mostRecent)]
	for i, c := range r.cards {
		if c.used = i < len(recent); c.used {
			c.set(recent[i])
		}
	}
	for _, o := range r.box.Objects {
		if len(recent) > 0 {
			o.Show()
		} else {
			o.Hide()
		}
	}
	r.lane.Refresh()
	r.home.desk.gallery.fetch(recent, func() { r.update(all) })
}

// recentCard is one recent image.
type recentCard struct {
	widget.BaseWidget
	home  *home
	id    int64
	used  bool
	back  *canvas.Rectangle
	thumb *canvas.Image
	title *widget.Label
}

func newRecentCard(h *home) *recentCard {
	c := &recentCard{home: h, title: widget.NewLabel("")}
	c.back = canvas.NewRectangle(colourPanel)
	c.back.CornerRadius = 3
	c.thumb = &canvas.Image{FillMode: canvas.ImageFillContain}
	c.thumb.SetMinSize(fyne.NewSize(recentWidth-20, 78))
	c.title.Truncation = fyne.TextTruncateEllipsis
	c.title.SizeName = theme.SizeNameCaptionText
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer puts the words under the picture.
func (c *recentCard) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(c.back, container.NewBorder(nil, c.title, nil, nil, container.NewPadded(c.thumb))))
}

// set shows a case.
func (c *recentCard) set(s casebook.Summary) {
	c.id, c.thumb.Image = s.ID, c.home.desk.gallery.got(s.Picture)
	title := s.Code
	if s.Tooth != "" {
		title += " · " + wording.Tooth(s.Tooth)
	}
	c.title.SetText(title)
	c.Refresh()
}

// Tapped opens the case where it was left.
func (c *recentCard) Tapped(*fyne.PointEvent) { c.home.desk.openByID(c.id) }

// MouseIn, MouseMoved and MouseOut frame the picture under the mouse.
func (c *recentCard) MouseIn(*desktop.MouseEvent) { c.frame(2) }

// MouseMoved: see MouseIn.
func (c *recentCard) MouseMoved(*desktop.MouseEvent) {}

// MouseOut: see MouseIn.
func (c *recentCard) MouseOut() { c.frame(0) }

func (c *recentCard) frame(width float32) {
	c.back.StrokeColor, c.back.StrokeWidth = colourHoney, width
	c.back.Refresh()
}

// Cursor says that a press does something.
func (c *recentCard) Cursor() desktop.Cursor { return desktop.PointerCursor }

// lane puts recent images side by side, as many as there is room for.
type lane struct{ width float32 }

// MinSize is one image's.
func (l lane) MinSize(objects []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(l.width, objects[0].MinSize().Height)
}

// Layout shows those that are used and fit.
func (l lane) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var x float32
	for _, o := range objects {
		if !o.(*recentCard).used || x+l.width > size.Width {
			o.Hide()
			continue
		}
		o.Show()
		o.Resize(fyne.NewSize(l.width, size.Height))
		o.Move(fyne.NewPos(x, 0))
		x += l.width + theme.Padding()*2
	}
}
