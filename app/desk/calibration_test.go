package desk

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"rootrule/measure"
)

// tap presses a named button, which must be in sight and usable.
func (r *rig) tap(name string) {
	r.Helper()
	b, ok := r.parts[name].(interface {
		fyne.Tappable
		fyne.Disableable
		Visible() bool
	})
	if !ok || !b.Visible() || b.Disabled() {
		r.Fatalf("the button %q can't be pressed", name)
	}
	b.Tapped(&fyne.PointEvent{})
}

// detector opens a DICOM file that states 0.02 mm at the detector (see the
// README beside it), with a date of acquisition put in.
func detector(t testing.TB) *rig {
	t.Helper()
	r := newRig(t)
	data, err := os.ReadFile("../../imaging/dicomfile/testdata/spacing.dcm")
	if err != nil {
		t.Fatal(err)
	}
	modality := []byte("\x08\x00\x60\x00CS")
	date := []byte("\x08\x00\x22\x00DA\x08\x0020250131") // PS3.5 7.1.2: tag, VR, length, value
	r.files["/x/detector.dcm"] = bytes.Replace(data, modality, append(date, modality...), 1)
	r.OpenFiles([]string{"/x/detector.dcm"})
	if r.session == nil || !r.session.ready {
		t.Fatalf("the image is not on the bench: %q", r.guide.error())
	}
	return r
}

// TestKnownDistance calibrates by two marks on an object of 2 mm over 400 px.
func TestKnownDistance(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyC)
	if r.details.known.Text != "21" || r.details.knownU.Text != "0.25" {
		t.Errorf("a file starts with %q ± %q", r.details.known.Text, r.details.knownU.Text)
	}
	r.tap("by distance")
	if r.details.known.Text != "5" || r.details.knownU.Text != "0.01" || !strings.Contains(r.guide.text, "Click one end of the known distance") {
		t.Errorf("a distance starts with %q ± %q and %q", r.details.known.Text, r.details.knownU.Text, r.guide.text)
	}
	r.typed("known length", "2")
	r.click(100, 600)
	if !strings.Contains(r.guide.text, "other end") {
		t.Errorf("after the first end: %q", r.guide.text)
	}
	r.click(100, 200)
	if r.task != nil {
		t.Fatal("two marks are a distance, but the task goes on")
	}
	c := r.session.saved().Calibration[0]
	if c.Kind != measure.CalibrationDistance || c.LengthMM != 2 || *c.UMM != measure.DefaultKnownDistance || len(c.Marks) != 2 {
		t.Errorf("the calibration is %+v", c)
	}
	if s, ok := r.session.scale(); !ok || !near2(s.Value, 0.005, 2e-5) {
		t.Errorf("400 px along 2 mm give %v", s)
	}
	row := r.sheet.rows[0]
	if row.name.Text != "Known distance" || row.known.Text != "2.0 ± 0.1 mm" {
		t.Errorf("the worksheet shows %q, %q", row.name.Text, row.known.Text)
	}
	r.undo()
	if n := len(r.session.saved().Calibration); n != 0 {
		t.Errorf("after undo there are %d calibrations", n)
	}
}

func TestKindOfACalibrationChanges(t *testing.T) {
	r := opened(t)
	r.calibrated()
	r.tap("by distance")
	c := r.session.saved().Calibration[0]
	if c.Kind != measure.CalibrationDistance || c.LengthMM != 20 || *c.UMM != measure.DefaultKnownDistance {
		t.Errorf("the calibration is %+v", c)
	}
	r.downAgain(100, 400, desktop.MouseButtonPrimary)
	r.up(100, 400, desktop.MouseButtonPrimary)
	r.downAgain(100, 400, desktop.MouseButtonPrimary)
	r.up(100, 400, desktop.MouseButtonPrimary)
	r.expectMarks(item{calibration, 0}, 2)
	if r.guide.error() != "" {
		t.Errorf("a third mark on a distance: %q", r.guide.error())
	}
	r.undo()
	if c := r.session.saved().Calibration[0]; c.Kind != measure.CalibrationFile || *c.UMM != measure.DefaultKnownLength {
		t.Errorf("undo leaves %+v", c)
	}
}

func TestKindChangesDuringATask(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyC)
	r.clicks([2]float64{100, 600}, [2]float64{100, 200})
	r.tap("by distance")
	if r.task != nil || r.session.saved().Calibration[0].LengthMM != 21 {
		t.Errorf("a distance of two marks goes on, or lost its length: %+v", r.session.saved().Calibration)
	}
	r.key(fyne.KeyC)
	r.clicks([2]float64{200, 600}, [2]float64{200, 400}, [2]float64{200, 200})
	if b := r.parts["by distance"].(*widget.Button); !b.Disabled() {
		t.Error("three marks can become a distance of two")
	}
}

// TestUndoOfWhatWasTypedDuringATask: the card shows what the image has.
func TestUndoOfWhatWasTypedDuringATask(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyC)
	r.clicks([2]float64{100, 600}, [2]float64{100, 200})
	r.typed("known length", "25")
	r.tap("by file") // it is one already: no step
	r.undo()
	if got := r.session.saved().Calibration[0].LengthMM; got != 21 || r.details.known.Text != "21" {
		t.Errorf("after undo the image has %g mm, the card %q", got, r.details.known.Text)
	}
	r.redo()
	if r.details.known.Text != "25" {
		t.Errorf("after redo the card shows %q", r.details.known.Text)
	}
}

// TestStatedSpacing: shown while it is not used, used at one click, removed by
// Delete; 0.02 mm by the file's own header.
func TestStatedSpacing(t *testing.T) {
	r := detector(t)
	const unused = "The image file states 0.020 mm a pixel (detector plane: magnified), not used yet."
	if got := r.sheet.stated; r.sheet.unused.Hidden || got.Text != unused {
		t.Errorf("the calibration section says %q", got.Text)
	}
	r.key(fyne.KeyC)
	if got := r.details.choice.says.Text; got != "The image file states 0.020 mm a pixel, detector plane: magnified." {
		t.Errorf("the card says %q", got)
	}
	r.click(5, 5) // one mark is no calibration: it is forgotten
	r.tap("by stated")
	if c := r.session.saved().Calibration; len(c) != 1 || c[0].Kind != measure.CalibrationStated || r.task != nil {
		t.Fatalf("the calibrations are %+v", c)
	}
	if s, ok := r.session.scale(); !ok || !near2(s.Value, 0.02, 1e-12) {
		t.Errorf("the scale is %v", s)
	}
	row := r.sheet.rows[len(r.sheet.rows)-1]
	if row.name.Text != "Stated spacing" || row.known.Text != "0.020 mm a pixel, detector plane: magnified" || !r.sheet.unused.Hidden {
		t.Errorf("the worksheet shows %q, %q", row.name.Text, row.known.Text)
	}
	if !strings.Contains(r.sheet.caution.Text, "magnified") || !strings.Contains(r.details.choice.says.Text, "0.0200 ± 0.0020 mm/px") {
		t.Errorf("cautions %q, card %q", r.sheet.caution.Text, r.details.choice.says.Text)
	}
	r.key(fyne.KeyC)
	if b := r.parts["by stated"].(*widget.Button); !b.Disabled() {
		t.Error("the stated spacing can be used twice")
	}
	r.key(fyne.KeyEscape)
	row.Tapped(nil)
	r.key(fyne.KeyDelete)
	if n := len(r.session.saved().Calibration); n != 0 || r.sheet.unused.Hidden {
		t.Errorf("after Delete there are %d calibrations", n)
	}
	r.undo()
	if n := len(r.storedMarks().Images[0].Calibration); n != 1 {
		t.Errorf("after undo the disk has %d calibrations", n)
	}
}

func TestStatedSpacingKeepsAMarkedFile(t *testing.T) {
	r := detector(t)
	r.key(fyne.KeyC)
	r.clicks([2]float64{2, 2}, [2]float64{2, 9})
	r.tap("by stated")
	c := r.session.saved().Calibration
	if len(c) != 2 || c[0].Kind != measure.CalibrationFile || c[1].Kind != measure.CalibrationStated {
		t.Errorf("the calibrations are %+v", c)
	}
}

func TestNoStatedSpacing(t *testing.T) {
	r := opened(t)
	r.key(fyne.KeyC)
	if b := r.parts["by stated"].(*widget.Button); !b.Disabled() || r.details.choice.says.Text != "The image file states no spacing." {
		t.Errorf("on a file without a spacing the card says %q", r.details.choice.says.Text)
	}
	if !r.sheet.unused.Hidden {
		t.Errorf("the calibration section says %q", r.sheet.stated.Text)
	}
}

// TestAboutThisImage: the window shows the header as the command line does,
// and the date of acquisition becomes the image's.
func TestAboutThisImage(t *testing.T) {
	r := detector(t)
	if got := r.session.saved(); got.Date != "2025-01-31" || got.Stage != measure.StagePreOperative {
		t.Errorf("date %q, stage %q", got.Date, got.Stage)
	}
	r.tap("about image")
	if r.Desk.open == nil {
		t.Fatal("no dialog opened")
	}
	shown := map[string]string{}
	for _, o := range r.parts["description"].(*fyne.Container).Objects {
		line := o.(*fyne.Container).Objects
		shown[line[0].(*widget.Label).Text] = line[1].(*widget.Label).Text
	}
	if shown["File"] != "detector.dcm" {
		t.Errorf("the file is told as %q", shown["File"])
	}
	for name, part := range map[string]string{"Format": "DICOM", "Kind": "Intra-Oral", "Spacing": "detector plane", "Date": "2025-01-31", "Size": "15 × 11 px"} {
		if !strings.Contains(shown[name], part) {
			t.Errorf("%s is told as %q, want %q in it", name, shown[name], part)
		}
	}
	if _, told := shown["Patient"]; told {
		t.Error("the patient is told without being asked for")
	}
	r.key(fyne.KeyEscape)
	if r.Desk.open != nil {
		t.Error("Escape leaves the dialog open")
	}
}

func TestAboutWithoutAnImage(t *testing.T) {
	r := newRig(t)
	if b := r.parts["about image"].(*widget.Button); !b.Disabled() {
		t.Error("the button can be pressed without an image")
	}
	r.showDescription() // by the menu
	if r.Desk.open != nil || !strings.Contains(r.guide.text, "First open a radiograph") {
		t.Errorf("without an image: %q", r.guide.text)
	}
}

// TestCautionsBelongToWhatIsShown: three straight canals beside one another
// don't join, which is no caution; what concerns the whole image is said once.
func TestCautionsBelongToWhatIsShown(t *testing.T) {
	r := opened(t)
	for _, x := range []float64{300, 400, 500} {
		r.key(fyne.KeyT)
		r.clicks([2]float64{x, 200}, [2]float64{x, 260}, [2]float64{x, 380}, [2]float64{x, 500})
		r.key(fyne.KeyReturn)
	}
	got := r.sheet.caution.Text
	if strings.Contains(got, "join") || strings.Count(got, "No calibration: mark an object of known length.") != 1 {
		t.Errorf("cautions\n%s", got)
	}
	seen := map[string]bool{}
	for _, line := range strings.Split(got, "\n") {
		if seen[line] || !strings.HasSuffix(line, ".") {
			t.Errorf("%q comes twice, or is no sentence", line)
		}
		seen[line] = true
	}
}
