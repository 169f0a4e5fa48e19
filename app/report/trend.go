package report

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"

	"rootrule/app/plot"
	"rootrule/app/wording"
	"rootrule/measure"
)

// Colours of a plot on white paper.
var (
	paperLine  = color.NRGBA{0x20, 0x20, 0x20, 0xff}
	paperGuide = color.NRGBA{0xc8, 0xc8, 0xc8, 0xff}
)

// TrendFigure draws how a value went over several recalls, black on white, w×h
// pixels: filled points where the image lies in the frame of the first visit,
// open ones where it does not, with bars of ± the expanded uncertainty. It is
// the plot that the window shows. The error says when there are fewer than two
// points.
func TrendFigure(t measure.Trend, w, h int) (*image.RGBA, error) {
	letter := float64(h) / 14
	p, ok := plot.Trend(t, float64(w), float64(h), letter)
	if !ok {
		return nil, fmt.Errorf("draw the trend of %s: fewer than two dated recalls have a value: outline it on another", t.Of)
	}
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(dst, dst.Rect, image.White, image.Point{}, draw.Src)
	k, err := newInk(dst, letter)
	if err != nil {
		return nil, err
	}
	k.axes(p, letter)
	line := make([]pt, len(p.Points))
	for i, q := range p.Points {
		line[i] = pt{q.X, q.Y}
	}
	k.stroke(line, letter/10, paperLine)
	for _, q := range p.Points {
		k.point(q, letter)
	}
	return dst, nil
}

// axes draws the lines at the ticks of the value, and the words.
func (k *ink) axes(p plot.Plot, letter float64) {
	for _, t := range p.Y {
		k.stroke([]pt{{p.Left, t.At}, {p.Right, t.At}}, letter/16, paperGuide)
		k.letters(pt{p.Left - k.width(t.Text) - letter/2, t.At + letter/3}, t.Text, paperLine)
	}
	for _, t := range p.X {
		k.stroke([]pt{{t.At, p.Bottom}, {t.At, p.Bottom + letter/3}}, letter/12, paperLine)
		k.letters(pt{t.At - k.width(t.Text)/2, p.Bottom + 1.3*letter}, t.Text, paperLine)
	}
	k.stroke([]pt{{p.Left, p.Top}, {p.Left, p.Bottom}, {p.Right, p.Bottom}}, letter/12, paperLine)
	k.letters(pt{letter / 2, p.Top - letter/4}, p.Unit, paperLine)
	years := wording.Say("years")
	k.letters(pt{p.Right - k.width(years), p.Bottom - letter/3}, years, paperLine)
}

// point draws one visit with its bar.
func (k *ink) point(q plot.Point, letter float64) {
	r, pen := letter/2.6, letter/10
	k.stroke([]pt{{q.X, q.Low}, {q.X, q.High}}, pen, paperLine)
	for _, y := range []float64{q.Low, q.High} {
		k.stroke([]pt{{q.X - r, y}, {q.X + r, y}}, pen, paperLine)
	}
	k.stroke([]pt{{q.X, q.Y}}, 2*r, paperLine)
	if !q.Aligned {
		k.stroke([]pt{{q.X, q.Y}}, 2*r-2.5*pen, color.White)
	}
}
