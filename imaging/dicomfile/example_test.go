package dicomfile_test

import (
	"fmt"
	"os"

	"rootrule/imaging/dicomfile"
)

// What a file says of itself, and the samples of its first frame.
func ExampleOpen() {
	f, err := dicomfile.Open("testdata/jpeg70_12.dcm")
	if err != nil {
		fmt.Println(err)
		return
	}
	frame, err := f.Frame(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.TransferSyntax)
	fmt.Printf("%d×%d, %d bits, %d samples\n", f.Columns, f.Rows, f.BitsStored, len(frame.Pix))
	// Output:
	// JPEG lossless, first-order prediction
	// 15×11, 12 bits, 165 samples
}

// A spacing is a number and how far it is to be trusted.
func ExampleFile_Spacing() {
	f, err := dicomfile.Open("testdata/spacing.dcm")
	if err != nil {
		fmt.Println(err)
		return
	}
	s := f.Spacing(0)
	fmt.Printf("%g mm, %s, %s\n%s\n", s.RowMM, s.Kind, s.Trust, s.Note)
	// Output:
	// 0.02 mm, detector plane, magnified
	// spacing at the detector; the file estimates a magnification of 1.05, which is not applied
}

// A cut file is an error, never a smaller picture.
func ExampleRead() {
	data, err := os.ReadFile("testdata/jpeg70_12.dcm")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = dicomfile.Read(data[:800])
	fmt.Println(err)
	// Output:
	// reading a DICOM file: element (fffe,e000) at byte 626 claims 278 bytes, 166 are left: copy or export the file again
}

// All pictures of a folder, sorted into series.
func ExampleScan() {
	found, err := dicomfile.Scan("testdata")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range found.Series {
		fmt.Printf("%d pictures of %d×%d, volume: %t\n", len(s.Slices), s.Columns, s.Rows, s.Volume())
	}
	// Output:
	// 44 pictures of 15×11, volume: false
}
