package dicomfile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// SpacingKind says at which plane a pixel spacing holds.
type SpacingKind string

// The kinds of spacing (PS3.3 10.7.1).
const (
	// NoSpacing: the file states none, or none that can be believed.
	NoSpacing SpacingKind = ""
	// Calibrated: corrected for magnification, or set against an object of
	// known size; holds near the central ray at one depth in the patient.
	Calibrated SpacingKind = "calibrated"
	// DetectorPlane: measured at the front of the detector and not corrected.
	// What lies nearer to the tube appears larger than it is.
	DetectorPlane SpacingKind = "detector plane"
	// ScanPlane: of a scanned film or print; how that was exposed is unknown.
	ScanPlane SpacingKind = "scan plane"
	// Volume: of a slice reconstructed in the patient.
	Volume SpacingKind = "volume"
	// Undetermined: stated without saying whether it was corrected.
	Undetermined SpacingKind = "undetermined"
)

// SpacingTrust says how far lengths in the patient follow from a spacing.
type SpacingTrust string

// The degrees of trust.
const (
	// TrustTrue: lengths in the slice are true.
	TrustTrue SpacingTrust = "true size"
	// TrustDepth: true at the depth of calibration and near the central ray.
	TrustDepth SpacingTrust = "true at one depth"
	// TrustMagnified: lengths come out too long, by a factor the file does not
	// settle.
	TrustMagnified SpacingTrust = "magnified"
	// TrustUnknown: the file does not say enough.
	TrustUnknown SpacingTrust = "unknown"
	// TrustConflict: the file contradicts itself, see the note.
	TrustConflict SpacingTrust = "conflicting"
)

// Spacing is the distance between pixel centres that a file states, with what
// is to be thought of it. A zero Kind is no spacing; Note then says what was
// refused, if anything was.
type Spacing struct {
	RowMM float64 // from row to row, down the picture, in mm
	ColMM float64 // from column to column, along a row, in mm
	Kind  SpacingKind
	Trust SpacingTrust
	// Magnification is the Estimated Radiographic Magnification Factor where
	// the file gives one and Kind is DetectorPlane: lengths at the patient are
	// shorter by it. It is never applied here.
	Magnification float64
	Note          string
}

// Limits of a believable pixel spacing in mm: finer than any dental detector
// (the finest have about 15 µm), and coarser than any picture that shows a
// canal. Set by the program's makers, no source.
const (
	minSpacing = 0.005
	maxSpacing = 1.0
)

// sameSpacing is the relative difference below which two stated spacings are
// the same number printed differently. Ours, no source.
const sameSpacing = 1e-4

// Spacing returns the spacing that the header states for frame i, from 0, by
// the rules of PS3.3 10.7.1.
func (f *File) Spacing(i int) Spacing {
	j := spacingJudge{header: f.header}
	pixel := j.read(f.group(i, tag.PixelMeasuresSequence), tag.PixelSpacing, "pixel spacing")
	imager := j.read(f.header, tag.ImagerPixelSpacing, "imager pixel spacing")
	scanned := j.read(f.header, tag.NominalScannedPixelSpacing, "nominal scanned pixel spacing")
	j.compareAspect(pixel, imager, scanned)
	if swapped(pixel, imager) || swapped(pixel, scanned) {
		j.note("pixel spacing has row and column swapped against the detector's or scanner's: refused")
		return Spacing{Note: j.text()}
	}
	var s Spacing
	if f.isVolume() {
		s = j.volume(pixel, imager, scanned)
	} else {
		s = j.projection(pixel, imager, scanned)
	}
	s.Note = j.text()
	return s
}

// spacingJudge weighs the spacings of one header and gathers what to say.
type spacingJudge struct {
	header dataSet
	notes  []string
}

func (j *spacingJudge) note(format string, args ...any) {
	j.notes = append(j.notes, fmt.Sprintf(format, args...))
}

func (j *spacingJudge) text() string { return strings.Join(j.notes, "; ") }

// pair is a stated spacing: row, column, in mm; nil where absent or refused.
type pair []float64

func (p pair) String() string { return fmt.Sprintf(`%g\%g mm`, p[0], p[1]) }

func (p pair) same(q pair) bool {
	return len(p) == 2 && len(q) == 2 && near(p[0], q[0]) && near(p[1], q[1])
}

func near(a, b float64) bool { return math.Abs(a-b) <= sameSpacing*math.Max(math.Abs(a), math.Abs(b)) }

// swapped reports whether q is p with row and column exchanged.
func swapped(p, q pair) bool {
	return len(p) == 2 && len(q) == 2 && !near(p[0], p[1]) && near(p[0], q[1]) && near(p[1], q[0])
}

// read returns a spacing of the header if it can be believed, and notes its
// values if not.
func (j *spacingJudge) read(d dataSet, t tag.Tag, name string) pair {
	if len(d.raw(t)) == 0 {
		return nil
	}
	v := d.numbers(t)
	if len(v) == 1 {
		v = []float64{v[0], v[0]} // some writers give square pixels one number
	}
	if len(v) != 2 {
		j.note("%s is not two numbers: refused", name)
		return nil
	}
	for _, mm := range v {
		if mm < minSpacing || mm > maxSpacing {
			j.note(`%s %v is not between %g and %g mm: refused`, name, pair(v), minSpacing, maxSpacing)
			return nil
		}
	}
	return v
}

// compareAspect notes a pixel aspect ratio (vertical \ horizontal, PS3.3
// C.7.6.3.1.7) that contradicts the spacings.
func (j *spacingJudge) compareAspect(spacings ...pair) {
	a := j.header.numbers(tag.PixelAspectRatio)
	if len(a) != 2 || a[0] <= 0 || a[1] <= 0 {
		return
	}
	for _, p := range spacings {
		if p != nil && math.Abs(p[0]/p[1]-a[0]/a[1]) > 0.01*a[0]/a[1] { // the ratio is of whole numbers
			j.note(`pixel aspect ratio %g\%g contradicts spacing %v`, a[0], a[1], p)
			return
		}
	}
}

// volume judges a slice reconstructed in the patient.
func (j *spacingJudge) volume(pixel, imager, scanned pair) Spacing {
	if pixel == nil {
		return j.projection(pixel, imager, scanned)
	}
	return Spacing{RowMM: pixel[0], ColMM: pixel[1], Kind: Volume, Trust: TrustTrue}
}

// projection judges a radiograph (PS3.3 10.7.1.1 and 10.7.1.2).
func (j *spacingJudge) projection(pixel, imager, scanned pair) Spacing {
	plane, kind := imager, DetectorPlane
	if plane == nil && scanned != nil {
		plane, kind = scanned, ScanPlane
	}
	calibration := j.header.line(tag.PixelSpacingCalibrationType)
	switch {
	case pixel == nil && plane == nil:
		return Spacing{}
	case pixel != nil && (calibration == "GEOMETRY" || calibration == "FIDUCIAL"):
		return j.calibrated(pixel, plane, calibration)
	case calibration != "" && calibration != "GEOMETRY" && calibration != "FIDUCIAL":
		j.note("calibration type %q is unknown", calibration)
	}
	switch {
	case pixel == nil:
		return j.plane(plane, kind)
	case plane == nil:
		j.note("pixel spacing alone: whether it is corrected for magnification can't be determined")
		return Spacing{RowMM: pixel[0], ColMM: pixel[1], Kind: Undetermined, Trust: TrustUnknown}
	case pixel.same(imager), pixel.same(scanned):
		if !pixel.same(plane) {
			plane, kind = scanned, ScanPlane
		}
		return j.plane(plane, kind)
	}
	j.note("pixel spacing %v differs from %v at the %s, so it was corrected, but the file does not say how", pixel, plane, kind)
	return Spacing{RowMM: pixel[0], ColMM: pixel[1], Kind: Calibrated, Trust: TrustUnknown}
}

// calibrated judges a spacing with a calibration type.
func (j *spacingJudge) calibrated(pixel, plane pair, calibration string) Spacing {
	s := Spacing{RowMM: pixel[0], ColMM: pixel[1], Kind: Calibrated, Trust: TrustDepth}
	if calibration == "FIDUCIAL" {
		j.note("calibrated against an object of known size")
	} else {
		j.note("corrected for an assumed or known magnification")
	}
	if text := j.header.line(tag.PixelSpacingCalibrationDescription); text != "" {
		j.note("the file says: %s", text)
	}
	if pixel.same(plane) {
		j.note("yet it equals the uncorrected spacing %v", plane)
		s.Trust = TrustConflict
	}
	return s
}

// plane judges a spacing at the detector or in the scanner.
func (j *spacingJudge) plane(p pair, kind SpacingKind) Spacing {
	s := Spacing{RowMM: p[0], ColMM: p[1], Kind: kind, Trust: TrustMagnified}
	if kind == ScanPlane {
		j.note("spacing of the scanned film: its magnification is unknown")
		s.Trust = TrustUnknown
		return s
	}
	m, ok := j.header.number(tag.EstimatedRadiographicMagnificationFactor)
	switch {
	case ok && m >= 1 && m < 3: // below 1 nothing is magnified; dental set-ups stay below 2
		s.Magnification = m
		j.note("spacing at the detector; the file estimates a magnification of %g, which is not applied", m)
	case ok:
		j.note("spacing at the detector, magnified; an estimated magnification of %g can't be believed", m)
	default:
		j.note("spacing at the detector: lengths at the tooth come out too long by the magnification, which the file does not state")
	}
	return s
}

// volumeClasses are the SOP classes whose pictures are reconstructed slices
// (PS3.4 B.5, PS3.6 annex A): CT, enhanced CT, legacy converted CT, MR,
// enhanced MR, X-ray 3D angiographic and craniofacial.
var volumeClasses = []string{
	"1.2.840.10008.5.1.4.1.1.2", "1.2.840.10008.5.1.4.1.1.2.1", "1.2.840.10008.5.1.4.1.1.2.2",
	"1.2.840.10008.5.1.4.1.1.4", "1.2.840.10008.5.1.4.1.1.4.1",
	"1.2.840.10008.5.1.4.1.1.13.1.1", "1.2.840.10008.5.1.4.1.1.13.1.2",
}

// isVolume reports whether pixels lie in a plane of the patient: by the SOP
// class, or by modality and a stated plane where another class was abused. A
// localizer is a projection (PS3.3 C.8.2.1.1.1).
func (f *File) isVolume() bool {
	if slices.Contains(f.header.texts(tag.ImageType), "LOCALIZER") {
		return false
	}
	if slices.Contains(volumeClasses, f.header.line(tag.SOPClassUID)) {
		return true
	}
	modality := f.header.line(tag.Modality)
	_, placed := f.Plane(0)
	return placed && (modality == "CT" || modality == "MR")
}
