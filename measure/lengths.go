package measure

import (
	"fmt"
)

// Offsets in mm from the radiographic apex to the working length (Weine,
// Endodontic Therapy: 1.0, 1.5, 2.0; some books give 0.5 for no resorption).
const (
	OffsetNoResorption    = 1.0
	OffsetBoneResorption  = 1.5
	OffsetBoneAndRoot     = 2.0
	DefaultOffset         = OffsetNoResorption
	lengthMethod          = "length of the smooth line through the marks"
	workingLengthFormula  = "length − %g mm"
	ealMethod             = "apex locator reading − radiographic length"
	fileLengthMethod      = "shortest stock file (ISO 3630-1 practice, from memory) that is longer than the estimated working length"
	recordedMethodFormula = "%s − %s"
)

// DefaultEAL is the standard uncertainty in mm of an electronic apex locator:
// the usual acceptance band of ±0.5 mm read as an expanded uncertainty, k = 2.
const DefaultEAL = 0.25

// DefaultStop is the standard uncertainty in mm of a length recorded with a
// stop set against a ruler. Common practice, no source.
const DefaultStop = DefaultKnownLength

// StockLengths are the lengths in mm, tip to handle, of stock hand files
// (ISO 3630-1 practice, from memory).
var StockLengths = [4]float64{21, 25, 28, 31}

// NearestFile returns the shortest stock file that is longer than mm; ok is
// false when none is.
func NearestFile(mm float64) (length float64, ok bool) {
	for _, l := range StockLengths {
		if l > mm {
			return l, true
		}
	}
	return 0, false
}

// reading is a length recorded during treatment: its key in the marks file and
// its standard uncertainty in mm.
type reading struct {
	key  string
	name string
	mm   float64
	u    float64
}

// readings returns the recorded lengths of the canal, in order of treatment.
func (c Canal) readings() []reading {
	var out []reading
	for _, r := range []struct {
		key, name string
		mm        *float64
		u         float64
	}{
		{"eal_mm", "apex locator reading", c.EALMM, DefaultEAL},
		{"used_mm", "working length used", c.UsedMM, DefaultStop},
		{"cone_fit_mm", "cone-fit length", c.ConeFitMM, DefaultStop},
		{"filled_mm", "filled length", c.FilledMM, DefaultStop},
	} {
		if r.mm != nil {
			out = append(out, reading{r.key, r.name, *r.mm, r.u})
		}
	}
	return out
}

func (c Canal) offset() float64 {
	if c.OffsetMM != nil {
		return *c.OffsetMM
	}
	return DefaultOffset
}

// canalLength adds the length of a canal and what is compared with it.
func (w *work) canalLength(s subject, sc scale, px estimate, c Canal) {
	q := sc.length(px)
	s.add(WhatLength, q, lengthMethod, usualLengthCaution(q, c.Tooth)...)
	method := fmt.Sprintf(workingLengthFormula, c.offset())
	if !sc.known {
		s.none(WhatWorkingLength, Millimetre, method, needsCalibration)
		if c.EALMM != nil {
			s.none(WhatEALDifference, Millimetre, ealMethod, needsCalibration)
		}
		return
	}
	mm := px.times(sc.mmPerPx)
	working := mm.shifted(-c.offset())
	s.add(WhatWorkingLength, working.quantity(Millimetre), method)
	w.fileLength(s, working.quantity(Millimetre))
	w.recorded(s, c, mm, working)
}

const needsCalibration = "needs a calibration"

// fileLength adds the stock file that the working length asks for.
func (w *work) fileLength(s subject, working Quantity) {
	file, ok := NearestFile(working.Value)
	if !ok || !working.Defined() || working.Value <= 0 {
		s.none(WhatFileLength, Millimetre, fileLengthMethod, "no stock file is longer than the estimated working length")
		return
	}
	var caution []string
	if working.Value+working.Expanded() >= file {
		caution = append(caution, "the uncertainty of the working length reaches the length of this file: have the next longer one at hand")
	}
	s.add(WhatFileLength, Quantity{Value: file, Unit: Millimetre}, fileLengthMethod, caution...)
}

// recorded compares the lengths recorded during treatment: the apex locator
// with the radiograph, what was used with the estimate, the cone and the
// filling with what was used.
func (w *work) recorded(s subject, c Canal, mm, working estimate) {
	at := map[string]estimate{}
	for _, r := range c.readings() {
		at[r.key] = known(r.mm, r.u, w.source())
	}
	reference, name := working, "estimated working length"
	for _, r := range c.readings() {
		e := at[r.key]
		switch r.key {
		case "eal_mm":
			s.difference(WhatEALDifference, e.minus(mm), ealMethod, "apex locator and radiograph")
		case "used_mm":
			s.difference(WhatUsedDifference, e.minus(working), fmt.Sprintf(recordedMethodFormula, r.name, name), "the length used and the estimate")
			reference, name = e, r.name
			s.made = nil // what follows compares recorded lengths alone
		case "cone_fit_mm":
			s.difference(WhatConeFitDifference, e.minus(reference), fmt.Sprintf(recordedMethodFormula, r.name, name), "the cone fit and the "+name)
		case "filled_mm":
			s.difference(WhatFilledDifference, e.minus(reference), fmt.Sprintf(recordedMethodFormula, r.name, name), "the filling and the "+name)
		}
	}
}

// difference adds the difference of two lengths, with a caution when it goes
// beyond their combined uncertainty.
func (s subject) difference(what string, e estimate, method, both string) {
	q := e.quantity(Millimetre)
	var caution []string
	if v := Verdict(q); v == VerdictLarger || v == VerdictSmaller {
		caution = append(caution, both+" differ by more than their uncertainty")
	}
	s.judged(what, q, method, caution...)
}

// TreatmentRow is the lengths of one canal in the order of treatment, all in
// mm (px without a calibration): from the radiograph that comes last in order
// of stage, and as recorded. A quantity without a value was not recorded.
type TreatmentRow struct {
	Tooth, Name string
	Image       string   // the image that Length and Working come from
	Length      Quantity // radiographic length
	Working     Quantity // estimated working length
	EAL         Quantity
	Used        Quantity
	ConeFit     Quantity
	Filled      Quantity
	// Differences, with the correlation of their parts.
	EALMinusLength, UsedMinusWorking, ConeFitMinusUsed, FilledMinusUsed Quantity
}

// Treatment returns the table of lengths through the treatment, a row a canal
// in the order of the marks; findings are those of [Compute] on the marks. A
// length recorded on several images counts as recorded on the last of them.
func Treatment(m Marks, findings []Finding) []TreatmentRow {
	var rows []TreatmentRow
	index := map[string]int{}
	for _, im := range m.Images {
		for _, c := range im.Canals {
			of := CanalSubject(c)
			i, ok := index[of]
			if !ok {
				i = len(rows)
				index[of] = i
				rows = append(rows, newTreatmentRow(c))
			}
			rows[i].take(im.ID, of, c, findings)
		}
	}
	return rows
}

func newTreatmentRow(c Canal) TreatmentRow {
	none := Undefined(Millimetre)
	return TreatmentRow{c.Tooth, c.Name, "", none, none, none, none, none, none, none, none, none, none}
}

// take puts the findings of one canal on one image into the row.
func (r *TreatmentRow) take(image, of string, c Canal, findings []Finding) {
	into := map[string]*Quantity{
		WhatLength: &r.Length, WhatWorkingLength: &r.Working, WhatEALDifference: &r.EALMinusLength,
		WhatUsedDifference: &r.UsedMinusWorking, WhatConeFitDifference: &r.ConeFitMinusUsed, WhatFilledDifference: &r.FilledMinusUsed,
	}
	for _, f := range findings {
		if q := into[f.What]; q != nil && f.Image == image && f.Of == of && f.Defined() {
			*q = f.Quantity
			r.Image = image
		}
	}
	recorded := map[string]*Quantity{"eal_mm": &r.EAL, "used_mm": &r.Used, "cone_fit_mm": &r.ConeFit, "filled_mm": &r.Filled}
	for _, x := range c.readings() {
		*recorded[x.key] = Quantity{x.mm, x.u, Millimetre}
	}
}
