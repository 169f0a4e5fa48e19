package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"testing"
)

// mosaic repeats the only tile of a stream nx × ny times. Its sides must be
// powers of two, so that all tiles have the same code-blocks.
func mosaic(t testing.TB, data []byte, nx, ny int) []byte {
	t.Helper()
	h, err := ReadHeader(data)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(data, []byte{0xff, 0x90})
	end := len(data) - 2
	out := bytes.Clone(data[:at])
	binary.BigEndian.PutUint32(out[8:], uint32(nx*h.Width))
	binary.BigEndian.PutUint32(out[12:], uint32(ny*h.Height))
	for i := range nx * ny {
		tile := len(out)
		out = append(out, data[at:end]...)
		binary.BigEndian.PutUint16(out[tile+4:], uint16(i))
	}
	return append(out, data[end:]...)
}

// BenchmarkDecode decodes 2048 × 1536 pixels of 16 bits, lossless: 16 × 12
// tiles of 128 × 128.
func BenchmarkDecode(b *testing.B) {
	data := mosaic(b, readFile(b, "bench_tile.j2k"), 16, 12)
	b.SetBytes(2048 * 1536 * 2)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Decode(data)
		if err != nil {
			b.Fatal(err)
		}
		if r.Width != 2048 || r.Height != 1536 {
			b.Fatal(r.Width, r.Height)
		}
	}
}

// BenchmarkDecodeHT decodes 2048 × 1536 pixels of 12 bits in high-throughput
// blocks: 32 × 24 tiles of 64 × 64.
func BenchmarkDecodeHT(b *testing.B) {
	data := mosaic(b, readFile(b, "bench_ht_tile.j2k"), 32, 24)
	b.SetBytes(2048 * 1536 * 2)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadHeader(b *testing.B) {
	data := readFile(b, "bench_tile.j2k")
	for b.Loop() {
		if _, err := ReadHeader(data); err != nil {
			b.Fatal(err)
		}
	}
}
