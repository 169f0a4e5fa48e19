package desk

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"rootrule/measure"
)

// TestAngledViewsTellDepth: the demo's working-length image is taken with the
// tube 8° to the distal. MB lies buccal of ML, 3.2 mm apart by the phantom.
func TestAngledViewsTellDepth(t *testing.T) {
	r := demoRig(t)
	r.comparePair(r.session.marks.Images[1].ID)
	if rec := r.pair.recall(); rec != nil {
		t.Error("two angled views are recorded as a recall")
	}
	words := ""
	for _, part := range r.panel.parts {
		if d, ok := part.(*depthReading); ok && d.subject.of == "canals 37 MB, ML" {
			words = d.says.Text
		}
	}
	if !strings.Contains(words, "3.") || !strings.Contains(words, "the first canal lies buccal of the second") {
		t.Errorf("of MB and ML the panel says %q", words)
	}
	before, _ := r.pair.finding("", "canals 37 MB, ML", measure.WhatDepthSeparation)
	r.typed("view angle", "16")
	after, _ := r.pair.finding("", "canals 37 MB, ML", measure.WhatDepthSeparation)
	if ratio := before.Value / after.Value; ratio < 1.9 || ratio > 2.2 { // tan 16° / tan 8° = 2.04
		t.Errorf("twice the angle makes the depth %g times smaller", ratio)
	}
	for _, bad := range []string{"0", "90", "steep"} {
		if r.panel.angled.setAngle(bad) == nil {
			t.Errorf("an angle of %q is taken", bad)
		}
	}
	r.panel.angled.remove.OnTapped()
	if len(r.session.marks.Views) != 0 || !r.panel.angled.begin.Visible() {
		t.Error("the views can't be taken back")
	}
	r.panel.angled.begin.OnTapped()
	if v := r.session.marks.Views; len(v) != 1 || v[0].AngleDeg != usualAngle || v[0].Detector != measure.DetectorParallel {
		t.Errorf("two angled views are recorded as %+v", v)
	}
}

// TestOutlineMissingBeginsOnTheRightImage: a lesion that one image lacks is
// outlined there, under its own name.
func TestOutlineMissingBeginsOnTheRightImage(t *testing.T) {
	r := demoRig(t)
	after := r.session.marks.Images[2].ID
	if err := r.session.editOn(after, "no lesion", func(im *measure.ImageMarks) error { im.Lesions = nil; return nil }); err != nil {
		t.Fatal(err)
	}
	r.refresh()
	r.key(fyne.KeyV)
	part := r.panel.parts[0].(*lesionChange)
	if !part.missing.Visible() || part.table.Visible() {
		t.Fatalf("a lesion without a second outline: %q", part.verdict.Text)
	}
	part.missing.OnTapped()
	if r.session.image != after || r.task == nil || r.task.kind != lesion || r.task.tooth != "37" || r.task.name != "M" {
		t.Errorf("on %s begins %+v", r.session.image, r.task)
	}
	if r.panel.box.Visible() {
		t.Error("the panel hides the worksheet during a task")
	}
}
