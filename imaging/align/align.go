package align

import (
	"context"
	"fmt"
	"image"
	"math"

	"gonum.org/v1/gonum/mat"

	"rootrule/imaging"
	"rootrule/measure"
)

// Options are what is known beforehand. The zero value is a projective map
// found without marks.
type Options struct {
	// Model is measure.ModelAffine or measure.ModelProjective; empty means
	// projective.
	Model string
	// Pairs are marks of the same structures, {before, after}. They start the
	// search and check its result.
	Pairs [][2]measure.Point
	// Exclude are outlines in the earlier picture that are not looked at, such
	// as that of the lesion.
	Exclude [][]measure.Point
	// Flip takes the later picture mirrored left to right. The matrix of the
	// result still takes pixels as they are stored.
	Flip bool
}

// Result is how the later picture lies on the earlier one.
type Result struct {
	Model string
	// Matrix takes pixels of the later picture (after) to pixels of the
	// earlier one (before); its last element is 1.
	Matrix [3][3]float64
	// Residual is the root mean square distance, in px of the earlier picture,
	// by which the map is thought to miss: the uncertainty of the map over the
	// part that both pictures show, and what single places say beyond it.
	Residual float64
	Regions  []Region
	// BadPairs are the pairs, counted from 0, that miss the map by more than
	// their marks' uncertainty explains.
	BadPairs []int
	// Changed are the places that look different in the two pictures, px of
	// the earlier one.
	Changed  []image.Rectangle
	Cautions []string

	// width and height are those of the earlier picture.
	width, height int
	misfit        float64       // px per axis
	covariance    *mat.SymDense // of the parameters of fit
	fit           *consensus
	step          float64 // px of the earlier picture per px of the fit
}

// Region is what one part of the picture says about the map.
type Region struct {
	Rect image.Rectangle // px of the earlier picture
	// Residual is the root mean square distance, in px, by which the map is
	// thought to miss there.
	Residual float64
	// Blocks is the number of places that had a say.
	Blocks int
}

// Images finds the map that takes the later picture to the frame of the
// earlier one. Where they can't be compared the error is a [*Refusal].
func Images(ctx context.Context, before, after *imaging.Image, o Options) (Result, error) {
	if o.Model == "" {
		o.Model = measure.ModelProjective
	}
	if o.Model != measure.ModelAffine && o.Model != measure.ModelProjective {
		return Result{}, fmt.Errorf("align two images: unknown model %q: use affine or projective", o.Model)
	}
	if min(before.Width, before.Height, after.Width, after.Height) < leastSide {
		return Result{}, refuse(ErrUnrelated, fmt.Sprintf("%d × %d and %d × %d px are too small to compare: the least side is %d px",
			before.Width, before.Height, after.Width, after.Height, leastSide))
	}
	p := newProblem(before, after, o)
	r, err := p.solve(ctx)
	if err != nil {
		return Result{}, err
	}
	return p.result(r), nil
}

// mirror takes pixels of a picture to those of the mirrored one.
func mirror(width int) homography {
	return homography{{-1, 0, float64(width - 1)}, {0, 1, 0}, {0, 0, 1}}
}

// At returns where the pixel p of the later picture lies in the earlier one.
func (r Result) At(p measure.Point) measure.Point { return homography(r.Matrix).point(p) }

// Inverse returns where the pixel p of the earlier picture lies in the later
// one.
func (r Result) Inverse(p measure.Point) measure.Point {
	return homography(r.Matrix).inverse().point(p)
}

// Uncertainty is the standard uncertainty, in px of the earlier picture and in
// each direction, of where the map puts the pixel p of the later one; NaN for a
// Result that [Images] did not make.
func (r Result) Uncertainty(p measure.Point) float64 {
	if r.fit == nil {
		return math.NaN()
	}
	q := r.At(p)
	return math.Sqrt(r.variance(q.X, q.Y) + r.misfit*r.misfit)
}

// variance is the mean over both axes of the variance of the map at a pixel of
// the earlier picture.
func (r *Result) variance(x, y float64) float64 {
	ex, ey := r.fit.rows(x/r.step, y/r.step)
	n := r.covariance.SymmetricDim()
	s := 0.0
	for k := range n {
		for l := range n {
			s += r.covariance.At(k, l) * (ex[k]*ex[l] + ey[k]*ey[l])
		}
	}
	return s / 2 * r.step * r.step
}
