package headless

import (
	"fmt"

	"rootrule/imaging"
	"rootrule/imaging/trace"
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

// traceLine finds the centre line of a canal, or of a bright file, between two
// marks.
func traceLine(c *call) error {
	from := c.flags.String("from", "", "first mark, X,Y in px")
	to := c.flags.String("to", "", "last mark, X,Y in px")
	var via []string
	c.flags.Func("via", "mark in between, X,Y in px; as often as wanted", func(s string) error {
		via = append(via, s)
		return nil
	})
	var o trace.Options
	c.flags.BoolVar(&o.Bright, "bright", false, "follow a bright file or filling")
	c.flags.BoolVar(&o.Snap, "snap", false, "move the marks onto the line, and a bright line's ends to its tip and stop")
	asJSON := c.flags.Bool("json", false, "print JSON")
	frame := c.flags.Int("frame", 1, "frame, from 1")
	args, err := c.parse(1)
	if err != nil {
		return err
	}
	marks, err := traceMarks(*from, *to, via)
	if err != nil {
		return err
	}
	m, err := imaging.OpenFrame(args[0], *frame)
	if err != nil {
		return err
	}
	last := len(marks) - 1
	line, err := trace.Canal(m, marks[0], marks[last], marks[1:last], o)
	if err != nil {
		return err
	}
	if *asJSON {
		return writeJSON(c.out, encodeLine(line))
	}
	fmt.Fprintf(c.out, "length %.1f px, line known to %.2f px across\n", line.Length(), line.StdUnc)
	for _, caution := range line.Cautions {
		fmt.Fprintln(c.out, "caution:", caution)
	}
	for _, p := range line.Marks() {
		fmt.Fprintf(c.out, "%.2f,%.2f\n", p.X, p.Y)
	}
	return nil
}

// traceMarks reads the marks in order along the line.
func traceMarks(from, to string, via []string) ([]measure.Point, error) {
	var marks []measure.Point
	add := func(flag, text string) error {
		v, err := numbers(flag, text, 2)
		if err == nil {
			marks = append(marks, measure.Pt(v[0], v[1]))
		}
		return err
	}
	if err := add("from", from); err != nil {
		return nil, err
	}
	for _, v := range via {
		if err := add("via", v); err != nil {
			return nil, err
		}
	}
	err := add("to", to)
	return marks, err
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
