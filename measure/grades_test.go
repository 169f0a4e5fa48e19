package measure

import "testing"

// Vertucci 1984 and Weine, configurations from memory.
func TestCanalTypes(t *testing.T) {
	for want, counts := range map[string][]int{
		"I": {1, 1, 1}, "II": {2, 2, 1}, "III": {1, 2, 1}, "IV": {2, 2, 2}, "V": {1, 1, 2}, "VI": {2, 1, 2}, "VII": {1, 2, 1, 2}, "VIII": {3, 3, 3},
	} {
		if got := VertucciType(counts...); got != want {
			t.Errorf("Vertucci of %v is %q, want %q", counts, got, want)
		}
	}
	if got := VertucciType(3, 2); got != "" {
		t.Errorf("Vertucci of 3–2 is %q, want none", got)
	}
	for want, ends := range map[string][2]int{"I": {1, 1}, "II": {2, 1}, "III": {2, 2}, "IV": {1, 2}, "": {3, 1}} {
		if got := WeineType(ends[0], ends[1]); got != want {
			t.Errorf("Weine of %v is %q, want %q", ends, got, want)
		}
	}
}

func TestCBCTPAIAsksForExpansionAndDestruction(t *testing.T) {
	if s, asked := CBCTPAI(5, nil, ptr(true)); s != "4+D" || !asked {
		t.Errorf("proposal %q, asked %v", s, asked)
	}
	if s, asked := CBCTPAI(5, ptr(true), ptr(false)); s != "4+E" || asked {
		t.Errorf("proposal %q, asked %v", s, asked)
	}
	if s, _ := CBCTPAI(-1, nil, nil); s != "" {
		t.Errorf("proposal %q for a negative diameter", s)
	}
}

func TestVerdictHasThreeWaysOnly(t *testing.T) {
	for _, c := range []struct {
		value, u float64
		want     string
	}{{-3, 1, "smaller"}, {3, 1, "larger"}, {-2, 1, "no change beyond measurement error"}, {2, 1, "no change beyond measurement error"}, {0, 0, "no change beyond measurement error"}} {
		if got := Verdict(Quantity{c.value, c.u, SquareMillimetre}); got != c.want {
			t.Errorf("%g ± %g (k = 2) is %q, want %q", c.value, 2*c.u, got, c.want)
		}
	}
	if got := Verdict(Undefined(SquareMillimetre)); got != "" {
		t.Errorf("an undefined change is %q", got)
	}
}

func TestFillingLevel(t *testing.T) {
	for mm, want := range map[float64]string{0: "adequate", 2: "adequate", 2.1: "short", -0.1: "beyond the apex"} {
		if got := FillingLevel(mm); got != want {
			t.Errorf("%g mm is %q, want %q", mm, got, want)
		}
	}
}

func TestNearestFile(t *testing.T) {
	for mm, want := range map[float64]float64{18: 21, 21: 25, 24.9: 25, 27: 28, 30: 31} {
		if got, ok := NearestFile(mm); !ok || got != want {
			t.Errorf("for %g mm the file has %g mm, want %g", mm, got, want)
		}
	}
	if l, ok := NearestFile(31); ok {
		t.Errorf("for 31 mm there is a file of %g mm", l)
	}
}
