package jpeg

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rootrule/imaging/dicomfile/codec"
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
	names, err := filepath.Glob("testdata/*.jpg")
	if err != nil || len(names) == 0 {
		t.Fatalf("no streams in testdata: %v", err)
	}
	all := map[string]seed{}
	for _, name := range names {
		base := strings.TrimSuffix(name, ".jpg")
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

// Every pixel must be that of dcmtk's decoder, lossy streams included: the
// inverse DCT and the interpolation are the same.
func TestStreamsOfOtherEncoders(t *testing.T) {
	for name, s := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			got, info, err := Decode(s.stream)
			if err != nil {
				t.Fatal(err)
			}
			s.want.Bits = info.Bits
			checkSizes(t, got, info, &s.want)
			if !slices.Equal(got.Pix, s.want.Pix) {
				t.Error("pixels differ")
			}
			if ahead, err := ReadInfo(s.stream); err != nil || ahead != info {
				t.Errorf("ReadInfo = %+v, %v; want %+v", ahead, err, info)
			}
		})
	}
}

// What the headers say, looked up by hand in dumps of the streams.
func TestInfo(t *testing.T) {
	all := seeds(t)
	equal := [3][2]int{{1, 1}, {1, 1}, {1, 1}}
	cases := []struct {
		name  string
		want  Info
		ycbcr bool
	}{
		{"cjpeg-grey", Info{Process: Baseline, Width: 25, Height: 21, Components: 1, Bits: 8, IDs: [3]byte{1}, Sampling: [3][2]int{{1, 1}}, JFIF: true}, false},
		{"cjpeg-420-restart", Info{Process: Baseline, Width: 23, Height: 19, Components: 3, Bits: 8, IDs: [3]byte{1, 2, 3},
			Sampling: [3][2]int{{2, 2}, {1, 1}, {1, 1}}, JFIF: true}, true},
		{"cjpeg-rgb", Info{Process: Baseline, Width: 23, Height: 19, Components: 3, Bits: 8, IDs: [3]byte{'R', 'G', 'B'},
			Sampling: equal, Adobe: true}, false},
		{"cjpeg-progressive-grey", Info{Process: Progressive, Width: 25, Height: 21, Components: 1, Bits: 8, IDs: [3]byte{1}, Sampling: [3][2]int{{1, 1}}, JFIF: true}, false},
		{"dcmtk-extended-12bit", Info{Process: Extended, Width: 41, Height: 30, Components: 1, Bits: 12, IDs: [3]byte{1}, Sampling: [3][2]int{{1, 1}}, JFIF: true}, false},
		{"dcmtk-lossless-rgb", Info{Process: Lossless, Width: 23, Height: 19, Components: 3, Bits: 8, IDs: [3]byte{0, 1, 2}, Sampling: equal}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadInfo(all[c.name].stream)
			if err != nil {
				t.Fatal(err)
			}
			if got != c.want {
				t.Errorf("info is %+v, want %+v", got, c.want)
			}
			if got.YCbCr() != c.ycbcr {
				t.Errorf("YCbCr = %v", got.YCbCr())
			}
		})
	}
}
