package compare

import (
	"context"
	"image"
	"math"

	"rootrule/imaging"
	"rootrule/imaging/align"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// Difference is the later image less the earlier one, ready to be drawn.
type Difference struct {
	// Picture is mid-grey where nothing differs, brighter where the later image
	// is denser. Frame takes stored pixels of the earlier image to its pixels.
	Picture *tone.Picture
	Frame   measure.Alignment
	Noise   float64 // standard deviation of the difference where nothing changed, in grey values
	// Change is the difference in units of its own noise, see [Units].
	Change *tone.Picture
	// Changed are the places beyond [Limit], in pixels of Picture.
	Changed []image.Rectangle

	units *imaging.Image // the pixels of Change
}

// Limit is the number of noise units from which on a difference counts as a
// change.
const Limit = align.ChangeLimit

// A change picture has the grey value of no change, and so many grey values a
// noise unit; 0 where it is not known.
const (
	none    = 32768
	perUnit = 256
)

// Units turns a grey value of [Difference].Change into noise units.
func Units(grey uint16) float64 {
	if grey == 0 {
		return 0
	}
	return (float64(grey) - none) / perUnit
}

// Greys are the grey values of [Difference].Change at −units and +units.
func Greys(units float64) (low, high uint16) {
	return uint16(none - units*perUnit), uint16(none + units*perUnit)
}

// At returns the difference in noise units at a stored pixel of the earlier
// image, and whether it is known there.
func (d *Difference) At(p measure.Point) (units float64, ok bool) {
	q := d.Frame.Map(p)
	x, y := int(math.Round(q.X)), int(math.Round(q.Y))
	if !image.Pt(x, y).In(image.Rect(0, 0, d.units.Width, d.units.Height)) {
		return 0, false
	}
	grey := d.units.Pix[y*d.units.Width+x]
	return Units(grey), grey != 0
}

// Window shows the difference from −k to +k noise units around mid-grey.
func (d *Difference) Window(k float64) tone.Window {
	half := math.Max(k*d.Noise, 1)
	return tone.Window{Low: align.Centre - half, High: align.Centre + half}
}

// Difference subtracts the earlier image from the later one, after their grey
// values were matched.
func (r *Room) Difference(ctx context.Context, q Question) (*Difference, error) {
	if _, err := r.Join(ctx, q); err != nil {
		return nil, err
	}
	a, err := r.answer(q)
	if err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.difference != nil || a.joined == nil {
		return a.difference, ctx.Err()
	}
	d, err := align.Subtract(q.Before.upright(), q.After.upright(), a.joined.result, q.options())
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	units := &imaging.Image{Width: d.Width, Height: d.Height, Pix: inGreys(d.Units)}
	a.difference = &Difference{
		Picture: tone.NewPicture(&imaging.Image{Width: d.Width, Height: d.Height, Pix: d.Pix}), Frame: q.Before.lie(), Noise: d.Noise,
		Change: tone.NewPicture(units), Changed: d.Changed, units: units,
	}
	return a.difference, nil
}

// inGreys puts noise units into grey values.
func inGreys(units []float32) []uint16 {
	out := make([]uint16, len(units))
	for i, u := range units {
		if u == u { // a number
			out[i] = uint16(min(max(float64(u)*perUnit+none, 1), tone.Levels-1))
		}
	}
	return out
}
