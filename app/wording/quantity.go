// Package wording owns every text about numbers, errors and cautions that the
// program shows, so that the window, the command line and the reports say the
// same thing in the same words, and so that rounding happens in one place.
// Start with [Quantity] and [Error].
//
// House rules: trade terms only; a number always carries its unit and its ±;
// a length without calibration is never in mm; an error is one line of what is
// wrong and a hint of what to do; no patient data in any of it.
//
// The package computes nothing: it formats what measure found.
package wording

import (
	"math"
	"strconv"
	"strings"

	"rootrule/measure"
)

// decimals is the number of digits shown behind the point, by unit: lengths to
// 0.1 mm, areas and volumes to 0.1, angles and pixels to 1 (design rule of the
// program: finer digits than the uncertainty would pretend).
var decimals = map[measure.Unit]int{
	measure.Millimetre:       1,
	measure.SquareMillimetre: 1,
	measure.CubicMillimetre:  1,
	measure.Degree:           0,
	measure.Percent:          0,
	measure.Pixel:            0,
	measure.SquarePixel:      0,
	measure.MillimetrePerPx:  4,
	measure.NoiseUnit:        1,
	measure.PerMillimetre:    2,
	measure.PerPixel:         4,
	measure.One:              2,
}

// symbols are the units as shown, with the space before them.
var symbols = map[measure.Unit]string{
	measure.Degree: "°", measure.One: "", measure.Percent: " %",
}

// Undefined is shown where a number has no value.
const Undefined = "–"

// Quantity shows a value with its expanded uncertainty and unit, such as
// "20.3 ± 0.6 mm".
func Quantity(q measure.Quantity) string {
	if !q.Defined() {
		return Undefined
	}
	return Number(q.Value, decimals[q.Unit]) + plusMinus(q) + unit(q.Unit)
}

// Value shows the value with its unit but without the uncertainty, for places
// where the ± stands beside it.
func Value(q measure.Quantity) string {
	if !q.Defined() {
		return Undefined
	}
	return Number(q.Value, decimals[q.Unit]) + unit(q.Unit)
}

// PlusMinus shows the expanded uncertainty with its unit, such as "±0.6 mm".
func PlusMinus(q measure.Quantity) string {
	s := Margin(q)
	if s != "" {
		s += unit(q.Unit)
	}
	return s
}

// Margin shows the expanded uncertainty alone, "±0.6", for places where value
// and unit stand beside it.
func Margin(q measure.Quantity) string {
	if !q.Defined() || math.IsNaN(q.StdUnc) || q.StdUnc == 0 {
		return ""
	}
	return "±" + Number(roundUp(q.Expanded(), decimals[q.Unit]), decimals[q.Unit])
}

// Bare shows the value alone, for places where the unit stands beside it.
func Bare(q measure.Quantity) string {
	if !q.Defined() {
		return Undefined
	}
	return Number(q.Value, decimals[q.Unit])
}

// Fine shows a value without its uncertainty to one digit more than usual, for
// what tells how well images lie on each other: "0.04 mm".
func Fine(q measure.Quantity) string {
	if !q.Defined() {
		return Undefined
	}
	return Number(q.Value, decimals[q.Unit]+1) + unit(q.Unit)
}

// Clinical shows a working length to the 0.5 mm that a stop can be set to,
// such as "20.5 mm". Other units are shown as [Value] does.
func Clinical(q measure.Quantity) string {
	if !q.Defined() || q.Unit != measure.Millimetre {
		return Value(q)
	}
	return Number(math.Round(q.Value*2)/2, 1) + unit(q.Unit)
}

// Number shows v with a fixed number of decimals, the language's decimal
// separator and a real minus sign.
func Number(v float64, digits int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', digits, 64)
	negative := v < 0 && strconv.FormatFloat(0, 'f', digits, 64) != s
	if spoken.Decimal != "" {
		s = strings.Replace(s, ".", spoken.Decimal, 1)
	}
	if negative {
		return "−" + s
	}
	return s
}

// plusMinus is empty for what is exact by definition, such as the standard
// length of a file.
func plusMinus(q measure.Quantity) string {
	if math.IsNaN(q.StdUnc) || q.StdUnc == 0 {
		return ""
	}
	return " ± " + Number(roundUp(q.Expanded(), decimals[q.Unit]), decimals[q.Unit])
}

// roundUp rounds an uncertainty up, so that the interval shown is never
// narrower than the one computed (JCGM 100:2008, 7.2.6). A tiny excess from
// binary fractions doesn't count.
func roundUp(v float64, digits int) float64 {
	scale := math.Pow10(digits)
	return math.Ceil(v*scale-1e-9) / scale
}

func unit(u measure.Unit) string {
	if s, ok := symbols[u]; ok {
		return s
	}
	return " " + string(u)
}
