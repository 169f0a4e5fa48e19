package desk

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/measure"
)

// profilePlot shows a profile: grey values upwards, the place on the line to the
// right.
type profilePlot struct {
	widget.BaseWidget
	of     *profile
	raster *canvas.Raster
	frame  *image.RGBA
	sheet  ink.Sheet
}

// profileHeight is the height of the plot in logical pixels.
const profileHeight = 150

func newProfilePlot(p *profile) *profilePlot {
	t := &profilePlot{of: p}
	t.raster = canvas.NewRaster(t.draw)
	t.raster.ScaleMode = canvas.ImageScalePixels
	t.ExtendBaseWidget(t)
	return t
}

// CreateRenderer shows the frame.
func (t *profilePlot) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(t.raster) }

// MinSize is as high as a curve can be read.
func (t *profilePlot) MinSize() fyne.Size { return fyne.NewSize(200, profileHeight*sizeText/15) }

// AccessibilityLabel says what the plot shows.
func (t *profilePlot) AccessibilityLabel() string {
	low, high, ok := rangeOf(t.of.values)
	if !ok {
		return wording.Say("Profile of stored grey values")
	}
	return wording.Say("Profile of stored grey values, %[1]s to %[2]s along %[3]s", plain(low), plain(high), wording.Quantity(t.of.length()))
}

// AccessibilityRole: it can't be pressed.
func (t *profilePlot) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// rangeOf returns the least and the greatest of the values that are numbers.
func rangeOf(values []float64) (low, high float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !math.IsNaN(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return low, high, low <= high
}

// draw makes the frame that the toolkit shows.
func (t *profilePlot) draw(w, h int) image.Image {
	if t.frame == nil || t.frame.Rect.Dx() != w || t.frame.Rect.Dy() != h {
		t.frame = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	t.sheet.On(t.frame)
	t.sheet.Ground(colourBench)
	words := t.of.desk.bench.letters()
	low, high, ok := rangeOf(t.of.values)
	if !ok || words == nil {
		return t.frame
	}
	unit := t.of.desk.bench.ratio
	top, bottom := widthOf(words, round(high)), widthOf(words, round(low))
	left := 8*unit + math.Max(top, bottom)
	_, letter := words.Size("0")
	area := image.Rect(int(left+8*unit), int(8*unit), w-int(8*unit), h-letter-int(10*unit))
	if area.Dx() < 10 || area.Dy() < 10 {
		return t.frame
	}
	t.axes(area, unit)
	t.curve(area, low, high, unit)
	t.sheet.Write(words, ink.Point{X: left - top, Y: 4 * unit}, round(high), inkText)
	t.sheet.Write(words, ink.Point{X: left - bottom, Y: float64(area.Max.Y - letter)}, round(low), inkText)
	t.captions(words, area, unit)
	return t.frame
}

func round(v float64) string { return wording.Number(v, 0) }

// widthOf is the width of words in device pixels.
func widthOf(words *ink.Words, s string) float64 {
	w, _ := words.Size(s)
	return float64(w)
}

// axes draws the edges of the area and its ticks, one each mm or as many px as
// the ruler's squares have.
func (t *profilePlot) axes(area image.Rectangle, unit float64) {
	pen := ink.Pen{Width: unit, Colour: inkMuted}
	x, y := float64(area.Min.X), float64(area.Max.Y)
	t.sheet.Line(pen, ink.Point{X: x, Y: float64(area.Min.Y)}, ink.Point{X: x, Y: y}, ink.Point{X: float64(area.Max.X), Y: y})
	length, step := t.of.length().Value, t.step()
	for v := step; step > 0 && v <= length; v += step {
		at := x + v/length*float64(area.Dx())
		t.sheet.Line(pen, ink.Point{X: at, Y: y}, ink.Point{X: at, Y: y - 5*unit})
	}
}

// step is the distance of two ticks, in the unit of the length: at most twenty
// of them.
func (t *profilePlot) step() float64 {
	length := t.of.length().Value
	for _, s := range rulerSides {
		if s*20 >= length {
			return s
		}
	}
	return 0
}

func (t *profilePlot) curve(area image.Rectangle, low, high, unit float64) {
	values := t.of.values
	span := math.Max(high-low, 1)
	var run []ink.Point
	pen := ink.Pen{Width: 1.6 * unit, Colour: inkHoney}
	for i, v := range values {
		if math.IsNaN(v) {
			t.sheet.Line(pen, run...)
			run = nil
			continue
		}
		share := float64(i) / math.Max(float64(len(values)-1), 1)
		run = append(run, ink.Point{X: float64(area.Min.X) + share*float64(area.Dx()),
			Y: float64(area.Max.Y) - (v-low)/span*float64(area.Dy())})
	}
	t.sheet.Line(pen, run...)
}

// captions says under the curve what is plotted, and how long the line is.
func (t *profilePlot) captions(words *ink.Words, area image.Rectangle, unit float64) {
	length := wording.Quantity(t.of.length())
	if t.of.length().Unit == measure.Pixel {
		length = wording.Say("%s, not calibrated", length)
	}
	y := float64(area.Max.Y) + 5*unit
	end := float64(area.Max.X) - widthOf(words, length)
	t.sheet.Write(words, ink.Point{X: end, Y: y}, length, inkText)
	what := wording.Say("Stored grey values, ticks of %s", plain(t.step()))
	if start := float64(area.Min.X); start+widthOf(words, what)+8*unit < end {
		t.sheet.Write(words, ink.Point{X: start, Y: y}, what, inkMuted)
	}
}
