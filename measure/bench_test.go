package measure

import "testing"

// benchCase is a case with four canals and two lesions, clicked with noise.
func benchCase() Marks {
	m := Marks{Version: 1, Images: []ImageMarks{{ID: "pre",
		Calibration: []Calibration{{Kind: CalibrationFile, LengthMM: 21, Marks: []Point{Pt(50.3, 60), Pt(48, 150.2), Pt(50, 270.4), Pt(57.1, 479.8)}}}}}}
	im := &m.Images[0]
	for i, c := range []idealCanal{{10, [][2]float64{{40, 8}}}, {11, [][2]float64{{25, 12}}}, {9, [][2]float64{{-30, 9}}}, {12, [][2]float64{{60, 5}}}} {
		marks, _ := c.marks(8, i%2 == 0)
		t := truthCase{marks: Marks{Images: []ImageMarks{{Canals: []Canal{{Tooth: "46", Name: string(rune('A' + i)), Marks: marks, EALMM: ptr(15.0)}}}}}}
		im.Canals = append(im.Canals, t.noisy(seeded(uint64(i))).Images[0].Canals...)
	}
	for i, n := range []int{12, 16} {
		l := ellipseCase(6-float64(i), 4, n).noisy(seeded(9)).Images[0].Lesions[0]
		l.Name = string(rune('A' + i))
		im.Lesions = append(im.Lesions, l)
	}
	return m
}

// BenchmarkCompute takes all findings of a case with 4 canals and 2 lesions.
func BenchmarkCompute(b *testing.B) {
	m := benchCase()
	b.ReportAllocs()
	for b.Loop() {
		Compute(m, Given{})
	}
}

func BenchmarkComputeCanals(b *testing.B) {
	m := benchCase()
	m.Images[0].Lesions = nil
	for b.Loop() {
		Compute(m, Given{})
	}
}

func BenchmarkComputeLesions(b *testing.B) {
	m := benchCase()
	m.Images[0].Canals = nil
	for b.Loop() {
		Compute(m, Given{})
	}
}

// BenchmarkComputeRecall takes all findings of two visits that are aligned by
// eight pairs of marks, with a lesion, a canal and its filling on both.
func BenchmarkComputeRecall(b *testing.B) {
	m := changeCase(6, 4.5, [2]int{14, 12}, 8, 0.8, 0.5).noisy(seeded(1))
	b.ReportAllocs()
	for b.Loop() {
		Compute(m, Given{})
	}
}
