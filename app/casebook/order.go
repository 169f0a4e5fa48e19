package casebook

import (
	"cmp"
	"slices"
	"time"

	"rootrule/measure"
)

// stageOrder are the stages in order of treatment.
var stageOrder = []string{measure.StagePreOperative, measure.StageWorkingLength, measure.StageConeFit,
	measure.StagePostOperative, measure.StageRecall}

// StageRank returns the place of a stage in the order of treatment, from 0; an
// unknown stage comes after all of them.
func StageRank(stage string) int {
	if i := slices.Index(stageOrder, stage); i >= 0 {
		return i
	}
	return len(stageOrder)
}

// InOrder returns images in order of treatment: by date; of one day by stage,
// then as they came. An image without a date stands behind the last one of its
// stage or an earlier stage.
func InOrder(images []measure.ImageMarks) []measure.ImageMarks {
	var out, undated []measure.ImageMarks
	for _, im := range images {
		if im.Date == "" {
			undated = append(undated, im)
		} else {
			out = append(out, im)
		}
	}
	byStage := func(a, b measure.ImageMarks) int { return StageRank(a.Stage) - StageRank(b.Stage) }
	slices.SortStableFunc(out, func(a, b measure.ImageMarks) int {
		return cmp.Or(cmp.Compare(a.Date, b.Date), byStage(a, b))
	})
	slices.SortStableFunc(undated, byStage)
	for _, im := range undated {
		at := 0
		for i, other := range out {
			if byStage(other, im) <= 0 {
				at = i + 1
			}
		}
		out = slices.Insert(out, at, im)
	}
	return out
}

// firstRecall is when a root filling is looked at again at the latest: "at
// least after 1 year" (European Society of Endodontology, quality guidelines,
// Int Endod J 39: 921–930, 2006).
const firstRecall = 1 // years

// due returns the date of the next recall, YYYY-MM-DD, and whether the reader
// set it: the date recorded with the latest comparison, as long as no newer
// recall image shows that it has been kept; for a case that ends with its
// post-operative image the date one year on, which nobody set. Empty: none.
func due(m measure.Marks) (date string, set bool) {
	images := InOrder(m.Images)
	if len(images) == 0 {
		return "", false
	}
	last := images[len(images)-1]
	filled, err := time.Parse(time.DateOnly, last.Date)
	if last.Stage != measure.StagePostOperative || err != nil {
		return "", false
	}
	return filled.AddDate(firstRecall, 0, 0).Format(time.DateOnly), false
}
