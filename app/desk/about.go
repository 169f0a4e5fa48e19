package desk

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// showAbout says what the program is for and what to beware of.
func (d *Desk) showAbout() {
	what, cautions, heading := wrapped(), wrapped(), bold()
	version := widget.NewLabel(wording.Say("Version %s", fyne.CurrentApp().Metadata().Version))
	version.Importance = widget.LowImportance
	what.SetText(wording.Say("Rootrule measures root canals on radiographs: calibrated lengths, curvature and lesions, " +
		"each with its uncertainty. A number after ± holds the true value in about 95 of 100 cases, as far as marks and calibration go."))
	heading.SetText(wording.Say("Cautions"))
	var safety []string
	for _, s := range wording.Safety {
		safety = append(safety, "•  "+wording.Say(s))
	}
	cautions.SetText(strings.Join(safety, "\n"))
	pop := dialog.NewCustom("Rootrule", wording.Say("Close"), container.NewVScroll(container.NewVBox(version, what, heading, cautions)), d.o.Window)
	size := d.o.Window.Canvas().Size()
	d.show(pop, min(640*sizeText/15, size.Width-40), min(560*sizeText/15, size.Height-40))
}

// showKeys lists what keys do: those of the bench, then those of the menu,
// which work everywhere.
func (d *Desk) showKeys() {
	rows := container.New(tight{2 * theme.InnerPadding()})
	for _, deed := range append(deeds(), menuDeeds()...) {
		if deed.show != "" {
			rows.Add(keyRow(deed))
		}
	}
	pop := dialog.NewCustom(wording.Say("Keys"), wording.Say("Close"), container.NewVScroll(rows), d.o.Window)
	size := d.o.Window.Canvas().Size()
	d.show(pop, min(720*sizeText/15, size.Width-40), min(760*sizeText/15, size.Height-40))
}

// keyRow is a line of the sheet of keys. What a key does may take several
// lines.
func keyRow(of deed) fyne.CanvasObject {
	key, does := wrapped(), wrapped()
	key.TextStyle.Bold = true
	key.Importance = widget.WarningImportance
	widths := []float32{190 * sizeText / 15, 450 * sizeText / 15}
	for i, l := range []*widget.Label{key, does} {
		l.SetText([]string{of.show, of.does}[i])
		l.Resize(fyne.NewSize(widths[i], 0)) // its height follows its width
	}
	return container.New(columns{widths: widths, top: true}, key, does)
}

// menuDeeds are the shortcuts of the main menu, for the sheet of keys.
func menuDeeds() []deed {
	return []deed{
		{show: "Ctrl+Z", does: wording.Say("Undo")},
		{show: "Ctrl+Y, Ctrl+Shift+Z", does: wording.Say("Redo")},
		{show: "Ctrl+O", does: wording.Say("Open an image")},
		{show: "Ctrl+N", does: wording.Say("New case")},
		{show: "Ctrl+K", does: wording.Say("Cases")},
		{show: "Ctrl+Q", does: wording.Say("Quit")},
		{show: wording.Say("Tab"), does: wording.Say("Next control; in the worksheet the next reading to type")},
	}
}
