package measure

import (
	"strings"
	"testing"
)

// How the marks came about ends the method, and only where it was recorded.
func TestMethodsSayHowTheMarksCameAbout(t *testing.T) {
	cases := []struct {
		name string
		m    made
		want string
	}{
		{"nothing recorded", made{"", ""}, ""},
		{"no marks", nil, ""},
		{"by hand", made{ByHand}, "; marks by hand"},
		{"assisted", made{ByAssist}, "; marks assisted"},
		{"corrected", made{ByCorrected}, "; marks assisted, corrected by hand"},
		{"both the same", made{ByAssist, ByAssist}, "; marks assisted"},
		{"two ways", made{ByAssist, ByHand}, "; marks by hand and assisted"},
		{"one not recorded", made{ByAssist, ""}, "; marks by hand and assisted"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := c.m.clause(); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}

// Every finding of marked things says so; what is read off recorded lengths
// alone does not.
func TestEveryFindingOfMarkedThingsSaysHow(t *testing.T) {
	m := neighbourCase().marks
	im := &m.Images[0]
	im.Calibration[0].By = ByCorrected
	im.Canals[0].UsedMM, im.Canals[0].ConeFitMM = ptr(15.0), ptr(15.0)
	for i := range im.Canals {
		im.Canals[i].By = ByAssist
	}
	im.Fillings[0].By, im.Fillings[1].By, im.Obstructions[0].By, im.Posts[0].By = ByAssist, ByAssist, ByAssist, ByAssist
	for _, f := range Compute(m, Given{}) {
		want := "; marks assisted"
		switch f.What {
		case WhatScale:
			want = "; marks assisted, corrected by hand"
		case WhatConeFitDifference:
			want = ""
		}
		if i := strings.Index(f.Method, "; marks"); (i < 0) != (want == "") || i >= 0 && f.Method[i:] != want {
			t.Errorf("%s %s: method %q does not end with %q", f.Of, f.What, f.Method, want)
		}
	}
}

// All findings of a mirrored image say so, those that compare it included.
func TestMirroredImagesAreFlagged(t *testing.T) {
	m := recallCase(6, 0.1).marks
	m.Images[1].Mirrored = true
	for _, f := range Compute(m, Given{}) {
		said := strings.Contains(strings.Join(f.Cautions, "; "), mirroredCaution)
		if want := strings.Contains(f.Image, "post"); said != want {
			t.Errorf("%s, %s: cautions %q", f.Image, f.What, f.Cautions)
		}
	}
}

// ESE: at one year, then yearly up to four.
func TestNextRecall(t *testing.T) {
	cases := []struct {
		name    string
		recalls []string
		want    string
	}{
		{"none yet", nil, "2021-03-15"},
		{"early check", []string{"2020-06-01"}, "2021-03-15"},
		{"first a month early", []string{"2021-02-15"}, "2022-03-15"},
		{"in any order", []string{"2022-04-01", "2021-03-20"}, "2023-03-15"},
		{"one left out", []string{"2022-12-30"}, "2024-03-15"},
		{"done", []string{"2024-03-10"}, ""},
		{"no date", []string{"soon"}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got, ok := NextRecall("2020-03-15", c.recalls...); got != c.want || ok != (c.want != "") {
				t.Errorf("%q, %v; want %q", got, ok, c.want)
			}
		})
	}
	if _, ok := NextRecall(""); ok {
		t.Error("a recall without a date of treatment")
	}
}
