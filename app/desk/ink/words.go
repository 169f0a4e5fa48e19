package ink

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Words turns text into coverage that [Sheet.Write] lays on a frame, and keeps
// what it drew: most labels stay the same from frame to frame.
type Words struct {
	face font.Face
	kept map[string]*image.Alpha
}

// keep is how many texts are remembered; a drag makes new ones all the time.
const keep = 100

// NewWords prepares a TrueType or OpenType font at a size in device pixels.
func NewWords(ttf []byte, size float64) (*Words, error) {
	parsed, err := opentype.Parse(ttf)
	if err != nil {
		return nil, err
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return nil, err
	}
	return &Words{face, map[string]*image.Alpha{}}, nil
}

// Size returns how much room a text takes.
func (w *Words) Size(text string) (width, height int) {
	m := w.face.Metrics()
	return font.MeasureString(w.face, text).Ceil(), (m.Ascent + m.Descent).Ceil()
}

// shape returns the coverage of a text.
func (w *Words) shape(text string) *image.Alpha {
	if a, ok := w.kept[text]; ok {
		return a
	}
	if len(w.kept) > keep {
		clear(w.kept)
	}
	width, height := w.Size(text)
	a := image.NewAlpha(image.Rect(0, 0, width+1, height))
	d := font.Drawer{Dst: a, Src: image.Opaque, Face: w.face,
		Dot: fixed.Point26_6{Y: w.face.Metrics().Ascent}}
	d.DrawString(text)
	w.kept[text] = a
	return a
}

// Write lays a text on the frame with its top-left corner at p.
func (s *Sheet) Write(w *Words, p Point, text string, c color.NRGBA) {
	a := w.shape(text)
	at := image.Pt(int(math.Round(p.X)), int(math.Round(p.Y)))
	r := a.Rect.Add(at).Intersect(s.dst.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if cover := a.AlphaAt(x-at.X, y-at.Y).A; cover > 0 {
				blend(s.dst.Pix[s.dst.PixOffset(x, y):], c, uint32(cover))
			}
		}
	}
}

// Ground fills the whole sheet with a colour, opaque: what else is drawn lies
// over it and shows only where a pixel is opaque.
func (s *Sheet) Ground(c color.NRGBA) {
	c.A = 255
	draw.Draw(s.dst, s.dst.Rect, image.NewUniform(c), image.Point{}, draw.Src)
}

// Plate lays a colour over a rectangle, limited to the frame.
func (s *Sheet) Plate(r image.Rectangle, c color.NRGBA) {
	r = r.Intersect(s.dst.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			blend(s.dst.Pix[s.dst.PixOffset(x, y):], c, 255)
		}
	}
}
