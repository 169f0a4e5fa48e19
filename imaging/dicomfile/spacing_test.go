package dicomfile

import (
	"math"
	"strings"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

func ds(t tag.Tag, v string) attr { return attr{t, "DS", v} }

// TestSpacing holds the cases of PS3.3 10.7.1: which spacing counts, what it
// holds for, and what is refused.
func TestSpacing(t *testing.T) {
	const fine, coarse = `0.03\0.03`, `0.033\0.033`
	pixel := func(v string) attr { return ds(tag.PixelSpacing, v) }
	imager := func(v string) attr { return ds(tag.ImagerPixelSpacing, v) }
	scanned := func(v string) attr { return ds(tag.NominalScannedPixelSpacing, v) }
	kind := func(v string) attr { return attr{tag.PixelSpacingCalibrationType, "CS", v} }
	ct := attr{tag.SOPClassUID, "UI", "1.2.840.10008.5.1.4.1.1.2"}
	for _, c := range []struct {
		name     string
		attrs    []attr
		row, col float64
		kind     SpacingKind
		trust    SpacingTrust
		note     string // part of it
	}{
		{"none", nil, 0, 0, NoSpacing, "", ""},
		{"empty", []attr{pixel(""), imager("")}, 0, 0, NoSpacing, "", ""},
		{"fiducial", []attr{pixel(fine), imager(coarse), kind("FIDUCIAL")}, 0.03, 0.03, Calibrated, TrustDepth, "known size"},
		{"geometry", []attr{pixel(fine), imager(coarse), kind("GEOMETRY")}, 0.03, 0.03, Calibrated, TrustDepth, "magnification"},
		{"geometry alone", []attr{pixel(fine), kind("GEOMETRY")}, 0.03, 0.03, Calibrated, TrustDepth, ""},
		{"fiducial but equal", []attr{pixel(fine), imager(fine), kind("FIDUCIAL")}, 0.03, 0.03, Calibrated, TrustConflict, "equals"},
		{"corrected, not said how", []attr{pixel(fine), imager(coarse)}, 0.03, 0.03, Calibrated, TrustUnknown, "differs"},
		{"equal to the detector's", []attr{pixel(fine), imager(fine)}, 0.03, 0.03, DetectorPlane, TrustMagnified, ""},
		{"equal, printed differently", []attr{pixel(`0.0300000\3.0e-2`), imager(fine)}, 0.03, 0.03, DetectorPlane, TrustMagnified, ""},
		{"detector's alone", []attr{imager(fine)}, 0.03, 0.03, DetectorPlane, TrustMagnified, "too long"},
		{"row and column", []attr{imager(`0.03\0.04`)}, 0.03, 0.04, DetectorPlane, TrustMagnified, ""},
		{"one number", []attr{imager(`0.03`)}, 0.03, 0.03, DetectorPlane, TrustMagnified, ""},
		{"decimal comma", []attr{imager(`0,03\0,03`)}, 0.03, 0.03, DetectorPlane, TrustMagnified, ""},
		{"magnification stated", []attr{imager(fine), ds(tag.EstimatedRadiographicMagnificationFactor, "1.05")}, 0.03, 0.03, DetectorPlane, TrustMagnified, "not applied"},
		{"magnification absurd", []attr{imager(fine), ds(tag.EstimatedRadiographicMagnificationFactor, "50")}, 0.03, 0.03, DetectorPlane, TrustMagnified, "can't be believed"},
		{"magnification beside a calibrated one", []attr{pixel(fine), imager(coarse), kind("GEOMETRY"), ds(tag.EstimatedRadiographicMagnificationFactor, "1.1")}, 0.03, 0.03, Calibrated, TrustDepth, ""},
		{"scanned", []attr{scanned(fine)}, 0.03, 0.03, ScanPlane, TrustUnknown, ""},
		{"scanned and equal", []attr{pixel(fine), scanned(fine)}, 0.03, 0.03, ScanPlane, TrustUnknown, ""},
		{"pixel spacing alone", []attr{pixel(fine)}, 0.03, 0.03, Undetermined, TrustUnknown, "can't be determined"},
		{"unknown calibration type", []attr{pixel(fine), kind("GUESS")}, 0.03, 0.03, Undetermined, TrustUnknown, `"GUESS"`},
		{"CT", []attr{ct, pixel(`0.2\0.25`)}, 0.2, 0.25, Volume, TrustTrue, ""},
		{"CT localizer", []attr{ct, pixel(fine), {tag.ImageType, "CS", `ORIGINAL\PRIMARY\LOCALIZER`}}, 0.03, 0.03, Undetermined, TrustUnknown, ""},

		{"zero", []attr{imager(`0\0`)}, 0, 0, NoSpacing, "", `0\0`},
		{"negative", []attr{imager(`-0.03\0.03`)}, 0, 0, NoSpacing, "", `-0.03\0.03`},
		{"below 5 µm", []attr{imager(`0.004\0.004`)}, 0, 0, NoSpacing, "", `0.004\0.004`},
		{"above 1 mm", []attr{imager(`30\30`)}, 0, 0, NoSpacing, "", `30\30`},
		{"in micrometres", []attr{pixel(`20\20`), imager(`0.02\0.02`)}, 0.02, 0.02, DetectorPlane, TrustMagnified, `20\20`},
		{"not a number", []attr{imager(`x\y`)}, 0, 0, NoSpacing, "", "not two numbers"},
		{"not finite", []attr{imager(`NaN\Inf`)}, 0, 0, NoSpacing, "", "not two numbers"},
		{"three numbers", []attr{imager(`0.1\0.1\0.1`)}, 0, 0, NoSpacing, "", "not two numbers"},
		{"swapped", []attr{pixel(`0.03\0.04`), imager(`0.04\0.03`)}, 0, 0, NoSpacing, "", "swapped"},
		{"aspect ratio contradicts", []attr{imager(`0.03\0.03`), {tag.PixelAspectRatio, "IS", `2\1`}}, 0.03, 0.03, DetectorPlane, TrustMagnified, "aspect"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := mustRead(t, build{attrs: with(picture(1, 1, 8, 8, []byte{0, 0}), c.attrs...)}).Spacing(0)
			if !close(s.RowMM, c.row) || !close(s.ColMM, c.col) || s.Kind != c.kind || s.Trust != c.trust {
				t.Errorf("got %+v", s)
			}
			if !strings.Contains(s.Note, c.note) {
				t.Errorf("note %q lacks %q", s.Note, c.note)
			}
			if s.Kind == Calibrated && s.Magnification != 0 {
				t.Error("a magnification on top of a calibrated spacing")
			}
		})
	}
}

// close allows for the rounding of printed numbers.
func close(a, b float64) bool { return math.Abs(a-b) <= 1e-9 }

// TestFunctionalGroups reads spacing, plane, window and rescale of frames of an
// enhanced object: shared by all, and of each (PS3.3 C.7.6.16).
func TestFunctionalGroups(t *testing.T) {
	measures := attr{tag.PixelMeasuresSequence, "SQ", []attr{ds(tag.SliceThickness, "0.3"), ds(tag.PixelSpacing, `0.2\0.25`)}}
	shared := []attr{
		measures,
		{tag.PlaneOrientationSequence, "SQ", []attr{ds(tag.ImageOrientationPatient, `1\0\0\0\1\0`)}},
		{tag.FrameVOILUTSequence, "SQ", []attr{ds(tag.WindowCenter, "100"), ds(tag.WindowWidth, "50")}},
		{tag.PixelValueTransformationSequence, "SQ", []attr{ds(tag.RescaleIntercept, "-1000"), ds(tag.RescaleSlope, "2"), {tag.RescaleType, "LO", "HU"}}},
	}
	frame := func(z string, more ...attr) []attr {
		return append([]attr{{tag.PlanePositionSequence, "SQ", []attr{ds(tag.ImagePositionPatient, `1\2\`+z)}}}, more...)
	}
	own := attr{tag.FrameVOILUTSequence, "SQ", []attr{ds(tag.WindowCenter, "7"), ds(tag.WindowWidth, "8")}}
	for _, undefined := range []bool{false, true} {
		f := mustRead(t, build{undefinedSequence: undefined, attrs: with(picture(1, 1, 8, 8, []byte{1, 2}),
			attr{tag.SOPClassUID, "UI", "1.2.840.10008.5.1.4.1.1.2.1"}, attr{tag.NumberOfFrames, "IS", "2"},
			attr{tag.SharedFunctionalGroupsSequence, "SQ", shared},
			attr{tag.PerFrameFunctionalGroupsSequence, "SQ", [][]attr{frame("3"), frame("3.5", own)}})})
		if s := f.Spacing(1); s.RowMM != 0.2 || s.ColMM != 0.25 || s.Kind != Volume {
			t.Errorf("spacing %+v", s)
		}
		if p, ok := f.Plane(1); !ok || p.Position != (Vector{1, 2, 3.5}) || p.Normal() != (Vector{0, 0, 1}) {
			t.Errorf("plane %+v", p)
		}
		if w := f.Windows(0); len(w) != 1 || w[0].Centre != 100 {
			t.Errorf("shared window %+v", w)
		}
		if w := f.Windows(1); len(w) != 1 || w[0].Centre != 7 {
			t.Errorf("own window %+v", w)
		}
		if r := f.Rescale(1); r != (Rescale{Slope: 2, Intercept: -1000, Type: "HU"}) {
			t.Errorf("rescale %+v", r)
		}
	}
}
