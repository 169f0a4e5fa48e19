package measure

import "math"

// Unit is the unit of a [Quantity]. It travels with the value, so that no
// number is read in a unit it was not computed in.
type Unit string

// The units of findings.
const (
	Pixel            Unit = "px"
	SquarePixel      Unit = "px²"
	Millimetre       Unit = "mm"
	SquareMillimetre Unit = "mm²"
	CubicMillimetre  Unit = "mm³"
	MillimetrePerPx  Unit = "mm/px"
	PerMillimetre    Unit = "1/mm"
	PerPixel         Unit = "1/px"
	Degree           Unit = "deg"
	Percent          Unit = "%"
	NoiseUnit        Unit = "noise SD"
	One              Unit = "1"
)

// CoverageFactor turns a standard uncertainty into the expanded one that is
// shown behind ±: k = 2, about 95 % for a normal distribution
// (JCGM 100:2008, 6.3.3).
const CoverageFactor = 2

// Quantity is a measured value with its standard uncertainty, both in Unit.
// An undefined quantity has a NaN Value.
type Quantity struct {
	Value  float64
	StdUnc float64
	Unit   Unit
}

// Expanded returns the expanded uncertainty, [CoverageFactor] × StdUnc.
func (q Quantity) Expanded() float64 { return CoverageFactor * q.StdUnc }

// Defined reports whether the quantity has a finite value.
func (q Quantity) Defined() bool { return !math.IsNaN(q.Value) && !math.IsInf(q.Value, 0) }

// Undefined returns a quantity without a value.
func Undefined(u Unit) Quantity { return Quantity{Value: math.NaN(), StdUnc: math.NaN(), Unit: u} }
