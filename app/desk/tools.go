package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// tool is a button of a row of tools. It shows its words beside its sign where
// the row has room for them; where not, it tells them when it is pointed at.
type tool struct {
	widget.Button
	desk       *Desk
	words      string
	wide, slim float32 // with the words, without
}

// tool makes a named tool that gives the keys back to the bench.
func (d *Desk) tool(name, words string, sign fyne.Resource, do func()) *tool {
	t := &tool{desk: d, words: words}
	t.Icon = sign
	t.OnTapped = func() {
		d.tip.hide()
		do()
		if d.open == nil {
			d.giveBack()
		}
		d.prober.changed()
	}
	t.ExtendBaseWidget(t)
	t.show(false)
	t.slim = t.MinSize().Width
	t.show(true)
	t.wide = t.MinSize().Width
	d.parts[name] = t
	return t
}

// show shows the words or takes them away; without a sign they stay.
func (t *tool) show(words bool) {
	label := t.words
	if !words && t.Icon != nil {
		label = ""
	}
	if t.Text != label {
		t.Text = label
		t.Refresh()
	}
}

// MouseIn tells the words where only the sign is seen.
func (t *tool) MouseIn(ev *desktop.MouseEvent) {
	t.Button.MouseIn(ev)
	if t.Text == "" {
		t.desk.tip.show(t, []string{t.words})
	}
}

// MouseOut ends it.
func (t *tool) MouseOut() {
	t.Button.MouseOut()
	t.desk.tip.hide()
}

// AccessibilityLabel names the tool whether or not its words are shown.
func (t *tool) AccessibilityLabel() string { return t.words }

// row lays tools and other objects in one line. Where it is too narrow for all
// words, tools show their signs alone, one by one from the right. What has no
// room even then is hidden: the menu has it too.
type row struct{}

// MinSize is the tallest object; the row takes any width.
func (row) MinSize(objects []fyne.CanvasObject) fyne.Size {
	size := fyne.NewSize(60, 0)
	for _, o := range objects {
		size.Height = max(size.Height, o.MinSize().Height)
	}
	return size
}

// Layout places the objects.
func (row) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	widths := make([]float32, len(objects))
	total := -theme.Padding()
	for i, o := range objects {
		widths[i] = o.MinSize().Width
		if t, ok := o.(*tool); ok {
			widths[i] = t.wide
		}
		total += widths[i] + theme.Padding()
	}
	for i := len(objects) - 1; i >= 0; i-- {
		t, ok := objects[i].(*tool)
		if !ok || t.Icon == nil {
			continue
		}
		bare := total > size.Width
		if bare {
			total += t.slim - t.wide
			widths[i] = t.slim
		}
		t.show(!bare)
	}
	placeInLine(objects, widths, size)
}

// placeInLine places objects side by side and hides those beyond the end.
func placeInLine(objects []fyne.CanvasObject, widths []float32, size fyne.Size) {
	var x float32
	for i, o := range objects {
		if beyond := x+widths[i] > size.Width+0.5; beyond && o.Visible() {
			o.Hide()
		} else if !beyond && !o.Visible() {
			o.Show()
		}
		h := o.MinSize().Height
		if _, bare := o.(*canvas.Rectangle); bare {
			h = 1
		}
		o.Resize(fyne.NewSize(widths[i], h))
		o.Move(fyne.NewPos(x, (size.Height-h)/2))
		x += widths[i] + theme.Padding()
	}
}
