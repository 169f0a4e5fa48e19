package imaging

import (
	"encoding/binary"
	"fmt"
	"math"

	"rootrule/measure"
)

// Spacing limits: no dental detector or scanner has pixels outside 5 µm–1 mm
// (common practice, no source).
const (
	minSpacingMM = 0.005
	maxSpacingMM = 1.0
)

const mmPerInch = 25.4 // exact, NIST SP 811, B.8

// scanSpacing turns pixels per millimetre into the spacing of a scanned
// picture. Resolution tags say how large to print, not how large the object
// was, so the trust is never more than "scan plane"; 72 and 96 per inch are
// what programs write without knowing, and are dropped.
func scanSpacing(perMMx, perMMy float64, where string) (measure.Spacing, []string) {
	if !(perMMx > 0) || !(perMMy > 0) {
		return measure.Spacing{}, nil
	}
	s := measure.Spacing{RowMM: 1 / perMMy, ColMM: 1 / perMMx, Kind: measure.SpacingScan,
		Note: fmt.Sprintf("%s: %.4g × %.4g mm a pixel on the scanned or printed picture, not at the tooth", where, 1/perMMx, 1/perMMy)}
	if isScreenDefault(perMMx*mmPerInch) && isScreenDefault(perMMy*mmPerInch) {
		return measure.Spacing{}, []string{fmt.Sprintf("%s says %.0f per inch, a program's default: not used as spacing", where, perMMx*mmPerInch)}
	}
	for _, mm := range []float64{s.RowMM, s.ColMM} {
		if mm < minSpacingMM || mm > maxSpacingMM {
			return measure.Spacing{}, []string{fmt.Sprintf("%s says %.4g mm a pixel, which no dental picture has: not used as spacing", where, mm)}
		}
	}
	return s, nil
}

func isScreenDefault(perInch float64) bool {
	return math.Abs(perInch-72) < 0.5 || math.Abs(perInch-96) < 0.5
}

// pngTags reads the pHYs chunk (PNG 3rd edition, 11.3.4.3).
func pngTags(data []byte) tags {
	var t tags
	for off := 8; off+12 <= len(data); {
		n := int(binary.BigEndian.Uint32(data[off:]))
		kind, body := string(data[off+4:off+8]), data[off+8:]
		if kind == "IDAT" || n < 0 || n > len(body) {
			break
		}
		if kind == "pHYs" && n == 9 && body[8] == 1 { // 1: per metre
			x, y := binary.BigEndian.Uint32(body), binary.BigEndian.Uint32(body[4:])
			t.spacing, t.cautions = scanSpacing(float64(x)/1000, float64(y)/1000, "PNG resolution")
		}
		off += 12 + n
	}
	return t
}

// bmpTags reads the resolution of a BITMAPINFOHEADER (pixels per metre at
// offsets 38 and 42).
func bmpTags(data []byte) tags {
	var t tags
	if len(data) < 46 {
		return t
	}
	x, y := int32(binary.LittleEndian.Uint32(data[38:])), int32(binary.LittleEndian.Uint32(data[42:]))
	t.spacing, t.cautions = scanSpacing(float64(x)/1000, float64(y)/1000, "BMP resolution")
	return t
}

// jpegTags walks the marker segments before the scan (ITU-T T.81, B.1.1) for
// JFIF density (T.871, 10.1) and the Exif directory.
func jpegTags(data []byte) tags {
	var t tags
	for off := 2; off+4 <= len(data) && data[off] == 0xff; {
		marker, n := data[off+1], int(binary.BigEndian.Uint16(data[off+2:]))
		if marker == 0xda || n < 2 || off+2+n > len(data) {
			break
		}
		body := data[off+4 : off+2+n]
		switch {
		case marker == 0xe0 && len(body) >= 12 && string(body[:5]) == "JFIF\x00":
			t.spacing, t.cautions = jfifSpacing(body)
		case marker == 0xe1 && len(body) > 6 && string(body[:6]) == "Exif\x00\x00":
			exifTags(body[6:], &t)
		}
		off += 2 + n
	}
	return t
}

// jfifSpacing reads density units (1: per inch, 2: per cm), x and y.
func jfifSpacing(body []byte) (measure.Spacing, []string) {
	perMM := map[byte]float64{1: 1 / mmPerInch, 2: 0.1}[body[7]]
	x, y := binary.BigEndian.Uint16(body[8:]), binary.BigEndian.Uint16(body[10:])
	return scanSpacing(float64(x)*perMM, float64(y)*perMM, "JPEG density")
}

// exifTags reads orientation and resolution of an Exif directory.
func exifTags(dir []byte, t *tags) {
	d, _ := readDirectory(dir)
	t.turn = d.turn()
	if s, c := d.spacing("Exif resolution"); s.Stated() && !t.spacing.Stated() {
		t.spacing, t.cautions = s, c
	}
}

// tiffTags reads the first directory of a TIFF and counts the others.
func tiffTags(data []byte) tags {
	var t tags
	d, pages := readDirectory(data)
	t.pages = pages
	t.turn = d.turn()
	t.spacing, t.cautions = d.spacing("TIFF resolution")
	t.whiteIsZero = d.number(tagPhotometric, 1) == 0
	return t
}
