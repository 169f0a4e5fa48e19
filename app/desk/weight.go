package desk

import (
	"image/color"

	"fyne.io/fyne/v2"

	"rootrule/app/desk/ink"
	"rootrule/app/wording"
)

// keyWeight is the preference that keeps how strongly marks are drawn.
const keyWeight = "line weight"

// weight is how strongly marks are drawn on the picture: fine lines hide the
// least, strong ones on a dark casing stand out on a bright image.
type weight struct {
	line, casing float64 // logical pixels: factor of the line's width, width of its casing
	dark         color.NRGBA
}

// weights are the three to choose from. By trial on dark, middle and bright
// pictures.
var weights = [3]weight{
	{0.65, 0.8, color.NRGBA{0x0a, 0x06, 0x03, 0x90}},
	{1, 1.3, inkCasing},
	{1.7, 2.4, color.NRGBA{0x00, 0x00, 0x00, 0xf0}},
}

// usualWeight is the middle one.
const usualWeight = 1

// weightName names a weight as shown.
func weightName(i int) string {
	return [3]string{wording.Say("Marks are drawn fine."), wording.Say("Marks are drawn as usual."), wording.Say("Marks are drawn strong, for bright images.")}[i]
}

// readWeight returns the weight chosen last.
func readWeight() int {
	i := fyne.CurrentApp().Preferences().IntWithFallback(keyWeight, usualWeight)
	return min(max(i, 0), len(weights)-1)
}

// nextWeight draws marks with the next weight, and keeps the choice.
func (d *Desk) nextWeight() {
	d.weight = (d.weight + 1) % len(weights)
	fyne.CurrentApp().Preferences().SetInt(keyWeight, d.weight)
	d.say(weightName(d.weight))
	d.refresh()
}

// pen is a pen of the present weight.
func (s scribe) pen(width float64, c color.NRGBA) ink.Pen {
	w := s.weight
	return ink.Pen{Width: width * w.line * s.unit, Casing: w.casing * s.unit, Colour: c, Dark: w.dark}
}
