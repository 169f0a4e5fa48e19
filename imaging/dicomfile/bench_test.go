package dicomfile

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/internal/inputs"
)

// BenchmarkSeries reads a volume of 400 slices of 512×512 signed 16-bit samples
// from disk into memory.
func BenchmarkSeries(b *testing.B) {
	folder := b.TempDir()
	pixels := ramp(512*512, 16)
	for i := range 400 {
		s := ctSlice("1.2.3", fmt.Sprint(i), fmt.Sprintf(`0\0\%g`, float64(i)/10), `1\0\0\0\1\0`, 0)
		s.attrs = with(s.attrs, us(tag.Rows, 512), us(tag.Columns, 512), us(tag.PixelRepresentation, 1), attr{tag.PixelData, "OW", pixels})
		write(b, filepath.Join(folder, fmt.Sprintf("%03d", i)), s)
	}
	b.SetBytes(400 * 512 * 512 * 2)
	for b.Loop() {
		found, err := Scan(folder)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := found.Series[0].Frames(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkHeader reads the header of a slice.
func BenchmarkHeader(b *testing.B) {
	data := ctSlice("1.2.3", "1", `0\0\0`, `1\0\0\0\1\0`, 0).bytes(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(data); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFrame reads a native picture of 2000×1500 samples of 16 bits.
func BenchmarkFrame(b *testing.B) {
	f := mustRead(b, build{attrs: picture(1500, 2000, 16, 16, ramp(1500*2000, 16))})
	b.SetBytes(1500 * 2000 * 2)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f.Frame(0); err != nil {
			b.Fatal(err)
		}
	}
}

// benchmarkDecode opens a compressed picture of 2000×1500 samples of 16 bits
// that another library has written, and decodes it.
func benchmarkDecode(b *testing.B, name string) {
	path := inputs.Path(b, name)
	for b.Loop() {
		f, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := f.Frame(0); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecodeJPEGLossless(b *testing.B) { benchmarkDecode(b, "ljpeg.dcm") }
func BenchmarkDecodeJPEGLS(b *testing.B)       { benchmarkDecode(b, "jls.dcm") }
func BenchmarkDecodeRLE(b *testing.B)          { benchmarkDecode(b, "rle.dcm") }
func BenchmarkDecodeJPEG2000(b *testing.B)     { benchmarkDecode(b, "j2k.dcm") }
