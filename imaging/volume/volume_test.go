package volume

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rootrule/imaging/dicomfile"
	"rootrule/imaging/fault"
)

// stack is a series of signed 16-bit slices that a test writes.
type stack struct {
	columns, rows int
	row, column   Point // directions of a row and of a column
	rowMM, colMM  float64
	origin, step  Point // of the first slice, and from slice to slice
	slope, inter  string
	skip          int // slice to leave out
	value         func(i, j, k int) int16
}

// plain is an axial stack of 5 × 4 × 6 voxels.
func plain() stack {
	return stack{columns: 5, rows: 4, row: Point{1, 0, 0}, column: Point{0, 1, 0}, rowMM: 0.3, colMM: 0.2,
		origin: Point{-10, 20, 5}, step: Point{0, 0, 0.4}, slope: "2", inter: "-1000", skip: -1,
		value: func(i, j, k int) int16 { return int16(100*k + 10*j + i - 200) }}
}

// write puts the slices into a folder, in scrambled order, as explicit VR
// little endian (PS3.5 7.1.2), and returns the folder.
func (s stack) write(t *testing.T, slices int) string {
	t.Helper()
	dir := t.TempDir()
	for n := range slices {
		k := (n*7 + 3) % slices // 7 shares no factor with the numbers of slices used
		if k == s.skip {
			continue
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%02d.dcm", n)), s.slice(k), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func (s stack) slice(k int) []byte {
	var b bytes.Buffer
	b.Write(make([]byte, 128))
	b.WriteString("DICM")
	at := s.origin
	for a := range 3 {
		at[a] += float64(k) * s.step[a]
	}
	element(&b, 0x0002, 0x0010, "UI", "1.2.840.10008.1.2.1\x00")
	element(&b, 0x0008, 0x0016, "UI", "1.2.840.10008.5.1.4.1.1.2\x00") // CT Image Storage
	element(&b, 0x0008, 0x0060, "CS", "CT")
	element(&b, 0x0020, 0x000e, "UI", "1.2.3.4\x00")
	element(&b, 0x0020, 0x0032, "DS", fmt.Sprintf(`%.6f\%.6f\%.6f`, at[0], at[1], at[2]))
	element(&b, 0x0020, 0x0037, "DS", fmt.Sprintf(`%.7f\%.7f\%.7f\%.7f\%.7f\%.7f`, s.row[0], s.row[1], s.row[2], s.column[0], s.column[1], s.column[2]))
	element(&b, 0x0028, 0x0002, "US", short(1))
	element(&b, 0x0028, 0x0004, "CS", "MONOCHROME2")
	element(&b, 0x0028, 0x0010, "US", short(uint16(s.rows)))
	element(&b, 0x0028, 0x0011, "US", short(uint16(s.columns)))
	element(&b, 0x0028, 0x0030, "DS", fmt.Sprintf(`%g\%g`, s.rowMM, s.colMM))
	element(&b, 0x0028, 0x0100, "US", short(16))
	element(&b, 0x0028, 0x0101, "US", short(16))
	element(&b, 0x0028, 0x0102, "US", short(15))
	element(&b, 0x0028, 0x0103, "US", short(1))
	element(&b, 0x0028, 0x1052, "DS", s.inter)
	element(&b, 0x0028, 0x1053, "DS", s.slope)
	element(&b, 0x0028, 0x1054, "LO", "HU")
	var pix []byte
	for j := range s.rows {
		for i := range s.columns {
			pix = binary.LittleEndian.AppendUint16(pix, uint16(s.value(i, j, k)))
		}
	}
	element(&b, 0x7fe0, 0x0010, "OW", string(pix))
	return b.Bytes()
}

func short(v uint16) string { return string(binary.LittleEndian.AppendUint16(nil, v)) }

func element(b *bytes.Buffer, group, elem uint16, vr, value string) {
	if len(value)%2 == 1 {
		value += " "
	}
	b.WriteString(short(group) + short(elem) + vr)
	if vr == "OW" {
		b.WriteString("\x00\x00")
		b.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(value))))
	} else {
		b.WriteString(short(uint16(len(value))))
	}
	b.WriteString(value)
}

func TestOpen(t *testing.T) {
	s := plain()
	v, err := Open(s.write(t, 6))
	if err != nil {
		t.Fatal(err)
	}
	if v.Size() != [3]int{5, 4, 6} {
		t.Fatalf("size %v", v.Size())
	}
	row := make([]float32, 4)
	for k := range 6 {
		for j := range 4 {
			v.Row(1, j, k, row)
			for i := range 5 {
				want := 2*float64(s.value(i, j, k)) - 1000
				if got := v.At(i, j, k); got != want {
					t.Fatalf("voxel (%d, %d, %d) is %v, want %v", i, j, k, got, want)
				}
				if i > 0 && float64(row[i-1]) != want {
					t.Fatalf("row %d of slice %d has %v in column %d, want %v", j, k, row[i-1], i, want)
				}
			}
		}
	}
	if v.Unit != "HU" {
		t.Errorf("unit %q", v.Unit)
	}
}

// TestPlaces goes from voxels to the patient and back: axial slices, oblique
// ones, slices stacked downwards, and a tilted gantry.
func TestPlaces(t *testing.T) {
	c, s := math.Cos(0.4), math.Sin(0.4)
	for _, k := range []struct {
		name      string
		change    func(s *stack)
		voxel, mm Point
		step      [3]float64
	}{
		{"axial", func(*stack) {}, Point{1, 2, 3}, Point{-9.8, 20.6, 6.2}, [3]float64{0.2, 0.3, 0.4}},
		{"downwards", func(s *stack) { s.step = Point{0, 0, -0.4} }, Point{0, 0, 0}, Point{-10, 20, 3}, [3]float64{0.2, 0.3, 0.4}},
		{"oblique", func(k *stack) {
			k.row, k.column, k.step = Point{c, s, 0}, Point{-s, c, 0}, Point{0, 0, 0.4}
		}, Point{2, 1, 1}, Point{-10 + 0.4*c - 0.3*s, 20 + 0.4*s + 0.3*c, 5.4}, [3]float64{0.2, 0.3, 0.4}},
		{"tilted", func(s *stack) { s.step = Point{0, 0.1, 0.4} }, Point{0, 0, 2}, Point{-10, 20.2, 5.8}, [3]float64{0.2, 0.3, 0.4}},
	} {
		t.Run(k.name, func(t *testing.T) {
			s := plain()
			k.change(&s)
			v, err := Open(s.write(t, 6))
			if err != nil {
				t.Fatal(err)
			}
			if d := distance(v.MM(k.voxel), k.mm); d > 1e-5 {
				t.Errorf("voxel %v lies at %v, want %v", k.voxel, v.MM(k.voxel), k.mm)
			}
			if d := distance(v.Voxel(k.mm), k.voxel); d > 1e-4 {
				t.Errorf("%v is voxel %v, want %v", k.mm, v.Voxel(k.mm), k.voxel)
			}
			for a, want := range k.step {
				if got := v.StepMM()[a]; math.Abs(got-want) > 1e-6 {
					t.Errorf("step %d is %v mm, want %v", a, got, want)
				}
			}
		})
	}
}

func distance(a, b Point) float64 {
	return Point{a[0] - b[0], a[1] - b[1], a[2] - b[2]}.norm()
}

func TestOpenRefuses(t *testing.T) {
	gap := plain()
	gap.skip = 2
	wide := plain()
	wide.rowMM = 0
	for _, k := range []struct {
		name string
		dir  string
		want string
	}{
		{"two slices", plain().write(t, 2), "2 pictures are too few"},
		{"a slice missing", gap.write(t, 6), "missing in 1 places"},
		{"no spacing", wide.write(t, 6), "pixel spacing"},
	} {
		_, err := Open(k.dir)
		if !errors.Is(err, fault.ErrUnsupported) || !bytes.Contains([]byte(err.Error()), []byte(k.want)) {
			t.Errorf("%s: error %v, want one that says %q", k.name, err, k.want)
		}
	}
	if _, err := Open(t.TempDir()); err == nil {
		t.Error("an empty folder: no error")
	}
}

func TestOpenDamaged(t *testing.T) {
	dir := plain().write(t, 6)
	path := filepath.Join(dir, "03.dcm")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data[:len(data)-9], 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir); !errors.Is(err, fault.ErrMalformed) {
		t.Errorf("a slice cut short: error %v, want malformed", err)
	}
}

// TestLoadTooLarge has a header that asks for more memory than is allowed; no
// slice is read.
func TestLoadTooLarge(t *testing.T) {
	s := &dicomfile.Series{Rows: 65535, Columns: 65535, Placed: true, StepMM: 1, Spacing: dicomfile.Spacing{RowMM: 1, ColMM: 1}}
	for k := range 3 {
		s.Slices = append(s.Slices, dicomfile.Slice{Plane: dicomfile.Plane{
			Position: dicomfile.Vector{0, 0, float64(k)}, Row: dicomfile.Vector{1, 0, 0}, Column: dicomfile.Vector{0, 1, 0}}})
	}
	if _, err := Load(s); !errors.Is(err, fault.ErrUnsupported) {
		t.Errorf("65535 × 65535 × 3 voxels: error %v, want unsupported", err)
	}
}
