package tone

import (
	"image"
	"image/color"
)

// Tints are colours laid over a drawn picture where another picture, such as a
// map of change, goes beyond a limit: More where its grey is above High, plain;
// Less where it is below Low, in stripes, so that the colour tells nothing
// alone. Grey 0 stands for "not known" and is never tinted. The colours' alpha
// says how strong they are.
type Tints struct {
	Low, High  uint16
	Less, More color.NRGBA
}

// Striped reports whether a device pixel lies on a stripe of the tint for less.
func Striped(x, y int) bool { return (x+y)&7 < 4 }

// Tint lays the tints over the part area of dst, by the greys of the picture
// that the view and the map show there. It takes the place of [Through.Draw].
func (r *Through) Tint(dst *image.RGBA, area image.Rectangle, p *Picture, v View, by Map, t Tints) {
	area = area.Intersect(dst.Rect)
	if p == nil || area.Empty() || !v.Valid() {
		return
	}
	r.show(area, p, v, by)
	w := area.Dx()
	for y := range area.Dy() {
		from, to := r.from[y], r.to[y]
		row := dst.Pix[dst.PixOffset(area.Min.X, area.Min.Y+y):]
		for x, grey := range r.grey[y*w+from : y*w+to] {
			switch {
			case grey > t.High:
				blend(row[4*(from+x):], t.More)
			case grey < t.Low && grey != 0 && Striped(area.Min.X+from+x, area.Min.Y+y):
				blend(row[4*(from+x):], t.Less)
			}
		}
	}
}

// blend lays c over an opaque pixel.
func blend(pix []uint8, c color.NRGBA) {
	a := uint32(c.A)
	for i, v := range [3]uint8{c.R, c.G, c.B} {
		pix[i] = uint8((uint32(pix[i])*(255-a) + uint32(v)*a + 127) / 255)
	}
}
