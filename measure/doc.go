// Package measure is the clinical arithmetic: marks and scale in, findings
// out. Start with [Compute]: a pure function that turns the [Marks] of a case
// and what the images state ([Given]) into [Finding] values, each a [Quantity]
// with its standard uncertainty, the method that gave it, and its cautions.
//
// Units: positions in pixels (pixel centres at integers, y down), results in
// millimetres, degrees, mm² and mm³; without a calibration lengths stay in
// pixels and say so. Three-dimensional points are DICOM patient coordinates
// (LPS, mm). Rounding is left to whoever shows a number.
//
// Uncertainty follows the law of propagation (JCGM 100:2008, 5.1.2 and 5.2.2
// where inputs are shared) with a numeric Jacobian.
//
// The package imports nothing of the program, knows no file formats, no
// window and no casebook, never scores or decides for the reader, and keeps
// no state.
package measure
