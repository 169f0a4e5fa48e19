// Package report turns findings into something to hand over. It has the
// marked figure so far: start with [Figure].
//
// It computes nothing and opens no file: images come decoded, findings come
// computed, texts come from wording.
package report

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// ink draws lines and words on a picture, each with a dark casing so that it
// reads on bright and on dark ground.
type ink struct {
	dst  *image.RGBA
	face font.Face
}

// pt is a position on the figure in pixels.
type pt struct{ x, y float64 }

var casing = color.NRGBA{0, 0, 0, 200}

// newInk prepares drawing with letters of the given height in pixels.
func newInk(dst *image.RGBA, letterPx float64) (*ink, error) {
	parsed, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: letterPx, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return nil, err
	}
	return &ink{dst, face}, nil
}

// line strokes a polyline of the given width; dash > 0 breaks it into dashes
// of that length.
func (k *ink) line(pts []pt, width, dash float64, c color.Color) {
	parts := [][]pt{pts}
	if dash > 0 {
		parts = dashes(pts, dash)
	}
	for _, p := range parts {
		k.stroke(p, width+2, casing)
	}
	for _, p := range parts {
		k.stroke(p, width, c)
	}
}

// stroke fills one quadrilateral a segment and a disc at each joint.
func (k *ink) stroke(pts []pt, width float64, c color.Color) {
	box := around(pts, width).Intersect(k.dst.Bounds())
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	r.DrawOp = draw.Over
	local := make([]pt, len(pts))
	for i, p := range pts {
		local[i] = pt{p.x - float64(box.Min.X), p.y - float64(box.Min.Y)}
		disc(r, local[i], width/2)
		if i > 0 {
			segment(r, local[i-1], local[i], width/2)
		}
	}
	r.Draw(k.dst, box, image.NewUniform(c), image.Point{})
}

// around returns a rectangle that holds a stroke along pts.
func around(pts []pt, width float64) image.Rectangle {
	var box image.Rectangle
	for _, p := range pts {
		box = box.Union(image.Rect(int(p.x-width)-1, int(p.y-width)-1, int(p.x+width)+2, int(p.y+width)+2))
	}
	return box
}

// segment adds the rectangle of half-width h along a–b, wound as disc is, so
// that overlaps add up instead of cancelling.
func segment(r *vector.Rasterizer, a, b pt, h float64) {
	l := math.Hypot(b.x-a.x, b.y-a.y)
	if l == 0 {
		return
	}
	nx, ny := -(b.y-a.y)/l*h, (b.x-a.x)/l*h
	r.MoveTo(float32(a.x-nx), float32(a.y-ny))
	r.LineTo(float32(b.x-nx), float32(b.y-ny))
	r.LineTo(float32(b.x+nx), float32(b.y+ny))
	r.LineTo(float32(a.x+nx), float32(a.y+ny))
	r.ClosePath()
}

// discSides is enough for the few pixels that a pen is wide.
const discSides = 16

func disc(r *vector.Rasterizer, c pt, radius float64) {
	for i := range discSides {
		s, cs := math.Sincos(2 * math.Pi * float64(i) / discSides)
		x, y := float32(c.x+radius*cs), float32(c.y+radius*s)
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
}

// dashes cuts a polyline into pieces of equal length with gaps as long.
func dashes(pts []pt, dash float64) [][]pt {
	var out [][]pt
	var cur []pt
	on, left := true, dash
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		if on && len(cur) == 0 {
			cur = append(cur, a)
		}
		for l := math.Hypot(b.x-a.x, b.y-a.y); l > left; l = math.Hypot(b.x-a.x, b.y-a.y) {
			a = pt{a.x + (b.x-a.x)*left/l, a.y + (b.y-a.y)*left/l}
			if on {
				out, cur = append(out, append(cur, a)), nil
			} else {
				cur = []pt{a}
			}
			on, left = !on, dash
		}
		left -= math.Hypot(b.x-a.x, b.y-a.y)
		if on {
			cur = append(cur, b)
		}
	}
	if len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// text writes s with its baseline starting at p.
func (k *ink) text(p pt, s string, c color.Color) {
	for _, d := range []pt{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}, {0, 2}, {2, 0}, {-2, 0}, {0, -2}} {
		k.letters(pt{p.x + d.x, p.y + d.y}, s, casing)
	}
	k.letters(p, s, c)
}

func (k *ink) letters(p pt, s string, c color.Color) {
	d := font.Drawer{Dst: k.dst, Src: image.NewUniform(c), Face: k.face,
		Dot: fixed.Point26_6{X: fixed.Int26_6(p.x * 64), Y: fixed.Int26_6(p.y * 64)}}
	d.DrawString(s)
}

// width returns how wide s is in pixels.
func (k *ink) width(s string) float64 { return float64(font.MeasureString(k.face, s)) / 64 }

// height returns the distance between lines of text in pixels.
func (k *ink) height() float64 { return float64(k.face.Metrics().Height) / 64 }
