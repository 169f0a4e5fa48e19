package desk

import (
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/casebook"
	"rootrule/app/wording"
)

// home is the screen with all cases: where the program starts when no case
// was open, and where a case is looked for or begun. While it is shown the
// desk behind it is hidden and takes no keys.
type home struct {
	desk *Desk
	box  *fyne.Container

	all   []casebook.Summary // of the casebook
	cases []casebook.Summary // those listed, in order
	at    int                // which of them the keys are on, -1 for none
	sort  sorting
	away  bool           // cases that are put away are listed
	keys  fyne.Focusable // the field that gets the keys back from a dialog

	back    *widget.Button
	search  *seeker
	begin   *newCaseForm
	recent  *recentRow
	heads   map[column]*widget.Button
	list    *widget.List
	empty   *widget.Label
	demo    *widget.Button
	count   *widget.Label
	notice  *canvas.Text
	takeOut *widget.Button // takes back what the notice tells of
	open    *widget.Button
	edit    *widget.Button
	putAway *widget.Button
}

func newHome(d *Desk) *home {
	h := &home{desk: d, at: -1, heads: map[column]*widget.Button{}}
	h.search = newSeeker(h)
	h.begin = newNewCaseForm(h)
	h.recent = newRecentRow(h)
	h.box = container.NewStack(canvas.NewRectangle(colourGround),
		container.NewBorder(h.heading(), h.footing(), nil, nil, h.middle()))
	h.box.Hide()
	return h
}

// heading is the bar at the top.
func (h *home) heading() fyne.CanvasObject {
	d := h.desk
	title := bold()
	title.SizeName = theme.SizeNameHeadingText
	title.SetText(wording.Say("Cases"))
	h.count = widget.NewLabel("")
	h.count.Truncation = fyne.TextTruncateEllipsis
	h.back = widget.NewButton(wording.Say("Back to the case  (Esc)"), d.leaveHome)
	d.parts["back to the case"] = h.back
	buttons := container.NewHBox(h.back,
		d.button("home settings", wording.Say("Settings"), d.showSettings),
		d.button("home about", wording.Say("Cautions"), d.showAbout))
	row := container.NewBorder(nil, nil, title, buttons, container.NewVBox(layout.NewSpacer(), h.count, layout.NewSpacer()))
	return container.NewStack(canvas.NewRectangle(colourPanel), container.NewPadded(row))
}

// middle is the form for a new case, the recent images and the list.
func (h *home) middle() fyne.CanvasObject {
	h.list = widget.NewList(func() int { return len(h.cases) },
		func() fyne.CanvasObject { return newCaseRow(h) },
		func(i int, o fyne.CanvasObject) { o.(*caseRow).set(i, h.cases[i]) })
	h.list.OnSelected = func(i int) {
		h.list.Unselect(i)
		h.openRow(i)
	}
	h.empty = wrapped()
	h.empty.Alignment = fyne.TextAlignCenter
	h.empty.SizeName = theme.SizeNameSubHeadingText
	h.demo = h.desk.button("home demo", wording.Say("Open the demo case"), h.desk.OpenDemo)
	nothing := container.NewVBox(layout.NewSpacer(), h.empty, container.NewCenter(h.demo), layout.NewSpacer())
	h.desk.parts["case list"] = h.list
	table := container.NewBorder(container.NewVBox(h.search, h.headRow()), nil, nil, nil, container.NewStack(h.list, nothing))
	top := container.NewVBox(h.begin.box, h.recent.box)
	return container.New(layout.NewCustomPaddedLayout(8, 8, 16, 16), container.New(&homeLayout{h.recent.box}, top, table))
}

// headRow is the line with the names of the columns; a press sorts by one.
func (h *home) headRow() fyne.CanvasObject {
	var cells []fyne.CanvasObject
	for _, c := range columnOrder {
		b := widget.NewButton("", func() { h.sortBy(c) })
		b.Importance, b.Alignment = widget.LowImportance, widget.ButtonAlignLeading
		h.heads[c] = b
		h.desk.parts["sort by "+string(c)] = b
		cells = append(cells, b)
	}
	return container.New(shares{caseShares}, cells...)
}

// footing is what can be done with the case that the keys are on.
func (h *home) footing() fyne.CanvasObject {
	d := h.desk
	h.open = widget.NewButton(wording.Say("Open  (Enter)"), func() { h.openRow(h.at) })
	h.open.Importance = widget.HighImportance
	h.edit = widget.NewButton(wording.Say("Code, tooth, name  (F2)"), h.rename)
	h.putAway = widget.NewButton("", h.archive)
	h.notice = text("", colourText, sizeText, false)
	h.takeOut = widget.NewButton(wording.Say("Take it back"), nil)
	show := widget.NewCheck(wording.Say("Show cases that are put away"), func(on bool) {
		h.away = on
		h.update()
	})
	d.parts["open case"], d.parts["rename case"], d.parts["put away"], d.parts["take back"] = h.open, h.edit, h.putAway, h.takeOut
	d.parts["show put away"] = show
	row := container.New(flow{}, h.open, h.edit, h.putAway, gap(8), show, gap(8), container.NewCenter(h.notice), h.takeOut)
	return container.NewStack(canvas.NewRectangle(colourPanel), container.NewPadded(container.NewPadded(row)))
}

// homeLayout puts the second object under the first, and leaves the recent
// images out where the window is too low for them and the list.
type homeLayout struct{ recent fyne.CanvasObject }

// leastList is the height of the list below which nothing stands above it
// that could be left out, in logical pixels.
const leastList = 300

// MinSize leaves the recent images out.
func (l *homeLayout) MinSize(objects []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(600, 300)
}

// Layout places both.
func (l *homeLayout) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	top, table := objects[0], objects[1]
	l.recent.Show()
	if size.Height-top.MinSize().Height < leastList {
		l.recent.Hide()
	}
	high := top.MinSize().Height
	top.Resize(fyne.NewSize(size.Width, high))
	top.Move(fyne.NewPos(0, 0))
	table.Resize(fyne.NewSize(size.Width, size.Height-high))
	table.Move(fyne.NewPos(0, high))
}

// showHome shows the cases. What is under way on the desk is kept.
func (d *Desk) showHome() {
	d.endTask()
	d.keepView()
	d.home.load()
	d.frame.Hide()
	d.home.box.Show()
	d.home.focus()
	d.prober.changed()
}

// leaveHome goes back to the case on the desk, if there is one.
func (d *Desk) leaveHome() {
	if d.session == nil {
		return
	}
	d.home.hide()
	d.focusBench()
}

// atHome reports whether the cases are shown.
func (d *Desk) atHome() bool { return d.home.box.Visible() }

func (h *home) hide() {
	if h.box.Visible() {
		h.box.Hide()
		h.desk.frame.Show()
		h.desk.prober.changed()
	}
}

// focus gives the keys to the field that has them here.
func (h *home) focus() { h.desk.o.Window.Canvas().Focus(h.keys) }

// load reads the list of cases and shows all of it.
func (h *home) load() {
	h.keys = h.search
	h.search.SetText("")
	h.say("", nil)
	h.begin.clear()
	h.reload()
	h.at = -1
	if len(h.cases) > 0 {
		h.at = 0
	}
	h.list.ScrollToTop()
	h.update()
}

// reload reads the list of cases again.
func (h *home) reload() {
	all, err := h.desk.o.Book.Cases()
	if err != nil {
		line, hint := wording.Error(err)
		h.say(join(line, hint), nil)
		return
	}
	h.all = all
	h.recent.update(all)
	h.update()
}

// update lists what is searched for.
func (h *home) update() {
	var on int64
	if h.at >= 0 && h.at < len(h.cases) {
		on = h.cases[h.at].ID
	}
	h.cases = h.sort.sorted(matching(h.all, h.search.Text, h.away), today())
	h.at = min(0, len(h.cases)-1)
	h.goTo(on)
	for c, b := range h.heads {
		b.SetText(h.sort.head(c))
	}
	if n := h.counted(); n != h.count.Text {
		h.count.SetText(n)
	}
	h.list.Refresh()
	h.updateEmpty()
	h.updateDeeds()
}

// goTo puts the keys on a case, where it is listed.
func (h *home) goTo(id int64) {
	if i := slices.IndexFunc(h.cases, func(c casebook.Summary) bool { return c.ID == id }); i >= 0 {
		h.at = i
	}
}

// counted says how many cases there are, and how many of them are due.
func (h *home) counted() string {
	in, due := 0, 0
	for _, c := range h.all {
		if c.Archived {
			continue
		}
		in++
		if overdue(c, today()) {
			due++
		}
	}
	if due == 0 {
		return wording.Say("%d in the casebook", in)
	}
	return wording.Say("%d in the casebook, recall overdue for %d", in, due)
}

// updateEmpty says what to do where nothing is listed.
func (h *home) updateEmpty() {
	h.empty.Hide()
	h.demo.Hide()
	switch {
	case len(h.cases) > 0:
		return
	case h.search.Text != "":
		h.empty.SetText(wording.Say("No case fits “%s”. Clear the search with Escape, or start a new case above.", h.search.Text))
	default:
		h.empty.SetText(wording.Say("No case yet. Type a code and a tooth above and press Enter, or drop radiographs here."))
		h.demo.Hidden = h.desk.o.Demo == nil
	}
	h.empty.Show()
}

// updateDeeds names what the buttons at the foot do.
func (h *home) updateDeeds() {
	c, ok := h.current()
	able(h.open, ok)
	able(h.edit, ok)
	able(h.putAway, ok)
	label := wording.Say("Put away")
	if ok && c.Archived {
		label = wording.Say("Take out again")
	}
	if h.putAway.Text != label {
		h.putAway.SetText(label)
	}
	h.back.Hidden = h.desk.session == nil
	h.desk.prober.changed()
}

// current returns the case that the keys are on.
func (h *home) current() (casebook.Summary, bool) {
	if h.at < 0 || h.at >= len(h.cases) {
		return casebook.Summary{}, false
	}
	return h.cases[h.at], true
}

// say tells what just happened, and with back how to take it back.
func (h *home) say(notice string, back func()) {
	setText(h.notice, notice)
	h.takeOut.OnTapped = func() {
		back()
		h.focus()
	}
	h.takeOut.Hidden = back == nil
}

// move puts the keys on another case.
func (h *home) move(step int) {
	if len(h.cases) == 0 {
		return
	}
	h.at = min(max(h.at+step, 0), len(h.cases)-1)
	h.list.ScrollTo(h.at)
	h.list.Refresh()
	h.updateDeeds()
}

func (h *home) openRow(i int) {
	if i >= 0 && i < len(h.cases) {
		h.desk.openByID(h.cases[i].ID)
	}
}

// archive puts the case away, or takes it out again. Nothing of it is lost.
func (h *home) archive() {
	c, ok := h.current()
	if !ok {
		return
	}
	h.setArchived(c, !c.Archived)
	h.focus()
}

func (h *home) setArchived(c casebook.Summary, away bool) {
	if err := h.desk.o.Book.Archive(c.ID, away); err != nil {
		line, hint := wording.Error(err)
		h.say(join(line, hint), nil)
		return
	}
	h.reload()
	h.goTo(c.ID)
	h.move(0)
	if !away {
		h.say(wording.Say("%s is back in the list.", short(caseTitle(c.Code, c.Tooth))), nil)
		return
	}
	h.say(wording.Say("%s is put away. Nothing of it is lost.", short(caseTitle(c.Code, c.Tooth))), func() { h.setArchived(c, false) })
}

// today is the date now, where the program runs.
var today = func() string { return time.Now().Format(time.DateOnly) }

// short cuts a long title for a button or a sentence.
func short(s string) string {
	const most = 36
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
