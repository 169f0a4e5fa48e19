package measure

import (
	"math"
	"strings"
)

// Trend is how one value of a subject went over several recalls against the
// same first image, all in its frame: the points of a plot, the first visit
// first, and the line through them.
type Trend struct {
	Of   string // the subject, such as "lesion 46 D"
	What string // the value: one of the What… names, such as WhatArea
	// Points are in the order of their dates. Their uncertainties share the error
	// of the scale, so that the changes between them are known better than each.
	Points []TrendPoint
	// PerYear is the slope of the weighted least-squares line through the points
	// that are Aligned, with what they share taken into account; its unit is that
	// of the points, per year. It has no value for fewer than two of them.
	PerYear Quantity
	Verdict string // of the slope
}

// TrendPoint is one visit.
type TrendPoint struct {
	Image string
	Date  string  // YYYY-MM-DD
	Years float64 // since the first visit
	Quantity
	// Aligned is false where the image could not be brought into the frame of the
	// first, or not well enough for a verdict: shown, but no part of the line.
	Aligned bool
}

// seen is a value seen at two visits.
type seen struct {
	c     compared
	what  string
	unit  Unit
	value [2]estimate
}

// Trends returns how the lesions, canals and fillings of a case went over its
// recalls. Recalls without a date have no place in it.
func Trends(m Marks, g Given) []Trend {
	w := compute(m, g)
	var out []Trend
	var values [][]estimate
	index := map[[3]string]int{}
	for _, s := range w.seen {
		if math.IsNaN(s.c.years) {
			continue
		}
		first := s.c.visit[0]
		key := [3]string{first.ID, s.c.s.of, s.what}
		i, ok := index[key]
		if !ok {
			i = len(out)
			index[key] = i
			out = append(out, Trend{Of: s.c.s.of, What: valueOf(s.what), Points: []TrendPoint{{first.ID, first.Date, 0, s.value[0].quantity(s.unit), true}}})
			values = append(values, []estimate{s.value[0]})
		}
		after := s.c.visit[1]
		out[i].Points = append(out[i].Points, TrendPoint{after.ID, after.Date, s.c.years, s.value[1].quantity(s.unit), s.c.noVerdict == ""})
		values[i] = append(values[i], s.value[1])
	}
	for i := range out {
		out[i].order(values[i])
		out[i].fit(values[i])
	}
	return out
}

// valueOf is the value that a change is a change of.
func valueOf(change string) string {
	if of, ok := changed[change]; ok {
		return of
	}
	return strings.TrimSuffix(change, "_change")
}

// changed names the values whose changes go by another name.
var changed = map[string]string{
	WhatDiameterChange:   WhatLongestDiameter,
	WhatEquivalentChange: WhatEquivalentDiameter,
	WhatFillingChange:    WhatFillingToApex,
}

// order puts the points, and the values beside them, in the order of time.
func (t *Trend) order(values []estimate) {
	for i := range t.Points {
		for k := i; k > 0 && t.Points[k].Years < t.Points[k-1].Years; k-- {
			t.Points[k], t.Points[k-1] = t.Points[k-1], t.Points[k]
			values[k], values[k-1] = values[k-1], values[k]
		}
	}
}

// fit puts the line through the aligned points: weights are 1/u², and the
// slope, a weighted sum of the values, keeps what these share.
func (t *Trend) fit(values []estimate) {
	unit := t.Points[0].Unit
	t.PerYear = Undefined(unit)
	var sum, mean, spread float64
	weight := make([]float64, len(values))
	for i, p := range t.Points {
		if p.Aligned && p.Defined() {
			u := math.Max(p.StdUnc, 1e-9*math.Abs(p.Value)) // as if known to one part in 10⁹ at best
			weight[i] = 1 / (u * u)
			sum += weight[i]
			mean += weight[i] * p.Years
		}
	}
	mean /= sum
	for i, p := range t.Points {
		spread += weight[i] * (p.Years - mean) * (p.Years - mean)
	}
	if !(spread > 0) || math.IsInf(spread, 0) {
		return
	}
	slope := exact(0)
	for i, p := range t.Points {
		if weight[i] > 0 {
			slope = slope.plus(values[i].scaled(weight[i] * (p.Years - mean) / spread))
		}
	}
	t.PerYear = slope.quantity(unit)
	t.Verdict = Verdict(t.PerYear)
}
