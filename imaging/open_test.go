package imaging

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rootrule/measure"
)

const rampW, rampH = 7, 5

// ramp is the formula of testdata/README.md.
func ramp(x, y int) uint16 { return uint16(9000*x + 1000*y + 7*x*y) }

func ramp8(x, y int) uint16 { return ramp(x, y) >> 8 }

func mustOpen(t *testing.T, name string) *Image {
	t.Helper()
	m, err := Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func checkPix(t *testing.T, m *Image, want func(x, y int) uint16) {
	t.Helper()
	if m.Width != rampW || m.Height != rampH {
		t.Fatalf("size %d×%d, want %d×%d", m.Width, m.Height, rampW, rampH)
	}
	for y := range rampH {
		for x := range rampW {
			if got := m.Pix[y*rampW+x]; got != want(x, y) {
				t.Fatalf("pixel (%d,%d) = %d, want %d", x, y, got, want(x, y))
			}
		}
	}
}

func TestOpenFilesOfAnotherWriter(t *testing.T) {
	cases := []struct {
		file  string
		bits  int
		white bool
		want  func(x, y int) uint16
	}{
		{"ramp16_none_lsb.tif", 16, false, ramp},
		{"ramp16_none_msb.tif", 16, false, ramp},
		{"ramp16_lzw_lsb.tif", 16, false, ramp},
		{"ramp16_lzw_msb.tif", 16, false, ramp},
		{"ramp16_zip_lsb.tif", 16, false, ramp},
		{"ramp16_zip_msb.tif", 16, false, ramp},
		{"ramp16_whitezero.tif", 16, true, ramp},
		{"ramp8_none_lsb.tif", 8, false, ramp8},
		{"ramp8_none_msb.tif", 8, false, ramp8},
		{"ramp8_lzw_lsb.tif", 8, false, ramp8},
		{"ramp8_lzw_msb.tif", 8, false, ramp8},
		{"ramp8_zip_lsb.tif", 8, false, ramp8},
		{"ramp8_zip_msb.tif", 8, false, ramp8},
		{"ramp8_whitezero.tif", 8, true, ramp8},
		{"ramp24.bmp", 8, false, ramp8},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			m := mustOpen(t, c.file)
			if m.Bits != c.bits || m.WhiteIsZero != c.white {
				t.Errorf("bits %d, white is zero %v; want %d, %v", m.Bits, m.WhiteIsZero, c.bits, c.white)
			}
			checkPix(t, m, c.want)
		})
	}
}

func TestResolutionTagIsScanPlaneOnly(t *testing.T) {
	for _, file := range []string{"ramp16_none_lsb.tif", "ramp16_lzw_msb.tif"} {
		m := mustOpen(t, file)
		// 508 per inch = 20 per mm (25.4 mm an inch, NIST SP 811).
		if math.Abs(m.Spacing.ColMM-0.05) > 1e-9 || math.Abs(m.Spacing.RowMM-0.05) > 1e-9 || m.Spacing.Kind != measure.SpacingScan {
			t.Errorf("%s: spacing %+v, want 0.05 mm in the scan plane", file, m.Spacing)
		}
	}
}

func encodePNG(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// picture fills a picture of the ramp's size.
func picture[M interface {
	image.Image
	Set(x, y int, c color.Color)
}](m M, at func(x, y int) color.Color) M {
	for y := range rampH {
		for x := range rampW {
			m.Set(x, y, at(x, y))
		}
	}
	return m
}

func TestDecodePNG(t *testing.T) {
	r := image.Rect(0, 0, rampW, rampH)
	grey16 := func(x, y int) color.Color { return color.Gray16{Y: ramp(x, y)} }
	grey8 := func(x, y int) color.Color { return color.Gray{Y: uint8(ramp8(x, y))} }
	red := func(x, y int) color.Color { return color.NRGBA{R: uint8(ramp8(x, y)), A: 255} }
	equal := func(x, y int) color.Color {
		v := uint8(ramp8(x, y))
		return color.NRGBA{v, v, v, 255}
	}
	clear := func(x, y int) color.Color {
		v := ramp(x, y)
		return color.NRGBA64{v, v, v, 0x8000}
	}
	cases := []struct {
		name    string
		m       image.Image
		bits    int
		want    func(x, y int) uint16
		caution string
	}{
		{"grey 16", picture(image.NewGray16(r), grey16), 16, ramp, ""},
		{"grey 8", picture(image.NewGray(r), grey8), 8, ramp8, ""},
		{"equal channels", picture(image.NewNRGBA(r), equal), 8, ramp8, ""},
		{"red only", picture(image.NewNRGBA(r), red), 8, func(x, y int) uint16 {
			v := uint32(ramp8(x, y))
			return uint16(Luma(v*257, 0, 0) >> 8)
		}, "colour"},
		{"half transparent", picture(image.NewNRGBA64(r), clear), 16, ramp, "transparency"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m, err := Decode("x.png", encodePNG(t, c.m))
			if err != nil {
				t.Fatal(err)
			}
			if m.Bits != c.bits {
				t.Errorf("bits %d, want %d", m.Bits, c.bits)
			}
			checkPix(t, m, c.want)
			all := strings.Join(m.Cautions, "; ")
			if (c.caution == "") != (all == "") || !strings.Contains(all, c.caution) {
				t.Errorf("cautions %q, want %q", all, c.caution)
			}
		})
	}
}

// withPHYs puts a resolution chunk behind the header of a PNG.
func withPHYs(data []byte, perMetre uint32) []byte {
	chunk := []byte{0, 0, 0, 9, 'p', 'H', 'Y', 's', 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0}
	binary.BigEndian.PutUint32(chunk[8:], perMetre)
	binary.BigEndian.PutUint32(chunk[12:], perMetre)
	head := 8 + 25 // signature and IHDR
	return append(append(append([]byte{}, data[:head]...), chunk...), data[head:]...)
}

func TestPNGResolution(t *testing.T) {
	data := encodePNG(t, image.NewGray(image.Rect(0, 0, 3, 2)))
	cases := []struct {
		name     string
		perMetre uint32
		wantMM   float64 // 0: not used
		caution  bool
	}{
		{"50 µm", 20000, 0.05, false},
		{"72 per inch is a default", 2835, 0, true},
		{"96 per inch is a default", 3780, 0, true},
		{"10 mm is absurd", 100, 0, true},
		{"1 µm is absurd", 1_000_000, 0, true},
		{"none", 0, 0, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := pngTags(withPHYs(data, c.perMetre))
			if math.Abs(got.spacing.ColMM-c.wantMM) > 1e-12 || (len(got.cautions) > 0) != c.caution {
				t.Errorf("spacing %v mm, cautions %q", got.spacing.ColMM, got.cautions)
			}
		})
	}
}

// exifSegment is an APP1 segment with one orientation entry.
func exifSegment(turn Turn, order binary.ByteOrder) []byte {
	dir := make([]byte, 8+2+12+4)
	copy(dir, "II*\x00")
	if order == binary.BigEndian {
		copy(dir, "MM\x00*")
	}
	order.PutUint32(dir[4:], 8)
	order.PutUint16(dir[8:], 1)
	order.PutUint16(dir[10:], tagOrientation)
	order.PutUint16(dir[12:], 3)
	order.PutUint32(dir[14:], 1)
	order.PutUint16(dir[18:], uint16(turn))
	body := append([]byte("Exif\x00\x00"), dir...)
	return append([]byte{0xff, 0xe1, 0, byte(len(body) + 2)}, body...)
}

// TestJPEGTurn checks all eight orientations (Exif 2.32, 4.6.4, 0x0112) by
// where a dark first corner of the stored picture must end.
func TestJPEGTurn(t *testing.T) {
	const w, h = 48, 32
	src := image.NewGray(image.Rect(0, 0, w, h))
	for i := range src.Pix {
		src.Pix[i] = 250
	}
	for y := range 8 {
		for x := range 8 {
			src.SetGray(x, y, color.Gray{Y: 5})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, src, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	for turn, corner := range map[Turn]string{1: "top left", 2: "top right", 3: "bottom right", 4: "bottom left",
		5: "top left", 6: "top right", 7: "bottom right", 8: "bottom left"} {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			data := append(append([]byte{0xff, 0xd8}, exifSegment(turn, order)...), b.Bytes()[2:]...)
			m, err := Decode("x.jpg", data)
			if err != nil {
				t.Fatal(err)
			}
			if got := darkCorner(m); got != corner {
				t.Errorf("turn %d: dark corner at %s, want %s", turn, got, corner)
			}
			if wide := m.Width > m.Height; wide != (turn < TurnTranspose) {
				t.Errorf("turn %d: %d×%d", turn, m.Width, m.Height)
			}
		}
	}
}

func darkCorner(m *Image) string {
	for name, p := range map[string][2]int{"top left": {2, 2}, "top right": {m.Width - 3, 2},
		"bottom left": {2, m.Height - 3}, "bottom right": {m.Width - 3, m.Height - 3}} {
		if m.At(p[0], p[1]) < 60 {
			return name
		}
	}
	return "nowhere"
}

func TestDamagedAndUnsupportedAreTold(t *testing.T) {
	whole := encodePNG(t, picture(image.NewGray16(image.Rect(0, 0, 64, 64)), func(x, y int) color.Color { return color.Gray16{Y: ramp(x, y)} }))
	huge := append([]byte{}, whole...)
	binary.BigEndian.PutUint32(huge[16:], 50_000) // width in IHDR; the checksum comes later
	lzw, err := os.ReadFile("testdata/ramp16_lzw_msb.tif")
	if err != nil {
		t.Fatal(err)
	}
	cases := []struct {
		name string
		data []byte
		kind error
	}{
		{"empty", nil, ErrMalformed},
		{"text", []byte("dear colleague"), ErrUnsupported},
		{"cut PNG", whole[:len(whole)/2], ErrMalformed},
		{"PNG with a wrong size", huge, ErrMalformed},
		{"cut TIFF", lzw[:60], ErrMalformed},
		{"two bytes of JPEG", []byte("\xff\xd8\xff"), ErrMalformed},
		{"BMP header alone", []byte("BM\x00\x00"), ErrMalformed},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Decode("x", c.data)
			if !errors.Is(err, c.kind) {
				t.Errorf("error %v, want kind %v", err, c.kind)
			}
			if err != nil && !strings.Contains(err.Error(), ": ") {
				t.Errorf("error %q doesn't say what to do", err)
			}
		})
	}
}

// A flat picture packs to little; cut short, it must fail before its size is
// believed.
func TestHeaderCantMakeUsAllocate(t *testing.T) {
	big := encodePNG(t, image.NewGray(image.Rect(0, 0, 10000, 2000))) // flat, so small
	if _, err := Decode("flat.png", big); err != nil {
		t.Fatalf("a flat picture of legal size: %v", err)
	}
	cut := big[:2000]
	if _, err := Decode("bomb.png", cut); !errors.Is(err, ErrMalformed) {
		t.Errorf("error %v, want a damaged file", err)
	}
}

func FuzzDecode(f *testing.F) {
	entries, err := os.ReadDir("testdata")
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range entries {
		if data, err := os.ReadFile(filepath.Join("testdata", e.Name())); err == nil && !e.IsDir() {
			f.Add(data)
		}
	}
	var j bytes.Buffer
	if err := jpeg.Encode(&j, image.NewGray(image.Rect(0, 0, 9, 9)), nil); err != nil {
		f.Fatal(err)
	}
	f.Add(j.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := Decode("fuzz", data)
		if err == nil && len(m.Pix) != m.Width*m.Height {
			t.Errorf("%d×%d with %d pixels", m.Width, m.Height, len(m.Pix))
		}
		if err != nil && !errors.Is(err, ErrMalformed) && !errors.Is(err, ErrUnsupported) {
			t.Errorf("an error of neither kind: %v", err)
		}
	})
}
