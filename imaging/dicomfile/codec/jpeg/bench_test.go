package jpeg

import (
	"testing"

	"rootrule/imaging/dicomfile/codec"
)

// A picture of 2000×1500 samples, the size of a large intraoral radiograph.
func benchmark(b *testing.B, components, bits int, set settings) {
	data := encode(texture(1, 2000, 1500/components, components, bits), set)
	b.SetBytes(2 * 2000 * 1500)
	b.ReportMetric(float64(len(data)), "stream-bytes")
	for b.Loop() {
		if _, _, err := Decode(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLossless(b *testing.B) {
	b.Run("predictor1of16bits", func(b *testing.B) { benchmark(b, 1, 16, settings{process: Lossless, predictor: 1}) })
	b.Run("predictor4of16bits", func(b *testing.B) { benchmark(b, 1, 16, settings{process: Lossless, predictor: 4}) })
	b.Run("predictor7of12bits", func(b *testing.B) { benchmark(b, 1, 12, settings{process: Lossless, predictor: 7}) })
	b.Run("colour8bits", func(b *testing.B) { benchmark(b, 3, 8, settings{process: Lossless, predictor: 1}) })
}

func BenchmarkDCT(b *testing.B) {
	b.Run("extended12bits", func(b *testing.B) { benchmark(b, 1, 12, settings{process: Extended, quant: flatQuant(24)}) })
	b.Run("extended12fine", func(b *testing.B) { benchmark(b, 1, 12, settings{process: Extended, quant: flatQuant(4)}) })
	b.Run("baseline8bits", func(b *testing.B) { benchmark(b, 1, 8, settings{process: Baseline, quant: flatQuant(4)}) })
	b.Run("colour8bits", func(b *testing.B) { benchmark(b, 3, 8, settings{process: Baseline, quant: flatQuant(4)}) })
}

func BenchmarkYCbCrToRGB(b *testing.B) {
	r := texture(1, 2000, 500, 3, 8)
	work := &codec.Raster{Width: r.Width, Height: r.Height, Components: 3, Bits: 8, Pix: make([]uint16, len(r.Pix))}
	for b.Loop() {
		copy(work.Pix, r.Pix)
		YCbCrToRGB(work)
	}
}
