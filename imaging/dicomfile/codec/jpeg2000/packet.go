package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"math/bits"
	"unsafe"
)

// A packetReader takes the packets of one tile off its bytes.
type packetReader struct {
	t    *tile
	body []byte
	pos  int
	// Packed headers come from bytes of their own (T.800 A.7.4, A.7.5).
	head   []byte
	packed bool
}

// readPackets reads all packets of a tile in their order (T.800 B.12) and
// makes sure that none is missing.
func (t *tile) readPackets(size *imageSize, r *packetReader) error {
	for _, c := range t.params.sequence(len(t.components)) {
		if err := t.eachPacket(size, c, r.packet); err != nil {
			return err
		}
	}
	for _, p := range t.precincts {
		if int(p.layer) != t.params.layers {
			return malformed("its progression orders leave out packets of %d layers: the file is damaged, copy or export it again", t.params.layers)
		}
	}
	return r.rest()
}

// rest reports bytes after the last packet. Zeros are padding; anything else
// means that a damaged header gave some packet the wrong length.
func (r *packetReader) rest() error {
	for _, rest := range [][]byte{r.body[r.pos:], r.head} {
		if len(bytes.TrimLeft(rest, "\x00")) > 0 {
			return malformed("%d bytes follow a tile's last packet: the file is damaged, copy or export it again", len(rest))
		}
	}
	return nil
}

// packet reads the next packet, which is that of place's precinct (T.800 B.9,
// B.10).
func (r *packetReader) packet(at place) error {
	p := r.t.precinctAt(at)
	layer := int(p.layer)
	p.layer++
	if r.t.params.sop {
		r.skipSOP()
	}
	src := bitReader{data: r.body, pos: r.pos}
	if r.packed {
		src = bitReader{data: r.head}
	}
	r.t.newChunks = len(r.t.chunks)
	if err := r.header(&src, p, at, layer); err != nil {
		return err
	}
	src.align()
	if src.over {
		return malformed("a packet header of layer %d ends early: the file is cut short or damaged, copy or export it again", layer)
	}
	if r.t.params.eph && len(src.data)-src.pos >= 2 && binary.BigEndian.Uint16(src.data[src.pos:]) == markEPH {
		src.pos += 2
	}
	if r.packed {
		r.head = r.head[src.pos:]
	} else {
		r.pos = src.pos
	}
	return r.place()
}

// skipSOP skips a start of packet segment, which may be left out (T.800 A.8.1).
func (r *packetReader) skipSOP() {
	const segment = 6
	if len(r.body)-r.pos >= segment && binary.BigEndian.Uint16(r.body[r.pos:]) == markSOP {
		r.pos += segment
	}
}

// place gives the bytes after the header to the packet's chunks, in order.
func (r *packetReader) place() error {
	for i := r.t.newChunks; i < len(r.t.chunks); i++ {
		c := &r.t.chunks[i]
		if int(c.length) > len(r.body)-r.pos {
			return errCut("a code-block", int(c.length), len(r.body)-r.pos)
		}
		c.offset = uint32(r.pos)
		r.pos += int(c.length)
	}
	return nil
}

// header reads a packet header: a bit that says whether the packet is empty,
// then the code-blocks of each band (T.800 B.10.8).
func (r *packetReader) header(src *bitReader, p *precinct, at place, layer int) error {
	if src.bit() == 0 {
		return nil
	}
	res := &r.t.components[at.comp].resolutions[at.res]
	if p.group < 0 {
		if err := r.t.open(p, res, int(at.k)); err != nil {
			return err
		}
	}
	for _, g := range r.t.groups[p.group:][:len(res.bands)] {
		if err := r.t.budget.visit(len(g.blocks)); err != nil {
			return err
		}
		for i := range g.blocks {
			if err := r.block(src, g, i, layer); err != nil {
				return err
			}
			if src.over {
				return nil // the caller reports it
			}
		}
	}
	return nil
}

// block reads what a packet header says of one code-block.
func (r *packetReader) block(src *bitReader, g *group, i, layer int) error {
	b := &g.blocks[i]
	if b.included { // T.800 B.10.4
		if src.bit() == 0 {
			return nil
		}
	} else {
		if !g.inclusion.below(src, i, layer+1) {
			return nil
		}
		b.included = true
		b.lblock = 3 // T.800 B.10.7.1
		zeros := 0
		for !g.zeros.below(src, i, zeros+1) { // T.800 B.10.5
			zeros++
			if zeros > g.band.planes {
				return malformed("a code-block with %d missing bit-planes of %d: the file is damaged, copy or export it again", zeros, g.band.planes)
			}
		}
		b.zeros = uint8(zeros)
	}
	return r.lengths(src, b, g.band)
}

// passCount reads the number of coding passes (T.800 Table B.4).
func passCount(src *bitReader) int {
	if src.bit() == 0 {
		return 1
	}
	if src.bit() == 0 {
		return 2
	}
	if n := src.bits(2); n < 3 {
		return 3 + n
	}
	if n := src.bits(5); n < 31 {
		return 6 + n
	}
	return 37 + src.bits(7)
}

// lengths reads the number of passes and the lengths of the codeword segments
// that they belong to (T.800 B.10.6, B.10.7).
func (r *packetReader) lengths(src *bitReader, b *block, band *band) error {
	passes := passCount(src)
	for src.bit() == 1 {
		b.lblock++
		if b.lblock > 32 {
			return malformed("a code-block length of more than 32 bits: the file is damaged, copy or export it again")
		}
	}
	for passes > 0 {
		first := int(b.passes)
		end := segmentEnd(band.comp.coding.modes, first)
		n := min(passes, end-first)
		width := int(b.lblock) + bits.Len(uint(n)) - 1 // equation B-19
		if width > 31 {
			return malformed("a code-block length of %d bits: the file is damaged, copy or export it again", width)
		}
		length := src.bits(width)
		if src.over {
			return nil // the caller reports it
		}
		starts := first == 0 || segmentEnd(band.comp.coding.modes, first-1) == first
		if err := r.addChunk(b, chunk{length: uint32(length), next: -1, passes: uint8(n), starts: starts}); err != nil {
			return err
		}
		b.passes += uint16(n)
		passes -= n
	}
	if band.comp.coding.modes&modeHT != 0 && b.passes > 3 {
		return unsupported("a high-throughput code-block of more than one set of coding passes; export it in another transfer syntax")
	}
	// A bit-plane has three passes, the first one only cleanup (T.800 D.3).
	if most := 3*(band.planes-int(b.zeros)) - 2; int(b.passes) > most {
		return malformed("a code-block with %d coding passes where %d are possible: the file is damaged, copy or export it again", b.passes, max(most, 0))
	}
	return nil
}

// segmentEnd returns the number of the pass after the codeword segment that
// pass number p is part of (T.800 Tables D.8 and D.9).
func segmentEnd(modes, p int) int {
	switch {
	case modes&modeHT != 0 && p == 0: // T.814 Annex B
		return 1
	case modes&modeHT != 0:
		return 1 << 16
	case modes&modeTermAll != 0:
		return p + 1
	case modes&modeBypass == 0:
		return 1 << 16
	case p < firstBypassPass:
		return firstBypassPass
	case (p-firstBypassPass)%3 == 2: // cleanup
		return p + 1
	}
	return p - (p-firstBypassPass)%3 + 2 // significance and refinement together
}

// firstBypassPass is the first one that may be raw: cleanup of the first
// bit-plane and three passes of the next three come before (T.800 Table D.9).
const firstBypassPass = 10

func (r *packetReader) addChunk(b *block, c chunk) error {
	t := r.t
	if len(t.chunks) == cap(t.chunks) {
		size := max(2*cap(t.chunks), 1024)
		if err := t.budget.take(int64(size), int64(unsafe.Sizeof(chunk{})), "pieces of code-blocks"); err != nil {
			return err
		}
		t.chunks = append(make([]chunk, 0, size), t.chunks...)
	}
	i := int32(len(t.chunks))
	t.chunks = append(t.chunks, c)
	if b.last < 0 {
		b.first = i
	} else {
		t.chunks[b.last].next = i
	}
	b.last = i
	return nil
}
