package jpeg2000

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rootrule/imaging/dicomfile/codec"
)

// A sample is a row of testdata/cases.tsv.
type sample struct {
	file                            string
	width, height, components, bits int
	signed                          bool
	reference                       string
	tolerance                       int
	options                         string
}

func samples(t testing.TB) []sample {
	t.Helper()
	text := string(readFile(t, "cases.tsv"))
	var all []sample
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(strings.TrimRight(line, "\n"), "\t")
		number := func(i int) int {
			n, err := strconv.Atoi(f[i])
			if err != nil {
				t.Fatalf("cases.tsv: %v", err)
			}
			return n
		}
		all = append(all, sample{f[0], number(1), number(2), number(3), number(4), f[5] == "true", f[6], number(7), f[8]})
	}
	if len(all) < 25 {
		t.Fatalf("cases.tsv has %d rows", len(all))
	}
	return all
}

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// synthetic is the image that the streams in testdata were made from: folded
// parabolas, a disc and a hash for noise, in integers.
func synthetic(s sample) *codec.Raster {
	r := &codec.Raster{
		Width: s.width, Height: s.height, Components: s.components, Bits: s.bits, Signed: s.signed,
		Pix: make([]uint16, s.width*s.height*s.components),
	}
	for i := range r.Pix {
		c, x, y := i%s.components, i/s.components%s.width, i/s.components/s.width
		v := x*x*3 + y*y*5 - x*y*4 + c*517
		if dx, dy := x-s.width/2, y-s.height/3; dx*dx+dy*dy < s.width*s.height/16 {
			v += 40
		}
		n := uint32(x)*1103515245 + uint32(y)*2654435761 + uint32(c)*40503 + 12345
		n = (n ^ n>>15) * 2246822519
		v = v<<max(s.bits-10, 0) + int(n>>20)&(1<<max(s.bits-5, 1)-1)
		m := 1 << s.bits
		if v &= 2*m - 1; v >= m {
			v = 2*m - 1 - v
		}
		if s.signed {
			v -= m / 2
		}
		r.Pix[i] = uint16(v)
	}
	return r
}

// reference is what a sample must decode to.
func reference(t testing.TB, s sample) *codec.Raster {
	t.Helper()
	r := synthetic(s)
	if s.reference == "image" {
		return r
	}
	raw := readFile(t, s.reference)
	n := s.width * s.height
	for i := range r.Pix {
		at := i%s.components*n + i/s.components
		if s.bits <= 8 {
			r.Pix[i] = uint16(raw[at])
		} else {
			r.Pix[i] = binary.LittleEndian.Uint16(raw[2*at:])
		}
	}
	return r
}

// compare reports a raster that is not the wanted one within a tolerance.
func compare(t testing.TB, got, want *codec.Raster, tolerance int) {
	t.Helper()
	if got.Width != want.Width || got.Height != want.Height || got.Components != want.Components || got.Bits != want.Bits || got.Signed != want.Signed || len(got.Pix) != len(want.Pix) {
		t.Fatalf("got %d × %d × %d of %d bits (signed: %t), want %d × %d × %d of %d bits (signed: %t)",
			got.Width, got.Height, got.Components, got.Bits, got.Signed, want.Width, want.Height, want.Components, want.Bits, want.Signed)
	}
	value := func(v uint16) int {
		if want.Signed {
			return int(int16(v))
		}
		return int(v)
	}
	for i := range got.Pix {
		if d := value(got.Pix[i]) - value(want.Pix[i]); d > tolerance || -d > tolerance {
			t.Fatalf("sample %d of %d is %d, want %d", i, len(got.Pix), value(got.Pix[i]), value(want.Pix[i]))
		}
	}
}
