package headless

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"

	"rootrule/imaging"
	"rootrule/imaging/align"
	"rootrule/measure"
)

// alignResult is what align prints.
type alignResult struct {
	Model    string        `json:"model"`
	Matrix   [3][3]float64 `json:"matrix"`
	Residual float64       `json:"residual_px"`
	Regions  []regionJSON  `json:"regions"`
	BadPairs []int         `json:"bad_pairs"`
	Changed  [][4]int      `json:"changed"`
	NoiseSD  float64       `json:"noise,omitempty"`
	Cautions []string      `json:"cautions"`
}

// regionJSON is one region: [left, top, right, bottom] in px of the first
// image, right and bottom not included.
type regionJSON struct {
	Rect     [4]int  `json:"rect"`
	Residual float64 `json:"residual_px"`
}

// alignCall is the flags of the command.
type alignCall struct {
	pairs    string
	subtract string
	options  align.Options
	asJSON   bool
}

// alignImages brings the second image into the frame of the first.
func alignImages(c *call) error {
	var a alignCall
	c.flags.StringVar(&a.pairs, "pairs", "", "JSON file with pairs of marks, [[[x,y],[x,y]],…], first image first")
	c.flags.StringVar(&a.options.Model, "model", measure.ModelProjective, "affine or projective")
	c.flags.BoolVar(&a.options.Flip, "flip", false, "the second image is mirrored left to right")
	c.flags.StringVar(&a.subtract, "subtract", "", "PNG for the difference, grey 32768 where nothing changed")
	c.flags.BoolVar(&a.asJSON, "json", false, "print JSON")
	args, err := c.parse(2)
	if err != nil {
		return err
	}
	if m := a.options.Model; m != measure.ModelAffine && m != measure.ModelProjective {
		return usageError{fmt.Sprintf("--model %q is neither affine nor projective", m)}
	}
	if a.options.Pairs, err = readPairs(a.pairs); err != nil {
		return err
	}
	before, err := imaging.Open(args[0])
	if err != nil {
		return err
	}
	after, err := imaging.Open(args[1])
	if err != nil {
		return err
	}
	return a.run(c, before, after)
}

func (a alignCall) run(c *call, before, after *imaging.Image) error {
	r, err := align.Images(context.Background(), before, after, a.options)
	if err != nil {
		return err
	}
	noise := 0.0
	if a.subtract != "" {
		d, err := align.Subtract(before, after, r, a.options)
		if err != nil {
			return err
		}
		if err := writeFile(a.subtract, func(w io.Writer) error {
			return png.Encode(w, gray16(&imaging.Image{Width: d.Width, Height: d.Height, Pix: d.Pix}))
		}); err != nil {
			return err
		}
		r.Changed, noise = d.Changed, d.Noise
	}
	if a.asJSON {
		return writeJSON(c.out, newAlignResult(r, noise))
	}
	return printAlignment(c.out, r, noise)
}

func newAlignResult(r align.Result, noise float64) alignResult {
	out := alignResult{
		Model: r.Model, Matrix: r.Matrix, Residual: rounded(r.Residual, 4), NoiseSD: rounded(noise, 1),
		Regions: []regionJSON{}, BadPairs: append([]int{}, r.BadPairs...), Changed: [][4]int{}, Cautions: append([]string{}, r.Cautions...),
	}
	for _, g := range r.Regions {
		out.Regions = append(out.Regions, regionJSON{corners(g.Rect), rounded(g.Residual, 4)})
	}
	for _, q := range r.Changed {
		out.Changed = append(out.Changed, corners(q))
	}
	return out
}

func corners(r image.Rectangle) [4]int { return [4]int{r.Min.X, r.Min.Y, r.Max.X, r.Max.Y} }

// printAlignment prints the map for reading.
func printAlignment(out io.Writer, r align.Result, noise float64) error {
	fmt.Fprintf(out, "%s map of the second image onto the first, residual %.2f px\n", r.Model, r.Residual)
	for _, row := range r.Matrix {
		fmt.Fprintf(out, "%14.9g %14.9g %14.9g\n", row[0], row[1], row[2])
	}
	if noise > 0 {
		fmt.Fprintf(out, "noise of the difference: %.0f grey values\n", noise)
	}
	for _, q := range r.Changed {
		fmt.Fprintf(out, "looks different: x %d to %d, y %d to %d\n", q.Min.X, q.Max.X-1, q.Min.Y, q.Max.Y-1)
	}
	return printCautions(out, r.Cautions)
}

// readPairs reads [[[x,y],[x,y]],…] or {"pairs":…} from a file.
func readPairs(path string) ([][2]measure.Point, error) {
	if path == "" {
		return nil, nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read pairs: %w", err)
	}
	var lists [][]measure.Point
	if data = bytes.TrimSpace(data); len(data) > 0 && data[0] == '{' {
		var named struct {
			Pairs [][]measure.Point `json:"pairs"`
		}
		err = json.Unmarshal(data, &named)
		lists = named.Pairs
	} else {
		err = json.Unmarshal(data, &lists)
	}
	if err != nil {
		return nil, fmt.Errorf("read pairs from %s: %w: write [[[x,y],[x,y]],…], the first image first", path, err)
	}
	pairs := make([][2]measure.Point, len(lists))
	for i, l := range lists {
		if len(l) != 2 {
			return nil, fmt.Errorf("read pairs from %s: pair %d has %d marks: a pair is one mark in each image", path, i+1, len(l))
		}
		pairs[i] = [2]measure.Point(l)
	}
	return pairs, nil
}
