package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"testing"
)

// mosaic repeats the only tile of a stream n × n times.
func mosaic(t testing.TB, data []byte, n int) []byte {
	t.Helper()
	h, err := ReadHeader(data)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(data, []byte{0xff, 0x90})
	end := len(data) - 2
	out := bytes.Clone(data[:at])
	binary.BigEndian.PutUint32(out[8:], uint32(n*h.Width))
	binary.BigEndian.PutUint32(out[12:], uint32(n*h.Height))
	for i := range n * n {
		tile := len(out)
		out = append(out, data[at:end]...)
		binary.BigEndian.PutUint16(out[tile+4:], uint16(i))
	}
	return append(out, data[end:]...)
}

// BenchmarkDecode decodes 2000 × 1500 pixels of 16 bits, lossless: 10 × 10
// tiles of 200 × 150.
func BenchmarkDecode(b *testing.B) {
	data := mosaic(b, readFile(b, "bench_tile.j2k"), 10)
	b.SetBytes(2000 * 1500 * 2)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Decode(data)
		if err != nil {
			b.Fatal(err)
		}
		if r.Width != 2000 || r.Height != 1500 {
			b.Fatal(r.Width, r.Height)
		}
	}
}

// BenchmarkDecodeHT decodes 1640 × 1320 pixels of 12 bits in high-throughput
// blocks: 40 × 40 tiles of 41 × 33.
func BenchmarkDecodeHT(b *testing.B) {
	data := mosaic(b, readFile(b, "ht_grey12.j2k"), 40)
	b.SetBytes(1640 * 1320 * 2)
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
