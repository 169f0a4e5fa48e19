package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"unsafe"
)

// Markers (T.800 Table A.2; CAP and CPF of T.814).
const (
	markSOC = 0xff4f
	markSIZ = 0xff51
	markCOD = 0xff52
	markCOC = 0xff53
	markQCD = 0xff5c
	markQCC = 0xff5d
	markRGN = 0xff5e
	markPOC = 0xff5f
	markPPM = 0xff60
	markPPT = 0xff61
	markDCO = 0xff70 // to markATK: extensions of Part 2 (T.801 Table A.2)
	markATK = 0xff79
	markSOT = 0xff90
	markSOP = 0xff91
	markEPH = 0xff92
	markSOD = 0xff93
	markEOC = 0xffd9
)

// A codestream is the marker structure of an image: its headers, and where
// the packets of each tile are.
type codestream struct {
	size   *imageSize
	main   *params
	tiles  []tileData
	parts  int // tile-parts so far
	packed packedHeaders
	budget *budget
}

// A tileData is what the tile-parts of one tile hold.
type tileData struct {
	params  *params
	parts   int
	bodies  [][]byte // after SOD, in order
	headers [][]byte // packed packet headers, from PPM or PPT
	packed  bool
}

// parseCodestream reads all markers of data: SOC to EOC (T.800 A.3). Bytes
// after EOC are padding.
func parseCodestream(data []byte, b *budget) (*codestream, error) {
	c, rest, err := parseMainHeader(data, b)
	if err != nil {
		return nil, err
	}
	n := c.size.tilesX * c.size.tilesY
	if minimum := n * minTilePart; minimum > len(rest) {
		return nil, malformed("%d tiles cannot fit into %d bytes: the file is cut short or damaged, copy or export it again", n, len(rest))
	}
	if err := b.take(int64(n), int64(unsafe.Sizeof(tileData{})), "tiles"); err != nil {
		return nil, err
	}
	c.tiles = make([]tileData, n)
	c.packed.join()
	for {
		if len(rest) < 2 {
			return nil, malformed("no end marker after %d tile-parts: the file is cut short, copy or export it again", c.parts)
		}
		switch mark := binary.BigEndian.Uint16(rest); mark {
		case markEOC:
			return c, c.checkTiles()
		case markSOT:
			if rest, err = c.parseTilePart(rest); err != nil {
				return nil, err
			}
		default:
			return nil, malformed("marker %#04x where a tile-part or the end should be: the file is damaged, copy or export it again", mark)
		}
	}
}

// checkTiles makes sure that every tile has at least one tile-part; whether
// its packets are complete shows when they are read.
func (c *codestream) checkTiles() error {
	for i := range c.tiles {
		if c.tiles[i].parts == 0 {
			return malformed("tile %d of %d is missing: the file is cut short or damaged, copy or export it again", i, len(c.tiles))
		}
	}
	return nil
}

// nextSegment splits a marker and its content off data (T.800 A.1.3).
func nextSegment(data []byte) (mark int, content, rest []byte, err error) {
	if len(data) < 4 {
		return 0, nil, nil, errCut("a marker segment", 4, len(data))
	}
	mark = int(binary.BigEndian.Uint16(data))
	if mark < 0xff00 || mark >= markSOT {
		return 0, nil, nil, malformed("marker %#04x in a header: the file is damaged, copy or export it again", mark)
	}
	if mark >= 0xff30 && mark <= 0xff3f { // no segment follows (T.800 A.1.3)
		return mark, nil, data[2:], nil
	}
	n := int(binary.BigEndian.Uint16(data[2:]))
	if n < 2 {
		return 0, nil, nil, malformed("segment %#04x has length %d", mark, n)
	}
	if 2+n > len(data) {
		return 0, nil, nil, errCut("a marker segment", 2+n, len(data))
	}
	return mark, data[4 : 2+n], data[2+n:], nil
}

// parseMainHeader reads SOC to the first SOT (T.800 A.3, Figure A.3).
func parseMainHeader(data []byte, b *budget) (c *codestream, rest []byte, err error) {
	if len(data) < 4 || binary.BigEndian.Uint16(data) != markSOC || binary.BigEndian.Uint16(data[2:]) != markSIZ {
		return nil, nil, malformed("it does not begin with the markers of a codestream")
	}
	c = &codestream{main: &params{}, budget: b}
	rest = data[2:]
	for {
		if len(rest) >= 2 && binary.BigEndian.Uint16(rest) == markSOT {
			return c, rest, c.checkMain()
		}
		var mark int
		var content []byte
		if mark, content, rest, err = nextSegment(rest); err != nil {
			return nil, nil, err
		}
		if err = c.mainSegment(mark, content); err != nil {
			return nil, nil, err
		}
	}
}

func (c *codestream) checkMain() error {
	if !c.main.haveCOD || !c.main.haveQCD {
		return malformed("its main header lacks the coding style or the quantisation")
	}
	return nil
}

func (c *codestream) mainSegment(mark int, content []byte) (err error) {
	switch {
	case mark == markSIZ && c.size != nil:
		return malformed("it has two size segments")
	case mark == markSIZ:
		c.size, err = parseSize(content)
		return err
	case mark == markPPM:
		return c.packed.add(content)
	}
	return c.codingSegment(c.main, mark, content)
}

// codingSegment applies a segment that main and tile headers share. Others,
// such as comments and pointers, don't change the picture.
func (c *codestream) codingSegment(p *params, mark int, content []byte) error {
	n := len(c.size.components)
	switch mark {
	case markCOD:
		return p.codingDefault(content)
	case markCOC:
		return p.codingComponent(content, n)
	case markQCD:
		return p.quantDefault(content)
	case markQCC:
		return p.quantComponent(content, n)
	case markRGN:
		return p.region(content, n)
	case markPOC:
		return p.orderChange(content)
	}
	if mark >= markDCO && mark <= markATK {
		return unsupported("it uses extensions of Part 2 (segment %#04x); export it in another format", mark)
	}
	return nil
}

// minTilePart is SOT and SOD: a tile-part without packets.
const minTilePart = 14

// parseTilePart reads a tile-part and returns what follows (T.800 A.4.2).
func (c *codestream) parseTilePart(data []byte) (rest []byte, err error) {
	if len(data) < minTilePart {
		return nil, errCut("a tile-part", minTilePart, len(data))
	}
	be := binary.BigEndian
	index, length, part := int(be.Uint16(data[4:])), int(be.Uint32(data[6:])), int(data[10])
	if n := be.Uint16(data[2:]); n != 10 || index >= len(c.tiles) {
		return nil, malformed("tile-part of tile %d of %d, its segment has %d bytes", index, len(c.tiles), n)
	}
	if length == 0 { // it lasts up to EOC, which no packet can contain (A.4.2)
		end := bytes.Index(data, []byte{0xff, 0xd9})
		if end < 0 {
			return nil, malformed("no end marker after the last tile-part: the file is cut short, copy or export it again")
		}
		length = end
	}
	if length < minTilePart || length > len(data) {
		return nil, errCut("a tile-part", max(length, minTilePart), len(data))
	}
	t := &c.tiles[index]
	if part != t.parts {
		return nil, malformed("tile-part %d of tile %d where part %d should be: the file is damaged, copy or export it again", part, index, t.parts)
	}
	body, err := c.parseTileHeader(t, data[12:length])
	if err != nil {
		return nil, err
	}
	t.parts++
	c.parts++
	t.bodies = append(t.bodies, body)
	return data[length:], nil
}

// parseTileHeader reads the segments of a tile-part up to SOD and returns the
// packets that follow.
func (c *codestream) parseTileHeader(t *tileData, data []byte) (body []byte, err error) {
	if t.params == nil {
		t.params = c.main
	}
	var packed tilePackedHeaders
	for {
		if len(data) >= 2 && binary.BigEndian.Uint16(data) == markSOD {
			break
		}
		var mark int
		var content []byte
		if mark, content, data, err = nextSegment(data); err != nil {
			return nil, err
		}
		if err = c.tileSegment(t, &packed, mark, content); err != nil {
			return nil, err
		}
	}
	switch {
	case c.packed.present:
		t.packed = true
		h, err := c.packed.next()
		if err != nil {
			return nil, err
		}
		t.headers = append(t.headers, h)
	case len(packed.chunks) > 0:
		t.packed = true
		t.headers = append(t.headers, packed.ordered()...)
	}
	return data[2:], nil
}

func (c *codestream) tileSegment(t *tileData, packed *tilePackedHeaders, mark int, content []byte) (err error) {
	switch mark {
	case markCOD, markCOC, markQCD, markQCC, markRGN, markPOC:
		if t.parts > 0 && mark != markPOC {
			return malformed("segment %#04x in a tile-part that is not its tile's first", mark)
		}
		if t.params == c.main {
			if t.params, err = c.main.override(c.budget); err != nil {
				return err
			}
		}
		return c.codingSegment(t.params, mark, content)
	case markPPT:
		if c.packed.present {
			return malformed("packed packet headers both in the main and in a tile's header")
		}
		return packed.add(content)
	}
	return nil
}
