// Package plot lays out the plot of a value over several recalls: where its
// points, error bars, ticks and words go on a sheet of a given size. The window
// and the reports draw the same layout, each with its own pen. Start with
// [Trend].
//
// Units: positions in pixels of the sheet, pixel centres at integers, y down;
// years since the first visit along x, the value in its own unit along y, from
// 0 on.
//
// The package draws nothing, rounds by package wording alone, and computes no
// finding: points and their uncertainties come from measure.
package plot

import (
	"math"

	"rootrule/app/wording"
	"rootrule/measure"
)

// Point is one visit on the sheet.
type Point struct {
	X, Y      float64
	Low, High float64 // y of the ends of the error bar, ± the expanded uncertainty
	Aligned   bool    // in the frame of the first visit: a filled point, else an open one
	Date      string
}

// Tick is a mark on an axis and its words.
type Tick struct {
	At   float64
	Text string
}

// Plot is the layout of one trend.
type Plot struct {
	Left, Top, Right, Bottom float64 // of the area between the axes
	Points                   []Point
	X, Y                     []Tick // of the years, of the value
	Unit                     string // of the value, as shown
}

// Margins around the area between the axes, in heights of the letters: room
// for the numbers on the left and the years below.
const (
	marginLeft   = 3.2
	marginTop    = 2.6
	marginRight  = 1.0
	marginBottom = 1.7
)

// Trend lays a trend out on a sheet of w×h pixels whose letters are so high;
// false when there are fewer than two points to show.
func Trend(t measure.Trend, w, h, letter float64) (Plot, bool) {
	p := Plot{Left: marginLeft * letter, Top: marginTop * letter, Right: w - marginRight*letter, Bottom: h - marginBottom*letter}
	most, years, defined := 0.0, 0.0, 0
	for _, q := range t.Points {
		if q.Defined() {
			most, years = math.Max(most, q.Value+q.Expanded()), math.Max(years, q.Years)
			defined++
		}
	}
	if defined < 2 || !(years > 0) || !(most > 0) || p.Right <= p.Left || p.Bottom <= p.Top {
		return Plot{}, false
	}
	step := nice(most / 3)
	top := step * math.Ceil(most/step)
	x := func(v float64) float64 { return p.Left + (p.Right-p.Left)*(0.04+0.92*v/years) }
	y := func(v float64) float64 { return p.Bottom - (p.Bottom-p.Top)*v/top }
	for _, q := range t.Points {
		if q.Defined() {
			p.Points = append(p.Points, Point{X: x(q.Years), Y: y(q.Value), Low: y(math.Max(q.Value-q.Expanded(), 0)),
				High: y(q.Value + q.Expanded()), Aligned: q.Aligned, Date: q.Date})
			p.Unit = string(q.Unit)
		}
	}
	p.ticks(top, step, years, x, y)
	return p, true
}

func (p *Plot) ticks(top, step, years float64, x, y func(float64) float64) {
	digits := int(math.Max(0, -math.Floor(math.Log10(step)+1e-9)))
	for i := 0; float64(i)*step <= top*(1+1e-9); i++ {
		v := float64(i) * step
		p.Y = append(p.Y, Tick{y(v), wording.Number(v, digits)})
	}
	step = math.Max(nice(years/5), 0.25)
	digits = 0
	if step < 1 {
		digits = 2
	}
	if step == 0.5 {
		digits = 1
	}
	for i := 0; float64(i)*step <= years*(1+1e-9); i++ {
		v := float64(i) * step
		p.X = append(p.X, Tick{x(v), wording.Number(v, digits)})
	}
}

// nice returns a step of 1, 2, 2.5 or 5 times a power of ten, at least v
// (Heckbert 1990, Nice numbers for graph labels, Graphics Gems).
func nice(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 2.5, 5} {
		if k*power >= v*(1-1e-9) {
			return k * power
		}
	}
	return 10 * power
}
