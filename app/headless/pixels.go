package headless

import (
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"

	"rootrule/imaging"
)

// pixels writes the stored grey values of one frame as a 16-bit grey PNG.
func pixels(c *call) error {
	out := c.flags.String("out", "", "PNG to write")
	frame := c.flags.Int("frame", 1, "frame, from 1")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	if *out == "" {
		return usageError{"no --out given"}
	}
	m, err := imaging.OpenFrame(args[0], *frame)
	if err != nil {
		return err
	}
	return writeFile(*out, func(w io.Writer) error { return png.Encode(w, gray16(m)) })
}

// gray16 wraps the stored values of an image for Go's encoders.
func gray16(m *imaging.Image) *image.Gray16 {
	g := image.NewGray16(image.Rect(0, 0, m.Width, m.Height))
	for i, v := range m.Pix {
		g.Pix[2*i], g.Pix[2*i+1] = byte(v>>8), byte(v)
	}
	return g
}

// writeFile writes a whole file or none: it fills a temporary file beside the
// target and renames it when all is written.
func writeFile(path string, fill func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".rootrule-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	defer os.Remove(f.Name())
	err = fill(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	return nil
}
