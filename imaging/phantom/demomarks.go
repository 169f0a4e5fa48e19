package phantom

import (
	"math"

	"rootrule/measure"
)

// What the reader of the demo knows beside the pictures.
const (
	demoClick      = 0.5 // px: a careful reader with a loupe
	calliperWidth  = 10.5
	calliperUncMM  = 0.1 // of a calliper on the crown
	demoCanalMarks = 8
)

// demoMarks sets a reader's marks on the exposures.
func demoMarks(seed uint64, exposures []Exposure) measure.Marks {
	c := newClicker(demoClick, seed)
	out := measure.Marks{Version: 1}
	for i := range exposures {
		out.Images = append(out.Images, exposures[i].marks(c))
	}
	pre, wl, recall := &exposures[0], &exposures[1], &exposures[2]
	out.Views = []measure.View{{Images: [2]string{pre.ID, wl.ID}, AngleDeg: workingBeamDeg, Detector: "parallel"}}
	r := measure.Recall{Before: pre.ID, After: recall.ID, Lesion: pre.Truth.Lesion.Name}
	for i, l := range pre.Truth.Landmarks {
		r.Pairs = append(r.Pairs, [2]measure.Point{c.at(l.At), c.at(recall.Truth.Landmarks[i].At)})
	}
	out.Recalls = []measure.Recall{r}
	return out
}

func (e *Exposure) marks(c *clicker) measure.ImageMarks {
	m := measure.ImageMarks{ID: e.ID, File: e.FileName, Stage: e.Stage, Date: e.Date}
	t := &e.Truth
	if t.File != nil {
		m.Calibration = append(m.Calibration, t.File.calibration(8, c))
	} else {
		u := calliperUncMM
		m.Calibration = append(m.Calibration, measure.Calibration{
			Kind: measure.CalibrationDistance, LengthMM: calliperWidth, UMM: &u, Tooth: "37", Marks: c.all(t.Crown[:]),
		})
	}
	for i := range t.Canals {
		m.Canals = append(m.Canals, t.Canals[i].demoMarks(c))
	}
	lesion := t.Lesion.marks(18, c)
	if score, ok := demoPAI[e.ID]; ok {
		lesion.PAI = &score
	}
	m.Lesions = append(m.Lesions, lesion)
	for _, f := range t.Fillings {
		m.Fillings = append(m.Fillings, f.marks(c))
	}
	return m
}

// demoPAI is what the reader scored (Ørstavik, Kerekes & Eriksen 1986).
var demoPAI = map[string]int{"pre": 4, "recall": 2}

// demoMarks traces the canal from its coronal reference point and adds the
// apex locator's reading, which stops short of the radiographic apex.
func (k *CanalTruth) demoMarks(c *clicker) measure.Canal {
	out := k.marks(k.ReferenceS, demoCanalMarks, c)
	eal := math.Round((k.ReferenceLengthMM-0.4)*2) / 2
	out.EALMM = &eal
	return out
}
