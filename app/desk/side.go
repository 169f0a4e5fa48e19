package desk

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/desk/ink"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// side is the half beside the bench: it shows the second image of a pair as
// the bench would, moved and zoomed with it. A click puts it on the bench.
type side struct {
	widget.BaseWidget
	desk   *Desk
	raster *canvas.Raster
	frame  *image.RGBA
	drawer tone.Through
	sheet  ink.Sheet

	button  desktop.MouseButton
	down    fyne.Position
	at      fyne.Position
	dragged bool
}

func newSide(d *Desk) *side {
	s := &side{desk: d}
	s.raster = canvas.NewRaster(s.draw)
	s.raster.ScaleMode = canvas.ImageScalePixels
	s.ExtendBaseWidget(s)
	s.Hide()
	return s
}

// CreateRenderer shows the frame and nothing else.
func (s *side) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(s.raster) }

// Refresh draws the frame again.
func (s *side) Refresh() { s.raster.Refresh() }

// update shows or hides the half.
func (s *side) update() {
	on := s.desk.pair.beside()
	if on == s.Visible() {
		if on {
			s.raster.Refresh()
		}
		return
	}
	s.Hidden = !on
	s.desk.floor.Refresh()
}

// draw makes the frame that the toolkit shows.
func (s *side) draw(w, h int) image.Image {
	if s.frame == nil || s.frame.Rect.Dx() != w || s.frame.Rect.Dy() != h {
		s.frame = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	s.sheet.On(s.frame)
	p, b := s.desk.pair, s.desk.bench
	if p == nil || p.picture == nil {
		s.drawer.Draw(s.frame, s.frame.Rect, nil, b.view, tone.Same, nil, color.RGBA(colourBench))
		return s.frame
	}
	v := b.view.Snapped()
	s.drawer.Draw(s.frame, s.frame.Rect, p.picture, v, tone.Map(p.back()), p.table, color.RGBA(colourBench))
	ink := scribe{&s.sheet, v, b.ratio, weights[s.desk.weight]}
	ink.items(p.mapped(), func(item) bool { return false }, 0)
	if p.ghost.on == onBench {
		ink.ghost(p.ghost.at)
	}
	if d := s.desk; d.pairing != nil {
		marks := p.marksOfPairs(p.other)
		for i := range marks {
			marks[i] = p.link().Map(marks[i])
		}
		ink.drawPairs(b, marks, p.badPairs())
		ink.drawWaiting(d.pairing, false, p.link().Map)
	}
	b.caption(&s.sheet, s.frame.Rect, s.desk.session.nameOfImage(p.other), 0)
	return s.frame
}

// mapped returns the marks of the second image where they lie on the bench.
func (p *pair) mapped() *measure.ImageMarks {
	c := copyOf(*imageIn(&p.desk.session.marks, p.other))
	link := p.link()
	for _, it := range items(&c) {
		for i, m := range marksOf(&c, it) {
			setMark(&c, grip{it, i}, link.Map(m))
		}
	}
	return &c
}

// spot turns a position on the half into one of the image on the bench.
func (s *side) spot(pos fyne.Position) spot { return s.desk.bench.spot(pos) }

// MouseDown begins a drag or a click.
func (s *side) MouseDown(ev *desktop.MouseEvent) {
	s.desk.focusBench()
	if s.button == 0 {
		s.button, s.down, s.at, s.dragged = ev.Button, ev.Position, ev.Position, false
	}
}

// MouseUp ends it: a click puts the image on the bench.
func (s *side) MouseUp(ev *desktop.MouseEvent) {
	if ev.Button != s.button {
		return
	}
	s.button = 0
	if !s.dragged && ev.Button == desktop.MouseButtonPrimary {
		s.desk.pressBeside(s.spot(ev.Position))
	}
}

// Dragged moves both pictures; with Shift the second alone, while they are not
// aligned.
func (s *side) Dragged(ev *fyne.DragEvent) { s.follow(ev.Position) }

// DragEnd comes after MouseUp.
func (s *side) DragEnd() {}

func (s *side) follow(pos fyne.Position) {
	b := s.desk.bench
	if s.button == 0 || s.desk.pair == nil {
		return
	}
	x, y := b.device(pos)
	lastX, lastY := b.device(s.at)
	s.at, s.dragged = pos, true
	if s.desk.keys.shift {
		s.desk.pair.shift((x-lastX)/b.view.Scale, (y-lastY)/b.view.Scale)
		return
	}
	b.pan(x-lastX, y-lastY)
}

// MouseIn, MouseMoved and MouseOut lead the ghost on the bench.
func (s *side) MouseIn(ev *desktop.MouseEvent) { s.MouseMoved(ev) }

// MouseMoved: see MouseIn.
func (s *side) MouseMoved(ev *desktop.MouseEvent) {
	if s.button != 0 {
		s.follow(ev.Position)
		return
	}
	s.desk.haunt(onSide, s.spot(ev.Position).at)
}

// MouseOut: see MouseIn.
func (s *side) MouseOut() { s.desk.haunt(nowhere2, measure.Point{}) }

// Scrolled zooms both about the mouse.
func (s *side) Scrolled(ev *fyne.ScrollEvent) { s.desk.bench.Scrolled(ev) }

// Cursor shows that a click does something.
func (s *side) Cursor() desktop.Cursor { return desktop.PointerCursor }

// haunt moves the ghost: where is the image that the mouse is on.
func (d *Desk) haunt(where place2, at measure.Point) {
	p := d.pair
	if !p.beside() {
		return
	}
	was := p.ghost
	p.ghost = ghost{at, where}
	if was.on == onSide || where == onSide {
		d.bench.raster.Refresh()
	}
	if was.on == onBench || where == onBench {
		d.side.Refresh()
	}
}

// shift moves the second image alone, in pixels of the image on the bench.
func (p *pair) shift(dx, dy float64) {
	if p.aligned {
		return
	}
	p.loose = measure.Alignment{{1, 0, dx}, {0, 1, dy}, {0, 0, 1}}.After(p.loose)
	p.place()
	p.desk.bench.raster.Refresh()
	p.desk.side.Refresh()
}

// pressBeside is a click on the second image.
func (d *Desk) pressBeside(sp spot) {
	if d.pairing != nil {
		d.pressPair(false, d.pair.back().Map(sp.at))
		return
	}
	d.swap()
}

// floorLayout lays the bench and the half beside it: the earlier image left.
type floorLayout struct{ desk *Desk }

// between is the gap between the halves, in logical pixels.
const between = 6

// MinSize is that of the bench.
func (f floorLayout) MinSize(objects []fyne.CanvasObject) fyne.Size { return objects[0].MinSize() }

// Layout gives the bench all, or each half its own.
func (f floorLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	main, second := objects[0], objects[1]
	if !second.Visible() || f.desk.pair == nil {
		main.Resize(size)
		main.Move(fyne.NewPos(0, 0))
		return
	}
	half := fyne.NewSize((size.Width-between)/2, size.Height)
	far := fyne.NewPos(half.Width+between, 0)
	main.Resize(half)
	second.Resize(half)
	if f.desk.pair.benchFirst() {
		main.Move(fyne.NewPos(0, 0))
		second.Move(far)
	} else {
		main.Move(far)
		second.Move(fyne.NewPos(0, 0))
	}
}
