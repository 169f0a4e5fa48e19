package headless

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rootrule/imaging"
	"rootrule/imaging/outline"
	"rootrule/imaging/volume"
	"rootrule/measure"
)

// outlineResult is what outline prints for an image. Outline is dense enough
// to be taken as a polygon; Marks are the few marks, each with its standard
// uncertainty, that a marks file wants.
type outlineResult struct {
	Outline    [][2]float64    `json:"outline"`
	Marks      []measure.Point `json:"marks"`
	AreaPx2    float64         `json:"area_px2"`
	AreaStdUnc float64         `json:"area_std_unc_px2"`
	Confidence float64         `json:"confidence"`
	StdUncPx   float64         `json:"std_unc_px"`
	Cautions   []string        `json:"cautions"`
}

// surfaceResult is what outline prints for a volume.
type surfaceResult struct {
	VolumeMM3    float64    `json:"volume_mm3"`
	VolumeStdUnc float64    `json:"volume_std_unc_mm3"`
	DiametersMM  [3]float64 `json:"diameters_mm"`
	SectionsMM   [3]float64 `json:"sections_mm"` // longest diameters along columns and rows, columns and slices, rows and slices
	CentreMM     [3]float64 `json:"centre_mm"`
	Confidence   float64    `json:"confidence"`
	StdUncMM     float64    `json:"std_unc_mm"`
	Cautions     []string   `json:"cautions"`
}

// outlineCall is the flags of the command.
type outlineCall struct {
	seed    string
	surface string
	frame   int
	asJSON  bool
}

// outlineLesion finds the outline of a lesion from a point inside it, or its
// surface in a volume.
func outlineLesion(c *call) error {
	var o outlineCall
	c.flags.StringVar(&o.seed, "seed", "", "point inside the lesion, X,Y in px or X,Y,Z in mm")
	c.flags.StringVar(&o.surface, "surface", "", "STL file for the surface in a volume")
	c.flags.IntVar(&o.frame, "frame", 1, "frame, from 1")
	c.flags.BoolVar(&o.asJSON, "json", false, "print JSON")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	seed, err := numbers("seed", o.seed, 2, 3)
	if err != nil {
		return err
	}
	if len(seed) == 3 {
		return o.inVolume(c, args[0], volume.Point(seed))
	}
	if o.surface != "" {
		return usageError{"--surface needs a volume and a --seed X,Y,Z in mm"}
	}
	return o.onImage(c, args[0], measure.Pt(seed[0], seed[1]))
}

func (o outlineCall) onImage(c *call, path string, seed measure.Point) error {
	m, err := imaging.OpenFrame(path, o.frame)
	if err != nil {
		return err
	}
	found, err := outline.Lesion(m, seed, outline.Options{})
	if err != nil {
		return err
	}
	if !o.asJSON {
		fmt.Fprintf(c.out, "area %.0f ± %.0f px², edge known to %.1f px, confidence %.2f\n",
			found.AreaPx2, measure.CoverageFactor*found.AreaStdUnc, found.StdUnc, found.Confidence)
		for _, p := range found.Points {
			fmt.Fprintf(c.out, "%.2f,%.2f\n", p.X, p.Y)
		}
		return printCautions(c.out, found.Cautions)
	}
	r := outlineResult{
		Marks: found.Points, AreaPx2: rounded(found.AreaPx2, 2), AreaStdUnc: rounded(found.AreaStdUnc, 2),
		Confidence: rounded(found.Confidence, 3), StdUncPx: rounded(found.StdUnc, 3), Cautions: append([]string{}, found.Cautions...),
	}
	for i, p := range r.Marks {
		r.Marks[i] = measure.Point{X: rounded(p.X, 3), Y: rounded(p.Y, 3), U: rounded(p.U, 3)}
	}
	for _, p := range measure.ClosedOutline(found.Points) {
		r.Outline = append(r.Outline, [2]float64{rounded(p.X, 3), rounded(p.Y, 3)})
	}
	return writeJSON(c.out, r)
}

func (o outlineCall) inVolume(c *call, path string, seed volume.Point) error {
	v, err := volume.Open(path)
	if err != nil {
		return err
	}
	found, err := outline.Volume(v, v.Voxel(seed), outline.Options{})
	if err != nil {
		return err
	}
	step := v.StepMM()
	place := func(p [3]float64) [3]float64 {
		return v.MM(volume.Point{p[0] / step[0], p[1] / step[1], p[2] / step[2]})
	}
	if o.surface != "" {
		if err := writeFile(o.surface, func(w io.Writer) error { return found.WriteSTL(w, place) }); err != nil {
			return err
		}
	}
	cautions := append(append([]string{}, v.Cautions...), found.Cautions...)
	d := found.DiametersMM
	if !o.asJSON {
		fmt.Fprintf(c.out, "volume %.2f ± %.2f mm³, diameters %.2f × %.2f × %.2f mm, surface known to %.2f mm, confidence %.2f\n",
			found.VolumeMM3, measure.CoverageFactor*found.VolumeStdUnc, d[0], d[1], d[2], found.StdUncMM, found.Confidence)
		return printCautions(c.out, cautions)
	}
	r := surfaceResult{
		VolumeMM3: rounded(found.VolumeMM3, 4), VolumeStdUnc: rounded(found.VolumeStdUnc, 4), CentreMM: place(found.CentreMM),
		Confidence: rounded(found.Confidence, 3), StdUncMM: rounded(found.StdUncMM, 4), Cautions: cautions,
	}
	for a := range 3 {
		r.DiametersMM[a], r.SectionsMM[a], r.CentreMM[a] = rounded(d[a], 4), rounded(found.SectionsMM[a], 4), rounded(r.CentreMM[a], 3)
	}
	return writeJSON(c.out, r)
}

func printCautions(out io.Writer, cautions []string) error {
	for _, caution := range cautions {
		fmt.Fprintln(out, "caution:", caution)
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
