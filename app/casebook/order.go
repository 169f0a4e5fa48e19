package casebook

import (
	"cmp"
	"slices"

	"rootrule/measure"
)

// Stages are the stages in order of treatment.
var Stages = []string{measure.StagePreOperative, measure.StageWorkingLength, measure.StageConeFit,
	measure.StagePostOperative, measure.StageRecall}

// StageRank returns the place of a stage in the order of treatment, from 0; an
// unknown stage comes after all of them.
func StageRank(stage string) int {
	if i := slices.Index(Stages, stage); i >= 0 {
		return i
	}
	return len(Stages)
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

// due returns the date of the next recall, YYYY-MM-DD, and whether the reader
// set it: the date recorded with the latest comparison, as long as no newer
// recall image shows that it has been kept; for a filled tooth else the date
// that [measure.NextRecall] proposes. Empty: none.
func due(m measure.Marks) (date string, set bool) {
	images := InOrder(m.Images)
	position := map[string]int{}
	latest := -1
	for i, im := range images {
		position[im.ID] = i
		if im.Stage == measure.StageRecall {
			latest = i
		}
	}
	for _, r := range m.Recalls {
		if at, ok := position[r.After]; ok && at >= latest && r.Next > date {
			date = r.Next
		}
	}
	if date != "" {
		return date, true
	}
	filled, recalls := visits(images)
	date, _ = measure.NextRecall(filled, recalls...)
	return date, false
}

// visits returns the date of the last root filling and those of the recalls
// since; nothing for a tooth that is under treatment again.
func visits(images []measure.ImageMarks) (filled string, recalls []string) {
	for _, im := range images {
		switch im.Stage {
		case measure.StagePostOperative:
			filled, recalls = im.Date, nil
		case measure.StageRecall:
			recalls = append(recalls, im.Date)
		default:
			filled = ""
		}
	}
	return filled, recalls
}
