// Package volume turns the slices of a CBCT or CT series into one block of
// voxels that knows where it lies in the patient. Start with [Open] for a
// folder, a DICOMDIR or files, or with [Load] for a series that
// dicomfile.Scan found.
//
// Voxel coordinates (i, j, k) count columns, rows and slices from 0, voxel
// centres at integers; [Volume.MM] and [Volume.Voxel] go to and from the DICOM
// patient coordinate system (LPS, mm: x to the patient's left, y to the back,
// z to the head). Slices lie in order along their normal; the step between
// them comes from their positions alone.
//
// Values are those of the modality (stored value × rescale slope + intercept);
// in CBCT they are no Hounsfield units, whatever the file calls them. Voxels
// are kept as stored, two bytes each, at most [MaxBytes].
//
// The package does not fill gaps: a series with missing, doubled or unevenly
// spaced slices is refused, because lengths across them would be wrong. It
// does not reslice, trace or outline.
package volume

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"rootrule/imaging/dicomfile"
	"rootrule/imaging/fault"
)

// MaxBytes is how much memory the voxels of a volume may take: a large CBCT of
// 800 × 800 × 800 voxels fits. Ours, no source.
const MaxBytes = 1 << 30

// Point is a position in the patient in mm (LPS), or in a volume in voxels.
type Point [3]float64

// Volume is a block of voxels. It is never changed and safe to share.
type Volume struct {
	Columns, Rows, Slices int
	// Pix has the stored values, columns fastest, then rows, then slices; those
	// of signed files are offset by 32768.
	Pix []uint16
	// Slope and Intercept turn the stored values of each slice, the offset
	// included, into values of the modality.
	Slope, Intercept []float64
	// Unit is what the file calls the values: "HU", "US" (unspecified) or "".
	Unit string
	// Origin is the centre of voxel (0, 0, 0) in mm; I, J and K lead from a
	// voxel to its neighbour in the next column, row and slice.
	Origin, I, J, K Point
	// Series is the instance UID of the series.
	Series   string
	Cautions []string

	back [3]Point // rows of the inverse of (I J K)
}

// Open reads the only volume, or the one with the most slices, that paths
// hold. A DICOM file that can't be read is an error, lest a slice be missed.
// Errors match fault.ErrMalformed or fault.ErrUnsupported, except those
// of the operating system.
func Open(paths ...string) (*Volume, error) {
	scanned, err := dicomfile.Scan(paths...)
	if err != nil {
		return nil, err
	}
	if n := len(scanned.Skipped); n > 0 { // it may be a slice at an end, whose absence nothing else shows
		return nil, fmt.Errorf("reading a volume: %d of its files can't be read, the first is %s: %w", n, filepath.Base(scanned.Skipped[0].Path), scanned.Skipped[0].Err)
	}
	s, err := largest(scanned)
	if err != nil {
		return nil, err
	}
	return Load(s)
}

// largest is the series with the most slices among those that make a volume.
func largest(scanned dicomfile.Scanned) (*dicomfile.Series, error) {
	var best *dicomfile.Series
	var why []string
	for i := range scanned.Series {
		s := &scanned.Series[i]
		if !s.Volume() {
			why = append(why, problem(s))
			continue
		}
		if best == nil || len(s.Slices) > len(best.Slices) {
			best = s
		}
	}
	if best == nil {
		return nil, fault.Unsupported("reading a volume: none of %d series makes one: %s", len(scanned.Series), strings.Join(why, "; "))
	}
	return best, nil
}

// problem says why a series makes no volume.
func problem(s *dicomfile.Series) string {
	switch n := len(s.Slices); {
	case n < 3:
		return fmt.Sprintf("%d pictures are too few", n)
	case !s.Placed:
		return fmt.Sprintf("%d pictures do not state where they lie", n)
	case len(s.Missing) > 0:
		return fmt.Sprintf("slices are missing in %d places among %d: export the series again", len(s.Missing), n)
	case len(s.Duplicates) > 0:
		return fmt.Sprintf("%d of %d slices lie where another lies: export one series at a time", len(s.Duplicates), n)
	case s.Uneven > 0:
		return fmt.Sprintf("%d of %d slices are unevenly spaced", s.Uneven, n)
	}
	return "the slices have no distance"
}

// Load reads all slices of a series that makes a volume.
func Load(s *dicomfile.Series) (*Volume, error) {
	if !s.Volume() {
		return nil, fault.Unsupported("reading a volume: %s", problem(s))
	}
	if !(s.Spacing.RowMM > 0 && s.Spacing.ColMM > 0) {
		return nil, fault.Unsupported("reading a volume: the slices state no pixel spacing")
	}
	v := newVolume(s)
	if need := float64(v.Columns) * float64(v.Rows) * float64(v.Slices) * 2; need > MaxBytes {
		return nil, fault.Unsupported("reading a volume: %d × %d × %d voxels need %.1f GB, more than the %.1f GB allowed: export a smaller field or larger voxels",
			v.Columns, v.Rows, v.Slices, need/(1<<30), float64(MaxBytes)/(1<<30))
	}
	if err := v.invert(); err != nil {
		return nil, err
	}
	v.Pix = make([]uint16, v.Columns*v.Rows*v.Slices)
	if err := v.read(s); err != nil {
		return nil, err
	}
	return v, nil
}

// newVolume takes the geometry of a series.
func newVolume(s *dicomfile.Series) *Volume {
	n := len(s.Slices)
	first, last := s.Slices[0].Plane, s.Slices[n-1].Plane
	v := &Volume{
		Columns: s.Columns, Rows: s.Rows, Slices: n, Series: s.UID,
		Slope: make([]float64, n), Intercept: make([]float64, n),
		Origin: Point(first.Position), Cautions: slices.Clone(s.Cautions),
	}
	for a := range 3 {
		v.I[a] = first.Row[a] * s.Spacing.ColMM
		v.J[a] = first.Column[a] * s.Spacing.RowMM
		v.K[a] = (last.Position[a] - first.Position[a]) / float64(n-1)
	}
	return v
}

// invert prepares the way from mm to voxels.
func (v *Volume) invert() error {
	det := v.I.dot(v.J.cross(v.K))
	if !(math.Abs(det) > 1e-9) {
		return fault.Malformed("reading a volume: its directions lie in one plane: export the series again")
	}
	v.back = [3]Point{v.J.cross(v.K).mul(1 / det), v.K.cross(v.I).mul(1 / det), v.I.cross(v.J).mul(1 / det)}
	return nil
}

// read decodes the slices on all processors, one at a time on each.
func (v *Volume) read(s *dicomfile.Series) error {
	errs := make([]error, v.Slices)
	var wait sync.WaitGroup
	n := min(runtime.GOMAXPROCS(0), v.Slices)
	for start := range n {
		wait.Go(func() {
			for k := start; k < v.Slices; k += n {
				if errs[k] = v.readSlice(s.Slices[k], k); errs[k] != nil {
					return
				}
			}
		})
	}
	wait.Wait()
	v.Unit = s.Slices[0].File.Rescale(s.Slices[0].Frame).Type
	return errors.Join(errs...)
}

func (v *Volume) readSlice(s dicomfile.Slice, k int) error {
	f, err := s.File.Frame(s.Frame)
	if err != nil {
		return fmt.Errorf("%s: %w", s.Name(), err)
	}
	f, _ = f.Grey()
	if f.Width != v.Columns || f.Height != v.Rows {
		return fault.Malformed("reading %s: it has %d × %d pixels, the series %d × %d", s.Name(), f.Width, f.Height, v.Columns, v.Rows)
	}
	r := s.File.Rescale(s.Frame)
	v.Slope[k], v.Intercept[k] = r.Slope, r.Intercept
	dst := v.Pix[k*v.Columns*v.Rows:][:v.Columns*v.Rows]
	copy(dst, f.Pix)
	if f.Signed {
		for i := range dst {
			dst[i] ^= 0x8000
		}
		v.Intercept[k] -= 32768 * r.Slope
	}
	return nil
}

// Size returns the number of columns, rows and slices.
func (v *Volume) Size() [3]int { return [3]int{v.Columns, v.Rows, v.Slices} }

// StepMM returns the distances in mm between neighbouring columns and rows,
// and between slices along their normal.
func (v *Volume) StepMM() [3]float64 {
	normal := v.I.cross(v.J)
	return [3]float64{v.I.norm(), v.J.norm(), math.Abs(v.K.dot(normal)) / normal.norm()}
}

// At returns the value of voxel (i, j, k).
func (v *Volume) At(i, j, k int) float64 {
	return v.Slope[k]*float64(v.Pix[(k*v.Rows+j)*v.Columns+i]) + v.Intercept[k]
}

// Row puts the values of row j of slice k from column i on into dst.
func (v *Volume) Row(i, j, k int, dst []float32) {
	slope, intercept := float32(v.Slope[k]), float32(v.Intercept[k])
	for n, p := range v.Pix[(k*v.Rows+j)*v.Columns+i:][:len(dst)] {
		dst[n] = slope*float32(p) + intercept
	}
}

// MM returns the place in the patient of voxel coordinates.
func (v *Volume) MM(p Point) Point {
	out := v.Origin
	for a := range 3 {
		out[a] += p[0]*v.I[a] + p[1]*v.J[a] + p[2]*v.K[a]
	}
	return out
}

// Voxel returns the voxel coordinates of a place in the patient. They may lie
// outside the volume.
func (v *Volume) Voxel(mm Point) Point {
	d := Point{mm[0] - v.Origin[0], mm[1] - v.Origin[1], mm[2] - v.Origin[2]}
	return Point{d.dot(v.back[0]), d.dot(v.back[1]), d.dot(v.back[2])}
}

func (p Point) dot(q Point) float64 { return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] }
func (p Point) norm() float64       { return math.Sqrt(p.dot(p)) }
func (p Point) mul(k float64) Point { return Point{p[0] * k, p[1] * k, p[2] * k} }
func (p Point) cross(q Point) Point {
	return Point{p[1]*q[2] - p[2]*q[1], p[2]*q[0] - p[0]*q[2], p[0]*q[1] - p[1]*q[0]}
}
