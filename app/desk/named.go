package desk

import (
	"fyne.io/fyne/v2"

	"rootrule/app/wording"
)

// AccessibilityLabel says what is on the bench.
func (b *bench) AccessibilityLabel() string {
	im := b.desk.session.saved()
	if im == nil {
		return wording.Say("Image bench, empty")
	}
	return wording.Say("Image bench: %[1]s, %[2]s", stageText(im.Stage), dateText(im.Date))
}

// AccessibilityRole: it is worked on by mouse and keys.
func (b *bench) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }

// AccessibilityLabel names the block's item.
func (b *band) AccessibilityLabel() string { return wording.Subject(b.block.of) }

// AccessibilityRole: it can be pressed.
func (b *band) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }
