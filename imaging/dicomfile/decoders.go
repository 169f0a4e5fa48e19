package dicomfile

// compressed are the transfer syntaxes with a decoder.
var compressed = []syntax{}

// decodedPhotometric returns what samples mean after decoding: the colour
// transforms of JPEG 2000 belong to its stream and are undone there (PS3.5
// 8.2.4).
func decodedPhotometric(stated string, s syntax) string {
	if stated == ybrICT || stated == ybrRCT {
		return rgb
	}
	return stated
}
