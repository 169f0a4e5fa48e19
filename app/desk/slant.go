package desk

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"rootrule/app/wording"
	"rootrule/measure"
)

// slantText is the caution of package measure about what lies across the
// object that gives the scale.
var slantText = regexp.MustCompile(`^runs at (\d+)° to the object that gives the scale`)

// slants are, by section and image, the least and the greatest angle to the
// object that gives the scale, where all canals, or all fillings, of an image
// lie across it: that is said once for the image and not beside each of them.
type slants [sections]map[string][2]float64

// find looks for them; what stands alone on an image keeps its own words.
func (s *slants) find(all []block, images []measure.ImageMarks, t *tally) {
	for section := range sections {
		s[section] = map[string][2]float64{}
		for i := range images {
			angles, every := slantsOf(section, all, &images[i], t)
			if every && len(angles) > 1 {
				s[section][images[i].ID] = angles.ends()
			}
		}
	}
}

type angleList []float64

func (a angleList) ends() [2]float64 {
	e := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, v := range a {
		e = [2]float64{math.Min(e[0], v), math.Max(e[1], v)}
	}
	return e
}

// slantsOf returns the angles of the blocks of a section on an image, one for
// each, and whether every block there has one.
func slantsOf(of section, all []block, im *measure.ImageMarks, t *tally) (out angleList, every bool) {
	findings, _ := t.on(im.ID)
	every = true
	for _, b := range all {
		if b.section != of || b.index(im) < 0 {
			continue
		}
		angle := math.NaN()
		for _, f := range findings {
			if f.Of == b.of && f.Defined() {
				angle = slantIn(ownCautions(findings, f), angle)
			}
		}
		if every = every && !math.IsNaN(angle); every {
			out = append(out, angle)
		}
	}
	return out, every
}

// slantIn returns the angle of the caution among these, or else what is given.
func slantIn(cautions []string, or float64) float64 {
	for _, c := range cautions {
		if m := slantText.FindStringSubmatch(c); m != nil {
			v, err := strconv.ParseFloat(m[1], 64)
			if err == nil {
				return v
			}
		}
	}
	return or
}

// without returns the cautions of a finding that aren't said for its image.
func (s *slants) without(b block, image string, cautions []string) []string {
	if _, said := s[b.section][image]; !said {
		return cautions
	}
	var out []string
	for _, c := range cautions {
		if !slantText.MatchString(c) {
			out = append(out, c)
		}
	}
	return out
}

// words says them for all images of a section at once; empty where there are
// none.
func (s *slants) words(of section, images []measure.ImageMarks) string {
	var numbers []string
	var angles angleList
	for i, im := range images {
		if e, ok := s[of][im.ID]; ok {
			numbers = append(numbers, plain(float64(i+1)))
			angles = append(angles, e[0], e[1])
		}
	}
	if len(numbers) == 0 {
		return ""
	}
	e := angles.ends()
	span := plain(e[0])
	if e[1] > e[0] {
		span += "–" + plain(e[1])
	}
	if len(images) == 1 {
		return "!  " + wording.Say("All run at %s° to the object that gives the scale: foreshortening may differ.", span)
	}
	return "!  " + wording.Say("Image %[1]s: all run at %[2]s° to the object that gives the scale: foreshortening may differ.",
		strings.Join(numbers, ", "), span)
}
