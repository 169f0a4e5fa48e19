package tone

import (
	"image"
	"image/color"
	"testing"

	"rootrule/imaging"
)

// TestTintMarksWhatGoesBeyondTheLimits: above is tinted whole, below in
// stripes, the unknown and what lies between not at all.
func TestTintMarksWhatGoesBeyondTheLimits(t *testing.T) {
	greys := []uint16{0, 900, 1000, 1500, 2000, 2100}
	m := &imaging.Image{Width: len(greys) * 8, Height: 8, Pix: make([]uint16, len(greys)*64)}
	for i := range m.Pix {
		m.Pix[i] = greys[i%m.Width/8]
	}
	dst := image.NewRGBA(image.Rect(0, 0, m.Width+4, 12))
	for i := range dst.Pix {
		dst.Pix[i] = 255
	}
	tints := Tints{Low: 1000, High: 2000, Less: color.NRGBA{200, 0, 0, 255}, More: color.NRGBA{0, 0, 200, 255}}
	new(Through).Tint(dst, dst.Rect, NewPicture(m), View{Scale: 1}, Same, tints)
	for y := range 12 {
		for x := range m.Width + 4 {
			want := color.RGBA{255, 255, 255, 255}
			switch k := x / 8; {
			case y >= 8 || x >= m.Width:
			case k == 1 && Striped(x, y):
				want = color.RGBA{200, 0, 0, 255}
			case k == 5:
				want = color.RGBA{0, 0, 200, 255}
			}
			if got := dst.RGBAAt(x, y); got != want {
				t.Fatalf("(%d, %d) is %v, want %v", x, y, got, want)
			}
		}
	}
}
