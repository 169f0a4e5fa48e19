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

	"rootrule/app/tongue"
	"rootrule/app/wording"
)

// seenText is a text of the window and where it is.
type seenText struct {
	text *canvas.Text
	at   image.Rectangle // in tenths of a logical pixel
}

// everywhere is a clip that takes nothing away.
var everywhere = image.Rect(-1e6, -1e6, 1e6, 1e6)

// textsIn collects the visible texts below an object. Of what scrolls, only
// the lines inside its clip are seen.
func textsIn(o fyne.CanvasObject, at fyne.Position, clip image.Rectangle, out *[]seenText) {
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
			r := image.Rect(int(10*x), int(10*at.Y), int(10*(x+min.Width)), int(10*(at.Y+min.Height)))
			if r.Min.Y >= clip.Min.Y && r.Max.Y <= clip.Max.Y {
				*out = append(*out, seenText{o, r})
			}
		}
	case *fyne.Container:
		for _, c := range o.Objects {
			textsIn(c, at, clip, out)
		}
	case *container.Scroll:
		clip.Min.Y, clip.Max.Y = max(clip.Min.Y, int(10*at.Y)), min(clip.Max.Y, int(10*(at.Y+o.Size().Height)))
		textsIn(o.Content, at, clip, out)
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(o).Objects() {
			textsIn(c, at, clip, out)
		}
	}
}

// misfits names the texts that are cut off at the sides, shortened, or lie on
// others.
func (r *rig) misfits() []string {
	var all []seenText
	if top := r.win.Canvas().Overlays().Top(); top != nil {
		textsIn(top, fyne.NewPos(0, 0), everywhere, &all)
	} else if r.atHome() {
		textsIn(r.home.box, fyne.NewPos(0, 0), everywhere, &all)
	} else {
		textsIn(r.frame, fyne.NewPos(0, 0), everywhere, &all)
	}
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
	if strings.Contains(format, "YYYY") {
		return format // a date has as many letters in each language
	}
	n := len([]rune(format)) * 4 / 10
	return format + strings.Repeat("m", min(n, 4)) + strings.Repeat(" mmmm", max(n-4, 0)/5)
}

// TestTextFits builds the desk in small and large windows, with usual and
// larger letters, and in a language of longer words, and looks at all texts.
func TestTextFits(t *testing.T) {
	defer func() { SetLook(Look{}); _ = tongue.Use("en") }()
	for _, c := range []struct {
		name   string
		size   fyne.Size
		look   Look
		speaks func(string) string
		code   string // of the language
	}{
		{"small", fyne.NewSize(1000, 700), Look{}, nil, "en"},
		{"usual", fyne.NewSize(1200, 800), Look{Light: true}, nil, "en"},
		{"at scale 2", fyne.NewSize(1280, 720), Look{}, nil, "en"},
		{"at scale 1.5", fyne.NewSize(1707, 960), Look{}, nil, "en"},
		{"large", fyne.NewSize(2560, 1440), Look{}, nil, "en"},
		{"larger letters", fyne.NewSize(1920, 1080), Look{Letters: 1.5}, nil, "en"},
		{"German", fyne.NewSize(1280, 800), Look{}, nil, "de"},
		{"German, larger letters", fyne.NewSize(1400, 900), Look{Letters: 1.5, Light: true}, nil, "de"},
		{"French", fyne.NewSize(1280, 800), Look{}, nil, "fr"},
		{"French, small", fyne.NewSize(1000, 700), Look{}, nil, "fr"},
		{"Spanish", fyne.NewSize(1280, 800), Look{}, nil, "es"},
		{"long words", fyne.NewSize(1280, 800), Look{}, long, ""},
		{"German, small", fyne.NewSize(1000, 700), Look{}, nil, "de"},
		{"Spanish, small", fyne.NewSize(1000, 700), Look{}, nil, "es"},
	} {
		t.Run(c.name, func(t *testing.T) {
			SetLook(c.look)
			r := newRig(t)
			if c.speaks != nil {
				wording.Speak(wording.Language{Format: c.speaks})
			} else if err := tongue.Use(c.code); err != nil {
				t.Fatal(err)
			}
			r.build()
			r.size = c.size
			r.sheet.width = 0
			r.OpenFiles([]string{"/x/one.png"})
			r.anyMarks()
			r.key(fyne.KeyL)
			r.clicks([2]float64{300, 300}, [2]float64{400, 300}, [2]float64{400, 400}, [2]float64{300, 400})
			r.key(fyne.KeyReturn)
			r.takeIn([]string{"/x/two.png", "/x/three.png"})
			r.refresh()
			r.checkFits("the desk")
			for _, over := range []struct {
				name string
				show func()
			}{{"the keys", r.showKeys}, {"the settings", r.showSettings}, {"the cautions", r.showAbout},
				{"the image's own words", r.showDescription}, {"the name of the case", r.askForRename}} {
				over.show()
				r.checkFits(over.name)
				r.Desk.open.Hide()
			}
			r.showHome()
			r.checkFits("the home")
		})
		if err := tongue.Use("en"); err != nil {
			t.Fatal(err)
		}
	}
}

// checkFits looks at all texts of what is on top, once it is laid out.
func (r *rig) checkFits(where string) {
	r.Helper()
	r.win.Resize(r.size.AddWidthHeight(1, 1)) // the test window lays out on a change only
	r.win.Resize(r.size)
	for _, m := range r.misfits() {
		r.Errorf("%s: %s", where, m)
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
