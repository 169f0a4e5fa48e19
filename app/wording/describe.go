package wording

import (
	"fmt"
	"strings"

	"rootrule/imaging"
	"rootrule/measure"
)

// Describe puts the description of an image into lines of name and text, for
// the command line and the window alike. What is not known is left out.
func Describe(d imaging.Description) [][2]string {
	var out [][2]string
	add := func(name, text string) {
		if text != "" {
			out = append(out, [2]string{translate(name), Tell(text)})
		}
	}
	add("file", d.File)
	add("format", joined(", ", d.Format, d.Compression))
	add("kind", joined(", ", d.Modality, d.Kind))
	add("size", fmt.Sprintf("%d × %d px, %d bit%s", d.Width, d.Height, d.BitsStored, signed(d.Signed)))
	if d.Frames > 1 {
		add("frames", fmt.Sprint(d.Frames))
	}
	add("photometric", d.Photometric)
	add("spacing", spacing(d.Spacing))
	add("orientation", joined(", ", d.Orientation, d.Laterality))
	add("teeth", strings.Join(d.Teeth, ", "))
	add("date", d.Date)
	add("device", d.Device)
	add("exposure", d.Exposure)
	for _, s := range d.Series {
		add("series", series(s))
	}
	if d.Identity != nil {
		add("patient", joined(", ", d.Identity.Name, d.Identity.ID, d.Identity.BirthDate, d.Identity.Sex))
	}
	for _, c := range d.Cautions {
		add("caution", c)
	}
	return out
}

func signed(s bool) string {
	if s {
		return ", signed"
	}
	return ""
}

func spacing(s *imaging.SpacingDescription) string {
	if s == nil {
		return "none stated: calibrate before reading lengths"
	}
	return joined("; ", fmt.Sprintf("%.4g mm down, %.4g mm across, %s (%s)", s.RowMM, s.ColMM, s.Kind, s.Trust), s.Note)
}

// spacingTrust says of each kind of stated spacing how far it holds at a tooth.
var spacingTrust = map[measure.SpacingKind]string{
	measure.SpacingCalibrated:   "calibrated: corrected to the patient",
	measure.SpacingDetector:     "detector plane: magnified",
	measure.SpacingScan:         "scan plane: not measured at the tooth",
	measure.SpacingVolume:       "volume: true size",
	measure.SpacingUndetermined: "undetermined: the file doesn't say where it holds",
}

// SpacingTrust names a kind of stated spacing and how far it holds at a tooth:
// "detector plane: magnified".
func SpacingTrust(k measure.SpacingKind) string { return spacingTrust[k] }

// Spacing shows a stated spacing, "0.020 mm a pixel": down and across where
// they differ, to three digits behind the point, or four where the fourth
// isn't 0.
func Spacing(s measure.Spacing) string {
	row, col := pitch(s.RowMM), pitch(s.ColMM)
	if row == col {
		return Say("%s mm a pixel", row)
	}
	return Say("%[1]s × %[2]s mm a pixel", row, col)
}

func pitch(mm float64) string { return strings.TrimSuffix(Number(mm, 4), "0") }

func series(s imaging.SeriesDescription) string {
	text := joined(", ", s.Name, fmt.Sprintf("%d slices of %d × %d px", s.Slices, s.Width, s.Height))
	if s.StepMM > 0 {
		text += fmt.Sprintf(", %.4g mm apart by position", s.StepMM)
	}
	for _, m := range s.Missing {
		text += fmt.Sprintf("; slice %d is missing (between %s and %s)", m.Number, m.After, m.Before)
	}
	return text
}

// joined joins the texts that are not empty.
func joined(sep string, texts ...string) string {
	var some []string
	for _, t := range texts {
		if t != "" {
			some = append(some, t)
		}
	}
	return strings.Join(some, sep)
}
