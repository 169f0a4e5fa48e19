package desk

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/imaging/tone"
)

// viewBar stands under the bench and has what changes the view alone: windows,
// enhancements, ruler, profile and zoom.
type viewBar struct {
	desk    *Desk
	purpose *widget.Select
	toggles []toggle
	zoom    *canvas.Text
	box     fyne.CanvasObject
}

// toggle is a button that is lit while something is on.
type toggle struct {
	button *tool
	on     func() bool
}

func newViewBar(d *Desk) *viewBar {
	v := &viewBar{desk: d, zoom: text("", colourMuted, sizeCaption, false)}
	var names []string
	for _, p := range tone.Purposes {
		names = append(names, purposeName(p))
	}
	v.purpose = widget.NewSelect(names, func(string) {
		if i := v.purpose.SelectedIndex(); i >= 0 {
			d.eye.choose(tone.Purposes[i])
			d.focusBench()
		}
	})
	v.purpose.PlaceHolder = wording.Say("Own window")
	d.parts["window"] = v.purpose
	add := func(name, label string, sign fyne.Resource, do func(), on func() bool) fyne.CanvasObject {
		b := d.tool(name, label, sign, do)
		if on != nil {
			v.toggles = append(v.toggles, toggle{b, on})
		}
		return b
	}
	v.box = container.NewPadded(container.New(row{}, v.purpose,
		add("brightness", wording.Say("Brightness"), signBrightness, d.toggleTone, func() bool { return d.toneMode }),
		add("invert", wording.Say("Invert"), signInvert, d.invert, func() bool { return d.bench.picture != nil && d.bench.window.Invert }),
		add("local contrast", wording.Say("Local contrast"), signContrast, func() { d.eye.toggle(localContrast) }, func() bool { return d.eye.want.Local }),
		add("sharpen", wording.Say("Sharpen"), signSharpen, func() { d.eye.toggle(sharpening) }, func() bool { return d.eye.want.Sharp }),
		add("ruler", wording.Say("Ruler"), signRuler, d.toggleRuler, func() bool { return d.ruler }),
		add("profile", wording.Say("Profile"), signProfile, func() { d.profile.toggle() }, func() bool { return d.profile.on }),
		add("fit", wording.Say("Whole image"), signFit, func() { d.bench.fit() }, nil),
		add("one to one", "1:1", nil, func() { d.bench.times(1) }, nil),
		add("two to one", "2:1", nil, func() { d.bench.times(2) }, nil),
		v.newZoom()))
	return v
}

// newZoom gives the zoom its room in the row, as wide as it will ever need.
func (v *viewBar) newZoom() fyne.CanvasObject {
	room := canvas.NewRectangle(color.Transparent)
	room.SetMinSize(fyne.NewSize(fyne.MeasureText("4000 %", sizeCaption, fyne.TextStyle{}).Width, widget.NewButton("1:1", nil).MinSize().Height))
	return container.NewStack(room, container.NewCenter(v.zoom))
}

// update lights what is on, and says which window is shown.
func (v *viewBar) update() {
	for _, t := range v.toggles {
		lit(&t.button.Button, t.on())
	}
	selected := ""
	if p, ok := v.desk.eye.purpose(); ok {
		selected = v.purpose.Options[p]
	}
	if v.purpose.Selected != selected {
		v.purpose.Selected = selected
		v.purpose.Refresh()
	}
	able(v.purpose, v.desk.bench.picture != nil)
	v.zoomed()
}

// zoomed says how large the picture is shown.
func (v *viewBar) zoomed() {
	s := ""
	if b := v.desk.bench; b.picture != nil {
		s = wording.Say("%s %%", wording.Number(100*b.view.Scale, 0))
	}
	setText(v.zoom, s)
}

// toggleRuler shows a grid of squares, or takes it away.
func (d *Desk) toggleRuler() {
	d.ruler = !d.ruler
	d.refresh()
}
