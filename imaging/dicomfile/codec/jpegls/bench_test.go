package jpegls

import "testing"

// A picture of 2000×1500 samples of 16 bits, the size of a large intraoral
// radiograph.
func benchmark(b *testing.B, components, bits int, set settings) {
	data := encode(texture(1, 2000, 1500/components, components, bits), set)
	b.SetBytes(2 * 2000 * 1500)
	b.ReportMetric(float64(len(data)), "stream-bytes")
	for b.Loop() {
		if _, err := Decode(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	b.Run("lossless16", func(b *testing.B) { benchmark(b, 1, 16, settings{}) })
	b.Run("lossless12", func(b *testing.B) { benchmark(b, 1, 12, settings{}) })
	b.Run("near3of16", func(b *testing.B) { benchmark(b, 1, 16, settings{near: 3}) })
	b.Run("colour8sample", func(b *testing.B) { benchmark(b, 3, 8, settings{interleave: BySample}) })
	b.Run("colour8line", func(b *testing.B) { benchmark(b, 3, 8, settings{interleave: ByLine}) })
}
