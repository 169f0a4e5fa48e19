package measure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ErrTooFew is returned where there are not enough repeated readings.
var ErrTooFew = errors.New("too few repeated readings")

// Agreement is how well two readings of the same things agree, all in the unit
// of the readings.
type Agreement struct {
	N          int
	Bias       float64 // mean of second − first
	SD         float64 // of the differences
	Lower      float64 // limits of agreement, Bias ∓ 1.96 SD
	Upper      float64
	BiasCI     [2]float64 // 95 % confidence limits
	LowerCI    [2]float64
	UpperCI    [2]float64
	Dahlberg   float64 // √(Σd²/2n), the standard error of one measurement
	Detectable float64 // smallest detectable change, 1.96·√2·Dahlberg
}

// Agree compares paired readings of one reader or of two: the limits of
// agreement of Bland & Altman (1986, Lancet 1:307–310) with the confidence
// limits of their 1999 paper (Stat Methods Med Res 8:135–160, section 3: the
// limits have the variance s²(1/n + 1.96²/(2(n−1)))), Dahlberg's error (1940)
// and the smallest detectable change. It needs two pairs at least.
func Agree(first, second []float64) (Agreement, error) {
	n := len(first)
	if n != len(second) {
		return Agreement{}, fmt.Errorf("compare readings: %d first and %d second ones: give them in pairs", n, len(second))
	}
	if n < 2 {
		return Agreement{}, fmt.Errorf("compare readings: %d pairs: %w", n, ErrTooFew)
	}
	d := make([]float64, n)
	sum := 0.0
	for i := range d {
		d[i] = second[i] - first[i]
		sum += d[i] * d[i]
	}
	a := Agreement{N: n}
	a.Bias, a.SD = stat.MeanStdDev(d, nil)
	if math.IsNaN(a.SD) || math.IsInf(a.SD, 0) {
		return Agreement{}, errors.New("compare readings: a reading is not a number: leave the pair out")
	}
	a.Lower, a.Upper = a.Bias-normal95*a.SD, a.Bias+normal95*a.SD
	m := float64(n)
	t := distuv.StudentsT{Sigma: 1, Nu: m - 1}.Quantile(0.975)
	about := func(x, u float64) [2]float64 { return [2]float64{x - t*u, x + t*u} }
	limit := a.SD * math.Sqrt(1/m+normal95*normal95/(2*(m-1)))
	a.BiasCI = about(a.Bias, a.SD/math.Sqrt(m))
	a.LowerCI, a.UpperCI = about(a.Lower, limit), about(a.Upper, limit)
	a.Dahlberg = math.Sqrt(sum / (2 * m))
	a.Detectable = DetectableChange(a.Dahlberg)
	return a, nil
}

// normal95 is the two-sided 95 % point of the normal distribution.
const normal95 = 1.96

// DetectableChange is the smallest change of one subject that 95 % of repeated
// readings stay below: 1.96·√2·SEM (Bland & Altman 1999), where SEM is the
// standard error of one measurement.
func DetectableChange(sem float64) float64 { return normal95 * math.Sqrt2 * sem }

// ICC is an intraclass correlation with its 95 % confidence limits.
type ICC struct{ Value, Lower, Upper float64 }

// IntraclassCorrelation returns ICC(2,1): two-way random effects, absolute
// agreement, single reading (Shrout & Fleiss 1979, Psychol Bull 86:420–428;
// confidence limits by McGraw & Wong 1996, Psychol Methods 1:30–46, table 7).
// readings[i][j] is what reader j read of subject i.
func IntraclassCorrelation(readings [][]float64) (ICC, error) {
	n := len(readings)
	if n < 2 || len(readings[0]) < 2 {
		return ICC{}, fmt.Errorf("intraclass correlation: needs two subjects and two readings of each: %w", ErrTooFew)
	}
	k := len(readings[0])
	for i, r := range readings {
		if len(r) != k {
			return ICC{}, fmt.Errorf("intraclass correlation: subject %d has %d readings, the first has %d: give as many of each", i+1, len(r), k)
		}
	}
	rows, columns, rest := meanSquares(readings)
	nf, kf := float64(n), float64(k)
	icc := (rows - rest) / (rows + (kf-1)*rest + kf*(columns-rest)/nf)
	if math.IsNaN(icc) {
		return ICC{}, errors.New("intraclass correlation: the readings do not vary, or one is not a number")
	}
	a := kf * icc / (nf * (1 - icc))
	b := 1 + kf*icc*(nf-1)/(nf*(1-icc))
	v := (a*columns + b*rest) * (a*columns + b*rest) / (a*a*columns*columns/(kf-1) + b*b*rest*rest/((nf-1)*(kf-1)))
	fl := distuv.F{D1: nf - 1, D2: v}.Quantile(0.975)
	fu := distuv.F{D1: v, D2: nf - 1}.Quantile(0.975)
	common := kf*columns + (kf*nf-kf-nf)*rest
	return ICC{icc,
		nf * (rows - fl*rest) / (fl*common + nf*rows),
		nf * (fu*rows - rest) / (common + nf*fu*rows)}, nil
}

// meanSquares are those of a two-way table without replication: between
// subjects, between readers, and the rest.
func meanSquares(x [][]float64) (rows, columns, rest float64) {
	n, k := float64(len(x)), float64(len(x[0]))
	byColumn := make([]float64, len(x[0]))
	grand := 0.0
	for _, r := range x {
		for j, v := range r {
			byColumn[j] += v / n
			grand += v / (n * k)
		}
	}
	var ssRows, ssColumns, total float64
	for _, r := range x {
		m := stat.Mean(r, nil)
		ssRows += k * (m - grand) * (m - grand)
		for _, v := range r {
			total += (v - grand) * (v - grand)
		}
	}
	for _, m := range byColumn {
		ssColumns += n * (m - grand) * (m - grand)
	}
	return ssRows / (n - 1), ssColumns / (k - 1), (total - ssRows - ssColumns) / ((n - 1) * (k - 1))
}

// ReaderClick returns the standard uncertainty in px, in each direction, of
// one mark of a reader: the pooled standard deviation of repeated marks of the
// same places, repeats[i] being the marks of place i. It is what
// [Marks.ClickPX] takes.
func ReaderClick(repeats [][]Point) (float64, error) {
	sum, dof := 0.0, 0
	for _, marks := range repeats {
		if len(marks) < 2 {
			continue
		}
		var x, y moments
		for _, m := range marks {
			x.add(m.X)
			y.add(m.Y)
		}
		sum += x.m2 + y.m2
		dof += 2 * (len(marks) - 1)
	}
	switch {
	case dof == 0:
		return 0, fmt.Errorf("repeated marks: no place was marked twice: %w", ErrTooFew)
	case math.IsNaN(sum) || math.IsInf(sum, 0):
		return 0, errors.New("repeated marks: a mark is not a number: leave it out")
	case sum == 0:
		return 0, errors.New("repeated marks: all repeats are identical, so they were not placed anew: mark the places again")
	}
	return math.Sqrt(sum / float64(dof)), nil
}
