package jpeg

import (
	"bytes"
	"image"
	stdjpeg "image/jpeg"
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging/dicomfile/codec"
)

// A picture quantised in steps of q comes back with at most q/2 of error in each
// coefficient, so with a root-mean-square error below q/2 (the DCT of T.81 A.3.3
// keeps squares) but for the rounding of samples.
func TestDCTPicturesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SampledFrom([]int{8, 12}).Draw(t, "bits")
		want := rasters([]int{1, 3}, bits, bits).Draw(t, "raster")
		q := rapid.SampledFrom([]int{1, 2, 16, 300}).Draw(t, "quantisation")
		set := settings{
			process:   Extended,
			quant:     flatQuant(q),
			restart:   rapid.IntRange(0, 3).Draw(t, "units a restart interval"),
			lateLines: rapid.Bool().Draw(t, "late number of lines"),
			fill:      rapid.IntRange(0, 2).Draw(t, "fill bytes"),
		}
		if bits == 8 && rapid.Bool().Draw(t, "baseline") {
			set.process = Baseline
		}
		if want.Components == 3 {
			set.scans = rapid.SampledFrom(scanOrders).Draw(t, "scans")
		}
		got, info, err := Decode(encode(want, set))
		if err != nil {
			t.Fatal(err)
		}
		checkSizes(t, got, info, want)
		if e := meanSquareError(got, want); e > float64(q)/2+0.8 {
			t.Fatalf("root-mean-square error %.2f with steps of %d", e, q)
		}
	})
}

// meanSquareError is the root of the mean square error of the worst block; what
// lies outside the picture counts as no error.
func meanSquareError(got, want *codec.Raster) float64 {
	worst := 0.0
	for c := range want.Components {
		for by := 0; by < want.Height; by += 8 {
			for bx := 0; bx < want.Width; bx += 8 {
				sum := 0.0
				for y := by; y < min(by+8, want.Height); y++ {
					for x := bx; x < min(bx+8, want.Width); x++ {
						i := (y*want.Width+x)*want.Components + c
						d := float64(got.Pix[i]) - float64(want.Pix[i])
						sum += d * d
					}
				}
				worst = max(worst, math.Sqrt(sum/64))
			}
		}
	}
	return worst
}

// The inverse DCT against the formula of T.81 A.3.3 in floating point.
func TestInverseDCT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SampledFrom([]int{8, 12}).Draw(t, "bits")
		tr := newTransform(bits)
		limit := 1 << (bits - 2)
		var block [64]int16
		for _, k := range rapid.SliceOfN(rapid.IntRange(0, 63), 0, 10).Draw(t, "places") {
			block[k] = int16(rapid.IntRange(-limit, limit).Draw(t, "coefficient"))
		}
		quant := [64]int32{}
		for i := range quant {
			quant[i] = 1
		}
		var got [64]uint16
		tr.inverse(&block, &quant, &got)
		for i := range got {
			exact := float64(tr.centre)
			for k, v := range block {
				exact += float64(v) * cosines[k/8][i/8] * cosines[k%8][i%8]
			}
			exact = min(max(exact, 0), float64(tr.most))
			if math.Abs(float64(got[i])-exact) > 0.6 { // 0.5 of rounding, 0.1 of fixed point
				t.Fatalf("sample %d is %d, exactly %.3f", i, got[i], exact)
			}
		}
	})
}

// What the standard library encodes is decoded by both: luminance in full and
// chrominance before interpolation must agree but for its own inverse DCT.
func TestAgainstStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rasters([]int{1, 3}, 8, 8).Draw(t, "raster")
		var buf bytes.Buffer
		options := &stdjpeg.Options{Quality: rapid.IntRange(1, 100).Draw(t, "quality")}
		if err := stdjpeg.Encode(&buf, toImage(r), options); err != nil {
			t.Fatal(err)
		}
		got, info, err := Decode(buf.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		checkSizes(t, got, info, r)
		std, err := stdjpeg.Decode(&buf)
		if err != nil {
			t.Fatal(err)
		}
		for i := range r.Width * r.Height {
			want := 0
			switch m := std.(type) {
			case *image.Gray:
				want = int(m.Pix[i/r.Width*m.Stride+i%r.Width])
			case *image.YCbCr:
				want = int(m.Y[i/r.Width*m.YStride+i%r.Width])
			}
			if d := int(got.Pix[i*r.Components]) - want; d < -1 || d > 1 {
				t.Fatalf("luminance of pixel %d is %d, want %d", i, got.Pix[i*r.Components], want)
			}
		}
	})
}

func toImage(r *codec.Raster) image.Image {
	bounds := image.Rect(0, 0, r.Width, r.Height)
	if r.Components == 1 {
		m := image.NewGray(bounds)
		for i, v := range r.Pix {
			m.Pix[i] = uint8(v)
		}
		return m
	}
	m := image.NewRGBA(bounds)
	for i := range r.Width * r.Height {
		m.Pix[4*i], m.Pix[4*i+1], m.Pix[4*i+2], m.Pix[4*i+3] = uint8(r.Pix[3*i]), uint8(r.Pix[3*i+1]), uint8(r.Pix[3*i+2]), 255
	}
	return m
}

// The triangle filter by hand: halves go up and down in turn.
func TestUpsampling(t *testing.T) {
	out := make([]uint16, 6)
	widen(out, []uint16{0, 4, 10})
	want := []uint16{0, 1, 3, 6, 8, 10} // 0; 1; 3; 5.5; 8.5; 10
	for i := range want {
		if out[i] != want[i] {
			t.Errorf("widen: sample %d is %d, want %d", i, out[i], want[i])
		}
	}
	// Line sums 3·near + far are 4, 20, 36; the ends count four times.
	widenBetween(out, []uint16{1, 5, 9}, []uint16{1, 5, 9})
	want = []uint16{1, 2, 4, 6, 8, 9} // 1; 2; 4; 6; 8; 9
	for i := range want {
		if out[i] != want[i] {
			t.Errorf("widenBetween: sample %d is %d, want %d", i, out[i], want[i])
		}
	}
}
