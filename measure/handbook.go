package measure

import (
	"fmt"
	"math"
)

// Usual is what handbooks give for a tooth, shown only as "usual": lengths in
// mm (averages; editions differ by up to 0.5 mm) and the number of canals.
type Usual struct {
	Crown, Root, Overall float64
	Canals               string // "1", "2–3"
}

// usualUpper and usualLower are indexed by the position in the quadrant.
// Lengths: Ash & Nelson, Wheeler's Dental Anatomy, 8th/9th ed., from memory
// (upper molars: buccal roots; the palatal root is 1 mm longer). Canals: common
// teaching, from memory; a second mesiobuccal canal is present in about 70 % of
// upper first and 39 % of upper second molars (pooled cone-beam studies of
// 15285 and 8641 teeth).
var usualUpper = [9]Usual{
	1: {10.5, 13.0, 23.5, "1"}, 2: {9.0, 13.0, 22.0, "1"}, 3: {10.0, 17.0, 27.0, "1"},
	4: {8.5, 14.0, 22.5, "2"}, 5: {8.5, 14.0, 22.5, "1–2"},
	6: {7.5, 12.0, 19.5, "3–4"}, 7: {7.0, 11.0, 18.0, "3–4"}, 8: {6.5, 11.0, 17.5, "1–4"},
}

var usualLower = [9]Usual{
	1: {9.0, 12.5, 21.5, "1–2"}, 2: {9.5, 14.0, 23.5, "1–2"}, 3: {11.0, 16.0, 27.0, "1"},
	4: {8.5, 14.0, 22.5, "1–2"}, 5: {8.0, 14.5, 22.5, "1"},
	6: {7.5, 14.0, 21.5, "3–4"}, 7: {7.0, 13.0, 20.0, "3"}, 8: {7.0, 11.0, 18.0, "1–3"},
}

// Usual returns the handbook values of a permanent tooth; ok is false for
// primary teeth, for which the tables at hand give none.
func (t Tooth) Usual() (u Usual, ok bool) {
	switch {
	case !t.Valid() || t.Primary():
		return Usual{}, false
	case t.Upper():
		return usualUpper[t.position()], true
	}
	return usualLower[t.position()], true
}

// Limits beyond which a length is called unusual.
const (
	unusualShare = 0.25 // of the usual length. Common practice, no source
	usualSD      = 2.0  // mm, spread of overall lengths; from memory, the tables give none
)

// usualLengthCaution warns of a length that is more than 25 % or 3 standard
// deviations away from the usual overall length of the tooth: a swapped
// calibration is the usual cause.
func usualLengthCaution(q Quantity, tooth string) []string {
	t, err := ParseTooth(tooth, FDI)
	if err != nil || q.Unit != Millimetre || !q.Defined() {
		return nil
	}
	usual, ok := t.Usual()
	off := q.Value - usual.Overall
	if !ok || math.Abs(off) <= math.Min(unusualShare*usual.Overall, 3*usualSD) {
		return nil
	}
	return []string{fmt.Sprintf("%.1f mm is %+.0f %% from the usual overall length of tooth %s (%.1f mm): check the calibration and where the trace begins", q.Value, 100*off/usual.Overall, tooth, usual.Overall)}
}
