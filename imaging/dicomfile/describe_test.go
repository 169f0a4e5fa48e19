package dicomfile

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

func text(t tag.Tag, vr, v string) attr { return attr{t, vr, v} }

// intraoral is the header of an intra-oral radiograph as PS3.3 A.26.5 has it.
func intraoral() []attr {
	code := func(value, scheme, meaning string) []attr {
		return []attr{{tag.CodeValue, "SH", value}, {tag.CodingSchemeDesignator, "SH", scheme}, {tag.CodeMeaning, "LO", meaning}}
	}
	return with(picture(5, 3, 16, 12, ramp(15, 12)),
		text(tag.ImageType, "CS", `ORIGINAL\PRIMARY`),
		text(tag.SOPInstanceUID, "UI", "1.2.3.4"), text(tag.SeriesInstanceUID, "UI", "1.2.3"), text(tag.StudyInstanceUID, "UI", "1.2"),
		text(tag.AcquisitionDate, "DA", "20260131"), text(tag.AcquisitionTime, "TM", "141503.25"), text(tag.StudyDate, "DA", "20250101"),
		text(tag.Manufacturer, "LO", "Maker"), text(tag.ManufacturerModelName, "LO", "Sensor 2"), text(tag.DetectorType, "CS", "SCINTILLATOR"),
		text(tag.PatientName, "PN", "Doe^Jane"), text(tag.PatientID, "LO", "4711"), text(tag.PatientBirthDate, "DA", "19700203"), text(tag.PatientSex, "CS", "F"),
		text(tag.KVP, "DS", "65"), text(tag.ExposureTime, "IS", "200"), text(tag.XRayTubeCurrent, "IS", "7"),
		text(tag.PatientOrientation, "CS", `L\F`), text(tag.ImageLaterality, "CS", "R"),
		text(tag.BurnedInAnnotation, "CS", "NO"), text(tag.LossyImageCompression, "CS", "01"),
		attr{tag.PixelPaddingValue, "US", []uint16{4095}},
		text(tag.WindowCenter, "DS", `2048\500`), text(tag.WindowWidth, "DS", `4096\200`), text(tag.WindowCenterWidthExplanation, "LO", `all\bone`),
		attr{tag.AnatomicRegionSequence, "SQ", code("T-11180", "SRT", "Mandible")},
		attr{tag.PrimaryAnatomicStructureSequence, "SQ", [][]attr{
			code("T-54500", "SRT", "lower right first molar"), code("40005008", "SCT", "lower right second molar"), code("45", "ISO 3950", "")}},
		attr{tag.Tag{Group: 0x6000, Element: 0x0010}, "US", []uint16{3}}, attr{tag.Tag{Group: 0x6000, Element: 0x0011}, "US", []uint16{5}},
		attr{tag.Tag{Group: 0x6000, Element: 0x0022}, "LO", "marks"}, attr{tag.Tag{Group: 0x6000, Element: 0x0040}, "CS", "G"},
	)
}

// TestDescription reads every kind of value, in each way a data set is written.
func TestDescription(t *testing.T) {
	for _, syntax := range []string{implicitVRLittle, explicitVRLittle, explicitVRBig, deflatedVRLittle} {
		for _, undefined := range []bool{false, true} {
			f := mustRead(t, build{syntax: syntax, undefinedSequence: undefined, attrs: intraoral()})
			d := f.Description
			for what, pair := range map[string][2]any{
				"size":        {[]int{d.Rows, d.Columns, d.Frames, d.SamplesPerPixel}, []int{3, 5, 1, 1}},
				"bits":        {[]int{d.BitsAllocated, d.BitsStored, d.HighBit}, []int{16, 12, 11}},
				"photometric": {d.Photometric, monochrome2},
				"type":        {d.ImageType, []string{"ORIGINAL", "PRIMARY"}},
				"class":       {d.Class, "Digital Intra-Oral X-Ray Image Storage - For Presentation"},
				"uids":        {[]string{d.SOPInstanceUID, d.SeriesUID, d.StudyUID}, []string{"1.2.3.4", "1.2.3", "1.2"}},
				"date":        {d.Date + " " + d.Time, "2026-01-31 14:15:03"},
				"device":      {[]string{d.Manufacturer, d.Model, d.Detector}, []string{"Maker", "Sensor 2", "SCINTILLATOR"}},
				"exposure":    {[]float64{d.KV, d.MAs}, []float64{65, 1.4}}, // 7 mA for 200 ms
				"orientation": {d.Orientation, "rows to the left, columns to the feet"},
				"laterality":  {d.Laterality, "R"},
				"teeth":       {d.Teeth, []string{"46", "47", "45"}},
				"anatomy":     {d.Anatomy[0], Code{"T-11180", "SRT", "Mandible"}},
				"flags":       {[]bool{d.Lossy, d.BurnedIn, d.Signed, d.Planar}, []bool{true, false, false, false}},
				"padding":     {*d.Padding, Padding{4095, 4095}},
				"overlay":     {d.Overlays, []Overlay{{Rows: 3, Columns: 5, Type: "G", Description: "marks"}}},
				"cautions":    {len(d.Cautions), 0},
				"windows": {f.Windows(0), []Window{
					{Centre: 2048, Width: 4096, Explanation: "all", Function: "LINEAR"}, {Centre: 500, Width: 200, Explanation: "bone", Function: "LINEAR"}}},
				"identity": {f.Identity() == Identity{Name: "Doe^Jane", ID: "4711", BirthDate: "1970-02-03", Sex: "F"}, true},
			} {
				if !reflect.DeepEqual(pair[0], pair[1]) {
					t.Errorf("%s: %s is %v, want %v", d.TransferSyntax, what, pair[0], pair[1])
				}
			}
		}
	}
}

// TestDescriptionHidesPatient: nothing of a description names the patient.
func TestDescriptionHidesPatient(t *testing.T) {
	f := mustRead(t, build{attrs: intraoral()})
	v := reflect.ValueOf(f.Description)
	for i := range v.NumField() {
		if s, ok := v.Field(i).Interface().(string); ok && (strings.Contains(s, "Doe") || strings.Contains(s, "4711")) {
			t.Errorf("%s holds %q", v.Type().Field(i).Name, s)
		}
	}
}

// TestLookupTables reads a modality table and two of values of interest.
func TestLookupTables(t *testing.T) {
	table := func(first uint16, name tag.Tag, vr, text string, data []uint16) []attr {
		return []attr{{tag.LUTDescriptor, "US", []uint16{3, first, 16}}, {name, vr, text}, {tag.LUTData, "US", data}}
	}
	f := mustRead(t, build{syntax: explicitVRBig, attrs: with(intraoral(), us(tag.PixelRepresentation, 1),
		attr{tag.ModalityLUTSequence, "SQ", table(0xFFFF, tag.ModalityLUTType, "LO", "OD", []uint16{1, 2, 3})},
		attr{tag.VOILUTSequence, "SQ", [][]attr{
			table(0, tag.LUTExplanation, "LO", "bone", []uint16{10, 20, 30}),
			{{tag.LUTDescriptor, "US", []uint16{9, 0, 16}}, {tag.LUTData, "US", []uint16{1}}}, // damaged: left out
			table(5, tag.LUTExplanation, "LO", "soft", []uint16{40, 50, 60})}})})
	if m := f.ModalityLUT; m == nil || m.First != -1 || m.Explanation != "OD" || !slices.Equal(m.Entries, []uint16{1, 2, 3}) {
		t.Errorf("modality table %+v", m)
	}
	if len(f.VOILUTs) != 2 || f.VOILUTs[0].Explanation != "bone" || !slices.Equal(f.VOILUTs[1].Entries, []uint16{40, 50, 60}) {
		t.Errorf("tables of interest %+v", f.VOILUTs)
	}
}

// TestDates reads dates in the forms of PS3.5 6.2 and of its predecessors.
func TestDates(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"20260131", "2026-01-31"}, {"2026.01.31", "2026-01-31"}, {"20260131141503.000000+0100", "2026-01-31"}, {"", ""}, {"unknown", "unknown"},
	} {
		if got := isoDate(c.in); got != c.want {
			t.Errorf("%q gives %q, want %q", c.in, got, c.want)
		}
	}
}

// TestDirections names where rows and columns run (PS3.3 C.7.6.2.1.1).
func TestDirections(t *testing.T) {
	for _, c := range []struct {
		v    Vector
		want string
	}{
		{Vector{1, 0, 0}, "left"}, {Vector{-1, 0, 0}, "right"}, {Vector{0, 1, 0}, "back"}, {Vector{0, -1, 0}, "front"},
		{Vector{0, 0, 1}, "head"}, {Vector{0, 0, -1}, "feet"}, {Vector{0.8, 0, -0.6}, "left and feet"}, {Vector{0.98, 0.2, 0}, "left"},
	} {
		if got := direction(c.v); got != c.want {
			t.Errorf("%v is %q, want %q", c.v, got, c.want)
		}
	}
}

// TestTeeth: all 52 teeth have both their codes.
func TestTeeth(t *testing.T) {
	count := make(map[string]int)
	for _, tooth := range toothCodes {
		if !isFDI(tooth) {
			t.Errorf("%q is no tooth", tooth)
		}
		count[tooth]++
	}
	for tooth, n := range count {
		if n != 2 {
			t.Errorf("tooth %s has %d codes", tooth, n)
		}
	}
	if len(count) != 52 {
		t.Errorf("%d teeth, want 32 permanent and 20 deciduous", len(count))
	}
}
