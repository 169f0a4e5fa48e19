package desk

import (
	"slices"
	"strconv"

	"rootrule/app/casebook"
	"rootrule/app/wording"
	"rootrule/measure"
)

// canalNames proposes names for the canals of a tooth in FDI notation, in the
// order in which they are usually found.
func canalNames(tooth string) []string {
	if len(tooth) != 2 {
		return []string{"MB", "ML", "DB", "DL", "B", "L"}
	}
	upper := tooth[0] == '1' || tooth[0] == '2' || tooth[0] == '5' || tooth[0] == '6'
	primary := tooth[0] >= '5'
	switch molar := tooth[1] >= '6' || primary && tooth[1] >= '4'; {
	case molar && upper:
		return []string{"MB", "DB", "P", "MB2"}
	case molar:
		return []string{"MB", "ML", "D", "DL"}
	case upper && tooth[1] >= '4':
		return []string{"B", "P"}
	}
	return []string{"main", "B", "L"}
}

// nextCanal returns the first proposed name that no canal of the tooth has on
// this image.
func nextCanal(im *measure.ImageMarks, tooth string) string {
	used := func(name string) bool {
		return slices.ContainsFunc(im.Canals, func(c measure.Canal) bool { return c.Tooth == tooth && c.Name == name })
	}
	return firstFree(canalNames(tooth), used)
}

// nextLesion returns a free letter for a lesion of the tooth on this image.
func nextLesion(im *measure.ImageMarks, tooth string) string {
	used := func(name string) bool {
		return slices.ContainsFunc(im.Lesions, func(l measure.Lesion) bool { return l.Tooth == tooth && l.Name == name })
	}
	return firstFree([]string{"A", "B", "C", "D", "E"}, used)
}

func firstFree(names []string, used func(string) bool) string {
	for _, n := range names {
		if !used(n) {
			return n
		}
	}
	for i := 1; ; i++ {
		if n := strconv.Itoa(i); !used(n) {
			return n
		}
	}
}

// stageText is a stage as shown.
func stageText(stage string) string {
	switch stage {
	case measure.StagePreOperative:
		return wording.Say("pre-operative")
	case measure.StageWorkingLength:
		return wording.Say("working-length")
	case measure.StageConeFit:
		return wording.Say("cone-fit")
	case measure.StagePostOperative:
		return wording.Say("post-operative")
	case measure.StageRecall:
		return wording.Say("recall")
	case "":
		return wording.Say("no stage yet")
	}
	return stage
}

// stageTexts are the stages of treatment in their order, as shown.
func stageTexts() []string {
	var out []string
	for _, s := range casebook.Stages {
		out = append(out, stageText(s))
	}
	return out
}

// dateText is the date of an image as shown.
func dateText(date string) string {
	if date == "" {
		return wording.Say("no date")
	}
	return wording.Date(date)
}

// inOrder returns the images of a case in order of treatment.
func inOrder(images []measure.ImageMarks) []measure.ImageMarks { return casebook.InOrder(images) }
