package jpeg2000

import (
	"os"
	"path/filepath"
	"testing"
)

// FuzzDecode looks for panics, hangs, memory and rasters that are not what the
// header says.
func FuzzDecode(f *testing.F) {
	names, err := filepath.Glob("testdata/*.j[2p]*")
	if err != nil || len(names) == 0 {
		f.Fatal("no seeds", err)
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if len(data) < 5000 {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		checkHostile(t, data, nil)
		r, err := Decode(data)
		if err != nil {
			return
		}
		h, err := ReadHeader(data)
		if err != nil {
			t.Fatal("decoded without a header:", err)
		}
		if r.Width != h.Width || r.Height != h.Height || r.Components != h.Components || len(r.Pix) != r.Width*r.Height*r.Components {
			t.Fatalf("raster %d × %d × %d with %d samples, header %+v", r.Width, r.Height, r.Components, len(r.Pix), h)
		}
	})
}
