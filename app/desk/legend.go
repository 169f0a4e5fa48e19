package desk

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"rootrule/app/compare"
	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
)

// legend says, beside the difference, what its tints and outlines mean.
type legend struct {
	desk           *Desk
	earlier, later *swatch
	tints          *fyne.Container
	box            *fyne.Container
}

// swatch is a sample of a line or a tint on a dark ground.
type swatch struct {
	raster *canvas.Raster
	sheet  ink.Sheet
	draw   func(s *swatch, r image.Rectangle)
	second bool // of the outline: that of the second image
}

// Size of a swatch in logical pixels.
const swatchWidth, swatchHeight = 40, 16

func newSwatch(draw func(s *swatch, r image.Rectangle)) *swatch {
	s := &swatch{draw: draw}
	s.raster = canvas.NewRaster(func(w, h int) image.Image {
		dst := image.NewRGBA(image.Rect(0, 0, w, h))
		for i := 0; i < len(dst.Pix); i += 4 {
			copy(dst.Pix[i:i+4], []uint8{0x60, 0x60, 0x60, 0xff}) // as dark as the difference is in places
		}
		s.sheet.On(dst)
		s.draw(s, dst.Rect)
		return dst
	})
	s.raster.SetMinSize(fyne.NewSize(swatchWidth, swatchHeight))
	return s
}

func newLegend(d *Desk) *legend {
	l := &legend{desk: d}
	l.earlier, l.later = newSwatch(l.outline), newSwatch(l.outline)
	limit := wording.Number(compare.Limit, 0)
	line := func(s *swatch, words string) fyne.CanvasObject {
		return container.NewHBox(container.NewCenter(s.raster), text(words, colourText, sizeCaption, false))
	}
	more := newSwatch(func(s *swatch, r image.Rectangle) { s.sheet.Plate(r, tintMore) })
	less := newSwatch(func(s *swatch, r image.Rectangle) { stripes(&s.sheet, r) })
	l.tints = container.NewVBox(line(more, wording.Say("denser than before by more than %s noise units", limit)),
		line(less, wording.Say("less dense by more than %s noise units (striped)", limit)))
	l.box = container.NewVBox(title(wording.Say("Difference")), line(l.earlier, wording.Say("earlier outline")),
		line(l.later, wording.Say("later outline")), l.tints)
	l.box.Hide()
	return l
}

// update shows the legend while the difference is shown.
func (l *legend) update(p *pair) {
	l.box.Hidden = !(p.how == difference && p.joining.diff != nil)
	l.tints.Hidden = !p.change.tinted
	if second := !p.benchFirst(); l.earlier.second != second || l.later.second == second {
		l.earlier.second, l.later.second = second, !second
		l.earlier.raster.Refresh()
		l.later.raster.Refresh()
	}
}

// outline is a sample of a lesion's outline: dotted of the image on the bench,
// dashed of the second one.
func (l *legend) outline(s *swatch, r image.Rectangle) {
	k := l.desk.bench.ratio
	y := float64(r.Dy()) / 2
	line := []ink.Point{{X: 4 * k, Y: y}, {X: float64(r.Dx()) - 4*k, Y: y}}
	if s.second {
		s.sheet.Dashes(ink.Pen{Width: 2 * k, Casing: 1.3 * k, Colour: inkSecond, Dark: inkCasing}, 9*k, 6*k, line...)
		return
	}
	s.sheet.Dots(ink.Pen{Width: 2.6 * k, Casing: 1.3 * k, Colour: inkLesion, Dark: inkCasing}, 7*k, line...)
}

// stripes is a sample of the tint for what is less dense.
func stripes(sheet *ink.Sheet, r image.Rectangle) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if tone.Striped(x, y) {
				sheet.Plate(image.Rect(x, y, x+1, y+1), tintLess)
			}
		}
	}
}
