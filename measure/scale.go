package measure

import (
	"fmt"
	"math"
)

// scale is the scale of an image in mm per px, or the lack of one.
type scale struct {
	known    bool
	mmPerPx  estimate
	cautions []string
}

// noScale is the caution of every length on an image without a calibration.
const noScale = "no calibration: in pixels"

// length gives a length in px its unit: mm where the scale is known.
func (s scale) length(px estimate) Quantity {
	if !s.known {
		return px.quantity(Pixel)
	}
	return px.times(s.mmPerPx).quantity(Millimetre)
}

// area gives an area in px² its unit: mm² where the scale is known.
func (s scale) area(px2 estimate) Quantity {
	if !s.known {
		return px2.quantity(SquarePixel)
	}
	return px2.times(s.mmPerPx).times(s.mmPerPx).quantity(SquareMillimetre)
}

// curvature gives a curvature in 1/px its unit: 1/mm where the scale is known.
func (s scale) curvature(perPx estimate) Quantity {
	if !s.known {
		return perPx.quantity(PerPixel)
	}
	return perPx.over(s.mmPerPx).quantity(PerMillimetre)
}

// perLength is the unit of curvatures on the image.
func (s scale) perLength() Unit {
	if s.known {
		return PerMillimetre
	}
	return PerPixel
}

// lengthUnit is the unit of lengths on the image.
func (s scale) lengthUnit() Unit {
	if s.known {
		return Millimetre
	}
	return Pixel
}

// areaUnit is the unit of areas on the image.
func (s scale) areaUnit() Unit {
	if s.known {
		return SquareMillimetre
	}
	return SquarePixel
}

// reference is one calibration turned into a scale.
type reference struct {
	name    string
	mmPerPx estimate
	method  string
	caution string
}

// scale works out the scale of an image from its calibrations and adds it as
// a finding.
func (w *work) scale(im ImageMarks) scale {
	var refs []reference
	var cautions []string
	for i, c := range im.Calibration {
		ref, problem := w.reference(im.ID, c)
		if problem != "" {
			cautions = append(cautions, fmt.Sprintf("calibration %d (%s) left out: %s", i+1, c.Kind, problem))
			continue
		}
		ref.name = fmt.Sprintf("calibration %d (%s)", i+1, c.Kind)
		refs = append(refs, ref)
		if ref.caution != "" {
			cautions = append(cautions, ref.caution)
		}
	}
	if len(refs) == 0 {
		w.add(im.ID, ImageSubject, WhatScale, Undefined(MillimetrePerPx), "none", append(cautions, w.whyNoScale(im.ID))...)
		return scale{cautions: []string{noScale}}
	}
	s := scale{known: true, mmPerPx: weighted(refs)}
	method := refs[0].method
	if len(refs) > 1 {
		method = fmt.Sprintf("weighted mean of %d calibrations", len(refs))
	}
	w.add(im.ID, ImageSubject, WhatScale, s.mmPerPx.quantity(MillimetrePerPx), method, cautions...)
	for _, r := range refs {
		if r.caution != "" {
			s.cautions = append(s.cautions, r.caution)
		}
	}
	return s
}

func (w *work) whyNoScale(id string) string {
	if w.given.Spacing[id].Stated() {
		return "no calibration: the file states a pixel spacing (" + string(w.given.Spacing[id].Kind) + ") that was not chosen as a calibration"
	}
	return "no calibration: mark an object of known length"
}

// reference turns one calibration into a scale; problem says why it can't.
func (w *work) reference(id string, c Calibration) (ref reference, problem string) {
	switch c.Kind {
	case CalibrationStated:
		return w.statedSpacing(id)
	case CalibrationFile, CalibrationDistance:
		return w.knownLength(c)
	}
	return reference{}, "unknown kind"
}

// knownLength is the scale L / l from an object of known length L whose smooth
// line through the marks has the length l in px.
func (w *work) knownLength(c Calibration) (ref reference, problem string) {
	if !(c.LengthMM > 0) || math.IsInf(c.LengthMM, 0) {
		return reference{}, "its length is not a positive number of mm"
	}
	g := w.group(c.Marks)
	if openCurve(g.p) == nil {
		return reference{}, "it needs two marks in different places"
	}
	l := w.traceLength(g, newTrack(0, fitBend(g, -1)))
	if !(l.v > 0) || math.IsInf(l.v, 0) {
		return reference{}, "its marks give no length"
	}
	u := DefaultKnownLength
	if c.UMM != nil {
		u = *c.UMM
	} else if c.Kind == CalibrationDistance {
		u = DefaultKnownDistance
	}
	ref.mmPerPx = known(c.LengthMM, u, w.source()).over(l)
	ref.method = "known length / length of the smooth line through its marks"
	return ref, ""
}

// traceLength is the length of the smooth line through p.
func traceLength(p []vec) float64 { return openCurve(p).length() }

// statedTrust is the relative standard uncertainty of a stated spacing as a
// scale at the tooth, by kind. Common practice, no source, but for the
// detector plane: the magnification of a paralleling exposure is about 5 %
// (similar triangles: 406 mm from focus to detector, 20 mm from tooth to
// detector give 1.052).
var statedTrust = map[SpacingKind]float64{
	SpacingCalibrated:   0.02,
	SpacingVolume:       0.005,
	SpacingDetector:     0.05,
	SpacingScan:         0.05,
	SpacingUndetermined: 0.05,
}

// statedSpacing is the scale that the file of the image states.
func (w *work) statedSpacing(id string) (ref reference, problem string) {
	s := w.given.Spacing[id]
	trust, ok := statedTrust[s.Kind]
	if !s.Stated() || !ok {
		return reference{}, "the file states no pixel spacing"
	}
	mm := math.Sqrt(s.RowMM * s.ColMM)
	ref.mmPerPx = known(mm, trust*mm, w.source())
	ref.method = "pixel spacing stated by the file (" + string(s.Kind) + ")"
	switch s.Kind {
	case SpacingDetector, SpacingScan:
		ref.caution = "scale holds at the " + string(s.Kind) + ": the tooth is magnified, by about 5 % in a paralleling exposure"
	case SpacingUndetermined:
		ref.caution = "the file does not say where its pixel spacing holds"
	}
	return ref, ""
}

// weighted is the mean of the scales with weights 1/u² (JCGM 100:2008, G.4.2
// note; all equal where one is exact).
func weighted(refs []reference) estimate {
	if len(refs) == 1 {
		return refs[0].mmPerPx
	}
	least := 1e-9 * math.Abs(refs[0].mmPerPx.v)
	var sum estimate
	total := 0.0
	for _, r := range refs {
		u := math.Max(r.mmPerPx.std(), least)
		sum = sum.plus(r.mmPerPx.scaled(1 / (u * u)))
		total += 1 / (u * u)
	}
	return sum.scaled(1 / total)
}
