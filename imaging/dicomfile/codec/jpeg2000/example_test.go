package jpeg2000_test

import (
	"errors"
	"fmt"
	"os"

	"rootrule/imaging/dicomfile/codec/jpeg2000"
	"rootrule/imaging/fault"
)

func ExampleDecode() {
	data, err := os.ReadFile("testdata/grey12_signed_offset.j2k")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := jpeg2000.Decode(data)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Width, r.Height, r.Bits, int16(r.Pix[0]))

	_, err = jpeg2000.Decode(data[:len(data)/2])
	fmt.Println(errors.Is(err, fault.ErrMalformed))
	// Output:
	// 37 29 12 -1929
	// true
}

func ExampleReadHeader() {
	data, err := os.ReadFile("testdata/rgb_rct.j2k")
	if err != nil {
		fmt.Println(err)
		return
	}
	h, err := jpeg2000.ReadHeader(data)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(h.Width, h.Height, h.Components, h.Bits, h.ColourTransform)
	// Output: 37 29 3 8 true
}
