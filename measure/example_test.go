package measure_test

import (
	"fmt"
	"math"

	"rootrule/measure"
)

// A canal on a film with a file of 21 mm beside it.
func ExampleCompute() {
	marks := measure.Marks{Version: 1, Images: []measure.ImageMarks{{
		ID: "film",
		Calibration: []measure.Calibration{{Kind: measure.CalibrationFile, LengthMM: 21,
			Marks: []measure.Point{measure.Pt(40, 60), measure.Pt(40, 480)}}},
		Canals: []measure.Canal{{Tooth: "46", Name: "D",
			Marks: []measure.Point{measure.Pt(100, 50), measure.Pt(100, 250), measure.Pt(100, 450)}}},
	}}}
	for _, f := range measure.Compute(marks, measure.Given{}) {
		switch f.What {
		case measure.WhatLength, measure.WhatWorkingLength, measure.WhatFileLength:
			fmt.Printf("%s: %.1f ± %.1f %s\n", f.What, f.Value, f.Expanded(), f.Unit)
		}
	}
	// Output:
	// length: 20.0 ± 0.5 mm
	// working_length: 19.0 ± 0.5 mm
	// file_length: 21.0 ± 0.0 mm
}

// Everything that is wrong with a marks file is named at once.
func ExampleDecodeMarks() {
	_, err := measure.DecodeMarks([]byte(`{"version": 1, "images": [
		{"id": "film", "date": "31.1.2026", "canals": [{"tooth": "46", "name": "D", "marks": [[1, 2]], "offset": 1}]}]}`))
	fmt.Println(err)
	_, err = measure.DecodeMarks([]byte(`{"version": 1, "images": [
		{"id": "film", "date": "31.1.2026", "canals": [{"tooth": "46", "name": "D", "marks": [[1, 2]]}]}]}`))
	fmt.Println(err)
	// Output:
	// images[0].canals[0].offset: unknown key
	// images[0].date: "31.1.2026" is no date; write YYYY-MM-DD; images[0].canals[0].marks: needs at least 2 marks, has 1
}

// Marks on a straight part of 100 px and a quarter of a circle of 60 px.
func ExampleNewLine() {
	marks := []measure.Point{measure.Pt(0, 0), measure.Pt(0, 50), measure.Pt(0, 100)}
	for i := 1; i <= 4; i++ {
		a := float64(i) * math.Pi / 8
		marks = append(marks, measure.Pt(60-60*math.Cos(a), 100+60*math.Sin(a)))
	}
	fmt.Printf("%.2f px, exactly %.2f\n", measure.NewLine(marks).Length(), 100+60*math.Pi/2)
	// Output: 194.25 px, exactly 194.25
}

// A canal traced in a volume: its arc of 40° lies in a plane of its own.
func ExampleComputeCanal3() {
	canal := measure.Canal3{Tooth: "16", Name: "MB"}
	for s := 0.0; s <= 15.59; s += 1.113 {
		a := math.Max(0, s-10) / 8 // radians along an arc of 8 mm
		canal.Marks = append(canal.Marks, measure.P3{X: 8 * (1 - math.Cos(a)) * 0.6, Y: 8 * (1 - math.Cos(a)) * 0.8, Z: -math.Min(s, 10) - 8*math.Sin(a), U: 0.02})
	}
	for _, f := range measure.ComputeCanal3("volume", canal) {
		if f.What == measure.WhatPruettAngle || f.What == measure.WhatPruettRadius {
			fmt.Printf("%s: %.1f %s\n", f.What, f.Value, f.Unit)
		}
	}
	// Output:
	// pruett_angle: 40.0 deg
	// pruett_radius: 8.0 mm
}

// The same teeth in three notations.
func ExampleParseTooth() {
	for _, name := range []string{"46", "11", "85"} {
		t, err := measure.ParseTooth(name, measure.FDI)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(t.In(measure.FDI), t.In(measure.Universal), t.In(measure.Palmer))
	}
	// Output:
	// 46 30 LR6
	// 11 8 UR1
	// 85 T LRE
}
