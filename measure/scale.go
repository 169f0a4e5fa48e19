package measure

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// scale is the scale of an image in mm per px, or the lack of one.
type scale struct {
	known    bool
	mmPerPx  estimate
	cautions []string // of every finding that uses the scale
	along    []vec    // directions of the known objects; none: holds in all
	teeth    []string // teeth of the references; "" where not known
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

// cautionsFor returns the cautions of a length that runs in the direction dir
// (the zero vector: in no particular one) on a tooth.
func (s scale) cautionsFor(dir vec, tooth string) []string {
	all := append([]string{}, s.cautions...)
	if c := s.directionCaution(dir); c != "" {
		all = append(all, c)
	}
	if tooth != "" && len(s.teeth) > 0 && !slices.Contains(s.teeth, "") && !slices.Contains(s.teeth, tooth) {
		all = append(all, "calibrated on tooth "+strings.Join(s.teeth, ", ")+", which may be magnified otherwise")
	}
	return all
}

// maxSlant is the angle in degrees between a length and the object that it is
// calibrated with above which the length gets a caution. Common practice, no
// source.
const maxSlant = 30

func (s scale) directionCaution(dir vec) string {
	if dir == (vec{}) || len(s.along) == 0 {
		return ""
	}
	least := math.Inf(1)
	for _, a := range s.along {
		angle := a.angleTo(dir) * degrees
		least = math.Min(least, math.Min(angle, 180-angle))
	}
	if least <= maxSlant {
		return ""
	}
	return fmt.Sprintf("runs at %.0f° to the object that gives the scale: foreshortening may differ", least)
}

// reference is one calibration turned into a scale.
type reference struct {
	name    string
	kind    string
	tooth   string
	mmPerPx estimate
	made    made // its marks; none for a stated spacing
	along   vec  // direction of a known object; zero for what has none
	method  string
	caution string
	aside   bool // not part of the mean: known to be another scale
}

// scale works out the scale of an image from its calibrations and adds it as
// a finding.
func (w *work) scale(im ImageMarks) scale {
	refs, cautions := w.references(im)
	used := slices.DeleteFunc(slices.Clone(refs), func(r reference) bool { return r.aside })
	if len(used) == 0 {
		used = refs // a detector-plane spacing alone is better than none
	} else {
		cautions = append(cautions, leftAside(refs)...)
	}
	if len(used) == 0 {
		w.add(im.ID, ImageSubject, WhatScale, Undefined(MillimetrePerPx), "none", append(cautions, w.whyNoScale(im.ID))...)
		return scale{cautions: []string{noScale}}
	}
	s := scale{known: true}
	var disagree string
	s.mmPerPx, disagree = weighted(used)
	if disagree != "" {
		s.cautions = append(s.cautions, disagree)
	}
	for _, r := range used {
		if r.caution != "" {
			s.cautions = append(s.cautions, r.caution)
		}
	}
	s.reach(used)
	method := used[0].method
	if len(used) > 1 {
		method = fmt.Sprintf("weighted mean of %d calibrations", len(used))
	}
	method += madeOf(used).clause()
	cautions = append(cautions, s.cautions...)
	w.add(im.ID, ImageSubject, WhatScale, s.mmPerPx.quantity(MillimetrePerPx), method, cautions...)
	w.foreshortening(im.ID, refs)
	return s
}

// madeOf is how the marks of the references came about.
func madeOf(refs []reference) (m made) {
	for _, r := range refs {
		m = append(m, r.made...)
	}
	return m
}

// references turns the calibrations of an image into scales; what can't be
// turned into one is a caution.
func (w *work) references(im ImageMarks) (refs []reference, cautions []string) {
	for i, c := range im.Calibration {
		name := fmt.Sprintf("calibration %d (%s)", i+1, c.Kind)
		ref, problem := w.reference(im.ID, c)
		if problem != "" {
			cautions = append(cautions, name+" left out: "+problem)
			continue
		}
		ref.name, ref.kind, ref.tooth = name, c.Kind, c.Tooth
		refs = append(refs, ref)
	}
	return refs, cautions
}

// leftAside says of each spacing that is no part of the mean why it is not.
func leftAside(refs []reference) (cautions []string) {
	for _, r := range refs {
		if r.aside {
			cautions = append(cautions, r.name+" left out: "+r.caution)
		}
	}
	return cautions
}

// reach notes where the references hold: the directions of known objects, unless
// something holds in every direction, and the teeth they lie on.
func (s *scale) reach(used []reference) {
	for _, r := range used {
		s.teeth = append(s.teeth, r.tooth)
	}
	for _, r := range used {
		if r.along == (vec{}) {
			s.along = nil
			return
		}
		s.along = append(s.along, r.along)
	}
}

// foreshortening compares the spacing that the file states with each known
// file: how much longer the image is than the object along it.
func (w *work) foreshortening(id string, refs []reference) {
	stated := w.given.Spacing[id]
	if !stated.Stated() {
		return
	}
	for _, r := range refs {
		if r.along == (vec{}) || r.kind == CalibrationDistance {
			continue
		}
		percent := exact(stated.RowMM).over(r.mmPerPx).shifted(-1).scaled(100)
		w.add(id, r.name, WhatElongation, percent.quantity(Percent), "length along the file by the stated spacing ("+string(stated.Kind)+") / known length − 1: positive where the image is longer than the object, negative where it is foreshortened")
	}
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
	case CalibrationFile, CalibrationDistance, CalibrationVolume:
		return w.knownLength(id, c)
	}
	return reference{}, "unknown kind"
}

// knownLength is the scale L / l from an object of known length L whose smooth
// line through the marks has the length l in px.
func (w *work) knownLength(id string, c Calibration) (ref reference, problem string) {
	if !(c.LengthMM > 0) || math.IsInf(c.LengthMM, 0) {
		return reference{}, "its length is not a positive number of mm"
	}
	g := w.group(id, c.Marks)
	if openCurve(g.p) == nil {
		return reference{}, "it needs two marks in different places"
	}
	l := w.traceLength(g, trackOf(g))
	if !(l.v > 0) || math.IsInf(l.v, 0) {
		return reference{}, "its marks give no length"
	}
	u, ok := defaultKnown[c.Kind]
	if c.UMM != nil {
		u = *c.UMM
	}
	if !ok || !(u >= 0) {
		return reference{}, "its standard uncertainty is not a number of mm"
	}
	ref.mmPerPx = known(c.LengthMM, u, w.source()).over(l)
	ref.method = "known length / length of the smooth line through its marks"
	ref.made = made{c.By}
	ref.along = g.p[len(g.p)-1].sub(g.p[0]).unit()
	return ref, ""
}

// defaultKnown is the standard uncertainty in mm of a known length, by kind.
var defaultKnown = map[string]float64{
	CalibrationFile:     DefaultKnownLength,
	CalibrationDistance: DefaultKnownDistance,
	CalibrationVolume:   DefaultVolumeLength,
}

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
	mm := s.RowMM // x is stretched to rows where they differ
	ref.mmPerPx = known(mm, trust*mm, w.source())
	ref.method = "pixel spacing stated by the file (" + string(s.Kind) + ")"
	switch s.Kind {
	case SpacingDetector, SpacingScan:
		ref.aside = true
		ref.caution = "scale holds at the " + string(s.Kind) + ": the tooth is magnified, by about 5 % in a paralleling exposure"
	case SpacingUndetermined:
		ref.aside = true
		ref.caution = "the file does not say where its pixel spacing holds"
	}
	return ref, ""
}

// inconsistent is the probability below which calibrations are said to
// disagree: the usual 5 %.
const inconsistent = 0.05

// weighted is the mean of the scales with weights 1/u², and what to say when
// they disagree by a chi-square test (Birge 1932, Phys Rev 40:207–227). The
// uncertainty then grows by the Birge ratio √(χ²/(n−1)).
func weighted(refs []reference) (mean estimate, disagree string) {
	mean, chi2 := weightedMean(refs, -1)
	n := len(refs) - 1
	if chance(chi2, n) >= inconsistent {
		return mean, ""
	}
	mean = mean.through(mean.v, math.Sqrt(math.Max(chi2/float64(n), 1)))
	if len(refs) == 2 {
		off := 100 * math.Abs(refs[1].mmPerPx.v/refs[0].mmPerPx.v-1)
		return mean, fmt.Sprintf("%s and %s disagree by %.1f %%: check both", refs[0].name, refs[1].name, off)
	}
	odd, least := 0, math.Inf(1)
	for i := range refs {
		if _, without := weightedMean(refs, i); without < least {
			odd, least = i, without
		}
	}
	others, _ := weightedMean(refs, odd)
	off := 100 * (refs[odd].mmPerPx.v/others.v - 1)
	return mean, fmt.Sprintf("the calibrations disagree: %s is off by %+.1f %% from the others", refs[odd].name, off)
}

// weightedMean leaves out the reference with the index without, and returns
// the mean and the sum of the squared deviations in units of uncertainty.
func weightedMean(refs []reference, without int) (mean estimate, chi2 float64) {
	// An exact reference weighs as if it were known to one part in 10⁹.
	weight := func(r reference) float64 {
		u := math.Max(r.mmPerPx.std(), 1e-9*r.mmPerPx.v)
		return 1 / (u * u)
	}
	total := 0.0
	for i, r := range refs {
		if i != without {
			mean = mean.plus(r.mmPerPx.scaled(weight(r)))
			total += weight(r)
		}
	}
	mean = mean.scaled(1 / total)
	for i, r := range refs {
		if d := r.mmPerPx.v - mean.v; i != without {
			chi2 += d * d * weight(r)
		}
	}
	return mean, chi2
}
