package desk

import (
	"cmp"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// Entry is a file or folder that a folder holds.
type Entry struct {
	Name    string
	Folder  bool
	Changed time.Time
}

// chooser is the dialog that images are chosen with: several at once, by
// ticks, with a look at each before it is taken. The folder it was in last is
// remembered while the program runs and never written down: its name may be
// about a patient.
type chooser struct {
	desk    *Desk
	folder  string
	all     []Entry
	entries []Entry // those shown
	ticked  map[string]bool
	at      int
	seen    int // counts looks, so that a late one is not shown

	where  *widget.Label
	filter *sifter
	list   *widget.List
	look   *canvas.Image
	says   *widget.Label
	add    *widget.Button
	pop    dialog.Dialog
}

// askForFile shows the dialog that images are chosen with.
func (d *Desk) askForFile() {
	c := &chooser{desk: d, ticked: map[string]bool{}}
	c.where, c.says = widget.NewLabel(""), wrapped()
	c.where.Truncation = fyne.TextTruncateEllipsis
	c.where.TextStyle.Bold = true
	c.filter = newSifter(c)
	c.list = widget.NewList(func() int { return len(c.entries) },
		func() fyne.CanvasObject { return newEntryRow() },
		func(i int, o fyne.CanvasObject) { o.(*entryRow).set(c, i) })
	c.list.OnSelected = func(i int) {
		c.list.Unselect(i)
		c.press(i)
	}
	c.look = &canvas.Image{FillMode: canvas.ImageFillContain}
	c.look.SetMinSize(fyne.NewSize(200, 90))
	d.parts["files"] = c.list
	c.pop = dialog.NewCustomWithoutButtons(wording.Say("Open radiographs"), c.content(), d.o.Window)
	size := d.o.Window.Canvas().Size()
	d.show(c.pop, size.Width*0.85, size.Height*0.9)
	c.enter(cmp.Or(d.lastFolder, d.o.Folder))
	d.o.Window.Canvas().Focus(c.filter)
}

// content is the folder with its ways out above, the list, and a look at the
// entry that the keys are on beside it.
func (c *chooser) content() fyne.CanvasObject {
	d := c.desk
	up := widget.NewButtonWithIcon(wording.Say("Up"), theme.MoveUpIcon(), c.up)
	whole := widget.NewButton(wording.Say("Tick all"), c.tickAll)
	cancel := widget.NewButton(wording.Say("Cancel"), func() { c.pop.Hide() })
	c.add = widget.NewButton("", c.take)
	c.add.Importance = widget.HighImportance
	d.parts["folder up"], d.parts["tick all"], d.parts["cancel files"], d.parts["add files"] = up, whole, cancel, c.add
	places := container.NewHBox(up)
	for _, p := range d.o.Places {
		places.Add(widget.NewButton(short(filepath.Base(p)), func() { c.enter(p) }))
	}
	top := container.NewVBox(container.NewHScroll(places), c.where, c.filter)
	keys := text(wording.Say("Space ticks, Enter opens a folder or takes what is ticked."), colourMuted, sizeCaption, false)
	foot := container.New(flow{}, c.add, whole, cancel, gap(8), container.NewCenter(keys))
	side := container.New(wide{260}, container.NewBorder(nil, c.says, nil, nil, c.look))
	return container.NewBorder(top, container.NewPadded(foot), nil, side, c.list)
}

// enter shows another folder; one that can't be read is told of.
func (c *chooser) enter(folder string) {
	entries, err := c.desk.o.ReadFolder(folder)
	if err != nil {
		line, hint := wording.Error(err)
		c.tell(nil, join(line, hint))
		return
	}
	c.folder, c.desk.lastFolder = folder, folder
	c.all = slices.DeleteFunc(entries, func(e Entry) bool {
		return strings.HasPrefix(e.Name, ".") || !e.Folder && !pictureFile(e.Name)
	})
	slices.SortFunc(c.all, func(a, b Entry) int {
		if a.Folder != b.Folder {
			return map[bool]int{true: -1, false: 1}[a.Folder]
		}
		if a.Folder {
			return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
		}
		return cmp.Or(b.Changed.Compare(a.Changed), strings.Compare(a.Name, b.Name))
	})
	clear(c.ticked)
	c.at = 0
	c.where.SetText(folder)
	c.filter.SetText("")
	c.update()
}

func (c *chooser) up() { c.enter(filepath.Dir(c.folder)) }

// update shows the entries that fit what was typed.
func (c *chooser) update() {
	typed := strings.ToLower(strings.TrimSpace(c.filter.Text))
	c.entries = slices.DeleteFunc(slices.Clone(c.all), func(e Entry) bool { return !strings.Contains(strings.ToLower(e.Name), typed) })
	c.at = min(max(c.at, 0), max(len(c.entries)-1, 0))
	c.refresh()
	c.preview()
}

func (c *chooser) refresh() {
	c.list.Refresh()
	n := len(c.ticked)
	label := wording.Say("Add %d images", n)
	if n <= 1 {
		label = wording.Say("Add the image")
	}
	if c.add.Text != label {
		c.add.SetText(label)
	}
	e, ok := c.current()
	able(c.add, n > 0 || ok && !e.Folder)
	c.desk.prober.changed()
}

// current returns the entry that the keys are on.
func (c *chooser) current() (Entry, bool) {
	if c.at < 0 || c.at >= len(c.entries) {
		return Entry{}, false
	}
	return c.entries[c.at], true
}

func (c *chooser) path(e Entry) string { return filepath.Join(c.folder, e.Name) }

// move puts the keys on another entry.
func (c *chooser) move(step int) {
	if len(c.entries) == 0 {
		return
	}
	c.at = min(max(c.at+step, 0), len(c.entries)-1)
	c.list.ScrollTo(c.at)
	c.refresh()
	c.preview()
}

// press is a click: it opens a folder and ticks a file.
func (c *chooser) press(i int) {
	c.at = i
	if c.entries[i].Folder {
		c.enter(c.path(c.entries[i]))
		return
	}
	c.tick()
	c.preview()
	c.desk.o.Window.Canvas().Focus(c.filter)
}

// tick chooses the file that the keys are on, or no longer.
func (c *chooser) tick() {
	e, ok := c.current()
	if !ok || e.Folder {
		return
	}
	if c.ticked[e.Name] {
		delete(c.ticked, e.Name)
	} else {
		c.ticked[e.Name] = true
	}
	c.refresh()
}

// tickAll chooses all files shown, or none where all are chosen.
func (c *chooser) tickAll() {
	var names []string
	for _, e := range c.entries {
		if !e.Folder {
			names = append(names, e.Name)
		}
	}
	every := !slices.ContainsFunc(names, func(n string) bool { return !c.ticked[n] })
	clear(c.ticked)
	for _, n := range names {
		if !every {
			c.ticked[n] = true
		}
	}
	c.refresh()
}

// open opens the folder that the keys are on, or takes the images.
func (c *chooser) open() {
	if e, ok := c.current(); ok && e.Folder && len(c.ticked) == 0 {
		c.enter(c.path(e))
		return
	}
	c.take()
}

// take adds the ticked images to the case, in the order of their files' age;
// without ticks the one that the keys are on.
func (c *chooser) take() {
	var chosen []Entry
	for _, e := range c.all {
		if c.ticked[e.Name] {
			chosen = append(chosen, e)
		}
	}
	if e, ok := c.current(); ok && len(chosen) == 0 && !e.Folder {
		chosen = append(chosen, e)
	}
	if len(chosen) == 0 {
		return
	}
	slices.SortStableFunc(chosen, func(a, b Entry) int { return cmp.Or(a.Changed.Compare(b.Changed), strings.Compare(a.Name, b.Name)) })
	var paths []string
	for _, e := range chosen {
		paths = append(paths, c.path(e))
	}
	c.pop.Hide()
	c.desk.takeIn(paths)
}
