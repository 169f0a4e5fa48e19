package jpeg2000

import (
	"bytes"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"
)

// A repacker takes a codestream apart and writes it again in a form that no
// encoder at hand writes. The picture must stay the same. With
// ROOTRULE_J2K_REPACKED set to a folder, the streams are written there too, for
// a check by another decoder.
type repacker struct {
	segments [][]byte   // of the main header, markers included, SIZ first
	tiles    [][]packet // in order
	headers  [][][]byte // segments of each tile's first header
}

type packet struct{ head, body []byte }

func takeApart(t *testing.T, name string) *repacker {
	t.Helper()
	data, err := codestreamOf(readFile(t, name))
	if err != nil {
		t.Fatal(err)
	}
	b := newBudget(len(data))
	c, err := parseCodestream(data, b)
	if err != nil {
		t.Fatal(err)
	}
	r := &repacker{}
	for rest := data[2:]; binary.BigEndian.Uint16(rest) != markSOT; {
		_, _, after, err := nextSegment(rest)
		if err != nil {
			t.Fatal(err)
		}
		if seg := rest[:len(rest)-len(after)]; seg[1] != 0x55 { // TLM would be wrong
			r.segments = append(r.segments, seg)
		}
		rest = after
	}
	tl := &tile{budget: b, components: make([]component, maxComponents)}
	for i, td := range c.tiles {
		in := &packetReader{t: tl, body: join(td.bodies)}
		if err := tl.reset(c.size, i, td.params, len(in.body)); err != nil {
			t.Fatal(err)
		}
		var packets []packet
		for _, change := range td.params.sequence(len(tl.components)) {
			err := tl.eachPacket(c.size, change, func(at place) error {
				from := in.pos
				err := in.packet(at)
				length := 0
				for _, ch := range tl.chunks[tl.newChunks:] {
					length += int(ch.length)
				}
				packets = append(packets, packet{in.body[from : in.pos-length], in.body[in.pos-length : in.pos]})
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		r.tiles = append(r.tiles, packets)
	}
	r.headers = make([][][]byte, len(r.tiles))
	return r
}

func segment(mark uint16, content ...byte) []byte {
	out := binary.BigEndian.AppendUint16(nil, mark)
	out = binary.BigEndian.AppendUint16(out, uint16(len(content)+2))
	return append(out, content...)
}

// Where packet headers go.
const (
	inline = iota
	packedMain
	packedTile
)

// write joins the parts again: tile-parts of perPart packets, taken from the
// tiles in turn, with packet headers at the given place, in segments of
// perSegment bytes.
func (r *repacker) write(headers, perPart, perSegment int) []byte {
	var parts, ppm []byte
	left := make([][]packet, len(r.tiles))
	copy(left, r.tiles)
	number, index := make([]byte, len(r.tiles)), make([]byte, len(r.tiles))
	for busy := true; busy; {
		busy = false
		for i := range left {
			if len(left[i]) == 0 && number[i] > 0 {
				continue
			}
			busy = true
			n := min(perPart, len(left[i]))
			var heads, bodies, body []byte
			for _, p := range left[i][:n] {
				heads, bodies, body = append(heads, p.head...), append(bodies, p.body...), append(append(body, p.head...), p.body...)
			}
			left[i] = left[i][n:]
			var header []byte
			if number[i] == 0 {
				header = bytes.Join(r.headers[i], nil)
			}
			switch headers {
			case packedMain:
				ppm = binary.BigEndian.AppendUint32(ppm, uint32(len(heads)))
				ppm, body = append(ppm, heads...), bodies
			case packedTile:
				// Indices go on from tile-part to tile-part, which some decoders need.
				header, body = append(header, inSegments(markPPT, index[i], heads, perSegment)...), bodies
				index[i] += byte(max(1, ceilDiv(len(heads), perSegment)))
			}
			parts = append(parts, 0xff, 0x90, 0, 10, 0, byte(i))
			parts = binary.BigEndian.AppendUint32(parts, uint32(minTilePart+len(header)+len(body)))
			parts = append(parts, number[i], 0)
			parts = append(append(append(parts, header...), 0xff, 0x93), body...)
			number[i]++
		}
	}
	out := append([]byte{0xff, 0x4f}, bytes.Join(r.segments, nil)...)
	if headers == packedMain {
		out = append(out, inSegments(markPPM, 0, ppm, perSegment)...)
	}
	return append(append(out, parts...), 0xff, 0xd9)
}

// inSegments cuts data into segments with indices from first.
func inSegments(mark uint16, first byte, data []byte, size int) (out []byte) {
	for i := first; len(data) > 0 || i == first; i++ {
		n := min(size, len(data))
		out = append(out, segment(mark, append([]byte{i}, data[:n]...)...)...)
		data = data[n:]
	}
	return out
}

// override replaces each segment of one kind by another version of itself and
// puts the right one where the standard says that it takes precedence: into a
// component's own segment, or into each tile's first header.
func (r *repacker) override(mark, componentMark uint16, components int, spoil func(content []byte)) {
	for i, seg := range r.segments {
		if binary.BigEndian.Uint16(seg) != mark {
			continue
		}
		bad := bytes.Clone(seg)
		spoil(bad[4:])
		r.segments[i] = bad
		if components == 0 {
			for t := range r.headers {
				r.headers[t] = append(r.headers[t], seg)
			}
			return
		}
		content := seg[4:]
		if mark == markCOD { // Scod and SPcod without SGcod
			content = append([]byte{seg[4] & 1}, seg[9:]...)
		}
		for c := range components {
			r.segments = append(r.segments, segment(componentMark, append([]byte{byte(c)}, content...)...))
		}
		return
	}
}

func TestDecodeRepacked(t *testing.T) {
	guard := func(content []byte) { content[0] ^= 0x60 }
	style := func(content []byte) { content[8] ^= modeReset | modeCausal }
	cases := []struct {
		name  string
		write func(r *repacker, s sample) []byte
	}{
		{name: "one packet a tile-part", write: func(r *repacker, _ sample) []byte { return r.write(inline, 1, 0) }},
		{name: "headers in the main header", write: func(r *repacker, _ sample) []byte { return r.write(packedMain, 3, 60000) }},
		{name: "headers in the main header, a tile-part a tile", write: func(r *repacker, _ sample) []byte { return r.write(packedMain, 1000, 60000) }},
		{name: "headers in the main header, cut anywhere", write: func(r *repacker, _ sample) []byte { return r.write(packedMain, 3, 17) }},
		{name: "headers in tile-parts", write: func(r *repacker, _ sample) []byte { return r.write(packedTile, 4, 9) }},
		{name: "headers in one tile-part", write: func(r *repacker, _ sample) []byte { return r.write(packedTile, 1000, 60000) }},
		{name: "component's coding style", write: func(r *repacker, s sample) []byte {
			r.override(markCOD, markCOC, s.components, style)
			return r.write(inline, 1000, 0)
		}},
		{name: "component's quantisation", write: func(r *repacker, s sample) []byte {
			r.override(markQCD, markQCC, s.components, guard)
			return r.write(inline, 1000, 0)
		}},
		{name: "tile's coding style and quantisation", write: func(r *repacker, s sample) []byte {
			r.override(markCOD, 0, 0, style)
			r.override(markQCD, 0, 0, guard)
			return r.write(inline, 5, 0)
		}},
		{name: "tile's over component's", write: func(r *repacker, s sample) []byte {
			r.override(markQCD, markQCC, s.components, guard)
			good := r.segments[len(r.segments)-1]
			guard(good[5:]) // QCC is wrong, the tile's QCD right
			right := bytes.Clone(good[5:])
			guard(right)
			for i := range r.headers {
				r.headers[i] = append(r.headers[i], segment(markQCD, right...))
			}
			return r.write(inline, 5, 0)
		}},
	}
	for _, s := range samples(t) {
		switch s.file {
		case "rgb_plain_cprl.j2k", "tiles_offset_rpcl.j2k", "grey16_layers.j2k", "lossy97_tiles.j2k":
		default:
			continue
		}
		for _, c := range cases {
			if s.components > 1 && c.name == "tile's over component's" {
				continue // its last QCC alone is spoilt
			}
			t.Run(s.file+"/"+c.name, func(t *testing.T) {
				data := c.write(takeApart(t, s.file), s)
				keepRepacked(t, data)
				got, err := Decode(data)
				if err != nil {
					t.Fatal(err)
				}
				compare(t, got, reference(t, s), s.tolerance)
			})
		}
	}
}

func keepRepacked(t *testing.T, data []byte) {
	t.Helper()
	dir := os.Getenv("ROOTRULE_J2K_REPACKED")
	if dir == "" {
		return
	}
	name := bytes.Map(func(r rune) rune {
		if r == '/' || r == ' ' || r == '\'' {
			return '_'
		}
		return r
	}, []byte(t.Name()))
	if err := os.WriteFile(filepath.Join(dir, string(name)+".j2k"), data, 0o600); err != nil {
		t.Fatal(err)
	}
}
