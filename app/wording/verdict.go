package wording

import "rootrule/measure"

// verdicts are the verdicts as shown, by the kind of finding: of a size, of a
// length, and of a difference between two lengths of one time.
var verdicts = map[string][3]string{
	measure.VerdictLarger:   {"larger", "longer", "longer"},
	measure.VerdictSmaller:  {"smaller", "shorter", "shorter"},
	measure.VerdictNoChange: {measure.VerdictNoChange, measure.VerdictNoChange, "no difference beyond measurement error"},
}

// Verdict shows the verdict of a finding: "larger", "smaller" or "no change
// beyond measurement error", in the words that fit what it is about. It is empty
// where the finding has none.
func Verdict(f measure.Finding) string {
	v, ok := verdicts[f.Verdict]
	if !ok {
		return ""
	}
	switch f.What {
	case measure.WhatLengthChange:
		return translate(v[1])
	case measure.WhatEALDifference, measure.WhatUsedDifference, measure.WhatConeFitDifference, measure.WhatFilledDifference:
		return translate(v[2])
	}
	return translate(v[0])
}
