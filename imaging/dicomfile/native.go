package dicomfile

import "rootrule/imaging/dicomfile/codec"

// unpack turns native pixel data (PS3.5 8.1, 8.2), little endian, into one
// sample a value, interleaved by pixel. The frame begins firstBit bits into
// raw, which is less than 8 unless samples are packed across bytes.
func unpack(raw []byte, firstBit int64, l layout) []uint16 {
	if l.subsampled() {
		return unpack422(cells(raw, firstBit, l.allocated, int(l.pixelCount())*2), l.width)
	}
	pix := cells(raw, firstBit, l.allocated, int(l.sampleCount()))
	if l.planar {
		return interleave(pix, l.samples)
	}
	return pix
}

// cells reads n pixel cells of the given number of bits, the first in the
// lowest bits (PS3.5 annex D). Of cells wider than 16 bits the low 16 are kept,
// all that [layout.supported] lets count.
func cells(raw []byte, firstBit int64, bits, n int) []uint16 {
	pix := make([]uint16, n)
	switch bits {
	case 8:
		raw = raw[firstBit/8:]
		for i := range pix {
			pix[i] = uint16(raw[i])
		}
	case 16:
		raw = raw[firstBit/8:]
		for i := range pix {
			pix[i] = uint16(raw[2*i]) | uint16(raw[2*i+1])<<8
		}
	default:
		packed(pix, raw, firstBit, bits)
	}
	return pix
}

// packed reads cells of any width that follow one another without gaps, across
// the ends of bytes, rows and frames.
func packed(pix []uint16, raw []byte, firstBit int64, bits int) {
	at := firstBit
	for i := range pix {
		var v uint32
		for got := 0; got < min(bits, 16); {
			b := uint32(raw[(at+int64(got))/8]) >> ((at + int64(got)) % 8)
			v |= b << got
			got += 8 - int((at+int64(got))%8)
		}
		if bits < 16 {
			v &= 1<<bits - 1
		}
		pix[i] = uint16(v)
		at += int64(bits)
	}
}

// interleave turns colour by plane into colour by pixel (PS3.3 C.7.6.3.1.3).
func interleave(planes []uint16, samples int) []uint16 {
	n := len(planes) / samples
	pix := make([]uint16, len(planes))
	for s := range samples {
		plane := planes[s*n : (s+1)*n]
		for i, v := range plane {
			pix[i*samples+s] = v
		}
	}
	return pix
}

// unpack422 gives each pixel of Y Y Cb Cr groups its own colour (PS3.3
// C.7.6.3.1.2, YBR_FULL_422). With an odd width the last group of a row
// belongs to the next row's first pixel, as in the peers.
func unpack422(groups []uint16, width int) []uint16 {
	pix := make([]uint16, len(groups)/2*3)
	for i := range len(groups) / 2 {
		g := groups[i/2*4:]
		if len(g) < 4 {
			break
		}
		pix[3*i], pix[3*i+1], pix[3*i+2] = g[i%2], g[2], g[3]
	}
	return pix
}

// nativeRaster reads an uncompressed frame held in fragments (PS3.5 A.4.11).
func nativeRaster(stream []byte, l layout) (*codec.Raster, string, error) {
	need := (l.frameBits() + 7) / 8
	if int64(len(stream)) < need {
		return nil, "", cutShort(need, int64(len(stream)))
	}
	return &codec.Raster{
		Width: l.width, Height: l.height, Components: l.samples, Bits: l.allocated,
		Pix: unpack(stream, 0, l),
	}, l.photometric, nil
}
