package desk

import (
	"image"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
	"rootrule/imaging"
	"rootrule/imaging/tone"
)

// sifter is the field that files are looked for with. It has the keys of the
// whole dialog.
type sifter struct {
	widget.Entry
	chooser *chooser
}

func newSifter(c *chooser) *sifter {
	s := &sifter{chooser: c}
	s.ExtendBaseWidget(s)
	s.SetPlaceHolder(wording.Say("Type a part of a name"))
	s.OnChanged = func(string) { c.update() }
	s.OnSubmitted = func(string) { c.open() }
	c.desk.parts["file name"] = s
	return s
}

// TypedKey takes the keys that are for the list.
func (s *sifter) TypedKey(key *fyne.KeyEvent) {
	c := s.chooser
	switch {
	case key.Name == fyne.KeyUp:
		c.move(-1)
	case key.Name == fyne.KeyDown:
		c.move(1)
	case key.Name == fyne.KeyPageUp:
		c.move(-page)
	case key.Name == fyne.KeyPageDown:
		c.move(page)
	case key.Name == fyne.KeyEscape:
		c.pop.Hide()
	case key.Name == fyne.KeyBackspace && s.Text == "":
		c.up()
	default:
		s.Entry.TypedKey(key)
	}
}

// TypedRune takes Space for the tick.
func (s *sifter) TypedRune(r rune) {
	if r == ' ' {
		s.chooser.tick()
		return
	}
	s.Entry.TypedRune(r)
}

// TypedShortcut ticks all instead of marking the text.
func (s *sifter) TypedShortcut(sc fyne.Shortcut) {
	if _, ok := sc.(*fyne.ShortcutSelectAll); ok {
		s.chooser.tickAll()
		return
	}
	s.Entry.TypedShortcut(sc)
}

// entryRow is one entry of a folder.
type entryRow struct {
	widget.BaseWidget
	back *canvas.Rectangle
	sign *widget.Icon
	name *widget.Label
	when *widget.Label
}

func newEntryRow() *entryRow {
	r := &entryRow{back: canvas.NewRectangle(colourPanel), sign: widget.NewIcon(nil), name: widget.NewLabel(""), when: widget.NewLabel("")}
	r.back.CornerRadius, r.back.StrokeColor = 3, colourHoney
	r.name.Truncation = fyne.TextTruncateEllipsis
	r.when.SizeName = theme.SizeNameCaptionText
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer puts sign, name and date on a line.
func (r *entryRow) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(r.back, container.NewBorder(nil, nil, container.NewPadded(r.sign), r.when, r.name)))
}

// set shows an entry: a folder, a file with a tick or one without.
func (r *entryRow) set(c *chooser, i int) {
	e := c.entries[i]
	sign := theme.CheckButtonIcon()
	switch {
	case e.Folder:
		sign = theme.FolderIcon()
	case c.ticked[e.Name]:
		sign = theme.CheckButtonCheckedIcon()
	}
	when := ""
	if !e.Folder {
		when = wording.Date(e.Changed.Local().Format(time.DateOnly))
	}
	r.sign.SetResource(sign)
	r.name.SetText(e.Name)
	r.when.SetText(when)
	r.back.FillColor, r.back.StrokeWidth = colourPanel, 0
	if c.ticked[e.Name] {
		r.back.FillColor = colourChosen
	}
	if i == c.at {
		r.back.StrokeWidth = 2
	}
	r.back.Refresh()
}

// preview looks at the file that the keys are on, beside the main goroutine.
func (c *chooser) preview() {
	c.seen++
	e, ok := c.current()
	switch {
	case !ok:
		c.tell(nil, wording.Say("No radiograph is here. Go up, or into another folder."))
		return
	case e.Folder:
		c.tell(nil, wording.Say("A folder: Enter opens it."))
		return
	}
	look, path, d := c.seen, c.path(e), c.desk
	c.tell(nil, wording.Say("The radiograph is being read."))
	d.beside(func() {
		img, says := glance(d.o.ReadFile, path, e.Name)
		fyne.Do(func() {
			if c.seen == look {
				c.tell(img, says)
			}
		})
	})
}

// glance reads a file and says what it is.
func glance(read func(string) ([]byte, error), path, name string) (image.Image, string) {
	data, err := read(path)
	var m *imaging.Image
	if err == nil {
		m, err = imaging.Decode(name, data)
	}
	if err != nil {
		line, hint := wording.Error(err)
		return nil, join(line, hint)
	}
	says := wording.Say("%s, %d × %d pixels", m.Source.Format, m.Width, m.Height)
	if m.Source.Date != "" {
		says = join(says, wording.Date(m.Source.Date))
	}
	if m.Source.Frames > 1 {
		says = join(says, wording.Say("It holds %d pictures: the first is taken.", m.Source.Frames))
	}
	return thumbnail(tone.NewPicture(m), tone.Start(m).Table()), says
}

// tell shows a look at a file.
func (c *chooser) tell(img image.Image, says string) {
	c.look.Image = img
	c.look.Refresh()
	c.says.SetText(says)
}
