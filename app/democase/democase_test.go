package democase

import (
	"path/filepath"
	"testing"

	"rootrule/app/casebook"
	"rootrule/app/reading"
	"rootrule/measure"
)

func TestOpenMakesTheCaseOnce(t *testing.T) {
	b, err := casebook.Open(filepath.Join(t.TempDir(), "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	first, err := Open(b)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Archive(first.ID(), true); err != nil {
		t.Fatal(err)
	}
	again, err := Open(b)
	if err != nil {
		t.Fatal(err)
	}
	if first.ID() != again.ID() {
		t.Errorf("opened twice: cases %d and %d, want the same", first.ID(), again.ID())
	}
	if list, err := b.Cases(); err != nil || list[0].Archived {
		t.Errorf("the demo case stays put away though it was asked for: %v", err)
	}
	checkComplete(t, again)
}

// checkComplete checks that every image has its original and that lengths come
// out in mm.
func checkComplete(t *testing.T, c *casebook.Case) {
	t.Helper()
	m := c.Marks()
	if err := m.Validate(); err != nil {
		t.Errorf("the demo marks are not valid: %v", err)
	}
	if len(m.Images) != 3 || len(m.Views) == 0 || len(m.Recalls) == 0 {
		t.Fatalf("%d images, %d views, %d recalls", len(m.Images), len(m.Views), len(m.Recalls))
	}
	lengths := 0
	for _, f := range reading.New(c).Findings(m) {
		if f.What == measure.WhatLength && f.Unit == measure.Millimetre && f.Value > 15 && f.Value < 25 {
			lengths++
		}
	}
	if lengths != 9 { // three canals on three images
		t.Errorf("%d canal lengths in mm, want 9", lengths)
	}
}
