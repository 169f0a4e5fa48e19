package dicomfile

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"rootrule/imaging/fault"
)

// FuzzRead feeds damaged files through everything that reads them. Whatever
// happens must be a picture of the promised size or one of the two kinds of
// error.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/*.dcm")
	if err != nil || len(files) == 0 {
		f.Fatal("no samples in testdata")
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	grey := picture(5, 3, 16, 12, ramp(15, 12))
	for _, syntax := range []string{implicitVRLittle, explicitVRLittle, explicitVRBig, deflatedVRLittle} {
		f.Add(build{syntax: syntax, attrs: intraoral()}.bytes(f))
		f.Add(build{syntax: syntax, undefinedSequence: true, noMeta: true, noPreamble: true, attrs: intraoral()}.bytes(f))
		f.Add(build{syntax: syntax, attrs: with(grey, colourTables([]uint16{4, 0, 16}, "OW", []uint16{1, 2, 3, 4})...)}.bytes(f))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := Read(data)
		if err != nil {
			mustBeFault(t, err)
			return
		}
		_ = file.Identity()
		for i := range min(file.Frames, 8) {
			_, _, _ = file.Spacing(i), file.Windows(i), file.Rescale(i)
			frame, err := file.Frame(i)
			if err != nil {
				mustBeFault(t, err)
				continue
			}
			if frame.Width != file.Columns || frame.Height != file.Rows || len(frame.Pix) != frame.Width*frame.Height*frame.Samples {
				t.Fatalf("frame of %d×%d×%d with %d samples in a file of %d×%d", frame.Width, frame.Height, frame.Samples, len(frame.Pix), file.Columns, file.Rows)
			}
			_, _ = frame.Grey()
		}
	})
}

func mustBeFault(t *testing.T, err error) {
	t.Helper()
	if !errors.Is(err, fault.ErrMalformed) && !errors.Is(err, fault.ErrUnsupported) {
		t.Fatalf("error of no kind: %v", err)
	}
}
