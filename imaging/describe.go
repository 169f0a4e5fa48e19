package imaging

import (
	"fmt"
	"os"
	"path/filepath"

	"rootrule/imaging/dicomfile"
	"rootrule/measure"
)

// Description is what an image file or a folder of slices is, in the JSON form
// of the describe command. It never holds the patient; see [Identify].
type Description struct {
	File        string              `json:"file"`
	Format      string              `json:"format"`
	Width       int                 `json:"width"`
	Height      int                 `json:"height"`
	Frames      int                 `json:"frames"`
	BitsStored  int                 `json:"bits_stored"`
	Signed      bool                `json:"signed"`
	Photometric string              `json:"photometric"`
	Spacing     *SpacingDescription `json:"spacing"`
	Orientation string              `json:"orientation"`
	Series      []SeriesDescription `json:"series"`
	Cautions    []string            `json:"cautions"`
	Date        string              `json:"date,omitempty"` // of the acquisition, YYYY-MM-DD
	Modality    string              `json:"modality,omitempty"`
	Kind        string              `json:"kind,omitempty"` // name of the DICOM object class
	Compression string              `json:"compression,omitempty"`
	Device      string              `json:"device,omitempty"`
	Exposure    string              `json:"exposure,omitempty"`
	Laterality  string              `json:"laterality,omitempty"`
	Teeth       []string            `json:"teeth,omitempty"` // FDI, as the file hints
	Identity    *Identity           `json:"identity,omitempty"`
}

// SpacingDescription is a stated spacing in mm, where it holds and how far it
// is to be trusted.
type SpacingDescription struct {
	RowMM float64 `json:"row_mm"`
	ColMM float64 `json:"col_mm"`
	Kind  string  `json:"kind"`
	Trust string  `json:"trust"`
	Note  string  `json:"note"`
}

// SeriesDescription is one series of slices in order along their normal.
type SeriesDescription struct {
	UID        string         `json:"uid"`
	Slices     int            `json:"slices"`
	StepMM     float64        `json:"step_mm"` // by positions; 0 where there is none
	Missing    []MissingSlice `json:"missing"`
	Duplicates []string       `json:"duplicates,omitempty"`
	Modality   string         `json:"modality,omitempty"`
	Name       string         `json:"name,omitempty"`
	Width      int            `json:"width"`
	Height     int            `json:"height"`
	Volume     bool           `json:"volume"` // evenly spaced, none missing or twice
}

// MissingSlice is one slice that a series lacks.
type MissingSlice struct {
	Number     int     `json:"number"` // in order along the normal, from 1
	PositionMM float64 `json:"position_mm"`
	After      string  `json:"after"`
	Before     string  `json:"before"`
}

// Identity is whom a DICOM file says it shows. It is read on purpose only.
type Identity struct {
	Name      string `json:"name"`
	ID        string `json:"id"`
	BirthDate string `json:"birth_date"`
	Sex       string `json:"sex"`
}

// Describe says what the file or folder at path is.
func Describe(path string) (Description, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return Description{}, fmt.Errorf("describe: %w", err)
	case info.IsDir() || filepath.Base(path) == "DICOMDIR":
		return describeSeries(path)
	}
	if head, err := readHead(path); err == nil && isDICOM(head) {
		return describeDICOM(path)
	}
	m, err := Open(path)
	if err != nil {
		return Description{}, err
	}
	return m.Describe(), nil
}

// DescribeData says what the file with these bytes is; name is shown in
// messages and kept as its name. Of a file with many frames it gives their
// number but not the series that they form: that wants a path, see [Describe].
func DescribeData(name string, data []byte) (Description, error) {
	if !isDICOM(data) {
		m, err := Decode(name, data)
		if err != nil {
			return Description{}, err
		}
		return m.Describe(), nil
	}
	f, err := dicomfile.Read(data)
	if err != nil {
		return Description{}, fmt.Errorf("read image %s: %w", name, err)
	}
	return describeNamed(name, f), nil
}

// Describe says what a decoded image is.
func (m *Image) Describe() Description {
	return Description{File: m.Source.Name, Format: m.Source.Format, Width: m.Width, Height: m.Height,
		Frames: m.Source.Frames, BitsStored: m.Bits, Signed: m.Signed, Photometric: m.photometric(),
		Spacing: describeSpacing(m.Spacing, scanTrust[m.Spacing.Kind]), Orientation: m.Source.Orientation,
		Series: []SeriesDescription{}, Cautions: append([]string{}, m.Cautions...), Date: m.Source.Date}
}

func (m *Image) photometric() string {
	if m.WhiteIsZero && m.Source.Photometric == "grey" {
		return "grey, white is zero"
	}
	return m.Source.Photometric
}

// scanTrust is how far the spacing of files other than DICOM is trusted.
var scanTrust = map[measure.SpacingKind]string{measure.SpacingScan: string(dicomfile.TrustUnknown)}

func describeSpacing(s measure.Spacing, trust string) *SpacingDescription {
	if !s.Stated() {
		return nil
	}
	return &SpacingDescription{RowMM: s.RowMM, ColMM: s.ColMM, Kind: string(s.Kind), Trust: trust, Note: s.Note}
}

func describeDICOM(path string) (Description, error) {
	name := filepath.Base(path)
	f, err := dicomfile.Open(path)
	if err != nil {
		return Description{}, fmt.Errorf("read image %s: %w", name, err)
	}
	d := describeNamed(name, f)
	if f.Frames > 1 {
		scanned, err := dicomfile.Scan(path)
		if err != nil {
			return d, fmt.Errorf("describe %s: %w", name, err)
		}
		d.addSeries(scanned)
	}
	return d, nil
}

// describeNamed is describeFile with the name of the file.
func describeNamed(name string, f *dicomfile.File) Description {
	d := describeFile(f)
	d.File = name
	return d
}

// describeFile turns the header's description into ours.
func describeFile(f *dicomfile.File) Description {
	d := Description{Format: "DICOM", Width: f.Columns, Height: f.Rows, Frames: f.Frames, BitsStored: f.BitsStored,
		Signed: f.Signed, Photometric: f.Photometric, Orientation: f.Orientation, Series: []SeriesDescription{},
		Cautions: dicomCautions(f, f.SamplesPerPixel > 1 || f.Photometric == "PALETTE COLOR"), Date: f.Date,
		Modality: f.Modality, Kind: f.Class, Compression: f.TransferSyntax, Device: deviceOf(f), Exposure: exposureOf(f),
		Laterality: f.Laterality, Teeth: f.Teeth}
	if f.Frames > 0 {
		s := f.Spacing(0)
		d.Spacing = describeSpacing(dicomSpacing(s), string(s.Trust))
	}
	return d
}

func deviceOf(f *dicomfile.File) string {
	device := f.Manufacturer
	for _, more := range []string{f.Model, f.Detector} {
		if more != "" && device != "" {
			device += ", "
		}
		device += more
	}
	return device
}

func exposureOf(f *dicomfile.File) string {
	switch {
	case f.KV > 0 && f.MAs > 0:
		return fmt.Sprintf("%g kV, %g mAs", f.KV, f.MAs)
	case f.KV > 0:
		return fmt.Sprintf("%g kV", f.KV)
	case f.MAs > 0:
		return fmt.Sprintf("%g mAs", f.MAs)
	}
	return ""
}

// describeSeries describes a folder of slices or a DICOMDIR by its first
// picture and all of its series.
func describeSeries(path string) (Description, error) {
	scanned, err := dicomfile.Scan(path)
	if err != nil {
		return Description{}, fmt.Errorf("describe %s: %w", filepath.Base(path), err)
	}
	d := describeFile(scanned.Series[0].Slices[0].File)
	d.File, d.Format, d.Frames = filepath.Base(path), "DICOM series", 0
	d.Cautions = []string{}
	for _, s := range scanned.Series {
		d.Frames += len(s.Slices)
	}
	d.addSeries(scanned)
	return d, nil
}

// addSeries adds what a scan found.
func (d *Description) addSeries(scanned dicomfile.Scanned) {
	for i := range scanned.Series {
		s := &scanned.Series[i]
		d.Series = append(d.Series, describeOne(s))
		d.Cautions = append(d.Cautions, s.Cautions...)
	}
	for _, s := range scanned.Skipped {
		d.Cautions = append(d.Cautions, fmt.Sprintf("%s was left out: %v", filepath.Base(s.Path), s.Err))
	}
}

func describeOne(s *dicomfile.Series) SeriesDescription {
	d := SeriesDescription{UID: s.UID, Slices: len(s.Slices), StepMM: s.StepMM, Missing: []MissingSlice{},
		Modality: s.Modality, Name: s.Description, Width: s.Columns, Height: s.Rows, Volume: s.Volume()}
	before := 0 // slices missing so far
	for _, g := range s.Missing {
		for k, at := range g.Positions {
			d.Missing = append(d.Missing, MissingSlice{Number: g.After + before + k + 2, PositionMM: at,
				After: s.Slices[g.After].Name(), Before: s.Slices[g.After+1].Name()})
		}
		before += g.Count
	}
	for _, i := range s.Duplicates {
		d.Duplicates = append(d.Duplicates, s.Slices[i].Name())
	}
	return d
}

// Identify returns whom the DICOM file at path says it shows; nil for files
// that don't say.
func Identify(path string) (*Identity, error) {
	head, err := readHead(path)
	if err != nil || !isDICOM(head) {
		return nil, err
	}
	f, err := dicomfile.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read image %s: %w", filepath.Base(path), err)
	}
	who := Identity(f.Identity())
	return &who, nil
}
