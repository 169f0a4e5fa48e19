package headless

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rootrule/imaging"
	"rootrule/imaging/outline"
	"rootrule/measure"
)

// outlineResult is what outline prints for an image. Outline is dense enough
// to be taken as a polygon; Marks are the few marks, each with its standard
// uncertainty, that a marks file wants.
type outlineResult struct {
	Outline    [][]float64     `json:"outline"`
	Marks      []measure.Point `json:"marks"`
	AreaPx2    float64         `json:"area_px2"`
	AreaStdUnc float64         `json:"area_std_unc_px2"`
	Confidence float64         `json:"confidence"`
	StdUncPx   float64         `json:"std_unc_px"`
	Cautions   []string        `json:"cautions"`
}

// outlineLesion finds the outline of a lesion from a point inside it.
func outlineLesion(c *call) error {
	place := c.flags.String("seed", "", "point inside the lesion, X,Y in px")
	asJSON := c.flags.Bool("json", false, "print JSON")
	frame := c.flags.Int("frame", 1, "frame, from 1")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	seed, err := numbers("seed", *place, 2)
	if err != nil {
		return err
	}
	m, err := imaging.OpenFrame(args[0], *frame)
	if err != nil {
		return err
	}
	o, err := outline.Lesion(m, measure.Pt(seed[0], seed[1]), outline.Options{})
	if err != nil {
		return err
	}
	r := outlineResult{
		Outline: [][]float64{}, Marks: o.Points, AreaPx2: rounded(o.AreaPx2, 2), AreaStdUnc: rounded(o.AreaStdUnc, 2),
		Confidence: rounded(o.Confidence, 3), StdUncPx: rounded(o.StdUnc, 3), Cautions: append([]string{}, o.Cautions...),
	}
	for _, p := range measure.ClosedOutline(o.Points) {
		r.Outline = append(r.Outline, []float64{rounded(p.X, 3), rounded(p.Y, 3)})
	}
	if *asJSON {
		return writeJSON(c.out, r)
	}
	fmt.Fprintf(c.out, "area %.0f ± %.0f px², edge known to %.1f px, confidence %.2f\n", o.AreaPx2, measure.CoverageFactor*o.AreaStdUnc, o.StdUnc, o.Confidence)
	for _, caution := range o.Cautions {
		fmt.Fprintln(c.out, "caution:", caution)
	}
	for _, p := range o.Points {
		fmt.Fprintf(c.out, "%.2f,%.2f\n", p.X, p.Y)
	}
	return nil
}

// numbers reads n numbers with commas between them.
func numbers(flag, text string, n ...int) ([]float64, error) {
	if text == "" {
		return nil, usageError{fmt.Sprintf("no --%s given", flag)}
	}
	var out []float64
	for part := range strings.SplitSeq(text, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, usageError{fmt.Sprintf("--%s %q: %q is not a number", flag, text, part)}
		}
		out = append(out, v)
	}
	for _, k := range n {
		if len(out) == k {
			return out, nil
		}
	}
	return nil, usageError{fmt.Sprintf("--%s %q has %d numbers", flag, text, len(out))}
}

// rounded keeps so many decimals, more than a measurement ever needs.
func rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
