package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// roomFor gives its only object, a label, room for some lines of text, so that
// a longer sentence doesn't push the bench down. Fewer lines stand in the middle.
type roomFor struct{ lines int }

// MinSize is the height of the lines, without a label's own padding.
func (r roomFor) MinSize(objects []fyne.CanvasObject) fyne.Size {
	line := fyne.MeasureText("M", theme.Size(theme.SizeNameSubHeadingText), fyne.TextStyle{}).Height
	over := 2*theme.InnerPadding() - 2
	return fyne.NewSize(100, max(line*float32(r.lines), objects[0].MinSize().Height-over))
}

// Layout gives the object its height, in the middle.
func (r roomFor) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	for _, o := range objects {
		o.Resize(fyne.NewSize(size.Width, o.Size().Height)) // its height follows its width
		h := o.MinSize().Height
		o.Resize(fyne.NewSize(size.Width, h))
		o.Move(fyne.NewPos(0, (size.Height-h)/2))
	}
}

// tight stacks objects from top to bottom, each over the bottom of the one
// before: labels have padding and letters have room for accents.
type tight struct{ overlap float32 }

// MinSize is the sum of the heights less the overlaps.
func (t tight) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, o := range objects {
		if !o.Visible() {
			continue
		}
		m := o.MinSize()
		size.Width = max(size.Width, m.Width)
		if size.Height > 0 {
			size.Height -= t.overlap
		}
		size.Height += m.Height
	}
	return size
}

// Layout gives each object the full width.
func (t tight) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var y float32
	for _, o := range objects {
		if !o.Visible() {
			continue
		}
		h := o.MinSize().Height
		o.Resize(fyne.NewSize(size.Width, h))
		o.Move(fyne.NewPos(0, y))
		y += h - t.overlap
	}
}

// columns lays objects side by side in columns of fixed width, each in the
// middle of the height or at the top.
type columns struct {
	widths []float32
	fill   bool // the last column takes what is left
	top    bool
}

// MinSize is the sum of the widths and the tallest object.
func (c columns) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, w := range c.widths {
		size.Width += w
	}
	for _, o := range objects {
		size.Height = max(size.Height, o.MinSize().Height)
	}
	return size
}

// Layout places the objects.
func (c columns) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var x float32
	for i, o := range objects {
		w := c.widths[i]
		if c.fill && i == len(objects)-1 {
			w = max(w, size.Width-x)
		}
		h := o.MinSize().Height
		y := (size.Height - h) / 2
		if c.top {
			y = 0
		}
		o.Resize(fyne.NewSize(w, h))
		o.Move(fyne.NewPos(x, y))
		x += c.widths[i]
	}
}

// flow lays objects from left to right and goes on in a new line where the
// width ends.
type flow struct{}

// MinSize is the widest object, and the height of the lines as last laid out.
func (f flow) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, o := range objects {
		if !o.Visible() {
			continue
		}
		size = size.Max(o.MinSize())
		size.Height = max(size.Height, o.Position().Y+o.MinSize().Height)
	}
	return size
}

// Layout places the objects.
func (f flow) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var x, y float32
	for _, o := range objects {
		if !o.Visible() {
			continue
		}
		m := o.MinSize()
		if x > 0 && x+m.Width > size.Width {
			x, y = 0, y+m.Height+theme.Padding()
		}
		o.Resize(m)
		o.Move(fyne.NewPos(x, y))
		x += m.Width + theme.Padding()
	}
}

// aroundBench lays one object above, one below and one between them. Unlike
// the toolkit's border it gives them their width before it asks for their
// height: rows of buttons and sentences are as high as their width makes them.
type aroundBench struct{}

// MinSize is the height of all three at the width that they have.
func (aroundBench) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var size fyne.Size
	for _, o := range objects {
		m := o.MinSize()
		size = fyne.NewSize(max(size.Width, m.Width), size.Height+m.Height)
	}
	return size
}

// Layout gives the bench what the others leave.
func (aroundBench) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	var heights [2]float32
	for i, o := range objects[:2] {
		for range 2 { // a row of buttons knows its height once it is laid out
			o.Resize(fyne.NewSize(size.Width, o.MinSize().Height))
		}
		heights[i] = o.MinSize().Height
	}
	objects[0].Move(fyne.NewPos(0, 0))
	objects[1].Move(fyne.NewPos(0, size.Height-heights[1]))
	objects[2].Move(fyne.NewPos(0, heights[0]))
	objects[2].Resize(fyne.NewSize(size.Width, size.Height-heights[0]-heights[1]))
}

// flush takes away the padding of a label, so that it stands in line with the
// texts above it.
func flush(l *widget.Label) *fyne.Container {
	p := -theme.InnerPadding()
	return container.New(layout.NewCustomPaddedLayout(p/2, p/2, p, p), l)
}

// wide gives its only object at least a width.
type wide struct{ width float32 }

// MinSize is the object's height and the width.
func (w wide) MinSize(objects []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(w.width, objects[0].MinSize().Height)
}

// Layout gives the object all of it.
func (w wide) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	objects[0].Resize(size)
	objects[0].Move(fyne.NewPos(0, 0))
}
