package desk

import (
	"errors"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/compare"
	"rootrule/app/wording"
	"rootrule/imaging/tone"
	"rootrule/measure"
)

// Options say what the desk works on.
type Options struct {
	Window fyne.Window
	Book   *casebook.Book
	// ReadFile returns the bytes of an image file that somebody chose.
	ReadFile func(path string) ([]byte, error)
	// ReadFolder lists a folder that somebody looks into for image files.
	ReadFolder func(path string) ([]Entry, error)
	// Folder is where looking for files starts, Places are other such folders.
	Folder string
	Places []string
	// Demo opens the demo case; nil where there is none.
	Demo func() (*casebook.Case, error)
	// Probe gets the state of the window after each change, for tests that
	// drive it; nil otherwise.
	Probe func(State)
}

// Desk is the content of the window.
type Desk struct {
	o       Options
	session *session // nil before a case is open
	pending *pending // what is being read, nil for nothing

	hand     hand
	helping  helping
	swelling swelling
	cursor   cursor
	keys     held
	task     *task
	selected grip
	toneMode bool // a drag on the image changes window and level
	room     compare.Room
	again    *reread  // a second reading under way, nil for none
	pairing  *pairing // marks of both images are being paired, nil while none are
	pair     *pair    // a second image beside the one on the bench, nil for none
	weight   int      // how strongly marks are drawn
	settings settings
	// lastFolder is where images were chosen last; it is never written down.
	lastFolder string

	open   dialog.Dialog     // over the desk, nil for none
	popped *widget.PopUpMenu // nil for none

	bench      *bench
	side       *side           // the second image's half
	floor      *fyne.Container // both halves
	middle     *fyne.Container // the halves and what stands above them
	home       *home
	gallery    *gallery
	strip      *strip
	sheet      *worksheet
	details    *details
	head       *header
	bar        *taskBar
	more       *moreBar
	guide      *guide
	compareBar *compareBar
	panel      *changePanel
	eye        *eye
	profile    *profile
	viewBar    *viewBar
	ruler      bool // a grid of squares is shown
	menu       *menu
	flags      *flags
	tip        *tip
	frame      *fyne.Container // of all parts
	prober     *prober
	parts      map[string]fyne.CanvasObject // named controls, for the probe
	notice     string                       // what just happened, before what comes next
	unsaved    bool                         // the last step could not be saved
	resting    *time.Timer                  // until the view is kept with the case
	beside     func(work func())            // runs work beside the main goroutine
	after      func(time.Duration, func()) *time.Timer
}

// New builds the desk into the window. Open a case or files next.
func New(o Options) *Desk {
	d := &Desk{o: o, selected: nowhere, parts: map[string]fyne.CanvasObject{}}
	d.beside = func(work func()) { go work() }
	d.after = time.AfterFunc
	d.hand.holding, d.hand.over = nowhere, nowhere
	d.helping, d.weight = newHelping(d), readWeight()
	d.gallery = newGallery(d)
	d.eye = &eye{desk: d}
	d.settings = readSettings()
	err := d.settings.apply()
	d.build()
	d.listen()
	d.refresh()
	if err != nil {
		d.fail(err)
	}
	return d
}

// build makes all parts of the desk, in the look and the language of now.
func (d *Desk) build() {
	d.more = newMoreBar(d)
	d.bench = newBench(d)
	d.profile = newProfile(d)
	d.parts["bench"] = d.bench
	d.strip = newStrip(d)
	d.details = newDetails(d)
	d.sheet = newWorksheet(d)
	d.head = newHeader(d)
	d.bar = newTaskBar(d)
	d.guide = newGuide(d)
	d.flags = newFlags(d)
	d.prober = newProber(d)
	d.side = newSide(d)
	d.compareBar = newCompareBar(d)
	d.panel = newChangePanel(d)
	d.viewBar = newViewBar(d)
	d.floor = container.New(floorLayout{d}, d.bench, d.side)
	above := container.NewVBox(d.bar.box, d.compareBar.box, d.guide.box)
	below := container.NewVBox(d.profile.plot, d.flags.box, d.viewBar.box)
	d.middle = container.New(aroundBench{}, above, below, d.floor)
	d.tip = newTip(d)
	d.frame = container.NewBorder(d.head.box, nil, d.strip.box, container.NewStack(d.sheet.box, d.panel.box), d.middle)
	d.home = newHome(d)
	d.o.Window.SetContent(container.New(leastWindow, container.NewStack(d.frame, d.home.box, d.tip.layer)))
	d.menu = newMenu(d)
}

// listen connects what comes from the window itself.
func (d *Desk) listen() {
	w := d.o.Window
	w.SetOnDropped(func(_ fyne.Position, dropped []fyne.URI) { d.Dropped(dropped) })
	w.Canvas().SetOnTypedKey(func(ev *fyne.KeyEvent) { d.bench.TypedKey(ev) }) // the bench of now
	w.Canvas().AddShortcut(shortcutRedoToo, func(fyne.Shortcut) { d.redo() })
	w.SetOnClosed(d.Close)
}

// Close keeps what is not kept yet. The casebook stays open.
func (d *Desk) Close() {
	d.keepView()
	if d.resting != nil {
		d.resting.Stop()
	}
}

// OpenCase puts a case on the desk, where it was left.
func (d *Desk) OpenCase(c *casebook.Case) {
	d.endTask()
	d.keepView()
	d.home.hide()
	d.dropPair()
	d.session = newSession(c)
	d.selected, d.hand.over = nowhere, nowhere
	d.bench.show(nil, tone.Window{})
	d.say("")
	id := c.Place()
	if id == "" {
		if images := inOrder(d.session.marks.Images); len(images) > 0 {
			id = images[0].ID
		}
	}
	d.openImage(id)
}

// OpenLast puts the case on the desk that was open last; where there is none
// it shows the cases.
func (d *Desk) OpenLast() {
	c, err := d.o.Book.Last()
	if err == nil {
		d.OpenCase(c)
		return
	}
	d.showHome()
	if !errors.Is(err, casebook.ErrNone) {
		line, hint := wording.Error(err)
		d.home.say(join(line, hint), nil)
	}
}

// CameBack reads the case again when the window gets the focus: another window
// may have changed it.
func (d *Desk) CameBack() {
	if d.session == nil || d.hand.placing || d.hand.holding != nowhere {
		return
	}
	outside, err := d.session.kase.Refresh()
	if err != nil {
		d.fail(err)
	}
	if outside {
		d.follow(d.session.image)
		d.say(wording.Say("Another window has changed this case: this is how it is now."))
		d.refresh()
	}
}

// follow takes the marks as they are in the casebook now, after a step or a
// change from outside. before is the image that was on the bench.
func (d *Desk) follow(before string) {
	d.session.reload()
	if d.task != nil && d.session.saved() != nil {
		d.task.follow(d.session.saved())
	}
	if d.session.image != before {
		d.task = nil
		d.openImage(d.session.image)
	}
}

// edit makes one step of the casebook and reports whether it is saved. What
// went wrong is shown; nothing is lost by it.
func (d *Desk) edit(label string, change func(*measure.ImageMarks) error) bool {
	return d.saved(d.session.edit(label, change))
}

// saved shows an error of a step, if there is one.
func (d *Desk) saved(err error) bool {
	d.unsaved = err != nil
	if err != nil {
		d.fail(err)
		return false
	}
	return true
}

// undo takes the last step back.
func (d *Desk) undo() {
	if t := d.task; t != nil && t.late() && len(t.points) > 0 {
		d.takeBack() // its marks are no steps yet
		return
	}
	d.step((*session).undo, wording.ToSay("Took back: %s."))
}

// redo repeats the step taken back last.
func (d *Desk) redo() { d.step((*session).redo, wording.ToSay("Repeated: %s.")) }

func (d *Desk) step(do func(*session) (string, error), done string) {
	if d.session == nil || d.atHome() {
		return
	}
	d.settle()
	if d.hand.placing || d.hand.holding != nowhere {
		d.leave() // a drag is not a step yet
		d.bench.cancel()
	}
	before := d.session.image
	label, err := do(d.session)
	switch {
	case errors.Is(err, casebook.ErrNothing):
		d.say(wording.Say("There is no step left."))
	case d.saved(err):
		d.say(wording.Say(done, label))
	}
	d.follow(before)
	d.refresh()
}

// say sets what just happened, shown before what the next click will do.
func (d *Desk) say(notice string) {
	d.notice = notice
	d.guide.clear()
}

// fail shows an error as a line and a hint.
func (d *Desk) fail(err error) {
	line, hint := wording.Error(err)
	d.guide.alarm(line, hint)
	d.prober.changed()
}

// refresh shows the present state everywhere. Parts that have not changed
// cost little.
func (d *Desk) refresh() {
	d.checkPair()
	im := d.session.saved()
	d.hand.over, d.selected = still(im, d.hand.over), still(im, d.selected)
	d.bench.lie()
	d.guide.update()
	d.flags.update()
	d.bar.update()
	d.viewBar.update()
	d.side.update()
	d.panel.update()
	d.compareBar.update()
	d.head.update()
	d.strip.update()
	d.sheet.update()
	d.menu.update()
	d.bench.raster.Refresh()
	d.prober.changed()
}

// show opens a dialog over the desk.
func (d *Desk) show(pop dialog.Dialog, width, height float32) {
	d.open = pop
	pop.SetOnClosed(func() {
		d.open = nil
		d.giveBack()
		d.prober.changed()
	})
	pop.Show() // before Resize: the file dialog has no size until it is shown
	pop.Resize(fyne.NewSize(width, height))
	d.prober.changed()
}

// giveBack sends the keys where they belong when a dialog closes.
func (d *Desk) giveBack() {
	if d.atHome() {
		d.home.focus()
		return
	}
	d.focusBench()
}

// focusBench sends keys to the bench.
func (d *Desk) focusBench() {
	if c := d.o.Window.Canvas(); c.Focused() != fyne.Focusable(d.bench) {
		c.Focus(d.bench)
	}
}
