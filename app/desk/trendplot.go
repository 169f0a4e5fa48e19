package desk

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/desk/ink"
	"rootrule/app/plot"
	"rootrule/app/wording"
	"rootrule/measure"
)

// trendPlot draws how a value went over the recalls of a case: the plot that a
// report prints.
type trendPlot struct {
	widget.BaseWidget
	desk   *Desk
	trend  measure.Trend
	raster *canvas.Raster
	sheet  ink.Sheet
	frame  *image.RGBA
	words  *ink.Words
	size   float64 // of its letters, in device pixels
}

// plotHeight is the height of a plot in logical pixels.
const plotHeight = 150

func newTrendPlot(d *Desk) *trendPlot {
	t := &trendPlot{desk: d}
	t.raster = canvas.NewRaster(t.draw)
	t.raster.ScaleMode = canvas.ImageScalePixels
	t.raster.SetMinSize(fyne.NewSize(200, plotHeight))
	t.ExtendBaseWidget(t)
	return t
}

// CreateRenderer shows the plot and nothing else.
func (t *trendPlot) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(t.raster) }

// set shows a trend.
func (t *trendPlot) set(trend measure.Trend) {
	t.trend = trend
	t.raster.Refresh()
}

// letters returns the font of the plot, nil if the toolkit's own can't be read.
func (t *trendPlot) letters() *ink.Words {
	if size := float64(sizeCaption-1) * t.desk.bench.ratio; t.words == nil || t.size != size {
		words, err := ink.NewWords(theme.DefaultTextFont().Content(), size)
		if err != nil {
			return nil
		}
		t.words, t.size = words, size
	}
	return t.words
}

// draw makes the frame that the toolkit shows.
func (t *trendPlot) draw(w, h int) image.Image {
	if t.frame == nil || t.frame.Rect.Dx() != w || t.frame.Rect.Dy() != h {
		t.frame = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	t.sheet.On(t.frame)
	t.sheet.Ground(colourPanel)
	words := t.letters()
	if words == nil {
		return t.frame
	}
	p, ok := plot.Trend(t.trend, float64(w), float64(h), t.size)
	if !ok {
		return t.frame
	}
	t.axes(p, words)
	line := make([]ink.Point, len(p.Points))
	for i, q := range p.Points {
		line[i] = ink.Point{X: q.X, Y: q.Y}
	}
	t.sheet.Line(t.pen(1.4, colourHoney), line...)
	for _, q := range p.Points {
		t.point(q)
	}
	return t.frame
}

func (t *trendPlot) pen(width float64, c color.NRGBA) ink.Pen {
	return ink.Pen{Width: width * t.desk.bench.ratio, Colour: c}
}

// axes draws the lines at the ticks of the value, and the words.
func (t *trendPlot) axes(p plot.Plot, words *ink.Words) {
	_, high := words.Size("0")
	for _, y := range p.Y {
		t.sheet.Line(t.pen(1, colourSeparator), ink.Point{X: p.Left, Y: y.At}, ink.Point{X: p.Right, Y: y.At})
		w, _ := words.Size(y.Text)
		t.sheet.Write(words, ink.Point{X: p.Left - float64(w) - t.size/2, Y: y.At - float64(high)/2}, y.Text, colourMuted)
	}
	for _, x := range p.X {
		t.sheet.Line(t.pen(1, colourMuted), ink.Point{X: x.At, Y: p.Bottom}, ink.Point{X: x.At, Y: p.Bottom + t.size/3})
		w, _ := words.Size(x.Text)
		t.sheet.Write(words, ink.Point{X: x.At - float64(w)/2, Y: p.Bottom + t.size/3}, x.Text, colourMuted)
	}
	t.sheet.Line(t.pen(1, colourMuted), ink.Point{X: p.Left, Y: p.Top}, ink.Point{X: p.Left, Y: p.Bottom}, ink.Point{X: p.Right, Y: p.Bottom})
	t.sheet.Write(words, ink.Point{X: t.size / 3, Y: p.Top - 1.7*float64(high)}, p.Unit, colourMuted)
	years := wording.Say("years")
	w, _ := words.Size(years)
	t.sheet.Write(words, ink.Point{X: p.Right - float64(w), Y: p.Bottom - float64(high)}, years, colourMuted)
}

// point draws one visit with its bar: a disc, or a ring where the image is not
// aligned with the first.
func (t *trendPlot) point(q plot.Point) {
	r := 4.5 * t.desk.bench.ratio
	bar := t.pen(1.6, colourText)
	t.sheet.Line(bar, ink.Point{X: q.X, Y: q.Low}, ink.Point{X: q.X, Y: q.High})
	for _, y := range []float64{q.Low, q.High} {
		t.sheet.Line(bar, ink.Point{X: q.X - r, Y: y}, ink.Point{X: q.X + r, Y: y})
	}
	t.sheet.Line(ink.Pen{Width: 2 * r, Colour: colourText}, ink.Point{X: q.X, Y: q.Y})
	if !q.Aligned {
		t.sheet.Line(ink.Pen{Width: 1.1 * r, Colour: colourPanel}, ink.Point{X: q.X, Y: q.Y})
	}
}
