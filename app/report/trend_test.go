package report

import (
	"image/color"
	"testing"

	"rootrule/app/plot"
	"rootrule/measure"
)

// TestTrendFigureDrawsThePointsOfThePlot: filled where aligned, open where not.
func TestTrendFigureDrawsThePointsOfThePlot(t *testing.T) {
	q := func(v float64) measure.Quantity {
		return measure.Quantity{Value: v, StdUnc: 0.4, Unit: measure.SquareMillimetre}
	}
	tr := measure.Trend{Of: "lesion 37 M", Points: []measure.TrendPoint{
		{Quantity: q(12), Aligned: true}, {Years: 1, Quantity: q(7)}, {Years: 2, Quantity: q(3), Aligned: true}}}
	const w, h = 700, 280
	dst, err := TrendFigure(tr, w, h)
	if err != nil {
		t.Fatal(err)
	}
	p, _ := plot.Trend(tr, w, h, h/14)
	for i, point := range p.Points {
		got := dst.RGBAAt(int(point.X+0.5), int(point.Y+0.5))
		if dark := got.R < 80; dark != point.Aligned {
			t.Errorf("point %d, aligned %v, has the colour %v in its middle", i, point.Aligned, got)
		}
		if bar := dst.RGBAAt(int(point.X+0.5), int((point.High+point.Y)/2)); bar == (color.RGBA{255, 255, 255, 255}) {
			t.Errorf("point %d has no error bar", i)
		}
	}
	if _, err := TrendFigure(measure.Trend{Of: "lesion 37 M"}, w, h); err == nil {
		t.Error("a trend without points is drawn")
	}
}
