package tone

import (
	"math"

	"rootrule/imaging"
)

// View maps an image to a screen area: a point (x, y) of the image, in image
// pixels, is shown at (X + Scale·x, Y + Scale·y) device pixels from the centre
// of the area's top-left pixel. Scale is in device pixels per image pixel.
//
// Where the image is shown mirrored or turned by right angles, (x, y) is the
// position in the turned picture: Turn says how, W and H are width and height
// of the image as stored. Points given to and returned by methods are those of
// the stored image always. [View.Lying] sets all three.
type View struct {
	Scale float64
	X, Y  float64
	Turn  imaging.Turn // 0 as stored
	W, H  int          // 0 where nothing is turned
}

// Lying returns the view of a stored image of w×h pixels that is shown turned.
func (v View) Lying(t imaging.Turn, w, h int) View {
	v.Turn, v.W, v.H = 0, 0, 0
	if t > imaging.TurnNone {
		v.Turn, v.W, v.H = t, w, h
	}
	return v
}

// The limits of zooming. Common practice, no source: at 40 an image pixel is
// wider than a mark.
const (
	MinScale = 1.0 / 64
	MaxScale = 40.0
)

// Valid reports whether the view can be drawn.
func (v View) Valid() bool {
	return v.Scale >= MinScale && v.Scale <= MaxScale && finite(v.X) && finite(v.Y)
}

// ToScreen returns where the image point (x, y) is shown.
func (v View) ToScreen(x, y float64) (sx, sy float64) {
	if v.Turn != 0 {
		x, y = v.Turn.Shown(x, y, v.W, v.H)
	}
	return v.X + v.Scale*x, v.Y + v.Scale*y
}

// ToImage returns the image point shown at (sx, sy).
func (v View) ToImage(sx, sy float64) (x, y float64) {
	x, y = (sx-v.X)/v.Scale, (sy-v.Y)/v.Scale
	if v.Turn != 0 {
		x, y = v.Turn.Stored(x, y, v.W, v.H)
	}
	return x, y
}

// Along returns the step on the image that is shown in the direction (dx, dy)
// of the screen, as long in image pixels as (dx, dy) is.
func (v View) Along(dx, dy float64) (x, y float64) {
	x0, y0 := v.ToImage(v.X, v.Y)
	x1, y1 := v.ToImage(v.X+dx*v.Scale, v.Y+dy*v.Scale)
	return x1 - x0, y1 - y0
}

// At returns the view at another scale, lying as v does, that shows the image
// point (x, y) at (sx, sy).
func (v View) At(x, y, sx, sy, scale float64) View {
	v.Scale, v.X, v.Y = scale, 0, 0
	atX, atY := v.ToScreen(x, y)
	v.X, v.Y = sx-atX, sy-atY
	return v
}

// ZoomAbout multiplies the scale, within the limits, and keeps the image point
// at (sx, sy) where it is.
func (v View) ZoomAbout(sx, sy, factor float64) View {
	s := clamp(v.Scale*factor, MinScale, MaxScale)
	v.X, v.Y, v.Scale = sx-s*(sx-v.X)/v.Scale, sy-s*(sy-v.Y)/v.Scale, s
	return v
}

// Pan moves the picture by (dx, dy) device pixels.
func (v View) Pan(dx, dy float64) View {
	v.X += dx
	v.Y += dy
	return v
}

// Fit shows the whole of a picture that is w×h as shown as large as an area of width×height
// device pixels allows, with a margin, centred.
func Fit(w, h int, width, height, margin float64) View {
	s := math.Min((width-2*margin)/float64(w), (height-2*margin)/float64(h))
	return centred(w, h, width, height, clamp(s, MinScale, MaxScale))
}

// Centre shows a w×h image at the given scale with its middle in the middle of
// an area of width×height device pixels.
func Centre(w, h int, width, height, scale float64) View {
	return centred(w, h, width, height, clamp(scale, MinScale, MaxScale))
}

func centred(w, h int, width, height, s float64) View {
	return View{Scale: s, X: (width-1)/2 - s*float64(w-1)/2, Y: (height-1)/2 - s*float64(h-1)/2}
}

// Within moves the view so that at least keep device pixels of a picture that
// is w×h as shown, or all of it where it is smaller, stay inside an area of width×height pixels.
func (v View) Within(w, h int, width, height, keep float64) View {
	v.X = hold(v.X, v.Scale*float64(w), width, keep)
	v.Y = hold(v.Y, v.Scale*float64(h), height, keep)
	return v
}

// hold limits the start of an interval of the given length so that it overlaps
// [0, size] by keep.
func hold(start, length, size, keep float64) float64 {
	keep = math.Min(keep, length)
	return clamp(start, keep-length, size-keep)
}

// Snapped rounds the origin to a whole device pixel. Drawing, overlays and
// clicks all use the snapped view, so that what is seen is what is marked and
// a drag moves the picture without resampling shimmer.
func (v View) Snapped() View {
	v.X, v.Y = math.Round(v.X), math.Round(v.Y)
	return v
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
