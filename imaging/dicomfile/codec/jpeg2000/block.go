package jpeg2000

const (
	maxBlockArea = 4096 // T.800 Table A.18
	// Flags have a column more on each side and a stripe more above and below;
	// most take 1024 × 4 samples: 1026 × 3 words.
	maxFlags = 3200
)

// A blockDecoder decodes code-blocks, one after the other (T.800 Annex D). Each
// worker has its own.
type blockDecoder struct {
	mq    mqDecoder
	raw   rawDecoder
	ht    htDecoder
	w, h  int
	modes int
	// lastRows has eachSample's bit for each sample in a column of the last
	// stripe, which may be cut.
	lastRows uint64
	stride   int
	flags    [maxFlags]uint64
	// data holds twice the coefficients plus one half in the last decoded
	// place, so that a cut one is in the middle of its interval (E.1.1.2, r =
	// 0.5). Order: stripes, columns, the four samples of a column.
	data [maxBlockArea]int32
	buf  []byte
	list [maxBlockArea + 4]uint32 // of a refinement pass
}

// start clears the state for a block of w × h samples.
func (d *blockDecoder) start(w, h, modes int) {
	stripes := (h + 3) / 4
	d.w, d.h, d.modes = w, h, modes
	d.stride = w + 2
	d.lastRows = eachSample >> (3 * uint(4*stripes-h))
	clear(d.flags[:d.stride*(stripes+2)])
	clear(d.data[:4*stripes*w])
	d.mq.resetContexts()
}

// rows returns the bits of the samples that stripe k has.
func (d *blockDecoder) rows(k int) uint64 {
	if 4*k+4 > d.h {
		return d.lastRows
	}
	return eachSample
}

// decode runs all coding passes of a block over the tile's bytes.
func (d *blockDecoder) decode(b *block, band *band, chunks []chunk, body []byte) error {
	d.start(int(b.w), int(b.h), band.comp.coding.modes)
	if d.modes&modeHT != 0 {
		return d.decodeHT(b, band, chunks, body)
	}
	pass := 0
	for i := b.first; i >= 0; {
		next := d.gather(i, chunks, body)
		passes := 0
		for ; i != next; i = chunks[i].next {
			passes += int(chunks[i].passes)
		}
		if err := d.segment(pass, passes, band, int(b.zeros)); err != nil {
			return err
		}
		pass += passes
	}
	return nil
}

// gather joins the chunks of the codeword segment that begins with chunk i in
// d.buf, and returns the first chunk of the next one.
func (d *blockDecoder) gather(i int32, chunks []chunk, body []byte) int32 {
	d.buf = d.buf[:0]
	for first := true; i >= 0 && (first || !chunks[i].starts); first = false {
		d.buf = append(d.buf, body[chunks[i].offset:][:chunks[i].length]...)
		i = chunks[i].next
	}
	return i
}

// Passes of a bit-plane; the first plane has only cleanup (T.800 D.3).
const (
	passSignificance = iota
	passRefinement
	passCleanup
)

// overread is how many bytes past the end of its segment a pass may read: a
// coder may leave out trailing bytes of ones (T.800 C.2.9), but not many.
const overread = 32

// segment decodes the passes of one codeword segment, which is in d.buf.
func (d *blockDecoder) segment(first, passes int, band *band, zeros int) error {
	n := len(d.buf)
	d.buf = append(d.buf, mqSentinel...)
	var reg registers
	raw := d.modes&modeBypass != 0 && first >= firstBypassPass && (first+2)%3 != passCleanup
	if raw {
		d.raw = rawDecoder{data: d.buf[:n]}
	} else {
		reg = d.mq.start(d.buf[:n])
	}
	for p := first; p < first+passes; p++ {
		plane := uint(band.planes - 1 - zeros - (p+2)/3)
		switch kind := (p + 2) % 3; {
		case kind == passSignificance && raw:
			d.rawSignificance(plane)
		case kind == passRefinement && raw:
			d.rawRefinement(plane)
		case kind == passSignificance:
			reg = d.significance(reg, plane, &zeroContexts[band.orient])
		case kind == passRefinement:
			reg = d.refinement(reg, plane)
		default:
			reg = d.cleanup(reg, plane, &zeroContexts[band.orient])
			if d.modes&modeSegSymbols != 0 {
				var ok bool
				if reg, ok = d.segmentationSymbol(reg); !ok {
					return malformed("a code-block's segmentation symbol is wrong: the file is damaged, copy or export it again")
				}
			}
		}
		if d.mq.past > overread || d.raw.past > overread {
			return malformed("a code-block of %d bytes has too few for its %d coding passes: the file is damaged, copy or export it again", n, passes)
		}
		if d.modes&modeReset != 0 {
			d.mq.resetContexts()
		}
	}
	return nil
}

// segmentationSymbol reads 1010 in the uniform context (T.800 D.5).
func (d *blockDecoder) segmentationSymbol(reg registers) (registers, bool) {
	symbol := uint32(0)
	for range 4 {
		var bit uint32
		reg.a, reg.c, bit = d.mq.decode(reg.a, reg.c, ctxUniform)
		symbol = symbol<<1 | bit
	}
	return reg, symbol == 0b1010
}

// A rawDecoder reads the bits of a bypass segment: the bit after a byte of
// ones is stuffed, and ones follow the end (T.800 D.6).
type rawDecoder struct {
	data []byte
	pos  int
	cur  byte
	left uint
	past int
}

func (r *rawDecoder) bit() uint32 {
	if r.left == 0 {
		r.left = 8
		if r.cur == 0xff {
			r.left = 7
		}
		if r.pos < len(r.data) {
			r.cur = r.data[r.pos]
			r.pos++
		} else {
			r.cur, r.left = 0xff, 8
			r.past++
		}
	}
	r.left--
	return uint32(r.cur>>r.left) & 1
}
