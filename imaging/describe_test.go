package imaging

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// TestDescribeDataSaysWhatDescribeSays: bytes and path of one file have one
// description; what the DICOM sample states is in dicomfile/testdata/README.md.
func TestDescribeDataSaysWhatDescribeSays(t *testing.T) {
	for _, path := range []string{"dicomfile/testdata/spacing.dcm", "testdata/ramp16_zip_lsb.tif", "testdata/ramp24.bmp"} {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got, err := DescribeData(filepath.Base(path), data)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		want, err := Describe(path)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: from bytes %+v, from the path %+v", path, got, want)
		}
		if strings.HasSuffix(path, ".dcm") && (got.Modality != "IO" || got.Spacing == nil || got.Spacing.Trust != "magnified") {
			t.Errorf("the header is not described: %+v", got)
		}
	}
}

func TestDescribeDataOfDamagedFiles(t *testing.T) {
	whole, err := os.ReadFile("dicomfile/testdata/spacing.dcm")
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"cut.dcm": whole[:200], "empty": nil, "letter.docx": []byte("PK\x03\x04 no picture")} {
		if _, err := DescribeData(name, data); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v, want one that names the file", name, err)
		}
	}
}

// TestDamageIsToldOnce: the window puts "damaged file" in front.
func TestDamageIsToldOnce(t *testing.T) {
	for _, path := range []string{"testdata/ramp24.bmp", "testdata/ramp8_zip_lsb.tif"} {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for n := 3; n < len(data); n += 7 {
			if _, err := Decode("x", data[:n]); err != nil && strings.Contains(err.Error(), "damaged") {
				t.Fatalf("%s cut after %d bytes: %v", path, n, err)
			}
		}
	}
	_, err := Decode("broken.png", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x04IDATdata\x00\x00\x00\x00"))
	const want = "read image broken.png: its PNG data are wrong"
	if err == nil || !strings.HasPrefix(err.Error(), want) || strings.Contains(err.Error(), "(png") {
		t.Errorf("%v, want it to begin %q", err, want)
	}
}
