package measure

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// ReadingsVersion is the version of the readings file that this package reads.
const ReadingsVersion = 1

// Readings is a reader's repeated marks, for the reader's own uncertainty. Its
// JSON form, version 1, is
//
//	{"version":1,"reader":"AB","readings":[{"first":{…},"second":{…}}]}
//
// where first and second are marks files of the same case, the second marked
// without sight of the first. Images, canals, lesions and the rest belong
// together by id, and by tooth and name. [Readings.Repeatability] evaluates
// them.
type Readings struct {
	Version  int       `json:"version"`
	Reader   string    `json:"reader,omitempty"`
	Readings []Reading `json:"readings"`
}

// Reading is one case marked twice.
type Reading struct {
	First  Marks `json:"first"`
	Second Marks `json:"second"`
}

// DecodeReadings reads a readings file as strictly as [DecodeMarks] reads its
// marks: all that is wrong is named together, each with its JSON path.
func DecodeReadings(data []byte) (Readings, error) {
	root, err := parse(data)
	if err != nil {
		return Readings{}, Problems{{"", "readings file: " + err.Error()}}
	}
	var r Readings
	var problems Problems
	fill(reflect.ValueOf(&r).Elem(), root, "", &problems)
	if problems.asError() == nil {
		problems = r.problems()
	}
	if err := problems.asError(); err != nil {
		return Readings{}, err
	}
	return r, nil
}

func (r Readings) problems() (all Problems) {
	if r.Version != ReadingsVersion {
		all.add("version", "must be %d, is %d", ReadingsVersion, r.Version)
	}
	for i, x := range r.Readings {
		for _, m := range []struct {
			key   string
			marks Marks
		}{{"first", x.First}, {"second", x.Second}} {
			var found Problems
			found, _ = m.marks.Validate().(Problems)
			for _, p := range found {
				all.add(fmt.Sprintf("readings[%d].%s.%s", i, m.key, p.Path), "%s", p.What)
			}
		}
	}
	return all
}

// Repeatability is how well a reader repeats marks and findings.
type Repeatability struct {
	// ClickPX is the standard uncertainty of one mark in px, in each direction:
	// what [Marks.ClickPX] takes. ClickCI are its 95 % confidence limits, Places
	// the number of places marked twice.
	ClickPX float64
	ClickCI [2]float64
	Places  int
	// Findings are the agreement of what both readings give, by the name of the
	// finding (WhatLength, WhatArea, …), for those that at least two pairs of one
	// unit give.
	Findings map[string]Agreement
}

// Repeatability compares the two readings of each case. given is what the
// images of each case state; nil where nothing is at hand. The uncertainty of a
// mark comes from places that a reader means to hit exactly: the ends of
// canals, calibrations, obstructions and posts, orifices, tips and apices.
// Marks in between lie anywhere along their line and do not count, nor do
// assisted marks with an uncertainty of their own.
func (r Readings) Repeatability(given []Given) (Repeatability, error) {
	var places [][]Point
	values := map[string][2][]float64{}
	units := map[string]Unit{}
	for i, x := range r.Readings {
		places = append(places, repeated(x.First, x.Second)...)
		var g Given
		if i < len(given) {
			g = given[i]
		}
		pairFindings(Compute(x.First, g), Compute(x.Second, g), values, units)
	}
	out := Repeatability{Places: len(places), Findings: map[string]Agreement{}}
	var err error
	if out.ClickPX, err = ReaderClick(places); err != nil {
		return Repeatability{}, err
	}
	out.ClickCI = spreadLimits(out.ClickPX, 2*len(places))
	for what, v := range values {
		if a, err := Agree(v[0], v[1]); err == nil {
			out.Findings[what] = a
		}
	}
	return out, nil
}

// spreadLimits are the 95 % confidence limits of a standard deviation of normal
// errors with so many degrees of freedom, by the χ² distribution of its square.
func spreadLimits(sd float64, dof int) [2]float64 {
	n := float64(dof)
	chi2 := distuv.ChiSquared{K: n}
	return [2]float64{sd * math.Sqrt(n/chi2.Quantile(0.975)), sd * math.Sqrt(n/chi2.Quantile(0.025))}
}

// pairFindings adds the values of findings that both readings have, in the unit
// of the first of their kind.
func pairFindings(first, second []Finding, values map[string][2][]float64, units map[string]Unit) {
	key := func(f Finding) [3]string { return [3]string{f.Image, f.Of, f.What} }
	index := map[[3]string]Finding{}
	for _, f := range second {
		index[key(f)] = f
	}
	for _, f := range first {
		s, ok := index[key(f)]
		if unit, seen := units[f.What]; !ok || !f.Defined() || !s.Defined() || f.Unit != s.Unit || seen && unit != f.Unit {
			continue
		}
		units[f.What] = f.Unit
		v := values[f.What]
		values[f.What] = [2][]float64{append(v[0], f.Value), append(v[1], s.Value)}
	}
}

// repeated returns the places that both sets of marks hit, each as its two
// marks.
func repeated(first, second Marks) (places [][]Point) {
	index := map[string]Point{}
	for _, im := range second.Images {
		for name, p := range im.landmarks() {
			index[im.ID+"\x00"+name] = p
		}
	}
	for _, im := range first.Images {
		marks := im.landmarks()
		for _, name := range slices.Sorted(maps.Keys(marks)) {
			p := marks[name]
			if q, ok := index[im.ID+"\x00"+name]; ok && p.U == 0 && q.U == 0 {
				places = append(places, []Point{p, q})
			}
		}
	}
	return places
}

// landmarks are the marks of an image that a reader means to put on one exact
// place, by the name of that place.
func (im ImageMarks) landmarks() map[string]Point {
	out := map[string]Point{}
	ends := func(of string, marks []Point) {
		if len(marks) > 1 {
			out[of+" begin"], out[of+" end"] = marks[0], marks[len(marks)-1]
		}
	}
	for i, c := range im.Calibration {
		ends(fmt.Sprintf("calibration %d %s", i+1, c.Kind), c.Marks)
	}
	for _, c := range im.Canals {
		ends(CanalSubject(c), c.Marks)
		if c.Orifice > 0 && c.Orifice < len(c.Marks)-1 {
			out[CanalSubject(c)+" orifice"] = c.Marks[c.Orifice]
		}
	}
	for _, f := range im.Fillings {
		ends(FillingSubject(f), []Point{f.Tip, f.Apex})
	}
	for _, o := range im.Obstructions {
		ends(ObstructionSubject(o), o.Marks)
	}
	for _, p := range im.Posts {
		ends(PostSubject(p), p.Marks)
		for name, m := range map[string]*Point{"top": p.Top, "margin": p.Margin, "apex": p.Apex} {
			if m != nil {
				out[PostSubject(p)+" "+name] = *m
			}
		}
	}
	return out
}
