package tone

import (
	"encoding/binary"
	"image"
	"testing"

	"golang.org/x/image/draw"
)

// BenchmarkPeer draws the same views as BenchmarkDraw with the general
// scaler of golang.org/x/image/draw (approximate bilinear, its fastest that
// averages), for the ratio between the two.
func BenchmarkPeer(b *testing.B) {
	m := noise(2000, 1500, 1)
	src := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		binary.BigEndian.PutUint16(src.Pix[2*i:], v)
	}
	for _, c := range []struct {
		name string
		size image.Point
		from image.Rectangle
	}{
		{"900x680/one", image.Pt(900, 680), image.Rect(550, 410, 1450, 1090)},
		{"900x680/fit", image.Pt(900, 680), image.Rect(0, 0, 2000, 1500)},
		{"2560x1440/double", image.Pt(2560, 1440), image.Rect(443, 437, 1557, 1063)},
	} {
		dst := image.NewRGBA(image.Rectangle{Max: c.size})
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				draw.ApproxBiLinear.Scale(dst, dst.Rect, src, c.from, draw.Src, nil)
			}
		})
	}
}
