package measure

import (
	"errors"
	"math"
	"testing"
)

// Shrout & Fleiss 1979, Psychol Bull 86:420–428, tables 2 and 4: six targets,
// four judges, ICC(2,1) = 0.29. The confidence limits are those that McGraw &
// Wong's formula gives for these data (0.02 to 0.76, as statistics packages
// print them).
func TestIntraclassCorrelationOfShroutAndFleiss(t *testing.T) {
	icc, err := IntraclassCorrelation([][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(icc.Value-0.29) > 0.005 || math.Abs(icc.Lower-0.02) > 0.005 || math.Abs(icc.Upper-0.76) > 0.005 {
		t.Errorf("ICC(2,1) = %.3f (%.3f to %.3f), want 0.29 (0.02 to 0.76)", icc.Value, icc.Lower, icc.Upper)
	}
}

// The confidence limits of limits of agreement: se of a limit √(3s²/n) in the
// approximation of Bland & Altman 1986, near the exact form for many pairs.
func TestLimitsOfAgreementHaveConfidenceLimits(t *testing.T) {
	r := seeded(1)
	n := 200
	first, second := make([]float64, n), make([]float64, n)
	for i := range first {
		first[i] = 20 + r.NormFloat64()
		second[i] = first[i] + 0.3 + 0.5*r.NormFloat64()
	}
	a, err := Agree(first, second)
	if err != nil {
		t.Fatal(err)
	}
	half := (a.UpperCI[1] - a.UpperCI[0]) / 2
	if want := 1.972 * math.Sqrt(3*a.SD*a.SD/float64(n)); math.Abs(half/want-1) > 0.02 { // t(199) = 1.972
		t.Errorf("half width %.4f, want about %.4f", half, want)
	}
	if !(a.LowerCI[0] < a.Lower && a.Lower < a.LowerCI[1] && a.BiasCI[0] < 0.3 && 0.3 < a.BiasCI[1]) {
		t.Errorf("limits %+v", a)
	}
}

func TestRepeatabilityRefusesTooLittle(t *testing.T) {
	if _, err := Agree([]float64{1}, []float64{2}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one pair: %v", err)
	}
	if _, err := Agree([]float64{1, 2}, []float64{2}); err == nil {
		t.Error("pairs that are none pass")
	}
	if _, err := Agree([]float64{1, math.NaN()}, []float64{2, 3}); err == nil {
		t.Error("NaN passes")
	}
	if _, err := IntraclassCorrelation([][]float64{{1, 2}}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one subject: %v", err)
	}
	if _, err := IntraclassCorrelation([][]float64{{1, 2}, {3}}); err == nil {
		t.Error("a missing reading passes")
	}
	if _, err := ReaderClick([][]Point{{Pt(1, 1)}}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one mark: %v", err)
	}
	if _, err := ReaderClick([][]Point{{Pt(1, 1), Pt(1, 1)}}); err == nil {
		t.Error("marks that were not placed anew pass")
	}
}

// A reader's own repeated marks replace the default click.
func TestReaderClickReplacesTheDefault(t *testing.T) {
	r := seeded(2)
	repeats := make([][]Point, 200)
	for i := range repeats {
		for range 3 {
			repeats[i] = append(repeats[i], Pt(float64(10*i)+0.35*r.NormFloat64(), 5+0.35*r.NormFloat64()))
		}
	}
	click, err := ReaderClick(repeats)
	if err != nil || math.Abs(click-0.35) > 0.02 { // 800 degrees of freedom: 2.5 %
		t.Fatalf("click %.3f px, %v, want 0.35", click, err)
	}
	m := canalOn([]Point{Pt(0, 0), Pt(0, 400)}, []Point{Pt(50, 0), Pt(50, 400)})
	m.Images[0].Calibration[0].UMM = ptr(0.0)
	usual := Compute(m, Given{})[1].StdUnc
	m.ClickPX = ptr(DefaultClick / 2)
	if own := Compute(m, Given{})[1].StdUnc; math.Abs(own/usual-0.5) > 1e-3 {
		t.Errorf("u(length) %.4f mm with half the click, %.4f mm with the default", own, usual)
	}
}
