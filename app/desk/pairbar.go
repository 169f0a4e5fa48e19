package desk

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// compareBar has the ways to look at two images; it is there while two are.
type compareBar struct {
	desk    *Desk
	ways    map[showing]*widget.Button
	second  *widget.Select
	ids     []string // of the choices of second
	rate    *widget.Slider
	perSec  *widget.Label
	blinks  *fyne.Container
	leaving *widget.Button
	box     *fyne.Container
	shown   string
}

func newCompareBar(d *Desk) *compareBar {
	c := &compareBar{desk: d, ways: map[showing]*widget.Button{
		sideBySide: d.button("side by side", wording.Say("Side by side"), func() { d.pair.show(sideBySide) }),
		splitLine:  d.button("split", wording.Say("Split"), func() { d.pair.show(splitLine) }),
		blinking:   d.button("blink", wording.Say("Blink"), func() { d.pair.show(blinking) }),
		difference: d.button("difference", wording.Say("Difference"), func() { d.pair.show(difference) }),
	}}
	c.second = widget.NewSelect(nil, c.choose)
	d.parts["second image"] = c.second
	c.rate = widget.NewSlider(slowestRate, fastestRate)
	c.rate.Step = rateStep
	c.rate.OnChanged = d.setRate
	d.parts["blink rate"] = c.rate
	c.perSec = widget.NewLabel("")
	c.blinks = container.New(columns{widths: []float32{110, 170}}, c.rate, c.perSec)
	c.leaving = d.button("leave comparison", wording.Say("End comparison"), d.leavePair)
	c.box = container.NewPadded(container.New(flow{}, c.ways[sideBySide], c.ways[splitLine], c.ways[blinking], c.ways[difference],
		gap(12), container.New(wide{205}, c.second), c.leaving, c.blinks))
	c.box.Hide()
	return c
}

// choose puts another image beside the one on the bench.
func (c *compareBar) choose(string) {
	if i := c.second.SelectedIndex(); i >= 0 && c.desk.pair != nil && c.ids[i] != c.desk.pair.other {
		c.desk.comparePair(c.ids[i])
		c.desk.focusBench()
	}
}

// update shows the bar of the pair on the bench.
func (c *compareBar) update() {
	p := c.desk.pair
	if c.box.Visible() != (p != nil) {
		c.box.Hidden = p == nil
		c.desk.bar.box.Hide()
		if p == nil {
			c.desk.bar.box.Show()
		}
		c.desk.middle.Refresh()
	}
	if p == nil {
		return
	}
	for how, b := range c.ways {
		lit(b, p.how == how)
	}
	c.fillSecond(p)
	c.blinks.Hidden = p.how != blinking
	if c.rate.Value != p.blink.rate {
		c.rate.SetValue(p.blink.rate)
	}
	if s := wording.Say("%s changes a second", wording.Number(p.blink.rate, 1)); c.perSec.Text != s {
		c.perSec.SetText(s)
	}
	if shape := fmt.Sprint(p.how, c.second.Selected); shape != c.shown {
		c.shown = shape
		c.box.Refresh()
		c.desk.middle.Refresh()
	}
}

// fillSecond lists the images that can lie beside the one on the bench.
func (c *compareBar) fillSecond(p *pair) {
	s := c.desk.session
	c.ids = c.ids[:0]
	var names []string
	chosen := ""
	for _, im := range inOrder(s.marks.Images) {
		if im.ID == s.image {
			continue
		}
		name := s.nameOfImage(im.ID)
		c.ids, names = append(c.ids, im.ID), append(names, name)
		if im.ID == p.other {
			chosen = name
		}
	}
	if c.second.Selected != chosen || len(c.second.Options) != len(names) {
		c.second.Options, c.second.Selected = names, chosen
		c.second.Refresh()
	}
}
