package wording

import (
	"strings"
	"testing"

	"rootrule/measure"
)

// TestTooth: ISO 3950 (FDI) against the American Dental Association's numbers.
func TestTooth(t *testing.T) {
	t.Cleanup(func() { SetNotation(measure.FDI) })
	for _, c := range []struct {
		notation   measure.Notation
		fdi, shown string
	}{
		{measure.FDI, "46", "46"}, {measure.Universal, "46", "30"}, {measure.Palmer, "46", "LR6"},
		{measure.Universal, "18", "1"}, {measure.Universal, "55", "A"}, {measure.Palmer, "21", "UL1"},
		{"no notation", "46", "46"},
	} {
		SetNotation(c.notation)
		if got := Tooth(c.fdi); got != c.shown {
			t.Errorf("%s in %s: %q, want %q", c.fdi, c.notation, got, c.shown)
		}
		if got, err := ReadTooth(" " + strings.ToLower(c.shown) + " "); err != nil || got != c.fdi {
			t.Errorf("%s read in %s: %q, %v", c.shown, c.notation, got, err)
		}
	}
	SetNotation(measure.Universal)
	for _, bad := range []string{"46", "0", "33", "U", "x"} {
		if fdi, err := ReadTooth(bad); err == nil || fdi != "" || !strings.Contains(err.Error(), "30") {
			t.Errorf("%q is read as tooth %q (%v)", bad, fdi, err)
		}
	}
	if fdi, err := ReadTooth(" "); fdi != "" || err != nil {
		t.Errorf("nothing typed: %q, %v", fdi, err)
	}
	if Tooth("") != "" || Tooth("99") != "99" {
		t.Error("what is no tooth isn't shown as it is")
	}
}
