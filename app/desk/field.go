package desk

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"rootrule/app/wording"
)

// field is a text entry whose text becomes a step when it is left or Enter is
// pressed. Escape takes back what was typed.
type field struct {
	widget.Entry
	desk    *Desk
	commit  func(text string) error
	was     string          // the text as saved
	label   string          // what it is for, as assistive technology says it
	name    func() string   // instead of label, where that changes
	next    func(back bool) // goes to the field after or before; nil: the toolkit does
	shift   bool
	focused bool
}

// newField makes a field; name is how the probe calls it.
func newField(d *Desk, name string, commit func(string) error) *field {
	f := &field{desk: d, commit: commit}
	f.ExtendBaseWidget(f)
	f.OnSubmitted = func(string) {
		f.save()
		d.focusBench()
	}
	if name != "" {
		d.parts[name] = f
	}
	return f
}

// set shows a saved text, unless somebody is typing another.
func (f *field) set(text string) {
	if f.was == text && (f.Text == text || f.focused) {
		return
	}
	f.was = text
	if !f.focused {
		f.SetText(text)
	}
}

// save makes a step of what was typed and shows what follows from it.
func (f *field) save() {
	if f.step() {
		f.desk.guide.clear()
		f.desk.refresh()
	}
}

// step makes a step of what was typed and reports whether there was one.
func (f *field) step() bool {
	if f.Text == f.was {
		return false
	}
	typed := f.Text
	if err := f.commit(typed); err != nil {
		f.SetText(f.was)
		f.desk.fail(err)
		return false
	}
	f.was = typed
	return true
}

// aClick is longer than a mouse button is down in a click. Common practice, no
// source.
const aClick = 250 * time.Millisecond

// FocusGained notes that somebody may be typing.
func (f *field) FocusGained() {
	f.focused = true
	f.Entry.FocusGained()
	f.desk.prober.changed()
}

// FocusLost saves what was typed. What follows from it is shown after the click
// that took the focus away: lines that come into the table would move what is
// being clicked from under the mouse.
func (f *field) FocusLost() {
	f.Entry.FocusLost()
	f.focused, f.shift = false, false
	if d := f.desk; f.step() {
		d.guide.clear()
		d.after(aClick, func() { fyne.Do(d.refresh) })
	}
	f.desk.prober.changed()
}

// AcceptsTab reports whether the field goes on to the next by itself.
func (f *field) AcceptsTab() bool { return f.next != nil }

// KeyDown notes Shift, for Tab.
func (f *field) KeyDown(key *fyne.KeyEvent) {
	f.shift = f.shift || isShift(key.Name)
	f.Entry.KeyDown(key)
}

// KeyUp forgets it.
func (f *field) KeyUp(key *fyne.KeyEvent) {
	f.shift = f.shift && !isShift(key.Name)
	f.Entry.KeyUp(key)
}

func isShift(key fyne.KeyName) bool {
	return key == desktop.KeyShiftLeft || key == desktop.KeyShiftRight
}

// AccessibilityLabel says what the field is for, and what stands in it.
func (f *field) AccessibilityLabel() string {
	label := f.label
	if f.name != nil {
		label = f.name()
	}
	return wording.Say("%[1]s: %[2]s", label, f.Text)
}

// AccessibilityRole: the toolkit has none for a field.
func (f *field) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// TypedKey takes Escape for itself, and Tab where there is a next field.
func (f *field) TypedKey(key *fyne.KeyEvent) {
	if key.Name == fyne.KeyEscape {
		f.SetText(f.was)
		f.desk.focusBench()
		return
	}
	if key.Name == fyne.KeyTab && f.next != nil {
		f.save()
		f.next(f.shift)
		return
	}
	f.Entry.TypedKey(key)
}

// TypedShortcut passes on what is not about text.
func (f *field) TypedShortcut(s fyne.Shortcut) {
	if c, ok := s.(*desktop.CustomShortcut); ok && c.ShortcutName() == shortcutRedoToo.ShortcutName() {
		f.desk.redo()
		return
	}
	f.Entry.TypedShortcut(s)
}
