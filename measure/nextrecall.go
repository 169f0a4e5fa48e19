package measure

import (
	"slices"
	"time"
)

// Recalls after root canal treatment: at one year, then yearly up to four
// years (European Society of Endodontology 2006, Int Endod J 39:921–930, from
// memory).
const lastRecallYear = 4

// earlyRecall is how long before its date a visit still counts as that recall.
// Common practice, no source.
const earlyRecall = 90 * 24 * time.Hour

// NextRecall proposes the date of the next recall (YYYY-MM-DD), from the date
// of the treatment and those of the recalls so far, in any order: the first
// full year after the treatment that lies behind the last recall. A visit up
// to 90 days early counts as the recall that it came early for. ok is false
// when the recalls of four years are done, or a date is none.
func NextRecall(treated string, recalls ...string) (date string, ok bool) {
	start, err := time.Parse(time.DateOnly, treated)
	if err != nil {
		return "", false
	}
	last := start
	for _, r := range recalls {
		t, err := time.Parse(time.DateOnly, r)
		if err != nil {
			return "", false
		}
		last = slices.MaxFunc([]time.Time{last, t}, time.Time.Compare)
	}
	for year := 1; year <= lastRecallYear; year++ {
		if due := start.AddDate(year, 0, 0); due.Sub(last) > earlyRecall {
			return due.Format(time.DateOnly), true
		}
	}
	return "", false
}
