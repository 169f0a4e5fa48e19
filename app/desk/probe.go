package desk

import (
	"time"

	"fyne.io/fyne/v2"

	"rootrule/app/wording"
)

// State is what a test that drives the window waits for. It holds no patient
// data: no case code, no file name, no date.
type State struct {
	Seq      int               `json:"seq"`      // grows with every state
	Ready    bool              `json:"ready"`    // an image is on the bench
	Image    string            `json:"image"`    // its id, made from the stage
	Images   int               `json:"images"`   // in the case
	Bench    [4]int            `json:"bench"`    // x, y, width, height in device pixels of the window
	View     [3]float64        `json:"view"`     // scale, x, y: image (px) to bench (device pixels), as drawn
	Window   [3]float64        `json:"window"`   // low, high, 1 for inverted
	Pair     string            `json:"pair"`     // how two images are shown: side by side, split, blink, difference; empty for one
	Aligned  bool              `json:"aligned"`  // the two images are in one frame
	Compared bool              `json:"compared"` // their difference is at hand
	Cross    *[2]float64       `json:"cross"`    // where the keys click on the image (px); nil while the mouse does
	Mode     string            `json:"mode"`     // calibrate, trace, outline, brightness, or empty
	Sentence string            `json:"sentence"` // what the next click will do
	Error    string            `json:"error"`
	Marks    map[string]int    `json:"marks"`    // number of marks by item
	Selected string            `json:"selected"` // the selected mark or item
	Findings map[string]string `json:"findings"` // "canal 46 ML/length" → "20.3 ± 0.6 mm"
	Saved    bool              `json:"saved"`
	Undo     string            `json:"undo"` // label of the step that undo would take back
	Redo     string            `json:"redo"`
	Focus    string            `json:"focus"`    // name of the control with the focus
	Home     bool              `json:"home"`     // the cases are shown
	Cases    int               `json:"cases"`    // of them those listed
	Dialog   bool              `json:"dialog"`   // a dialog or menu is open
	Controls map[string][4]int `json:"controls"` // x, y, width, height in device pixels of the window
}

// prober hands the state to whoever asked for it, once a burst of changes is
// over and laid out.
type prober struct {
	desk  *Desk
	timer *time.Timer
	seq   int
}

// settle is how long a change may be followed by others before it is told.
const settle = 15 * time.Millisecond

func newProber(d *Desk) *prober { return &prober{desk: d} }

// changed tells of a new state soon.
func (p *prober) changed() {
	if p.desk.o.Probe == nil {
		return
	}
	if p.timer == nil {
		p.timer = p.desk.after(settle, func() { fyne.Do(p.tell) })
		return
	}
	p.timer.Reset(settle)
}

func (p *prober) tell() { p.desk.o.Probe(p.desk.State()) }

// State returns the present state of the window.
func (d *Desk) State() State {
	d.prober.seq++
	s := State{
		Seq: d.prober.seq, Sentence: d.guide.text, Error: d.guide.error(), Saved: !d.unsaved,
		Mode: d.mode(), Focus: d.focusName(), Controls: d.controls(),
		Home: d.atHome(), Cases: len(d.home.cases), Dialog: d.open != nil || d.popped != nil || d.o.Window.Canvas().Overlays().Top() != nil,
		Marks: map[string]int{}, Findings: map[string]string{},
	}
	s.Bench = d.rectangle(d.bench)
	v := d.bench.view.Snapped()
	s.View = [3]float64{v.Scale, v.X, v.Y}
	s.Window = [3]float64{d.bench.window.Low, d.bench.window.High, 0}
	if d.bench.window.Invert {
		s.Window[2] = 1
	}
	s.Undo, _ = d.session.canUndo()
	s.Redo, _ = d.session.canRedo()
	if d.cursor.on {
		s.Cross = &[2]float64{d.cursor.at.X, d.cursor.at.Y}
	}
	d.describe(&s)
	d.describePair(&s)
	return s
}

// describe adds what is on the image.
func (d *Desk) describe(s *State) {
	if d.session == nil {
		return
	}
	s.Ready, s.Image, s.Images = d.session.ready, d.session.image, len(d.session.marks.Images)
	im := d.session.saved()
	for _, it := range items(im) {
		name := nameOf(im, it)
		if it.kind == calibration {
			name += " " + plain(float64(it.index+1))
		}
		s.Marks[name] = len(marksOf(im, it))
	}
	if d.selected.kind != nothing {
		s.Selected = markName(im, d.selected)
	}
	for _, f := range d.session.findings {
		s.Findings[f.Of+"/"+f.What] = wording.Quantity(f.Quantity)
	}
}

// modes name the tasks.
var modes = map[kind]string{calibration: "calibrate", canal: "trace", lesion: "outline", filling: "filling", void: "void",
	width: "width", obstruction: "obstruction", dentineSide: "side", post: "post", postTop: "top", postMargin: "margin", postApex: "apex"}

// describePair adds what is known of the two images that are compared.
func (d *Desk) describePair(s *State) {
	p := d.pair
	if p == nil {
		return
	}
	s.Pair = [...]string{"side by side", "split", "blink", "difference"}[p.how]
	s.Aligned, s.Compared = p.aligned, p.joining.diff != nil
	for _, f := range p.changes.findings {
		if f.Image != p.other && f.Image != d.session.image {
			s.Findings[f.Of+"/"+f.What] = wording.Quantity(f.Quantity)
		}
	}
}

// mode names what the next click is for.
func (d *Desk) mode() string {
	switch {
	case d.again != nil:
		return "second reading"
	case d.pairing != nil:
		return "pair marks"
	case d.task != nil:
		return modes[d.task.kind]
	case d.toneMode:
		return "brightness"
	}
	return ""
}

func (d *Desk) focusName() string {
	focused := d.o.Window.Canvas().Focused()
	for name, o := range d.parts {
		if f, ok := o.(fyne.Focusable); ok && focused == f {
			return name
		}
	}
	return ""
}

// controls returns where the named controls are.
func (d *Desk) controls() map[string][4]int {
	out := map[string][4]int{}
	for name, o := range d.parts {
		if r := d.rectangle(o); o.Visible() && r[2] > 0 {
			out[name] = r
		}
	}
	return out
}

// rectangle returns where an object is in the window, in device pixels.
func (d *Desk) rectangle(o fyne.CanvasObject) [4]int {
	pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
	c := d.o.Window.Canvas()
	x, y := c.PixelCoordinateForPosition(pos)
	right, bottom := c.PixelCoordinateForPosition(pos.Add(o.Size()))
	return [4]int{x, y, right - x, bottom - y}
}
