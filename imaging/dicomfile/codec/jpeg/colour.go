package jpeg

import "rootrule/imaging/dicomfile/codec"

// Denominators and numerators of the conversion of T.871 clause 7, which follow
// from the luma weights 0.299, 0.587 and 0.114 of Rec. ITU-R BT.601:
//
//	R = Y + 2·(1 − 0.299)·Cr
//	G = Y − (2·0.114·(1 − 0.114)·Cb + 2·0.299·(1 − 0.299)·Cr) / 0.587
//	B = Y + 2·(1 − 0.114)·Cb
//
// All are taken over 587000, so that whole numbers hold them exactly.
const (
	colourOne = 587000
	redCr     = 822974  // 1.402 · 587000
	greenCb   = 202008  // 0.344136… · 587000 = 0.228 · 0.886 · 10^6
	greenCr   = 419198  // 0.714136… · 587000 = 0.598 · 0.701 · 10^6
	blueCb    = 1040164 // 1.772 · 587000
)

// YCbCrToRGB converts a raster of three components in place from YCbCr at full
// range (T.871 clause 7, DICOM's YBR_FULL) to RGB: Cb and Cr are centred on
// 2^(Bits−1). The formula is computed exactly and rounded once, to the nearest
// whole number, halves up, then clamped to 0 … 2^Bits−1. Decoders that round
// their constants to 16 bits differ from it by 1 now and then. Rasters that
// have not three components are left as they are.
func YCbCrToRGB(r *codec.Raster) {
	if r.Components != 3 {
		return
	}
	centre, most := int64(1)<<(r.Bits-1), int64(1)<<r.Bits-1
	for i := 0; i+2 < len(r.Pix); i += 3 {
		p := r.Pix[i : i+3 : i+3]
		y, cb, cr := int64(p[0])*colourOne, int64(p[1])-centre, int64(p[2])-centre
		p[0] = colourSample(y+redCr*cr, most)
		p[1] = colourSample(y-greenCb*cb-greenCr*cr, most)
		p[2] = colourSample(y+blueCb*cb, most)
	}
}

// colourSample rounds and clamps a value over colourOne.
func colourSample(v, most int64) uint16 {
	return uint16(min(uint64(max(v+colourOne/2, 0))/colourOne, uint64(most)))
}
