package measure

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
)

// twiceMarked is the worked set of 20 differences as readings: in each of 20
// cases both ends of one canal are marked d px further right and down the
// second time.
func twiceMarked() Readings {
	r := Readings{Version: ReadingsVersion, Reader: "AB"}
	for _, d := range twenty {
		canal := func(d float64) Marks {
			return Marks{Version: 1, Images: []ImageMarks{{ID: "pre", Canals: []Canal{{Tooth: "11", Name: "B",
				Marks: []Point{Pt(100+d, 50+d), Pt(130, 200), Pt(100+d, 350+d)}}}}}}
		}
		r.Readings = append(r.Readings, Reading{canal(0), canal(d)})
	}
	return r
}

// The worked set of Bland & Altman as repeated marks: Dahlberg's error is 2.3979
// (reference_values.tsv, ba_dahl), and so is the uncertainty of a mark that errs
// by these differences in both directions. Limits: 80 degrees of freedom have
// the χ² quantiles 57.153 and 106.629 (standard tables).
func TestRepeatabilityOfTheWorkedSet(t *testing.T) {
	got, err := twiceMarked().Repeatability(nil)
	if err != nil {
		t.Fatal(err)
	}
	lower, upper := 2.3979*math.Sqrt(80/106.629), 2.3979*math.Sqrt(80/57.153)
	if got.Places != 40 || math.Abs(got.ClickPX-2.3979) > 5e-5 || math.Abs(got.ClickCI[0]-lower) > 5e-4 || math.Abs(got.ClickCI[1]-upper) > 5e-4 {
		t.Errorf("%d places, click %.4f (%.4f to %.4f) px, want 40, 2.3979 (%.4f to %.4f)", got.Places, got.ClickPX, got.ClickCI[0], got.ClickCI[1], lower, upper)
	}
	if a, ok := got.Findings[WhatLength]; !ok || a.N != 20 {
		t.Errorf("agreement of lengths: %+v", got.Findings)
	}
}

// The limits cover the truth in 95 % of studies (two standard deviations of a
// binomial), and the length's agreement is that of Agree.
func TestRepeatabilityLimitsCover(t *testing.T) {
	const trials = 400
	r, in := seeded(8), 0
	for range trials {
		mark := func(p Point) Point { return Pt(p.X+0.8*r.NormFloat64(), p.Y+0.8*r.NormFloat64()) }
		var study Readings
		for range 3 {
			case1 := func() Marks {
				return canalOn([]Point{mark(Pt(0, 0)), mark(Pt(3, 300))}, []Point{mark(Pt(50, 0)), mark(Pt(50, 400))})
			}
			study.Readings = append(study.Readings, Reading{case1(), case1()})
		}
		got, err := study.Repeatability(nil)
		if err != nil {
			t.Fatal(err)
		}
		if got.ClickCI[0] <= 0.8 && 0.8 <= got.ClickCI[1] {
			in++
		}
	}
	if share := float64(in) / trials; share < 0.95-0.022 || share > 0.95+0.022 {
		t.Errorf("limits cover in %.1f %%", 100*share)
	}
}

func TestAssistedAndUnmatchedMarksDoNotCount(t *testing.T) {
	r := twiceMarked()
	for i := range r.Readings {
		r.Readings[i].First.Images[0].Canals[0].Marks[0].U = 0.2
		r.Readings[i].Second.Images[0].Canals[0].Name = "P"
	}
	if _, err := r.Repeatability(nil); !errors.Is(err, ErrTooFew) {
		t.Errorf("error %v, want too few", err)
	}
}

func TestReadingsSurviveWriting(t *testing.T) {
	r := twiceMarked()
	out, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := DecodeReadings(out)
	if err != nil || !reflect.DeepEqual(r, again) {
		t.Errorf("%v: %+v read again as %+v", err, r, again)
	}
}

func TestDecodeReadingsNamesEveryProblemWithItsPath(t *testing.T) {
	const good = `{"version":1,"readings":[{"first":{"version":1,"images":[]},"second":{"version":1,"images":[{"id":"a","file":"a.png"}]}}]}`
	if _, err := DecodeReadings([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, from, to, want string }{
		{"unknown key", `"second"`, `"third"`, "readings[0].third: unknown key"},
		{"version", `{"version":1,"readings"`, `{"version":3,"readings"`, "version: must be 1, is 3"},
		{"version of marks", `"first":{"version":1`, `"first":{"version":2`, "readings[0].first.version: must be 1, is 2"},
		{"marks", `"id":"a"`, `"id":""`, "readings[0].second.images[0].id: must not be empty"},
		{"cut", `"}]}}]}`, `"}]}}`, "readings file: the file ends before its JSON does"},
	} {
		_, err := DecodeReadings([]byte(strings.Replace(good, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
	}
}
