package desk

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// bench is the widget where one image is looked at and marked. It draws
// picture, marks, labels and loupe into one frame of device pixels, and turns
// mouse and keys into what its desk understands.
type bench struct {
	widget.BaseWidget
	desk *Desk

	raster  *canvas.Raster
	frame   *image.RGBA
	drawer  tone.Renderer
	sheet   ink.Sheet
	words   *ink.Words
	lens    loupe
	picture *tone.Picture
	window  tone.Window
	table   *tone.Table
	view    tone.View
	sought  item    // to be brought into sight when the picture is there
	fitted  bool    // the whole image is shown and follows the size of the bench
	width   float64 // of the area that the view was made for, in device pixels
	height  float64
	ratio   float64

	mouse   mouse
	focused bool
}

func newBench(d *Desk) *bench {
	b := &bench{desk: d, ratio: 1, table: new(tone.Table)}
	b.raster = canvas.NewRaster(b.draw)
	b.raster.ScaleMode = canvas.ImageScalePixels
	b.ExtendBaseWidget(b)
	return b
}

// CreateRenderer shows the frame and nothing else.
func (b *bench) CreateRenderer() fyne.WidgetRenderer { return &benchRenderer{b} }

type benchRenderer struct{ b *bench }

func (r *benchRenderer) Destroy()                     {}
func (r *benchRenderer) MinSize() fyne.Size           { return fyne.NewSize(200, 150) }
func (r *benchRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.b.raster} }
func (r *benchRenderer) Refresh()                     { r.b.raster.Refresh() }

func (r *benchRenderer) Layout(size fyne.Size) {
	r.b.raster.Resize(size)
	r.b.resized()
}

// show puts a picture on the bench; nil clears it.
func (b *bench) show(p *tone.Picture, w tone.Window) {
	b.picture = p
	b.setWindow(w)
	b.fit()
}

// setWindow changes the greys alone.
func (b *bench) setWindow(w tone.Window) {
	b.window, b.table = w, w.Table()
	b.desk.eye.follow()
	b.raster.Refresh()
}

// area returns the size of the bench in device pixels.
func (b *bench) area() (w, h float64) {
	s := b.Size()
	return math.Round(float64(s.Width) * b.ratio), math.Round(float64(s.Height) * b.ratio)
}

// measureRatio finds how many device pixels a logical pixel has.
func (b *bench) measureRatio() {
	const far = 1000
	if c := fyne.CurrentApp().Driver().CanvasForObject(b); c != nil {
		if x, _ := c.PixelCoordinateForPosition(fyne.NewPos(far, 0)); x > 0 && b.ratio != float64(x)/far {
			b.ratio, b.words = float64(x)/far, nil
		}
	}
}

// resized keeps the whole image in sight, or else the middle in the middle.
func (b *bench) resized() {
	b.measureRatio()
	w, h := b.area()
	dx, dy := (w-b.width)/2, (h-b.height)/2
	b.width, b.height = w, h
	if b.fitted || !b.view.Valid() {
		b.fit()
		return
	}
	b.setView(b.view.Pan(dx, dy))
	b.keepInSight()
}

// margin is the ground left around a fitted image, in logical pixels.
const margin = 10

// fit shows the whole image.
func (b *bench) fit() {
	if b.picture == nil {
		b.raster.Refresh()
		return
	}
	w, h := b.area()
	b.fitted = true
	pw, ph := b.shownSize()
	b.setView(tone.Fit(pw, ph, w, h, margin*b.ratio))
}

// times shows one image pixel as n by n device pixels, about the middle.
func (b *bench) times(n float64) {
	if b.picture == nil {
		return
	}
	w, h := b.area()
	v := b.view.ZoomAbout(w/2, h/2, n/b.view.Scale)
	v.Scale = n // and not nearly n, which would be resampled
	b.fitted = false
	b.setView(v)
	b.keepInSight()
}

// zoom multiplies the scale about a point of the bench.
func (b *bench) zoom(x, y, factor float64) {
	if b.picture == nil {
		return
	}
	b.fitted = false
	b.setView(b.view.ZoomAbout(x, y, factor))
	b.keepInSight()
}

// pan moves the picture.
func (b *bench) pan(dx, dy float64) {
	if b.picture == nil {
		return
	}
	b.fitted = false
	b.setView(b.view.Pan(dx, dy))
	b.keepInSight()
}

// inSight is how much of the picture can't be moved off the bench, in logical
// pixels.
const inSight = 80

func (b *bench) keepInSight() {
	if b.picture == nil {
		return
	}
	w, h := b.area()
	pw, ph := b.shownSize()
	b.setView(b.view.Within(pw, ph, w, h, inSight*b.ratio))
}

// setView shows the picture with a view, lying as the image is to lie.
func (b *bench) setView(v tone.View) {
	if b.picture != nil {
		v = b.lying(v)
	}
	b.view = v
	b.raster.Refresh()
	if b.desk.pair.beside() {
		b.desk.side.Refresh()
	}
	b.desk.viewBar.zoomed()
	b.desk.viewed()
}

// look returns middle and scale of what is shown, to keep with the case; scale
// 0 stands for the whole image.
func (b *bench) look() (x, y, scale float64) {
	if b.fitted {
		return 0, 0, 0
	}
	w, h := b.area()
	x, y = b.view.ToImage((w-1)/2, (h-1)/2)
	return x, y, b.view.Scale
}

// lookAt shows what look has returned.
func (b *bench) lookAt(x, y, scale float64) {
	if !(scale > 0) {
		b.fit()
		return
	}
	w, h := b.area()
	b.fitted = false
	b.setView(b.lying(tone.View{}).At(x, y, (w-1)/2, (h-1)/2, scale))
	b.keepInSight()
}

// spot turns a position on the widget into one on the image.
func (b *bench) spot(pos fyne.Position) spot {
	x, y := b.device(pos)
	ix, iy := b.view.Snapped().ToImage(x, y)
	return spot{at: measure.Pt(ix, iy), reach: grab * b.ratio / b.view.Scale}
}

// grab is how near to a mark a press must be to take hold of it, in logical
// pixels.
const grab = 12

// device turns a position on the widget into device pixels. The mouse is at
// the centre of a device pixel.
func (b *bench) device(pos fyne.Position) (x, y float64) {
	return math.Round(float64(pos.X) * b.ratio), math.Round(float64(pos.Y) * b.ratio)
}

// draw makes the frame that the toolkit shows.
func (b *bench) draw(w, h int) image.Image {
	if b.frame == nil || b.frame.Rect.Dx() != w || b.frame.Rect.Dy() != h {
		b.frame = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	v := b.view.Snapped()
	if p := b.desk.pair; p.onTop() {
		p.drawPictures(b, v)
	} else {
		b.drawer.Draw(b.frame, b.desk.eye.picture(b.picture), v, b.table, color.RGBA(colourBench))
	}
	b.sheet.On(b.frame)
	if b.picture != nil {
		b.drawRuler(v)
		switch {
		case b.desk.again != nil:
			b.drawAgain(v)
		case !b.desk.pair.hidesMarks():
			b.drawMarks(v)
		}
		b.drawTools(v)
	} else {
		b.drawEmpty()
	}
	if p := b.desk.pair; p != nil {
		p.drawOver(b, v)
	}
	b.drawFocus()
	return b.frame
}

// drawEmpty says on the bare bench what belongs there.
func (b *bench) drawEmpty() {
	words := b.letters()
	if words == nil || b.desk.pending != nil {
		return
	}
	s := wording.Say("Drop radiographs here")
	w, h := words.Size(s)
	x, y := float64(b.frame.Rect.Dx()-w)/2, float64(b.frame.Rect.Dy()-h)/2
	b.sheet.Write(words, ink.Point{X: x, Y: y}, s, inkMuted)
	pen, m := ink.Pen{Width: 2 * b.ratio, Colour: inkEdge}, 28*b.ratio
	left, right, top, bottom := x-3*m, x+float64(w)+3*m, y-2*m, y+float64(h)+2*m
	b.sheet.Dashes(pen, 10*b.ratio, 8*b.ratio, ink.Point{X: left, Y: top}, ink.Point{X: right, Y: top},
		ink.Point{X: right, Y: bottom}, ink.Point{X: left, Y: bottom}, ink.Point{X: left, Y: top})
}

// drawFocus frames the bench while keys go to it.
func (b *bench) drawFocus() {
	if !b.focused {
		return
	}
	w, h := float64(b.frame.Rect.Dx()-1), float64(b.frame.Rect.Dy()-1)
	pen := ink.Pen{Width: 2 * b.ratio, Colour: inkHoney}
	b.sheet.Line(pen, ink.Point{}, ink.Point{X: w}, ink.Point{X: w, Y: h}, ink.Point{Y: h}, ink.Point{})
}

// Cursor shows a cross while a click makes a mark.
func (b *bench) Cursor() desktop.Cursor {
	switch d := b.desk; {
	case b.picture == nil:
		return desktop.DefaultCursor
	case d.pair.dragsLine():
		return desktop.HResizeCursor
	case d.task != nil || d.pairing != nil || d.again != nil:
		return desktop.CrosshairCursor
	case d.hand.over != nowhere:
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}
