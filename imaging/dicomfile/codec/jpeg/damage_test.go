package jpeg

import (
	"bytes"
	"errors"
	"slices"
	"testing"

	"rootrule/imaging/fault"
)

// A stream that was cut anywhere is an error, never a partial picture.
func TestCutStreamsAreRefused(t *testing.T) {
	for name, s := range seeds(t) {
		for cut := range len(s.stream) {
			if _, _, err := Decode(s.stream[:cut]); !errors.Is(err, fault.ErrMalformed) {
				t.Fatalf("%s cut after %d of %d bytes: %v", name, cut, len(s.stream), err)
			}
		}
	}
}

// So is one that was cut and closed again by an end marker.
func TestCutAndClosedStreamsAreRefused(t *testing.T) {
	for name, s := range seeds(t) {
		for cut := range len(s.stream) - 10 {
			closed := append(slices.Clone(s.stream[:cut]), 0xFF, markerEOI)
			if _, _, err := Decode(closed); !errors.Is(err, fault.ErrMalformed) {
				t.Fatalf("%s cut after %d of %d bytes and closed: %v", name, cut, len(s.stream), err)
			}
		}
	}
}

func TestPaddingBehindTheEndIsIgnored(t *testing.T) {
	for name, s := range seeds(t) {
		for _, pad := range [][]byte{{0}, make([]byte, 100), {0xFF, 0xD8, 0xFF}} {
			got, _, err := Decode(append(slices.Clone(s.stream), pad...))
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
	grey, lossless := seeds(t)["cjpeg-grey"].stream, seeds(t)["dcmtk-lossless-16bit"].stream
	restarts, progressive := seeds(t)["cjpeg-420-restart"].stream, seeds(t)["cjpeg-progressive-grey"].stream
	noTables := append(slices.Clone(grey[:bytes.Index(grey, []byte{0xFF, markerDHT})]), grey[bytes.Index(grey, []byte{0xFF, markerSOS}):]...)
	cases := []struct {
		name string
		data []byte
		kind error
	}{
		{"empty", nil, fault.ErrMalformed},
		{"no start marker", grey[2:], fault.ErrMalformed},
		{"only start and end", []byte{0xFF, markerSOI, 0xFF, markerEOI}, fault.ErrMalformed},
		{"a second start", append(slices.Clone(grey[:2]), grey...), fault.ErrMalformed},
		{"arithmetic coding", edit(t, grey, markerSOF0, -1, 0xC9), fault.ErrUnsupported},
		{"hierarchical", edit(t, grey, markerSOF0, -1, 0xC5), fault.ErrUnsupported},
		{"four components", edit(t, restarts, markerSOF0, 0, 0, 20, 8, 0, 19, 0, 23, 4), fault.ErrUnsupported},
		{"12 bits in baseline", edit(t, grey, markerSOF0, 2, 12), fault.ErrMalformed},
		{"17 bits", edit(t, lossless, 0xC3, 2, 17), fault.ErrMalformed},
		{"width 0", edit(t, grey, markerSOF0, 5, 0, 0), fault.ErrMalformed},
		{"height 0 without a later number", edit(t, grey, markerSOF0, 3, 0, 0), fault.ErrMalformed},
		{"one block row more", edit(t, grey, markerSOF0, 3, 0, 25), fault.ErrMalformed},
		{"65535 × 65535", edit(t, grey, markerSOF0, 3, 0xFF, 0xFF, 0xFF, 0xFF), fault.ErrMalformed},
		{"16000 × 16000", edit(t, grey, markerSOF0, 3, 0x3E, 0x80, 0x3E, 0x80), fault.ErrMalformed},
		{"sampling factor 0", edit(t, restarts, markerSOF0, 9, 0x02), fault.ErrMalformed},
		{"sampling factor 5", edit(t, restarts, markerSOF0, 9, 0x51), fault.ErrMalformed},
		{"two components alike", edit(t, restarts, markerSOF0, 11, 1), fault.ErrMalformed},
		{"quantisation table missing", edit(t, grey, markerSOF0, 10, 3), fault.ErrMalformed},
		{"huffman tables missing", noTables, fault.ErrMalformed},
		{"huffman table over-full", edit(t, grey, markerDHT, 3, 3), fault.ErrMalformed},
		{"huffman table 7", edit(t, grey, markerDHT, 2, 7), fault.ErrMalformed},
		{"huffman table too long", edit(t, grey, markerDHT, 0, 0xFF, 0xFF), fault.ErrMalformed},
		{"scan of an unknown component", edit(t, grey, markerSOS, 3, 9), fault.ErrMalformed},
		{"scan of a component twice", edit(t, restarts, markerSOS, 5, 1), fault.ErrMalformed},
		{"scan of four components", edit(t, grey, markerSOS, 2, 4), fault.ErrMalformed},
		{"progressive scan of half the bits", edit(t, progressive, markerSOS, 7, 0x02), fault.ErrMalformed},
		{"lossless predictor 0", edit(t, lossless, markerSOS, 5, 0), fault.ErrMalformed},
		{"lossless predictor 8", edit(t, lossless, markerSOS, 5, 8), fault.ErrMalformed},
		{"lossless point transform of all bits", edit(t, lossless, markerSOS, 7, 15, 0xFF), fault.ErrMalformed},
		{"restart marker out of turn", edit(t, restarts, markerRST0, -1, markerRST0+3), fault.ErrMalformed},
		{"restart marker missing", edit(t, restarts, markerRST0, -2, 0, 0), fault.ErrMalformed},
		{"restart interval of another length", edit(t, restarts, markerDRI, 2, 0, 3), fault.ErrMalformed},
		{"progressive scan repeated", edit(t, progressive, markerSOS, 7, 0x11), fault.ErrMalformed},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, _, err := Decode(c.data)
			if !errors.Is(err, c.kind) {
				t.Fatalf("error %v, want %v", err, c.kind)
			}
			if r != nil {
				t.Error("a picture comes with the error")
			}
		})
	}
}
