package dicomfile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"rootrule/imaging/fault"
)

func sample(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestCompressed decodes a sample of each compression to the samples that
// dcmtk, gdcm and pydicom agree on (testdata/README.md).
func TestCompressed(t *testing.T) {
	for _, row := range readTSV(t, "testdata/reference.tsv") {
		t.Run(row["file"], func(t *testing.T) {
			f, err := Read(sample(t, row["file"]))
			if err != nil {
				t.Fatal(err)
			}
			if got := strconv.Itoa(f.Frames); got != row["frames"] {
				t.Errorf("%s frames, want %s", got, row["frames"])
			}
			if got := digest(t, f); got != row["sha256"] {
				t.Errorf("samples differ from those of %s", row["decoders"])
			}
		})
	}
}

// TestCompressedCut cuts each sample inside its pixels: never a picture.
func TestCompressedCut(t *testing.T) {
	for _, row := range readTSV(t, "testdata/reference.tsv") {
		data := sample(t, row["file"])
		start := bytes.LastIndex(data, []byte{0xE0, 0x7F, 0x10, 0x00}) + 24
		for at := start; at < len(data)-16; at += 7 { // the last 16 bytes hold the end mark and padding
			if err := readAll(data[:at]); !errors.Is(err, fault.ErrMalformed) {
				t.Errorf("%s cut from %d to %d bytes: error %v", row["file"], len(data), at, err)
			}
		}
	}
}

// TestFrameCount changes the number of frames that a header promises: whatever
// the fragments say against it must be an error.
func TestFrameCount(t *testing.T) {
	for _, name := range []string{"frames_table.dcm", "frames_no_table.dcm", "fragments_table.dcm", "fragments_no_table.dcm", "frames_extended.dcm", "rle_frames.dcm"} {
		data := sample(t, name)
		at := bytes.Index(data, []byte{0x28, 0, 0x08, 0, 'I', 'S', 2, 0, '3'}) + 8
		for _, n := range "1245" {
			changed := slices.Clone(data)
			changed[at] = byte(n)
			if err := readAll(changed); !errors.Is(err, fault.ErrMalformed) {
				t.Errorf("%s with %c frames: error %v", name, n, err)
			}
		}
	}
}

// TestPictureSize changes the number of rows that a header promises.
func TestPictureSize(t *testing.T) {
	for _, row := range readTSV(t, "testdata/reference.tsv") {
		data := sample(t, row["file"])
		at := bytes.Index(data, []byte{0x28, 0, 0x10, 0, 'U', 'S', 2, 0, 11, 0}) + 8
		data[at]--
		if err := readAll(data); !errors.Is(err, fault.ErrMalformed) {
			t.Errorf("%s with 10 rows instead of 11: error %v", row["file"], err)
		}
	}
}

// TestWrongPhotometric: samples stay what the stream holds, as peers have
// them, but a stream that is certain to be YCbCr is not taken for RGB.
func TestWrongPhotometric(t *testing.T) {
	for _, c := range []struct{ file, stated, patched, want string }{
		{"jpeg50_422.dcm", "YBR_FULL_422", "RGB         ", ybrFull},
		{"jpeg50_420.dcm", "YBR_FULL", "RGB     ", ybrFull},
		{"jpeg50_422.dcm", "YBR_FULL_422", "YBR_FULL_422", ybrFull},
		{"jpeg50_rgb.dcm", "RGB ", "RGB ", rgb},
		{"j2k90_rgb.dcm", "YBR_RCT ", "YBR_RCT ", rgb},
	} {
		data := sample(t, c.file)
		patched := bytes.Replace(data, []byte("CS"+string([]byte{byte(len(c.stated)), 0})+c.stated), []byte("CS"+string([]byte{byte(len(c.stated)), 0})+c.patched), 1)
		if c.stated != c.patched && bytes.Equal(data, patched) {
			t.Errorf("%s does not say %q", c.file, c.stated)
		}
		f, err := Read(patched)
		if err != nil {
			t.Fatal(err)
		}
		frame, err := f.Frame(0)
		if err != nil {
			t.Fatal(err)
		}
		if frame.Photometric != c.want {
			t.Errorf("%s said to be %s: samples are %s, want %s", c.file, c.patched, frame.Photometric, c.want)
		}
	}
}
