package jpegls

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// seed is a stream of another encoder with the pixels that other decoders find
// in it; testdata/README.md tells where they come from.
type seed struct {
	stream []byte
	want   codec.Raster // without Bits
	top    int
}

func seeds(t testing.TB) map[string]seed {
	t.Helper()
	names, err := filepath.Glob("testdata/*.jls")
	if err != nil || len(names) == 0 {
		t.Fatalf("no streams in testdata: %v", err)
	}
	all := map[string]seed{}
	for _, name := range names {
		base := strings.TrimSuffix(name, ".jls")
		s := readPNM(t, base+".pnm")
		if s.stream, err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(base)] = s
	}
	return all
}

func readPNM(t testing.TB, name string) (s seed) {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var kind int
	if _, err := fmt.Sscanf(string(data), "P%d\n%d %d\n%d\n", &kind, &s.want.Width, &s.want.Height, &s.top); err != nil {
		t.Fatal(err)
	}
	s.want.Components = 2*kind - 9 // P5 grey, P6 colour
	size, n := 1, s.want.Width*s.want.Height*s.want.Components
	if s.top > 255 {
		size = 2
	}
	body := data[len(data)-n*size:]
	for i := range n {
		v := uint16(body[i*size])
		if size == 2 {
			v = v<<8 | uint16(body[2*i+1])
		}
		s.want.Pix = append(s.want.Pix, v)
	}
	return s
}

func TestStreamsOfOtherEncoders(t *testing.T) {
	for name, s := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			got, err := Decode(s.stream)
			if err != nil {
				t.Fatal(err)
			}
			if got.Width != s.want.Width || got.Height != s.want.Height || got.Components != s.want.Components {
				t.Fatalf("raster is %d × %d × %d", got.Width, got.Height, got.Components)
			}
			if !slices.Equal(got.Pix, s.want.Pix) {
				t.Error("pixels differ")
			}
		})
	}
}

// A stream that was cut anywhere is an error, never a partial picture; so is one
// that was closed again by an end marker.
func TestCutStreamsAreRefused(t *testing.T) {
	for name, s := range seeds(t) {
		end := len(s.stream)
		for s.stream[end-1] != markerEOI {
			end-- // padding
		}
		for cut := range end {
			if _, err := Decode(s.stream[:cut]); !errors.Is(err, fault.ErrMalformed) {
				t.Fatalf("%s cut after %d of %d bytes: %v", name, cut, len(s.stream), err)
			}
		}
		for cut := range end - 10 {
			closed := append(slices.Clone(s.stream[:cut]), 0xFF, markerEOI)
			if _, err := Decode(closed); err == nil {
				t.Fatalf("%s cut after %d of %d bytes and closed is a picture", name, cut, len(s.stream))
			}
		}
	}
}

func TestPaddingBehindTheEndIsIgnored(t *testing.T) {
	for name, s := range seeds(t) {
		for _, pad := range [][]byte{{0}, make([]byte, 100), {0xFF, 0xD8, 0xFF}} {
			got, err := Decode(append(slices.Clone(s.stream), pad...))
			if err != nil || !slices.Equal(got.Pix, s.want.Pix) {
				t.Errorf("%s with %d bytes behind it: %v", name, len(pad), err)
			}
		}
	}
}

// edit returns a stream with the bytes behind the first marker of a kind
// replaced from an offset into its segment on (0 is the first length byte).
func edit(t *testing.T, stream []byte, marker byte, offset int, bytes ...byte) []byte {
	t.Helper()
	out := slices.Clone(stream)
	for i := 0; i+1 < len(out); i++ {
		if out[i] == 0xFF && out[i+1] == marker {
			copy(out[i+2+offset:], bytes)
			return out
		}
	}
	t.Fatalf("no marker ff%02x", marker)
	return nil
}

func TestDecodeChecksTheStream(t *testing.T) {
	grey := encode(texture(1, 20, 16, 1, 12), settings{preset: preset{maxVal: 4095, t1: 18, t2: 67, t3: 276, reset: 64}})
	colour := encode(texture(1, 20, 16, 3, 8), settings{interleave: ByLine, restart: 5})
	cases := []struct {
		name string
		data []byte
		kind error
	}{
		{"empty", nil, fault.ErrMalformed},
		{"no start marker", grey[2:], fault.ErrMalformed},
		{"only start and end", []byte{0xFF, markerSOI, 0xFF, markerEOI}, fault.ErrMalformed},
		{"a second start", append(slices.Clone(grey[:2]), grey...), fault.ErrMalformed},
		{"frame header of baseline JPEG", edit(t, grey, markerSOF55, -1, 0xC0), fault.ErrMalformed},
		{"1 bit", edit(t, grey, markerSOF55, 2, 1), fault.ErrMalformed},
		{"17 bits", edit(t, grey, markerSOF55, 2, 17), fault.ErrMalformed},
		{"height 0", edit(t, grey, markerSOF55, 3, 0, 0), fault.ErrUnsupported},
		{"a line more", edit(t, grey, markerSOF55, 3, 0, 17), fault.ErrMalformed},
		{"half the lines", edit(t, grey, markerSOF55, 3, 0, 8), fault.ErrMalformed},
		{"65535 lines", edit(t, grey, markerSOF55, 3, 0xFF, 0xFF), fault.ErrMalformed},
		{"2000 lines of 65535", edit(t, grey, markerSOF55, 3, 0x07, 0xD0, 0xFF, 0xFF), fault.ErrUnsupported},
		{"two components", edit(t, colour, markerSOF55, 0, 0, 14, 8, 0, 16, 0, 20, 2), fault.ErrUnsupported},
		{"subsampled", edit(t, colour, markerSOF55, 9, 0x21), fault.ErrUnsupported},
		{"two components alike", edit(t, colour, markerSOF55, 11, 1), fault.ErrMalformed},
		{"largest sample beyond the bits", edit(t, grey, markerLSE, 3, 0x10, 0x00), fault.ErrMalformed},
		{"thresholds that fall", edit(t, grey, markerLSE, 7, 0, 17), fault.ErrMalformed},
		{"reset of 1", edit(t, grey, markerLSE, 11, 0, 1), fault.ErrMalformed},
		{"mapping table", edit(t, grey, markerLSE, 2, 2), fault.ErrUnsupported},
		{"mapping table of a scan", edit(t, grey, markerSOS, 4, 1), fault.ErrUnsupported},
		{"scan of an unknown component", edit(t, grey, markerSOS, 3, 9), fault.ErrMalformed},
		{"scan of a component twice", edit(t, colour, markerSOS, 5, 1), fault.ErrMalformed},
		{"scan of two components", edit(t, colour, markerSOS, 0, 0, 10, 2, 1, 0, 2, 0, 0, 1, 0), fault.ErrUnsupported},
		{"three components not interleaved", edit(t, colour, markerSOS, 10, 0), fault.ErrMalformed},
		{"interleave mode 3", edit(t, colour, markerSOS, 10, 3), fault.ErrMalformed},
		{"allowed error of half the range", edit(t, colour, markerSOS, 9, 200), fault.ErrMalformed},
		{"point transform", edit(t, grey, markerSOS, 7, 2), fault.ErrUnsupported},
		{"restart marker out of turn", edit(t, colour, markerRST0, -1, markerRST0+3), fault.ErrMalformed},
		{"restart interval of another length", edit(t, colour, markerDRI, 2, 0, 7), fault.ErrMalformed},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := Decode(c.data)
			if !errors.Is(err, c.kind) {
				t.Fatalf("error %v, want %v", err, c.kind)
			}
			if r != nil {
				t.Error("a picture comes with the error")
			}
		})
	}
}
