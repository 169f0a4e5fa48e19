package jpeg2000

import (
	"bytes"
	"encoding/binary"
)

// jp2Signature is the first box of a JP2 file (T.800 I.5.1).
var jp2Signature = []byte{0, 0, 0, 12, 'j', 'P', ' ', ' ', '\r', '\n', 0x87, '\n'}

// codestreamOf returns the codestream in data: data itself, or the content of
// the first contiguous codestream box of a JP2 file (T.800 I.5.4).
func codestreamOf(data []byte) ([]byte, error) {
	if len(data) > maxStreamLength {
		return nil, unsupported("a stream of %d bytes is larger than the %d that one frame may have", len(data), maxStreamLength)
	}
	if !bytes.HasPrefix(data, jp2Signature) {
		return data, nil
	}
	for len(data) > 0 {
		kind, content, rest, err := nextBox(data)
		if err != nil {
			return nil, err
		}
		if kind == "jp2c" {
			return content, nil
		}
		data = rest
	}
	return nil, malformed("the JP2 file has no codestream box; export the image again")
}

// nextBox splits the first box off data (T.800 I.4): length, type, content.
// Length 1 means that a 64-bit length follows, 0 that the box is the last.
func nextBox(data []byte) (kind string, content, rest []byte, err error) {
	if len(data) < 8 {
		return "", nil, nil, errCut("the header of a JP2 box", 8, len(data))
	}
	size, header := uint64(binary.BigEndian.Uint32(data)), uint64(8)
	kind = string(data[4:8])
	switch {
	case size == 0:
		size = uint64(len(data))
	case size == 1:
		if len(data) < 16 {
			return "", nil, nil, errCut("the header of a JP2 box", 16, len(data))
		}
		size, header = binary.BigEndian.Uint64(data[8:]), 16
	}
	if size < header {
		return "", nil, nil, malformed("JP2 box %q claims %d bytes, fewer than its header has; export the image again", kind, size)
	}
	if size > uint64(len(data)) {
		// A codestream box may be longer than it is: its end marker decides.
		if kind != "jp2c" {
			return "", nil, nil, malformed("JP2 box %q claims %d bytes and %d are left: the file is cut short or damaged, copy or export it again", kind, size, len(data))
		}
		size = uint64(len(data))
	}
	return kind, data[header:size], data[size:], nil
}
