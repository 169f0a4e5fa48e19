package desk

import (
	"image"
	"image/color"
	"math"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// drawTools draws what helps to look: ruler grid, the line of a profile, and
// the badge that says how the picture differs from the stored one.
func (b *bench) drawTools(v tone.View) {
	if b.picture == nil {
		return
	}
	b.desk.profile.draw(scribe{&b.sheet, v, b.ratio, weights[b.desk.weight]})
	b.writeBadge()
}

// badgeText says how the picture is shown, and what the ruler's squares are.
func (b *bench) badgeText() string {
	lines := b.desk.eye.words()
	if b.picture == nil {
		return ""
	}
	if b.desk.ruler {
		_, _, name := b.squares()
		lines = append(lines, name)
	}
	text := ""
	for i, l := range lines {
		if i > 0 {
			text += " · "
		}
		text += l
	}
	return text
}

// badgeArea is where the badge lies: at the lower left.
func (b *bench) badgeArea() image.Rectangle {
	text := b.badgeText()
	words := b.letters()
	if text == "" || words == nil || b.frame == nil {
		return image.Rectangle{}
	}
	w, h := words.Size(text)
	pad := int(6 * b.ratio)
	bottom := b.frame.Rect.Max.Y - pad
	return image.Rect(pad, bottom-h-pad, min(pad+w+2*pad, b.frame.Rect.Max.X-pad), bottom)
}

func (b *bench) writeBadge() {
	r := b.badgeArea()
	if r.Empty() {
		return
	}
	b.sheet.Plate(r, inkPlate)
	at := ink.Point{X: float64(r.Min.X) + 6*b.ratio, Y: float64(r.Min.Y) + 3*b.ratio}
	b.sheet.Write(b.words, at, b.badgeText(), inkHoney)
}

// The squares of the ruler grid: sides in mm, or px without a calibration, and
// the least distance of two lines in logical pixels. Common practice, no
// source.
var rulerSides = []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}

const rulerLeast = 28

// squares returns the sides of the ruler's squares along x and y of the image,
// in image pixels, and says what they are.
func (b *bench) squares() (x, y float64, name string) {
	perUnit, unit := 1.0, string(measure.Pixel)
	stretch := 1.0
	if f, ok := b.desk.session.scale(); ok && f.Value > 0 {
		perUnit, unit = 1/f.Value, string(measure.Millimetre)
		if s := b.desk.session.stated(); s.Stated() {
			stretch = s.RowMM / s.ColMM // the scale is that of rows
		}
	}
	side := rulerSides[len(rulerSides)-1]
	for _, s := range rulerSides {
		if s*perUnit*b.view.Scale >= rulerLeast*b.ratio {
			side = s
			break
		}
	}
	name = wording.Say("squares of %[1]s %[2]s", plain(side), unit)
	if unit == string(measure.Pixel) {
		name = wording.Say("squares of %[1]s %[2]s, not calibrated", plain(side), unit)
	}
	return side * perUnit * stretch, side * perUnit, name
}

// drawRuler draws the grid under the marks, from the corner of the image on;
// every fifth line is stronger.
func (b *bench) drawRuler(v tone.View) {
	if !b.desk.ruler || b.picture == nil {
		return
	}
	dx, dy, _ := b.squares()
	w, h := float64(b.picture.Width-1), float64(b.picture.Height-1)
	s := scribe{&b.sheet, v, b.ratio, weights[b.desk.weight]}
	b.rulerLines(s, w, dx, func(x float64) [2]measure.Point { return [2]measure.Point{measure.Pt(x, 0), measure.Pt(x, h)} })
	b.rulerLines(s, h, dy, func(y float64) [2]measure.Point { return [2]measure.Point{measure.Pt(0, y), measure.Pt(w, y)} })
}

func (b *bench) rulerLines(s scribe, to, step float64, line func(float64) [2]measure.Point) {
	faint, strong := through(inkCalibration, 0x58), through(inkCalibration, 0xa0)
	for i := 0; float64(i)*step <= to; i++ {
		colour := faint
		if i%5 == 0 {
			colour = strong
		}
		l := line(float64(i) * step)
		b.hair(s.at(l[0]), s.at(l[1]), colour)
	}
}

// hair draws a line of one device pixel, upright or level, inside the frame.
func (b *bench) hair(p, q ink.Point, c color.NRGBA) {
	r := image.Rect(int(math.Round(p.X)), int(math.Round(p.Y)), int(math.Round(q.X)), int(math.Round(q.Y)))
	r.Max = r.Max.Add(image.Pt(1, 1))
	b.sheet.Plate(r.Intersect(b.frame.Rect), c)
}
