package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// moreBar is what the bar above the bench has for marks beside the three usual
// tasks: the menu of further marks and whether they are assisted; and the slider
// that moves a found outline, which stands on the card of what is selected.
type moreBar struct {
	desk     *Desk
	button   *tool
	assisted *widget.Check
	slider   *widget.Slider
	swell    *fyne.Container
}

func newMoreBar(d *Desk) *moreBar {
	m := &moreBar{desk: d}
	m.button = d.tool("more marks", wording.Say("More marks"), signMore, nil)
	m.button.OnTapped = d.showMoreMarks // its menu keeps the keys
	m.assisted = widget.NewCheck(wording.Say("Assisted"), func(on bool) {
		if on == d.helping.byHand {
			d.toggleByHand()
		}
		d.focusBench()
	})
	d.parts["assisted"] = m.assisted
	m.slider = widget.NewSlider(-swellMost, swellMost)
	m.slider.Step = swellStep / 2
	m.slider.OnChanged = func(px float64) { m.move(px, false) }
	m.slider.OnChangeEnded = func(px float64) { m.move(px, true) }
	d.parts["outline slider"] = m.slider
	m.swell = container.NewBorder(nil, nil, text(wording.Say("Inward"), colourText, sizeCaption, false),
		text(wording.Say("outward"), colourText, sizeCaption, false), m.slider)
	return m
}

// move moves the outline when it is the reader that moves the slider.
func (m *moreBar) move(px float64, kept bool) {
	if d := m.desk; d.swellable() && (kept || px != d.swollen().px) {
		d.swell(px, kept)
	}
}

// update shows the slider while there is an outline to move, and where it is.
func (m *moreBar) update() {
	d := m.desk
	if m.assisted.Checked == d.helping.byHand {
		m.assisted.Checked = !d.helping.byHand
		m.assisted.Refresh()
	}
	on := d.swellable()
	if m.swell.Visible() != on {
		m.swell.Hidden = !on
		d.details.box.Refresh()
		d.sheet.box.Refresh()
	}
	if on && d.session.draft == nil && m.slider.Value != d.swollen().px {
		m.slider.Value = d.swollen().px
		m.slider.Refresh()
	}
}
