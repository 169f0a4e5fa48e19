package desk

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
)

// Room in the table, in logical pixels.
const (
	inset     = 6   // of names and words from the edge of a block
	widest    = 190 // a column is never wider
	blockGap  = 5   // between blocks
	cellInset = 1   // above and below a cell
)

// narrowest is the least width of a column: what an area with its ± needs, and
// a working length with what was measured.
func narrowest() float32 {
	both := func(large, small string) float32 {
		return fyne.MeasureText(large, sizeText, fyne.TextStyle{Bold: true}).Width + fyne.MeasureText(small, sizeCaption-1, fyne.TextStyle{}).Width
	}
	return signRoom + 6 + max(both("12.3 mm²", "±0.4"), both("18.0 mm", "(17.8)"))
}

// room returns how many columns fit into a width.
func (g *grid) room(width float32) int {
	return max(1, int((width-g.names)/narrowest()))
}

// column returns where column i begins and how wide it is.
func (g *grid) column(i int, width float32) (x, w float32) {
	n := float32(max(1, min(g.fits, len(g.images))))
	w = min((width-g.names)/n, widest*sizeText/15)
	return g.names + float32(i)*w, w
}

// height returns how high a row is, 0 for one that is hidden.
func (r *gridRow) height() float32 {
	if r.wide != nil {
		if !r.wide.Visible() {
			return 0
		}
		return r.wide.MinSize().Height
	}
	h := r.name.MinSize().Height
	for _, c := range r.cells {
		if c != nil {
			h = max(h, c.MinSize().Height)
		}
	}
	return h + 2*cellInset
}

// MinSize is one column wide and as high as all rows.
func (g *grid) MinSize([]fyne.CanvasObject) fyne.Size {
	var h float32
	last := -1
	for _, r := range g.rows {
		h += r.height() + g.gapBefore(r, &last)
	}
	return fyne.NewSize(g.names+narrowest(), h+blockGap)
}

// gapBefore is the room above a row that begins or follows a block.
func (g *grid) gapBefore(r *gridRow, last *int) float32 {
	was := *last
	*last = r.band
	if r.band != was {
		return blockGap
	}
	return 0
}

// Layout places everything; a new width may have room for another number of
// columns.
func (g *grid) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	if n := g.room(size.Width); n != g.fits && len(g.images) > 0 {
		g.fits = n
		g.showColumn(g.columnOf(g.bench))
		g.update()
		g.desk.sheet.updateTurning()
		g.heads.Refresh()
	}
	var y float32
	last := -1
	tops, numbers := make([]float32, len(g.bands)), make([][2]float32, len(g.bands))
	for i := range numbers {
		numbers[i][0] = float32(math.Inf(1))
	}
	for _, r := range g.rows {
		first := r.band != last
		y += g.gapBefore(r, &last)
		if r.band >= 0 && first {
			tops[r.band] = y
		}
		h := r.height()
		g.placeRow(r, y, h, size.Width)
		if r.wide == nil {
			numbers[r.band] = [2]float32{min(numbers[r.band][0], y), y + h}
		}
		y += h
		if r.band >= 0 {
			g.bands[r.band].Move(fyne.NewPos(0, tops[r.band]))
			g.bands[r.band].Resize(fyne.NewSize(size.Width, y-tops[r.band]+2))
		}
	}
	for i, b := range g.bands {
		g.placeFrame(b.frame, size.Width, numbers[i])
	}
	g.ring.place()
}

func (g *grid) placeRow(r *gridRow, y, h, width float32) {
	if r.wide != nil {
		indent := float32(inset)
		if r.band < 0 {
			indent = 0
		}
		r.wide.Move(fyne.NewPos(indent, y))
		r.wide.Resize(fyne.NewSize(width-2*indent, h))
		return
	}
	name := r.name.MinSize()
	r.name.Move(fyne.NewPos(inset, y+(h-name.Height)/2))
	r.name.Resize(fyne.NewSize(g.names-inset, name.Height))
	for i, c := range r.cells {
		if c == nil {
			continue
		}
		x, w := g.column(i, width)
		c.Move(fyne.NewPos(x, y+cellInset))
		c.Resize(fyne.NewSize(w-2, h-2*cellInset))
	}
}

// placeFrame frames the numbers of a block in the column of the image on the
// bench, where there are several columns.
func (g *grid) placeFrame(frame *canvas.Rectangle, width float32, numbers [2]float32) {
	i := g.columnOf(g.bench) - g.first
	frame.Hidden = i < 0 || i >= g.fits || len(g.images) < 2 || numbers[1] == 0
	if frame.Hidden {
		return
	}
	x, w := g.column(i, width)
	frame.Move(fyne.NewPos(x-2, numbers[0]-1))
	frame.Resize(fyne.NewSize(w+1, numbers[1]-numbers[0]+2))
}

// headLayout places the heads of the columns over them, and what turns them
// over the names.
type headLayout struct{ g *grid }

// MinSize is the height of the tallest.
func (l headLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, o := range objects {
		size = size.Max(o.MinSize())
	}
	return size
}

// Layout places the objects; the last one is what turns them.
func (l headLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	for i, o := range objects {
		x, w := l.g.column(i, size.Width)
		if i == len(objects)-1 {
			x, w = 0, l.g.names-theme.Padding()
		}
		o.Move(fyne.NewPos(x, 0))
		o.Resize(fyne.NewSize(w-2, size.Height))
	}
}

// signRoom is the room for a caution's sign before a number.
const signRoom = 8

// numberLayout puts a number and its ± side by side on one line of letters,
// after the room for a caution's sign.
type numberLayout struct{}

// MinSize is the sum of the widths.
func (numberLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	large, small := objects[1].MinSize(), objects[2].MinSize()
	return fyne.NewSize(signRoom+large.Width+4+small.Width, large.Height)
}

// Layout places sign, number and ±.
func (l numberLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	tall := l.MinSize(objects).Height
	for i, x := range []float32{2, signRoom, signRoom + objects[1].MinSize().Width + 4} {
		m := objects[i].MinSize()
		// Letters of another size stand on the same line: their descent is a fifth
		// of their height.
		objects[i].Move(fyne.NewPos(x, (size.Height+tall)/2-m.Height-(tall-m.Height)/5))
		objects[i].Resize(m)
	}
}
