package dicomfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/suyashkumar/dicom/pkg/tag"

	"rootrule/imaging/fault"
)

// File is one DICOM file whose header has been read. Its pixels are read by
// [File.Frame], one frame at a time. A File holds no open handle and may be
// used by several goroutines.
type File struct {
	// Description is what the header says, without the patient.
	Description
	from     origin
	inflated []byte // the data set of a deflated file, else nil
	syntax   syntax
	header   dataSet
	shared   dataSet   // functional groups of all frames
	perFrame []dataSet // functional groups of each frame
	layout   layout
	pixels   pixelData
	palette  *palette
	missing  error // why there is no picture, nil if there is one
}

// Open reads the header of the file at path; pixels stay where they are.
//
// Errors match fault.ErrMalformed or fault.ErrUnsupported, except those of the
// operating system.
func Open(path string) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	stat, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !stat.Mode().IsRegular() {
		return nil, fault.Unsupported("reading a DICOM file: this is a folder or a device: choose a file")
	}
	return read(f, origin{path: path, stat: stat})
}

// Read reads the header of the DICOM file held in data, which must not change
// as long as the File is used.
func Read(data []byte) (*File, error) {
	o := origin{data: data}
	at, done, err := o.open()
	if err != nil {
		return nil, err
	}
	defer done()
	return read(at, o)
}

func read(at io.ReaderAt, from origin) (*File, error) {
	f := &File{from: from}
	src := newSource(at, from.size())
	start, err := f.readMeta(src)
	if err != nil {
		return nil, err
	}
	if f.syntax.deflated {
		if f.inflated, err = inflate(at, start, src.size); err != nil {
			return nil, err
		}
		o := origin{data: f.inflated}
		at, _, _ = o.open()
		src, start = newSource(at, o.size()), 0
	}
	if err := f.readHeader(src, start); err != nil {
		return nil, err
	}
	return f, nil
}

// Sniff reports whether a file that begins with head, at least 132 bytes where
// the file has them, looks like DICOM: by its preamble (PS3.10 7.1), or by a
// first element that only a DICOM data set without one would have.
func Sniff(head []byte) bool {
	if start := preambleEnd(head); start > 0 {
		return true
	}
	if len(head) < 12 {
		return false
	}
	c := guessCoding(head, coding{order: binary.LittleEndian, implicit: true})
	e := parseHeader(head, 0, c)
	if e.tag.Group != metaGroup && e.tag.Group != tag.SOPClassUID.Group || e.tag.Element > 0x0100 {
		return false
	}
	if c.implicit {
		return e.length <= 256 // a first element is a length, a UID or a character set
	}
	return (shortVRs[e.vr] || longVRs[e.vr]) && e.length <= 256
}

// preambleEnd returns where the first element lies behind "DICM", 0 without it.
func preambleEnd(head []byte) int64 {
	switch {
	case len(head) >= 132 && string(head[128:132]) == "DICM":
		return 132
	case len(head) >= 4 && string(head[:4]) == "DICM":
		return 4
	}
	return 0
}

// readMeta reads the file meta group (PS3.10 7.1), which may be missing in
// part or whole, finds the transfer syntax, and returns where the data set
// begins. The group's stated length is not relied on.
func (f *File) readMeta(src *source) (int64, error) {
	head, err := src.bytes(0, int(min(132, src.size)))
	if err != nil {
		return 0, err
	}
	if !Sniff(head) {
		return 0, fault.Malformed("reading a DICOM file: neither a DICOM preamble nor a data set was found in its %d bytes: this is another kind of file, or damaged", src.size)
	}
	at, uid := preambleEnd(head), ""
	for src.size-at >= shortHeaderSize {
		b, err := src.bytes(at, 2)
		if err != nil {
			return 0, err
		}
		if binary.LittleEndian.Uint16(b) != metaGroup {
			break
		}
		e, err := src.elementAt(at, src.size, explicitLittle)
		if err != nil {
			return 0, err
		}
		if e.undefined() {
			return 0, fault.Malformed("reading a DICOM file: element %v of the file meta group has no length: copy or export the file again", e.tag)
		}
		if e.tag == tag.TransferSyntaxUID && e.length <= 64 { // PS3.5 6.2: a UID has at most 64 characters
			if b, err = src.bytes(e.value, int(e.length)); err != nil {
				return 0, err
			}
			uid = string(b)
		}
		at = e.end()
	}
	if at == src.size {
		return 0, fault.Malformed("reading a DICOM file: it ends behind its preamble, after %d bytes: copy or export the file again", at)
	}
	return at, f.setSyntax(src, at, uid)
}

// setSyntax settles how the data set at at is written. Where the first element
// contradicts the stated transfer syntax, it is believed.
func (f *File) setSyntax(src *source, at int64, uid string) error {
	if uid == "" {
		uid = implicitVRLittle // PS3.5 10.1: the default
	}
	f.syntax = syntaxOf(uid)
	if f.syntax.deflated {
		return nil
	}
	b, err := src.bytes(at, int(min(shortHeaderSize, src.size-at)))
	if err != nil {
		return err
	}
	c := guessCoding(b, f.syntax.coding)
	if c != f.syntax.coding && !f.syntax.encapsulated {
		for _, s := range native {
			if s.coding == c && !s.deflated {
				f.syntax = s
			}
		}
	}
	f.syntax.coding = c
	return nil
}

// guessCoding returns how the data set whose first bytes are b is written,
// given what is stated.
func guessCoding(b []byte, stated coding) coding {
	if len(b) < int(shortHeaderSize) {
		return stated
	}
	// The first group is 0002 to 0028; read in the wrong order it is 0200 and up.
	little, big := binary.LittleEndian.Uint16(b), binary.BigEndian.Uint16(b)
	c := stated
	if little > 0xFF && big <= 0xFF {
		c.order = binary.BigEndian
	} else if big > 0xFF && little <= 0xFF {
		c.order = binary.LittleEndian
	}
	known := shortVRs[string(b[4:6])] || longVRs[string(b[4:6])]
	// Two unknown letters are a representation of a later standard, if the
	// file is said to have them.
	c.implicit = !known && (stated.implicit || !letters(b[4:6]))
	return c
}

// readHeader walks the data set at start, has it parsed and settles what the
// pixels are.
func (f *File) readHeader(src *source, start int64) error {
	w := &cleaner{src: src}
	if _, err := w.dataSet(start, src.size, f.syntax.coding, 0, true); err != nil {
		return err
	}
	var err error
	if f.header, err = parse(w.out, w.charset); err != nil {
		return err
	}
	f.shared = f.header.item(tag.SharedFunctionalGroupsSequence)
	f.perFrame = f.header.items(tag.PerFrameFunctionalGroupsSequence)
	if f.missing = f.findPixels(src, w); errors.Is(f.missing, fault.ErrMalformed) {
		return f.missing
	}
	if n := len(f.perFrame); n > 0 && n != f.layout.frames {
		w.caution(fmt.Sprintf("the header describes %d frames one by one, but there are %d", n, f.layout.frames))
	}
	f.Description = f.describe(w.cautions)
	return nil
}
