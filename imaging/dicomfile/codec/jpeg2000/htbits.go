package jpeg2000

// A forwardBits reads the MagSgn and SigProp bit streams: least significant
// bits first, and seven bits of the byte after one of ones (T.814 7.1.2,
// 7.1.5). Past the end come bytes of fill.
type forwardBits struct {
	data []byte
	pos  int
	hold uint64
	left uint
	ones bool // the last byte was 0xff
	fill byte
}

// bits reads n ≤ 32 bits, the first one lowest.
func (f *forwardBits) bits(n uint) uint32 {
	for f.left < n {
		b := f.fill
		if f.pos < len(f.data) {
			b = f.data[f.pos]
			f.pos++
		}
		f.hold |= uint64(b) << f.left
		f.left += 8
		if f.ones {
			f.left--
			f.hold &= 1<<f.left - 1
		}
		f.ones = b == 0xff
	}
	v := uint32(f.hold & (1<<n - 1))
	f.hold >>= n
	f.left -= n
	return v
}

// A backwardBits reads the VLC and MagRef bit streams: bytes from the last to
// the first, least significant bits first, and seven bits of a byte whose low
// seven are ones if the byte read before was above 0x8f (T.814 7.1.4, 7.1.6).
// Past the end come zeros.
type backwardBits struct {
	data []byte // what is still to come
	hold uint64
	left uint
	high bool // the last byte was above 0x8f
}

// peek makes at least 32 bits available, the first one lowest.
func (b *backwardBits) peek() uint32 {
	for b.left < 32 {
		v := byte(0)
		if n := len(b.data); n > 0 {
			v = b.data[n-1]
			b.data = b.data[:n-1]
		}
		b.hold |= uint64(v) << b.left
		b.left += 8
		if b.high && v&0x7f == 0x7f {
			b.left--
			b.hold &= 1<<b.left - 1
		}
		b.high = v > 0x8f
	}
	return uint32(b.hold)
}

// skip drops n bits that peek has shown.
func (b *backwardBits) skip(n uint) {
	b.hold >>= n
	b.left -= n
}

func (b *backwardBits) bits(n uint) uint32 {
	v := b.peek() & (1<<n - 1)
	b.skip(n)
	return v
}

// A melDecoder decodes the adaptive run-length code of quads with insignificant
// neighbours (T.814 7.1.3, 7.3.3). Its bits come most significant first.
type melDecoder struct {
	data  []byte
	pos   int
	cur   byte
	left  uint
	state int
	run   int
	one   bool // a one follows the run
}

// melExponents is T.814 Table 2.
var melExponents = [13]uint{0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 5}

func (m *melDecoder) bit() int {
	if m.left == 0 {
		m.left = 8
		if m.cur == 0xff {
			m.left = 7
		}
		m.cur = 0xff
		if m.pos < len(m.data) {
			m.cur = m.data[m.pos]
			m.pos++
		}
	}
	m.left--
	return int(m.cur>>m.left) & 1
}

// symbol decodes one symbol.
func (m *melDecoder) symbol() bool {
	if m.run == 0 && !m.one {
		e := melExponents[m.state]
		if m.bit() == 1 {
			m.run = 1 << e
			m.state = min(m.state+1, len(melExponents)-1)
		} else {
			for range e {
				m.run = m.run<<1 | m.bit()
			}
			m.state = max(m.state-1, 0)
			m.one = true
		}
	}
	if m.run > 0 {
		m.run--
		return false
	}
	m.one = false
	return true
}
