package dicomfile

import (
	"rootrule/imaging/dicomfile/codec"
	"rootrule/imaging/dicomfile/codec/jpeg"
	"rootrule/imaging/dicomfile/codec/jpeg2000"
	"rootrule/imaging/dicomfile/codec/jpegls"
	"rootrule/imaging/dicomfile/codec/rle"
)

// compressed are the transfer syntaxes with a decoder (PS3.6 annex A). Each
// decoder bounds its memory by the length of its stream.
var compressed = []syntax{
	encapsulated(encapsulatedNative, "uncompressed in fragments", nativeRaster),
	encapsulated("1.2.840.10008.1.2.5", "RLE lossless", decodeRLE),
	encapsulated("1.2.840.10008.1.2.4.50", "JPEG baseline", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.51", "JPEG extended", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.53", "JPEG spectral selection (retired)", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.55", "JPEG full progression (retired)", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.57", "JPEG lossless", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.70", "JPEG lossless, first-order prediction", decodeJPEG),
	encapsulated("1.2.840.10008.1.2.4.80", "JPEG-LS lossless", decodeJPEGLS),
	encapsulated("1.2.840.10008.1.2.4.81", "JPEG-LS near-lossless", decodeJPEGLS),
	encapsulated("1.2.840.10008.1.2.4.90", "JPEG 2000 lossless", decodeJPEG2000),
	encapsulated("1.2.840.10008.1.2.4.91", "JPEG 2000", decodeJPEG2000),
	encapsulated("1.2.840.10008.1.2.4.201", "high-throughput JPEG 2000 lossless", decodeJPEG2000),
	encapsulated("1.2.840.10008.1.2.4.202", "high-throughput JPEG 2000 lossless, by resolution", decodeJPEG2000),
	encapsulated("1.2.840.10008.1.2.4.203", "high-throughput JPEG 2000", decodeJPEG2000),
}

// alwaysLossy are the syntaxes that lose something whatever the header says;
// JPEG 2000 (.91) may or may not.
var alwaysLossy = map[string]bool{
	"1.2.840.10008.1.2.4.50": true, "1.2.840.10008.1.2.4.51": true,
	"1.2.840.10008.1.2.4.53": true, "1.2.840.10008.1.2.4.55": true, "1.2.840.10008.1.2.4.81": true,
}

func encapsulated(uid, name string, decode decodeFunc) syntax {
	return syntax{uid: uid, name: name, coding: explicitLittle, encapsulated: true, decode: decode}
}

func decodeRLE(stream []byte, l layout) (*codec.Raster, string, error) {
	r, err := rle.Decode(stream, l.width, l.height, l.samples, l.allocated)
	return r, l.photometric, err
}

// decodeJPEG leaves samples as the stream holds them, as dcmtk, gdcm and
// pydicom agree to. What they mean is what the header says, unless the stream
// itself is certain of something else: headers that say RGB over a YCbCr
// stream are the commonest error in compressed colour.
func decodeJPEG(stream []byte, l layout) (*codec.Raster, string, error) {
	r, info, err := jpeg.Decode(stream)
	if err != nil || info.Components != 3 {
		return r, l.photometric, err
	}
	subsampled := info.Sampling[0] != info.Sampling[1] // RGB never is
	switch {
	case info.JFIF || info.Adobe && info.AdobeTransform == 1 || subsampled:
		return r, ybrFull, nil
	case info.Adobe && info.AdobeTransform == 0:
		return r, rgb, nil
	case l.photometric == ybrFull422:
		return r, ybrFull, nil
	}
	return r, l.photometric, nil
}

func decodeJPEGLS(stream []byte, l layout) (*codec.Raster, string, error) {
	r, err := jpegls.Decode(stream)
	return r, l.photometric, err
}

// decodeJPEG2000 gives RGB where the header says YBR_ICT or YBR_RCT: these
// colour transforms belong to the stream, which undoes them (PS3.5 8.2.4).
func decodeJPEG2000(stream []byte, l layout) (*codec.Raster, string, error) {
	r, err := jpeg2000.Decode(stream)
	if l.photometric == ybrICT || l.photometric == ybrRCT {
		return r, rgb, err
	}
	return r, l.photometric, err
}
