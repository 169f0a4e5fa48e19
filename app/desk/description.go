package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// showDescription says what the file of the image on the bench is and states,
// in the words of the command line. Whom it shows is not among it.
func (d *Desk) showDescription() {
	im := d.session.saved()
	if im == nil {
		d.say(wording.Say("First open a radiograph."))
		d.refresh()
		return
	}
	s, id, file := d.session, im.ID, im.File
	d.beside(func() {
		what, err := s.reader.Describe(id, file)
		fyne.Do(func() {
			switch {
			case d.session != s || s.image != id || d.open != nil: // something else was wanted meanwhile
			case err != nil:
				d.fail(err)
			default:
				d.showLines(wording.Say("About this image"), wording.Describe(what))
			}
		})
	})
}

// showLines shows lines of name and text in a dialog.
func (d *Desk) showLines(heading string, lines [][2]string) {
	widths := []float32{110, 450 * sizeText / 15}
	for _, l := range lines {
		widths[0] = max(widths[0], widget.NewLabel(capital(l[0])).MinSize().Width)
	}
	rows := container.New(tight{theme.InnerPadding() + 2})
	for _, l := range lines {
		what := wrapped()
		what.SetText(l[1])
		what.Resize(fyne.NewSize(widths[1], 0)) // its height follows its width
		name := widget.NewLabel(capital(l[0]))
		name.Importance = widget.WarningImportance
		rows.Add(container.New(columns{widths: widths, top: true}, name, what))
	}
	d.parts["description"] = rows
	d.show(dialog.NewCustom(heading, "Close", container.NewVScroll(rows), d.o.Window), min(640*sizeText/15, d.o.Window.Canvas().Size().Width-40), 500)
}
