package desk

import (
	"fmt"
	"image"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"rootrule/app/wording"
)

// seenText is a text of the window and where it is.
type seenText struct {
	text *canvas.Text
	at   image.Rectangle // in tenths of a logical pixel
}

// textsIn collects the visible texts below an object; clip is what can be seen
// of it, and grows upward and downward inside what scrolls.
func textsIn(o fyne.CanvasObject, at fyne.Position, out *[]seenText) {
	if !o.Visible() {
		return
	}
	at = at.Add(o.Position())
	switch o := o.(type) {
	case *canvas.Text:
		if strings.TrimSpace(o.Text) != "" {
			min := o.MinSize()
			x := at.X
			if o.Alignment == fyne.TextAlignCenter {
				x += (o.Size().Width - min.Width) / 2
			}
			*out = append(*out, seenText{o, image.Rect(int(10*x), int(10*at.Y), int(10*(x+min.Width)), int(10*(at.Y+min.Height)))})
		}
	case *fyne.Container:
		for _, c := range o.Objects {
			textsIn(c, at, out)
		}
	case *container.Scroll:
		textsIn(o.Content, at, out)
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(o).Objects() {
			textsIn(c, at, out)
		}
	}
}

// misfits names the texts that are cut off at the sides, shortened, or lie on
// others.
func (r *rig) misfits() []string {
	var all []seenText
	textsIn(r.frame, fyne.NewPos(0, 0), &all)
	window := r.win.Canvas().Size()
	var out []string
	for i, t := range all {
		if t.at.Min.X < 0 || t.at.Max.X > int(10*window.Width)+5 {
			out = append(out, fmt.Sprintf("%q reaches from %d to %d of %.0f", t.text.Text, t.at.Min.X/10, t.at.Max.X/10, window.Width))
		}
		for _, other := range all[:i] {
			if both := t.at.Intersect(other.at); both.Dx() > 15 && both.Dy() > 60 { // letters have room above and below
				out = append(out, fmt.Sprintf("%q lies on %q", t.text.Text, other.text.Text))
			}
		}
	}
	return out
}

// long makes every text of the window 40 % longer, as German may.
func long(format string) string {
	n := len([]rune(format)) * 4 / 10
	return format + strings.Repeat("m", min(n, 4)) + strings.Repeat(" mmmm", max(n-4, 0)/5)
}

// TestTextFits builds the desk in small and large windows, with usual and
// larger letters, and in a language of longer words, and looks at all texts.
func TestTextFits(t *testing.T) {
	defer func() { SetLook(Look{}); wording.Speak(wording.Language{Format: func(s string) string { return s }}) }()
	for _, c := range []struct {
		name   string
		size   fyne.Size
		look   Look
		speaks func(string) string
	}{
		{"small", fyne.NewSize(1000, 700), Look{}, nil},
		{"usual", fyne.NewSize(1200, 800), Look{Light: true}, nil},
		{"at scale 2", fyne.NewSize(1280, 720), Look{}, nil},
		{"at scale 1.5", fyne.NewSize(1707, 960), Look{}, nil},
		{"large", fyne.NewSize(2560, 1440), Look{}, nil},
		{"larger letters", fyne.NewSize(1920, 1080), Look{Letters: 1.5}, nil},
		{"long words", fyne.NewSize(1280, 800), Look{}, long},
		{"long words, small", fyne.NewSize(1000, 700), Look{}, long},
	} {
		t.Run(c.name, func(t *testing.T) {
			SetLook(c.look)
			if c.speaks != nil {
				wording.Speak(wording.Language{Format: c.speaks})
			}
			r := newRig(t)
			r.size = c.size
			r.sheet.width = 0
			r.OpenFiles([]string{"/x/one.png"})
			r.anyMarks()
			r.key(fyne.KeyL)
			r.clicks([2]float64{300, 300}, [2]float64{400, 300}, [2]float64{400, 400}, [2]float64{300, 400})
			r.key(fyne.KeyReturn)
			r.takeIn([]string{"/x/two.png", "/x/three.png"})
			r.win.Resize(c.size)
			r.refresh()
			r.win.Resize(c.size.AddWidthHeight(0, 1))
			for _, m := range r.misfits() {
				t.Error(m)
			}
		})
		wording.Speak(wording.Language{Format: func(s string) string { return s }})
	}
}

// anyMarks calibrates and traces whatever the size of the bench.
func (r *rig) anyMarks() {
	r.key(fyne.KeyC)
	r.clicks([2]float64{100, 600}, [2]float64{100, 200})
	r.key(fyne.KeyReturn)
	r.key(fyne.KeyT)
	r.clicks([2]float64{300, 200}, [2]float64{300, 260}, [2]float64{300, 380}, [2]float64{300, 500})
	r.key(fyne.KeyReturn)
}
