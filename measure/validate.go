package measure

import (
	"fmt"
	"math"
	"time"
)

// Limits beyond which a number in a marks file is a mistake. Generous, no
// source: the largest detectors have some 10⁴ px a side, the longest
// instrument is 31 mm.
const (
	maxPosition = 1e6   // px, either sign
	maxClick    = 1e3   // px, standard uncertainty of a mark
	maxKnown    = 500.0 // mm, a known length
	maxReading  = 60.0  // mm, a length read or used in a canal
	maxOffset   = 10.0  // mm, from the apex to the working length
	maxVolume   = 1e6   // mm³, of a lesion
)

// MarksVersion is the version of the marks file that this package reads.
const MarksVersion = 1

// Validate reports all that would keep the marks from being computed as a
// whole, as [Problems]; nil when nothing does.
func (m Marks) Validate() error {
	v := validator{}
	if m.Version != MarksVersion {
		v.add("version", "must be %d, is %d", MarksVersion, m.Version)
	}
	if m.ClickPX != nil {
		v.above0("click_px", *m.ClickPX, maxClick, "px")
	}
	ids := map[string]int{}
	for i, im := range m.Images {
		path := fmt.Sprintf("images[%d]", i)
		if first, ok := ids[im.ID]; ok && im.ID != "" {
			v.add(path+".id", "%q is the id of images[%d] too", im.ID, first)
		} else {
			ids[im.ID] = i
		}
		v.image(path, im)
	}
	for i, view := range m.Views {
		v.view(fmt.Sprintf("views[%d]", i), view, ids)
	}
	for i, r := range m.Recalls {
		v.recall(fmt.Sprintf("recalls[%d]", i), r, m, ids)
	}
	return v.asError()
}

// validator collects problems; its methods are the rules.
type validator struct{ Problems }

func (v *validator) image(path string, im ImageMarks) {
	if im.ID == "" {
		v.add(path+".id", "must not be empty")
	}
	switch im.Stage {
	case "", StagePreOperative, StageWorkingLength, StageConeFit, StagePostOperative, StageRecall:
	default:
		v.add(path+".stage", "unknown stage %q", im.Stage)
	}
	v.date(path+".date", im.Date)
	switch im.TurnedDeg {
	case 0, 90, 180, 270:
	default:
		v.add(path+".turned_deg", "is %d; must be 0, 90, 180 or 270", im.TurnedDeg)
	}
	for i, c := range im.Calibration {
		v.calibration(fmt.Sprintf("%s.calibration[%d]", path, i), c)
	}
	v.canals(path, im.Canals)
	v.lesions(path, im.Lesions)
	for i, f := range im.Fillings {
		v.filling(fmt.Sprintf("%s.fillings[%d]", path, i), f)
	}
	for i, p := range im.Posts {
		v.post(fmt.Sprintf("%s.posts[%d]", path, i), p)
	}
	for i, o := range im.Obstructions {
		v.obstruction(fmt.Sprintf("%s.obstructions[%d]", path, i), o)
	}
}

// date accepts an empty date.
func (v *validator) date(path, date string) {
	if date == "" {
		return
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		v.add(path, "%q is no date; write YYYY-MM-DD", date)
	}
}

// by checks how marks came about; empty is not recorded.
func (v *validator) by(path, by string) {
	switch by {
	case "", ByHand, ByAssist, ByCorrected:
	default:
		v.add(path+".by", "unknown %q; write %q, %q or %q", by, ByHand, ByAssist, ByCorrected)
	}
}

func (v *validator) calibration(path string, c Calibration) {
	v.tooth(path, c.Tooth)
	v.by(path, c.By)
	if c.UMM != nil {
		v.within(path+".u_mm", *c.UMM, 0, maxKnown, "mm")
	}
	switch c.Kind {
	case CalibrationFile, CalibrationDistance, CalibrationVolume:
		v.above0(path+".length_mm", c.LengthMM, maxKnown, "mm")
		v.trace(path+".marks", c.Marks, 2)
		if c.Kind == CalibrationDistance && len(c.Marks) > 2 {
			v.add(path+".marks", "a distance has 2 marks, not %d", len(c.Marks))
		}
	case CalibrationStated:
		if len(c.Marks) > 0 {
			v.add(path+".marks", "a stated spacing has no marks")
		}
		if c.LengthMM != 0 {
			v.add(path+".length_mm", "a stated spacing has no length")
		}
	default:
		v.add(path+".kind", "unknown kind %q; write %q, %q, %q or %q", c.Kind, CalibrationFile, CalibrationDistance, CalibrationStated, CalibrationVolume)
	}
}

func (v *validator) canals(path string, canals []Canal) {
	seen := map[string]int{}
	for i, c := range canals {
		at := fmt.Sprintf("%s.canals[%d]", path, i)
		key := c.Tooth + " " + c.Name
		if first, ok := seen[key]; ok {
			v.add(at, "%q is canals[%d] of this image too", key, first)
		} else {
			seen[key] = i
		}
		v.canal(at, c)
	}
}

func (v *validator) canal(path string, c Canal) {
	if c.Tooth == "" && c.Name == "" {
		v.add(path, "has neither a tooth nor a name")
	}
	v.tooth(path, c.Tooth)
	v.by(path, c.By)
	v.trace(path+".marks", c.Marks, 2)
	if c.Orifice < 0 || c.Orifice > 0 && c.Orifice >= len(c.Marks)-1 {
		v.add(path+".orifice", "is %d; must be 0 to %d, a mark before the apex", c.Orifice, max(len(c.Marks)-2, 0))
	}
	if s := c.CurveStart; s != nil && (*s <= c.Orifice || *s >= len(c.Marks)-1) {
		v.add(path+".curve_start", "is %d; must lie between the orifice (%d) and the apex (%d)", *s, c.Orifice, len(c.Marks)-1)
	}
	if c.OffsetMM != nil {
		v.within(path+".offset_mm", *c.OffsetMM, 0, maxOffset, "mm")
	}
	for _, r := range c.readings() {
		v.above0(path+"."+r.key, r.mm, maxReading, "mm")
	}
}

func (v *validator) lesions(path string, lesions []Lesion) {
	seen := map[string]int{}
	for i, l := range lesions {
		at := fmt.Sprintf("%s.lesions[%d]", path, i)
		key := l.Tooth + " " + l.Name
		if first, ok := seen[key]; ok {
			v.add(at, "%q is lesions[%d] of this image too", key, first)
		} else {
			seen[key] = i
		}
		v.tooth(at, l.Tooth)
		v.by(at, l.By)
		v.trace(at+".outline", l.Outline, 3)
		v.pai(at+".pai", l.PAI)
		v.pai(at+".pai_second", l.PAI2)
		if l.VolumeMM3 != nil {
			v.above0(at+".volume_mm3", *l.VolumeMM3, maxVolume, "mm³")
		}
		if l.VolumeUMM3 != nil {
			v.within(at+".volume_u_mm3", *l.VolumeUMM3, 0, maxVolume, "mm³")
		}
		for k, d := range l.DiametersMM {
			v.above0(fmt.Sprintf("%s.diameters_mm[%d]", at, k), d, maxKnown, "mm")
		}
	}
}

func (v *validator) pai(path string, score *int) {
	if score != nil && (*score < 1 || *score > 5) {
		v.add(path, "is %d; the periapical index goes from 1 to 5", *score)
	}
}

func (v *validator) filling(path string, f Filling) {
	v.tooth(path, f.Tooth)
	v.by(path, f.By)
	v.mark(path+".tip", f.Tip)
	v.mark(path+".apex", f.Apex)
	for i, x := range f.Widths {
		v.trace(fmt.Sprintf("%s.widths[%d]", path, i), x[:], 2)
	}
	for i, x := range f.Voids {
		v.trace(fmt.Sprintf("%s.voids[%d]", path, i), x, 3)
	}
}

func (v *validator) post(path string, p Post) {
	v.tooth(path, p.Tooth)
	v.by(path, p.By)
	v.trace(path+".marks", p.Marks, 2)
	for _, m := range []struct {
		key string
		p   *Point
	}{{".top", p.Top}, {".margin", p.Margin}, {".apex", p.Apex}} {
		if m.p != nil {
			v.mark(path+m.key, *m.p)
		}
	}
}

func (v *validator) obstruction(path string, o Obstruction) {
	v.tooth(path, o.Tooth)
	v.by(path, o.By)
	switch o.Kind {
	case ObstructionInstrument, ObstructionMetalPoint, ObstructionPost:
	default:
		v.add(path+".kind", "unknown kind %q; write %q, %q or %q", o.Kind, ObstructionInstrument, ObstructionMetalPoint, ObstructionPost)
	}
	v.trace(path+".marks", o.Marks, 2)
	for i, p := range o.Sides {
		v.mark(fmt.Sprintf("%s.sides[%d]", path, i), p)
	}
}

func (v *validator) view(path string, view View, ids map[string]int) {
	for i, id := range view.Images {
		v.imageID(fmt.Sprintf("%s.images[%d]", path, i), id, ids)
	}
	if view.Images[0] == view.Images[1] {
		v.add(path+".images", "the two views must be two images, both are %q", view.Images[0])
	}
	if a := math.Abs(view.AngleDeg); !(a > 0 && a < 90) {
		v.add(path+".angle_deg", "is %v; two views need a change of beam direction above 0 and below 90 degrees", view.AngleDeg)
	}
	switch view.Detector {
	case "", DetectorParallel, DetectorTurned:
	default:
		v.add(path+".detector", "unknown detector %q; write %q or %q", view.Detector, DetectorParallel, DetectorTurned)
	}
}

func (v *validator) recall(path string, r Recall, m Marks, ids map[string]int) {
	v.imageID(path+".before", r.Before, ids)
	v.imageID(path+".after", r.After, ids)
	if r.Before == r.After {
		v.add(path, "before and after must be two images, both are %q", r.Before)
	}
	for i, pair := range r.Pairs {
		for k, p := range pair {
			v.mark(fmt.Sprintf("%s.pairs[%d][%d]", path, i, k), p)
		}
	}
	v.recallMap(path, r)
	v.date(path+".next", r.Next)
	switch r.Outcome {
	case "", OutcomeHealed, OutcomeHealing, OutcomeNotHealed:
	default:
		v.add(path+".outcome", "unknown outcome %q; write %q, %q or %q", r.Outcome, OutcomeHealed, OutcomeHealing, OutcomeNotHealed)
	}
	if r.Lesion == "" {
		return
	}
	for _, id := range []string{r.Before, r.After} {
		if i, ok := ids[id]; ok && !hasLesion(m.Images[i], r.Lesion) {
			v.add(path+".lesion", "image %q has no lesion %q", id, r.Lesion)
		}
	}
}

// recallMap checks the map of a recall: a matrix that turns places into places,
// normalised, and what stands beside it.
func (v *validator) recallMap(path string, r Recall) {
	switch r.Model {
	case "", ModelSimilarity, ModelAffine, ModelProjective:
	default:
		v.add(path+".model", "unknown model %q; write %q, %q or %q", r.Model, ModelSimilarity, ModelAffine, ModelProjective)
	}
	if r.MapUPX != nil {
		v.above0(path+".map_u_px", *r.MapUPX, maxClick, "px")
	}
	switch {
	case r.Map == nil && r.MapUPX != nil:
		v.add(path+".map_u_px", "is the uncertainty of a map, and there is none")
	case r.Map == nil && r.Model != "":
		v.add(path+".model", "is the model of a map, and there is none")
	case r.Map == nil:
	case !r.Map.usable():
		v.add(path+".map", "maps no image onto another: its last element must be 1, its determinant neither 0 nor out of range")
	case r.Model == ModelAffine && (r.Map[2][0] != 0 || r.Map[2][1] != 0):
		v.add(path+".map[2]", "an affine map ends with the row 0, 0, 1")
	}
}

func hasLesion(im ImageMarks, name string) bool {
	for _, l := range im.Lesions {
		if l.Name == name {
			return true
		}
	}
	return false
}

func (v *validator) imageID(path, id string, ids map[string]int) {
	if _, ok := ids[id]; !ok || id == "" {
		v.add(path, "no image has the id %q", id)
	}
}

// tooth accepts an empty tooth; one that is given must exist.
func (v *validator) tooth(path, tooth string) {
	if tooth == "" {
		return
	}
	if _, err := ParseTooth(tooth, FDI); err != nil {
		v.add(path+".tooth", "%v", err)
	}
}

// trace checks the marks of a line or an outline: enough of them, in range,
// no two neighbours in one place.
func (v *validator) trace(path string, marks []Point, least int) {
	if len(marks) < least {
		v.add(path, "needs at least %d marks, has %d", least, len(marks))
	}
	for i, p := range marks {
		at := fmt.Sprintf("%s[%d]", path, i)
		v.mark(at, p)
		if i > 0 && p.X == marks[i-1].X && p.Y == marks[i-1].Y {
			v.add(at, "lies at the same place as the mark before it")
		}
	}
}

func (v *validator) mark(path string, p Point) {
	v.within(path+"[0]", p.X, -maxPosition, maxPosition, "px")
	v.within(path+"[1]", p.Y, -maxPosition, maxPosition, "px")
	if p.U != 0 {
		v.above0(path+"[2]", p.U, maxClick, "px")
	}
}

// within reports a number outside [lo, hi], NaN included.
func (v *validator) within(path string, x, lo, hi float64, unit string) {
	if !(x >= lo && x <= hi) {
		v.add(path, "is %v %s; must be %v to %v", x, unit, lo, hi)
	}
}

// above0 reports a number that is not above 0 and at most hi.
func (v *validator) above0(path string, x, hi float64, unit string) {
	if !(x > 0 && x <= hi) {
		v.add(path, "is %v %s; must be above 0, at most %v", x, unit, hi)
	}
}
