package measure

// SchneiderClass grades a Schneider angle in degrees (Schneider 1971, Oral
// Surg 32:271–275): straight to 5°, moderate 10–20°, severe 25–70°. The scheme
// leaves gaps, which are named as such and not assigned. It holds for
// Schneider's angle only: Pruett's or Weine's angle of the same canal is about
// twice as large.
func SchneiderClass(deg float64) string {
	switch {
	case !(deg >= 0):
		return ""
	case deg <= 5:
		return "straight"
	case deg < 10:
		return "between straight and moderate"
	case deg <= 20:
		return "moderate"
	case deg < 25:
		return "between moderate and severe"
	case deg <= 70:
		return "severe"
	}
	return "beyond severe"
}

// DifficultyForm names the form whose grades [DifficultyGrade] gives.
const DifficultyForm = "AAE Endodontic Case Difficulty Assessment Form"

// DifficultyGrade grades the curvature of a canal in degrees by the form named
// [DifficultyForm] (2022; upper limit from memory): below 10° low, 10–30°
// moderate, above 30° or S-shaped high.
func DifficultyGrade(deg float64, sShaped bool) string {
	switch {
	case sShaped || deg > 30:
		return "high"
	case deg >= 10:
		return "moderate"
	case deg >= 0:
		return "low"
	}
	return ""
}

// DifficultyOfCase combines the grades of the items of the form: up to two
// moderate items make the case moderate; three or more, or one high item, make
// it high (AAE form 2022).
func DifficultyOfCase(grades ...string) string {
	moderate := 0
	for _, g := range grades {
		switch g {
		case "high":
			return "high"
		case "moderate":
			moderate++
		}
	}
	switch {
	case moderate >= 3:
		return "high"
	case moderate > 0:
		return "moderate"
	}
	return "low"
}

// WeineType is Weine's class of a root with one or two canals, I to IV, from
// the number of canals at the orifice and at the foramen and whether two
// canals at both ends join between (from memory: I 1–1, II 2–1, III 2–2,
// IV 1–2). It is empty for other roots.
func WeineType(orifice, foramen int) string {
	return map[[2]int]string{{1, 1}: "I", {2, 1}: "II", {2, 2}: "III", {1, 2}: "IV"}[[2]int{orifice, foramen}]
}

// VertucciType is Vertucci's class I to VIII of a root from the numbers of
// canals on the way from orifice to foramen, repeated numbers counted once
// (Vertucci 1984, Oral Surg 58:589–599, from memory). It is empty for other
// configurations.
func VertucciType(counts ...int) string {
	key := ""
	last := 0
	for _, n := range counts {
		if n != last {
			key += string(rune('0' + n%10))
		}
		last = n
	}
	return map[string]string{
		"1": "I", "21": "II", "121": "III", "2": "IV", "12": "V", "212": "VI", "1212": "VII", "3": "VIII",
	}[key]
}

// CBCTPAI proposes the cone-beam periapical index of a lesion from its largest
// diameter in mm (Estrela et al. 2008, J Endod 34:1325–1331; limits from
// memory): 0 intact, 1 above 0.5 to 1, 2 to 2, 3 to 4, 4 to 8, 5 above 8 mm. E
// (cortical bone expanded) and D (destroyed) are what the reader saw; while
// either is nil, asked is true and the proposal is without it. The reader
// confirms the score; the program never scores by itself.
func CBCTPAI(largestMM float64, expanded, destroyed *bool) (score string, asked bool) {
	if !(largestMM >= 0) {
		return "", true
	}
	n := 0
	for _, limit := range [5]float64{0.5, 1, 2, 4, 8} {
		if largestMM > limit {
			n++
		}
	}
	score = string(rune('0' + n))
	if expanded != nil && *expanded {
		score += "+E"
	}
	if destroyed != nil && *destroyed {
		score += "+D"
	}
	return score, expanded == nil || destroyed == nil
}

// PAIHealthy is the highest periapical index that counts as healthy (Ørstavik,
// Kerekes & Eriksen 1986, Endod Dent Traumatol 2:20–34; limit from memory).
const PAIHealthy = 2
