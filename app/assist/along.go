package assist

import (
	"rootrule/imaging/trace"
	"rootrule/measure"
)

// either traces along the dark canal or along something bright in it.
func (a *Assistant) either(image string, c Clicks) (trace.Line, Along, error) {
	if c.Along != AlongEither {
		l, err := a.one(image, c, c.Along)
		return l, c.Along, err
	}
	dark, err := a.one(image, c, AlongDark)
	if err != nil {
		return dark, AlongDark, err
	}
	bright, err := a.one(image, c, AlongBright)
	if err == nil && plainer(bright, dark, c.Stage) {
		return bright, AlongBright, nil
	}
	return dark, AlongDark, nil
}

// one traces along the dark canal or along the bright line in it. The ends of a
// canal are not those of what is in it: along a bright line they stay where
// they were clicked.
func (a *Assistant) one(image string, c Clicks, along Along) (trace.Line, error) {
	grid, err := a.grid(image, along == AlongBright)
	if err != nil {
		return trace.Line{}, err
	}
	return grid.Canal(c.Orifice, c.Apex, c.Via, along == AlongDark && len(c.Via) == 0)
}

// metalEdge is how many times better the line of a file is known than that of
// the canal beside it. By trial on phantoms: a file gives 4 to 16, a bright line
// where there is none at most 0.7.
const metalEdge = 2

// metalUnc is the standard uncertainty in px that the line of a file stays
// below. By trial on phantoms: 0.05 to 0.1.
const metalUnc = 0.25

// plainer reports whether the bright line is the one to follow. A file is much
// better known than a canal; after the filling the canal itself is gone, so
// that the line that is seen along more of its length counts.
func plainer(bright, dark trace.Line, stage string) bool {
	switch stage {
	case measure.StageConeFit, measure.StagePostOperative, measure.StageRecall:
		return mean(bright.Confidence) > mean(dark.Confidence)
	}
	return metalEdge*bright.StdUnc < dark.StdUnc && bright.StdUnc < metalUnc
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x / float64(len(v))
	}
	return sum
}

// Expected is what a line follows most likely before its ends are known.
func Expected(stage string) Along {
	switch stage {
	case measure.StageConeFit, measure.StagePostOperative, measure.StageRecall:
		return AlongBright
	}
	return AlongDark
}

// remember keeps what a line with these marks follows.
func (a *Assistant) remember(image string, marks []measure.Point, along Along) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.along) >= mostFound {
		clear(a.along)
	}
	a.along[keyOf(image, marks)] = along
}

// follows returns what a traced canal follows: as remembered, or else the one
// of the two lines between its ends that lies nearer to its marks.
func (a *Assistant) follows(image string, c measure.Canal) Along {
	marks := c.Marks[min(c.Orifice, len(c.Marks)-2):]
	a.mu.Lock()
	along, ok := a.along[keyOf(image, marks)]
	a.mu.Unlock()
	if ok {
		return along
	}
	clicks := Clicks{Orifice: marks[0], Apex: marks[len(marks)-1]}
	dark, errDark := a.one(image, clicks, AlongDark)
	bright, errBright := a.one(image, clicks, AlongBright)
	if errDark == nil && errBright == nil && far(bright, marks) < far(dark, marks) {
		return AlongBright
	}
	return AlongDark
}

// far is the mean distance of marks from the points of a line.
func far(l trace.Line, marks []measure.Point) float64 {
	d := make([]float64, len(marks))
	for i, m := range marks {
		d[i] = m.Dist(l.Points[nearest(l.Points, m)])
	}
	return mean(d)
}
