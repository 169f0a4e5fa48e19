package measure

import "slices"

// made is how the marks behind a finding came about, one By… value for each
// set of marks.
type made []string

// madeWords are the By… values as the method of a finding ends with them.
var madeWords = map[string]string{
	ByHand:      "by hand",
	ByAssist:    "assisted",
	ByCorrected: "assisted, corrected by hand",
}

// clause says how the marks came about, as the end of a method: "; marks by
// hand". It is empty where nothing was recorded; where only a part was, the
// rest was marked before it was recorded, which was by hand.
func (m made) clause() string {
	if !slices.ContainsFunc(m, func(by string) bool { return by != "" }) {
		return ""
	}
	text := ""
	for _, by := range []string{ByHand, ByAssist, ByCorrected} {
		if !slices.Contains(m, by) && !(by == ByHand && slices.Contains(m, "")) {
			continue
		}
		if text != "" {
			text += " and "
		}
		text += madeWords[by]
	}
	if text == "" {
		return ""
	}
	return "; marks " + text
}
