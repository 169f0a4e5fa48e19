package plot

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/measure"
)

func trend(years, values, u []float64) measure.Trend {
	var t measure.Trend
	for i := range years {
		t.Points = append(t.Points, measure.TrendPoint{Years: years[i], Aligned: i%2 == 0,
			Quantity: measure.Quantity{Value: values[i], StdUnc: u[i], Unit: measure.SquareMillimetre}})
	}
	return t
}

// TestPointsLieWhereTheTicksSay: a value that is a tick lies at its height, and
// half of it half as high; the bar is ± twice the standard uncertainty.
func TestPointsLieWhereTheTicksSay(t *testing.T) {
	p, ok := Trend(trend([]float64{0, 1, 2}, []float64{12, 6, 3}, []float64{0.5, 0.5, 0.25}), 300, 150, 12)
	if !ok || len(p.Points) != 3 || p.Unit != "mm²" {
		t.Fatalf("%+v, %v", p, ok)
	}
	zero := p.Bottom
	if got, want := (zero-p.Points[1].Y)/(zero-p.Points[0].Y), 0.5; math.Abs(got-want) > 1e-9 {
		t.Errorf("half of the value lies at %g of its height", got)
	}
	bar, value := p.Points[0].Low-p.Points[0].High, zero-p.Points[0].Y
	if math.Abs(bar/value-2.0/12) > 1e-9 { // ± 1 of 12
		t.Errorf("the error bar of 12 ± 1 is %g of its height", bar/value)
	}
	for _, y := range p.Y {
		if y.Text == "5" && math.Abs((zero-y.At)/value-5.0/12) > 1e-9 {
			t.Errorf("5 lies at %g of the height of 12", (zero-y.At)/value)
		}
	}
	if p.Points[0].X >= p.Points[1].X || math.Abs(2*p.Points[1].X-p.Points[0].X-p.Points[2].X) > 1e-9 {
		t.Error("years are not evenly spaced")
	}
	if p.Points[1].Aligned || !p.Points[0].Aligned {
		t.Error("which points are aligned is lost")
	}
}

func TestTooLittleForAPlot(t *testing.T) {
	for name, tr := range map[string]measure.Trend{
		"none": {}, "one": trend([]float64{0}, []float64{3}, []float64{1}),
		"one day":   trend([]float64{0, 0}, []float64{3, 4}, []float64{1, 1}),
		"undefined": trend([]float64{0, 1}, []float64{math.NaN(), 4}, []float64{1, 1}),
		"nothing":   trend([]float64{0, 1}, []float64{0, 0}, []float64{0, 0}),
	} {
		if _, ok := Trend(tr, 300, 150, 12); ok {
			t.Errorf("%s: is plotted", name)
		}
	}
	if _, ok := Trend(trend([]float64{0, 1}, []float64{3, 4}, []float64{1, 1}), 20, 10, 12); ok {
		t.Error("a sheet without room is used")
	}
}

// TestEverythingIsOnTheSheet, whatever the values.
func TestEverythingIsOnTheSheet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(t, "n")
		years, values, u := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			years[i] = float64(i) * rapid.Float64Range(0.1, 3).Draw(t, "years")
			values[i] = rapid.Float64Range(0.01, 500).Draw(t, "value")
			u[i] = rapid.Float64Range(0, 50).Draw(t, "u")
		}
		p, ok := Trend(trend(years, values, u), 320, 140, 12)
		if !ok {
			t.Fatal("not plotted")
		}
		for _, q := range p.Points {
			if q.X < p.Left || q.X > p.Right || q.High < p.Top-1e-9 || q.Low > p.Bottom+1e-9 || q.Y < q.High || q.Y > q.Low {
				t.Fatalf("%+v is not inside %+v", q, p)
			}
		}
		if len(p.Y) < 3 || len(p.Y) > 8 || len(p.X) < 1 || len(p.X) > 14 {
			t.Fatalf("%d ticks of the value, %d of the years", len(p.Y), len(p.X))
		}
	})
}
