package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// panelWidth gives the worksheet the width that the user has chosen, or else a
// share of the window.
type panelWidth struct{ w *worksheet }

// Widths of the worksheet: its share of the window, the share that it takes at
// most for a few columns of the table, the least width, and what is left to the
// bench at least. Common practice, no source.
const (
	panelShare = 0.36
	panelMost  = 0.39
	panelLeast = 380
	panelTable = 3  // columns
	panelEdges = 28 // beside the table
	benchLeast = 320
)

func (p panelWidth) width() float32 {
	window := p.w.desk.o.Window.Canvas().Size().Width
	g := p.w.grid
	width := window * panelShare
	if n := float32(len(g.images)); n > 0 { // no more than all columns need
		table := g.names + min(n, panelTable)*narrowest() + panelEdges
		width = max(width, min(table, window*panelMost))
		width = min(width, g.names+n*widest*sizeText/15+40)
	}
	if p.w.width > 0 {
		width = p.w.width
	}
	return max(min(width, window-p.w.desk.strip.width()-benchLeast), panelLeast*min(sizeText/15, 1.3))
}

// MinSize is that width.
func (p panelWidth) MinSize(objects []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(p.width(), objects[0].MinSize().Height)
}

// Layout gives the object all of it.
func (p panelWidth) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	objects[0].Resize(size)
	objects[0].Move(fyne.NewPos(0, 0))
}

// divider is the edge of the worksheet. Dragged, it makes it wider or
// narrower; a double click goes back to the usual width.
type divider struct {
	widget.BaseWidget
	sheet *worksheet
	line  *canvas.Rectangle
}

func newDivider(w *worksheet) *divider {
	e := &divider{sheet: w, line: canvas.NewRectangle(colourSeparator)}
	e.ExtendBaseWidget(e)
	return e
}

// CreateRenderer shows the edge.
func (e *divider) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(e.line)
}

// MinSize is wide enough to take hold of.
func (e *divider) MinSize() fyne.Size { return fyne.NewSize(5, 5) }

// Cursor shows what a drag does.
func (e *divider) Cursor() desktop.Cursor { return desktop.HResizeCursor }

// Dragged moves the edge.
func (e *divider) Dragged(ev *fyne.DragEvent) {
	e.sheet.widen(-ev.Dragged.DX)
}

// DragEnd: the width is where the edge was let go.
func (e *divider) DragEnd() {}

// DoubleTapped goes back to the usual width.
func (e *divider) DoubleTapped(*fyne.PointEvent) {
	e.sheet.width = 0
	e.sheet.desk.frame.Refresh()
}

// widen makes the worksheet wider, or narrower.
func (w *worksheet) widen(by float32) {
	w.width = max(panelWidth{w}.width()+by, 1)
	w.width = panelWidth{w}.width()
	w.desk.frame.Refresh()
	w.desk.refresh()
}
