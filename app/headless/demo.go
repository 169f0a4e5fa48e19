package headless

import (
	"fmt"
	"image/png"
	"io"
	"os"
	"path/filepath"

	"rootrule/app/democase"
	"rootrule/app/report"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// demo makes the demo case without a window: the findings as a table, and each
// exposure as it is and with its marks as PNG.
func demo(c *call) error {
	folder := c.flags.String("out", "", "folder for the pictures")
	seed := c.flags.Uint64("seed", democase.Seed, "seed of the phantom")
	if _, err := c.parse(0); err != nil {
		return err
	}
	if *folder == "" {
		return usageError{"no --out given"}
	}
	if err := os.MkdirAll(*folder, 0o755); err != nil {
		return fmt.Errorf("make the demo case: %w", err)
	}
	made := phantom.Demo(*seed)
	findings := measure.Compute(made.Marks, given(made))
	for i, e := range made.Exposures {
		if err := writeExposure(*folder, e, made.Marks.Images[i], findings); err != nil {
			return err
		}
	}
	if err := writeMarks(*folder, made.Marks); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "%s, tooth %s. %s\n\n", made.Code, made.Tooth, made.History)
	if err := writeTable(c.out, findings); err != nil {
		return err
	}
	_, err := fmt.Fprintf(c.out, "\nmarked images, originals and marks.json are in %s\n", *folder)
	return err
}

// given is what the exposures state.
func given(made phantom.Case) measure.Given {
	g := measure.Given{Spacing: map[string]measure.Spacing{}, Grey: map[string]measure.Grey{}}
	for _, e := range made.Exposures {
		g.Spacing[e.ID], g.Grey[e.ID] = e.Image.Spacing, e.Image
	}
	return g
}

// writeExposure writes one exposure as it is and with its marks.
func writeExposure(folder string, e phantom.Exposure, marks measure.ImageMarks, findings []measure.Finding) error {
	data, err := e.PNG()
	if err != nil {
		return err
	}
	if err := writeFile(filepath.Join(folder, e.FileName), func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}); err != nil {
		return err
	}
	marked, err := report.Figure(e.Image, marks, findings)
	if err != nil {
		return err
	}
	name := "marked-" + e.FileName
	return writeFile(filepath.Join(folder, name), func(w io.Writer) error { return png.Encode(w, marked) })
}

// writeMarks writes the marks so that compute can read them again.
func writeMarks(folder string, m measure.Marks) error {
	return writeFile(filepath.Join(folder, "marks.json"), func(w io.Writer) error { return writeJSON(w, m) })
}
