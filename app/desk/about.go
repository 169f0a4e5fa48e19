package desk

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// showAbout says what the program is for and what to beware of.
func (d *Desk) showAbout() {
	what := widget.NewLabel("Rootrule measures root canals on radiographs: calibrated lengths, curvature and lesions, " +
		"each with its uncertainty. A number after ± holds the true value in about 95 of 100 cases, as far as marks and calibration go.")
	what.Wrapping = fyne.TextWrapWord
	cautions := widget.NewLabel("•  " + strings.Join(wording.Safety, "\n•  "))
	cautions.Wrapping = fyne.TextWrapWord
	heading := bold()
	heading.SetText("Cautions")
	pop := dialog.NewCustom("Rootrule", "Close", container.NewVScroll(container.NewVBox(what, heading, cautions)), d.o.Window)
	d.show(pop, 640, 500)
}

// showKeys lists what keys do.
func (d *Desk) showKeys() {
	rows := container.NewVBox()
	for _, deed := range append(deeds(), menuDeeds...) {
		if deed.show != "" {
			rows.Add(container.New(columns{widths: []float32{190, 380}},
				text(deed.show, colourHoney, sizeText, true), text(deed.does, colourText, sizeText, false)))
		}
	}
	pop := dialog.NewCustom("Keys", "Close", container.NewVScroll(rows), d.o.Window)
	d.show(pop, 660, 700)
}

// menuDeeds are the shortcuts of the main menu, for the sheet of keys.
var menuDeeds = []deed{
	{show: "Ctrl+Z", does: "Undo"},
	{show: "Ctrl+Y, Ctrl+Shift+Z", does: "Redo"},
	{show: "Ctrl+O", does: "Open an image"},
	{show: "Ctrl+N", does: "New case"},
	{show: "Ctrl+K", does: "Cases"},
	{show: "Ctrl+Q", does: "Quit"},
}
