package imaging

import (
	"bytes"

	"rootrule/imaging/fault"
)

func isDICOM(data []byte) bool { return len(data) > 132 && bytes.Equal(data[128:132], []byte("DICM")) }

func decodeDICOM(name string, _ []byte, _ int) (*Image, error) {
	return nil, fault.Unsupported("read image %s: DICOM", name)
}
