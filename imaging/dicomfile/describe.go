package dicomfile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
	"github.com/suyashkumar/dicom/pkg/uid"
)

// Description is what a header says about a picture, without the patient.
// Text is UTF-8; what the header does not say is zero.
type Description struct {
	TransferSyntax    string // its name: "JPEG lossless, first-order prediction"
	TransferSyntaxUID string
	Rows, Columns     int
	Frames            int // 0: no picture in the file
	SamplesPerPixel   int
	BitsAllocated     int
	BitsStored        int
	HighBit           int // number of the highest stored bit
	Signed, Planar    bool
	Photometric       string
	// Lossy says that the picture was compressed with loss at some time.
	Lossy     bool
	ImageType []string

	Modality, Class                         string // Class is the name of the SOP class
	SOPClassUID, SOPInstanceUID             string
	StudyUID, SeriesUID, FrameOfReference   string
	SeriesNumber, SeriesDescription         string
	InstanceNumber                          string
	Manufacturer, Model, Detector, BodyPart string

	// PatientOrientation says where rows and columns run, in the letters of
	// PS3.3 C.7.6.1.1.1; Orientation says the same in words, also from the
	// direction cosines of a slice.
	PatientOrientation []string
	Orientation        string
	Laterality         string // "R", "L", "B" or "U"
	// Teeth are the teeth that the header names, in FDI notation: a hint.
	Teeth   []string
	Anatomy []Code
	// Date is YYYY-MM-DD and Time HH:MM:SS, of the acquisition where stated,
	// else of the content, series or study.
	Date, Time string
	// KV is the tube voltage in kV, MAs the exposure in mAs; 0: not stated.
	KV, MAs float64
	// BurnedIn says that the header admits text burned into the pixels, which
	// may name the patient.
	BurnedIn bool

	ModalityLUT *LUT
	VOILUTs     []LUT
	// Padding is the range of stored values that mean "nothing here", both ends
	// included; nil where none is stated.
	Padding *Padding
	// InverseShape says that the presentation lookup table shape is INVERSE.
	InverseShape bool
	Overlays     []Overlay
	// Cautions are plain sentences about what in the header was put right.
	Cautions []string
}

// Code is a coded term (PS3.3 section 8).
type Code struct{ Value, Scheme, Meaning string }

// Padding is a range of stored values.
type Padding struct{ Low, High int }

// Overlay is a graphic plane that the file carries and the program does not
// show.
type Overlay struct {
	Rows, Columns            int
	Type, Label, Description string // Type "G" graphics, "R" region of interest
}

func (f *File) describe(cautions []string) Description {
	h, l := f.header, f.layout
	d := Description{
		TransferSyntax: f.syntax.name, TransferSyntaxUID: f.syntax.uid,
		ImageType: h.texts(tag.ImageType), Lossy: h.line(tag.LossyImageCompression) == "01" || alwaysLossy[f.syntax.uid],
		Modality: h.line(tag.Modality), Class: className(h.line(tag.SOPClassUID)),
		SOPClassUID: h.line(tag.SOPClassUID), SOPInstanceUID: h.line(tag.SOPInstanceUID),
		StudyUID: h.line(tag.StudyInstanceUID), SeriesUID: h.line(tag.SeriesInstanceUID),
		FrameOfReference: h.line(tag.FrameOfReferenceUID),
		SeriesNumber:     h.line(tag.SeriesNumber), SeriesDescription: h.line(tag.SeriesDescription),
		InstanceNumber: h.line(tag.InstanceNumber),
		Manufacturer:   h.line(tag.Manufacturer), Model: h.line(tag.ManufacturerModelName),
		Detector: h.line(tag.DetectorType), BodyPart: h.line(tag.BodyPartExamined),
		Date: dateOf(h), Time: timeOf(h),
		BurnedIn:     h.line(tag.BurnedInAnnotation) == "YES",
		InverseShape: h.line(tag.PresentationLUTShape) == "INVERSE",
		Overlays:     overlaysOf(h),
	}
	d.KV, _ = h.number(tag.KVP)
	d.MAs = exposureOf(h)
	d.PatientOrientation = h.texts(tag.PatientOrientation)
	d.Orientation = f.orientation()
	d.Laterality = f.laterality()
	d.Anatomy = f.anatomy()
	d.Teeth = teethOf(d.Anatomy)
	if f.missing == nil {
		d.Rows, d.Columns, d.Frames = l.height, l.width, l.frames
		d.SamplesPerPixel, d.BitsAllocated, d.BitsStored, d.HighBit = l.samples, l.allocated, l.stored, l.high
		d.Signed, d.Planar, d.Photometric = l.signed, l.planar, l.photometric
		d.Padding = paddingOf(h, l)
		d.ModalityLUT, d.VOILUTs = lutsOf(h, l)
	}
	d.Cautions = cautions
	return d
}

// className returns the name of a SOP class, or its UID where unknown.
func className(id string) string {
	if info, err := uid.Lookup(id); err == nil {
		return info.Name
	}
	return id
}

// dateOf returns the best date of acquisition as YYYY-MM-DD.
func dateOf(d dataSet) string {
	for _, t := range []tag.Tag{tag.AcquisitionDate, tag.AcquisitionDateTime, tag.ContentDate, tag.SeriesDate, tag.StudyDate} {
		if s := isoDate(d.line(t)); len(s) == 10 {
			return s
		}
	}
	return ""
}

// isoDate turns YYYYMMDD, the older YYYY.MM.DD, and the head of a date with
// time (PS3.5 6.2, DA and DT) into YYYY-MM-DD; other text stays as it is.
func isoDate(s string) string {
	digits := strings.ReplaceAll(s, ".", "")
	if len(digits) < 8 || strings.Trim(digits[:8], "0123456789") != "" {
		return s
	}
	return digits[:4] + "-" + digits[4:6] + "-" + digits[6:8]
}

// timeOf returns the time that goes with [dateOf] as HH:MM:SS.
func timeOf(d dataSet) string {
	s := d.line(tag.AcquisitionTime)
	if dt := d.line(tag.AcquisitionDateTime); s == "" && len(dt) >= 14 {
		s = dt[8:]
	}
	for _, t := range []tag.Tag{tag.ContentTime, tag.SeriesTime, tag.StudyTime} {
		if s == "" {
			s = d.line(t)
		}
	}
	s = strings.ReplaceAll(s, ":", "")
	if len(s) < 6 || strings.Trim(s[:6], "0123456789") != "" {
		return ""
	}
	return s[:2] + ":" + s[2:4] + ":" + s[4:6]
}

// exposureOf returns the exposure in mAs: as stated, in µAs, or as the product
// of tube current in mA and time in ms (PS3.3 C.8.7.2).
func exposureOf(d dataSet) float64 {
	if micro, ok := d.number(tag.ExposureInuAs); ok && micro > 0 {
		return micro / 1000
	}
	if mas, ok := d.number(tag.Exposure); ok && mas > 0 {
		return mas
	}
	ma, _ := d.number(tag.XRayTubeCurrent)
	ms, _ := d.number(tag.ExposureTime)
	return math.Max(0, ma*ms/1000)
}

func overlaysOf(d dataSet) []Overlay {
	var out []Overlay
	for group := uint16(0x6000); group <= 0x601E; group += 2 {
		at := func(element uint16) tag.Tag { return tag.Tag{Group: group, Element: element} }
		if !d.has(at(0x0010)) || !d.has(at(0x0011)) {
			continue
		}
		rows, _ := d.integer(at(0x0010))
		cols, _ := d.integer(at(0x0011))
		out = append(out, Overlay{
			Rows: rows, Columns: cols, Type: d.line(at(0x0040)),
			Label: d.line(at(0x1500)), Description: d.line(at(0x0022)),
		})
	}
	return out
}

// paddingOf reads Pixel Padding Value and its range limit (PS3.3 C.7.5.1.1.2).
func paddingOf(d dataSet, l layout) *Padding {
	a, ok := d.integer(tag.PixelPaddingValue)
	if !ok {
		return nil
	}
	b, ok := d.integer(tag.PixelPaddingRangeLimit)
	if !ok {
		b = a
	}
	a, b = l.storedValue(a), l.storedValue(b)
	return &Padding{Low: min(a, b), High: max(a, b)}
}

// storedValue gives a 16-bit number of the header, whose VR may be unsigned or
// signed, the sign of the picture's own values.
func (l layout) storedValue(v int) int {
	if l.signed {
		return int(int16(v))
	}
	return v & 0xFFFF
}

// anatomy returns the coded terms for what the picture shows, from the header
// and the functional groups.
func (f *File) anatomy() []Code {
	var out []Code
	for _, d := range []dataSet{f.header, f.shared.item(tag.FrameAnatomySequence), f.group(0, tag.FrameAnatomySequence)} {
		for _, region := range append(d.items(tag.AnatomicRegionSequence), d.items(tag.PrimaryAnatomicStructureSequence)...) {
			for _, c := range codesOf(region, 0) {
				if !slices.Contains(out, c) {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// codesOf returns the code of an item and of its modifiers and structures.
func codesOf(d dataSet, depth int) []Code {
	c := Code{Value: d.line(tag.CodeValue), Scheme: d.line(tag.CodingSchemeDesignator), Meaning: d.line(tag.CodeMeaning)}
	var out []Code
	if c.Value != "" {
		out = append(out, c)
	}
	if depth > 2 { // region, structure, modifier: nothing nests deeper
		return out
	}
	for _, t := range []tag.Tag{tag.AnatomicRegionModifierSequence, tag.PrimaryAnatomicStructureSequence, tag.PrimaryAnatomicStructureModifierSequence} {
		for _, item := range d.items(t) {
			out = append(out, codesOf(item, depth+1)...)
		}
	}
	return out
}

func (f *File) laterality() string {
	for _, s := range []string{
		f.header.line(tag.ImageLaterality), f.header.line(tag.Laterality),
		f.group(0, tag.FrameAnatomySequence).line(tag.FrameLaterality),
	} {
		if s != "" {
			return s
		}
	}
	return ""
}

// orientation returns in words how the picture lies.
func (f *File) orientation() string {
	if p, ok := f.Plane(0); ok {
		return fmt.Sprintf("rows to the %s, columns to the %s", direction(p.Row), direction(p.Column))
	}
	o := f.header.texts(tag.PatientOrientation)
	if len(o) != 2 || o[0] == "" || o[1] == "" {
		return ""
	}
	return fmt.Sprintf("rows to the %s, columns to the %s", letterDirection(o[0]), letterDirection(o[1]))
}
