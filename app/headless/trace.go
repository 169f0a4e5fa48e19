package headless

import (
	"fmt"

	"rootrule/imaging"
	"rootrule/imaging/trace"
	"rootrule/imaging/volume"
	"rootrule/measure"
)

// traceResult is what trace prints for an image: points about a pixel apart,
// and few marks, each with its standard uncertainty, that a marks file wants.
type traceResult struct {
	CentreLine [][]float64     `json:"centre_line"`
	Marks      []measure.Point `json:"marks"`
	LengthPx   float64         `json:"length_px"`
	Confidence []float64       `json:"confidence"`
	StdUncPx   float64         `json:"std_unc_px"`
	Cautions   []string        `json:"cautions"`
}

// trace3Result is what trace prints for a volume: places about a voxel apart, in
// the patient coordinate system (LPS).
type trace3Result struct {
	CentreLine [][3]float64 `json:"centre_line"`
	LengthMM   float64      `json:"length_mm"`
	Confidence []float64    `json:"confidence"`
	StdUncMM   float64      `json:"std_unc_mm"`
	Cautions   []string     `json:"cautions"`
}

// traceCall is the flags of the command.
type traceCall struct {
	from, to string
	via      []string
	o        trace.Options
	asJSON   bool
	frame    int
}

// traceLine finds the centre line of a canal, or of a bright file, between two
// marks on an image or in a volume.
func traceLine(c *call) error {
	var t traceCall
	c.flags.StringVar(&t.from, "from", "", "first mark, X,Y in px or X,Y,Z in mm (LPS) in a volume")
	c.flags.StringVar(&t.to, "to", "", "last mark, likewise")
	c.flags.Func("via", "mark in between, likewise; as often as wanted", func(s string) error {
		t.via = append(t.via, s)
		return nil
	})
	c.flags.BoolVar(&t.o.Bright, "bright", false, "follow a bright file or filling")
	c.flags.BoolVar(&t.o.Snap, "snap", false, "move the marks onto the line, and a bright line's ends to its tip and stop")
	c.flags.BoolVar(&t.asJSON, "json", false, "print JSON")
	c.flags.IntVar(&t.frame, "frame", 1, "frame, from 1")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	marks, err := t.marks()
	if err != nil {
		return err
	}
	if len(marks[0]) == 3 {
		return t.inVolume(c, args[0], marks)
	}
	return t.onImage(c, args[0], marks)
}

// marks reads the marks in order along the line, all of two numbers or all of
// three.
func (t traceCall) marks() ([][]float64, error) {
	var marks [][]float64
	add := func(flag, text string) error {
		v, err := numbers(flag, text, 2, 3)
		if err != nil {
			return err
		}
		if len(marks) > 0 && len(v) != len(marks[0]) {
			return usageError{fmt.Sprintf("--%s %q has %d numbers and --from %d: give X,Y for an image or X,Y,Z for a volume", flag, text, len(v), len(marks[0]))}
		}
		marks = append(marks, v)
		return nil
	}
	if err := add("from", t.from); err != nil {
		return nil, err
	}
	for _, v := range t.via {
		if err := add("via", v); err != nil {
			return nil, err
		}
	}
	err := add("to", t.to)
	return marks, err
}

func (t traceCall) onImage(c *call, path string, marks [][]float64) error {
	m, err := imaging.OpenFrame(path, t.frame)
	if err != nil {
		return err
	}
	points := make([]measure.Point, len(marks))
	for i, v := range marks {
		points[i] = measure.Pt(v[0], v[1])
	}
	last := len(points) - 1
	line, err := trace.Canal(m, points[0], points[last], points[1:last], t.o)
	if err != nil {
		return err
	}
	if t.asJSON {
		return writeJSON(c.out, encodeLine(line))
	}
	fmt.Fprintf(c.out, "length %.1f px, line known to %.2f px across\n", line.Length(), line.StdUnc)
	if err := printCautions(c.out, line.Cautions); err != nil {
		return err
	}
	for _, p := range line.Marks() {
		fmt.Fprintf(c.out, "%.2f,%.2f\n", p.X, p.Y)
	}
	return nil
}

// stack is a volume as trace wants it.
type stack struct{ v *volume.Volume }

func (s stack) Size() trace.Size {
	n := s.v.Size()
	return trace.Size{X: n[0], Y: n[1], Z: n[2]}
}
func (s stack) Spacing() [3]float64             { return s.v.StepMM() }
func (s stack) Row(dst []float32, x0, y, z int) { s.v.Row(x0, y, z, dst) }

// holds reports whether a point of the patient lies in the volume.
func (s stack) holds(mm volume.Point) bool {
	p, n := s.v.Voxel(mm), s.v.Size()
	for a := range 3 {
		if !(p[a] > -0.5 && p[a] < float64(n[a])-0.5) {
			return false
		}
	}
	return true
}

// place returns where a point of the patient lies along the volume's axes.
func (s stack) place(mm volume.Point) trace.Place {
	p, step := s.v.Voxel(mm), s.v.StepMM()
	return trace.Place{p[0] * step[0], p[1] * step[1], p[2] * step[2]}
}

// point is the inverse of place.
func (s stack) point(p trace.Place) volume.Point {
	step := s.v.StepMM()
	return s.v.MM(volume.Point{p[0] / step[0], p[1] / step[1], p[2] / step[2]})
}

func (t traceCall) inVolume(c *call, path string, marks [][]float64) error {
	v, err := volume.Open(path)
	if err != nil {
		return err
	}
	s := stack{v}
	places := make([]trace.Place, len(marks))
	for i, m := range marks {
		if !s.holds(volume.Point(m)) {
			n := v.Size()
			return fmt.Errorf("trace: the mark at %g, %g, %g mm lies outside the volume of %d × %d × %d voxels: give patient coordinates (LPS) inside it", m[0], m[1], m[2], n[0], n[1], n[2])
		}
		places[i] = s.place(volume.Point(m))
	}
	last := len(places) - 1
	line, err := trace.CanalIn(s, places[0], places[last], places[1:last], t.o)
	if err != nil {
		return err
	}
	r := trace3Result{
		CentreLine: [][3]float64{}, LengthMM: rounded(line.Length(), 4), Confidence: []float64{}, StdUncMM: rounded(line.StdUnc, 4),
		Cautions: append(append([]string{}, v.Cautions...), line.Cautions...),
	}
	for i, p := range line.Points {
		q := s.point(p)
		r.CentreLine = append(r.CentreLine, [3]float64{rounded(q[0], 4), rounded(q[1], 4), rounded(q[2], 4)})
		r.Confidence = append(r.Confidence, rounded(line.Confidence[i], 3))
	}
	if t.asJSON {
		return writeJSON(c.out, r)
	}
	fmt.Fprintf(c.out, "length %.2f mm, line known to %.3f mm across\n", r.LengthMM, r.StdUncMM)
	if err := printCautions(c.out, r.Cautions); err != nil {
		return err
	}
	for _, q := range r.CentreLine {
		fmt.Fprintf(c.out, "%.3f,%.3f,%.3f\n", q[0], q[1], q[2])
	}
	return nil
}

func encodeLine(l trace.Line) traceResult {
	r := traceResult{
		CentreLine: [][]float64{}, Marks: l.Marks(), LengthPx: rounded(l.Length(), 3),
		Confidence: []float64{}, StdUncPx: rounded(l.StdUnc, 3), Cautions: append([]string{}, l.Cautions...),
	}
	for i, p := range l.Points {
		r.CentreLine = append(r.CentreLine, []float64{rounded(p.X, 3), rounded(p.Y, 3)})
		r.Confidence = append(r.Confidence, rounded(l.Confidence[i], 3))
	}
	return r
}
