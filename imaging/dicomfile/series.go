package dicomfile

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Series is the pictures of one series that belong together: same series UID,
// size and orientation. Where their planes are stated they are slices in order
// along the normal, and Placed is true; else they are single pictures in order
// of instance number.
type Series struct {
	UID         string
	Modality    string
	Description string // as the file says
	Rows        int
	Columns     int
	// Slices are in order of position; those at one place follow one another.
	Slices []Slice
	Placed bool
	// Normal is the direction of increasing position; zero unless Placed.
	Normal Vector
	// StepMM is the distance of neighbouring slices along the normal, in mm, by
	// their positions; 0 where there are no two. Slice thickness and the stated
	// spacing between slices play no part in it.
	StepMM float64
	// Missing are the gaps where whole slices are absent.
	Missing []Gap
	// Duplicates are the indices of slices that lie where the slice before
	// them lies.
	Duplicates []int
	// Uneven is the number of steps that are no whole number of StepMM.
	Uneven   int
	Spacing  Spacing // of the first slice
	Cautions []string
}

// Slice is one picture of a series: a frame of a file.
type Slice struct {
	File  *File
	Path  string
	Frame int // from 0
	// Plane and Position, along the series' normal in mm, are zero unless the
	// series is placed.
	Plane    Plane
	Position float64
}

// Name returns the file's name, with the frame from 1 where it has several.
func (s Slice) Name() string {
	name := filepath.Base(s.Path)
	if s.File.Frames > 1 {
		name += fmt.Sprintf(" frame %d", s.Frame+1)
	}
	return name
}

// Gap is a place where Count slices are missing behind slice After, which
// would lie at Positions along the normal, in mm.
type Gap struct {
	After     int
	Count     int
	Positions []float64
}

// Volume reports whether the slices make a volume: at least three, placed,
// evenly spaced, none missing or twice.
func (s *Series) Volume() bool {
	return s.Placed && len(s.Slices) >= 3 && s.StepMM > 0 && len(s.Missing)+len(s.Duplicates)+s.Uneven == 0
}

// Tolerances on positions along the normal, as fractions of the step. Ours, no
// source: positions printed with three digits at a step of 0.1 mm vary by 1 %.
const (
	sameplace  = 0.05
	unevenStep = 0.05
)

// seriesOf groups the frames of files into series, in order of first path.
func seriesOf(files []scannedFile) []Series {
	groups := make(map[string]*Series)
	var order []string
	for _, f := range files {
		for i := range f.file.Frames {
			slice := Slice{File: f.file, Path: f.path, Frame: i}
			var placed bool
			slice.Plane, placed = f.file.Plane(i)
			key := seriesKey(f, slice.Plane, placed)
			s := groups[key]
			if s == nil {
				s = &Series{UID: f.file.SeriesUID, Modality: f.file.Modality, Description: f.file.SeriesDescription,
					Rows: f.file.Rows, Columns: f.file.Columns, Placed: placed, Spacing: f.file.Spacing(i)}
				groups[key] = s
				order = append(order, key)
			}
			s.Slices = append(s.Slices, slice)
		}
	}
	out := make([]Series, 0, len(order))
	for _, key := range order {
		groups[key].arrange()
		out = append(out, *groups[key])
	}
	return out
}

// seriesKey tells series apart. Directions are compared to two digits: those of
// one stack agree to more, those of another reformatting differ by more.
func seriesKey(f scannedFile, p Plane, placed bool) string {
	uid := f.file.SeriesUID
	if uid == "" {
		uid = filepath.Dir(f.path)
	}
	key := fmt.Sprintf("%s %d %d %t %v", uid, f.file.Rows, f.file.Columns, placed, f.file.isVolume())
	for _, v := range [2]Vector{p.Row, p.Column} {
		for _, x := range v {
			key += " " + strconv.FormatFloat(math.Round(x*100)+0, 'f', 0, 64) // +0: no minus zero
		}
	}
	return key
}

// arrange orders slices, finds the step, and names what is irregular.
func (s *Series) arrange() {
	if !s.Placed {
		slices.SortStableFunc(s.Slices, func(a, b Slice) int {
			return cmp.Or(cmp.Compare(instance(a), instance(b)), cmp.Compare(a.Path, b.Path), cmp.Compare(a.Frame, b.Frame))
		})
		return
	}
	s.Normal = s.Slices[0].Plane.Normal()
	for i := range s.Slices {
		s.Slices[i].Position = s.Slices[i].Plane.Position.Dot(s.Normal)
	}
	slices.SortStableFunc(s.Slices, func(a, b Slice) int {
		return cmp.Or(cmp.Compare(a.Position, b.Position), cmp.Compare(instance(a), instance(b)), cmp.Compare(a.Path, b.Path))
	})
	s.findStep()
	s.findGaps()
	s.findShear()
	s.compareStated()
}

func instance(s Slice) int {
	n, err := strconv.Atoi(s.File.InstanceNumber)
	if err != nil {
		return 0
	}
	return n
}

func (s *Series) caution(format string, args ...any) {
	s.Cautions = append(s.Cautions, fmt.Sprintf(format, args...))
}

// distances returns the differences of neighbouring positions.
func (s *Series) distances() []float64 {
	var d []float64
	for i := 1; i < len(s.Slices); i++ {
		d = append(d, s.Slices[i].Position-s.Slices[i-1].Position)
	}
	return d
}

// findStep finds the step: the median of distances tells how many steps lie
// between neighbours, and the whole length divided by their number is the step,
// which the rounding of printed positions leaves alone. Slices at one place,
// closer than a hundredth of a millimetre, are left out.
func (s *Series) findStep() {
	var apart []float64
	for _, d := range s.distances() {
		if d > 0.01 {
			apart = append(apart, d)
		}
	}
	if len(apart) == 0 {
		return
	}
	slices.Sort(apart)
	n := len(apart)
	median := (apart[(n-1)/2] + apart[n/2]) / 2
	length, steps := 0.0, 0.0
	for _, d := range apart {
		length += d
		steps += math.Max(1, math.Round(d/median))
	}
	s.StepMM = length / steps
}

// findGaps finds duplicates, missing slices and uneven steps.
func (s *Series) findGaps() {
	for i, d := range s.distances() {
		steps := 0.0
		if s.StepMM > 0 {
			steps = d / s.StepMM
		}
		whole := math.Round(steps)
		switch {
		case steps < sameplace:
			s.Duplicates = append(s.Duplicates, i+1)
		case math.Abs(steps-whole) > unevenStep*math.Max(1, whole):
			s.Uneven++
		case whole > 1:
			s.Missing = append(s.Missing, s.gap(i, int(whole)-1))
		}
	}
	if s.Uneven > 0 {
		s.caution("%d of %d steps between slices differ from %.4g mm: lengths across slices are unsure", s.Uneven, len(s.Slices)-1, s.StepMM)
	}
	for _, i := range s.Duplicates {
		s.caution("%s and %s lie at the same place", s.Slices[i-1].Name(), s.Slices[i].Name())
	}
	for _, g := range s.Missing {
		s.caution("missing between %s and %s: %d at %.4g mm", s.Slices[g.After].Name(), s.Slices[g.After+1].Name(), g.Count, g.Positions[0])
	}
}

func (s *Series) gap(after, count int) Gap {
	g := Gap{After: after, Count: count}
	from, to := s.Slices[after].Position, s.Slices[after+1].Position
	for k := 1; k <= min(count, 10_000); k++ { // positions are for reading: a broken header may claim any distance
		g.Positions = append(g.Positions, from+(to-from)*float64(k)/float64(count+1))
	}
	return g
}

// findShear tells when slices are shifted against each other within their
// plane, as a tilted gantry does: the volume is then a sheared one.
func (s *Series) findShear() {
	first, last := s.Slices[0].Plane.Position, s.Slices[len(s.Slices)-1].Plane.Position
	d := Vector{last[0] - first[0], last[1] - first[1], last[2] - first[2]}
	along := d.Dot(s.Normal)
	across := math.Sqrt(math.Max(0, d.Dot(d)-along*along))
	pixel := math.Max(s.Spacing.RowMM, s.Spacing.ColMM)
	if pixel == 0 {
		pixel = s.StepMM
	}
	if along > 0 && across > pixel/2 {
		s.caution("slices are shifted against each other by %.1f° (tilted gantry): lengths across slices need the shift taken into account",
			math.Atan2(across, along)*180/math.Pi)
	}
}

// compareStated notes stated distances that contradict the positions.
func (s *Series) compareStated() {
	first := s.Slices[0]
	d := first.File.group(first.Frame, tag.PixelMeasuresSequence)
	if stated, ok := d.number(tag.SpacingBetweenSlices); ok && s.StepMM > 0 && math.Abs(math.Abs(stated)-s.StepMM) > unevenStep*s.StepMM {
		s.caution("slices lie %.4g mm apart by their positions; the stated spacing of %.4g mm is wrong and not used", s.StepMM, stated)
	}
	if thick, ok := d.number(tag.SliceThickness); ok && thick > 0 && thick < (1-unevenStep)*s.StepMM {
		s.caution("slices of %.4g mm lie %.4g mm apart: what is between them was not imaged", thick, s.StepMM)
	}
}

// Frames decodes all slices, in order, on all processors. The first error ends
// it and names the slice.
func (s *Series) Frames() ([]*Frame, error) {
	frames := make([]*Frame, len(s.Slices))
	errs := make([]error, len(s.Slices))
	inParallel(len(s.Slices), func(i int) {
		frames[i], errs[i] = s.Slices[i].File.Frame(s.Slices[i].Frame)
		if errs[i] != nil {
			errs[i] = fmt.Errorf("%s: %w", s.Slices[i].Name(), errs[i])
		}
	})
	if i := slices.IndexFunc(errs, func(err error) bool { return err != nil }); i >= 0 {
		return nil, errs[i]
	}
	return frames, nil
}
