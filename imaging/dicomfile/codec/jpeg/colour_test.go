package jpeg

import (
	"image/color"
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging/dicomfile/codec"
)

// The formulas of T.871 clause 7 in floating point.
func exactRGB(y, cb, cr, centre, most float64) [3]uint16 {
	rgb := [3]float64{
		y + 1.402*(cr-centre),
		y - (0.114*1.772*(cb-centre)+0.299*1.402*(cr-centre))/0.587,
		y + 1.772*(cb-centre),
	}
	var out [3]uint16
	for i, v := range rgb {
		out[i] = uint16(min(max(math.Floor(v+0.5), 0), most))
	}
	return out
}

func TestYCbCrToRGB(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.IntRange(2, 16).Draw(t, "bits")
		p := rapid.SliceOfN(rapid.Uint16Range(0, uint16(1<<bits-1)), 3, 3).Draw(t, "pixel")
		centre, most := float64(int(1)<<(bits-1)), float64(int(1)<<bits-1)
		want := exactRGB(float64(p[0]), float64(p[1]), float64(p[2]), centre, most)
		r := &codec.Raster{Width: 1, Height: 1, Components: 3, Bits: bits, Pix: p}
		YCbCrToRGB(r)
		for i := range want {
			if d := int(r.Pix[i]) - int(want[i]); d != 0 {
				t.Fatalf("RGB %v, want %v", r.Pix, want)
			}
		}
	})
}

// The standard library rounds its constants to 16 bits: never more than 1 off.
func TestYCbCrToRGBAgainstStandardLibrary(t *testing.T) {
	for y := 0; y < 256; y += 5 {
		for cb := range 256 {
			for cr := 0; cr < 256; cr += 3 {
				r := &codec.Raster{Width: 1, Height: 1, Components: 3, Bits: 8, Pix: []uint16{uint16(y), uint16(cb), uint16(cr)}}
				YCbCrToRGB(r)
				red, green, blue := color.YCbCrToRGB(uint8(y), uint8(cb), uint8(cr))
				for i, v := range []uint8{red, green, blue} {
					if d := int(r.Pix[i]) - int(v); d < -1 || d > 1 {
						t.Fatalf("Y %d Cb %d Cr %d: %v, want about %d %d %d", y, cb, cr, r.Pix, red, green, blue)
					}
				}
			}
		}
	}
}

func TestGreyIsNotConverted(t *testing.T) {
	r := &codec.Raster{Width: 3, Height: 1, Components: 1, Bits: 8, Pix: []uint16{1, 2, 3}}
	if YCbCrToRGB(r); r.Pix[0] != 1 || r.Pix[1] != 2 || r.Pix[2] != 3 {
		t.Errorf("grey became %v", r.Pix)
	}
}
