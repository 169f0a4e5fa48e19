package rle

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// pack encodes a byte plane (PS3.5 G.3.1): runs of three or more as replicas.
func pack(plane []byte) (out []byte) {
	for start := 0; start < len(plane); {
		n := runAt(plane, start)
		if n >= 3 {
			out = append(out, byte(257-n), plane[start])
			start += n
			continue
		}
		end := start
		for end < len(plane) && end-start < maxRun && runAt(plane, end) < 3 {
			end++
		}
		out = append(append(out, byte(end-start-1)), plane[start:end]...)
		start = end
	}
	return out
}

func runAt(plane []byte, at int) int {
	n := 1
	for at+n < len(plane) && n < maxRun && plane[at+n] == plane[at] {
		n++
	}
	return n
}

// assemble makes a stream of segments with a header (PS3.5 G.5), each filled up to
// an even length.
func assemble(segments ...[]byte) []byte {
	out := make([]byte, headerSize)
	binary.LittleEndian.PutUint32(out, uint32(len(segments)))
	for i, s := range segments {
		binary.LittleEndian.PutUint32(out[4+4*i:], uint32(len(out)))
		out = append(out, s...)
		if len(s)%2 == 1 {
			out = append(out, 0)
		}
	}
	return out
}

func encode(r *codec.Raster) []byte {
	var segments [][]byte
	for c := range r.Components {
		for shift := r.Bits - 8; shift >= 0; shift -= 8 {
			plane := make([]byte, r.Width*r.Height)
			for i := range plane {
				plane[i] = byte(r.Pix[i*r.Components+c] >> shift)
			}
			segments = append(segments, pack(plane))
		}
	}
	return assemble(segments...)
}

func rasters() *rapid.Generator[*codec.Raster] {
	return rapid.Custom(func(t *rapid.T) *codec.Raster {
		r := &codec.Raster{
			Width: rapid.IntRange(1, 40).Draw(t, "width"), Height: rapid.IntRange(1, 20).Draw(t, "height"),
			Components: rapid.SampledFrom([]int{1, 3}).Draw(t, "components"), Bits: rapid.SampledFrom([]int{8, 16}).Draw(t, "bits"),
		}
		few := rapid.SampledFrom([]uint16{1, 2, 300, 65535}).Draw(t, "largest")
		top := min(few, uint16(1<<r.Bits-1))
		r.Pix = rapid.SliceOfN(rapid.Uint16Range(0, top), r.Width*r.Height*r.Components, r.Width*r.Height*r.Components).Draw(t, "pix")
		return r
	})
}

func TestEncodedPicturesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rasters().Draw(t, "raster")
		got, err := Decode(encode(want), want.Width, want.Height, want.Components, want.Bits)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got.Pix, want.Pix) {
			t.Fatalf("pixels differ: %v, want %v", got.Pix, want.Pix)
		}
	})
}

// The worked example of Apple technical note 1023, "Understanding PackBits":
// the scheme that PS3.5 G.3 adopts. Its 0x80 as a header is no part of it.
func TestPackBitsExample(t *testing.T) {
	packed := []byte{0xFE, 0xAA, 0x02, 0x80, 0x00, 0x2A, 0xFD, 0xAA, 0x03, 0x80, 0x00, 0x2A, 0x22, 0xF7, 0xAA}
	want := []byte{
		0xAA, 0xAA, 0xAA, 0x80, 0x00, 0x2A, 0xAA, 0xAA, 0xAA, 0xAA, 0x80, 0x00,
		0x2A, 0x22, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA,
	}
	got := make([]byte, len(want))
	s := segment{data: packed}
	if err := errors.Join(s.read(got), s.end()); err != nil || !bytes.Equal(got, want) {
		t.Errorf("unpack = % x, %v; want % x", got, err, want)
	}
}

// Streams of other encoders; testdata/README.md tells where they come from.
func TestStreamsOfOtherEncoders(t *testing.T) {
	for name, s := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			bits := 8
			if s.top > 255 {
				bits = 16
			}
			got, err := Decode(s.stream, s.width, s.height, s.components, bits)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got.Pix, s.pix) {
				t.Error("pixels differ")
			}
			if n, err := Segments(s.stream); err != nil || n != s.components*bits/8 {
				t.Errorf("Segments = %d, %v", n, err)
			}
		})
	}
}

// A stream that ends early is an error wherever the cut falls.
func TestCutStreamsAreRefused(t *testing.T) {
	for name, s := range seeds(t) {
		whole := len(s.stream)
		if s.stream[whole-1] == 0 {
			whole-- // a byte of padding may go
		}
		for cut := range whole {
			_, err := Decode(s.stream[:cut], s.width, s.height, s.components, 8*segments(t, s.stream)/s.components)
			if !errors.Is(err, fault.ErrMalformed) {
				t.Fatalf("%s cut after %d of %d bytes: %v", name, cut, len(s.stream), err)
			}
		}
	}
}

func segments(t *testing.T, stream []byte) int {
	t.Helper()
	n, err := Segments(stream)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestDecodeChecksTheStream(t *testing.T) {
	four := []byte{3, 1, 2, 3, 4} // a literal run of four bytes
	withOffsets := func(count, first, second uint32) []byte {
		s := assemble(four, four)
		binary.LittleEndian.PutUint32(s, count)
		binary.LittleEndian.PutUint32(s[4:], first)
		binary.LittleEndian.PutUint32(s[8:], second)
		return s
	}
	cases := []struct {
		name                            string
		data                            []byte
		width, height, components, bits int
		kind                            error // nil: decodes
	}{
		{"plain", assemble(four), 2, 2, 1, 8, nil},
		{"no-operation bytes", assemble([]byte{0x80, 1, 1, 2, 0x80, 1, 3, 4}), 2, 2, 1, 8, nil},
		{"a run across rows", assemble([]byte{0xFD, 7}), 1, 4, 1, 8, nil},
		{"an odd pad byte", assemble(append(slices.Clone(four), 0x55)), 2, 2, 1, 8, nil},
		{"padding to a block", assemble(append(slices.Clone(four), make([]byte, 27)...)), 2, 2, 1, 8, nil},
		{"offsets equal, first plane empty", withOffsets(2, 64, 64), 2, 2, 1, 16, fault.ErrMalformed},
		{"offset in the header", withOffsets(2, 60, 70), 2, 2, 1, 16, fault.ErrMalformed},
		{"offset beyond the end", withOffsets(2, 64, 4000), 2, 2, 1, 16, fault.ErrMalformed},
		{"offset of 4 GB", withOffsets(2, 64, 0xFFFFFFFF), 2, 2, 1, 16, fault.ErrMalformed},
		{"offsets fall", withOffsets(2, 70, 64), 2, 2, 1, 16, fault.ErrMalformed},
		{"no planes", withOffsets(0, 64, 70), 2, 2, 1, 16, fault.ErrMalformed},
		{"sixteen planes", withOffsets(16, 64, 70), 2, 2, 1, 16, fault.ErrMalformed},
		{"one plane of two", assemble(four), 2, 2, 1, 16, fault.ErrMalformed},
		{"two planes of one", assemble(four, four), 2, 2, 1, 8, fault.ErrMalformed},
		{"more pixels than stated", assemble([]byte{5, 1, 2, 3, 4, 5, 6}), 2, 2, 1, 8, fault.ErrMalformed},
		{"another run than stated", assemble(append(slices.Clone(four), four...)), 2, 2, 1, 8, fault.ErrMalformed},
		{"fewer pixels than stated", assemble(four), 3, 2, 1, 8, fault.ErrMalformed},
		{"width 0", assemble(four), 0, 2, 1, 8, fault.ErrMalformed},
		{"negative height", assemble(four), 2, -2, 1, 8, fault.ErrMalformed},
		{"product overflows", assemble(four), 1 << 40, 1 << 40, 1, 8, fault.ErrMalformed},
		{"far too large for the stream", assemble(four), 65535, 4000, 1, 8, fault.ErrMalformed},
		{"two components", assemble(four, four), 2, 2, 2, 8, fault.ErrUnsupported},
		{"32 bits", assemble(four, four, four, four), 2, 2, 1, 32, fault.ErrUnsupported},
		{"one bit", assemble(four), 2, 2, 1, 1, fault.ErrUnsupported},
		{"empty", nil, 2, 2, 1, 8, fault.ErrMalformed},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := Decode(c.data, c.width, c.height, c.components, c.bits)
			if !errors.Is(err, c.kind) || (err == nil) != (c.kind == nil) {
				t.Fatalf("error %v, want %v", err, c.kind)
			}
			if (r == nil) != (err != nil) {
				t.Errorf("raster %v beside error %v", r, err)
			}
		})
	}
}

// seed is a stream with its pixels.
type seed struct {
	stream                         []byte
	width, height, components, top int
	pix                            []uint16
}

// seeds reads the streams of testdata and the pixels beside them (PNM).
func seeds(t testing.TB) map[string]seed {
	t.Helper()
	names, err := filepath.Glob("testdata/*.rle")
	if err != nil || len(names) == 0 {
		t.Fatalf("no streams in testdata: %v", err)
	}
	all := map[string]seed{}
	for _, name := range names {
		stream, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		pnm, err := os.ReadFile(strings.TrimSuffix(name, ".rle") + ".pnm")
		if err != nil {
			t.Fatal(err)
		}
		s := seed{stream: stream}
		var kind int
		if _, err := fmt.Sscanf(string(pnm), "P%d\n%d %d\n%d\n", &kind, &s.width, &s.height, &s.top); err != nil {
			t.Fatal(err)
		}
		s.components = 2*kind - 9 // P5 grey, P6 colour
		size, n := 1, s.width*s.height*s.components
		if s.top > 255 {
			size = 2
		}
		body := pnm[len(pnm)-n*size:]
		for i := range n {
			v := uint16(body[i*size])
			if size == 2 {
				v = v<<8 | uint16(body[2*i+1])
			}
			s.pix = append(s.pix, v)
		}
		all[strings.TrimSuffix(filepath.Base(name), ".rle")] = s
	}
	return all
}

func FuzzDecode(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s.stream, uint16(s.width), uint16(s.height), s.components == 3, s.top > 255)
	}
	f.Fuzz(func(t *testing.T, data []byte, width, height uint16, colour, wide bool) {
		components, bits := 1, 8
		if colour {
			components = 3
		}
		if wide {
			bits = 16
		}
		r, err := Decode(data, int(width), int(height), components, bits)
		if err != nil {
			return
		}
		// What decodes must survive another encoding.
		again, err := Decode(encode(r), r.Width, r.Height, r.Components, r.Bits)
		if err != nil || !slices.Equal(again.Pix, r.Pix) {
			t.Fatalf("encoding again changed the picture: %v", err)
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	for _, c := range []struct {
		name             string
		components, bits int
	}{{"grey16", 1, 16}, {"grey8", 1, 8}, {"colour8", 3, 8}} {
		b.Run(c.name, func(b *testing.B) {
			r := &codec.Raster{Width: 2000, Height: 1500, Components: c.components, Bits: c.bits, Pix: make([]uint16, 2000*1500*c.components)}
			state := uint32(1)
			for i := range r.Pix { // shading under noise of four bits
				state = state*1664525 + 1013904223
				r.Pix[i] = uint16(i/r.Components%2000*20+i/2000) + uint16(state>>28)
				r.Pix[i] &= 1<<c.bits - 1
			}
			data := encode(r)
			b.SetBytes(int64(2 * len(r.Pix)))
			for b.Loop() {
				if _, err := Decode(data, r.Width, r.Height, r.Components, r.Bits); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
