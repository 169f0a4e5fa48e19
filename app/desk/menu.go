package desk

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"rootrule/app/wording"
	"rootrule/imaging/tone"
)

// menu is the main menu. Its shortcuts work wherever the focus is, in a text
// field too.
type menu struct {
	desk       *Desk
	main       *fyne.MainMenu
	undo, redo *fyne.MenuItem
}

func newMenu(d *Desk) *menu {
	m := &menu{desk: d}
	m.undo = fyne.NewMenuItem(wording.Say("Undo"), d.undo)
	m.undo.Shortcut = &fyne.ShortcutUndo{}
	m.redo = fyne.NewMenuItem(wording.Say("Redo"), d.redo)
	m.redo.Shortcut = &fyne.ShortcutRedo{}
	m.main = fyne.NewMainMenu(m.caseMenu(), m.editMenu(), m.imageMenu(), m.viewMenu(), m.compareMenu(), m.helpMenu())
	d.o.Window.SetMainMenu(m.main)
	return m
}

func command(label string, key fyne.KeyName, do func()) *fyne.MenuItem {
	i := fyne.NewMenuItem(label, do)
	if key != "" {
		i.Shortcut = &desktop.CustomShortcut{KeyName: key, Modifier: fyne.KeyModifierShortcutDefault}
	}
	return i
}

func (m *menu) caseMenu() *fyne.Menu {
	d := m.desk
	items := []*fyne.MenuItem{
		command(wording.Say("New case…"), fyne.KeyN, d.askForNewCase),
		command(wording.Say("Cases…"), fyne.KeyK, d.showHome),
		command(wording.Say("Code and tooth…"), "", d.askForRename),
		fyne.NewMenuItemSeparator(),
		command(wording.Say("Open image…"), fyne.KeyO, d.askForFile),
		command(wording.Say("About this image…"), "", d.showDescription),
	}
	if d.o.Demo != nil {
		items = append(items, command(wording.Say("Demo case"), "", d.OpenDemo))
	}
	items = append(items, command(wording.Say("Settings…"), fyne.KeyComma, d.showSettings))
	quit := command(wording.Say("Quit"), fyne.KeyQ, d.o.Window.Close)
	quit.IsQuit = true
	return fyne.NewMenu(wording.Say("Case"), append(items, fyne.NewMenuItemSeparator(), quit)...)
}

func (m *menu) editMenu() *fyne.Menu {
	d := m.desk
	return fyne.NewMenu(wording.Say("Edit"), m.undo, m.redo, fyne.NewMenuItemSeparator(),
		command(wording.Say("Calibrate"), "", func() { d.start(calibration) }),
		command(wording.Say("Trace canal"), "", func() { d.start(canal) }),
		command(wording.Say("Outline lesion"), "", func() { d.start(lesion) }),
		command(wording.Say("More marks…"), "", d.showMoreMarks),
		command(wording.Say("Keep the task under way"), "", d.finish),
		fyne.NewMenuItemSeparator(),
		command(wording.Say("Delete what is selected"), "", d.remove),
		command(wording.Say("Leave what is under way"), "", d.escape))
}

// viewMenu has all that changes the view alone, as the bar under the bench
// and the keys do.
func (m *menu) viewMenu() *fyne.Menu {
	items := []*fyne.MenuItem{m.windowMenu()}
	for _, deed := range viewDeeds() {
		items = append(items, command(deed.does, "", func() { deed.do(m.desk) }))
	}
	return fyne.NewMenu(wording.Say("View"), items...)
}

// compareMenu has all that two images can be looked at with, as the keys do.
func (m *menu) compareMenu() *fyne.Menu {
	var items []*fyne.MenuItem
	for _, deed := range pairDeeds() {
		if deed.do != nil {
			items = append(items, command(deed.does, "", func() { deed.do(m.desk) }))
		}
	}
	return fyne.NewMenu(wording.Say("Compare"), items...)
}

// windowMenu offers the windows by purpose.
func (m *menu) windowMenu() *fyne.MenuItem {
	var items []*fyne.MenuItem
	for _, p := range tone.Purposes {
		items = append(items, command(purposeName(p), "", func() { m.desk.eye.choose(p) }))
	}
	i := fyne.NewMenuItem(wording.Say("Window"), nil)
	i.ChildMenu = fyne.NewMenu("", items...)
	return i
}

func (m *menu) helpMenu() *fyne.Menu {
	return fyne.NewMenu(wording.Say("Help"),
		command(wording.Say("Keys"), "", m.desk.showKeys), command(wording.Say("About and cautions"), "", m.desk.showAbout))
}

// update names what undo and redo would do.
func (m *menu) update() {
	changed := m.relabel(m.undo, wording.Say("Undo"), (*session).canUndo)
	if m.relabel(m.redo, wording.Say("Redo"), (*session).canRedo) || changed {
		m.main.Refresh()
	}
}

func (m *menu) relabel(i *fyne.MenuItem, verb string, can func(*session) (string, bool)) bool {
	label, ok := can(m.desk.session)
	if ok && label != "" {
		verb = wording.Say("%[1]s: %[2]s", verb, label)
	}
	if i.Label == verb && i.Disabled == !ok {
		return false
	}
	i.Label, i.Disabled = verb, !ok
	return true
}

func (s *session) canUndo() (string, bool) {
	if s == nil {
		return "", false
	}
	return s.kase.CanUndo()
}

func (s *session) canRedo() (string, bool) {
	if s == nil {
		return "", false
	}
	return s.kase.CanRedo()
}
