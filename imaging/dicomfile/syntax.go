package dicomfile

import (
	"encoding/binary"
	"strings"

	"rootrule/imaging/dicomfile/codec"
)

// syntax is a transfer syntax (PS3.5 annex A, PS3.6 annex A): how a file's
// data set is written and its pixels are compressed.
type syntax struct {
	uid, name string
	coding    coding
	deflated  bool
	// encapsulated says that pixels come in fragments (PS3.5 A.4).
	encapsulated bool
	// decode turns the joined fragments of one frame into samples; nil for
	// native pixels and for compressions that are not handled.
	decode decodeFunc
}

// decodeFunc decodes one frame and says what its samples mean: a photometric
// interpretation, which may differ from the header's.
type decodeFunc func(stream []byte, l layout) (r *codec.Raster, photometric string, err error)

// The uncompressed transfer syntaxes.
const (
	implicitVRLittle   = "1.2.840.10008.1.2"
	explicitVRLittle   = "1.2.840.10008.1.2.1"
	deflatedVRLittle   = "1.2.840.10008.1.2.1.99"
	explicitVRBig      = "1.2.840.10008.1.2.2"
	encapsulatedNative = "1.2.840.10008.1.2.1.98"
)

var native = []syntax{
	{uid: implicitVRLittle, name: "implicit VR little endian", coding: coding{order: binary.LittleEndian, implicit: true}},
	{uid: explicitVRLittle, name: "explicit VR little endian", coding: explicitLittle},
	{uid: explicitVRBig, name: "explicit VR big endian", coding: coding{order: binary.BigEndian}},
	{uid: deflatedVRLittle, name: "deflated explicit VR little endian", coding: explicitLittle, deflated: true},
}

// unhandled names the compressions that are recognised but not decoded.
var unhandled = map[string]string{
	"1.2.840.10008.1.2.4.94":    "JPIP referenced",
	"1.2.840.10008.1.2.4.95":    "JPIP referenced, deflated",
	"1.2.840.10008.1.2.4.92":    "JPEG 2000 part 2 lossless",
	"1.2.840.10008.1.2.4.93":    "JPEG 2000 part 2",
	"1.2.840.10008.1.2.4.100":   "MPEG-2 main level video",
	"1.2.840.10008.1.2.4.101":   "MPEG-2 high level video",
	"1.2.840.10008.1.2.4.102":   "MPEG-4 high profile video",
	"1.2.840.10008.1.2.4.103":   "MPEG-4 BD-compatible video",
	"1.2.840.10008.1.2.4.104":   "MPEG-4 2D video",
	"1.2.840.10008.1.2.4.105":   "MPEG-4 3D video",
	"1.2.840.10008.1.2.4.106":   "MPEG-4 stereo video",
	"1.2.840.10008.1.2.4.107":   "HEVC main profile video",
	"1.2.840.10008.1.2.4.108":   "HEVC main 10 profile video",
	"1.2.840.10008.1.2.4.110":   "JPEG XL lossless",
	"1.2.840.10008.1.2.4.111":   "JPEG XL from JPEG",
	"1.2.840.10008.1.2.4.112":   "JPEG XL",
	"1.2.840.10008.1.2.4.204":   "JPIP referenced HTJ2K",
	"1.2.840.10008.1.2.4.205":   "JPIP referenced HTJ2K, deflated",
	"1.2.840.10008.1.2.8.1":     "deflated image frames",
	"1.2.840.113619.5.2":        "private with big endian pixels",
	"1.2.840.10008.1.2.4.52":    "JPEG extended, processes 3 and 5 (retired)",
	"1.2.840.10008.1.2.4.54":    "JPEG spectral selection, processes 7 and 9 (retired)",
	"1.2.840.10008.1.2.4.56":    "JPEG full progression, processes 11 and 13 (retired)",
	"1.2.840.10008.1.2.4.58":    "JPEG lossless, process 15 (retired)",
	"1.2.840.10008.1.2.6.1":     "RFC 2557 MIME",
	"1.2.840.10008.1.2.6.2":     "XML",
	"1.2.840.10008.1.2.7.1":     "SMPTE ST 2110-20 video",
	"1.2.840.10008.1.2.7.2":     "SMPTE ST 2110-20 interlaced video",
	"1.2.840.10008.1.2.7.3":     "SMPTE ST 2110-30 audio",
	"1.2.840.10008.1.2.4.100.1": "MPEG-2 main level video, fragmentable",
	"1.2.840.10008.1.2.4.101.1": "MPEG-2 high level video, fragmentable",
	"1.2.840.10008.1.2.4.102.1": "MPEG-4 high profile video, fragmentable",
}

var syntaxes = func() map[string]syntax {
	m := make(map[string]syntax)
	for _, list := range [][]syntax{native, compressed} {
		for _, s := range list {
			m[s.uid] = s
		}
	}
	for uid, name := range unhandled {
		m[uid] = syntax{uid: uid, name: name, coding: explicitLittle, encapsulated: true}
	}
	return m
}()

// syntaxOf returns the transfer syntax of a UID. All but the four of [native]
// are explicit VR little endian with fragments (PS3.5 A.4), so the header of a
// file in an unknown one can still be read.
func syntaxOf(uid string) syntax {
	uid = strings.Trim(uid, " \x00")
	if s, ok := syntaxes[uid]; ok {
		return s
	}
	return syntax{uid: uid, name: "unknown transfer syntax " + uid, coding: explicitLittle, encapsulated: true}
}
