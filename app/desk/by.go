package desk

import (
	"rootrule/app/wording"
	"rootrule/measure"
)

// madeBy returns where it is kept how the marks of an item came about; nil for
// a void, which its filling speaks for.
func madeBy(im *measure.ImageMarks, it item) *string {
	if !exists(im, it) {
		return nil
	}
	switch it.kind {
	case calibration:
		return &im.Calibration[it.index].By
	case canal:
		return &im.Canals[it.index].By
	case lesion:
		return &im.Lesions[it.index].By
	case filling:
		return &im.Fillings[it.index].By
	case obstruction:
		return &im.Obstructions[it.index].By
	case post:
		return &im.Posts[it.index].By
	}
	return nil
}

// corrected notes that a hand has changed the marks of an item.
func corrected(im *measure.ImageMarks, it item) {
	if by := madeBy(im, it); by != nil && *by == measure.ByAssist {
		*by = measure.ByCorrected
	}
}

// isAssisted reports whether the marks of an item were found by the program.
func isAssisted(im *measure.ImageMarks, it item) bool {
	by := madeBy(im, it)
	return by != nil && (*by == measure.ByAssist || *by == measure.ByCorrected)
}

// madeWords says how the marks of an item came about; empty where nothing is
// recorded.
func madeWords(im *measure.ImageMarks, it item) string {
	by := madeBy(im, it)
	if by == nil {
		return ""
	}
	switch *by {
	case measure.ByAssist:
		return wording.Say("assisted")
	case measure.ByCorrected:
		return wording.Say("assisted, corrected by hand")
	case measure.ByHand:
		return wording.Say("by hand")
	}
	return ""
}
