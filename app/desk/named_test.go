package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
)

// TestControlsHaveNames: what the keys go to on the bench and the worksheet
// says what it is to assistive technology.
func TestControlsHaveNames(t *testing.T) {
	r, _, _ := twoStages(t)
	for part, want := range map[string]string{"bench": "Image bench: ", "worksheet": "", "EAL canal 46 MB": "EAL", "row canal 46 MB": "canal 46 MB"} {
		a, ok := r.parts[part].(fyne.Accessible)
		if !ok || a.AccessibilityLabel() == "" || !strings.Contains(a.AccessibilityLabel(), want) {
			t.Errorf("%s has no name, or not one with %q", part, want)
		}
	}
}
