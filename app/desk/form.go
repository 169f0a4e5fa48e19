package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// labelled is a field with what it is called, and its width at usual letters.
type labelled struct {
	label string
	field *field
	width float32
}

// form makes a row of labelled fields for the card, of as many lines as the
// worksheet's width makes them.
func (d *Desk) form(parts ...labelled) *fyne.Container {
	f := &formLayout{desk: d}
	var objects []fyne.CanvasObject
	for _, p := range parts {
		p.field.label = p.label
		f.widths = append(f.widths, p.width)
		objects = append(objects, text(p.label, colourText, sizeCaption, false), p.field)
	}
	return container.New(f, objects...)
}

// formLayout keeps each label beside its field.
type formLayout struct {
	desk   *Desk
	widths []float32
}

// cardEdges is what the worksheet's edge and the card take of its width.
const cardEdges = 48

// MinSize is as high as the lines at the present width of the worksheet.
func (f *formLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	width := float32(panelLeast)
	if f.desk.sheet != nil {
		width = panelWidth{f.desk.sheet}.width()
	}
	return fyne.NewSize(60, f.place(objects, width-cardEdges, false))
}

// Layout places labels and fields.
func (f *formLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	f.place(objects, size.Width, true)
}

// place goes through the pairs, line by line, and returns the height.
func (f *formLayout) place(objects []fyne.CanvasObject, width float32, put bool) float32 {
	const apart, between, lines = 8, 14, 4 // logical pixels; common practice, no source
	var x, y, high float32
	for i := 0; i+1 < len(objects); i += 2 {
		label, field := objects[i], objects[i+1]
		l, h := label.MinSize(), field.MinSize().Height
		w := f.widths[i/2] * sizeText / 15
		if x > 0 && x+l.Width+apart+w > width {
			x, y = 0, y+high+lines
		}
		if put {
			label.Move(fyne.NewPos(x, y+(h-l.Height)/2))
			label.Resize(l)
			field.Move(fyne.NewPos(x+l.Width+apart, y))
			field.Resize(fyne.NewSize(min(w, width-x-l.Width-apart), h))
		}
		x, high = x+l.Width+apart+w+between, h
	}
	return y + high
}
