package casebook

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"rootrule/measure"
)

// benchCase is a case of the size that a molar over some years has: 6 images,
// 4 canals each of 10 marks, 2 lesions each of 24.
func benchCase(b *testing.B) (*Book, *Case) {
	b.Helper()
	book, err := Open(filepath.Join(b.TempDir(), "book"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { book.Close() })
	c, err := book.New("P-1", "46")
	if err != nil {
		b.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	points := func(n int) (p []measure.Point) {
		for range n {
			p = append(p, measure.Pt(r.Float64()*2000, r.Float64()*1500))
		}
		return p
	}
	for i := range 6 {
		id, err := c.AddImage("x.png", fmt.Appendf(nil, "image %d", i), "recall", "2026-01-31")
		if err != nil {
			b.Fatal(err)
		}
		err = c.Edit("marks", func(m *measure.Marks) error {
			im := byID(m.Images, id)
			for range 4 {
				im.Canals = append(im.Canals, measure.Canal{Tooth: "46", Name: "MB", Marks: points(10)})
			}
			for range 2 {
				im.Lesions = append(im.Lesions, measure.Lesion{Tooth: "46", Name: "D", Outline: points(24)})
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return book, c
}

func BenchmarkEdit(b *testing.B) {
	_, c := benchCase(b)
	x := 0.0
	for b.Loop() {
		x += 0.1
		err := c.Edit("nudge", func(m *measure.Marks) error { m.Images[2].Canals[1].Marks[3].X = x; return nil })
		if err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(pack(c.current().text))), "bytes/step")
	b.ReportMetric(float64(len(c.current().text)), "bytes/json")
}

func BenchmarkUndoRedo(b *testing.B) {
	_, c := benchCase(b)
	for b.Loop() {
		if _, err := c.Undo(); err != nil {
			b.Fatal(err)
		}
		if _, err := c.Redo(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMarks(b *testing.B) {
	_, c := benchCase(b)
	for b.Loop() {
		c.Marks()
	}
}

func BenchmarkAddImage(b *testing.B) {
	_, c := benchCase(b)
	data := make([]byte, 12<<20) // an uncompressed 16-bit radiograph of 3000×2000
	for b.Loop() {
		data[0]++
		data[1] += data[0] / 255
		if _, err := c.AddImage("x.dcm", data, "recall", ""); err != nil {
			b.Fatal(err)
		}
	}
	b.SetBytes(int64(len(data)))
}

func BenchmarkOriginal(b *testing.B) {
	_, c := benchCase(b)
	data := make([]byte, 12<<20)
	id, err := c.AddImage("x.dcm", data, "recall", "")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := c.Original(id); err != nil {
			b.Fatal(err)
		}
	}
	b.SetBytes(int64(len(data)))
}

func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book")
	for b.Loop() {
		book, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		book.Close()
	}
}
