package jpeg2000

import (
	"encoding/binary"
	"slices"
)

// An indexed chunk of packed packet headers.
type packedChunk struct {
	index int
	data  []byte
}

func parsePackedChunk(content []byte) (packedChunk, error) {
	if len(content) < 1 {
		return packedChunk{}, malformed("a segment of packed packet headers is empty")
	}
	return packedChunk{int(content[0]), content[1:]}, nil
}

func sortChunks(chunks []packedChunk) {
	slices.SortStableFunc(chunks, func(a, b packedChunk) int { return a.index - b.index })
}

// A tilePackedHeaders collects the PPT segments of one tile-part (T.800 A.7.5).
type tilePackedHeaders struct{ chunks []packedChunk }

func (t *tilePackedHeaders) add(content []byte) error {
	c, err := parsePackedChunk(content)
	t.chunks = append(t.chunks, c)
	return err
}

// ordered returns the chunks by their index.
func (t *tilePackedHeaders) ordered() [][]byte {
	sortChunks(t.chunks)
	out := make([][]byte, len(t.chunks))
	for i, c := range t.chunks {
		out[i] = c.data
	}
	return out
}

// A packedHeaders collects the PPM segments of the main header (T.800 A.7.4):
// joined by index, they are a list of lengths and headers, one a tile-part, in
// the order of tile-parts in the codestream.
type packedHeaders struct {
	chunks  []packedChunk
	joined  []byte
	present bool
}

func (p *packedHeaders) add(content []byte) error {
	c, err := parsePackedChunk(content)
	p.chunks, p.present = append(p.chunks, c), true
	return err
}

// join joins the chunks, once all of them are known.
func (p *packedHeaders) join() {
	sortChunks(p.chunks)
	n := 0
	for _, c := range p.chunks {
		n += len(c.data)
	}
	p.joined = make([]byte, 0, n)
	for _, c := range p.chunks {
		p.joined = append(p.joined, c.data...)
	}
	p.chunks = nil
}

// next returns the headers of the next tile-part.
func (p *packedHeaders) next() ([]byte, error) {
	if len(p.joined) < 4 {
		return nil, errCut("the packed packet headers of a tile-part", 4, len(p.joined))
	}
	n := int(binary.BigEndian.Uint32(p.joined))
	if n > len(p.joined)-4 {
		return nil, errCut("the packed packet headers of a tile-part", n, len(p.joined)-4)
	}
	h := p.joined[4 : 4+n]
	p.joined = p.joined[4+n:]
	return h, nil
}
