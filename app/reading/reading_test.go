package reading

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"rootrule/imaging"
	"rootrule/measure"
)

// disc is a PNG of a dark disc on bright ground.
func disc(t *testing.T) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 120, 100))
	for y := range 100 {
		for x := range 120 {
			v := uint8(180 + (x*7+y*13)%9)
			if (x-60)*(x-60)+(y-50)*(y-50) < 20*20 {
				v -= 80
			}
			m.SetGray(x, y, color.Gray{Y: v})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// counted gives one original and counts how often it is asked for.
type counted struct {
	data  []byte
	times atomic.Int32
}

func (c *counted) Original(string) ([]byte, error) {
	c.times.Add(1)
	return c.data, nil
}

func TestImageIsDecodedOnce(t *testing.T) {
	from := &counted{data: disc(t)}
	r := New(from)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			if m, err := r.Image("pre", "pre.png"); err != nil || m.Width != 120 {
				t.Errorf("image %v, error %v", m, err)
			}
		})
	}
	wait.Wait()
	if n := from.times.Load(); n != 1 {
		t.Errorf("the original was asked for %d times, want once", n)
	}
}

func TestDamagedOriginalSaysSo(t *testing.T) {
	r := New(&counted{data: disc(t)[:200]})
	if _, err := r.Image("pre", "pre.png"); !errors.Is(err, imaging.ErrMalformed) {
		t.Errorf("error %v, want a damaged file", err)
	}
}

const discMarks = `{"version":1,"images":[{"id":"pre","file":"pre.png",
 "lesions":[{"tooth":"37","name":"D","outline":[[80,50],[60,70],[40,50],[60,30]]}]}]}`

func value(findings []measure.Finding, what string) measure.Finding {
	for _, f := range findings {
		if f.What == what {
			return f
		}
	}
	return measure.Finding{Quantity: measure.Undefined(measure.One)}
}

// TestFileFindsImagesBesideIt: what only the pixels can give is there with the
// image and undefined without it; the geometry is the same either way.
func TestFileFindsImagesBesideIt(t *testing.T) {
	dir := t.TempDir()
	marks := filepath.Join(dir, "marks.json")
	if err := os.WriteFile(marks, []byte(discMarks), 0o600); err != nil {
		t.Fatal(err)
	}
	without, missing, err := File(marks)
	if err != nil || len(missing) != 1 || !errors.Is(missing[0], fs.ErrNotExist) {
		t.Fatalf("without the image: missing %v, error %v", missing, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "pre.png"), disc(t), 0o600); err != nil {
		t.Fatal(err)
	}
	with, missing, err := File(marks)
	if err != nil || len(missing) != 0 {
		t.Fatalf("with the image: missing %v, error %v", missing, err)
	}
	if a, b := value(without, measure.WhatArea), value(with, measure.WhatArea); a.Value != b.Value {
		t.Errorf("area %v without, %v with the image", a.Value, b.Value)
	}
	if c := value(without, measure.WhatContrast); c.Defined() {
		t.Errorf("contrast %v without pixels", c.Value)
	}
	if c := value(with, measure.WhatContrast); !c.Defined() || c.Value > -3 {
		t.Errorf("contrast %v of a dark disc, want well below nothing", c.Value)
	}
}

// TestImagesUsedLastAreKept: of five images of 24 kB two fit; the others are
// decoded again when they are asked for, and what they state stays known.
func TestImagesUsedLastAreKept(t *testing.T) {
	from := &counted{data: disc(t)}
	r := New(from)
	r.most = 2 * 2 * 120 * 100
	see := func(id string) {
		t.Helper()
		if m, err := r.Image(id, "x.png"); err != nil || m.Width != 120 {
			t.Fatalf("image %v, error %v", m, err)
		}
	}
	for _, id := range []string{"a", "b", "a", "c", "a"} { // b is the one used longest ago
		see(id)
	}
	if n := from.times.Load(); n != 3 {
		t.Errorf("three images were decoded %d times", n)
	}
	see("b")
	see("a")
	if n := from.times.Load(); n != 4 {
		t.Errorf("after the one given up was asked for again: %d times, want 4", n)
	}
	marks := measure.Marks{Version: 1, Images: []measure.ImageMarks{{ID: "a"}, {ID: "b"}, {ID: "c"}}}
	r.Findings(marks)
	if n := from.times.Load(); n != 4 {
		t.Errorf("findings without grey values decode images again: %d times", n)
	}
	if _, err := r.Passing("c", "x.png"); err != nil || from.times.Load() != 5 || r.got["c"].image != nil {
		t.Errorf("an image in passing is kept (%v)", err)
	}
	if _, err := r.Passing("a", "x.png"); err != nil || from.times.Load() != 5 {
		t.Errorf("an image at hand is decoded in passing (%v)", err)
	}
}
