package jpeg

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging/dicomfile/codec"
)

// rasters draws small pictures of all kinds of contents.
func rasters(components []int, low, high int) *rapid.Generator[*codec.Raster] {
	return rapid.Custom(func(t *rapid.T) *codec.Raster {
		r := &codec.Raster{
			Width: rapid.IntRange(1, 24).Draw(t, "width"), Height: rapid.IntRange(1, 16).Draw(t, "height"),
			Components: rapid.SampledFrom(components).Draw(t, "components"), Bits: rapid.IntRange(low, high).Draw(t, "bits"),
		}
		if rapid.Bool().Draw(t, "smooth") {
			return texture(rapid.Uint64().Draw(t, "seed"), r.Width, r.Height, r.Components, r.Bits)
		}
		n := r.Width * r.Height * r.Components
		r.Pix = rapid.SliceOfN(rapid.Uint16Range(0, uint16(1<<r.Bits-1)), n, n).Draw(t, "pix")
		return r
	})
}

// scanOrders are the ways to spread three components over scans.
var scanOrders = [][][]int{nil, {{0}, {1}, {2}}, {{2}, {0}, {1}}, {{0, 2}, {1}}, {{1}, {0, 2}}}

func TestLosslessPicturesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rasters([]int{1, 3}, 2, 16).Draw(t, "raster")
		set := settings{
			process:   Lossless,
			predictor: rapid.IntRange(1, 7).Draw(t, "predictor"),
			point:     uint(rapid.IntRange(0, want.Bits-1).Draw(t, "point transform")),
			restart:   want.Width * rapid.IntRange(0, 3).Draw(t, "lines a restart interval"),
			lateLines: rapid.Bool().Draw(t, "late number of lines"),
			fill:      rapid.IntRange(0, 2).Draw(t, "fill bytes"),
		}
		if want.Components == 3 {
			set.scans = rapid.SampledFrom(scanOrders).Draw(t, "scans")
		}
		got, info, err := Decode(encode(want, set))
		if err != nil {
			t.Fatal(err)
		}
		checkSizes(t, got, info, want)
		for i, v := range want.Pix {
			if v = v >> set.point << set.point; got.Pix[i] != v {
				t.Fatalf("sample %d is %d, want %d", i, got.Pix[i], v)
			}
		}
	})
}

type fatal interface {
	Helper()
	Fatalf(string, ...any)
}

func checkSizes(t fatal, got *codec.Raster, info Info, want *codec.Raster) {
	t.Helper()
	if got.Width != want.Width || got.Height != want.Height || got.Components != want.Components || got.Bits != want.Bits || got.Signed {
		t.Fatalf("raster is %d × %d × %d of %d bits, want %d × %d × %d of %d", got.Width, got.Height, got.Components, got.Bits,
			want.Width, want.Height, want.Components, want.Bits)
	}
	if info.Width != want.Width || info.Height != want.Height || info.Components != want.Components || info.Bits != want.Bits {
		t.Fatalf("info is %+v", info)
	}
}

// An encoder that was given sign-extended samples of fewer bits codes their
// differences modulo 2^16, so all 16 bits come back (H.1.2.1).
func TestSignExtendedSamplesComeBack(t *testing.T) {
	want := &codec.Raster{Width: 4, Height: 2, Components: 1, Bits: 12, Pix: []uint16{0xF800, 0x07FF, 0, 0xFFFF, 1, 0xFFFE, 0x0400, 0xFC00}}
	for predictor := 1; predictor <= 7; predictor++ {
		got, _, err := Decode(encode(want, settings{process: Lossless, predictor: predictor}))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got.Pix, want.Pix) {
			t.Errorf("predictor %d: %04x, want %04x", predictor, got.Pix, want.Pix)
		}
	}
}

// T.81 Table H.1 by hand: a = 10 to the left, b = 21 above, c = 4 above left.
func TestPredictors(t *testing.T) {
	for predictor, want := range []uint16{1: 10, 2: 21, 3: 4, 4: 27, 5: 18, 6: 24, 7: 15} {
		if predictor == 0 {
			continue
		}
		if got := predict(predictor, 10, 21, 4); got != want {
			t.Errorf("predictor %d gives %d, want %d", predictor, got, want)
		}
	}
	// Halves are rounded down, below zero as well: 5: 4 + (10−21)/2 → 4 − 6.
	if got := int16(predict(5, 4, 10, 21)); got != -2 {
		t.Errorf("predictor 5 gives %d, want -2", got)
	}
}

// A category of 16 has no extra bits and means a difference of 32768 (T.81
// H.1.2.2): 0 after 32768 the longest way round.
func TestLargestDifference(t *testing.T) {
	want := &codec.Raster{Width: 3, Height: 1, Components: 1, Bits: 16, Pix: []uint16{0, 32768, 0}}
	got, _, err := Decode(encode(want, settings{process: Lossless, predictor: 1}))
	if err != nil || !slices.Equal(got.Pix, want.Pix) {
		t.Errorf("%v, %v; want %v", got, err, want.Pix)
	}
}
