package measure

import (
	"fmt"
	"math"
)

// Verdicts on a change (second − first) or a difference: the only three that
// an uncertainty allows.
const (
	VerdictLarger   = "larger"
	VerdictSmaller  = "smaller"
	VerdictNoChange = "no change beyond measurement error"
)

// Verdict says what a difference between two measurements amounts to: larger or
// smaller where its expanded uncertainty (k = 2) does not reach 0, so that
// nothing is called a change in about 5 % of cases. It is empty for what has no
// value.
func Verdict(change Quantity) string {
	switch {
	case !change.Defined() || math.IsNaN(change.StdUnc):
		return ""
	case change.Value > change.Expanded():
		return VerdictLarger
	case change.Value < -change.Expanded():
		return VerdictSmaller
	}
	return VerdictNoChange
}

// normal90 is the one-sided 90 % point of the normal distribution.
const normal90 = 1.2816

// Detectable is the smallest change that a comparison with the standard
// uncertainty of this one shows as larger or smaller with a power of 90 %:
// (k + 1.2816)·u, the detection limit of Currie 1968 (Anal Chem 40:586–593,
// from memory) with the k = 2 of the verdict as its critical level. It is exact:
// a property of the comparison.
func Detectable(change Quantity) Quantity {
	return Quantity{Value: (CoverageFactor + normal90) * change.StdUnc, Unit: change.Unit}
}

const detectableMethod = "smallest change that a comparison of this uncertainty shows in 9 of 10 cases: (2 + 1.2816) × its standard uncertainty (Currie 1968)"

// Suffixes of the names of changes: in per cent of the first value, per year,
// and the smallest change seen with a power of 90 %.
const (
	percentSuffix    = "_percent"
	perYearSuffix    = "_per_year"
	detectableSuffix = "_detectable"
)

// change adds a difference with its verdict, its percentage of the first value
// where that means anything, its rate per year and what would be detected.
func (w *work) change(c compared, what string, unit Unit, before, after estimate, method string) {
	d := after.minus(before)
	q := d.quantity(unit)
	switch c.noVerdict {
	case "":
		c.s.judged(what, q, method)
	case notAligned: // which is a caution already
		c.s.add(what, q, method)
	default:
		c.s.add(what, q, method, "no verdict: "+c.noVerdict)
	}
	if what != WhatFillingChange {
		percent := after.over(before).shifted(-1).scaled(100)
		c.s.add(what+percentSuffix, percent.quantity(Percent), "change / value in the first image")
	}
	if c.years > 0 {
		c.s.add(what+perYearSuffix, d.scaled(1/c.years).quantity(unit), fmt.Sprintf("change / %.2f years", c.years))
	}
	if c.noVerdict == "" && q.Defined() {
		c.s.add(what+detectableSuffix, Detectable(q), detectableMethod)
	}
	w.seen = append(w.seen, seen{c: c, what: what, unit: unit, value: [2]estimate{before, after}})
}

// judged adds a finding with its verdict.
func (s subject) judged(what string, q Quantity, method string, cautions ...string) {
	s.add(what, q, method, cautions...)
	s.w.findings[len(s.w.findings)-1].Verdict = Verdict(q)
}
