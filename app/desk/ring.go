package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// ring lets keys walk the table: arrow keys move it from number to number,
// Enter shows the marks that a number came from or begins to type, other keys
// do what they do on the bench.
type ring struct {
	widget.BaseWidget
	grid        *grid
	line        *canvas.Rectangle
	row, column int
	focused     bool
}

func newRing(g *grid) *ring {
	r := &ring{grid: g, line: canvas.NewRectangle(through(colourHoney, 0))}
	r.line.StrokeColor, r.line.StrokeWidth, r.line.CornerRadius = colourHoney, 2, 3
	r.line.Hide()
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer shows the frame.
func (r *ring) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(r.line) }

// cell returns what the ring is on; nil where there is nothing.
func (r *ring) cell() fyne.CanvasObject { return r.grid.cellAt(r.row, r.column) }

func (g *grid) cellAt(row, column int) fyne.CanvasObject {
	if row < 0 || row >= len(g.rows) || column < 0 || column >= len(g.rows[row].cells) {
		return nil
	}
	return g.rows[row].cells[column]
}

// place puts the ring round its cell.
func (r *ring) place() {
	c := r.cell()
	if c == nil {
		r.Move(fyne.NewPos(0, 0))
		r.Resize(fyne.NewSize(1, 1))
		return
	}
	r.Move(c.Position())
	r.Resize(c.Size())
}

// FocusGained shows the ring, on the first number at first.
func (r *ring) FocusGained() {
	r.focused = true
	if r.cell() == nil {
		r.row, r.column = -1, 0
		r.move(1, 0)
	}
	r.line.Show()
	r.tell()
}

// FocusLost hides it.
func (r *ring) FocusLost() {
	r.focused = false
	r.line.Hide()
	if f, ok := r.cell().(*figure); ok {
		f.point(false)
	}
	r.grid.desk.prober.changed()
}

// TypedRune: runes do nothing here, keys do.
func (r *ring) TypedRune(rune) {}

// TypedKey walks the table.
func (r *ring) TypedKey(ev *fyne.KeyEvent) {
	d := r.grid.desk
	if dx, dy, ok := arrow(ev.Name); ok {
		r.move(int(dy), int(dx))
		return
	}
	switch ev.Name {
	case fyne.KeyReturn, fyne.KeyEnter:
		r.press()
	case fyne.KeyEscape:
		d.focusBench()
	default:
		d.bench.TypedKey(ev)
	}
}

// press does what a press of the mouse on the cell does. The keys stay here.
func (r *ring) press() {
	switch c := r.cell().(type) {
	case *figure:
		r.grid.desk.showSource(c.image, c.block.of)
		r.tell()
	case *readingCell:
		r.grid.desk.o.Window.Canvas().Focus(c.field)
	}
}

// move goes on to the next cell in a direction. Past the columns shown others
// come into sight.
func (r *ring) move(down, right int) {
	if f, ok := r.cell().(*figure); ok {
		f.point(false)
	}
	if to := r.column + right; right != 0 && (to < 0 || to >= len(r.grid.shown())) {
		r.grid.turn(right)
	}
	row, column := r.row+down, r.column+right
	for ; row >= 0 && row < len(r.grid.rows); row, column = row+down, column+right {
		if r.grid.cellAt(row, column) != nil {
			r.row, r.column = row, column
			break
		}
		if down == 0 && (column < 0 || column >= r.grid.fits) {
			break
		}
	}
	r.tell()
}

// tell shows the ring where it is, and tells about the number in it.
func (r *ring) tell() {
	r.place()
	r.line.Refresh()
	c := r.cell()
	if c == nil || !r.focused {
		return
	}
	r.grid.desk.sheet.reveal(c)
	if f, ok := c.(*figure); ok {
		f.point(true)
	}
	r.grid.desk.prober.changed()
}

// AccessibilityLabel names what the ring is on for assistive technology.
func (r *ring) AccessibilityLabel() string {
	switch c := r.cell().(type) {
	case *figure:
		return c.AccessibilityLabel()
	case *readingCell:
		return c.field.AccessibilityLabel()
	}
	return wording.Say("Worksheet")
}

// AccessibilityRole: Enter presses it.
func (r *ring) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }
