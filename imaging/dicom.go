package imaging

import (
	"fmt"
	"math"
	"strings"

	"rootrule/imaging/dicomfile"
	"rootrule/imaging/fault"
	"rootrule/measure"
)

// fromDICOM decodes frame number frame, from 1.
func fromDICOM(name string, f *dicomfile.File, frame int) (*Image, error) {
	if frame < 1 || frame > max(1, f.Frames) {
		return nil, noSuchFrame(name, frame, f.Frames)
	}
	stored, err := f.Frame(frame - 1)
	if err != nil {
		return nil, fmt.Errorf("read image %s: %w", name, err)
	}
	grey, wasColour := stored.Grey()
	m := &Image{Width: grey.Width, Height: grey.Height, Pix: grey.Pix, Bits: grey.BitsStored, Signed: grey.Signed,
		WhiteIsZero: f.Photometric == "MONOCHROME1" != f.InverseShape && !wasColour}
	if m.Signed {
		m.offsetSigned()
	}
	m.Low, m.High = askedWindow(f, frame-1, m.Signed)
	m.Spacing = dicomSpacing(f.Spacing(frame - 1))
	m.Source = Source{Name: name, Format: "DICOM", Photometric: f.Photometric, Orientation: f.Orientation,
		Frame: frame, Frames: f.Frames, Date: f.Date}
	m.Cautions = dicomCautions(f, wasColour)
	return m, nil
}

func noSuchFrame(name string, frame, frames int) error {
	return fmt.Errorf("read image %s: frame %d asked for, but it has %d: frames count from 1", name, frame, frames)
}

// offsetSigned turns two's complement into values offset by 32768.
func (m *Image) offsetSigned() {
	for i, v := range m.Pix {
		m.Pix[i] = v ^ 0x8000
	}
}

// askedWindow returns the first linear window of the frame in terms of Pix
// (PS3.3 C.11.2.1.2.1: black up to c − ½ − (w−1)/2, white above
// c − ½ + (w−1)/2, after the rescale).
func askedWindow(f *dicomfile.File, frame int, signed bool) (low, high float64) {
	r := f.Rescale(frame)
	for _, w := range f.Windows(frame) {
		if f.ModalityLUT != nil || !strings.HasPrefix(w.Function, "LINEAR") {
			continue
		}
		half, centre := (w.Width-1)/2, w.Centre-0.5
		if w.Function == "LINEAR_EXACT" {
			half, centre = w.Width/2, w.Centre
		}
		low, high = (centre-half-r.Intercept)/r.Slope, (centre+half-r.Intercept)/r.Slope
		low, high = math.Min(low, high), math.Max(low, high)
		if signed {
			low, high = low+32768, high+32768
		}
		return low, math.Max(high, low+1)
	}
	return 0, 0
}

// kinds translates the kinds of spacing of DICOM to those of findings.
var kinds = map[dicomfile.SpacingKind]measure.SpacingKind{
	dicomfile.Calibrated:    measure.SpacingCalibrated,
	dicomfile.DetectorPlane: measure.SpacingDetector,
	dicomfile.ScanPlane:     measure.SpacingScan,
	dicomfile.Volume:        measure.SpacingVolume,
	dicomfile.Undetermined:  measure.SpacingUndetermined,
}

func dicomSpacing(s dicomfile.Spacing) measure.Spacing {
	return measure.Spacing{RowMM: s.RowMM, ColMM: s.ColMM, Kind: kinds[s.Kind], Note: s.Note}
}

// dicomCautions gathers what a reader must know about the picture.
func dicomCautions(f *dicomfile.File, wasColour bool) []string {
	out := append([]string{}, f.Cautions...)
	if wasColour {
		out = append(out, dicomfile.ColourCaution)
	}
	if s := f.Spacing(0); s.Kind == dicomfile.NoSpacing && s.Note != "" {
		out = append(out, s.Note)
	}
	if f.Lossy {
		out = append(out, "the picture was compressed with loss at some time")
	}
	if f.BurnedIn {
		out = append(out, "the file says that text is burned into the picture: it may name the patient")
	}
	for _, o := range f.Overlays {
		out = append(out, strings.TrimSpace(fmt.Sprintf("the file carries an overlay that is not shown: %s %s", o.Label, o.Description)))
	}
	if f.Frames > 1 {
		out = append(out, fmt.Sprintf("the file holds %d frames", f.Frames))
	}
	return out
}

// decodeDICOM reads one frame from the bytes of a DICOM file.
func decodeDICOM(name string, data []byte, frame int) (*Image, error) {
	f, err := dicomfile.Read(data)
	if err != nil {
		return nil, fmt.Errorf("read image %s: %w", name, err)
	}
	return fromDICOM(name, f, frame)
}

// openDICOM reads one frame of the DICOM file at path and no other.
func openDICOM(name, path string, frame int) (*Image, error) {
	f, err := dicomfile.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read image %s: %w", name, err)
	}
	return fromDICOM(name, f, frame)
}

// emptyFile is the error of a file without bytes.
func emptyFile(name string) error {
	return fault.Malformed("read image %s: the file is empty: copy or export it again", name)
}
