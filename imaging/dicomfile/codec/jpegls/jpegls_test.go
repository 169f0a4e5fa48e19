package jpegls

import (
	"errors"
	"runtime/metrics"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/fault"
)

// rasters draws small pictures of all kinds of contents.
func rasters() *rapid.Generator[*codec.Raster] {
	return rapid.Custom(func(t *rapid.T) *codec.Raster {
		r := &codec.Raster{
			Width: rapid.IntRange(1, 40).Draw(t, "width"), Height: rapid.IntRange(1, 16).Draw(t, "height"),
			Components: rapid.SampledFrom([]int{1, 3}).Draw(t, "components"), Bits: rapid.IntRange(2, 16).Draw(t, "bits"),
		}
		top := uint16(1<<r.Bits - 1)
		n := r.Width * r.Height * r.Components
		switch rapid.IntRange(0, 2).Draw(t, "contents") {
		case 0:
			return texture(rapid.Uint64().Draw(t, "seed"), r.Width, r.Height, r.Components, r.Bits)
		case 1:
			r.Pix = rapid.SliceOfN(rapid.Uint16Range(0, top), n, n).Draw(t, "pix")
		default: // long runs
			r.Pix = rapid.SliceOfN(rapid.SampledFrom([]uint16{0, 0, 0, 0, 0, 0, 1, top}), n, n).Draw(t, "pix")
		}
		return r
	})
}

// drawSettings draws what an encoder may choose for a raster.
func drawSettings(t *rapid.T, r *codec.Raster) settings {
	top := 1<<r.Bits - 1
	set := settings{
		near:    rapid.SampledFrom([]int{0, 0, 1, 3, top / 2}).Draw(t, "near"),
		restart: rapid.IntRange(0, 4).Draw(t, "lines a restart interval"),
		fill:    rapid.IntRange(0, 2).Draw(t, "fill bytes"),
	}
	set.near = min(set.near, top/2, 255)
	if r.Components == 3 {
		set.interleave = Interleave(rapid.IntRange(0, 2).Draw(t, "interleave"))
	}
	if rapid.Bool().Draw(t, "preset") {
		set.preset.maxVal = max(int(slices.Max(r.Pix)), 2*set.near, set.near+1, 2)
		set.preset.reset = rapid.IntRange(3, 255).Draw(t, "reset")
		t1 := rapid.IntRange(set.near+1, set.preset.maxVal).Draw(t, "T1")
		t2 := rapid.IntRange(t1, set.preset.maxVal).Draw(t, "T2")
		set.preset.t1, set.preset.t2, set.preset.t3 = t1, t2, rapid.IntRange(t2, set.preset.maxVal).Draw(t, "T3")
	}
	return set
}

func TestEncodedPicturesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rasters().Draw(t, "raster")
		set := drawSettings(t, want)
		data := encode(want, set)
		got, err := Decode(data)
		if err != nil {
			t.Fatal(err)
		}
		if got.Width != want.Width || got.Height != want.Height || got.Components != want.Components || got.Bits != want.Bits {
			t.Fatalf("raster is %d × %d × %d of %d bits", got.Width, got.Height, got.Components, got.Bits)
		}
		for i, v := range want.Pix {
			if d := int(got.Pix[i]) - int(v); d < -set.near || d > set.near {
				t.Fatalf("sample %d is %d, want %d ± %d", i, got.Pix[i], v, set.near)
			}
		}
		info, err := ReadInfo(data)
		if wantInfo := (Info{want.Width, want.Height, want.Components, want.Bits, set.near, set.interleave}); err != nil || info != wantInfo {
			t.Fatalf("ReadInfo = %+v, %v; want %+v", info, err, wantInfo)
		}
	})
}

// The worked example of T.87 Annex H.3: a picture of 4 × 4 samples and its
// stream. The bytes are from memory; that they decode to the picture of the
// annex confirms them.
func TestWorkedExampleOfTheStandard(t *testing.T) {
	stream := []byte{
		0xFF, 0xD8, 0xFF, 0xF7, 0x00, 0x0B, 0x08, 0x00, 0x04, 0x00, 0x04, 0x01, 0x01, 0x11, 0x00,
		0xFF, 0xDA, 0x00, 0x08, 0x01, 0x01, 0x00, 0x00, 0x00, 0x00,
		0xC0, 0x00, 0x00, 0x6C, 0x80, 0x20, 0x8E, 0x01, 0xC0, 0x00, 0x00, 0x57, 0x40, 0x00, 0x00, 0x6E,
		0xE6, 0x00, 0x00, 0x01, 0xBC, 0x18, 0x00, 0x00, 0x05, 0xD8, 0x00, 0x00, 0x91, 0x60,
		0xFF, 0xD9,
	}
	want := []uint16{
		0, 0, 90, 74,
		68, 50, 43, 205,
		64, 145, 145, 145,
		100, 145, 145, 145,
	}
	got, err := Decode(stream)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Pix, want) {
		t.Errorf("pixels %v, want %v", got.Pix, want)
	}
}

// T.87 Table C.3 gives the default thresholds for lossless coding of 8 bits;
// those of 12 and 16 bits are what C.2.4.1.1.1 yields for MAXVAL 4095 and more.
func TestDefaultParameters(t *testing.T) {
	cases := []struct {
		bits, near  int
		want        [3]int32
		limit, qbpp uint
	}{
		{8, 0, [3]int32{3, 7, 21}, 32, 8},
		{12, 0, [3]int32{18, 67, 276}, 48, 12},
		{16, 0, [3]int32{18, 67, 276}, 64, 16},
		{8, 2, [3]int32{9, 17, 35}, 32, 6}, // 3 + 3·2, 7 + 5·2, 21 + 7·2; RANGE 52
		{2, 0, [3]int32{2, 3, 3}, 20, 2},   // T3 of 4 exceeds MAXVAL 3 and becomes T2
	}
	for _, c := range cases {
		q, err := newParams(c.bits, c.near, preset{})
		if err != nil {
			t.Fatal(err)
		}
		if got := [3]int32{q.t1, q.t2, q.t3}; got != c.want || q.limit != c.limit || q.qbpp != c.qbpp || q.reset != 64 {
			t.Errorf("%d bits near %d: thresholds %v, LIMIT %d, qbpp %d, RESET %d; want %v, %d, %d, 64",
				c.bits, c.near, got, q.limit, q.qbpp, q.reset, c.want, c.limit, c.qbpp)
		}
	}
}

// The definition of T.87 Code segment A.4 against the table that is made from it.
func TestGradientRegions(t *testing.T) {
	for _, near := range []int{0, 3} {
		q, err := newParams(16, near, preset{})
		if err != nil {
			t.Fatal(err)
		}
		g := q.gradients()
		for d := int32(-65535); d <= 65535; d++ {
			var want int32
			switch {
			case d <= -q.t3:
				want = -4
			case d <= -q.t2:
				want = -3
			case d <= -q.t1:
				want = -2
			case d < -q.near:
				want = -1
			case d <= q.near:
				want = 0
			case d < q.t1:
				want = 1
			case d < q.t2:
				want = 2
			case d < q.t3:
				want = 3
			default:
				want = 4
			}
			if got := g.of(d); got != want {
				t.Fatalf("near %d: region of %d is %d, want %d", near, d, got, want)
			}
		}
	}
}

// T.87 A.5.1 defines k by a loop.
func TestGolombParameter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, n := rapid.Int32Range(0, 1<<30).Draw(t, "A"), rapid.Int32Range(1, 65535).Draw(t, "N")
		k := uint(0)
		for int64(n)<<k < int64(a) {
			k++
		}
		if got := golombParameter(a, n); got != k {
			t.Fatalf("k of A %d, N %d is %d, want %d", a, n, got, k)
		}
	})
}

// FuzzDecode holds the decoder to its promises for any bytes: no panic, errors
// of a kind, a picture of the size it states, memory within the limit.
func FuzzDecode(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s.stream)
	}
	f.Add(encode(texture(1, 20, 10, 3, 8), settings{interleave: ByLine, restart: 3, preset: preset{maxVal: 255, t1: 5, t2: 9, t3: 30, reset: 20}}))
	f.Fuzz(func(t *testing.T, data []byte) {
		before := allocated()
		r, err := Decode(data)
		if used := allocated() - before; used > memoryFloor+memoryPerByte*uint64(len(data))+1<<22 {
			t.Fatalf("%d bytes of memory for a stream of %d", used, len(data))
		}
		if err != nil {
			if !errors.Is(err, fault.ErrMalformed) && !errors.Is(err, fault.ErrUnsupported) {
				t.Fatalf("an error of no kind: %v", err)
			}
			return
		}
		info, err := ReadInfo(data)
		if err != nil || info.Width != r.Width || info.Height != r.Height || len(r.Pix) != info.Width*info.Height*info.Components {
			t.Fatalf("ReadInfo = %+v, %v beside %d samples", info, err, len(r.Pix))
		}
		if slices.Max(r.Pix) >= 1<<r.Bits && r.Bits < 16 {
			t.Fatalf("a sample of %d in %d bits", slices.Max(r.Pix), r.Bits)
		}
	})
}

// allocated returns how many bytes the program has ever allocated.
func allocated() uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}
