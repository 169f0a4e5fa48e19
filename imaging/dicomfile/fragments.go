package dicomfile

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"rootrule/imaging/fault"
)

// fragment is one piece of compressed pixel data (PS3.5 A.4).
type fragment struct {
	at, length int64 // of its bytes in the file
	offset     int64 // of its item tag behind the offset table
}

// findFragments lists the fragments of encapsulated pixel data and deals them
// out to frames.
func (f *File) findFragments(src *source, w *cleaner) error {
	if !f.syntax.encapsulated {
		return fault.Malformed("reading a DICOM file: the header says %s but pixels are in fragments: export the file again", f.syntax.name)
	}
	table, fragments, err := scanFragments(src, w)
	if err != nil {
		return err
	}
	if w.offsets != nil {
		if long, err := readOffsets(src, *w.offsets, 8); err == nil && len(long) > 0 {
			table = long
		}
	}
	frames, err := dealOut(src, fragments, table, f.layout.frames)
	if err != nil {
		return err
	}
	f.pixels.frames = frames
	return nil
}

// scanFragments walks over the items of encapsulated pixel data: the Basic
// Offset Table, which may be empty, and the fragments.
func scanFragments(src *source, w *cleaner) (table []int64, fragments []fragment, err error) {
	at, base := w.pixels.value, int64(-1)
	for {
		if at == src.size && base >= 0 { // some writers leave it out
			w.caution("the end mark of the pixels is missing")
			return table, fragments, nil
		}
		item, err := src.elementAt(at, src.size, explicitLittle)
		if err != nil {
			return nil, nil, err
		}
		if item.tag == sequenceEndTag {
			return table, fragments, nil
		}
		if item.tag != itemTag || item.undefined() {
			return nil, nil, fault.Malformed("reading a DICOM file: its pixels hold %v at byte %d where a fragment should be: copy or export the file again", item.tag, at)
		}
		if base < 0 {
			if table, err = readOffsets(src, item, 4); err != nil {
				return nil, nil, err
			}
			base = item.end()
		} else {
			fragments = append(fragments, fragment{at: item.value, length: int64(item.length), offset: at - base})
		}
		at = item.end()
	}
}

// readOffsets reads an offset table of numbers of the given size in bytes.
func readOffsets(src *source, e element, size int) ([]int64, error) {
	if e.undefined() || e.length%uint32(size) != 0 {
		return nil, nil // peers ignore such a table too
	}
	b, err := src.bytes(e.value, int(e.length))
	if err != nil {
		return nil, err
	}
	table := make([]int64, 0, len(b)/size)
	for ; len(b) >= size; b = b[size:] {
		if size == 8 {
			table = append(table, int64(binary.LittleEndian.Uint64(b)))
		} else {
			table = append(table, int64(binary.LittleEndian.Uint32(b)))
		}
	}
	return table, nil
}

// dealOut groups fragments into frames: by the offset table where it fits, one
// to one where the numbers agree, else at the marker that starts a compressed
// picture.
func dealOut(src *source, fragments []fragment, table []int64, frames int) ([][]fragment, error) {
	if len(fragments) < frames {
		return nil, fault.Malformed("reading a DICOM file: the header promises %d frames but there are pixels for %d at most: copy or export the file again", frames, len(fragments))
	}
	if len(table) > frames && fits(table, fragments) {
		return nil, fault.Malformed("reading a DICOM file: the header promises %d frames but its offset table lists %d: export the file again", frames, len(table))
	}
	if len(table) == frames && fits(table, fragments) {
		return splitAt(fragments, func(f fragment, n int) bool { return n < len(table) && f.offset == table[n] }), nil
	}
	if len(fragments) == frames {
		return splitAt(fragments, func(fragment, int) bool { return true }), nil
	}
	return splitAtStarts(src, fragments, frames)
}

// splitAtStarts groups fragments into the given number of frames by the
// markers that start compressed pictures.
func splitAtStarts(src *source, fragments []fragment, frames int) ([][]fragment, error) {
	var failed error
	groups := splitAt(fragments, func(f fragment, _ int) bool {
		starts, err := startsPicture(src, f)
		if err != nil {
			failed = err
		}
		return starts
	})
	if failed != nil {
		return nil, failed
	}
	if len(groups) != frames {
		return nil, fault.Malformed("reading a DICOM file: the header promises %d frames but %d compressed pictures begin in its %d fragments: copy or export the file again", frames, len(groups), len(fragments))
	}
	return groups, nil
}

// fits reports whether each offset is where a fragment begins, in order.
func fits(table []int64, fragments []fragment) bool {
	if len(fragments) == 0 || table[0] != fragments[0].offset {
		return false
	}
	n := 0
	for _, f := range fragments {
		if n < len(table) && f.offset == table[n] {
			n++
		}
	}
	return n == len(table)
}

// splitAt starts a new group at each fragment for which starts is true, given
// the number of groups so far. The first fragment always starts one.
func splitAt(fragments []fragment, starts func(f fragment, groups int) bool) [][]fragment {
	var groups [][]fragment
	from := 0
	for i, f := range fragments {
		if starts(f, len(groups)+min(i, 1)) && i > 0 {
			groups = append(groups, fragments[from:i])
			from = i
		}
	}
	return append(groups, fragments[from:])
}

// Starts of compressed pictures: SOI of JPEG and JPEG-LS (T.81 B.1.1.3), SOC
// and SIZ of JPEG 2000 (T.800 A.4.1), the signature box of a JP2 file (T.800
// I.5.1), which should not but does occur.
var pictureStarts = [][]byte{
	{0xFF, 0xD8, 0xFF},
	{0xFF, 0x4F, 0xFF, 0x51},
	{0, 0, 0, 12, 'j', 'P', ' ', ' '},
}

func startsPicture(src *source, f fragment) (bool, error) {
	head, err := src.bytes(f.at, int(min(8, f.length)))
	if err != nil {
		return false, err
	}
	for _, start := range pictureStarts {
		if bytes.HasPrefix(head, start) {
			return true, nil
		}
	}
	return startsRLE(head), nil
}

// startsRLE reports whether head is that of an RLE frame: one to fifteen
// segments, the first right behind the header of 64 bytes (PS3.5 G.5).
func startsRLE(head []byte) bool {
	if len(head) < 8 {
		return false
	}
	segments := binary.LittleEndian.Uint32(head)
	return segments >= 1 && segments <= 15 && binary.LittleEndian.Uint32(head[4:]) == 64
}

// joined reads the bytes of fragments into one stream.
func joined(src *source, fragments []fragment) ([]byte, error) {
	var size int64
	for _, f := range fragments {
		size += f.length
	}
	out := make([]byte, size)
	at := int64(0)
	for _, f := range fragments {
		if _, err := src.at.ReadAt(out[at:at+f.length], f.at); err != nil && f.length > 0 {
			return nil, fmt.Errorf("reading compressed pixels: %w", err)
		}
		at += f.length
	}
	return out, nil
}
