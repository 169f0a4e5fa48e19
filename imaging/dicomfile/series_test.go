package dicomfile

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// slice returns a CT slice whose pixels all have the given value.
func ctSlice(uid, instance, position, orientation string, value uint16) build {
	return build{syntax: explicitVRLittle, attrs: with(picture(2, 2, 16, 16, []uint16{value, value, value, value}),
		attr{tag.SOPClassUID, "UI", "1.2.840.10008.5.1.4.1.1.2"}, attr{tag.Modality, "CS", "CT"},
		attr{tag.SeriesInstanceUID, "UI", uid}, attr{tag.InstanceNumber, "IS", instance},
		ds(tag.ImagePositionPatient, position), ds(tag.ImageOrientationPatient, orientation),
		ds(tag.PixelSpacing, `0.2\0.2`), ds(tag.SpacingBetweenSlices, "0.7"), ds(tag.SliceThickness, "0.2"))}
}

func write(t testing.TB, path string, b build) {
	t.Helper()
	if err := os.WriteFile(path, b.bytes(t), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestScan sorts stacks whose truth is known: order by position and not by name
// or number, step by positions and not by thickness, gaps, duplicates, shear.
func TestScan(t *testing.T) {
	const axial = `1\0\0\0\1\0`
	at := func(zs ...float64) []string {
		var out []string
		for _, z := range zs {
			out = append(out, fmt.Sprintf(`0\0\%g`, z))
		}
		return out
	}
	sheared := []string{`0\0\0`, `0\0.1\0.3`, `0\0.2\0.6`, `0\0.3\0.9`}
	for _, c := range []struct {
		name       string
		positions  []string
		orient     string
		order      []uint16 // values of the slices in order of position
		step       float64
		missing    []int // counts
		duplicates int
		volume     bool
		caution    string
	}{
		{"shuffled", at(0.9, 0, 0.6, 0.3), axial, []uint16{1, 3, 2, 0}, 0.3, nil, 0, true, "not used"},
		{"one missing", at(0, 0.3, 0.9, 1.2), axial, []uint16{0, 1, 2, 3}, 0.3, []int{1}, 0, false, "missing between"},
		{"duplicate", at(0, 0.3, 0.3, 0.6), axial, []uint16{0, 1, 2, 3}, 0.3, nil, 1, false, "same place"},
		{"uneven", at(0, 0.3, 0.7, 1.0), axial, []uint16{0, 1, 2, 3}, 1.0 / 3, nil, 0, false, "differ"},
		{"rounded positions", at(0, 0.13, 0.25, 0.38, 0.5), axial, []uint16{0, 1, 2, 3, 4}, 0.125, nil, 0, true, ""},
		{"tilted gantry", sheared, axial, []uint16{0, 1, 2, 3}, 0.3, nil, 0, true, "18.4°"}, // atan(1/3)
		{"coronal, toward the front", []string{`0\1\0`, `0\0.5\0`, `0\0\0`}, `1\0\0\0\0\-1`, []uint16{2, 1, 0}, 0.5, nil, 0, true, "not imaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := t.TempDir()
			for i, p := range c.positions {
				write(t, filepath.Join(folder, fmt.Sprintf("f%d", i)), ctSlice("1.2.3", fmt.Sprint(i), p, c.orient, uint16(i)))
			}
			found, err := Scan(folder)
			if err != nil || len(found.Series) != 1 {
				t.Fatalf("%d series, error %v", len(found.Series), err)
			}
			s := found.Series[0]
			var order []uint16
			frames, err := s.Frames()
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range frames {
				order = append(order, f.Pix[0])
			}
			if !slices.Equal(order, c.order) {
				t.Errorf("order %v, want %v", order, c.order)
			}
			var missing []int
			for _, g := range s.Missing {
				missing = append(missing, g.Count)
			}
			if math.Abs(s.StepMM-c.step) > 1e-9 || !slices.Equal(missing, c.missing) || len(s.Duplicates) != c.duplicates || s.Volume() != c.volume {
				t.Errorf("step %v, missing %v, duplicates %v, volume %t", s.StepMM, missing, s.Duplicates, s.Volume())
			}
			if !strings.Contains(strings.Join(s.Cautions, "; "), c.caution) {
				t.Errorf("cautions %q lack %q", s.Cautions, c.caution)
			}
		})
	}
}

// TestScanFolder: other files are passed over, damaged DICOM files are named,
// series and orientations are kept apart, single pictures are ordered by
// instance number.
func TestScanFolder(t *testing.T) {
	folder := t.TempDir()
	sub := filepath.Join(folder, "sub")
	if err := os.Mkdir(sub, 0o700); err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"b", "a"} {
		radiograph := build{syntax: explicitVRLittle, attrs: with(picture(2, 2, 8, 8, []byte{1, 2, 3, 4}),
			attr{tag.SeriesInstanceUID, "UI", "1.2.9"}, attr{tag.InstanceNumber, "IS", fmt.Sprint(i + 1)})}
		write(t, filepath.Join(sub, name), radiograph)
	}
	write(t, filepath.Join(folder, "ax"), ctSlice("1.2.3", "1", `0\0\0`, `1\0\0\0\1\0`, 0))
	write(t, filepath.Join(folder, "cor"), ctSlice("1.2.3", "2", `0\0\0`, `1\0\0\0\0\-1`, 0))
	whole := ctSlice("1.2.3", "3", `0\0\1`, `1\0\0\0\1\0`, 0).bytes(t)
	for name, data := range map[string][]byte{"cut": whole[:len(whole)-3], "notes.txt": []byte("no picture")} {
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	found, err := Scan(folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(found.Series) != 3 {
		t.Errorf("%d series, want 3", len(found.Series))
	}
	if len(found.Skipped) != 1 || filepath.Base(found.Skipped[0].Path) != "cut" {
		t.Errorf("skipped %v, want cut", found.Skipped)
	}
	last := found.Series[len(found.Series)-1]
	if last.Placed || last.Slices[0].Name() != "b" || last.Slices[1].Name() != "a" {
		t.Errorf("radiographs in order %s, %s", last.Slices[0].Name(), last.Slices[1].Name())
	}
}

// TestScanDirectory follows a DICOMDIR (PS3.3 F.3) to files in small letters,
// names what is absent, and never leaves its folder.
func TestScanDirectory(t *testing.T) {
	folder := t.TempDir()
	if err := os.Mkdir(filepath.Join(folder, "images"), 0o700); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(folder, "images", "im1"), ctSlice("1.2.3", "1", `0\0\0`, `1\0\0\0\1\0`, 0))
	record := func(id string) []attr {
		return []attr{{tag.DirectoryRecordType, "CS", "IMAGE"}, {tag.ReferencedFileID, "CS", id}}
	}
	path := filepath.Join(folder, "DICOMDIR")
	write(t, path, build{syntax: explicitVRLittle, undefinedSequence: true, attrs: []attr{
		{tag.DirectoryRecordSequence, "SQ", [][]attr{
			{{tag.DirectoryRecordType, "CS", "PATIENT"}}, record(`IMAGES\IM1`), record(`IMAGES\IM2`), record(`..\IM3`),
		}}}})
	found, err := Scan(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(found.Series) != 1 || len(found.Skipped) != 2 {
		t.Errorf("%d series, skipped %v", len(found.Series), found.Skipped)
	}
}

// TestScanMultiFrame turns the frames of one file into slices.
func TestScanMultiFrame(t *testing.T) {
	frame := func(z string) []attr {
		return []attr{{tag.PlanePositionSequence, "SQ", []attr{ds(tag.ImagePositionPatient, `0\0\`+z)}},
			{tag.PlaneOrientationSequence, "SQ", []attr{ds(tag.ImageOrientationPatient, `1\0\0\0\1\0`)}}}
	}
	path := filepath.Join(t.TempDir(), "volume")
	write(t, path, build{syntax: explicitVRLittle, attrs: with(picture(1, 1, 8, 8, []byte{10, 20, 30, 0}),
		attr{tag.NumberOfFrames, "IS", "3"}, attr{tag.Modality, "CS", "CT"},
		attr{tag.PerFrameFunctionalGroupsSequence, "SQ", [][]attr{frame("0.5"), frame("0"), frame("0.25")}})})
	found, err := Scan(path)
	if err != nil {
		t.Fatal(err)
	}
	s := found.Series[0]
	frames, err := s.Frames()
	if err != nil {
		t.Fatal(err)
	}
	if !s.Volume() || s.StepMM != 0.25 || frames[0].Pix[0] != 20 || frames[2].Pix[0] != 10 || s.Slices[0].Name() != "volume frame 2" {
		t.Errorf("series %+v", s)
	}
}

// TestScanNothing: a folder without pictures is an error that says so.
func TestScanNothing(t *testing.T) {
	if _, err := Scan(t.TempDir()); err == nil || !strings.Contains(err.Error(), "none was found") {
		t.Errorf("error %v", err)
	}
	if _, err := Scan(filepath.Join(t.TempDir(), "absent")); !os.IsNotExist(err) {
		t.Errorf("error %v", err)
	}
}
